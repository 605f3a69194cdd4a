"""A wave crest that slams up against crossbeam or longeron.

q = ½ ρ C_s D V² per metre (slamming of a cylinder: von Kármán's flat plate gives C_s = π; J.M.R. Campbell & P.A. Weynberg,
Measurement of parameters affecting slamming, 1980, measured 5.15 at first contact; both from memory). 3 is the least that
offshore practice takes for a smooth cylinder (from memory).
"""

from __future__ import annotations

import math
from typing import Annotated, Literal

from pydantic import Field

from cases.loads.base import Length, LoadCase, MemberLoad, PlaceLoad, along, degrees, expanded_case
from cases.loads.origin import Origin
from cases.loads.pull import Angle
from cases.loads.water import Speed, dynamic_pressure
from femcore.base.errors import InputFault
from femcore.base.numbers import engineering
from femcore.base.units import Unit
from models.boat.boat import Boat
from models.response.front_end import CROSSBEAM, LONGERON

MIN_COEFFICIENT, MAX_COEFFICIENT = 3.0, 5.15
"""From the least that offshore practice takes to the peak measured at first contact."""


class BeamSlam(LoadCase):
    """Water that meets a beam from below at `speed`, m/s, along all of it or from `begin` to `end`.

    part        : which beam
    depth       : m, of the beam's projection square to the flow: its diameter, or its breadth seen from below
    coefficient : C_s; left out 5.15, the peak at first contact, because a lacing's groove or a seam spoils the smooth entry
                  that lower values stand for
    direction   : rad, of the flow aft of upright: a beam that drives into a wave is met from ahead too
    begin, end  : m, y of the crossbeam, x of the longeron, where the crest does not reach all along it
    """

    kind: Literal["beam slam"] = "beam slam"
    part: Literal["crossbeam", "longeron"] = "crossbeam"
    speed: Speed
    depth: Annotated[float, Unit("m", above=0, most=5.0)]
    coefficient: Annotated[float, Field(gt=0, le=20)] = MAX_COEFFICIENT
    direction: Angle = 0.0
    begin: Length | None = None
    end: Length | None = None

    @property
    def line_force(self) -> float:
        """N/m: ½ ρ C_s D V²."""
        return dynamic_pressure(self.speed) * self.coefficient * self.depth

    def loads(self) -> list[PlaceLoad]:
        """None: it acts along a beam."""
        return []

    def lines(self) -> list[MemberLoad]:
        """Up, and aft by `direction`, on each metre of the beam."""
        q = self.line_force
        force = (-q * math.sin(self.direction), 0.0, q * math.cos(self.direction))
        member = CROSSBEAM if self.part == "crossbeam" else LONGERON
        return [along(member, force, self.begin, self.end, name=f"slam on the {self.part}")]

    def what(self) -> str:
        """In one line."""
        turned = f", {degrees(self.direction)} aft of upright" if self.direction else ""
        size = engineering(self.line_force, "N/m")
        return f"slam on the {self.part}: {size} at {engineering(self.speed, 'm/s')}{turned}"

    def expand(self, boat: Boat) -> list[LoadCase]:
        """The case with its line load; InputFault where the boat has no longeron."""
        if self.part == "longeron" and boat.longeron is None:
            raise InputFault(
                "beam slam: part", "the boat has no longeron", 'write part = "crossbeam", or add [longeron]'
            )
        return [expanded_case(self, self.what(), self.origin(), lines=self.lines(), of_sea=["slam"])]

    def origin(self) -> Origin:
        """The formula with its numbers; the range is that of the coefficient."""
        return Origin(
            "slamming of a cylinder (T. von Kármán; J.M.R. Campbell & P.A. Weynberg, Measurement of parameters affecting "
            "slamming, 1980: both from memory)",
            f"q = ½ ρ C_s D V² = ½ × 1025 kg/m³ × {self.coefficient:.3g} × {self.depth:.3g} m × ({self.speed:.3g} m/s)² = "
            f"{engineering(self.line_force, 'N/m')}, as a static load",
            f"C_s {MIN_COEFFICIENT:g} to {MAX_COEFFICIENT:g}, here {self.coefficient:.3g}; the crest meets all of it at once",
            inside=MIN_COEFFICIENT <= self.coefficient <= MAX_COEFFICIENT,
        )
