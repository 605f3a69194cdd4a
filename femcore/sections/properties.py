"""Beam properties of a solved section: centres, stiffnesses, shear areas, mass, and couplings."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from femcore.base.arrays import ArrayRecord
from femcore.sections.analysis import Analysis, analyse

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from femcore.sections.outline import Section

    Array = NDArray[np.float64]

ACTIONS = ("N", "Vy", "Vz", "T", "My", "Mz")
MIN_NOTICEABLE_COUPLING = 0.01
"""A coupling weaker than this is not worth a sentence: its square is the share of stiffness at stake."""

REL_TOL_ZERO_FLEXIBILITY = 1e-9
"""A shear flexibility below this over all walls' shear stiffness together is none; likewise a difference of principal EI."""


@dataclass(frozen=True)
class Coupling:
    """What one action does besides its own strain, because walls are unbalanced.

    cause    : the action, such as "N"
    effect   : the strain's own action, such as "T" for twist
    rate     : that strain per unit of the action: 1/(N·m) for twist by N, 1/(N·m²) for twist by a moment
    strength : rate over the geometric mean of the two own flexibilities, between −1 and 1
    """

    cause: str
    effect: str
    rate: float
    strength: float

    def sentence(self) -> str:
        """What it would do, in words."""
        causes = {"N": "an axial force", "T": "a torque", "Vy": "a shear along y", "Vz": "a shear along z"}
        causes |= {"My": "a bending moment My", "Mz": "a bending moment Mz"}
        units = {"N": ("kN", 1e3), "Vy": ("kN", 1e3), "Vz": ("kN", 1e3)}
        effects = {
            "T": ("twists the beam", "rad/m"),
            "My": ("bends the beam about y", "1/m"),
            "Mz": ("bends the beam about z", "1/m"),
            "Vy": ("shears the beam along y", "rad"),
            "Vz": ("shears the beam along z", "rad"),
            "N": ("stretches the beam", "m/m"),
        }
        unit, size = units.get(self.cause, ("kN·m", 1e3))
        does, strain = effects[self.effect]
        stiffer = 100 * self.strength**2 / (1 - self.strength**2)
        return (
            f"{causes[self.cause]} also {does}, {self.rate * size:.3g} {strain} per {unit}; "
            f"holding that back would make it {stiffer:.2g} % stiffer against {causes[self.cause]}"
        )


@dataclass(frozen=True, eq=False, repr=False)
class SectionProperties(ArrayRecord):
    """Properties of a beam of this section. SI; axes of the outline.

    Stiffnesses are those of a beam free in everything but the action at hand (T = 0 in bending, N = M = 0 in
    torsion), the softer
    choice where walls couple, and the usual one where they do not. `restrained` gives EA, EIy, EIz, GJ with every
    other beam strain held zero.

    EA               : N
    centre           : elastic centre (y, z), m: an axial force there does not bend the beam
    EIy, EIz, EIyz   : about the elastic centre, N·m²: ∫E z², ∫E y², ∫E y z
    EI1, EI2, angle  : principal values, EI1 ≥ EI2, N·m²; angle from y to the axis about which EI1 resists,
                       rad, in (−π/2, π/2]
    GJ               : St-Venant torsion, warping free, N·m²
    GAy, GAz         : shear stiffnesses from the energy of the shear flow, N; inf across a flat strip
    shear_centre     : (y, z), m: a shear force there does not twist the beam
    mass, mass_centre: kg/m and (y, z), m
    cell_area        : (cells,), m²; empty for an open section
    flexibility      : (6, 6), N, My, Mz at the elastic centre and Vy, Vz, T at the shear centre
    held             : see above
    couplings        : what is left off the diagonal of `flexibility` and noticeable, except Vy–Vz and My–Mz,
                       strongest first
    """

    EA: float
    centre: Array
    EIy: float
    EIz: float
    EIyz: float
    EI1: float
    EI2: float
    angle: float
    GJ: float
    GAy: float
    GAz: float
    shear_centre: Array
    mass: float
    mass_centre: Array
    cell_area: Array
    flexibility: Array
    restrained: dict[str, float]
    couplings: tuple[Coupling, ...]


def properties(section: Section | Analysis) -> SectionProperties:
    """Beam properties of `section` (or of one already analysed)."""
    solved = section if isinstance(section, Analysis) else analyse(section)
    centre, shear_centre = centres(solved)
    carry = transfer_matrix(centre, shear_centre, solved.origin)
    flexibility = carry.T @ solved.flexibility @ carry
    bending = np.linalg.inv(flexibility[np.ix_([4, 5], [4, 5])])
    values, axes = np.linalg.eigh(bending)
    # where all axes are principal, y is taken, not what rounding makes of them
    is_round = values[1] - values[0] <= REL_TOL_ZERO_FLEXIBILITY * values[1]
    angle = 0.0 if is_round else float(np.arctan2(axes[1, 1], axes[0, 1]))
    mass, mass_centre = _mass(solved.section)
    # Across a single flat strip no wall shears in its plane: what is left there is rounding.
    least = REL_TOL_ZERO_FLEXIBILITY / (solved.law.k @ solved.section.length)
    stiff = np.diag(flexibility)[1:3] < least
    flexibility[[1, 2]] = np.where(stiff[:, None], 0.0, flexibility[[1, 2]])
    flexibility[:, [1, 2]] = np.where(stiff, 0.0, flexibility[:, [1, 2]])
    own = np.diag(flexibility)
    return SectionProperties(
        EA=float(1 / own[0]),
        centre=centre,
        EIy=float(bending[0, 0]),
        EIz=float(bending[1, 1]),
        EIyz=float(-bending[0, 1]),
        EI1=float(values[1]),
        EI2=float(values[0]),
        angle=_wrap_half_turn(angle),
        GJ=float(1 / own[3]),
        GAy=float(1 / own[1]) if own[1] > 0.0 else np.inf,
        GAz=float(1 / own[2]) if own[2] > 0.0 else np.inf,
        shear_centre=shear_centre,
        mass=mass,
        mass_centre=mass_centre,
        cell_area=solved.cells.area,
        flexibility=flexibility,
        restrained=_restrained_stiffness(solved, centre),
        couplings=_couplings(flexibility),
    )


def transfer_matrix(centre: Array, shear_centre: Array, origin: Array) -> Array:
    """(6, 6): from N, My, Mz at `centre` and Vy, Vz, T at `shear_centre` to all six at `origin`."""
    (yc, zc), (ys, zs) = centre - origin, shear_centre - origin
    carry = np.eye(6)
    carry[4, 0], carry[5, 0] = zc, -yc
    carry[3, 1], carry[3, 2] = -zs, ys
    return carry


def centres(solved: Analysis) -> tuple[Array, Array]:
    """Elastic centre (N there gives no curvature) and shear centre (V there gives no twist)."""
    bend = solved.strain[1:3]
    moment = np.linalg.solve(bend[:, 4:6], -bend[:, 0])
    centre = solved.origin + np.array([-moment[1], moment[0]])
    twist = solved.strain[3]
    return centre, solved.origin + np.array([-twist[2], twist[1]]) / twist[3]


def _wrap_half_turn(angle: float) -> float:
    """An axis has no sense: bring its angle into (−π/2, π/2]."""
    turned = (angle + np.pi / 2) % np.pi - np.pi / 2
    return turned + np.pi if turned <= -np.pi / 2 + 1e-15 else turned


def _mass(section: Section) -> tuple[float, Array]:
    areal = np.array([wall.areal_mass for wall in section.walls])[section.wall_of] * section.length
    middle = section.points[section.segments].mean(axis=1)
    total = float(areal.sum())
    weight = areal / total if total > 0.0 else section.length / section.length.sum()
    return total, weight @ middle


def _restrained_stiffness(solved: Analysis, centre: Array) -> dict[str, float]:
    """Diagonal of the 4 × 4 stiffness at the elastic centre: each with every other beam strain held."""
    y, z = centre - solved.origin
    carry = np.eye(4)
    carry[0, 1], carry[0, 2] = -z, y
    stiffness = carry.T @ solved.stiffness @ carry
    return dict(zip(("EA", "EIy", "EIz", "GJ"), map(float, np.diag(stiffness)), strict=True))


def _couplings(flexibility: Array) -> tuple[Coupling, ...]:
    own = np.sqrt(np.diag(flexibility))
    scale = np.outer(own, own)
    strength = np.divide(flexibility, scale, out=np.zeros_like(scale), where=scale > 0.0)
    pairs = [(0, 3), (4, 3), (5, 3), (0, 1), (0, 2), (4, 1), (4, 2), (5, 1), (5, 2)]
    found = [
        Coupling(ACTIONS[i], ACTIONS[j], float(flexibility[i, j]), float(strength[i, j]))
        for i, j in pairs
        if abs(strength[i, j]) >= MIN_NOTICEABLE_COUPLING
    ]
    return tuple(sorted(found, key=lambda coupling: -abs(coupling.strength)))
