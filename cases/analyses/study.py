"""The study: every joint under every case, one solution for each joint, and the responses read from it."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Annotated

import numpy as np
from pydantic import Field

from cases.input.boat_file import BoatFile
from cases.loads import LoadCase, case_loads, components
from cases.loads.base import ImposedMovement, Reading
from cases.loads.racking import Racking
from cases.loads.rig import Rig, StayLine, stay_line
from femcore.base.arrays import BoolArray, FloatArray, IntArray
from femcore.base.errors import InputFaults, Mechanism, NoConvergence, StructureFault
from femcore.base.numbers import engineering
from femcore.base.toml import unknown
from femcore.base.written import ByName, Stiffness, Unwritten, named, written
from femcore.frame.frame import Frame, Loads
from femcore.results.member_forces import MemberForces, member_forces
from femcore.solvers.buckling import Modes, buckling_of_cases
from femcore.solvers.prepared_frame import deformed_together
from femcore.solvers.reduced_frame import ReducedFrame
from femcore.solvers.second_order import SecondOrderResult
from femcore.solvers.solution import Solution, solve
from models.boat.boat import Boat
from models.boat.platform import HandFormula, hand_formula
from models.joints import DIRECTIONS, Joint, JointStiffness
from models.joints.rigid import RigidJoint
from models.response.attraction import (
    AttractionCurve,
    attraction_curves,
    reduced_racking,
    unit_racking_loads,
)
from models.response.front_end import CENTRE, CROSSBEAM, SIDES, FrontEnd, build
from models.response.joint_loads import (
    Shares,
    TrussForces,
    component_index,
    crossbeam_twist,
    differential_heave,
    hull_twist,
    joint_loads,
    larger_side,
    racking_shares,
    stem_movements,
    truss_forces,
)
from models.response.load_path import (
    CrossbeamLoadPath,
    FrontEndEntry,
    FrontEndLoadPath,
    Ledger,
    LoadComponent,
    PathEntry,
    crossbeam_load_path,
    front_end_load_paths,
)
from models.response.modes import NaturalMode, natural_modes
from models.response.platform_frame import PlatformResponse, platform_response

REL_TOL_IMPOSED_MOVEMENT = 1e-10
"""Relative miss of an imposed movement that is rounding."""
MAX_HEAVE_ITERATIONS = 40
MIN_COMPRESSION_RATIO = 0.05
"""Of the largest axial force in any case: below this compression a member's buckling is not computed."""
REL_TOL_EVEN_HULLS = 1e-9
"""Of the moment on one hull: what that on the other exceeds it by is rounding, and they are equal."""
REL_TOL_ROUNDING_LOAD = 1e-9
"""Of the largest component of a joint load, N and N·m alike: a smaller one is rounding, and counts as none."""
ATTRACTED = ("torque", "vertical bending")
"""The components of a joint load that racking causes, and that a joint attracts by its stiffness."""


@dataclass(frozen=True, slots=True)
class Buckling:
    """When the trussed beam buckles."""

    factor: Annotated[float, Field(description="times the load of the case")]
    part: Annotated[str, Field(description="the member that moves most")]


@dataclass(frozen=True, slots=True)
class SecondOrderChange:
    """What the deformed shape changes: second order over first, less 1."""

    force: Annotated[float, Field(description="largest joint force")]
    moment: Annotated[float, Field(description="largest joint moment")]
    tension: Annotated[
        float | None, Field(description="of the martingale; null where it has none in first order")
    ]
    movement: Annotated[float, Field(description="of the stems")]


@dataclass(frozen=True, slots=True)
class DiscretisationError:
    """Estimates of the error from division into elements in one case, relative."""

    stems: Annotated[float, Field(description="of the largest movement of the stems")]
    force: Annotated[float, Field(description="of the largest joint force")]
    moment: Annotated[
        float | None, Field(description="of the largest joint moment; null where the joint passes none")
    ]

    @property
    def largest(self) -> float:
        """Of the three."""
        return max(self.stems, self.force, self.moment or 0.0)


@dataclass(frozen=True, slots=True, eq=False)
class UnderPretension:
    """What pretension alone does, before any load: part of the entries of the same names.

    joint_load : (2, 6) on the hulls at the joints;   path : on the crossbeam;   held : on the roots
    tension    : N, by part of the martingale
    """

    joint_load: Annotated[FloatArray, named(SIDES, 6), Field(description="hull → on it at the joint")]
    path: Unwritten[Ledger]
    held: Unwritten[Ledger]
    tension: Annotated[dict[str, float], Field(description="N, by part of the martingale")]

    @written("on the crossbeam; sums to zero", key="path")
    def path_entries(self) -> list[PathEntry]:
        """Of `path`."""
        return self.path.entries

    @written("on the roots; sums to zero")
    def front_end(self) -> list[FrontEndEntry]:
        """Of `held`."""
        return self.held.entries_of("held")


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class CaseResult:
    """One joint under one case.

    joint_load     : (2, 6), N and N·m, what the crossbeam puts on the hull, port then starboard, boat axes
    stems          : (2, 6), m and rad, movements of the stems
    shares         : hull, torque and shear share of the racking moment; None where nothing racks the bows
    attraction     : torque and bending that the case adds to pretension, over the same of the rigid joint, each on its
                     worse hull; None where that has none
    path           : the load path of the crossbeam
    whole          : the load path of the whole front end, by components of the load
    under_pretension : the same where pretension alone acts; None where there is none
    truss          : the martingale's tension, the compression of crossbeam and striker
    buckling       : times its load at which the trussed beam buckles, and which part of it does; None without compression
    change         : what the deformed shape changes of first order, relative; None where the case is of first order
    balance, error, first_error : of the solution, relative; the last before refinement
    discretisation : from the division into elements; None where it is not worked out, or could not be
    """

    case: Annotated[ByName[LoadCase], Field(description="name of the case")]
    joint_load: Annotated[
        FloatArray,
        named(SIDES, 6),
        Field(
            description="hull → what the crossbeam puts on it at the joint: Fx Fy Fz N, Mx My Mz N·m, boat axes"
        ),
    ]
    stems: Annotated[
        FloatArray,
        named(SIDES, 6),
        Field(description="hull → movement of its stem: ux uy uz m, rx ry rz rad, boat axes"),
    ]
    shares: Annotated[Shares | None, Field(description="null where nothing racks the bows")]
    racking_moment: Unwritten[float]
    attraction: Annotated[
        dict[str, float | None],
        Field(
            description="torque, bending: over those of a rigid joint in this case, each at its worse hull; null where that has "
            "none"
        ),
    ]
    path: Unwritten[Ledger]
    whole: Unwritten[FrontEndLoadPath]
    under_pretension: Annotated[
        UnderPretension | None, Field(serialization_alias="at_rest", description="null without pretension")
    ]
    truss: Annotated[TrussForces, Field(description="the trussed beam")]
    buckling: Annotated[
        Buckling | None, Field(description="null where neither crossbeam nor striker is compressed")
    ]
    change: Annotated[
        SecondOrderChange | None, Field(description="null where the case is solved in first order")
    ]
    balance: Annotated[
        float, Field(description="resultant of loads and reactions over the sum of their sizes")
    ]
    error: Annotated[
        float, Field(description="estimated relative error of the movements, from the last correction")
    ]
    first_error: Annotated[float, Field(description="the same before refinement")]
    discretisation: Annotated[
        DiscretisationError | None,
        Field(
            description="estimated relative error from the division into elements, by halving them; null where they have no "
            "answer"
        ),
    ] = None

    @written("everything that acts on the crossbeam; sums to zero", key="path")
    def path_entries(self) -> list[PathEntry]:
        """Of `path`."""
        return self.path.entries

    @written("what `applied to the crossbeam` in `path` is made of, by component of the load")
    def applied(self) -> list[PathEntry]:
        """Of `whole`."""
        return Ledger(self.whole.names, self.whole.on_crossbeam).entries

    @written("m, the beam's centre where the case has moved it: the point of all moments in load paths")
    def about(self) -> tuple[float, float, float]:
        """Of `whole`."""
        x, y, z = self.whole.about.tolist()
        return x, y, z

    @written("every component of the load, and what the bulkhead puts on the roots; sums to zero")
    def front_end(self) -> list[FrontEndEntry]:
        """Of `whole`."""
        applied = Ledger(self.whole.names, self.whole.applied)
        held = Ledger(self.whole.roots, self.whole.reactions)
        return [*applied.entries_of("applied"), *held.entries_of("held")]

    def __repr__(self) -> str:
        """Which case, and the largest sizes at the joints."""
        force, moment = (float(np.abs(part).max()) for part in np.split(self.joint_load, 2, axis=1))
        return f"<CaseResult ‘{self.case.name}’: at most {engineering(force, 'N')}, {engineering(moment, 'N·m')} at the joints>"

    @property
    def pretension_joint_load(self) -> FloatArray:
        """(2, 6), N and N·m, of the joint load what pretension puts there before any load."""
        return np.zeros((2, 6)) if self.under_pretension is None else self.under_pretension.joint_load

    @property
    def added_joint_load(self) -> FloatArray:
        """(2, 6), N and N·m, what the case adds to that."""
        return self.joint_load - self.pretension_joint_load

    def attracted(self, component: str) -> float:
        """N or N·m, the larger size on either side of what the case adds to pretension; 0 where that is rounding."""
        found = larger_side(self.added_joint_load, component)
        return found if found > REL_TOL_ROUNDING_LOAD * np.abs(self.joint_load).max() else 0.0


@dataclass(frozen=True, eq=False, repr=False)
class JointResult:
    """One joint under all cases.

    racking_stiffness : N/m, opposite forces at the stems per metre of differential heave
    stiffer           : that over the racking stiffness of the bows without a crossbeam
    curves            : "pitch" and "roll": what the joint attracts against its stiffness; None where it has no such spring
    natural_modes     : the front end's lowest, under pretension alone; none where the bows have no mass
    crossbeam         : actions and movements along the crossbeam, all cases, from starboard to port
    """

    joint: Unwritten[Joint]
    stiffness: Unwritten[JointStiffness]
    front: Unwritten[FrontEnd]
    solution: Unwritten[Solution]
    racking_stiffness: Annotated[
        float, Field(description="N/m, opposite forces at the stems per metre of differential heave")
    ]
    stiffer: Annotated[
        float, Field(description="racking_stiffness over that of the bows without a crossbeam")
    ]
    curves: Annotated[
        Mapping[str, AttractionCurve | None],
        Field(description="pitch (torque), roll (vertical bending); null: none"),
    ]
    natural_modes: Annotated[
        tuple[NaturalMode, ...],
        Field(
            serialization_alias="motions",
            description="lowest natural modes: front end alone, dry; empty where the bows have no mass",
        ),
    ]
    crossbeam: Annotated[
        MemberForces, Field(description="actions along the crossbeam, from its starboard end to its port end")
    ]
    cases: Annotated[tuple[CaseResult, ...], Field(description="in the order of `cases`")]

    @written("name of the joint")
    def name(self) -> str:
        """Of the joint."""
        return self.joint.name

    @written("what it is")
    def words(self) -> str:
        """Of the joint."""
        return self.joint.words()

    @written(
        "surge sway heave N/m, roll pitch yaw N·m/rad, 0 free, each with the others held; null where their axes are "
        "not the boat's"
    )
    def springs(self) -> list[Stiffness] | None:
        """Of the port joint, in boat axes."""
        return self.stiffness.springs.tolist() if self.stiffness.is_in_boat_axes else None

    @written(
        "six rows of the port joint's stiffness about its point, N/m, N and N·m/rad, boat axes, where directions are coupled; of "
        "a rigid direction no numbers but 0; null where each spring acts alone"
    )
    def coupled(self) -> list[list[float]] | None:
        """Its rows."""
        joint = self.stiffness
        if joint.matrix is None or not any(joint.is_coupled(direction) for direction in DIRECTIONS):
            return None
        finite = np.isfinite(joint.springs)
        rows: list[list[float]] = np.where(np.outer(finite, finite), joint.matrix, 0.0).tolist()
        return rows

    def __repr__(self) -> str:
        """Which joint, and how many cases."""
        return f"<JointResult ‘{self.joint.name}’: {len(self.cases)} cases>"

    def with_discretisation(self, errors: Sequence[DiscretisationError]) -> JointResult:
        """The same with the error from division into elements in each case."""
        pairs = zip(self.cases, errors, strict=True)
        return replace(self, cases=tuple(replace(one, discretisation=error) for one, error in pairs))

    def case(self, name: str) -> CaseResult:
        """The joint under one case; InputFault where there is none of that name."""
        for one in self.cases:
            if one.case.name == name:
                return one
        raise unknown("", "case", name, [one.case.name for one in self.cases])


@dataclass(frozen=True, slots=True, eq=False)
class UnsolvedJoint:
    """A joint with which the boat has no answer.

    fault : why: a mechanism, a slack system, no convergence; it names the joint
    """

    joint: Annotated[ByName[Joint], Field(description="name of the joint")]
    fault: Unwritten[StructureFault]

    @written("a mechanism, a slack system or no convergence, in words")
    def reason(self) -> str:
        """The fault without the joint's name before it."""
        return str(self.fault).removeprefix(f"joint '{self.joint.name}': ")

    def words(self) -> str:
        """In one sentence."""
        return f"The joint ‘{self.joint.name}’ has no answer: {self.reason}."


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Study:
    """Every joint of a boat file under every case.

    joints               : those that have an answer, in the order of the file;   unsolved : the others
    bare_racking_stiffness : N/m, of the two bows alone, without a crossbeam
    source                 : the name of the boat file, for a report to name; empty where it came from none
    """

    file: BoatFile
    joints: tuple[JointResult, ...]
    bare_racking_stiffness: float
    source: str = ""
    unsolved: tuple[UnsolvedJoint, ...] = ()

    def __repr__(self) -> str:
        """Title, and how much was solved; the numbers are thousands."""
        return f"<Study of ‘{self.file.title}’: {len(self.joints)} joints × {len(self.cases)} cases>"

    @property
    def cases(self) -> tuple[LoadCase, ...]:
        """The load cases that were run: those of the file, each as the cases that it expands to."""
        return tuple(self.file.load_cases)

    @property
    def platform(self) -> PlatformResponse | None:
        """What the platform alone does; None for a boat with root springs."""
        return platform_response(self.file)

    @property
    def rigid_hull_formula(self) -> HandFormula | None:
        """The closed form of the platform between rigid hulls; None for a boat with root springs."""
        platform = self.file.platform
        return None if platform is None else hand_formula(platform, self.file.bows, rigid_hulls=True)

    @property
    def racking_cases(self) -> list[LoadCase]:
        """The cases that rack the bows on purpose; failing those, whatever racks them."""
        named: list[LoadCase] = [case for case in self.cases if isinstance(case, Racking)]
        return named or [result.case for result in self.joints[0].cases if result.shares is not None]

    @property
    def main_case(self) -> LoadCase:
        """The case that shows what the joints are for: the first that racks the bows, else the first."""
        return (self.racking_cases or self.cases)[0]

    @property
    def rig_cases(self) -> list[Rig]:
        """The cases in which a stay pulls."""
        return [case for case in self.cases if isinstance(case, Rig)]

    def sorted_out(self, fault_of: Callable[[JointResult], StructureFault | None]) -> Study:
        """The same with every joint that has a fault moved to `unsolved`."""
        found = [(joint, fault_of(joint)) for joint in self.joints]
        solved = tuple(joint for joint, fault in found if fault is None)
        unsolved = (
            *self.unsolved,
            *(UnsolvedJoint(one.joint, fault) for one, fault in found if fault is not None),
        )
        return replace(self, joints=solved, unsolved=unsolved)

    def with_joints_of(self, other: Study) -> Study:
        """The same with the joints of another study of the same file too, all in its order."""
        places = {joint.name: place for place, joint in enumerate(self.file.joints)}
        solved = sorted((*self.joints, *other.joints), key=lambda one: places[one.joint.name])
        unsolved = sorted((*self.unsolved, *other.unsolved), key=lambda one: places[one.joint.name])
        return replace(self, joints=tuple(solved), unsolved=tuple(unsolved))

    def stay_lines(self) -> dict[str, StayLine]:
        """The stay's geometry in each rig case, by the case's name."""
        stay = self.file.stay
        return {case.name: stay_line(case, stay.forward, stay.up) for case in self.rig_cases}


def run_study(file: BoatFile, source: str = "") -> Study:
    """Take every joint of the file through every case; one that cannot be solved is kept apart, with the reason.

    StructureFault, naming the joints, where no joint can be solved.
    """
    study = study_of(file, file.joints, source)
    require_answer(study.joints, study.unsolved)
    return study


def study_of(file: BoatFile, joints: Sequence[Joint], source: str = "") -> Study:
    """The same of some of its joints; there may be none that can be solved."""
    others = [joint for joint in joints if not isinstance(joint, RigidJoint)]
    named = [(joint.name, joint.stiffness()) for joint in (RigidJoint(name="rigid"), *others)]
    first, *of_others = solve_with_joints(file, named, file.load_cases)
    rigid, bare = _answered(first), racking_stiffness(build(file, None))
    given, reduced = _GivenLoads.of(rigid.front, file.load_cases), reduced_racking(file)
    solved: list[JointResult] = []
    unsolved: list[UnsolvedJoint] = []
    left = iter(of_others)
    for joint in joints:
        done = first if isinstance(joint, RigidJoint) else next(left)
        try:
            solved.append(_joint_result(file, joint, _answered(done), rigid, bare, reduced, given))
        except StructureFault as fault:
            unsolved.append(UnsolvedJoint(joint, fault))
    return Study(file, tuple(solved), bare, source, tuple(unsolved))


def require_answer(solved: Sequence[object], unsolved: Sequence[UnsolvedJoint]) -> None:
    """StructureFault where no joint has an answer: the only joint's own, or one that gives the reason of each."""
    if solved or not unsolved:
        return
    if len(unsolved) == 1:
        raise unsolved[0].fault
    raise StructureFault("\n".join(str(one.fault) for one in unsolved))


@dataclass(frozen=True, slots=True, eq=False)
class _GivenLoads:
    """The loads of a boat's cases before any is scaled to its movement, and their components: on its frame with any joint."""

    loads: Loads
    components: tuple[list[LoadComponent], ...]

    @classmethod
    def of(cls, front: FrontEnd, cases: Sequence[LoadCase]) -> _GivenLoads:
        return cls(case_loads(front, cases), tuple(components(front, case) for case in cases))


def _joint_result(
    file: BoatFile,
    joint: Joint,
    done: SolvedCases,
    rigid: SolvedCases,
    bare: float,
    reduced: ReducedFrame,
    given: _GivenLoads,
) -> JointResult:
    front, solution, stiffness = done.front, done.solution, joint.stiffness()
    loads, stems = done.loads, stem_movements(front, solution)
    racking, path = racking_shares(front, solution), crossbeam_load_path(front, solution)
    attraction = [
        attraction_of(*of)
        for of in zip(loads, done.under_pretension, rigid.loads, rigid.under_pretension, strict=True)
    ]
    buckled = buckling_by_case(solution)
    every = zip(file.load_cases, given.components, solution.loads.nodal, strict=True)
    whole = front_end_load_paths(front, solution, [_scaled_components(*one) for one in every])
    cases = tuple(
        CaseResult(
            case=case,
            joint_load=loads[i],
            stems=stems[i],
            shares=racking.shares(i),
            racking_moment=float(racking.applied[i]),
            attraction=attraction[i],
            path=Ledger(path.names, path.entries[i]),
            whole=whole[i],
            under_pretension=done.pretension_response(i),
            truss=truss_forces(solution, i),
            buckling=buckled.get(i),
            change=_second_order_change(done, i),
            balance=float(solution.balance[i]),
            error=float(solution.error[i]),
            first_error=float(solution.first_error[i]),
        )
        for i, case in enumerate(file.load_cases)
    )
    curves = attraction_curves(file, stiffness, reduced)
    crossbeam = member_forces(solution, front.frame.members[CROSSBEAM], 4)
    own = racking_stiffness(front)
    return JointResult(
        joint,
        stiffness,
        front,
        solution,
        own,
        own / bare,
        curves,
        natural_modes(front),
        crossbeam,
        cases,
    )


def _scaled_components(case: LoadCase, parts: list[LoadComponent], nodal: FloatArray) -> list[LoadComponent]:
    """The components of a case, scaled as its load (n, 6) was where it had a movement to reach."""
    if case.target() is None:
        return parts
    whole = np.sum([part.nodal for part in parts], axis=0)
    factor = float(np.vdot(whole, nodal) / np.vdot(whole, whole))
    return [part.scaled(factor) for part in parts]


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
    return _answered(solve_with_joints(boat, [(name, joint)], cases, refine, solved)[0])


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
    fronts = [build(boat, joint, refine) for _, joint in joints]
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


def _answered(found: SolvedCases | StructureFault) -> SolvedCases:
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


def buckling_by_case(solution: Solution) -> dict[int, Buckling]:
    """By the case's number: the lowest load factor, where crossbeam or striker is in compression and there is one."""
    states = [truss_forces(solution, case) for case in range(len(solution.names))]
    least = MIN_COMPRESSION_RATIO * float(np.abs(solution.natural[:, : len(solution.frame.ends), 0]).max())
    compressed = [case for case, at in enumerate(states) if max(at.compression, at.strut) > least]
    found = zip(compressed, buckling_of_cases(solution, compressed, 1), strict=True)
    return {case: _lowest_buckling(solution.frame, modes) for case, modes in found if len(modes.values)}


def _lowest_buckling(frame: Frame, modes: Modes) -> Buckling:
    """The lowest load factor, and which part of the front end moves most."""
    moves = np.linalg.norm(modes.shapes[0, :, :3], axis=1)
    part = max(frame.members, key=lambda name: float(moves[frame.ends[frame.members[name].elements]].max()))
    return Buckling(float(modes.values[0]), part)


def _second_order_change(done: SolvedCases, case: int) -> SecondOrderChange | None:
    if done.first_order is None or not done.solution.second_order[case]:
        return None
    both = (
        (done.first_order, int(done.solution.second_order[:case].sum())),
        (done.solution, case),
    )
    loads, stems = (
        [f(x)[at] for x, at in both] for f in (joint_loads, lambda x: stem_movements(done.front, x))
    )
    tensions = [max(truss_forces(x, at).tension.values(), default=0.0) for x, at in both]
    parts = [[float(np.abs(x[:, part]).max()) for x in loads] for part in (slice(0, 3), slice(3, 6))]
    moved = [float(np.abs(x[:, :3]).max()) for x in stems]
    # joints that pass no moment have one of rounding
    least = REL_TOL_ROUNDING_LOAD * parts[0][0] * done.front.boat.bows.spacing
    tension = _relative_increase(*tensions) if tensions[0] else None
    return SecondOrderChange(
        _relative_increase(*parts[0]),
        _relative_increase(parts[1][0], parts[1][1], least),
        tension,
        _relative_increase(*moved),
    )


def _relative_increase(first: float, second: float, least: float = 0.0) -> float:
    return second / first - 1 if first > least else 0.0


def racking_stiffness(front: FrontEnd) -> float:
    """N/m, opposite forces at the stems per metre of differential heave, every cable taut."""
    solution = solve(front.prepared.all_cables_taut(), unit_racking_loads(front))
    return 1.0 / float(differential_heave(front, solution)[0])


def attraction_of(
    load: FloatArray, rest: FloatArray, rigid: FloatArray, rigid_rest: FloatArray
) -> dict[str, float | None]:
    """`attractions` of one joint in one case, by word; None where the rigid joint has none."""
    found = zip(("torque", "bending"), attractions(load, rest, rigid, rigid_rest).tolist(), strict=True)
    return {key: None if math.isnan(value) else value for key, value in found}


def attractions(load: FloatArray, rest: FloatArray, rigid: FloatArray, rigid_rest: FloatArray) -> FloatArray:
    """(…, 2), torque and bending: of what a case adds to pretension, the worse hull's over the worse hull's of the rigid joint.

    load, rest, rigid, rigid_rest : (…, 2, 6), joint loads under the case, under pretension alone; those of the rigid joint

    Negative where it acts against that of the rigid joint on the same hull, the port one where both are equal; nan where the
    rigid joint has none.
    """
    columns = [component_index(name) for name in ATTRACTED]
    added, rigid_added = load - rest, rigid - rigid_rest
    least = REL_TOL_ROUNDING_LOAD * np.maximum(
        *(np.abs(one).max(axis=(-2, -1), keepdims=True)[..., 0] for one in (rigid_added, rigid_rest))
    )
    own, whole = added[..., columns], rigid_added[..., columns]
    port, starboard = np.moveaxis(np.abs(own), -2, 0)
    worse = (starboard > (1 + REL_TOL_EVEN_HULLS) * port).astype(int)[..., None, :]
    of_worse = np.take_along_axis(own, worse, axis=-2)[..., 0, :]
    beside = np.take_along_axis(np.broadcast_to(whole, own.shape), worse, axis=-2)[..., 0, :]
    largest = np.abs(whole).max(axis=-2)
    sizes = np.abs(own).max(axis=-2) / np.where(largest > least, largest, np.nan)
    return np.asarray(np.where(of_worse * beside < 0, -sizes, sizes))


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
    "CaseResult",
    "CrossbeamLoadPath",
    "JointResult",
    "SolvedCases",
    "Study",
    "UnderPretension",
    "attraction_of",
    "attractions",
    "racking_stiffness",
    "require_answer",
    "run_study",
    "solve_cases",
    "solved_cases",
    "study_of",
]
