"""Pictures of any frame: its shape at rest and deflected, and what goes on along its members.

A frame is drawn as seen from far away along one direction, so that parallel beams stay parallel. The picture
is put together from layers (members, arms, supports, loose ends, loads), each a function of its own; a
further layer is one more.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from femcore import looks
from femcore.actions import Along, displacement_at
from femcore.frame import ACTIONS, BoolArray, FloatArray, Frame, IntArray
from femcore.solve import Solution

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

MOST_POINTS = 20_000
"""Points along the members of one picture; a larger frame gets fewer per element."""
COMPASS = (0.1, 0.05)
"""Where the compass stands, as parts of the panel."""
MOST_NAMES = 24
"""Named nodes of one picture; more would cover it."""
ROUNDING = 1e-9
"""Of the shown unit: smaller is nothing, and its axis is not stretched."""
PART = 0.1
"""The largest drawn movement, as a part of the frame's size."""
DIAGRAMS = (
    ("N", "axial force", "N"), ("Vz", "shear in x–z", "N"), ("Vy", "shear in x–y", "N"),
    ("T", "torque", "N·m"), ("My", "bending in x–z", "N·m"), ("Mz", "bending in x–y", "N·m"),
)  # fmt: skip
"""Which action stands in which panel of a member's diagrams, its words and its unit."""


@dataclass(frozen=True, slots=True)
class View:
    """From where one looks: degrees about z from +x, and above the x–y plane; and what the axes are
    called.
    """

    azimuth: float = -143.0
    height: float = 24.0
    axes: tuple[str, str, str] = ("x", "y", "z")

    def project(self, points: npt.ArrayLike) -> FloatArray:
        """(…, 2): right and up on the paper, of points (…, 3)."""
        a, h = np.radians([self.azimuth, self.height])
        right = [-np.sin(a), np.cos(a), 0.0]
        up = [-np.cos(a) * np.sin(h), -np.sin(a) * np.sin(h), np.cos(h)]
        return np.asarray(np.asarray(points, dtype=float) @ np.array([right, up]).T)


@dataclass(frozen=True, slots=True, eq=False)
class Shape:
    """Points along every element, and how they move in every case.

    element  : (k,), the element that a point belongs to, points in order along it
    point    : (k, 3), m, at rest;   movement : (c, k, 3), m, global axes
    """

    element: IntArray
    point: FloatArray
    movement: FloatArray


def shape_of(solution: Solution, per_element: int = 4) -> Shape:
    """The deflected shape of all members in all cases."""
    frame = solution.frame
    count = len(frame.ends)
    steps = max(1, min(per_element, MOST_POINTS // max(count, 1)))
    element = np.repeat(np.arange(count), steps + 1)
    xi = np.tile(np.linspace(0.0, 1.0, steps + 1), count)
    start, end = np.moveaxis(frame.end_points[element], 1, 0)
    movement = displacement_at(solution, element, xi)[..., :3]
    first = element * (steps + 1)
    chord = movement[:, first] * (1 - xi[:, None]) + movement[:, first + steps] * xi[:, None]
    # what has no bending stiffness stays straight, however its nodes turn
    movement = np.where(bends(frame)[element][:, None], movement, chord)
    return Shape(element, start + (end - start) * xi[:, None], movement)


def bends(frame: Frame) -> BoolArray:
    """(m,): which elements have bending stiffness; the others are bars."""
    return np.asarray((frame.EIy > 0) | (frame.EIz > 0))


def arms_of(solution: Solution) -> tuple[FloatArray, FloatArray]:
    """Rigid arms from nodes to the ends of beams and cables: at rest (a, 2, 3), m, and how they move (c, a,
    2, 3).
    """
    frame, cables = solution.frame, solution.frame.cables
    node = np.concatenate([frame.ends.ravel(), cables.nodes])
    arm = np.concatenate([frame.offsets.reshape(-1, 3), cables.arms])
    long = np.linalg.norm(arm, axis=1) > 0
    node, arm = node[long], arm[long]
    foot, turn = solution.displacement[:, node, :3], solution.displacement[:, node, 3:]
    rest = np.stack([frame.nodes[node], frame.nodes[node] + arm], axis=1)
    return rest, np.stack([foot, foot + np.cross(turn, arm)], axis=2)


def cables_of(solution: Solution) -> tuple[FloatArray, FloatArray]:
    """Segments of the cables: at rest (s, 2, 3), m, and how their ends move (c, s, 2, 3)."""
    frame, cables = solution.frame, solution.frame.cables
    foot, turn = solution.displacement[:, cables.nodes, :3], solution.displacement[:, cables.nodes, 3:]
    point, moved = frame.nodes[cables.nodes] + cables.arms, foot + np.cross(turn, cables.arms)
    return point[cables.segments], moved[:, cables.segments]


def exaggeration(solutions: Iterable[Solution], case: int) -> float:
    """By what to enlarge the movements of a case to be seen, the same for all: 1, 2 or 5 and noughts."""
    allowed = []
    for solution in solutions:
        moved = float(np.linalg.norm(solution.displacement[case, :, :3], axis=1).max(initial=0.0))
        if moved > 0:
            allowed.append(PART * solution.frame.size / moved)
    return looks.nice(min(allowed)) if allowed else 1.0


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
    compass: bool = True,
) -> None:
    """Draw a frame at rest (`case` None), or at rest in grey and deflected with movements times `factor`.

    names   : what to write at which point (3,), m
    colours : colour of a member by its name
    loads   : draw the case's nodal forces as arrows
    compass : draw which way the axes point
    """
    view, frame, shape = view or View(), solution.frame, shape_of(solution)
    arms, arms_moved = arms_of(solution)
    rest = view.project(shape.point)
    _members(axes, frame, shape.element, rest, None if case is None else looks.FAINT, colours)
    _arms(axes, view.project(arms), looks.QUIET if case is None else looks.FAINT)
    ropes, ropes_moved = cables_of(solution)
    _cables(axes, solution, view.project(ropes), None, colours, looks.FAINT if case is not None else None)
    _supports(axes, frame, view)
    now = rest
    if case is not None:
        now = view.project(shape.point + factor * shape.movement[case])
        _members(axes, frame, shape.element, now, None, colours)
        _arms(axes, view.project(arms + factor * arms_moved[case]), looks.QUIET)
        _cables(axes, solution, view.project(ropes + factor * ropes_moved[case]), case, colours, None)
        if loads:
            _forces(axes, solution, case, factor, view)
    _loose_ends(axes, frame, shape.element, now)
    axes.set_aspect("equal")
    axes.margins(0.06, 0.1)
    axes.axis("off")
    if compass:
        _compass(axes, view)
    if names:
        at = view.project(np.array(list(names.values())))
        looks.place_names(axes, at, list(names), np.concatenate([rest, now]))


def _members(
    axes: Axes,
    frame: Frame,
    element: IntArray,
    at: FloatArray,
    colour: str | None,
    colours: Mapping[str, str] | None,
) -> None:
    """Every member as one line through its points, thicker where it bends (a bar is thin)."""
    given, beam = colours or {}, bends(frame)
    for name, member in frame.members.items():
        inside = (element >= member.first) & (element < member.last)
        width = 2.0 if beam[member.first] else 1.0
        shade = colour or given.get(name, looks.SERIES[0])
        axes.plot(*at[inside].T, color=shade, lw=width, solid_capstyle="round", zorder=2 if colour else 3)


def _arms(axes: Axes, at: FloatArray, colour: str) -> None:
    """Rigid arms (a, 2, 2) as broken lines."""
    for arm in at:
        axes.plot(*arm.T, color=colour, lw=1.0, ls=(0, (2, 1.5)), zorder=1)


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
    for owner, segment in zip(cables.segment_owner, at, strict=True):
        slack = case is not None and bool(solution.slack[case, owner])
        shade = colour or (colours or {}).get(cables.names[owner], looks.SERIES[0])
        axes.plot(
            *segment.T, color=shade, lw=1.0, ls=(0, (1, 2)) if slack else "-", zorder=2 if colour else 3
        )


def _supports(axes: Axes, frame: Frame, view: View) -> None:
    """A square where all six freedoms are held, a triangle where some are; an open square at a spring to
    ground.
    """
    seen = frame.grounds < 0
    held = frame.fixed.sum(axis=1)
    ground = np.unique(frame.grounds[~seen])
    at = view.project(frame.nodes)
    for which, mark in ((seen & (held == 6), "s"), (seen & (held > 0) & (held < 6), "^")):
        axes.plot(*at[which].T, mark, color=looks.QUIET, ms=6, ls="none", zorder=4)
    axes.plot(*at[ground].T, "s", mfc="none", mec=looks.QUIET, ms=9, ls="none", zorder=4)


def _loose_ends(axes: Axes, frame: Frame, element: IntArray, at: FloatArray) -> None:
    """A ring at every end of a bending element that is released or sprung in some direction."""
    loose = np.isfinite(frame.end_springs).reshape(-1, 2, 6).any(axis=2) & bends(frame)[:, None]
    for number, side in np.argwhere(loose):
        own = np.flatnonzero(element == number)
        place = at[own[-1 if side else 0]]
        axes.plot(*place, "o", mfc=looks.PAPER, mec=looks.INK, ms=4.5, mew=1.0, zorder=5)


def _forces(axes: Axes, solution: Solution, case: int, factor: float, view: View) -> None:
    """Nodal forces as arrows that end at the deflected node, the longest a tenth of the frame's size."""
    frame, force = solution.frame, solution.loads.nodal[case, :, :3]
    most = looks.largest(np.linalg.norm(force, axis=1))
    for node in np.flatnonzero(np.linalg.norm(force, axis=1) > 1e-9 * most) if most else ():
        tip = frame.nodes[node] + factor * solution.displacement[case, node, :3]
        tail = tip - force[node] / most * frame.size * 0.1
        to, start = view.project(tip), view.project(tail)
        arrow = {"arrowstyle": "-|>", "color": looks.SERIES[1], "lw": 1.4, "shrinkA": 0, "shrinkB": 0}
        axes.annotate("", tuple(to), tuple(start), arrowprops=arrow, zorder=6)
        axes.update_datalim([start])


def _compass(axes: Axes, view: View) -> None:
    """Which way the axes point, small, in the lower left corner."""
    corner: dict[str, Any] = {
        "xycoords": "axes fraction",
        "textcoords": "offset points",
        "annotation_clip": False,
    }
    arrow = {"arrowstyle": "<|-", "color": looks.QUIET, "lw": 0.8, "shrinkA": 0, "shrinkB": 0}
    letter: dict[str, Any] = {"fontsize": 7.5, "color": looks.QUIET, "va": "center"}
    for end, name in zip(view.project(np.eye(3)) * 26, view.axes, strict=True):
        axes.annotate("", COMPASS, tuple(end), arrowprops=arrow, **corner)
        beyond = (
            end + end / max(1e-9, float(np.linalg.norm(end))) * 4 + [0.0, 3.0 if abs(end[0]) < 2 else 0.0]
        )
        side = "center" if abs(end[0]) < 2 else "left" if end[0] > 0 else "right"
        axes.annotate(name, COMPASS, tuple(beyond), ha=side, **letter, **corner)


def height_for(solution: Solution, case: int, factor: float, view: View | None, width: float) -> float:
    """Inches of height that a picture `width` inches wide needs for its frame and a title."""
    shape = shape_of(solution, 2)
    both = np.concatenate([shape.point, shape.point + factor * shape.movement[case]])
    wide, high = np.ptp((view or View()).project(both), axis=0)
    return float(np.clip(width * high / max(wide, 1e-9), 0.3 * width, 1.2 * width)) + 0.5


def draw_diagrams(
    figure: Figure,
    lines: Sequence[tuple[str, Along]],
    case: int,
    panels: Sequence[tuple[str, str, str]] = DIAGRAMS,
    along: str = "distance from the start, m",
) -> None:
    """Actions of a case along members that are alike: a panel for each action, a line for each member.

    lines  : what to call it, and its actions
    panels : the action (of ACTIONS), its words, its SI unit
    along  : what the horizontal axis says
    """
    grid = figure.subplots(-(-len(panels) // 2), 2, sharex=True, squeeze=False)
    for place, (action, words, unit) in zip(grid.flat, panels, strict=False):
        alike = [ACTIONS.index(name) for name, _, other in panels if other == unit]
        by, named = looks.prefixed(
            looks.largest([looks.largest(line.actions[case][:, alike]) for _, line in lines]), unit
        )
        values = [line.actions[case, :, ACTIONS.index(action)] / by for _, line in lines]
        for number, ((_, line), value) in enumerate(zip(lines, values, strict=True)):
            place.plot(line.station, value, **looks.series(number))
        place.axhline(0.0, color=looks.QUIET, lw=0.8, zorder=1)
        place.set_title(words)
        place.set_ylabel(f"{action}, {named}")
        if max(looks.largest(value) for value in values) < ROUNDING:
            place.set_ylim(-1, 1)
    for place in grid[-1]:
        place.set_xlabel(along)
    for spare in grid.flat[len(panels) :]:
        spare.axis("off")
    legend(figure, [name for name, _ in lines])


def legend(figure: Figure, names: Sequence[str]) -> None:
    """The series by name, above the panels, in as many rows as they need."""
    from matplotlib.lines import Line2D  # noqa: PLC0415  (start-up time)

    if len(names) < 2:
        return
    handles = [Line2D([], [], **looks.series(number)) for number in range(len(names))]
    width = figure.get_figwidth() * 72 / (5.2 * max(map(len, names)) + 45)
    columns = int(np.clip(width, 1, len(names)))
    figure.legend(handles, names, loc="outside upper left", ncols=columns, handlelength=3.2)


def pictures_of(solution: Solution, name: str, title: str, view: View | None = None) -> list[looks.Picture]:
    """A picture of the deflected shape for each case of any frame, with the names of its named nodes."""
    names = {node: solution.frame.nodes[number] for node, number in solution.frame.node_index.items()}
    pictures = []
    for case, (called, slug) in enumerate(zip(solution.names, looks.slugs(solution.names), strict=True)):
        factor = exaggeration([solution], case)
        words = f"{looks.plain(title)}: {looks.plain(called)}, movements × {factor:g}"
        with looks.style():
            figure = looks.new_figure(7.2, height_for(solution, case, factor, view, 7.2))
            axes = figure.subplots()
            axes.set_title(looks.shorten(words, 80))
            draw_frame(axes, solution, case, factor, view, names if len(names) <= MOST_NAMES else None)
            pictures.append(looks.finish(figure, f"{name}-{slug}", called, words))
    return pictures
