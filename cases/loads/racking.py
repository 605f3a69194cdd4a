"""Bow racking: up on one bow, down on the other."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import model_validator

from cases.loads.base import MAX_FORCE, Length, LoadCase, PlaceLoad, SeaLoad, at
from cases.loads.origin import Origin
from femcore.base.errors import InputFault, fault
from femcore.base.numbers import engineering
from femcore.base.units import Unit
from models.boat.boat import Boat


class Racking(LoadCase):
    """Opposite vertical forces at the stems: of an entered size, or as large as moves the stems apart so far.

    Positive lifts the port stem. A movement is reached by scaling the forces, exact in a linear frame.
    """

    kind: Literal["racking"] = "racking"
    force: Annotated[float, Unit("N", most=MAX_FORCE)] | None = None
    movement: Length | None = None

    @model_validator(mode="after")
    def _one_of_both(self) -> Racking:
        if (self.force is None) == (self.movement is None):
            wrong = (
                "has both force and movement" if self.force is not None else "has neither force nor movement"
            )
            raise fault(wrong, 'give one, such as force = "4 kN" or movement = "60 mm"')
        if self.movement is not None and (self.also or self.line):
            other = "also" if self.also else "line"
            raise fault(
                f"has a movement and '{other}'", f"give the racking as a force, or take '{other}' out"
            )
        return self

    def loads(self) -> list[PlaceLoad]:
        """The pair of forces; 1 kN where a movement is to be reached."""
        size = 1000.0 if self.force is None else self.force
        return [at("port stem", (0.0, 0.0, size)), at("starboard stem", (0.0, 0.0, -size))]

    def sea_loads(self) -> frozenset[SeaLoad]:
        """It stands for a quartering sea."""
        return frozenset({"racking"})

    def target_heave(self) -> float | None:
        """The movement, where that is what was entered, times `scale`."""
        return None if self.movement is None else self.movement * self.scale

    def expand(self, boat: Boat) -> list[LoadCase]:
        """The case itself; InputFault where its movement is none that bows make."""
        spacing, movement = boat.bows.spacing, self.target_heave()
        if movement is not None and abs(movement) > spacing:
            moved = engineering(abs(movement), "m")
            wrong = f"{moved} apart is further than the hulls stand from one another, {spacing:g} m"
            raise InputFault("racking: movement", wrong, 'give what bows do, such as movement = "60 mm"')
        return [self]

    def origin(self) -> Origin:
        """A pair of forces for a sea that meets both bows out of step."""
        size = "F such that the stems move so far apart"
        if self.force is not None:
            size = f"F = {engineering(self.force, 'N').replace('-', '−')}"
        return Origin(
            "entered; that a pair of forces stands for the sea is common practice",
            f"±F at the stems, {size}",
            basis="entered",
        )

    def what(self) -> str:
        """In one line."""
        if self.force is not None:
            return f"{engineering(self.force, 'N')} up at the port stem, as much down at the starboard one"
        return f"stems moved {engineering(self.movement or 0.0, 'm')} apart in height"
