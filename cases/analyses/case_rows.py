"""Every case and combination of a boat with one joint, as rows: how each was solved, and its responses."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from functools import cached_property

import numpy as np

from cases.input.combinations import ExpandedCombination, factor_matrix
from femcore.base.arrays import FloatArray
from femcore.base.errors import StructureFault
from femcore.results.member_forces import Stations, actions_at, stations
from femcore.solvers.solution import Solution
from femcore.solvers.superposition import Superposition, superpose, superpose_together
from models.checks.bow_walls import shell_places
from models.joints import Joint
from models.response.front_end import CROSSBEAM, LONGERON, PROD, SIDES, FrontEnd
from models.response.joint_loads import joint_loads, stem_movements, striker_axial

STATIONS_PER_ELEMENT = 4
"""Steps in each element of a beam, as in a study's crossbeam."""
ABS_TOL_SAME_PLACE = 1e-9
"""m: a place along a bow nearer to a node than this has an element on either side."""
ROW_METHODS = {
    "case": "a single case",
    "combined": "linear superposition of solved cases",
    "slack": "solved as a whole (a cable goes slack)",
    "deformed": "solved as a whole, second order (deformed shape)",
    "cancelling": "solved as a whole (its parts nearly cancel)",
}
"""What was done for a row, in words."""


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Responses:
    """Responses of r cases or combinations, linear in the solution.

    joint_load : (r, 2, 6), N and N·m, what the crossbeam puts on the hulls, port and starboard, boat axes
    stems      : (r, 2, 6), m and rad, movements of the stems
    tension    : (r, k), N, of the martingale's parts
    striker    : (r, p), N, axial force in the striker at its foot and at the end of each element, tension positive; none without
    crossbeam, longeron : (r, s, 6), actions N, Vy, Vz, T, My, Mz along them, beam axes: along the crossbeam from its starboard
                          end, along the longeron from its root and on along the prod; none without either
    bows       : (r, 2, p, 2, 6), actions on port and starboard bow behind and ahead of each place where their shell is checked,
                 beam axes: x forward, y to port
    """

    joint_load: FloatArray
    stems: FloatArray
    tension: FloatArray
    striker: FloatArray
    crossbeam: FloatArray
    longeron: FloatArray
    bows: FloatArray

    def __repr__(self) -> str:
        """How many rows; the numbers are thousands."""
        return f"<Responses of {len(self.joint_load)} rows>"


def responses(front: FrontEnd, solution: Solution) -> Responses:
    """Of every case of a solution."""
    cases = len(solution.names)
    ahead = longeron_stations(front)
    return Responses(
        joint_load=joint_loads(solution),
        stems=stem_movements(front, solution),
        tension=solution.tension,
        striker=striker_axial(front, solution),
        crossbeam=_along(solution, crossbeam_stations(front)),
        longeron=np.zeros((cases, 0, 6)) if ahead is None else _along(solution, ahead),
        bows=_along_bows(front, solution),
    )


def _along_bows(front: FrontEnd, solution: Solution) -> FloatArray:
    """(cases, 2, p, 2, 6): on both bows' own elements, behind and ahead of each of `shell_places`."""
    x = np.array([place.x for place in shell_places(front.boat)])
    elements, xi = [], []
    for side in SIDES:
        member = front.frame.members[f"{side} bow"]
        ends = front.frame.end_points[member.first : member.last, :, 0]
        behind = np.maximum(np.searchsorted(ends[:, 1], x - ABS_TOL_SAME_PLACE), 0)
        ahead = np.searchsorted(ends[:, 0], x + ABS_TOL_SAME_PLACE, side="right") - 1
        both = np.minimum(np.stack([behind, ahead], axis=1), len(ends) - 1)
        start, end = ends[both, 0], ends[both, 1]
        elements.append(member.first + both)
        xi.append(np.clip((x[:, None] - start) / (end - start), 0.0, 1.0))
    found = actions_at(solution, np.ravel(elements).astype(np.intp), np.ravel(xi))
    return found.reshape(len(found), len(SIDES), len(x), 2, 6)


def _along(solution: Solution, at: Stations) -> FloatArray:
    return actions_at(solution, at.elements, at.xi)


def crossbeam_stations(front: FrontEnd) -> Stations:
    """Stations of the actions along the crossbeam."""
    return stations(front.frame, front.frame.members[CROSSBEAM], per_element=STATIONS_PER_ELEMENT)


def longeron_stations(front: FrontEnd) -> Stations | None:
    """Stations of the actions along longeron and prod; None without either."""
    members = front.frame.members
    ahead = [members[name] for name in (LONGERON, PROD) if name in members]
    return stations(front.frame, *ahead, per_element=STATIONS_PER_ELEMENT) if ahead else None


@dataclass(frozen=True, eq=False, repr=False)
class CaseRows:
    """All cases (first) and combinations (after them) with one joint.

    cases : the cases, solved;   combinations : None where there are none;   values : of all rows
    """

    joint: Joint
    front: FrontEnd
    cases: Solution
    combinations: Superposition | None
    values: Responses

    def __repr__(self) -> str:
        """Which joint, and how many rows."""
        return f"<CaseRows of ‘{self.joint.name}’: {len(self.names)} cases and combinations>"

    @cached_property
    def names(self) -> tuple[str, ...]:
        """(r,), of cases and combinations."""
        return self.cases.names + (() if self.combinations is None else self.combinations.linear.names)

    @property
    def method(self) -> tuple[str, ...]:
        """(r,), what was done for each: a key of `ROW_METHODS`."""
        return ("case",) * len(self.cases.names) + (
            () if self.combinations is None else self.combinations.method
        )

    @property
    def balance(self) -> FloatArray:
        """(r,), relative."""
        return (
            self.cases.balance
            if self.combinations is None
            else np.append(self.cases.balance, self.combinations.balance)
        )

    @property
    def error(self) -> FloatArray:
        """(r,), relative; of what was combined a bound."""
        return (
            self.cases.error
            if self.combinations is None
            else np.append(self.cases.error, self.combinations.error)
        )

    def linear(self, of_cases: FloatArray) -> FloatArray:
        """(r, …), of all rows what is in proportion to the loads, from its values (c, …) in the cases."""
        if self.combinations is None:
            return of_cases
        return np.concatenate([of_cases, np.tensordot(self.combinations.factors, of_cases, axes=1)])


def case_rows(
    joint: Joint, front: FrontEnd, solution: Solution, combinations: Sequence[ExpandedCombination] = ()
) -> CaseRows:
    """Solved cases with one joint, and these combinations of them, movements imposed on a case already scaled in.

    StructureFault, naming joint and combination, where one cannot be solved.
    """
    return _rows(joint, front, solution, combine(joint, solution, combinations))


def case_rows_together(
    several: Sequence[tuple[Joint, FrontEnd, Solution]], combinations: Sequence[ExpandedCombination] = ()
) -> tuple[CaseRows, ...]:
    """With each of several joints, of the same cases, what `case_rows` gives with one; deformed shapes side by side.

    StructureFault as of `case_rows`, of the first joint that has one.
    """
    done: list[Superposition | StructureFault | None] = [None] * len(several)
    if combinations and several:
        solutions = [solution for _, _, solution in several]
        factors = factor_matrix(combinations, solutions[0].names)
        done = [*superpose_together(solutions, factors, tuple(one.name for one in combinations))]
    found = []
    for (joint, front, solution), one in zip(several, done, strict=True):
        if isinstance(one, StructureFault):
            raise one.inside(f"joint '{joint.name}'")
        found.append(_rows(joint, front, solution, one))
    return tuple(found)


def _rows(joint: Joint, front: FrontEnd, solution: Solution, done: Superposition | None) -> CaseRows:
    """Solved cases with one joint, and combinations of them."""
    if done is None:
        values = responses(front, solution)
    else:
        units = responses(front, done.units)
        of_cases = (
            _first_rows(units, len(solution.names))
            if solution.is_superposable
            else responses(front, solution)
        )
        values = _concatenated(of_cases, _combined_responses(front, done, units))
    return CaseRows(joint, front, solution, done, _without_rounding(values))


def combine(
    joint: Joint, solution: Solution, combinations: Sequence[ExpandedCombination]
) -> Superposition | None:
    """The combinations with one joint, combined or solved; None where there are none. StructureFault as of `case_rows`."""
    if not combinations:
        return None
    try:
        return superpose(
            solution, factor_matrix(combinations, solution.names), tuple(one.name for one in combinations)
        )
    except StructureFault as fault:
        raise fault.inside(f"joint '{joint.name}'") from None


def combined_responses(front: FrontEnd, done: Superposition) -> Responses:
    """Of all combinations: the linear ones from those of the unit solutions, which are far fewer."""
    return _without_rounding(_combined_responses(front, done, responses(front, done.units)))


def _without_rounding(values: Responses) -> Responses:
    """Cables at their limit are slack."""
    return replace(values, tension=np.maximum(values.tension, 0.0))


def _combined_responses(front: FrontEnd, done: Superposition, units: Responses) -> Responses:
    solved = None if done.solved is None else responses(front, done.solved)
    return Responses(*(
        done.combine(getattr(units, field.name), None if solved is None else getattr(solved, field.name))
        for field in fields(units)
    ))  # fmt: skip


def _first_rows(values: Responses, count: int) -> Responses:
    """The first of them."""
    return Responses(*(getattr(values, field.name)[:count] for field in fields(values)))


def _concatenated(one: Responses, other: Responses) -> Responses:
    return Responses(*(
        np.concatenate([getattr(one, field.name), getattr(other, field.name)]) for field in fields(one)
    ))  # fmt: skip


__all__ = [
    "ROW_METHODS",
    "CaseRows",
    "Responses",
    "case_rows",
    "case_rows_together",
    "combine",
    "combined_responses",
    "responses",
]
