"""Internal actions and deflected shape at stations along the beams, from a solution."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

import numpy as np
from pydantic import Field

from femcore.base.arrays import ArrayRecord, FloatArray, IntArray
from femcore.base.written import Unwritten, by_axes, named, written
from femcore.frame.frame import ACTIONS, Frame, Member
from femcore.solvers.beam_fields import (
    actions_at,
    axial_forces,
    displacement_at,
    element_end_movements,
    end_forces,
)
from femcore.solvers.solution import Solution


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class MemberForces(ArrayRecord):
    """Values at stations along one member, from its start to its end; stations at jumps are listed twice.

    cases        : (c,), their names
    station      : (k,), m from the member's start along its flexible length
    point        : (k, 3), m, undeformed position
    actions      : (c, k, 6), N, Vy, Vz in N and T, My, Mz in N·m, beam axes
    displacement : (c, k, 6), m and rad, global axes
    """

    cases: Unwritten[tuple[str, ...]]
    station: Annotated[FloatArray, named(None), Field(description="m from the member's start")]
    point: Unwritten[FloatArray]
    actions: Unwritten[FloatArray]
    displacement: Unwritten[FloatArray]

    @written(
        "case → N, Vy, Vz N and T, My, Mz N·m at the stations; cut face to the end, beam axes", key="actions"
    )
    def actions_by_case(self) -> dict[str, dict[str, list[float]]]:
        """By names of case and action."""
        return dict(by_axes(self.actions.swapaxes(1, 2).tolist(), self.cases, ACTIONS, None))


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Stations(ArrayRecord):
    """Places along one member, or along several that follow one another.

    elements, xi : (k,), beam elements and fractions of their length
    station      : (k,), m along the flexible length from the first member's start;   point : (k, 3), m, undeformed
    """

    elements: IntArray
    xi: FloatArray
    station: FloatArray
    point: FloatArray


def stations(frame: Frame, *members: Member, per_element: int = 2) -> Stations:
    """Both ends of every element, and what divides it into `per_element` equal steps; joints of elements are duplicated."""
    run: IntArray = np.concatenate([np.arange(member.first, member.last) for member in members])
    elements: IntArray = np.repeat(run, per_element + 1)
    xi = np.tile(np.linspace(0, 1, per_element + 1), len(run))
    before = np.concatenate([[0.0], np.cumsum(frame.length[run])[:-1]])
    start, end = np.moveaxis(frame.end_points[elements], 1, 0)
    return Stations(
        elements=elements,
        xi=xi,
        station=np.repeat(before, per_element + 1) + xi * frame.length[elements],
        point=start + (end - start) * xi[:, None],
    )


def member_forces(solution: Solution, member: Member | str, per_element: int = 2) -> MemberForces:
    """Actions and movements along a member, given itself or by name, at `per_element` equal steps in each of its elements."""
    one = solution.frame.member(member) if isinstance(member, str) else member
    at = stations(solution.frame, one, per_element=per_element)
    return MemberForces(
        cases=solution.names,
        station=at.station,
        point=at.point,
        actions=actions_at(solution, at.elements, at.xi),
        displacement=displacement_at(solution, at.elements, at.xi),
    )


__all__ = [
    "MemberForces",
    "Stations",
    "actions_at",
    "axial_forces",
    "displacement_at",
    "element_end_movements",
    "end_forces",
    "member_forces",
    "stations",
]
