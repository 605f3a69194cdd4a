"""Factors of symmetric matrices of one sparsity pattern: as bands where these are narrow, else as sparse factors.

Frames are chains of beams for the most part: with the equations in the order of Cuthill and McKee the stiffness is a band some
fifty wide, whose factors LAPACK has in a third of the time of sparse ones. They exist where the matrix is positive definite.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from scipy import sparse
from scipy.linalg.lapack import dpbtrf, dpbtrs
from scipy.sparse.csgraph import reverse_cuthill_mckee
from scipy.sparse.linalg import SuperLU

from femcore.base.arrays import ArrayRecord, FloatArray, IntArray
from femcore.solvers.blocks import factorise_symmetric

MAX_BAND = 128
"""Entries beside the diagonal: sparse factors of a wider band are found sooner, and take less memory."""


class SymmetricFactors(Protocol):
    """Factors of a symmetric matrix."""

    def solve(self, load: FloatArray) -> FloatArray:
        """(n,), the solution."""

    @property
    def is_positive(self) -> bool:
        """Whether the matrix is positive definite."""


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class BandFactors(ArrayRecord):
    """Of a positive definite band: Cholesky's factor (width + 1, n), of the equations in `order` (n,)."""

    order: IntArray
    lower: FloatArray

    def solve(self, load: FloatArray) -> FloatArray:
        """(n,), the solution."""
        solved = np.empty_like(load)
        solved[self.order] = dpbtrs(self.lower, load[self.order], lower=1)[0]
        return solved

    @property
    def is_positive(self) -> bool:
        """It has a factor because it is."""
        return True


@dataclass(frozen=True, slots=True, eq=False)
class SparseFactors:
    """Of any symmetric matrix that needs no pivots off its diagonal."""

    factors: SuperLU

    def solve(self, load: FloatArray) -> FloatArray:
        """(n,), the solution."""
        return np.asarray(self.factors.solve(load))

    @property
    def is_positive(self) -> bool:
        """No pivot is zero or negative."""
        return bool(np.all(self.factors.U.diagonal() > 0))


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Band(ArrayRecord):
    """Where the entries of a sparse symmetric matrix are in its band.

    order  : (n,), the equations in the order of the band;   width : entries beside the diagonal
    chosen : which entries of the sparse matrix are on the diagonal or below;   place : where in the band, column by column
    """

    order: IntArray
    width: int
    chosen: IntArray
    place: IntArray

    @classmethod
    def of(cls, pattern: sparse.csc_array) -> Band:
        """Of the matrices with the entries of `pattern`."""
        order = np.asarray(reverse_cuthill_mckee(sparse.csr_matrix(pattern), symmetric_mode=True), dtype=int)
        rank = np.argsort(order)
        row, column = rank[pattern.indices], np.repeat(rank, np.diff(pattern.indptr))
        chosen = np.flatnonzero(row >= column)
        below = (row - column)[chosen]
        width = int(below.max(initial=0))
        return cls(order, width, chosen, column[chosen] * (width + 1) + below)

    def factorised(self, entries: FloatArray) -> BandFactors | None:
        """From the entries of the sparse matrix; None where it is not positive definite."""
        lower = np.zeros((len(self.order), self.width + 1))
        lower.reshape(-1)[self.place] = entries[self.chosen]
        found, fault = dpbtrf(lower.T, lower=1, overwrite_ab=1)
        return None if fault else BandFactors(self.order, found)


class FactorsOfPattern:
    """Factors of many matrices of one sparsity pattern, whose band is found once, for the first of them."""

    def __init__(self) -> None:
        self._band: Band | None = None

    def of(self, pattern: sparse.csc_array, entries: FloatArray) -> Iterator[SymmetricFactors | None]:
        """Of the matrices with these entries (c, nonzeros) of `pattern`; None of one that is singular."""
        self._band = self._band or Band.of(pattern)
        for values in entries:
            found = self._band.factorised(values) if self._band.width <= MAX_BAND else None
            yield found or _sparse_factors(
                sparse.csc_array((values, pattern.indices, pattern.indptr), shape=pattern.shape)
            )


def _sparse_factors(matrix: sparse.csc_array) -> SparseFactors | None:
    try:
        return SparseFactors(factorise_symmetric(matrix, "NATURAL"))
    except RuntimeError:
        return None


__all__ = ["Band", "FactorsOfPattern", "SparseFactors", "SymmetricFactors"]
