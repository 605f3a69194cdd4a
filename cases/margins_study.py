"""What every part must stand and can stand, in every case: the joints' parts and those beside them, by the file's factors."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from cases.loads import LoadCase
from femcore.actions import along
from femcore.frame import FloatArray
from femcore.solution import Solution
from models.beam_parts import PartLoads, beam_part_checks
from models.boat_file import Boat
from models.front_end import CROSSBEAM, LONGERON, PROD
from models.joints import Joint
from models.margins import Check, Worst, envelope, outcome
from models.readings import joint_loads, trussed

NEAR = 1e-6
"""m: a place nearer to a node than this is at it."""

if TYPE_CHECKING:
    from cases.study import JointResult, Study
    from models.softness import SpringCurve


@dataclass(frozen=True, slots=True)
class Forgiveness:
    """How little racking a joint forgives: the torque at which its first part fails, no factor taken.

    torque  : N·m;   part : which
    twist   : rad, of the joint's own spring under it; None where that is rigid
    racking : N, opposite forces at the stems that bring it there; None where racking brings the joint no torque
    """

    torque: float
    part: str
    twist: float | None
    racking: float | None


def joint_checks(
    boat: Boat, joint: Joint, cases: Sequence[LoadCase], solution: Solution, buckled: Sequence[float]
) -> tuple[Check, ...]:
    """Every check of one joint's parts on both sides, and of the parts beside them, over all cases of the solution.

    buckled : (cases,), what each case's load may be multiplied by until the frame buckles, inf where nothing is squeezed
    """
    of_joint = joint.checks(joint_loads(solution), boat.factors)
    return (*of_joint, *beam_part_checks(boat, part_loads(cases, solution, buckled), boat.factors))


def part_loads(cases: Sequence[LoadCase], solution: Solution, buckled: Sequence[float]) -> PartLoads:
    """What acts on striker, martingale, tang and beams in every case."""
    states = [trussed(solution, number) for number in range(len(cases))]
    members = solution.frame.members
    ahead = [_telling(solution, name) for name in (LONGERON, PROD) if name in members]
    return PartLoads(
        strut=np.array([state.strut for state in states]),
        tension=np.array([max(state.tension.values(), default=0.0) for state in states]),
        stay=np.array([stay_pull(case) for case in cases]),
        crossbeam=_telling(solution, CROSSBEAM),
        longeron=np.concatenate(ahead, axis=1) if ahead else None,
        buckled=np.asarray(buckled, dtype=float),
    )


def _telling(solution: Solution, name: str) -> FloatArray:
    """(cases, places, 6), actions along a member where its walls can be worst.

    Usage is convex in the actions, and these are linear between named nodes where no load acts along the member and the shape
    is not deformed: then both sides of those nodes tell all; else every element's ends.
    """
    frame, member = solution.frame, solution.frame.members[name]
    found = along(solution, member, 1)
    named = frame.nodes[list(frame.node_index.values())]
    wanted = np.linalg.norm(found.point[:, None] - named, axis=2).min(axis=1) < NEAR
    wanted[[0, -1]] = True
    if solution.bent.any() or solution.loads.line[:, member.elements].any():
        # both ends of an element within a bay are told by its start and the next one's
        wanted[::2] = True
    return found.actions[:, wanted]


def stay_pull(case: LoadCase) -> FloatArray:
    """(3,), N, boat axes: all that pulls at the stay's place in a case."""
    pulls = [load.force for load in (*case.loads(), *case.also) if load.place == "stay"]
    return np.sum(pulls, axis=0) if pulls else np.zeros(3)


def forgiveness(joint: Joint, curve: SpringCurve | None) -> Forgiveness | None:
    """How little racking that joint forgives; None where no part of it is checked under a torque."""
    failure = joint.moment_at_failure("pitch")
    if failure is None:
        return None
    k = float(joint.stiffness().springs[4])
    per_force = 0.0 if curve is None else abs(float(curve.moment(curve.own)))
    return Forgiveness(
        torque=failure.moment,
        part=failure.part,
        twist=None if math.isinf(k) or k == 0 else failure.moment / k,
        racking=failure.moment / per_force if per_force else None,
    )


def margins_data(study: Study) -> list[dict[str, Any]]:
    """JSON-ready: for every joint the envelope over all cases, the governing check first, and every case's own."""
    return [_joint_data(result) for result in study.joints]


def _joint_data(result: JointResult) -> dict[str, Any]:
    names = [case.case.name for case in result.cases]
    forgives = forgiveness(result.joint, result.curves.get("pitch"))
    return {
        "joint": result.joint.name,
        "outcome": outcome(result.checks),
        "forgiveness": None if forgives is None else asdict(forgives),
        "envelope": [_row(worst, names) for worst in envelope(result.checks)],
        "cases": {name: _case_rows(result.checks, number, name) for number, name in enumerate(names)},
    }


def _case_rows(checks: Iterable[Check], number: int, name: str) -> list[dict[str, Any]]:
    """One case's checks, the governing one first; what was not checked stands in the envelope."""
    alone = [_only(check, number) for check in checks if check.kind == "checked"]
    return [_row(worst, [name]) for worst in envelope(alone)]


def _only(check: Check, number: int) -> Check:
    one = slice(number, number + 1)
    return Check(
        check.part, check.check, check.load[one], check.allowable[one], check.unit, check.factor, check.source
    )


def _row(worst: Worst, names: Sequence[str]) -> dict[str, Any]:
    if worst.case is None:
        return {"part": worst.part, "check": worst.check, "kind": worst.kind, "reason": worst.reason}
    return {
        "part": worst.part,
        "check": worst.check,
        "kind": worst.kind,
        "case": names[worst.case],
        "load": worst.load,
        "allowable": worst.allowable,
        "unit": worst.unit,
        "factor": {"name": worst.factor.name, "value": worst.factor.value},
        # no load, no limit: JSON has no infinity
        "margin": worst.margin if math.isfinite(worst.margin) else None,
        "source": worst.source,
    }
