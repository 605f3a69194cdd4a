"""The study: every joint under every case, one solution for each joint, and the responses read from it."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from cases.analyses.joint_results import (
    ATTRACTED,
    REL_TOL_ROUNDING_LOAD,
    Buckling,
    CaseResult,
    FurtherResults,
    JointResult,
    SecondOrderChange,
    UnsolvedJoint,
)
from cases.analyses.solved_cases import SolvedCases, answered, solve_with_joints
from cases.input.boat_file import BoatFile
from cases.loads import LoadCase, components
from cases.loads.racking import Racking
from cases.loads.rig import Rig, StayLine, stay_line
from femcore.base.arrays import FloatArray
from femcore.base.errors import StructureFault
from femcore.frame.frame import Frame
from femcore.results.member_forces import member_forces
from femcore.solvers.buckling import Modes, buckling_of_cases
from femcore.solvers.solution import Solution, solve
from models.boat.platform import HandFormula, hand_formula
from models.joints import Joint
from models.joints.rigid import RigidJoint
from models.response.attraction import RackedBoat, unit_racking_loads
from models.response.front_end import CROSSBEAM, FrontEnd, build
from models.response.joint_loads import (
    component_index,
    differential_heave,
    joint_loads,
    racking_shares,
    stem_movements,
    truss_forces,
)
from models.response.load_path import (
    Ledger,
    LoadComponent,
    crossbeam_load_path,
    front_end_load_paths,
)
from models.response.modes import require_natural_modes
from models.response.platform_frame import PlatformResponse, platform_response

MIN_COMPRESSION_RATIO = 0.05
"""Of the largest axial force in any case: below this compression a member's buckling is not computed."""

REL_TOL_EVEN_HULLS = 1e-9
"""Of the moment on one hull: what that on the other exceeds it by is rounding, and they are equal."""


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
    rigid, bare = answered(first), racking_stiffness(build(file, None))
    # before any case is scaled to its movement: the same with any joint
    given, racked = [components(rigid.front, case) for case in file.load_cases], RackedBoat(file)
    solved: list[JointResult] = []
    unsolved: list[UnsolvedJoint] = []
    left = iter(of_others)
    for joint in joints:
        done = first if isinstance(joint, RigidJoint) else next(left)
        try:
            before = solved[-1].solution if solved else None
            solved.append(_joint_result(file, joint, answered(done), rigid, bare, racked, given, before))
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


def _joint_result(
    file: BoatFile,
    joint: Joint,
    done: SolvedCases,
    rigid: SolvedCases,
    bare: float,
    racked: RackedBoat,
    given: Sequence[list[LoadComponent]],
    before: Solution | None,
) -> JointResult:
    front, solution, stiffness = done.front, done.solution, joint.stiffness()
    loads, stems = done.loads, stem_movements(front, solution)
    racking, path = racking_shares(front, solution), crossbeam_load_path(front, solution)
    attraction = [
        attraction_of(*of)
        for of in zip(loads, done.under_pretension, rigid.loads, rigid.under_pretension, strict=True)
    ]
    buckled = buckling_by_case(solution, before)
    every = zip(file.load_cases, given, solution.loads.nodal, strict=True)
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
    require_natural_modes(front)
    crossbeam = member_forces(solution, front.frame.members[CROSSBEAM], 4)
    own = racking_stiffness(front)
    further = FurtherResults(racked, front, stiffness)
    return JointResult(joint, stiffness, front, solution, own, own / bare, further, crossbeam, cases)


def _scaled_components(case: LoadCase, parts: list[LoadComponent], nodal: FloatArray) -> list[LoadComponent]:
    """The components of a case, scaled as its load (n, 6) was where it had a movement to reach."""
    if case.target() is None:
        return parts
    whole = np.sum([part.nodal for part in parts], axis=0)
    factor = float(np.vdot(whole, nodal) / np.vdot(whole, whole))
    return [part.scaled(factor) for part in parts]


def buckling_by_case(solution: Solution, like: Solution | None = None) -> dict[int, Buckling]:
    """By the case's number: the lowest load factor, where crossbeam or striker is in compression and there is one.

    like : with another joint, its load factors found before
    """
    states = [truss_forces(solution, case) for case in range(len(solution.names))]
    least = MIN_COMPRESSION_RATIO * float(np.abs(solution.natural[:, : len(solution.frame.ends), 0]).max())
    compressed = [case for case, at in enumerate(states) if max(at.compression, at.strut) > least]
    found = zip(compressed, buckling_of_cases(solution, compressed, 1, like=like), strict=True)
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


__all__ = [
    "Study",
    "attraction_of",
    "attractions",
    "racking_stiffness",
    "require_answer",
    "run_study",
    "study_of",
]
