"""Responses of a solved front end: joint loads, bow movements, where the racking moment goes, the trussed beam.

Joint loads are what the crossbeam puts on the hull, at the joint, in boat axes. Statics is done in the shape that each case was
solved in.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

import numpy as np
from pydantic import Field

from femcore.base.arrays import FloatArray
from femcore.base.toml import unknown
from femcore.frame.frame import FREEDOMS, REACTIONS
from femcore.results.member_forces import actions_at, axial_forces
from femcore.results.nodal_forces import arms, beam_forces, line_forces, positions
from femcore.solvers.solution import Solution
from models.joints.base import LOAD_MIRROR
from models.response.front_end import CROSSBEAM, SIDES, STRIKER, FrontEnd

JOINT_LOAD_NAMES = (
    "fore-and-aft shear",
    "axial force",
    "vertical shear",
    "vertical bending",
    "torque",
    "fore-and-aft bending",
)
"""The six components of a joint load, Fx Fy Fz Mx My Mz in boat axes, by their words in a crossbeam."""
ABS_TOL_SHARE_SUM = 1e-7
"""Largest departure of the racking shares from 1; more is an error of the run."""
HEAVE, PITCH = FREEDOMS.index("uz"), FREEDOMS.index("ry")
REL_TOL_RACKING = 1e-9
"""Of the moments on both sides: a smaller difference is rounding, or what Newton's method leaves of an even load."""


def component_index(name: str) -> int:
    """Place of a component of a joint load by its words ("torque") or symbol ("My"); InputFault for any other name."""
    if name in REACTIONS:
        return REACTIONS.index(name)
    words = "axial force" if name == "axial" else name
    if words not in JOINT_LOAD_NAMES:
        raise unknown("", "component", name, [*JOINT_LOAD_NAMES, *REACTIONS])
    return JOINT_LOAD_NAMES.index(words)


def larger_side(joint_load: FloatArray, component: str) -> float:
    """N or N·m, the larger size of one component over joint loads (…, 6): of both sides, and of whatever else is given."""
    return float(np.abs(joint_load[..., component_index(component)]).max())


def racking_part(joint_load: FloatArray) -> FloatArray:
    """(…, 2, 6), N and N·m: the part of joint loads (…, 2, 6) that is antisymmetric, up on one bow and down on the other.

    The mirror image of the other hull's load, reversed, averaged with the own one; the rest is what acts on both hulls alike.
    Of torque it is half of port less starboard, of vertical bending half of their sum. Exact for every load and structure
    that is alike on both sides.
    """
    mirrored = joint_load[..., ::-1, :] * LOAD_MIRROR
    return np.asarray((joint_load - mirrored) / 2)


def joint_loads(solution: Solution) -> FloatArray:
    """(c, 2, 6), N and N·m, what the crossbeam puts on the hull, port then starboard, boat axes."""
    return solution.once(_joint_loads)


def _joint_loads(solution: Solution) -> FloatArray:
    _, arm, on_node = joint_points_and_forces(solution)
    return np.concatenate([on_node[..., :3], on_node[..., 3:] - np.cross(arm, on_node[..., :3])], axis=2)


def joint_points_and_forces(solution: Solution) -> tuple[FloatArray, FloatArray, FloatArray]:
    """(c, 2, 3) where the joints are and the arms to them, (c, 2, 6) what the beam puts on the hulls' nodes; port first."""
    return solution.once(_joint_points_and_forces)


def _joint_points_and_forces(solution: Solution) -> tuple[FloatArray, FloatArray, FloatArray]:
    run = solution.frame.members[CROSSBEAM]
    element, end = [run.last - 1, run.first], [1, 0]
    arm = arms(solution)[:, element, end]
    at = positions(solution)[:, solution.frame.ends[element, end]] + arm
    return at, arm, -beam_forces(solution)[:, element, end]


def root_actions(front: FrontEnd, solution: Solution) -> tuple[FloatArray, FloatArray]:
    """What holds bows and longeron at `front.root_members`: (c, r, 3), m, where; (c, r, 6), N and N·m, boat axes.

    With root springs these are the reactions. With a platform they are what is aft of the main bulkhead puts on the part cut
    there: the internal actions of its first element, less what is applied at the root's own node.
    """
    first = [front.frame.members[name].first for name in front.root_members.values()]
    nodes = front.frame.ends[first, 0]
    held = (
        solution.reactions[:, nodes]
        if front.boat.platform is None
        else beam_forces(solution)[:, first, 0] - solution.loads.nodal[:, nodes]
    )
    return positions(solution)[:, nodes], held


def stem_movements(front: FrontEnd, solution: Solution) -> FloatArray:
    """(c, 2, 6), m and rad, of the stems, port then starboard."""
    stems = [front.frame.node_index[front.places[f"{side} stem"].node] for side in SIDES]
    return solution.displacement[:, stems]


def differential_heave(front: FrontEnd, solution: Solution) -> FloatArray:
    """(c,), m, how far the port stem rises above the starboard one."""
    port, starboard = stem_movements(front, solution)[..., HEAVE].T
    return np.asarray(port - starboard)


@dataclass(frozen=True, slots=True)
class Shares:
    """The racking moment about the y axis at the root, and where it goes; the shares sum to 1."""

    racking_moment: Annotated[float, Field(description="N·m, half of port less starboard")]
    hull: Annotated[float, Field(description="carried by the hull's root")]
    torque: Annotated[float, Field(description="carried by the torque of the joint")]
    shear: Annotated[
        float, Field(description="carried by the vertical force of the joint at the beam's station")
    ]

    @property
    def by_part(self) -> dict[str, float]:
        """Hull, torque and shear."""
        return {"hull": self.hull, "torque": self.torque, "shear": self.shear}


def hull_twist(front: FrontEnd, solution: Solution) -> FloatArray:
    """(c,), rad, pitch of the port hull at the main bulkhead less that of the starboard one, bow up: twice φ."""
    roots = [front.frame.node_index[f"{side} root"] for side in SIDES]
    pitch = -solution.displacement[:, roots, PITCH]
    return np.asarray(pitch[:, 0] - pitch[:, 1])


def crossbeam_twist(front: FrontEnd, solution: Solution) -> FloatArray:
    """(c,), rad, roll of the line from hull to hull at the crossbeam less that at the main bulkhead, port side up."""
    at = [[front.frame.node_index[f"{side} {place}"] for side in SIDES] for place in ("hull at beam", "root")]
    heave = solution.displacement[:, at, HEAVE]
    roll = (heave[:, :, 0] - heave[:, :, 1]) / front.boat.bows.spacing
    return np.asarray(roll[:, 0] - roll[:, 1])


@dataclass(frozen=True, slots=True, eq=False)
class RackingShares:
    """Where the racking moment about the y axis at the root, at the joint's height, goes: half of port less starboard.

    applied  : (c,), N·m;   hull, torque, shear : (c,), N·m, which sum to `applied`
    by_side  : (c, 4), N·m, applied to the port and the starboard bow, then carried by the root of each
    """

    applied: FloatArray
    hull: FloatArray
    torque: FloatArray
    shear: FloatArray
    by_side: FloatArray

    @property
    def tolerance(self) -> FloatArray:
        """(c,), N·m, below which a racking moment is rounding of moments that are equal on both sides."""
        return np.asarray(REL_TOL_RACKING * np.abs(self.by_side).sum(axis=1))

    def shares(self, case: int) -> Shares | None:
        """Hull, torque and shear share, or None where nothing racks the bows; ArithmeticError where they miss 1."""
        total = self.applied[case]
        if abs(total) <= self.tolerance[case]:
            return None
        parts = {key: float(getattr(self, key)[case] / total) for key in ("hull", "torque", "shear")}
        if abs(sum(parts.values()) - 1) > ABS_TOL_SHARE_SUM + self.tolerance[case] / abs(total):
            raise ArithmeticError(f"racking shares sum to {sum(parts.values())!r}, not to 1")
        return Shares(float(total), **parts)


def racking_shares(front: FrontEnd, solution: Solution) -> RackingShares:
    """The racking moment of every case and its three parts, each taken from its own place in the solution.

    For one bow cut free at its root and its joint, statics about the y axis at x = 0 and the joint's height gives
    applied moment = root moment of the hull + joint torque + joint vertical force × beam station. In a deformed shape all stand
    where they have gone, so that the joint's fore-and-aft force has an arm too; it counts in the last.
    """
    below = np.array([0.0, 0.0, -front.boat.crossbeam.height])
    at = positions(solution) + below
    roots, held = root_actions(front, solution)
    hulls, applied = [], []
    for number, side in enumerate(SIDES):
        on_bow = _member_loads(solution, (f"{side} bow",))
        applied.append(_pitch_moment(at, on_bow))
        hulls.append(-_pitch_moment(below + roots[:, [number]], held[:, [number]]))
    joints, _, _ = joint_points_and_forces(solution)
    on_hull = joint_loads(solution)
    force_moment = np.cross(joints - [0.0, 0.0, front.boat.crossbeam.height], on_hull[..., :3])[..., 1]
    half = np.array([0.5, -0.5])
    return RackingShares(
        applied=half @ np.array(applied),
        hull=half @ np.array(hulls),
        torque=-on_hull[:, :, component_index("torque")] @ half,
        shear=-force_moment @ half,
        by_side=np.stack([*applied, *hulls], axis=1),
    )


def _pitch_moment(at: FloatArray, loads: FloatArray) -> FloatArray:
    """(c,), N·m, moment about the y axis of loads (c, k, 6) at points (c, k, 3)."""
    return np.asarray((loads[..., 3:] + np.cross(at, loads[..., :3]))[..., 1].sum(axis=1))


def _member_loads(solution: Solution, members: tuple[str, ...]) -> FloatArray:
    """(c, n, 6), N and N·m, what acts on members: along them, and at their nodes."""
    frame, count = solution.frame, len(solution.frame.nodes)
    elements = np.concatenate([np.arange(len(frame.ends))[frame.members[name].elements] for name in members])
    own = np.isin(np.arange(count), frame.ends[elements])
    result = np.where(own[:, None], solution.loads.nodal, 0.0)
    along = line_forces(solution)[:, elements].reshape(len(result), -1, 6)
    np.add.at(result.swapaxes(0, 1), frame.ends[elements].reshape(-1), along.swapaxes(0, 1))
    return result


@dataclass(frozen=True, slots=True)
class TrussForces:
    """The trussed beam under one case."""

    tension: Annotated[dict[str, float], Field(description="N, by part of the martingale; 0 slack")]
    compression: Annotated[
        float,
        Field(description="N, the largest along the crossbeam, 0 where it is only pulled"),
    ]
    strut: Annotated[
        float, Field(description="N, compression of the striker at its foot, what acts along it included")
    ]


def striker_axial(front: FrontEnd, solution: Solution) -> FloatArray:
    """(c, p), N, tension positive, in the striker at its foot and at the end of each element; none without a striker."""
    strut = front.frame.members.get(STRIKER)
    if strut is None:
        return np.zeros((len(solution.names), 0))
    run = np.arange(strut.first, strut.last)
    elements, xi = np.append(run[0], run), np.append(0.0, np.ones(len(run)))
    return actions_at(solution, elements, xi)[..., 0]


def truss_forces(solution: Solution, case: int) -> TrussForces:
    """Martingale, crossbeam and striker in one case."""
    frame = solution.frame
    axial, strut = axial_forces(solution, case), frame.members.get(STRIKER)
    compression = (
        max(0.0, float(-axial[frame.members[CROSSBEAM].elements].min()))
        if CROSSBEAM in frame.members
        else 0.0
    )
    at_foot = 0.0 if strut is None else max(0.0, float(-axial[strut.first, 0]))
    names = frame.cables.names
    tension = {name: max(0.0, float(t)) for name, t in zip(names, solution.tension[case], strict=True)}
    return TrussForces(tension, compression, at_foot)
