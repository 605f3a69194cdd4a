"""Bow racking: up on one bow, down on the other."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import model_validator

from cases.loads.base import (
    MAX_FORCE,
    ImposedMovement,
    Length,
    LoadCase,
    PlaceLoad,
    SeaLoad,
    at,
)
from cases.loads.hull_load import twisting_moments
from cases.loads.origin import Origin
from femcore.base.errors import InputFault, fault
from femcore.base.numbers import engineering
from femcore.base.units import Unit
from models.boat.boat import Boat

MAX_TWIST = 0.1
"""rad: one hull pitched against the other by six degrees; no boat stays whole at that."""
TWIST_BETWEEN = {
    "hulls": "the port hull pitched bow up against the starboard one at the main bulkhead",
    "bulkhead and crossbeam": "the crossbeam rolled port side up against the main bulkhead",
}
"""What a measured twist is of."""


class Racking(LoadCase):
    """The bows racked by opposite forces at the stems, or by a measured twist of the platform.

    force    : N, up at the port stem and down at the starboard one
    movement : m, how far the stems move apart in height; the forces there that do it are found
    twist    : rad, amplitude from the mean, of `between`: the opposite pitch moments on the hulls at the main bulkhead that do it
               are found; what the sea puts on the bows themselves is not part of it
    between  : the hulls, where left out; or bulkhead and crossbeam

    Positive lifts the port bow. A movement or twist is reached by scaling the loads, exact in a linear frame.
    """

    kind: Literal["racking"] = "racking"
    force: Annotated[float, Unit("N", most=MAX_FORCE)] | None = None
    movement: Length | None = None
    twist: Annotated[float, Unit("rad", most=MAX_TWIST)] | None = None
    between: Literal["hulls", "bulkhead and crossbeam"] | None = None

    @model_validator(mode="after")
    def _one_of_them(self) -> Racking:
        entered = [key for key in ("force", "movement", "twist") if getattr(self, key) is not None]
        if len(entered) != 1:
            wrong = f"has both {' and '.join(entered)}" if entered else "has no force, movement or twist"
            raise fault(wrong, 'give one, such as force = "4 kN", movement = "60 mm" or twist = "9 mrad"')
        (given,) = entered
        if self.between is not None and self.twist is None:
            raise fault(
                "has between without twist", 'give twist, such as twist = "9 mrad", or take between out'
            )
        if given != "force" and (self.also or self.line):
            other = "also" if self.also else "line"
            raise fault(f"has a {given} and '{other}'", f"give the racking as a force, or take '{other}' out")
        return self

    def loads(self) -> list[PlaceLoad]:
        """The pair of forces, or of moments: of 1 kN and 1 kN·m where a movement or twist is to be reached."""
        if self.twist is not None:
            return twisting_moments(1000.0)
        size = 1000.0 if self.force is None else self.force
        return [at("port stem", (0.0, 0.0, size)), at("starboard stem", (0.0, 0.0, -size))]

    def sea_loads(self) -> frozenset[SeaLoad]:
        """It stands for a quartering sea."""
        return frozenset({"racking"})

    def target(self) -> ImposedMovement | None:
        """The movement or twist, where that is what was entered, times `scale`."""
        if self.twist is not None:
            return ImposedMovement(self.between or "hulls", self.twist * self.scale)
        return (
            None
            if self.movement is None
            else ImposedMovement("heave of the stems", self.movement * self.scale)
        )

    def expand(self, boat: Boat) -> list[LoadCase]:
        """The case itself; InputFault where its movement is none that bows make, or nothing can twist."""
        spacing = boat.bows.spacing
        if self.movement is not None and abs(moved := self.movement * self.scale) > spacing:
            apart = engineering(abs(moved), "m")
            wrong = f"{apart} apart is further than the hulls stand from one another, {spacing:g} m"
            raise InputFault("racking: movement", wrong, 'give what bows do, such as movement = "60 mm"')
        if self.twist is not None and boat.platform is None and boat.root.pitch is None:
            wrong = "the roots of the bows are rigid in pitch, so that nothing can twist"
            raise InputFault(
                "racking: twist", wrong, "describe the [platform], or give [root] a pitch spring"
            )
        return [self]

    def origin(self) -> Origin:
        """A pair of forces for a sea that meets both bows out of step, or what was measured."""
        if self.twist is not None:
            return Origin(
                "twist as measured, entered; that the platform's own twist stands for the sea, without what it puts on the bows "
                "ahead of the bulkhead, is common practice",
                f"±M on the hulls at the main bulkhead, M such that {self._twisted()}",
                basis="entered",
            )
        size = "F such that the stems move so far apart"
        if self.force is not None:
            size = f"F = {engineering(self.force, 'N').replace('-', '−')}"
        return Origin(
            "entered; that a pair of forces stands for the sea is common practice",
            f"±F at the stems, {size}",
            basis="entered",
        )

    def _twisted(self) -> str:
        angle = engineering(self.twist or 0.0, "rad").replace("-", "−")
        return f"{TWIST_BETWEEN[self.between or 'hulls']} by {angle}"

    def what(self) -> str:
        """In one line."""
        if self.twist is not None:
            return self._twisted()
        if self.force is not None:
            return f"{engineering(self.force, 'N')} up at the port stem, as much down at the starboard one"
        return f"stems moved {engineering(self.movement or 0.0, 'm')} apart in height"
