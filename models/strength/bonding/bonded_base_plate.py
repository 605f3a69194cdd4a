"""A foot glued on a wall: shear along and around as laps, pull and moments as peel.

Axes of an `attachment`: 1 along, 2 off the wall, 3 around.

- Shear: a force along 1 over the foot's whole length in that direction is a lap of foot and wall (`bond.shear_checks`), the
  same across; a moment in the plane counts as what it makes at the foot's corner, M r/I_p, over that length; √ of squares of both
  directions (common practice). At which end of the foot its load leaves in the wall is not known: both at one end is the worse.
- Peel: a base plate that bends on its glue is effective over the part on it and 1/λ all round, λ⁴ = E_a/(4 η D): a rigid
  block with long overhangs on an elastic bed presses as one longer by 1/λ at both sides (M. Hetényi, Beams on Elastic Foundation
  (1946); from memory, checked by a boundary-value solution). For moments that is on the safe side.
- Peel at the foot's own ends, beside its peak shear (`bond.peel_ratio`).
- Both together: √ of squares (common practice).
- Temperature, where one of foot and wall is a metal: unequal expansion both ways, √ of squares as at a corner
  (`bond.thermal_shear`). Laminate on laminate counts as one laminate.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from femcore.base.arrays import FloatArray
from models.strength.attachment import Footprint
from models.strength.bonding.bond import (
    ELASTIC,
    END_PEEL_SOURCE,
    NO_EXPANSION,
    Adhesive,
    Flow,
    Lap,
    peel_checks,
    peel_ratio,
    shear_checks,
    thermal_shear,
    with_reserve,
)
from models.strength.bounds import require_positive
from models.strength.margins import Check, SafetyFactors, checked, not_checked
from models.strength.plates.wall_bending import SupportingWall, wall_bending_checks

PEEL_SOURCE = "Hetényi 1946, estimate (from memory)"


@dataclass(frozen=True, eq=False)
class BondedBasePlate:
    """A foot of `size` (along, across), m, glued on a wall.

    axial_stiffness : N/m, E t of the foot along and across;   D : N·m, its bending stiffness, the lesser way
    own : the foot as a wall, x along, where it is described: its expansion and thickness
    """

    size: tuple[float, float]
    axial_stiffness: tuple[float, float]
    D: float
    footprint: Footprint
    glue: Adhesive
    wall: SupportingWall
    own: SupportingWall | None = None

    def __post_init__(self) -> None:
        require_positive("foot", along=self.size[0], across=self.size[1], bending_stiffness=self.D)
        self.wall.check_size(self.size)

    @property
    def laps(self) -> tuple[Lap, Lap]:
        """Foot and wall along, and across."""
        along, around = self.wall.axial_stiffness
        return (
            Lap(self.axial_stiffness[0], along, self.size[0], self.glue, same_end=True),
            Lap(self.axial_stiffness[1], around, self.size[1], self.glue, same_end=True),
        )

    def flows(self, loads: FloatArray) -> tuple[FloatArray, FloatArray]:
        """(cases,) each, N/m: along over the width, and across over the length, a moment in the plane as at the corner."""
        a, b = self.size
        polar = a * b * (a**2 + b**2) / 12
        F1, F3, M2 = np.abs(loads[:, [0, 2, 4]]).T
        return F1 / b + M2 * (b / 2) / polar * a, F3 / a + M2 * (a / 2) / polar * b

    def peel_stress(self, loads: FloatArray) -> FloatArray:
        """(cases,), Pa; ValueError where the glue's E is not known."""
        if self.glue.E is None:
            raise ValueError("the glue's Young's modulus is not known")
        reach = (4 * self.D * self.glue.thickness / self.glue.E) ** 0.25
        return self.footprint.contact_patch(reach, self.size).stress(loads)

    @property
    def thermal_shear(self) -> float | None:
        """Pa, at a corner, of unequal expansion; None where one of both is not known."""
        foot, wall = None if self.own is None else self.own.tube_wall, self.wall.tube_wall
        if foot is None or not (foot.of_metal or wall.of_metal) or not self.glue.temperature_change:
            return 0.0
        if foot.expansion is None or wall.expansion is None:
            return None
        mismatch = zip(foot.expansion, wall.expansion, strict=True)
        each = (thermal_shear(lap, a - b) for lap, (a, b) in zip(self.laps, mismatch, strict=True))
        return math.hypot(*each)

    def checks(self, part: str, loads: FloatArray, factors: SafetyFactors) -> tuple[Check, ...]:
        """The glue, and the wall under the foot."""
        return (
            *self._glue(f"{part}, glue", loads, factors),
            *wall_bending_checks(f"{part}, wall", self.wall, self.size, loads, factors),
        )

    def _glue(self, part: str, loads: FloatArray, factors: SafetyFactors) -> list[Check]:
        cases, glue = len(loads), self.glue
        flows = list(zip(self.laps, self.flows(loads), strict=True))
        stress = None if glue.E is None else self.peel_stress(loads)
        thermal = self.thermal_shear
        sheared = shear_checks(part, "glue in shear", flows, factors, thermal or 0.0)
        peeled = peel_checks(part, "glue in peel", glue, stress, cases, factors, PEEL_SOURCE)
        elastic = _both(part, f"glue in shear and peel, {ELASTIC}", sheared[1], peeled[1])
        ultimate = _both(part, "glue in shear and peel", sheared[0], peeled[0])
        if sheared[0].plastic is not None and ultimate.kind == "checked":
            both = np.hypot(sheared[0].plastic.brittle, peeled[0].load / peeled[0].allowable)
            ultimate = with_reserve(ultimate, elastic, both)
        found = [*sheared, *peeled, ultimate, elastic, *self._ends(part, flows, thermal or 0.0, factors)]
        if thermal is None:
            found.append(not_checked(part, "glue under a temperature change", cases, NO_EXPANSION))
        return found

    def _ends(
        self, part: str, flows: list[Flow], thermal: float, factors: SafetyFactors
    ) -> tuple[Check, ...]:
        """Peel of the foot's ends beside their shear, where the foot is described."""
        if self.own is None:
            return ()
        glue, ratio, stress = self.glue, 0.0, None
        if glue.E is not None:
            ratio = max(peel_ratio(self.D, self.own.thickness, lap) for lap, _ in flows)
            (one, first), (other, second) = flows
            stress = ratio * np.hypot(first * one.peak, second * other.peak)
        return peel_checks(
            part,
            "glue in peel at its ends",
            glue,
            stress,
            len(flows[0][1]),
            factors,
            END_PEEL_SOURCE,
            ratio * thermal,
        )


def _both(part: str, name: str, shear: Check, peel: Check) -> Check:
    """√ of squares of the utilisations of two checks with one factor; not checked where one of them is not."""
    lacking = next((check for check in (shear, peel) if check.kind == "not checked"), None)
    if lacking is not None:
        return not_checked(part, name, len(shear.load), lacking.reason)
    used = np.hypot(shear.load / shear.allowable, peel.load / peel.allowable)
    steady = 0.0 if shear.steady is None else float((shear.steady / shear.allowable)[0])
    return checked(part, name, used - steady, 1.0, "", shear.factor, f"{shear.source}; {peel.source}", steady)
