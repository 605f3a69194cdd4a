"""What changes from variant to variant of a frame: stiffnesses, springs at some ends, loads, pretension.

Free and rigid springs are no exceptions where a spring's force and its gap both follow from one unknown: w = A z, x = B z.

    s : variants;   j : places × 6
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from femcore.base.arrays import ArrayRecord, FloatArray, IntArray
from femcore.frame.builder import End, with_ends
from femcore.frame.frame import Frame, Loads
from femcore.solvers.stiffness_groups import Place, StiffnessGroup, scaled

Numbers = npt.NDArray[Any]
"""Real, or complex where derivatives are taken."""
REL_TOL_FREE_END = 1e-9
"""Of springs scaled to a unit diagonal: a smaller stiffness in some direction is treated as zero, so that it is free there."""


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class EndSprings(ArrayRecord):
    """Springs at the places of a `ReducedFrame`, for each of s variants.

    springs : (s, places, 6), N/m and N·m/rad, 0 free, inf rigid
    axes    : (s or 1, places, 3, 3), rows are the springs' axes in global ones
    matrix  : (s, places, 6, 6) along the same axes, which replaces the finite springs; None where nothing couples them
    """

    springs: Numbers
    axes: FloatArray
    matrix: Numbers | None = None

    def __len__(self) -> int:
        return len(self.springs)

    def maps(self) -> tuple[Numbers, Numbers]:
        """A and B, (s, places, 6, 6), global axes: w = A z, x = B z; z is a force where a spring is rigid, else a gap."""
        rigid = np.isinf(self.springs)
        finite = np.where(rigid, 0.0, self.springs)
        stiffness = finite[..., None] * np.eye(6) if self.matrix is None else self.matrix
        A = np.where(rigid[..., None, :], np.eye(6), stiffness)
        B = np.where(rigid[..., None, :], 0.0, np.eye(6))
        to_global = np.zeros((*self.axes.shape[:2], 6, 6))
        to_global[..., :3, :3] = to_global[..., 3:, 3:] = self.axes.swapaxes(2, 3)
        return to_global @ A, to_global @ B

    def only(self, some: slice | IntArray) -> EndSprings:
        """Those of some variants."""
        axes = self.axes if len(self.axes) == 1 else self.axes[some]
        return EndSprings(self.springs[some], axes, None if self.matrix is None else self.matrix[some])

    def ends(self, variant: int) -> list[End]:
        """Those of one variant, for a frame of its own."""
        axes = np.broadcast_to(self.axes, (len(self), *self.axes.shape[1:]))[variant]
        return [
            End(
                springs=tuple(self.springs[variant, place].tolist()),
                axes=axes[place],
                matrix=None if self.matrix is None else self.matrix[variant, place],
            )
            for place in range(self.springs.shape[1])
        ]

    def each_stepped(self, steps: Numbers) -> EndSprings:
        """One variant's own springs, each finite one times `steps` (s, places × 6)."""
        given = np.repeat(self.springs, len(steps), axis=0)
        finite = np.where(np.isfinite(given), given, 0.0) * steps.reshape(given.shape)
        matrix = None if self.matrix is None else np.repeat(self.matrix, len(steps), axis=0)
        return EndSprings(np.where(np.isfinite(given), finite, np.inf), self.axes, matrix)


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Changes(ArrayRecord):
    """Of s variants; what is left out is as in the frame. An array with 1 on its first axis is the same in all variants.

    multipliers : (s, g), of the groups' stiffnesses, above 0;   springs : at the places
    weights     : (s, c, l), of the loads in each case; each load is a case of its own where left out
    pretension  : (s, k), times that of the frame
    """

    multipliers: Numbers | None = None
    springs: EndSprings | None = None
    weights: Numbers | None = None
    pretension: Numbers | None = None

    def __len__(self) -> int:
        every = (self.multipliers, self.springs, self.weights, self.pretension)
        return max((len(one) for one in every if one is not None), default=1)

    def rows(self) -> FloatArray:
        """(s, …), of real changes of stiffness, all that makes one variant another; the same row where they are the same."""
        springs = self.springs
        given = [self.multipliers]
        given += [] if springs is None else [springs.springs, springs.axes, springs.matrix]
        flat = [one.reshape(len(one), -1) for one in given if one is not None]
        count = max((len(one) for one in flat), default=1)
        return np.concatenate(
            [np.zeros((count, 0)), *(np.broadcast_to(one, (count, one.shape[1])) for one in flat)], axis=1
        )

    def only(self, some: slice | IntArray) -> Changes:
        """Those of some variants."""
        chosen = [
            one if one is None or len(one) == 1 else one[some]
            for one in (self.multipliers, self.weights, self.pretension)
        ]
        springs = self.springs if self.springs is None or len(self.springs) == 1 else self.springs.only(some)
        return Changes(chosen[0], springs, chosen[1], chosen[2])

    def frame(self, frame: Frame, groups: Sequence[StiffnessGroup], places: Sequence[Place]) -> Frame:
        """The frame of the only variant."""
        if self.multipliers is not None:
            frame = scaled(frame, groups, self.multipliers[0])
        if self.springs is not None:
            frame = with_ends(frame, dict(zip(places, self.springs.ends(0), strict=True)))
        if self.pretension is None:
            return frame
        return replace(
            frame, cables=replace(frame.cables, pretension=frame.cables.pretension * self.pretension[0])
        )

    def loads(self, loads: Loads) -> Loads:
        """The cases of the only variant."""
        if self.weights is None:
            return loads
        return loads.combined(self.weights[0], tuple(f"case {at + 1}" for at in range(len(self.weights[0]))))


def end_flexibility(frame: Frame, places: Sequence[Place]) -> FloatArray:
    """(j, j), m/N and rad/(N·m), of the springs that the frame has there, global axes; ValueError where it is free there."""
    whole = np.zeros((6 * len(places), 6 * len(places)))
    coupled = {
        (int(e), int(end)): matrix
        for (e, end), matrix in zip(frame.coupled_ends, frame.couplings, strict=True)
    }
    for number, (element, end) in enumerate(places):
        springs = frame.end_springs[element, 6 * end : 6 * end + 6]
        finite = np.flatnonzero(np.isfinite(springs))
        k = coupled.get((element, end), np.diag(np.where(np.isfinite(springs), springs, 0.0)))
        k, size = k[np.ix_(finite, finite)], np.sqrt(np.maximum(np.diag(k)[finite], np.finfo(float).tiny))
        if len(k) and np.linalg.eigvalsh(k / size / size[:, None])[0] < REL_TOL_FREE_END:
            raise ValueError("a frame that is reduced needs a stiffness in all springs that change")
        F = np.zeros((6, 6))
        F[np.ix_(finite, finite)] = np.linalg.inv(k)
        to_global = np.kron(np.eye(2), (frame.spring_axes[element, end] @ frame.axes[element]).T)
        whole[6 * number : 6 * number + 6, 6 * number : 6 * number + 6] = to_global @ F @ to_global.T
    return whole


def block_diagonal(blocks: Numbers) -> Numbers:
    """(s, 6 b, 6 b) of (s, b, 6, 6)."""
    count, places = blocks.shape[:2]
    whole = np.zeros((count, places, 6, places, 6), dtype=blocks.dtype)
    whole[:, np.arange(places), :, np.arange(places)] = blocks.swapaxes(0, 1)
    return whole.reshape(count, 6 * places, 6 * places)


__all__ = ["Changes", "EndSprings", "Numbers", "block_diagonal", "end_flexibility"]
