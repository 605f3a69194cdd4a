"""The stay at its breaking load, as a case: what it hangs on is to outlive the wire, the joints of the crossbeam among them."""

from __future__ import annotations

import math
from typing import Annotated, ClassVar, Literal

from pydantic import Field, field_validator

from cases.loads.base import LoadCase, LoadLevel, PlaceLoad, at, degrees, expanded_case
from cases.loads.origin import Origin
from cases.loads.pull import MAX_TENSION, Angle, checked_angle, pull_vector
from femcore.base.errors import InputFault
from femcore.base.numbers import engineering
from femcore.base.units import Unit
from models.boat.boat import Boat

MIN_FACTOR, MAX_FACTOR = 1.0, 1.25
"""Common practice: what carries a wire stands 1.0 to 1.25 times the load that breaks it."""


class StayBreaks(LoadCase):
    """The stay pulls with its breaking load times `factor`, along `rake`.

    breaking : N; left out: of the boat's [stay.line]
    factor   : left out 1, the load that the wire itself can reach; 1.25 where a fitting is meant to survive it without damage

    No wire pulls harder than it can, so its load is an extreme one.
    """

    default_level: ClassVar[LoadLevel] = "extreme"
    uncombined: ClassVar[str] = "the stay breaks at that load whatever the sea adds"
    kind: Literal["stay breaks"] = "stay breaks"
    breaking: Annotated[float, Unit("N", above=0, most=MAX_TENSION)] | None = None
    rake: Angle
    factor: Annotated[float, Field(ge=MIN_FACTOR, le=3)] = 1.0

    @field_validator("rake")
    @classmethod
    def _check_rake(cls, rake: float) -> float:
        return checked_angle("rake", rake)

    def loads(self) -> list[PlaceLoad]:
        """None before `expand`: the breaking load may be the boat's."""
        return []

    def what(self) -> str:
        """In one line."""
        return f"stay at {self.factor:.3g} times its breaking load"

    def expand(self, boat: Boat) -> list[LoadCase]:
        """The case with its pull; InputFault where no breaking load is known."""
        breaking = self.breaking
        if breaking is None:
            if boat.stay.line is None:
                cure = 'give breaking, such as "80 kN", or describe the stay in [stay.line]'
                raise InputFault("stay breaks: breaking", "nothing says what breaks the stay", cure)
            breaking = boat.stay.line.breaking_load
        tension = self.factor * breaking
        words = f"{self.what()}: {engineering(tension, 'N')}, raked {math.degrees(self.rake):.3g}° aft of vertical"
        origin = Origin(
            "common practice: what carries a stay outlives it; breaking load "
            + ("entered" if self.breaking is not None else "of [stay.line]"),
            f"T = n T_break = {self.factor:.3g} × {engineering(breaking, 'N')} = {engineering(tension, 'N')}, "
            f"ρ = {degrees(self.rake)}",
            f"n from {MIN_FACTOR:g} to {MAX_FACTOR:g}, here {self.factor:.3g}",
            inside=self.factor <= MAX_FACTOR,
        )
        return [
            expanded_case(self, words, origin, [at("stay", pull_vector(tension, self.rake), name="stay")])
        ]
