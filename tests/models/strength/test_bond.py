"""Glue lines: shear lag, plastic reserve, single laps that bend."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_bvp, solve_ivp
from scipy.linalg import expm
from scipy.optimize import brentq

from models.strength.bonding.bond import Adhesive, Lap, bond_check, lap_shear, plastic_capacity
from models.strength.bonding.single_lap import (
    SingleLap,
    _peel,
    _shear,
    edge_moment_factor,
    max_peel_stress,
    max_shear_stress,
    single_lap_checks,
)
from models.strength.margins import SafetyFactors

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
    assert bond_check("glue", Lap(SHEET, SHEET, OVERLAP, GLUE), load, factors).kind == "not checked"
    assert [c.kind for c in single_lap_checks("glue", JOINT, load, factors)] == ["not checked"] * 2
    strong = Adhesive(G=1e9, thickness=0.2e-3, shear_strength=29.9148e6)
    check = bond_check("glue", Lap(SHEET, SHEET, OVERLAP, strong), load, factors)
    assert check.load_factor[0] == pytest.approx(1.0, rel=1e-5)
    assert check.factor.value == 3.0
    none = bond_check("glue", Lap(SHEET, SHEET, 0.0, strong), load, factors)
    assert none.reason == "there is no overlap"
