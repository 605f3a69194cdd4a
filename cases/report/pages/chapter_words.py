"""Texts of a textbook case for a page: its note as written, its loads in words, its numbers with the signs of print."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from itertools import pairwise
from typing import TYPE_CHECKING

from femcore.base.numbers import engineering, superscript
from femcore.frame.frame import FREEDOMS, REACTIONS

if TYPE_CHECKING:
    from femcore.files.frame_file import FrameFile
    from femcore.files.frame_file.tables import Case, LineLoad, PointLoad

Piece = tuple[str, str]
"""A stretch of text, and what it leads to on the page ("" for nothing)."""
MOST_LOADS = 6
"""Loads of a case that are listed one by one."""


def paragraphs(note: str, links: Mapping[str, str]) -> list[list[list[Piece]]]:
    """A note as paragraphs of lines of pieces: every sign as it stands, but lines that were only wrapped run on.

    links : where on the page the names of other cases' files lead.  A line ends on purpose where the next word would have fitted.
    """
    return [
        [_pieces(line, links) for line in _unwrapped(part.splitlines())]
        for part in re.split(r"\n\s*\n", note.strip())
        if part.strip()
    ]


def _unwrapped(lines: list[str]) -> list[str]:
    wide = max(map(len, lines))
    joined = [lines[0].strip()]
    for line, following in pairwise(lines):
        fits = len(line) + 1 + len(following.split(" ", 1)[0]) <= wide
        if fits:
            joined.append(following.strip())
        else:
            joined[-1] += f" {following.strip()}"
    return joined


def _pieces(line: str, links: Mapping[str, str]) -> list[Piece]:
    """The line cut where it names another case."""
    cut = re.split(r"(\w+)", line)
    found: list[Piece] = []
    for piece in cut:
        if piece in links:
            found.append((piece, links[piece]))
        elif found and not found[-1][1]:
            found[-1] = (found[-1][0] + piece, "")
        else:
            found.append((piece, ""))
    return [piece for piece in found if piece[0]]


def printed(text: str) -> str:
    """A number with its unit as print has it: ``-3.1e-05 kN*m`` → ``−3.1·10⁻⁵ kN·m``; nought has no sign."""
    text = re.sub(r"^[+-](0(?:\.0*)?)(?= )", r"\1", text).replace(" um", " µm")
    text = re.sub(r"(?<=\d)e([+-]?)0*(\d+)\b", lambda e: f"·10{superscript(e[1].strip('+') + e[2])}", text)
    text = re.sub(r"\*\*(\d)", lambda e: superscript(e[1]), text)
    return text.replace("*", "·").replace("-", "−")


def loads_in_words(file: FrameFile, case: Case) -> str:
    """What acts in a case, in one sentence without its full stop; "" where nothing does."""
    sentences = list(_load_sentences(file, case))
    shown = sentences[:MOST_LOADS]
    more = len(sentences) - len(shown)
    return "; ".join(shown) + (f"; and {more} more" if more else "")


def _load_sentences(file: FrameFile, case: Case) -> Iterator[str]:
    for load in case.point:
        if words := _point(load):
            yield f"{words} at {load.node}"
    yield from _grouped((_line(line), line.beam) for line in case.line)
    yield from _grouped((f"{warm.change:+.6g} K", warm.beam or warm.cable or "") for warm in case.warm)
    if gravity := _vector(case.gravity, "m/s²", ("along x", "along y", "along z")):
        yield f"gravity {gravity}"
    for support in file.supports:
        moved = [(name, getattr(support.moved, name) or 0.0) for name in FREEDOMS]
        if words := ", ".join(
            f"{n} = {printed(engineering(v, 'm' if n[0] == 'u' else 'rad', 6))}" for n, v in moved if v
        ):
            yield f"support {support.node} moved by {words}"
    pulled = {cable.name: cable.pretension for cable in file.cables if cable.pretension}
    yield from (f"{name} pretensioned to {engineering(force, 'N', 6)}" for name, force in pulled.items())


def _line(load: LineLoad) -> str:
    words = _vector(load.force, "N/m", _line_axes(load.axes))
    if load.begin is not None or load.end is not None:
        words += f" from {engineering(load.begin or 0.0, 'm', 6)}"
        words += " to its end" if load.end is None else f" to {engineering(load.end, 'm', 6)}"
    arm = _vector(load.arm, "m", _line_axes(load.axes))
    return f"{words} at an arm of {arm}" if arm else words


def _line_axes(axes: str) -> tuple[str, str, str]:
    of = " of the beam" if axes == "beam" else ""
    return (f"along x{of}", f"along y{of}", f"along z{of}")


def _point(load: PointLoad) -> str:
    parts = [(name, value, "N") for name, value in zip(REACTIONS[:3], load.force, strict=True)]
    parts += [(name, value, "N·m") for name, value in zip(REACTIONS[3:], load.moment, strict=True)]
    return ", ".join(
        f"{name} = {printed(engineering(value, unit, 6))}" for name, value, unit in parts if value
    )


def _vector(values: Iterable[float], unit: str, names: tuple[str, str, str]) -> str:
    found = zip(names, values, strict=True)
    return ", ".join(f"{_signed(value, unit)} {name}" for name, value in found if value)


def _signed(value: float, unit: str) -> str:
    return printed(f"{value:.6g} {unit}" if unit == "m/s²" else engineering(value, unit, 6))


def _grouped(loads: Iterable[tuple[str, str]]) -> Iterator[str]:
    """Loads that are equal on several members, listed once."""
    alike: dict[str, list[str]] = {}
    for words, where in loads:
        alike.setdefault(words, []).append(where)
    yield from (f"{printed(words)} on {', '.join(where)}" for words, where in alike.items() if words)
