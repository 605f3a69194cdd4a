"""What every kind of joint gives: its stiffness, in words and in six springs."""

from __future__ import annotations

from abc import abstractmethod
from dataclasses import dataclass
from typing import Annotated

import numpy as np
from pydantic import Field

from femcore.documents import Table
from femcore.draft import End
from femcore.frame import FloatArray

DIRECTIONS = ("surge", "sway", "heave", "roll", "pitch", "yaw")
"""Freedoms of a joint in boat axes: along x, y, z, then about them."""

MIRROR = np.array([1.0, -1.0, 1.0])


@dataclass(frozen=True, slots=True, eq=False)
class JointStiffness:
    """Six springs of the port joint, inf rigid and 0 free, along three directions.

    springs : (6,), N/m and N·m/rad, three along and three about the directions
    axes    : (3, 3), the directions as rows in boat axes; the identity: surge sway heave, roll pitch yaw
    """

    springs: FloatArray
    axes: FloatArray

    @classmethod
    def in_boat_axes(cls, springs: FloatArray | list[float]) -> JointStiffness:
        """Six springs, surge sway heave roll pitch yaw."""
        return cls(np.asarray(springs, dtype=float), np.eye(3))

    @property
    def is_in_boat_axes(self) -> bool:
        """Whether the six springs are surge, sway, heave, roll, pitch and yaw."""
        return bool(np.array_equal(self.axes, np.eye(3)))

    def with_spring(self, direction: str, stiffness: float) -> JointStiffness:
        """The same joint with one spring changed; it must be in boat axes."""
        if not self.is_in_boat_axes:
            raise ValueError("a joint with its own axes has no spring in that direction")
        springs = self.springs.copy()
        springs[DIRECTIONS.index(direction)] = stiffness
        return JointStiffness(springs, self.axes)

    def end(self, offset: FloatArray, side: int) -> End:
        """The crossbeam's end at that side: 0 port, 1 starboard (mirrored)."""
        axes = self.axes * MIRROR if side else self.axes
        x, y, z = (float(a) for a in offset)
        return End((x, y, z), tuple(float(k) for k in self.springs), axes)


class Joint(Table):
    """A way to join the crossbeam to both hulls."""

    name: Annotated[str, Field(min_length=1, max_length=100)]
    note: str = ""

    @abstractmethod
    def stiffness(self) -> JointStiffness:
        """The six springs of the port joint."""

    @abstractmethod
    def words(self) -> str:
        """What the joint is, in one line."""
