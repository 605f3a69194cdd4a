"""Every joint under every case: solve once per joint, and read what a builder and an engineer ask of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from cases.boat_file import BoatFile
from cases.loads import LoadCase, case_arrays
from cases.loads.rig import Rig, StayLine, stay_line
from femcore.actions import Along, along
from femcore.combine import scaled
from femcore.errors import Mechanism
from femcore.frame import FloatArray, Loads
from femcore.solve import Solution, solve
from models.front_end import CENTRE, CROSSBEAM, FrontEnd, build
from models.joints import Joint, JointStiffness
from models.joints.rigid import RigidJoint
from models.readings import (
    Ledger,
    differential_heave,
    joint_loads,
    load_path,
    racking_shares,
    stem_movements,
)
from models.softness import SpringCurve, racking_pair, spring_curve

NEGLIGIBLE = 1e-9
"""Of the largest moment in a case: smaller rigid-joint moments give no attraction."""
TORQUE, BENDING = 4, 3
"""Where torque (pitch) and vertical bending (roll) stand among the six components of a joint load."""


@dataclass(frozen=True, slots=True, eq=False)
class CaseResult:
    """One joint under one case.

    joint_load     : (2, 6), N and N·m, what the crossbeam puts on the hull, port then starboard, boat axes
    stems          : (2, 6), m and rad, movements of the stems
    shares         : hull, torque and shear share of the racking moment; None where nothing racks the bows
    attraction     : torque and bending of this joint over the rigid joint's in the same case; None where that has none
    path           : names and (rows, 6) of the load path about the beam's centre
    balance, error : of the solution, relative
    """

    case: LoadCase
    joint_load: FloatArray
    stems: FloatArray
    shares: dict[str, float] | None
    racking_moment: float
    attraction: dict[str, float | None]
    path_names: tuple[str, ...]
    path: FloatArray
    balance: float
    error: float


@dataclass(frozen=True, slots=True, eq=False)
class JointResult:
    """One joint under all cases.

    racking_stiffness : N/m, opposite forces at the stems per metre of differential heave
    curves            : "pitch" and "roll": what the joint attracts against its stiffness; None where it has no such spring
    crossbeam         : actions and movements along the crossbeam, all cases, from starboard to port
    """

    joint: Joint
    stiffness: JointStiffness
    front: FrontEnd
    solution: Solution
    racking_stiffness: float
    curves: Mapping[str, SpringCurve | None]
    crossbeam: Along
    cases: tuple[CaseResult, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Study:
    """A whole run.

    bare_racking_stiffness : N/m, of the two bows alone, without a crossbeam
    source                 : the name of the boat file, for a report to name; empty where it came from none
    """

    file: BoatFile
    joints: tuple[JointResult, ...]
    bare_racking_stiffness: float
    source: str = ""

    @property
    def cases(self) -> tuple[LoadCase, ...]:
        """The load cases that were run: those of the file, each as the cases that it stands for."""
        return tuple(self.file.load_cases)

    def stay_lines(self) -> dict[str, StayLine]:
        """The stay's geometry in each rig case, by the case's name."""
        stay = self.file.stay
        return {case.name: stay_line(case, stay.forward, stay.up) for case in self.cases if isinstance(case, Rig)}


def run_study(file: BoatFile, source: str = "") -> Study:
    """Take every joint of the file through every case; StructureFault, naming the joint, where one cannot be solved."""
    rigid = _solved(file, RigidJoint(name="rigid"))[1]
    rigid_load = joint_loads(rigid)
    joints = tuple(_joint_result(file, joint, rigid_load) for joint in file.joints)
    return Study(file, joints, _racking_stiffness(build(file, None)), source)


def _joint_result(file: BoatFile, joint: Joint, rigid_load: FloatArray) -> JointResult:
    front, solution = _solved(file, joint)
    stiffness = joint.stiffness()
    loads, stems = joint_loads(solution), stem_movements(front, solution)
    racking, path = racking_shares(front, solution), load_path(front, solution)
    cases = tuple(
        CaseResult(
            case=case,
            joint_load=loads[i],
            stems=stems[i],
            shares=racking.shares(i),
            racking_moment=float(racking.applied[i]),
            attraction=_attraction(loads[i], rigid_load[i]),
            path_names=path.names,
            path=path.entries[i],
            balance=float(solution.balance[i]),
            error=float(solution.error[i]),
        )
        for i, case in enumerate(file.load_cases)
    )
    curves = {direction: spring_curve(file, stiffness, direction) for direction in ("pitch", "roll")}
    crossbeam = along(solution, front.frame.members[CROSSBEAM], 4)
    return JointResult(joint, stiffness, front, solution, _racking_stiffness(front), curves, crossbeam, cases)


def _solved(file: BoatFile, joint: Joint) -> tuple[FrontEnd, Solution]:
    """The front end with that joint, and all cases of the file; imposed movements are reached by scaling."""
    front = build(file, joint.stiffness())
    cases = file.load_cases
    loads = Loads.none(front.frame, *(case.name for case in cases))
    for number, case in enumerate(cases):
        put = case_arrays(front, case)
        loads.nodal[number], loads.line[number] = put.nodal, put.line
        loads.warm[number], loads.warm_cables[number] = put.warm, put.warm_cables
    try:
        solution = solve(front.frame, loads)
    except Mechanism as fault:
        raise _in_boat_words(fault, joint) from None
    heave = differential_heave(front, solution)
    wanted = [case.heave_to_reach() for case in cases]
    factors = [1.0 if w is None else w / h for w, h in zip(wanted, heave, strict=True)]
    return front, scaled(solution, factors)


def _racking_stiffness(front: FrontEnd) -> float:
    solution = solve(front.frame, racking_pair(front))
    return 1.0 / float(differential_heave(front, solution)[0])


def _attraction(load: FloatArray, rigid: FloatArray) -> dict[str, float | None]:
    """Of the side where the rigid joint carries more, so that a load to one side is told by that side."""
    largest = float(np.abs(rigid[:, 3:]).max())
    result: dict[str, float | None] = {}
    for word, component in (("torque", TORQUE), ("bending", BENDING)):
        side = int(np.abs(rigid[:, component]).argmax())
        whole = float(rigid[side, component])
        result[word] = float(load[side, component]) / whole if abs(whole) > NEGLIGIBLE * largest else None
    return result


def _in_boat_words(fault: Mechanism, joint: Joint) -> Mechanism:
    words = fault.words
    if CROSSBEAM in fault.spinning or fault.moving.get(CENTRE) == ("ry",):
        words = (
            "the crossbeam turns freely about its own axis: nothing holds pitch at either joint; "
            "give one of them pitch stiffness, or fix a longeron to the beam"
        )
    return Mechanism(f"joint '{joint.name}': {words}", fault.spinning, fault.moving)


__all__ = ["CaseResult", "JointResult", "Ledger", "Study", "run_study"]
