"""The steady twist under sail: the rig presses both bows down alike, and the lee hull bears more of it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, ClassVar, Literal

from pydantic import Field

from cases.loads.base import MAX_FORCE, LoadCase, MemberLoad, PlaceLoad, expanded_case
from cases.loads.hull_load import along_hulls, twisting_moments
from cases.loads.origin import Origin
from femcore.base.numbers import engineering
from femcore.base.units import Unit
from models.boat.boat import Boat


class SailTwist(LoadCase):
    """M_P = ½ · drive · height · (lee share − windward share), half of the difference of the pitch moments on the hulls.

    drive · height presses the bows down. Mast and shrouds put half of it on each hull; water bears it by each hull's share of the
    displacement. What the lee hull bears beyond its half twists the platform, its bow up.

    drive     : N, forward force of the sails
    height    : m, of the sails' centre of effort above that of the hulls' resistance
    lee_share : of the displacement, on the lee hull: 0.5 upright, 1 with the windward hull about to lift
    lee       : which hull is to leeward
    length    : m, of the hulls from stem to stern: the moment is spread along them; left out: it acts at the main bulkhead
    """

    from_boat: ClassVar[Mapping[str, str]] = {
        "drive": "drive",
        "height": "effort_height",
        "lee_share": "lee_share",
    }
    kind: Literal["sail twist"] = "sail twist"
    drive: Annotated[float, Unit("N", above=0, most=MAX_FORCE)]
    height: Annotated[float, Unit("m", above=0, most=1000.0)]
    lee_share: Annotated[float, Field(gt=0.5, le=1)]
    lee: Literal["port", "starboard"] = "port"
    length: Annotated[float, Unit("m", above=0, most=1000.0)] | None = None

    @property
    def moment(self) -> float:
        """N·m, M_P without `scale`; positive lifts the port bow."""
        size = self.drive * self.height * (2 * self.lee_share - 1) / 2
        return size if self.lee == "port" else -size

    def loads(self) -> list[PlaceLoad]:
        """None before `expand`."""
        return []

    def what(self) -> str:
        """In one line."""
        where = "at the main bulkhead" if self.length is None else "spread along the hulls"
        size = engineering(abs(self.moment), "N·m")
        return f"steady twist under sail, ±{size} on the hulls {where}, the {self.lee} bow up"

    def origin(self) -> Origin:
        """Statics of two hulls."""
        sides = f"({self.lee_share:.3g} − {1 - self.lee_share:.3g})"
        return Origin(
            "statics; that each hull bears pitch by its share of the displacement is common practice; drive, height and share "
            "entered",
            f"M_P = ½ · drive · height · (lee share − windward share) = ½ × {engineering(self.drive, 'N')} × {self.height:.3g} m "
            f"× {sides} = {engineering(abs(self.moment), 'N·m')}",
        )

    def expand(self, boat: Boat) -> list[LoadCase]:
        """The case on that boat; InputFault where its length is shorter than the bows."""
        lines: list[MemberLoad] = []
        if self.length is None:
            placed = twisting_moments(self.moment)
        else:
            placed, lines = along_hulls(boat, self.moment, self.length)
        return [expanded_case(self, self.what(), self.origin(), placed, lines)]
