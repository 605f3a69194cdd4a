"""Hulls on a regular wave: box hulls in closed form, Archimedes, symmetry, and the limits of long, low and following waves."""

import numpy as np
import pytest

from cases.loads.wave_balance import (
    HullForm,
    WaveStates,
    balanced_load,
    force_weights,
    form_by_coefficients,
    grid_of_states,
    moment_weights,
    pitch_connecting_moment,
    resultants,
    root_moment,
    surface,
)

G, RHO = 9.80665, 1025.0
LENGTH, BREADTH, SPACING = 12.8, 1.2, 6.4
X = np.unique(np.append(np.linspace(-8.4, 4.4, 41), 0.0))
SLENDER = form_by_coefficients(X, 10e3, BREADTH, SPACING, 0.62, 0.75)


def box(steps=400, draught=0.4):
    """Two boxes about x = 0."""
    x = np.linspace(-LENGTH / 2, LENGTH / 2, steps + 1)
    breadth = np.full_like(x, BREADTH)
    return HullForm(x, breadth, draught * breadth, RHO * draught * breadth, SPACING)


def wave(heading=50.0, length=LENGTH, height=0.3, phase=90.0):
    """One state, from degrees."""
    return WaveStates(*(np.array([v]) for v in (np.radians(heading), length, height, np.radians(phase))))


@pytest.mark.parametrize("heading", [0.0, 30.0, 50.0, 75.0])
@pytest.mark.parametrize("length", [9.0, 12.8, 40.0])
def test_a_box_hull_in_a_sine_wave(heading, length):
    """M_P = ρ g b H/2 sin(k s sin β/2) [2 sin(κℓ)/κ² − 2 ℓ cos(κℓ)/κ], κ = k cos β, ℓ = L/2: at ε = 0 no part of it is balanced.

    Half the difference of ζ between the hulls is −H/2 sin(κx) sin(k s sin β/2) there: odd in x, so roll and heave stay zero.
    """
    one, k = wave(heading, length, phase=0.0), 2 * np.pi / length
    kappa, half = k * np.cos(np.radians(heading)), LENGTH / 2
    integral = 2 * np.sin(kappa * half) / kappa**2 - 2 * half * np.cos(kappa * half) / kappa
    by_hand = RHO * G * BREADTH * 0.15 * np.sin(k * SPACING / 2 * np.sin(np.radians(heading))) * integral
    form = box()
    got = pitch_connecting_moment(form, balanced_load(form, one))
    assert -got[0] == pytest.approx(by_hand, rel=1e-3, abs=1e-6)


def test_heave_and_pitch_of_a_box_are_taken_off():
    """A box in head seas: q = ρ g b (ζ − mean − slope x), mean = H/2 sin(kℓ)/kℓ, slope by the first moment, in closed form."""
    form, k, half = box(), 2 * np.pi / 15.0, LENGTH / 2
    mean = 0.15 * np.sin(k * half) / (k * half)
    slope = 0.15 * (2 * np.sin(k * half) / k**2 - 2 * half * np.cos(k * half) / k) / (2 * half**3 / 3)
    crest, rise = (balanced_load(form, wave(0.0, 15.0, phase=phase))[0] for phase in (0.0, 90.0))
    stiffness = RHO * G * BREADTH
    assert crest == pytest.approx(np.tile(stiffness * (0.15 * np.cos(k * form.x) - mean), (2, 1)), abs=2.0)
    assert rise == pytest.approx(
        np.tile(stiffness * (0.15 * np.sin(k * form.x) - slope * form.x), (2, 1)), abs=2.0
    )


STATES = grid_of_states(
    np.radians([0.0, 20.0, 45.0, 70.0, 90.0]),
    np.array([8.0, 13.0, 30.0]),
    np.array([0.4, 1.8, 2.2]),
    np.radians(np.arange(0, 360, 30)),
)


@pytest.mark.parametrize("motion", ["balanced", "inertia"])
def test_archimedes(motion):
    """The change of load has no resultant force, and no moment in pitch or roll, also with half of the hulls out of the water."""
    load = balanced_load(SLENDER, STATES, motion)
    scale = SLENDER.weight * np.array([1.0, LENGTH, SPACING])
    assert np.abs(resultants(SLENDER, load) / scale).max() < 1e-10
    pressure = RHO * G * SLENDER.area
    least = (load + pressure).min(axis=(0, 1))
    if motion == "balanced":
        assert (least > -1e-6 * SLENDER.weight).all()
        assert (np.abs(least[1:-1]) < 1e-9 * SLENDER.weight).any()  # some section is out of the water


@pytest.mark.parametrize("motion", ["balanced", "inertia"])
def test_headings_mirrored_in_the_beam_are_the_other_hull(motion):
    """β and 180° − β, the phase reversed, are one wave seen in the mirror of the centreline; so are β and −β."""
    one = balanced_load(SLENDER, STATES, motion)
    turned = WaveStates(np.pi - STATES.heading, STATES.length, STATES.height, -STATES.phase)
    other = WaveStates(-STATES.heading, STATES.length, STATES.height, STATES.phase)
    scale = np.abs(one).max()
    assert balanced_load(SLENDER, turned, motion)[:, ::-1] / scale == pytest.approx(one / scale, abs=1e-8)
    assert balanced_load(SLENDER, other, motion)[:, ::-1] / scale == pytest.approx(one / scale, abs=1e-8)


def test_seas_from_ahead_and_abeam_do_not_twist():
    """From ahead the wave is the same on both hulls; from abeam it is level along each hull, which roll and heave take up."""
    for heading in (0.0, 90.0):
        load = balanced_load(SLENDER, wave(heading, phase=37.0))
        assert pitch_connecting_moment(SLENDER, load)[0] == pytest.approx(0, abs=1e-6)
        assert root_moment(SLENDER, load)[0] == pytest.approx(0, abs=1e-6)


def test_the_load_is_proportional_to_a_low_wave():
    """No height is no load, and twice the height twice the load, until a section comes out of the water."""
    low, twice, high = (balanced_load(SLENDER, wave(height=h))[0] for h in (0.05, 0.1, 2.0))
    assert not balanced_load(SLENDER, wave(height=0.0)).any()
    assert twice == pytest.approx(2 * low, rel=1e-9, abs=1e-7)
    assert np.abs(high - 40 * low).max() > 0.05 * np.abs(high).max()
    # a hull that leaves the water is loaded less than one that were held down
    moments = [
        pitch_connecting_moment(SLENDER, balanced_load(SLENDER, wave(height=h)))[0] for h in (0.05, 2.0)
    ]
    assert 0 < moments[1] / moments[0] < 40


def test_a_long_wave_of_one_slope_leaves_nothing():
    """A boat follows a wave much longer than she is: at one steepness M_P falls with 1/λ, as the surface's own twist does."""
    lengths = np.array([100.0, 200.0, 400.0]) * LENGTH
    moments = [
        abs(pitch_connecting_moment(SLENDER, balanced_load(SLENDER, wave(45.0, n, n / 20, 0.0)))[0])
        for n in lengths
    ]
    assert moments[0] / moments[1] == pytest.approx(2, rel=1e-3)
    assert moments[1] / moments[2] == pytest.approx(2, rel=1e-3)
    nearly = abs(pitch_connecting_moment(SLENDER, balanced_load(SLENDER, wave(45.0)))[0])
    assert moments[2] < 0.02 * nearly


def test_inertia_of_a_box_held_still():
    """Boxes of even mass: mass × acceleration falls as waterplane × rise does, so both motions leave the same load."""
    form = box()
    loads = [
        balanced_load(form, STATES.chosen(STATES.height < 0.5), motion) for motion in ("balanced", "inertia")
    ]
    assert loads[0] == pytest.approx(loads[1], rel=1e-9, abs=1e-6)
    sharp = [balanced_load(SLENDER, wave(), motion) for motion in ("balanced", "inertia")]
    assert np.abs(sharp[0] - sharp[1]).max() > 0.01 * np.abs(sharp[0]).max()


def test_coefficients_and_displacement_come_back():
    """∇ = Δ/ρ over length × greatest area is the prismatic coefficient, waterplane over length × breadth the other."""
    x = np.linspace(-6.4, 6.4, 1001)
    form = form_by_coefficients(x, 10e3, BREADTH, SPACING, 0.62, 0.75)
    volume = force_weights(x) @ form.area
    assert 2 * RHO * volume == pytest.approx(10e3, rel=1e-12)
    assert form.weight == pytest.approx(10e3 * G, rel=1e-12)
    assert volume / (LENGTH * form.area.max()) == pytest.approx(0.62, rel=1e-4)
    assert force_weights(x) @ form.breadth / (LENGTH * BREADTH) == pytest.approx(0.75, rel=1e-4)
    whole = form_by_coefficients(x, 10e3, BREADTH, SPACING, 1.0, 1.0)
    assert whole.draught == pytest.approx(10e3 / (2 * RHO * LENGTH * BREADTH), rel=1e-12)


def test_weights_integrate_what_is_linear():
    """∫ q dx and ∫ q (x − a) dx of q = 3 − 2 x on uneven stations, by hand."""
    x = np.array([-1.0, 0.0, 0.5, 2.0])
    q = 3 - 2 * x
    assert force_weights(x) @ q == pytest.approx(9 - 3, rel=1e-12)
    assert moment_weights(x, 1.0) @ q == pytest.approx(4.5 - 6.0 - 6.0, rel=1e-12)


def test_the_order_of_size_of_a_10_t_boat():
    """10 t, 12.8 m, hulls 6.4 m apart: 72 and 96 kN·m at λ/20 and λ/15, within a third, for the usual coefficients.

    Reference values of this project's theory notes, whose hull form is not stated. The worst wave is 0.9 to 1.3 times as long as
    the boat and at 30° to 70° (common practice). H = 0.607 √L, 2.2 m: 207 kN·m there; here the sections that leave the water
    bring 246 kN·m of a linear answer down to 130 to 165.
    """
    scan = (
        np.radians(np.arange(0, 91, 5.0)),
        np.linspace(0.5, 2.5, 21) * LENGTH,
        np.radians(np.arange(0, 360, 10.0)),
    )
    for breadth, prismatic, waterplane in ((1.1, 0.58, 0.68), (1.2, 0.6, 0.7), (1.2, 0.62, 0.75)):
        form = form_by_coefficients(X, 10e3, breadth, SPACING, prismatic, waterplane)
        for steepness, published in ((1 / 20, 72e3), (1 / 15, 96e3)):
            states = grid_of_states(scan[0], scan[1], steepness * scan[1], scan[2])
            moment = np.abs(pitch_connecting_moment(form, balanced_load(form, states)))
            assert published * 2 / 3 < moment.max() < published * 4 / 3
            worst = int(moment.argmax())
            assert 30 <= np.degrees(states.heading[worst]) <= 70
            assert 0.9 <= states.length[worst] / LENGTH <= 1.3
        high = grid_of_states(scan[0], scan[1], np.minimum(2.17, scan[1] / 7), scan[2])
        assert 125e3 < np.abs(pitch_connecting_moment(form, balanced_load(form, high))).max() < 207e3


def test_the_surface_is_the_wave():
    """ζ at the port hull's middle of a crest there is H/2, and one that runs athwart is half its length on at the other."""
    one = WaveStates(np.array([np.pi / 2]), np.array([2 * SPACING]), np.array([1.0]), np.array([np.pi / 2]))
    zeta = surface(SLENDER, one)[0]
    assert zeta[0] == pytest.approx(0.5 * np.ones_like(X), rel=1e-12)
    assert zeta[1] == pytest.approx(-0.5 * np.ones_like(X), rel=1e-12)
