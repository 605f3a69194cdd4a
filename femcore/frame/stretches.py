"""Loads along parts of elements: linear from one fraction of the length to another, forces and couples per length.

A uniform force over a whole element is `Loads.line`. Everything else that acts along a beam is here: a load that ends within
an element, that varies, or that acts at an arm from the beam's axis, which makes a couple per length.

    p : stretches;   c : load cases
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from femcore.base.arrays import ArrayRecord, FloatArray, IntArray
from femcore.base.vectors import cross


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Stretches(ArrayRecord):
    """Loads along parts of elements in all cases.

    element    : (p,), the element;   begin, end : (p,), fractions of its length, begin < end
    load       : (c, p, 2, 6), N/m and N·m/m, beam axes, at `begin` and at `end`, linear between them
    """

    element: IntArray
    begin: FloatArray
    end: FloatArray
    load: FloatArray

    @classmethod
    def none(cls, cases: int = 1) -> Stretches:
        """Of cases without such loads."""
        nothing = np.zeros(0)
        return cls(np.zeros(0, dtype=np.int64), nothing, nothing, np.zeros((cases, 0, 2, 6)))

    @classmethod
    def stacked(cls, several: Sequence[Stretches]) -> Stretches:
        """The cases of the first, then those of the next; stretches of the same extent become one."""
        if not several:
            return cls.none(0)
        found, place = _distinct(
            *(np.concatenate([getattr(one, key) for one in several]) for key in ("element", "begin", "end"))
        )
        load = np.zeros((sum(len(one.load) for one in several), len(found), 2, 6))
        case = row = 0
        for one in several:
            cases, count = one.load.shape[:2]
            own = place[row : row + count]
            np.add.at(load[case : case + cases].swapaxes(0, 1), own, one.load.swapaxes(0, 1))
            case, row = case + cases, row + count
        return cls(found[:, 0].astype(np.int64), found[:, 1], found[:, 2], load)

    @classmethod
    def summed(cls, several: Sequence[Stretches]) -> Stretches:
        """All cases of all of them as one case."""
        stacked = cls.stacked(several)
        return replace(stacked, load=stacked.load.sum(axis=0, keepdims=True))

    def acting_in(self, case: int) -> Stretches:
        """Of one case, by number, those in which anything acts."""
        some = self.load[case].any(axis=(1, 2))
        return Stretches(
            self.element[some], self.begin[some], self.end[some], self.load[case : case + 1, some]
        )

    def extents(self, length: FloatArray) -> tuple[FloatArray, FloatArray]:
        """(p,), (p,), m from the start of its element: where each begins and ends, on elements of `length` (m,)."""
        return self.begin * length[self.element], self.end * length[self.element]


def along_elements(
    axes: FloatArray,
    elements: IntArray,
    begin: FloatArray,
    end: FloatArray,
    force: FloatArray,
    arm: npt.ArrayLike = (0.0, 0.0, 0.0),
    case: IntArray | None = None,
    cases: int = 1,
) -> tuple[FloatArray, Stretches]:
    """Loads along elements as uniform forces over whole ones, (e, 3), N/m, beam axes, and stretches of all the rest.

    axes     : (e, 3, 3), of the elements (e,);   begin, end : (e,), fractions; nothing acts where they are equal
    force    : (e, 2, 3), N/m, global axes, at `begin` and `end`
    arm      : (3,) or (e, 1, 3), m, global axes, from the axis to the load
    case     : (e,), which of the `cases` each is in; the first where left out
    """
    uniform = (begin == 0) & (end == 1) & (force[:, 0] == force[:, 1]).all(axis=1)
    in_beam_axes = np.einsum("eij,esj->esi", axes, force)
    couple = np.einsum("eij,esj->esi", axes, cross(np.asarray(arm, dtype=float), force))
    line = np.where(uniform[:, None], in_beam_axes[:, 0], 0.0)
    load = np.concatenate([np.where(uniform[:, None, None], 0.0, in_beam_axes), couple], axis=2)
    acting = (end > begin) & load.any(axis=(1, 2))
    extents, place = _distinct(elements[acting], begin[acting], end[acting])
    summed = np.zeros((cases, len(extents), 2, 6))
    own = np.zeros(len(elements), dtype=np.int64) if case is None else case
    np.add.at(summed, (own[acting], place), load[acting])
    return line, Stretches(extents[:, 0].astype(np.int64), extents[:, 1], extents[:, 2], summed)


def _distinct(element: IntArray, begin: FloatArray, end: FloatArray) -> tuple[FloatArray, IntArray]:
    """(q, 3), each extent once, and (p,), which of them is that of each row."""
    found, place = np.unique(np.column_stack([element, begin, end]), axis=0, return_inverse=True)
    return found, place.ravel()


__all__ = ["Stretches", "along_elements"]
