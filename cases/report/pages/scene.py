"""The boat to turn, as numbers for a page: shapes, and what each joint does in each case. No mechanics: it reads solutions.

p : points of a member, the ends of its elements;   r : rings, the hull's outlines
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

import numpy as np

from cases.analyses.analysis import Analysis
from cases.analyses.candidates import candidates
from cases.analyses.joint_results import JointResult
from cases.analyses.part_margins import PartMargins
from cases.analyses.study import Study
from cases.loads import LoadCase, components
from cases.report.figures.boat_shapes import hull_outlines, tube_sizes
from femcore.base.arrays import FloatArray, IntArray
from femcore.results.member_forces import MemberForces, member_forces
from models.response.front_end import CROSSBEAM, LONGERON, PROD, SIDES, STRIKER, FrontEnd

MOST_JOINTS = 4
"""In the picture; more would make the page large and the choice long."""
SMALLEST_FORCE = 1e-6
"""Of the largest load of a case: a smaller one has no arrow."""
BEAMS = frozenset({CROSSBEAM, STRIKER, LONGERON, PROD})
"""Members whose largest action sets the scale of colours; those of hulls and platform are drawn as lines."""
LINE_RADIUS = 0.02
"""m, of a member whose size is not known."""
STAY_SHOWN = 0.5
"""Of the spacing of the bows: the length of the stay that is drawn above its tang."""
MOST_USED = 1e3
"""Utilisation shown at most: of a part that carries nothing, margin −1, it has no bound."""
WORDS = (
    "The boat in three dimensions, with hulls, tubes, stay, martingale, loads and the forces of the beam on the hulls, moved by "
    "the load of the chosen case"
)


def scene(analysis: Analysis) -> dict[str, Any]:
    """Of the candidates that have an answer, all cases: JSON, lengths m, forces N, moments N·m, movements m and rad."""
    study = analysis.study
    wanted = [joint.name for joint in candidates(study.file)]
    pairs = list(zip(study.joints, analysis.part_margins, strict=True))
    chosen = [pair for pair in pairs if pair[0].joint.name in wanted] or pairs
    front = chosen[0][0].front
    names, sizes, outlines = list(front.frame.members), tube_sizes(front), hull_outlines(front)
    shapes = [_points(member_forces(chosen[0][0].solution, name, per_element=1)) for name in names]
    ropes = _ropes(study, front)
    arrows = [_arrows(front, one.case) for one in chosen[0][0].cases]
    return {
        "words": WORDS,
        "mainCase": [case.name for case in study.cases].index(study.main_case.name),
        "members": [
            {
                "name": name,
                "beam": name in BEAMS,
                "radius": sizes[name] / 2 if name in sizes else LINE_RADIUS,
                "station": _short(shape.station),
                "points": _short(shape.point),
            }
            for name, shape in zip(names, shapes, strict=True)
        ],
        "hulls": _hulls(front, outlines),
        "ropes": [{"name": rope.name, "points": _short(rope.points)} for rope in ropes],
        "cases": [
            {"name": case.name, "loads": [one.shown for one in acting]}
            for case, acting in zip(study.cases, arrows, strict=True)
        ],
        "joints": [_joint(result, margins, names, outlines, ropes, arrows) for result, margins in chosen[:MOST_JOINTS]],
    }  # fmt: skip


def _points(along: MemberForces) -> MemberForces:
    """At its start, then at the end of each element."""
    kept = [0, *range(1, len(along.station), 2)]
    return MemberForces(
        along.cases,
        along.station[kept],
        along.point[kept],
        along.actions[:, kept],
        along.displacement[:, kept],
    )


def _hulls(front: FrontEnd, outlines: FloatArray | None) -> list[dict[str, Any]]:
    """Outlines (r, 40, 3) of the bows, and the point of the axis (r, 3) that each moves with."""
    if outlines is None:
        return []
    return [
        {"rings": _short(rings), "axis": _short(_on_axis(front, side, rings[:, 0, 0]))}
        for side, rings in zip(SIDES, outlines, strict=True)
    ]


def _on_axis(front: FrontEnd, side: str, x: FloatArray) -> FloatArray:
    """(r, 3), m: the bow's axis abreast of outlines at x."""
    ends = front.frame.end_points[front.frame.members[f"{side} bow"].elements]
    points = np.concatenate([ends[:1, 0], ends[:, 1]])
    return _at_stations(points[:, 0], points, x)


@dataclass(frozen=True, slots=True, eq=False)
class _Arrow:
    """A load's component as one force, N, at the middle of where it acts; nodes, weights (n,): how it moves with the frame."""

    name: str
    at: FloatArray
    force: FloatArray
    weights: FloatArray

    @property
    def shown(self) -> dict[str, Any]:
        """As it is drawn before anything moves."""
        return {"name": self.name, "at": _short(self.at), "force": _short(self.force)}

    def moved(self, displacement: FloatArray) -> FloatArray:
        """(3,), m, under movements of the nodes (n, 6)."""
        return np.asarray(self.weights @ displacement[:, :3])


def _arrows(front: FrontEnd, case: LoadCase) -> list[_Arrow]:
    """Of a case's components those that are a force; what acts along beams moves with the ends of their elements."""
    acting, found = components(front, case), []
    largest = max((float(np.linalg.norm(one.force.sum(axis=0))) for one in acting), default=0.0)
    for one in acting:
        force, size = one.force.sum(axis=0), np.linalg.norm(one.force, axis=1)
        if np.linalg.norm(force) > SMALLEST_FORCE * largest:
            at = (one.at * size[:, None]).sum(axis=0) / size.sum()
            weights = np.linalg.norm(one.nodal[:, :3], axis=1)
            np.add.at(weights, front.frame.ends, np.linalg.norm(one.line, axis=1)[:, None])
            found.append(_Arrow(one.name, at, force, weights / max(weights.sum(), np.finfo(float).tiny)))
    return found


@dataclass(frozen=True, slots=True, eq=False)
class _Rope:
    """A cable, or a length of the stay above its tang.

    nodes, arms : (p,) and (p, 3), m, of its points, those of the mast, −1, left where they are;   points : (p, 3), m
    tension     : (joint, number of the case) → N; None where the case says none
    """

    name: str
    nodes: IntArray
    arms: FloatArray
    points: FloatArray
    tension: Callable[[JointResult, int], float | None]

    def moved(self, displacement: FloatArray) -> FloatArray:
        """(p, 3), m, under movements of the nodes (n, 6)."""
        of_node = np.where(self.nodes[:, None] >= 0, displacement[self.nodes], 0.0)
        return np.asarray(of_node[:, :3] + np.cross(of_node[:, 3:], self.arms))


def _ropes(study: Study, front: FrontEnd) -> list[_Rope]:
    """Of the cables, as many as the frame has; and of the stay, as it pulls in the rig case with the largest pull."""
    cables, found = front.frame.cables, []
    for number, name in enumerate(cables.names):
        here = cables.cable_of_point == number
        nodes, arms = cables.nodes[here], cables.arms[here]
        tension = partial(_tension, number)
        found.append(_Rope(name, nodes, arms, front.frame.nodes[nodes] + arms, tension))
    pulls = {name: np.array([-line.aft, line.side, line.up]) for name, line in study.stay_lines().items()}
    if pulls:
        sizes = {name: float(np.linalg.norm(pull)) for name, pull in pulls.items()}
        main = max(sizes, key=lambda name: sizes[name])
        foot, arm = front.places["stay"], np.array([front.places["stay"].arm, np.zeros(3)])
        along = STAY_SHOWN * front.boat.bows.spacing * pulls[main] / sizes[main]
        points = front.position("stay") + np.array([np.zeros(3), along])
        nodes = np.array([front.frame.node_index[foot.node], -1])
        found.append(_Rope("forestay", nodes, arm, points, partial(_pull, sizes)))
    return found


def _tension(cable: int, result: JointResult, case: int) -> float:
    return float(result.solution.tension[case, cable])


def _pull(sizes: Mapping[str, float], result: JointResult, case: int) -> float | None:
    return sizes.get(result.cases[case].case.name)


def _joint(
    result: JointResult,
    margins: PartMargins,
    names: Sequence[str],
    outlines: FloatArray | None,
    ropes: Sequence[_Rope],
    arrows: Sequence[Sequence[_Arrow]],
) -> dict[str, Any]:
    along = {name: _points(member_forces(result.solution, name, per_element=1)) for name in names}
    # each ring moves with the bow's axis abreast of it
    bows = [] if outlines is None else [along[f"{side} bow"] for side in SIDES]
    stations = [] if outlines is None else [rings[:, 0, 0] for rings in outlines]
    return {
        "name": result.joint.name,
        "utilisation": [_utilisation(margins, name) for name in names],
        "cases": [
            {
                "movements": [_short(one.displacement[number, :, :3]) for one in along.values()],
                "actions": [_short(_three_actions(one.actions[number])) for one in along.values()],
                "rings": [
                    _short(_at_stations(bow.point[:, 0], bow.displacement[number], x))
                    for bow, x in zip(bows, stations, strict=True)
                ],
                "ropes": [
                    {
                        "movements": _short(rope.moved(result.solution.displacement[number])),
                        "tension": None if tension is None else _short(np.array(tension)),
                    }
                    for rope in ropes
                    for tension in [rope.tension(result, number)]
                ],
                "loadsMoved": [
                    _short(one.moved(result.solution.displacement[number])) for one in arrows[number]
                ],
                "reactions": _reactions(result, number),
                "onHulls": [
                    {
                        "at": _short(result.front.joint_position(side)),
                        "by": _short(along[CROSSBEAM].displacement[number, end, :3]),
                        "force": _short(load[:3]),
                    }
                    for side, (end, load) in enumerate(
                        zip((-1, 0), result.cases[number].joint_load, strict=True)
                    )
                ],
            }
            for number in range(len(result.cases))
        ],
    }


def _three_actions(actions: FloatArray) -> FloatArray:
    """(p, 3): axial force N, torque N·m, and the bending moment N·m, with the sign of its larger part, of (p, 6)."""
    N, T, My, Mz = actions[:, 0], actions[:, 3], actions[:, 4], actions[:, 5]
    sign = np.where(np.abs(My) >= np.abs(Mz), np.sign(My), np.sign(Mz))
    return np.column_stack([N, T, sign * np.hypot(My, Mz)])


def _at_stations(along: FloatArray, values: FloatArray, x: FloatArray) -> FloatArray:
    """(r, i): values (p, i) given along a bow (p,), linear between them, at x (r,)."""
    return np.column_stack([np.interp(x, along, column) for column in values.T])


def _reactions(result: JointResult, number: int) -> list[dict[str, Any]]:
    force = result.solution.reactions[number, :, :3]
    size = np.linalg.norm(force, axis=1)
    return [
        {"at": _short(result.front.frame.nodes[node]), "force": _short(force[node])}
        for node in np.flatnonzero(size > SMALLEST_FORCE * size.max(initial=0.0))
    ]


def _utilisation(margins: PartMargins, member: str) -> float | None:
    """The highest of a member's own checks over all rows, safety factors in; None where none was made."""
    found = [
        one.margin
        for one, name in margins.worst
        if name is not None and one.part.startswith(member) and np.isfinite(one.margin)
    ]
    return round(1 / max(1 + min(found), 1 / MOST_USED), 4) if found else None


def _short(values: FloatArray) -> Any:  # noqa: ANN401  (nested lists)
    """Lists with five significant digits of the largest value: the picture shows no more."""
    array = np.asarray(values, dtype=float)
    largest = np.abs(array).max(initial=0.0)
    digits = 5 if largest == 0 else max(0, 4 - int(np.floor(np.log10(largest))))
    return np.round(array, digits).tolist()


__all__ = ["scene"]
