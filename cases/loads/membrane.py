"""A net as a membrane of uniform pull: how far it sags under pressure, and what its edges carry.

Poisson's equation N ∇²w = −p on a rectangle, by its Fourier series (S.P. Timoshenko & J.N. Goodier, Theory of
Elasticity, membrane analogy of torsion). The pull N per metre is the same at all edges and in all directions.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

ODD_TERMS = np.arange(1, 80, 2)
"""Enough: what is summed over them falls off like e^(−πn/2) or faster."""
SUM_ODD_INVERSE_CUBES = 7 * 1.2020569031595942 / 8
"""Σ 1/n³ over all odd n, 7 ζ(3)/8."""


@dataclass(frozen=True, slots=True)
class Membrane:
    """A rectangle a × b, m.

    sag_factor   : w₀ N / (p c²), c the shorter side: 0.0737 for a square, 1/8 for a long strip
    share_on_b   : of the whole pressure, what the two edges of length b (those that a lies between) carry
    """

    a: float
    b: float
    sag_factor: float
    share_on_b: float

    def pull(self, pressure: float, sag: float) -> float:
        """N/m: in the plane of the edges, where the net sags by `sag` (m) under `pressure` (Pa)."""
        return self.sag_factor * pressure * min(self.a, self.b) ** 2 / sag

    def sag(self, pressure: float, pull: float) -> float:
        """m: in the middle, under `pressure` (Pa) with `pull` (N/m)."""
        return self.sag_factor * pressure * min(self.a, self.b) ** 2 / pull

    def down(self, pressure: float) -> tuple[float, float]:
        """N/m: mean pull down on an edge of length b, and on one of length a."""
        whole = pressure * self.a * self.b
        return whole * self.share_on_b / 2 / self.b, whole * (1 - self.share_on_b) / 2 / self.a


def membrane(a: float, b: float) -> Membrane:
    """The rectangle a × b, m."""
    return Membrane(a, b, _sag_factor(b / a if b > a else a / b), _share_on_b(b / a))


def _sag_factor(aspect: float) -> float:
    """w₀ N/(p c²) for sides c and `aspect` × c."""
    n = ODD_TERMS
    signs = (-1.0) ** ((n - 1) // 2)
    hyperbolic = 1 / np.cosh(np.minimum(n * math.pi * aspect / 2, 700.0))
    return float(1 / 8 - 4 / math.pi**3 * (signs / n**3 * hyperbolic).sum())


def _share_on_b(aspect: float) -> float:
    """Of a rectangle 1 × `aspect`: what the two edges of length `aspect` carry."""
    if aspect < 1:
        return 1 - _share_on_b(1 / aspect)
    # the two short edges: 16/π³ Σ tanh(nπb/2a)/n³ × a/b over odd n, with tanh x = 1 − 2/(e^2x + 1)
    rest = 2 / (np.exp(np.minimum(ODD_TERMS * math.pi * aspect, 700.0)) + 1) / ODD_TERMS**3
    return float(1 - 16 / math.pi**3 / aspect * (SUM_ODD_INVERSE_CUBES - rest.sum()))
