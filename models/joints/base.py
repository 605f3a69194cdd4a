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
COUPLING_MIRROR = np.kron([[1.0, -1.0], [-1.0, 1.0]], np.ones((3, 3)))
"""Directions mirrored as vectors carry rotations with the wrong sign: what couples them with movements changes its own."""


@dataclass(frozen=True, slots=True, eq=False)
class JointStiffness:
    """Six springs of the port joint, inf rigid and 0 free, along three directions.

    springs : (6,), N/m and N·m/rad, three along and three about the directions
    axes    : (3, 3), the directions as rows in boat axes; the identity: surge sway heave, roll pitch yaw
    matrix  : (6, 6), along the same directions: what stands in place of the finite springs where they are coupled
    """

    springs: FloatArray
    axes: FloatArray
    matrix: FloatArray | None = None

    @classmethod
    def in_boat_axes(cls, springs: FloatArray | list[float]) -> JointStiffness:
        """Six springs, surge sway heave roll pitch yaw."""
        return cls(np.asarray(springs, dtype=float), np.eye(3))

    @classmethod
    def coupled(cls, matrix: FloatArray, rigid: tuple[str, ...] = ()) -> JointStiffness:
        """A full stiffness (6, 6) of the port joint in boat axes at the joint's point; `rigid` names directions beside it."""
        springs = np.diag(matrix).copy()
        springs[[DIRECTIONS.index(word) for word in rigid]] = np.inf
        return cls(springs, np.eye(3), np.asarray(matrix, dtype=float))

    @property
    def is_in_boat_axes(self) -> bool:
        """Whether the six springs are surge, sway, heave, roll, pitch and yaw."""
        return bool(np.array_equal(self.axes, np.eye(3)))

    def with_spring(self, direction: str, stiffness: float) -> JointStiffness:
        """The same joint with one spring changed; it must be in boat axes."""
        if not self.is_in_boat_axes:
            raise ValueError("a joint with its own axes has no spring in that direction")
        springs, at = self.springs.copy(), DIRECTIONS.index(direction)
        springs[at] = stiffness
        matrix = None if self.matrix is None else self.matrix.copy()
        if matrix is not None:
            # the spring that is changed acts alone; the others stay coupled as they are
            matrix[at, :] = matrix[:, at] = 0.0
            matrix[at, at] = stiffness if np.isfinite(stiffness) else 0.0
        return JointStiffness(springs, self.axes, matrix)

    def end(self, offset: FloatArray, side: int) -> End:
        """The crossbeam's end at that side: 0 port, 1 starboard (mirrored)."""
        axes = self.axes * MIRROR if side else self.axes
        x, y, z = (float(a) for a in offset)
        matrix = self.matrix if self.matrix is None or not side else self.matrix * COUPLING_MIRROR
        return End((x, y, z), tuple(float(k) for k in self.springs), axes, matrix)


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
