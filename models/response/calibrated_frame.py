"""A boat's frame with other stiffnesses by name: of hulls, platform, crossbeam, and of the joints in pitch and roll.

`with_factors` gives the frame, `change` the exact derivative of its stiffness with respect to the logarithm of each factor.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from femcore.base.arrays import FloatArray
from femcore.frame.frame import Frame
from femcore.solvers.influence import StiffnessChange, logarithmic_derivatives
from models.boat.platform import Platform

PLATFORM_PREFIX = "platform "
HULLS = ("port bow", "starboard bow", "port hull aft", "starboard hull aft")
CROSSBEAM = "crossbeam"
MEMBER_ROLL = [4, 10]
"""Of a member's end springs, start then end: that in roll, which is about the member's own y."""


@dataclass(frozen=True, slots=True)
class _Group:
    """What a factor multiplies.

    members    : of the frame, all that begin so;   properties : of their elements
    with_ends  : whether the springs in roll at their ends go with them, and those in roll between the hulls
    """

    members: tuple[str, ...]
    properties: tuple[str, ...]
    with_ends: bool = False


_GROUPS = {
    "hull_EI": _Group(HULLS, ("EIy", "EIz")),
    "hull_GJ": _Group(HULLS, ("GJ",)),
    "platform_EI": _Group((PLATFORM_PREFIX,), ("EIy", "GAz"), with_ends=True),
    "platform_fore_to_aft": _Group((PLATFORM_PREFIX,), ("EIy", "GAz"), with_ends=True),
    "platform_GJ": _Group((PLATFORM_PREFIX,), ("GJ",)),
    "crossbeam_EI": _Group((CROSSBEAM,), ("EIy", "EIz")),
    "crossbeam_GJ": _Group((CROSSBEAM,), ("GJ",)),
}


def with_factors(frame: Frame, platform: Platform | None, factors: Mapping[str, float]) -> Frame:
    """The frame with these factors of `Calibration`, by key, on the stiffness of its parts."""
    for key, factor in factors.items():
        group, exponent, springs = _reach(frame, platform, key)
        power = factor**exponent
        changes = {name: getattr(frame, name) * power for name in group.properties}
        if group.with_ends:
            ends = frame.end_springs.copy()
            ends[:, MEMBER_ROLL] = np.where(
                np.isfinite(ends[:, MEMBER_ROLL]), ends[:, MEMBER_ROLL] * power[:, None], ends[:, MEMBER_ROLL]
            )
            changes |= {"end_springs": ends, "springs": frame.springs * (factor**springs)[:, None]}
        frame = replace(frame, **changes)
    return frame


def change(frame: Frame, platform: Platform | None, keys: Sequence[str]) -> StiffnessChange:
    """Derivatives with respect to the logarithm of each factor, at the frame's own stiffness."""
    found, each = StiffnessChange.zeros(frame, len(keys)), logarithmic_derivatives(frame)
    beams = len(frame.ends)
    for number, key in enumerate(keys):
        group, exponent, springs = _reach(frame, platform, key)
        found.k[number, :beams] = exponent[:, None] * sum(each[name] for name in group.properties)
        if group.with_ends:
            ends = frame.end_springs[:, MEMBER_ROLL]
            found.S[number][:, MEMBER_ROLL] = exponent[:, None] * np.where(np.isfinite(ends), ends, 0.0)
            found.k[number, beams:] = springs[:, None] * frame.springs
    return found


def _reach(frame: Frame, platform: Platform | None, key: str) -> tuple[_Group, FloatArray, FloatArray]:
    """What a factor multiplies, and with which power: (m,) of elements, (s,) of springs; 0: it does not."""
    group = _GROUPS[key]
    power = member_powers(platform) if key == "platform_fore_to_aft" else lambda _: 1.0
    exponent, springs = np.zeros(len(frame.ends)), np.zeros(len(frame.springs))
    for name, run in frame.members.items():
        if name.startswith(group.members):
            exponent[run.elements] = power(float(frame.nodes[frame.ends[run.first, 0], 0]))
    if group.with_ends:
        for number in _between_hulls(frame):
            springs[number] = power(float(frame.nodes[frame.spring_ends[number, 0], 0]))
    return group, exponent, springs


def member_powers(platform: Platform | None) -> Callable[[float], float]:
    """From ½ at the foremost member to −½ at the aftmost; 0 where all are at one station."""
    stations = [0.0] if platform is None else [member.station for member in platform.members]
    length, middle = max(stations) - min(stations), (max(stations) + min(stations)) / 2
    return lambda x: (x - middle) / length if length else 0.0


def _between_hulls(frame: Frame) -> list[int]:
    """Springs in roll alone between the hulls, which give a member its stiffness for symmetric bending."""
    only_roll = (frame.springs[:, 3] > 0) & ~frame.springs[:, [0, 1, 2, 4, 5]].any(axis=1)
    return np.flatnonzero(only_roll).tolist()


__all__ = ["PLATFORM_PREFIX", "change", "member_powers", "with_factors"]
