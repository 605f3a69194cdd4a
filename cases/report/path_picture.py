"""The load path of a case as a picture: what comes onto the crossbeam, how it splits, and where it leaves.

Seen from ahead, and from above with the bows towards the reader, so that port is on the right of both. Arrows of force are as
wide as the force; a moment is a round arrow, as thick as the moment; torque goes round the beam.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np

from cases.report import words
from cases.study import JointResult, Study
from femcore import looks
from femcore.deflected import cables_of
from femcore.frame import FloatArray
from femcore.view import View
from models.front_end import CENTRE, CROSSBEAM, LONGERON, PROD, SIDES, STRIKER, STRIKER_TOP, FrontEnd

if TYPE_CHECKING:
    from matplotlib.axes import Axes

WIDTH = 7.4
AHEAD, ABOVE = View(0.0, 0.0), View(0.0, 90.0)
"""Both with port to the right; from above, forward is down the page."""
BONDED = ("bonded socket", "strapped", "clamped")
"""Kinds of joint that make the beam one piece with the hulls, the likeliest first."""
SLIGHT = 0.02
"""Of the largest force (or moment) in the case: what is less is not drawn."""
ROUNDING = 1e-7
"""Of the largest force times the hulls' spacing: moments that are less are none."""
IN, OUT, ALONG, STAYS, HULL = looks.SERIES[1], looks.SERIES[0], looks.SERIES[2], looks.SERIES[5], looks.QUIET
BEHIND = 0.42
"""Of the bows' length: so much of what lies behind the crossbeam is drawn."""


@dataclass(frozen=True, slots=True)
class Flow:
    """What comes onto the crossbeam, or what it gives away, at one place.

    at     : (3,), m, where;   action : (6,), N and N·m, boat axes
    apart  : m, how far to port of there it is drawn, where others would cover it
    """

    name: str
    at: FloatArray
    action: FloatArray
    colour: str
    apart: float = 0.0


@dataclass(slots=True)
class _Notes:
    """Numbers to write, and points that they should not cover."""

    at: list[FloatArray] = field(default_factory=list)
    texts: list[str] = field(default_factory=list)
    busy: list[FloatArray] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class _Scale:
    """The largest force and moment of the case, N and N·m, and the length of its longest arrow, m."""

    force: float
    moment: float
    length: float


def shown_joint(study: Study) -> JointResult:
    """The joint whose load path is drawn: the file's first bonded one, else a rigid one, else the stiffest in racking."""
    kinds = [joint.joint.words_of_kind for joint in study.joints]
    for kind in (*BONDED, "rigid"):
        if kind in kinds:
            return study.joints[kinds.index(kind)]
    return max(study.joints, key=lambda joint: joint.racking_stiffness)


def why_shown(study: Study) -> str:
    """Which joint that is, and by what rule, in a sentence."""
    joint = shown_joint(study).joint
    kind = joint.words_of_kind
    rule = "the first that is bonded" if kind in BONDED else "a rigid one" if kind == "rigid" else ""
    return (
        f"The pictures of the load path are of {words.name_of(joint.name)}, "
        f"{rule or 'the stiffest against racking'}; the tables have all joints."
    )


def flows(joint: JointResult, case: int) -> list[Flow]:
    """What comes onto the crossbeam and what it gives away in a case, off the ledger and the joint loads."""
    front, found = joint.front, joint.cases[case]
    centre, ledger = front.position(CENTRE), dict(zip(found.path_names, found.path, strict=True))
    beside = front.boat.bows.spacing / 12
    shown = [Flow("applied", centre, ledger["applied to the crossbeam"], IN)]
    for side, name in enumerate(SIDES):
        inward = (2 * side - 1) * beside
        shown.append(Flow(f"{name} joint", front.joint_position(side), found.joint_load[side], OUT, inward))
    if LONGERON in ledger:
        aft = centre - 0.2 * (centre - front.frame.nodes[front.frame.node_index["longeron root"]])
        shown.append(Flow(LONGERON, aft, -ledger[LONGERON], ALONG, -beside))
    if PROD in ledger:
        ahead = centre + 0.3 * (front.position("prod tip") - centre)
        shown.append(Flow(PROD, ahead, ledger[PROD], IN, beside))
    return shown


def on_bows(joint: JointResult, case: int) -> list[Flow]:
    """Forces that act on the bows' nodes."""
    frame, nodal = joint.front.frame, joint.solution.loads.nodal[case]
    found = []
    for side in SIDES:
        nodes = np.unique(frame.ends[frame.members[f"{side} bow"].elements])
        found += [
            Flow("", frame.nodes[n], np.r_[nodal[n, :3], 0, 0, 0], IN) for n in nodes if nodal[n, :3].any()
        ]
    return found


def path_picture(study: Study, case: int, name: str) -> looks.Picture:
    """The load path of a case with the joint of `shown_joint`."""
    joint = shown_joint(study)
    called, boat = looks.plain(study.cases[case].name), joint.front.boat
    shown, outer = flows(joint, case), on_bows(joint, case)
    force = max(looks.largest(flow.action[:3]) for flow in (*shown, *outer))
    moment = max(looks.largest(flow.action[3:]) for flow in shown)
    moment = moment if moment > ROUNDING * force * boat.bows.spacing else 0.0
    scale = _Scale(force, moment, 0.13 * boat.bows.spacing)
    with looks.style():
        boxes = _boxes(joint.front, scale.length)
        heights = [box[3] - box[2] for box in boxes]
        wide = boxes[0][1] - boxes[0][0]
        figure = looks.new_figure(WIDTH, WIDTH * sum(heights) / wide + 0.9)
        panels = figure.subplots(2, 1, height_ratios=heights)
        for axes, box, title in zip(
            panels, boxes, ("from ahead", "from above, bows towards you"), strict=True
        ):
            axes.set_aspect("equal")
            axes.set(xlim=box[:2], ylim=box[2:])
            axes.axis("off")
            axes.set_title(title)
        figure.legend(handles=_legend(shown), loc="outside upper left", ncols=4)
        _ahead(panels[0], joint, case, [*shown, *outer], scale)
        _above(panels[1], joint, [*shown, *outer], scale)
        caption = (
            f"Load path in the case ‘{called}’ with ‘{looks.plain(joint.joint.name)}’: what comes onto the crossbeam and what "
            "it puts on hulls and longeron. Straight arrows are as wide as the force; round ones, as thick as the moment, are "
            "bending, or torque where they go round the beam the way its upper side turns. Moments stand at the joints; less "
            f"than {100 * SLIGHT:.0f} % of the largest is not drawn, loads spread along a part neither."
        )
        return looks.finish(figure, name, f"Load path: {called}", caption)


def _boxes(front: FrontEnd, length: float) -> list[tuple[float, float, float, float]]:
    """Left, right, bottom, top of both panels, m."""
    bows, frame = front.boat.bows, front.frame
    side = bows.spacing / 2 + 1.9 * length
    aft = front.boat.crossbeam.station - BEHIND * bows.length
    fore, low, high = frame.nodes[:, 0].max(), bows.height - length, frame.nodes[:, 2].max()
    for points in _hull_sections(front):
        low, high = min(low, points[:, 1].min()), max(high, points[:, 1].max())
    centre = front.position(CENTRE)[2]
    high, low = max(high, centre + 1.25 * length), min(low, centre - 1.25 * length)
    fore = max(fore, front.boat.crossbeam.station + 1.25 * length)
    return [(-side, side, low - 0.1, high + 0.2), (-side, side, -fore - 0.1, -aft + 0.1)]


def _hull_sections(front: FrontEnd) -> list[FloatArray]:
    """(k, 2), m: the hull's section at the crossbeam, y from its own centreline and z, where the file has its outline."""
    sections = front.boat.bows.sections
    if sections is None:
        return []
    nearest = int(np.abs(sections.stiffness.x - front.boat.crossbeam.station).argmin())
    return [np.asarray(sections.stiffness.solved[nearest].section.points)]


def _half_breadths(front: FrontEnd) -> tuple[FloatArray, FloatArray]:
    """m: places along the bow and its half-breadth there; without an outline that of its inboard side, all along."""
    bows = front.boat.bows
    if bows.sections is None:
        return np.array([0.0, bows.length]), np.full(2, bows.inboard)
    solved = bows.sections.stiffness.solved
    return bows.sections.stiffness.x, np.array([np.abs(one.section.points[:, 0]).max() for one in solved])


def _ahead(axes: Axes, joint: JointResult, case: int, shown: Sequence[Flow], scale: _Scale) -> None:
    front, notes = joint.front, _Notes()
    spacing = front.boat.bows.spacing
    for sign in (-1, 1):
        for points in _hull_sections(front):
            _closed(axes, points + np.array([sign * spacing / 2, 0.0]))
    _beam(axes, front, AHEAD)
    if STRIKER in front.frame.members:
        top = front.frame.nodes[front.frame.node_index[STRIKER_TOP]]
        axes.plot(*AHEAD.project(np.array([front.position(CENTRE), top])).T, color=STAYS, lw=3, zorder=2)
        if (strut := joint.cases[case].truss.strut) > SLIGHT * scale.force:
            _note(notes, AHEAD.project(top), f"striker {words.quantity(strut, 'N')}")
    _cables(axes, joint, case, scale, notes)
    for flow in shown:
        at = AHEAD.project(flow.at) + np.array([0.0 if flow.colour == OUT else flow.apart, 0.0])
        _forces(axes, flow, at, {1: (1.0, 0.0), 2: (0.0, 1.0)}, scale, notes)
        _bending(axes, flow, at, 3, scale, notes)
    _write(axes, notes)


def _above(axes: Axes, joint: JointResult, shown: Sequence[Flow], scale: _Scale) -> None:
    front, notes = joint.front, _Notes()
    x, half = _half_breadths(front)
    for sign in (-1, 1):
        middle = sign * front.boat.bows.spacing / 2
        across, along = np.concatenate([middle - half, (middle + half)[::-1]]), -np.concatenate([x, x[::-1]])
        _closed(axes, np.column_stack([across, along]))
    _beam(axes, front, ABOVE)
    for flow in shown:
        at = ABOVE.project(flow.at)
        # the sideways force stands in the other panel
        _forces(axes, flow, at, {0: (0.0, -1.0)}, scale, notes)
        _bending(axes, flow, at, 5, scale, notes)
        _torque(axes, flow, at + np.array([flow.apart, 0.0]), scale, notes)
    _write(axes, notes)


def _closed(axes: Axes, points: FloatArray) -> None:
    axes.fill(*points.T, facecolor=looks.FAINT, edgecolor=HULL, alpha=0.35, lw=1.0, zorder=1)


def _beam(axes: Axes, front: FrontEnd, view: View) -> None:
    """Crossbeam, longeron and prod, and the hull's axis out to which the joint's rigid arm reaches."""
    frame = front.frame
    for member, width in ((CROSSBEAM, 5.0), (LONGERON, 3.5), (PROD, 3.5)):
        if member in frame.members:
            nodes = frame.ends[frame.members[member].elements]
            points = frame.nodes[np.r_[nodes[:, 0], nodes[-1:, 1]]]
            if member == CROSSBEAM:
                points = np.array([front.joint_position(1), front.joint_position(0)])
            axes.plot(*view.project(points).T, color=looks.FAINT, lw=width, solid_capstyle="butt", zorder=2)
    joints = np.array([front.joint_position(side) for side in (0, 1)])
    axes.plot(*view.project(joints).T, "o", color=looks.INK, ms=3.5, zorder=6)


def _cables(axes: Axes, joint: JointResult, case: int, scale: _Scale, notes: _Notes) -> None:
    """The martingale, as wide as its pull."""
    cables, tensions = joint.front.frame.cables, joint.cases[case].truss.tension
    told = set[str]()
    for owner, segment in zip(cables.segment_owner, cables_of(joint.solution)[0], strict=True):
        name = cables.names[owner]
        points, pull = AHEAD.project(segment), tensions.get(name, 0.0)
        width = 0.8 + 7.0 * pull / scale.force if scale.force else 0.8
        axes.plot(*points.T, color=STAYS, lw=min(width, 8.0), ls="-" if pull else ":", zorder=2, alpha=0.8)
        if name not in told and pull > SLIGHT * scale.force:
            told.add(name)
            _note(notes, points.mean(axis=0), f"{name.split()[-1]} {words.quantity(pull, 'N')}")


def _forces(
    axes: Axes, flow: Flow, at: FloatArray, ways: dict[int, tuple[float, float]], scale: _Scale, notes: _Notes
) -> None:
    """An arrow for each component of the force, as wide as it."""
    from matplotlib.patches import FancyArrow  # noqa: PLC0415  (start-up time)

    for component, way in ways.items():
        value = float(flow.action[component])
        share = abs(value) / scale.force if scale.force else 0.0
        if share < SLIGHT:
            continue
        length = scale.length * (0.6 + 0.4 * share)
        width = max(0.3 * scale.length * share, 0.012 * scale.length)
        span = np.array(way) * np.sign(value) * length
        head = max(1.9 * width, 0.14 * scale.length)
        arrow = FancyArrow(
            *at, *span, width=width, head_width=head, head_length=0.75 * head, length_includes_head=True,
            facecolor=flow.colour, edgecolor="none", alpha=0.9, zorder=4,
        )  # fmt: skip
        axes.add_patch(arrow)
        notes.busy.append(at + np.linspace(0, 1, 6)[:, None] * span)
        _note(notes, at + span, _said(flow, value, "N"))


def _bending(axes: Axes, flow: Flow, at: FloatArray, component: int, scale: _Scale, notes: _Notes) -> None:
    """A moment about the line of sight: three quarters of a circle, anticlockwise where positive."""
    value = float(flow.action[component])
    turn = np.radians(np.linspace(-60.0, 200.0, 40))[:: 1 if value > 0 else -1]
    ring = at + 0.34 * scale.length * np.column_stack([np.cos(turn), np.sin(turn)])
    _round(axes, flow, ring, value, scale, notes)


def _torque(axes: Axes, flow: Flow, at: FloatArray, scale: _Scale, notes: _Notes) -> None:
    """About the beam's own axis: a ring round it, the upper half full, in the sense in which the upper side turns."""
    value = float(flow.action[4])
    if scale.moment == 0 or abs(value) < SLIGHT * scale.moment:
        return
    turn = np.radians(np.linspace(80.0, -80.0, 30))[:: 1 if value > 0 else -1]
    size = scale.length * np.array([0.16, 0.42])
    back = at + size * np.column_stack([-np.cos(turn), np.sin(turn)])
    axes.plot(*back.T, color=flow.colour, lw=1.0, ls=(0, (2, 1.5)), zorder=1.5)
    ring = at + size * np.column_stack([np.cos(turn), np.sin(turn)])
    _round(axes, flow, ring, value, scale, notes, "torque")


def _round(
    axes: Axes,
    flow: Flow,
    ring: FloatArray,
    value: float,
    scale: _Scale,
    notes: _Notes,
    what: str = "bending",
) -> None:
    """A round arrow along points (k, 2), as thick as the moment."""
    from matplotlib.patches import FancyArrowPatch  # noqa: PLC0415  (start-up time)
    from matplotlib.path import Path  # noqa: PLC0415  (start-up time)

    share = abs(value) / scale.moment if scale.moment else 0.0
    if share < SLIGHT:
        return
    look: dict[str, Any] = {"arrowstyle": "-|>", "mutation_scale": 8 + 9 * share, "shrinkA": 0, "shrinkB": 0}
    look |= {"lw": 0.9 + 3.6 * share, "color": flow.colour, "capstyle": "butt"}
    axes.add_patch(FancyArrowPatch(path=Path(ring), zorder=5, **look))
    notes.busy.append(ring[::4])
    _note(notes, ring[len(ring) // 2], _said(flow, value, "N·m", what))


def _said(flow: Flow, value: float, unit: str, what: str = "") -> str:
    """A number without sign, since the arrow has it; with the name of what is no joint."""
    name = "" if flow.name.endswith("joint") else flow.name
    return " ".join(filter(None, (name, what, words.quantity(abs(value), unit))))


def _note(notes: _Notes, at: FloatArray, text: str) -> None:
    notes.at.append(np.asarray(at, dtype=float))
    notes.texts.append(text)


def _write(axes: Axes, notes: _Notes) -> None:
    if notes.at:
        busy = np.concatenate(notes.busy) if notes.busy else None
        looks.place_names(axes, np.array(notes.at), notes.texts, busy)


def _legend(shown: Sequence[Flow]) -> list[Any]:
    from matplotlib.patches import Patch  # noqa: PLC0415  (start-up time)

    named = [(IN, "comes on"), (OUT, "put on the hulls")]
    if any(flow.colour == ALONG for flow in shown):
        named.append((ALONG, "put on the longeron"))
    return [Patch(color=colour, label=text) for colour, text in [*named, (STAYS, "striker, martingale")]]
