"""At anchor on a bridle from the two bows, the pull sweeping from one side to the other."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Annotated, ClassVar, Literal

import numpy as np
from pydantic import Field, model_validator

from cases.loads.base import LoadCase, PlaceLoad, Vector, at, degrees, expanded_case
from cases.loads.origin import Origin
from cases.loads.pull import Angle, Tension
from femcore.base.errors import InputFault, fault
from femcore.base.numbers import engineering
from femcore.base.units import Unit
from models.boat.boat import Boat

MAX_DIRECTION_ANGLE = math.radians(90) * (1 + 1e-12)
"""rad off the bow: a bridle lies ahead of the bows."""
MAX_DOWN_ANGLE = math.radians(85)
"""rad below level."""


def bridle(pull: Vector, spacing: float, leg: float) -> tuple[Vector, Vector]:
    """N: what the port and the starboard leg put on their bows, for a pull through the bridle's apex.

    Two equal legs, `leg` m long from bows `spacing` m apart, lie in the plane of the pull and the bows' line:
    with u the pull square to that line, v along it to port and sin β = spacing / 2 leg,

        port = ½ (u/cos β − v/sin β)      starboard = ½ (u/cos β + v/sin β)

    A leg cannot push: where the pull swings out past the other leg, that one takes it all and lies along it.
    """
    u, v = math.hypot(pull[0], pull[2]), pull[1]
    sine = spacing / 2 / leg
    cosine = math.sqrt(1 - sine**2)
    port, starboard = (u / cosine - v / sine) / 2, (u / cosine + v / sine) / 2
    if port <= 0:
        return (0.0, 0.0, 0.0), pull
    if starboard <= 0:
        return pull, (0.0, 0.0, 0.0)
    ahead = (pull[0] / u * cosine, pull[2] / u * cosine)
    return (port * ahead[0], -port * sine, port * ahead[1]), (
        starboard * ahead[0],
        starboard * sine,
        starboard * ahead[1],
    )


class Mooring(LoadCase):
    """A pull of known size on a bridle, ahead or from `direction` (positive: from port), downwards by `down`.

    leg          : m, of each leg of the bridle
    sweep, steps : from −sweep to +sweep about `direction` in so many cases; one case where left out
    """

    from_boat: ClassVar[Mapping[str, str]] = {"leg": "bridle"}
    kind: Literal["mooring"] = "mooring"
    tension: Tension
    leg: Annotated[float, Unit("m", above=0, most=1000.0)]
    direction: Angle = 0.0
    down: Annotated[float, Unit("rad", least=0)] = 0.0
    sweep: Annotated[float, Unit("rad", above=0)] | None = None
    steps: Annotated[int, Field(ge=2, le=181)] = 7

    @model_validator(mode="after")
    def _ahead(self) -> Mooring:
        furthest = abs(self.direction) + (self.sweep or 0.0)
        if furthest > MAX_DIRECTION_ANGLE:
            alone = self.sweep is None
            keys = "direction takes" if alone else "direction and sweep take"
            wrong = f"{keys} the pull {math.degrees(furthest):.4g}° off the bow, through the boat"
            raise fault(wrong, f"keep {'it' if alone else 'their sum'} to 90 deg or less")
        if not self.down < MAX_DOWN_ANGLE:
            raise fault(
                f"down of {math.degrees(self.down):.4g}° hangs the anchor below the bows",
                "give down below 85 deg",
            )
        return self

    def pull(self, direction: float) -> Vector:
        """N, boat axes: T (cos δ cos ψ, cos δ sin ψ, −sin δ)."""
        level = self.tension * math.cos(self.down)
        return level * math.cos(direction), level * math.sin(direction), -self.tension * math.sin(self.down)

    def loads(self) -> list[PlaceLoad]:
        """None before `expand`: the legs' spread is the boat's."""
        return []

    def what(self) -> str:
        """In one line."""
        return f"{engineering(self.tension, 'N')} on a bridle of {engineering(self.leg, 'm')} legs"

    def expand(self, boat: Boat) -> list[LoadCase]:
        """A case for each direction; InputFault where the legs do not reach."""
        spacing = boat.bows.spacing
        if not self.leg > spacing / 2:
            cure = f"give each leg more than {spacing / 2:g} m, half the distance of the bows"
            raise InputFault("mooring: leg", f"legs of {self.leg:g} m do not meet ahead of the bows", cure)
        if self.sweep is None:
            return [self._case(spacing, self.direction, "")]
        turned = np.linspace(-self.sweep, self.sweep, self.steps)
        return [
            self._case(spacing, self.direction + angle, _from(self.direction + angle)) for angle in turned
        ]

    def _case(self, spacing: float, direction: float, name: str) -> LoadCase:
        port, starboard = bridle(self.pull(direction), spacing, self.leg)
        sizes = {"port": math.hypot(*port), "starboard": math.hypot(*starboard)}
        legs = ", ".join(
            f"{side} leg {engineering(size, 'N')}" if size else f"{side} leg slack"
            for side, size in sizes.items()
        )
        placed = [at("port stem", port), at("starboard stem", starboard)]
        words = f"{engineering(self.tension, 'N')} {_from(direction)}: {legs}"
        return expanded_case(self, words, self._origin(spacing, direction), placed, name=name)

    def _origin(self, spacing: float, direction: float) -> Origin:
        """The triangle of forces with this boat's numbers."""
        x, y, z = self.pull(direction)
        u, v = (engineering(size, "N").replace("-", "−") for size in (math.hypot(x, z), y))
        return Origin(
            "statics of two equal legs, of which none can push; tension entered",
            f"port ½ (u/cos β − v/sin β), starboard ½ (u/cos β + v/sin β); u = {u}, v = {v} to port, "
            f"sin β = b/2ℓ, β = {degrees(math.asin(spacing / 2 / self.leg))}",
            basis="entered",
        )


def _from(direction: float) -> str:
    degrees = math.degrees(direction)
    if abs(degrees) < 1e-9:
        return "from ahead"
    return f"from {abs(degrees):.4g}° to {'port' if degrees > 0 else 'starboard'}"
