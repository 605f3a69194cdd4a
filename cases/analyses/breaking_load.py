"""The stay at its breaking load: what its pull acts on is to outlive the wire (common practice).

The front end with each joint is solved with the stay alone at its breaking load, along the rake of every rig case, pretension of
the martingale included, in first order. Tang, pin, martingale, striker, the beams and the bows' shells are checked under it. The
joints' own parts are not: what they carry of it is said by the joint loads of a case of that tension.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from cases.analyses.case_rows import case_rows
from cases.analyses.joint_results import JointResult
from cases.analyses.part_loads import part_loads
from cases.analyses.study import buckling_by_case
from cases.loads import LoadCase, case_loads
from cases.loads.rig import Rig
from femcore.base.errors import StructureFault
from femcore.solvers.solution import solve
from models.boat.boat import Boat
from models.checks.beam_parts import PartLoads, beam_part_checks, checks_of_each
from models.strength.margins import IN_SERVICE, Check, not_checked

PART, CHECK = "parts that carry the stay", "strength against its breaking load"
NO_LINE = 'what breaks the stay is not given; give [stay.line], such as { breaking = "80 kN" }: fittings are to outlive the wire'
NO_RIG = 'no case of kind "rig" gives the stay\'s rake'


@dataclass(frozen=True, eq=False)
class BreakingLoadChecks:
    """Checks of the parts beside a joint with the stay at its breaking load; `names` (cases,): what was solved."""

    checks: tuple[Check, ...]
    names: tuple[str, ...]


def breaking_load_checks(boat: Boat, results: Sequence[JointResult]) -> list[BreakingLoadChecks]:
    """With each joint of a study; an entry that is not checked where the file lacks the line or a rake, or nothing is solved."""
    cases = breaking_load_cases(boat, [case.case for case in results[0].cases]) if results else []
    if not cases:
        nothing = not_checked(PART, CHECK, 1, NO_LINE if boat.stay.line is None else NO_RIG)
        return [BreakingLoadChecks((nothing,), ())] * len(results)
    loads = [_loads(result, cases) for result in results]
    solved = [one for one in loads if isinstance(one, PartLoads)]
    made = iter(checks_of_each(solved, lambda some, _: _checks(boat, some)))
    names = tuple(case.name for case in cases)
    return [
        BreakingLoadChecks(next(made), names)
        if isinstance(one, PartLoads)
        else BreakingLoadChecks((not_checked(PART, CHECK, 1, one),), ())
        for one in loads
    ]


def _loads(result: JointResult, cases: Sequence[LoadCase]) -> PartLoads | str:
    """What acts on the parts beside a joint, or why that is not known."""
    try:
        solution = solve(result.front.prepared, case_loads(result.front, cases))
    except StructureFault as fault:
        return f"the front end with the stay at that load is not solved: {fault}"
    rows = case_rows(result.joint, result.front, solution)
    buckled = buckling_by_case(solution)
    utilisation = np.array([1 / buckled[i].factor if i in buckled else 0.0 for i in range(len(cases))])
    return part_loads(cases, rows, utilisation)


def _checks(boat: Boat, loads: PartLoads) -> Iterator[Check]:
    for check in beam_part_checks(boat, loads, boat.factors.at_breaking_load):
        if check.kind == "checked" and check.factor.name not in IN_SERVICE:
            yield replace(check, check=f"{check.check}, stay at its breaking load")


def breaking_load_cases(boat: Boat, cases: Sequence[LoadCase]) -> list[LoadCase]:
    """A rig case of that tension for every rake of the file's rig cases; none without a line or a rake."""
    if boat.stay.line is None:
        return []
    rakes = sorted({case.rake for case in cases if isinstance(case, Rig)})
    tension = boat.stay.line.breaking_load
    return [
        Rig(name=f"stay at its breaking load, raked {math.degrees(rake):.3g}°", tension=tension, rake=rake)
        for rake in rakes
    ]
