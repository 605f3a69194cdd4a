"""A pin in double shear: one inner plate between two outer ones (EN 1993-1-8:2005 3.13, Tables 3.9 and 3.10;
read).

- shear of one plane 0.6 A f_up;  bearing 1.5 t d f_y, replaceable 0.6 t d f_y (f_y the lower of pin and
  plate);
- bending M = F (b + 4c + 2a)/8 against 1.5 W f_yp, replaceable 0.8 W f_yp;  together (M/M_R)² + (F_v/F_v,R)²
  ≤ 1.

Resistances are characteristic: the factors "ultimate" (shear) and "yielding" (bearing, bending) hold the γM.
The two of the combined check are mixed: it takes the larger. The square root of the interaction is its utilisation.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from femcore.base.arrays import FloatArray
from models.strength.bounds import require_positive
from models.strength.margins import Check, SafetyFactor, SafetyFactors, checked

PIN_SOURCE = "EN 1993-1-8:2005 Table 3.10"


@dataclass(frozen=True)
class Pin:
    """A solid round pin: `diameter` m; `proof` and `ultimate` of its metal, Pa.

    inner, outer, gap : m, thickness of the inner plate (b), of each outer plate (a), and the play between
      them (c)
    replaceable       : whether it has to come out again, as one that is stripped every year
    """

    diameter: float
    proof: float
    ultimate: float
    inner: float
    outer: float
    gap: float = 0.0
    replaceable: bool = True

    def __post_init__(self) -> None:
        require_positive("pin", diameter=self.diameter, proof=self.proof, inner=self.inner, outer=self.outer)

    @property
    def shear_resistance(self) -> float:
        """N, one plane, 0.6 A f_up."""
        return 0.6 * math.pi / 4 * self.diameter**2 * self.ultimate

    @property
    def bending_resistance(self) -> float:
        """N·m, 1.5 W f_yp, or 0.8 W f_yp where replaceable."""
        return (0.8 if self.replaceable else 1.5) * math.pi / 32 * self.diameter**3 * self.proof

    @property
    def moment_per_force(self) -> float:
        """m, (b + 4c + 2a)/8."""
        return (self.inner + 4 * self.gap + 2 * self.outer) / 8


def plate_bearing_resistance(thickness: float, diameter: float, proof: float, *, replaceable: bool) -> float:
    """N, of a plate (or plates, their thickness summed) on a pin: 1.5 t d f_y, or 0.6 t d f_y where it is to
    come out.
    """
    return (0.6 if replaceable else 1.5) * thickness * diameter * proof


def pin_checks(
    part: str, pin: Pin, force: FloatArray, factors: SafetyFactors, plates_proof: tuple[float, float]
) -> tuple[Check, ...]:
    """A pin under `force` (cases,), N, with the proof stress of inner and outer plates, Pa."""
    ultimate, yielding = factors.safety_factor("ultimate"), factors.safety_factor("yielding")
    F = np.abs(force)
    shear = F / 2
    bending = F * pin.moment_per_force
    utilisation = np.hypot(bending / pin.bending_resistance, shear / pin.shear_resistance)
    both: SafetyFactor = max(ultimate, yielding)
    inner, outer = (min(proof, pin.proof) for proof in plates_proof)
    at_inner = plate_bearing_resistance(pin.inner, pin.diameter, inner, replaceable=pin.replaceable)
    at_outer = plate_bearing_resistance(2 * pin.outer, pin.diameter, outer, replaceable=pin.replaceable)
    return (
        checked(part, "pin in shear", shear, pin.shear_resistance, "N", ultimate, PIN_SOURCE),
        checked(part, "pin in bending", bending, pin.bending_resistance, "N·m", yielding, PIN_SOURCE),
        checked(part, "pin in shear and bending", utilisation, 1.0, "", both, PIN_SOURCE),
        checked(part, "inner plate in bearing", F, at_inner, "N", yielding, PIN_SOURCE),
        checked(part, "outer plates in bearing", F, at_outer, "N", yielding, PIN_SOURCE),
    )
