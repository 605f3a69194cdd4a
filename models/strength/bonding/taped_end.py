"""The end of a tube taped to a wall all round: a ring of tape (`ring_checks`) and the wall under it.

Axes of an `attachment`: 2 along the tube, off the wall; a ring's are the same.
"""

from __future__ import annotations

from dataclasses import dataclass

from femcore.base.arrays import FloatArray
from models.strength.bonding.ring import Ring
from models.strength.bonding.ring_checks import ring_checks
from models.strength.margins import Check, SafetyFactors
from models.strength.plates.wall_bending import SupportingWall, wall_bending_checks


@dataclass(frozen=True, eq=False)
class TapedEnd:
    """A ring of tape between tube and wall."""

    ring: Ring
    wall: SupportingWall

    def __post_init__(self) -> None:
        self.wall.check_size(self.size)

    @property
    def size(self) -> tuple[float, float]:
        """m, out to where the tape ends."""
        return 2 * self.ring.skin_radius, 2 * self.ring.skin_radius

    def checks(self, part: str, loads: FloatArray, factors: SafetyFactors) -> tuple[Check, ...]:
        """Glue and tape, and the wall out to where the tape ends."""
        taped = ring_checks(f"{part}, tape", self.ring, loads, factors)
        return (
            *(check for check in taped if not check.check.startswith("skin")),
            *wall_bending_checks(f"{part}, wall", self.wall, self.size, loads, factors),
        )
