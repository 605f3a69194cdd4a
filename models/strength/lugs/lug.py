"""A lug: a flat plate that projects from its root and takes a pin through a hole near its tip.

Axes of a lug: 1 along the pin (through the plate's thickness), 2 from root to pin, 3 = 1 × 2 across the
plate. Loads (cases, 6) act at the hole: F1 F2 F3 M1 M2 M3.

The hole (characteristic resistances; safety factors as named in the checks):

- net section 0.9 f_u (w − d0) t (EN 1993-1-1 6.2.3; read in its form for plates);
- torn out along two planes that start 40° off the load's line: 2 · 0.6 f_u t (e − ½ d0 cos 40°) (E.F. Bruhn,
  Analysis and Design of Flight Vehicle Structures, D1.5; from memory; below the measured K_br of
  AFFDL-TR-69-42 chapter 9);
- bearing 1.5 f_y d t, and in service 0.6 f_y d t where the pin is to come out again (EN 1993-1-8 Table 3.10; read);
- plate around the hole, type A of Table 3.9 (read): the least of 2 t f_y (a − ⅔ d0) and 2 t f_y (c − ⅓ d0);
- across: 0.6 of the least of net section and tearing (common practice; the curves of AFFDL-TR-69-42 lie
  above it);
- oblique: (R_a^1.6 + R_t^1.6)^(1/1.6) ≤ 1 of the shares along and across (AFFDL-TR-69-42, chapter 9; read in
  a worked example).

The root: N, bending both ways, shear and torsion of the full rectangle by von Mises. Sideways: P_cr = 4.013
√(EI G J)/ℓ² for a force across at the hole (S.P. Timoshenko & J.M. Gere, Theory of Elastic Stability (1961),
section 6.3; from memory, checked by a boundary-value solution), with Euler's π² EI/4ℓ² for a push; added
linearly.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from femcore.base.arrays import FloatArray
from femcore.materials import Metal
from models.strength.bounds import require_larger, require_positive
from models.strength.lugs.pin import (
    SERVICE_SOURCE,
    plate_bearing_resistance,
    require_hole,
    service_bearing_resistance,
)
from models.strength.margins import SERVICEABILITY, Check, SafetyFactors, checked

LUG_SOURCE = "AFFDL-TR-69-42, chapter 9"
TABLE_3_9, TABLE_3_10 = "EN 1993-1-8 Table 3.9", "EN 1993-1-8 Table 3.10"
OBLIQUE_EXPONENT = 1.6
TRANSVERSE_STRENGTH_RATIO = 0.6
"""Strength across over the least along the lug."""


@dataclass(frozen=True)
class Lug:
    """A lug of one metal.

    width, thickness : m, w and t
    length : m, from the root to the hole's centre;   end : m, from the hole's centre to the tip, e
    hole, pin : m, their diameters, d0 and d
    welded : whether the root is in the heat-affected zone of a weld;   replaceable : whether the pin is to come out again
    """

    metal: Metal
    width: float
    thickness: float
    length: float
    end: float
    hole: float
    pin: float
    welded: bool = False
    replaceable: bool = True

    def __post_init__(self) -> None:
        require_positive("lug", thickness=self.thickness, length=self.length, hole=self.hole, pin=self.pin)
        require_larger("lug", ("thickness", self.thickness), ("width", self.width))
        require_larger("lug", ("hole", self.hole), ("width", self.width))
        require_larger("lug", ("half the hole", self.hole / 2), ("end", self.end))
        require_hole("lug", self.hole, self.pin)

    @property
    def area(self) -> float:
        """m², w t."""
        return self.width * self.thickness

    @property
    def I_in_plane(self) -> float:
        """m⁴, t w³/12, about axis 1."""
        return self.thickness * self.width**3 / 12

    @property
    def I_out_of_plane(self) -> float:
        """m⁴, w t³/12, about axis 3."""
        return self.width * self.thickness**3 / 12

    @property
    def J(self) -> float:
        """m⁴, St-Venant's, w t³/3 (1 − 0.63 t/w (1 − t⁴/12w⁴)) (Roark, from memory)."""
        ratio = self.thickness / self.width
        return self.width * self.thickness**3 / 3 * (1 - 0.63 * ratio * (1 - ratio**4 / 12))


def lug_flexibility(lug: Lug) -> FloatArray:
    """(6, 6): movements of the hole per loads at it, of a cantilever held at its root, shear deformation
    included.
    """
    E, G, L = lug.metal.E, lug.metal.shear_modulus, lug.length
    shear_flexibility = L / (G * lug.area * 5 / 6)
    F = np.zeros((6, 6))
    F[1, 1] = L / (E * lug.area)
    F[4, 4] = L / (G * lug.J)
    for across, about, inertia, sign in ((2, 3, lug.I_in_plane, 1), (0, 5, lug.I_out_of_plane, -1)):
        F[across, across] = L**3 / (3 * E * inertia) + shear_flexibility
        F[about, about] = L / (E * inertia)
        F[across, about] = F[about, across] = sign * L**2 / (2 * E * inertia)
    return F


def hole_resistance(lug: Lug) -> dict[str, float]:
    """Mode → N, characteristic, along the lug: "net section", "torn out" (rupture), "bearing", "plate"
    (yield).
    """
    proof, ultimate = lug.metal.proof, lug.metal.ultimate
    t, d0 = lug.thickness, lug.hole
    aside, ahead = (lug.width - d0) / 2, lug.end - d0 / 2
    tear = 2 * 0.6 * ultimate * t * (lug.end - d0 / 2 * math.cos(math.radians(40)))
    around = 2 * t * proof * min(ahead - 2 * d0 / 3, aside - d0 / 3)
    return {
        "net section": 0.9 * ultimate * (lug.width - d0) * t,
        "torn out": tear,
        "bearing": plate_bearing_resistance(t, lug.pin, proof),
        "plate": max(around, np.finfo(float).tiny),
    }


def hole_utilisation(lug: Lug, along: FloatArray, across: FloatArray) -> FloatArray:
    """(cases,), (R_a^1.6 + R_t^1.6)^(1/1.6) against rupture; a push along the lug (below zero) does not tear
    it.
    """
    strength = hole_resistance(lug)
    least = min(strength["net section"], strength["torn out"])
    shares = np.maximum(along, 0.0) / least, np.abs(across) / (TRANSVERSE_STRENGTH_RATIO * least)
    return oblique_utilisation(*shares)


def oblique_utilisation(along: FloatArray, across: FloatArray) -> FloatArray:
    """The utilisation by shares along and across a lug, both of the first degree."""
    return np.asarray(
        (np.abs(along) ** OBLIQUE_EXPONENT + np.abs(across) ** OBLIQUE_EXPONENT) ** (1 / OBLIQUE_EXPONENT)
    )


def root_loads(lug: Lug, loads: FloatArray) -> FloatArray:
    """(cases, 6), the loads at the hole moved to the root."""
    F1, F2, F3, M1, M2, M3 = np.asarray(loads, dtype=float).T
    return np.stack([F1, F2, F3, M1 + lug.length * F3, M2, M3 - lug.length * F1], axis=1)


def root_stress(lug: Lug, loads: FloatArray) -> FloatArray:
    """(cases,), Pa, von Mises at the root under loads (cases, 6) at the hole: its corner, or the middle of
    its face.
    """
    F1, F2, F3, M1, M2, M3 = np.abs(root_loads(lug, loads)).T
    w, t = lug.width, lug.thickness
    face = F2 / lug.area + 6 * M3 / (w * t**2)
    twist = M2 * (3 + 1.8 * t / w) / (w * t**2)
    middle = np.sqrt(face**2 + 3 * (twist + 1.5 * F3 / lug.area) ** 2)
    corner = face + 6 * M1 / (t * w**2)
    edge = np.sqrt((F2 / lug.area + 6 * M1 / (t * w**2)) ** 2 + 3 * (1.5 * F1 / lug.area) ** 2)
    return np.asarray(np.maximum.reduce([corner, middle, edge]))


def lateral_buckling_load(lug: Lug) -> float:
    """N, across the lug at its hole, at which it buckles sideways."""
    E, G = lug.metal.E, lug.metal.shear_modulus
    return 4.013 * math.sqrt(E * lug.I_out_of_plane * G * lug.J) / lug.length**2


def flexural_buckling_load(lug: Lug) -> float:
    """N, along the lug, at which it buckles as a strut free at the hole."""
    return math.pi**2 * lug.metal.E * lug.I_out_of_plane / (4 * lug.length**2)


def lug_checks(part: str, lug: Lug, loads: FloatArray, factors: SafetyFactors) -> tuple[Check, ...]:
    """Hole, root and sideways buckling under loads (cases, 6) at the hole."""
    _, along, across, *_ = loads.T
    strength, pull = hole_resistance(lug), np.hypot(along, across)
    yielding, ultimate = factors.safety_factor("yielding"), factors.safety_factor("ultimate")
    buckling_sum = np.abs(across) / lateral_buckling_load(lug) + np.maximum(
        -along, 0.0
    ) / flexural_buckling_load(lug)
    proof = lug.metal.strengths(welded=lug.welded)[0]
    found = (
        checked(part, "lug torn at the hole", hole_utilisation(lug, along, across), 1.0, "", ultimate, LUG_SOURCE),
        checked(part, "hole in bearing", pull, strength["bearing"], "N", yielding, TABLE_3_10),
        checked(part, "plate around the hole", pull, strength["plate"], "N", yielding, TABLE_3_9),
        checked(part, "lug's root", root_stress(lug, loads), proof, "Pa", yielding, "beam theory, von Mises"),
        checked(
            part, "lug buckled sideways", buckling_sum, 1.0, "", factors.safety_factor("elastic_buckling"),
            "Timoshenko & Gere 1961, 6.3",
        ),
    )  # fmt: skip
    if not lug.replaceable:
        return found
    factor, bearing = (
        factors.safety_factor(SERVICEABILITY),
        service_bearing_resistance(lug.thickness, lug.pin, lug.metal.proof),
    )
    return (*found, checked(part, "hole in bearing, in service", pull, bearing, "N", factor, SERVICE_SOURCE))
