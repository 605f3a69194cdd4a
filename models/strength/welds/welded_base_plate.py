"""What stands on a wall, welded to it by fillets: the welds (`weld`), and the wall under them."""

from __future__ import annotations

from dataclasses import dataclass

from femcore.base.arrays import FloatArray
from models.strength.margins import Check, Factors, not_checked
from models.strength.plates.wall_bending import BENT, WallUnder, wall_under_checks
from models.strength.welds.weld import FilletGroup


@dataclass(frozen=True, eq=False)
class WeldedFoot:
    """Fillets along the outline of what stands there; the wall that they are on, None where it is not described."""

    welds: FilletGroup
    wall: WallUnder | None

    def __post_init__(self) -> None:
        if self.wall is not None:
            self.wall.carries(self.size)

    @property
    def size(self) -> tuple[float, float]:
        """m, along and across, of all welds together."""
        ends = self.welds.lines.reshape(-1, 2)
        along, across = ends.max(axis=0) - ends.min(axis=0)
        return float(along), float(across)

    def checks(self, part: str, loads: FloatArray, factors: Factors) -> tuple[Check, ...]:
        """The welds, and the wall under them."""
        found = self.welds.checks(part, loads, factors)
        if self.wall is None:
            why = "the wall that it is welded to is not described; give onto"
            return (*found, not_checked(f"{part}, wall", BENT, len(loads), why))
        return (*found, *wall_under_checks(f"{part}, wall", self.wall, self.size, loads, factors))
