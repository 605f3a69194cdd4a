"""A sail off the prod that gybes: its luff leans to one side, then to the other."""

from __future__ import annotations

import math
from typing import ClassVar, Literal

from cases.loads.base import LoadCase, PlaceLoad, expanded_case
from cases.loads.origin import Origin
from cases.loads.pull import Tension, UpwardAngle
from cases.loads.tack import Tack
from femcore.base.numbers import engineering
from models.boat.boat import Boat


class Gybe(LoadCase):
    """The luff's pull on the prod's tip, leaning to port and to starboard.

    tension : N, of the luff as the sail fills
    lean    : rad to either side; left out 30°: how far a free-flying luff swings out before it fills (common practice)
    place   : where it is tacked
    """

    uncombined: ClassVar[str] = "a boat gybes off the wind, where the forestay is unloaded"
    kind: Literal["gybe"] = "gybe"
    tension: Tension
    rake: UpwardAngle
    lean: UpwardAngle = math.radians(30)
    place: str = "prod tip"

    def loads(self) -> list[PlaceLoad]:
        """None before `expand`: it has two sides."""
        return []

    def what(self) -> str:
        """In one line."""
        return f"sail off the {self.place} gybed at {engineering(self.tension, 'N')}"

    def expand(self, boat: Boat) -> list[LoadCase]:
        """A case to each side, as of a tack."""
        given = {key: getattr(self, key) for key in ("tension", "rake", "lean", "place")}
        tack = Tack(name=self.name, both_sides=True, **given)
        return [self._case(one) for one in tack.expand(boat)]

    def _case(self, one: LoadCase) -> LoadCase:
        from_tack = one.origin()
        origin = Origin(
            "tension entered; that a luff swings 30° to either side is common practice",
            from_tack.formula,
            basis="entered",
        )
        name = one.name.removeprefix(f"{self.name}, ")
        return expanded_case(self, f"gybed: {one.what()}", origin, one.loads(), name=name)
