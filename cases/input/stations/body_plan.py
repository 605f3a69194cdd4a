"""Hull stations from a body plan, a drawing in DXF or SVG with one outline for each station, all on one centreline.

The outline of a station is what is drawn under its name: a layer of a DXF, the id or label of an SVG's line or group, such as
"station 3.7 m", or a name whose station is stated. Its pieces are joined end to end. It is half of the section or all of it, open
from keel to gunwale, or closed by the deck, which is then taken off at its edge.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path
from typing import Literal

import numpy as np

from cases.input.stations.drawn_lines import ABS_TOL_CHORD, DrawnLine
from cases.input.stations.hull_stations import (
    ABS_TOL_SAME_STATION,
    ReadStations,
    StationOutline,
    distances,
    hull_stations,
)
from femcore.base.arrays import FloatArray
from femcore.base.errors import InputFault, InputFaults, unknown
from femcore.base.units import si

ABS_TOL_JOIN = 1e-3
"""m on the boat: ends that are no farther apart are one point; drawings snap far finer."""
ABS_TOL_LEVEL = 1e-6
"""m: a flat of keel that rises by less is level; the first chord of a round bilge rises by 4 × ABS_TOL_CHORD or so."""
ABS_TOL_SYMMETRY = 0.01
"""m: how far the two sides of a whole section may be apart; a boat file has one half."""
LEAST_TURN = np.radians(45)
"""Of an outline at the deck's edge, where topside and deck meet at about a right angle; chines and knuckles turn less."""
NAMED = re.compile(r"station[\s_]*([+-]?[\d.].*)", re.IGNORECASE | re.DOTALL)
AXES = {"x": 0, "y": 1, "z": 2}
EXAMPLE = "station 3.7 m"


@dataclass(frozen=True)
class Layout:
    """How a body plan is drawn.

    unit       : m on the boat for each unit of the drawing (`metres_per_unit`)
    breadth    : axis of the drawing along which half-breadths grow, "+x" …;   height : that of heights
    centreline : coordinate along the first of these axes of the hull's own centreline, units of the drawing
    waterline  : coordinate along the other of height zero
    whole      : both sides of each section are drawn, not one
    stations   : name → m, position of stations that are not named by it
    """

    unit: float
    breadth: str = "+x"
    height: str = "+y"
    centreline: float = 0.0
    waterline: float = 0.0
    whole: bool = False
    stations: Mapping[str, float] = field(default_factory=dict)


def metres_per_unit(scale: str, unit: str | None) -> float:
    """m on the boat for a unit of the drawing; scale : "1:10" of what is drawn in `unit`, or "1 unit = 10 mm"."""
    cure = "write it as '1:10' beside the drawing's unit, or as '1 unit = 10 mm'"
    if whole := re.fullmatch(r"\s*1\s*unit\s*=\s*(.+)", scale):
        if unit:
            raise InputFault("--scale", f"'{scale}' is stated beside a unit, '{unit}'", "take --unit out")
        length = si(whole[1], "m", "--scale")
    else:
        ratio = re.fullmatch(r"\s*(\d+\.?\d*)\s*:\s*(\d+\.?\d*)\s*", scale)
        if not ratio or float(ratio[1]) == 0:
            raise InputFault("--scale", f"'{scale}' is no scale", cure)
        if not unit:
            raise InputFault("--unit", "is missing: a scale is of lengths on paper", cure)
        length = si(f"1 {unit}", "m", "--unit") * float(ratio[2]) / float(ratio[1])
    if length <= 0:
        raise InputFault("--scale", f"'{scale}' is not above zero", cure)
    return length


def read_body_plan(
    path: Path, layout: Layout, bulkhead: float, forward: Literal["+x", "-x"], corners: int
) -> ReadStations:
    """The stations of a drawing, its format by its name's end; InputFault or InputFaults where it has none.

    bulkhead, forward, corners : as for `hull_stations`
    """
    across = AXES[layout.breadth[1]], AXES[layout.height[1]]
    is_dxf = path.suffix.lower() == ".dxf"
    if across[0] == across[1] or (max(across) == AXES["z"] and not is_dxf):
        wrong = f"breadth {layout.breadth} and height {layout.height} are no two axes of the drawing"
        raise InputFault(str(path), wrong, "state --breadth and --height, such as +x and +y")
    # each library is imported for its own format
    chord = ABS_TOL_CHORD / layout.unit
    if is_dxf:
        from cases.input.stations.dxf_lines import dxf_lines  # noqa: PLC0415

        lines = dxf_lines(path, chord)
    else:
        from cases.input.stations.svg_lines import svg_lines  # noqa: PLC0415

        lines = svg_lines(path, chord)
    return hull_stations(str(path), station_outlines(str(path), lines, layout), bulkhead, forward, corners)


def station_outlines(place: str, lines: list[DrawnLine], layout: Layout) -> list[StationOutline]:
    """Half an outline of each station, keel to gunwale, `at` as named; InputFaults of all that are none."""
    pieces: dict[str, tuple[float, list[FloatArray]]] = {}
    for line in lines:
        if named := _station(place, line.names, layout.stations):
            name, at = named
            pieces.setdefault(name, (at, []))[1].append(_in_boat(layout, line.points))
    _require_stations(place, lines, set(pieces), layout.stations)
    outlines, faults = [], list(_twice(place, {name: at for name, (at, _) in pieces.items()}))
    for name, (at, parts) in pieces.items():
        try:
            outlines.append(StationOutline(at, _half(_joined(parts), whole=layout.whole)))
        except InputFault as fault:
            faults.append(fault.inside(f"{place}: {_quoted(name)}"))
    if faults:
        raise InputFaults(faults)
    return outlines


def _in_boat(layout: Layout, points: FloatArray) -> FloatArray:
    """(n, 2), m, half-breadth and height of points of the drawing."""
    sides = []
    for axis, zero in ((layout.breadth, layout.centreline), (layout.height, layout.waterline)):
        sign = -1.0 if axis[0] == "-" else 1.0
        sides.append(sign * (points[:, AXES[axis[1]]] - zero) * layout.unit)
    return np.column_stack(sides)


def _station(place: str, names: tuple[str, ...], stated: Mapping[str, float]) -> tuple[str, float] | None:
    """The innermost name that is a station's, and where that is; None where none is."""
    for name in names:
        if name in stated:
            return name, stated[name]
        if match := NAMED.fullmatch(name):
            return name, si(_printable(match[1]).replace("_", " "), "m", f"{place}: {_quoted(name)}")
    return None


def _printable(name: str) -> str:
    """Of a name in a drawing what a message can have: 40 characters, none of control."""
    return "".join(letter for letter in name[:40] if letter.isprintable()) + ("…" if len(name) > 40 else "")


def _quoted(name: str) -> str:
    return f"'{_printable(name)}'"


def _require_stations(
    place: str, lines: list[DrawnLine], found: set[str], stated: Mapping[str, float]
) -> None:
    """Every stated name is drawn, and there is one station at least."""
    names = list(dict.fromkeys(name for line in lines for name in line.names))
    if not lines:
        raise InputFault(place, "has no lines", "draw the outline of each station, keel to gunwale")
    if missing := [name for name in stated if name not in found]:
        raise InputFaults(
            unknown(place, "layer", name, [_printable(each) for each in names]) for name in missing
        )
    if not found:
        few = ", ".join(_quoted(name) for name in names[:8]) + (" …" if len(names) > 8 else "")
        cure = f"name them as '{EXAMPLE}', or state their names by --station"
        raise InputFault(place, f"has no station among {few or 'lines without names'}", cure)


def _twice(place: str, stations: Mapping[str, float]) -> Iterator[InputFault]:
    """Names of one and the same station."""
    names = sorted(stations, key=lambda name: stations[name])
    for first, second in pairwise(names):
        if stations[second] - stations[first] <= ABS_TOL_SAME_STATION:
            wrong = f"{_quoted(first)} and {_quoted(second)} are one station, {stations[first]:g} m"
            yield InputFault(place, wrong, "draw each station under one name")


def _joined(parts: list[FloatArray]) -> FloatArray:
    """(n, 2), one line of pieces that meet end to end, however they are drawn; closed where its ends are one point."""
    # what is drawn twice on itself is one piece
    line, *rest = {min(key := _rounded(part), key[::-1]): part for part in parts}.values()
    while rest and not _closed(line):
        # pieces of a polyline follow one another, so that the first is nearly always the one
        for i, part in enumerate(rest):
            if (longer := _end_to_end(line, part)) is not None:
                line = longer
                del rest[i]
                break
        else:
            break
    if rest:
        ends = rest[0][0] if _closed(line) else min((rest[0][0], rest[0][-1]), key=lambda p: _gap(line, p))
        wrong = (
            f"is more than one line: another begins at half-breadth {ends[0]:.3f} m, height {ends[1]:.3f} m"
        )
        raise InputFault("", wrong, "join them, or draw what is no outline under another name")
    return line


def _rounded(line: FloatArray) -> tuple[tuple[float, ...], ...]:
    """Its points to a micrometre, comparable."""
    return tuple(tuple(point) for point in line.round(6).tolist())


def _closed(line: FloatArray) -> bool:
    return len(line) > 3 and bool(np.linalg.norm(line[-1] - line[0]) <= ABS_TOL_JOIN)


def _gap(line: FloatArray, point: FloatArray) -> float:
    return float(min(np.linalg.norm(line[0] - point), np.linalg.norm(line[-1] - point)))


def _end_to_end(line: FloatArray, part: FloatArray) -> FloatArray | None:
    """Both as one line, where an end of each is the same point."""
    for whole in (line, line[::-1]):
        for other in (part, part[::-1]):
            if np.linalg.norm(whole[-1] - other[0]) <= ABS_TOL_JOIN:
                return np.concatenate([whole, other[1:]])
    return None


def _half(line: FloatArray, *, whole: bool) -> FloatArray:
    """(n, 2), one half of an outline from keel to gunwale, the deck taken off."""
    line = line[np.append(True, np.linalg.norm(np.diff(line, axis=0), axis=1) > 0)]
    on_centre = np.abs(line[:, 0]) <= ABS_TOL_SAME_STATION
    line = np.column_stack([np.where(on_centre, 0.0, line[:, 0]), line[:, 1]])
    half = _starboard_and_port(line) if whole else _one_side(line)
    half = half if half[0, 1] < half[-1, 1] else half[::-1]
    if half[0, 0] > 0:
        wrong = f"has no keel: its lowest end is {half[0, 0]:.3f} m off the centreline"
        raise InputFault("", wrong, "draw it to the centreline, or correct --centreline")
    if half[-1, 0] == 0:
        half = half[: _deck_edge(half) + 1]
    if abs(half[1, 1] - half[0, 1]) <= ABS_TOL_LEVEL and len(half) > 2:
        half = half[1:]  # a boat file begins a flat keel at its edge
    apart = np.linalg.norm(np.diff(half, axis=0), axis=1) > ABS_TOL_SAME_STATION
    # its ends stay: of two points in one place at the gunwale the first is left out
    return np.concatenate([half[:-1][np.append(True, apart[:-1])], half[-1:]])


def _one_side(line: FloatArray) -> FloatArray:
    """Half an outline without what is drawn along the centreline, its ends there if it has any."""
    if (line[:, 0] < 0).any():
        wrong = f"is {-line[:, 0].min():.3f} m beyond the centreline"
        raise InputFault("", wrong, "correct --centreline or the sign of --breadth, or state --whole")
    if not _closed(line):
        return line
    ring = line[:-1]
    on_centre = ring[:, 0] == 0
    begins = np.flatnonzero(on_centre & ~np.roll(on_centre, -1))
    if len(begins) != 1 or on_centre.sum() < 2:
        wrong = "is closed, but not along the centreline"
        raise InputFault(
            "", wrong, "draw half a section from keel to deck on the centreline, or state --whole"
        )
    ring = np.roll(ring, -int(begins[0]), axis=0)
    return ring[: int((~on_centre).sum()) + 2]


def _starboard_and_port(line: FloatArray) -> FloatArray:
    """The half of a whole outline on the side where half-breadths are positive, after its mirror image was compared with it."""
    if closed := _closed(line):
        line = np.roll(line[:-1], -int(line[:-1, 0].argmax()), axis=0)
        line = np.concatenate([line, line[:1]])
    sides = _cut_at_centreline(line)
    if len(sides) != (3 if closed else 2):
        drawn = "a closed section does so twice" if closed else "an open section does so once"
        wrong = f"meets the centreline {len(sides) - 1} times, where {drawn}"
        raise InputFault("", wrong, "draw both sides of the section about --centreline")
    # a closed line begins on one side, so that its first and last part are one half
    halves = [np.concatenate([sides[2], sides[0][1:]]), sides[1]] if closed else sides
    positive, negative = sorted(halves, key=lambda half: -float(half[:, 0].sum()))
    mirror = negative * (-1, 1)
    if (mirror[:, 0] < 0).any() or (positive[:, 0] < 0).any():
        raise InputFault("", "has both its sides on one", "draw both sides of the section about --centreline")
    apart = max(float(distances(a, b).max()) for a, b in ((mirror, positive), (positive, mirror)))
    if apart > ABS_TOL_SYMMETRY:
        wrong = f"has sides that differ by {1000 * apart:.0f} mm"
        raise InputFault("", wrong, "correct --centreline, or draw the half that is meant alone")
    return positive


def _cut_at_centreline(line: FloatArray) -> list[FloatArray]:
    """Its parts between the places where it meets the centreline; what is drawn along the centreline is one place."""
    parts, current = [], [line[0]]
    for a, b in pairwise(line):
        if a[0] * b[0] < 0:
            place = a + (b - a) * a[0] / (a[0] - b[0])
            place[0] = 0.0
            parts.append(np.array([*current, place]))
            current = [place, b]
        elif b[0] == 0 and a[0] != 0:
            parts.append(np.array([*current, b]))
            current = [b]
        elif b[0] == 0:
            current = [b]
        else:
            current.append(b)
    return [*parts, np.array(current)]


def _deck_edge(half: FloatArray) -> int:
    """Index of the sharpest corner from the widest point on, of an outline that ends at the deck's middle."""
    along = np.diff(half, axis=0)
    heading = np.unwrap(np.arctan2(along[:, 1], along[:, 0]))
    turn = np.abs(np.diff(heading))
    widest = int(half[:, 0].argmax())
    corner = widest + int(turn[widest - 1 :].argmax()) if widest < len(half) - 1 else widest
    if turn[corner - 1] < LEAST_TURN:
        raise InputFault("", "has a deck without an edge", "draw it open, from keel to gunwale")
    return corner
