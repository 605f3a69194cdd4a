"""Copies of a frame side by side as one: several cases in their deformed shapes are worked on at once, each in its own copy.

A deformed shape is no axis of an array of loads: axes, offsets and cables differ from case to case. In a frame that is so many
copies of one, every function of shapes works on all cases as it does on one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields, replace
from typing import TYPE_CHECKING, Any, TypeVar

import numpy as np
import numpy.typing as npt
from scipy import sparse

from femcore.base.arrays import BoolArray, IntArray
from femcore.elements.beam import CondensedEnds
from femcore.elements.corotational_beam import BeamData, Configuration
from femcore.frame.frame import Cables, Frame
from femcore.solvers.assembly import Parts, sums_at_nodes

if TYPE_CHECKING:
    from _typeshed import DataclassInstance

T = TypeVar("T", bound=np.generic)
R = TypeVar("R", bound="DataclassInstance")
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


def record_of(record: R, which: Chosen, count: int, **other: object) -> R:
    """A record whose arrays are on the elements of `count` copies: that of the copies `which`, with `other` fields given."""
    arrays = {
        one.name: rows_of(getattr(record, one.name), which, count)
        for one in fields(record)
        if one.name not in other
    }
    return replace(record, **arrays, **other)


def copies_of(shape: Configuration, count: int) -> Configuration:
    """That many of a shape."""
    return Configuration(tiled(shape.move, count), tiled(shape.turn, count))


def shapes_side_by_side(shapes: Sequence[Configuration]) -> Configuration:
    """Shapes of a frame, one after the other."""
    return Configuration(
        np.concatenate([shape.move for shape in shapes]), np.concatenate([shape.turn for shape in shapes])
    )


def shape_of(shape: Configuration, which: Chosen, count: int) -> Configuration:
    """The copies `which` of a shape of `count` of them."""
    return Configuration(rows_of(shape.move, which, count), rows_of(shape.turn, which, count))


def with_shape_of(shape: Configuration, which: Chosen, changed: Configuration, count: int) -> Configuration:
    """A shape of `count` copies whose copies `which` are those of `changed`."""
    move, turn = by_copy(shape.move, count).copy(), by_copy(shape.turn, count).copy()
    for values, new in ((move, changed.move), (turn, changed.turn)):
        values[which] = new.reshape(values[which].shape)
    return Configuration(move.reshape(-1, 3), turn.reshape(-1, 4))


def are_alike(one: Parts, other: Parts) -> bool:
    """Whether two frames differ in nothing but stiffness, pretension and releases: the same nodes, joined alike."""
    return one is other or all(
        np.array_equal(mine, others) for mine, others in zip(_joined(one), _joined(other), strict=True)
    )


def _joined(parts: Parts) -> tuple[npt.NDArray[Any], ...]:
    """What joins which nodes, and where these are."""
    frame, cables = parts.frame, parts.frame.cables
    return (
        frame.nodes, frame.ends, frame.offsets, frame.spring_ends, frame.ground_nodes, parts.free, cables.nodes, cables.first,
    )  # fmt: skip


def parts_side_by_side(several: Sequence[Parts]) -> Parts:
    """Frames that are alike; the equations of each follow those of the one before. Their names are left out."""
    first, count = several[0], len(several)
    if count == 1:
        return first
    nodes, elements = len(first.frame.nodes), len(first.frame.ends)
    frame = frames_side_by_side([parts.frame for parts in several])
    ends = np.concatenate([frame.ends, frame.spring_ends])
    k = [parts.k for parts in several]
    return Parts(
        frame,
        ends,
        np.concatenate([*(one[:elements] for one in k), *(one[elements:] for one in k)]),
        _ends_side_by_side([parts.ends for parts in several], elements),
        _numbered(first.free, count, first.equations).astype(first.free.dtype),
        _renumbered([parts.unresisted_loads for parts in several], nodes),
        np.concatenate([parts.rotation_projectors for parts in several]),
        sums_at_nodes(ends, count * nodes),
    )


def frames_side_by_side(several: Sequence[Frame]) -> Frame:
    """Frames that are alike, all in the same place."""
    per_element = (
        "axes", "offsets", "EA", "EIy", "EIz", "GJ", "GAy", "GAz", "line_mass", "end_springs", "spring_axes", "springs",
        "line_inertia", "expansion", "couplings", "nodes", "point_mass", "fixed",
    )  # fmt: skip
    first, count = several[0], len(several)
    n = len(first.nodes)
    coupled = [frame.coupled_ends for frame in several]
    return replace(
        first,
        **{name: np.concatenate([getattr(frame, name) for frame in several]) for name in per_element},
        ends=_numbered(first.ends, count, n),
        spring_ends=_numbered(first.spring_ends, count, n),
        ground_nodes=_numbered(first.ground_nodes, count, n),
        coupled_ends=np.column_stack([
            _renumbered([one[:, 0] for one in coupled], len(first.ends)), np.concatenate(coupled)[:, 1]
        ]),
        cables=_cables_side_by_side([frame.cables for frame in several], n),
        node_index={},
        members={},
    )  # fmt: skip


def sums_side_by_side(frame: Frame) -> sparse.csr_array:
    """Over the ends of beams and springs at each node of frames that are side by side."""
    return sums_at_nodes(np.concatenate([frame.ends, frame.spring_ends]), len(frame.nodes))


def beams_side_by_side(several: Sequence[BeamData], frame: Frame) -> BeamData:
    """The beams of `frame`, which is the frames of several side by side."""
    per_element = ("length", "k", "bowing_coefficient", "bowing_stiffness", "drawn", "spring")
    return replace(
        several[0],
        frame=frame,
        ends=_ends_side_by_side([beams.ends for beams in several], len(several[0].length)),
        **{name: np.concatenate([getattr(beams, name) for beams in several]) for name in per_element},
    )


def _ends_side_by_side(several: Sequence[CondensedEnds], elements: int) -> CondensedEnds:
    per_element = ("turn", "modes", "M_inv", "slip", "root", "k")
    return replace(
        several[0],
        which=_renumbered([ends.which for ends in several], elements),
        **{name: np.concatenate([getattr(ends, name) for ends in several]) for name in per_element},
    )


def _cables_side_by_side(several: Sequence[Cables], nodes: int) -> Cables:
    first, count = several[0], len(several)
    points, own = len(first.nodes), len(first)
    return replace(
        first,
        names=first.names * count,
        nodes=_numbered(first.nodes, count, nodes),
        first=_numbered(first.first, count, points),
        cable_of_point=_numbered(first.cable_of_point, count, own),
        segments=_numbered(first.segments, count, points),
        cable_of_segment=_numbered(first.cable_of_segment, count, own),
        arms=np.concatenate([cables.arms for cables in several]),
        EA=np.concatenate([cables.EA for cables in several]),
        pretension=np.concatenate([cables.pretension for cables in several]),
        expansion=np.concatenate([cables.expansion for cables in several]),
    )


def _renumbered(several: Sequence[npt.NDArray[Any]], step: int) -> npt.NDArray[Any]:
    """Numbers of each frame in turn, `step` more in each."""
    return np.concatenate([numbers + step * place for place, numbers in enumerate(several)])


def _numbered(numbers: npt.NDArray[Any], count: int, step: int) -> npt.NDArray[Any]:
    """The numbers of each copy in turn, `step` more in each; negative ones stay."""
    copy = np.repeat(np.arange(count), len(numbers)).reshape(-1, *[1] * (numbers.ndim - 1))
    every = tiled(numbers, count)
    return np.where(every < 0, every, every + step * copy)


__all__ = [
    "are_alike",
    "beams_side_by_side",
    "by_copy",
    "copies_of",
    "frames_side_by_side",
    "parts_side_by_side",
    "record_of",
    "rows_of",
    "shape_of",
    "shapes_side_by_side",
    "sums_side_by_side",
    "tiled",
    "with_shape_of",
]
