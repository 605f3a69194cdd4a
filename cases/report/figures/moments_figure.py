"""Moments at the joints as bars, by kind of joint."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from cases.analyses.study import Study
from cases.report.data import words
from cases.report.figures.boat_figures import joint_names
from femcore.base import numbers
from femcore.plotting import style
from femcore.plotting.drawing import Drawing
from models.response.joint_loads import larger_side

if TYPE_CHECKING:
    from matplotlib.axes import Axes

MOMENTS = (("torque", 2), ("vertical bending", 0), ("fore-and-aft bending", 1))
"""Component of a joint load, and the number of its colour."""


def moments_picture(study: Study, shown: Sequence[int]) -> Drawing:
    """The larger moments of both sides, by joint, a panel for each case."""
    names = joint_names(study)
    count = len(shown)
    columns = 2 if count > 1 else 1
    rows = -(-count // columns)
    with style.drawing_style():
        figure = style.new_figure(style.WIDTH, rows * (0.75 + 0.42 * len(names)) + 0.4)
        grid = figure.subplots(rows, columns, squeeze=False, sharey=True)
        for case, axes in zip(shown, grid.flat[:count], strict=True):
            _bars(axes, study, case, names)
        for spare in grid.flat[count:]:
            spare.axis("off")
        handles = [_patch(style.SERIES_COLOURS[colour]) for _, colour in MOMENTS]
        figure.legend(handles, [name for name, _ in MOMENTS], loc="outside upper left", ncols=3)
        caption = (
            "Moments of the crossbeam on a hull, the larger of both hulls, including pretension, by "
            f"joint, in {'every case' if count == len(study.cases) else f'{count} of the cases, each kind among them'}."
        )
        return Drawing(figure, "joint-moments", "Joint moments by kind of joint", caption)


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
