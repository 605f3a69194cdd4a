"""The boat aground on one bow: a part of its weight up under that bow."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, ClassVar, Literal

from pydantic import Field

from cases.loads.base import LoadCase, LoadLevel, PlaceLoad, at
from cases.loads.origin import Origin
from femcore.base.numbers import engineering
from femcore.base.units import STANDARD_GRAVITY, Unit

MIN_SHARE, MAX_SHARE = 0.25, 0.40
"""Common practice: a quarter, four supports alike, to 0.4, the bow at one end and the other hull's stern at the other."""


class Grounding(LoadCase):
    """A part of the weight on one bow, and as the boat slides on, friction aft.

    displacement : kg
    share        : of the weight; left out 0.4, the most of common practice, as nothing is known of the ground
    under        : where it rests
    friction     : aft over up; left out 0, as the tide leaves it; 0.3 to 0.5 where it runs aground (common practice)

    An accident, so its load is an extreme one.
    """

    default_level: ClassVar[LoadLevel] = "extreme"
    uncombined: ClassVar[str] = "a boat aground is not in the open sea, and her sails are down"
    from_boat: ClassVar[Mapping[str, str]] = {"displacement": "displacement"}
    kind: Literal["grounding"] = "grounding"
    displacement: Annotated[float, Unit("kg", above=0, most=1e7)]
    share: Annotated[float, Field(gt=0, le=1)] = MAX_SHARE
    side: Literal["port", "starboard"] = "port"
    under: Literal["stem", "hull at beam"] = "stem"
    friction: Annotated[float, Field(ge=0, le=1)] = 0.0

    @property
    def upward(self) -> float:
        """N."""
        return self.share * self.displacement * STANDARD_GRAVITY

    def loads(self) -> list[PlaceLoad]:
        """Up, and aft by friction."""
        return [
            at(f"{self.side} {self.under}", (-self.friction * self.upward, 0.0, self.upward), name="ground")
        ]

    def what(self) -> str:
        """In one line."""
        aft = f", {engineering(self.friction * self.upward, 'N')} aft" if self.friction else ""
        return f"aground under the {self.side} {self.under}: {engineering(self.upward, 'N')} up{aft}"

    def origin(self) -> Origin:
        """A share of the weight."""
        return Origin(
            "common practice",
            f"F = s Δ g = {self.share:.3g} × {self.displacement / 1000:.3g} t × 9.81 m/s² = {engineering(self.upward, 'N')}; aft "
            f"μ F, μ = {self.friction:.3g}",
            f"s from {MIN_SHARE:g} to {MAX_SHARE:g}, here {self.share:.3g}",
            inside=MIN_SHARE <= self.share <= MAX_SHARE,
            basis="estimated",
        )
