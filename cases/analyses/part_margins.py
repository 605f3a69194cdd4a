"""Margins of every part over all cases and combinations: the joints' own parts and those beside them, by the file's factors."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from cases.analyses.case_rows import CaseRows, crossbeam_stations, longeron_stations
from cases.analyses.study import JointResult
from cases.loads import LoadCase
from femcore.base.arrays import BoolArray, FloatArray
from femcore.results.member_forces import Stations
from femcore.solvers.superposed_buckling import buckling_utilisations
from models.boat.boat import Boat
from models.checks.beam_parts import PartLoads, beam_part_checks
from models.joints import Joint
from models.response.attraction import AttractionCurve
from models.response.front_end import LONGERON, PROD, FrontEnd
from models.strength.margins import OUTCOME_WORDS, Check, GoverningCheck, Outcome, envelope, overall_outcome

ABS_TOL_NODE_DISTANCE = 1e-6
"""m: a place nearer to a node than this is at it."""


@dataclass(frozen=True, eq=False, repr=False)
class PartMargins:
    """One joint's parts, and those beside it: their checks over all its rows.

    own, other_checks : checks of the joint's own parts on both sides, and of striker, martingale, tang and beams with it
    """

    rows: CaseRows
    own: tuple[Check, ...]
    other_checks: tuple[Check, ...]

    def __repr__(self) -> str:
        """Which joint, and how its own parts and those beside it fare."""
        own, beside = (OUTCOME_WORDS[outcome] for outcome in self.outcomes)
        return f"<PartMargins of ‘{self.joint}’: {own}; beside it: {beside}>"

    @property
    def joint(self) -> str:
        """Its name."""
        return self.rows.joint.name

    @cached_property
    def joint_part_names(self) -> frozenset[str]:
        """Names of the joint's own parts."""
        return frozenset(check.part for check in self.own)

    @cached_property
    def outcomes(self) -> tuple[Outcome, Outcome]:
        """Of the joint's own parts, and of those beside it."""
        return overall_outcome(self.own), overall_outcome(self.other_checks)

    @cached_property
    def worst(self) -> tuple[tuple[GoverningCheck, str | None], ...]:
        """The worst of every part and check, the governing one first, and the row that causes it; those not checked last."""
        found = envelope((*self.own, *self.other_checks))
        return tuple((one, None if one.case is None else self.rows.names[one.case]) for one in found)

    def governing_check(self, *, own: bool) -> tuple[GoverningCheck, str] | None:
        """The lowest margin of the joint's own parts, or of those beside it; None where none was checked."""
        known = ((worst, name) for worst, name in self.worst if name is not None)
        return next((row for row in known if (row[0].part in self.joint_part_names) == own), None)

    def checks_in_case(self, number: int) -> tuple[GoverningCheck, ...]:
        """Every check under one case alone, the governing one first; what was not checked is left out."""
        known = [
            check.for_case(number) for check in (*self.own, *self.other_checks) if check.kind == "checked"
        ]
        return envelope(known)


def part_margins(boat: Boat, result: JointResult, rows: CaseRows) -> PartMargins:
    """A joint of a study over its rows; NoConvergence where a combination has buckled before its load grows."""
    cases = [case.case for case in result.cases]
    loads = part_loads(cases, rows, buckling_utilisation(result, rows))
    return PartMargins(
        rows,
        result.joint.checks(rows.values.joint_load, boat.factors),
        beam_part_checks(boat, loads, boat.factors),
    )


def buckling_utilisation(result: JointResult, rows: CaseRows) -> FloatArray:
    """(r,), one over what each row's load may be multiplied by until the frame buckles; the largest is exact, others at most."""
    of_cases = np.array([1 / case.buckling.factor if case.buckling else 0.0 for case in result.cases])
    if rows.combinations is None:
        return of_cases
    return np.append(of_cases, buckling_utilisations(rows.combinations, of_cases.max()))


def part_loads(cases: Sequence[LoadCase], rows: CaseRows, buckled: FloatArray) -> PartLoads:
    """What acts on striker, martingale, tang and beams in every row; `buckled` (r,), buckling utilisations of the frame."""
    values, front, ahead = rows.values, rows.front, longeron_stations(rows.front)
    return PartLoads(
        striker_compression=np.maximum(-values.striker, 0.0).max(axis=1, initial=0.0),
        tension=values.tension.max(axis=1, initial=0.0),
        stay=rows.linear(np.array([stay_force(case) for case in cases])),
        crossbeam=values.crossbeam[:, _governing_stations(rows, crossbeam_stations(front))],
        longeron=None if ahead is None else values.longeron[:, _governing_stations(rows, ahead)],
        longeron_ends=None if ahead is None else longeron_ends(values.longeron, rows.front, ahead),
        buckling_utilisation=buckled,
    )


def longeron_ends(actions: FloatArray, front: FrontEnd, at: Stations) -> FloatArray:
    """(r, 2, 6), N and N·m, the longeron's beam axes: what it puts on the bulkhead, and with its prod on the crossbeam.

    actions : (r, s, 6), along longeron and prod at the stations `at`
    """
    members = front.frame.members
    own, prod = members[LONGERON], members.get(PROD)

    def face(element: int, xi: float) -> FloatArray:
        return np.asarray(actions[:, np.flatnonzero((at.elements == element) & (at.xi == xi))[0]])

    # an action is what the part ahead of a cut puts on the part behind it
    ahead = 0.0 if prod is None else face(prod.first, 0.0)
    return np.stack([face(own.first, 0.0), ahead - face(own.last - 1, 1.0)], axis=1)


def _governing_stations(rows: CaseRows, at: Stations) -> BoolArray:
    """(s,), stations along a member where its walls can be worst.

    The utilisation is convex in the actions, and these are linear between named nodes where no load acts along the member and
    the shape is not deformed: then both sides of those nodes suffice; else every element's ends.
    """
    frame, cases = rows.front.frame, rows.cases
    named = frame.nodes[list(frame.node_index.values())]
    near = np.linalg.norm(at.point[:, None] - named, axis=2).min(axis=1) < ABS_TOL_NODE_DISTANCE
    wanted = near & ((at.xi == 0) | (at.xi == 1))
    wanted[[0, -1]] = True
    if cases.second_order.any() or cases.loads.line[:, at.elements].any():
        # the start of each element and of the next one cover both its ends
        wanted |= at.xi == 0
    return np.asarray(wanted)


def stay_force(case: LoadCase) -> FloatArray:
    """(3,), N, boat axes: all that pulls at the stay's place in a case."""
    pulls = [load.force for load in case.all_place_loads() if load.place == "stay"]
    return np.sum(pulls, axis=0) if pulls else np.zeros(3)


@dataclass(frozen=True, slots=True)
class RotationCapacity:
    """The torque at which a joint's first part fails, no safety factor taken, and the racking that causes it.

    torque  : N·m;   part : which
    twist   : rad, of the joint's own spring under it; None where that is rigid
    racking : N, opposite forces at the stems that cause it; None where racking puts no torque on the joint
    """

    torque: float
    part: str
    twist: float | None
    racking: float | None


def rotation_capacity(joint: Joint, curve: AttractionCurve | None) -> RotationCapacity | None:
    """Of that joint; None where no part of it is checked under a torque."""
    failure = joint.moment_at_failure("pitch")
    if failure is None:
        return None
    stiffness = joint.stiffness()
    k = stiffness.own_stiffness("pitch") if stiffness.is_in_boat_axes else float(stiffness.springs[4])
    per_force = 0.0 if curve is None else abs(float(curve.moment(curve.joint_stiffness)))
    return RotationCapacity(
        torque=failure.moment,
        part=failure.part,
        twist=None if math.isinf(k) or k == 0 else failure.moment / k,
        racking=failure.moment / per_force if per_force else None,
    )
