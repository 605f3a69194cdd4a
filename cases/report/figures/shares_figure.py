"""Where the racking moment about the root of a bow goes, by joint: shares as bars that add up to 1."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from cases.analyses.study import Study
from cases.report.data import words
from cases.report.figures.joint_looks import candidates_first, joint_looks
from femcore.base import numbers
from femcore.plotting import style
from femcore.plotting.drawing import Drawing

if TYPE_CHECKING:
    from matplotlib.axes import Axes

PARTS = (
    ("hull", "hull's root", style.SERIES_COLOURS[0], "#8b949c"),
    ("shear", "joint's vertical force", style.SERIES_COLOURS[1], "#d3d7da"),
    ("torque", "joint's torque", style.SERIES_COLOURS[2], "#aeb5bb"),
)
"""Share, its words, its colour, and its grey with a joint that is no candidate: neighbours differ in lightness too, and each bar
has them in this order.
"""
WRITTEN_WIDTH = 0.055
"""A narrower share has its number beside the bar."""
ROW, HEAD = 0.3, 0.9
"""Inches: of a joint, and of titles and axis."""


def shares_picture(study: Study, case: int) -> Drawing:
    """Hull, shear and torque share of every joint in a racking case, the candidates first."""
    from matplotlib.patches import Patch  # noqa: PLC0415  (start-up time)

    looks = joint_looks(study)
    order = candidates_first(looks)
    called = numbers.plain(study.cases[case].name)
    found = [study.joints[number].cases[case].shares for number in order]
    with style.drawing_style():
        figure = style.new_figure(style.WIDTH, HEAD + ROW * len(order))
        axes = figure.subplots()
        shares = np.array(
            [[0.0 if one is None else getattr(one, part) for part, *_ in PARTS] for one in found]
        )
        _bars(axes, shares, [looks[number].candidate for number in order])
        axes.set_yticks(np.arange(len(order)), [looks[number].name for number in order])
        for label, number in zip(axes.get_yticklabels(), order, strict=True):
            label.set_color(looks[number].text_colour)
            label.set_fontweight("bold" if looks[number].candidate else "normal")
        key = [Patch(color=colour, label=name) for _, name, colour, _ in PARTS]
        figure.legend(loc="outside upper left", ncols=len(PARTS), handles=key)
        said = " ".join(
            f"‘{looks[number].name}’: hull {_percent(of[0])}, vertical force {_percent(of[1])}, torque {_percent(of[2])}."
            for number, of in zip(order, shares.tolist(), strict=True)
            if looks[number].candidate
        )
        caption = (
            f"Shares of the racking moment about the root of a bow in ‘{called}’, excluding pretension. {said} The shares of "
            "each joint add up to 1."
        )
        return Drawing(figure, "shares", f"Where the racking moment goes: {called}", caption)


def _percent(share: float) -> str:
    return f"{words.number(100 * share, 1)} %"


def _bars(axes: Axes, shares: np.ndarray, candidate: list[bool]) -> None:
    place = np.arange(len(shares))
    start = np.zeros(len(shares))
    for (*_, colour, grey), share in zip(PARTS, shares.T, strict=True):
        bars = axes.barh(
            place, share, left=start, height=0.66, color=[colour if one else grey for one in candidate], zorder=2,
            edgecolor=style.BACKGROUND_COLOUR, linewidth=0.6,
        )  # fmt: skip
        texts = [_percent(value) if value >= WRITTEN_WIDTH else "" for value in share]
        axes.bar_label(
            bars, texts, label_type="center", fontsize=7, color=style.TEXT_COLOUR,
            bbox={"facecolor": style.BACKGROUND_COLOUR, "edgecolor": "none", "pad": 0.8, "alpha": 0.85},
        )  # fmt: skip
        start = start + share
    for row, of in enumerate(shares):
        small = [
            f"{name.split()[-1]} {_percent(value)}"
            for (_, name, *_), value in zip(PARTS, of, strict=True)
            if value < WRITTEN_WIDTH
        ]
        axes.annotate(
            ", ".join(small), (max(1.0, float(of.sum())), row), (4, 0), textcoords="offset points",
            va="center", fontsize=7,
        )  # fmt: skip
    axes.set_xlim(min(0.0, float(shares.min())), 1.3)
    axes.set_xticks([0, 0.2, 0.4, 0.6, 0.8, 1.0], [f"{10 * n} %" for n in range(0, 11, 2)])
    axes.set_ylim(len(shares) - 0.5, -0.5)
    axes.grid(visible=False, axis="y")
    axes.tick_params(axis="y", length=0)
