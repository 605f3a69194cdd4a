"""Glue lines: shear lag between two sheets, single laps with bending and peel, and what plasticity adds.

Two sheets of in-plane stiffness K1, K2 per width (E t for a pull, G t for shear or torsion of two coaxial
tubes), N/m, share one bond line of thickness η, shear modulus G, over a length L. A load P per width, N/m,
enters sheet 1 at x = 0 and leaves sheet 2 at x = L (O. Volkersen, Luftfahrtforschung 15 (1938) 41, from
memory; derived anew and checked against a boundary-value solution):

    ω² = (G/η)(1/K1 + 1/K2),  a = K1/(K1 + K2),  b = K2/(K1 + K2)
    N1/P = a + [b sinh ω(L − x) − a sinh ωx]/sinh ωL
    τ/P  = ω [b cosh ω(L − x) + a cosh ωx]/sinh ωL

No peel enters: it is the model for laps whose sheets are held from bending (tubes, double laps, a skin on
its core).

Units: moduli Pa, lengths m, loads N/m; every load may be an array of cases, and of any other shape.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from femcore.base.arrays import FloatArray
from models.strength.bounds import require_positive
from models.strength.margins import Check, SafetyFactors, checked, not_checked

MAX_OMEGA_L = 350.0
"""ωL beyond which a lap is as good as endless: e to this power is still a number."""


@dataclass(frozen=True)
class Adhesive:
    """A glue line: shear modulus `G`, thickness, m; strengths in shear and peel, Pa, None where they are not
    known.

    plastic_strain : shear strain at failure beyond the elastic one (Hart-Smith's γ_p); 0: brittle
    E : Young's modulus, Pa, for peel; None: none is estimated
    """

    G: float
    thickness: float
    shear_strength: float | None = None
    peel_strength: float | None = None
    plastic_strain: float = 0.0
    E: float | None = None

    def __post_init__(self) -> None:
        require_positive("glue line", G=self.G, thickness=self.thickness)

    @property
    def stiffness(self) -> float:
        """Pa/m, G/η: shear stress per slip."""
        return self.G / self.thickness


@dataclass(frozen=True)
class Lap:
    """Two sheets on one glue line: `K1`, `K2` N/m per width, `length` m; no length joins nothing."""

    K1: float
    K2: float
    length: float
    adhesive: Adhesive

    def __post_init__(self) -> None:
        require_positive("lap", K1=self.K1, K2=self.K2)

    @property
    def omega(self) -> float:
        """1/m, √((G/η)(1/K1 + 1/K2))."""
        return float(np.sqrt(self.adhesive.stiffness * (1 / self.K1 + 1 / self.K2)))

    @property
    def flexibility(self) -> float:
        """m²/N, movement of the loaded end of sheet 1 against that of sheet 2, per load per width.

        [a L + (b − a) tanh(ωL/2)/ω]/K1 + (η/G) ω [b + a cosh ωL]/sinh ωL: stretch of sheet 1 over the lap
        and slip at its end (derived; the same from either side). Infinite for no length; over a long lap
        only its ends work.
        """
        if self.length <= 0:
            return np.inf
        a, b = self.shares
        w = self.omega
        x = min(w * self.length, MAX_OMEGA_L)
        stretch = (a * self.length + (b - a) * np.tanh(x / 2) / w) / self.K1
        return float(stretch + w * (b / np.sinh(x) + a / np.tanh(x)) / self.adhesive.stiffness)

    @property
    def peak(self) -> float:
        """1/m, the greatest shear stress per load per width: at the end where the softer sheet is loaded."""
        if self.length <= 0:
            return np.inf
        a, b = self.shares
        x = min(self.omega * self.length, MAX_OMEGA_L)
        return float(self.omega * (max(a, b) / np.tanh(x) + min(a, b) / np.sinh(x)))

    @property
    def shares(self) -> tuple[float, float]:
        """K1 and K2 over their sum: what each sheet carries far from both ends."""
        return self.K1 / (self.K1 + self.K2), self.K2 / (self.K1 + self.K2)


def lap_shear(lap: Lap, x: FloatArray) -> FloatArray:
    """1/m, τ/P at places x, m, from where sheet 1 is loaded."""
    a, b = lap.shares
    w = lap.omega
    return np.asarray(w * (b * np.cosh(w * (lap.length - x)) + a * np.cosh(w * x)) / np.sinh(w * lap.length))


def plastic_capacity(lap: Lap, strength: float) -> float:
    """N/m, the load per width at which the glue reaches its last strain, elastic and then plastic at
    `strength`, Pa.

    L.J. Hart-Smith, NASA CR-112235 (1973): elastic, perfectly plastic glue; the equations solved here for
    unequal sheets and any length (derived; checked against a boundary-value solution, and against his bond
    potential for long laps, √(2 η τ_p (γ_e/2 + γ_p) K1 (1 + K1/K2))). With γ_p = 0 it is strength over the
    elastic peak. The weaker end has the softer sheet; it goes plastic over d1 and ends at γ_e + γ_p, an
    elastic middle remains, and the other end may go plastic too.
    """
    soft, stiff = sorted((lap.K1, lap.K2))
    w, ratio = lap.omega, soft / stiff
    elastic = strength / lap.adhesive.G
    plastic_term = 2 * lap.adhesive.plastic_strain / elastic
    low, high = 0.0, w * lap.length + 1.0
    for _ in range(200):
        middle = (low + high) / 2
        low, high = (
            (middle, high) if _omega_length(middle, plastic_term, ratio) < w * lap.length else (low, middle)
        )
    slope = np.sqrt(np.tanh(low) ** 2 + plastic_term)
    # a lap too short for an elastic middle is plastic all over
    return float(min(soft * lap.adhesive.thickness * w * elastic * slope, strength * lap.length))


def _omega_length(depth: float, plastic_term: float, ratio: float) -> float:
    """ωL of a lap whose elastic middle has the slope tanh(depth) at its weaker end, the glue there at its
    last strain.
    """
    T = np.tanh(depth)
    S = np.sqrt(T**2 + plastic_term)
    far = S * ratio
    plastic = S - T
    if far > T:
        return float(plastic + (far - T) + 2 * depth)
    # asinh(far cosh depth) without overflow
    rise = depth + np.log(far) if depth > 30 else np.arcsinh(far * np.cosh(depth))
    return float(plastic + depth + rise)


def bond_check(
    part: str, lap: Lap, load: FloatArray, factors: SafetyFactors, name: str = "glue line in shear"
) -> Check:
    """The glue of a lap under a load per width (cases,), N/m, elastic or with its plastic reserve."""
    strength = lap.adhesive.shear_strength
    if strength is None:
        return not_checked(part, name, len(load), "no shear strength of the glue is given")
    if lap.length <= 0:
        return not_checked(part, name, len(load), "there is no overlap")
    source = "Volkersen 1938" if lap.adhesive.plastic_strain == 0 else "Hart-Smith, NASA CR-112235"
    return checked(
        part, name, load, plastic_capacity(lap, strength), "N/m", factors.safety_factor("bond"), source
    )
