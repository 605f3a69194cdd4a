"""The pictures of a study, each finished as PNG and SVG."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from cases.analyses.study import JointResult, Study
from cases.report.data import words
from cases.report.figures import load_path_figure
from cases.report.figures.section_figures import section_figures
from femcore.base import numbers
from femcore.base.arrays import FloatArray
from femcore.base.numbers import engineering
from femcore.plotting import frame_plot, style
from models.response.attraction import AttractionCurve
from models.response.front_end import CENTRE, CROSSBEAM, LONGERON, PROD, SIDES, STRIKER, STRIKER_TOP, FrontEnd
from models.response.joint_loads import larger_side

if TYPE_CHECKING:
    from matplotlib.axes import Axes

WIDTH = 7.4
VIEW = frame_plot.View(axes=("forward", "port", "up"))
COLOURS = {
    CROSSBEAM: style.SERIES_COLOURS[3],
    STRIKER: style.SERIES_COLOURS[5],
    LONGERON: style.SERIES_COLOURS[2],
    PROD: style.SERIES_COLOURS[2],
    "martingale": style.SERIES_COLOURS[5],
    "port martingale": style.SERIES_COLOURS[5],
    "starboard martingale": style.SERIES_COLOURS[5],
}
"""Members by colour; the bows have the first of all colours."""
FROM_STARBOARD = "from the starboard end to the port end, m"
DIAGRAMS = (
    ("Vz", "vertical shear", "N"), ("My", "vertical bending", "N·m"), ("Vy", "fore-and-aft shear", "N"),
    ("Mz", "fore-and-aft bending", "N·m"), ("T", "torque", "N·m"), ("N", "axial force", "N"),
)  # fmt: skip
MOMENTS = (("torque", 2), ("vertical bending", 0), ("fore-and-aft bending", 1))
"""Component of a joint load, and the number of its colour."""
DECADES = 2.0
MOST_PATHS = 40
"""So many cases have a picture of their load path, where there are more."""
MOST_CASES = 12
"""So many have a deflected shape and diagrams too; more would make a page that no one scrolls through."""


def all_pictures(study: Study) -> Iterator[style.Picture]:
    """Every picture of a study, in the order of the report."""
    slugs = numbers.slugs([case.name for case in study.cases])
    yield boat_picture(study)
    yield curve_picture(study)
    yield moments_picture(study)
    for case in chosen(study, MOST_PATHS):
        yield load_path_figure.path_picture(study, case, f"path-{slugs[case]}")
    for case in chosen(study, MOST_CASES):
        yield deflected_picture(study, case, f"deflected-{slugs[case]}")
        yield diagram_picture(study, case, f"crossbeam-{slugs[case]}")
    yield from _section_pictures(study)


def _section_pictures(study: Study) -> Iterator[style.Picture]:
    """The sections that stiffness comes from, where the file gives outlines."""
    with style.style():
        for name, title, figure in section_figures(study.file):
            yield style.finish(figure, name.replace("_", "-"), title, f"{title}.")


def chosen(study: Study, most: int) -> list[int]:
    """Numbers of at most so many cases: the first of each kind before the second of any."""
    families: dict[str, int] = {}
    turns = []
    for number, case in enumerate(study.cases):
        family = case.name.split(", ")[0]
        families[family] = families.get(family, -1) + 1
        turns.append((families[family], number))
    return sorted(number for _, number in sorted(turns)[:most])


def omitted_pictures(study: Study) -> list[str]:
    """Cases without pictures of their own, in sentences; nothing where all have them."""
    return [
        *_without(study, MOST_PATHS, "Load paths are"),
        *_without(study, MOST_CASES, "Deflected shapes and diagrams are"),
    ]


def _without(study: Study, most: int, what: str) -> list[str]:
    kept = chosen(study, most)
    over = [words.name_of(case.name) for number, case in enumerate(study.cases) if number not in kept]
    if not over:
        return []
    return [f"{what} drawn of {most} cases, each kind among them; left out are those of {', '.join(over)}."]


def _joint_names(study: Study) -> list[str]:
    return numbers.unique_short_names([joint.joint.name for joint in study.joints], 24)


def _marks(front: FrontEnd, *, all_places: bool) -> dict[str, FloatArray]:
    """What to write where: the joints, and if asked for the other named places."""
    marks = {f"{side} joint": front.joint_position(at) for at, side in enumerate(SIDES)}
    if all_places:
        marks |= {name: front.position(name) for name in (*(f"{side} stem" for side in SIDES), "stay")}
        known = front.frame.node_index
        extra = (*(f"{side} root" for side in SIDES), STRIKER_TOP, "prod tip", "longeron root")
        marks |= {name: front.frame.nodes[known[name]] for name in extra if name in known}
        marks["crossbeam"] = (front.joint_position(1) + front.position(CENTRE)) / 2
    return marks


def boat_picture(study: Study) -> style.Picture:
    """The front end at rest, with the names of its parts."""
    front = study.joints[0].front
    solution = study.joints[0].solution
    with style.style():
        figure = style.new_figure(WIDTH, frame_plot.figure_height(solution, 0, 0.0, VIEW, WIDTH))
        axes = figure.subplots()
        frame_plot.draw_frame(
            axes, solution, None, 1.0, VIEW, _marks(front, all_places=True), colours=COLOURS
        )
        caption = (
            "The front end as it is modelled, from behind and above: bows, crossbeam and what holds them."
        )
        return style.finish(figure, "boat", "The boat as modelled", caption)


def deflected_picture(study: Study, case: int, name: str) -> style.Picture:
    """The deflected shape with each joint, all movements enlarged alike."""
    factor = frame_plot.deflection_scale([joint.solution for joint in study.joints], case)
    called = numbers.plain(study.cases[case].name)
    columns = min(2, len(study.joints))
    rows = -(-len(study.joints) // columns)
    high = max(
        frame_plot.figure_height(j.solution, case, factor, VIEW, WIDTH / columns) for j in study.joints
    )
    with style.style():
        figure = style.new_figure(WIDTH, rows * high)
        grid = figure.subplots(rows, columns, squeeze=False, sharex=True, sharey=True)
        for axes, joint, title in zip(grid.flat, study.joints, _joint_names(study), strict=False):
            axes.set_title(title)
            frame_plot.draw_frame(
                axes, joint.solution, case, factor, VIEW, colours=COLOURS, triad=joint is study.joints[0]
            )
        for spare in grid.flat[len(study.joints) :]:
            spare.axis("off")
        _name_joints(grid.flat[0], study.joints[0])
        caption = f"Deflected shape in the case ‘{called}’, movements × {factor:g}; at rest in grey."
        return style.finish(figure, name, f"Deflected shape: {called}", caption)


def _name_joints(axes: Axes, joint: JointResult) -> None:
    marks = _marks(joint.front, all_places=False)
    style.place_labels(axes, VIEW.project(np.array(list(marks.values()))), list(marks), _drawn(axes))


def _drawn(axes: Axes) -> FloatArray:
    """Points of all lines of a panel."""
    return np.concatenate([np.column_stack(line.get_data()) for line in axes.lines]).astype(float)


def diagram_picture(study: Study, case: int, name: str) -> style.Picture:
    """Actions along the crossbeam, a line for each joint."""
    called = numbers.plain(study.cases[case].name)
    lines = list(zip(_joint_names(study), (joint.crossbeam for joint in study.joints), strict=True))
    with style.style():
        figure = style.new_figure(WIDTH, 6.6)
        frame_plot.draw_diagrams(figure, lines, case, DIAGRAMS, FROM_STARBOARD)
        caption = (
            f"Along the crossbeam in the case ‘{called}’: shears, bending, torque and axial force, by joint."
        )
        return style.finish(figure, name, f"Along the crossbeam: {called}", caption)


def moments_picture(study: Study) -> style.Picture:
    """Moments at the worse joint, by kind of joint, a panel for each case."""
    names = _joint_names(study)
    shown = chosen(study, MOST_CASES)
    count = len(shown)
    columns = 2 if count > 1 else 1
    rows = -(-count // columns)
    with style.style():
        figure = style.new_figure(WIDTH, rows * (0.75 + 0.42 * len(names)) + 0.4)
        grid = figure.subplots(rows, columns, squeeze=False, sharey=True)
        for case, axes in zip(shown, grid.flat[:count], strict=True):
            _bars(axes, study, case, names)
        for spare in grid.flat[count:]:
            spare.axis("off")
        handles = [_patch(style.SERIES_COLOURS[colour]) for _, colour in MOMENTS]
        figure.legend(handles, [name for name, _ in MOMENTS], loc="outside upper left", ncols=3)
        caption = (
            "Moments that the crossbeam puts on a hull (the larger of both hulls; what pretension does at rest is in them), by "
            f"joint, in {'every case' if count == len(study.cases) else f'{count} of the cases, each kind among them'}."
        )
        return style.finish(figure, "joint-moments", "Joint moments by kind of joint", caption)


def _patch(colour: str) -> Any:  # noqa: ANN401  (lazily imported)
    from matplotlib.patches import Patch  # noqa: PLC0415  (start-up time)

    return Patch(color=colour)


def _bars(axes: Axes, study: Study, case: int, names: Sequence[str]) -> None:
    values = [
        [larger_side(joint.cases[case].joint_load, name) for name, _ in MOMENTS] for joint in study.joints
    ]
    by, unit = numbers.unit_prefix(numbers.largest(values), "N·m")
    decimals = 1 if numbers.largest(values) >= 100 * by else 2
    place = np.arange(len(names))
    for number, ((_, colour), series) in enumerate(zip(MOMENTS, np.array(values).T / by, strict=True)):
        bars = axes.barh(place + 0.26 * (number - 1), series, height=0.24, color=style.SERIES_COLOURS[colour])
        axes.bar_label(
            bars,
            [words.number(value, decimals) for value in series],
            padding=2,
            fontsize=6.5,
            color=style.MUTED_COLOUR,
        )
    axes.set_yticks(place, names)
    axes.tick_params(axis="y", length=0, labelcolor=style.TEXT_COLOUR)
    axes.set_ylim(len(names) - 0.45, -0.55)
    axes.set_xlim(0, 1.16 * (numbers.largest(values) / by or 1.0))
    axes.grid(visible=False, axis="y")
    axes.set_title(numbers.shorten(study.cases[case].name, 40))
    axes.set_xlabel(unit)


def curve_picture(study: Study) -> style.Picture:
    """What a joint attracts against its stiffness, about the beam's axis and in vertical bending."""
    with style.style():
        figure = style.new_figure(WIDTH, 3.9)
        panels = figure.subplots(1, 2)
        for axes, direction, what in zip(
            panels, ("pitch", "roll"), ("torque", "vertical bending"), strict=True
        ):
            found = {joint.joint.name: curve for joint in study.joints if (curve := joint.curves[direction])}
            axes.set_title(f"{what} at each joint".capitalize())
            if found:
                _curves(axes, found, study, direction)
            else:
                axes.axis("off")
                axes.text(0, 0.8, "no joint has a spring in this direction", transform=axes.transAxes)
        caption = (
            "What a joint attracts for each kN of racking force at the stems, against its own stiffness. "
            "Marks: the boat’s joints; broken upright line: the half stiffness."
        )
        return style.finish(figure, "attraction", "Attraction against joint stiffness", caption)


def _curves(axes: Axes, found: Mapping[str, AttractionCurve], study: Study, direction: str) -> None:
    """One curve for each joint: joints that differ in another direction have other curves."""
    low, high = _range(list(found.values()))
    k = np.geomspace(low, high, 241)
    by, unit = numbers.unit_prefix(
        numbers.largest([1000 * curve.rigid_moment for curve in found.values()]), "N·m"
    )
    points, labels = [], []
    for number, (joint, name) in enumerate(zip(study.joints, _joint_names(study), strict=True)):
        curve = found.get(joint.joint.name)
        if curve is None:
            continue
        axes.plot(k, 1000 * abs(curve.moment(k)) / by, **style.series(number))
        own = float(np.clip(curve.joint_stiffness, low, high))
        points.append((own, 1000 * abs(float(curve.moment(curve.joint_stiffness))) / by))
        labels.append(name)
        axes.plot(
            *points[-1],
            style.marker(number),
            color=style.SERIES_COLOURS[number % 6],
            ms=6,
            clip_on=False,
            zorder=4,
        )
    halves = [curve.k_half for curve in found.values()]
    half = float(np.median(halves))
    axes.axvline(half, color=style.MUTED_COLOUR, lw=0.9, ls=(0, (4, 3)), zorder=1)
    axes.set_xscale("log")
    axes.set_xlim(low, high)
    axes.set_ylim(0, 1.12 * max(1000 * abs(curve.rigid_moment) / by for curve in found.values()))
    axes.set_xlabel(f"joint stiffness in {direction}: free … rigid")
    axes.set_ylabel(f"{unit} per kN of racking force")
    _stiffness_ticks(axes, low, high)
    told = f"half at\n{words.span(halves, 'N·m/rad')}"
    beside: dict[str, Any] = {
        "xycoords": ("data", "axes fraction"),
        "textcoords": "offset points",
        "ha": "right",
        "va": "top",
    }
    axes.annotate(told, (half, 1.0), (-4, -2), fontsize=8, **beside)
    at, names = _grouped(points, labels, axes)
    style.place_labels(axes, at, names, _drawn(axes))


def _range(curves: Sequence[AttractionCurve]) -> tuple[float, float]:
    """From two decades below the softest half or own stiffness to two above the stiffest."""
    halves = [curve.k_half for curve in curves]
    owns = [curve.joint_stiffness for curve in curves if 0 < curve.joint_stiffness < np.inf]
    wanted = [min(halves) / 10**DECADES, max(halves) * 10**DECADES]
    owned = [k for own in owns for k in (own / 3, own * 3)]
    return min([*wanted, *owned]), max([*wanted, *owned])


def _stiffness_ticks(axes: Axes, low: float, high: float) -> None:
    powers = np.arange(np.ceil(np.log10(low)), np.floor(np.log10(high)) + 1)
    step = -(-len(powers) // 4)
    ticks = [float(10.0**power) for power in powers[::step]]
    axes.set_xticks(ticks, [engineering(tick, "N·m/rad") for tick in ticks], fontsize=7)
    axes.minorticks_off()


def _grouped(
    points: Sequence[tuple[float, float]], names: Sequence[str], axes: Axes
) -> tuple[FloatArray, list[str]]:
    """Points that fall on one another get one label."""
    axes.figure.canvas.draw()
    at = axes.transData.transform(np.array(points))
    groups: list[list[int]] = []
    for number, place in enumerate(at):
        near = next((group for group in groups if np.linalg.norm(at[group[0]] - place) < 9), None)
        if near is None:
            groups.append([number])
        else:
            near.append(number)
    return np.array([points[group[0]] for group in groups]), [
        ",\n".join(names[i] for i in group) for group in groups
    ]
