"""A laminate as the wall of a beam: what couples, and what is left where forces vanish."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from scipy.optimize import minimize

from femcore.base.errors import InputFault
from femcore.laminates import (
    RESULTANTS,
    Laminate,
    LaminateMaterials,
    condense,
    couplings,
    free_expansion,
    lay_up,
    membrane_constants,
    wall_stiffness,
)
from tests.femcore.laminates.laminate_cases import GRAPHITE, laminates, plies

TINY = 1e-9


@pytest.mark.parametrize(
    ("angles", "noticeable"),
    [
        ((0, 90, 90, 0), set()),
        ((0, 90), {"bend-stretch"}),
        ((30, 30), {"shear-stretch", "bend-twist"}),
        ((45, -45, -45, 45), {"bend-twist"}),
        ((45, -45), {"bend-stretch"}),
        ((45, -45, -45, 45, -45, 45, 45, -45), set()),
    ],
)
def test_couplings_are_named_where_theory_has_them(angles, noticeable):
    """Cross-ply, off-axis, angle-ply symmetric and antisymmetric lay-ups couple as textbooks say (Jones,
    chapter 4).
    """
    found = couplings(plies(GRAPHITE, angles))
    assert {each.name for each in found if each.is_noticeable} == noticeable
    assert all(each.effect.endswith(".") for each in found)


def test_wall_of_a_beam_may_contract():
    """For a symmetric, balanced wall: axial A11 − A12²/A22, shear A66; a lone ply gives E1 t and G12 t."""
    laminate = plies(GRAPHITE, (0, 45, -45, -45, 45, 0))
    wall, A = wall_stiffness(laminate), laminate.A
    assert wall.axial == pytest.approx(A[0, 0] - A[0, 1] ** 2 / A[1, 1], rel=TINY)
    assert wall.shear == pytest.approx(A[2, 2], rel=TINY)
    alone = wall_stiffness(plies(GRAPHITE, (0,), 2e-3))
    assert (alone.axial_modulus, alone.shear_modulus) == pytest.approx((181e9, 7.17e9), rel=TINY)


@given(laminates())
def test_condensing_is_the_least_energy(laminate):
    """What is left free settles where the energy is least: condensing agrees with eliminating by the
    compliance.
    """
    keep = ("N_x", "N_xy", "M_xy")
    places = [RESULTANTS.index(name) for name in keep]
    expected = np.linalg.inv(laminate.compliance[np.ix_(places, places)])
    ours = condense(laminate, keep)
    scale = np.sqrt(np.diag(ours))
    assert ours / np.outer(scale, scale) == pytest.approx(expected / np.outer(scale, scale), abs=1e-6)
    assert wall_stiffness(laminate).matrix == pytest.approx(ours)
    softer, stiffer = wall_stiffness(laminate).axial_shear_free, wall_stiffness(laminate).axial
    assert 0 < softer <= stiffer * (1 + 1e-9)
    assert stiffer <= laminate.A[0, 0] * (1 + 1e-9)


def test_condensing_agrees_with_a_numerical_minimum():
    """An energy minimised numerically over the free strains, curvature κ_x held, is half the condensed
    stiffness.
    """
    laminate = plies(GRAPHITE, (0, 30, -45), 5e-3)
    scale = 1 / np.sqrt(np.diag(laminate.stiffness))
    K = scale[:, None] * laminate.stiffness * scale

    def energy(free):
        strain = np.array([1.0, free[0], 0.4, 0.0, free[1], free[2]])
        return strain @ K @ strain / 2

    least = minimize(energy, np.zeros(3), method="BFGS", options={"gtol": 1e-10}).fun
    small = condense(laminate, ("N_x", "N_xy"), held=("M_x",))
    kept = np.array([scale[0], 0.4 * scale[2]])
    assert kept @ small @ kept / 2 == pytest.approx(least, rel=1e-6)


def test_unbalanced_wall_twists_under_tension():
    """A wall of plies at +30° alone shears when pulled: N_x and γ_xy couple in the condensed stiffness, −30°
    reverses.
    """
    plus, minus = (wall_stiffness(plies(GRAPHITE, (angle,) * 4)) for angle in (30, -30))
    assert plus.matrix[0, 1] == pytest.approx(-minus.matrix[0, 1], rel=TINY)
    assert plus.matrix[0, 1] > 0.3 * plus.shear
    constants = membrane_constants(plies(GRAPHITE, (30,) * 4))
    assert plus.axial_shear_free == pytest.approx(constants.Ex * 1e-3, rel=TINY)


@pytest.mark.parametrize(
    ("names", "said"),
    [
        (("N_z",), "no resultant is called 'N_z'"),
        (("N_x", "N_x"), "named twice"),
        ((), "none is kept"),
    ],
)
def test_resultants_are_named_once(names, said):
    """Unknown, doubled and missing names of resultants are refused."""
    with pytest.raises(InputFault, match=said):
        condense(plies(GRAPHITE, (0,)), names)


def warmed(laminate, along, across):
    """The laminate with the same expansions of every layer."""
    return Laminate(
        tuple(
            replace(ply, lamina=replace(ply.lamina, expansion1=along, expansion2=across))
            for ply in laminate.plies
        )
    )


def test_a_free_laminate_that_warms_carries_nothing():
    """The expansion is the strain at which the layers' own expansions leave no resultant: Σ Q̄ (ε − ᾱ) t = 0, ply by ply."""
    laminate = warmed(plies(GRAPHITE, (0, 45, -30, -30, 45, 0)), -0.3e-6, 30e-6)
    strain = free_expansion(laminate)
    total = np.zeros(3)
    for ply in laminate.plies:
        c, s = np.cos(ply.angle), np.sin(ply.angle)
        turned = np.array(
            [[c * c, s * s, c * s], [s * s, c * c, -c * s], [-2 * c * s, 2 * c * s, c * c - s * s]]
        )
        lamina, inner = ply.lamina, turned @ strain - [-0.3e-6, 30e-6, 0]
        scale = 1 - lamina.nu12**2 * lamina.E2 / lamina.E1
        Q = np.array(
            [[lamina.E1, lamina.nu12 * lamina.E2, 0], [lamina.nu12 * lamina.E2, lamina.E2, 0], [0, 0, 0]]
        )
        stress = Q @ inner / scale + [0, 0, lamina.G12 * inner[2]]
        total += turned.T @ stress * ply.thickness
    np.testing.assert_allclose(total, 0, atol=1e-9 * laminate.A[0, 0] * 30e-6)


def test_expansion_turns_with_the_laminate():
    """A quarter turn swaps both ways; a quasi-isotropic laminate expands alike both ways; a lone ply as itself."""
    laminate = warmed(plies(GRAPHITE, (0, 0, 90, 0)), -0.3e-6, 30e-6)
    here, there = free_expansion(laminate), free_expansion(laminate.rotated(np.pi / 2))
    assert there == pytest.approx(here[[1, 0, 2]], abs=1e-15)
    even = free_expansion(warmed(plies(GRAPHITE, (0, 45, -45, 90)), -0.3e-6, 30e-6))
    assert even == pytest.approx([even[0], even[0], 0], abs=1e-15)
    assert free_expansion(warmed(plies(GRAPHITE, (0,)), -0.3e-6, 30e-6)) == pytest.approx([-0.3e-6, 30e-6, 0])


def test_expansion_of_a_laminate_with_an_unknown_layer_is_not_known():
    """A layer without expansions leaves the laminate's unknown; a core is carried along by its skins."""
    assert free_expansion(plies(GRAPHITE, (0, 90))) is None
    skins, cored = (
        lay_up(given, LaminateMaterials())
        for given in (["2x biax 600"], ["biax 600", "core foam80 20 mm", "biax 600"])
    )
    assert free_expansion(cored) == pytest.approx(free_expansion(skins))
