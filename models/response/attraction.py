"""How a joint's own stiffness decides what it attracts: the exact curve of a linear structure.

Seen from one spring k, the rest of a linear structure is one flexibility, so what the joint carries under a racking load is

    M(k) = (M_free · k_half + M_rigid · k) / (k + k_half)      (the two equal joints of a mirrored boat act as one)

k is the joint's own stiffness in that direction while its other directions follow (`JointStiffness.own_stiffness`), so that what
couples it with them stays: in roll, k is the stiffness about the elastic centre of straps or rings. M is the moment at the
joint's point. M_free, at k = 0, is then the vertical force times the arm of that centre; it is none where nothing couples.

1/(M_rigid − M) is linear in k, so three values give the curve: at k = ∞, and at two others. All, in pitch and in roll, come from
one reduced frame (`femcore.solvers.reduced_frame`). Attraction is M over that of a joint
that is rigid in all directions, as in every table. The martingale counts as taut throughout.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Annotated, Any

import numpy as np
from pydantic import Field

from femcore.base.arrays import Answer, FloatArray
from femcore.base.written import Stiffness, Unwritten, written
from femcore.frame.builder import RIGID
from femcore.frame.frame import Loads
from femcore.solvers.frame_changes import Changes
from femcore.solvers.reduced_frame import ReducedFrame
from femcore.solvers.solution import solve
from models.boat.boat import Boat
from models.joints import DIRECTIONS, JointStiffness
from models.response.front_end import SIDES, FrontEnd, build
from models.response.joint_loads import joint_loads
from models.response.stiffness_names import REDUCED_JOINT, springs_of_joints

if TYPE_CHECKING:
    from matplotlib.axes import Axes

REL_TOL_RACKING_MOMENT = 1e-9
"""Of the racking force times the bow's length: a rigid joint that carries less moment carries none, and has no curve. And of the
moment with that direction rigid: a smaller one where it is free is rounding."""


@dataclass(frozen=True, slots=True)
class AttractionCurve:
    """What the joints carry in one direction against their own stiffness k in it, all else as in the joint:
    (free · k_half + rigid · k) / (k + k_half).

    direction          : "pitch" (torque) or "roll" (vertical bending)
    rigid_moment       : N·m on the port hull per N of racking force (up at the port stem), that direction rigid, boat axes
    k_half             : N·m/rad, the stiffness half way to that from `free_moment`
    joint_stiffness    : N·m/rad, the joint's own, its other directions free to follow: inf rigid, 0 free
    free_moment        : N·m likewise, that direction free: of the vertical force beside the joint's point, where they are coupled
    rigid_joint_moment : N·m likewise, all directions rigid; left out: `rigid_moment`
    """

    direction: Unwritten[str]
    rigid_moment: Annotated[
        float,
        Field(
            serialization_alias="rigid",
            description="N·m on the port hull per N of racking force, this direction rigid; boat axes",
        ),
    ]
    k_half: Annotated[float, Field(description="N·m/rad, the stiffness half way from free to rigid")]
    joint_stiffness: Annotated[
        Stiffness,
        Field(
            serialization_alias="own",
            description="N·m/rad, the joint's own stiffness, its other directions free to follow; 0 free",
        ),
    ]
    free_moment: Annotated[
        float,
        Field(
            serialization_alias="free",
            description="N·m likewise, this direction free; 0 but where it is coupled with other directions",
        ),
    ] = 0.0
    rigid_joint_moment: Unwritten[float | None] = None

    @written("N·m likewise, all directions rigid", key="rigid_joint")
    def whole_moment(self) -> float:
        """N·m per N, of the joint that attraction is measured against."""
        return self.rigid_moment if self.rigid_joint_moment is None else self.rigid_joint_moment

    @written("moment of the joint over that of the rigid joint under the same force", key="attraction")
    def own_attraction(self) -> float:
        """At the joint's own stiffness."""
        return float(self.attraction(self.joint_stiffness))

    def moment(self, stiffness: Any) -> Any:  # noqa: ANN401  (number or array)
        """N·m on the port hull per N of racking force; the starboard hull mirrors it."""
        k = np.asarray(stiffness, dtype=float)
        with np.errstate(invalid="ignore"):
            of_rigid = np.where(np.isinf(k), 1.0, k / (k + self.k_half))[()]
        return self.free_moment + (self.rigid_moment - self.free_moment) * of_rigid

    def attraction(self, stiffness: Any) -> Any:  # noqa: ANN401  (number or array)
        """M(k) over the moment of a joint that is rigid in all directions: more than 1 where the others are softer."""
        return self.moment(stiffness) / self.whole_moment

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


def reduced_racking(boat: Boat) -> ReducedFrame:
    """The front end under unit racking, every cable taut, reduced to its joints: the curves of all joints follow from it."""
    front = build(boat, REDUCED_JOINT)
    taut, places = front.prepared.all_cables_taut(), list(front.joint_elements.items())
    return ReducedFrame.of(taut, unit_racking_loads(front), places=places)


@dataclass(frozen=True, eq=False)
class RackedBoat(Answer):
    """A boat whose joints' curves are wanted: its reduced frame is worked out once, with the first of them."""

    boat: Boat

    def curves(self, joint: JointStiffness) -> dict[str, AttractionCurve | None]:
        """`attraction_curves` of a joint."""
        return attraction_curves(self.boat, joint, self._reduced)

    @cached_property
    def _reduced(self) -> ReducedFrame:
        return reduced_racking(self.boat)


def attraction_curves(
    boat: Boat, joint: JointStiffness, reduced: ReducedFrame | None = None
) -> dict[str, AttractionCurve | None]:
    """The curves of a joint in "pitch" and "roll"; `reduced`: of `reduced_racking`, where that is kept for several joints."""
    if not joint.is_in_boat_axes:
        return {"pitch": None, "roll": None}
    beam, spacing = boat.crossbeam, boat.bows.spacing
    trials = {"pitch": beam.GJ / spacing, "roll": beam.EI_vertical / spacing}
    reduced = reduced or reduced_racking(boat)
    rigid_joint = JointStiffness.in_boat_axes(np.full(6, RIGID))
    curves: dict[str, AttractionCurve | None] = {}
    for direction, trial in trials.items():

        def moments(stiffnesses: list[float], direction: str = direction) -> list[float]:
            return _moments_with_joints(
                reduced, [joint.with_spring(direction, k) for k in stiffnesses], direction
            )

        rigid_moment, of_trial = moments([RIGID, trial])
        (of_rigid_joint,) = _moments_with_joints(reduced, [rigid_joint], direction)
        least = REL_TOL_RACKING_MOMENT * boat.bows.length
        if min(abs(rigid_moment), abs(of_rigid_joint)) < least:
            curves[direction] = None
            continue
        if joint.is_coupled(direction):
            free_moment, k_half = _coupled_curve(moments, rigid_moment, trial)
        else:
            free_moment, k_half = 0.0, trial * (rigid_moment / of_trial - 1)
        curves[direction] = AttractionCurve(
            direction, rigid_moment, k_half, joint.own_stiffness(direction), free_moment, of_rigid_joint
        )
    return curves


def _coupled_curve(
    moments: Callable[[list[float]], list[float]], rigid_moment: float, trial: float
) -> tuple[float, float]:
    """(M_free, k_half) of M(k) from its value at ∞ and two others, taken on both sides of a first estimate of k_half."""
    pair = [trial, 10 * trial]
    for _ in range(2):
        first, second = (1 / (rigid_moment - moment) for moment in moments(pair))
        slope = (second - first) / (pair[1] - pair[0])
        k_half = first / slope - pair[0]
        pair = [k_half / 10, 10 * k_half]
    free_moment = rigid_moment - 1 / (slope * k_half)
    is_rounding = abs(free_moment) < REL_TOL_RACKING_MOMENT * abs(rigid_moment)
    return (0.0 if is_rounding else free_moment), k_half


def _moments_with_joints(reduced: ReducedFrame, joints: list[JointStiffness], direction: str) -> list[float]:
    """As `racking_moment`, of a front end with each of these joints in place of its own."""
    found = reduced.solve(Changes(springs=springs_of_joints(joints))).end_forces[:, 0, :, 3:]
    return [_racking_component(moments, direction) for moments in found]


def _racking_component(moments: FloatArray, direction: str) -> float:
    """Of moments (2, 3) on the port and the starboard hull: pitch moments rack where opposite, roll moments where equal."""
    port, starboard = moments[:, DIRECTIONS.index(direction) - 3]
    return float(port - starboard if direction == "pitch" else port + starboard) / 2
