"""Hull stations from an offsets table: points of each from keel to gunwale, reduced to the corners that a boat file takes.

The table is CSV with a heading: station, half_breadth, height, a row for each point, points of a station one after the other
from the keel up. Its unit, where the main bulkhead is in it, and which way its stations count are stated by whoever reads it.
A round bilge becomes corners at equal girth; what that costs in distance and in area is measured, not assumed.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import numpy as np

from femcore.base.arrays import FloatArray
from femcore.base.errors import InputFault, InputFaults
from femcore.base.units import si

COLUMNS = ("station", "half_breadth", "height")
MAX_ROWS = 100_000
ABS_TOL_SAME_STATION = 1e-4
"""m: rows whose stations differ by less are of one station; tables are written to the millimetre or finer."""


@dataclass(frozen=True, eq=False)
class StationOutline:
    """One station. at : m, forward of the main bulkhead; points : (n, 2), m, half-breadth and height from the keel up."""

    at: float
    points: FloatArray


@dataclass(frozen=True, eq=False)
class ReadStations:
    """What was read, and what a boat file takes of it.

    table    : stations as in the table, from the bulkhead forward, the bulkhead's own interpolated where it has none
    stations : the same with as many corners each
    distance : m, the farthest that a point of the table is from the reduced outline
    area     : greatest relative change of the area between keel and gunwale of a station; signed
    """

    table: tuple[StationOutline, ...]
    stations: tuple[StationOutline, ...]
    distance: float
    area: float


def read_offsets(
    path: Path, unit: str, bulkhead: float, forward: Literal["+x", "-x"], corners: int
) -> ReadStations:
    """The stations of an offsets table; InputFault or InputFaults where it is none.

    unit : of all numbers in it;   bulkhead : m, station of the main bulkhead in the table;   forward : whether stations grow
    forward or aft;   corners : of each reduced station, keel and gunwale with them
    """
    outlines = _outlines(path, si(f"1 {unit}", "m", "unit"))
    sign = 1.0 if forward == "+x" else -1.0
    placed = sorted(
        (StationOutline(sign * (one.at - bulkhead), one.points) for one in outlines), key=lambda one: one.at
    )
    table = _from_bulkhead(str(path), placed)
    stations = tuple(StationOutline(one.at, _at_equal_girth(one.points, corners)) for one in table)
    pairs = list(zip(table, stations, strict=True))
    distance = max(float(_distances(full.points, few.points).max()) for full, few in pairs)
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


def _outlines(path: Path, scale: float) -> list[StationOutline]:
    """Stations in the order of the table, in m."""
    found: list[tuple[float, list[tuple[float, float]]]] = []
    for station, y, z in _rows(path) * scale:
        if not found or abs(found[-1][0] - station) > ABS_TOL_SAME_STATION:
            found.append((station, []))
        found[-1][1].append((y, z))
    faults = [
        InputFault(f"{path}: station {at:g} m", *wrong) for at, points in found if (wrong := _wrong(points))
    ]
    places = np.sort([at for at, _ in found])
    if (np.diff(places) <= ABS_TOL_SAME_STATION).any():
        faults.append(
            InputFault(str(path), "a station comes twice", "put all its points one after the other")
        )
    if faults:
        raise InputFaults(faults)
    return [StationOutline(at, np.array(points)) for at, points in found]


def _wrong(points: list[tuple[float, float]]) -> tuple[str, str] | None:
    """What no half of a hull's section has, and the cure."""
    corners = np.array(points)
    if len(corners) < 2:
        return "has one point", "give keel and gunwale at least"
    if (corners[:, 0] < 0).any():
        return "has a negative half-breadth", "give one side of the hull, from its own centreline out"
    if corners[0, 1] >= corners[-1, 1]:
        return "does not run from the keel up", "give its points from the keel to the gunwale"
    if (np.linalg.norm(np.diff(corners, axis=0), axis=1) <= ABS_TOL_SAME_STATION).any():
        return "has a point twice", "take one of them out"
    return None


def _rows(path: Path) -> FloatArray:
    """(rows, 3) numbers of the table, in its own unit."""
    try:
        with path.open(encoding="utf-8-sig", newline="") as file:
            reader = csv.DictReader(file, skipinitialspace=True)
            headings = [name.strip() for name in reader.fieldnames or []]
            reader.fieldnames = headings
            rows = [(reader.line_num, row) for row in reader]
    except (OSError, UnicodeDecodeError, csv.Error) as trouble:
        raise InputFault(str(path), f"cannot be read as CSV ({trouble})", "give a table of text") from None
    missing = [name for name in COLUMNS if name not in headings]
    if missing:
        raise InputFault(str(path), f"has no column '{missing[0]}'", f"head its columns {', '.join(COLUMNS)}")
    if not rows or len(rows) > MAX_ROWS:
        raise InputFault(str(path), f"has {len(rows)} points", f"give 1 to {MAX_ROWS}")
    return np.array([[_number(f"{path}: line {line}", row, name) for name in COLUMNS] for line, row in rows])


def _number(place: str, row: dict[str, str | None], name: str) -> float:
    text = row[name]
    try:
        value = float(text or "")
    except ValueError:
        value = np.nan
    if not np.isfinite(value):
        raise InputFault(
            f"{place}: {name}", f"'{text or ''}' is not a number", "write it with a decimal point, no unit"
        )
    return value


def _from_bulkhead(place: str, stations: list[StationOutline]) -> tuple[StationOutline, ...]:
    """Those ahead of the bulkhead, and the bulkhead's own: that of the table, or interpolated at equal girth."""
    ahead = [one for one in stations if one.at > ABS_TOL_SAME_STATION]
    behind = [one for one in stations if one.at <= ABS_TOL_SAME_STATION]
    if not ahead or not behind:
        side = "ahead of" if not ahead else "at or abaft"
        raise InputFault(place, f"has no station {side} the main bulkhead", "mend bulkhead, forward or unit")
    last, first = behind[-1], ahead[0]
    if last.at >= -ABS_TOL_SAME_STATION:
        return StationOutline(0.0, last.points), *ahead
    count = max(len(last.points), len(first.points), 50)
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


def _distances(points: FloatArray, outline: FloatArray) -> FloatArray:
    """(points,) m, of each to the nearest place on the outline."""
    begin, along = outline[:-1], np.diff(outline, axis=0)
    from_begin = points[:, None] - begin
    t = np.clip((from_begin * along).sum(axis=2) / (along**2).sum(axis=1), 0.0, 1.0)
    nearest: FloatArray = np.linalg.norm(from_begin - t[..., None] * along, axis=2).min(axis=1)
    return nearest


def _area(points: FloatArray) -> float:
    """m², between centreline and outline, keel to gunwale: ∫ y dz."""
    return float(np.trapezoid(points[:, 0], points[:, 1]))
