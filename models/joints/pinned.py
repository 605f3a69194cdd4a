"""A pinned joint: everything is held but rotation about the pin."""

from __future__ import annotations

from typing import Literal

import numpy as np
from pydantic import field_validator

from femcore.base.errors import fault
from femcore.frame.builder import RIGID
from models.joints.base import Joint, JointStiffness

FREE_ABOUT = {
    (1.0, 0.0, 0.0): "free in vertical bending (pin fore and aft)",
    (0.0, 1.0, 0.0): "free in twist (pin athwart)",
    (0.0, 0.0, 1.0): "free in fore-and-aft bending (pin upright)",
}
"""What a pin along a boat axis leaves free."""
AXIS_CURE = "give the pin's direction in boat axes, such as [1, 0, 0] for a pin fore and aft"


class PinnedJoint(Joint):
    """A pin through lug and beam end, its axis given for the port side in boat axes; free about it, rigid in all else."""

    kind: Literal["pinned"] = "pinned"
    axis: tuple[float, float, float]

    @field_validator("axis", mode="before")
    @classmethod
    def _check_three_numbers(cls, axis: object) -> object:
        if isinstance(axis, list | tuple) and len(axis) == 3:
            return axis
        raise fault(f"{axis!r} is not three numbers", AXIS_CURE)

    @field_validator("axis")
    @classmethod
    def _unit_vector(cls, axis: tuple[float, float, float]) -> tuple[float, float, float]:
        length = float(np.linalg.norm(axis))
        if not (np.isfinite(length) and length > 0):
            raise fault(f"{list(axis)} is no direction", AXIS_CURE)
        x, y, z = (a / length for a in axis)
        return x, y, z

    def stiffness(self) -> JointStiffness:
        """Free about the pin; in boat axes where the pin lies along one of them."""
        pin = np.array(self.axis)
        for direction in range(3):
            if abs(pin[direction]) == 1.0:
                springs = np.full(6, RIGID)
                springs[3 + direction] = 0.0
                return JointStiffness.in_boat_axes(springs)
        side = np.cross(pin, np.eye(3)[np.abs(pin).argmin()])
        side /= np.linalg.norm(side)
        return JointStiffness(
            np.array([RIGID, RIGID, RIGID, 0.0, RIGID, RIGID]), np.array([pin, side, np.cross(pin, side)])
        )

    def words(self) -> str:
        """In one line."""
        x, y, z = (abs(a) for a in self.axis)
        along = "free about a pin along ({:.2g}, {:.2g}, {:.2g})".format(*self.axis)
        return f"{FREE_ABOUT.get((x, y, z), along)}, rigid in all else"
