"""Dimensioned drawings of a joint's fitting in two views, each part filled by its utilisation and numbered for the list below."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from cases.analyses.analysis import Analysis
from cases.analyses.part_margins import PartMargins
from cases.analyses.study import Study
from cases.report.data import words
from cases.report.figures.drawing_process import Job
from cases.report.figures.fitting_shapes import DrawnJoint, FittingView, views
from femcore.base import numbers
from femcore.plotting import style
from femcore.plotting.dimensions import dimension
from femcore.plotting.drawing import Drawing
from femcore.plotting.labels import place_labels
from models.joints.base import without_side
from models.joints.clamped import ClampedJoint
from models.strength.margins import GoverningCheck

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

TALLEST, BETWEEN, EDGE = 3.1, 0.35, 0.28
"""Inches: of a view; between the two; around them for the numbers."""
TITLE, KEY, ENTRY = 0.36, 0.34, 0.37
"""Inches: above the views; of the key of colours; of a part in the list of two columns."""
KEY_WORDS = (
    f"utilisation below {style.HIGH_UTILISATION:g}",
    f"{style.HIGH_UTILISATION:g} to 1",
    "above 1: inadequate",
    "in no check here",
)


def fitting_jobs(study: Study, found: Analysis) -> Iterator[Job]:
    """A job for every joint whose fitting can be drawn: lug and pin, bonded socket, straps and clamps."""
    slugs = numbers.slugs([joint.joint.name for joint in study.joints])
    for joint, part_margins, slug in zip(study.joints, found.part_margins, slugs, strict=True):
        if isinstance(joint.joint, DrawnJoint):
            parts = governing_by_part(part_margins)
            yield partial(fitting_picture, joint.joint, parts, f"fitting-{slug}")


def governing_by_part(part_margins: PartMargins) -> dict[str, GoverningCheck]:
    """The governing check of each part of the joint itself, of both sides, the lowest margin first."""
    found: dict[str, GoverningCheck] = {}
    for worst, name in part_margins.worst:
        if name is not None and worst.part in part_margins.joint_part_names:
            part = without_side(worst.part)
            found.setdefault(part, worst)
    return found


def utilisation(check: GoverningCheck) -> float:
    """Factored load over capacity, 1 ∕ (1 + margin); 0 without load."""
    return 1 / (1 + check.margin) if np.isfinite(check.margin) else 0.0


def fitting_picture(joint: DrawnJoint, parts: Mapping[str, GoverningCheck], name: str) -> Drawing:
    """Both views at one scale, and the list of parts below, the lowest margin first."""
    shown = views(joint)
    known = [name for view in shown for name in view.names]
    places = {part: names_in_drawing(part, known) for part in parts}
    sizes = [high - low for low, high in (view.extent for view in shown)]
    room = style.WIDTH - BETWEEN - 4 * EDGE
    per_mm = min(room / sum(size[0] for size in sizes), TALLEST / max(size[1] for size in sizes))
    tall = per_mm * max(size[1] for size in sizes) + 2 * EDGE
    rows = -(-len(parts) // 2)
    total = TITLE + tall + KEY + ENTRY * rows + 0.05
    with style.drawing_style():
        figure = style.new_figure(style.WIDTH, total, fixed_layout=True)
        left = 0.0
        for view, size in zip(shown, sizes, strict=True):
            wide = per_mm * size[0] + 2 * EDGE
            box = (left / style.WIDTH, (total - TITLE - tall) / total, wide / style.WIDTH, tall / total)
            _draw(figure, box, view, parts, places, per_mm)
            left += wide + BETWEEN
        _list(figure, parts, (total - TITLE - tall) / total, total)
        called = numbers.plain(joint.name)
        worst = next(iter(parts.items()), None)
        caption = (
            f"Fitting of ‘{called}’ in mm, {_scale_words(joint)}. Numbers: the parts in the list, the "
            "lowest margin first; of each its governing check over all cases and combinations, the worse of both sides. "
            "Utilisation = safety factor × load ∕ capacity."
        )
        if worst is not None:
            part, check = worst
            caption += (
                f" Highest: {part}, {check.check}, utilisation {words.number(utilisation(check), 2)} "
                f"(margin {words.number(min(check.margin, 999), 2)})."
            )
        return Drawing(figure, name, f"Fitting: {called}", caption)


def _scale_words(joint: DrawnJoint) -> str:
    """What of the drawing is to scale."""
    if isinstance(joint, ClampedJoint):
        return f"beam and places to scale; {'straps' if joint.kind == 'strapped' else 'clamps'} and saddle as a sketch"
    return "to scale except for skins too thin to show"


def _draw(
    figure: Figure,
    box: tuple[float, float, float, float],
    view: FittingView,
    parts: Mapping[str, GoverningCheck],
    places: Mapping[str, frozenset[str]],
    per_mm: float,
) -> None:
    axes = figure.add_axes(box)
    low, high = view.extent
    edge = EDGE / per_mm
    tall = box[3] * figure.get_figheight() / per_mm
    middle = (low[1] + high[1]) / 2
    axes.set(xlim=(low[0] - edge, high[0] + edge), ylim=(middle - tall / 2, middle + tall / 2))
    axes.axis("off")
    axes.set_title(view.title, fontsize=8, y=1.0)
    for shape in view.shapes:
        own = [check for part, check in parts.items() if shape.part in places[part]]
        used = max(map(utilisation, own)) if own else None
        axes.fill(
            *shape.outline.T, facecolor=style.utilisation_colour(used), edgecolor=style.TEXT_COLOUR, lw=0.7, zorder=shape.over,
        )  # fmt: skip
    for one in view.measures:
        dimension(axes, one.start, one.end, one.aside, one.text)
    _number(axes, view, places)


def _number(axes: Axes, view: FittingView, places: Mapping[str, frozenset[str]]) -> None:
    """The numbers of the parts beside them; those of one place together."""
    together: dict[tuple[float, float], list[str]] = {}
    for number, names in enumerate(places.values(), start=1):
        for name in names & view.anchors.keys():
            together.setdefault(view.anchors[name], []).append(str(number))
    for point in together:
        axes.plot(*point, ".", color=style.TEXT_COLOUR, ms=3.5, zorder=6)
    place_labels(
        axes,
        np.array(list(together)).reshape(-1, 2),
        [", ".join(names) for names in together.values()],
        size=8.5,
    )


def names_in_drawing(part: str, known: Sequence[str]) -> frozenset[str]:
    """Which of the drawing's names a part has: the longest that its own name begins with, with its number and without."""
    found = set()
    for form in (part, re.sub(r" \d+\b", "", part)):
        fitting = [name for name in known if name and form.startswith(name)]
        if fitting:
            found.add(max(fitting, key=len))
    return frozenset(found)


def _list(figure: Figure, parts: Mapping[str, GoverningCheck], top: float, total: float) -> None:
    """The key of colours, and each part with its number, governing check, load and margin."""
    axes = figure.add_axes((0.0, 0.0, 1.0, top))
    axes.set(xlim=(0, style.WIDTH), ylim=(0, top * total))
    axes.axis("off")
    high, at = top * total - 0.17, 0.05
    for colour, said in zip(style.UTILISATION_COLOURS, KEY_WORDS, strict=True):
        axes.fill(
            [at, at + 0.18, at + 0.18, at], [high - 0.06, high - 0.06, high + 0.06, high + 0.06],
            facecolor=colour, edgecolor=style.TEXT_COLOUR, lw=0.7,
        )  # fmt: skip
        axes.text(at + 0.25, high, said, fontsize=7.5, va="center")
        at += 0.45 + 0.062 * len(said)
    rows = -(-len(parts) // 2)
    for number, (part, check) in enumerate(parts.items()):
        column, row = divmod(number, rows)
        x, y = column * style.WIDTH / 2, high - KEY / 2 - ENTRY * (row + 0.45)
        used = utilisation(check)
        axes.fill(
            [x + 0.05, x + 0.15, x + 0.15, x + 0.05], [y - 0.14, y - 0.14, y + 0.14, y + 0.14],
            facecolor=style.utilisation_colour(used), edgecolor=style.TEXT_COLOUR, lw=0.6,
        )  # fmt: skip
        verdict = "; inadequate" if check.margin < 0 else ""
        load = "" if check.unit in ("", "1") else f"{words.quantity(check.load, check.unit)}, "
        said = (
            f"{number + 1}  {part}: utilisation {words.number(used, 2)}{verdict}\n"
            f"    {check.check}: {load}margin {words.number(min(check.margin, 999), 2)}"
        )
        axes.text(x + 0.2, y, said, fontsize=7.0, va="center", linespacing=1.25)
