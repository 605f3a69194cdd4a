"""The worst moment at each joint, over all cases and combinations, against what the joint can carry of it alone."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from cases.analyses.design_loads import DesignLoad
from cases.analyses.study import Study
from cases.report.data import words
from cases.report.figures.joint_looks import JointLook, candidates_first, colour_key, joint_looks
from femcore.base import numbers
from femcore.plotting import style
from femcore.plotting.drawing import Drawing
from models.joints.base import FailureMoment
from models.response.joint_loads import component_index

if TYPE_CHECKING:
    from matplotlib.axes import Axes

MOMENTS = {"torque": "pitch", "vertical bending": "roll", "fore-and-aft bending": "yaw"}
"""Component of a joint load, and the direction of a moment alone."""
TALLEST_CAPACITY = 1.6
"""Of the largest load of a panel: a capacity up to it is drawn at its place, a larger one as an arrow at the edge."""
ROW, HEAD = 0.3, 0.95
"""Inches: of a joint, and of titles and axis."""


@dataclass(frozen=True, slots=True)
class WorstMoment:
    """One bar: the load of a joint, and its capacity where its parts are described."""

    look: JointLook
    load: DesignLoad
    capacity: FailureMoment | None


def worst_moments(study: Study, loads: Sequence[Sequence[DesignLoad]], component: str) -> list[WorstMoment]:
    """Of every joint, the candidates first."""
    looks = joint_looks(study)
    return [
        WorstMoment(
            looks[number],
            loads[number][component_index(component)],
            study.joints[number].joint.moment_at_failure(MOMENTS[component]),
        )
        for number in candidates_first(looks)
    ]


def worst_picture(study: Study, loads: Sequence[Sequence[DesignLoad]]) -> Drawing:
    """A panel for each moment, a bar for each joint; `loads` of each joint of the study."""
    said: list[str] = []
    with style.drawing_style():
        figure = style.new_figure(style.WIDTH, HEAD + ROW * len(study.joints))
        for number, (axes, component) in enumerate(
            zip(figure.subplots(1, len(MOMENTS), sharey=True), MOMENTS, strict=True)
        ):
            bars = worst_moments(study, loads, component)
            _bars(axes, bars, named=number == 0)
            axes.set_title(component.capitalize())
            said += _sentences(bars, component)
        caption = (
            "Largest moment of the crossbeam on a hull over all cases, combinations and both hulls, pretension included. "
            f"{' '.join(said)} Vertical bar: capacity under that moment alone, at failure, without safety factor; what acts "
            f"together is in the margins. {colour_key(joint_looks(study))}"
        ).strip()
        return Drawing(figure, "worst", "Largest moments at the joints, and capacities", caption)


def _sentences(bars: Sequence[WorstMoment], component: str) -> Iterator[str]:
    for bar in bars:
        if bar.look.candidate:
            limit = f" of a capacity of {words.quantity(bar.capacity.moment, 'N·m')}" if bar.capacity else ""
            yield f"‘{bar.look.name}’: {component} {words.quantity(bar.load.size, 'N·m')}{limit}."


def _bars(axes: Axes, bars: Sequence[WorstMoment], *, named: bool) -> None:
    most = numbers.largest([bar.load.size for bar in bars])
    by, unit = numbers.unit_prefix(most, "N·m")
    within = [
        bar.capacity.moment
        for bar in bars
        if bar.capacity is not None and bar.capacity.moment <= TALLEST_CAPACITY * most
    ]
    beyond = len(within) < sum(bar.capacity is not None for bar in bars)
    wide = max((1.9 if beyond else 1.15) * most, 1.4 * max([0.0, *within])) / by or 1.0
    decimals = 1 if most >= 100 * by else 2
    for place, bar in enumerate(bars):
        size = bar.load.size / by
        colour = bar.look.colour if bar.look.candidate else style.GRID_COLOUR
        axes.barh(place, size, height=0.62, color=colour, zorder=2)
        _value(axes, words.number(size, decimals), size, place, wide, bar)
        if bar.capacity is not None:
            _capacity(axes, bar.capacity.moment / by, place, wide, within=bar.capacity.moment in within)
    axes.set_ylim(len(bars) - 0.5, -0.5)
    axes.set_xlim(0, wide)
    axes.set_xlabel(unit)
    axes.grid(visible=False, axis="y")
    axes.tick_params(axis="y", length=0)
    if named:
        axes.set_yticks(np.arange(len(bars)), [bar.look.name for bar in bars])
        for label, bar in zip(axes.get_yticklabels(), bars, strict=True):
            label.set_color(bar.look.text_colour)
            label.set_fontweight("bold" if bar.look.candidate else "normal")


def _capacity(axes: Axes, limit: float, place: int, wide: float, *, within: bool) -> None:
    """A bar across, or an arrow at the edge where it is further out, with its number."""
    said = f"capacity {limit:.3g}"
    if within:
        axes.plot([limit, limit], [place - 0.42, place + 0.42], color=style.TEXT_COLOUR, lw=2.2, zorder=4)
    else:
        axes.plot(0.985 * wide, place, ">", color=style.TEXT_COLOUR, ms=5, zorder=4)
    at, shift, side = (limit, 4, "left") if within else (0.985 * wide, -6, "right")
    axes.annotate(
        said,
        (at, place),
        (shift, 0),
        textcoords="offset points",
        va="center",
        ha=side,
        fontsize=6.5,
        zorder=5,
    )


def _value(axes: Axes, said: str, end: float, place: int, wide: float, bar: WorstMoment) -> None:
    """The load beside its bar, or in it where the bar is long enough."""
    inside = end > 0.25 * wide
    colour = style.TEXT_COLOUR
    if inside and bar.look.candidate:
        colour = style.text_on(bar.look.colour)
    axes.annotate(
        said, (end, place), (-3 if inside else 3, 0), textcoords="offset points", va="center",
        ha="right" if inside else "left", fontsize=6.5, color=colour, zorder=5,
    )  # fmt: skip
