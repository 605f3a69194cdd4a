"""The picture of a textbook case: a panel for each load case, and for each mode of buckling and vibration that is looked for."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from femcore.base import numbers
from femcore.base.arrays import FloatArray
from femcore.files.frame_run import FrameRun
from femcore.plotting import frame_plot, style, symbols
from femcore.plotting.drawing import svg_of
from femcore.plotting.labels import place_labels
from femcore.results.deflected_shape import max_displacement
from femcore.solvers.solution import Solution

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

WIDTH = 7.2
"""Inches, of every picture."""
MARGIN, TRIAD_POSITION, TITLE = 0.12, 0.62, 0.3
"""Inches: between panels; the strip to the left with the compass; above each panel."""
TALLEST, LOWEST, HIGHEST = 3.4, 0.75, 6.5
"""Inches of height that a panel may have, and needs; that a picture should not be higher than."""
MOST_PANELS, MAX_NODE_LABELS, FEW_NODES = 8, 20, 12
"""Panels of a picture; names in it; nodes that are all named where there are no more."""
REL_TOL_NO_MOVEMENT = 1e-12
"""Of the frame's size, and rad: movements below it are none."""
REL_TOL_RIGID_MODE = 1e-6
"""Of the highest frequency found: a lower one belongs to a free movement without strain, and is not drawn."""
TOO_LARGE = 1.5
"""Of the frame's size: movements up to it are drawn as they are where enlarging would make them smaller."""


@dataclass(frozen=True, slots=True)
class Panel:
    """One drawing of the frame: which case of `moves` is drawn, and which case of the frame's own acts on it."""

    title: str
    moves: Solution
    number: int
    factor: float
    case: int


@dataclass(frozen=True, slots=True)
class CasePicture:
    """A finished picture as SVG, what stands over its panels, and how it is seen."""

    svg: str
    words: str
    caption: str


def draw_case(run: FrameRun, name: str) -> CasePicture:
    """The picture of a solved frame file; `name` is no other picture's on the page."""
    found = list(panels_of(run))
    shown = found[:MOST_PANELS]
    view = frame_plot.choose_view(run.solution, *(panel.moves for panel in shown))
    with style.drawing_style():
        figure = style.new_figure(WIDTH, 1.0)
        figure.set_layout_engine("none")
        axes = [figure.add_axes((0.1, 0.1, 0.8, 0.8), label=str(i)) for i in range(len(shown))]
        for place, panel in zip(axes, shown, strict=True):
            frame_plot.draw_frame(
                place, panel.moves, panel.number, panel.factor, view, loads=False, triad=False
            )
            still = 0.0 if panel.moves is not run.solution else panel.factor
            symbols.loads(place, run.solution, panel.case, still, view)
            _dots(place, panel, view)
        _lay_out(figure, axes, [numbers.plain(panel.title) for panel in shown])
        _axes_symbol(figure, view)
        _name(axes[0], run, view)
        return CasePicture(
            svg_of(figure, name), "; ".join(panel.title for panel in shown), _caption(len(found), view)
        )


def _dots(axes: Axes, panel: Panel, view: frame_plot.View) -> None:
    """A dot at every named node where it has moved to, so that a movement along a member shows too."""
    frame = panel.moves.frame
    nodes = list(frame.node_index.values())
    if len(nodes) <= 2 * MAX_NODE_LABELS:
        moved = frame.nodes[nodes] + panel.factor * panel.moves.displacement[panel.number, nodes, :3]
        axes.plot(*view.project(moved).T, "o", color=style.SERIES_COLOURS[0], ms=2.6, ls="none", zorder=3)


def _caption(count: int, view: frame_plot.View) -> str:
    """How the frame is seen, and what is left out."""
    if view.normal_axis is None:
        seen = "Viewed from a corner."
    else:
        seen = f"Viewed square to the {'–'.join(axis for i, axis in enumerate(view.axes) if i != view.normal_axis)} plane."
    more = count - MOST_PANELS
    return f"{seen} {more} more are not drawn." if more > 0 else seen


def panels_of(run: FrameRun) -> Iterator[Panel]:
    """What is to be drawn: every case as it moves, except one of which only modes are expected; then its modes."""
    for case, name in enumerate(run.solution.names):
        named = name if len(run.solution.names) > 1 else ""
        kinds = {expect.mode > 0 for expect in run.file.expect if expect.case == name}
        modes = list(_modes(run, case, named))
        if False in kinds or not modes:
            factor, words = _enlarged(run.solution, case)
            yield Panel(f"{name}: {words}", run.solution, case, factor, case)
        yield from modes


def _modes(run: FrameRun, case: int, named: str) -> Iterator[Panel]:
    name, before = run.solution.names[case], f"{named}: " if named else ""
    found = (
        (run.buckling.get(name), "buckles at {:.4g} × its load"),
        (run.vibration.get(name), "mode {}, {:.4g} Hz"),
    )
    for modes, words in found:
        if modes is None or not len(modes.values):
            continue
        moves = frame_plot.mode_shape_solution(run.solution, case, modes)
        strained = modes.values > REL_TOL_RIGID_MODE * numbers.largest(modes.values)
        for number in np.flatnonzero(strained).tolist():
            value = float(modes.values[number])
            said = words.format(*((number + 1, value) if "Hz" in words else (value,)))
            factor = frame_plot.deflection_scale([moves], number)
            twists = ", twisting" if max_displacement(moves, number) == 0 else ""
            yield Panel(f"{before}{said}{twists}", moves, number, factor if not twists else 1.0, case)


def _enlarged(solution: Solution, case: int) -> tuple[float, str]:
    """By what the movements of a case are drawn larger, and how to say it."""
    moved, size = max_displacement(solution, case), solution.frame.size
    if moved <= REL_TOL_NO_MOVEMENT * size:
        turns = np.abs(solution.displacement[case, :, 3:]).max(initial=0.0) > REL_TOL_NO_MOVEMENT
        return 1.0, "rotates about its own axis" if turns else "no displacement"
    factor = frame_plot.deflection_scale([solution], case)
    if factor <= 1 and moved <= TOO_LARGE * size:
        return 1.0, "displacements to scale"
    return factor, f"displacements × {factor:,.0f}" if factor >= 1 else f"displacements × {factor:g}"


def _lay_out(figure: Figure, axes: Sequence[Axes], titles: Sequence[str]) -> None:
    """Give every panel the same scale and as much room as there is; the picture is as high as they need."""
    low = np.min([place.dataLim.min for place in axes], axis=0)
    high = np.max([place.dataLim.max for place in axes], axis=0)
    pad = 0.05 * float(np.max(high - low)) or 1.0
    low, high = low - pad, high + pad
    extent = high - low
    columns = max(range(1, min(4, len(axes)) + 1), key=lambda count: _suits(count, len(axes), extent))
    wide, tall, scale = _room(columns, extent)
    middle, half = (low + high) / 2, np.array([wide, tall]) / scale / 2
    lines = [textwrap.wrap(title, int(wide * 72 / 5.3)) for title in titles]
    above = 0.14 * max(min(2, len(line)) for line in lines) + 0.16
    rows = math.ceil(len(axes) / columns)
    whole = rows * (tall + above) + MARGIN
    figure.set_size_inches(WIDTH, whole)
    for number, (place, line) in enumerate(zip(axes, lines, strict=True)):
        row, column = divmod(number, columns)
        left = TRIAD_POSITION + column * (wide + MARGIN)
        bottom = whole - (row + 1) * (tall + above)
        place.set_position((left / WIDTH, bottom / whole, wide / WIDTH, tall / whole))
        place.set_xlim(middle[0] - half[0], middle[0] + half[0])
        place.set_ylim(middle[1] - half[1], middle[1] + half[1])
        place.set_title(
            "\n".join([*line[:1], *line[1:2]]) + ("…" if len(line) > 2 else ""), y=1.0, pad=3, fontsize=8.5
        )


def _room(columns: int, extent: FloatArray) -> tuple[float, float, float]:
    """Inches of width and height of a panel, and inches per length in it."""
    wide = (WIDTH - TRIAD_POSITION - columns * MARGIN) / columns
    tall = float(np.clip(wide * extent[1] / extent[0], LOWEST, TALLEST))
    return wide, tall, float(min(wide / extent[0], tall / extent[1]))


def _suits(columns: int, count: int, extent: FloatArray) -> float:
    """How well so many columns suit: the largest scale that keeps the picture within reasonable height."""
    _, tall, scale = _room(columns, extent)
    rows = math.ceil(count / columns)
    return scale / max(1.0, rows * (tall + TITLE) / HIGHEST) ** 2


def _axes_symbol(figure: Figure, view: frame_plot.View) -> None:
    """The compass in the strip to the left, at the foot of the picture."""
    wide, tall = figure.get_size_inches()
    frame_plot.axes_triad(
        figure.add_axes(
            (0.04 / wide, 0.12 / tall, 0.5 / wide, 0.5 / tall), frameon=False, xticks=[], yticks=[]
        ),
        view,
    )


def _name(axes: Axes, run: FrameRun, view: frame_plot.View) -> None:
    """Names of nodes, and of beams and cables that something is expected of, in the first panel."""
    at = named_points(run, view)
    if at:
        points = view.project(np.array(list(at.values())))
        place_labels(axes, points, list(at))


def named_points(run: FrameRun, view: frame_plot.View) -> dict[str, FloatArray]:
    """What is named in a picture, and where: what is expected of comes first, where there is too much for all."""
    frame, file = run.solution.frame, run.file
    points = {name: frame.nodes[node] for name, node in frame.node_index.items()}
    asked = dict.fromkeys(expect.at or "" for expect in file.expect)
    found = {name: points[name] for name in asked if name in points}
    for name in dict.fromkeys(at.rpartition(".")[0] for at in asked):
        if name in frame.members:
            found.setdefault(name, frame.end_points[frame.members[name].elements].mean(axis=(0, 1)))
    for cable in file.cables:
        if cable.name in asked:
            found.setdefault(cable.name, np.mean([points[node] for node in cable.path[:2]], axis=0))
    held = (
        name for name, node in frame.node_index.items() if symbols.support_symbol(frame.fixed[node], view)[0]
    )
    of_note = dict.fromkeys([*held, *(load.node for case in file.cases for load in case.point)])
    others = list(points if len(points) <= FEW_NODES else of_note)
    if len(others) <= MAX_NODE_LABELS:
        found = {**{name: points[name] for name in others}, **found}
    return dict(list(found.items())[:MAX_NODE_LABELS])
