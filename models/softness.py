"""How a joint's own spring decides what it attracts: the exact curve of a linear structure.

Seen from one spring k, the rest of a linear structure is one flexibility, so what the spring carries under a racking load is

    M(k) = M_rigid · k / (k + k_half)          (the two equal joints of a mirrored boat act as one)

1/M is linear in 1/k, so two solves give the curve: k = ∞, and any other. The martingale counts as taut throughout.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from femcore.draft import RIGID
from femcore.frame import Loads
from femcore.solution import solve
from models.boat_file import Boat
from models.front_end import SIDES, FrontEnd, build
from models.joints import DIRECTIONS, JointStiffness
from models.readings import joint_loads

NEGLIGIBLE = 1e-9


@dataclass(frozen=True, slots=True)
class SpringCurve:
    """What the joints carry in one direction against their stiffness in it, all else as in the joint.

    direction : "pitch" (torque) or "roll" (vertical bending)
    rigid     : N·m on the port hull per N of racking force (up at the port stem), that direction rigid, boat axes
    k_half    : N·m/rad, the stiffness that carries half of that
    own       : N·m/rad, the joint's own stiffness: inf rigid, 0 free
    """

    direction: str
    rigid: float
    k_half: float
    own: float

    def attraction(self, stiffness: Any) -> Any:  # noqa: ANN401  (number or array)
        """M(k)/M_rigid."""
        k = np.asarray(stiffness, dtype=float)
        with np.errstate(invalid="ignore"):
            return np.where(np.isinf(k), 1.0, k / (k + self.k_half))[()]

    def moment(self, stiffness: Any) -> Any:  # noqa: ANN401  (number or array)
        """N·m on the port hull per N of racking force; the starboard hull mirrors it."""
        return self.rigid * self.attraction(stiffness)


def racking_pair(front: FrontEnd, force: float = 1.0) -> Loads:
    """One case, "racking": `force` up at the port stem and down at the starboard one."""
    loads = Loads.none(front.frame, "racking")
    for side, sign in zip(SIDES, (1.0, -1.0), strict=True):
        loads.nodal[0, front.frame.node_index[front.places[f"{side} stem"].node], 2] += sign * force
    return loads


def racking_moment(boat: Boat, joint: JointStiffness, direction: str) -> float:
    """N·m on the port hull per N of racking force: the part of "pitch" or "roll" moment that racks.

    Racking is antisymmetric: pitch moments are opposite at the two joints, roll moments alike.
    """
    front = build(boat, joint)
    solution = solve(front.ready.all_taut(), racking_pair(front))
    port, starboard = joint_loads(solution)[0, :, DIRECTIONS.index(direction)]
    return float(port - starboard if direction == "pitch" else port + starboard) / 2


def spring_curve(boat: Boat, joint: JointStiffness, direction: str) -> SpringCurve | None:
    """The curve of a joint in "pitch" or "roll"; None where its springs are not in boat axes or it carries nothing there."""
    if not joint.is_in_boat_axes:
        return None
    rigid = racking_moment(boat, joint.with_spring(direction, RIGID), direction)
    arm = boat.bows.length
    if abs(rigid) < NEGLIGIBLE * arm:
        return None
    trial = (boat.crossbeam.GJ if direction == "pitch" else boat.crossbeam.EI_vertical) / boat.bows.spacing
    half = trial * (rigid / racking_moment(boat, joint.with_spring(direction, trial), direction) - 1)
    return SpringCurve(direction, rigid, half, float(joint.springs[DIRECTIONS.index(direction)]))
