"""A part welded to a wall by fillets: the welds (`weld`), and the wall under them."""

from __future__ import annotations

from dataclasses import dataclass

from femcore.base.arrays import FloatArray
from models.strength.margins import Check, SafetyFactors, not_checked
from models.strength.plates.wall_bending import WALL_BENDING, SupportingWall, wall_bending_checks
from models.strength.welds.weld import FilletGroup


@dataclass(frozen=True, eq=False)
class WeldedBasePlate:
    """Fillets along the outline of the part; the wall that they are on, None where it is not described."""

    welds: FilletGroup
    wall: SupportingWall | None

    def __post_init__(self) -> None:
        if self.wall is not None:
            self.wall.check_size(self.size)

    @property
    def size(self) -> tuple[float, float]:
        """m, along and across, of all welds together."""
        ends = self.welds.lines.reshape(-1, 2)
        along, across = ends.max(axis=0) - ends.min(axis=0)
        return float(along), float(across)

    def checks(self, part: str, loads: FloatArray, factors: SafetyFactors) -> tuple[Check, ...]:
        """The welds, and the wall under them."""
        found = self.welds.checks(part, loads, factors)
        if self.wall is None:
            why = "the wall that it is welded to is not described; give onto"
            return (*found, not_checked(f"{part}, wall", WALL_BENDING, len(loads), why))
        return (*found, *wall_bending_checks(f"{part}, wall", self.wall, self.size, loads, factors))
