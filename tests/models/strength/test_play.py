"""Play of a pin in its holes: the free angle, what holds it closed, what it attracts beyond."""

import numpy as np
import pytest

from models.strength.lugs.play import Play, PlayState

PLAY = Play(in_lugs=0.5e-3, in_eyes=0.0, lugs_reach=0.12, eyes_reach=0.2)


def test_half_a_millimetre_in_lugs_is_four_milliradians():
    """From one lug let go to the same lug bearing on the other side it moves by the whole clearance, the other by none: c/s."""
    assert PLAY.angle == pytest.approx(0.5e-3 / 0.12)
    assert Play(0.5e-3, 0.4e-3, 0.12, 0.08).angle == pytest.approx(0.5 / 120 + 0.4 / 80)


def test_it_opens_where_one_lug_lets_go():
    """Two reactions V/2 ± T/s: the lesser is zero at T = V s/2; whichever of lugs and eyes has the shorter arm goes first."""
    V, T = 10e3, np.array([0.0, 599.0, 601.0, -601.0])
    loads = np.zeros((4, 6))
    loads[:, 2], loads[:, 4] = V, T
    state = PLAY.state(loads)
    np.testing.assert_allclose(state.opening, V * 0.12 / 2)
    np.testing.assert_array_equal(state.closed, V / 2 - np.abs(T) / 0.12 > 0)
    short = Play(0.5e-3, 0.5e-3, 0.12, 0.08).state(loads)
    np.testing.assert_allclose(short.opening, V * 0.08 / 2)


def test_only_forces_along_the_one_that_holds_can_open_it():
    """A couple whose forces are square to the force across leaves both reactions above zero along it; without force any opens."""
    loads = np.zeros((3, 6))
    loads[0, [1, 4]] = 10e3, 5e3  # forces ± M2 along axis 3, held along axis 2
    loads[1, [1, 5]] = 10e3, 5e3
    loads[2, 4] = 1.0
    state = PLAY.state(loads)
    np.testing.assert_array_equal(state.closed, [True, False, False])


def test_the_direction_of_axes_does_not_matter():
    """Turned about the pin, the same loads open it at the same couple."""
    rng = np.random.default_rng(3)
    loads = rng.normal(size=(5, 6)) * [1e3, 1e3, 1e3, 0, 50, 50]
    c, s = np.cos(0.7), np.sin(0.7)
    R = np.array([[1, 0, 0], [0, c, -s], [0, s, c]])
    turned = np.concatenate([loads[:, :3] @ R.T, loads[:, 3:] @ R.T], axis=1)
    one, other = PLAY.state(loads), PLAY.state(turned)
    np.testing.assert_allclose(one.couple, other.couple)
    np.testing.assert_allclose(one.opening, other.opening)


def with_play_by_steps(T_free_angle, k, k_half, T0, angle):
    """N·m: the torque at which the boat's line T = k_half (θ_free − θ) meets the joint's, found by walking along θ."""
    for theta in np.linspace(0, T_free_angle, 400_001):
        if k * theta <= T0:
            own = k * theta
        elif theta <= T0 / k + angle:
            own = T0
        else:
            own = k * (theta - angle)
        if own >= k_half * (T_free_angle - theta):
            return own
    return 0.0


@pytest.mark.parametrize("free_angle", [2e-3, 6e-3, 8e-3, 20e-3])
def test_what_it_attracts_is_where_both_lines_meet(free_angle):
    """Closed, turning free, and borne again: the closed form against a walk along the joint's own line with its step."""
    k, k_half, T0, angle = 300e3, 200e3, 500.0, 4e-3
    closed = k * k_half / (k + k_half) * free_angle
    state = PlayState(np.array([closed]), np.array([T0]))
    found = state.couple_with_play(angle, k, k_half)[0]
    assert found == pytest.approx(with_play_by_steps(free_angle, k, k_half, T0, angle), rel=2e-4)


def test_play_only_ever_takes_torque_off():
    """With play a joint attracts no more than without, no less than what opens it; without play, or closed, the same."""
    couple = np.linspace(0, 3e3, 50)
    state = PlayState(couple, np.full(50, 800.0))
    loose = state.couple_with_play(5e-3, 300e3, 200e3)
    assert (loose <= couple).all()
    assert (loose[couple > 800] >= 800).all()
    np.testing.assert_allclose(state.couple_with_play(0.0, 300e3, 200e3), couple)
    np.testing.assert_allclose(loose[couple <= 800], couple[couple <= 800])
    rigid = state.couple_with_play(1e-3, np.inf, 200e3)
    np.testing.assert_allclose(rigid[-1], 3e3 - 1e-3 * 200e3)
