"""Hoop bending of a tube's wall where a skin bears on it, and an inner diaphragm that takes it.

A force F in the plane of a skin that enters the tube as shear around it, F/πr sin θ, is a beam's own shear flow and bends no
wall. As far as the tube bears on the skin's edge instead, its wall bends around it. Taken is that it all does, which is on the
safe side: a pressure with cos θ over half of the outline, over a length ℓ along the tube. Its harmonics in cos nθ, n even, are

    p_n = 4F/(π² r ℓ) (−1)^(n/2+1)/(n² − 1)

ovalise the tube without stretching it around: w_n of a beam on an elastic foundation along it (semi-membrane shell, V.Z. Vlasov,
Thin-Walled Elastic Beams (1961), from memory; derived anew), whose foundation is the wall's hoop bending D and whose beam is the
wall's stretch along the tube, A:

    A r²/n⁴ w⁗ + D (n² − 1)²/r⁴ w = p_n,    β⁴ = D (n² − 1)² n⁴/(4 A r⁶),    M_θ = D (n² − 1)/r² w,    N_x = A r/n² w″

In a long tube under a short load M_θ falls with the length that helps, some 1/β, half a metre or so; at the end of a tube it is
four times as large. Under a load as long as the tube it is that of a ring. Bending along the tube, and n = 0, are left out: both
are small in a thin tube.

A diaphragm, or a closed end, holds the outline round: the wall does not bend. It takes the pressure as a plate in its own plane,
at most N = 2F/πr and a shear flow F/πr at its rim, and may buckle: N_cr = 4.2 D/r² under pressure all round, its edge simply
supported (S.P. Timoshenko & J.M. Gere, Theory of Elastic Stability (1961), ν = 0.3; from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from femcore.base.arrays import FloatArray
from models.strength.bounds import require_positive

HARMONICS = 2.0 * np.arange(1, 201)
"""n; what is left out is below 1e-3 of the sum, whose terms fall with n², or with n⁴ where the bearing is longer than 1/β."""
PLACES = 181
"""At which the sum is taken, over half the outline."""
BUCKLING_COEFFICIENT = 4.2
"""N_cr r²/D of a circular plate, simply supported, under pressure all round, ν = 0.3."""


@dataclass(frozen=True)
class TubeUnderBearing:
    """A tube's wall where a skin bears on it.

    radius : m, to the wall's middle;   along : N/m, E t along the tube;   hoop : N·m, D around it
    length : m, along the tube, of the bearing;   at_end : whether the tube ends there, and not far beyond
    """

    radius: float
    along: float
    hoop: float
    length: float
    at_end: bool = False

    def __post_init__(self) -> None:
        require_positive(
            "tube under bearing", radius=self.radius, along=self.along, hoop=self.hoop, length=self.length
        )


def hoop_bending(tube: TubeUnderBearing) -> tuple[float, float]:
    """Per N of force: the largest hoop moment M_θ, N, and the largest N_x beside it, 1/m, each wherever it is around the tube."""
    n, r, c = HARMONICS, tube.radius, tube.length
    pressure = 4 / (math.pi**2 * r * c) * (-1) ** (n / 2 + 1) / (n**2 - 1)
    bed = tube.hoop * (n**2 - 1) ** 2 / r**4
    beta = (bed * n**4 / (4 * tube.along * r**2)) ** 0.25
    # uniform load on a beam on an elastic bed, at the middle of an endless one or at the free end of a half (Hetényi 1946)
    if tube.at_end:
        part, curved = 1 - np.exp(-beta * c) * (np.cos(beta * c) - np.sin(beta * c)), 0.0 * beta
    else:
        x = beta * c / 2
        part, curved = 1 - np.exp(-x) * np.cos(x), 2 * beta**2 * np.exp(-x) * np.sin(x)
    around = np.cos(np.outer(np.linspace(0, math.pi, PLACES), n))
    moment = around @ (tube.hoop * (n**2 - 1) / r**2 * pressure / bed * part)
    along = around @ (tube.along * r / n**2 * pressure / bed * curved)
    return float(np.abs(moment).max()), float(np.abs(along).max())


def diaphragm_flows(force: FloatArray, radius: float) -> tuple[FloatArray, FloatArray]:
    """N/m, largest pressure and shear flow at the rim of a diaphragm of that radius, m, under bearing forces (cases,), N."""
    return 2 * np.abs(force) / (math.pi * radius), np.abs(force) / (math.pi * radius)


def diaphragm_buckling(D: float, radius: float) -> float:
    """N/m, critical pressure at the rim of a plate of bending stiffness D, N·m."""
    return BUCKLING_COEFFICIENT * D / radius**2
