"""The stiffnesses of a front end by the names of the boat file, so that each can be scaled in its frame.

A name is the key of the file: `bows.EI_vertical`, `crossbeam.GJ`, `platform.main bulkhead.EI_vertical`, `root.pitch`,
`martingale.EA`. A key before it, such as `platform`, `crossbeam` or `platform.main bulkhead`, stands for all below it. Bows, and
hulls aft of the main bulkhead (`platform.hulls`), are those of both sides.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np
import numpy.typing as npt

from femcore.base.arrays import FloatArray
from femcore.base.toml import unknown
from femcore.frame.frame import Frame
from femcore.solvers.frame_changes import EndSprings, Numbers
from femcore.solvers.stiffness_groups import Quantity, StiffnessGroup
from models.boat.boat import Boat
from models.joints import DIRECTIONS, JointStiffness
from models.joints.base import COUPLING_MIRROR, MIRROR
from models.response.front_end import CROSSBEAM, LONGERON, PROD, SIDES, STRIKER, FrontEnd
from models.response.platform_frame import hull_node, platform_member

QUANTITIES: Mapping[str, tuple[Quantity, ...]] = {
    "EA": ("EA",), "EI_vertical": ("EIy",), "EI_lateral": ("EIz",), "GJ": ("GJ",),
    "GA_vertical": ("GAz",), "GA_lateral": ("GAy",),
}  # fmt: skip
STRUT_QUANTITIES: Mapping[str, tuple[Quantity, ...]] = {"EA": ("EA",), "EI": ("EIy", "EIz", "GJ")}
"""Of the striker, a tube with one EI."""
REDUCED_JOINT = JointStiffness.in_boat_axes([1e8, 1e8, 1e8, 1e6, 1e6, 1e6])
"""Between what is free and what is rigid beside a crossbeam, so that all others are reached from it with nearly all digits."""
END_ROLL = (4, 10)
"""Freedoms of a platform member's end springs, at its start and at its end: bending up and down."""


def stiffness_groups(front: FrontEnd) -> tuple[StiffnessGroup, ...]:
    """Every elastic stiffness of a front end by its name, but its joints'."""
    return groups_of(front.boat, front.frame)


def groups_of(boat: Boat, frame: Frame) -> tuple[StiffnessGroup, ...]:
    """Those that a frame of some of the boat's parts has."""
    return tuple(_groups(boat, frame))


def _groups(boat: Boat, frame: Frame) -> Iterator[StiffnessGroup]:
    for part, members in _members(boat).items():
        elements = [
            element
            for name in members
            if name in frame.members
            for element in range(frame.members[name].first, frame.members[name].last)
        ]
        quantities = STRUT_QUANTITIES if part == STRIKER else QUANTITIES
        for word, of in quantities.items():
            values = getattr(frame, of[0])[elements]
            if (np.isfinite(values) & (values > 0)).any():
                yield StiffnessGroup(f"{part}.{word}", of, tuple(elements))
    yield from _platform_springs(boat, frame)
    yield from _root_springs(frame)
    if len(frame.cables):
        yield StiffnessGroup("martingale.EA", cables=tuple(range(len(frame.cables))))


def _members(boat: Boat) -> dict[str, list[str]]:
    """The members of the frame by part."""
    platform = () if boat.platform is None else boat.platform.members
    return {
        "bows": [f"{side} bow" for side in SIDES],
        "platform.hulls": [f"{side} hull aft" for side in SIDES],
        **{f"platform.{one.name}": [platform_member(one.name)] for one in platform},
        CROSSBEAM: [CROSSBEAM],
        LONGERON: [LONGERON, PROD],
        STRIKER: [STRIKER],
    }


def _platform_springs(boat: Boat, frame: Frame) -> Iterator[StiffnessGroup]:
    """Of the platform's members: their end springs, and the springs in roll between the hulls there."""
    for member in () if boat.platform is None else boat.platform.members:
        run = frame.members[platform_member(member.name)]
        if 0 < member.end_spring < np.inf:
            ends = zip((run.first, run.last - 1), END_ROLL, strict=True)
            yield StiffnessGroup(f"platform.{member.name}.end_roll", end_springs=tuple(ends))
        hulls = {frame.node_index.get(hull_node(side, member.station)) for side in SIDES}
        between = [(at, 3) for at, nodes in enumerate(frame.spring_ends.tolist()) if set(nodes) == hulls]
        if between:
            yield StiffnessGroup(f"platform.{member.name}.symmetric_roll", springs=tuple(between))


def _root_springs(frame: Frame) -> Iterator[StiffnessGroup]:
    """Of the roots of the bows where there is no platform."""
    roots = [frame.node_index[f"{side} root"] for side in SIDES]
    grounded = [
        at
        for at, (node, ground) in enumerate(frame.spring_ends.tolist())
        if node in roots and frame.ground_nodes[ground] == node
    ]
    for freedom, direction in enumerate(DIRECTIONS):
        elastic = [(at, freedom) for at in grounded if frame.springs[at, freedom] > 0]
        if elastic:
            yield StiffnessGroup(f"root.{direction}", springs=tuple(elastic))


def multipliers(
    groups: Sequence[StiffnessGroup], given: Mapping[str, npt.ArrayLike], count: int = 1
) -> Numbers:
    """(count, groups), 1 but where a name, or a key before it, is given one (count,) or one for all; those of both multiply.

    InputFault where a name fits no group.
    """
    result: Numbers = np.ones((count, len(groups)))
    for name, values in given.items():
        of = [at for at, group in enumerate(groups) if f"{group.name}.".startswith(f"{name}.")]
        if not of:
            raise unknown("", "stiffness", name, [group.name for group in groups])
        result = result * np.where(np.isin(np.arange(len(groups)), of), np.reshape(values, (-1, 1)), 1.0)
    return result


def springs_in_boat_axes(springs: FloatArray) -> EndSprings:
    """Of both joints, from the port joint's six springs in boat axes (s, 6): surge sway heave, roll pitch yaw."""
    axes = np.stack([np.eye(3), np.eye(3) * MIRROR])
    return EndSprings(np.repeat(np.asarray(springs)[:, None], len(SIDES), axis=1), axes[None])


def springs_of_joints(joints: Sequence[JointStiffness]) -> EndSprings:
    """Of both joints, from the stiffness of the port one."""
    springs = np.array([one.springs for one in joints])
    finite = np.where(np.isinf(springs), 0.0, springs)
    matrix = np.array(
        [np.diag(k) if one.matrix is None else one.matrix for one, k in zip(joints, finite, strict=True)]
    )
    axes = np.array([one.axes for one in joints])
    return EndSprings(
        np.stack([springs, springs], axis=1),
        np.stack([axes, axes * MIRROR], axis=1),
        np.stack([matrix, matrix * COUPLING_MIRROR], axis=1),
    )


__all__ = [
    "REDUCED_JOINT",
    "groups_of",
    "multipliers",
    "springs_in_boat_axes",
    "springs_of_joints",
    "stiffness_groups",
]
