"""Fatigue of welds, bolts and laminate: curves of cycles against range, Weibull distributions of ranges, Miner's sum.

Ranges are peak to trough. A preliminary measure: the categories suppose sound workmanship and inspection, and none of them
covers sea water in the detail.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import NamedTuple

from scipy import special


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


def damage(curve: SNCurve, ranges: RangeDistribution) -> float:
    """Miner's sum in closed form.

    D = n₀/N₁ [(q/S₁)^m₁ Γ(1 + m₁/h; (S₁/q)^h) + (q/S₁)^m₂ γ(1 + m₂/h; (S₁/q)^h)]

    with S₁, N₁ at the knee, Γ and γ the upper and lower incomplete gamma functions (DNV-RP-C203, App. F and
    Sec. 5, read). A cut-off takes its own γ from the last.
    """
    q, h = ranges.scale, ranges.shape
    knee, cut = (math.pow(size / q, h) for size in (curve.knee, curve.cutoff))
    a1, a2 = 1 + curve.m1 / h, 1 + curve.m2 / h
    high = _scaled_gamma(a1, curve.m1, q / curve.knee, float(special.gammaincc(a1, knee)))
    low = float(special.gammainc(a2, knee) - special.gammainc(a2, cut))
    return ranges.cycles / curve.knee_cycles * (high + _scaled_gamma(a2, curve.m2, q / curve.knee, low))


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
