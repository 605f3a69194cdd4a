"""A stay or sail that pulls on a place: its tension and the line it pulls along."""

from __future__ import annotations

import math
from functools import partial
from typing import Annotated

from pydantic import AfterValidator

from cases.loads.base import PlaceLoad, Vector, at
from femcore.base.errors import fault
from femcore.base.toml import Table
from femcore.base.units import Unit

MAX_TENSION = 1e7
"""N: of a thousand tonnes; no line on a boat pulls harder."""
Tension = Annotated[float, Unit("N", least=0, most=MAX_TENSION)]
Angle = Annotated[float, Unit("rad", most=2 * math.pi)]


def pull_vector(tension: float, rake: float, lean: float = 0.0) -> Vector:
    """N, boat axes: T (−sin ρ cos λ, sin λ, cos ρ cos λ), ρ aft of vertical, λ then over to port."""
    upright = tension * math.cos(lean)
    return -upright * math.sin(rake), tension * math.sin(lean), upright * math.cos(rake)


def checked_angle(what: str, angle: float) -> float:
    """The angle; a fault where a line that pulls upwards cannot have it."""
    if not abs(angle) < math.pi / 2:
        raise fault(
            f"a {what} of {math.degrees(angle):g}° is not that of a stay",
            "give the angle from vertical, below 90 deg",
        )
    return angle


UpwardAngle = Annotated[Angle, AfterValidator(partial(checked_angle, "rake or lean"))]
"""rad, of a line that pulls upwards, from vertical."""


def to_either_side(lean: float) -> tuple[tuple[float, str], tuple[float, str]]:
    """rad, a lean to port and as far to starboard, each in words."""
    return (abs(lean), "to port"), (-abs(lean), "to starboard")


class Pull(Table):
    """A line of known tension on a place: rake aft of vertical (negative: forward), lean to port."""

    place: str
    tension: Tension
    rake: UpwardAngle
    lean: UpwardAngle = 0.0

    @property
    def load(self) -> PlaceLoad:
        """The pull at its place."""
        return at(self.place, pull_vector(self.tension, self.rake, self.lean))

    def label(self, what: str, count: int) -> PlaceLoad:
        """The pull by the name of what it is; by its place too, where it is one of several."""
        name = what if count == 1 else f"{what} at the {self.place}"
        return self.load.model_copy(update={"name": name})
