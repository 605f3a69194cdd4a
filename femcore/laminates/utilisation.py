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
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from femcore.base.arrays import ArrayRecord

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    Ints = NDArray[np.intp]

MANY_STATIONS = 200
"""Along a chain of places: fewer are evaluated sooner than bounded."""
BLOCK_ENTRIES = 2**17
"""Numbers in a table of loads by places that is worked on at once: 1 MB, as caches have it."""


def blocks(count: int, width: int) -> Iterator[slice]:
    """Runs of `count` rows of `width` numbers each: `BLOCK_ENTRIES` numbers or one row in a run, and one run at least."""
    step = max(1, BLOCK_ENTRIES // max(width, 1))
    return (slice(start, start + step) for start in range(0, max(count, 1), step))


def group_blocks(starts: Ints, count: int, width: int) -> Iterator[tuple[slice, Ints]]:
    """The same of whole groups of rows, the first of each in `starts`, rising: a run of rows, and where in it groups start."""
    ends = np.append(starts[1:], count)
    for groups in blocks(len(starts), width * -(-count // max(len(starts), 1))):
        some = starts[groups]
        if len(some):
            yield slice(int(some[0]), int(ends[groups][-1])), some - some[0]


def each_alone(count: int) -> Ints:
    """The starts of groups of one row."""
    return np.arange(count)


def worst_rows(used: Array, starts: Ints) -> Ints:
    """(groups,), the row of the largest of `used` (n,) in each group of rows, the first of each in `starts`."""
    if len(starts) == len(used):
        return starts
    most = np.repeat(np.maximum.reduceat(used, starts), np.diff(starts, append=len(used)))
    largest = np.flatnonzero(used == most)
    return np.asarray(largest[np.searchsorted(largest, starts)])


class Worst(NamedTuple):
    """Of each group of loads: which of them, at which place, and the utilisation there; (groups,) each."""

    row: Ints
    place: Ints
    used: Array


@dataclass(frozen=True, eq=False, repr=False)
class Utilisation(ArrayRecord):
    """Utilisation at places, as the largest of pieces l·a + √(a·M a) of k loads.

    linear : (places, pieces, k), l;   square : (places, pieces, k, k), M, symmetric and positive semidefinite
    """

    linear: Array
    square: Array

    def under(self, unit: Array) -> Utilisation:
        """As a function of other loads b with a = `unit` b at each place; unit is (places, k, j)."""
        each, linear = unit[:, None], self.linear @ unit
        if self._is_linear:
            return Utilisation(linear, np.broadcast_to(0.0, (*linear.shape, linear.shape[-1])))
        return Utilisation(linear, np.swapaxes(each, -1, -2) @ self.square @ each)

    def largest(self, loads: Array) -> Array:
        """(n,): the largest utilisation of all places under each of `loads` (n, k), some rows at a time; 0 without places."""
        found = np.empty(len(loads))
        for rows in blocks(len(loads), self.linear.shape[0] * self.linear.shape[1]):
            found[rows] = self.of(loads[rows]).max(axis=1, initial=0.0)
        return found

    def of(self, loads: Array) -> Array:
        """(n, places): utilisation of every place under each of `loads` (n, k)."""
        places, pieces, _ = self.linear.shape
        found = self._of_pieces(loads)
        return found if pieces == 1 else np.asarray(found.reshape(len(loads), pieces, places).max(axis=1))

    def worst_of(self, loads: Array, starts: Ints) -> Worst:
        """The largest utilisation of all places under loads (n, k), in groups of them that begin at `starts`."""
        used = self._of_pieces(loads)
        row = worst_rows(used.max(axis=1), starts)
        place = used[row].argmax(axis=1)
        return Worst(row, np.asarray(place % len(self.linear)), used[row, place])

    def _of_pieces(self, loads: Array) -> Array:
        """(n, pieces × places), piece by piece."""
        linear, square = self._rows
        if square is None:
            return np.asarray(loads @ linear)
        one, other = self._pairs
        found = (loads[:, one] * loads[:, other]) @ square
        # a sum of squares in which much cancels may fall below zero by rounding
        np.sqrt(np.maximum(found, 0.0, out=found), out=found)
        if linear.any():
            found += loads @ linear
        return np.asarray(found)

    def at_each(self, place: Ints, loads: Array) -> Array:
        """(n, m): utilisation of places (n, m), each row of them under its own of `loads` (n, k)."""
        count, pieces, _ = self.linear.shape
        found = _each(self.linear.reshape(count, -1)[place], loads, pieces)
        if not self._is_linear:
            one, other = self._pairs
            square = _each(self._upper.reshape(count, -1)[place], loads[:, one] * loads[:, other], pieces)
            found += np.sqrt(np.maximum(square, 0.0))
        return np.asarray(found.max(axis=-1))

    @cached_property
    def _pairs(self) -> tuple[Ints, Ints]:
        return np.triu_indices(self.linear.shape[-1])

    @cached_property
    def _rows(self) -> tuple[Array, Array | None]:
        """l and, where there is one, M on products of two loads: (k, rows) and (k(k + 1)/2, rows), piece by piece."""
        if self._is_linear:
            return _by_pieces(self.linear), None
        return _by_pieces(self.linear), _by_pieces(self._upper)

    @cached_property
    def _upper(self) -> Array:
        """(places, pieces, k(k + 1)/2), M on products of two loads."""
        one, other = self._pairs
        return np.asarray(np.where(one == other, 1.0, 2.0) * self.square[..., one, other])

    @cached_property
    def _is_linear(self) -> bool:
        return not self.square.any()


def _by_pieces(table: Array) -> Array:
    """(places, pieces, x) as (x, pieces × places)."""
    return np.ascontiguousarray(table.transpose(2, 1, 0)).reshape(table.shape[2], -1)


def _each(table: Array, loads: Array, pieces: int) -> Array:
    """(n, m, pieces): rows (n, m, pieces × k) of a table, each of the n with its own of `loads` (n, k)."""
    n, m, _ = table.shape
    products = table.reshape(n, m * pieces, loads.shape[1]) @ loads[:, :, None]
    return np.asarray(products.reshape(n, m, pieces))


@dataclass(frozen=True, eq=False, repr=False)
class ChainedUtilisation(ArrayRecord):
    """Utilisation at stations along chains of places: where it is largest is found without evaluating all of them.

    within : utilisation (chains, pieces, s) of what is brought to a place, the same all along a chain
    maps   : (stations, chains, s, k), what k loads bring to each place

    Between two stations of a chain, where S = (1 − t) S₁ + t S₂ + Δ, u being convex and of the first degree,

        u(S a) ≤ (1 − t) u(S₁ a) + t u(S₂ a) + Σ |a_i| max(u(Δ e_i), u(−Δ e_i))

    That is nowhere above the larger end with the most E of the sum; nor, with E′ that of the sum over the smaller of t and 1 − t,
    above the larger end and (u(S₁ a) + u(S₂ a) + E′)/2. Where there are many stations, few are evaluated under all loads, and
    those between two only where neither bound is below the largest of these.
    """

    within: Utilisation
    maps: Array

    def governing(self, loads: Array) -> Ints:
        """(n,): the place of the largest utilisation under each of `loads` (n, k), counted station by station."""
        return self.worst_of(loads, each_alone(len(loads))).place

    def worst_of(self, loads: Array, starts: Ints) -> Worst:
        """The largest utilisation under loads (n, k), in groups of them that begin at `starts`, none of them empty."""
        width = len(self._few) * self.within.linear.shape[1]
        found = [
            Worst(rows.start + worst.row, worst.place, worst.used)
            for rows, begin in group_blocks(starts, len(loads), width)
            for worst in [self._worst_of(loads[rows], begin)]
        ]
        if not found:
            return Worst(each_alone(0), each_alone(0), np.zeros(0))
        return (
            found[0]
            if len(found) == 1
            else Worst(*(np.concatenate(each) for each in zip(*found, strict=True)))
        )

    def _worst_of(self, loads: Array, starts: Ints) -> Worst:
        if not self._between.size:
            return self._at_few.worst_of(loads, starts)
        used = self._at_few.of(loads)
        worst = worst_rows(used.max(axis=1), starts)
        at = used[worst].argmax(axis=1)
        most, place = used[worst, at], np.asarray(self._few[at])
        group_of = np.repeat(np.arange(len(starts)), np.diff(starts, append=len(loads)))
        at_stations = used.reshape(len(loads), len(self._stations), -1)
        one, other = (each.reshape(len(loads), -1) for each in (at_stations[:, :-1], at_stations[:, 1:]))
        size, (excess, slope) = np.abs(loads), self._excess
        row, between = np.nonzero(size @ excess > most[group_of, None] - np.maximum(one, other))
        midway = one[row, between] + other[row, between] + (size[row] * slope.T[between]).sum(axis=1)
        open_ = midway > 2 * most[group_of[row]]
        row, between = row[open_], between[open_]
        for some in blocks(len(row), self._between.shape[1] * self._everywhere.linear[0].size):
            rows, places = row[some], self._between[between[some]]
            groups = group_of[rows]
            inside = self._everywhere.at_each(places, loads[rows])
            top = inside.max(axis=1)
            # in rising order, so that the largest of a group is the last one that is written
            rising = np.argsort(top, kind="stable")
            rising = rising[top[rising] > most[groups[rising]]]
            place[groups[rising]] = places[rising, inside[rising].argmax(axis=1)]
            most[groups[rising]] = top[rising]
            worst[groups[rising]] = rows[rising]
        return Worst(worst, place, most)

    @cached_property
    def _stations(self) -> Ints:
        """Those that are evaluated under all loads, the first and the last among them."""
        count = len(self.maps)
        step = 1 if count < MANY_STATIONS else int(np.sqrt(count) / 2)
        return np.asarray(np.unique(np.append(np.arange(0, count, step), count - 1)))

    @cached_property
    def _few(self) -> Ints:
        """The places at these stations."""
        chains = self.maps.shape[1]
        return np.asarray((self._stations[:, None] * chains + np.arange(chains)).reshape(-1))

    @cached_property
    def _everywhere(self) -> Utilisation:
        stations, chains = self.maps.shape[:2]
        return _repeated(self.within, stations).under(
            self.maps.reshape(stations * chains, *self.maps.shape[2:])
        )

    @cached_property
    def _at_few(self) -> Utilisation:
        return Utilisation(self._everywhere.linear[self._few], self._everywhere.square[self._few])

    @cached_property
    def _inner(self) -> Ints:
        """(groups, m), the stations between each of `_stations` and the next; where they are fewer, that one again."""
        first, last = self._stations[:-1, None], self._stations[1:, None]
        return np.asarray(np.minimum(first + np.arange(1, int((last - first).max(initial=1))), last))

    @cached_property
    def _between(self) -> Ints:
        """(groups × chains, m), their places."""
        chains = self.maps.shape[1]
        places = self._inner[:, None] * chains + np.arange(chains)[:, None]
        return np.asarray(
            places.reshape(len(places) * chains, -1) if places.size else np.zeros((0, 0), np.intp)
        )

    @cached_property
    def _excess(self) -> tuple[Array, Array]:
        """(k, groups × chains), the factors of |a_i| in E and in E′."""
        first, last = self._stations[:-1, None], self._stations[1:, None]
        part = ((self._inner - first) / (last - first))[..., None, None, None]
        off = self.maps[self._inner] - (1 - part) * self.maps[first] - part * self.maps[last]
        each, within = off[:, :, :, None], self.within
        most = np.abs((within.linear[..., None, :] @ each)[..., 0, :])
        if within.square.any():
            most += np.sqrt(np.maximum((each * (within.square @ each)).sum(axis=-2), 0.0))
        # a last one again is an end
        nearer = np.where(part < 1, np.minimum(part, 1 - part), np.inf)
        found = (table.max(axis=(1, 3), initial=0.0) for table in (most, most / nearer))
        one, other = (np.ascontiguousarray(table.reshape(-1, table.shape[-1]).T) for table in found)
        return one, other


def _repeated(one: Utilisation, count: int) -> Utilisation:
    """So many of the same in turn."""
    return Utilisation(np.tile(one.linear, (count, 1, 1)), np.tile(one.square, (count, 1, 1, 1)))
