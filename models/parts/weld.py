"""Two fillet welds along the foot of a plate, one at either side, in aluminium alloy (EN 1999-1-1 8.6.3) or
steel.

The welds are lines of length w, t apart, as far as the plate is thick. Loads (cases, 6) at the foot in the
axes of a lug (1 through the plate, 2 out of its foot, 3 along the welds). The pull per length is linear over
the lines; in the throat a of a 45° fillet

    σ⊥ = (n − v1)/√2a,  τ⊥ = (n + v1)/√2a,  τ∥ = v3/a,   √(σ⊥² + 3(τ⊥² + τ∥²)) ≤ f_w

(EN 1999-1-1 8.6.3.3; from memory), and beside the weld, on its leg √2 a in the heat-affected zone, √(σ² +
3τ²) ≤ f_u,haz (8.6.3.4; from memory). γ_Mw = 1.25 is in the factor "ultimate".
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from femcore.frame import FloatArray
from femcore.materials import Metal
from models.margins import Check, Factors, checked, not_checked
from models.parts.sizes import above_zero

FILLER: Final = {
    ("5356", "al6082_t6"): 210e6, ("5356", "al6082_t6_thin"): 210e6,
    ("5356", "al6061_t6"): 190e6, ("5356", "al5083_o"): 240e6,
    ("4043A", "al6082_t6"): 190e6, ("4043A", "al6082_t6_thin"): 190e6, ("4043A", "al6061_t6"): 170e6,
}  # fmt: skip
"""f_w, Pa, by filler and alloy (EN 1999-1-1 Table 8.8; from memory)."""


@dataclass(frozen=True)
class FilletPair:
    """Welds of throat `throat` and `length` at both sides of a plate of `thickness`, m; `strength` f_w, Pa,
    None unknown.
    """

    metal: Metal
    throat: float
    length: float
    thickness: float
    strength: float | None = None

    def __post_init__(self) -> None:
        above_zero("weld", throat=self.throat, length=self.length, thickness=self.thickness)


def weld_lines(weld: FilletPair, loads: FloatArray) -> FloatArray:
    """(cases, 3), N/m, the greatest n (out of the foot), v1 and v3 on one weld, magnitudes, under loads at
    the foot.
    """
    F1, F2, F3, M1, M2, M3 = np.abs(np.asarray(loads, dtype=float)).T
    w, half = weld.length, weld.thickness / 2
    along, aside = 2 * w**3 / 12, 2 * w * half**2
    n = F2 / (2 * w) + M1 * (w / 2) / along + M3 * half / aside
    v1 = F1 / (2 * w) + M2 * (w / 2) / (along + aside)
    v3 = F3 / (2 * w) + M2 * half / (along + aside)
    return np.stack([n, v1, v3], axis=1)


def throat_stress(weld: FilletPair, loads: FloatArray) -> FloatArray:
    """(cases,), Pa, √(σ⊥² + 3(τ⊥² + τ∥²)) in the throat."""
    n, v1, v3 = weld_lines(weld, loads).T / weld.throat
    return np.asarray(np.sqrt((n - v1) ** 2 / 2 + 3 * ((n + v1) ** 2 / 2 + v3**2)))


def weld_checks(part: str, weld: FilletPair, loads: FloatArray, factors: Factors) -> tuple[Check, ...]:
    """Throat and heat-affected zone under loads (cases, 6) at the foot."""
    ultimate, cases = factors.named("ultimate"), len(loads)
    first = (
        not_checked(part, "weld", cases, "no strength of the weld metal is given")
        if weld.strength is None
        else checked(
            part, "weld", throat_stress(weld, loads), weld.strength, "Pa", ultimate, "EN 1999-1-1 8.6.3.3"
        )
    )
    if weld.metal.ultimate_haz is None:
        return first, not_checked(part, "metal beside the weld", cases, "its strength there is not known")
    n, v1, v3 = weld_lines(weld, loads).T / (math.sqrt(2) * weld.throat)
    beside = np.sqrt(n**2 + 3 * (v1**2 + v3**2))
    limit = weld.metal.ultimate_haz
    return first, checked(part, "metal beside the weld", beside, limit, "Pa", ultimate, "EN 1999-1-1 8.6.3.4")
