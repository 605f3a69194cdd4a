"""Glue lines: shear lag, plastic reserve, single laps that bend."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_bvp, solve_ivp
from scipy.linalg import expm, solveh_banded
from scipy.optimize import brentq

from femcore.materials import knockdowns
from models.strength.bonding.bond import (
    Adhesive,
    Lap,
    lap_shear,
    peel_checks,
    peel_ratio,
    plastic_capacity,
    shear_checks,
    thermal_shear,
)
from models.strength.bonding.single_lap import (
    SingleLap,
    _peel,
    _shear,
    edge_moment_factor,
    max_peel_stress,
    max_shear_stress,
    single_lap_checks,
)
from models.strength.margins import SafetyFactors, failure_load_factor, overall_outcome

GLUE = Adhesive(G=1e9, thickness=0.2e-3)
SHEET = 70e9 * 1.6e-3
OVERLAP = 25e-3
LOAD = 200e3
stiffness = st.floats(1e7, 1e9)


@pytest.mark.parametrize(("factor", "peak"), [(1.0, 29.9148e6), (2.0, 34.5569e6)])
def test_volkersen_peaks(factor, peak):
    """Volkersen's joint of 1.6 on 1.6 and on 3.2 mm aluminium: 29.91 and 34.56 MPa (his formula, evaluated;
    from memory).
    """
    assert LOAD * Lap(SHEET, factor * SHEET, OVERLAP, GLUE).peak == pytest.approx(peak, rel=1e-5)


@given(stiffness, stiffness, st.floats(2e-3, 0.1))
def test_shear_lag_is_volkersens_own_formula(K1, K2, length):
    """Our form of the shear lag is Volkersen's, (ω/2)[cosh ωx/sinh(ωL/2) ± (K2 − K1)/(K2 + K1) sinh
    ωx/cosh(ωL/2)].
    """
    lap = Lap(K1, K2, length, GLUE)
    w, x = lap.omega, np.linspace(-length / 2, length / 2, 7)
    uneven = (K2 - K1) / (K2 + K1)
    # his x runs from the loaded end of sheet 2 to that of sheet 1
    his = (w / 2) * (
        np.cosh(w * x) / np.sinh(w * length / 2) + uneven * np.sinh(w * x) / np.cosh(w * length / 2)
    )
    np.testing.assert_allclose(lap_shear(lap, length / 2 - x), his, rtol=1e-7)
    assert lap.peak == pytest.approx(his.max(), rel=1e-7)


def shear_lag(lap):
    """(places, τ, movement of the loaded ends) per unit load: two sheets' equations from end to end."""
    u1, u2, N1, N2 = np.eye(4)
    tau = lap.adhesive.stiffness * (u1 - u2)
    A = np.stack([N1 / lap.K1, N2 / lap.K2, tau, -tau])
    across = expm(lap.length * A)
    start = np.linalg.solve(np.stack([u1, N1, N2, N1 @ across]), [0.0, 1.0, 0.0, 0.0])
    x = np.linspace(0, lap.length, 21)
    along = np.stack([expm(place * A) @ start for place in x])
    return x, -along @ tau, along[-1, 1] - along[0, 0]


@pytest.mark.parametrize(("K1", "K2"), [(SHEET, SHEET), (SHEET, 3 * SHEET), (4 * SHEET, SHEET)])
def test_shear_lag_against_a_boundary_value_solution(K1, K2):
    """Shear stress and movement of a lap are those of two sheets on a layer, solved as a boundary-value
    problem.
    """
    lap = Lap(K1, K2, OVERLAP, GLUE)
    x, tau, moved = shear_lag(lap)
    np.testing.assert_allclose(lap_shear(lap, x), tau, rtol=1e-5)
    assert lap.flexibility == pytest.approx(moved, rel=1e-6)


@given(stiffness, stiffness, st.floats(1e-3, 0.2))
def test_a_lap_is_the_same_from_both_sides(K1, K2, length):
    """Reciprocity: the lap's flexibility and peak do not ask which sheet is called the first."""
    one, other = Lap(K1, K2, length, GLUE), Lap(K2, K1, length, GLUE)
    assert one.flexibility == pytest.approx(other.flexibility, rel=1e-9)
    assert one.peak == pytest.approx(other.peak, rel=1e-9)


def test_limits_of_a_lap():
    """No overlap joins nothing; a short one shears evenly; rigid glue leaves the two sheets side by side."""
    assert Lap(SHEET, SHEET, 0.0, GLUE).flexibility == np.inf
    short = Lap(SHEET, SHEET, 1e-6, GLUE)
    assert short.peak == pytest.approx(1e6, rel=1e-4)
    assert short.flexibility == pytest.approx(1e6 / GLUE.stiffness, rel=1e-4)
    firm = Lap(SHEET, 2 * SHEET, 0.5, Adhesive(G=1e15, thickness=1e-4))
    assert firm.flexibility == pytest.approx(0.5 / (3 * SHEET), rel=1e-3)


def test_beyond_some_length_only_the_ends_work():
    """Twice a long overlap lowers the peak no further: ωb of the softer end remains."""
    lap, longer = (Lap(SHEET, 2 * SHEET, length, GLUE) for length in (0.2, 0.4))
    assert longer.peak == pytest.approx(lap.peak, rel=1e-6)
    assert longer.peak == pytest.approx(lap.omega * 2 / 3, rel=1e-6)
    assert np.isfinite(Lap(SHEET, SHEET, 1e3, GLUE).flexibility)


@given(stiffness, stiffness, st.floats(2e-3, 0.2))
def test_brittle_glue_breaks_at_its_elastic_peak(K1, K2, length):
    """Without plastic strain the capacity is strength over the elastic peak."""
    lap = Lap(K1, K2, length, GLUE)
    assert plastic_capacity(lap, 30e6) == pytest.approx(30e6 / lap.peak, rel=1e-6)


def shot_capacity(lap, strength):
    """The load per width at the glue's last strain, by shooting from the weaker end over the true stress
    curve.
    """
    soft, stiff = sorted((lap.K1, lap.K2))
    elastic = strength / lap.adhesive.G
    last, thick = elastic + lap.adhesive.plastic_strain, lap.adhesive.thickness

    def far_end(P):
        def slopes(_, y):
            return [y[1], (1 / soft + 1 / stiff) / thick * lap.adhesive.G * min(y[0], elastic)]

        found = solve_ivp(
            slopes,
            (0, lap.length),
            [last, -P / soft / thick],
            rtol=1e-9,
            atol=1e-13,
            max_step=lap.length / 400,
        )
        return found.y[1, -1] - P / stiff / thick

    return brentq(far_end, 1.0, strength * lap.length * 1.5, rtol=1e-10)


@pytest.mark.parametrize("ratio", [1.0, 2.0, 6.0])
@pytest.mark.parametrize("length", [0.012, 0.03, 0.06])
def test_plastic_capacity_against_shooting(ratio, length):
    """Elastic and then plastic glue between unequal sheets carries what a shooting solution of the same
    curve carries.
    """
    lap = Lap(ratio * SHEET, SHEET, length, Adhesive(G=1e9, thickness=0.2e-3, plastic_strain=0.08))
    assert plastic_capacity(lap, 30e6) == pytest.approx(
        min(shot_capacity(lap, 30e6), 30e6 * length), rel=1e-5
    )


@pytest.mark.parametrize("ratio", [1.0, 3.0])
def test_hart_smiths_bond_potential(ratio):
    """A long lap carries √(2 η τ_p (γ_e/2 + γ_p) K1 (1 + K1/K2)): L.J. Hart-Smith, NASA CR-112235 (1973),
    from memory.
    """
    glue = Adhesive(G=1e9, thickness=0.2e-3, plastic_strain=0.1)
    elastic = 30e6 / glue.G
    energy = 2 * glue.thickness * 30e6 * (elastic / 2 + glue.plastic_strain)
    wanted = np.sqrt(energy * SHEET * (1 + 1 / ratio))
    assert plastic_capacity(Lap(SHEET, ratio * SHEET, 1.0, glue), 30e6) == pytest.approx(wanted, rel=1e-6)


def test_a_short_lap_goes_plastic_all_over():
    """A lap short enough carries strength times its length, and no length carries nothing."""
    glue = Adhesive(G=1e9, thickness=0.2e-3, plastic_strain=0.5)
    assert plastic_capacity(Lap(SHEET, SHEET, 0.01, glue), 30e6) == pytest.approx(0.3e6)
    assert plastic_capacity(Lap(SHEET, SHEET, 0.0, glue), 30e6) == 0.0


def test_plasticity_never_weakens():
    """More plastic strain, and more length, never carry less."""
    glues = [Adhesive(G=1e9, thickness=0.2e-3, plastic_strain=g) for g in np.linspace(0, 0.3, 13)]
    assert (np.diff([plastic_capacity(Lap(SHEET, 2 * SHEET, 0.04, g), 30e6) for g in glues]) >= 0).all()
    held = [plastic_capacity(Lap(SHEET, 2 * SHEET, x, glues[4]), 30e6) for x in np.linspace(1e-3, 0.1, 40)]
    assert (np.diff(held) >= -1e-6).all()


JOINT = SingleLap(70e9, 0.33, 1.6e-3, OVERLAP, Adhesive(G=1e9, thickness=0.2e-3, E=2.7e9))


def test_goland_and_reissner_values():
    """Goland and Reissner's k and shear peak of the 1.6 mm aluminium joint: 0.4926 and 40.06 MPa (formula of
    1944).
    """
    assert edge_moment_factor(JOINT, np.array([LOAD]))[0] == pytest.approx(0.492604, rel=1e-5)
    assert max_shear_stress(JOINT, np.array([LOAD]))[0] == pytest.approx(40.0638e6, rel=1e-5)


def lap_of_two_beams(joint, load, k):
    """Peaks of shear and of peel, Pa, of two beams on a shear and peel layer under end loads N, V, M in
    balance.

    The twelve equations are linear: carried from end to end by a matrix exponential, in N and mm.
    """
    E, t, c, P = joint.E / 1e6, joint.thickness * 1e3, joint.overlap / 2 * 1e3, load / 1e3
    glue = joint.adhesive
    shear, peel = glue.G / glue.thickness / 1e9, glue.E / glue.thickness / 1e9
    EA, D, h = E * t, E * t**3 / 12, t / 2
    M0 = k * P * h
    V0 = -(P * t - 2 * M0) / (2 * c)
    u1, u2, w1, w2, r1, r2, N1, N2, V1, V2, M1, M2 = np.eye(12)
    tau, sigma = shear * (u1 - u2 + h * (r1 + r2)), peel * (w1 - w2)
    A = np.stack(
        [N1 / EA, N2 / EA, r1, r2, M1 / D, M2 / D, tau, -tau, sigma, -sigma, h * tau - V1, h * tau - V2]
    )
    across = expm(2 * c * A)
    # three balances leave three of the twelve end loads without a say: rigid movements are held instead
    held = [u1, w1, r1, N1, N2, V1, V2, M1, M2, N1 @ across, V1 @ across, M1 @ across]
    start = np.linalg.solve(np.stack(held), [0, 0, 0, P, 0, V0, 0, M0, 0, 0, 0, 0])
    places = np.stack([expm(x * A) @ start for x in np.linspace(0, 2 * c, 41)])
    return np.abs(places @ tau).max() * 1e6, (places @ sigma)[0] * 1e6


@pytest.mark.parametrize("k", [1.0, 0.6, 0.3])
def test_goland_and_reissner_against_two_beams(k):
    """For end loads in balance, shear and peel peaks are those of two beams on a layer, solved as a
    boundary-value problem.
    """
    load = np.array([LOAD])
    shear, peel = lap_of_two_beams(JOINT, LOAD, k)
    assert _shear(JOINT, load, np.array([k]))[0] == pytest.approx(shear, rel=1e-4)
    balance = (1 - k) / 2
    assert _peel(JOINT, load, np.array([k]), np.array([balance]))[0] == pytest.approx(peel, rel=1e-3)


def test_edge_moment_against_a_beam_column():
    """k is the edge moment of two long arms and a doubled middle as beam-columns, solved as a boundary-value
    problem.
    """
    E, nu, t, c = JOINT.E, JOINT.nu, JOINT.thickness, OVERLAP / 2
    D1, arm = E * t**3 / 12 / (1 - nu**2), 0.4
    D2 = 8 * D1
    # antisymmetric about mid-joint: the load line passes it; w is the deflection from that line, held at the arm's far end
    tilt = t / 2 / (arm + c)

    def slopes(s, y):
        wo, so, wi, si = y  # outer over the arm, inner over the half overlap, both on 0…1
        xo, xi = s * arm, arm + s * c
        return np.stack(
            [so * arm, LOAD / D1 * (wo + tilt * xo) * arm, si * c, LOAD / D2 * (wi + tilt * xi - t / 2) * c]
        )

    def ends(a, b):
        return np.array([a[0], b[0] - a[2], b[1] - a[3], b[2]])

    s = np.linspace(0, 1, 2001)
    found = solve_bvp(slopes, ends, s, np.zeros((4, len(s))), tol=1e-9, max_nodes=200_000)
    assert found.success
    moment = LOAD * abs(found.y[0, -1] + tilt * arm)
    k = edge_moment_factor(JOINT, np.array([LOAD]))[0]
    assert k == pytest.approx(moment / (LOAD * t / 2), rel=5e-3)


def test_pull_straightens_the_joint():
    """The edge moment factor falls from 1 with the load, and peel grows more slowly than load."""
    loads = np.array([1e-3, 1e4, 1e5, 1e6])
    k = edge_moment_factor(JOINT, loads)
    assert k[0] == pytest.approx(1, abs=1e-3)
    assert (np.diff(k) < 0).all()
    assert (np.diff(max_peel_stress(JOINT, loads) / loads) < 0).all()


def test_glue_without_strength_is_not_checked():
    """Glue without strengths gives entries that are not checked; with them, strengths govern."""
    factors, load = SafetyFactors(), np.array([LOAD])
    bare = shear_checks("glue", "shear", [(Lap(SHEET, SHEET, OVERLAP, GLUE), load)], factors)
    assert [c.kind for c in bare] == ["not checked"] * 2
    assert [c.kind for c in single_lap_checks("glue", JOINT, load, factors)] == ["not checked"] * 4
    strong = Adhesive(G=1e9, thickness=0.2e-3, shear_strength=29.9148e6)
    for check in shear_checks("glue", "shear", [(Lap(SHEET, SHEET, OVERLAP, strong), load)], factors):
        assert check.load_factor[0] == pytest.approx(1.0, rel=1e-5)
    none = shear_checks("glue", "shear", [(Lap(SHEET, SHEET, 0.0, strong), load)], factors)
    assert {check.reason for check in none} == {"there is no overlap"}


# Loaded and held at the same end ------------------------------------------------------------------------------


def lap_of_bars(lap, count=4000, strain=0.0, loads=(0.0, 0.0, 0.0, 0.0)):
    """(τ at both ends, Pa, slip of sheet 1 against 2 at x = 0, m) of two chains of bars on shear springs.

    loads  : N/m, forward along x, on sheet 1 at both ends, then on sheet 2;   strain : free expansion of sheet 1 beyond sheet 2's
    """
    h, n = lap.length / count, count + 1
    matrix = np.zeros((4, 2 * n))  # upper bands of freedoms u1, u2, u1, u2, …
    shares = np.full(n, h)
    shares[[0, -1]] = h / 2
    for first, K in ((0, lap.K1), (1, lap.K2)):
        matrix[3, first::2] += K / h * np.where(np.isin(np.arange(n), (0, n - 1)), 1, 2)
        matrix[1, first + 2 :: 2] -= K / h
    spring = lap.adhesive.stiffness * shares
    matrix[3] += np.repeat(spring, 2)
    matrix[2, 1::2] -= spring
    force = np.zeros(2 * n)
    force[[0, -2, 1, -1]] = loads
    force[[0, -2]] += [-lap.K1 * strain, lap.K1 * strain]
    matrix[3, 1] *= 1 + 1e-9  # holds what moves freely otherwise
    moved = solveh_banded(matrix, force)
    slip = moved[::2] - moved[1::2]
    return lap.adhesive.stiffness * slip[[0, -1]], slip[0]


@pytest.mark.parametrize(("K1", "K2"), [(SHEET, SHEET), (SHEET, 3 * SHEET), (4 * SHEET, SHEET)])
@pytest.mark.parametrize("length", [0.004, 0.025, 0.1])
def test_a_lap_loaded_at_one_end_against_bars_and_springs(K1, K2, length):
    """Where a load enters and leaves at one end the peak is ω coth ωL and the slip that over G/η: two chains of bars."""
    lap = Lap(K1, K2, length, GLUE, same_end=True)
    tau, slip = lap_of_bars(lap, loads=(1.0, 0.0, -1.0, 0.0))
    assert lap.peak == pytest.approx(abs(tau[0]), rel=1e-3)
    assert lap.flexibility == pytest.approx(abs(slip), rel=1e-3)
    far = lap_shear(lap, np.array([0.0, length]))
    np.testing.assert_allclose(far, np.abs(tau), rtol=1e-3, atol=1e-6 * lap.peak)


@given(stiffness, stiffness, st.floats(1e-3, 0.2))
def test_the_same_end_is_up_to_twice_as_bad(K1, K2, length):
    """One end carries between 1 and 2 times the peak of both ends: even for a short lap, double for a long one of like sheets."""
    one, through = (Lap(K1, K2, length, GLUE, same_end=same) for same in (True, False))
    assert 1 - 1e-9 <= one.peak / through.peak <= 2 + 1e-9


def test_limits_of_a_lap_loaded_at_one_end():
    """Short: the load spreads evenly, 1/L; long: ω, twice that of like sheets loaded at both ends."""
    short, long = (Lap(SHEET, SHEET, length, GLUE, same_end=True) for length in (1e-6, 0.5))
    assert short.peak == pytest.approx(1e6, rel=1e-4)
    assert long.peak == pytest.approx(long.omega, rel=1e-9)
    assert long.peak == pytest.approx(2 * Lap(SHEET, SHEET, 0.5, GLUE).peak, rel=1e-6)


@pytest.mark.parametrize("ratio", [1.0, 6.0])
@pytest.mark.parametrize("length", [0.012, 0.03, 0.06])
def test_plastic_capacity_of_one_end_against_shooting(ratio, length):
    """Elastic and then plastic glue loaded at one end carries what a shooting solution of the same curve carries."""
    glue = Adhesive(G=1e9, thickness=0.2e-3, plastic_strain=0.08)
    lap = Lap(ratio * SHEET, SHEET, length, glue, same_end=True)
    elastic, flexibility = 30e6 / glue.G, 1 / lap.K1 + 1 / lap.K2
    last = elastic + glue.plastic_strain

    def far_end(P):
        found = solve_ivp(
            lambda _, y: [y[1], flexibility / glue.thickness * glue.G * min(y[0], elastic)],
            (0, length), [last, -P * flexibility / glue.thickness], rtol=1e-9, atol=1e-13, max_step=length / 400,
        )  # fmt: skip
        return found.y[1, -1]

    # the free far end has no slope of slip; a lap that is short enough is plastic all over
    shot = brentq(far_end, 1.0, 30e6 * length * 1.5, rtol=1e-10)
    assert plastic_capacity(lap, 30e6) == pytest.approx(min(shot, 30e6 * length), rel=1e-5)


@given(stiffness, stiffness, st.floats(2e-3, 0.2))
def test_brittle_glue_at_one_end_breaks_at_its_elastic_peak(K1, K2, length):
    """Without plastic strain the capacity is strength over the elastic peak, at one end too."""
    lap = Lap(K1, K2, length, GLUE, same_end=True)
    assert plastic_capacity(lap, 30e6) == pytest.approx(30e6 / lap.peak, rel=1e-6)


# Temperature ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("K1", "K2"), [(SHEET, SHEET), (SHEET, 3 * SHEET), (7e8, 6e8)])
@pytest.mark.parametrize("length", [0.004, 0.025, 0.25])
def test_unequal_expansion_against_bars_and_springs(K1, K2, length):
    """τ = Δα ΔT (G/η)/ω tanh(ωL/2) at both ends, of opposite sense: two chains of bars, one of which expands more."""
    lap = Lap(K1, K2, length, replace(GLUE, temperature_change=40.0))
    tau, _ = lap_of_bars(lap, strain=21e-6 * 40)
    assert tau[0] == pytest.approx(-tau[1], rel=1e-6)
    assert thermal_shear(lap, 21e-6) == pytest.approx(abs(tau[0]), rel=2e-3)


def test_limits_of_unequal_expansion():
    """None without length, without a change or a mismatch; Δα ΔT G L/2η for a short lap; a long one no more than ω gives."""
    warm = replace(GLUE, temperature_change=40.0)
    strain = 21e-6 * 40
    assert thermal_shear(Lap(SHEET, SHEET, 0.0, warm), 21e-6) == 0.0
    assert thermal_shear(Lap(SHEET, SHEET, 0.1, GLUE), 21e-6) == 0.0
    assert thermal_shear(Lap(SHEET, SHEET, 0.1, warm), 0.0) == 0.0
    short, long = Lap(SHEET, SHEET, 1e-4, warm), Lap(SHEET, SHEET, 1.0, warm)
    assert thermal_shear(short, 21e-6) == pytest.approx(strain * warm.stiffness * 1e-4 / 2, rel=1e-3)
    assert thermal_shear(long, 21e-6) == pytest.approx(strain * warm.stiffness / long.omega, rel=1e-9)
    assert thermal_shear(long, -21e-6) == thermal_shear(long, 21e-6)


@given(st.floats(0.1e-3, 4e-3), st.floats(1.1, 5))
def test_a_thicker_glue_line_is_sheared_less_by_temperature(thickness, ratio):
    """The stress of unequal expansion falls as the glue line grows thicker, and as its sheets grow softer."""
    thin, thick = (
        Lap(7e8, 6e8, 0.25, replace(GLUE, thickness=t, temperature_change=40.0))
        for t in (thickness, ratio * thickness)
    )
    soft = replace(thin, K1=thin.K1 / ratio)
    assert thermal_shear(thick, 21e-6) < thermal_shear(thin, 21e-6)
    assert thermal_shear(soft, 21e-6) < thermal_shear(thin, 21e-6)


# Peel beside shear ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("thickness", [2e-3, 10e-3])
def test_peel_of_a_sheet_held_from_bending_as_a_whole(thickness):
    """Peel at a sheet's end is that of a beam on the glue under τ t/2 per length, τ as shear lag has it: finite differences."""
    glue = Adhesive(G=1.2e9, thickness=0.4e-3, E=3.2e9)
    E, nu = 70e9, 0.33
    lap = Lap(E * thickness, 1e20, 0.5, glue)
    D, bed = E * thickness**3 / 12 / (1 - nu**2), glue.E / glue.thickness
    beta, n = (bed / 4 / D) ** 0.25, 4000
    length = 12 / beta
    h = length / n
    a, b, c = 6 * h, 4 * h**2, 2 * h**2
    beam = D / h**3 * np.array([[12, a, -12, a], [a, b, -a, c], [-12, -a, 12, -a], [a, c, -a, b]])
    bands = np.zeros((4, 2 * n + 2))
    for row in range(4):
        for column in range(row, 4):
            bands[3 - column + row, column : 2 * n + column : 2] += beam[row, column]
    shares = np.full(n + 1, h)
    shares[[0, -1]] = h / 2
    bands[3, ::2] += bed * shares
    places = np.linspace(0, length, n + 1)
    turning = np.exp(-lap.omega * places) * thickness / 2 * shares
    force = np.zeros(2 * n + 2)
    force[1::2] = turning
    peel = np.abs(bed * solveh_banded(bands, force)[::2])
    assert peel_ratio(D, thickness, lap) == pytest.approx(peel[0], rel=5e-3)


def test_peel_of_plastic_glue_is_hart_smiths():
    """Where shear does not decay σ/τ = (3 (1 − ν²) E_a t/(E η))^¼: L.J. Hart-Smith, NASA CR-112235 (1973), from memory."""
    soft = Adhesive(G=1.0, thickness=0.4e-3, E=3.2e9)
    lap = Lap(1e20, 1e20, 0.5, soft)
    wanted = (3 * (1 - 0.3**2) * 3.2e9 * 5e-3 / (70e9 * 0.4e-3)) ** 0.25
    D = 70e9 * 5e-3**3 / 12 / (1 - 0.3**2)
    assert peel_ratio(D, 5e-3, lap) == pytest.approx(wanted, rel=1e-6)
    with pytest.raises(ValueError, match="modulus"):
        peel_ratio(D, 5e-3, Lap(SHEET, SHEET, 0.1, GLUE))


# Two checks -----------------------------------------------------------------------------------------------------

STRONG = Adhesive(1.2e9, 0.4e-3, 25e6, 12e6, 0.15, 3.2e9)


def both_checks(glue, load, length=0.25, **more):
    """Ultimate and elastic check of a lap of like sheets."""
    return shear_checks("part", "glue", [(Lap(7e8, 6e8, length, glue), load)], SafetyFactors(), **more)


def test_the_elastic_check_is_the_peak_against_the_strength_less_its_knock_downs():
    """1.5 × peak under the load in service against strength × 0.56, wet and warm; the ultimate one by 3."""
    wet = replace(STRONG, knockdowns=(knockdowns()["wet"], knockdowns()["warm"]))
    load = np.array([50e3])
    ultimate, elastic = both_checks(wet, load)
    lap = Lap(7e8, 6e8, 0.25, wet)
    assert elastic.margin[0] == pytest.approx(25e6 * 0.56 / (1.5 * 50e3 * lap.peak) - 1)
    assert ultimate.margin[0] == pytest.approx(plastic_capacity(lap, 25e6) / (3 * 50e3) - 1)
    assert (ultimate.factor.name, elastic.factor.name) == ("bond", "bond_elastic")
    assert "wet, warm" in elastic.source


@given(st.lists(st.sampled_from(["wet", "warm", "secondary_bond", "fatigue_glue"]), max_size=4))
def test_a_knock_down_never_raises_a_margin(names):
    """Each further knock-down lowers the elastic margin of shear and of peel, and none of them raises another."""
    taken = [
        replace(STRONG, knockdowns=tuple(knockdowns()[n] for n in names[:k])) for k in range(len(names) + 1)
    ]
    load = np.array([50e3])
    shear = [both_checks(glue, load)[1].margin[0] for glue in taken]
    peel = [
        peel_checks("part", "peel", glue, np.array([1e6]), 1, SafetyFactors(), "")[1].margin[0]
        for glue in taken
    ]
    assert (np.diff(shear) < 0).all()
    assert (np.diff(peel) < 0).all()


def test_no_plastic_strain_turns_a_verdict_unsaid():
    """Whatever plastic strain is typed, the elastic check keeps its margin; what it alone satisfies has a remark that says so."""
    load = np.array([400e3])
    brittle, plastic = (both_checks(replace(STRONG, plastic_strain=g), load) for g in (0.0, 0.15))
    assert brittle[1].margin == plastic[1].margin < 0
    assert brittle[0].margin < 0 < plastic[0].margin
    elastic = 1.5 * 400e3 * Lap(7e8, 6e8, 0.25, STRONG).peak / 25e6
    remark = plastic[0].remark(0)
    assert f"elastic utilisation {elastic:.2f}" in remark
    assert f"margin without it {brittle[0].margin[0]:+.2f}".replace("-", "−") in remark
    assert overall_outcome(plastic) == "fails"
    once = replace(plastic[0], extreme=np.array([True]))
    assert f"elastic utilisation {elastic / 1.5:.2f}" in once.remark(0)
    assert f"margin without it {480.0 / 800.0 - 1:+.1f}".replace("-", "−") in once.remark(0)
    assert both_checks(STRONG, np.array([1e3]))[0].remark(0) == ""
    assert both_checks(STRONG, np.array([1e6]))[0].remark(0) == ""


def test_temperature_adds_to_the_peak_of_the_elastic_check_alone():
    """τ of load and of temperature add up; the ultimate check is as without; the load factor leaves temperature as it is."""
    load = np.array([0.0, 50e3])
    cold, warm = both_checks(STRONG, load), both_checks(STRONG, load, thermal=8e6)
    assert warm[0].margin == pytest.approx(cold[0].margin)
    assert warm[1].load == pytest.approx(cold[1].load + 8e6)
    assert warm[1].margin[0] == pytest.approx(25 / (1.5 * 8) - 1)
    grown = both_checks(STRONG, load * warm[1].load_factor[1], thermal=8e6)[1]
    assert grown.load[1] == pytest.approx(grown.allowable[1])
    assert warm[1].remark(1) == "utilisation 0.48 by temperature alone"
    alone = both_checks(STRONG, load, thermal=30e6)[1]
    assert (alone.margin < 0).all()
    assert alone.load_factor == pytest.approx([0.0, 0.0])


def test_a_limit_in_service_is_no_load_at_failure():
    """By what loads may grow until something fails is a matter of the ultimate check, however early the glue yields."""
    load = np.array([50e3])
    wet = replace(STRONG, knockdowns=(knockdowns()["fatigue_glue"],))
    checks = both_checks(wet, load, thermal=8e6)
    growth, names = failure_load_factor(checks)
    assert names == ("part: glue",)
    assert growth == pytest.approx(checks[0].load_factor)
    assert checks[1].load_factor[0] < growth[0]
