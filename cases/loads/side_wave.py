"""A breaking wave against the side of a bow, or between the bows: it pinches them or spreads them.

q = ½ ρ C_D h V² on each metre, h the height of hull side that it meets. C_D 2 is a long flat plate's (1.98 in
Aeronautical Engineer's Data Book, p. 95, read); round topsides have less.
"""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from pydantic import Field, model_validator

from cases.loads.base import Length, LoadCase, PlaceLoad, along, exactly_one, expanded_case
from cases.loads.net_slam import PLATE_DRAG
from cases.loads.origin import Origin
from cases.loads.water import BREAKING_STEEPNESS, Speed, breaker_speed, dynamic_pressure
from femcore.base.errors import InputFault
from femcore.base.numbers import engineering
from femcore.base.units import Unit
from models.boat.boat import Boat
from models.response.front_end import SIDES


class SideWave(LoadCase):
    """Water from abeam on the bow of `side`, in two cases: from outboard, pinching, and from between the hulls, spreading.

    speed | breaker : m/s of the water; or m, height of a breaking wave, whose crest moves at √(g L/2π)
    meets      : m, h, the height of hull side that the water meets
    drag       : C_D
    begin, end : m from the root, the stretch that it meets; left out: root to stem
    up         : m, of its middle above the bow's axis
    """

    uncombined: ClassVar[str] = "a beam sea is not the quartering sea that racks the boat"
    kind: Literal["side wave"] = "side wave"
    speed: Speed | None = None
    breaker: Annotated[float, Unit("m", above=0, most=30.0)] | None = None
    meets: Annotated[float, Unit("m", above=0, most=20.0)]
    drag: Annotated[float, Field(gt=0, le=5)] = PLATE_DRAG
    begin: Annotated[float, Unit("m", least=0, most=1000.0)] = 0.0
    end: Annotated[float, Unit("m", above=0, most=1000.0)] | None = None
    up: Length = 0.0
    side: Literal["port", "starboard", "both"] = "port"

    @model_validator(mode="after")
    def _check_inputs(self) -> SideWave:
        exactly_one(self, "speed", "breaker")
        return self

    @property
    def water_speed(self) -> float:
        """m/s."""
        return self.speed if self.speed is not None else breaker_speed(self.breaker or 0.0)

    @property
    def line_force(self) -> float:
        """N/m: ½ ρ C_D h V²."""
        return dynamic_pressure(self.water_speed) * self.drag * self.meets

    def loads(self) -> list[PlaceLoad]:
        """None: it acts along the bows."""
        return []

    def what(self) -> str:
        """In one line."""
        where = "both bows" if self.side == "both" else f"the {self.side} bow"
        return f"side wave on {where}: {engineering(self.line_force, 'N/m')} at {engineering(self.water_speed, 'm/s')}"

    def expand(self, boat: Boat) -> list[LoadCase]:
        """Pinching and spreading; InputFault where the bow has no such stretch."""
        end = boat.bows.length if self.end is None else self.end
        if not self.begin < end <= boat.bows.length:
            wrong = f"the bow has no stretch from {self.begin:g} m to {end:g} m ahead of the root"
            raise InputFault(
                "side wave: end", wrong, f'give an end up to "{boat.bows.length:g} m", beyond begin'
            )
        return [self._case(end, way) for way in ("pinching", "spreading")]

    def _case(self, end: float, way: str) -> LoadCase:
        q = self.line_force
        lines = []
        for side, sign in zip(SIDES, (1.0, -1.0), strict=True):
            if self.side in {"both", side}:
                force = (0.0, -sign * q if way == "pinching" else sign * q, 0.0)
                arm = (0.0, 0.0, self.up)
                lines.append(
                    along(f"{side} bow", force, self.begin, end, arm, f"side wave on the {side} bow")
                )
        return expanded_case(self, f"{self.what()}, {way}", self._origin(end), lines=lines, name=way)

    def _origin(self, end: float) -> Origin:
        speed = f"V = {engineering(self.water_speed, 'm/s')}"
        if self.breaker is not None:
            speed += f" = √(g L/2π), L = {self.breaker:.3g} m/{BREAKING_STEEPNESS:g} (J.H. Michell, 1893, read as quoted: 1/7)"
        return Origin(
            "drag of a long plate in a stream (Aeronautical Engineer's Data Book, p. 95, read); that a bow meets the crest's own "
            "speed all along is common practice",
            f"q = ½ ρ C_D h V² = ½ × 1025 kg/m³ × {self.drag:.3g} × {self.meets:.3g} m × ({self.water_speed:.3g} m/s)² = "
            f"{engineering(self.line_force, 'N/m')} over {end - self.begin:.3g} m; {speed}",
        )
