"""A sleeve over the end of a tube, or a plug in it, glued: torque, push and pull, bending and shear.

Axes of an `attachment` at the end of a tube: 2 along it, out of its end; 1 and 3 across.

- Glue in shear, as of two coaxial tubes (`bond`): torque M/2πr² and shear F/πr as flows around, a pull F/2πr and bending M/πr²
  as flows along, as thin tubes have them; √ of squares of its lap both ways, the greatest of each taken at one place; ultimate
  and elastic (`bond.shear_checks`).
- Bending and shear over again as push and pull across, without that help: F/L + 6 (M + F L/2)/L² per length at the end of the
  sleeve, which a cosine of pressure and peel around it carries, peak f/πr (common practice). One way would do; both are asked.
- The sleeve's own wall under the same flows.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from femcore.base.arrays import FloatArray
from femcore.materials import Metal
from models.strength.bonding.bond import Adhesive, Lap, peel_checks, shear_checks
from models.strength.bonding.ring import TubeWall
from models.strength.bounds import require_positive
from models.strength.margins import Check, SafetyFactors, checked


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
        force = np.hypot(loads[:, 0], loads[:, 2])
        moment = np.hypot(loads[:, 3], loads[:, 5]) + force * self.length / 2
        return np.asarray((force / self.length + 6 * moment / self.length**2) / (math.pi * self.radius))

    @property
    def laps(self) -> tuple[Lap, Lap]:
        """Tube and sleeve around and along: the load enters at the end of the tube and leaves where the sleeve ends."""
        own = TubeWall.of(None, self.metal, self.thickness)
        return (
            Lap(self.tube.shear, own.shear, self.length, self.glue),
            Lap(self.tube.along, own.along, self.length, self.glue),
        )

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
        (around, along), (q, n), cases = self.laps, self.flows(loads), len(loads)
        pressure = self.edge_pressure(loads)
        return [
            *shear_checks(part, "glue in shear", [(around, q), (along, n)], factors),
            *peel_checks(
                part,
                "glue in peel, bending as push and pull",
                self.glue,
                pressure,
                cases,
                factors,
                "common practice",
                why="no peel strength of the glue is given",
            ),
        ]
