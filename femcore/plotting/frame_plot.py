"""Pictures of any frame: its shape undeformed and deflected, and the internal forces along its members.

A frame is drawn in parallel projection, so that parallel beams stay parallel. The picture is made of layers (members, rigid
arms, supports, end releases, loads), each a function of its own.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from femcore.base import numbers
from femcore.base.arrays import FloatArray, IntArray
from femcore.frame.frame import ACTIONS, Frame
from femcore.plotting import style, symbols
from femcore.plotting.drawing import Drawing
from femcore.plotting.labels import place_labels
from femcore.plotting.projection import View, choose_view
from femcore.results.deflected_shape import (
    cable_segments,
    deflected_shape,
    deflection_scale,
    has_bending_stiffness,
    mode_shape_solution,
    rigid_arms,
)
from femcore.results.member_forces import MemberForces
from femcore.solvers.solution import Solution

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

TRIAD_POSITION = (0.1, 0.05)
"""Position of the axes triad, as fractions of the panel."""
MAX_NODE_LABELS = 24
"""Named nodes of one picture; more would cover it."""
LINE_BREAK = np.full((1, 2), np.nan)
"""Between two lines of one path."""
REL_TOL_ZERO_DIAGRAM = 1e-9
"""Of the shown unit: smaller is nothing, and its axis is not stretched."""
NO_POWER_OF_TEN = 1e-3
"""In the shown unit: above it none is written over an axis, for which the title would have to make room."""
DIAGRAMS = (
    ("N", "axial force", "N"), ("Vz", "shear in x–z", "N"), ("Vy", "shear in x–y", "N"),
    ("T", "torque", "N·m"), ("My", "bending in x–z", "N·m"), ("Mz", "bending in x–y", "N·m"),
)  # fmt: skip
"""Panels of a member's diagrams: action, title and unit."""
LEFT, RIGHT, TOP, BOTTOM, ACROSS, BETWEEN = 0.8, 0.08, 0.53, 0.45, 0.88, 0.32
"""Inches: around the panels of diagrams, and between their columns and rows: of numbers, titles and a key in one line."""


def draw_frame(
    axes: Axes,
    solution: Solution,
    case: int | None = None,
    factor: float = 1.0,
    view: View | None = None,
    names: Mapping[str, FloatArray] | None = None,
    colours: Mapping[str, str] | None = None,
    *,
    loads: bool = True,
    triad: bool = True,
    supports: bool = True,
) -> None:
    """Draw a frame undeformed (`case` None), or undeformed in grey and deflected with displacements times `factor`.

    names   : what to write at which point (3,), m
    colours : colour of a member by its name
    loads   : draw what acts in the case as arrows
    triad   : draw which way the axes point;   supports : draw supports and springs
    """
    view, frame, shape = view or View(), solution.frame, deflected_shape(solution)
    arms, arms_moved = rigid_arms(solution)
    rest = view.project(shape.point)
    _members(axes, frame, shape.element, rest, None if case is None else style.GRID_COLOUR, colours)
    _arms(axes, view.project(arms), style.MUTED_COLOUR if case is None else style.GRID_COLOUR)
    ropes, ropes_moved = cable_segments(solution)
    _cables(
        axes, solution, view.project(ropes), None, colours, style.GRID_COLOUR if case is not None else None
    )
    if supports:
        symbols.supports(axes, frame, view)
    now, nodes = rest, frame.nodes
    if case is not None:
        now = view.project(shape.point + factor * shape.movement[case])
        _members(axes, frame, shape.element, now, None, colours)
        _arms(axes, view.project(arms + factor * arms_moved[case]), style.MUTED_COLOUR)
        _cables(axes, solution, view.project(ropes + factor * ropes_moved[case]), case, colours, None)
        nodes = nodes + factor * solution.displacement[case, :, :3]
        if loads:
            symbols.loads(axes, solution, case, factor, view)
    if supports:
        symbols.springs(axes, frame, view.project(nodes))
    symbols.masses(axes, frame, view.project(nodes))
    symbols.end_releases(axes, frame, shape.element, now)
    axes.set_aspect("equal")
    axes.margins(0.06, 0.1)
    axes.axis("off")
    if triad:
        axes_triad(axes, view)
    if names:
        at = view.project(np.array(list(names.values())))
        place_labels(axes, at, list(names))


def draw_overlay(
    axes: Axes,
    shapes: Sequence[tuple[Solution, Mapping[str, Any]]],
    case: int,
    factor: float,
    view: View | None = None,
    *,
    supports: bool = True,
) -> None:
    """Draw one frame undeformed in grey with the loads of a case, and over it its deflected shapes, movements times `factor`.

    shapes : solutions of the frame with other springs or sections, and how the lines of each look; later ones over earlier ones
    """
    view, first = view or View(), shapes[0][0]
    draw_frame(
        axes, first, None, 1.0, view, colours=_all_of(first.frame, style.GRID_COLOUR), supports=supports
    )
    symbols.loads(axes, first, case, 0.0, view)
    for solution, look in shapes:
        shape = deflected_shape(solution)
        moved = view.project(shape.point + factor * shape.movement[case])
        runs: list[FloatArray] = []
        for member in solution.frame.members.values():
            inside = (shape.element >= member.first) & (shape.element < member.last)
            runs += [moved[inside], LINE_BREAK]
        straight = [at + factor * by[case] for at, by in (rigid_arms(solution), cable_segments(solution))]
        axes.plot(*np.concatenate(runs).T, **look)
        thin = {**look, "linewidth": 0.45 * look["linewidth"]}
        axes.plot(*symbols.broken_line(view.project(np.concatenate(straight))), **thin)


def _all_of(frame: Frame, colour: str) -> dict[str, str]:
    """Every member and cable in one colour."""
    return dict.fromkeys([*frame.members, *frame.cables.names], colour)


def _members(
    axes: Axes,
    frame: Frame,
    element: IntArray,
    at: FloatArray,
    colour: str | None,
    colours: Mapping[str, str] | None,
) -> None:
    """Every member as one line through its points, thicker where it bends (a bar is thin); those that look alike as one path."""
    given, beam = colours or {}, has_bending_stiffness(frame)
    alike: dict[tuple[str, float], list[FloatArray]] = {}
    for name, member in frame.members.items():
        inside = (element >= member.first) & (element < member.last)
        look = (colour or given.get(name, style.SERIES_COLOURS[0]), 2.0 if beam[member.first] else 1.0)
        alike.setdefault(look, []).extend([at[inside], LINE_BREAK])
    for (shade, width), lines in alike.items():
        points = np.concatenate(lines[:-1])
        axes.plot(*points.T, color=shade, lw=width, solid_capstyle="round", zorder=2 if colour else 3)


def _arms(axes: Axes, at: FloatArray, colour: str) -> None:
    """Rigid arms (a, 2, 2) as dashed lines."""
    axes.plot(*symbols.broken_line(at), color=colour, lw=1.0, ls=(0, (2, 1.5)), zorder=1)


def _cables(
    axes: Axes,
    solution: Solution,
    at: FloatArray,
    case: int | None,
    colours: Mapping[str, str] | None,
    colour: str | None,
) -> None:
    """Cable segments (s, 2, 2) as thin lines, dotted where slack in the case."""
    cables = solution.frame.cables
    for owner, segment in zip(cables.cable_of_segment, at, strict=True):
        slack = case is not None and bool(solution.slack[case, owner])
        shade = colour or (colours or {}).get(cables.names[owner], style.SERIES_COLOURS[0])
        axes.plot(
            *segment.T, color=shade, lw=1.0, ls=(0, (1, 2)) if slack else "-", zorder=2 if colour else 3
        )


def axes_triad(axes: Axes, view: View) -> None:
    """Which way the axes point, small, in the lower left corner."""
    corner: dict[str, Any] = {
        "xycoords": "axes fraction",
        "textcoords": "offset points",
        "annotation_clip": False,
    }
    arrow = {"arrowstyle": "<|-", "color": style.MUTED_COLOUR, "lw": 0.8, "shrinkA": 0, "shrinkB": 0}
    letter: dict[str, Any] = {"fontsize": 7.5, "color": style.MUTED_COLOUR, "va": "center"}
    for end, name in zip(view.project(np.eye(3)) * 26, view.axes, strict=True):
        if np.linalg.norm(end) < 1:
            continue
        axes.annotate("", TRIAD_POSITION, tuple(end), arrowprops=arrow, **corner)
        beyond = (
            end + end / max(1e-9, float(np.linalg.norm(end))) * 4 + [0.0, 3.0 if abs(end[0]) < 2 else 0.0]
        )
        side = "center" if abs(end[0]) < 2 else "left" if end[0] > 0 else "right"
        axes.annotate(name, TRIAD_POSITION, tuple(beyond), ha=side, **letter, **corner)


def figure_height(solution: Solution, case: int, factor: float, view: View | None, width: float) -> float:
    """Inches of height that a picture `width` inches wide needs for its frame and a title."""
    shape = deflected_shape(solution)
    both = np.concatenate([shape.point, shape.point + factor * shape.movement[case]])
    wide, high = np.ptp((view or View()).project(both), axis=0)
    return float(np.clip(width * high / max(wide, 1e-9), 0.3 * width, 1.2 * width)) + 0.5


def draw_diagrams(
    figure: Figure,
    lines: Sequence[tuple[str, MemberForces]],
    case: int,
    panels: Sequence[tuple[str, str, str]] = DIAGRAMS,
    along: str = "distance from the start, m",
    looks: Sequence[Mapping[str, Any]] = (),
) -> None:
    """Actions of a case along members that are alike: a panel for each action, a line for each member.

    The panels are alike in all such pictures, whatever their numbers, so that a figure of a fixed layout needs no other.

    lines  : what to call it, and its actions
    panels : the action (of ACTIONS), its words, its SI unit
    along  : what the horizontal axis says
    looks  : how each line looks; left out, as a series that the figure's legend names
    """
    rows, (wide, high) = -(-len(panels) // 2), figure.get_size_inches()
    places = {
        "left": LEFT / wide, "right": 1 - RIGHT / wide, "top": 1 - TOP / high, "bottom": BOTTOM / high,
        "wspace": 2 * ACROSS / (wide - LEFT - RIGHT - ACROSS),
        "hspace": rows * BETWEEN / (high - TOP - BOTTOM - (rows - 1) * BETWEEN),
    }  # fmt: skip
    grid = figure.subplots(rows, 2, sharex=True, squeeze=False, gridspec_kw=places)
    for place, (action, words, unit) in zip(grid.flat, panels, strict=False):
        alike = [ACTIONS.index(name) for name, _, other in panels if other == unit]
        by, named = numbers.unit_prefix(
            numbers.largest([numbers.largest(line.actions[case][:, alike]) for _, line in lines]), unit
        )
        values = [line.actions[case, :, ACTIONS.index(action)] / by for _, line in lines]
        drawn = looks or [style.series(number) for number in range(len(lines))]
        for (_, line), value, look in zip(lines, values, drawn, strict=True):
            place.plot(line.station, value, **look)
        place.axhline(0.0, color=style.MUTED_COLOUR, lw=0.8, zorder=1)
        most = max(numbers.largest(value) for value in values)
        place.set_title(words, y=1.0 if most > NO_POWER_OF_TEN else None)
        place.set_ylabel(f"{action}, {named}")
        if most < REL_TOL_ZERO_DIAGRAM:
            place.set_ylim(-1, 1)
    for place in grid[-1]:
        place.set_xlabel(along)
    for spare in grid.flat[len(panels) :]:
        spare.axis("off")
    if not looks:
        legend(figure, [name for name, _ in lines])


def legend(figure: Figure, names: Sequence[str]) -> None:
    """The series by name, above the panels, in as many rows as they need."""
    from matplotlib.lines import Line2D  # noqa: PLC0415  (start-up time)

    if len(names) < 2:
        return
    handles = [Line2D([], [], **style.series(number)) for number in range(len(names))]
    width = figure.get_figwidth() * 72 / (5.2 * max(map(len, names)) + 45)
    columns = int(np.clip(width, 1, len(names)))
    figure.legend(handles, names, loc="outside upper left", ncols=columns, handlelength=3.2)


def frame_pictures(solution: Solution, name: str, title: str, view: View | None = None) -> list[Drawing]:
    """A picture of the deflected shape for each case of any frame, with the names of its named nodes."""
    names = {node: solution.frame.nodes[number] for node, number in solution.frame.node_index.items()}
    pictures = []
    for case, (called, slug) in enumerate(zip(solution.names, numbers.slugs(solution.names), strict=True)):
        factor = deflection_scale([solution], case)
        words = f"{numbers.plain(title)}: {numbers.plain(called)}, movements × {factor:g}"
        with style.drawing_style():
            figure = style.new_figure(7.2, figure_height(solution, case, factor, view, 7.2))
            axes = figure.subplots()
            axes.set_title(numbers.shorten(words, 80))
            draw_frame(axes, solution, case, factor, view, names if len(names) <= MAX_NODE_LABELS else None)
            pictures.append(Drawing(figure, f"{name}-{slug}", called, words))
    return pictures


__all__ = [
    "View",
    "axes_triad",
    "cable_segments",
    "choose_view",
    "deflected_shape",
    "deflection_scale",
    "draw_diagrams",
    "draw_frame",
    "draw_overlay",
    "figure_height",
    "frame_pictures",
    "has_bending_stiffness",
    "legend",
    "mode_shape_solution",
    "rigid_arms",
]  # fmt: skip
