"""A pin that bends between lugs and eyes: its flexibility, from bending and shear of a round beam under even pressures.

Every plate presses the pin evenly over its thickness; under a couple two plates press in opposite ways, and of a plate alone
its two halves do. The work of the pin, ½ ∫ (M²/EI + V²/κGA) dx, is that of one force across it, or of one couple, between lugs
and eyes; the flexibility is in series with the lugs'. M at the middle is EN 1993-1-8's F (b + 4c + 2a)/8. Shear by Cowper's
κ = 6(1 + ν)/(7 + 6ν) of a circle (G.R. Cowper, J. Appl. Mech. 33 (1966) 335; from memory). The pin is straight and tight in its
holes: play is `play`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from femcore.base.arrays import FloatArray
from femcore.materials import Metal
from models.strength.bounds import require_positive

GAUSS_POINTS = 3
"""In every stretch of the pin: exact, M² is of the fourth degree there."""


@dataclass(frozen=True)
class PressingPlates:
    """Like plates at one pin: one at its middle, or two, at `places` along it, m, each of `thickness`, m."""

    places: tuple[float, ...]
    thickness: float

    @property
    def couple_arm(self) -> float:
        """m, between the middles of what presses in opposite ways under a couple."""
        return self.thickness / 2 if len(self.places) == 1 else max(self.places) - min(self.places)

    @property
    def reach(self) -> float:
        """m, how far apart two forces on them can be: from end to end of one plate's hole, from middle to middle of two."""
        return self.thickness if len(self.places) == 1 else self.couple_arm

    def under_force(self) -> FloatArray:
        """(n, 3): from, to, m, and pressure, N/m, along the pin, of a force of 1 N."""
        q = 1 / (len(self.places) * self.thickness)
        return np.array([[p - self.thickness / 2, p + self.thickness / 2, q] for p in self.places])

    def under_couple(self) -> FloatArray:
        """(2, 3): the same of a couple of 1 N·m: a push below the middle, a pull above it."""
        width = self.thickness / 2 if len(self.places) == 1 else self.thickness
        arm = self.couple_arm
        q = 1 / (arm * width)
        return np.array(
            [[-arm / 2 - width / 2, -arm / 2 + width / 2, -q], [arm / 2 - width / 2, arm / 2 + width / 2, q]]
        )


@dataclass(frozen=True)
class PinBending:
    """A round pin of a metal and `diameter`, m, between lugs and eyes."""

    metal: Metal
    diameter: float
    lugs: PressingPlates
    eyes: PressingPlates

    def __post_init__(self) -> None:
        require_positive("pin", diameter=self.diameter)

    @property
    def force_flexibility(self) -> float:
        """m/N, across the pin."""
        return self._flexibility(self.lugs.under_force(), self.eyes.under_force())

    @property
    def couple_flexibility(self) -> float:
        """rad per N·m, about an axis across the pin."""
        return self._flexibility(self.lugs.under_couple(), self.eyes.under_couple())

    @property
    def flexibility(self) -> FloatArray:
        """(6, 6), diagonal, in the axes of a lug: rigid along the pin, and about it, where nothing passes."""
        force, couple = self.force_flexibility, self.couple_flexibility
        return np.diag([0.0, force, force, 0.0, couple, couple])

    def _flexibility(self, from_lugs: FloatArray, from_eyes: FloatArray) -> float:
        """∫ (m²/EI + v²/κGA) dx under both, in balance."""
        d, metal = self.diameter, self.metal
        EI = metal.E * math.pi / 64 * d**4
        kappa = 6 * (1 + metal.nu) / (7 + 6 * metal.nu)
        GA = kappa * metal.shear_modulus * math.pi / 4 * d**2
        pressures = np.concatenate([from_lugs, from_eyes * [1.0, 1.0, -1.0]])
        moment, shear, weight = pin_actions(pressures)
        return float(weight @ (moment**2 / EI + shear**2 / GA))


def pin_actions(pressures: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Bending moment (n,), shear force (n,) and length (n,), m, at Gauss points along a pin under `pressures` (k, 3) in balance:
    from, to, m, and N/m.
    """
    start, end, q = pressures.T
    stops = np.unique(np.concatenate([start, end]))
    xi, w = np.polynomial.legendre.leggauss(GAUSS_POINTS)
    half = np.diff(stops)[:, None] / 2
    x = ((stops[:-1] + stops[1:])[:, None] / 2 + half * xi).ravel()
    inside = np.clip(x[:, None], start, end) - start
    beyond = np.maximum(x[:, None] - end, 0.0)
    return (
        (inside**2 / 2 + (end - start) * beyond) @ q,
        inside @ q,
        (half * w).ravel(),
    )
