"""Resistance of a bolt, and of the metal around it.

Resistances are characteristic: those of EN 1993-1-8:2005 Table 3.4 (read) without γM2, which the factor
"ultimate" holds.

- stress area A_s = π/4 (d − 0.9382 p)² (ISO 898-1; read);
- shear α_v f_ub A: 0.6 with A the shank where no thread is in the shear plane, else 0.5 with A_s for
  stainless bolts (EN 1999-1-1 Table 8.5, read as quoted; EN 1993-1-4's later editions count classes 50, 70 and 80 as
  4.6, 5.6 and 8.8, which is 0.6: 0.5 is on the safe side; 0.6 for 4.6, 5.6 and 8.8 of carbon steel, Table 3.4);
- tension 0.9 f_ub A_s; both: F_v/F_v,R + F_t/(1.4 F_t,R) ≤ 1 as well as each by itself;
- yield: of the stress area under tension and shear together, √(σ² + 3τ²) against the 0.2 % stress: no rule
  of that standard, but what a bolt that is to be used again has to keep (common practice).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from femcore.base.arrays import FloatArray
from femcore.materials import BoltClass, Metal
from models.strength.bolts.bolt_group import BoltForces
from models.strength.bounds import require_larger, require_positive
from models.strength.margins import Check, SafetyFactors, checked

COARSE_PITCH: Final = {
    4: 0.7e-3, 5: 0.8e-3, 6: 1.0e-3, 8: 1.25e-3, 10: 1.5e-3, 12: 1.75e-3, 14: 2.0e-3, 16: 2.0e-3, 18: 2.5e-3,
    20: 2.5e-3, 22: 2.5e-3, 24: 3.0e-3, 27: 3.0e-3, 30: 3.5e-3,
}  # fmt: skip
"""Pitch (m) of the coarse thread by nominal diameter in mm (ISO 262)."""

TABLE_3_4: Final = "EN 1993-1-8:2005 Table 3.4"
STAINLESS: Final = f"{TABLE_3_4}; stainless thread EN 1999-1-1 Table 8.5 (read as quoted)"


@dataclass(frozen=True)
class Bolt:
    """A bolt of nominal `diameter` and thread `pitch`, m, of a property class; whether thread is in the
    shear plane.

    alpha_thread : α_v of a thread in the shear plane
    """

    diameter: float
    pitch: float
    grade: BoltClass
    thread_in_shear: bool = True
    alpha_thread: float = 0.5

    def __post_init__(self) -> None:
        require_positive("bolt", diameter=self.diameter, pitch=self.pitch)
        require_larger("bolt", ("pitch", self.pitch), ("diameter", self.diameter))

    @property
    def stress_area(self) -> float:
        """m², A_s = π/4 (d − 0.9382 p)²."""
        return math.pi / 4 * (self.diameter - 0.9382 * self.pitch) ** 2

    @property
    def shank_area(self) -> float:
        """m², π d²/4."""
        return math.pi / 4 * self.diameter**2

    @property
    def shear_resistance(self) -> float:
        """N, one plane, characteristic."""
        if self.thread_in_shear:
            return self.alpha_thread * self.grade.ultimate * self.stress_area
        return 0.6 * self.grade.ultimate * self.shank_area

    @property
    def tension_resistance(self) -> float:
        """N, characteristic, 0.9 f_ub A_s."""
        return 0.9 * self.grade.ultimate * self.stress_area


def coarse_bolt(
    size: int, grade: BoltClass, *, thread_in_shear: bool = True, alpha_thread: float = 0.5
) -> Bolt:
    """The bolt M`size` with coarse thread; KeyError for a size that ISO 262's first choices do not have."""
    return Bolt(size / 1000, COARSE_PITCH[size], grade, thread_in_shear, alpha_thread)


def bolt_checks(
    part: str, bolt: Bolt, forces: BoltForces, factors: SafetyFactors, planes: int = 1
) -> tuple[Check, ...]:
    """Shear, tension, both, and yield of the worst bolt of every case; shear shared by `planes`."""
    shear, pull = forces.shear_magnitude / planes, forces.pull
    utilisation = shear / bolt.shear_resistance + pull / (1.4 * bolt.tension_resistance)
    thread = bolt.stress_area if bolt.thread_in_shear else bolt.shank_area
    stress = np.sqrt((pull / bolt.stress_area) ** 2 + 3 * (shear / thread) ** 2)
    ultimate = factors.safety_factor("ultimate")
    return (
        checked(
            part,
            "bolt in shear",
            _worst_bolt(shear),
            bolt.shear_resistance,
            "N",
            ultimate,
            STAINLESS,
        ),
        checked(
            part, "bolt in tension", _worst_bolt(pull), bolt.tension_resistance, "N", ultimate, TABLE_3_4
        ),
        checked(part, "bolt in shear and tension", _worst_bolt(utilisation), 1.0, "", ultimate, TABLE_3_4),
        checked(
            part,
            "bolt's first yield",
            _worst_bolt(stress),
            bolt.grade.proof,
            "Pa",
            factors.safety_factor("yielding"),
            "ISO 3506-1",
        ),
    )


@dataclass(frozen=True)
class MetalSheet:
    """The metal around a bolt: `thickness`, `hole`; `end` and `edge` from the hole's centre along and across
    the load, m.

    pitch_along, pitch_across : to the next bolt, None where there is none
    """

    metal: Metal
    thickness: float
    hole: float
    end: float
    edge: float
    pitch_along: float | None = None
    pitch_across: float | None = None
    welded: bool = False


def bearing_resistance(sheet: MetalSheet, diameter: float, bolt_ultimate: float = math.inf) -> float:
    """N, characteristic: k1 α_b f_u d t (EN 1993-1-8 Table 3.4; read as quoted in two design codes).

    α_b = min(e1/3d0, p1/3d0 − 1/4, f_ub/f_u, 1), k1 = min(2.8 e2/d0 − 1.7, 1.4 p2/d0 − 1.7, 2.5).
    """
    d0, fu = sheet.hole, sheet.metal.strengths(welded=sheet.welded)[1]
    along, across = sheet.pitch_along or math.inf, sheet.pitch_across or math.inf
    alpha = min(sheet.end / (3 * d0), along / (3 * d0) - 0.25, bolt_ultimate / fu, 1.0)
    k1 = min(2.8 * sheet.edge / d0 - 1.7, 1.4 * across / d0 - 1.7, 2.5)
    return max(k1, 0.0) * max(alpha, 0.0) * fu * diameter * sheet.thickness


def punching_resistance(sheet: MetalSheet, head: float) -> float:
    """N, characteristic, of the metal under a head or washer of mean diameter `head`, m: 0.6 π d_m t f_u
    (Table 3.4).
    """
    return 0.6 * math.pi * head * sheet.thickness * sheet.metal.strengths(welded=sheet.welded)[1]


def sheet_checks(
    part: str, sheet: MetalSheet, bolt: Bolt, head: float, forces: BoltForces, factors: SafetyFactors
) -> tuple[Check, ...]:
    """Bearing and punching of a metal plate at the worst bolt of every case."""
    ultimate = factors.safety_factor("ultimate")
    bearing = bearing_resistance(sheet, bolt.diameter, bolt.grade.ultimate)
    punching = punching_resistance(sheet, head)
    return (
        checked(
            part, "plate in bearing", _worst_bolt(forces.shear_magnitude), bearing, "N", ultimate, TABLE_3_4
        ),
        checked(
            part, "plate punched by the head", _worst_bolt(forces.pull), punching, "N", ultimate, TABLE_3_4
        ),
    )


def _worst_bolt(values: npt.ArrayLike) -> FloatArray:
    return np.asarray(np.max(np.asarray(values, dtype=float), axis=-1))
