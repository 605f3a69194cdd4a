"""Deformations of parts from node movements, and their forces on the nodes, without matrices.

The same natural modes as `beam.global_modes`, written with vectors so that digits are kept: the difference of the ends'
movements, less the mean rotation times the chord, is 0 for a rigid motion to the precision of u, and only this small remainder
is transformed to beam axes, in double. The transpose pairs forces with moments by the same chord, so a part is in equilibrium
to that precision whatever the rounding of its forces.

    u : (c, b, 12), movements of both nodes, global axes, m and rad
    d : (c, b, 6), natural deformations, in double;   q : (c, b, 6), natural forces, in double
    forces : (c, b, 12), on both nodes, global axes, N and N·m, in the precision of the chord
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from femcore.base.arrays import ArrayRecord, FloatArray, Real
from femcore.base.vectors import cross
from femcore.elements.beam import global_modes
from femcore.frame.frame import Frame


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class BeamKinematics(ArrayRecord):
    """Some beams: axes (b, 3, 3), length (b,); chord (b, 3) and offsets (b, 2, 3) in the precision wanted."""

    axes: FloatArray
    length: FloatArray
    chord: Real
    offsets: Real

    def modes(self) -> FloatArray:
        """G : (b, 6, 12), the same as a matrix, in double."""
        return np.asarray(global_modes(self.axes, self.length, self.offsets.astype(float)), dtype=float)

    def deformations(self, u: Real) -> FloatArray:
        """u → d."""
        move, turn = _halves(u)
        if self.offsets.any():
            move = move + cross(turn, self.offsets)
        start, end = turn[:, :, 0], turn[:, :, 1]
        shift = move[:, :, 1] - move[:, :, 0] - cross((start + end) / 2, self.chord)
        off, bend = self._turned(shift), self._turned(end - start)
        slope = off[..., 1:] / self.length[:, None]
        modes = off[..., 0], bend[..., 0], bend[..., 1], slope[..., 1], bend[..., 2], -slope[..., 0]
        return np.stack(modes, axis=-1)

    def forces(self, q: FloatArray) -> Real:
        """q → forces on the nodes."""
        side = q[..., [5, 3]] / self.length[:, None]
        pull = self._turned_back(np.stack([q[..., 0], -side[..., 0], side[..., 1]], axis=-1))
        couple, half = self._turned_back(q[..., [1, 2, 4]]), cross(pull, self.chord) / 2
        ends = np.stack([-pull, half - couple, pull, half + couple], axis=-2)
        if self.offsets.any():
            force, moment = _halves(ends)
            moment += cross(self.offsets, force)
        return ends.reshape(*q.shape[:2], 12)

    def _turned(self, vector: Real) -> FloatArray:
        return np.asarray(np.einsum("bij,cbj->cbi", self.axes, vector.astype(float)))

    def _turned_back(self, vector: FloatArray) -> FloatArray:
        return np.asarray(np.einsum("bij,cbi->cbj", self.axes, vector))


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class SpringKinematics(ArrayRecord):
    """Some springs, at their first node: arm (b, 3) from the second node to the first."""

    arm: Real

    def modes(self) -> FloatArray:
        """G : (b, 6, 12), the same as a matrix, in double."""
        units = np.broadcast_to(np.eye(12)[:, None], (12, len(self.arm), 12))
        return np.moveaxis(self.deformations(units), 0, -1)

    def deformations(self, u: Real) -> FloatArray:
        """u → d, the second node, carried rigidly to the first, less the first."""
        move, turn = _halves(u)
        shift = move[:, :, 1] - move[:, :, 0] + cross(turn[:, :, 1], self.arm)
        return np.concatenate([shift, turn[:, :, 1] - turn[:, :, 0]], axis=-1).astype(float)

    def forces(self, q: FloatArray) -> Real:
        """q → forces on the nodes."""
        force, moment = q[..., :3], q[..., 3:]
        return np.concatenate([-q, force, moment + cross(self.arm, force)], axis=-1)


def beam_kinematics(frame: Frame, part: slice, dtype: type[np.floating[Any]]) -> BeamKinematics:
    """A slice of the beams, differences taken in `dtype`."""
    offsets = frame.offsets[part].astype(dtype)
    ends = frame.nodes[frame.ends[part]].astype(dtype) + offsets
    chord = ends[:, 1] - ends[:, 0]
    length = np.linalg.norm(chord.astype(float), axis=1)
    return BeamKinematics(frame.axes[part], length, chord, offsets)


def spring_kinematics(frame: Frame, dtype: type[np.floating[Any]]) -> SpringKinematics:
    """All springs, differences taken in `dtype`."""
    start, end = np.moveaxis(frame.nodes[frame.spring_ends].astype(dtype), 1, 0)
    return SpringKinematics(start - end)


def _halves(u: Real) -> tuple[Real, Real]:
    """Views (c, b, 2, 3) of the movements and the rotations (or forces and moments) of both ends."""
    ends = u.reshape(*u.shape[:2], 2, 2, 3)
    return ends[..., 0, :], ends[..., 1, :]
