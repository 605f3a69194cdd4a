"""The boat lifted in slings: each carries its share of the weight, and a leg that leans pulls its hull inwards.

V = W share, inwards V tan θ, θ of the leg off upright (statics).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Annotated, ClassVar, Literal

from pydantic import Field

from cases.loads.base import LoadCase, PlaceLoad, along, degrees, expanded_case
from cases.loads.origin import Origin
from cases.loads.pull import Angle, checked_angle
from femcore.base.errors import InputFault
from femcore.base.numbers import engineering
from femcore.base.units import STANDARD_GRAVITY, Unit
from models.boat.boat import Boat
from models.response.front_end import SIDES


class Slings(LoadCase):
    """The forward pair of slings, one under each bow at `station`.

    displacement : kg, as lifted
    share        : of the weight in each of the two; a quarter, four slings alike
    hook         : m, of a hook amidships above the bows' axis, to which the legs lead; left out: upright, from a spreader as wide
                   as the hulls or a travelling hoist
    dynamic      : 1.25 for a crane that starts and stops (common practice: 1.1 to 1.3)
    station      : m ahead of the root; left out: at the crossbeam, the foremost place where a frame is sure to be
    width        : m, of the sling
    lead         : rad, of the legs aft of upright, towards a hook over the middle of the boat

    An inward pull acts at the bow's axis.
    """

    uncombined: ClassVar[str] = "a boat in slings is neither at sea nor under sail"
    from_boat: ClassVar[Mapping[str, str]] = {"displacement": "displacement"}
    kind: Literal["slings"] = "slings"
    displacement: Annotated[float, Unit("kg", above=0, most=1e7)]
    share: Annotated[float, Field(gt=0, le=0.5)] = 0.25
    hook: Annotated[float, Unit("m", above=0, most=1000.0)] | None = None
    dynamic: Annotated[float, Field(ge=1, le=3)] = 1.25
    station: Annotated[float, Unit("m", least=0, most=1000.0)] | None = None
    width: Annotated[float, Unit("m", least=1e-3, most=2.0)] = 0.15
    lead: Angle = 0.0

    @property
    def upward(self) -> float:
        """N, in each."""
        return self.displacement * STANDARD_GRAVITY * self.share * self.dynamic

    def loads(self) -> list[PlaceLoad]:
        """None: a sling acts along a short stretch of a bow."""
        return []

    def what(self) -> str:
        """In one line."""
        return f"slings with {engineering(self.upward, 'N')} up in each"

    def expand(self, boat: Boat) -> list[LoadCase]:
        """The case with its two slings; InputFault where the bows have no such station."""
        checked_angle("lead", self.lead)
        bows = boat.bows
        station = boat.crossbeam.station if self.station is None else self.station
        begin, end = max(station - self.width / 2, 0.0), min(station + self.width / 2, bows.length)
        if station > bows.length:
            wrong = f"{station:g} m is ahead of the stems"
            raise InputFault("slings: station", wrong, f'give a station up to "{bows.length:g} m"')
        lean = 0.0 if self.hook is None else math.atan(bows.spacing / 2 / self.hook)
        inwards, aft = self.upward * math.tan(lean), self.upward * math.tan(self.lead)
        lines = []
        for side, sign in zip(SIDES, (1.0, -1.0), strict=True):
            force = (-aft / (end - begin), -sign * inwards / (end - begin), self.upward / (end - begin))
            lines.append(along(f"{side} bow", force, begin, end, name=f"sling under the {side} bow"))
        words = f"{self.what()}, {engineering(inwards, 'N')} inwards, {station:.3g} m ahead of the root"
        origin = Origin(
            f"statics; {self.share:.3g} of the weight in each sling and {self.dynamic:.3g} for the crane's start and stop are "
            "common practice",
            f"V = W s φ = {self.displacement / 1000:.3g} t × 9.81 m/s² × {self.share:.3g} × {self.dynamic:.3g} = "
            f"{engineering(self.upward, 'N')}; V tan θ = {engineering(inwards, 'N')}, θ = {degrees(lean)}; aft V tan ψ = "
            f"{engineering(aft, 'N')}".replace("= -", "= −"),
        )
        return [expanded_case(self, words, origin, lines=lines)]
