"""The views of a load path: from ahead, from above with bows towards the reader, and each hull from starboard.

Port is on the right of the first two. Every view has its own scale in metres; all share one scale of force and one of moment.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from cases.analyses.joint_results import CaseResult, JointResult
from cases.report.data import words
from cases.report.figures import load_path_outline
from cases.report.figures.load_path_flows import Body, Flow
from cases.report.figures.load_path_outline import EDGE, ROOM
from femcore.base import numbers
from femcore.base.arrays import FloatArray
from femcore.plotting import force_flow, style
from femcore.plotting.force_flow import Panel, Scale
from femcore.plotting.projection import View
from femcore.results.deflected_shape import cable_segments
from models.response.front_end import CENTRE, CROSSBEAM, LONGERON, PROD, SIDES, STRIKER, STRIKER_TOP, FrontEnd

if TYPE_CHECKING:
    from matplotlib.figure import Figure

AHEAD, ABOVE = View(0.0, 0.0), View(0.0, 90.0)
"""Both with port to the right; from above, forward is down the page."""
MIN_DRAWN_RATIO = 0.02
"""Of the largest applied force (failing that, of any), of the largest moment of a kind, or within one component of the load:
what is less is not drawn."""
IN, HULLS, ALONG, ROOT_NODES, MARTINGALE_STAYS = (style.SERIES_COLOURS[i] for i in (1, 0, 2, 3, 5))
COLOURS = {"applied": IN, "prod": IN, "hull": HULLS, "longeron": ALONG, "root": ROOT_NODES}
TEXT = 7.0
ASIDE = 92.0
"""Points left free beside the hulls."""
TALLEST = 190.0
"""Points: of the bows from above."""
TITLE, LEGEND = 16.0, 50.0


@dataclass(frozen=True, slots=True, eq=False)
class ShownCase:
    """The joint, case and flows of one picture.

    least_force  : N, below which nothing is drawn
    least_moment : N·m, the same: of torque, of other moments at the crossbeam, and of those at the roots
    """

    joint: JointResult
    found: CaseResult
    flows: list[Flow]
    scale: Scale
    least_force: float
    least_moment: tuple[float, float, float]

    @property
    def front(self) -> FrontEnd:
        """The front end that is drawn."""
        return self.joint.front

    def least(self, flow: Flow) -> float:
        """N, below which a flow's force is not drawn; of a component of the load, beside its own largest: each is drawn."""
        return MIN_DRAWN_RATIO * numbers.largest(flow.force) if flow.role == "applied" else self.least_force

    def shows(self, flow: Flow, component: int) -> bool:
        """Whether a moment of a flow is large enough to be drawn."""
        kind = 2 if flow.role == "root" else 0 if component == 1 else 1
        return abs(float(flow.moment[component])) > self.least_moment[kind]

    def of(self, *bodies: Body) -> list[Flow]:
        """Those that act on some parts."""
        return [flow for flow in self.flows if flow.body in bodies]


@dataclass(frozen=True, slots=True)
class _Row:
    """A row of views: what it shows of the boat up the page, m, and points per metre."""

    low: float
    high: float
    per_metre: float

    @property
    def tall(self) -> float:
        """Points, without its title."""
        return (self.high - self.low) * self.per_metre


def _rows(shown: ShownCase, columns: int) -> tuple[_Row, _Row, _Row]:
    """From ahead; from above; and the profiles, so many beside one another."""
    front = shown.front
    length = float(front.frame.nodes[:, 0].max())
    ahead = (72 * style.WIDTH - 2 * ASIDE) / front.boat.bows.spacing
    above, profile = (
        min(ahead, TALLEST / length),
        min((72 * style.WIDTH / columns - 2 * ROOM) / length, ahead),
    )
    outside = [flow for flow in shown.flows if flow.role == "applied" and flow.body != "crossbeam"]
    forward = any(flow.whole[0] > shown.least(flow) for flow in outside)
    return (
        _Row(*load_path_outline.panel_height(front, ahead), ahead),
        _Row(-length - (ROOM if forward else EDGE) / above, ROOM / above, above),
        _Row(*load_path_outline.panel_height(front, profile), profile),
    )


def draw_load_path(shown: ShownCase) -> Figure:
    """The figure: views from ahead, from above, and a row of profiles."""
    front, longeron = shown.front, LONGERON in shown.front.frame.members
    bodies: list[Body] = ["starboard", "centre", "port"] if longeron else ["starboard", "port"]
    ahead, above, profile = rows = _rows(shown, len(bodies))
    figure = style.new_figure(
        style.WIDTH, (LEGEND + sum(row.tall + TITLE for row in rows)) / 72, fixed_layout=True
    )
    tops = np.cumsum([LEGEND, ahead.tall + TITLE, above.tall + TITLE])
    _ahead(_view(figure, shown.scale, ahead, tops[0], "From ahead"), shown)
    _above(_view(figure, shown.scale, above, tops[1], "From above, bows towards you"), shown)
    middle = float(front.frame.nodes[:, 0].max()) / 2
    for number, body in enumerate(bodies):
        title = (
            f"{body.capitalize()} hull, from starboard" if body != "centre" else "Longeron, from starboard"
        )
        column = number, len(bodies)
        _profile(_view(figure, shown.scale, profile, tops[2], title, middle, column), shown, body)
    colours = [(IN, "load applied"), (HULLS, "crossbeam pushes on hulls")]
    colours += [(ALONG, "crossbeam pushes on longeron")] if longeron else []
    colours += [(ROOT_NODES, "bows push on bulkhead"), (MARTINGALE_STAYS, "force in striker and martingale")]
    force_flow.legend(figure, colours, shown.scale, (0.0, 1.0))
    return figure


def _view(
    figure: Figure,
    scale: Scale,
    row: _Row,
    top: float,
    title: str,
    middle: float = 0.0,
    column: tuple[int, int] = (0, 1),
) -> Panel:
    """A view of a row that begins `top` points down the page, `middle` (m) in the middle of its column (which, of how many)."""
    number, count = column
    wide, high = 72 * style.WIDTH / count, 72 * figure.get_size_inches()[1]
    half = wide / 2 / row.per_metre
    box = (number * wide / 72, (high - top - TITLE - row.tall) / 72, wide / 72, row.tall / 72)
    made = force_flow.panel(figure, box, (middle - half, middle + half, row.low, row.high), scale, (IN,))
    made.axes.set_title(title, y=1.0)
    return made


def _ahead(panel: Panel, shown: ShownCase) -> None:
    """The crossbeam's plane: all that acts on it, and what acts on the hulls gathered at their axes."""
    front = shown.front
    spacing = front.boat.bows.spacing
    for sign, side in ((-1, "starboard"), (1, "port")):
        points = load_path_outline.hull_section(front) + np.array([sign * spacing / 2, 0.0])
        load_path_outline.closed(panel, points)
        outer = sign * (points[:, 0] * sign).max()
        low, high = points[:, 1].min(), points[:, 1].max()
        beside = outer, low + 0.3 * (high - low)
        load_path_outline.label(panel, beside, side, "left" if sign > 0 else "right")
    load_path_outline.beam(panel, front, AHEAD)
    _truss(panel, shown)
    for flow in shown.flows:
        if flow.role == "root" or (flow.role == "applied" and flow.body == "centre"):
            continue
        one = (
            flow
            if flow.body == "crossbeam" or flow.role != "applied"
            else replace(flow, at=flow.moment_point[None], force=flow.whole[None])
        )
        _forces(panel, shown, one, AHEAD, {1: (1.0, 0.0), 2: (0.0, 1.0)})
        _moment_about_view_axis(panel, shown, one, AHEAD, 0)
    panel.draw_labels(TEXT)


def _above(panel: Panel, shown: ShownCase) -> None:
    """All parts from above: forces that are level, torques, bending and torsion."""
    front = shown.front
    x, half = load_path_outline.hull_half_breadths(front)
    for sign, side in ((-1, "starboard"), (1, "port")):
        middle = sign * front.boat.bows.spacing / 2
        across, along = np.concatenate([middle - half, (middle + half)[::-1]]), -np.concatenate([x, x[::-1]])
        load_path_outline.closed(panel, np.column_stack([across, along]))
        load_path_outline.label(panel, (middle, 0.5 * along.min()), side)
    load_path_outline.beam(panel, front, ABOVE)
    _longeron_band(panel, shown)
    for flow in shown.flows:
        if flow.role != "prod":
            _forces(panel, shown, flow, ABOVE, {1: (1.0, 0.0), 0: (0.0, -1.0)})
        _moment_about_view_axis(panel, shown, flow, ABOVE, 2)
        _moment_about_member(panel, shown, flow)
    panel.draw_labels(TEXT)


def _moment_about_member(panel: Panel, shown: ShownCase, flow: Flow) -> None:
    """Torsion of a hull or the longeron, round it ahead of its root; torque of the crossbeam, round it inboard of the joint."""
    at = ABOVE.project(flow.moment_point)
    of_part = flow.role == "root" or (flow.role == "applied" and flow.body in SIDES)
    component, what = (0, "torsion") if of_part else (1, "torque")
    if of_part:
        at = at - [0.0, force_flow.RING_CLEARANCE / panel.per_metre]
    elif flow.role == "hull":
        at = at - [np.sign(at[0]) * force_flow.RING_CLEARANCE / panel.per_metre, 0.0]
    if shown.shows(flow, component):
        value = float(flow.moment[component])
        panel.torque(at, value, COLOURS[flow.role], _said(flow, value, "N·m", what), upright=of_part)


def _profile(panel: Panel, shown: ShownCase, body: Body) -> None:
    """One hull, or the longeron: forces up and down, and what turns about the beam's axis."""
    front = shown.front
    if body != "centre":
        load_path_outline.closed(panel, load_path_outline.profile_outline(front))
    else:
        for member in (LONGERON, PROD):
            if member in front.frame.members:
                panel.axes.plot(
                    *load_path_outline.run(front, member)[:, [0, 2]].T,
                    color=style.GRID_COLOUR,
                    lw=4,
                    zorder=1,
                )
    beam = front.position(CENTRE)[[0, 2]]
    panel.axes.plot(*beam, "o", color=style.GRID_COLOUR, mec=style.MUTED_COLOUR, ms=6, zorder=3)
    for one in shown.of(body):
        at, moment_point = one.at[:, [0, 2]], one.moment_point[[0, 2]]
        _row(panel, shown, one, at, one.force[:, 2], (0.0, 1.0))
        if shown.shows(one, 1):
            value = float(one.moment[1])
            what = (
                "bending" if one.role == "root" or (one.body in SIDES and one.role == "applied") else "torque"
            )
            # seen from starboard the beam's axis points away: what turns the bow down goes clockwise
            panel.ring(moment_point, -value, COLOURS[one.role], _said(one, value, "N·m", what))
    panel.draw_labels(TEXT)


def _truss(panel: Panel, shown: ShownCase) -> None:
    """Striker and martingale, as wide as the force they carry, and the compression of the crossbeam."""
    front, state, rest = shown.front, shown.found.truss, shown.found.under_pretension
    if STRIKER in front.frame.members:
        top = front.frame.nodes[front.frame.node_index[STRIKER_TOP]]
        said = f"striker {words.quantity(state.strut, 'N')}" if state.strut > shown.least_force else ""
        panel.band(
            AHEAD.project(np.array([front.position(CENTRE), top])), state.strut, MARTINGALE_STAYS, said
        )
    cables = front.frame.cables
    labelled = set[str]()
    for owner, segment in zip(cables.cable_of_segment, cable_segments(shown.joint.solution)[0], strict=True):
        name = cables.names[owner]
        pull = state.tension.get(name, 0.0)
        said = f"{name.split()[-1]} {words.quantity(pull, 'N')}" if pull > shown.least_force else ""
        if said and rest is not None:
            said += f"\n({words.quantity(rest.tension[name], 'N')} pretension)"
        panel.band(AHEAD.project(segment), pull, MARTINGALE_STAYS, "" if name in labelled else said)
        labelled.add(name)
    if state.compression > shown.least_force and state.tension:
        run = front.frame.members[CROSSBEAM]
        compressed = -shown.joint.solution.natural[_number(shown), run.elements, 0]
        points = front.frame.end_points[run.elements]
        for ends, force in zip(points, compressed.tolist(), strict=True):
            panel.band(AHEAD.project(ends), max(force, 0.0), HULLS, ls="-", alpha=0.3)


def _number(shown: ShownCase) -> int:
    return [one.case.name for one in shown.joint.cases].index(shown.found.case.name)


def _longeron_band(panel: Panel, shown: ShownCase) -> None:
    """The longeron, as wide as the force along it."""
    front = shown.front
    if LONGERON in front.frame.members:
        run = front.frame.members[LONGERON]
        along = shown.joint.solution.natural[_number(shown), run.elements, 0]
        for ends, force in zip(front.frame.end_points[run.elements], along.tolist(), strict=True):
            panel.band(ABOVE.project(ends), force, ALONG, alpha=0.45)


def _forces(
    panel: Panel, shown: ShownCase, flow: Flow, view: View, ways: dict[int, tuple[float, float]]
) -> None:
    """Arrows for the components of the force that lie in the view."""
    at = view.project(flow.at)
    for component, way in ways.items():
        _row(panel, shown, flow, at, flow.force[:, component], way)


def _row(
    panel: Panel, shown: ShownCase, flow: Flow, at: FloatArray, forces: FloatArray, way: tuple[float, float]
) -> None:
    """One arrow, or one for each of the places that a spread load is drawn at; the words tell the whole of it."""
    whole = float(forces.sum())
    if numbers.largest([whole, *forces]) <= shown.least(flow):
        return
    at, forces = panel.apart(at, forces, way)
    spread = len(forces) > 1
    middle = len(forces) // 2
    for number, (place, force) in enumerate(zip(at, forces.tolist(), strict=True)):
        said = _said(flow, whole, "N", after="in all" if spread else "") if number == middle else ""
        if force:
            panel.arrow(place, way, force, COLOURS[flow.role], said, row=spread)


def _moment_about_view_axis(panel: Panel, shown: ShownCase, flow: Flow, view: View, component: int) -> None:
    """The moment about the line of sight."""
    value = float(flow.moment[component])
    if shown.shows(flow, component):
        what = "torsion" if component == 0 and flow.role == "applied" and flow.body in SIDES else "bending"
        panel.ring(
            view.project(flow.moment_point), value, COLOURS[flow.role], _said(flow, value, "N·m", what)
        )


def _said(flow: Flow, value: float, unit: str, what: str = "", after: str = "") -> str:
    """A number without sign, since the arrow has it; of what is applied or passes to longeron and prod, the name."""
    label = " ".join(filter(None, (what, words.quantity(abs(value), unit), after)))
    if flow.role in {"hull", "root"}:
        return label
    return f"{flow.name}{chr(10) if len(flow.name) + len(label) > 20 else ' '}{label}"
