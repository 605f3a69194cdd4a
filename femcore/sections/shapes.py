"""Outlines by name: tube, box, oval, D, channel and I, each from its dimensions and its walls.

Dimensions are those of the mid-surface; where `measured="outside"` is allowed, those over the outside of the
wall. Every shape
is centred on the origin. Closed shapes run anticlockwise from the +y side, so a wall's n points inward.
"""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Literal

import numpy as np

from femcore.base.errors import InputFault
from femcore.sections.outline import Section, outline

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from femcore.sections.wall import Wall

    Array = NDArray[np.float64]

Measured = Literal["midline", "outside"]
FACETS = 360
"""Segments to a full turn; a chord's own error in length, area and inertia is then below 10⁻⁴."""


def round_tube(
    diameter: float, wall: Wall, *, measured: Measured = "midline", facets: int = FACETS, name: str = "tube"
) -> Section:
    """Round tube of `diameter` (m), its chords stretched to the circle's length, so that mass is exact."""
    _whole(name, facets, 8)
    mean = diameter - (wall.thickness if measured == "outside" else 0.0)
    _above(name, "diameter", mean, wall.thickness)
    angle = 2.0 * np.pi * np.arange(facets) / facets
    stretch = (np.pi / facets) / np.sin(np.pi / facets)
    ring = stretch * mean / 2 * np.column_stack([np.cos(angle), np.sin(angle)])
    return outline(
        ring, wall, closed=True, parts=["tube"] * facets, radius=np.full(facets, mean / 2), name=name
    )


def oval(
    width: float,
    height: float,
    wall: Wall,
    *,
    measured: Measured = "midline",
    facets: int = FACETS,
    name: str = "oval",
) -> Section:
    """Ellipse of `width` (along y) and `height` (along z), m; points evenly by the parametric angle."""
    _whole(name, facets, 8)
    off = wall.thickness if measured == "outside" else 0.0
    a, b = (width - off) / 2, (height - off) / 2
    _above(name, "smaller side", 2 * min(a, b), wall.thickness)
    angle = 2.0 * np.pi * np.arange(facets) / facets
    middle = angle + np.pi / facets
    radius = ((a * np.sin(middle)) ** 2 + (b * np.cos(middle)) ** 2) ** 1.5 / (a * b)
    ring = np.column_stack([a * np.cos(angle), b * np.sin(angle)])
    return outline(ring, wall, closed=True, parts=["oval"] * facets, radius=radius, name=name)


def box(
    width: float,
    height: float,
    walls: Wall | Sequence[Wall],
    *,
    corner_radius: float = 0.0,
    corner_wall: Wall | None = None,
    measured: Measured = "midline",
    facets: int = FACETS,
    name: str = "box",
) -> Section:
    """Box of `width` (along y) and `height` (along z), m, with corners of `corner_radius` (of the
    mid-surface, m).

    walls       : one for all, or four: +y side, top, −y side, bottom
    corner_wall : of the corner arcs; left out, that of the side before each
    """
    sides = tuple(walls) if isinstance(walls, (tuple, list)) else (walls,) * 4
    if len(sides) != 4:
        raise InputFault(name, f"has {len(sides)} walls", "give one, or four: +y side, top, −y side, bottom")
    right, top, left, bottom = (side.thickness if measured == "outside" else 0.0 for side in sides)
    w, h, r = width - (right + left) / 2, height - (top + bottom) / 2, corner_radius
    _above(name, "smaller side", min(w, h), max(side.thickness for side in sides))
    if not 0.0 <= r < min(w, h) / 2:
        raise InputFault(
            name, f"has a corner radius of {r:g} m", f"give one from 0 to below {min(w, h) / 2:g} m"
        )
    runs: list[tuple[Array, Wall, str, float]] = []
    corners = np.array([[w, -h], [w, h], [-w, h], [-w, -h]]) / 2
    inward = -np.sign(corners)
    for i, (side, part) in enumerate(zip(sides, ("+y side", "top", "-y side", "bottom"), strict=True)):
        j = (i + 1) % 4
        along = (corners[j] - corners[i]) / np.hypot(*(corners[j] - corners[i]))
        runs.append((np.array([corners[i] + r * along, corners[j] - r * along]), side, part, np.inf))
        if r > 0.0:
            centre = corners[j] + r * inward[j]
            turn = _arc(centre, r, np.pi / 2 * i, np.pi / 2 * (i + 1), max(2, facets // 4))
            runs.append((turn, corner_wall or side, f"corner {i + 1}", r))
    return _join(runs, name, closed=True)


def d_section(
    width: float,
    height: float,
    skin: Wall,
    web: Wall,
    *,
    facets: int = FACETS,
    name: str = "D section",
) -> Section:
    """D: half an ellipse, `width` towards +y and `height` along z, closed by a flat web at y = 0."""
    _whole(name, facets, 8)
    _above(name, "smaller side", min(width, height), max(skin.thickness, web.thickness))
    angle = np.linspace(-np.pi / 2, np.pi / 2, facets // 2 + 1)
    nose = np.column_stack([width * np.cos(angle), height / 2 * np.sin(angle)])
    nose[[0, -1], 0] = 0.0
    middle = (angle[1:] + angle[:-1]) / 2
    a, b = width, height / 2
    radius = ((a * np.sin(middle)) ** 2 + (b * np.cos(middle)) ** 2) ** 1.5 / (a * b)
    count = len(middle)
    return outline(
        nose,
        [*[skin] * count, web],
        closed=True,
        parts=["nose"] * count + ["web"],
        radius=np.append(radius, np.inf),
        name=name,
    )


def channel(
    width: float, height: float, flange: Wall, web: Wall | None = None, *, name: str = "channel"
) -> Section:
    """Channel open towards +y: web of `height` at y = 0 (as the flange if left out), flanges of `width`."""
    _above(name, "smaller side", min(width, height), flange.thickness)
    h = height / 2
    return outline(
        [[width, -h], [0.0, -h], [0.0, h], [width, h]],
        [flange, web or flange, flange],
        parts=["lower flange", "web", "upper flange"],
        name=name,
    )


def i_section(
    width: float, height: float, flange: Wall, web: Wall | None = None, *, name: str = "I section"
) -> Section:
    """I: flanges of `width` at ± `height`/2, joined by a web at y = 0 (as the flange if left out)."""
    _above(name, "smaller side", min(width, height), flange.thickness)
    h, b = height / 2, width / 2
    points = [[-b, -h], [0.0, -h], [b, -h], [-b, h], [0.0, h], [b, h]]
    segments = [[0, 1], [1, 2], [1, 4], [3, 4], [4, 5]]
    parts = ("lower flange", "lower flange", "web", "upper flange", "upper flange")
    kinds = (flange, web or flange)
    return Section(
        np.array(points),
        np.array(segments),
        kinds,
        np.array([0, 0, 1, 0, 0]),
        parts,
        np.full(5, np.inf),
        name,
    )


def _arc(centre: Array, radius: float, start: float, end: float, count: int) -> Array:
    angle = np.linspace(start, end, count + 1)
    return np.asarray(centre + radius * np.column_stack([np.cos(angle), np.sin(angle)]))


def _join(runs: list[tuple[Array, Wall, str, float]], name: str, *, closed: bool) -> Section:
    """String runs of points, each ending where the next begins, into one outline."""
    points = [run[0][:-1] for run in runs] + ([] if closed else [runs[-1][0][-1:]])
    pieces = [(wall, part, radius) for table, wall, part, radius in runs for _ in pairwise(table)]
    return outline(
        np.concatenate(points),
        [piece[0] for piece in pieces],
        closed=closed,
        parts=[piece[1] for piece in pieces],
        radius=[piece[2] for piece in pieces],
        name=name,
    )


def _above(name: str, key: str, value: float, thickness: float) -> None:
    if not (np.isfinite(value) and value > thickness):
        wrong = f"has a {key} of {value:g} m over walls of {thickness:g} m"
        raise InputFault(name, wrong, "give a shape larger than its wall is thick")


def _whole(name: str, facets: int, least: int) -> None:
    if facets < least or facets % 4:
        raise InputFault(name, f"has {facets} facets", f"give a multiple of 4, at least {least}")
