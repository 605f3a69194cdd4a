"""A sleeve over the end of a tube, or a plug in it, glued: torque, push and pull, bending and shear.

Axes of an `attachment` at the end of a tube: 2 along it, out of its end; 1 and 3 across.

- Glue in shear, as of two coaxial tubes (`bond`): torque M/2πr² and shear F/πr as flows around, a pull F/2πr and bending M/πr²
  as flows along, as thin tubes have them; √ of squares of its lap both ways, the greatest of each taken at one place; ultimate
  and elastic (`bond.shear_checks`).
- Bending and shear over again as push and pull across, without that help: F/L + 6 (M + F L/2)/L² per length at the end of the
  sleeve, which a cosine of pressure and peel around it carries, peak f/πr (common practice). One way would do; both are asked.
- Peel beside the peak shear of the flows along, at the end of sleeve and of tube alike (`bond.peel_ratio`), the worse.
- Temperature: unequal expansion along shears the glue (`bond.thermal_shear`), and that shear peels its ends; unequal expansion
  around pulls two rings apart, p = Δα ΔT/(r (1/K_s + 1/K_t) + η/(E_a r)) (derived; a plug that cools, a sleeve that warms).
  Both act in the elastic checks, in either sense.
- The sleeve's own wall under the same flows.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from femcore.base.arrays import FloatArray
from femcore.materials import Metal
from models.strength.bonding.bond import (
    END_PEEL_SOURCE,
    NO_EXPANSION,
    Adhesive,
    Lap,
    peel_checks,
    peel_ratio,
    shear_checks,
    thermal_shear,
)
from models.strength.bonding.ring import TubeWall
from models.strength.bounds import require_positive
from models.strength.margins import Check, SafetyFactors, checked, not_checked


@dataclass(frozen=True)
class Sleeve:
    """Tube and sleeve on a glue line of `radius` and `length`, m; both as thin walls per width, N/m.

    metal, thickness : of the sleeve's wall, m
    """

    radius: float
    length: float
    tube: TubeWall
    metal: Metal
    thickness: float
    glue: Adhesive

    def __post_init__(self) -> None:
        require_positive("sleeve", radius=self.radius, length=self.length, thickness=self.thickness)

    def flows(self, loads: FloatArray) -> tuple[FloatArray, FloatArray]:
        """(cases,) each, N/m: the greatest shear flow q around the tube, and pull n along it."""
        F1, F2, F3, M1, M2, M3 = np.abs(np.asarray(loads, dtype=float)).T
        r = self.radius
        around = M2 / (2 * math.pi * r**2) + np.hypot(F1, F3) / (math.pi * r)
        return around, F2 / (2 * math.pi * r) + np.hypot(M1, M3) / (math.pi * r**2)

    def edge_pressure(self, loads: FloatArray) -> FloatArray:
        """(cases,), Pa, the greatest pressure or peel where the sleeve ends, from bending and shear as push and pull."""
        F1, _, F3, M1, _, M3 = loads.T
        force = np.hypot(F1, F3)
        moment = np.hypot(M1, M3) + force * self.length / 2
        return np.asarray((force / self.length + 6 * moment / self.length**2) / (math.pi * self.radius))

    @property
    def laps(self) -> tuple[Lap, Lap]:
        """Tube and sleeve around and along: the load enters at the end of the tube and leaves where the sleeve ends."""
        own = TubeWall.of(None, self.metal, self.thickness)
        return (
            Lap(self.tube.shear, own.shear, self.length, self.glue),
            Lap(self.tube.along, own.along, self.length, self.glue),
        )

    @property
    def thermal_shear(self) -> float | None:
        """Pa, of unequal expansion along; None where the tube's is not known."""
        known = self.tube.expansion
        return None if known is None else thermal_shear(self.laps[1], self.metal.expansion - known[0])

    @property
    def thermal_pressure(self) -> float:
        """Pa, pull between sleeve and tube of unequal expansion around; ValueError where a wall or the glue's E is not known."""
        tube, glue, r = self.tube, self.glue, self.radius
        if tube.expansion is None or tube.around is None or glue.E is None:
            raise ValueError("the tube's expansion or stiffness around, or the glue's modulus, is not known")
        strain = abs(self.metal.expansion - tube.expansion[1]) * glue.temperature_change
        rings = 1 / (self.metal.E * self.thickness) + 1 / tube.around
        return strain / (r * rings + glue.thickness / (glue.E * r))

    @property
    def peel_ratio(self) -> float:
        """Peel over peak shear along at the worse of the ends of sleeve and tube; ValueError where the glue's E is not known."""
        own, tube = TubeWall.of(None, self.metal, self.thickness), self.tube
        walls = [(wall.D, wall.thickness) for wall in (own, tube)]
        return max(peel_ratio(D, t, self.laps[1]) for D, t in walls if D is not None and t is not None)

    def checks(self, part: str, loads: FloatArray, factors: SafetyFactors) -> tuple[Check, ...]:
        """The glue both ways, and the sleeve."""
        q, n = self.flows(loads)
        stress = np.sqrt(n**2 + 3 * q**2) / self.thickness
        yielding, source = factors.safety_factor("yielding"), "thin tube, von Mises"
        return (
            *self._glue(f"{part}, sleeve's glue", loads, factors),
            checked(f"{part}, sleeve", "first yield", stress, self.metal.proof, "Pa", yielding, source),
        )

    def _glue(self, part: str, loads: FloatArray, factors: SafetyFactors) -> list[Check]:
        (around, along), (q, n), cases, glue = self.laps, self.flows(loads), len(loads), self.glue
        found = [
            *shear_checks(
                part, "glue in shear", [(around, q), (along, n)], factors, self.thermal_shear or 0.0
            ),
            *peel_checks(
                part, "glue in peel, bending as push and pull", glue, self.edge_pressure(loads), cases, factors,
                "common practice", why="no peel strength of the glue is given",
            ),
        ]  # fmt: skip
        known = self.thermal_shear is not None or not glue.temperature_change
        thermal, stress = 0.0, None
        if glue.E is not None:
            ratio = self.peel_ratio
            stress = ratio * n * along.peak
            if self.thermal_shear:
                thermal = ratio * self.thermal_shear + self.thermal_pressure
        found += peel_checks(
            part, "glue in peel at its ends", glue, stress, cases, factors, END_PEEL_SOURCE, thermal
        )
        if not known:
            found.append(not_checked(part, "glue under a temperature change", cases, NO_EXPANSION))
        return found
