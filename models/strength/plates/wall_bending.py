"""The wall under a base plate, in bending under its loads: the wall of a round beam, or a flat panel.

Axes of an attachment : 1 along the beam, 2 off its wall, 3 around it.

Round beam: a ring of radius R to the middle of the wall, as long as the foot and 0.78 √(R t) beyond it at both sides (L.P. Zick,
The Welding Journal 30 (1951) 435s, 1.56 √(R t) in all; from memory). The foot is a rigid arc of it. A pull P off the ring, a
force H around it and a couple C about the beam's axis are balanced by the shear flow that beam theory gives a thin tube. With β
from the place opposite the foot, α where its edge begins:

    pull      M = A + B cos β + (P R/2π) β sin β,                            ∫M = ∫M cos β = 0 over the arc
    H and C   M = −S R sin β + ((R H − C)/2π)(β − sin β) − (H R/2π)(sin β − β cos β),    ∫M sin β = 0

(derived; for a foot without width 3 P R/4π, as R.J. Roark has it, and C/2). Greatest moments are added without regard to their
places. Flat panel: held at a radius around a disc of the foot's area (`ring_checks.disc_edge_flows`).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from femcore.base.arrays import FloatArray
from femcore.base.errors import InputFault
from femcore.laminates import Laminate
from femcore.materials import Metal
from models.strength.bonding.ring import TubeWall
from models.strength.bonding.ring_checks import disc_edge_flows, skin_check
from models.strength.bounds import require_larger, require_positive
from models.strength.first_ply import first_ply_check, with_all_signs
from models.strength.margins import Check, SafetyFactors, checked, not_checked
from models.strength.plates.disc import IsotropicPlate

RING_LENGTH_FACTOR = 1.56
"""Of √(R t): how much longer than the foot the ring is that works with it."""
RING_POINTS = 361
"""Points around the ring at which its bending is evaluated."""
MAX_HALF_WIDTH_RATIO = 0.999
"""Of the beam's radius: half of a foot that reaches round the beam counts as no more."""
WALL_BENDING = "bent under the foot"


@dataclass(frozen=True, eq=False)
class SupportingWall:
    """A wall of a laminate (x along the beam) or of a metal, `thickness` m.

    diameter       : m, outside, of a round beam, or None
    support_radius : m, from the base plate's middle to what holds a flat panel, or None
    expansion      : 1/K, in place of that of the laminate or metal
    """

    laminate: Laminate | None = None
    metal: Metal | None = None
    thickness: float = 0.0
    diameter: float | None = None
    support_radius: float | None = None
    expansion: float | None = None

    def __post_init__(self) -> None:
        require_positive("wall", thickness=self.thickness)
        if self.diameter is not None:
            require_larger(
                "wall", ("twice its thickness", 2 * self.thickness), ("the beam's diameter", self.diameter)
            )

    def check_size(self, size: tuple[float, float]) -> None:
        """InputFault where a foot of that size, m, reaches beyond what holds a flat wall."""
        if (
            self.diameter is None
            and self.support_radius is not None
            and self.support_radius <= equivalent_disc_radius(size)
        ):
            cure = "give the distance from the base plate's middle to what supports the wall"
            raise InputFault("wall", "held_at is within the base plate", cure)

    @property
    def axial_stiffness(self) -> tuple[float, float]:
        """N/m, E t along the beam and around it."""
        wall = self.tube_wall
        assert wall.around is not None  # noqa: S101  (known of a wall by its material)
        return wall.along, wall.around

    @property
    def tube_wall(self) -> TubeWall:
        """As the wall of a thin tube, the beam's axis along it."""
        wall = TubeWall.of(self.laminate, self.metal, self.thickness)
        return wall if self.expansion is None else replace(wall, expansion=(self.expansion, self.expansion))

    @property
    def plate(self) -> IsotropicPlate:
        """As a plate around a disc."""
        if self.laminate is not None:
            return IsotropicPlate.of_laminate(self.laminate)
        assert self.metal is not None  # noqa: S101  (one of both)
        return IsotropicPlate.of_metal(self.metal, self.thickness)


@dataclass(frozen=True)
class ArcBending:
    """Greatest |M| of a ring beside a rigid arc, over what it comes from: `pull` of P R, `around` of H R, `couple` of C;
    `hoop`: greatest |N| over P.
    """

    pull: float
    around: float
    couple: float
    hoop: float


@lru_cache(maxsize=256)
def arc_bending(half: float) -> ArcBending:
    """Of a ring whose foot covers `half`, rad, to either side, below π."""
    a = math.pi - half
    s, c, s2, c2 = math.sin(a), math.cos(a), math.sin(2 * a), math.cos(2 * a)
    beta = np.linspace(0.0, a, RING_POINTS)
    sine, cosine = np.sin(beta), np.cos(beta)
    first, second = s - a * c, -a * c2 / 4 + s2 / 8  # ∫β sin β, ∫β sin β cos β
    A, B = np.linalg.solve([[a, s], [s, a / 2 + s2 / 4]], [-first / (2 * math.pi), -second / (2 * math.pi)])
    pull = A + B * cosine + beta * sine / (2 * math.pi)
    hoop = (B - 1 / math.pi) * cosine + beta * sine / (2 * math.pi)
    square = a / 2 - s2 / 4  # ∫sin²

    def antisymmetric(flow: float, force: float) -> FloatArray:
        own = (flow * (beta - sine) - force * (sine - beta * cosine)) / (2 * math.pi)
        work = (flow * (first - square) - force * (square - second)) / (2 * math.pi)
        return np.asarray(own - work / square * sine)

    return ArcBending(*(
        float(np.abs(m).max())
        for m in (pull, antisymmetric(1.0, 1.0), antisymmetric(-1.0, 0.0), hoop)
    ))  # fmt: skip


def wall_bending_checks(
    part: str, wall: SupportingWall, size: tuple[float, float], loads: FloatArray, factors: SafetyFactors
) -> tuple[Check, ...]:
    """The wall under a foot of `size` (along, across), m, under loads (cases, 6) at the foot's middle."""
    if wall.diameter is not None:
        return (_tube_wall_check(part, wall, size, loads, factors),)
    if wall.support_radius is None:
        why = "neither the beam's diameter nor what holds a flat wall (held_at) is given"
        return (not_checked(part, WALL_BENDING, len(loads), why),)
    return (_flat_wall_check(part, wall, equivalent_disc_radius(size), wall.support_radius, loads, factors),)


def equivalent_disc_radius(size: tuple[float, float]) -> float:
    """m, of the disc that has a foot's area."""
    return math.sqrt(size[0] * size[1] / math.pi)


def ring_flows(
    wall: SupportingWall, size: tuple[float, float], loads: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """(cases,) each: bending M_y, N, force N_y and shear N_xy, N/m, sizes, in a round wall beside a foot; y around the beam."""
    t, D = wall.thickness, wall.diameter or math.nan
    R = (D - t) / 2
    arc = arc_bending(math.asin(min(size[1] / D, MAX_HALF_WIDTH_RATIO)))
    b = size[0] + RING_LENGTH_FACTOR * math.sqrt(R * t)
    F1, F2, F3, M1, M2, M3 = np.abs(np.asarray(loads, dtype=float)).T
    pull, around = F2 / b + 6 * M3 / b**2, F3 / b + 6 * M2 / b**2
    bending = R * (arc.pull * pull + arc.around * around) + arc.couple * M1 / b
    return bending, arc.hoop * pull + around, F1 / (2 * b)


def _tube_wall_check(
    part: str, wall: SupportingWall, size: tuple[float, float], loads: FloatArray, factors: SafetyFactors
) -> Check:
    bending, force, shear = ring_flows(wall, size, loads)
    return _stress_check(
        part, wall, force, shear, bending, factors, "ring with a rigid arc (derived); Zick 1951 (from memory)"
    )


def _flat_wall_check(
    part: str,
    wall: SupportingWall,
    r: float,
    support_radius: float,
    loads: FloatArray,
    factors: SafetyFactors,
) -> Check:
    if wall.laminate is not None:
        return skin_check(part, WALL_BENDING, wall.laminate, (r, support_radius), loads, factors)
    torque, force, bent = disc_edge_flows(loads, r, support_radius)
    return _stress_check(part, wall, force, torque + force, bent, factors, "disc in a plate, clamped")


def _stress_check(
    part: str,
    wall: SupportingWall,
    force: FloatArray,
    shear: FloatArray,
    bending: FloatArray,
    factors: SafetyFactors,
    source: str,
) -> Check:
    """First yield or first ply under N_y, N_xy, N/m, and M_y, N, of all signs."""
    if wall.laminate is None:
        assert wall.metal is not None  # noqa: S101  (one of both)
        t = wall.thickness
        stress = np.sqrt((6 * bending / t**2 + force / t) ** 2 + 3 * (shear / t) ** 2)
        return checked(
            part, WALL_BENDING, stress, wall.metal.proof, "Pa", factors.safety_factor("yielding"), source
        )
    resultants = with_all_signs(N_y=force, N_xy=shear, M_y=bending)
    return first_ply_check(part, WALL_BENDING, wall.laminate, resultants, factors, source)
