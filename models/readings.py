"""What a solved front end says of the boat: joint loads, bow movements, where the racking moment goes, the load path.

Joint loads are what the crossbeam puts on the hull, at the joint, in boat axes.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from femcore.actions import end_forces
from femcore.frame import FloatArray
from femcore.solve import Solution, resultants
from models.front_end import CENTRE, CROSSBEAM, LONGERON, PROD, SIDES, STRIKER, FrontEnd

BEAM_WORDS = ("fore-and-aft shear", "axial force", "vertical shear", "vertical bending", "torque", "fore-and-aft bending")
"""The six components of a joint load, Fx Fy Fz Mx My Mz in boat axes, as a crossbeam sees them."""
ON_CROSSBEAM = (CROSSBEAM, STRIKER)
SHARES_CLOSE = 1e-7
"""Largest departure of the racking shares from 1; more is an error of the run."""


def _global_end(solution: Solution, member: str, end: int) -> FloatArray:
    """(c, 6), force and moment on one end of a member (0 its start, 1 its end), global axes."""
    frame = solution.frame
    run = frame.members[member]
    element = run.last - 1 if end else run.first
    p = end_forces(solution)[:, element].reshape(-1, 4, 3)[:, 2 * end : 2 * end + 2]
    return np.asarray(p @ frame.axes[element]).reshape(-1, 6)


def joint_loads(solution: Solution) -> FloatArray:
    """(c, 2, 6), N and N·m, what the crossbeam puts on the hull, port then starboard, boat axes."""
    port, starboard = _global_end(solution, CROSSBEAM, 1), _global_end(solution, CROSSBEAM, 0)
    return -np.stack([port, starboard], axis=1)


def stem_movements(front: FrontEnd, solution: Solution) -> FloatArray:
    """(c, 2, 6), m and rad, of the stems, port then starboard."""
    stems = [front.frame.node_index[front.places[f"{side} stem"].node] for side in SIDES]
    return solution.displacement[:, stems]


def differential_heave(front: FrontEnd, solution: Solution) -> FloatArray:
    """(c,), m, how far the port stem rises above the starboard one."""
    heave = stem_movements(front, solution)[:, :, 2]
    return np.asarray(heave[:, 0] - heave[:, 1])


@dataclass(frozen=True, slots=True, eq=False)
class RackingShares:
    """Where the racking moment about the y axis at the root, at the joint's height, goes: half of port less starboard.

    applied : (c,), N·m;   hull, torque, shear : (c,), N·m, which sum to `applied`
    """

    applied: FloatArray
    hull: FloatArray
    torque: FloatArray
    shear: FloatArray

    def shares(self, case: int) -> dict[str, float] | None:
        """Hull, torque and shear share, or None where nothing racks the bows; ArithmeticError where they miss 1."""
        whole = self.applied[case]
        if whole == 0:
            return None
        parts = {key: float(getattr(self, key)[case] / whole) for key in ("hull", "torque", "shear")}
        if abs(sum(parts.values()) - 1) > SHARES_CLOSE:
            raise ArithmeticError(f"racking shares sum to {sum(parts.values())!r}, not to 1")
        return parts


def racking_shares(front: FrontEnd, solution: Solution) -> RackingShares:
    """The racking moment of every case and its three parts, each taken from its own place in the solution.

    For one bow cut free at its root and its joint, statics about the y axis at x = 0 and the joint's height gives
    applied moment = root moment of the hull + joint torque + joint vertical force × beam station.
    """
    frame, height, station = front.frame, front.boat.crossbeam.height, front.boat.crossbeam.station
    about = np.array([0.0, 0.0, height])
    points, loads = resultants(frame, solution.loads)
    hulls, applied = [], []
    for side in SIDES:
        of_hull = _points_of(front, f"{side} bow")
        applied.append(_pitch_moment(points[of_hull], loads[:, of_hull], about))
        root = frame.node_index[f"{side} root"]
        hulls.append(-_pitch_moment(frame.nodes[[root]], solution.reaction[:, [root]], about))
    on_hull = joint_loads(solution)
    half = np.array([0.5, -0.5])
    return RackingShares(
        applied=half @ np.array(applied),
        hull=half @ np.array(hulls),
        torque=-on_hull[:, :, 4] @ half,
        shear=on_hull[:, :, 2] @ half * station,
    )


def _pitch_moment(points: FloatArray, loads: FloatArray, about: FloatArray) -> FloatArray:
    """(c,), N·m, moment about the y axis through `about` of loads (c, k, 6) at points (k, 3)."""
    return np.asarray((loads[..., 3:] + np.cross(points - about, loads[..., :3]))[..., 1].sum(axis=1))


def _points_of(front: FrontEnd, member: str) -> FloatArray:
    """Which loaded points (nodes, then middles of elements) belong to a member."""
    frame = front.frame
    elements = np.arange(len(frame.ends))[frame.members[member].elements]
    return np.concatenate([np.unique(frame.ends[elements]), len(frame.nodes) + elements])


@dataclass(frozen=True, slots=True, eq=False)
class Ledger:
    """Everything that acts on the crossbeam (with striker and martingale), force and moment about its centre; sums to 0.

    names : what acts;   entries : (c, rows, 6), N and N·m, boat axes
    """

    names: tuple[str, ...]
    entries: FloatArray

    @property
    def rest(self) -> FloatArray:
        """(c, 6), the sum over all rows: 0 but for rounding."""
        return np.asarray(self.entries.sum(axis=1))


def load_path(front: FrontEnd, solution: Solution) -> Ledger:
    """What is applied to the crossbeam and where it leaves, as actions on the crossbeam."""
    frame, centre = front.frame, front.position(CENTRE)
    rows = {"applied to the crossbeam": _applied_to_crossbeam(front, solution, centre)}
    on_hull = joint_loads(solution)
    for side, name in enumerate(SIDES):
        rows[f"{name} joint"] = -_moved(on_hull[:, side], front.joint_position(side) - centre)
    if LONGERON in frame.members:
        rows[LONGERON] = -_global_end(solution, LONGERON, 1)
    if PROD in frame.members:
        rows[PROD] = -_global_end(solution, PROD, 0)
    return Ledger(tuple(rows), np.stack(list(rows.values()), axis=1))


def _applied_to_crossbeam(front: FrontEnd, solution: Solution, centre: FloatArray) -> FloatArray:
    points, loads = resultants(front.frame, solution.loads)
    ends = [front.frame.node_index[f"{side} hull at beam"] for side in SIDES]
    members = [name for name in ON_CROSSBEAM if name in front.frame.members]
    which = np.unique(np.concatenate([_points_of(front, member) for member in members]))
    which = which[~np.isin(which, ends)]
    force = loads[:, which, :3]
    moment = loads[:, which, 3:] + np.cross(points[which] - centre, force)
    return np.concatenate([force.sum(axis=1), moment.sum(axis=1)], axis=1)


def _moved(load: FloatArray, arm: FloatArray) -> FloatArray:
    """A load (c, 6) at the end of an arm (3,), as force and moment about the arm's foot."""
    return np.concatenate([load[:, :3], load[:, 3:] + np.cross(arm, load[:, :3])], axis=1)


@dataclass(frozen=True, slots=True, eq=False)
class Trussed:
    """The trussed beam under one case.

    tension     : N, by the name of each part of the martingale; 0: slack
    compression : N, the largest along the crossbeam, 0 where it is only pulled;   strut : N, in the striker
    """

    tension: dict[str, float]
    compression: float
    strut: float


def trussed(solution: Solution, case: int) -> Trussed:
    """Martingale, crossbeam and striker in one case."""
    frame = solution.frame
    axial = solution.natural[case, : len(frame.ends), 0]
    squeeze = {
        name: max(0.0, float(-axial[frame.members[name].elements].min())) if name in frame.members else 0.0
        for name in (CROSSBEAM, STRIKER)
    }
    names = frame.cables.names
    tension = {name: max(0.0, float(t)) for name, t in zip(names, solution.tension[case], strict=True)}
    return Trussed(tension, squeeze[CROSSBEAM], squeeze[STRIKER])
