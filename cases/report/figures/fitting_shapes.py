"""What a drawing of a fitting shows: outlines of its parts in two views, to scale in mm, with their dimensions."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np

from femcore.base.arrays import FloatArray
from models.joints.clamped import ClampedJoint
from models.joints.lug import LugJoint
from models.joints.socket import TOWARDS_CENTRELINE, SkinCrossing, SocketJoint

Point = tuple[float, float]
MIN_SKIN_RATIO = 0.02
"""Of a view's width: a thinner skin is drawn at it, so that it shows."""


@dataclass(frozen=True, slots=True, eq=False)
class Shape:
    """A closed outline (k, 2), mm, right and up on the paper; its part, empty where it is none; `over`: the drawing order."""

    part: str
    outline: FloatArray
    over: float = 2.0


@dataclass(frozen=True, slots=True)
class Measure:
    """A dimension from point to point, drawn off by `aside`; mm."""

    start: Point
    end: Point
    aside: Point
    text: str


@dataclass(slots=True)
class FittingView:
    """One view: what it is seen from, its shapes and dimensions, and where each part is pointed at."""

    title: str
    shapes: list[Shape] = field(default_factory=list)
    measures: list[Measure] = field(default_factory=list)
    anchors: dict[str, Point] = field(default_factory=dict)

    def box(self, part: str, middle: Point, size: Point, over: float = 2.0) -> None:
        """A rectangle."""
        corners = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) / 2 * np.asarray(size) + np.asarray(middle)
        self.shapes.append(Shape(part, corners, over))

    def disc(self, part: str, middle: Point, radius: float, over: float = 3.0) -> None:
        """A circle."""
        turn = np.linspace(0.0, 2 * np.pi, 49)
        self.shapes.append(
            Shape(part, np.asarray(middle) + radius * np.column_stack([np.cos(turn), np.sin(turn)]), over)
        )

    @property
    def names(self) -> set[str]:
        """Of the parts that it shows or points at."""
        return {shape.part for shape in self.shapes} | self.anchors.keys()

    @property
    def extent(self) -> tuple[FloatArray, FloatArray]:
        """(2,) each, mm: lowest and highest of all that is drawn, dimensions too."""
        points = [shape.outline for shape in self.shapes]
        for one in self.measures:
            off = 1.5 * np.asarray(one.aside)
            points.append(np.array([one.start, one.end, np.add(one.start, off), np.add(one.end, off)]))
        every = np.concatenate(points)
        return every.min(axis=0), every.max(axis=0)


DrawnJoint = LugJoint | SocketJoint | ClampedJoint
STRAP_WIDTH, STRAP_DEPTH, SADDLE_DEPTH = 0.22, 0.05, 0.28
"""Of the beam's diameter: straps and saddle, of which a file gives no more than the places, as they are sketched."""


def views(joint: DrawnJoint) -> tuple[FittingView, FittingView]:
    """The two views of a fitting."""
    if isinstance(joint, LugJoint):
        return _lug_views(joint)
    return _clamp_views(joint) if isinstance(joint, ClampedJoint) else _socket_views(joint)


def _mm(length: float) -> str:
    return f"{1e3 * length:.3g}"


def _lug_views(joint: LugJoint) -> tuple[FittingView, FittingView]:
    along = 0 if abs(joint.pin.axis[0]) >= abs(joint.pin.axis[2]) else 1
    return _lug_face(joint, along), _lug_profile(joint, along)


def _lug_face(joint: LugJoint, along: int) -> FittingView:
    """As one looks outboard at the port hull: forward on the right."""
    view = FittingView("Port hull's side from inboard,\nforward on the right")
    plate, bolts, lugs, pin, eye = joint.plate, joint.bolts, joint.lugs, joint.pin, joint.eye
    fore, up = 1e3 * plate.fore_and_aft, 1e3 * plate.upright
    view.box("plate", (0, 0), (fore, up), 1.0)
    across = 1e3 * bolts.pitch_fore_and_aft * (np.arange(bolts.columns) - (bolts.columns - 1) / 2)
    high = 1e3 * bolts.pitch_upright * (np.arange(bolts.rows) - (bolts.rows - 1) / 2)
    for x in across.tolist():
        for z in high.tolist():
            view.disc("", (x, z), 1e3 * bolts.washer / 2, 1.5)
            view.disc("bolts", (x, z), bolts.size / 2, 1.6)

    def turned(a: float, b: float) -> Point:
        """Along the pin and across it, as right and up."""
        return (a, b) if along == 0 else (b, a)

    reach = 1e3 * (max(map(abs, lugs.places)) + lugs.thickness / 2 + eye.thickness + eye.gap) + 10
    view.box("pin", (0, 0), turned(2 * reach, 1e3 * pin.diameter), 3.0)
    wide = 1e3 * (eye.width or 1.3 * pin.diameter)
    for number, place in enumerate(joint.eye_places, start=1):
        view.box(f"beam's end, eye {number}", turned(1e3 * place, 0), turned(1e3 * eye.thickness, wide), 4.0)
        view.anchors[f"beam's end, eye {number}"] = turned(1e3 * place, -0.35 * wide)
    for number, place in enumerate(lugs.places, start=1):
        name = "lug" if len(lugs.places) == 1 else f"lug {number}"
        view.box(name, turned(1e3 * place, 0), turned(1e3 * lugs.thickness, 1e3 * lugs.width), 4.0)
        view.anchors[name] = turned(1e3 * place, 400 * lugs.width)
    view.anchors |= {
        "bolts": (float(across[-1]), float(high[-1])),
        "plate": (-0.42 * fore, 0.25 * up),
        "pin": turned(reach, 0),
    }
    view.measures = list(_face_measures(joint, (fore, up), across.tolist(), high.tolist(), turned))
    return view


def _face_measures(
    joint: LugJoint,
    size: Point,
    across: list[float],
    high: list[float],
    turned: Callable[[float, float], Point],
) -> Iterator[Measure]:
    """Of plate, bolts and lugs."""
    plate, bolts, lugs = joint.plate, joint.bolts, joint.lugs
    left, low = -size[0] / 2, -size[1] / 2
    gap = 0.11 * max(size)
    yield Measure((left, low), (-left, low), (0, -2 * gap), _mm(plate.fore_and_aft))
    yield Measure((left, low), (left, -low), (-2 * gap, 0), _mm(plate.upright))
    if bolts.columns > 1:
        said = f"{bolts.columns - 1} × {_mm(bolts.pitch_fore_and_aft)}"
        yield Measure((across[0], low), (across[-1], low), (0, -gap), said)
    if bolts.rows > 1:
        said = f"{bolts.rows - 1} × {_mm(bolts.pitch_upright)}"
        yield Measure((left, high[0]), (left, high[-1]), (-gap, 0), said)
    if lugs.spacing is not None and len(lugs.places) == 2:
        first, second = (turned(1e3 * place, 500 * lugs.width) for place in lugs.places)
        yield Measure(first, second, turned(0, size[1] / 2 - 500 * lugs.width + gap), _mm(lugs.spacing))


def _lug_profile(joint: LugJoint, along: int) -> FittingView:
    """Along the pin: the hull's side on the right, the beam on the left; athwart is level, mm from the skin's inboard face."""
    seen = "ahead" if along == 0 else "above, forward upwards"
    view = FittingView(f"Along the pin, from {seen},\nthe beam on the left")
    plate, bolts, lugs, pin, eye = joint.plate, joint.bolts, joint.lugs, joint.pin, joint.eye
    size = 1e3 * (plate.upright if along == 0 else plate.fore_and_aft)
    pitch, count = (
        (bolts.pitch_upright, bolts.rows) if along == 0 else (bolts.pitch_fore_and_aft, bolts.columns)
    )
    t, skin = 1e3 * plate.thickness, 1e3 * joint.hull.depth
    back = 0.0 if joint.backing is None else 1e3 * joint.backing.thickness
    gap = 0.11 * size
    view.box("hull's side", (skin / 2, 0), (skin, 1.35 * size), 1.0)
    view.box("plate", (-t / 2, 0), (t, size), 2.0)
    if back:
        view.box("backing", (skin + back / 2, 0), (back, size), 2.0)
    for place in (1e3 * pitch * (np.arange(count) - (count - 1) / 2)).tolist():
        head = 0.65 * bolts.size
        view.box("bolts", ((skin + back - t) / 2, place), (t + skin + back + 2 * head, bolts.size), 2.5)
        for x in (-t - head / 2, skin + back + head / 2):
            view.box("bolts", (x, place), (head, 1.7 * bolts.size), 2.6)
    hole = (-t - 1e3 * lugs.length, 0.0)
    view.shapes.append(Shape("lug", _tongue(-t, hole[0], 1e3 * lugs.width, 1e3 * lugs.end), 3.0))
    leg = 1e3 * (lugs.weld or 0.0)
    if leg:
        for sign in (-1, 1):
            at = sign * 500 * lugs.width
            view.shapes.append(
                Shape("lug, weld", np.array([[-t, at], [-t - leg, at], [-t, at + sign * leg]]), 3.5)
            )
    if eye.width is not None and eye.length is not None and eye.end is not None:
        outline = _tongue(-hole[0] + 1e3 * eye.length, -hole[0], 1e3 * eye.width, 1e3 * eye.end) * [-1, 1]
        view.shapes.append(Shape("beam's end, eye", outline, 2.8))
        root = hole[0] - 1e3 * eye.length
        beam = 0.18 * size
        view.box("beam's end", (root - beam / 2, 0), (beam, 1.6e3 * eye.width), 2.7)
        view.anchors["beam's end, eye"] = (root + 0.1 * beam, -400 * eye.width)
        view.anchors["beam's end"] = (root - 0.7 * beam, 500 * eye.width)
        view.measures.append(Measure((root, 0), hole, (0, 500 * eye.width + 0.9 * gap), _mm(eye.length)))
    view.disc("pin", hole, 500 * pin.diameter, 4.0)
    view.anchors |= {
        "hull's side": (0.6 * skin, -0.6 * size),
        "lug": (hole[0] + 0.3 * 1e3 * lugs.length, -400 * lugs.width),
        "bolts": (skin + back, 500 * pitch * (count - 1)),
        "lug, weld": (-t - 0.4 * leg, 500 * lugs.width + 0.4 * leg),
    }
    low = -size / 2
    view.measures += [
        Measure(hole, (-t, 0), (0, low + 0.2 * gap), _mm(lugs.length)),
        Measure((-t, low), (0, low), (0, -1.6 * gap), _mm(plate.thickness)),
        Measure((0, low), (skin, low), (0, -2.9 * gap), f"skin {_mm(joint.hull.depth)}"),
        Measure(
            (hole[0], -500 * lugs.width),
            (hole[0], 500 * lugs.width),
            (-1e3 * lugs.end - 0.2 * gap, 0),
            _mm(lugs.width),
        ),
    ]
    return view


def _tongue(root: float, hole: float, width: float, end: float) -> FloatArray:
    """A lug's outline from its root at x = `root` to its round tip beyond x = `hole`, which is to the left; `end` mm past it."""
    turn = np.linspace(np.pi / 2, 3 * np.pi / 2, 33)
    tip = np.column_stack([hole + end * np.cos(turn), width / 2 * np.sin(turn)])
    return np.vstack([[root, width / 2], tip, [root, -width / 2]])


def _socket_views(joint: SocketJoint) -> tuple[FittingView, FittingView]:
    return _socket_side(joint), _socket_end(joint)


def _sizes(joint: SocketJoint) -> tuple[float, float]:
    """mm: the beam's outline fore and aft, and upright."""
    beam = joint.beam
    return 1e3 * (beam.diameter or beam.breadth or 0.0), 1e3 * (beam.diameter or beam.depth or 0.0)


def _socket_side(joint: SocketJoint) -> FittingView:
    """The beam through the skins it crosses, with their tapes: inboard on the left."""
    view = FittingView("From ahead,\ninboard on the left")
    half = _sizes(joint)[1] / 2
    wall = 1e3 * joint.beam.depth_of_wall
    last = 1e3 * max(crossing.at for crossing in joint.crossings)
    leg = 1e3 * max(max(crossing.on_beam, crossing.on_skin) for crossing in joint.crossings)
    left, right = -1.7 * leg, last + 1.5 * leg
    gap = 0.07 * (right - left)
    view.box("beam's wall", ((left + right) / 2, 0), (right - left, 2 * half), 1.0)
    view.box("", ((left + right) / 2, 0), (right - left, 2 * (half - wall)), 1.1)
    view.anchors["beam's wall"] = (left + 0.25 * leg, -half + wall / 2)
    view.anchors["beside the skins"] = (right - 0.2 * leg, 0.0)
    for number, crossing in enumerate(joint.crossings):
        x, name = 1e3 * crossing.at, crossing.name
        on_skin, on_beam = 1e3 * crossing.on_skin, 1e3 * crossing.on_beam
        thick = max(1e3 * crossing.skin.built.thickness, MIN_SKIN_RATIO * (right - left))
        for sign in (-1, 1):
            view.box(name, (x, sign * (half + 0.75 * on_skin)), (thick, 1.5 * on_skin), 2.0)
        view.anchors[name] = (x, half + 1.35 * on_skin)
        _tapes(
            view,
            crossing,
            half,
            thick,
            max(1e3 * joint.tape.built.thickness, 0.6 * MIN_SKIN_RATIO * (right - left)),
        )
        for sign in (-1, 1):
            view.box(f"beam's wall at {name}", (x, sign * (half - wall / 2)), (3 * thick, wall), 1.2)
        view.anchors[f"beam's wall at {name}"] = (x, -half + wall / 2)
        if crossing.diaphragm is not None:
            deep = max(1e3 * crossing.diaphragm.depth_of_wall, 0.7 * thick)
            view.box(f"diaphragm at {name}", (x, 0), (deep, 2 * (half - wall)), 2.0)
            view.anchors[f"diaphragm at {name}"] = (x, 0.4 * half)
        way = -1 if crossing.faces[0] == TOWARDS_CENTRELINE else 1
        foot, top = x + way * thick / 2, -half - on_skin
        if number == 0:
            view.measures += [
                Measure(
                    (foot, -half), (foot + way * on_beam, -half), (0, -0.45 * on_skin), _mm(crossing.on_beam)
                ),
                Measure((foot, -half), (foot, top), (way * (on_beam + 0.5 * gap), 0), _mm(crossing.on_skin)),
            ]
    bottom = -half - 1.5 * 1e3 * max(crossing.on_skin for crossing in joint.crossings)
    for one, other in zip(joint.crossings[:-1], joint.crossings[1:], strict=True):
        view.measures.append(
            Measure((1e3 * one.at, bottom), (1e3 * other.at, bottom), (0, -gap), _mm(other.at - one.at))
        )
    return view


def _tapes(view: FittingView, crossing: SkinCrossing, half: float, thick: float, tape: float) -> None:
    """Its tapes as angles on beam and skin, above and below; `half` the beam's depth, `thick` the skin's, `tape` theirs, mm."""
    x, name = 1e3 * crossing.at, crossing.name
    on_skin, on_beam = 1e3 * crossing.on_skin, 1e3 * crossing.on_beam
    for face in crossing.faces:
        way = -1 if face == TOWARDS_CENTRELINE else 1
        foot = x + way * thick / 2
        part = f"{name}, tape {face}"
        for sign in (-1, 1):
            corner = np.array(
                [
                    [0, on_skin],
                    [0, 0],
                    [on_beam, 0],
                    [on_beam, tape],
                    [1.7 * tape, tape],
                    [tape, 1.7 * tape],
                    [tape, on_skin],
                ]
            ) * [way, sign] + [foot, sign * half]
            view.shapes.append(Shape(part, corner, 3.0))
        view.anchors[part] = (foot + way * 0.6 * on_beam, half + tape / 2)


def _socket_end(joint: SocketJoint) -> FittingView:
    """Along the beam: its wall, and the tape's flange on the inboard skin."""
    first = joint.crossings[0]
    face = first.faces[0]
    view = FittingView("Along the beam, from inboard,\nforward on the right")
    wide, high = _sizes(joint)
    wall, flange = 1e3 * joint.beam.depth_of_wall, 1e3 * first.on_skin

    def ring(part: str, grown: float, over: float) -> None:
        if joint.beam.diameter is not None:
            view.disc(part, (0, 0), wide / 2 + grown, over)
        else:
            view.box(part, (0, 0), (wide + 2 * grown, high + 2 * grown), over)

    view.box(first.name, (0, 0), (wide + 3.0 * flange, high + 3.0 * flange), 1.0)
    ring(f"{first.name}, tape {face}", flange, 2.0)
    ring("beam's wall", 0.0, 3.0)
    ring("", -wall, 4.0)
    gap, sign = 0.25 * flange, "⌀ " if joint.beam.diameter is not None else ""
    view.anchors = {
        first.name: (-wide / 2 - 1.3 * flange, high / 2 + 1.3 * flange),
        f"{first.name}, tape {face}": (0.0, high / 2 + flange / 2),
        "beam's wall": (0.0, (wall - high) / 2),
    }
    low, left = -high / 2 - 1.5 * flange, -wide / 2 - 1.5 * flange
    view.measures += [
        Measure((-wide / 2, 0), (wide / 2, 0), (0, low - gap), f"{sign}{wide:.3g}"),
        Measure(
            (-wide / 2 - flange, 0),
            (wide / 2 + flange, 0),
            (0, low - 2.6 * gap),
            f"{(wide + 2 * flange):.3g}",
        ),
        Measure((0, high / 2 - wall), (0, high / 2), (left - gap, 0), f"wall {wall:.3g}"),
    ]
    return view


def _clamp_views(joint: ClampedJoint) -> tuple[FittingView, FittingView]:
    """Straps or clamps along the beam, and round it; the joint's point at the origin, outboard on the right."""
    word = "straps" if joint.kind == "strapped" else "clamps"
    return _clamp_side(joint, word), _clamp_end(joint, word)


def _clamp_side(joint: ClampedJoint, word: str) -> FittingView:
    view = FittingView("From ahead,\ninboard on the left")
    size, places = 1e3 * joint.diameter, sorted(1e3 * place for place in joint.places)
    half, wide, depth = size / 2, STRAP_WIDTH * size, STRAP_DEPTH * size
    low, high = min(0.0, places[0]), max(0.0, places[-1])
    left, right = low - size, high + size
    saddle = places[-1] - places[0] + 2 * wide
    middle, under = (places[0] + places[-1]) / 2, -half - SADDLE_DEPTH * size / 2
    view.box("beam's wall", ((left + right) / 2, 0), (right - left, size), 1.0)
    view.box("saddle", (middle, under), (saddle, SADDLE_DEPTH * size), 1.5)
    view.box("hull's side", (middle, -half - SADDLE_DEPTH * size - depth), (saddle + size, 2 * depth), 1.5)
    for place in places:
        view.box(word, (place, 0), (wide, size + 2 * depth), 2.0)
    view.anchors = {
        word: (places[0], 0.35 * size), "beam's wall": (left + 0.3 * size, 0.0), "saddle": (middle - 0.4 * saddle, under),
        "hull's side": (middle + saddle / 2 + 0.3 * size, -half - SADDLE_DEPTH * size - depth),
    }  # fmt: skip
    stops = sorted({0.0, *places})
    view.measures = [
        Measure((one, half), (other, half), (0, 0.35 * size), f"{other - one:.3g}")
        for one, other in pairwise(stops)
    ]
    return view


def _clamp_end(joint: ClampedJoint, word: str) -> FittingView:
    view = FittingView("Along the beam, from inboard,\nforward on the right")
    size = 1e3 * joint.diameter
    half, depth = size / 2, STRAP_DEPTH * size
    view.box(
        "saddle", (0, -half / 2 - SADDLE_DEPTH * size / 2), (1.5 * size, half + SADDLE_DEPTH * size), 1.0
    )
    view.box("hull's side", (0, -half - SADDLE_DEPTH * size - depth), (2.2 * size, 2 * depth), 1.0)
    view.disc(word, (0, 0), half + depth, 2.0)
    view.disc("beam's wall", (0, 0), half, 3.0)
    view.anchors = {
        word: (0.0, half + depth / 2), "beam's wall": (0.0, 0.0), "saddle": (0.6 * size, -half),
        "hull's side": (-0.9 * size, -half - SADDLE_DEPTH * size - depth),
    }  # fmt: skip
    bottom = -half - SADDLE_DEPTH * size - 2 * depth
    view.measures = [Measure((-half, 0), (half, 0), (0, bottom - 0.15 * size), f"⌀ {size:.3g}")]
    return view
