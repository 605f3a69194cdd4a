"""A foot glued on a wall: shear along and around as laps, pull and moments as peel.

Axes of an `attachment`: 1 along, 2 off the wall, 3 around.

- Shear: a force along 1 over the foot's whole length in that direction is a lap of foot and wall (`bond.plastic_capacity`), the
  same across; a moment in the plane counts as what it makes at the foot's corner, M r/I_p, over that length; √ of squares of both
  directions (common practice).
- Peel: a base plate that bends on its glue is effective over the part on it and 1/λ all round, λ⁴ = E_a/(4 η D): a rigid
  block with long overhangs on an elastic bed presses as one longer by 1/λ at both sides (M. Hetényi, Beams on Elastic Foundation
  (1946); from memory, checked by a boundary-value solution). For moments that is on the safe side.
- Both together: √ of squares (common practice).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from femcore.base.arrays import FloatArray
from models.strength.attachment import Footprint
from models.strength.bonding.bond import Adhesive, Lap, plastic_capacity
from models.strength.bounds import require_positive
from models.strength.margins import Check, SafetyFactors, checked, not_checked
from models.strength.plates.wall_bending import SupportingWall, wall_bending_checks

LAP_SOURCE = "Volkersen 1938; Hart-Smith, NASA CR-112235"
PEEL_SOURCE = "Hetényi 1946, estimate"


@dataclass(frozen=True, eq=False)
class BondedBasePlate:
    """A foot of `size` (along, across), m, glued on a wall.

    stretch : N/m, E t of the foot along and across;   D : N·m, its bending stiffness, the lesser way
    """

    size: tuple[float, float]
    axial_stiffness: tuple[float, float]
    D: float
    footprint: Footprint
    glue: Adhesive
    wall: SupportingWall

    def __post_init__(self) -> None:
        require_positive("foot", along=self.size[0], across=self.size[1], bending_stiffness=self.D)
        self.wall.check_size(self.size)

    @property
    def laps(self) -> tuple[Lap, Lap]:
        """Foot and wall along, and across."""
        along, around = self.wall.axial_stiffness
        return (
            Lap(self.axial_stiffness[0], along, self.size[0], self.glue),
            Lap(self.axial_stiffness[1], around, self.size[1], self.glue),
        )

    def shear_utilisation(self, loads: FloatArray, strength: float) -> FloatArray:
        """(cases,), of the glue in shear of that `strength`, Pa."""
        a, b = self.size
        polar = a * b * (a**2 + b**2) / 12
        F1, F3, M2 = np.abs(loads[:, [0, 2, 4]]).T
        along, across = F1 / b + M2 * (b / 2) / polar * a, F3 / a + M2 * (a / 2) / polar * b
        one, other = (plastic_capacity(lap, strength) for lap in self.laps)
        return np.asarray(np.hypot(along / one, across / other))

    def peel_stress(self, loads: FloatArray) -> FloatArray:
        """(cases,), Pa; ValueError where the glue's E is not known."""
        if self.glue.E is None:
            raise ValueError("the glue's Young's modulus is not known")
        reach = (4 * self.D * self.glue.thickness / self.glue.E) ** 0.25
        return self.footprint.contact_patch(reach, self.size).stress(loads)

    def checks(self, part: str, loads: FloatArray, factors: SafetyFactors) -> tuple[Check, ...]:
        """The glue, and the wall under the foot."""
        return (
            *self._glue(f"{part}, glue", loads, factors),
            *wall_bending_checks(f"{part}, wall", self.wall, self.size, loads, factors),
        )

    def _glue(self, part: str, loads: FloatArray, factors: SafetyFactors) -> list[Check]:
        factor, cases, glue = factors.safety_factor("bond"), len(loads), self.glue
        sheared, peeled, both = "glue in shear", "glue in peel", "glue in shear and peel"
        strength, peel = glue.shear_strength, glue.peel_strength
        if strength is None:
            why = "no shear strength of the glue is given"
            return [not_checked(part, name, cases, why) for name in (sheared, both)]
        utilisation = self.shear_utilisation(loads, strength)
        first = checked(part, sheared, utilisation, 1.0, "", factor, LAP_SOURCE)
        if peel is None or glue.E is None:
            why = "the glue's peel strength or its modulus is not given"
            return [first, not_checked(part, peeled, cases, why)]
        stress = self.peel_stress(loads)
        return [
            first,
            checked(part, peeled, stress, peel, "Pa", factor, PEEL_SOURCE),
            checked(
                part,
                both,
                np.hypot(utilisation, stress / peel),
                1.0,
                "",
                factor,
                f"{LAP_SOURCE}; {PEEL_SOURCE}",
            ),
        ]
