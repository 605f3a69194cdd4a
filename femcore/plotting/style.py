"""One look for every picture: colours, type, names that fit, and the same bytes for the same input.

The six colours of a series are told apart by people with red- or green-blindness too (see the test), and
every series has a line style and a marker of its own besides. A finished picture is a PNG on white and an SVG
whose colours are CSS variables, so that a page can show it in light and dark.
"""

from __future__ import annotations

import io
import math
import re
import warnings
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

import numpy as np
import numpy.typing as npt

from femcore.base.arrays import FloatArray
from femcore.base.numbers import plain

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

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
def style() -> Iterator[None]:
    """Within it, figures are drawn in this look; signs that the font lacks are no trouble."""
    import matplotlib as mpl  # noqa: PLC0415  (start-up time of the command line)

    with mpl.rc_context(RC_PARAMS), warnings.catch_warnings():
        warnings.filterwarnings("ignore", "Glyph .* missing from font")
        warnings.filterwarnings("ignore", "constrained_layout not applied")
        yield


def new_figure(width: float, height: float, *, fixed_layout: bool = False) -> Figure:
    """An empty figure, inches, without a window and without the drawing library's global state.

    settled : its panels stand where they are put, and are not laid out
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
        figure.set_layout_engine("none")  # settled once, not again for each file
    raster = io.BytesIO()
    figure.savefig(raster, format="png", metadata={"Software": None, "Title": plain(title)})
    return Picture(name, title, words, raster.getvalue(), svg_of(figure, name))


def svg_of(figure: Figure, name: str) -> str:
    """The figure as SVG to stand within a page, where its `name` is no other figure's."""
    vector = io.BytesIO()
    figure.savefig(vector, format="svg", transparent=True, metadata={"Date": None, "Creator": None})
    return _for_page(vector.getvalue().decode("utf-8"), name)


def _for_page(svg: str, name: str) -> str:
    """An SVG to stand within a page: no prologue, its own ids, the page's font, colours as CSS variables."""
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


OFFSETS = (
    (5, 5), (5, -11), (-5, 5), (-5, -11), (0, 9), (0, -15), (9, -3),
    (-9, -3), (5, 18), (-5, 18), (5, -24), (-5, -24),
)  # fmt: skip
"""Places to try for a name beside its point, in points of type, the best first."""


FAR = tuple(
    (round(reach * math.cos(turn), 1), round(reach * math.sin(turn) - 3, 1))
    for reach in (16, 23, 31, 40, 50, 62, 76, 92)
    for turn in np.radians(
        [45, -45, 135, -135, 0, 180, 90, -90, 22, -22, 158, -158, 67, -67, 113, -113]
    ).tolist()
)
"""Further away, where nearer places are taken; a thin line then leads to the point."""
LEADER = 22.0
"""Points: a name that stands further away than this has a line that leads to its point."""


def place_labels(
    axes: Axes,
    points: npt.ArrayLike,
    names: Sequence[str],
    avoid: npt.ArrayLike | None = None,
    keep_off: npt.ArrayLike | None = None,
    *,
    far: bool = False,
    size: float = 8.0,
    colours: Sequence[str] = (),
) -> None:
    """Write a name beside each point (k, 2), within the panel, over no other name, over no point of `keep_off` and few of
    the points `avoid`; as far away as it must be where `far`.
    """
    figure = axes.get_figure(root=True)
    if figure is None:
        return
    if not _is_settled(figure):
        figure.draw_without_rendering()  # settles the layout, so that places in pixels hold
    at = np.asarray(points, dtype=float).reshape(-1, 2)
    soft, hard = (_in_pixels(axes, some) for some in (avoid, keep_off))
    taken = [np.array(text.get_window_extent().extents) for text in axes.texts if text.get_text()]
    offsets = np.array(OFFSETS + FAR if far else OFFSETS, dtype=float)
    per_point = figure.dpi / 72
    for point, name, colour in zip(at, names, colours or [TEXT_COLOUR] * len(names), strict=True):
        place = float(point[0]), float(point[1])
        text = axes.annotate(name, place, (0, 0), textcoords="offset points", fontsize=size, color=colour)
        text.set_in_layout(False)
        text.set_bbox({"facecolor": BACKGROUND_COLOUR, "edgecolor": "none", "alpha": 0.7, "pad": 0.8})
        boxes = _boxes(np.array(text.get_window_extent().extents), offsets, per_point)
        best = _least_covered(boxes, np.array(axes.bbox.padded(2).extents), taken, soft, hard)
        text.set_position((float(offsets[best, 0]), float(offsets[best, 1])))
        text.set_horizontalalignment(_side(offsets[best, 0]))
        taken.append(boxes[best])
        if far and np.hypot(*offsets[best]) > LEADER:
            _lead(axes, point, boxes[best])


def _in_pixels(axes: Axes, points: npt.ArrayLike | None) -> FloatArray:
    """(k, 2), pixels."""
    if points is None:
        return np.zeros((0, 2))
    return np.asarray(axes.transData.transform(np.asarray(points, dtype=float).reshape(-1, 2)))


def _side(dx: float) -> Literal["left", "center", "right"]:
    return "left" if dx > 4 else "right" if dx < -4 else "center"


def _boxes(extents: FloatArray, offsets: FloatArray, per_point: float) -> FloatArray:
    """(m, 4), pixels: the box of a text at every offset, from its box (x0, y0, x1, y1) at none, with 2 pixels around it."""
    width = extents[2] - extents[0]
    aside = np.where(offsets[:, 0] > 4, 0.0, np.where(offsets[:, 0] < -4, -width, -width / 2))
    move = offsets * per_point
    move[:, 0] += aside
    return np.asarray(extents + np.concatenate([move, move], axis=1) + [-2, -2, 2, 2])


def _least_covered(
    boxes: FloatArray, page: FloatArray, taken: Sequence[FloatArray], soft: FloatArray, hard: FloatArray
) -> int:
    """The first of the boxes that lies on the page and covers nothing; else the one that covers the least."""
    outside = (boxes[:, :2] < page[:2]).any(axis=1) | (boxes[:, 2:] > page[2:]).any(axis=1)
    others = np.array(taken).reshape(-1, 4)
    over = (
        ((boxes[:, None, :2] < others[:, 2:]) & (others[:, :2] < boxes[:, None, 2:])).all(axis=2).sum(axis=1)
    )
    covered = over + outside + (_within(boxes, hard) > 0)
    return int(np.lexsort([_within(boxes, soft), covered])[0])


def _within(boxes: FloatArray, points: FloatArray) -> FloatArray:
    """(m,), how many of the points (k, 2) lie within each box."""
    inside = (boxes[:, None, :2] <= points) & (points <= boxes[:, None, 2:])
    return np.asarray(inside.all(axis=2).sum(axis=1))


def _lead(axes: Axes, point: FloatArray, box: FloatArray) -> None:
    """A thin line from a point to the nearest point of a box in pixels."""
    from matplotlib.lines import Line2D  # noqa: PLC0415  (start-up time)

    start = axes.transData.transform(point)
    end = axes.transData.inverted().transform(np.clip(start, box[:2], box[2:]))
    axes.add_line(Line2D([point[0], end[0]], [point[1], end[1]], color=MUTED_COLOUR, lw=0.5, zorder=3))
