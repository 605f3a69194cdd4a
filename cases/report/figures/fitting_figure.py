"""Simple drawings of a joint's fitting, with the governing check of each part."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial
from typing import TYPE_CHECKING, Any

import numpy as np

from cases.analyses.analysis import Analysis
from cases.analyses.part_margins import PartMargins
from cases.analyses.study import Study
from cases.report.data import words
from cases.report.figures.drawing_process import Job
from femcore.base import numbers
from femcore.plotting import style
from femcore.plotting.drawing import Drawing
from models.joints.base import without_side
from models.joints.lug import LugJoint
from models.joints.socket import TOWARDS_CENTRELINE, SocketJoint
from models.strength.margins import GoverningCheck

if TYPE_CHECKING:
    from matplotlib.axes import Axes

HEIGHT = 4.0
"""Inches, at least."""
STEEL, WOOD, GLUE, BEAM = (
    style.GRID_COLOUR,
    style.SERIES_COLOURS[4],
    style.SERIES_COLOURS[1],
    style.SERIES_COLOURS[0],
)
LabelAnchors = dict[str, tuple[float, float]]
LABEL_HEIGHT = 0.1
"""Of the drawing's width: a label of two lines, so that one does not overlap the next."""


def fitting_jobs(study: Study, found: Analysis) -> Iterator[Job]:
    """A job for every joint whose fitting can be drawn: lug and pin, bonded socket."""
    slugs = numbers.slugs([joint.joint.name for joint in study.joints])
    for joint, part_margins, slug in zip(study.joints, found.part_margins, slugs, strict=True):
        if isinstance(joint.joint, LugJoint | SocketJoint):
            parts = governing_by_part(part_margins)
            yield partial(fitting_picture, joint.joint, parts, f"fitting-{slug}")


def fitting_picture(joint: LugJoint | SocketJoint, parts: dict[str, GoverningCheck], name: str) -> Drawing:
    """The fitting on the left, its parts with load and margin on the right."""
    with style.drawing_style():
        figure = style.new_figure(style.WIDTH, max(HEIGHT, 0.36 * len(parts) + 0.8))
        axes = figure.subplots()
        axes.set_aspect("equal")
        axes.axis("off")
        lug = isinstance(joint, LugJoint)
        anchors = _draw_lug(axes, joint) if isinstance(joint, LugJoint) else _draw_socket(axes, joint)
        on_side = "Port hull side, viewed from inboard, forward on the right"
        axes.set_title(on_side if lug else "Viewed from ahead, inboard on the left")
        _label(axes, anchors, parts)
        called = numbers.plain(joint.name)
        caption = (
            f"Fitting of ‘{called}’, to scale except for skins too thin to show. Each part: governing check, load or "
            "utilisation, margin; the worse of both sides."
        )
        return Drawing(figure, name, f"Fitting: {called}", caption)


def governing_by_part(part_margins: PartMargins) -> dict[str, GoverningCheck]:
    """The governing check of each part of the joint itself, of both sides."""
    found: dict[str, GoverningCheck] = {}
    for worst, name in part_margins.worst:
        if name is not None and worst.part in part_margins.joint_part_names:
            part = without_side(worst.part)
            found.setdefault(part, worst)
    return found


def _draw_lug(axes: Axes, joint: LugJoint) -> LabelAnchors:
    """Plate, bolts, lugs and pin as one looks outboard: forward to the right; mm."""
    plate, bolts, lugs, pin, eye = joint.plate, joint.bolts, joint.lugs, joint.pin, joint.eye
    fore, up = 1e3 * plate.fore_and_aft, 1e3 * plate.upright
    _box(axes, (0, 0), (fore, up), STEEL)
    across = 1e3 * bolts.pitch_fore_and_aft * (np.arange(bolts.columns) - (bolts.columns - 1) / 2)
    high = 1e3 * bolts.pitch_upright * (np.arange(bolts.rows) - (bolts.rows - 1) / 2)
    for x in across:
        for z in high:
            _ring(axes, (x, z), 1e3 * bolts.washer / 2, style.BACKGROUND_COLOUR)
            _ring(axes, (x, z), bolts.size / 2, style.MUTED_COLOUR)
    along = 0 if abs(pin.axis[0]) >= abs(pin.axis[2]) else 1
    anchors: LabelAnchors = {
        "bolts": (across[-1], high[-1]),
        "plate": (fore / 2, up / 3),
        "hull": (fore / 2, -up / 2),
    }
    reach = max(map(abs, lugs.places)) + lugs.thickness / 2 + eye.thickness + eye.gap
    _box(axes, (0, 0), _turned(2e3 * reach + 20, 1e3 * pin.diameter, along), style.MUTED_COLOUR)
    for number, place in enumerate(lugs.places, start=1):
        at = _turned(1e3 * place, 0.0, along)
        _box(axes, at, _turned(1e3 * lugs.thickness, 1e3 * lugs.width, along), style.SERIES_COLOURS[2])
        anchors[f"lug {number}, weld"] = (at[0], at[1] - (1e3 * lugs.width / 2 if along == 0 else 0.0))
        anchors[f"lug {number}"] = (at[0], at[1] + (1e3 * lugs.width / 2 if along == 0 else 0.0))
    wide = 1e3 * (eye.width or 1.3 * pin.diameter)
    for number, place in enumerate(joint.eye_places, start=1):
        middle = _turned(1e3 * place, 0.0, along)
        _box(axes, middle, _turned(1e3 * eye.thickness, wide, along), BEAM)
        anchors[f"beam's end, eye {number}"] = middle
    anchors["beam's end"] = anchors["beam's end, eye 1"]
    anchors["lug"] = anchors["lug 1"]
    anchors["pin"] = _turned(1e3 * reach + 8, 0.0, along)
    return anchors


def _turned(along: float, across: float, axis: int) -> tuple[float, float]:
    """Along the pin and across it, as right and up."""
    return (along, across) if axis == 0 else (across, along)


def _draw_socket(axes: Axes, joint: SocketJoint) -> LabelAnchors:
    """The beam through the skins it crosses, with their tapes; mm."""
    beam, last = joint.beam, max(crossing.at for crossing in joint.crossings)
    half = 500 * (beam.diameter or beam.depth or 0.0)
    leg = 1e3 * max(crossing.on_beam for crossing in joint.crossings)
    left, right = -2.2 * leg, 1e3 * last + 1.3 * leg
    _box(axes, ((left + right) / 2, 0), (right - left, 2 * half), BEAM, 0.25)
    anchors: LabelAnchors = {"beam's wall": (left + 0.3 * leg, -half)}
    for crossing in joint.crossings:
        x = 1e3 * crossing.at
        skin, on_skin, on_beam = (
            1e3 * crossing.skin.built.thickness,
            1e3 * crossing.on_skin,
            1e3 * crossing.on_beam,
        )
        thick = max(skin, 0.03 * (right - left))
        for sign in (-1, 1):
            _box(axes, (x, sign * (half + 0.8 * on_skin)), (thick, 1.6 * on_skin), WOOD)
        anchors[crossing.name] = (x, half + 1.5 * on_skin)
        for face in crossing.faces:
            # the centreline is to the left
            way = -1 if face == TOWARDS_CENTRELINE else 1
            for sign in (-1, 1):
                foot = x + way * thick / 2
                corner = np.array([[0, on_skin], [0, 0], [on_beam, 0]]) * [way, sign] + [foot, sign * half]
                axes.plot(*corner.T, color=GLUE, lw=4.5, solid_joinstyle="round", zorder=4)
            anchors[f"{crossing.name}, tape {face}"] = (foot + way * on_beam * 0.6, half)
        anchors[f"beam's wall at {crossing.name}"] = (x, -half)
        if crossing.diaphragm is not None:
            _box(
                axes, (x, 0), (max(1e3 * crossing.diaphragm.depth_of_wall, 0.5 * thick), 2 * half), WOOD, 0.6
            )
            anchors[f"diaphragm at {crossing.name}"] = (x, 0.5 * half)
    anchors["beside the skins"] = (right, 0.0)
    return anchors


def _label(axes: Axes, anchors: LabelAnchors, parts: dict[str, GoverningCheck]) -> None:
    """A line of text for each part to the right of the drawing, upper and right first so that the thin lines do not cross."""
    axes.autoscale_view()
    low, high = axes.get_ylim()
    left, right = axes.get_xlim()
    wide = right - left
    order = sorted(parts, key=lambda part: tuple(-at for at in reversed(_place(anchors, part))))
    room = max(0.33, LABEL_HEIGHT * (len(order) - 1) / 2) * wide
    spread = np.linspace(max(high, room), min(low, -room), max(2, len(order)))
    for part, height in zip(order, spread, strict=False):
        worst = parts[part]
        unit = worst.unit
        load = (
            f"utilisation {words.number(worst.load, 2)}"
            if unit in ("", "1")
            else words.quantity(worst.load, unit)
        )
        said = f"{part}\n{worst.check}: {load}, margin {words.number(min(worst.margin, 999), 2)}"
        arrow = {
            "arrowstyle": "-",
            "color": style.MUTED_COLOUR,
            "lw": 0.7,
            "shrinkA": 2,
            "shrinkB": 0,
            "relpos": (0.0, 0.5),
        }
        text: dict[str, Any] = {"fontsize": 7.5, "va": "center", "ha": "left", "arrowprops": arrow}
        colour = style.SERIES_COLOURS[3] if worst.margin < 0 else style.TEXT_COLOUR
        axes.annotate(said, _place(anchors, part), (right + 0.12 * wide, float(height)), color=colour, **text)
    axes.set_xlim(left, right + 0.12 * wide + 1.1 * wide)
    axes.set_ylim(min(low, spread[-1]) - 0.08 * wide, max(high, spread[0]) + 0.08 * wide)


def _place(anchors: LabelAnchors, part: str) -> tuple[float, float]:
    """Where a part is: the anchor that its name begins with, the longest first, else that of the plate or beam."""
    fitting = [name for name in anchors if part.startswith(name)]
    return anchors[max(fitting, key=len)] if fitting else next(iter(anchors.values()))


def _box(axes: Axes, middle: Sequence[float], size: Sequence[float], colour: str, alpha: float = 0.9) -> None:
    corners = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) / 2 * np.asarray(size) + np.asarray(middle)
    over = 2 if colour in (STEEL, WOOD) else 4
    axes.fill(*corners.T, facecolor=colour, edgecolor=style.MUTED_COLOUR, lw=0.7, alpha=alpha, zorder=over)


def _ring(axes: Axes, middle: Sequence[float], radius: float, colour: str) -> None:
    turn = np.linspace(0.0, 2 * np.pi, 30)
    points = radius * np.column_stack([np.cos(turn), np.sin(turn)]) + np.asarray(middle)
    axes.fill(*points.T, facecolor=colour, edgecolor=style.MUTED_COLOUR, lw=0.7, zorder=3)
