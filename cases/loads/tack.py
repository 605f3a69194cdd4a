"""A headsail's tack on the prod: up, aft or forward, and to one side when it is let fly or reached with."""

from __future__ import annotations

import math
from typing import Literal

from cases.loads.base import LoadCase, PlaceLoad, at, degrees
from cases.loads.origin import Origin
from cases.loads.pull import Tension, UpwardAngle, pull_vector, to_either_side
from femcore.base.numbers import engineering
from models.boat.boat import Boat


class Tack(LoadCase):
    """A pull of known tension at `place` (the prod's tip), raked aft (negative: forward), leaning to port.

    both_sides : once as given, and once leaning as far to the other side
    """

    kind: Literal["tack"] = "tack"
    tension: Tension
    rake: UpwardAngle
    lean: UpwardAngle = 0.0
    both_sides: bool = False
    place: str = "prod tip"

    def expand(self, boat: Boat) -> list[LoadCase]:
        """One case, or one for each side."""
        del boat
        if not self.both_sides:
            return [self]
        return [
            self.model_copy(update={"name": f"{self.name}, {words}", "lean": lean, "both_sides": False})
            for lean, words in to_either_side(self.lean)
        ]

    def origin(self) -> Origin:
        """Tension and direction as entered."""
        rake, lean = degrees(self.rake), degrees(self.lean)
        return Origin(
            "entered", f"T (−sin ρ cos λ, sin λ, cos ρ cos λ), ρ = {rake}, λ = {lean}", basis="entered"
        )

    def loads(self) -> list[PlaceLoad]:
        """The pull."""
        return [at(self.place, pull_vector(self.tension, self.rake, self.lean), name="tack")]

    def what(self) -> str:
        """In one line."""
        way = "aft" if self.rake >= 0 else "forward"
        rake, lean = (abs(math.degrees(angle)) for angle in (self.rake, self.lean))
        words = f"{engineering(self.tension, 'N')} at the {self.place}, {rake:.3g}° {way} of vertical"
        return f"{words}, {lean:.3g}° to {'port' if self.lean > 0 else 'starboard'}" if self.lean else words
