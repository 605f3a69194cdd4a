"""One look for every picture: colours, type and sizes.

The six colours of a series are distinct to people with red- or green-blindness too (see the test), and
every series has a line style and a marker of its own besides.
"""

from __future__ import annotations

import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from matplotlib.figure import Figure

SERIES_COLOURS = ("#2f4579", "#d2972e", "#1b7171", "#5a1d2a", "#a58ec3", "#556c2d")
TEXT_COLOUR, MUTED_COLOUR, GRID_COLOUR, BACKGROUND_COLOUR = "#1f2933", "#67737e", "#c9d0d6", "#ffffff"
DASHES: tuple[Any, ...] = (
    "-", (0, (6, 2)), (0, (1.2, 1.4)), (0, (7, 2, 1.2, 2)), (0, (3, 1.5)), (0, (9, 2, 3, 2)),
)  # fmt: skip
UTILISATION_COLOURS = ("#b9d8bd", "#d99b2b", "#8c2331", "#ffffff")
"""Of a part by its utilisation: low, high, above 1, and not known; darker the higher, so that they differ in grey too."""
HIGH_UTILISATION = 0.75
"""From here to 1 a utilisation is high."""
DARK_LIGHTNESS = 62.0
"""L* up to which text on a colour is white."""
WIDTH = 7.4
"""Inches: of a picture as wide as the page."""
MARKERS = ("o", "s", "^", "D", "v", "P")
RC_PARAMS: dict[Any, Any] = {
    "font.family": "DejaVu Sans", "font.size": 9.0, "text.parse_math": False, "text.color": TEXT_COLOUR,
    "axes.edgecolor": GRID_COLOUR, "axes.labelcolor": TEXT_COLOUR, "axes.titlesize": 9.5, "axes.titlelocation": "left",
    "axes.titleweight": "bold", "axes.titlecolor": TEXT_COLOUR, "axes.spines.top": False, "axes.spines.right": False,
    "axes.grid": True, "axes.axisbelow": True, "axes.unicode_minus": True, "axes.linewidth": 0.8,
    "grid.color": GRID_COLOUR, "grid.linewidth": 0.5, "xtick.color": MUTED_COLOUR, "ytick.color": MUTED_COLOUR,
    "xtick.labelsize": 8.0, "ytick.labelsize": 8.0, "lines.linewidth": 1.6, "legend.frameon": False,
    "legend.fontsize": 8.5, "figure.facecolor": BACKGROUND_COLOUR, "axes.facecolor": "none", "savefig.dpi": 160,
    "svg.fonttype": "none", "svg.hashsalt": "forebeam", "figure.constrained_layout.use": True,
    "figure.constrained_layout.w_pad": 0.08,
}  # fmt: skip


def series(number: int) -> dict[str, Any]:
    """Colour and dashes of a numbered series; after six, the colours come again with other dashes."""
    dashes = DASHES[(number + number // len(SERIES_COLOURS)) % len(DASHES)]
    return {"color": SERIES_COLOURS[number % len(SERIES_COLOURS)], "linestyle": dashes}


def marker(number: int) -> str:
    """Marker of a numbered series."""
    return MARKERS[number % len(MARKERS)]


def utilisation_colour(utilisation: float | None) -> str:
    """Of a part by its utilisation; None where it is not known."""
    low, high, above, unknown = UTILISATION_COLOURS
    if utilisation is None:
        return unknown
    return low if utilisation < HIGH_UTILISATION else high if utilisation <= 1 else above


def text_on(colour: str) -> str:
    """White or the text's colour, whichever is easier to read on a colour."""
    return TEXT_COLOUR if lightness(colour) > DARK_LIGHTNESS else BACKGROUND_COLOUR


def tint(colour: str, share: float = 0.55) -> str:
    """A colour ``#rrggbb`` mixed with white: that share of it. Opaque, so that areas beside one another show no seam."""
    channels = (int(colour[i : i + 2], 16) for i in (1, 3, 5))
    return "#" + "".join(f"{round(255 - share * (255 - channel)):02x}" for channel in channels)


def lightness(colour: str) -> float:
    """CIE L* of a colour ``#rrggbb``, 0 black to 100 white, which is how light it is in grey.

    IEC 61966-2-1 (sRGB) and CIE 15:2004, from memory.
    """
    shares = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [s / 12.92 if s <= 0.04045 else ((s + 0.055) / 1.055) ** 2.4 for s in shares]
    y = 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
    return 116 * y ** (1 / 3) - 16 if y > 0.008856 else 903.3 * y


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

    layout: Any = "none" if fixed_layout else None
    figure = Figure(figsize=(width, height), layout=layout)
    FigureCanvasAgg(figure)
    return figure
