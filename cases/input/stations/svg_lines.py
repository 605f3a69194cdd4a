"""Lines of an SVG drawing, by svgpathtools: paths, polylines, polygons, lines, rectangles, circles and ellipses.

Coordinates are those of the file after the transforms of elements and their groups. viewBox, width and height are ignored: they
say how large a picture is shown, while the scale of the body plan is stated by whoever reads it. y grows downward.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path
from xml.etree import ElementTree as ET

import numpy as np
from svgpathtools import Arc, CubicBezier, Line, QuadraticBezier, parse_path  # type: ignore[import-untyped]
from svgpathtools.parser import parse_transform  # type: ignore[import-untyped]
from svgpathtools.svg_to_paths import (  # type: ignore[import-untyped]
    ellipse2pathd,
    line2pathd,
    path2pathd,
    polygon2pathd,
    polyline2pathd,
    rect2pathd,
)

from cases.input.stations.drawn_lines import MAX_POINTS, DrawnLine, checked_size, limited
from femcore.base.arrays import FloatArray
from femcore.base.errors import InputFault

PATH_OF = {
    "path": path2pathd, "polyline": polyline2pathd, "polygon": polygon2pathd, "line": line2pathd, "rect": rect2pathd,
    "circle": ellipse2pathd, "ellipse": ellipse2pathd,
}  # fmt: skip
GROUPS = ("svg", "g", "a")
LABEL = "{http://www.inkscape.org/namespaces/inkscape}label"
"""A common drawing program's own attribute for the name that its user gives a layer; ids cannot have spaces."""


def svg_lines(path: Path, chord: float) -> list[DrawnLine]:
    """Every line of the drawing, points (n, 2); curves within `chord`, in its units. InputFault where it cannot be read."""
    checked_size(path)
    try:
        root = ET.parse(path).getroot()  # noqa: S314  (expat itself bounds the growth of entities)
        if _tag(root) == "svg":
            return list(limited(_lines(root, (), np.eye(3), chord)))
        reason = f"its root is '{_tag(root)}'"
    except InputFault as fault:
        raise fault.inside(str(path)) from None
    # svgpathtools raises ValueError, IndexError, TypeError and more on paths that are none
    except Exception as trouble:  # noqa: BLE001
        reason = (str(trouble).splitlines() or [type(trouble).__name__])[0]
    raise InputFault(str(path), f"cannot be read as SVG ({reason})", "save the drawing again as SVG")


def _lines(
    parent: ET.Element, names: tuple[str, ...], to_file: FloatArray, chord: float
) -> Iterator[DrawnLine]:
    """Of a group with those names, its own transform included; nested drawings have a viewBox of their own and are left out."""
    own = tuple(name for name in (parent.get(LABEL), parent.get("id")) if name)
    names, to_file = own + names, to_file @ parse_transform(parent.get("transform"), strict=True)
    tag = _tag(parent)
    if tag == "use":
        raise InputFault(
            f"'{next(iter(names), 'use')}'",
            "is a clone of another element",
            "unlink it, so that it is a path",
        )
    if tag in PATH_OF:
        # chords are laid in the element's own axes, where each is longer by the greatest stretch of the transform
        stretch = float(np.linalg.norm(to_file[:2, :2], 2))
        for piece in parse_path(PATH_OF[tag](parent)).continuous_subpaths() if stretch else ():
            with np.errstate(all="ignore"):  # `limited` finds what is not finite
                points = _flattened(piece, chord / stretch) @ to_file[:2, :2].T + to_file[:2, 2]
            yield DrawnLine(names, points)
    elif tag in GROUPS:
        for child in parent:
            if _tag(child) != "svg":
                yield from _lines(child, names, to_file, chord)


def _flattened(segments: list[Line | QuadraticBezier | CubicBezier | Arc], chord: float) -> FloatArray:
    """(n, 2), points along segments that follow one another; chords within `chord` of them.

    A chord over a step h of the parameter is at most h²/8 max |B''| off the curve (error of linear interpolation).
    """
    points = [complex(segments[0].start)]
    for segment in segments:
        count = math.ceil(math.sqrt(_most_curved(segment) / (8 * chord))) or 1
        if count > MAX_POINTS:
            raise ValueError("a curve has too many chords; correct the scale")
        points += [complex(segment.point(t)) for t in np.linspace(0, 1, count + 1)[1:-1]] + [
            complex(segment.end)
        ]
    return np.array([(p.real, p.imag) for p in points])


def _most_curved(segment: Line | QuadraticBezier | CubicBezier | Arc) -> float:
    """max |B''| over its parameter 0 to 1."""
    if isinstance(segment, QuadraticBezier):
        return 2 * float(abs(segment.start - 2 * segment.control + segment.end))
    if isinstance(segment, CubicBezier):
        a, b, c, d = segment.bpoints()
        return 6 * float(max(abs(a - 2 * b + c), abs(b - 2 * c + d)))
    if isinstance(segment, Arc):
        return float(max(segment.radius.real, segment.radius.imag)) * math.radians(segment.delta) ** 2
    return 0.0


def _tag(element: ET.Element) -> str:
    """Without its namespace."""
    return element.tag.rpartition("}")[2]
