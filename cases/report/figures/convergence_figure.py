"""The picture of the convergence studies: error against number of elements, with the orders that theory gives."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from cases.verification.convergence import Convergence
from femcore.base.numbers import superscript
from femcore.plotting import style
from femcore.plotting.drawing import Drawing

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

GUIDE_LINE_OFFSET = 0.35
"""A guide line stands below the lowest study of its order, by this factor at the finest mesh."""


def convergence_picture(found: Sequence[Convergence]) -> Drawing:
    """Every study as a line, and a dashed guide for each order."""
    with style.drawing_style():
        figure = style.new_figure(7.2, 4.6)
        draw_convergence(figure, found)
        caption = "Relative error against number of elements. Dashed: orders of theory."
        return Drawing(figure, "convergence", "Convergence", caption)


def draw_convergence(figure: Figure, found: Sequence[Convergence]) -> None:
    """The same on a figure of one's own."""
    axes = figure.subplots()
    for number, study in enumerate(found):
        line = {**style.series(number), "linestyle": "-"}
        line["markersize"] = 9.0 - number  # so that a line under another still shows
        axes.loglog(study.elements, study.error, marker=style.marker(number), label=study.name, **line)
    for order in sorted({study.order for study in found}):
        _guide(axes, [study for study in found if study.order == order], order)
    counts = found[0].elements
    axes.set_xticks([int(count) for count in counts], [str(count) for count in counts])
    powers = range(*np.floor(np.log10(axes.get_ylim())).astype(int) + 1)
    axes.set_yticks([10.0**power for power in powers], [f"10{superscript(str(p))}" for p in powers])
    axes.minorticks_off()
    axes.set_xlabel("elements along the beam")
    axes.set_ylabel("relative error")
    axes.set_title("Error against number of elements")
    figure.legend(loc="outside lower left", ncols=2)


def _guide(axes: Axes, alike: Sequence[Convergence], order: int) -> None:
    """A line of that slope below the studies of that order, with its order written beside it."""
    counts = alike[0].elements
    lowest = min(float(study.error[-1]) for study in alike)
    line = GUIDE_LINE_OFFSET * lowest * (counts[-1] / counts) ** float(order)
    axes.loglog(counts, line, color=style.MUTED_COLOUR, lw=0.9, ls=(0, (4, 3)), zorder=1)
    middle = int(np.argsort(counts)[len(counts) // 2])
    at = (float(counts[middle]), float(line[middle]))
    axes.annotate(
        f"order {order}",
        at,
        (-4, -4),
        textcoords="offset points",
        ha="right",
        va="top",
        fontsize=8,
        color=style.MUTED_COLOUR,
    )
