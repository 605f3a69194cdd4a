"""A front end with one joint or several, solved under load cases, to the movement that a case imposes."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from cases.analyses.joint_results import UnderPretension
from cases.input.boat_file import BoatFile
from cases.loads import LoadCase, case_loads
from cases.loads.base import ImposedMovement, Reading
from femcore.base.arrays import BoolArray, FloatArray, IntArray
from femcore.base.errors import InputFaults, Mechanism, NoConvergence, StructureFault
from femcore.frame.frame import Loads
from femcore.solvers.newton import SecondOrderResult
from femcore.solvers.prepared_frame import deformed_together
from femcore.solvers.solution import Solution, solve
from models.boat.boat import Boat
from models.joints import Joint, JointStiffness
from models.response.front_end import CENTRE, CROSSBEAM, FrontEnd, build_with_joints
from models.response.joint_loads import (
    crossbeam_twist,
    differential_heave,
    hull_twist,
    joint_loads,
    truss_forces,
)
from models.response.load_path import (
    Ledger,
    crossbeam_load_path,
    front_end_load_paths,
)

REL_TOL_IMPOSED_MOVEMENT = 1e-10
"""Relative miss of an imposed movement that is rounding."""

MAX_HEAVE_ITERATIONS = 40


def solved_cases(file: BoatFile, joint: Joint, solved: FrontEnd | None = None) -> tuple[FrontEnd, Solution]:
    """The front end with that joint, and all cases of the file; StructureFault where one cannot be solved.

    solved : a front end whose factors are taken where the frame is the same
    """
    done = solve_cases(file, joint.name, joint.stiffness(), file.load_cases, solved=solved)
    return done.front, done.solution


@dataclass(frozen=True, eq=False)
class SolvedCases:
    """A front end with a joint of some name, and its cases solved, each as it asks."""

    name: str
    front: FrontEnd
    solution: Solution

    @cached_property
    def first_order(self) -> Solution | None:
        """The cases of second order in first order, in their order; None where there are none."""
        which = np.flatnonzero(self.solution.second_order)
        if not len(which):
            return None
        with _faults_named(self.name):
            return solve(self.front.prepared, self.solution.loads.only(*which))

    @cached_property
    def loads(self) -> FloatArray:
        """(c, 2, 6), N and N·m, on the hulls."""
        return joint_loads(self.solution)

    @cached_property
    def rest(self) -> Solution | None:
        """The front end under pretension alone, in each order that a case asks for; None without pretension."""
        if not self.front.frame.cables.pretension.any():
            return None
        orders_used = np.unique(self.solution.second_order)
        return solve(
            self.front.prepared,
            Loads.zeros(self.front.frame, *(["pretension alone"] * len(orders_used))),
            orders_used,
        )

    @property
    def order(self) -> IntArray:
        """(c,), which case of `rest` is in each case's own order."""
        return np.searchsorted(np.unique(self.solution.second_order), self.solution.second_order)

    @cached_property
    def under_pretension(self) -> FloatArray:
        """(c, 2, 6), N and N·m: of `loads`, what pretension puts there before any load, in each case's own order."""
        if self.rest is None:
            return np.zeros((len(self.solution.second_order), 2, 6))
        return joint_loads(self.rest)[self.order]

    def pretension_response(self, case: int) -> UnderPretension | None:
        """What pretension alone does, in the order of that case."""
        return None if self.rest is None else self._pretension_responses[int(self.order[case])]

    @cached_property
    def _pretension_responses(self) -> tuple[UnderPretension, ...]:
        """In each case of `rest`."""
        if self.rest is None:
            return ()
        path, loads = crossbeam_load_path(self.front, self.rest), joint_loads(self.rest)
        whole = front_end_load_paths(self.front, self.rest, [()] * len(loads))
        return tuple(
            UnderPretension(
                load,
                Ledger(path.names, path.entries[at]),
                Ledger(whole[at].roots, whole[at].reactions),
                truss_forces(self.rest, at).tension,
            )
            for at, load in enumerate(loads)
        )


def solve_cases(
    boat: Boat,
    name: str,
    joint: JointStiffness,
    cases: Sequence[LoadCase],
    refine: int = 1,
    solved: FrontEnd | None = None,
) -> SolvedCases:
    """The front end with a joint of that name and stiffness under cases; StructureFault, naming it, where one has no answer.

    refine : into how many each of its elements is divided
    solved : a front end whose factors are taken where the frame is the same
    InputFaults where the boat has a part that could not be built, and an outline in its place.
    """
    return answered(solve_with_joints(boat, [(name, joint)], cases, refine, solved)[0])


def solve_with_joints(
    boat: Boat,
    joints: Sequence[tuple[str, JointStiffness]],
    cases: Sequence[LoadCase],
    refine: int = 1,
    solved: FrontEnd | None = None,
) -> list[SolvedCases | StructureFault]:
    """With each of several joints what `solve_cases` gives with one, or raises as a StructureFault.

    Loads are laid once, on the first front end: with any joint they are the same. Deformed shapes are found side by side.
    """
    if boat.build_faults:
        raise InputFaults(boat.build_faults)
    fronts = build_with_joints(boat, [joint for _, joint in joints], refine)
    if solved is not None:
        fronts = [front.with_factors_of(solved) for front in fronts]
    loads, second_order = case_loads(fronts[0], cases), np.array([case.second_order for case in cases])
    wanted = [case.target() for case in cases]
    # a case that is to reach a movement is solved for several loads, one after the other
    together = [at for at, one in enumerate(wanted) if one is None and second_order[at]]
    known = _deformed_together(fronts, loads, together)
    found: list[SolvedCases | StructureFault] = []
    for (name, _), front, deformed in zip(joints, fronts, known, strict=True):
        try:
            with _faults_named(name):
                solution = _solve_to_target(front, loads, wanted, second_order, deformed)
            found.append(SolvedCases(name, front, solution))
        except StructureFault as fault:
            found.append(fault)
    return found


def answered(found: SolvedCases | StructureFault) -> SolvedCases:
    """The answer; its StructureFault where there is none."""
    if isinstance(found, StructureFault):
        raise found
    return found


Deformed = Mapping[int, SecondOrderResult]
"""Deformed shapes that are known, by the number of the case."""


def _deformed_together(fronts: Sequence[FrontEnd], loads: Loads, which: Sequence[int]) -> list[Deformed]:
    """Of each front end under the cases `which`; none of one that has no answer, as it is found alone."""
    found: list[Deformed] = [{} for _ in fronts]
    if not which:
        return found
    some, ready = loads.only(*which), {}
    for at, front in enumerate(fronts):
        with suppress(StructureFault):
            ready[at] = front.prepared
    answers = deformed_together([(prepared, some) for prepared in ready.values()])
    for at, answer in zip(ready, answers, strict=True):
        found[at] = {} if answer is None else dict(zip(which, answer, strict=True))
    return found


READINGS: Mapping[Reading, Callable[[FrontEnd, Solution], FloatArray]] = {
    "heave of the stems": differential_heave,
    "hulls": hull_twist,
    "bulkhead and crossbeam": crossbeam_twist,
}
"""What each imposed movement is read by: (c,), m or rad."""


def _solve_to_target(
    front: FrontEnd,
    loads: Loads,
    wanted: list[ImposedMovement | None],
    second_order: BoolArray,
    known: Deformed,
) -> Solution:
    """Solve, with the loads of a case that is to reach a movement scaled until it does.

    The movement is proportional to the load, but for slack cables and second order: then a few rounds are needed.
    """
    target = np.array([np.nan if one is None else one.size for one in wanted])
    zero_target = target == 0
    loads, target = (
        loads.combined(np.diag(np.where(zero_target, 0.0, 1.0)), loads.names),
        np.where(zero_target, np.nan, target),
    )
    scaled_cases = np.flatnonzero(~np.isnan(target))
    if not len(scaled_cases):
        return solve(front.prepared, loads, second_order, known)
    scale = np.ones(len(target))
    for _ in range(MAX_HEAVE_ITERATIONS):
        some = loads.only(*scaled_cases).combined(
            np.diag(scale[scaled_cases]), tuple(loads.names[case] for case in scaled_cases)
        )
        reached = solve(front.prepared, some, second_order[scaled_cases])
        moved = [
            READINGS[one.reading](front, reached)[row]
            for row, case in enumerate(scaled_cases)
            if (one := wanted[case]) is not None
        ]
        ratio = target[scaled_cases] / moved
        if np.abs(ratio - 1).max() <= REL_TOL_IMPOSED_MOVEMENT:
            scaled = loads.combined(np.diag(scale), loads.names)
            return solve(front.prepared, scaled, second_order, known)
        scale[scaled_cases] *= ratio
    names = ", ".join(
        loads.names[case]
        for case, part in zip(scaled_cases, ratio, strict=True)
        if abs(part - 1) > REL_TOL_IMPOSED_MOVEMENT
    )
    raise NoConvergence(f"the movement of {names} is not reached; give the racking as a force", 0.0)


@contextmanager
def _faults_named(name: str) -> Iterator[None]:
    """StructureFaults with the joint's name before them, and mechanisms of a joint explained."""
    try:
        yield
    except Mechanism as fault:
        raise _explained_mechanism(fault, name) from None
    except StructureFault as fault:
        raise fault.inside(f"joint '{name}'") from None


def _explained_mechanism(fault: Mechanism, name: str) -> Mechanism:
    words = fault.words
    if CROSSBEAM in fault.rotating or fault.moving.get(CENTRE) == ("ry",):
        words = (
            "the crossbeam turns freely about its own axis: nothing holds pitch at either joint; "
            "give one of them pitch stiffness, or fix a longeron to the beam"
        )
    return Mechanism(f"joint '{name}': {words}", fault.rotating, fault.moving)


__all__ = [
    "SolvedCases",
    "answered",
    "solve_cases",
    "solve_with_joints",
    "solved_cases",
]
