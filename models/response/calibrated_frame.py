"""What the factors of a test on a boat multiply in her frame: hulls, members of the platform, crossbeam.

`calibrated_groups` names the stiffnesses that go together and to which power each factor multiplies them; `with_factors` gives
the frame, and `femcore.solvers.reduced_frame` takes the groups for many variants.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from femcore.base.arrays import FloatArray
from femcore.frame.frame import Frame
from femcore.solvers.stiffness_groups import Quantity, StiffnessGroup, scaled
from models.boat.platform import Platform

PLATFORM_PREFIX = "platform "
HULLS = ("port bow", "starboard bow", "port hull aft", "starboard hull aft")
CROSSBEAM = "crossbeam"
START_ROLL, END_ROLL = 4, 10
"""Freedoms of a member's end springs, at its start and at its end, in roll: about the member's own y."""


@dataclass(frozen=True, slots=True)
class CalibratedGroup:
    """Stiffnesses that go together; `powers`: by factor, to which power it multiplies them."""

    group: StiffnessGroup
    powers: Mapping[str, float]


def calibrated_groups(frame: Frame, platform: Platform | None) -> tuple[CalibratedGroup, ...]:
    """All that factors of a test multiply; of parts that the frame does not have, none."""
    power = member_powers(platform)
    hulls = _elements(frame, HULLS)
    found = [
        CalibratedGroup(StiffnessGroup("hull_EI", ("EIy", "EIz"), hulls), {"hull_EI": 1.0}),
        CalibratedGroup(StiffnessGroup("hull_GJ", ("GJ",), hulls), {"hull_GJ": 1.0}),
    ]
    seen = set[float]()
    for member in () if platform is None else platform.members:
        name = PLATFORM_PREFIX + member.name
        run, elements = frame.members[name], _elements(frame, (name,))
        ends = [(run.first, START_ROLL), (run.last - 1, END_ROLL)]
        bending: tuple[Quantity, ...] = ("EIy", "GAz")
        # members at one station go to one power, so that the first may have all springs there
        springs = () if member.station in seen else _between_hulls(frame, member.station)
        seen.add(member.station)
        group = StiffnessGroup(
            f"{name}, bending", bending, elements, springs,
            tuple((e, f) for e, f in ends if 0 < frame.end_springs[e, f] < np.inf),
        )  # fmt: skip
        powers = {"platform_EI": 1.0, "platform_fore_to_aft": power(member.station)}
        found.append(CalibratedGroup(group, powers))
        found.append(
            CalibratedGroup(StiffnessGroup(f"{name}, torsion", ("GJ",), elements), {"platform_GJ": 1.0})
        )
    beam = _elements(frame, (CROSSBEAM,))
    found.append(CalibratedGroup(StiffnessGroup("crossbeam_EI", ("EIy", "EIz"), beam), {"crossbeam_EI": 1.0}))
    found.append(CalibratedGroup(StiffnessGroup("crossbeam_GJ", ("GJ",), beam), {"crossbeam_GJ": 1.0}))
    return tuple(one for one in found if one.group.elements)


def with_factors(frame: Frame, platform: Platform | None, factors: Mapping[str, float]) -> Frame:
    """The frame with these factors of `Calibration`, by key, on the stiffness of its parts."""
    if not factors:
        return frame
    some = calibrated_groups(frame, platform)
    logarithms = np.log(list(factors.values()))
    return scaled(frame, [one.group for one in some], np.exp(exponents(some, list(factors)) @ logarithms))


def exponents(groups: Sequence[CalibratedGroup], factors: Sequence[str]) -> FloatArray:
    """(groups, factors): to which power each factor multiplies each group."""
    return np.array([[one.powers.get(key, 0.0) for key in factors] for one in groups])


def member_powers(platform: Platform | None) -> Callable[[float], float]:
    """By station x, m: from ½ at the foremost member to −½ at the aftmost; 0 where all are at one station."""
    stations = [0.0] if platform is None else [member.station for member in platform.members]
    length, middle = max(stations) - min(stations), (max(stations) + min(stations)) / 2
    return lambda x: (x - middle) / length if length else 0.0


def _elements(frame: Frame, members: Sequence[str]) -> tuple[int, ...]:
    runs = [frame.members[name] for name in members if name in frame.members]
    return tuple(element for run in runs for element in range(run.first, run.last))


def _between_hulls(frame: Frame, station: float) -> tuple[tuple[int, int], ...]:
    """The spring in roll alone between the hulls at a member, which gives it its stiffness for symmetric bending."""
    only_roll = (frame.springs[:, 3] > 0) & ~frame.springs[:, [0, 1, 2, 4, 5]].any(axis=1)
    there = np.isclose(frame.nodes[frame.spring_ends[:, 0], 0], station, atol=1e-6)
    return tuple((at, 3) for at in np.flatnonzero(only_roll & there).tolist())


__all__ = ["PLATFORM_PREFIX", "calibrated_groups", "exponents", "member_powers", "with_factors"]
