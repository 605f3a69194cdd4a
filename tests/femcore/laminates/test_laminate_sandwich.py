"""Sandwiches: the core's shear, and faces that wrinkle on it."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from femcore.base.errors import InputFault
from femcore.laminates import (
    LaminateMaterials,
    as_sandwich,
    core_shear,
    first_ply_failure,
    lay_up,
    stack,
    wrinkling,
    wrinkling_stress,
)
from femcore.materials import cores
from tests.femcore.laminates.laminate_cases import GRAPHITE, isotropic, plies

FOAM = cores()["foam80"]


def metal_sandwich(face=1e-3, core=30e-3):
    """Two equal aluminium-like faces on PVC foam."""
    return stack([(isotropic(), face, 0), (FOAM, core, 0), (isotropic(), face, 0)], "panel")


def test_wrinkling_stress_by_hand():
    """½(20 GPa · 90 MPa · 27 MPa)^(1/3) = 182.5 MPa (Hoff & Mautner 1945, from memory)."""
    assert wrinkling_stress(20e9, FOAM) == pytest.approx(182.46e6, rel=1e-4)


def test_a_metal_face_wrinkles_at_that_stress():
    """A sandwich squeezed along x has N/2t in each face and wrinkles at the formula's stress for E of the
    face.
    """
    N = -1e5
    check = wrinkling(metal_sandwich(), [N, 0, 0, 0, 0, 0])
    # the core takes its share: 95 MPa · 30 mm against 70 GPa · 2 mm, 2 %
    assert check.stress == pytest.approx(np.full(2, 1e5 / 2e-3), rel=0.025)
    assert check.allowable == pytest.approx(np.full(2, 0.5 * np.cbrt(70e9 * 90e6 * 27e6)), rel=1e-9)
    assert check.load_factor == pytest.approx(check.allowable / check.stress)
    assert check.margin(2.0) == pytest.approx(check.load_factor / 2 - 1)


def test_bending_squeezes_one_face_only():
    """Under a positive moment the face at smaller z is in compression (M = ∫σz dz), and the other is not."""
    check = wrinkling(metal_sandwich(), [0, 0, 0, 1e3, 0, 0])
    assert check.stress[0] == pytest.approx(1e3 / (31e-3 * 1e-3), rel=0.02)
    assert check.stress[1] < 1e-3 * check.stress[0]


def test_shear_wrinkles_along_its_compressed_diagonal():
    """Pure shear is compression of the same size at 45°, where the allowable of an isotropic face is the
    same.
    """
    pressed = wrinkling(metal_sandwich(), [-1e5, 0, 0, 0, 0, 0])
    sheared = wrinkling(metal_sandwich(), [0, 0, 1e5, 0, 0, 0])
    assert sheared.stress == pytest.approx(pressed.stress, rel=0.03)
    assert sheared.allowable == pytest.approx(pressed.allowable, rel=1e-6)


@given(st.integers(0, 179))
def test_wrinkling_does_not_know_the_axes(turn):
    """A sandwich turned together with its load wrinkles at the same load factor."""
    plain = lay_up(
        ["2x uni 300", "db 450", "core foam80 20 mm", "mirror on last"], LaminateMaterials(fibre="carbon_sm")
    )
    angle = np.deg2rad(turn)
    c, s = np.cos(angle), np.sin(angle)
    turned_load = [-1e5 * c * c, -1e5 * s * s, -1e5 * c * s, 0, 0, 0]
    ours = wrinkling(plain.rotated(angle), turned_load).load_factor
    assert ours == pytest.approx(wrinkling(plain, [-1e5, 0, 0, 0, 0, 0]).load_factor, rel=1e-9)


def test_core_shear_agrees_with_the_exact_flow():
    """V/d is the greatest shear stress from the bending stresses, ∫E z dz · V/EI, within 2 % for thin
    faces.
    """
    panel, V = metal_sandwich(), 1e4
    E = np.array([panel.Qbar[k, 0, 0] for k in range(3)])
    z = panel.edges
    inertia = (E * (z[1:] ** 3 - z[:-1] ** 3)).sum() / 3
    first_moment = E[0] * (z[1] ** 2 - z[0] ** 2) / 2 + E[1] * (0 - z[1] ** 2) / 2
    exact = abs(first_moment) * V / inertia
    check = core_shear(panel, [V, 0])
    assert check.stress == pytest.approx(exact, rel=0.02)
    assert check.load_factor == pytest.approx(FOAM.shear_strength * 31e-3 / V)


def test_core_shear_adds_as_a_vector():
    """Shear both ways adds as the length of a vector, for a table of loads at once."""
    check = core_shear(metal_sandwich(), [[3e3, 4e3], [5e3, 0], [0, 0]])
    assert check.stress[0] == pytest.approx(check.stress[1])
    assert np.isinf(check.load_factor[2])


def test_faces_of_unequal_thickness():
    """The distance runs between the middles of the faces, whatever each weighs."""
    panel = stack([(isotropic(), 1e-3, 0), (FOAM, 20e-3, 0), (isotropic(), 3e-3, 0)])
    assert as_sandwich(panel).distance == pytest.approx(22e-3)


def test_a_core_never_fails_as_a_ply():
    """Cores have no in-plane strengths and never govern first-ply failure; they are checked as cores."""
    panel = stack([(GRAPHITE, 1e-3, 0), (FOAM, 20e-3, 0), (GRAPHITE, 1e-3, 0)])
    for criterion in ("max_strain", "max_stress", "tsai_wu"):
        found = first_ply_failure(panel, [1e5, 2e4, 1e4, 100, 0, 0], criterion)
        assert found.ply in {0, 2}
        assert np.isfinite(found.load_factor)


@pytest.mark.parametrize(
    ("laminate", "said"),
    [
        (plies(GRAPHITE, (0, 90)), "no core in it"),
        (stack([(FOAM, 20e-3, 0), (GRAPHITE, 1e-3, 0)]), "a core without a face"),
        (stack([(GRAPHITE, 1e-3, 0), (FOAM, 9e-3, 0)] * 2 + [(GRAPHITE, 1e-3, 0)]), "more than one core"),
    ],
)
def test_what_is_no_sandwich_is_refused(laminate, said):
    """A core check of a laminate without core, without a face, or with two cores says so."""
    with pytest.raises(InputFault, match=said):
        core_shear(laminate, [1.0, 0.0])


def test_shear_forces_come_in_pairs():
    """A single shear force is refused: both directions are needed."""
    with pytest.raises(InputFault, match="two shear forces"):
        core_shear(metal_sandwich(), [1.0])
