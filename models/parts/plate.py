"""Buckling of flat isotropic plates: σ_cr = k π² E/12(1 − ν²) (t/b)², b across the load.

S.P. Timoshenko & J.M. Gere, Theory of Elastic Stability (1961), chapter 9 (from memory); compared with
series solutions in the tests. Laminated walls of beams are `femcore.sections.buckling`.
"""

from __future__ import annotations

import math

from models.parts.sizes import above_zero


def plate_stress(k: float, E: float, nu: float, thickness: float, width: float) -> float:
    """Pa, the critical stress of a plate with buckling factor k."""
    above_zero("plate", E=E, thickness=thickness, width=width)
    return k * math.pi**2 * E / (12 * (1 - nu**2)) * (thickness / width) ** 2


def compression_factor(aspect: float) -> float:
    """k of a plate simply supported all round, of length `aspect` times its width: least of (m/α + α/m)²
    over m.
    """
    first = max(1, math.floor(aspect))
    return min((m / aspect + aspect / m) ** 2 for m in (first, first + 1))


def outstand_factor(aspect: float, nu: float) -> float:
    """k of a plate with one free side, the others simply supported: 1/α² + 6(1 − ν)/π²."""
    return 1 / aspect**2 + 6 * (1 - nu) / math.pi**2


def shear_factor(aspect: float) -> float:
    """k of a plate simply supported all round in shear, b its shorter side, `aspect` ≥ 1: 5.35 + 4/α²."""
    return 5.35 + 4 / max(aspect, 1 / aspect) ** 2


BENDING_FACTOR = 23.9
"""k of a long plate simply supported all round, bent in its plane."""


def with_yield(critical: float, proof: float) -> float:
    """Pa, the stress at which a plate or strut fails: σ_cr up to f_y/2, beyond it f_y (1 − f_y/4σ_cr).

    Johnson's parabola (common practice): it leaves Euler's curve with the same slope at half the yield
    stress.
    """
    return critical if critical <= proof / 2 else proof * (1 - proof / (4 * critical))
