"""Pictures of a sweep: the governing margin over two inputs, and what no other design betters in mass, margin and torque."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from cases.analyses.sweeps.margin_field import PROBABILITY, FieldInput, MarginField
from cases.analyses.sweeps.pareto import Candidates
from femcore.base.arrays import FloatArray
from femcore.base.errors import InputFault
from femcore.base.numbers import largest, shorten, unit_prefix
from femcore.plotting import style
from femcore.plotting.drawing import Drawing
from femcore.plotting.labels import place_labels

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.colors import LinearSegmentedColormap, Normalize
    from matplotlib.patheffects import AbstractPathEffect

MAX_PANELS = 6
MAX_NAMES = 14
"""Of candidates written into a picture."""
MOST_LEVELS = 9
SCALE_MARKS = 4
"""At most, of the scale of torques."""
LEAST_SPAN = 0.5
"""Of margin on either side of 0 that the colours are spread over, so that a small change does not seem a large one."""
PANEL_HEIGHT = 3.4
"""Inches."""


def margin_colours() -> LinearSegmentedColormap:
    """From dark, low margins, by way of amber to nearly white, in steps of lightness that remain in grey."""
    from matplotlib.colors import LinearSegmentedColormap  # noqa: PLC0415  (start-up time)

    dark, middle = style.SERIES_COLOURS[3], style.SERIES_COLOURS[1]
    return LinearSegmentedColormap.from_list("margin", [dark, middle, "#f8f3e6"])


def torque_colours() -> LinearSegmentedColormap:
    """From nearly white to dark blue."""
    from matplotlib.colors import LinearSegmentedColormap  # noqa: PLC0415  (start-up time)

    return LinearSegmentedColormap.from_list("torque", ["#e8ecf4", style.SERIES_COLOURS[0]])


def contour_drawing(fields: Sequence[MarginField]) -> Drawing:
    """A panel for each joint: filled contours of the margin, its limit as a heavy line, the boat's point and its scatter.

    InputFault for more joints than there is room for.
    """
    if len(fields) > MAX_PANELS:
        cure = f"name at most {MAX_PANELS} with joints = [..] in the grid"
        raise InputFault("--contour", f"{len(fields)} joints are too many for one picture", cure)
    columns = min(len(fields), 2)
    rows = -(-len(fields) // columns)
    with style.drawing_style():
        figure = style.new_figure(style.WIDTH * (0.62 if columns == 1 else 1.0), 0.5 + PANEL_HEIGHT * rows)
        panels = np.ravel(figure.subplots(rows, columns, squeeze=False))
        levels = _levels(np.concatenate([field.margin[field.known] for field in fields]))
        for axes, field in zip(panels, fields, strict=False):
            _panel(axes, field, levels)
        for axes in panels[len(fields) :]:
            axes.axis("off")
        figure.suptitle("lines: governing margin", x=0.01, ha="left", fontsize=8)
    return Drawing(figure, "margin-contour", "Governing margin over two inputs", contour_words(fields))


def contour_words(fields: Sequence[MarginField]) -> str:
    """What the picture shows, and what it leaves out."""
    first, second = fields[0].inputs
    margin = np.concatenate([field.margin[field.known] for field in fields])
    low, high = (f"{value:.2g}".replace("-", "−") for value in (margin.min(), margin.max()))
    said = f"Lowest margin of all parts over {first.key} and {second.key}: {low} to {high}. "
    if margin.min() < 0 < margin.max():
        said += "Heavy line: margin 0, inadequate on its dark side. "
    else:
        said += f"{'It is below 0 everywhere' if margin.max() <= 0 else 'It is not below 0 anywhere'}. "
    if _covers(fields[0]):
        said += "Point: the boat as entered. "
    elif first.own is not None and second.own is not None:
        said += "The boat as entered is outside the values that were swept. "
    if fields[0].outline is not None:
        said += f"Dashed: where both inputs are with {100 * PROBABILITY:g} % probability, by their scatter. "
    else:
        said += "No scatter is known of one of them, so none is drawn. "
    if fields[0].others:
        said += f"At each place the lowest over {', '.join(fields[0].others)}. "
    if not all(field.known.all() for field in fields):
        said += "Crosses: designs without an answer. "
    return said.strip()


def _levels(margin: FloatArray) -> FloatArray:
    """Round ones over the margins of all panels; 0 is one of them where it is within."""
    from matplotlib.ticker import MaxNLocator  # noqa: PLC0415  (start-up time)

    found = MaxNLocator(MOST_LEVELS, steps=[1, 2, 2.5, 5, 10]).tick_values(
        float(margin.min()), float(margin.max())
    )
    return np.asarray(found)


def _anchored(levels: FloatArray) -> Normalize:
    """Amber at the limit in every picture: what is dark is inadequate, what is light is not."""
    from matplotlib.colors import TwoSlopeNorm  # noqa: PLC0415  (start-up time)

    return TwoSlopeNorm(0.0, min(-LEAST_SPAN, float(levels[0])), max(LEAST_SPAN, float(levels[-1])))


def _panel(axes: Axes, field: MarginField, levels: FloatArray) -> None:
    """One joint."""
    from matplotlib.patheffects import withStroke  # noqa: PLC0415  (start-up time)
    from matplotlib.ticker import FuncFormatter, LogLocator, NullFormatter  # noqa: PLC0415  (start-up time)
    from matplotlib.tri import Triangulation  # noqa: PLC0415  (start-up time)

    first, second = field.inputs
    scale = np.array([first.per_unit, second.per_unit])
    at, known = field.points / scale, field.known
    # triangles are chosen where both axes are alike, on their own scales
    flat = np.column_stack([_even(at[known, axis], one) for axis, one in enumerate(field.inputs)])
    triangles = Triangulation(at[known, 0], at[known, 1], Triangulation(flat[:, 0], flat[:, 1]).triangles)
    margin = field.margin[known]
    axes.tricontourf(triangles, margin, levels=levels, cmap=margin_colours(), norm=_anchored(levels))
    lines = axes.tricontour(
        triangles, margin, levels=levels, colors=style.TEXT_COLOUR, linewidths=0.5, linestyles="-"
    )
    halo: list[AbstractPathEffect] = [withStroke(linewidth=2.5, foreground=style.BACKGROUND_COLOUR)]
    if margin.min() < 0 < margin.max():
        limit = axes.tricontour(triangles, margin, levels=[0.0], colors=style.TEXT_COLOUR, linewidths=2.2)
        limit.set_path_effects([withStroke(linewidth=4.2, foreground=style.BACKGROUND_COLOUR)])
    for text in axes.clabel(
        lines, fontsize=7.5, fmt=lambda level: f"{level:g}".replace("-", "−"), colors=style.TEXT_COLOUR
    ):
        text.set_path_effects(halo)
    axes.plot(*at[~known].T, "x", color=style.MUTED_COLOUR, ms=4)
    for set_scale, axis, one in ((axes.set_xscale, axes.xaxis, first), (axes.set_yscale, axes.yaxis, second)):
        if one.geometric:
            set_scale("log")
            axis.set_major_locator(LogLocator(subs=(1.0, 2.0, 5.0)))
            axis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))
            axis.set_minor_formatter(NullFormatter())
    limits = [(values.min(), values.max()) for values in at.T]
    if field.outline is not None:
        axes.plot(
            *(field.outline / scale).T, color=style.TEXT_COLOUR, lw=1.3, ls=(0, (4, 2)), path_effects=halo
        )
    if first.own is not None and second.own is not None and _covers(field):
        x, y = first.own / first.per_unit, second.own / second.per_unit
        axes.plot(
            x,
            y,
            "o",
            color=style.BACKGROUND_COLOUR,
            mec=style.TEXT_COLOUR,
            mew=1.6,
            ms=7,
            zorder=5,
            clip_on=False,
        )
    axes.set_xlim(*limits[0])
    axes.set_ylim(*limits[1])
    axes.set_title(shorten(field.joint, 36))
    axes.set_xlabel(_label(first))
    axes.set_ylabel(_label(second))
    axes.grid(visible=False)


def _covers(field: MarginField) -> bool:
    """Whether the boat as entered is within what both inputs were varied over."""
    ends = zip(field.inputs, field.points.min(axis=0), field.points.max(axis=0), strict=True)
    return all(one.own is not None and low <= one.own <= high for one, low, high in ends)


def _even(values: FloatArray, one: FieldInput) -> FloatArray:
    """Values of an input as an axis shows them, from 0 to 1."""
    shown = np.log(values) if one.geometric else values
    return np.asarray((shown - shown.min()) / np.ptp(shown))


def _label(one: FieldInput) -> str:
    unit = one.unit.replace("**2", "²").replace("**4", "⁴").replace("*", "·")
    return f"{shorten(one.key, 40)}, {unit}" if unit else shorten(one.key, 40)


def pareto_drawing(found: Candidates) -> Drawing:
    """Margin over mass added, the torque by size and shade; a ring around what nothing betters."""
    best = found.unbettered
    with style.drawing_style():
        figure = style.new_figure(style.WIDTH, 4.4)
        axes = figure.add_subplot()
        by, unit = unit_prefix(largest(found.torque.tolist()), "N·m")
        torque = found.torque / by
        shade: dict[str, Any] = {"cmap": torque_colours(), "vmin": 0.0, "vmax": float(torque.max()) or 1.0}
        size = _mark_area(torque, torque)
        for number, joint in enumerate(dict.fromkeys(found.joints)):
            of = np.array([name == joint for name in found.joints])
            axes.scatter(
                found.mass[of], found.margin[of], s=size[of], c=torque[of], marker=style.marker(number), lw=0.4,
                edgecolors=style.MUTED_COLOUR, label=shorten(joint, 36), **shade,
            )  # fmt: skip
        axes.scatter(
            found.mass[best], found.margin[best], s=size[best] + 90, facecolors="none", edgecolors=style.TEXT_COLOUR,
            lw=1.3, zorder=4,
        )  # fmt: skip
        axes.axhline(0.0, color=style.TEXT_COLOUR, lw=1.4)
        axes.annotate(
            "margin 0: inadequate below", (1.0, 0.0), (-2, 3), xycoords=("axes fraction", "data"),
            textcoords="offset points", fontsize=8, ha="right",
        )  # fmt: skip
        axes.set_xlabel("mass added to bows and front end as entered, with fittings, kg")
        axes.set_ylabel("governing margin")
        legend = axes.legend(loc="lower left", bbox_to_anchor=(0.0, 1.0), ncols=3)
        for handle in legend.legend_handles:
            handle.set_sizes([36])  # type: ignore[union-attr]
            handle.set_facecolor(style.MUTED_COLOUR)  # type: ignore[union-attr]
        axes.add_artist(legend)
        _torque_scale(axes, torque, unit)
        written = best if len(best) > MAX_NAMES else np.ones(len(best), dtype=bool)
        named = np.flatnonzero(written & np.array([bool(label) for label in found.labels]))
        if len(named) <= MAX_NAMES:
            at = np.column_stack([found.mass[named], found.margin[named]])
            place_labels(axes, at, [shorten(found.labels[n], 40) for n in named])
    return Drawing(figure, "pareto", "Mass added against margin against torque", pareto_words(found))


def _mark_area(torque: FloatArray, every: FloatArray) -> FloatArray:
    """Square points of a mark, by its torque over the largest of all."""
    return np.asarray(14 + 110 * torque / (float(every.max()) or 1.0))


def _torque_scale(axes: Axes, torque: FloatArray, unit: str) -> None:
    """A few marks of round torques, with the size and shade that candidates of such a torque have."""
    from matplotlib.lines import Line2D  # noqa: PLC0415  (start-up time)
    from matplotlib.ticker import MaxNLocator  # noqa: PLC0415  (start-up time)

    most = float(torque.max())
    if not most:
        return
    round_ones = MaxNLocator(SCALE_MARKS, steps=[1, 2, 2.5, 5, 10]).tick_values(0.0, most)
    marks = [
        Line2D(
            [], [], ls="", marker="o", ms=float(np.sqrt(_mark_area(np.array(value), torque))), mew=0.4,
            mfc=torque_colours()(value / most), mec=style.MUTED_COLOUR, label=f"{value:g} {unit}",
        )
        for value in round_ones if 0 < value <= most
    ]  # fmt: skip
    axes.legend(
        handles=marks, title="torque at the joint, largest of all cases", title_fontsize=8, loc="lower right",
        bbox_to_anchor=(1.0, 1.0), ncols=len(marks), alignment="right",
    )  # fmt: skip


def pareto_words(found: Candidates) -> str:
    """What the picture shows."""
    count = int(found.unbettered.sum())
    return (
        f"{len(found.mass):,} candidates. Ringed: {count:,} that no other one betters in mass, margin or torque without being "
        "worse in another. Mass is of tubes, shells, what the file gives a mass, and fittings that it describes, but for glue "
        "and what fixes tangs and eyes to tubes. Larger and darker marks have more torque at the joint."
    )
