"""Sparse matrices over nodes: the elimination order of nodes, and the sum of their 6 × 6 blocks as columns.

Both work on nodes, not on single freedoms: there are six times fewer of them, and thirty-six times fewer pairs.
"""

from __future__ import annotations

from copy import copy
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
import numpy.typing as npt
from scipy import sparse
from scipy.sparse.linalg import SuperLU, splu

from femcore.base.arrays import ArrayRecord, BoolArray, FloatArray, IntArray
from femcore.base.errors import PoorSolution

EquationNumbers = npt.NDArray[np.int32]


def factorise_symmetric(matrix: sparse.csc_array, ordering: Literal["NATURAL", "MMD_AT_PLUS_A"]) -> SuperLU:
    """Factors of a positive definite matrix, pivots on the diagonal; RuntimeError where singular.

    PoorSolution where they do not fit the memory.
    """
    try:
        return splu(matrix, permc_spec=ordering, diag_pivot_thresh=0.0, options={"SymmetricMode": True})
    except MemoryError:
        raise PoorSolution(
            f"the factors of {matrix.shape[0]:,} equations do not fit the memory; divide the beams less"
        ) from None


def number_equations(fixed: BoolArray, pairs: IntArray) -> EquationNumbers:
    """(n, 6), equation numbers by elimination order of nodes joined by `pairs` (p, 2); −1 where `fixed`."""
    free = ~fixed
    some = np.flatnonzero(free.any(axis=1))
    rank = np.full(len(fixed), -1)
    rank[some] = np.arange(len(some))
    joined = rank[pairs]
    order = some[_elimination_order(len(some), joined[(joined >= 0).all(axis=1)])]
    numbers = np.full(fixed.shape, -1, dtype=np.int32)
    numbers[order] = np.where(free[order], np.cumsum(free[order]).reshape(-1, 6) - 1, -1)
    return numbers


def _elimination_order(nodes: int, pairs: IntArray) -> IntArray:
    """Nodes by minimum degree of their graph; SuperLU gives the order only with factors, which are cheap for a graph."""
    if nodes < 3:
        return np.arange(nodes)
    start, end = pairs.T
    degree = np.bincount(pairs.reshape(-1), minlength=nodes)
    every = np.arange(nodes)
    rows, columns = np.concatenate([start, end, every]), np.concatenate([end, start, every])
    # the Laplacian of the graph and a unit diagonal: positive definite
    entries = np.concatenate([np.full(2 * len(pairs), -1.0), degree + 1.0])
    graph = sparse.coo_array((entries, (rows, columns)), shape=(nodes, nodes)).tocsc()
    return np.argsort(factorise_symmetric(graph, "MMD_AT_PLUS_A").perm_c)


def node_blocks(ends: IntArray) -> IntArray:
    """(4 b, 2), node pairs of the four blocks of each two-ended part (b, 2): 11, 12, 21, 22."""
    return np.column_stack([ends.repeat(2, axis=1).reshape(-1), np.tile(ends, 2).reshape(-1)])


def split_blocks(K: FloatArray) -> FloatArray:
    """(4 b, 6, 6), the blocks of matrices (b, 12, 12) in the order of `node_blocks`."""
    return K.reshape(-1, 2, 6, 2, 6).swapaxes(2, 3).reshape(-1, 6, 6)


def sum_blocks(
    blocks: FloatArray, rows: IntArray, columns: IntArray, numbers: EquationNumbers
) -> sparse.csc_array:
    """The symmetric matrix of node blocks (b, 6, 6) at `rows`, `columns` (b,), without freedoms of number −1.

    Blocks at the same place add up; every block off the diagonal needs its transpose at the mirrored place.
    """
    layout = BlockLayout.of(rows, columns, numbers)
    return layout.matrix(layout.gather @ blocks.reshape(len(blocks), 36))


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class BlockLayout(ArrayRecord):
    """The places of node blocks in a sparse matrix.

    gather : (places, b), ones: sums blocks at one place;   column, pointer : of the places, as block rows
    free   : (freedoms,), which rows and columns of the blocks' matrix are kept
    """

    gather: sparse.csr_array
    column: IntArray
    pointer: IntArray
    free: IntArray

    @classmethod
    def of(cls, rows: IntArray, columns: IntArray, numbers: EquationNumbers) -> BlockLayout:
        """Of blocks at `rows`, `columns` (b,), as in `sum_blocks`."""
        last = numbers.max(axis=1)
        live = np.flatnonzero(last >= 0)
        live = live[np.argsort(last[live])]
        rank = np.full(len(numbers), -1)
        rank[live] = np.arange(len(live))
        kept = np.flatnonzero((rank[rows] >= 0) & (rank[columns] >= 0))
        place = rank[rows[kept]] * len(live) + rank[columns[kept]]
        order = np.argsort(place, kind="stable")
        place = place[order]
        starts = np.flatnonzero(np.diff(place, prepend=-1))
        # one product sums the blocks at each place, without a sorted copy of all blocks
        ones, stops = np.ones(len(kept)), np.append(starts, len(kept))
        gather = sparse.csr_array((ones, kept[order], stops), shape=(len(starts), len(rows)))
        row, column = np.divmod(place[starts], max(len(live), 1))
        pointer = np.searchsorted(row, np.arange(len(live) + 1))
        return cls(gather, column, pointer, np.flatnonzero(numbers[live].reshape(-1) >= 0))

    def matrix(self, values: npt.NDArray[Any]) -> sparse.csc_array:
        """The matrix of one block (36,) for each place."""
        size = 6 * (len(self.pointer) - 1)
        blocks = (values.reshape(-1, 6, 6), self.column, self.pointer)
        whole = sparse.bsr_array(blocks, shape=(size, size)).tocsr()
        if len(self.free) < size:
            whole = whole[self.free][:, self.free]
        # symmetric, so its rows are its columns
        return sparse.csc_array((whole.data, whole.indices, whole.indptr), shape=whole.shape)


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class SparsityPattern(ArrayRecord):
    """A layout in which many matrices are summed: its columns are computed once.

    entry : (nonzeros,), the position of each entry of the matrix among those of the places, 36 each
    empty : a matrix of that pattern, whatever its values
    """

    gather: sparse.csr_array
    entry: IntArray
    empty: sparse.csc_array

    @classmethod
    def of(cls, rows: IntArray, columns: IntArray, numbers: EquationNumbers) -> SparsityPattern:
        """Of blocks at `rows`, `columns` (b,), as in `sum_blocks`."""
        layout = BlockLayout.of(rows, columns, numbers)
        empty = layout.matrix(np.arange(36 * len(layout.column)))
        return cls(layout.gather, empty.data, empty)

    def entries(self, blocks: FloatArray) -> FloatArray:
        """(c, nonzeros), the entries of the matrices of node blocks (b, c, 6, 6)."""
        copies = blocks.shape[1]
        at_places = np.asarray(self.gather @ blocks.reshape(len(blocks), copies * 36))
        by_copy = at_places.reshape(-1, copies, 36).swapaxes(0, 1).reshape(copies, -1)
        return np.take(by_copy, self.entry, axis=1)


def with_values(matrix: sparse.csc_array, values: FloatArray) -> sparse.csc_array:
    """The matrix of the same pattern with other values (nonzeros,): what a pattern is checked for has been checked."""
    other = copy(matrix)
    other.data = values
    return other
