"""A rigid disc in a plate, against plane-stress and plate finite elements."""

import math

import numpy as np
import pytest
from skfem import (
    Basis,
    BilinearForm,
    ElementTriMorley,
    ElementTriP2,
    ElementVector,
    MeshTri,
    asm,
    condense,
    solve,
)
from skfem.helpers import dd, ddot, sym_grad, trace

from femcore.base.errors import InputFault
from femcore.laminates import LaminateMaterials, lay_up
from models.strength.plates import disc
from models.strength.plates.disc import IsotropicPlate

NU, R_IN, R_OUT = 0.3, 0.1, 0.4
UNIT = IsotropicPlate(Et=1.0, nu=NU, D=1.0)


def annulus(rings, sectors):
    """A ring of triangles between the two radii, finer inwards."""
    radius = R_IN * (R_OUT / R_IN) ** np.linspace(0, 1, rings + 1)
    angle = np.linspace(0, 2 * np.pi, sectors, endpoint=False)
    points = np.stack([np.outer(radius, np.cos(angle)), np.outer(radius, np.sin(angle))]).reshape(2, -1)
    i, j = np.meshgrid(np.arange(rings), np.arange(sectors), indexing="ij")
    a, b = i * sectors + j, i * sectors + (j + 1) % sectors
    c, d = a + sectors, b + sectors
    corners = np.concatenate([np.stack([a, c, d]).reshape(3, -1), np.stack([a, d, b]).reshape(3, -1)], axis=1)
    return MeshTri(points, corners)


@BilinearForm
def plane_stress(u, v, _):
    """Work of plane stress, E t = 1."""
    e, f = sym_grad(u), sym_grad(v)
    return (ddot(e, f) + NU / (1 - NU) * trace(e) * trace(f)) / (1 + NU)


@BilinearForm
def bending(w, v, _):
    """Work of a thin plate, D = 1."""
    a, b = dd(w), dd(v)
    return (1 - NU) * ddot(a, b) + NU * (a[0, 0] + a[1, 1]) * (b[0, 0] + b[1, 1])


def stiffness_of(basis, form, movement):
    """Twice the energy of the plate when its inner edge takes part in a rigid unit `movement`, its outer
    edge held.
    """
    K = asm(form, basis)
    inner = basis.get_dofs(lambda x: np.hypot(*x) < R_IN * 1.01)
    outer = basis.get_dofs(lambda x: np.hypot(*x) > R_OUT * 0.99)
    u = np.zeros(basis.N)
    u[inner.flatten()] = basis.project(movement)[inner.flatten()]
    u = solve(*condense(K, x=u, D=np.concatenate([inner.flatten(), outer.flatten()])))
    return u @ K @ u


@pytest.fixture(scope="module")
def membrane():
    """Quadratic plane-stress elements."""
    return Basis(annulus(16, 120), ElementVector(ElementTriP2()))


@pytest.fixture(scope="module")
def plate():
    """Morley's plate elements."""
    return Basis(annulus(40, 200), ElementTriMorley())


def test_torsion_against_plane_stress_elements(membrane):
    """A disc turned in its plane: 4πGt/(1/r² − 1/R²) is what plane-stress elements give."""
    found = stiffness_of(membrane, plane_stress, lambda x: np.stack([-x[1], x[0]]))
    assert disc.torsional_stiffness(UNIT, R_IN, R_OUT) == pytest.approx(found, rel=2e-3)


def test_movement_in_the_plane_against_plane_stress_elements(membrane):
    """A disc moved in its plane: Baguelin, Frank and Saïd's formula is what plane-stress elements give."""
    found = stiffness_of(membrane, plane_stress, lambda x: np.stack([1 + 0 * x[0], 0 * x[0]]))
    assert disc.in_plane_stiffness(UNIT, R_IN, R_OUT) == pytest.approx(found, rel=2e-3)


def test_tilt_against_plate_elements(plate):
    """A disc tilted in a clamped plate: 4πD/[ln(R/r) − (R² − r²)/(R² + r²)] is what plate elements give."""
    found = stiffness_of(plate, bending, lambda x: x[0])
    assert disc.tilt_stiffness(UNIT, R_IN, R_OUT) == pytest.approx(found, rel=1e-2)


def test_push_against_plate_elements(plate):
    """A disc pushed through a clamped plate: the closed form is what plate elements give."""
    found = stiffness_of(plate, bending, lambda x: 1 + 0 * x[0])
    assert disc.transverse_stiffness(UNIT, R_IN, R_OUT) == pytest.approx(found, rel=1e-2)


@pytest.mark.parametrize(
    ("ratio", "alpha"),
    [(0.10, 1.149), (0.15, 0.813), (0.20, 0.595), (0.25, 0.439), (0.40, 0.167), (0.50, 0.081)],
)
def test_tilt_against_roark(ratio, alpha):
    """Roark's Formulas (6th ed.), Table 24 case 21, trunnion in a clamped plate, θ = α M/(E t³), ν = 0.3
    (from memory).
    """
    E, t = 1.0, 1.0
    D = E * t**3 / (12 * (1 - 0.3**2))
    k = disc.tilt_stiffness(IsotropicPlate(E * t, 0.3, D), ratio, 1.0)
    assert 1 / k == pytest.approx(alpha, rel=8e-3)


@pytest.mark.parametrize(
    "of", [disc.torsional_stiffness, disc.in_plane_stiffness, disc.tilt_stiffness, disc.transverse_stiffness]
)
def test_a_disc_as_large_as_the_plate_is_rigid(of):
    """Each stiffness grows without bound as the disc fills the plate, and falls as the far edge recedes."""
    narrow, middle, wide = (of(UNIT, R_IN, R) for R in (R_IN * 1.0001, 0.4, 4.0))
    assert narrow > 1e2 * middle > 1e2 * wide


def test_far_edge_hardly_enters_torsion():
    """Doubling a far radius of four disc radii changes torsion by less than 6 %, a movement in the plane by
    more.
    """
    turn = disc.torsional_stiffness(UNIT, R_IN, 0.8) / disc.torsional_stiffness(UNIT, R_IN, 0.4)
    move = disc.in_plane_stiffness(UNIT, R_IN, 0.8) / disc.in_plane_stiffness(UNIT, R_IN, 0.4)
    assert 0.94 < turn < 1
    assert move < 0.75


def test_a_quasi_isotropic_skin_keeps_its_own_moduli():
    """Averaging a quasi-isotropic skin over all directions changes nothing in its plane: A11, A12 and A66
    are met.
    """
    skin = lay_up(["biax 600 @0", "db 600 @45", "mirror"], LaminateMaterials())
    plate = IsotropicPlate.of_laminate(skin)
    A = skin.A
    assert plate.Et / (1 - plate.nu**2) == pytest.approx(A[0, 0], rel=1e-9)
    assert plate.nu == pytest.approx(A[0, 1] / A[0, 0], rel=1e-9)
    assert plate.Gt == pytest.approx(A[2, 2], rel=1e-9)


@pytest.mark.parametrize("degrees", [15, 30, 45])
def test_the_average_does_not_ask_how_the_skin_is_laid(degrees):
    """The averaged plate is the same for a skin turned in its plane."""
    skin = lay_up(["2x uni 300 @0", "biax 600 @0"], LaminateMaterials())
    one, other = (
        IsotropicPlate.of_laminate(skin),
        IsotropicPlate.of_laminate(skin.rotated(math.radians(degrees))),
    )
    np.testing.assert_allclose([one.Et, one.nu, one.D], [other.Et, other.nu, other.D], rtol=1e-9)


def test_a_disc_larger_than_its_plate_is_a_fault():
    """A disc that reaches the far radius is a fault in words."""
    with pytest.raises(InputFault, match="far radius"):
        disc.torsional_stiffness(UNIT, 0.4, 0.4)
