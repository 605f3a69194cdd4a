"""Joint loads, attraction and racking stiffness over many joint stiffnesses at once.

The front end is solved once; all joints follow exactly (`models.response.joint_designs`). Cases of second order, and joints that
are nearly free to move, are solved one by one.
"""

from __future__ import annotations

import importlib
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product
from typing import TYPE_CHECKING

import numpy as np

from cases.analyses.solved_cases import READINGS, solve_cases
from cases.analyses.study import attractions, racking_stiffness
from cases.input.boat_file import BoatFile, require_boat
from cases.loads import LoadCase, case_loads
from femcore.base.arrays import BoolArray, FloatArray
from femcore.base.errors import InputFault
from femcore.base.toml import collect, unknown
from femcore.solvers.frame_changes import Changes
from models.joints import DIRECTIONS, JointStiffness
from models.joints.rigid import RigidJoint
from models.response.front_end import SIDES
from models.response.front_end_variants import FrontEndVariants
from models.response.joint_designs import JointDesigns
from models.response.joint_loads import JOINT_LOAD_NAMES, component_index
from models.response.stiffness_names import springs_of_joints

if TYPE_CHECKING:
    import pandas as pd

SPRING_UNITS = ("N/m",) * 3 + ("N·m/rad",) * 3
LOAD_UNITS = ("N",) * 3 + ("N·m",) * 3
ATTRACTED = ("torque", "bending")
MOST_DESIGNS = 200_000
"""Which take about a gigabyte."""

Stiffnesses = float | Sequence[float] | FloatArray
"""N/m or N·m/rad, one or several; 0 is free, inf rigid."""


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Sweep:
    """Designs (p,), each a joint with its stiffnesses, under cases (c,).

    joints, cases     : (p,), (c,), names
    stiffness         : (p, 6), N/m and N·m/rad, surge sway heave roll pitch yaw; NaN where a joint's springs are not in boat axes
    joint_load        : (p, c, 2, 6), N and N·m, on the hull, port then starboard, boat axes
    attraction        : (p, c, 2), torque and vertical bending over those of the rigid joint; NaN where that has none
    racking_stiffness : (p,), N/m, opposite forces at the stems per metre of differential heave
    """

    joints: tuple[str, ...]
    cases: tuple[str, ...]
    stiffness: FloatArray
    joint_load: FloatArray
    attraction: FloatArray
    racking_stiffness: FloatArray

    def __repr__(self) -> str:
        """Its size; the numbers are thousands."""
        return f"<Sweep: {len(self.joints)} designs × {len(self.cases)} cases>"

    def load(self, case: str, component: str, side: str = "port") -> FloatArray:
        """(p,), N or N·m, signed: a component such as "torque" or "My" in a case; InputFault for an unknown name."""
        if side not in SIDES:
            raise unknown("", "side", side, SIDES)
        return np.array(self.joint_load[:, self._case(case), SIDES.index(side), component_index(component)])

    def attracted(self, case: str, moment: str = "torque") -> FloatArray:
        """(p,), of "torque" or "bending", over that of the rigid joint; NaN where that has none."""
        if moment not in ATTRACTED:
            raise unknown("", "moment", moment, ATTRACTED)
        return np.array(self.attraction[:, self._case(case), ATTRACTED.index(moment)])

    def _case(self, name: str) -> int:
        if name not in self.cases:
            raise unknown("", "case", name, self.cases)
        return self.cases.index(name)

    def to_pandas(self) -> pd.DataFrame:
        """A row for each design under each case, units in the columns' names; InputFault where pandas is not installed."""
        try:
            pandas = importlib.import_module("pandas")
        except ImportError:
            cure = "install it beside forebeam: pip install 'forebeam[pandas]'"
            raise InputFault("to_pandas", "pandas is not installed", cure) from None
        designs, cases = len(self.joints), len(self.cases)
        columns: dict[str, object] = {"joint": np.repeat(np.array(self.joints, dtype=object), cases)}
        for at, (direction, unit) in enumerate(zip(DIRECTIONS, SPRING_UNITS, strict=True)):
            columns[f"{direction}, {unit}"] = np.repeat(self.stiffness[:, at], cases)
        columns["case"] = np.tile(np.array(self.cases, dtype=object), designs)
        for side, name in enumerate(SIDES):
            for at, (component, unit) in enumerate(zip(JOINT_LOAD_NAMES, LOAD_UNITS, strict=True)):
                columns[f"{name} {component}, {unit}"] = self.joint_load[:, :, side, at].reshape(-1)
        for at, moment in enumerate(ATTRACTED):
            columns[f"{moment} attraction"] = self.attraction[:, :, at].reshape(-1)
        columns["racking stiffness, N/m"] = np.repeat(self.racking_stiffness, cases)
        frame: pd.DataFrame = pandas.DataFrame(columns)
        return frame


def sweep(
    boat: BoatFile,
    joint: str | Sequence[str] | None = None,
    *,
    cases: str | Sequence[str] | None = None,
    surge: Stiffnesses | None = None,
    sway: Stiffnesses | None = None,
    heave: Stiffnesses | None = None,
    roll: Stiffnesses | None = None,
    pitch: Stiffnesses | None = None,
    yaw: Stiffnesses | None = None,
) -> Sweep:
    """Every combination of the given stiffnesses, in place of those of each joint (all of the boat's, where none is named).

    Directions that are left out stay as the joint has them; of the others, the last in the order above varies first.

    InputFault for an unknown joint or case, for a stiffness that is negative or no number, and for none at all; InputFaults where
    the parts of a boat made in Python do not fit;
    StructureFault, naming the joint, where a design cannot be solved.
    """
    require_boat(boat)
    collect("boat", boat.own_faults())
    given = dict(zip(DIRECTIONS, (surge, sway, heave, roll, pitch, yaw), strict=True))
    values = {direction: _stiffnesses(direction, k) for direction, k in given.items() if k is not None}
    named = {one.name: one for one in boat.joints}
    joints = [named[name] for name in _chosen("joint", joint, list(named))]
    by_name = {case.name: case for case in boat.load_cases}
    run = [by_name[name] for name in _chosen("case", cases, list(by_name))]
    count = len(joints) * int(np.prod([float(len(k)) for k in values.values()]))
    if count > MOST_DESIGNS:
        raise InputFault("sweep", f"{count} designs are too many", f"ask for at most {MOST_DESIGNS} at once")
    names, designs, springs = [], [], []
    for one in joints:
        base = one.stiffness()
        if values and not base.is_in_boat_axes:
            wrong = "its springs are not in boat axes"
            raise InputFault(f"joint '{one.name}'", wrong, "sweep a joint whose pin is along x, y or z")
        for choice in product(*values.values()):
            names.append(one.name)
            swept = dict(zip(values, choice, strict=True))
            designs.append(base.with_springs(swept) if swept else base)
            springs.append([swept.get(d, k) for d, k in zip(DIRECTIONS, _springs(designs[-1]), strict=True)])
    return _swept(boat, names, designs, np.array(springs), run)


def _chosen(what: str, given: str | Sequence[str] | None, known: list[str]) -> list[str]:
    names = known if given is None else [given] if isinstance(given, str) else list(given)
    if not names:
        raise InputFault("sweep", f"has no {what}", f"name at least one {what}, or leave {what} out for all")
    for name in names:
        if name not in known:
            raise unknown("sweep", what, name, known)
    return names


def _stiffnesses(direction: str, given: Stiffnesses) -> list[float]:
    try:
        values = np.atleast_1d(np.asarray(given, dtype=float))
    except (TypeError, ValueError):
        values = np.array([np.nan])
    place = f"sweep: {direction}"
    if not values.size:
        raise InputFault(place, "is empty", "give at least one stiffness")
    if values.ndim > 1 or np.isnan(values).any() or (values < 0).any():
        raise InputFault(
            place,
            f"{given!r} is no stiffness",
            "give numbers of 0 (free) or more, inf for rigid, N/m or N·m/rad",
        )
    return [float(value) for value in values]


def _springs(joint: JointStiffness) -> FloatArray:
    """(6,), N/m and N·m/rad, in boat axes; NaN where the joint has axes of its own."""
    return joint.springs if joint.is_in_boat_axes else np.full(6, np.nan)


def _swept(
    boat: BoatFile,
    names: list[str],
    designs: list[JointStiffness],
    springs: FloatArray,
    cases: list[LoadCase],
) -> Sweep:
    rigid = solve_cases(boat, "rigid", RigidJoint(name="rigid").stiffness(), cases)
    joint_load, under_pretension, stiffness, exact = _all_at_once(boat, designs, cases)
    for number, (name, design) in enumerate(zip(names, designs, strict=True)):
        left = np.flatnonzero(~exact[number])
        if len(left):
            done = solve_cases(boat, name, design, [cases[case] for case in left])
            joint_load[number, left], under_pretension[number, left] = done.loads, done.under_pretension
            stiffness[number] = racking_stiffness(done.front)
    return Sweep(
        joints=tuple(names),
        cases=tuple(case.name for case in cases),
        stiffness=springs,
        joint_load=joint_load,
        attraction=attractions(joint_load, under_pretension, rigid.loads, rigid.under_pretension),
        racking_stiffness=stiffness,
    )


def variants_under(boat: BoatFile, cases: Sequence[LoadCase]) -> FrontEndVariants:
    """The front end ready for other joints, under cases in first order; StructureFaults as of `solve`."""
    targets = {
        number: (READINGS[wanted.reading], wanted.size)
        for number, wanted in enumerate(case.target() for case in cases)
        if wanted is not None
    }
    return FrontEndVariants.of(boat, lambda front: case_loads(front, cases), targets=targets)


def _all_at_once(
    boat: BoatFile, designs: list[JointStiffness], cases: list[LoadCase]
) -> tuple[FloatArray, FloatArray, FloatArray, BoolArray]:
    """Joint loads and those under pretension, each (p, c, 2, 6); racking stiffness (p,); which (p, c) of them are exact."""
    variants = variants_under(boat, cases)
    plain = np.array([one.is_in_boat_axes and one.matrix is None for one in designs])
    joint_load, rest = np.empty((len(designs), len(cases), 2, 6)), np.empty((len(designs), 2, 6))
    stiffness, exact = np.empty(len(designs)), np.empty((len(designs), len(cases)), dtype=bool)
    for some, of_springs in ((np.flatnonzero(plain), True), (np.flatnonzero(~plain), False)):
        if not len(some):
            continue
        chosen = [designs[number] for number in some]
        done = (
            JointDesigns.of(variants).solve(np.array([one.springs for one in chosen]))
            if of_springs
            else variants.solve(None, Changes(springs=springs_of_joints(chosen)), alone=False)
        )
        joint_load[some], rest[some] = done.joint_load, done.under_pretension
        stiffness[some], exact[some] = done.racking_stiffness, done.exact
    # the load on an arm of a crossbeam that is rigid all round goes to the hulls' nodes too
    rigid = np.array([np.isinf(one.springs).all() for one in designs])
    exact &= ~rigid[:, None] & ~np.array([case.second_order for case in cases])
    return joint_load, np.repeat(rest[:, None], len(cases), axis=1), stiffness, exact


__all__ = ["Sweep", "sweep", "variants_under"]
