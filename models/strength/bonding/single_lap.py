"""A single lap that may bend: Goland and Reissner's joint of two like sheets.

M. Goland & E. Reissner, J. Applied Mechanics 11 (1944) A17; formulas as restated in later texts (read), then
checked against boundary-value solutions of the same beams on a shear and peel layer, of which they are the
closed form. Sheets of thickness t, modulus E, ratio ν; overlap 2c; load P per width; glue G, E_a, η:

    u = √(3(1 − ν²)/2) (c/t) √(P/tE)          k = 1/(1 + 2√2 tanh u)             edge moment M = k P t/2
    β² = 8 G t/(E η)                          τ_max/τ_av = ¼[(βc/t)(1 + 3k) coth(βc/t) + 3(1 − k)]
    λ⁴ = 6 E_a t/(E η) (c/t)⁴                 k' = k (c/t) √(3(1 − ν²) P/tE)
    σ_max = (P t/c²) [λ² (k/2)(sinh 2λ − sin 2λ) + λ k' (cosh 2λ + cos 2λ)]/(sinh 2λ + sin 2λ)

The edge moment falls as the load straightens the joint, so stress grows more slowly than load; k = 1 bounds
it from above.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from femcore.base.arrays import FloatArray
from models.strength.bonding.bond import (
    ELASTIC,
    NO_SHEAR_STRENGTH,
    Adhesive,
    elastic_check,
    peel_checks,
)
from models.strength.bounds import require_positive
from models.strength.margins import Check, SafetyFactors, checked, not_checked

SOURCE = "Goland & Reissner 1944"
MAX_LAMBDA = 300.0
"""λ up to which e to its double is still a number."""


@dataclass(frozen=True)
class SingleLap:
    """Two like sheets: `E` Pa, `nu`, `thickness` m; `overlap` m; the glue between them."""

    E: float
    nu: float
    thickness: float
    overlap: float
    adhesive: Adhesive

    def __post_init__(self) -> None:
        require_positive("single lap", E=self.E, thickness=self.thickness, overlap=self.overlap)

    @property
    def slenderness(self) -> float:
        """c/t, half the overlap over the thickness."""
        return self.overlap / 2 / self.thickness


def edge_moment_factor(lap: SingleLap, load: FloatArray) -> FloatArray:
    """k of the edge moment k P t/2 for loads P, N/m, above zero (tension); 1 for compression, as a bound."""
    strain = np.maximum(load, 0.0) / (lap.thickness * lap.E)
    u = np.sqrt(1.5 * (1 - lap.nu**2) * strain) * lap.slenderness
    return np.asarray(1 / (1 + 2 * np.sqrt(2) * np.tanh(u)))


def max_shear_stress(lap: SingleLap, load: FloatArray) -> FloatArray:
    """Pa, the greatest shear stress in the glue."""
    return _shear(lap, load, edge_moment_factor(lap, load))


def max_peel_stress(lap: SingleLap, load: FloatArray) -> FloatArray:
    """Pa, the greatest peel stress in the glue, at its ends; ValueError where the glue's E is not known."""
    k = edge_moment_factor(lap, load)
    strain = np.abs(load) / (lap.thickness * lap.E)
    return _peel(lap, load, k, k * lap.slenderness * np.sqrt(3 * (1 - lap.nu**2) * strain))


def _shear(lap: SingleLap, load: FloatArray, k: FloatArray) -> FloatArray:
    beta = np.sqrt(8 * lap.adhesive.G * lap.thickness / (lap.E * lap.adhesive.thickness)) * lap.slenderness
    return np.asarray(np.abs(load) / lap.overlap / 4 * (beta * (1 + 3 * k) / np.tanh(beta) + 3 * (1 - k)))


def _peel(lap: SingleLap, load: FloatArray, k: FloatArray, shear_factor: FloatArray) -> FloatArray:
    """Peel under the edge moment k P t/2 and the edge shear k' P t/c."""
    if lap.adhesive.E is None:
        raise ValueError("the glue's Young's modulus is not known")
    stiffness_ratio = 6 * lap.adhesive.E * lap.thickness / (lap.E * lap.adhesive.thickness)
    x = min(stiffness_ratio**0.25 * lap.slenderness, MAX_LAMBDA)
    whole = np.sinh(2 * x) + np.sin(2 * x)
    moment = x**2 * k / 2 * (np.sinh(2 * x) - np.sin(2 * x)) / whole
    shear = x * shear_factor * (np.cosh(2 * x) + np.cos(2 * x)) / whole
    c = lap.overlap / 2
    return np.asarray(np.abs(load) * lap.thickness / c**2 * (moment + shear))


def single_lap_checks(
    part: str, lap: SingleLap, load: FloatArray, factors: SafetyFactors
) -> tuple[Check, ...]:
    """Shear and peel of the glue under a load per width (cases,), N/m, each ultimate and elastic: no plastic strain counts."""
    glue, cases = lap.adhesive, len(load)
    shear, strength = "glue line in shear", glue.shear_strength
    if strength is None:
        found = tuple(
            not_checked(part, name, cases, NO_SHEAR_STRENGTH) for name in (shear, f"{shear}, {ELASTIC}")
        )
    else:
        stress = max_shear_stress(lap, load)
        found = (
            checked(part, shear, stress, strength, "Pa", factors.safety_factor("bond"), SOURCE),
            elastic_check(part, shear, stress, glue, strength, factors, SOURCE),
        )
    peel = None if glue.E is None else max_peel_stress(lap, load)
    return *found, *peel_checks(part, "glue line in peel", glue, peel, cases, factors, SOURCE)
