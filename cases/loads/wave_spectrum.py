"""Irregular long-crested seas: wave spectra, and what a response that is linear in the waves makes of them.

Spectra of significant height Hs and peak period Tp, ω_p = 2π/Tp (W. J. Pierson, L. Moskowitz, 1964; K. Hasselmann et al.,
JONSWAP, 1973; in these forms DNV-RP-C205, read as public wave codes quote it):

    Pierson–Moskowitz  S = 5/16 Hs² ω_p⁴ ω⁻⁵ exp(−5/4 (ω_p/ω)⁴)
    JONSWAP            S × γ^exp(−(ω/ω_p − 1)²/2σ²), σ = 0.07 below ω_p and 0.09 above, scaled so that m₀ = Hs²/16

A response of amplitude |H| per unit of wave amplitude has the moments m_n = ∫ |H|² S ωⁿ dω. For a Gaussian, narrow-banded
response (S. O. Rice, from memory) its significant amplitude is 2 √m₀, its largest of N crossings most likely √(2 m₀ ln N), the
m-th moment of its ranges (2 √(2 m₀))^m Γ(1 + m/2), with ν₀ = √(m₂/m₀)/2π crossings a second. For a broad band T. Dirlik's formula
(Application of computers in fatigue analysis, University of Warwick, 1985; read as T. Irvine quotes its coefficients,
Vibrationdata, Dirlik_coefficients, 2021) stands for rainflow counting.
"""

from __future__ import annotations

import math
from typing import Annotated, Literal

import numpy as np
from pydantic import Field
from scipy.special import gamma

from femcore.base.arrays import FloatArray
from femcore.base.toml import Table
from femcore.base.units import Unit

MAX_BANDWIDTH = 1 - 1e-6
"""Irregularity m₂/√(m₀m₄) from which a response counts as narrow-banded: Dirlik's coefficients are 0/0 at 1."""


class Sea(Table):
    """A sea: significant height, m, and period of the spectrum's peak, s; `peak` is γ of JONSWAP, 3.3 on its average."""

    kind: Literal["pierson-moskowitz", "jonswap"] = "pierson-moskowitz"
    significant: Annotated[float, Unit("m", above=0, most=30.0)]
    period: Annotated[float, Unit("s", least=1.0, most=60.0)]
    peak: Annotated[float, Field(ge=1, le=10)] = 3.3

    def density(self, omega: FloatArray) -> FloatArray:
        """(f,), m²·s, S at frequencies ω > 0, rad/s."""
        ratio = omega * self.period / (2 * math.pi)
        own = self._shape(ratio)
        if self.kind == "jonswap":
            grid = np.geomspace(0.3, 30.0, 4001)
            plain, peaked = (
                float(np.trapezoid(each, grid)) for each in (self._shape(grid), self._peaked(grid))
            )
            own = self._peaked(ratio) * plain / peaked
        return np.asarray(own * self.period / (2 * math.pi))

    def _shape(self, ratio: FloatArray) -> FloatArray:
        return np.asarray(5 / 16 * self.significant**2 * ratio**-5 * np.exp(-1.25 * ratio**-4.0))

    def _peaked(self, ratio: FloatArray) -> FloatArray:
        width = np.where(ratio <= 1, 0.07, 0.09)
        return np.asarray(self._shape(ratio) * self.peak ** np.exp(-((ratio - 1) ** 2) / (2 * width**2)))


def spectral_moments(omega: FloatArray, density: FloatArray) -> FloatArray:
    """(5, …), m₀ to m₄ of response spectra (…, f) over frequencies (f,)."""
    return np.stack([np.trapezoid(density * omega**n, omega, axis=-1) for n in range(5)])


def narrow_band_equivalent(moments: FloatArray, slope: float) -> FloatArray:
    """(…), range that, once in each crossing, does the damage of Rayleigh-distributed ranges on a curve of that slope m."""
    return np.asarray(2 * np.sqrt(2 * moments[0]) * gamma(1 + slope / 2) ** (1 / slope))


def dirlik_equivalent(moments: FloatArray, slope: float) -> FloatArray:
    """(…), the same by Dirlik's distribution of rainflow ranges, whose cycles are as many as its peaks."""
    m0, m1, m2, _, m4 = moments
    some = (m0 > 0) & (m2 > 0) & (m4 > 0)
    m0, m1, m2, m4 = (np.where(some, each, 1.0) for each in (m0, m1, m2, m4))
    irregularity = m2 / np.sqrt(m0 * m4)
    narrow = ~some | (irregularity >= MAX_BANDWIDTH)
    g = np.where(narrow, 0.5, irregularity)
    x = np.where(narrow, 0.4, m1 / m0 * np.sqrt(m2 / m4))
    d1 = 2 * (x - g**2) / (1 + g**2)
    r = (g - x - d1**2) / (1 - g - d1 + d1**2)
    d2 = (1 - g - d1 + d1**2) / (1 - r)
    d3 = 1 - d1 - d2
    q = 1.25 * (g - d3 - d2 * r) / d1
    moment = d1 * q**slope * gamma(1 + slope) + 2 ** (slope / 2) * gamma(1 + slope / 2) * (
        d2 * np.abs(r) ** slope + d3
    )
    # peaks per crossing: 1/irregularity
    wide = 2 * np.sqrt(m0) * (moment / g) ** (1 / slope)
    return np.asarray(np.where(narrow, narrow_band_equivalent(moments, slope), wide))


def weibull_equivalent(largest: FloatArray, cycles: FloatArray, slope: float, shape: float) -> FloatArray:
    """(…), the same of Weibull-distributed ranges of that shape h, of which one in `cycles` exceeds `largest`:
    largest (ln N)^(−1/h) Γ(1 + m/h)^(1/m), whole distribution.
    """
    return np.asarray(largest * np.log(cycles) ** (-1 / shape) * gamma(1 + slope / shape) ** (1 / slope))
