"""Which designs of a sweep, or sizes that were tried, no other betters: mass added, governing margin, torque at the joint."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from cases.analyses.sizing import JointSizing, Step
from cases.analyses.sweeps.chunk import DESIGN, JOINT
from cases.analyses.sweeps.run import GOVERNING, FinishedSweep
from cases.input.boat_file import BoatFile
from femcore.base.arrays import BoolArray, FloatArray
from femcore.base.errors import InputFault
from models.joints.rigid import RigidJoint
from models.response.front_end import build

MASS, TORQUE = "added_mass", "torque"


@dataclass(frozen=True, slots=True, eq=False)
class Candidates:
    """n ways to build the boat.

    joints : (n,) names;   labels : (n,), what each is, empty where nothing is to be written beside it
    mass   : (n,), kg, more than the boat as entered;   margin : (n,), governing;   torque : (n,), N·m, of all cases the largest
    """

    joints: tuple[str, ...]
    labels: tuple[str, ...]
    mass: FloatArray
    margin: FloatArray
    torque: FloatArray

    @property
    def unbettered(self) -> BoolArray:
        """(n,), which of them no other one betters in one of mass, margin, torque without being worse in another."""
        return unbettered(np.column_stack([self.mass, -self.margin, self.torque]))


def unbettered(costs: FloatArray) -> BoolArray:
    """(n,), which rows of costs (n, k) no other row betters: it is at most as large in all columns and smaller in one.

    Equal rows do not better one another. In the order of the columns one after the other, a row can only be bettered by one
    before it, and by one that is not bettered itself.
    """
    found = np.zeros(len(costs), dtype=bool)
    best = np.zeros((0, costs.shape[1]))
    for row in np.lexsort(costs.T[::-1]):
        cost = costs[row]
        better = (best <= cost).all(axis=1) & (best < cost).any(axis=1)
        if not better.any():
            found[row] = True
            best = np.vstack([best, cost])
    return found


def candidates_of(done: FinishedSweep) -> Candidates:
    """Every row of a sweep that has an answer and a margin; InputFault where mass, margin or torque is not among its columns."""
    table = done.table()
    for name in (MASS, GOVERNING, TORQUE):
        if name not in table.column_names:
            raise InputFault(
                "columns", f"have no {name}", f"add it, or leave columns out, to compare by {name}"
            )
    rows = table.select([DESIGN, JOINT, MASS, GOVERNING, TORQUE]).to_pylist()
    known = [row for row in rows if row[GOVERNING] is not None]
    if not known:
        raise InputFault(
            "sweep", "no design has a margin", "describe the parts of a joint, so that they are checked"
        )
    return Candidates(
        tuple(row[JOINT] for row in known),
        tuple(f"{row[DESIGN]:,}" for row in known),
        *(np.array([row[name] for row in known], dtype=float) for name in (MASS, GOVERNING, TORQUE)),
    )


def candidates_of_sizes(sized: tuple[JointSizing, ...], boat: BoatFile) -> Candidates:
    """Joints whose parts are described, as they are and with every size that was tried for them or beside them.

    Steps of one variable begin at the size that the one before ended with, which is there already. InputFault where no joint has
    a margin and a mass.
    """
    described = {joint.name for joint in boat.joints if joint.masses()}
    found: list[tuple[str, str, Step]] = []
    for one in sized:
        if one.joint in described and one.entered is not None:
            found.append((one.joint, one.entered.size, one.entered))
            tried = ((sizing, step) for sizing in one.sizings for step in sizing.steps[1:])
            found += [(one.joint, f"{sizing.design_variable} {step.size}", step) for sizing, step in tried]
    found = [row for row in found if math.isfinite(row[2].governing)]
    if not found:
        raise InputFault("--pareto", "no joint has a margin and a mass", "describe the parts of a joint")
    as_entered = build(boat, RigidJoint(name="rigid").stiffness()).frame.mass
    steps = [step for _, _, step in found]
    return Candidates(
        tuple(joint for joint, _, _ in found),
        tuple(label for _, label, _ in found),
        np.array([step.mass for step in steps]) - as_entered,
        np.array([step.governing for step in steps]),
        np.array([step.torque for step in steps]),
    )
