"""One look for every picture: colours, type, names that fit, and the same bytes for the same input.

The six colours of a series are distinct to people with red- or green-blindness too (see the test), and
every series has a line style and a marker of its own besides. A finished picture is a PNG on white and an SVG
whose colours are CSS variables, so that a page can show it in light and dark.
"""

from __future__ import annotations

import io
import re
import warnings
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from femcore.base.arrays import FloatArray
from femcore.base.numbers import plain

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

SERIES_COLOURS = ("#2f4579", "#d2972e", "#1b7171", "#5a1d2a", "#a58ec3", "#556c2d")
TEXT_COLOUR, MUTED_COLOUR, GRID_COLOUR, BACKGROUND_COLOUR = "#1f2933", "#67737e", "#c9d0d6", "#ffffff"
DASHES: tuple[Any, ...] = (
    "-", (0, (6, 2)), (0, (1.2, 1.4)), (0, (7, 2, 1.2, 2)), (0, (3, 1.5)), (0, (9, 2, 3, 2)),
)  # fmt: skip
WIDTH = 7.4
"""Inches: of a picture as wide as the page."""
MARKERS = ("o", "s", "^", "D", "v", "P")
CSS_NAMES = {
    **{colour: f"series-{i + 1}" for i, colour in enumerate(SERIES_COLOURS)},
    TEXT_COLOUR: "ink", MUTED_COLOUR: "quiet", GRID_COLOUR: "faint", BACKGROUND_COLOUR: "paper",
}  # fmt: skip
RC_PARAMS: dict[Any, Any] = {
    "font.family": "DejaVu Sans", "font.size": 9.0, "text.parse_math": False, "text.color": TEXT_COLOUR,
    "axes.edgecolor": GRID_COLOUR, "axes.labelcolor": TEXT_COLOUR, "axes.titlesize": 9.5, "axes.titlelocation": "left",
    "axes.titleweight": "bold", "axes.titlecolor": TEXT_COLOUR, "axes.spines.top": False, "axes.spines.right": False,
    "axes.grid": True, "axes.axisbelow": True, "axes.unicode_minus": True, "axes.linewidth": 0.8,
    "grid.color": GRID_COLOUR, "grid.linewidth": 0.5, "xtick.color": MUTED_COLOUR, "ytick.color": MUTED_COLOUR,
    "xtick.labelsize": 8.0, "ytick.labelsize": 8.0, "lines.linewidth": 1.6, "legend.frameon": False,
    "legend.fontsize": 8.5, "figure.facecolor": BACKGROUND_COLOUR, "axes.facecolor": "none", "savefig.dpi": 160,
    "svg.fonttype": "none", "svg.hashsalt": "forebeam", "figure.constrained_layout.use": True,
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Picture:
    """A finished picture.

    name : for a file, without ending;   title, words : what it shows, for a caption and for who cannot see it
    """

    name: str
    title: str
    words: str
    png: bytes
    svg: str


def series(number: int) -> dict[str, Any]:
    """Colour and dashes of a numbered series; after six, the colours come again with other dashes."""
    dashes = DASHES[(number + number // len(SERIES_COLOURS)) % len(DASHES)]
    return {"color": SERIES_COLOURS[number % len(SERIES_COLOURS)], "linestyle": dashes}


def marker(number: int) -> str:
    """Marker of a numbered series."""
    return MARKERS[number % len(MARKERS)]


@contextmanager
def drawing_style() -> Iterator[None]:
    """Within it, figures are drawn in this look; signs that the font lacks are no trouble."""
    import matplotlib as mpl  # noqa: PLC0415  (start-up time of the command line)

    with mpl.rc_context(RC_PARAMS), warnings.catch_warnings():
        warnings.filterwarnings("ignore", "Glyph .* missing from font")
        warnings.filterwarnings("ignore", "constrained_layout not applied")
        yield


def new_figure(width: float, height: float, *, fixed_layout: bool = False) -> Figure:
    """An empty figure, inches, without a window and without the drawing library's global state.

    fixed_layout : its panels remain where they are placed
    """
    from matplotlib.backends.backend_agg import FigureCanvasAgg  # noqa: PLC0415  (start-up time)
    from matplotlib.figure import Figure  # noqa: PLC0415  (start-up time)

    figure = Figure(figsize=(width, height))
    if fixed_layout:
        figure.set_layout_engine("none")
    FigureCanvasAgg(figure)
    return figure


def _is_settled(figure: Figure) -> bool:
    from matplotlib.layout_engine import PlaceHolderLayoutEngine  # noqa: PLC0415  (start-up time)

    return isinstance(figure.get_layout_engine(), PlaceHolderLayoutEngine)


def finish(figure: Figure, name: str, title: str, words: str) -> Picture:
    """The figure as PNG and SVG."""
    if not _is_settled(figure):
        figure.draw_without_rendering()
        figure.set_layout_engine("none")  # laid out once, not again for each file
    raster = io.BytesIO()
    figure.savefig(raster, format="png", metadata={"Software": None, "Title": plain(title)})
    return Picture(name, title, words, raster.getvalue(), svg_of(figure, name))


def svg_of(figure: Figure, name: str) -> str:
    """The figure as SVG to embed in a page, where its `name` is unique."""
    vector = io.BytesIO()
    figure.savefig(vector, format="svg", transparent=True, metadata={"Date": None, "Creator": None})
    return _for_page(vector.getvalue().decode("utf-8"), name)


def _for_page(svg: str, name: str) -> str:
    """An SVG to embed in a page: no prologue, its own ids, the page's font, colours as CSS variables."""
    svg = svg[svg.index("<svg") :]
    svg = re.sub(r"<(metadata|style)\b.*?</\1>", "", svg, flags=re.DOTALL)
    svg = re.sub(r' (?:xmlns:xlink|xmlns)="[^"]*"', "", svg)
    svg = re.sub(
        r'<svg [^>]*?viewBox="([^"]*)"[^>]*>', r'<svg viewBox="\1" aria-hidden="true">', svg, count=1
    )
    # only within tags: the text of a label is left as it is
    return re.sub(r"<[^<>]+>", lambda tag: _tag_for_page(tag.group(), name), svg)


def _tag_for_page(tag: str, name: str) -> str:
    tag = re.sub(r'\bid="([^"]+)"', rf'id="{name}-\1"', tag)
    tag = re.sub(r'(?:xlink:)?href="#([^"]+)"', rf'href="#{name}-\1"', tag)
    tag = re.sub(r"url\(#([^)]+)\)", rf"url(#{name}-\1)", tag)
    tag = tag.replace("'DejaVu Sans'", "var(--chart-font, sans-serif)")
    tag = re.sub(r"(\.\d\d)\d+", r"\1", tag)
    for colour, variable in CSS_NAMES.items():
        tag = tag.replace(f": {colour}", f": var(--{variable}, {colour})")
    return tag


LABEL_CLEARANCE, LABEL_DISTANCE, LABEL_REACH, LEADER_LENGTH = 1.5, 5.0, 75.0, 12.0
"""Points of type: from a label to what is drawn; to its point, at least and at most; beyond the last, a line joins the two."""


def place_labels(
    axes: Axes,
    points: npt.ArrayLike,
    names: Sequence[str],
    *,
    size: float = 8.0,
    colours: Sequence[str] = (),
) -> None:
    """Write a name beside each point (k, 2), within the panel and over nothing that is drawn there already.

    Where there is no such place, a name may cover lines and areas, but no other name or named point and no round arrow; where
    there is not even that, it is beside its point. A thin line leads from a name to a point that is not close.
    """
    from matplotlib.lines import Line2D  # noqa: PLC0415  (start-up time)

    figure, at = axes.get_figure(root=True), np.asarray(points, dtype=float).reshape(-1, 2)
    if figure is None or not len(at):
        return
    if not _is_settled(figure):
        figure.draw_without_rendering()  # fixes the layout, so that places in pixels hold
    drawn = _drawn(axes)
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


def _drawn(axes: Axes) -> tuple[FloatArray, FloatArray, FloatArray]:
    """What a panel shows, pixels: segments (s, 4) of all lines and outlines, those of its round arrows, boxes (t, 4) of texts."""
    from matplotlib.patches import FancyArrowPatch  # noqa: PLC0415  (start-up time)
    from matplotlib.text import Annotation, Text  # noqa: PLC0415  (start-up time)

    for text in axes.texts:
        text.get_window_extent()  # moves an annotation to its place, and its arrow
    boxes = [np.array(Text.get_window_extent(text).extents) for text in axes.texts if text.get_text()]
    arrows = [text.arrow_patch for text in axes.texts if isinstance(text, Annotation) and text.arrow_patch]
    rings = [patch for patch in axes.patches if isinstance(patch, FancyArrowPatch)]
    return (
        _segments([*axes.lines, *axes.patches, *arrows]),
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
    rings: FloatArray,
    taken: FloatArray,
) -> FloatArray:
    """(k, 4): boxes of the size of `boxes` near their points (k, 2) on the page (4,); all in pixels, `per_point` of them."""
    from textalloc.non_overlapping_boxes import get_non_overlapping_boxes  # noqa: PLC0415  (start-up time)

    wide, high = page[2:] - page[:2]
    options: dict[str, Any] = {
        "xlims": page[[0, 2]], "ylims": page[[1, 3]], "aspect_ratio": wide / high,
        "margin": LABEL_CLEARANCE * per_point / wide, "min_distance": LABEL_DISTANCE * per_point / wide,
        "max_distance": LABEL_REACH * per_point / wide, "nbr_candidates": 300, "draw_all": False, "draw_lines": True,
        "verbose": False, "scatter_xy": None, "scatter_sizes": None, "text_scatter_sizes": None, "direction": None,
        "priority_strategy": None,
    }  # fmt: skip
    found = boxes + LABEL_DISTANCE * per_point
    taken = np.concatenate([taken, np.hstack([points, points])])
    left = np.arange(len(points))
    for lines, leaders_clear in ((drawn, True), (drawn, False), (rings, False), (np.zeros((0, 4)), False)):
        obstacles: dict[str, Any] = {
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
