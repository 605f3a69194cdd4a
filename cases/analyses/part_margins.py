"""Margins of every part over all cases and combinations: the joints' own parts and those beside them, by the file's factors."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from cases.analyses.breaking_load import BreakingLoadChecks, breaking_load_checks
from cases.analyses.case_rows import CaseRows
from cases.analyses.joint_results import JointResult
from cases.analyses.part_loads import part_loads
from cases.input.boat_file import BoatFile
from femcore.base.arrays import BoolArray, FloatArray
from femcore.base.written import Unwritten, written
from femcore.solvers.superposed_buckling import buckling_utilisations
from models.checks.beam_parts import PartLoads, beam_part_checks, checks_of_each
from models.joints import Joint
from models.joints.base import without_side
from models.response.attraction import AttractionCurve
from models.strength.margins import (
    OUTCOME_WORDS,
    Check,
    GoverningCheck,
    Outcome,
    case_by_case,
    envelope,
    overall_outcome,
    with_extreme_loads,
)


@dataclass(frozen=True, eq=False, repr=False)
class PartMargins:
    """The checks of a joint's parts, and of those beside it, over all its rows.

    own, other_checks : checks of the joint's own parts on both sides, and of striker, martingale, tang and beams with it
    at_breaking_load  : the latter again with the stay at its breaking load, which is no row of the file
    buckled           : (r,), `buckling_utilisation`
    """

    rows: Unwritten[CaseRows]
    own: Unwritten[tuple[Check, ...]]
    other_checks: Unwritten[tuple[Check, ...]]
    at_breaking_load: Unwritten[BreakingLoadChecks]
    buckled: Unwritten[FloatArray]

    def __repr__(self) -> str:
        """Which joint, and how its own parts and those beside it fare."""
        own, beside = (OUTCOME_WORDS[outcome] for outcome in self.outcomes)
        return f"<PartMargins of ‘{self.joint}’: {own}; beside it: {beside}>"

    @written("name of the joint")
    def joint(self) -> str:
        """Its name."""
        return self.rows.joint.name

    @written(
        "of the joint's own parts: fails; not known (a check lacks its data); holds (no check that was made fails)"
    )
    def outcome(self) -> Outcome:
        """The first of `outcomes`."""
        return self.outcomes[0]

    @written("of striker, martingale, tang and beams")
    def beside(self) -> Outcome:
        """The second of `outcomes`."""
        return self.outcomes[1]

    @written("the governing one first, those not checked last")
    def checks(self) -> list[GoverningCheck]:
        """Of `worst`."""
        return [one for one, _ in self.worst]

    @cached_property
    def joint_part_names(self) -> frozenset[str]:
        """Names of the joint's own parts."""
        return frozenset(check.part for check in self.own)

    @cached_property
    def outcomes(self) -> tuple[Outcome, Outcome]:
        """Of the joint's own parts, and of those beside it."""
        return (
            overall_outcome(self.own),
            overall_outcome((*self.other_checks, *self.at_breaking_load.checks)),
        )

    @cached_property
    def worst(self) -> tuple[tuple[GoverningCheck, str | None], ...]:
        """The worst of every part and check, the governing one first, and the row that causes it; those not checked last."""
        found = [
            (replace(one, worst_in=name), name)
            for checks, names in (
                ((*self.own, *self.other_checks), self.rows.names),
                (self.at_breaking_load.checks, self.at_breaking_load.names),
            )
            for one in envelope(checks)
            for name in [None if one.case is None else names[one.case]]
        ]
        return tuple(
            sorted(found, key=lambda row: (row[1] is None, 0.0 if row[1] is None else row[0].margin))
        )

    @property
    def lacking(self) -> dict[tuple[str, str], GoverningCheck]:
        """Checks of the joint's own parts that were not made, by part and check, both sides as one."""
        found: dict[tuple[str, str], GoverningCheck] = {}
        for one, name in self.worst:
            if name is None and one.part in self.joint_part_names:
                found.setdefault((without_side(one.part), one.check), one)
        return found

    def governing_check(self, *, own: bool) -> tuple[GoverningCheck, str] | None:
        """The lowest margin of the joint's own parts, or of those beside it; None where none was checked."""
        known = ((worst, name) for worst, name in self.worst if name is not None)
        return next((row for row in known if (row[0].part in self.joint_part_names) == own), None)

    def case_by_case(self, numbers: Iterable[int]) -> Iterator[tuple[GoverningCheck, ...]]:
        """Every check under each of these rows alone, the governing one first; what was not checked is left out."""
        return case_by_case((*self.own, *self.other_checks), numbers)


def extreme_rows(file: BoatFile, names: Sequence[str]) -> BoolArray:
    """(r,), the rows whose loads are extreme ones; a combination that is not the file's is taken as of working loads."""
    levels = file.load_levels
    return np.array([levels.get(name) == "extreme" for name in names], dtype=bool)


def part_margins(
    file: BoatFile, results: Sequence[JointResult], rows: Sequence[CaseRows]
) -> tuple[PartMargins, ...]:
    """Joints of a study, each over its rows; NoConvergence where a combination of one has buckled before its load grows."""
    pairs = list(zip(results, rows, strict=True))
    buckled = [buckling_utilisation(result, own) for result, own in pairs]
    extreme = [extreme_rows(file, own.names) for own in rows]
    loads = [
        part_loads([case.case for case in result.cases], own, of_frame)
        for (result, own), of_frame in zip(pairs, buckled, strict=True)
    ]

    def beside(some: PartLoads, numbers: Sequence[int]) -> tuple[Check, ...]:
        of_each = np.concatenate([extreme[number] for number in numbers])
        return with_extreme_loads(beam_part_checks(file, some, file.factors), of_each)

    own_checks = [
        with_extreme_loads(result.joint.checks(own.values.joint_load, file.factors), some)
        for (result, own), some in zip(pairs, extreme, strict=True)
    ]
    at_breaking_load = breaking_load_checks(file, results)
    columns = (rows, own_checks, checks_of_each(loads, beside), at_breaking_load, buckled)
    return tuple(PartMargins(*of_joint) for of_joint in zip(*columns, strict=True))


def buckling_utilisation(result: JointResult, rows: CaseRows) -> FloatArray:
    """(r,), one over what each row's load may be multiplied by until the frame buckles; the largest is exact, others at most."""
    of_cases = case_buckling(result)
    if rows.combinations is None:
        return of_cases
    solution = result.solution
    is_unit = (of_cases > 0) & ~solution.second_order & ~solution.slack.any(axis=1)
    known = np.where(is_unit, of_cases, np.nan)
    return np.append(of_cases, buckling_utilisations(rows.combinations, of_cases.max(), known))


def case_buckling(result: JointResult) -> FloatArray:
    """(c,), of each case, one over what its load may be multiplied by until the frame buckles; 0 where no load does that."""
    return np.array([1 / case.buckling.factor if case.buckling else 0.0 for case in result.cases])


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
    k = joint.stiffness().own_stiffness("pitch")
    per_force = 0.0 if curve is None else abs(float(curve.moment(curve.joint_stiffness)))
    return RotationCapacity(
        torque=failure.moment,
        part=failure.part,
        twist=None if math.isinf(k) or k == 0 else failure.moment / k,
        racking=failure.moment / per_force if per_force else None,
    )
