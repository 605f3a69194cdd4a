"""Copies of a frame side by side as one: several cases in their deformed shapes are worked on at once, each in its own copy.

A deformed shape is no axis of an array of loads: axes, offsets and cables differ from case to case. In a frame that is so many
copies of one, every function of shapes works on all cases as it does on one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any, TypeVar

import numpy as np
import numpy.typing as npt

from femcore.base.arrays import BoolArray, IntArray
from femcore.elements.beam import CondensedEnds
from femcore.elements.corotational_beam import BeamData, Configuration
from femcore.frame.frame import Cables, Frame
from femcore.solvers.assembly import Parts, sums_at_nodes

T = TypeVar("T", bound=np.generic)
Chosen = Sequence[int] | IntArray | BoolArray
"""Numbers of copies, or a boolean for each."""


def tiled(values: npt.NDArray[T], count: int) -> npt.NDArray[T]:
    """(count × first axis, …), the same values of each copy in turn."""
    return np.tile(values, (count, *[1] * (values.ndim - 1)))


def by_copy(values: npt.NDArray[T], count: int) -> npt.NDArray[T]:
    """(count, …), values on the elements of `count` copies in turn, copy by copy."""
    return values.reshape(count, len(values) // max(count, 1), *values.shape[1:])


def rows_of(values: npt.NDArray[T], which: Chosen, count: int) -> npt.NDArray[T]:
    """Of values on the elements of `count` copies in turn, those of the copies `which`."""
    chosen = by_copy(values, count)[which]
    return chosen.reshape(len(chosen) * chosen.shape[1], *values.shape[1:])


def copies_of(shape: Configuration, count: int) -> Configuration:
    """That many of a shape."""
    return Configuration(tiled(shape.move, count), tiled(shape.turn, count))


def shape_of(shape: Configuration, which: Chosen, count: int) -> Configuration:
    """The copies `which` of a shape of `count` of them."""
    return Configuration(rows_of(shape.move, which, count), rows_of(shape.turn, which, count))


def with_shape_of(shape: Configuration, which: Chosen, changed: Configuration, count: int) -> Configuration:
    """A shape of `count` copies whose copies `which` are those of `changed`."""
    move, turn = by_copy(shape.move, count).copy(), by_copy(shape.turn, count).copy()
    for values, new in ((move, changed.move), (turn, changed.turn)):
        values[which] = new.reshape(values[which].shape)
    return Configuration(move.reshape(-1, 3), turn.reshape(-1, 4))


def parts_side_by_side(parts: Parts, count: int) -> Parts:
    """That many copies; the equations of each follow those of the one before. Their names are left out."""
    if count == 1:
        return parts
    nodes, elements = len(parts.frame.nodes), len(parts.frame.ends)
    frame = frame_side_by_side(parts.frame, count)
    ends = np.concatenate([frame.ends, frame.spring_ends])
    return Parts(
        frame,
        ends,
        np.concatenate([tiled(parts.k[:elements], count), tiled(parts.k[elements:], count)]),
        _ends_side_by_side(parts.ends, elements, count),
        _numbered(parts.free, count, parts.equations).astype(parts.free.dtype),
        _numbered(parts.unresisted_loads, count, nodes),
        tiled(parts.rotation_projectors, count),
        sums_at_nodes(ends, count * nodes),
    )


def frame_side_by_side(frame: Frame, count: int) -> Frame:
    """That many copies in the same place."""
    per_element = (
        "axes", "offsets", "EA", "EIy", "EIz", "GJ", "GAy", "GAz", "line_mass", "end_springs", "spring_axes", "springs",
        "line_inertia", "expansion", "couplings", "nodes", "point_mass", "fixed",
    )  # fmt: skip
    n = len(frame.nodes)
    coupled = np.column_stack([
        _numbered(frame.coupled_ends[:, 0], count, len(frame.ends)), tiled(frame.coupled_ends[:, 1], count)
    ])  # fmt: skip
    return replace(
        frame,
        **{name: tiled(getattr(frame, name), count) for name in per_element},
        ends=_numbered(frame.ends, count, n),
        spring_ends=_numbered(frame.spring_ends, count, n),
        ground_nodes=_numbered(frame.ground_nodes, count, n),
        coupled_ends=coupled,
        cables=_cables_side_by_side(frame.cables, count, n),
        node_index={},
        members={},
    )


def beams_side_by_side(beams: BeamData, frame: Frame, count: int) -> BeamData:
    """The beams of `frame`, which is that many copies of theirs."""
    per_element = ("length", "k", "bowing_coefficient", "bowing_stiffness", "drawn", "spring")
    return replace(
        beams,
        frame=frame,
        ends=_ends_side_by_side(beams.ends, len(beams.length), count),
        **{name: tiled(getattr(beams, name), count) for name in per_element},
    )


def _ends_side_by_side(ends: CondensedEnds, elements: int, count: int) -> CondensedEnds:
    per_element = ("turn", "modes", "M_inv", "slip", "root", "k")
    return replace(
        ends,
        which=_numbered(ends.which, count, elements),
        **{name: tiled(getattr(ends, name), count) for name in per_element},
    )


def _cables_side_by_side(cables: Cables, count: int, nodes: int) -> Cables:
    points, own = len(cables.nodes), len(cables)
    return replace(
        cables,
        names=cables.names * count,
        nodes=_numbered(cables.nodes, count, nodes),
        first=_numbered(cables.first, count, points),
        cable_of_point=_numbered(cables.cable_of_point, count, own),
        segments=_numbered(cables.segments, count, points),
        cable_of_segment=_numbered(cables.cable_of_segment, count, own),
        arms=tiled(cables.arms, count),
        EA=tiled(cables.EA, count),
        pretension=tiled(cables.pretension, count),
        expansion=tiled(cables.expansion, count),
    )


def _numbered(numbers: npt.NDArray[Any], count: int, step: int) -> npt.NDArray[Any]:
    """The numbers of each copy in turn, `step` more in each; negative ones stay."""
    copy = np.repeat(np.arange(count), len(numbers)).reshape(-1, *[1] * (numbers.ndim - 1))
    every = tiled(numbers, count)
    return np.where(every < 0, every, every + step * copy)


__all__ = [
    "beams_side_by_side",
    "by_copy",
    "copies_of",
    "frame_side_by_side",
    "parts_side_by_side",
    "rows_of",
    "shape_of",
    "tiled",
    "with_shape_of",
]
