"""Bow racking: up on one bow, down on the other."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import model_validator
from pydantic_core import PydanticCustomError

from cases.loads.base import LoadCase, PlaceLoad
from femcore.units import Unit, engineering


class Racking(LoadCase):
    """Opposite vertical forces at the stems: of an entered size, or of the size that moves the stems apart so far.

    Positive lifts the port stem. A movement is reached by scaling the pair of forces, which is exact in a linear frame.
    """

    kind: Literal["racking"]
    force: Annotated[float, Unit("N")] | None = None
    movement: Annotated[float, Unit("m")] | None = None

    @model_validator(mode="after")
    def _one_of_both(self) -> Racking:
        if (self.force is None) == (self.movement is None):
            wrong = "has both force and movement" if self.force is not None else "has neither force nor movement"
            context = {"wrong": wrong, "cure": 'give one, such as force = "4 kN" or movement = "60 mm"'}
            raise PydanticCustomError("forebeam", "{wrong}; {cure}", context)
        if self.movement is not None and self.also:
            context = {"wrong": "has a movement and 'also'", "cure": "give the racking as a force, or take 'also' out"}
            raise PydanticCustomError("forebeam", "{wrong}; {cure}", context)
        return self

    def loads(self) -> list[PlaceLoad]:
        """The pair of forces; 1 kN where a movement is to be reached."""
        size = 1000.0 if self.force is None else self.force
        return [
            PlaceLoad.model_construct(place=f"{side} stem", force=(0.0, 0.0, sign * size), moment=(0.0, 0.0, 0.0))
            for side, sign in (("port", 1), ("starboard", -1))
        ]

    def heave_to_reach(self) -> float | None:
        """The movement, where that is what was entered."""
        return self.movement

    def words(self) -> str:
        """In one line."""
        if self.force is not None:
            return f"{engineering(self.force, 'N')} up at the port stem, as much down at the starboard one"
        return f"stems moved {engineering(self.movement or 0.0, 'm')} apart in height"
