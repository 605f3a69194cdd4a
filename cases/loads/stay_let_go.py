"""A stay that is let go under load: the frame springs back, and swings as far the other way.

Released from its shape under T, an elastic frame without damping swings about its shape without T, from u to −u (vibration of a
released spring; L.S. Jacobsen & R.S. Ayre, Engineering Vibrations, 1958, from memory). The far end of that swing is the static
shape under −T: the elastic state reversed.
"""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from pydantic import Field, field_validator

from cases.loads.base import LoadCase, LoadLevel, PlaceLoad, at, degrees
from cases.loads.origin import Origin
from cases.loads.pull import Angle, Tension, checked_angle, pull_vector
from femcore.base.numbers import engineering


class StayLetGo(LoadCase):
    """The pull of the stay reversed: down and forward.

    tension : N, at which it is let go: a shackle opens, a halyard parts
    rebound : of the released state, what comes back the other way; left out 1, no damping at all, the most
    place   : where it was fixed

    An accident, so its load is an extreme one. The martingale's pretension stays, and it may go slack.
    """

    default_level: ClassVar[LoadLevel] = "extreme"
    uncombined: ClassVar[str] = "an accident, which the full sea meets by chance alone"
    kind: Literal["stay let go"] = "stay let go"
    tension: Tension
    rake: Angle
    rebound: Annotated[float, Field(gt=0, le=1)] = 1.0
    place: str = "stay"

    @field_validator("rake")
    @classmethod
    def _check_rake(cls, rake: float) -> float:
        return checked_angle("rake", rake)

    def loads(self) -> list[PlaceLoad]:
        """−r T along the stay's line."""
        return [
            at(self.place, pull_vector(-self.rebound * self.tension, self.rake), name="rebound of the stay")
        ]

    def what(self) -> str:
        """In one line."""
        share = "" if self.rebound == 1 else f"{self.rebound:.0%} of "
        return f"stay let go at {engineering(self.tension, 'N')}: {share}that pull reversed, {degrees(self.rake)} aft of vertical"

    def origin(self) -> Origin:
        """A released spring."""
        return Origin(
            "vibration of a released spring (L.S. Jacobsen & R.S. Ayre, Engineering Vibrations, 1958, from memory); "
            "tension entered",
            f"−r T (−sin ρ, 0, cos ρ), r = {self.rebound:.3g}, T = {engineering(self.tension, 'N')}, ρ = {degrees(self.rake)}",
            "one swing of an elastic frame, without the mast's own",
            inside=True,
        )
