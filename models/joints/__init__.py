"""Ways to join the crossbeam to the hulls, a module each; `JOINTS` finds them.

A kind gives the six springs of the port joint in boat axes (surge sway heave roll pitch yaw); the starboard joint is its mirror
image. A new kind is a new module here with a subclass of `Joint`.
"""

from __future__ import annotations

import sys

from models.joints.base import DIRECTIONS, Joint, JointStiffness
from models.tables.kinds import find_kinds

JOINTS = find_kinds(sys.modules[__name__], Joint)  # type: ignore[type-abstract]  # the base of its kinds
"""Every kind of joint by its name in a boat file."""

__all__ = ["DIRECTIONS", "JOINTS", "Joint", "JointStiffness"]
