"""A linear frame as the springs at a few places see it: what a hundred thousand choices of them carry.

With all of them rigid, the places carry w₀; gaps x there change that to w₀ − M x, M being the frame's stiffness against them. A
spring k has w = k x, so that (M + k) x = w₀: symmetric and positive definite for every k from 0 to ∞, both included, as an
infinite pivot divides to 0. The few hundred numbers of M, w₀ and what else depends on x are the exact reduced model of the
frame.

Systems are eliminated side by side, designs on the last axis, without pivoting. A pivot that is small beside its diagonal has
lost as many digits; those designs are for `ReducedFrame`, which loses fewer.

    j : places × 6;   n : states, loads and others;   k : cables;   h, i : blocks and their size;   b : designs
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from femcore.base.arrays import ArrayRecord, FloatArray
from femcore.solvers.reduced_frame import ReducedFrame

DESIGNS_AT_ONCE = 512
"""So that their systems fit a core's cache."""
REL_TOL_SYMMETRY = 1e-12
"""Of the stiffness against single gaps: what couples even and odd ones by less is rounding, and treated as zero."""


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class DesignStates(ArrayRecord):
    """What b designs do in each state, designs on the last axis.

    forces   : (j, n, b), N and N·m, of the elements on what the springs hold them to, global axes
    tension  : (k, n, b), N;   readings : (q, n, b);   movements : (m, n, b), m and rad
    lost     : (b,), diagonal over pivot, the largest: by what rounding has grown
    """

    forces: FloatArray
    tension: FloatArray
    readings: FloatArray
    movements: FloatArray
    lost: FloatArray


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class EndSpringDesigns(ArrayRecord):
    """The reduced model of a frame whose springs at the places are rigid.

    turn   : (j, j), orthogonal, in whose coordinates (its rows) M falls into `blocks` that do not know of one another
    M      : (h, i, i), N/m and the like, symmetric, by block;   forces : (j, n), w₀ in these coordinates
    tension, readings, movements : (k, n), (q, n), (m, n), with rigid springs
    tension_by_gap, readings_by_gap, movements_by_gap : (k, j), (q, j), (m, j), what each unit gap adds, in these coordinates
    mirrored : whether the springs of the second place are the mirror image of those of the first
    """

    turn: FloatArray
    M: FloatArray
    forces: FloatArray
    tension: FloatArray
    readings: FloatArray
    movements: FloatArray
    tension_by_gap: FloatArray
    readings_by_gap: FloatArray
    movements_by_gap: FloatArray
    mirrored: bool

    @classmethod
    def of(
        cls,
        reduced: ReducedFrame,
        read: FloatArray | None = None,
        mirror: FloatArray | None = None,
        loads: int | None = None,
    ) -> EndSpringDesigns:
        """Of a reduced frame, its stiffnesses as they are; its places must not be rigid in it.

        read   : (m′, m), combinations of its movements; all of them where left out
        loads  : how many of its loads to keep, the first; all where left out
        mirror : (6,), of two places, ±1 by which the springs, forces and gaps of the second are the mirror image of the first's
        """
        whole = len(reduced.loads.names)
        kept = [*range(whole)[:loads], *range(whole, len(reduced.states.w))]
        states, C = reduced.states.only(kept), reduced.C
        rows = np.eye(len(reduced.virtual_loads)) if read is None else read
        # with rigid springs y = −F w, so that w = w* + CᵀC F w
        stiffer = np.linalg.inv(np.eye(C.shape[1]) - C.T @ C @ reduced.F)
        w = (states.w - states.gap @ C) @ stiffer.T
        y = -w @ reduced.F
        X = -states.gap - y @ C.T
        M = stiffer @ C.T @ C
        # a gap x adds the dislocation x − F (−M x), and so the states of self-stress −Cᵀ (1 + F M) x
        by_gap = np.eye(len(M)) + M.T @ reduced.F
        turn, blocks = _separated((M + M.T) / 2, mirror)
        return cls(
            turn, blocks, turn @ w.T,
            tension=(states.tension + X @ reduced.tension).T,
            readings=(states.readings + X @ reduced.readings).T,
            movements=rows @ (states.movements + y @ reduced.moved_by_gap).T,
            tension_by_gap=-(turn @ by_gap @ C.T @ reduced.tension).T,
            readings_by_gap=-(turn @ by_gap @ C.T @ reduced.readings).T,
            movements_by_gap=rows @ (turn @ by_gap @ reduced.moved_by_gap).T,
            mirrored=mirror is not None,
        )  # fmt: skip

    def states(self, springs: FloatArray) -> DesignStates:
        """Of springs (b, j), or mirrored ones (b, 6), N/m and N·m/rad along global axes, 0 free, inf rigid; `DESIGNS_AT_ONCE`."""
        blocks, size = self.M.shape[:2]
        k = springs.T
        if springs.shape[1] < size:
            k = np.concatenate([k, k])
        b, states, at = k.shape[1], self.forces.shape[1], np.arange(size)
        system = np.repeat(np.moveaxis(self.M, 0, 2)[..., None], b, axis=3)
        system[at, at] += k[:, None]
        rigid = np.moveaxis(self.forces.reshape(blocks, size, states), 0, 2)
        gap, lost = eliminated(
            system.reshape(size, size, -1), np.repeat(rigid[..., None], b, axis=3).reshape(size, states, -1)
        )
        gap = np.moveaxis(gap.reshape(size, states, blocks, b), 2, 0)
        forces = self.forces.reshape(blocks, size, states, 1) - (
            self.M @ gap.reshape(blocks, size, -1)
        ).reshape(gap.shape)
        # a difference of nothing where a spring is soft, a product of nothing where it is rigid
        soft = k < np.diagonal(self.M, axis1=1, axis2=2)[..., None]
        forces = np.where(soft[:, :, None], np.where(np.isinf(k), 0.0, k)[:, None] * gap, forces)
        gap = gap.reshape(blocks * size, states, b)
        return DesignStates(
            forces=(self.turn.T @ forces.reshape(blocks * size, -1)).reshape(gap.shape),
            tension=_added(self.tension, self.tension_by_gap, gap),
            readings=_added(self.readings, self.readings_by_gap, gap),
            movements=_added(self.movements, self.movements_by_gap, gap),
            lost=lost.reshape(blocks, b).max(axis=0),
        )


def _separated(M: FloatArray, mirror: FloatArray | None) -> tuple[FloatArray, FloatArray]:
    """Coordinates (j, j) and blocks (h, i, i): what is alike on both sides and what is opposite, where M has that symmetry."""
    if mirror is not None:
        both = np.diag(mirror)
        turn = np.block([[np.eye(6), both], [np.eye(6), -both]]) / np.sqrt(2)
        turned, scale = turn @ M @ turn.T, np.sqrt(np.diag(M))
        beside = np.abs(turned[:6, 6:] / scale[:6, None] / scale[:6])
        if beside.max() < REL_TOL_SYMMETRY:
            return turn, np.stack([turned[:6, :6], turned[6:, 6:]])
    return np.eye(len(M)), M[None]


def _added(rigid: FloatArray, by_gap: FloatArray, gap: FloatArray) -> FloatArray:
    """(i, n, b): of rigid springs (i, n), and of each gap (i, j) times the gaps (j, n, b)."""
    return rigid[:, :, None] + (by_gap @ gap.reshape(len(gap), -1)).reshape(len(rigid), *gap.shape[1:])


def eliminated(systems: FloatArray, right: FloatArray) -> tuple[FloatArray, FloatArray]:
    """x (j, n, b) of symmetric positive definite systems (j, j, b) x = right (j, n, b), and (b,), diagonal over pivot at most.

    Both are overwritten. Gauss's elimination without pivoting; an infinite diagonal gives 0. Where a pivot is not positive, the
    second is infinite, and x is no solution.
    """
    lost = np.ones(systems.shape[2])
    diagonal = systems[np.arange(len(systems)), np.arange(len(systems))].copy()
    for at in range(len(systems)):
        below, pivot = slice(at + 1, None), systems[at, at]
        fails = ~(pivot > 0)
        pivot[fails] = np.inf
        grown = np.where(np.isinf(pivot), 1.0, diagonal[at]) / np.where(np.isinf(pivot), 1.0, pivot)
        lost = np.maximum(lost, np.where(fails, np.inf, grown))
        factor = systems[below, at] / pivot
        systems[below, below] -= factor[:, None] * systems[at, below]
        right[below] -= factor[:, None] * right[at]
    for at in range(len(systems) - 1, -1, -1):
        right[at] -= np.einsum("jb,jnb->nb", systems[at, at + 1 :], right[at + 1 :])
        right[at] /= systems[at, at]
    return right, lost


__all__ = ["DESIGNS_AT_ONCE", "DesignStates", "EndSpringDesigns", "eliminated"]
