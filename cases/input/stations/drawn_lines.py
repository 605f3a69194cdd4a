"""Lines of a drawing, whatever its format: what a reader of a format yields, and its limits."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import NamedTuple

from femcore.base.arrays import FloatArray
from femcore.base.errors import InputFault

ABS_TOL_CHORD = 1e-4
"""m on the boat: curves become chords that are no farther than this from them, a tenth of the millimetre that is printed."""
MAX_BYTES = 50_000_000
MAX_POINTS = 200_000
"""Of a drawing: body plans have some thousands."""


class DrawnLine(NamedTuple):
    """An open or closed line, straight between its points.

    names  : layer (DXF), or id and label of the line and of its groups, innermost first (SVG)
    points : (n, 2) or (n, 3), in units of the drawing; the last equals the first where it is closed
    """

    names: tuple[str, ...]
    points: FloatArray


def checked_size(path: Path) -> None:
    """InputFault where the file cannot be opened, or is too large to be a body plan."""
    try:
        size = path.stat().st_size
    except OSError as trouble:
        raise InputFault(
            str(path), f"cannot be read ({trouble.strerror})", "give a drawing that can be"
        ) from None
    if size > MAX_BYTES:
        wrong = f"has {size / 1e6:.0f} MB, and {MAX_BYTES / 1e6:.0f} MB is the most that is read"
        raise InputFault(str(path), wrong, "save its body plan alone")


def limited(lines: Iterable[DrawnLine]) -> Iterator[DrawnLine]:
    """The lines, as long as their points are not too many; InputFault then."""
    count = 0
    for line in lines:
        count += len(line.points)
        if count > MAX_POINTS:
            raise InputFault("", f"has more than {MAX_POINTS} points", "save its body plan alone")
        yield line
