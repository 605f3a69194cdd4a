"""Utilisations of many checks as the largest of planes in the loads: evaluated for thousands of samples by one matrix product.

A utilisation is convex in the loads of a part, of the first degree where no temperature acts (`models.strength.margins`), so the
tangent planes at some loads bound it from below, and it is the largest of all of them. Planes are taken at the rows that govern.
What they miss of another row without scatter is added there, in proportion to the row's main load, so that every row is exact
where nothing scatters.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from femcore.base.arrays import BoolArray, FloatArray, IntArray
from models.strength.margins import Check

CheckedLoads = Callable[[FloatArray], Sequence[Check]]
"""(rows, z) coordinates of loads → the checks made under them."""
STEP = 1e-4
"""Of the largest size of a coordinate: differences over it, of utilisations known to about 1e-12."""
SIDE_STEP = 1e-3
"""Of all loads of a side, to tell which checks depend on it."""
REL_TOL_DEPENDS = 1e-9
"""Of a utilisation: one that changes by less as a side's loads do does not depend on that side."""
MAX_SUPPORTS = 6
NEARLY_GOVERNING = 0.85
"""Of a check's largest utilisation: a row with more of it may govern in a sample, and gets planes of its own."""
COUNTS = 0.25
"""Of the largest utilisation of all checks: one with less does not decide where planes are taken."""
MIN_UTILISATION = 1e-9
"""A smaller utilisation is taken as this, so that its logarithm is finite: a margin of a thousand million."""
BLOCK = 100_000
"""Numbers of planes held at once."""


@dataclass(frozen=True, eq=False)
class CheckPlanes:
    """Planes of c checks at j supports.

    slope : (c, j, z);   at_zero : (c, j);   missed : (r, c), of the utilisation of each row without scatter, by the planes
    """

    slope: FloatArray
    at_zero: FloatArray
    missed: FloatArray

    @classmethod
    def of(
        cls,
        checked: CheckedLoads,
        loads: FloatArray,
        exact: FloatArray,
        importance: FloatArray,
        sides: int = 1,
    ) -> CheckPlanes:
        """Tangent planes at the rows that matter.

        loads : (r, z), coordinates of each row;   exact : (r, c), utilisations there, no factor in;   importance : with factors
        sides : how many parts of equal length the coordinates have, of which most checks depend on one alone
        """
        at = loads[governing_rows(importance)]
        found, slope = _slopes(checked, at, STEP * np.abs(loads).max(axis=0), sides)
        at_zero = found - np.einsum("cjz,jz->cj", slope, at)
        planes = cls(slope, at_zero, np.zeros_like(exact))
        own = planes.utilisation(
            loads[None], np.ones((1, len(loads))), np.arange(len(loads)), np.arange(exact.shape[1])
        )
        return cls(slope, at_zero, exact - own[0])

    def utilisation(
        self, loads: FloatArray, main: FloatArray, rows: IntArray, checks: IntArray
    ) -> FloatArray:
        """(s, rows, checks), no factor in, of loads (s, rows, z) on some of the rows, of some of the checks.

        main : (s, rows), times its size without scatter, the largest load in each row
        """
        # support by support, checks side by side: the largest over supports is then taken of whole rows
        at_zero = self.at_zero[checks].T
        flat, planes = loads.reshape(-1, loads.shape[2]), self.slope[checks].T.reshape(loads.shape[2], -1)
        result = np.empty((len(flat), len(checks)))
        for first in range(0, len(flat), step := max(1, BLOCK // max(planes.shape[1], 1))):
            some = slice(first, first + step)
            every = (flat[some] @ planes).reshape(-1, *at_zero.shape)
            result[some] = np.add(every, at_zero, out=every).max(axis=1)
        shaped = result.reshape(*loads.shape[:2], len(checks))
        shaped += main[..., None] * self.missed[np.ix_(rows, checks)]
        return np.maximum(shaped, MIN_UTILISATION, out=shaped)


def _slopes(
    checked: CheckedLoads, at: FloatArray, step: FloatArray, sides: int
) -> tuple[FloatArray, FloatArray]:
    """(c, j) utilisations at supports (j, z), and (c, j, z), their derivatives by differences `step` (z,).

    With two sides both are moved at once, and then each alone in proportion to itself, which tells what a check depends on: one
    that depends on both makes the differences be taken one by one.
    """
    supports, size = at.shape
    each = size // sides
    together = np.tile(np.eye(each), sides) * step  # (each, z)
    moved = np.flatnonzero(together.any(axis=1))
    shifts = np.concatenate([np.zeros((1, size)), together[moved]])
    rows = [(at[:, None] + shifts).reshape(-1, size)]
    of_side = np.repeat(np.eye(sides), each, axis=1)
    if sides > 1:
        rows.append((at[:, None] * (1 + SIDE_STEP * of_side)).reshape(-1, size))
    every = utilisations(checked(np.concatenate(rows)))
    found = every[: len(rows[0])].reshape(supports, len(shifts), -1)
    depends: BoolArray = np.ones((found.shape[2], sides), dtype=bool)
    if sides > 1:
        alone = every[len(rows[0]) :].reshape(supports, sides, -1)
        changed = np.abs(alone - found[:, :1]) > REL_TOL_DEPENDS * np.abs(found[:, :1])
        depends = np.asarray(changed.any(axis=0).T)
        if (depends.sum(axis=1) > 1).any():
            return _slopes(checked, at, step, 1)
    per_step = (found[:, 1:] - found[:, :1]).transpose(2, 0, 1)  # of a side, whose own step it is
    slope = np.zeros((found.shape[2], supports, sides, each))
    own_step = step.reshape(sides, each)[:, moved]
    divided = np.divide(
        per_step[:, :, None],
        own_step,
        out=np.zeros((*per_step.shape[:2], *own_step.shape)),
        where=own_step > 0,
    )
    slope[..., moved] = divided * depends[:, None, :, None]
    return found[:, 0].T, slope.reshape(found.shape[2], supports, size)


def governing_rows(importance: FloatArray) -> IntArray:
    """Rows that nearly govern in a check that counts, the most important first, at most `MAX_SUPPORTS`."""
    largest = importance.max(axis=0, initial=0.0)
    counting = importance[:, (largest > 0) & (largest >= COUNTS * largest.max(initial=0.0))]
    if not counting.size:
        return np.array([0])
    by_importance = np.argsort(-counting.max(axis=1), kind="stable")
    governs = set(counting.argmax(axis=0).tolist())
    nearly = (counting >= NEARLY_GOVERNING * counting.max(axis=0)).any(axis=1)
    first = [row for row in by_importance.tolist() if row in governs]
    then = [row for row in by_importance.tolist() if nearly[row] and row not in governs]
    return np.array([*first, *then][:MAX_SUPPORTS])


def utilisations(checks: Sequence[Check]) -> FloatArray:
    """(rows, checks), load over allowable of the checks that were made, no factor in."""
    return np.stack([check.load / check.allowable for check in checks if check.kind == "checked"], axis=1)


__all__ = ["CheckPlanes", "CheckedLoads", "governing_rows", "utilisations"]
