"""Hull stations from an offsets table: points of each from keel to gunwale.

The table is CSV with a heading: station, half_breadth, height, a row for each point, points of a station one after the other
from the keel up. Its unit, where the main bulkhead is in it, and which way its stations count are stated by whoever reads it.
"""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Literal

import numpy as np

from cases.input.stations.drawn_lines import checked_size
from cases.input.stations.hull_stations import (
    ABS_TOL_SAME_STATION,
    ReadStations,
    StationOutline,
    hull_stations,
)
from femcore.base.arrays import FloatArray
from femcore.base.errors import InputFault
from femcore.base.units import si

COLUMNS = ("station", "half_breadth", "height")
MAX_ROWS = 100_000


def read_offsets(
    path: Path, unit: str, bulkhead: float, forward: Literal["+x", "-x"], corners: int
) -> ReadStations:
    """The stations of an offsets table; InputFault or InputFaults where it is none.

    unit : of all numbers in it;   the others as for `hull_stations`
    """
    found: list[tuple[float, list[tuple[float, float]]]] = []
    for station, y, z in _rows(path) * si(f"1 {unit}", "m", "unit"):
        if not found or abs(found[-1][0] - station) > ABS_TOL_SAME_STATION:
            found.append((station, []))
        found[-1][1].append((y, z))
    outlines = [StationOutline(at, np.array(points)) for at, points in found]
    return hull_stations(str(path), outlines, bulkhead, forward, corners)


def _rows(path: Path) -> FloatArray:
    """(rows, 3) numbers of the table, in its own unit."""
    checked_size(path)
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
