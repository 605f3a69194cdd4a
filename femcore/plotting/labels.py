"""Labels beside their points: over no other label, and off what is drawn where there is room."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from femcore.base.arrays import FloatArray
from femcore.plotting.drawing import settle_layout
from femcore.plotting.style import BACKGROUND_COLOUR, MUTED_COLOUR, TEXT_COLOUR

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

LABEL_CLEARANCE, LABEL_DISTANCE, LABEL_REACH, LEADER_LENGTH = 1.5, 5.0, 75.0, 12.0
"""Points of type: from a label to what is drawn; to its point, at least and at most; beyond the last, a line joins the two."""
FEW_PLACES, MANY_PLACES = 40, 300
"""Tried for each label: most find one of a few, and looking for one takes its time by their number."""


def place_labels(
    axes: Axes,
    points: npt.ArrayLike,
    names: Sequence[str],
    *,
    size: float = 8.0,
    colours: Sequence[str] = (),
    may_cover: Sequence[Line2D] = (),
) -> None:
    """Write a name beside each point (k, 2), within the panel and over nothing that is drawn there already but `may_cover`.

    Where there is no such place, a name may cover lines and areas, but no other name or named point and no arrow; where
    there is not even that, it is beside its point. A thin line leads from a name to a point that is not close.
    """
    from matplotlib.lines import Line2D  # noqa: PLC0415  (start-up time)

    figure, at = axes.get_figure(root=True), np.asarray(points, dtype=float).reshape(-1, 2)
    if figure is None or not len(at):
        return
    settle_layout(figure)
    drawn = _drawn(axes, may_cover)
    texts = [
        axes.annotate(name, (x, y), (0, 0), textcoords="offset points", fontsize=size, color=colour)
        for name, (x, y), colour in zip(names, at.tolist(), colours or [TEXT_COLOUR] * len(at), strict=True)
    ]
    boxes = np.array([text.get_window_extent().extents for text in texts])
    starts, per_point = np.asarray(axes.transData.transform(at)), figure.dpi / 72
    free = _free_boxes(np.array(axes.bbox.extents), per_point, starts, boxes, *drawn)
    for text, point, start, box, own in zip(texts, at, starts, free, boxes, strict=True):
        near = np.clip(start, box[:2], box[2:])
        side = int(np.sign(near[0] - start[0]))
        x = ((box[0] + box[2]) / 2, box[0], box[2])[side]
        text.set_horizontalalignment(("center", "left", "right")[side])
        text.set_position((float(x - start[0]) / per_point, float(box[1] - own[1]) / per_point))
        text.set_bbox({"facecolor": BACKGROUND_COLOUR, "edgecolor": "none", "alpha": 0.7, "pad": 0.8})
        text.set_in_layout(False)
        if np.hypot(*(near - start)) > LEADER_LENGTH * per_point:
            end = axes.transData.inverted().transform(near)
            axes.add_line(
                Line2D([point[0], end[0]], [point[1], end[1]], color=MUTED_COLOUR, lw=0.5, zorder=3)
            )


def _drawn(axes: Axes, may_cover: Sequence[Line2D]) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """What a panel shows, pixels: segments (s, 4) of all that is drawn, of arrows, of round arrows; boxes (t, 4) of texts."""
    from matplotlib.patches import FancyArrow, FancyArrowPatch  # noqa: PLC0415  (start-up time)
    from matplotlib.text import Annotation, Text  # noqa: PLC0415  (start-up time)

    for text in axes.texts:
        text.get_window_extent()  # moves an annotation to its place, and its arrow
    boxes = [np.array(Text.get_window_extent(text).extents) for text in axes.texts if text.get_text()]
    arrows = [text.arrow_patch for text in axes.texts if isinstance(text, Annotation) and text.arrow_patch]
    straight = [patch for patch in axes.patches if isinstance(patch, FancyArrow)]
    rings = [patch for patch in axes.patches if isinstance(patch, FancyArrowPatch)]
    return (
        _segments([*(line for line in axes.lines if line not in may_cover), *axes.patches, *arrows]),
        _segments([*straight, *rings]),
        _segments(rings),
        np.array(boxes).reshape(-1, 4),
    )


def _segments(artists: Sequence[Line2D | Patch]) -> FloatArray:
    """(s, 4), pixels: ends (x, y, x, y) of the straight pieces of lines and outlines."""
    paths = [artist.get_transform().transform_path(artist.get_path()) for artist in artists]
    cleaned = [path.cleaned(simplify=True) for path in paths]
    lines = [np.asarray(line) for path in cleaned for line in path.to_polygons(closed_only=False)]
    return np.concatenate([np.zeros((0, 4)), *(np.hstack([line[:-1], line[1:]]) for line in lines)])


def _free_boxes(
    page: FloatArray,
    per_point: float,
    points: FloatArray,
    boxes: FloatArray,
    drawn: FloatArray,
    arrows: FloatArray,
    rings: FloatArray,
    taken: FloatArray,
) -> FloatArray:
    """(k, 4): boxes of the size of `boxes` near their points (k, 2) on the page (4,); all in pixels, `per_point` of them."""
    from textalloc.non_overlapping_boxes import get_non_overlapping_boxes  # noqa: PLC0415  (start-up time)

    wide, high = page[2:] - page[:2]
    options: dict[str, Any] = {
        "xlims": page[[0, 2]], "ylims": page[[1, 3]], "aspect_ratio": wide / high,
        "margin": LABEL_CLEARANCE * per_point / wide, "min_distance": LABEL_DISTANCE * per_point / wide,
        "max_distance": LABEL_REACH * per_point / wide, "draw_all": False, "draw_lines": True,
        "verbose": False, "scatter_xy": None, "scatter_sizes": None, "text_scatter_sizes": None, "direction": None,
        "priority_strategy": None,
    }  # fmt: skip
    found = boxes + LABEL_DISTANCE * per_point
    taken = np.concatenate([taken, np.hstack([points, points])])
    left = np.arange(len(points))
    for lines, leaders_clear, places in (
        (drawn, True, FEW_PLACES),
        (drawn, True, MANY_PLACES),
        (drawn, False, MANY_PLACES),
        (arrows, False, FEW_PLACES),
        (arrows, False, MANY_PLACES),
        (rings, False, MANY_PLACES),
        (np.zeros((0, 4)), False, MANY_PLACES),
    ):
        if not len(left):
            break
        obstacles: dict[str, Any] = {
            "nbr_candidates": places,
            "lines_xyxy": lines if len(lines) else None,
            "scatter_plot_bbs": taken,
            "avoid_label_lines_overlap": leaders_clear,
            "avoid_crossing_label_lines": leaders_clear,
        }
        sizes = boxes[left, 2:] - boxes[left, :2]
        texts = [(*at, *size, 0.0) for at, size in zip(points[left], sizes, strict=True)]
        placed, missing = get_non_overlapping_boxes(texts, **obstacles, **options)
        for x, y, width, height, _, number in placed:
            found[left[number]] = x, y, x + width, y + height
        taken = np.concatenate([taken, found[left[[number for *_, number in placed]]]])
        left = left[missing]
    return found
