"""What every kind of joint gives: its stiffness, in words and as springs; its parts with their margins; larger sizes of it."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Annotated

import numpy as np
from pydantic import Field

from femcore.base.arrays import FloatArray
from femcore.frame.builder import End
from models.strength.design_variable import DesignVariable
from models.strength.lugs.play import Play, PlayState
from models.strength.margins import Check, SafetyFactors, failure_load_factor, not_checked
from models.strength.remarks import Remark
from models.strength.springs import REL_TOL_ZERO_STIFFNESS
from models.strength.welds.weld_fatigue import WeldStresses
from models.tables.kinds import KindTable

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
    matrix  : (6, 6), along the same directions: stiffness in place of the finite springs where they are coupled
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

    def spring(self, direction: str) -> float:
        """N/m or N·m/rad, of one direction with the others held: inf rigid, 0 free."""
        return float(self.springs[DIRECTIONS.index(direction)])

    def own_stiffness(self, direction: str) -> float:
        """N/m or N·m/rad, of one direction while the others are free to follow: 1/F_ii of the flexibility F, inf rigid, 0 free.

        It is the spring where nothing couples it. Of straps or rings beside the joint's point it is the stiffness in roll about
        their own elastic centre, which no choice of the point changes; of a pin beside it, nothing about the pin.
        """
        at = DIRECTIONS.index(direction)
        if self.matrix is None or not np.isfinite(self.springs[at]):
            return float(self.springs[at])
        return float(self._released([at])[1][0, 0])

    def is_coupled(self, direction: str) -> bool:
        """Whether a movement in one direction also loads another that is not rigid."""
        at = DIRECTIONS.index(direction)
        if self.matrix is None or not np.isfinite(self.springs[at]):
            return False
        others = np.isfinite(self.springs) & (np.arange(6) != at)
        return bool(np.any(self.matrix[at, others]))

    def with_spring(self, direction: str, stiffness: float) -> JointStiffness:
        """The same joint with another own stiffness in one direction; ValueError where it is not in boat axes."""
        return self.with_springs({direction: stiffness})

    def with_springs(self, stiffnesses: Mapping[str, float]) -> JointStiffness:
        """The same joint with another own stiffness, N/m or N·m/rad, in some directions; ValueError where it is not in boat axes.

        K′ = K − S + diag(k), S the stiffness in these directions with the others free to follow (the Schur complement). So
        k = own stiffness gives the joint itself, 0 one that is free there, inf a rigid one, and the coupling of the other
        directions, and with them, is kept. Directions that are changed together are no longer coupled with one another.
        """
        if not self.is_in_boat_axes:
            raise ValueError("a joint with its own axes has no spring in that direction")
        at = [DIRECTIONS.index(direction) for direction in stiffnesses]
        given = np.array(list(stiffnesses.values()), dtype=float)
        springs = self.springs.copy()
        springs[at] = given
        if self.matrix is None:
            return JointStiffness(springs, self.axes)
        matrix, _ = self._released(at)
        matrix[at, at] += np.where(np.isfinite(given), given, 0.0)
        coupled = np.isfinite(springs)
        springs[coupled] = np.diag(matrix)[coupled]
        return JointStiffness(springs, self.axes, matrix)

    def _released(self, at: list[int]) -> tuple[FloatArray, FloatArray]:
        """(6, 6) of a coupled joint without its own stiffness in directions `at`, and (n, n), what is taken out of them."""
        matrix = np.array(self.matrix)
        # a direction that is rigid moves nowhere, so that what couples with it does nothing
        follow = [i for i in range(6) if i not in at and np.isfinite(self.springs[i])]
        beside = matrix[np.ix_(at, follow)]
        scale = np.sqrt(np.maximum(np.diag(matrix)[follow], np.finfo(float).tiny))
        inverse = np.linalg.pinv(
            matrix[np.ix_(follow, follow)] / scale / scale[:, None], REL_TOL_ZERO_STIFFNESS, hermitian=True
        )
        kept = (beside / scale) @ inverse @ (beside / scale).T
        own = matrix[np.ix_(at, at)] - kept
        own[np.abs(own) <= REL_TOL_ZERO_STIFFNESS * np.sqrt(np.outer(*[np.diag(matrix)[at]] * 2))] = 0.0
        matrix[np.ix_(at, at)] = kept
        return matrix, own

    def end(self, offset: FloatArray, side: int) -> End:
        """The crossbeam's end at that side: 0 port, 1 starboard (mirrored)."""
        axes = self.axes * MIRROR if side else self.axes
        x, y, z = (float(a) for a in offset)
        matrix = self.matrix if self.matrix is None or not side else self.matrix * COUPLING_MIRROR
        return End((x, y, z), tuple(float(k) for k in self.springs), axes, matrix)


LOAD_MIRROR = np.array([1.0, -1.0, 1.0, -1.0, 1.0, -1.0])
"""What turns a force and a moment on the starboard joint into those that its mirror image, the port one, would feel."""
SIDE_NAMES = ("port", "starboard")


def as_port_loads(loads: FloatArray) -> tuple[FloatArray, FloatArray]:
    """(cases, 6) each, N and N·m: of loads (cases, 2, 6) those of the port joint, and those of the starboard one mirrored."""
    port, starboard = loads.swapaxes(0, 1)
    return port, starboard * LOAD_MIRROR


ALL_PARTS = "all parts"
"""The part of a joint that describes none."""


def without_side(part: str) -> str:
    """A part's name as it is on both sides: ‘port pin’ is a pin."""
    side, _, rest = part.partition(" ")
    return rest if side in SIDE_NAMES else part


@dataclass(frozen=True, slots=True)
class FailureMoment:
    """A moment alone, N·m, at which the first part of a joint reaches its limit, no factor taken; and which ("part: check")."""

    moment: float
    part: str


class Joint(KindTable):
    """A way to join the crossbeam to both hulls."""

    name: Annotated[str, Field(min_length=1, max_length=100)]
    note: str = ""
    candidate: Annotated[
        bool,
        Field(
            strict=True,
            description="whether the decision is between this joint and others so marked; where none is, the candidates are the "
            "joints whose parts are described",
        ),
    ] = False

    @abstractmethod
    def stiffness(self) -> JointStiffness:
        """The six springs of the port joint."""

    @abstractmethod
    def words(self) -> str:
        """What the joint is, in one line."""

    def port_checks(self, loads: FloatArray, factors: SafetyFactors) -> tuple[Check, ...]:  # noqa: ARG002  (kinds with parts use them)
        """Checks of all parts of the port joint under loads (cases, 6) that the beam puts on the hull, boat axes."""
        return (
            not_checked(
                ALL_PARTS,
                "strength",
                len(loads),
                "the joint is entered by its stiffness; its parts are not described",
            ),
        )

    @cached_property
    def describes_parts(self) -> bool:
        """Whether any of its parts is described, so that something of it is checked or names the data that it lacks."""
        return any(check.part != ALL_PARTS for check in self.port_checks(np.zeros((1, 6)), SafetyFactors()))

    def energy_by_part(self, loads: FloatArray) -> Mapping[str, FloatArray]:  # noqa: ARG002  (as above)
        """Part → (cases,), J, of the port joint under loads (cases, 6); empty where no parts are described."""
        return {}

    def design_variables(self) -> tuple[DesignVariable[Joint], ...]:
        """What a builder can raise, in the order in which it is tried; none where no parts are described."""
        return ()

    def masses(self) -> Mapping[str, float]:
        """kg, by part, of the fitting on one hull, as far as its parts are described; empty where none is."""
        return {}

    def remarks(self, loads: FloatArray) -> tuple[Remark, ...]:  # noqa: ARG002  (as above)
        """What no margin says of its parts, under loads (cases, 2, 6), port then starboard; none where none are described."""
        return ()

    def weld_stresses(self, loads: FloatArray) -> tuple[WeldStresses, ...]:  # noqa: ARG002  (as above)
        """Nominal stresses of the port joint's fillet welds under loads (cases, 6), for fatigue; none where it has none."""
        return ()

    def play(self, loads: FloatArray) -> tuple[Play, PlayState] | None:  # noqa: ARG002  (as above)
        """Of the port joint's pin in its holes, and what loads (cases, 6) make of it; None: no play."""
        return None

    def plays(self, loads: FloatArray) -> tuple[Play, tuple[PlayState, PlayState]] | None:
        """The same of both joints under loads (cases, 2, 6), port then starboard, boat axes."""
        port, starboard = map(self.play, as_port_loads(loads))
        return None if port is None or starboard is None else (port[0], (port[1], starboard[1]))

    @property
    def kind_name(self) -> str:
        """The kind's name."""
        return str(getattr(self, "kind", "nameless"))

    def checks(self, loads: FloatArray, factors: SafetyFactors) -> tuple[Check, ...]:
        """Checks of both joints under loads (cases, 2, 6), port then starboard, boat axes, as `readings.joint_loads` has them.

        The starboard joint is the port one's mirror image, and so are its loads.
        """
        cases = len(loads)
        # both joints' loads are checked as cases of one: half as many calls, which is what few cases take most time for
        both = self.port_checks(np.concatenate(as_port_loads(loads)), factors)
        return tuple(
            replace(check.in_cases(slice(side * cases, (side + 1) * cases)), part=f"{name} {check.part}")
            for side, name in enumerate(SIDE_NAMES)
            for check in both
        )

    def moment_at_failure(self, direction: str) -> FailureMoment | None:
        """The moment in "roll", "pitch" or "yaw" at the joint's point that fails it; None where nothing is checked under it."""
        unit = np.zeros((1, 6))
        unit[0, DIRECTIONS.index(direction)] = 1.0
        known = [check for check in self.port_checks(unit, SafetyFactors()) if check.kind == "checked"]
        if not known:
            return None
        load_factor, names = failure_load_factor(known)
        return FailureMoment(float(load_factor[0]), names[0]) if np.isfinite(load_factor[0]) else None
