"""The attraction curves: attracted moment against the stiffness of the joint."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from cases.analyses.study import Study
from cases.report.data import words
from cases.report.figures.boat_figures import joint_names
from femcore.base import numbers
from femcore.base.arrays import FloatArray
from femcore.base.numbers import engineering
from femcore.plotting import style
from femcore.plotting.drawing import Drawing
from femcore.plotting.labels import place_labels
from models.response.attraction import AttractionCurve

if TYPE_CHECKING:
    from matplotlib.axes import Axes

DECADES = 2.0
"""Of joint stiffness, drawn below the softest half stiffness and above the stiffest."""


def curve_picture(study: Study) -> Drawing:
    """Attracted torque and vertical bending against the stiffness of the joint."""
    with style.drawing_style():
        figure = style.new_figure(style.WIDTH, 3.9)
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
                axes.text(0, 0.8, "no joint is sprung in this direction", transform=axes.transAxes)
        caption = (
            "Attracted moment per kN of racking force at the stems, against the joint’s own stiffness in that direction, its "
            "other directions as they are. Marks: the boat’s joints. Dashed line: half-torque and half-bending stiffness. "
            "All joints are under the same force; a racking case that gives a movement compares joints at the same movement."
        )
        return Drawing(figure, "attraction", "Attraction against joint stiffness", caption)


def _curves(axes: Axes, found: Mapping[str, AttractionCurve], study: Study, direction: str) -> None:
    """One curve for each joint: joints with other stiffness in the other directions have other curves."""
    low, high = _range(list(found.values()))
    k = np.geomspace(low, high, 241)
    by, unit = numbers.unit_prefix(numbers.largest(_end_moments(found)), "N·m")
    points, labels = [], []
    for number, (joint, name) in enumerate(zip(study.joints, joint_names(study), strict=True)):
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
    axes.set_ylim(0, 1.12 * max(abs(moment) / by for moment in _end_moments(found)))
    axes.set_xlabel(f"joint stiffness in {direction}: free … rigid")
    axes.set_ylabel(f"{unit} per kN of racking force")
    _stiffness_ticks(axes, low, high)
    label = f"half at\n{words.span(halves, 'N·m/rad')}"
    beside: dict[str, Any] = {
        "xycoords": ("data", "axes fraction"),
        "textcoords": "offset points",
        "ha": "right",
        "va": "top",
    }
    axes.annotate(label, (half, 1.0), (-4, -2), fontsize=8, **beside)
    at, names = _grouped(points, labels, axes)
    place_labels(axes, at, names)


def _end_moments(found: Mapping[str, AttractionCurve]) -> list[float]:
    """N·m per kN of racking force at both ends of every curve, free and rigid."""
    return [1000 * moment for curve in found.values() for moment in (curve.free_moment, curve.rigid_moment)]


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
    """Coincident points share one label."""
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
