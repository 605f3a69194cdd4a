"""A tornado: torque, bending and governing margin of a joint with one input at either side of its middle."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from cases.analyses.uncertainty.tornado import InputEffect, Swing
from cases.analyses.uncertainty.uncertainty import JointUncertainty, ScatteredValue
from cases.report.data import words
from cases.report.data.uncertainty_words import called
from femcore.base import numbers
from femcore.plotting import style
from femcore.plotting.drawing import Drawing

if TYPE_CHECKING:
    from matplotlib.axes import Axes

MOST_BARS = 10
ROW, HEAD, WIDTH = 0.21, 1.25, 5.4
"""Inches: of an input, of titles and axis, and of the picture: two stand side by side."""
MOST_TICKS = 4
LOW_COLOUR, HIGH_COLOUR = style.SERIES_COLOURS[0], style.SERIES_COLOURS[1]


def tornado_picture(one: JointUncertainty, slug: str) -> Drawing:
    """The inputs with the largest share of the margin's variance first, then by what they move."""
    effects = strongest(one)
    with style.drawing_style():
        figure = style.new_figure(WIDTH, HEAD + ROW * len(effects))
        panels = (
            ("Torque", "torque", one.torque, "N·m"),
            ("Vertical\nbending", "bending", one.bending, "N·m"),
            ("Governing\nmargin", "margin", one.margin, ""),
        )
        for number, (axes, (title, key, value, unit)) in enumerate(
            zip(figure.subplots(1, len(panels), sharey=True), panels, strict=True)
        ):
            _panel(axes, [getattr(effect, key) for effect in effects], value, unit)
            axes.set_title(title)
            if number == 0:
                axes.set_yticks(np.arange(len(effects)), [called(effect.input) for effect in effects])
        figure.legend(
            loc="outside upper left", ncols=2, handles=figure.axes[0].get_legend_handles_labels()[0]
        )
        caption = (
            f"‘{numbers.plain(one.joint)}’: what one input alone moves, one standard deviation below and above its median, all "
            "others as entered (upright line). Largest of all cases, combinations and both hulls. "
            + " ".join(_sentence(effect) for effect in effects[:3])
        )
        return Drawing(
            figure, f"tornado-{slug}", f"What moves the answer: {numbers.plain(one.joint)}", caption
        )


def strongest(one: JointUncertainty) -> list[InputEffect]:
    """The inputs that move one of the three most, in the order of their share of the margin's variance."""
    worth = [max(swing.share for swing in (each.margin, each.torque, each.bending)) for each in one.effects]
    least = sorted(worth, reverse=True)[:MOST_BARS][-1] if worth else 0.0
    return [each for each, size in zip(one.effects, worth, strict=True) if size >= least][:MOST_BARS]


def _sentence(effect: InputEffect) -> str:
    low, high = (words.number(margin, 2) for margin in (effect.margin.low, effect.margin.high))
    named = called(effect.input)
    return f"{named[:1].upper()}{named[1:]} from {effect.below} to {effect.above}: margin {low} … {high}."


def _panel(axes: Axes, swings: list[Swing], value: ScatteredValue, unit: str) -> None:
    """Bars from the value as entered to either side."""
    ends = [value.nominal, *(end for swing in swings for end in (swing.low, swing.high))]
    by, named = numbers.unit_prefix(numbers.largest(ends), unit) if unit else (1.0, "")
    for side, colour, label in (("low", LOW_COLOUR, "input below"), ("high", HIGH_COLOUR, "input above")):
        moved = [(getattr(swing, side) - value.nominal) / by for swing in swings]
        places = np.arange(len(swings)) + (-0.19 if side == "low" else 0.19)
        axes.barh(places, moved, left=value.nominal / by, height=0.36, color=colour, label=label, zorder=2)
    axes.axvline(value.nominal / by, color=style.TEXT_COLOUR, lw=1.0, zorder=3)
    if not unit and min(ends) < 0 < max(ends):
        axes.axvline(0.0, color=style.TEXT_COLOUR, lw=1.0, ls=(0, (4, 3)), zorder=3)
    axes.set_ylim(len(swings) - 0.5, -0.5)
    axes.set_xlabel(named)
    axes.locator_params(axis="x", nbins=MOST_TICKS)
    axes.grid(visible=False, axis="y")
    axes.tick_params(axis="y", length=0)
