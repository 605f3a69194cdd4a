"""Loads along the hulls: on the bows, on the hulls' own beams aft of the bulkhead, and beyond them by their resultant.

On a platform the front end has the hulls from the stems to the platform's last member; what acts aft of that acts at their end,
by a rigid arm. On root springs it has the bows alone, and what acts aft of the bulkhead acts on the hulls there: as the root's
turn per moment is of moments there, it turns as much.

A pitch connecting moment is spread as the sea spreads it: q up on the fore half of one hull and down on its aft half, on the
other hull the reverse. On each hull ±q L/2 with their middles L/2 apart, so M = q L²/4 on each, in equilibrium as a whole and
about any point. With q L/2 = Δ a/4, a quarter of the boat on each quarter of the platform, M = Δ a L/8, the rules' own moment.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple

from cases.loads.base import MemberLoad, PlaceLoad, along, at
from femcore.base.errors import InputFault
from models.boat.boat import Boat
from models.response.platform_frame import aft_end

ABS_TOL_STATION = 1e-9
"""m: stations of a hull nearer than this are one."""


class Stretch(NamedTuple):
    """m, from `begin` forward to `end`;   N/m upwards, `first` there and `last` here, linear between them."""

    begin: float
    end: float
    first: float
    last: float

    def at(self, x: float) -> float:
        """N/m, at a station of it."""
        return self.first + (self.last - self.first) * (x - self.begin) / (self.end - self.begin)

    @property
    def force(self) -> float:
        """N."""
        return (self.end - self.begin) * (self.first + self.last) / 2

    def moment(self, about: float) -> float:
        """N·m that lifts the bow: ∫ q (x − about) dx."""
        length, first, last = self.end - self.begin, self.begin - about, self.end - about
        return length * (self.first * (2 * first + last) + self.last * (first + 2 * last)) / 6


def on_hull(
    boat: Boat, side: str, stretches: Iterable[Stretch], name: str
) -> tuple[list[PlaceLoad], list[MemberLoad]]:
    """A load along one hull, upwards, as loads on the front end."""
    aft = None if boat.platform is None else boat.platform.aft
    placed, lines = _on_hull(aft, side, tuple(stretches), name)
    return [*placed], [*lines]


@lru_cache(maxsize=256)
def _on_hull(
    aft: float | None, side: str, stretches: tuple[Stretch, ...], name: str
) -> tuple[tuple[PlaceLoad, ...], tuple[MemberLoad, ...]]:
    """As `on_hull`; kept, since every variant of a boat has the same waves, and each of their loads is checked when it is made.

    aft : m, x of the platform's last member; None without a platform
    """
    end, place = (0.0, f"{side} hull at bulkhead") if aft is None else (aft, aft_end(side))
    beyond, lines = list[Stretch](), list[MemberLoad]()
    for one in _cut(stretches, (end, 0.0)):
        if one.end <= end + ABS_TOL_STATION:
            beyond.append(one)
        else:
            member = f"{side} bow" if one.begin >= -ABS_TOL_STATION else f"{side} hull aft"
            force, end_force = (0.0, 0.0, one.first), (0.0, 0.0, one.last)
            lines.append(along(member, force, one.begin, one.end, name=name, end_force=end_force))
    if not beyond:
        return (), tuple(lines)
    upward, lever = sum(one.force for one in beyond), sum(one.moment(end) for one in beyond)
    # a moment that lifts the bow is negative about y
    return (at(place, (0.0, 0.0, upward), (0.0, -lever, 0.0), name),), tuple(lines)


def _cut(stretches: Iterable[Stretch], stations: Iterable[float]) -> Iterable[Stretch]:
    """The same load in stretches that none of the stations is inside of, those without load left out."""
    inner = sorted(stations)
    for one in stretches:
        if not (one.first or one.last):
            continue
        cuts = [x for x in inner if one.begin + ABS_TOL_STATION < x < one.end - ABS_TOL_STATION]
        for begin, end in pairwise([one.begin, *cuts, one.end]):
            yield Stretch(begin, end, one.at(begin), one.at(end))


def along_hulls(boat: Boat, moment: float, length: float) -> tuple[list[PlaceLoad], list[MemberLoad]]:
    """Loads that lift the port bow: N·m on each hull, over hulls of `length` m from the stems aft.

    InputFault where the hulls are no longer than the bows ahead of the bulkhead.
    """
    bow = boat.bows.length
    if length <= bow:
        wrong = f"{length:g} m is no longer than the bows ahead of the main bulkhead, {bow:g} m"
        raise InputFault("length", wrong, "give that of the hulls from stem to stern")
    middle = bow - length / 2
    placed, lines = list[PlaceLoad](), list[MemberLoad]()
    for side, sign in (("port", 1.0), ("starboard", -1.0)):
        q = sign * 4 * moment / length**2
        halves = (Stretch(bow - length, middle, -q, -q), Stretch(middle, bow, q, q))
        at_places, on_members = on_hull(boat, side, halves, f"sea on the {side} hull")
        placed += at_places
        lines += on_members
    return placed, lines


def twisting_moments(moment: float) -> list[PlaceLoad]:
    """Opposite pitch moments on both hulls at the main bulkhead, N·m, that lift the port bow."""
    return [
        at(f"{side} hull at bulkhead", moment=(0.0, -sign * moment, 0.0), name=f"twist of the {side} hull")
        for side, sign in (("port", 1.0), ("starboard", -1.0))
    ]
