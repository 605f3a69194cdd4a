"""A sail that flogs: its stay or luff snatches, to one side and the other."""

from __future__ import annotations

import math
from typing import Annotated, ClassVar, Literal

from pydantic import Field

from cases.loads.base import LoadCase, PlaceLoad, at, degrees, expanded_case
from cases.loads.origin import Origin
from cases.loads.pull import Tension, UpwardAngle, pull_vector, to_either_side
from femcore.base.numbers import engineering
from models.boat.boat import Boat


class Flogging(LoadCase):
    """The steady pull times `factor`, leaning to port and to starboard in turn.

    steady : N, of the stay or luff with the sail drawing
    factor : left out 2: a pull that is put on at once loads a spring twice, and flogging is that again and again
    lean   : rad to either side; left out 10°, a luff that sags by a fortieth of its length either way (4 s/L, common practice)
    place  : where it is fixed
    """

    uncombined: ClassVar[str] = (
        "the steady pull of the same stay is in a rig case; both are never there at once"
    )
    kind: Literal["flogging"] = "flogging"
    steady: Tension
    rake: UpwardAngle
    factor: Annotated[float, Field(ge=1, le=10)] = 2.0
    lean: UpwardAngle = math.radians(10)
    place: str = "stay"

    def loads(self) -> list[PlaceLoad]:
        """None before `expand`: it has two sides."""
        return []

    def what(self) -> str:
        """In one line."""
        tension = engineering(self.factor * self.steady, "N")
        return f"sail flogs: {self.factor:.3g} times its steady pull, {tension} at the {self.place}"

    def expand(self, boat: Boat) -> list[LoadCase]:
        """A case to each side; one where it does not lean."""
        del boat
        tension = self.factor * self.steady
        ways = to_either_side(self.lean) if self.lean else ((0.0, ""),)
        return [self._case(tension, lean, way) for lean, way in ways]

    def _case(self, tension: float, lean: float, way: str) -> LoadCase:
        words = f"{self.what()}, raked {math.degrees(self.rake):.3g}° aft of vertical"
        words += f", {math.degrees(abs(lean)):.3g}° {way}" if way else ""
        origin = Origin(
            "statics of a load put on at once; that flogging is such a load is common practice; steady pull entered",
            f"T = n T₀ = {self.factor:.3g} × {engineering(self.steady, 'N')} = {engineering(tension, 'N')}; T (−sin ρ cos λ, "
            f"sin λ, cos ρ cos λ), ρ = {degrees(self.rake)}, λ = {degrees(lean)}",
            basis="estimated",
        )
        placed = [at(self.place, pull_vector(tension, self.rake, lean), name="flogging sail")]
        return expanded_case(self, words, origin, placed, name=way)
