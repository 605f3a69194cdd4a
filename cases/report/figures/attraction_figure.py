"""The attraction curves: the moment that racking puts on a joint against the joint's stiffness, and what the joint can carry."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from cases.analyses.study import Study
from cases.report.data import words
from cases.report.figures.joint_looks import JointLook, colour_key, joint_looks
from femcore.base import numbers
from femcore.base.arrays import FloatArray
from femcore.base.numbers import engineering
from femcore.plotting import style
from femcore.plotting.drawing import Drawing, settle_layout
from femcore.plotting.labels import place_labels
from models.joints.base import FailureMoment
from models.response.attraction import AttractionCurve

if TYPE_CHECKING:
    from matplotlib.axes import Axes

DIRECTIONS = {"pitch": "torque", "roll": "vertical bending"}
"""Of the curves, and the moment there."""
DECADES = 2.0
"""Of joint stiffness, drawn below the softest half stiffness and above the stiffest."""
TALLEST_CAPACITY = 2.5
"""Of the largest moment: a capacity up to it is drawn at its height, a larger one as words beside the mark."""
SAME_PLACE = 9.0
"""Pixels: marks that are closer share one label."""


@dataclass(frozen=True, slots=True)
class _Curve:
    """One joint's curve in a panel, and the moment alone that it can carry; None where its parts are not described."""

    look: JointLook
    curve: AttractionCurve
    capacity: FailureMoment | None

    def capacity_beyond(self, axes: Axes, by: float) -> bool:
        """Whether it is above a panel whose unit is `by` N·m."""
        return self.capacity is not None and self.capacity.moment / by > axes.get_ylim()[1]

    def label(self, axes: Axes, by: float) -> str:
        """Its name, and a capacity that has no bar."""
        if self.capacity is None or not self.capacity_beyond(axes, by):
            return self.look.name
        return f"{self.look.name}\n(capacity {words.quantity(self.capacity.moment, 'N·m')},\nfar above)"


def reference_force(study: Study) -> float:
    """N up at one stem, down at the other: the largest of the first racking case over the joints; 1 kN where there is none."""
    if not study.racking_cases:
        return 1000.0
    name = study.racking_cases[0].name
    moments = [abs(joint.case(name).racking_moment) for joint in study.joints]
    return max(moments) / study.file.bows.length


def curve_picture(study: Study) -> Drawing:
    """Attracted torque and vertical bending against the stiffness of the joint, with the capacities of the candidates."""
    force, looks = reference_force(study), joint_looks(study)
    said: list[str] = []
    with style.drawing_style():
        figure = style.new_figure(style.WIDTH, 4.3)
        for axes, (direction, what) in zip(figure.subplots(1, 2), DIRECTIONS.items(), strict=True):
            found = [
                _Curve(
                    look,
                    curve,
                    joint.joint.moment_at_failure(direction) if look.candidate else None,
                )
                for joint, look in zip(study.joints, looks, strict=True)
                if (curve := joint.curves[direction]) is not None
            ]
            axes.set_title(f"{what.capitalize()} at each joint")
            if found:
                _draw(axes, found, force, direction)
                said += _sentences(found, force, what)
            else:
                axes.axis("off")
                axes.text(0, 0.8, "no joint is sprung in this direction", transform=axes.transAxes)
        caption = (
            f"Moment at each joint under a racking force of {words.quantity(force, 'N')} at the stems, against the joint's own "
            f"stiffness in that direction, its other directions as they are. {' '.join(said)} Marks: the boat's joints. Bars: "
            "capacity under that moment alone, at failure, without safety factor. Dashed line: half-torque and half-bending "
            f"stiffness. {colour_key(looks)}"
        ).strip()
        return Drawing(figure, "attraction", "Attraction against joint stiffness", caption)


def _sentences(found: Sequence[_Curve], force: float, what: str) -> Iterator[str]:
    """The numbers of the candidates."""
    for one in found:
        if one.look.candidate:
            moment = abs(float(one.curve.moment(one.curve.joint_stiffness))) * force
            limit = f", capacity {words.quantity(one.capacity.moment, 'N·m')}" if one.capacity else ""
            yield f"‘{one.look.name}’: {what} {words.quantity(moment, 'N·m')}{limit}."


def _draw(axes: Axes, found: Sequence[_Curve], force: float, direction: str) -> None:
    """One curve for each joint: joints with other stiffness in the other directions have other curves."""
    low, high = _range([one.curve for one in found])
    k = np.geomspace(low, high, 241)
    most = numbers.largest(
        [moment * force for one in found for moment in (one.curve.free_moment, one.curve.rigid_moment)]
    )
    by, unit = numbers.unit_prefix(most, "N·m")
    points: list[tuple[float, float]] = []
    for one in found:
        axes.plot(k, abs(one.curve.moment(k)) * force / by, **one.look.line)
        own = float(np.clip(one.curve.joint_stiffness, low, high))
        points.append((own, abs(float(one.curve.moment(one.curve.joint_stiffness))) * force / by))
        size, over = (7, 5) if one.look.candidate else (5, 4)
        axes.plot(
            *points[-1], one.look.marker, color=one.look.colour, ms=size, mec=style.BACKGROUND_COLOUR, mew=0.5,
            clip_on=False, zorder=over,
        )  # fmt: skip
    halves = [one.curve.k_half for one in found]
    half = float(np.median(halves))
    axes.axvline(half, color=style.MUTED_COLOUR, lw=0.9, ls=(0, (4, 3)), zorder=1)
    axes.set_xscale("log")
    axes.set_xlim(low, high)
    within = [
        one.capacity.moment
        for one in found
        if one.capacity and one.capacity.moment <= TALLEST_CAPACITY * most
    ]
    axes.set_ylim(0, 1.12 * max([most, *within]) / by)
    axes.set_xlabel(f"joint stiffness in {direction}: free … rigid")
    axes.set_ylabel(unit)
    _stiffness_ticks(axes, low, high)
    beside: dict[str, Any] = {"xycoords": ("data", "axes fraction"), "textcoords": "offset points"}
    label = f"half at\n{words.span(halves, 'N·m/rad')}"
    axes.annotate(label, (half, 1.0), (-4, -2), fontsize=8, ha="right", va="top", **beside)
    at, names, colours = _grouped(points, found, axes, by)
    limits, texts = _capacities(axes, found, points, by)
    place_labels(
        axes,
        np.array([*at, *limits]),
        [*names, *texts],
        colours=[*colours, *[style.TEXT_COLOUR] * len(texts)],
    )


def _capacities(
    axes: Axes, found: Sequence[_Curve], points: Sequence[tuple[float, float]], by: float
) -> tuple[list[tuple[float, float]], list[str]]:
    """A bar over each candidate's mark at its capacity, where that is within the panel; what to write where."""
    places, texts = [], []
    for one, (own, moment) in zip(found, points, strict=True):
        if one.capacity is None or one.capacity_beyond(axes, by):
            continue
        height = one.capacity.moment / by
        axes.plot([own, own], [moment, height], color=one.look.colour, lw=0.9, ls=(0, (1.2, 1.4)), zorder=2)
        axes.plot(own, height, "_", color=one.look.colour, ms=18, mew=2.6, zorder=5, clip_on=False)
        places.append((own, height))
        texts.append(f"capacity {words.quantity(one.capacity.moment, 'N·m')}")
    return places, texts


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
    points: Sequence[tuple[float, float]], found: Sequence[_Curve], axes: Axes, by: float
) -> tuple[FloatArray, list[str], list[str]]:
    """Where to write which names, and in which colour: marks at one place share a label."""
    if (figure := axes.get_figure(root=True)) is not None:
        settle_layout(figure)
    at = axes.transData.transform(np.array(points))
    groups: list[list[int]] = []
    for number, place in enumerate(at):
        near = next((group for group in groups if np.linalg.norm(at[group[0]] - place) < SAME_PLACE), None)
        if near is None:
            groups.append([number])
        else:
            near.append(number)
    labels = [one.label(axes, by) for one in found]
    return (
        np.array([points[group[0]] for group in groups]),
        [",\n".join(labels[i] for i in group) for group in groups],
        [
            style.TEXT_COLOUR if any(found[i].look.candidate for i in group) else style.MUTED_COLOUR
            for group in groups
        ],
    )
