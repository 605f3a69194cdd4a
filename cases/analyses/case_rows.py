"""Every case of a boat and every combination of them, with one joint, as rows: what was done for each, what is read off it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from functools import cached_property

import numpy as np

from cases.input.combinations import CaseSum, factor_matrix
from femcore.base.arrays import FloatArray
from femcore.base.errors import StructureFault
from femcore.results.member_forces import Stations, actions_at, stations
from femcore.solvers.solution import Solution
from femcore.solvers.superposition import Superposition, superpose
from models.joints import Joint
from models.response.front_end import CROSSBEAM, LONGERON, PROD, STRIKER, FrontEnd
from models.response.joint_loads import joint_loads, stem_movements

PER_ELEMENT = 4
"""Steps in each element of a beam, as a study takes them along its crossbeam."""
HOW = {
    "case": "a single case",
    "combined": "put together from solved cases",
    "slack": "solved as a whole: a cable slackens",
    "deformed": "solved as a whole, in its deformed shape",
    "cancelling": "solved as a whole: its parts all but cancel",
}
"""What was done for a row, in words."""


@dataclass(frozen=True, slots=True, eq=False)
class Readings:
    """What is read off r cases or combinations; linear in the answer.

    joint_load : (r, 2, 6), N and N·m, what the crossbeam puts on the hulls, port and starboard, boat axes
    stems      : (r, 2, 6), m and rad, movements of the stems
    tension    : (r, k), N, of the martingale's parts
    striker    : (r, e), N, axial force in the striker's elements, pull positive; none without a striker
    crossbeam, longeron : (r, s, 6), actions N, Vy, Vz, T, My, Mz along them, beam axes: along the crossbeam from its starboard
                          end, along the longeron from its root and on along the prod; none without either
    """

    joint_load: FloatArray
    stems: FloatArray
    tension: FloatArray
    striker: FloatArray
    crossbeam: FloatArray
    longeron: FloatArray


def readings(front: FrontEnd, solution: Solution) -> Readings:
    """Read off every case of a solution."""
    frame, cases = solution.frame, len(solution.names)
    axial = solution.natural[:, : len(frame.ends), 0]
    strut = frame.members.get(STRIKER)
    ahead = stations_of_longeron(front)
    return Readings(
        joint_load=joint_loads(solution),
        stems=stem_movements(front, solution),
        tension=solution.tension,
        striker=np.zeros((cases, 0)) if strut is None else axial[:, strut.elements],
        crossbeam=_along(solution, stations_of_crossbeam(front)),
        longeron=np.zeros((cases, 0, 6)) if ahead is None else _along(solution, ahead),
    )


def _along(solution: Solution, at: Stations) -> FloatArray:
    return actions_at(solution, at.elements, at.xi)


def stations_of_crossbeam(front: FrontEnd) -> Stations:
    """Where actions are read along the crossbeam."""
    return stations(front.frame, front.frame.members[CROSSBEAM], per_element=PER_ELEMENT)


def stations_of_longeron(front: FrontEnd) -> Stations | None:
    """Where actions are read along longeron and prod; None without either."""
    members = front.frame.members
    ahead = [members[name] for name in (LONGERON, PROD) if name in members]
    return stations(front.frame, *ahead, per_element=PER_ELEMENT) if ahead else None


@dataclass(frozen=True, eq=False)
class Rows:
    """All cases (first) and combinations (after them) with one joint.

    cases : the cases, solved;   sums : the combinations; None where there are none;   values : of all rows
    """

    joint: Joint
    front: FrontEnd
    cases: Solution
    sums: Superposition | None
    values: Readings

    @cached_property
    def names(self) -> tuple[str, ...]:
        """(r,), of cases and combinations."""
        return self.cases.names + (() if self.sums is None else self.sums.linear.names)

    @property
    def how(self) -> tuple[str, ...]:
        """(r,), what was done for each: a key of `HOW`."""
        return ("case",) * len(self.cases.names) + (() if self.sums is None else self.sums.how)

    @property
    def balance(self) -> FloatArray:
        """(r,), relative."""
        return self.cases.balance if self.sums is None else np.append(self.cases.balance, self.sums.balance)

    @property
    def error(self) -> FloatArray:
        """(r,), relative; of what was combined a bound."""
        return self.cases.error if self.sums is None else np.append(self.cases.error, self.sums.error)

    def linear(self, of_cases: FloatArray) -> FloatArray:
        """(r, …), of all rows what is in proportion to the loads, from its values (c, …) in the cases."""
        if self.sums is None:
            return of_cases
        return np.concatenate([of_cases, np.tensordot(self.sums.factors, of_cases, axes=1)])


def rows_of(joint: Joint, front: FrontEnd, solution: Solution, sums: Sequence[CaseSum] = ()) -> Rows:
    """Solved cases with one joint, and these combinations of them, movements imposed on a case already scaled in.

    StructureFault, naming joint and combination, where one cannot be solved.
    """
    done = combine(joint, solution, sums)
    if done is None:
        values = readings(front, solution)
    else:
        units = readings(front, done.units)
        of_cases = (
            _rows(units, len(solution.names)) if solution.is_superposable else readings(front, solution)
        )
        values = _joined(of_cases, _combined(front, done, units))
    values = replace(values, tension=np.maximum(values.tension, 0.0))  # rounding of cables at their limit
    return Rows(joint, front, solution, done, values)


def combine(joint: Joint, solution: Solution, sums: Sequence[CaseSum]) -> Superposition | None:
    """The combinations with one joint, combined or solved; None where there are none. StructureFault as of `rows_of`."""
    if not sums:
        return None
    try:
        return superpose(solution, factor_matrix(sums, solution.names), tuple(one.name for one in sums))
    except StructureFault as fault:
        raise fault.inside(f"joint '{joint.name}'") from None


def combined_readings(front: FrontEnd, done: Superposition) -> Readings:
    """Of all combinations: the linear ones from those of the unit solutions, which are far fewer."""
    return _combined(front, done, readings(front, done.units))


def _combined(front: FrontEnd, done: Superposition, units: Readings) -> Readings:
    solved = None if done.solved is None else readings(front, done.solved)
    return Readings(*(
        done.taken(getattr(units, field.name), None if solved is None else getattr(solved, field.name))
        for field in fields(units)
    ))  # fmt: skip


def _rows(values: Readings, count: int) -> Readings:
    """The first of them."""
    return Readings(*(getattr(values, field.name)[:count] for field in fields(values)))


def _joined(one: Readings, other: Readings) -> Readings:
    return Readings(*(
        np.concatenate([getattr(one, field.name), getattr(other, field.name)]) for field in fields(one)
    ))  # fmt: skip


__all__ = ["HOW", "Readings", "Rows", "combine", "combined_readings", "readings", "rows_of"]
