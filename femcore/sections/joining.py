"""Runs of points become one section: where their points lie together, they are joined."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from femcore.base.arrays import ArrayRecord
from femcore.sections.outline import Section, near_pairs

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from femcore.sections.wall import Wall

    Array = NDArray[np.float64]

REL_TOL_COINCIDENT = 1e-6
"""Points nearer than this times the section's size are one."""


@dataclass(frozen=True, eq=False, repr=False)
class WallRun(ArrayRecord):
    """A chain of straight segments of one wall.

    points : (n, 2), y and z, m, in order
    part   : its name;   radius : of the curve that it approximates, m, inf where flat
    """

    points: Array
    wall: Wall
    part: str
    radius: float = np.inf


def joined(runs: Sequence[WallRun], name: str = "section") -> Section:
    """The section that `runs` make together, open or closed as they meet, of as many cells as they enclose.

    Raises InputFault where they do not meet, cross, or touch between their points (see Section).
    """
    table = np.concatenate([run.points for run in runs])
    index, first = _merged(table)
    starts = np.cumsum([0, *(len(run.points) for run in runs)])
    chains = [index[start : start + len(run.points)] for start, run in zip(starts[:-1], runs, strict=True)]
    segments = np.concatenate([np.column_stack([chain[:-1], chain[1:]]) for chain in chains])
    kinds = tuple(dict.fromkeys(run.wall for run in runs))
    counts = [len(run.points) - 1 for run in runs]
    return Section(
        table[first],
        segments,
        kinds,
        np.repeat([kinds.index(run.wall) for run in runs], counts),
        tuple(part for run, count in zip(runs, counts, strict=True) for part in [run.part] * count),
        np.repeat([run.radius for run in runs], counts),
        name,
    )


def _merged(table: Array) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """The number of each point among those that are apart, and where each of these first occurs."""
    near = REL_TOL_COINCIDENT * float(np.ptp(table, axis=0).max())
    pairs = near_pairs(table, near)
    links = coo_array((np.ones(len(pairs)), pairs.T), shape=(len(table), len(table)))
    label = connected_components(links, directed=False)[1].astype(np.intp)
    first = np.unique(label, return_index=True)[1]
    return label, first
