"""Outlines of a hull's stations: checked, placed from the main bulkhead, reduced to the corners that a boat file takes.

Every format (`offsets`, `body_plan`) ends here. A round bilge becomes corners at equal girth; what that costs in distance and in
area is measured, not assumed. A chined hull, with the same few points at every station, keeps them: they are its corners.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from femcore.base.arrays import FloatArray
from femcore.base.errors import InputFault, InputFaults

ABS_TOL_SAME_STATION = 1e-4
"""m: stations that differ by less are one, and so are points; tables and drawings are made to the millimetre or finer."""
WIDEST_HALF = (0.05, 4.0)
"""m, least and greatest half-breadth of the widest station of one hull of a catamaran (common practice: 0.15 to 3 m). A slip of
a unit by 10, 25.4 or 1000 leaves it for most hulls; the picture shows the others."""
MOST_CORNERS = 10_000
"""Of one outline: more are no drawn hull, and each is compared with each to find crossings."""


@dataclass(frozen=True, eq=False)
class StationOutline:
    """One station. at : m, forward of the main bulkhead; points : (n, 2), m, half-breadth and height from the keel up."""

    at: float
    points: FloatArray


@dataclass(frozen=True, eq=False)
class ReadStations:
    """What was read, and what a boat file takes of it.

    table    : stations as read, from the bulkhead forward, the bulkhead's own interpolated where there is none
    stations : the same with as many corners each
    distance : m, the farthest that a point of the table is from the reduced outline
    area     : greatest relative change of the area between keel and gunwale of a station; signed
    """

    table: tuple[StationOutline, ...]
    stations: tuple[StationOutline, ...]
    distance: float
    area: float


def hull_stations(
    place: str,
    outlines: Sequence[StationOutline],
    bulkhead: float,
    forward: Literal["+x", "-x"],
    corners: int,
) -> ReadStations:
    """Stations of a boat file from outlines whose `at` counts from anywhere; InputFaults where they are no hull's.

    bulkhead : m, station of the main bulkhead;   forward : whether stations grow forward or aft;   corners : of each reduced
    station, keel and gunwale with them; the most of stations that have equally many points, which keep these
    """
    faults = [
        InputFault(f"{place}: station {one.at:g} m", *wrong)
        for one in outlines
        for wrong in _wrong(one.points)
    ]
    faults += _wrong_together(place, outlines)
    if faults:
        raise InputFaults(faults)
    sign = 1.0 if forward == "+x" else -1.0
    placed = sorted(
        (StationOutline(sign * (one.at - bulkhead), one.points) for one in outlines), key=lambda one: one.at
    )
    counts = {len(one.points) for one in placed}
    chined = len(counts) == 1 and max(counts) <= corners
    table = _from_bulkhead(place, placed, chined=chined)
    stations = (
        table
        if chined
        else tuple(StationOutline(one.at, _at_equal_girth(one.points, corners)) for one in table)
    )
    pairs = list(zip(table, stations, strict=True))
    distance = max(float(distances(full.points, few.points).max()) for full, few in pairs)
    changes = [_area(few.points) / _area(full.points) - 1 for full, few in pairs]
    return ReadStations(table, stations, distance, max(changes, key=abs))


def station_tables(read: ReadStations) -> str:
    """The [[bows.stations]] of a boat file."""
    lines = []
    for one in read.stations:
        keel, *chines, gunwale = [f'"{y:.3f} {z:.3f} m"' for y, z in one.points]
        lines += [
            "[[bows.stations]]", f'at = "{one.at:.3f} m"', f"keel = {keel}", f"chines = [{', '.join(chines)}]",
            f"gunwale = {gunwale}", "",
        ]  # fmt: skip
    return "\n".join(lines)


def distances(points: FloatArray, outline: FloatArray) -> FloatArray:
    """(points,) m, of each to the nearest place on the outline."""
    begin, along = outline[:-1], np.diff(outline, axis=0)
    from_begin = points[:, None] - begin
    t = np.clip((from_begin * along).sum(axis=2) / (along**2).sum(axis=1), 0.0, 1.0)
    nearest: FloatArray = np.linalg.norm(from_begin - t[..., None] * along, axis=2).min(axis=1)
    return nearest


def _wrong(points: FloatArray) -> Iterator[tuple[str, str]]:
    """What no half of a hull's section has, and the cure; what comes first makes no sense of what follows."""
    if len(points) < 2:
        yield "has one point", "give keel and gunwale at least"
    elif len(points) > MOST_CORNERS:
        yield f"has {len(points)} points", f"give {MOST_CORNERS} at most"
    elif (points[:, 0] < 0).any():
        yield "has a negative half-breadth", "give one side of the hull, from its own centreline out"
    elif points[0, 1] >= points[-1, 1]:
        yield "does not run from the keel up", "give its points from the keel to the gunwale"
    elif (np.linalg.norm(np.diff(points, axis=0), axis=1) <= ABS_TOL_SAME_STATION).any():
        yield "has a point twice", "take one of them out"
    elif (height := _crossing(points)) is not None:
        yield f"crosses itself at a height of {height:.3g} m", "give its points in order, keel to gunwale"


def _wrong_together(place: str, outlines: Sequence[StationOutline]) -> list[InputFault]:
    """Faults that only show beside one another."""
    faults = []
    places = np.sort([one.at for one in outlines])
    if (np.diff(places) <= ABS_TOL_SAME_STATION).any():
        faults.append(InputFault(place, "a station comes twice", "put all its points one after the other"))
    widest = max(float(one.points[:, 0].max()) for one in outlines)
    if not WIDEST_HALF[0] <= widest <= WIDEST_HALF[1]:
        usual = " to ".join(f"{2 * each:g}" for each in WIDEST_HALF)
        wrong = f"its widest station is {2 * widest:,.4g} m wide, where one hull is {usual} m"
        faults.append(InputFault(place, wrong, "state the file's own unit and scale"))
    return faults


def _crossing(points: FloatArray) -> float | None:
    """m, height at which two edges that are not neighbours meet; None where none do.

    Edges meet where the ends of each are on opposite sides of the other, or on it, and their boxes overlap.
    """
    begin, along = points[:-1], np.diff(points, axis=0)
    for i in range(len(along) - 2):
        a, b = begin[i + 2 :], begin[i + 2 :] + along[i + 2 :]
        p, q = begin[i], begin[i] + along[i]
        from_p, from_q = _cross(b - a, p - a), _cross(b - a, q - a)
        sides = _cross(along[i], a - p) * _cross(along[i], b - p)
        apart = (np.minimum(a, b) > np.maximum(p, q)) | (np.maximum(a, b) < np.minimum(p, q))
        meet = np.flatnonzero((sides <= 0) & (from_p * from_q <= 0) & ~apart.any(axis=1))
        if len(meet):
            one, other = abs(from_p[meet[0]]), abs(from_q[meet[0]])
            # edges on one line are 0 from one another at both ends
            return float(p[1] + (q - p)[1] * (one / (one + other) if one + other else 0.5))
    return None


def _cross(a: FloatArray, b: FloatArray) -> FloatArray:
    return np.asarray(a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0])


def _from_bulkhead(place: str, stations: list[StationOutline], *, chined: bool) -> tuple[StationOutline, ...]:
    """Those ahead of the bulkhead, and the bulkhead's own: that of the table, or interpolated, at equal girth or by chine."""
    ahead = [one for one in stations if one.at > ABS_TOL_SAME_STATION]
    behind = [one for one in stations if one.at <= ABS_TOL_SAME_STATION]
    if not ahead or not behind:
        side = "ahead of" if not ahead else "at or abaft"
        raise InputFault(
            place, f"has no station {side} the main bulkhead", "correct bulkhead, forward or unit"
        )
    last, first = behind[-1], ahead[0]
    if last.at >= -ABS_TOL_SAME_STATION:
        return StationOutline(0.0, last.points), *ahead
    count = len(last.points) if chined else max(len(last.points), len(first.points), 50)
    t = -last.at / (first.at - last.at)
    points = (1 - t) * _at_equal_girth(last.points, count) + t * _at_equal_girth(first.points, count)
    return StationOutline(0.0, points), *ahead


def _at_equal_girth(points: FloatArray, count: int) -> FloatArray:
    """So many points along the outline, equally far apart along it; its ends stay. As they are where there are so many."""
    if len(points) == count:
        return points
    girth = np.append(0.0, np.linalg.norm(np.diff(points, axis=0), axis=1).cumsum())
    places = np.linspace(0.0, girth[-1], count)
    return np.column_stack([np.interp(places, girth, points[:, i]) for i in range(2)])


def _area(points: FloatArray) -> float:
    """m², between centreline and outline, keel to gunwale: ∫ y dz."""
    return float(np.trapezoid(points[:, 0], points[:, 1]))
