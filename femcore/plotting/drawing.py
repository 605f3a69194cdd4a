"""A drawing, and what is made of it: an SVG for a page, with CSS variables as colours for light and dark, and files.

The same drawing gives the same bytes: no date and no random id is in them.
"""

from __future__ import annotations

import html
import io
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from femcore.base.numbers import plain
from femcore.plotting import style

if TYPE_CHECKING:
    from matplotlib.figure import Figure

NAMESPACES = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
CSS_NAMES = {
    **{colour: f"series-{i + 1}" for i, colour in enumerate(style.SERIES_COLOURS)},
    style.TEXT_COLOUR: "ink", style.MUTED_COLOUR: "quiet", style.GRID_COLOUR: "faint", style.BACKGROUND_COLOUR: "paper",
}  # fmt: skip

BETWEEN_TAGS = "\0"
"""No sign of XML."""


@dataclass(frozen=True, slots=True)
class Picture:
    """A finished picture.

    name : for a file, without ending;   title, words : what it shows, for a caption and for who cannot see it
    svg  : for a page, empty where there is a PNG alone;   png : empty where none was wanted
    """

    name: str
    title: str
    words: str
    svg: str
    png: bytes = b""

    @property
    def svg_file(self) -> str:
        """The SVG as a file of its own, on white: its colours and its font are those of the look, not of a page."""
        drawn = re.sub(r"var\(--[\w-]+, ([^()]+)\)", r"\1", self.svg)
        left, top, wide, high = re.findall(r"[\d.]+", drawn.split("viewBox=", 1)[1])[:4]
        page = f'<rect x="{left}" y="{top}" width="{wide}" height="{high}" fill="{style.BACKGROUND_COLOUR}"/>'
        root = f'<svg {NAMESPACES} width="{wide}pt" height="{high}pt"'
        drawn = drawn.replace(' aria-hidden="true"', "", 1).replace("<svg", root, 1)
        return drawn.replace(">", f">\n<title>{html.escape(self.title)}</title>\n{page}", 1) + "\n"


@dataclass(frozen=True, slots=True)
class Drawing:
    """A figure with its name, title and words, as of a `Picture`."""

    figure: Figure
    name: str
    title: str
    words: str

    def picture(self, *, png: bool = False) -> Picture:
        """The figure drawn once as SVG, and, if asked for, once more as PNG."""
        raster = io.BytesIO()
        with style.drawing_style():
            settle_layout(self.figure)  # once, not again for each file
            if png:
                about = {"Software": None, "Title": plain(self.title)}
                self.figure.savefig(raster, format="png", metadata=about)
            svg = svg_of(self.figure, self.name)
        return Picture(self.name, self.title, self.words, svg, raster.getvalue())


def settle_layout(figure: Figure) -> None:
    """Lay the panels out now and leave them there, so that places in pixels hold; nothing where that is done already."""
    from matplotlib.layout_engine import PlaceHolderLayoutEngine  # noqa: PLC0415  (start-up time)

    engine = figure.get_layout_engine()
    if engine is not None and not isinstance(engine, PlaceHolderLayoutEngine):
        engine.execute(figure)
        figure.set_layout_engine("none")
    for axes in figure.axes:
        axes.get_xlim()  # limits by what is drawn are worked out when they are read
        axes.apply_aspect()


def svg_of(figure: Figure, name: str) -> str:
    """The figure as SVG to embed in a page, where its `name` is unique.

    By the canvas itself: the usual way to save draws everything twice, first for a layout that is settled here.
    """
    from matplotlib.backends.backend_svg import FigureCanvasSVG  # noqa: PLC0415  (start-up time)

    vector = io.StringIO()
    for area in (figure.patch, *(axes.patch for axes in figure.axes)):
        area.set_facecolor("none")
    canvas: Any = FigureCanvasSVG(figure)  # its types are loose
    canvas.print_svg(vector, metadata={"Date": None, "Creator": None})
    return _for_page(vector.getvalue(), name)


def _for_page(svg: str, name: str) -> str:
    """An SVG to embed in a page: no prologue, its own ids, the page's font, colours as CSS variables."""
    svg = svg[svg.index("<svg") :]
    svg = re.sub(r"<(metadata|style)\b.*?</\1>", "", svg, flags=re.DOTALL)
    svg = re.sub(r' (?:xmlns:xlink|xmlns)="[^"]*"', "", svg)
    svg = re.sub(
        r'<svg [^>]*?viewBox="([^"]*)"[^>]*>', r'<svg viewBox="\1" aria-hidden="true">', svg, count=1
    )
    # only within tags: the text of a label is left as it is
    pieces = re.split(r"(>[^<]*<)", svg)
    pieces[::2] = _tags_for_page(BETWEEN_TAGS.join(pieces[::2]), name).split(BETWEEN_TAGS)
    return "".join(pieces)


def _tags_for_page(tags: str, name: str) -> str:
    """All tags at once: a pass of the whole for each change, none with a function for every match."""
    tags = re.sub(r'\bid="', f'id="{name}-', tags)
    tags = re.sub(r'(?:xlink:)?href="#', f'href="#{name}-', tags)
    tags = tags.replace("url(#", f"url(#{name}-")
    tags = tags.replace("'DejaVu Sans'", "var(--chart-font, sans-serif)")
    tags = re.sub(r"(?<=\.\d\d)\d+", "", tags)
    for colour, variable in CSS_NAMES.items():
        tags = tags.replace(f": {colour}", f": var(--{variable}, {colour})")
    return tags
