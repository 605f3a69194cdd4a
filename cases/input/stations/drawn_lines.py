"""Lines of a drawing, whatever its format: what a reader of a format yields, and its limits."""

from __future__ import annotations

import stat
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import NamedTuple

import numpy as np

from femcore.base.arrays import FloatArray
from femcore.base.errors import InputFault

ABS_TOL_CHORD = 1e-4
"""m on the boat: curves become chords that are no farther than this from them, a tenth of the millimetre that is printed."""
MAX_BYTES = 50_000_000
MAX_POINTS = 200_000
"""Of a drawing: body plans have some thousands."""
MAX_COORDINATE = 1e9
"""In units of the drawing: some hundred kilometres, if they are tenths of a millimetre."""


class DrawnLine(NamedTuple):
    """An open or closed line, straight between its points.

    names  : layer (DXF), or id and label of the line and of its groups, innermost first (SVG)
    points : (n, 2) or (n, 3), in units of the drawing; the last equals the first where it is closed
    """

    names: tuple[str, ...]
    points: FloatArray


def checked_size(path: Path) -> None:
    """InputFault where it is no file, or one too large to be a body plan or an offsets table."""
    try:
        found = path.stat()
    except (OSError, ValueError) as trouble:
        reason = trouble.strerror if isinstance(trouble, OSError) else trouble
        raise InputFault(str(path), f"cannot be read ({reason})", "give a file that can be") from None
    if not stat.S_ISREG(found.st_mode):
        raise InputFault(str(path), "is no file", "give a drawing or a table")
    if found.st_size > MAX_BYTES:
        wrong = f"has {found.st_size / 1e6:.0f} MB, and {MAX_BYTES / 1e6:.0f} MB is the most that is read"
        raise InputFault(str(path), wrong, "save its body plan alone")


def limited(lines: Iterable[DrawnLine]) -> Iterator[DrawnLine]:
    """The lines; InputFault where their points are too many or too far away."""
    count = 0
    for line in lines:
        count += len(line.points)
        if count > MAX_POINTS:
            raise InputFault("", f"has more than {MAX_POINTS} points", "save its body plan alone")
        if not (np.abs(line.points) < MAX_COORDINATE).all():
            wrong = f"has a coordinate of {np.abs(line.points).max():.3g}"
            raise InputFault("", wrong, f"draw it within {MAX_COORDINATE:.0e} of its origin")
        yield line
