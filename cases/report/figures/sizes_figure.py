"""Stock sizes tried for the checks that fail: the margin with each, the boat solved anew, and that at constant load."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from cases.analyses.next_actions import RaiseSizes
from cases.analyses.sizing import Sizing, Step
from cases.report.data import words
from cases.report.data.statements import margin_words
from cases.report.figures.drawing_process import Job
from femcore.base import numbers
from femcore.plotting import style
from femcore.plotting.drawing import Drawing
from models.joints.base import without_side

if TYPE_CHECKING:
    from matplotlib.axes import Axes

MOST_STEPS = 8
"""Sizes of one check that are drawn: those before and after the one taken."""
ROW, HEAD, FOOT = 0.29, 0.4, 0.62
"""Inches: of a size; of a check's title; of key and axis."""


def sizes_jobs(raised: Sequence[RaiseSizes]) -> Iterator[Job]:
    """A job for every candidate for which more than its own sizes were tried."""
    for one, slug in zip(raised, numbers.slugs([one.joint for one in raised]), strict=True):
        tried = tuple(sizing for sizing in one.tried if len(sizing.steps) > 1)
        if tried:
            yield partial(sizes_picture, one.joint, tried, f"sizes-{slug}")


def steps_shown(sizing: Sizing) -> list[tuple[int, Step]]:
    """At most `MOST_STEPS` sizes with their numbers: the first, and those about the one taken, or the best."""
    best = max(range(len(sizing.steps)), key=lambda number: sizing.steps[number].margin)
    at = best if sizing.chosen is None else sizing.chosen
    last = min(len(sizing.steps), max(at + 2, MOST_STEPS))
    first = max(1, last - MOST_STEPS + 1)
    return [(number, sizing.steps[number]) for number in (0, *range(first, last))]


def sizes_picture(joint: str, tried: Sequence[Sizing], name: str) -> Drawing:
    """A panel for each check, the first size on top, all on one axis of margins."""
    shown = [steps_shown(sizing) for sizing in tried]
    heights = [HEAD + ROW * len(steps) for steps in shown]
    with style.drawing_style():
        figure = style.new_figure(style.WIDTH, sum(heights) + FOOT)
        panels = figure.subplots(len(tried), 1, sharex=True, squeeze=False, height_ratios=heights)[:, 0]
        for axes, sizing, steps in zip(panels, tried, shown, strict=True):
            _panel(axes, sizing, steps)
        panels[-1].set_xlabel("margin of the check")
        figure.legend(loc="outside upper left", ncols=3, handles=panels[0].get_legend_handles_labels()[0])
        said = " ".join(_sentence(sizing) for sizing in tried)
        caption = (
            f"{words.name_of(joint)}: stock sizes tried for one failing check after the other, with the sizes taken above, "
            f"the boat solved anew with each; bold: the size taken. Rings: the margin if the loads had stayed; right of its "
            f"mark, the size attracts load of its own. {said}"
        )
        return Drawing(figure, name, f"Sizes tried: {numbers.plain(joint)}", caption)


def _sentence(sizing: Sizing) -> str:
    named = f"{sizing.design_variable[:1].upper()}{sizing.design_variable[1:]}"
    what, first = f"{without_side(sizing.part)}, {sizing.check}", margin_words(sizing.steps[0].margin)
    if sizing.chosen is None:
        best = max(sizing.steps, key=lambda step: step.margin)
        return f"{named}: {what}, margin {first}, at best {margin_words(best.margin)}."
    taken = sizing.steps[sizing.chosen]
    return f"{named} {taken.size}: {what}, margin {first} → {margin_words(taken.margin)}."


def _panel(axes: Axes, sizing: Sizing, steps: Sequence[tuple[int, Step]]) -> None:
    places = np.arange(len(steps))
    margins = [step.margin for _, step in steps]
    constant = [step.at_first_load for _, step in steps]
    axes.plot(
        margins,
        places,
        "-o",
        color=style.SERIES_COLOURS[0],
        ms=5,
        lw=1.2,
        label="with its own loads",
        zorder=3,
    )
    if not all(math.isnan(value) for value in constant):
        axes.plot(
            constant, places, "o", mfc="none", mec=style.SERIES_COLOURS[1], ms=8, mew=1.3, label="at constant load", zorder=2,
        )  # fmt: skip
    axes.axvline(0.0, color=style.TEXT_COLOUR, lw=1.2, ls=(0, (4, 3)), label="margin 0", zorder=1)
    axes.set_ylim(len(steps) - 0.5, -0.5)
    axes.set_yticks(places, [step.size for _, step in steps])
    for label, (number, _) in zip(axes.get_yticklabels(), steps, strict=True):
        label.set_fontweight("bold" if number == sizing.chosen else "normal")
    for place, margin in zip(places, margins, strict=True):
        axes.annotate(
            margin_words(margin),
            (margin, place),
            (0, 5),
            textcoords="offset points",
            ha="center",
            fontsize=7,
            zorder=4,
        )
    axes.set_title(
        f"{numbers.plain(sizing.design_variable)}: {numbers.plain(without_side(sizing.part))}, {sizing.check}"
    )
    axes.margins(x=0.12)
    axes.tick_params(axis="y", length=0)
