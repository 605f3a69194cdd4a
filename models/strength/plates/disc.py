"""Stiffness of a plate, held at a radius R, against movement of a rigid disc of radius r in it.

The plate has the in-plane stiffness of thickness t, modulus E, ratio ν, G = E/2(1 + ν), and the bending
stiffness D; it is clamped at R. R has little effect on torsion and tilt, a movement in the plane through a
logarithm only: state it. All derived, as closed solutions; sources beside each, checks against plane-stress
and plate finite elements in the tests.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from femcore.base.arrays import FloatArray
from femcore.laminates import Laminate
from femcore.materials import Metal
from models.strength.bounds import require_larger, require_positive


@dataclass(frozen=True)
class IsotropicPlate:
    """A plate as the support of a disc in it: `Et` N/m in its plane, `nu`, `D` N·m in bending."""

    Et: float
    nu: float
    D: float

    def __post_init__(self) -> None:
        require_positive("plate around the disc", Et=self.Et, D=self.D)

    @property
    def Gt(self) -> float:
        """N/m, Et/2(1 + ν)."""
        return self.Et / (2 * (1 + self.nu))

    @classmethod
    def of_metal(cls, metal: Metal, thickness: float) -> IsotropicPlate:
        """A sheet of `thickness`, m: E t, ν and E t³/12(1 − ν²)."""
        return cls(metal.E * thickness, metal.nu, metal.E * thickness**3 / (12 * (1 - metal.nu**2)))

    @classmethod
    def of_laminate(cls, laminate: Laminate) -> IsotropicPlate:
        """A laminate averaged over all directions in its plane (its invariants U1, U4).

        A11 = U1 = (3A11 + 3A22 + 2A12 + 4A66)/8, A12 = U4 = (A11 + A22 + 6A12 − 4A66)/8, and D likewise (S.W.
        Tsai & N.J. Pagano 1968; from memory). Exact for a quasi-isotropic skin; for others an average that
        is somewhat stiff.
        """
        stretch, bend = _direction_average(laminate.A), _direction_average(laminate.D)
        nu = stretch[1] / stretch[0]
        return cls(stretch[0] * (1 - nu**2), nu, bend[0])


def torsional_stiffness(plate: IsotropicPlate, r: float, R: float) -> float:
    """N·m/rad about the disc's own axis: 4π G t/(1/r² − 1/R²).

    S.P. Timoshenko & J.N. Goodier, Theory of Elasticity, shear in a ring (u = A r + B/r; from memory).
    """
    _check(r, R)
    return 4 * math.pi * plate.Gt / (1 / r**2 - 1 / R**2)


def in_plane_stiffness(plate: IsotropicPlate, r: float, R: float) -> float:
    """N/m, of a movement in the plane: 2π G t (κ + 1)/[κ ln(R/r) − (R² − r²)/κ(R² + r²)], κ = (3 − ν)/(1 +
    ν).

    F. Baguelin, R. Frank & Y.H. Saïd, Géotechnique 27 (1977) 405 (from memory); here in plane stress.
    """
    _check(r, R)
    kappa = (3 - plate.nu) / (1 + plate.nu)
    denominator = kappa * math.log(R / r) - (R**2 - r**2) / (kappa * (R**2 + r**2))
    return 2 * math.pi * plate.Gt * (kappa + 1) / denominator


def tilt_stiffness(plate: IsotropicPlate, r: float, R: float) -> float:
    """N·m/rad, of a tilt out of the plane: 4π D/[ln(R/r) − (R² − r²)/(R² + r²)].

    Derived from w = (A r + B/r + C r³ + D r ln r) cos θ. W.C. Young, Roark's Formulas (6th ed.), Table 24
    case 21, has it as θ = α M/(E t³) with α = 1.149, 0.595, 0.167, 0.081 for r/R = 0.1, 0.2, 0.4, 0.5 and ν
    = 0.3 (from memory).
    """
    _check(r, R)
    return 4 * math.pi * plate.D / (math.log(R / r) - (R**2 - r**2) / (R**2 + r**2))


def transverse_stiffness(plate: IsotropicPlate, r: float, R: float) -> float:
    """N/m, of a movement square to the plate: 16π D/[R² − r² − 4 R² r² ln²(R/r)/(R² − r²)].

    S. Timoshenko & S. Woinowsky-Krieger, Theory of Plates and Shells (1959), article 17, rigid centre (from
    memory).
    """
    _check(r, R)
    clamping_term = 4 * R**2 * r**2 * math.log(R / r) ** 2 / (R**2 - r**2)
    return 16 * math.pi * plate.D / (R**2 - r**2 - clamping_term)


def _check(r: float, R: float) -> None:
    require_positive("disc in a plate", radius=r)
    require_larger("disc in a plate", ("radius", r), ("far radius", R))


def _direction_average(a: FloatArray) -> tuple[float, float]:
    along = (3 * a[0, 0] + 3 * a[1, 1] + 2 * a[0, 1] + 4 * a[2, 2]) / 8
    across = (a[0, 0] + a[1, 1] + 6 * a[0, 1] - 4 * a[2, 2]) / 8
    return float(along), float(across)
