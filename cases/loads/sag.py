"""A stay that sags under its sail: how its foot then leans, and what it pulls there.

A line of span L under a load w, square to its chord and even along it, hangs in a parabola; with the tension H along the chord
its sag is s = w L²/8H in the load's direction, its ends lean by the slope 4 s/L from the chord, and each end carries
w L/2 = 4 H s/L square to it (statics; H.M. Irvine, Cable Structures, 1981). Loads square to each other add as vectors.

A sail's load is even along the cloth rather than the chord: the two lengths differ by 8/3 (s/L)², 4 % at the limit set here.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated

from pydantic import Field

from cases.loads.base import Vector

MAX_STAY_SAG_RATIO = 1 / 8
"""Of the span; beyond it a stay is no longer nearly straight."""


@dataclass(frozen=True, slots=True)
class SaggingStay:
    """A stay as it hangs.

    tension   : N, along the chord;   rake : rad, of the chord aft of vertical
    aft, side : sag over span, aft in the stay's own plane and to port
    """

    tension: float
    rake: float
    aft: float = 0.0
    side: float = 0.0

    @property
    def sag(self) -> float:
        """Over span, in its own direction."""
        return math.hypot(self.aft, self.side)

    @property
    def pull(self) -> Vector:
        """N, boat axes, on the foot: H (c + 4 (s_aft n + s_side y)/L), c up the chord, n square to it and aft."""
        slope = 4 * self.aft
        sine, cosine = math.sin(self.rake), math.cos(self.rake)
        return (
            -self.tension * (sine + slope * cosine),
            4 * self.tension * self.side,
            self.tension * (cosine - slope * sine),
        )

    @property
    def rake_at_foot(self) -> float:
        """rad, aft of vertical: ρ + atan 4 s/L."""
        return self.rake + math.atan(4 * self.aft)

    @property
    def lean_at_foot(self) -> float:
        """rad, out of the boat's plane to port."""
        return math.atan2(4 * self.side, math.hypot(1.0, 4 * self.aft))

    @property
    def load(self) -> float:
        """N: the sail's whole load on the stay, 8 H s/L."""
        return 8 * self.tension * self.sag


@dataclass(frozen=True, slots=True)
class StayLine:
    """The line of the stay's pull on its foot in a rig case, and how it passes the crossbeam's shear centre."""

    up: Annotated[float, Field(description="N, pull up")]
    aft: Annotated[float, Field(description="N, pull aft")]
    side: Annotated[float, Field(description="N, pull to port")]
    rake_at_foot: Annotated[float, Field(description="rad, of the line at the foot, aft of vertical")]
    lean_at_foot: Annotated[float, Field(description="rad, of that line out of the boat's plane, to port")]
    sag_aft: Annotated[float, Field(description="over the stay's span, aft in its own plane")]
    sag_side: Annotated[float, Field(description="over the stay's span, to port")]
    offset: Annotated[
        float,
        Field(description="m, from the shear centre square to the line; positive: turns the beam bow down"),
    ]
    torque: Annotated[float, Field(description="N·m about the beam's axis, positive bow down")]
    torque_free_forward: Annotated[
        float, Field(description="m, where the attachment would be, at its height, for no torque")
    ]


def sagging_stay_line(stay: SaggingStay, forward: float, up: float, scale: float = 1.0) -> StayLine:
    """The geometry of a stay attached `forward` of and `up` from the shear centre, m, pulling `scale` times.

    The torque is y of r × F: up·Fx − forward·Fz; it vanishes where the line at the foot, produced, meets the centre.
    """
    along_x, along_y, along_z = (scale * part for part in stay.pull)
    foot = stay.rake_at_foot
    arm = -up * math.sin(foot) - forward * math.cos(foot)
    torque = up * along_x - forward * along_z
    return StayLine(
        along_z, -along_x, along_y, foot, stay.lean_at_foot, stay.aft, stay.side, arm, torque, -up * math.tan(foot)
    )  # fmt: skip
