"""A rigid joint: crossbeam and hull move and turn as one."""

from __future__ import annotations

from typing import Literal

from femcore.frame.builder import RIGID
from models.joints.base import Joint, JointStiffness


class RigidJoint(Joint):
    """The limit of a bonded joint, which others are compared with; one that is free in another direction can attract more."""

    kind_in_schema = "default"
    kind: Literal["rigid"] = "rigid"

    def stiffness(self) -> JointStiffness:
        """All six rigid."""
        return JointStiffness.in_boat_axes([RIGID] * 6)

    def words(self) -> str:
        """In one line."""
        return "rigid in all six directions"
