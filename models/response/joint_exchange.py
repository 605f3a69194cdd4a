"""One linear front end with any joints in it, from the solutions of that with rigid ones.

With rigid joints, what passes a joint and pulls a cable is w₀ (twelve components, then the cables' tensions). A gap x, by which
the crossbeam's ends move away from the hulls or a cable is longer, changes it to w = w₀ + D x. A joint of stiffness K has
w = K x, a rigid direction x = 0, a free one w = 0, a slack cable w = 0. All are w = A z, x = B z, and one small system gives z:

    (A − D B) z = w₀

It is exact for every stiffness from 0 to ∞ and every load (an exchange of dislocations; the same algebra as the low-rank update
of an inverse). D is symmetric (Betti), of 12 rows and one for each cable.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import product

import numpy as np
import scipy.linalg

from femcore.base.arrays import BoolArray, FloatArray
from femcore.elements.beam import global_modes
from femcore.elements.cable import cable_geometry
from femcore.frame.frame import Loads
from femcore.solvers.prepared_frame import PreparedFrame
from femcore.solvers.solution import Solution, solve
from models.boat.boat import Boat
from models.joints import JointStiffness
from models.joints.base import LOAD_MIRROR
from models.joints.rigid import RigidJoint
from models.response.attraction import unit_racking_loads
from models.response.front_end import FrontEnd, build
from models.response.joint_loads import differential_heave, joint_loads

JOINT_ROWS = 12
"""Six components of the port joint, then six of the starboard one."""
REL_TOL_SINGULAR_EXCHANGE = 1e-3
"""Least singular value of the system scaled to rows and columns near 1; below it joints are so free to move that D, a difference
of far larger forces, gives fewer than nine digits."""


@dataclass(frozen=True, slots=True, eq=False)
class ExchangedJoints:
    """What other joints (p,) do under the loads (c,).

    joint_load        : (p, c, 2, 6), N and N·m, on the hulls, port then starboard, boat axes
    under_pretension  : (p, 2, 6), of that, what pretension alone does
    heave             : (p, c), m, how far the port stem rises above the starboard one
    racking_stiffness : (p,), N/m, every cable taut
    exact             : (p, c), whether the digits hold; False where a joint is nearly free to move
    """

    joint_load: FloatArray
    under_pretension: FloatArray
    heave: FloatArray
    racking_stiffness: FloatArray
    exact: BoolArray


@dataclass(frozen=True, slots=True, eq=False)
class JointExchange:
    """The front end with rigid joints, as its joints and k cables see it.

    loaded     : (c + 1, 12 + k), w₀ of the loads alone and then of unit racking;   heave : (c + 1,), m
    pretension : (12 + k,), w₀ of pretension alone;   pretension_heave : m
    D          : (12 + k, 12 + k), per unit gap;   gap_heave : (12 + k,), m
    """

    loaded: FloatArray
    heave: FloatArray
    pretension: FloatArray
    pretension_heave: float
    D: FloatArray
    gap_heave: FloatArray

    @classmethod
    def of(cls, boat: Boat, loads: Loads) -> JointExchange:
        """Solve once for loads (of the boat's frame, with any joint), pretension and all gaps. StructureFaults as of `solve`."""
        front = build(boat, RigidJoint(name="rigid").stiffness())
        prepared, cases = front.prepared, len(loads.names)
        taut = prepared.all_cables_taut()
        acting = solve(taut, loads.concatenated(unit_racking_loads(front)))
        pretension = solve(prepared, Loads.zeros(front.frame, "pretension"))
        gaps, within = _gap_solution(front, taut)
        D = np.array(_through(gaps).T)
        D[:JOINT_ROWS, :JOINT_ROWS] += within
        return cls(
            _through(acting), differential_heave(front, acting)[: cases + 1], _through(pretension)[0],
            float(differential_heave(front, pretension)[0]), (D + D.T) / 2, differential_heave(front, gaps),
        )  # fmt: skip

    def exchanged(self, joints: Sequence[JointStiffness], scale: FloatArray | float = 1.0) -> ExchangedJoints:
        """The same front end with each of these joints (p,) in it, its loads times `scale` (p, c)."""
        A, B = (np.array(maps) for maps in zip(*map(_joint_maps, joints), strict=True))
        loaded = self.loaded[:-1] * np.broadcast_to(scale, (len(A), len(self.loaded) - 1))[..., None]
        taut = np.ones(len(self.D) - JOINT_ROWS, dtype=bool)
        racking = self._solved(A, B, taut, self.loaded[-1:])
        rest = self._solved(
            A, B, ~taut, np.where(np.arange(len(self.D)) < JOINT_ROWS, self.pretension, 0.0)[None]
        )
        added = self._with_slack_cables(A, B, loaded)
        of_rigid = self.pretension_heave + self.heave[:-1] * scale
        sides = (*loaded.shape[:2], 2, 6)
        return ExchangedJoints(
            joint_load=(rest.through + added.through)[..., :JOINT_ROWS].reshape(sides),
            under_pretension=rest.through[:, 0, :JOINT_ROWS].reshape(-1, 2, 6),
            heave=of_rigid + (rest.gap + added.gap) @ self.gap_heave,
            racking_stiffness=1.0 / (self.heave[-1] + racking.gap[:, 0] @ self.gap_heave),
            exact=added.exact & rest.exact & racking.exact,
        )

    def _with_slack_cables(self, A: FloatArray, B: FloatArray, load: FloatArray) -> _Exchanged:
        """What the loads add, with those cables slack that must be: no taut one pushes, no slack one is too short."""
        tension = self.pretension[JOINT_ROWS:]
        stiffness = -np.diag(self.D)[JOINT_ROWS:]
        found, wrong = [], []
        for choice in product([True, False], repeat=len(tension)):
            taut = np.array(choice, dtype=bool)
            released = np.concatenate([np.zeros(JOINT_ROWS), np.where(taut, 0.0, tension)])
            one = self._solved(A, B, taut, load + released)
            lack = np.where(
                taut, -tension - one.through[..., JOINT_ROWS:], stiffness * one.gap[..., JOINT_ROWS:]
            )
            found.append(one)
            wrong.append(np.where(one.exact, lack.max(axis=-1, initial=0.0), np.inf))
        best = np.argmin(wrong, axis=0)
        through, gap, exact = (
            np.take_along_axis(np.stack(all_choices), best[None, ..., None], axis=0)[0]
            for all_choices in (
                [one.through for one in found],
                [one.gap for one in found],
                [np.broadcast_to(one.exact, best.shape)[..., None] for one in found],
            )
        )
        return _Exchanged(through, gap, exact[..., 0])

    def _solved(self, A: FloatArray, B: FloatArray, taut: BoolArray, load: FloatArray) -> _Exchanged:
        """Under loads (c, 12 + k) or (p, c, 12 + k), with those cables taut and the others slack."""
        count, cables = len(A), len(taut)
        whole_A, whole_B = np.zeros((2, count, len(self.D), len(self.D)))
        whole_A[:, :JOINT_ROWS, :JOINT_ROWS], whole_B[:, :JOINT_ROWS, :JOINT_ROWS] = A, B
        at = JOINT_ROWS + np.arange(cables)
        whole_A[:, at, at], whole_B[:, at, at] = taut, ~taut
        scale = np.sqrt(np.abs(np.diag(self.D)))
        system = (whole_A - self.D @ whole_B) / scale[:, None]
        size = np.linalg.norm(system, axis=1, keepdims=True)
        system = system / size
        exact = np.linalg.svd(system, compute_uv=False)[:, -1] > REL_TOL_SINGULAR_EXCHANGE
        system[~exact] = np.eye(len(self.D))
        right = np.broadcast_to(load / scale, (count, *load.shape[-2:])).swapaxes(1, 2)
        z = np.linalg.solve(system, right) / size.swapaxes(1, 2)
        return _Exchanged((whole_A @ z).swapaxes(1, 2), (whole_B @ z).swapaxes(1, 2), exact[:, None])


@dataclass(frozen=True, slots=True, eq=False)
class _Exchanged:
    """w and x, each (p, c, 12 + k), and (p, 1) or (p, c) whether their digits hold."""

    through: FloatArray
    gap: FloatArray
    exact: BoolArray


def _through(solution: Solution) -> FloatArray:
    """(c, 12 + k): the joint loads and the cables' tensions."""
    return np.concatenate([joint_loads(solution).reshape(-1, JOINT_ROWS), solution.tension], axis=1)


def _gap_solution(front: FrontEnd, taut: PreparedFrame) -> tuple[Solution, FloatArray]:
    """The front end under each unit gap, as loads on nodes; and (12, 12), what a gap puts through its joint before these act."""
    frame = front.frame
    elements, ends = list(front.joint_elements), list(front.joint_elements.values())
    G = np.asarray(
        global_modes(frame.axes[elements], frame.length[elements], frame.offsets[elements]), dtype=float
    )
    unarmed = global_modes(frame.axes[elements], frame.length[elements], np.zeros((2, 2, 3)))
    at_joint = [
        np.asarray(modes, dtype=float)[:, 6 * end : 6 * end + 6]
        for modes, end in zip(unarmed, ends, strict=True)
    ]
    k = taut.parts.k[elements]
    loads = Loads.zeros(frame, *(f"gap {number + 1}" for number in range(JOINT_ROWS + len(frame.cables))))
    for side in (0, 1):
        pushed = -G[side].T @ k[side] @ at_joint[side]
        for end in (0, 1):
            loads.nodal[6 * side : 6 * side + 6, frame.ends[elements[side], end]] += pushed[
                6 * end : 6 * end + 6
            ].T
    cables = frame.cables
    longer = replace(
        cables,
        expansion=1.0 / cable_geometry(cables, frame.nodes).total,
        pretension=0.0 * cables.pretension,
        can_push=True,
    )
    loads.cable_temperature_change[JOINT_ROWS:] = np.eye(len(cables))
    prepared = PreparedFrame(replace(taut.parts, frame=replace(frame, cables=longer)), taut.factors)
    within = scipy.linalg.block_diag(*(-e.T @ kk @ e for e, kk in zip(at_joint, k, strict=True)))
    return solve(prepared, loads), within


def _joint_maps(joint: JointStiffness) -> tuple[FloatArray, FloatArray]:
    """A and B, (12, 12), boat axes: the loads and the gaps of both joints by their unknowns: a force where rigid, else a gap."""
    rigid = np.isinf(joint.springs)
    stiffness = np.diag(np.where(rigid, 0.0, joint.springs)) if joint.matrix is None else joint.matrix
    to_boat = np.kron(np.eye(2), joint.axes).T
    A = to_boat @ np.where(rigid, np.eye(6), stiffness)
    B = to_boat @ np.diag(np.where(rigid, 0.0, 1.0))
    both = ((to_map, LOAD_MIRROR[:, None] * to_map) for to_map in (A, B))
    port_and_starboard = [scipy.linalg.block_diag(*pair) for pair in both]
    return port_and_starboard[0], port_and_starboard[1]


__all__ = ["ExchangedJoints", "JointExchange"]
