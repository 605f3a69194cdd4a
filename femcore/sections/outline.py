"""A section's outline: points joined by straight wall segments, each of one wall.

Section axes: y and z in the section's plane, y to the right and z up when viewed from the +x end (x towards
              the viewer).
Points and segments lie on the walls' mid-surfaces. A curve is many short segments, each with its radius kept
for
buckling. Segments meet only at points: a wall that ends on another one must find a point there.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from femcore.base.arrays import ArrayRecord
from femcore.base.errors import InputFault
from femcore.sections.wall import Wall

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]
    Ints = NDArray[np.intp]

REL_TOL_TOUCHING = 1e-9
"""Two points nearer than this times the section's size are one point."""


@dataclass(frozen=True, eq=False, repr=False)
class Section(ArrayRecord):
    """A thin-walled section: a graph of points and straight wall segments.

    points   : (n, 2), y and z, m
    segments : (m, 2), start and end point of each segment
    walls    : the kinds of wall
    wall_of  : (m,), index into `walls`
    parts    : (m,) names, such as "web"; neighbours of one name and direction are one panel for buckling
    radius   : (m,), m, radius of the curve that the segment approximates; inf where the wall is flat
    name     : for titles

    Raises InputFault where the outline crosses itself, falls apart, repeats points or has fewer than two.
    """

    points: Array
    segments: Ints
    walls: tuple[Wall, ...]
    wall_of: Ints
    parts: tuple[str, ...]
    radius: Array
    name: str = "section"

    def __post_init__(self) -> None:
        for key, kind in (("points", float), ("segments", np.intp), ("wall_of", np.intp), ("radius", float)):
            array = np.array(getattr(self, key), kind)
            array.flags.writeable = False
            object.__setattr__(self, key, array)
        _check(self)

    @cached_property
    def length(self) -> Array:
        """Length of each segment, (m,), m."""
        return np.asarray(np.hypot(*(self.points[self.segments[:, 1]] - self.points[self.segments[:, 0]]).T))

    @cached_property
    def tangent(self) -> Array:
        """Unit direction of each segment, (m, 2)."""
        return np.asarray(
            (self.points[self.segments[:, 1]] - self.points[self.segments[:, 0]]) / self.length[:, None]
        )

    @cached_property
    def degree(self) -> Ints:
        """How many segments meet at each point, (n,)."""
        return np.bincount(self.segments.ravel(), minlength=len(self.points))

    @cached_property
    def thickness(self) -> Array:
        """Wall thickness of each segment, (m,), m."""
        return np.array([wall.thickness for wall in self.walls])[self.wall_of]

    @property
    def size(self) -> float:
        """The larger side of the box around the outline, m."""
        return float(np.ptp(self.points, axis=0).max())


@dataclass(frozen=True, eq=False, repr=False)
class Cells(ArrayRecord):
    """The closed cells of an outline: its smallest independent loops.

    loops : (cells, m), +1 where the loop runs along the segment, −1 against it, 0 elsewhere; loops run
            anticlockwise
    area  : (cells,), enclosed by the mid-surfaces, m²
    """

    loops: Array
    area: Array

    def __len__(self) -> int:
        return len(self.area)


def cells(section: Section) -> Cells:
    """Closed cells of `section`, found as the bounded faces of its plane graph.

    Each segment is two half-edges; the face on the left of one goes on, at its end, with the half-edge next
    clockwise
    of its own reverse. A connected graph of n points and m segments has m − n + 1 bounded faces (Euler).
    """
    count = len(section.segments)
    tail = np.concatenate([section.segments[:, 0], section.segments[:, 1]])
    direction = np.concatenate([section.tangent, -section.tangent])
    order = np.lexsort((np.arctan2(direction[:, 1], direction[:, 0]), tail))
    starts = np.searchsorted(tail[order], np.arange(len(section.points)))
    place = np.empty(2 * count, np.intp)
    place[order] = np.arange(2 * count)
    twin = np.roll(np.arange(2 * count), count)
    at = tail[twin]
    turn = (place[twin] - starts[at] - 1) % section.degree[at] + starts[at]
    follows = coo_array(
        (np.ones(2 * count), (np.arange(2 * count), order[turn])), shape=(2 * count, 2 * count)
    )
    faces, face = connected_components(follows, directed=False)
    start, end = section.points[tail] - section.points[0], section.points[tail[twin]] - section.points[0]
    area = np.bincount(face, (start[:, 0] * end[:, 1] - start[:, 1] * end[:, 0]) / 2, faces)
    loops = np.zeros((faces, count))
    np.add.at(loops, (face[:count], np.arange(count)), 1.0)
    np.add.at(loops, (face[count:], np.arange(count)), -1.0)
    bounded = np.arange(faces) != np.argmin(area)
    return Cells(loops[bounded], area[bounded])


def outline(
    points: ArrayLike,
    walls: Wall | Sequence[Wall],
    *,
    closed: bool = False,
    parts: Sequence[str] | None = None,
    radius: ArrayLike | None = None,
    name: str = "section",
) -> Section:
    """Return the outline through `points` (n, 2) in order, with one wall for all, or one for each segment.

    closed : the last point is joined to the first (which may be repeated at the end)
    parts  : a name for each segment; left out, "wall 1", "wall 2", … anew at every corner of a flat outline
    radius : radius of each segment's curve, m; left out, all flat

    Raises InputFault for a shape that cannot be built (see Section).
    """
    table = np.array(points, float)
    if table.ndim != 2 or table.shape[-1] != 2:
        raise InputFault(name, "has points that are not pairs of y and z", "give two numbers for each point")
    if len(table) < 2:
        raise InputFault(name, f"has {len(table)} point", "give at least two points")
    if (
        closed
        and len(table) > 2
        and np.hypot(*(table[-1] - table[0])) <= REL_TOL_TOUCHING * np.ptp(table, axis=0).max()
    ):
        table = table[:-1]
    if closed and len(table) < 3:
        raise InputFault(name, "is to be closed and has fewer than three points", "give three or more")
    number = np.arange(len(table))
    segments = np.column_stack([number, np.roll(number, -1)])[: len(table) if closed else -1]
    kinds, wall_of = _walls(walls, len(segments), name)
    labels = tuple(parts) if parts is not None else tuple(f"wall {i + 1}" for i in range(len(segments)))
    bend = np.full(len(segments), np.inf) if radius is None else np.array(radius, float)
    return Section(table, segments, kinds, wall_of, labels, bend, name)


def with_web(
    section: Section, start: ArrayLike, end: ArrayLike, wall: Wall, *, part: str = "web", divide: int = 1
) -> Section:
    """Return `section` with an internal web from `start` to `end` (y, z, m), both on its walls, split where
    it lands.

    divide : segments along the web

    Raises InputFault where an end of the web does not lie on a wall.
    """
    table, joined = section, []
    for end_point in (start, end):
        table, index = _split_at(table, np.array(end_point, float), part)
        joined.append(index)
    walls = tuple(dict.fromkeys((*table.walls, wall)))
    inner = np.linspace(table.points[joined[0]], table.points[joined[1]], divide + 1)[1:-1]
    chain = np.array([joined[0], *range(len(table.points), len(table.points) + len(inner)), joined[1]])
    return Section(
        np.concatenate([table.points, inner]),
        np.concatenate([table.segments, np.column_stack([chain[:-1], chain[1:]])]),
        walls,
        np.append(table.wall_of, np.full(divide, walls.index(wall))),
        table.parts + (part,) * divide,
        np.append(table.radius, np.full(divide, np.inf)),
        table.name,
    )


def transformed(section: Section, *, angle: float = 0.0, by: ArrayLike = (0.0, 0.0)) -> Section:
    """Return `section` turned about the origin by `angle` (rad, y towards z), then shifted `by` (y, z, m)."""
    turn = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
    return _with_points(section, section.points @ turn + np.array(by, float))


def subdivided(section: Section, pieces: int) -> Section:
    """Return the same section with each segment cut into `pieces` equal ones."""
    share = np.arange(1, pieces) / pieces
    start, end = (section.points[section.segments[:, i]] for i in (0, 1))
    inner = start[:, None] + share[None, :, None] * (end - start)[:, None]
    extra = len(section.points) + np.arange(len(section.segments) * (pieces - 1)).reshape(-1, pieces - 1)
    chain = np.column_stack([section.segments[:, :1], extra, section.segments[:, 1:]])
    return Section(
        np.concatenate([section.points, inner.reshape(-1, 2)]),
        np.stack([chain[:, :-1], chain[:, 1:]], axis=-1).reshape(-1, 2),
        section.walls,
        np.repeat(section.wall_of, pieces),
        tuple(part for part in section.parts for _ in range(pieces)),
        np.repeat(section.radius, pieces),
        section.name,
    )


def _with_points(section: Section, points: Array) -> Section:
    return Section(
        points, section.segments, section.walls, section.wall_of, section.parts, section.radius, section.name
    )


def near_pairs(points: Array, distance: float) -> Ints:
    """(p, 2), the numbers of each two of `points` (n, 2) that are no further apart, the lower one first."""
    # each with each, as walls are compared too: scipy's trees take longer to load than a file's sections to check
    y, z = points.T
    near = (y[:, None] - y) ** 2 + (z[:, None] - z) ** 2 <= distance**2
    return np.argwhere(np.triu(near, 1))


def _walls(walls: Wall | Sequence[Wall], count: int, name: str) -> tuple[tuple[Wall, ...], Ints]:
    """One wall for all, or one each; equal objects are kept once."""
    each = (walls,) * count if isinstance(walls, Wall) else tuple(walls)
    if len(each) != count:
        raise InputFault(
            name, f"has {count} walls to build and {len(each)} given", "give one wall, or one for each"
        )
    kinds = tuple(dict.fromkeys(each))
    number = {wall: i for i, wall in enumerate(kinds)}
    return kinds, np.array([number[wall] for wall in each], np.intp)


def _split_at(section: Section, point: Array, part: str) -> tuple[Section, int]:
    """`section` with a point at `point` on one of its segments, and that point's index."""
    tolerance = 1e-6 * section.size
    gap = np.hypot(*(section.points - point).T)
    if gap.min() <= tolerance:
        return section, int(gap.argmin())
    offset = point - section.points[section.segments[:, 0]]
    along = np.clip(np.einsum("ij,ij->i", offset, section.tangent), 0.0, section.length)
    away = np.hypot(*(offset - along[:, None] * section.tangent).T)
    hit = int(away.argmin())
    # A curve is made of chords: a web's end may stand off one by its sagitta, and then lands on the chord.
    sagitta = section.length[hit] ** 2 / (8.0 * section.radius[hit])
    if away[hit] > tolerance + 1.01 * sagitta:
        where = f"({point[0]:g}, {point[1]:g}) m"
        raise InputFault(
            f"{section.name}: {part}", f"ends at {where}, on no wall", "end it on a wall of the outline"
        )
    new = section.points[section.segments[hit, 0]] + along[hit] * section.tangent[hit]
    index = len(section.points)
    segments = np.concatenate([section.segments, [[index, section.segments[hit, 1]]]])
    segments[hit, 1] = index
    split = Section(
        np.concatenate([section.points, new[None]]),
        segments,
        section.walls,
        np.append(section.wall_of, section.wall_of[hit]),
        (*section.parts, section.parts[hit]),
        np.append(section.radius, section.radius[hit]),
        section.name,
    )
    return split, index


def _check(section: Section) -> None:
    """Raise InputFault where the outline is none."""
    name, points, segments = section.name, section.points, section.segments
    if points.ndim != 2 or points.shape[-1] != 2 or len(points) < 2:
        raise InputFault(name, f"has {len(points)} point", "give at least two points of y and z")
    if not np.isfinite(points).all():
        raise InputFault(name, "has a point that is not finite", "give numbers for every y and z")
    if len(segments) == 0 or segments.min() < 0 or segments.max() >= len(points):
        raise InputFault(name, "has a wall to a point that does not exist", "join points that are listed")
    counts = {len(segments), len(section.wall_of), len(section.parts), len(section.radius)}
    if len(counts) > 1 or section.wall_of.max() >= len(section.walls):
        raise InputFault(
            name, "does not give one wall, part and radius for each segment", "give one for each"
        )
    _check_repeats(section)
    _check_joined(section)
    _check_crossing(section)


def _place(point: Array) -> str:
    y, z = (round(float(value), 9) + 0.0 for value in point)  # no −1e-17, and no −0
    return f"({y:g}, {z:g}) m"


def _check_repeats(section: Section) -> None:
    name, points = section.name, section.points
    near = REL_TOL_TOUCHING * max(section.size, float(np.finfo(float).tiny))
    pairs = near_pairs(points, near)
    if len(pairs):
        raise InputFault(name, f"lists the point {_place(points[pairs[0, 0]])} twice", "list each point once")
    ends = np.sort(section.segments, axis=1)
    if (ends[:, 0] == ends[:, 1]).any():
        raise InputFault(name, "has a wall from a point to itself", "join two different points")
    if len(np.unique(ends, axis=0)) < len(ends):
        raise InputFault(name, "has two walls between the same two points", "keep one, as thick as both")


def _check_joined(section: Section) -> None:
    count = len(section.points)
    graph = coo_array((np.ones(len(section.segments)), section.segments.T), shape=(count, count))
    pieces, piece = connected_components(graph, directed=False)
    if pieces > 1:
        lone = section.points[np.flatnonzero(piece != piece[section.segments[0, 0]])[0]]
        cure = "let the walls meet at common points, or make two sections"
        raise InputFault(section.name, f"falls into {pieces} pieces, one of them at {_place(lone)}", cure)


def _check_crossing(section: Section) -> None:
    """No two segments may share anything but a common end point."""
    start, end = (section.points[section.segments[:, i]] for i in (0, 1))
    tolerance = REL_TOL_TOUCHING * section.size
    upper = np.triu_indices(len(start), 1)
    low, high = np.minimum(start, end) - tolerance, np.maximum(start, end) + tolerance
    close = np.all((low[upper[0]] <= high[upper[1]]) & (low[upper[1]] <= high[upper[0]]), axis=-1)
    i, j = upper[0][close], upper[1][close]
    _check_touching(section, np.concatenate([i, j]), np.concatenate([j, i]), tolerance)
    # Of each near pair: on which sides the ends of one lie of the line of the other.
    a, b = _sides(start, end, i, j), _sides(start, end, j, i)
    across = (
        (a.min(-1) < -tolerance)
        & (a.max(-1) > tolerance)
        & (b.min(-1) < -tolerance)
        & (b.max(-1) > tolerance)
    )
    if across.any():
        k = int(np.flatnonzero(across)[0])
        where = _place(start[i[k]] + (end[i[k]] - start[i[k]]) * a[k, 0] / (a[k, 0] - a[k, 1]))
        cure = "reorder its points, or give the walls a common point where they cross"
        raise InputFault(section.name, f"crosses itself at {where}", cure)


def _check_touching(section: Section, one: Ints, other: Ints, tolerance: float) -> None:
    """No end point of segments `one` may lie within segments `other`, pair by pair."""
    for side in (0, 1):
        index = section.segments[one, side]
        own = (section.segments[other] == index[:, None]).any(-1)
        offset = section.points[index] - section.points[section.segments[other, 0]]
        tangent = section.tangent[other]
        along = np.einsum("ij,ij->i", offset, tangent)
        off = np.abs(offset[:, 1] * tangent[:, 0] - offset[:, 0] * tangent[:, 1])
        inside = (along > tolerance) & (along < section.length[other] - tolerance) & (off <= tolerance) & ~own
        if inside.any():
            where = _place(section.points[index[int(np.flatnonzero(inside)[0])]])
            wrong = f"has a wall that touches another at {where} without a joint"
            raise InputFault(section.name, wrong, "make that a point of both")


def _sides(start: Array, end: Array, of: Ints, line: Ints) -> Array:
    """Distances of both ends of segments `of` from the lines of segments `line`, (pairs, 2)."""
    along = end[line] - start[line]
    along = along / np.hypot(*along.T)[:, None]
    offset = np.stack([start[of], end[of]], axis=1) - start[line][:, None]
    return np.asarray(along[:, None, 0] * offset[..., 1] - along[:, None, 1] * offset[..., 0])
