"""A strut: how much it carries with its imperfections, its own tilt and an eccentric load; and what bears
its foot.

First yield of a bowed strut (Ayrton & Perry 1886): N/A + N e₀/(W (1 − N/N_cr)) = f_y, the lesser root of

    N² − N (N_y + N_cr (1 + e₀ A/W)) + N_y N_cr = 0,     N_y = A f_y

With e₀ A/W = α(λ̄ − λ̄₀), λ̄ = √(N_y/N_cr) this is the buckling curve of EN 1993-1-1 6.3.1.2 (read) and EN
1999-1-1 6.3.1.2 (from memory) itself. A load off the axis by e, and one that keeps its direction while the
strut leans by ψ over its length L, add e + ψ L to e₀: linear first-yield theory for the sum, on the safe
side for steel.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from femcore.base.arrays import FloatArray
from models.strength.bounds import require_positive
from models.strength.margins import Check, SafetyFactors, checked, not_checked

BUCKLING_CURVES: Final = {
    "a0": (0.13, 0.2), "a": (0.21, 0.2), "b": (0.34, 0.2), "c": (0.49, 0.2), "d": (0.76, 0.2),
    "aluminium A": (0.20, 0.10), "aluminium B": (0.32, 0.0), "stainless tube": (0.49, 0.2),
}  # fmt: skip
"""α and λ̄₀: EN 1993-1-1 Table 6.1 (read), EN 1999-1-1 Table 6.6 (from memory).

Of stainless tube curve c of EN 1993-1-1: the 0.49 and 0.40 of EN 1993-1-4:2006 Table 5.3 were found too optimistic for
cold-formed hollow sections and replaced by amendment A2:2020, whose new row was not read. Curve c is up to 10 % below it.
"""
_ALUMINIUM = "EN 1999-1-1 6.3.1 (from memory)"
CURVE_SOURCES: Final = {
    "aluminium A": _ALUMINIUM, "aluminium B": _ALUMINIUM,
    "stainless tube": "EN 1993-1-1 6.3.1, curve c (EN 1993-1-4 A2:2020 not read)",
}  # fmt: skip
"""The standards of the curves that are not of EN 1993-1-1."""


@dataclass(frozen=True)
class Column:
    """A strut of one section: `A` m², least `I` m⁴ and its `W` m³; E and proof Pa; `length` m; `curve` of
    `BUCKLING_CURVES`.

    effective : buckling length over length: 1 for pinned ends, or a foot fixed and a load that always points
      at it; 2 for a
    fixed foot and a load that keeps its direction
    eccentricity : m;   tilt : rad, of the strut from the load's line
    """

    A: float
    I: float
    W: float
    E: float
    proof: float
    length: float
    curve: str
    effective: float = 1.0
    eccentricity: float = 0.0
    tilt: float = 0.0

    def __post_init__(self) -> None:
        require_positive(
            "strut", A=self.A, I=self.I, W=self.W, E=self.E, proof=self.proof, length=self.length
        )
        require_positive("strut", effective_length=self.effective)

    @property
    def euler_load(self) -> float:
        """N, π² EI/(effective length)²."""
        return math.pi**2 * self.E * self.I / (self.effective * self.length) ** 2

    @property
    def slenderness(self) -> float:
        """λ̄ = √(A f_y/N_cr)."""
        return math.sqrt(self.A * self.proof / self.euler_load)


def buckling_reduction(slenderness: float, curve: str) -> float:
    """χ = 1/(Φ + √(Φ² − λ̄²)) ≤ 1, Φ = ½(1 + α(λ̄ − λ̄₀) + λ̄²)."""
    alpha, plateau = BUCKLING_CURVES[curve]
    phi = 0.5 * (1 + alpha * max(slenderness - plateau, 0.0) + slenderness**2)
    return min(1.0, 1 / (phi + math.sqrt(phi**2 - slenderness**2)))


def column_resistance(column: Column) -> float:
    """N, characteristic: first yield with the curve's imperfection, the eccentricity and the tilt."""
    alpha, plateau = BUCKLING_CURVES[column.curve]
    lever = abs(column.eccentricity) + abs(column.tilt) * column.length
    bow = alpha * max(column.slenderness - plateau, 0.0) + lever * column.A / column.W
    yield_load, euler_load = column.A * column.proof, column.euler_load
    half = (yield_load + euler_load * (1 + bow)) / 2
    return yield_load * euler_load / (half + math.sqrt(max(half**2 - yield_load * euler_load, 0.0)))


def column_checks(
    part: str, column: Column, compression: FloatArray, factors: SafetyFactors
) -> tuple[Check, ...]:
    """Buckling and squash under `compression` (cases,), N, above zero; a pull does not buckle it."""
    N, buckling = np.maximum(compression, 0.0), factors.safety_factor("buckling")
    return (
        checked(
            part,
            "strut buckled",
            N,
            column_resistance(column),
            "N",
            buckling,
            f"{CURVE_SOURCES.get(column.curve, 'EN 1993-1-1 6.3.1 (read)')}, curve {column.curve}",
        ),
        checked(
            part,
            "strut squashed",
            np.abs(compression),
            column.A * column.proof,
            "N",
            factors.safety_factor("yielding"),
            "N = A f_y",
        ),
    )


def bearing_check(
    part: str, compression: FloatArray, area: float, strength: float | None, factors: SafetyFactors
) -> Check:
    """What bears a strut's foot: `area`, m² (see `bolted_plate.bearing_area`), of crushing `strength`, Pa."""
    name, N = "bed under the foot", np.maximum(compression, 0.0)
    if strength is None:
        return not_checked(part, name, len(N), "no crushing strength of the bed is given")
    return checked(part, name, N, strength * area, "N", factors.safety_factor("bearing"), "common practice")
