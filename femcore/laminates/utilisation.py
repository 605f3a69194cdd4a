"""Utilisation: stress over strength, proportional to the loads, and the place where it is largest.

At every place, and for every piece of its criterion, with loads a:

    u(a) = l·a + √(a·M a),    1/u the load factor

One stress against one limit has M = 0; the ellipsoids of von Mises (l = 0) and of Tsai and Wu need both. The
utilisation of a place is the largest of its pieces. Each piece is convex in the loads, M having no negative
eigenvalue: between two loads utilisation is nowhere more than at the worse of them.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from femcore.base.arrays import ArrayRecord

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    Ints = NDArray[np.intp]

BLOCK_ENTRIES = 2**17
"""Numbers in a table of loads by places that is worked on at once: 1 MB, as caches have it."""


def blocks(count: int, width: int) -> Iterator[slice]:
    """Runs of `count` rows of `width` numbers each: `BLOCK_ENTRIES` numbers or one row in a run, and one run at least."""
    step = max(1, BLOCK_ENTRIES // max(width, 1))
    return (slice(start, start + step) for start in range(0, max(count, 1), step))


@dataclass(frozen=True, eq=False, repr=False)
class Utilisation(ArrayRecord):
    """Utilisation at places, as the largest of pieces l·a + √(a·M a) of k loads.

    linear : (places, pieces, k), l;   square : (places, pieces, k, k), M, symmetric and positive semidefinite
    """

    linear: Array
    square: Array

    def under(self, unit: Array) -> Utilisation:
        """As a function of other loads b with a = `unit` b at each place; unit is (places, k, j)."""
        each = unit[:, None]
        square = np.swapaxes(each, -1, -2) @ self.square @ each
        return Utilisation(self.linear @ unit, square)

    def governing(self, loads: Array) -> Ints:
        """(n,): the place of the largest utilisation under each of `loads` (n, k), some rows at a time."""
        found = np.empty(len(loads), np.intp)
        for rows in blocks(len(loads), self.linear.shape[0] * self.linear.shape[1]):
            found[rows] = self.of(loads[rows]).argmax(axis=1)
        return found

    def largest(self, loads: Array) -> Array:
        """(n,): the largest utilisation of all places under each of `loads` (n, k), some rows at a time; 0 without places."""
        found = np.empty(len(loads))
        for rows in blocks(len(loads), self.linear.shape[0] * self.linear.shape[1]):
            found[rows] = self.of(loads[rows]).max(axis=1, initial=0.0)
        return found

    def of(self, loads: Array) -> Array:
        """(n, places): utilisation of every place under each of `loads` (n, k)."""
        places, pieces, _ = self.linear.shape
        linear, square = self._rows
        if square is None:
            found = loads @ linear
        else:
            one, other = self._pairs
            found = (loads[:, one] * loads[:, other]) @ square
            # a sum of squares in which much cancels may fall below zero by rounding
            np.sqrt(np.maximum(found, 0.0, out=found), out=found)
            if linear.any():
                found += loads @ linear
        return np.asarray(found.reshape(len(loads), pieces, places).max(axis=1))

    @cached_property
    def _pairs(self) -> tuple[Ints, Ints]:
        return np.triu_indices(self.linear.shape[-1])

    @cached_property
    def _rows(self) -> tuple[Array, Array | None]:
        """l and, where there is one, M on products of two loads: (k, rows) and (k(k + 1)/2, rows), piece by piece."""
        if not self.square.any():
            return _by_pieces(self.linear), None
        one, other = self._pairs
        twice = np.where(one == other, 1.0, 2.0) * self.square[..., one, other]
        return _by_pieces(self.linear), _by_pieces(twice)


def _by_pieces(table: Array) -> Array:
    """(places, pieces, x) as (x, pieces × places)."""
    return np.ascontiguousarray(table.transpose(2, 1, 0)).reshape(table.shape[2], -1)
