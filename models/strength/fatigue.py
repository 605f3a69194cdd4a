"""Fatigue of welds, bolts, laminate and glue: curves of cycles against range, Weibull distributions of ranges, Miner's sum.

Ranges are peak to trough. A preliminary measure: the categories suppose sound workmanship and inspection, and none of them
covers sea water in the detail.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cache
from typing import NamedTuple

import numpy as np
from scipy import special

from femcore.base.arrays import FloatArray

GLUE_LOSS, GLUE_LOSS_BAND = 0.10, (0.08, 0.12)
"""Of a glue's static strength, lost with every decade of cycles at R = 0.1, and the least and the most of it that is usual
(common practice, recalled; lap tests scatter as widely)."""
GLUE_RATIO = 0.1
"""R, least over greatest stress of a cycle, at which that loss is known."""
GLUE_SOURCE = "decade rule (common practice, recalled)"
SPECTRUM_POINTS = 128
"""Points of the quadrature over a distribution of ranges."""


@dataclass(frozen=True, slots=True)
class RangeDistribution:
    """Ranges of a life by a two-parameter Weibull distribution.

    cycles  : n₀;   largest : the range Δ₀ exceeded once in them, Pa (or strain)
    shape   : h, 1 an exponential distribution; 0.7 to 1.3 for ships and offshore structures (common practice)
    """

    cycles: float
    largest: float
    shape: float = 1.0

    @property
    def scale(self) -> float:
        """q = Δ₀ / (ln n₀)^(1/h)."""
        return self.largest / math.pow(math.log(self.cycles), 1 / self.shape)

    def exceedances(self, size: float) -> float:
        """How many of the cycles have a range above `size`."""
        return self.cycles * math.exp(-math.pow(size / self.scale, self.shape))


@dataclass(frozen=True, slots=True)
class SNCurve:
    """Cycles to failure against range, straight in logarithms: N = knee_cycles (knee / Δ)^m.

    knee, knee_cycles : where the slope changes from m1 (larger ranges) to m2
    cutoff            : ranges below it do no damage; 0 where there is none
    source            : where it is from, and whether it was read
    """

    name: str
    knee: float
    knee_cycles: float
    m1: float
    m2: float
    cutoff: float = 0.0
    source: str = ""

    def cycles(self, size: float) -> float:
        """N at a range; inf where it does no damage."""
        if size <= self.cutoff or size == 0:
            return math.inf
        return self.knee_cycles * math.pow(self.knee / size, self.m1 if size >= self.knee else self.m2)

    def factored(self, factor: float) -> SNCurve:
        """The curve with all ranges divided by a partial factor, or by one for size."""
        return replace(self, knee=self.knee / factor, cutoff=self.cutoff / factor)


@dataclass(frozen=True, slots=True)
class GlueCurve:
    """Glue by the decade rule: τ_max = τ_s (1 − k log₁₀ N) at R = 0.1, other means by Goodman's straight line to τ_s.

    With half the range a and the mean m: a cycle like one of R = 0.1 with the greatest stress
    s = a τ_s/(0.45 (τ_s − m) + 0.55 a), and N = 10^((1 − s/τ_s)/k) (derived; s = a + m at R = 0.1, τ_s where a + m is).

    strength : Pa, static, of shear or peel, less its knock-downs;   mean : Pa, steady, below it;   loss : k
    """

    strength: float
    mean: float = 0.0
    loss: float = GLUE_LOSS
    name: str = "glue"
    source: str = GLUE_SOURCE

    def __post_init__(self) -> None:
        if not 0 <= self.mean < self.strength:
            raise ValueError("the steady stress alone is as large as the glue's strength")

    @property
    def knee(self) -> float:
        """Pa, the range at which one cycle breaks it."""
        return 2 * (self.strength - self.mean)

    def cycles(self, size: float) -> float:
        """N at a range; even the smallest does some damage by this rule."""
        return float(10 ** self.decades(np.asarray(size)))

    def decades(self, size: FloatArray) -> FloatArray:
        """log₁₀ N at ranges of any shape."""
        a = size / 2
        amplitude = (1 - GLUE_RATIO) / 2
        like = a / (amplitude * (self.strength - self.mean) + (1 - amplitude) * a)
        return np.asarray((1 - like) / self.loss)

    def factored(self, factor: float) -> GlueCurve:
        """The curve with mean and ranges multiplied by a partial factor; ValueError where the mean then breaks it."""
        return replace(self, strength=self.strength / factor)


FatigueCurve = SNCurve | GlueCurve


def damage(curve: FatigueCurve, ranges: RangeDistribution) -> float:
    """Miner's sum: of a curve straight in logarithms in closed form, of glue by quadrature.

    D = n₀/N₁ [(q/S₁)^m₁ Γ(1 + m₁/h; (S₁/q)^h) + (q/S₁)^m₂ γ(1 + m₂/h; (S₁/q)^h)]

    with S₁, N₁ at the knee, Γ and γ the upper and lower incomplete gamma functions (DNV-RP-C203, App. F and
    Sec. 5, read). A cut-off takes its own γ from the last. The decade rule's cycles fall as an exponential of the range, faster
    than any distribution's tail ends: ranges go up to the largest, once, ∫ dn/N(Δ(n)) from 1 to n₀ and 1/N of that one.
    """
    if isinstance(curve, GlueCurve):
        return _glue_damage(curve, ranges)
    q, h = ranges.scale, ranges.shape
    knee, cut = (math.pow(size / q, h) for size in (curve.knee, curve.cutoff))
    a1, a2 = 1 + curve.m1 / h, 1 + curve.m2 / h
    high = _scaled_gamma(a1, curve.m1, q / curve.knee, float(special.gammaincc(a1, knee)))
    low = float(special.gammainc(a2, knee) - special.gammainc(a2, cut))
    return ranges.cycles / curve.knee_cycles * (high + _scaled_gamma(a2, curve.m2, q / curve.knee, low))


@cache
def _gauss_points() -> tuple[FloatArray, FloatArray]:
    """Places and weights between −1 and 1."""
    return np.polynomial.legendre.leggauss(SPECTRUM_POINTS)


def _glue_damage(curve: GlueCurve, ranges: RangeDistribution) -> float:
    """Over s = ln n, the logarithm of how many cycles exceed a range."""
    whole = math.log(ranges.cycles)
    x, weight = _gauss_points()
    s = whole * (x + 1) / 2
    sizes = ranges.largest * (1 - s / whole) ** (1 / ranges.shape)
    rate = np.exp(s - math.log(10) * curve.decades(sizes))
    return float(whole / 2 * (weight @ rate)) + 1 / curve.cycles(ranges.largest)


def _scaled_gamma(a: float, m: float, ratio: float, part: float) -> float:
    """ratio^m Γ(a) × part, where Γ(a) alone might be too large a number."""
    return 0.0 if part <= 0 else math.exp(m * math.log(ratio) + math.lgamma(a) + math.log(part))


# Curves -----------------------------------------------------------------------------------------------------


def eurocode_detail(
    name: str,
    category: float,
    m1: float = 3.0,
    m2: float | None = None,
    source: str = "",
    cutoff: float = 1e8,
) -> SNCurve:
    """A detail category Δσ_C (Pa at 2·10⁶): knee at 5·10⁶, then slope m₂ (m₁ + 2) to a cut-off in cycles."""
    steeper = m1 + 2 if m2 is None else m2
    knee = category * math.pow(2e6 / 5e6, 1 / m1)
    return SNCurve(name, knee, 5e6, m1, steeper, knee * math.pow(5e6 / cutoff, 1 / steeper), source)


def shear(name: str, category: float, source: str = "") -> SNCurve:
    """A shear category Δτ_C (Pa at 2·10⁶): one slope of 5 to the cut-off at 10⁸."""
    return SNCurve(name, category, 2e6, 5.0, 5.0, category * math.pow(2e6 / 1e8, 1 / 5), source)


def iiw_fat_class(name: str, category: float, source: str = "") -> SNCurve:
    """An IIW class FAT (Pa at 2·10⁶): slope 3 to 10⁷, then 5 without end, for ranges that vary."""
    return SNCurve(name, category * math.pow(2e6 / 1e7, 1 / 3), 1e7, 3.0, 5.0, 0.0, source)


def from_log_a(name: str, log_a1: float, m1: float, m2: float, knee_cycles: float, source: str) -> SNCurve:
    """log N = log a − m log Δσ, Δσ in MPa, as offshore standards print it."""
    return SNCurve(
        name, 1e6 * math.pow(10, (log_a1 - math.log10(knee_cycles)) / m1), knee_cycles, m1, m2, 0.0, source
    )


def bolt_in_tension(diameter: float) -> SNCurve:
    """A bolt of `diameter` (m) in tension: category 50, on the stress area, × (30 mm/d)^0.25 above 30 mm."""
    size = min(1.0, math.pow(0.030 / diameter, 0.25))
    return eurocode_detail(
        "bolt in tension", 50e6 * size, source=f"{_EC3}, Table 8.1, category 50 (read as quoted)"
    )


def laminate(
    tension: float, compression: float, mean: float = 0.0, slope: float = 10.0, factor: float = 1.0
) -> SNCurve:
    """Strain ranges of a laminate about a steady `mean` strain (tension positive).

    tension, compression : the strains at static failure, as sizes;   factor : on the mean and on the range
    slope                : 9 for polyester, 10 for epoxy

        N = [(ε_t + ε_c − |2 γ ε_m − ε_t + ε_c|) / (γ Δε)]^m

    Germanischer Lloyd, Guideline for the Certification of Wind Turbines (2010), 5.5.3 (from memory): straight
    lines of constant life from the mean where they all meet, given there for strength, here for strain. It
    is for fibre-dominated laminate; a bond line or a tape's corner needs tests of its own.
    """
    one = (tension + compression - abs(2 * factor * mean - tension + compression)) / factor
    if not one > 0:
        raise ValueError("the steady strain alone is as large as the laminate's strain at failure")
    source = (
        "Germanischer Lloyd, Guideline for the Certification of Wind Turbines (2010), 5.5.3 (from memory)"
    )
    return SNCurve("laminate", one, 1.0, slope, slope, 0.0, source)


_EC3 = "EN 1993-1-9:2005"
_EC9 = "EN 1999-1-3:2007, categories from memory and in doubt"
_IIW = "A. Hobbacher, IIW Recommendations for Fatigue Design of Welded Joints (IIW-1823-07, 2008)"
SN_CURVES = {
    curve.name: curve
    for curve in (
        shear("bolt in shear", 100e6, f"{_EC3}, Table 8.1, category 100, m = 5 (read as quoted)"),
        eurocode_detail("alloy butt weld, dressed", 45e6, 4.3, source=_EC9),
        eurocode_detail("alloy butt weld", 36e6, 3.4, source=_EC9),
        eurocode_detail("alloy fillet weld, toe", 23e6, 3.4, source=_EC9),
        iiw_fat_class("IIW alloy, parent metal", 71e6, f"{_IIW}: 5000 and 6000 series (read)"),
        iiw_fat_class("IIW alloy, butt weld", 32e6, f"{_IIW} (class from memory)"),
        iiw_fat_class("IIW alloy, transverse attachment", 28e6, f"{_IIW} (class from memory)"),
        iiw_fat_class("IIW alloy, fillet weld toe", 22e6, f"{_IIW} (class from memory)"),
        iiw_fat_class(
            "IIW alloy, fillet weld root", 12e6, f"{_IIW} (class from memory, in doubt), on the throat"
        ),
        shear(
            "IIW alloy, fillet weld in shear",
            28e6,
            f"{_IIW} (class from memory, in doubt), on the throat, m = 5",
        ),
        eurocode_detail(
            "steel fillet weld, toe",
            63e6,
            source=f"{_EC3}, Table 8.5 detail 1 (category by size 80 to 40, from memory)",
        ),
        eurocode_detail(
            "steel fillet weld, root",
            36e6,
            source=f"{_EC3}, Table 8.5 detail 3, category 36*, on the throat (read as quoted)",
        ),
        shear(
            "steel fillet weld in shear",
            80e6,
            f"{_EC3}, Table 8.5 detail 3, category 80, m = 5, on the throat (read as quoted)",
        ),
        from_log_a("offshore steel B1, air", 15.117, 4, 5, 1e7, "DNV-RP-C203, Table 2-1 (read)"),
        from_log_a("offshore steel D, air", 12.164, 3, 5, 1e7, "DNV-RP-C203, Table 2-1 (read)"),
    )
}
"""Curves by name; `bolt_in_tension` and `laminate` make those that need a size or strains."""


class FilletWeldCurves(NamedTuple):
    """Names of the curves of a load-carrying fillet weld: toe (nominal stress in the plate), root and shear (on the throat)."""

    toe: str
    root: str
    shear: str


FILLET_WELDS = {
    "alloy fillet weld": FilletWeldCurves(
        "IIW alloy, fillet weld toe", "IIW alloy, fillet weld root", "IIW alloy, fillet weld in shear"
    ),
    "steel fillet weld": FilletWeldCurves(
        "steel fillet weld, toe", "steel fillet weld, root", "steel fillet weld in shear"
    ),
}
"""Load-carrying fillet welds, which crack from the toe into the plate or from the root through the throat: both are to be
checked, and the worse governs (EN 1993-1-9, Table 8.5 details 1 and 3).
"""


def throat_stress_ratio(plate: float, throat: float) -> float:
    """t/2a: nominal stress in the throats of two fillets over that in the plate of thickness t, m, which they carry (statics)."""
    return plate / (2 * throat)
