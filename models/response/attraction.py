"""How a joint's own spring decides what it attracts: the exact curve of a linear structure.

Seen from one spring k, the rest of a linear structure is one flexibility, so what the spring carries under a racking load is

    M(k) = M_rigid · k / (k + k_half)          (the two equal joints of a mirrored boat act as one)

1/M is linear in 1/k, so two values give the curve: at k = ∞, and at any other. Both, in pitch and in roll, come from the unit
solutions of one frame, whose joints have springs there of the beam's own order. The martingale counts as taut throughout.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from femcore.base.arrays import FloatArray
from femcore.elements.beam import end_springs, local_modes, stiffness_of_beams
from femcore.frame.builder import RIGID
from femcore.frame.frame import Loads
from femcore.solvers.low_rank_update import LowRankUpdate
from femcore.solvers.solution import solve
from models.boat.boat import Boat
from models.joints import DIRECTIONS, JointStiffness
from models.response.front_end import SIDES, FrontEnd, build
from models.response.joint_loads import joint_loads

if TYPE_CHECKING:
    from matplotlib.axes import Axes

REL_TOL_RACKING_MOMENT = 1e-9
"""Of the racking force times the bow's length: a rigid joint that carries less moment carries none, and has no curve."""


@dataclass(frozen=True, slots=True)
class AttractionCurve:
    """What the joints carry in one direction against their stiffness in it, all else as in the joint.

    direction       : "pitch" (torque) or "roll" (vertical bending)
    rigid_moment    : N·m on the port hull per N of racking force (up at the port stem), that direction rigid, boat axes
    k_half          : N·m/rad, the stiffness that carries half of that
    joint_stiffness : N·m/rad, the joint's own: inf rigid, 0 free
    """

    direction: str
    rigid_moment: float
    k_half: float
    joint_stiffness: float

    def attraction(self, stiffness: Any) -> Any:  # noqa: ANN401  (number or array)
        """M(k)/M_rigid."""
        k = np.asarray(stiffness, dtype=float)
        with np.errstate(invalid="ignore"):
            return np.where(np.isinf(k), 1.0, k / (k + self.k_half))[()]

    def moment(self, stiffness: Any) -> Any:  # noqa: ANN401  (number or array)
        """N·m on the port hull per N of racking force; the starboard hull mirrors it."""
        return self.rigid_moment * self.attraction(stiffness)

    def plot(self, axes: Axes | None = None) -> Axes:
        """Draw it, with the joint's own and the half stiffness marked, into `axes` or a new figure (`.figure` of the result)."""
        from models.response.attraction_plot import plot_attraction  # noqa: PLC0415  (start-up time)

        return plot_attraction(self, axes)


def unit_racking_loads(front: FrontEnd, force: float = 1.0) -> Loads:
    """One case, "racking": `force` up at the port stem and down at the starboard one."""
    loads = Loads.zeros(front.frame, "racking")
    for side, sign in zip(SIDES, (1.0, -1.0), strict=True):
        loads.nodal[0, front.frame.node_index[front.places[f"{side} stem"].node], 2] += sign * force
    return loads


def racking_moment(boat: Boat, joint: JointStiffness, direction: str) -> float:
    """N·m on the port hull per N of racking force: the part of "pitch" or "roll" moment that racks."""
    front = build(boat, joint)
    solution = solve(front.prepared.all_cables_taut(), unit_racking_loads(front))
    return _racking_component(joint_loads(solution)[0, :, 3:], direction)


def attraction_curve(boat: Boat, joint: JointStiffness, direction: str) -> AttractionCurve | None:
    """The curve of a joint in "pitch" or "roll"; None where its springs are not in boat axes or it carries nothing there."""
    return attraction_curves(boat, joint)[direction]


def attraction_curves(boat: Boat, joint: JointStiffness) -> dict[str, AttractionCurve | None]:
    """The curves of a joint in "pitch" and "roll"."""
    if not joint.is_in_boat_axes:
        return {"pitch": None, "roll": None}
    beam, spacing = boat.crossbeam, boat.bows.spacing
    trials = {"pitch": beam.GJ / spacing, "roll": beam.EI_vertical / spacing}
    trial_joint = joint
    for direction, trial in trials.items():
        trial_joint = trial_joint.with_spring(direction, trial)
    front = build(boat, trial_joint)
    update = LowRankUpdate.for_elements(
        list(front.joint_elements), front.prepared.all_cables_taut(), unit_racking_loads(front)
    )
    curves: dict[str, AttractionCurve | None] = {}
    for direction, trial in trials.items():
        rigid_moment, carried = (
            _moment_with_joint(front, update, joint.with_spring(direction, k), direction)
            for k in (RIGID, trial)
        )
        joint_stiffness = float(joint.springs[DIRECTIONS.index(direction)])
        is_negligible = abs(rigid_moment) < REL_TOL_RACKING_MOMENT * boat.bows.length
        curves[direction] = (
            None
            if is_negligible
            else AttractionCurve(
                direction, rigid_moment, trial * (rigid_moment / carried - 1), joint_stiffness
            )
        )
    return curves


def _moment_with_joint(
    front: FrontEnd, update: LowRankUpdate, joint: JointStiffness, direction: str
) -> float:
    """As `racking_moment`, of a front end with that joint in place of its own."""
    frame, elements, sides = (
        front.with_joint(joint),
        list(front.joint_elements),
        list(front.joint_elements.values()),
    )
    k = stiffness_of_beams(frame, end_springs(frame))[elements]
    ends = np.einsum("eri,er->ei", local_modes(frame.length[elements]), update.forces(k)[0]).reshape(2, 4, 3)
    on_beam = ends[[0, 1], [2 * side + 1 for side in sides]]
    return _racking_component(-np.einsum("eij,ei->ej", frame.axes[elements], on_beam), direction)


def _racking_component(moments: FloatArray, direction: str) -> float:
    """Of moments (2, 3) on the port and the starboard hull: pitch moments rack where opposite, roll moments where equal."""
    port, starboard = moments[:, DIRECTIONS.index(direction) - 3]
    return float(port - starboard if direction == "pitch" else port + starboard) / 2
