"""Labels beside their points: over no other label, and off what is drawn where there is room."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from femcore.base.arrays import BoolArray, FloatArray
from femcore.plotting.drawing import settle_layout
from femcore.plotting.style import BACKGROUND_COLOUR, MUTED_COLOUR, TEXT_COLOUR

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

LABEL_CLEARANCE, LABEL_DISTANCE, LABEL_REACH, LEADER_LENGTH = 1.5, 5.0, 75.0, 12.0
"""Points of type: from a label to what is drawn; to its point, at least and at most; beyond the last, a line joins the two."""
PLACES_TRIED, PLACES_AT_ONCE = 300, 24
"""For each label; most find one of the first."""


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
    found = boxes + LABEL_DISTANCE * per_point
    taken = np.concatenate([taken, np.hstack([points, points])])
    left = list(range(len(points)))
    for lines, leaders_clear in (
        (drawn, True),
        (drawn, False),
        (arrows, False),
        (rings, False),
        (np.zeros((0, 4)), False),
    ):
        search, missing = _Search(page, per_point, lines, taken, leaders_clear=leaders_clear), []
        for number in left:
            box = search.place(points[number], boxes[number, 2:] - boxes[number, :2])
            if box is None:
                missing.append(number)
            else:
                found[number] = box
        taken, left = np.concatenate([taken, search.placed]), missing
    return found


class _Search:
    """Places for one label after another, each the first that is free of those that the library proposes, the nearest first.

    lines, taken : (s, 4), (t, 4), pixels: what a label may not cover;   leaders_clear : nor may it cover the line that leads to
                   another one, or that of its own cross such a line or a label
    placed       : (k, 4), of the labels so far
    """

    def __init__(
        self, page: FloatArray, per_point: float, lines: FloatArray, taken: FloatArray, *, leaders_clear: bool
    ) -> None:
        self._page, self._per_point, self._lines, self._taken = page, per_point, lines, taken
        self._leaders_clear, self._leaders = leaders_clear, np.zeros((0, 4))
        self.placed = np.zeros((0, 4))

    def place(self, point: FloatArray, size: FloatArray) -> FloatArray | None:
        """The box (4,) of the next label, of that size (2,), near its point (2,); None where there is no free one."""
        from textalloc.candidates import generate_candidates  # noqa: PLC0415  (start-up time)
        from textalloc.overlap_functions import inside_plot, non_overlapping_with_boxes  # noqa: PLC0415  (likewise)

        anywhere: Any = None
        (wide, high), (x, y), (left, bottom, right, top) = size.tolist(), point.tolist(), self._page.tolist()
        near, far, margin = (
            points * self._per_point for points in (LABEL_DISTANCE, LABEL_REACH, LABEL_CLEARANCE)
        )
        proposed = generate_candidates(wide, high, x, y, near, near, far, far, PLACES_TRIED, 0, anywhere)
        fits = proposed[inside_plot(left, bottom, right, top, proposed)]
        fits = fits[non_overlapping_with_boxes(self._taken, fits, margin, margin)]
        fits = fits[non_overlapping_with_boxes(self.placed, fits, margin, margin)]
        for some in np.array_split(fits, -(-len(fits) // PLACES_AT_ONCE)) if len(fits) else ():
            leaders = np.hstack([np.clip(point, some[:, :2], some[:, 2:]), np.tile(point, (len(some), 1))])
            free = some[self._is_clear(some, leaders, margin)]
            if len(free):
                best = free[:1]
                self.placed = np.concatenate([self.placed, best])
                leader = np.hstack([np.clip(point, best[:, :2], best[:, 2:]), point[None]])
                self._leaders = np.concatenate([self._leaders, leader])
                return np.asarray(best[0])
        return None

    def _is_clear(self, some: FloatArray, leaders: FloatArray, margin: float) -> BoolArray:
        """(n,): which boxes (n, 4) cover no line, and, where that is wanted, lie well with their leaders (n, 4) to the others."""
        from textalloc.overlap_functions import line_intersect, non_overlapping_with_lines  # noqa: PLC0415  (start-up time)

        lines = np.concatenate([self._lines, self._leaders]) if self._leaders_clear else self._lines
        low, high = some[:, :2].min(axis=0) - margin, some[:, 2:].max(axis=0) + margin
        ends = lines.reshape(-1, 2, 2)
        lines = lines[((ends.max(axis=1) >= low) & (ends.min(axis=1) <= high)).all(axis=1)]
        clear = non_overlapping_with_lines(lines, some, margin, margin)
        if self._leaders_clear and len(self.placed):
            clear &= non_overlapping_with_lines(leaders, self.placed, margin, margin, axis=0)
            clear &= ~line_intersect(leaders, self._leaders).any(axis=1)
        return np.asarray(clear)
