"""Where roll is balanced as the platform's stiffness changes: at the twist centre of each variant.

The support that takes up roll is at the twist centre of the boat as it was built into the frame. For another centre the same pair
of forces is applied to the hulls there instead, so that this support carries nothing; between nodes it is shared as by a simple
beam. Movements are those relative to the support: a rigid roll makes the hulls' heave equal there. The centre of each variant is
found as that of any platform: where the twisted hulls' heave, carried to the centreline, is zero.

    s : variants;   i : nodes of a hull aft of the main bulkhead, root first;   l : loads
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from femcore.base.arrays import FloatArray, IntArray, distinct_rows
from femcore.frame.frame import Frame, Loads
from femcore.solvers.frame_changes import Changes, Numbers
from femcore.solvers.prepared_frame import PreparedFrame
from femcore.solvers.reduced_frame import ReducedFrame
from femcore.solvers.solution import solve
from models.response.front_end import SIDES, FrontEnd
from models.response.platform_frame import (
    BALANCE,
    YOKE_STIFFNESS,
    hull_aft,
    middle_node,
    platform_alone,
    platform_response,
)
from models.response.stiffness_names import groups_of, stiffness_groups

HEAVE, ROLL, PITCH = 2, 3, 4
ROLL_SUPPORT = f"{BALANCE} of roll"
"""The node of the support that takes up roll."""
SIGNS = (1.0, -1.0)
"""Of what is opposite on port and starboard."""


@dataclass(frozen=True, eq=False)
class MovingBalance:
    """The platform alone under opposite pitch moments, and what the support of the whole boat carries.

    alone  : reduced; it reads the heave at each of its nodes along the hulls, carried to the centreline
    of     : (groups of it), the group of the front end that each is;   along, nodes : (its nodes), (i,), x, m, from 0 aft
    at     : m, x of the support that takes up roll
    pair   : (l,), N, what that support puts on the port hull at the twist centre, and its reverse on the starboard one
    spacing : m, between the hulls
    """

    alone: ReducedFrame
    of: IntArray
    along: FloatArray
    nodes: FloatArray
    at: float
    pair: FloatArray
    spacing: float

    @classmethod
    def of_front_end(cls, front: FrontEnd, loads: Loads) -> MovingBalance | None:
        """Of a front end under loads; None where there is no platform, or none aft of the main bulkhead."""
        boat, response = front.boat, platform_response(front.boat)
        if boat.platform is None or response is None or boat.platform.aft == 0.0:
            return None
        frame, roots = platform_alone(
            boat.bows, boat.platform, response.twist_centre, boat.calibration.factors
        )
        twist = Loads.zeros(frame, "twist")
        twist.nodal[0, roots, PITCH] = SIGNS
        chains = [hull_aft(frame, side) for side in SIDES]
        heave = np.zeros((len(chains[0]), len(frame.nodes), 6))
        for chain, sign in zip(chains, SIGNS, strict=True):
            heave[np.arange(len(chain)), chain, HEAVE] = sign / 2
            heave[np.arange(len(chain)), chain, ROLL] = -boat.bows.spacing / 4
        groups = groups_of(boat, frame)
        names = [group.name for group in stiffness_groups(front)]
        return cls(
            ReducedFrame.of(PreparedFrame.of(frame), twist, groups, virtual_loads=heave),
            np.array([names.index(group.name) for group in groups], dtype=np.int64),
            frame.nodes[chains[0], 0],
            front.frame.nodes[hull_aft(front.frame, SIDES[0]), 0],
            float(front.frame.nodes[front.frame.node_index[ROLL_SUPPORT], 0]),
            _roll_support(front, loads),
            boat.bows.spacing,
        )

    @property
    def compliance(self) -> float:
        """rad/N, by which the support rolls under its pair."""
        return 2 / (YOKE_STIFFNESS * self.spacing)

    def loads(self, front: FrontEnd) -> Loads:
        """A unit pair at each node of the hulls: up on the port one, down on the starboard one."""
        pairs = Loads.zeros(front.frame, *(f"balance at {x:.4g} m" for x in self.nodes))
        for side, sign in zip(SIDES, SIGNS, strict=True):
            pairs.nodal[np.arange(len(self.nodes)), hull_aft(front.frame, side), HEAVE] = sign
        return pairs

    def twist_centre(self, multipliers: Numbers) -> Numbers:
        """(s,), m, x of it, with multipliers (s, g) of the front end's stiffnesses; with 1 where the front end is balanced."""
        aft, ones = self.along[-1], np.ones((1, multipliers.shape[1]))
        both = self._crossing(np.concatenate([multipliers, ones]))
        found = both[:-1] - both[-1] + self.at
        return np.where(found.real > 0, 0.0, np.where(found.real < aft, aft, found))

    def _crossing(self, multipliers: Numbers) -> Numbers:
        """(s,), m, where heave is 0 on the line through the nodes beside it."""
        heave = self.alone.solve(Changes(multipliers[:, self.of])).movements[:, 0]
        crosses = np.diff(np.sign(heave.real), axis=1) != 0
        at = np.where(crosses.any(axis=1), crosses.argmax(axis=1), np.abs(heave).argmin(axis=1))
        at, row = np.minimum(at, len(self.along) - 2), np.arange(len(heave))
        slope = (heave[row, at + 1] - heave[row, at]) / (self.along[at + 1] - self.along[at])
        return np.asarray(self.along[at] - heave[row, at] / slope)

    def rigid_roll(self, front: FrontEnd, virtual: FloatArray) -> FloatArray:
        """(m,), what virtual loads read of a unit roll of the whole boat that leaves all other supports where they are."""
        platform = front.boat.platform
        if platform is None:
            return np.zeros(len(virtual))
        middle = front.frame.nodes[front.frame.node_index[middle_node(platform.foremost.name)]]
        rolled = np.zeros((len(front.frame.nodes), 6))
        rolled[:, 1], rolled[:, HEAVE], rolled[:, ROLL] = (
            middle[2] - front.frame.nodes[:, 2],
            front.frame.nodes[:, 1],
            1.0,
        )
        return np.asarray(np.tensordot(virtual, rolled, 2))

    def between(self, multipliers: Numbers) -> Numbers:
        """(s, i), which adds to 1: by what nodes the twist centre of each variant is interpolated."""
        first, same = distinct_rows(multipliers[:, self.of])
        x = self.twist_centre(multipliers[first])[same]
        at = np.clip(np.searchsorted(-self.nodes, -x.real) - 1, 0, len(self.nodes) - 2)
        part = (x - self.nodes[at]) / (self.nodes[at + 1] - self.nodes[at])
        between = np.zeros((len(x), len(self.nodes)), dtype=part.dtype)
        row = np.arange(len(x))
        between[row, at], between[row, at + 1] = 1 - part, part
        return between


def _roll_support(front: FrontEnd, loads: Loads) -> FloatArray:
    """(l,), N, half the difference of what the springs of the roll support put on the port and the starboard hull."""
    frame: Frame = front.frame
    yoke = frame.node_index[ROLL_SUPPORT]
    springs = np.flatnonzero(frame.spring_ends[:, 1] == yoke)
    # from port to starboard; a spring puts its natural force on its first node
    springs = springs[np.argsort(-frame.nodes[frame.spring_ends[springs, 0], 1])]
    force = solve(front.prepared.all_cables_taut(), loads).natural[:, len(frame.ends) + springs, HEAVE]
    return np.asarray(force @ SIGNS / 2)


__all__ = ["MovingBalance"]
