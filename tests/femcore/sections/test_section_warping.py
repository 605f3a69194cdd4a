"""Open sections held against warping: published warping constants, the differential equation, and its limits."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from scipy.integrate import solve_bvp

from femcore.base.errors import InputFault
from femcore.sections import (
    Wall,
    Warping,
    analyse,
    channel,
    i_section,
    outline,
    properties,
    recover,
    recover_held,
    resultants,
    round_tube,
    transformed,
    warping,
)

E, G, T = 70e9, 27e9, 1e-3
WALL = Wall.isotropic(E, T, G=G)
B, H = 0.05, 0.10


def test_a_channels_warping_constant_is_timoshenkos():
    """Cw = t b³ h² (3b + 2h)/12(6b + h) (S.P. Timoshenko & J.M. Gere, Theory of Elastic Stability, 2nd ed.,
    appendix; from memory).
    """
    expected = T * B**3 * H**2 * (3 * B + 2 * H) / (12 * (6 * B + H))
    assert warping(analyse(channel(B, H, WALL))).EIw / E == pytest.approx(expected, rel=1e-4)


def test_an_i_sections_warping_is_its_flanges_bending_and_shear():
    """Cw = I_f h²/2 (Timoshenko & Gere, as above), and its flow shears two flanges: 2·(6/5)/(G b t h²)."""
    found = warping(analyse(i_section(B, H, WALL)))
    assert found.EIw / E == pytest.approx(T * B**3 / 12 * H**2 / 2, rel=1e-9)
    assert found.shear_flexibility == pytest.approx(2 * 1.2 / (G * B * T * H**2), rel=1e-9)


def test_a_slit_tubes_warping_constant_is_roarks():
    """Cw = 2 t r⁵ (π³/3 − 2π) of a tube slit along it (W.C. Young & R.G. Budynas, Roark's Formulas, 7th ed.,
    table 10.2, sector with α = π; from memory).
    """
    r, angle = 0.05, np.linspace(1e-5, 2 * np.pi - 1e-5, 721)
    slit = outline(r * np.column_stack([np.cos(angle), np.sin(angle)]), WALL)
    expected = 2 * T * r**5 * (np.pi**3 / 3 - 2 * np.pi)
    assert warping(analyse(slit)).EIw / E == pytest.approx(expected, rel=1e-3)


@pytest.mark.parametrize("angle", [0.0, 0.4, 2.0])
def test_warping_does_not_know_where_the_section_lies(angle):
    """Turned and moved, a section warps the same; ω about the shear centre sums to nothing with 1, y and z."""
    solved = analyse(transformed(channel(B, H, WALL), angle=angle, by=(0.3, -0.2)))
    found, plain = warping(solved), warping(analyse(channel(B, H, WALL)))
    assert found.EIw == pytest.approx(plain.EIw, rel=1e-6)
    assert found.shear_flexibility == pytest.approx(plain.shear_flexibility, rel=1e-6)
    section = solved.section
    ends, place = found.omega[section.segments], section.points[section.segments]
    scale = section.length.sum() * np.abs(found.omega).max()
    assert abs(section.length @ ends.mean(axis=1)) < 1e-12 * scale
    for axis in range(2):
        y = place[..., axis] - properties(solved).centre[axis]
        product = (2 * (y * ends).sum(axis=1) + y[:, 0] * ends[:, 1] + y[:, 1] * ends[:, 0]) / 6
        assert abs(section.length @ product) < 1e-3 * scale * H


@pytest.mark.parametrize("length", [0.05, 0.4, 3.0])
def test_held_torsion_solves_the_differential_equation(length):
    """Twist of χ: −EIω (1 + GJ f) χ″ + GJ χ = T with χ = 0 at both ends, by a general boundary-value solver."""
    found = warping(analyse(channel(B, H, WALL)))
    torque, own = 1.0, 1 + found.GJ * found.shear_flexibility

    def rates(_, y):
        warp = -found.EIw * (found.GJ * y[0] - torque) / (found.EIw * own)
        curved = (found.GJ * y[0] - torque) / (found.EIw * own)
        twist = y[0] + found.shear_flexibility * warp
        return np.array([y[1], curved, twist])

    x = np.linspace(0, length, 201)
    solved = solve_bvp(rates, lambda a, b: np.array([a[0], b[0], a[2]]), x, np.zeros((3, 201)), tol=1e-9)
    assert solved.success
    assert found.restrained_torsion(length) == pytest.approx(torque * length / solved.y[2, -1], rel=1e-6)


def test_held_torsion_runs_from_walls_in_shear_to_saint_venant():
    """Short: GJ + 1/f; long: GJ; between, it falls with length; without f it is Timoshenko's tanh."""
    found = warping(analyse(channel(B, H, WALL)))
    lengths = np.geomspace(1e-4, 1e4, 60)
    held = [found.restrained_torsion(length) for length in lengths]
    assert held[0] == pytest.approx(found.GJ + 1 / found.shear_flexibility, rel=1e-4)
    assert held[-1] == pytest.approx(found.GJ, rel=1e-3)
    assert all(after < before for before, after in pairwise(held))
    stiff = Warping(found.omega, found.EIw, found.GJ, 0.0)
    u = 0.5 * np.sqrt(found.GJ / found.EIw)
    assert stiff.restrained_torsion(1.0) == pytest.approx(found.GJ / (1 - np.tanh(u) / u), rel=1e-12)


def test_closed_sections_and_no_length_are_refused():
    """In one sentence with a cure."""
    with pytest.raises(InputFault, match="is closed, and hardly warps; ask for"):
        warping(analyse(round_tube(0.1, WALL)))
    with pytest.raises(InputFault, match="is 0 m; give one above zero"):
        warping(analyse(channel(B, H, WALL))).restrained_torsion(0.0)


def test_the_walls_of_a_held_section_bear_the_torque_by_warping_and_by_twisting():
    """At every place: flow and twisting moments sum to the torque, N_x to no force or moment, and its bimoment B = ∫N_x ω ds
    changes along the beam as the warping torque: B′ = Tω, equal and opposite at the ends, none in the middle.
    """
    solved = analyse(channel(B, H, WALL))
    centre, length, torque = properties(solved).shear_centre, 0.4, 25.0
    omega = warping(solved).omega[solved.section.segments]

    def at(place):
        flows = recover_held(solved, [0, 0, 0, torque, 0, 0], about=centre, length=length, place=place)
        share = torque - resultants(solved, replace(flows, q=0 * flows.q), about=centre)[0, 3]
        w = omega[:, :1] + (omega[:, 1:] - omega[:, :1]) * flows.at
        simpson = np.array([1, 4, 2, 4, 1]) / 12
        return flows, share, float(np.sum(solved.section.length * ((flows.n_x[0] * w) @ simpson)))

    for place in (0.0, 0.1, 0.25, length):
        flows, share, _ = at(place)
        # the walls' own thickness, which ω leaves out, moves the shear centre a little
        expected = [0, 0, 0, torque, 0, 0]
        found = resultants(solved, flows, about=centre)[0]
        assert found == pytest.approx(expected, rel=1e-6, abs=1e-3 * torque / H)
        ahead, behind = (at(min(max(place + d, 0), length))[2] for d in (1e-4, -1e-4))
        span = min(place + 1e-4, length) - max(place - 1e-4, 0)
        assert (ahead - behind) / span == pytest.approx(share, rel=1e-3)
    assert at(0.0)[2] == pytest.approx(-at(length)[2], rel=1e-9)
    assert abs(at(length / 2)[2]) < 1e-9 * abs(at(0.0)[2])
    # short and thin: nearly all of the torque warps, and the bimoment at the ends is T L/2
    assert at(0.0)[1] > 0.9 * torque
    assert abs(at(0.0)[2]) == pytest.approx(torque * length / 2, rel=0.15)


def test_a_force_off_the_shear_centre_warps_a_held_section_too():
    """A force through another point is the same force at the shear centre and its torque; bending is as in `recover`."""
    solved = analyse(channel(B, H, WALL))
    centre = properties(solved).shear_centre
    held = {"length": 0.4, "place": 0.0}
    moved = recover_held(solved, [0, 0, 300.0, 0, 5.0, 0], about=centre + np.array([0.02, 0.01]), **held)
    both = recover_held(solved, [0, 0, 300.0, 300 * 0.02, 5.0, 0], about=centre, **held)
    np.testing.assert_allclose(moved.n_x, both.n_x, rtol=1e-7, atol=1e-6 * np.abs(both.n_x).max())
    np.testing.assert_allclose(moved.strains, both.strains, atol=1e-9 * np.abs(both.strains).max())
    straight = recover_held(solved, [0, 0, 300.0, 0, 5.0, 0], about=centre, **held)
    plain = recover(solved, [0, 0, 300.0, 0, 5.0, 0], about=centre)
    np.testing.assert_allclose(straight.n_x, plain.n_x, atol=1e-9 * np.abs(plain.n_x).max())
