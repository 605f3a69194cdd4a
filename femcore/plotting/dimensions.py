"""Dimension lines of a drawing: a line with arrows at both ends, extension lines to what it measures, and its number on it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from femcore.plotting import style

if TYPE_CHECKING:
    from matplotlib.axes import Axes

TEXT_SIZE = 7.0


def dimension(
    axes: Axes, start: Sequence[float], end: Sequence[float], aside: Sequence[float], text: str
) -> None:
    """Measure from `start` to `end`, drawn off by `aside`, all in the axes' own units; level or upright."""
    from matplotlib.lines import Line2D  # noqa: PLC0415  (start-up time)

    first, last, off = (np.asarray(point, dtype=float) for point in (start, end, aside))
    a, b = first + off, last + off
    for foot, tip in ((first, a), (last, b)):
        over = tip + 0.12 * off
        axes.add_line(Line2D(*np.array([foot, over]).T, color=style.MUTED_COLOUR, lw=0.5, zorder=3))
    arrow = {
        "arrowstyle": "<|-|>",
        "color": style.MUTED_COLOUR,
        "lw": 0.7,
        "shrinkA": 0,
        "shrinkB": 0,
        "mutation_scale": 7,
    }
    axes.annotate("", tuple(b), tuple(a), arrowprops=arrow, zorder=4)
    upright = abs(b[1] - a[1]) > abs(b[0] - a[0])
    middle = (a + b) / 2
    axes.annotate(
        text, tuple(middle), (0, 0), textcoords="offset points", ha="center", va="center", fontsize=TEXT_SIZE,
        rotation=90 if upright else 0, zorder=5,
        bbox={"facecolor": style.BACKGROUND_COLOUR, "edgecolor": "none", "pad": 0.6},
    )  # fmt: skip
    axes.update_datalim([a, b, a + 0.4 * off, b + 0.4 * off])
