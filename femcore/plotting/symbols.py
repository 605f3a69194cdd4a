"""Symbols of a drawn frame: supports, end releases, springs and masses at points; loads as arrows.

Every mark is a layer of a picture, a function of its own. Where the view is square to a plane, supports show how they hold in
that plane, and a moment about the line of sight is an arc; any other moment is an arrow with two heads, right-handed about it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from femcore.base import numbers
from femcore.base.arrays import BoolArray, FloatArray, IntArray
from femcore.frame.frame import Frame, Member
from femcore.plotting import style
from femcore.plotting.projection import View
from femcore.results.deflected_shape import deflected_shape, has_bending_stiffness
from femcore.solvers.solution import Solution

if TYPE_CHECKING:
    from matplotlib.axes import Axes

FORCE_ARROW, MOMENT_ARC, LINE_LOAD_ARROW, MOVEMENT_ARROW = 0.1, 0.05, 0.07, 0.08
"""Lengths of the largest arrows (radius of an arc), as parts of the frame's size."""
MIN_ARROW_RATIO = 0.35
"""Of the longest arrow of its kind."""
LINE_LOAD_ARROWS = 22
"""Arrows of a line load over a length of the frame's size."""
AXIAL_LOAD_OFFSET = 0.03
"""How far beside its member a load along it is drawn, as a part of the frame's size."""
REL_TOL_NOT_DRAWN = 1e-9
"""Of the largest of its kind: smaller is not drawn."""
LOAD, IMPOSED = style.SERIES_COLOURS[1], style.SERIES_COLOURS[2]
WARM, COLD = style.SERIES_COLOURS[1], style.SERIES_COLOURS[4]


def supports(axes: Axes, frame: Frame, view: View) -> None:
    """Where supports hold.

    From a corner: a square where all six freedoms are held, a triangle where some are. Square to a plane: a square where a node
    is held there, a filled triangle where it may turn, an open one where it may also slide along the triangle's base, a diamond
    where it may slide but not turn, a cross where it may not turn. An open square marks a spring to ground.
    """
    seen = frame.ground_nodes < 0
    at = view.project(frame.nodes)
    for number in np.flatnonzero(seen & frame.fixed.any(axis=1)):
        mark, filled = support_symbol(frame.fixed[number], view)
        if mark:
            face = style.MUTED_COLOUR if filled else style.BACKGROUND_COLOUR
            axes.plot(*at[number], mark, mfc=face, mec=style.MUTED_COLOUR, ms=6, ls="none", zorder=4)
    ground = np.unique(frame.ground_nodes[~seen])
    size = 9.0 if len(ground) <= 12 else 4.0
    axes.plot(*at[ground].T, "s", mfc="none", mec=style.MUTED_COLOUR, ms=size, ls="none", zorder=4)


def support_symbol(fixed: BoolArray, view: View) -> tuple[str, bool]:
    """The mark of a support, none where it holds nothing visible, and whether it is filled."""
    if not fixed.any():
        return "", False
    if view.normal_axis is None:
        return ("s" if fixed.all() else "^"), True
    right, up = (axis for axis in range(3) if axis != view.normal_axis)
    turn = bool(fixed[3 + view.normal_axis])
    return {
        (True, True): ("s" if turn else "^", True),
        (False, True): ("D" if turn else "^", False),
        (True, False): ("D" if turn else ">", False),
        (False, False): ("x" if turn else "", False),
    }[bool(fixed[right]), bool(fixed[up])]


def end_releases(axes: Axes, frame: Frame, element: IntArray, at: FloatArray) -> None:
    """A ring at every end of a bending element that is released or sprung in some direction."""
    loose = (
        np.isfinite(frame.end_springs).reshape(-1, 2, 6).any(axis=2) & has_bending_stiffness(frame)[:, None]
    )
    for number, side in np.argwhere(loose):
        own = np.flatnonzero(element == number)
        place = at[own[-1 if side else 0]]
        axes.plot(*place, "o", mfc=style.BACKGROUND_COLOUR, mec=style.TEXT_COLOUR, ms=4.5, mew=1.0, zorder=5)


def springs(axes: Axes, frame: Frame, at: FloatArray) -> None:
    """A zigzag between nodes (n, 2) that a spring joins over a distance."""
    for one, other in frame.spring_ends:
        way = at[other] - at[one]
        if np.linalg.norm(frame.nodes[other] - frame.nodes[one]) > REL_TOL_NOT_DRAWN * frame.size:
            beside = np.array([-way[1], way[0]]) * 0.06
            along = np.linspace(0, 1, 10)
            swing = np.array([0, 0, *[1, -1] * 3, 0, 0])
            axes.plot(
                *(at[one] + along[:, None] * way + swing[:, None] * beside).T,
                color=style.MUTED_COLOUR,
                lw=1.0,
                zorder=2,
            )


def masses(axes: Axes, frame: Frame, at: FloatArray) -> None:
    """A disc at every node (n, 2) with a mass of its own."""
    heavy = frame.point_mass > 0
    axes.plot(*at[heavy].T, "o", color=style.TEXT_COLOUR, ms=6.5, ls="none", zorder=4)


def loads(axes: Axes, solution: Solution, case: int, factor: float, view: View) -> None:
    """Everything that acts in a case, on the frame as its movements times `factor` leave it."""
    temperature_changes(axes, solution, case, view)
    line_loads(axes, solution, case, factor, view)
    forces(axes, solution, case, factor, view)
    moments(axes, solution, case, factor, view)
    imposed_movements(axes, solution, case, view)


def forces(axes: Axes, solution: Solution, case: int, factor: float, view: View) -> None:
    """Nodal forces as arrows that end at the deflected node, the longest a tenth of the frame's size, none too short to see."""
    frame, force = solution.frame, solution.loads.nodal[case, :, :3]
    for node, part in _parts(force):
        tip = frame.nodes[node] + factor * solution.displacement[case, node, :3]
        seen = part * max(1.0, MIN_ARROW_RATIO / float(np.linalg.norm(part)))
        _arrow(axes, view.project(tip - seen * frame.size * FORCE_ARROW), view.project(tip), LOAD)


def moments(axes: Axes, solution: Solution, case: int, factor: float, view: View) -> None:
    """Nodal moments as arcs where they turn about the line of sight, else as arrows with two heads."""
    frame, moment = solution.frame, solution.loads.nodal[case, :, 3:]
    for node, part in _parts(moment):
        foot = frame.nodes[node] + factor * solution.displacement[case, node, :3]
        _moment_arrow(axes, foot, part, frame.size, view, LOAD)


def imposed_movements(axes: Axes, solution: Solution, case: int, view: View) -> None:
    """Imposed movements of supports as arrows that begin at the undeformed node, imposed rotations as moments are drawn."""
    frame, moved = solution.frame, solution.loads.support_displacement[case]
    for node, part in _parts(moved[:, :3]):
        foot = frame.nodes[node]
        _arrow(axes, view.project(foot), view.project(foot + part * frame.size * MOVEMENT_ARROW), IMPOSED)
    for node, part in _parts(moved[:, 3:]):
        _moment_arrow(axes, frame.nodes[node], part, frame.size, view, IMPOSED)


def temperature_changes(axes: Axes, solution: Solution, case: int, view: View) -> None:
    """A broad band along every beam and cable that is warmer, and one of another colour along what is colder."""
    frame, loads = solution.frame, solution.loads
    cables = frame.cables
    ends = view.project(frame.end_points)
    ropes = view.project((frame.nodes[cables.nodes] + cables.arms)[cables.segments])
    for lines, change in (
        (ends, loads.temperature_change[case]),
        (ropes, loads.cable_temperature_change[case][cables.cable_of_segment]),
    ):
        for which, colour in ((change > 0, WARM), (change < 0, COLD)):
            if which.any():
                axes.plot(
                    *broken_line(lines[which]),
                    color=colour,
                    lw=7.0,
                    alpha=0.35,
                    solid_capstyle="butt",
                    zorder=1,
                )


def line_loads(axes: Axes, solution: Solution, case: int, factor: float, view: View) -> None:
    """Line loads as rows of small arrows that end at the deflected member, their tails joined by a line."""
    frame, line = solution.frame, solution.loads.mean_line[case]
    most = numbers.largest(np.linalg.norm(line, axis=1))
    if most == 0:
        return
    tails, heads = [np.zeros((0, 2))], [np.zeros((0, 2))]
    for member in frame.members.values():
        for first, last in _runs(line, member, REL_TOL_NOT_DRAWN * most):
            tip, shaft = _row(solution, case, factor, view, Member(first, last), most)
            heads.append(tip)
            tails.append(tip - shaft)
            axes.plot(*tails[-1].T, color=LOAD, lw=0.7, zorder=2)
    start, end = np.concatenate(tails), np.concatenate(heads)
    width = 0.0045 * frame.size
    way = (end - start).T
    axes.quiver(
        *start.T, *way, color=LOAD, angles="xy", scale_units="xy", scale=1, units="xy", width=width / 2,
        headwidth=5, headlength=6, headaxislength=6, minlength=0, minshaft=1, zorder=6,
    )  # fmt: skip
    axes.update_datalim(np.concatenate([start, end]))


def _runs(line: FloatArray, member: Member, least: float) -> list[tuple[int, int]]:
    """Runs of elements of a member that carry load."""
    loaded = np.linalg.norm(line[member.elements], axis=1) > least
    edges = np.flatnonzero(np.diff(np.concatenate([[False], loaded, [False]]).astype(int))) + member.first
    return [(int(first), int(last)) for first, last in edges.reshape(-1, 2)]


def _row(
    solution: Solution, case: int, factor: float, view: View, run: Member, most: float
) -> tuple[FloatArray, FloatArray]:
    """Arrows along a run of elements: positions of their heads (k, 2), and their shafts (k, 2), on paper."""
    frame, shape = solution.frame, deflected_shape(solution)
    own = (shape.element >= run.first) & (shape.element < run.last)
    point, element = shape.point[own], shape.element[own]
    way = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(point, axis=0), axis=1))])
    count = int(np.clip(round(LINE_LOAD_ARROWS * way[-1] / frame.size), 3, LINE_LOAD_ARROWS))
    at = np.linspace(0, way[-1], count)
    seen = view.project(point + factor * shape.movement[case][own])
    head = np.column_stack([np.interp(at, way, seen[:, axis]) for axis in (0, 1)])
    under = element[np.clip(np.searchsorted(way, at), 1, len(way) - 1)]
    force = np.einsum("kij,ki->kj", frame.axes[under], solution.loads.mean_line[case][under])
    shaft = view.project(force / most * frame.size * LINE_LOAD_ARROW)
    return head + _offset_axial_arrows(
        shaft, view.project(frame.axes[under, 0])
    ) * frame.size * AXIAL_LOAD_OFFSET, shaft


def _offset_axial_arrows(shaft: FloatArray, along: FloatArray) -> FloatArray:
    """(k, 2): square to the member where a load runs along it, so that its arrows lie beside it; else nothing."""
    side = np.column_stack([-along[:, 1], along[:, 0]]) / np.linalg.norm(along, axis=1, keepdims=True)
    flat = np.abs(np.sum(side * shaft, axis=1)) < 0.3 * np.linalg.norm(shaft, axis=1)
    return np.where(flat[:, None], side, 0.0)


def _arrow(axes: Axes, tail: FloatArray, head: FloatArray, colour: str) -> None:
    arrow = {"arrowstyle": "-|>", "color": colour, "lw": 1.4, "shrinkA": 0, "shrinkB": 0}
    axes.annotate("", tuple(head), tuple(tail), arrowprops=arrow, zorder=6)
    axes.update_datalim([tail, head])


def _moment_arrow(
    axes: Axes, foot: FloatArray, part: FloatArray, size: float, view: View, colour: str
) -> None:
    """A moment or a turn about a point, `part` of the largest: an arc about the line of sight, else two heads."""
    about = float(part @ view.view_direction)
    centre = view.project(foot)
    if abs(about) > 0.8 * np.linalg.norm(part):
        reach = size * MOMENT_ARC * max(np.sqrt(np.linalg.norm(part)), MIN_ARROW_RATIO)
        angle = np.radians(np.linspace(-130, 130, 40)) * np.sign(about)
        arc = centre + reach * np.column_stack([np.cos(angle), np.sin(angle)])
        axes.plot(*arc[:-2].T, color=colour, lw=1.4, zorder=6)
        _arrow(axes, arc[-3], arc[-1], colour)
        return
    seen = part * max(1.0, MIN_ARROW_RATIO / float(np.linalg.norm(part)))
    tip = view.project(foot + seen * size * 2 * MOMENT_ARC)
    _arrow(axes, centre, tip, colour)
    _arrow(axes, centre, centre + (tip - centre) * 0.72, colour)


def _parts(vectors: FloatArray) -> list[tuple[int, FloatArray]]:
    """Which rows of (n, 3) are something, each over the size of the largest."""
    size = np.linalg.norm(vectors, axis=1)
    most = numbers.largest(size)
    return (
        [(int(i), vectors[i] / most) for i in np.flatnonzero(size > REL_TOL_NOT_DRAWN * most)] if most else []
    )


def broken_line(lines: FloatArray) -> FloatArray:
    """(2, …): many lines (k, points, 2) as one, broken between them."""
    gap = np.full((len(lines), 1, 2), np.nan)
    return np.asarray(np.concatenate([lines, gap], axis=1).reshape(-1, 2).T)
