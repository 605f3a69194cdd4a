"""One ring of a bonded socket: a beam passes a skin and is taped to it all round.

From the beam outwards: beam wall, glue, tape leg along the beam, corner, tape leg along the skin, glue, skin
to a far radius. Axes of a ring: 2 along the beam, 1 and 3 in the plane of the skin; loads (cases, 6) F1 F2
F3 M1 M2 M3 on the beam's side.

The outline has perimeter p and area A (of the glue line around the beam). Per width, a load meets the parts
in series; s is the slip of a lap (`bond.Lap.slip`), K_s and K_y the tape's stiffness in shear and across,
c the corner's free width:

- torsion (M2): shear flow q = T/2A, mean lever 2A/p; part by part 4A²/p over s, over c/K_s; then
  `bonded_annulus.twist`;
- in the plane (F1, F3): shear flow 2F/p at most, as around a tube; p/2 over s, over c/K_s; then
  `bonded_annulus.in_plane`. The beam also bears on the edge of the skin and pulls the tape square off its own
  wall: neither is counted on;
- along the beam (F2): pull F/p per width; p over s of the leg along the beam, over c/K_y; then
  `bonded_annulus.transverse`;
- tilt (M1, M3): pull 2M/(r p) at most; r² p/2 over the same; then `bonded_annulus.tilt`.

r = √(A/π); leg and skin are an annulus of radii r + c and r + c + leg, on a skin held at the far one. The beam
goes on through the skin and has its own twist and stretch all along, under the leg too: the leg counts its slip
alone. What it takes off the beam's wall is left out, which is on the soft side, so that a longer leg, a thicker
tape or skin never softens a ring (Rayleigh). Load comes from one side: a leg `beyond` the skin gets and leaves
it at the same end. (Derived; each formula's limits and the skin's share are checked by finite elements.)
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType

import numpy as np

from femcore.base.arrays import FloatArray
from femcore.base.errors import InputFault
from femcore.laminates import Laminate, condense, free_expansion, wall_stiffness
from femcore.materials import Metal
from models.strength.bonding.bond import Adhesive, Lap
from models.strength.bounds import require_larger, require_positive
from models.strength.plates import bonded_annulus, disc
from models.strength.springs import series_springs

REL_TOL_CIRCLE = 1e-9
"""Of the square of a circle's perimeter: an outline shorter by no more than this is a circle."""


@dataclass(frozen=True)
class Outline:
    """The section of the beam where it passes the skin: `perimeter` m and `area` m² of its outside."""

    perimeter: float
    area: float

    def __post_init__(self) -> None:
        require_positive("socket's outline", perimeter=self.perimeter, area=self.area)
        if self.perimeter**2 < 4 * math.pi * self.area * (1 - REL_TOL_CIRCLE):
            wrong = f"no outline of {self.perimeter:g} m encloses {self.area:g} m²"
            raise InputFault("socket's outline", wrong, "correct perimeter or area")

    @property
    def radius(self) -> float:
        """m, of the circle of the same area."""
        return math.sqrt(self.area / math.pi)


@dataclass(frozen=True)
class TubeWall:
    """A wall of laminate or metal per width: `shear` (G t) and `along` (E t), N/m.

    around, D, thickness : N/m, E t around; N·m, against bending along; m. None where a wall is given by its stiffness alone
    expansion : 1/K, along and around, None where it is not known;   of_metal : whether it is a metal
    """

    shear: float
    along: float
    around: float | None = None
    D: float | None = None
    thickness: float | None = None
    expansion: tuple[float, float] | None = None
    of_metal: bool = False

    @classmethod
    @lru_cache(maxsize=256)
    def of(cls, laminate: Laminate | None, metal: Metal | None, thickness: float) -> TubeWall:
        """A laminate, x along the tube, or a sheet of metal of `thickness`, m."""
        if laminate is not None:
            wall, free = wall_stiffness(laminate), free_expansion(laminate)
            around = wall_stiffness(laminate.rotated(math.pi / 2)).axial
            expansion = None if free is None else (float(free[0]), float(free[1]))
            return cls(wall.shear, wall.axial, around, float(laminate.D[0, 0]), laminate.thickness, expansion)
        assert metal is not None  # noqa: S101  (one of both)
        Et, D = metal.E * thickness, metal.E * thickness**3 / (12 * (1 - metal.nu**2))
        both = (metal.expansion, metal.expansion)
        return cls(metal.shear_modulus * thickness, Et, Et, D, thickness, both, of_metal=True)


@dataclass(frozen=True, eq=False)
class Ring:
    """A taped ring.

    tape     : its laminate, x along the perimeter, y across the corner
    on_beam, on_skin, corner : m, the two legs, and the free width between them
    glue     : of both legs
    skin     : what the skin is as a plate around a disc; `skin_laminate` (x any direction) only for its check
    far      : m, the radius at which the hull holds the skin
    beam_glue : of the leg along the beam where it differs
    beyond   : whether that leg is on the far side of the skin, away from where the beam's load comes
    """

    outline: Outline
    wall: TubeWall
    tape: Laminate
    on_beam: float
    on_skin: float
    corner: float
    glue: Adhesive
    skin: disc.IsotropicPlate
    support_radius: float
    skin_laminate: Laminate | None = None
    beam_glue: Adhesive | None = None
    beyond: bool = False

    def __post_init__(self) -> None:
        require_positive(
            "ring", corner=self.corner, beam_wall_shear=self.wall.shear, beam_wall_along=self.wall.along
        )
        if min(self.on_beam, self.on_skin) < 0:
            raise InputFault("ring", "a tape leg is shorter than nothing", "give 0 m or more")
        require_larger("ring", ("tape's outer radius", self.skin_radius), ("far radius", self.support_radius))

    @property
    def skin_radius(self) -> float:
        """m, where the tape ends on the skin."""
        return self.outline.radius + self.corner + self.on_skin

    @property
    def tape_shear(self) -> float:
        """N/m, N_xy per γ_xy of the tape, held along the perimeter."""
        return float(condense(self.tape, ("N_y", "N_xy"), ("N_x",))[1, 1])

    @property
    def tape_across(self) -> float:
        """N/m, N_y per ε_y of the tape, held along the perimeter."""
        return float(condense(self.tape, ("N_y", "N_xy"), ("N_x",))[0, 0])

    @property
    def beam_lap(self) -> Lap:
        """In shear, from the beam's wall to the tape."""
        return Lap(self.wall.shear, self.tape_shear, self.on_beam, self.beam_glue or self.glue, self.beyond)

    @property
    def pull_lap(self) -> Lap:
        """Along the beam, from its wall to the tape."""
        return Lap(self.wall.along, self.tape_across, self.on_beam, self.beam_glue or self.glue, self.beyond)

    @property
    def skin_lap(self) -> Lap:
        """In shear, from the tape to the skin, as a strip: for its plastic reserve (`skin_flow`)."""
        return Lap(self.tape_shear, self.skin.Gt, self.on_skin, self.glue)

    @property
    def annulus(self) -> bonded_annulus.BondedAnnulus | None:
        """The leg on the skin; None where there is none."""
        if self.on_skin <= 0:
            return None
        return bonded_annulus.BondedAnnulus(
            bonded_annulus.PolarSheet.of_laminate(self.tape), self.skin, self.glue.stiffness,
            self.skin_radius - self.on_skin, self.skin_radius, self.support_radius,
        )  # fmt: skip


def part_stiffness(ring: Ring) -> Mapping[str, Mapping[str, float]]:
    """Motion → part → stiffness, N·m/rad for torsion and tilt, N/m for the others; parts in series, beam to
    hull.
    """
    p, A, r = ring.outline.perimeter, ring.outline.area, ring.outline.radius
    shear = {
        "glue on the beam": _inverse(ring.beam_lap.slip),
        "corner of the tape": ring.tape_shear / ring.corner,
    }
    pull = {
        "glue on the beam": _inverse(ring.pull_lap.slip),
        "corner of the tape": ring.tape_across / ring.corner,
    }
    on_outline = {
        "torsion": (4 * A**2 / p, shear),
        "in plane": (p / 2, shear),
        "along": (p, pull),
        "tilt": (r**2 * p / 2, pull),
    }
    on_skin = dict.fromkeys(on_outline, 0.0)
    if ring.annulus is not None:
        twist, plane = (of(ring.annulus).stiffness for of in (bonded_annulus.twist, bonded_annulus.in_plane))
        along, tilt = (of(ring.annulus) for of in (bonded_annulus.transverse, bonded_annulus.tilt))
        on_skin = dict(zip(on_outline, (twist, plane, along, tilt), strict=True))
    found = {
        motion: {part: size * k for part, k in parts.items()} | {"leg and skin": on_skin[motion]}
        for motion, (size, parts) in on_outline.items()
    }
    return MappingProxyType({motion: MappingProxyType(parts) for motion, parts in found.items()})


def ring_stiffness(ring: Ring) -> FloatArray:
    """(6, 6), diagonal: about the ring's own centre, its own axes."""
    whole = {motion: float(series_springs(*parts.values())) for motion, parts in part_stiffness(ring).items()}
    plane, tilt = whole["in plane"], whole["tilt"]
    return np.diag([plane, whole["along"], plane, tilt, whole["torsion"], tilt])


def energy_by_part(ring: Ring, loads: FloatArray) -> Mapping[str, FloatArray]:
    """Part → (cases,), J: ½ p²/k over the motions; together the work done on the ring by loads (cases, 6)."""
    motions = {"in plane": (0, 2), "along": (1,), "tilt": (3, 5), "torsion": (4,)}
    energy: dict[str, FloatArray] = {}
    for motion, parts in part_stiffness(ring).items():
        square = sum(loads[:, i] ** 2 for i in motions[motion])
        for part, k in parts.items():
            energy[part] = energy.get(part, np.zeros(len(loads))) + square / (2 * k)
    return MappingProxyType(energy)


def shear_flow(ring: Ring, loads: FloatArray) -> FloatArray:
    """(cases,), N/m, the greatest around the outline: |M2|/2A + 2 √(F1² + F3²)/p."""
    F1, _, F3, _, M2, _ = loads.T
    torque = np.abs(M2) / (2 * ring.outline.area)
    return np.asarray(torque + 2 * np.hypot(F1, F3) / ring.outline.perimeter)


def skin_flow(ring: Ring, loads: FloatArray) -> FloatArray:
    """(cases,), N/m, which in the leg on the skin as a strip (`Ring.skin_lap`) has the peak shear of the annulus that it is.

    |M2| and √(F1² + F3²) by their peaks in `bonded_annulus`, taken at one place. It carries the plastic reserve of the strip over
    to the annulus.
    """
    if ring.annulus is None:
        return shear_flow(ring, loads)
    twist, plane = bonded_annulus.twist(ring.annulus), bonded_annulus.in_plane(ring.annulus)
    F1, _, F3, _, M2, _ = loads.T
    peak = np.abs(M2) * twist.peak + np.hypot(F1, F3) * plane.peak
    return np.asarray(peak / ring.skin_lap.peak)


def axial_flow(ring: Ring, loads: FloatArray) -> FloatArray:
    """(cases,), N/m, the greatest pull along the beam per width: |F2|/p + 2 √(M1² + M3²)/(r p)."""
    p, r = ring.outline.perimeter, ring.outline.radius
    _, F2, _, M1, _, M3 = loads.T
    return np.asarray(np.abs(F2) / p + 2 * np.hypot(M1, M3) / (r * p))


def _inverse(flexibility: float) -> float:
    return 0.0 if math.isinf(flexibility) else 1.0 / flexibility
