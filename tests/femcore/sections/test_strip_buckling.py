"""Plates that couple bending with twist against finite elements across the width; sandwiches against the plate with shear."""

import numpy as np
import pytest
from scipy.linalg import eigh

from femcore.laminates import LaminateMaterials, core_shear_stiffness, lay_up
from femcore.sections import Wall, analyse, box, local_buckling, recover
from femcore.sections.buckling import (
    _bent,
    compression_cylinder,
    compression_flat,
    coupling_share,
    critical_flows,
    panel_strength,
    panels,
    shear_flat,
)
from femcore.sections.strip_buckling import critical_strip_flow, critical_strip_shear

CARBON = LaminateMaterials(fibre="carbon_sm", resin="epoxy", process="infused")
GLASS = LaminateMaterials(fibre="e_glass", resin="epoxy", process="infused")
TWO_CLOTHS = lay_up(["db 450 @45", "mirror"], CARBON)
LAMINATES = [
    TWO_CLOTHS,
    lay_up(["db 450 @45", "mirror"], GLASS),
    lay_up(["2x db 450 @45", "mirror"], CARBON),
    lay_up(["uni 300 @30", "db 450", "mirror"], CARBON),
    lay_up(["uni 300 @-30", "uni 300 @0", "mirror"], GLASS),
]
B = 0.3


def bending(laminate):
    """D with the membrane force free."""
    return laminate.D - laminate.B @ np.linalg.solve(laminate.A, laminate.B)


def straight(D):
    """D without its coupling of bending with twist."""
    return D * (1 - np.array([[0, 0, 1], [0, 0, 1], [1, 1, 0]]))


def by_elements(D, b, compression, shear, elements=12, waves=300):
    """The critical multiple of the flows on an endless strip, w = Re e^{ikx} f(s): f by cubic Hermite elements across."""
    h, nodes = b / elements, elements + 1
    at, weight = np.polynomial.legendre.leggauss(4)
    t, weight = (at + 1) / 2, weight * h / 2
    zero = np.stack(
        [1 - 3 * t**2 + 2 * t**3, h * (t - 2 * t**2 + t**3), 3 * t**2 - 2 * t**3, h * (t**3 - t**2)]
    )
    first = (
        np.stack([6 * t**2 - 6 * t, h * (1 - 4 * t + 3 * t**2), 6 * t - 6 * t**2, h * (3 * t**2 - 2 * t)]) / h
    )
    second = np.stack([12 * t - 6, h * (6 * t - 4), 6 - 12 * t, h * (6 * t - 2)]) / h**2
    kept = np.setdiff1d(np.arange(2 * nodes), [0, 2 * elements])
    best = np.inf
    for k in np.geomspace(0.2, 6, waves) * np.pi / b:
        curvature = np.stack([k**2 * zero, -second, -2j * k * first])  # −w_xx, −w_ss, −2 w_xs
        slopes = np.stack([1j * k * zero, first])
        flow = -np.array([[-compression, shear], [shear, 0]])
        one = np.einsum("iag,ij,jbg,g->ab", curvature.conj(), D, curvature, weight)
        load = np.einsum("iag,ij,jbg,g->ab", slopes.conj(), flow, slopes, weight)
        K, G = (np.zeros((2 * nodes, 2 * nodes), complex) for _ in range(2))
        for e in range(elements):
            here = np.ix_(np.arange(2 * e, 2 * e + 4), np.arange(2 * e, 2 * e + 4))
            K[here] += one
            G[here] += load
        values = eigh(G[np.ix_(kept, kept)], K[np.ix_(kept, kept)], eigvals_only=True)
        best = min(best, 1 / values[-1])
    return best


@pytest.mark.parametrize("laminate", LAMINATES)
@pytest.mark.parametrize("load", [(1, 0), (0, 1), (0, -1), (1, 0.7), (1, -0.7)])
def test_the_strip_agrees_with_finite_elements_across_its_width(laminate, load):
    """An independent discretisation of the plate energy gives the same critical flows within 0.5 %."""
    D = bending(laminate)
    assert critical_strip_flow(D, B, *load) == pytest.approx(by_elements(D, B, *load), rel=5e-3)


def test_two_cloths_at_45_lose_a_third_in_compression_and_half_in_the_worse_sense_of_shear():
    """0.70 and 0.46 of what the plate would bear without D16 and D26: measured before by a double sine series."""
    D = bending(TWO_CLOTHS)
    less = [
        critical_strip_flow(D, B, *load) / critical_strip_flow(straight(D), B, *load)
        for load in ((1, 0), (0, 1))
    ]
    assert less == pytest.approx([0.70, 0.46], rel=0.03)


def test_shear_is_worse_in_the_sense_that_compresses_across_the_outer_fibres():
    """Outer fibres at +45°: positive shear compresses along −45°, where the plate bends easily."""
    one, other = (bending(lay_up([f"uni 300 @{angle}", "mirror"], CARBON)) for angle in (45, -45))
    worse, better = (critical_strip_flow(one, B, 0.0, sense) for sense in (1.0, -1.0))
    assert worse < 0.5 * better
    assert critical_strip_flow(other, B, 0.0, -1.0) == pytest.approx(worse, rel=1e-9)
    assert critical_strip_shear(one, B) == pytest.approx((worse, better), rel=1e-12)
    narrow = [critical_strip_flow(one, 0.37 * B, 0.0, sense) for sense in (1.0, -1.0)]
    assert critical_strip_shear(one, 0.37 * B) == pytest.approx(narrow, rel=1e-12)
    assert critical_strip_shear(other, B) == pytest.approx((better, worse), rel=1e-9)


@pytest.mark.parametrize("laminate", LAMINATES)
def test_without_coupling_the_strip_is_the_closed_form(laminate):
    """Lekhnitskii's compression, also of half-waves held short; Seydel's shear within its own 2 %."""
    D = straight(bending(laminate))
    assert critical_strip_flow(D, B, 1.0, 0.0) == pytest.approx(compression_flat(D, B), rel=1e-4)
    short = 0.5 * B * (D[0, 0] / D[1, 1]) ** 0.25
    assert critical_strip_flow(D, B, 1.0, 0.0, length=short) == pytest.approx(
        compression_flat(D, B, short), rel=1e-4
    )
    assert compression_flat(D, B, short) > 1.2 * compression_flat(D, B)
    assert critical_strip_flow(D, B, 0.0, 1.0) == pytest.approx(shear_flat(D, B), rel=0.02)


def test_a_free_edge_is_the_flange():
    """Isotropic: k = 0.425 at ν = 0.3 for a long flange (Timoshenko & Gere, from memory)."""
    D = np.array([[1, 0.3, 0], [0.3, 1, 0], [0, 0, 0.35]])
    found = critical_strip_flow(D, 1.0, 1.0, 0.0, free=True)
    assert found == pytest.approx(0.425 * np.pi**2, rel=0.005)


@pytest.mark.parametrize("laminate", LAMINATES)
def test_no_flow_makes_a_plate_lose_more_than_its_coupling_share(laminate):
    """κ·D κ ≥ (1 − share) κ·D₀ κ, so every critical flow is at least that part of the uncoupled plate's."""
    D = bending(laminate)
    share = coupling_share(D)
    assert 0 < share < 1
    for load in ((1, 0), (0, 1), (0, -1)):
        least = (1 - share) * critical_strip_flow(straight(D), B, *load)
        assert critical_strip_flow(D, B, *load) >= least * (1 - 1e-6)
    assert coupling_share(straight(D)) == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize("laminate", LAMINATES)
def test_compression_and_shear_together_are_close_to_the_plates_own_interaction(laminate):
    """R_c = (1 − q/q₊)(1 + q/q₋) is between 4 % below and 1.5 % above the plate equation."""
    wall = Wall.from_laminate(laminate)
    strength = panel_strength(box(B, B, wall))
    C, plus, minus = (each[0] for each in (strength.compression, strength.shear, strength.shear_negative))
    for part in np.linspace(-0.9, 0.9, 7):
        q = part * (plus if part > 0 else minus)
        c = C * (1 - abs(part))
        ours = 1 / _bent(strength, np.full((1, 4), c / C), np.full((1, 4), q))[0, 0]
        exact = critical_strip_flow(wall.bending, strength.panels.width[0], c, q)
        assert 0.96 * exact < ours < 1.015 * exact


@pytest.mark.parametrize("laminate", LAMINATES)
def test_a_coupled_cylinder_is_the_least_of_its_helical_waves(laminate):
    """Membrane energy with u and v found by elimination, wave by wave over both wave numbers, gives the same least load."""
    wall, R = Wall.from_laminate(laminate), 0.5
    A, D = wall.membrane, wall.bending
    alpha, slope = np.meshgrid(
        np.geomspace(3, 3000, 600), np.tan(np.linspace(-1.55, 1.55, 401)), indexing="ij"
    )
    beta, none = alpha * slope, np.zeros_like(alpha)
    curvature = np.stack([alpha**2, beta**2, 2 * alpha * beta], axis=-1)
    rows = [[alpha, none, none], [none, beta, none + 1 / R], [beta, alpha, none]]
    strain = np.stack([np.stack(row, axis=-1) for row in rows], axis=-2)
    energy = np.swapaxes(strain, -1, -2) @ A @ strain
    inner = np.linalg.solve(energy[..., :2, :2], energy[..., :2, 2:])
    membrane = energy[..., 2, 2] - (energy[..., 2:, :2] @ inner)[..., 0, 0]
    load = (np.einsum("abi,ij,abj->ab", curvature, D, curvature) + membrane) / alpha**2
    assert compression_cylinder(A, D, R) == pytest.approx(load.min(), rel=5e-3)
    assert compression_cylinder(A, D, R) < compression_cylinder(A, straight(D), R)


def sandwich(core):
    """Two glass skins of biax on foam."""
    return lay_up(["2x biax 600", f"core foam80 {core} mm", "mirror on last"], GLASS)


def test_a_sandwich_panel_bends_and_shears():
    """In compression 1/N = 1/N_bending + 1/S, in shear alike, S = G d²/c: by hand, on a box of sandwich walls."""
    laminate = sandwich(15)
    wall = Wall.from_laminate(laminate)
    skins = laminate.thickness - 15e-3
    S = 27e6 * (15e-3 + skins / 2) ** 2 / 15e-3
    assert core_shear_stiffness(laminate) == pytest.approx(S, rel=1e-9)
    solved = analyse(box(0.3, 0.3, wall, measured="midline"))
    N, T = -1e5, 1e4
    flows = recover(solved, [[N, 0, 0, 0, 0, 0], [0, 0, 0, T, 0, 0]])
    found = local_buckling(solved, flows)
    bend, slide = (flows[0] for flows in critical_flows(panels(solved.section))[:2])
    c, q = -N / 1.2, np.abs(flows.q[1]).max()
    # Bredt's flow, but for the torque that the walls bear by their own twisting
    assert q == pytest.approx(T / (2 * 0.3**2), rel=0.02)
    np.testing.assert_allclose(found.factor[0], 1 / (c / bend + c / S), rtol=1e-6)
    np.testing.assert_allclose(found.factor[1], 1 / (q / slide + q / S), rtol=1e-3)
    np.testing.assert_allclose(found.crimping_factor, [[S / c] * 4, [S / q] * 4], rtol=1e-3)
    assert found.factor[0, 0] < 0.6 * bend / c


@pytest.mark.parametrize("r", [0.01, 0.2, 0.5, 0.9, 1.0, 3.0])
def test_the_sum_of_flexibilities_is_below_the_exact_sandwich_by_a_quarter_at_most(r):
    """Isotropic thin faces, r = π²D/(b² S): exactly 4/(1 + r)² π²D/b² up to r = 1, then S (H. G. Allen, Analysis and Design of
    Structural Sandwich Panels (1969), from memory); checked here by the plate's own least over waves.
    """
    beta = np.geomspace(0.05, 500, 200001)
    waves = (1 + beta**2) ** 2 / beta**2 / (1 + r * (1 + beta**2))
    exact = 4 / (1 + r) ** 2 if r < 1 else 1 / r
    assert waves.min() == pytest.approx(exact, rel=1e-3)
    assert 0.749 * exact < 1 / (1 / 4 + r) < exact
