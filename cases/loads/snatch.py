"""Snatch at the mooring: the boat sheers, gathers way and comes up short on its bridle."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Annotated, Any, ClassVar, Literal

from pydantic import Field, model_validator

from cases.loads.base import LoadCase, PlaceLoad, exactly_one, expanded_case
from cases.loads.mooring import MAX_DOWN_ANGLE, Mooring
from cases.loads.origin import Origin
from cases.loads.pull import Tension
from femcore.base.numbers import engineering
from femcore.base.units import Unit
from models.boat.boat import Boat

AIR = 1.225
"""kg/m³: standard atmosphere, 15 °C at sea level."""
MIN_SNATCH, MAX_SNATCH = 2.0, 3.0
"""Common practice, over the steady pull, with chain or an elastic rope; a short wire has more."""


class MooringSnatch(LoadCase):
    """The steady pull times `factor`, from ahead and from `sheer` to either side, on the bridle of a mooring.

    steady | wind : N, entered; or m/s, from which ½ ρ C_D A V² follows
    windage       : m², of what the boat shows the wind from ahead, with C_D = 1
    factor        : snatch over steady pull; left out 2.5, the middle of 2 to 3
    sheer         : rad to either side; left out 40°: a catamaran at anchor sheers 30° to 50° (common practice)
    """

    uncombined: ClassVar[str] = "a boat at her mooring has her sails down"
    from_boat: ClassVar[Mapping[str, str]] = {"leg": "bridle", "windage": "windage"}
    kind: Literal["snatch"] = "snatch"
    steady: Tension | None = None
    wind: Annotated[float, Unit("m/s", above=0, most=100.0)] | None = None
    windage: Annotated[float, Unit("m**2", above=0, most=1e4)] | None = None
    factor: Annotated[float, Field(ge=1, le=10)] = 2.5
    leg: Annotated[float, Unit("m", above=0, most=1000.0)]
    sheer: Annotated[float, Unit("rad", above=0, most=math.pi / 2)] = math.radians(40)
    down: Annotated[float, Unit("rad", least=0, most=MAX_DOWN_ANGLE)] = 0.0

    @classmethod
    def keys_from_boat(cls, given: Mapping[str, Any]) -> Mapping[str, str]:
        """The windage only where the steady pull is by the wind."""
        return cls.from_boat if "wind" in given else {"leg": cls.from_boat["leg"]}

    @model_validator(mode="after")
    def _check_inputs(self) -> MooringSnatch:
        exactly_one(self, "steady", "wind")
        if self.wind is not None:
            exactly_one(self, "windage")
        self.mooring()
        return self

    @property
    def steady_pull(self) -> float:
        """N."""
        return (
            self.steady
            if self.steady is not None
            else 0.5 * AIR * (self.windage or 0.0) * (self.wind or 0.0) ** 2
        )

    def mooring(self) -> Mooring:
        """The same bridle under the snatch."""
        tension = self.factor * self.steady_pull
        return Mooring(
            name=self.name, tension=tension, leg=self.leg, sweep=self.sheer, steps=3, down=self.down
        )

    def loads(self) -> list[PlaceLoad]:
        """None before `expand`: the legs' spread is the boat's."""
        return []

    def what(self) -> str:
        """In one line."""
        return f"snatch of {engineering(self.factor * self.steady_pull, 'N')} at the mooring"

    def expand(self, boat: Boat) -> list[LoadCase]:
        """From ahead and from either side; InputFault where the legs do not reach."""
        steady = engineering(self.steady_pull, "N")
        pull = f"T₀ = {steady} entered"
        if self.wind is not None:
            pull = f"T₀ = ½ ρ C_D A V² = ½ × {AIR:g} kg/m³ × 1 × {self.windage:g} m² × ({self.wind:.3g} m/s)² = {steady}"
        found: list[LoadCase] = []
        for one in self.mooring().expand(boat):
            statics = one.origin()
            origin = Origin(
                f"common practice: {MIN_SNATCH:g} to {MAX_SNATCH:g} times the steady pull; {statics.source.partition(';')[0]}",
                f"T = n T₀ = {self.factor:.3g} × {steady}; {pull}; {statics.formula}",
                f"n from {MIN_SNATCH:g} to {MAX_SNATCH:g}, here {self.factor:.3g}: chain or elastic rope",
                inside=MIN_SNATCH <= self.factor <= MAX_SNATCH,
                basis="estimated",
            )
            name = one.name.removeprefix(f"{self.name}, ")
            found.append(expanded_case(self, f"snatch of {one.what()}", origin, one.loads(), name=name))
        return found
