"""Fillet welds in aluminium alloy (EN 1999-1-1 8.6.3) or steel (EN 1993-1-8 4.5.3.2): two along a plate's foot, or any group.

The two of a plate are lines of length w, t apart, as far as the plate is thick. Loads (cases, 6) at the foot in the
axes of a lug (1 through the plate, 2 out of its foot, 3 along the welds). The pull per length is linear over
the lines; in the throat a of a 45° fillet

    σ⊥ = (n − v1)/√2a,  τ⊥ = (n + v1)/√2a,  τ∥ = v3/a,   √(σ⊥² + 3(τ⊥² + τ∥²)) ≤ f_w

(EN 1999-1-1 8.6.3.3; from memory), and beside the weld, on its leg √2 a in the heat-affected zone, √(σ² +
3τ²) ≤ f_u,haz (8.6.3.4; from memory). γ_Mw = 1.25 is in the factor "ultimate". Of steel f_w = f_u/β_w.

A group of lines in a plane is taken elastically, as a line section (O.W. Blodgett, Design of Welded Structures (1966), 7.4, and
R.G. Budynas & J.K. Nisbett, Shigley's Mechanical Engineering Design, tables 9-1 and 9-2, weld as a line; from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from femcore.base.arrays import FloatArray
from femcore.materials import Metal
from models.strength.bounds import require_positive
from models.strength.margins import Check, SafetyFactors, checked, not_checked

FILLER_STRENGTH: Final = {
    ("5356", "al6082_t6"): 210e6, ("5356", "al6082_t6_thin"): 210e6,
    ("5356", "al6061_t6"): 190e6, ("5356", "al5083_o"): 240e6,
    ("4043A", "al6082_t6"): 190e6, ("4043A", "al6082_t6_thin"): 190e6, ("4043A", "al6061_t6"): 170e6,
    ("316L", "ss_1_4401"): 500e6,
}  # fmt: skip
"""f_w, Pa, by filler and metal (EN 1999-1-1 Table 8.8; stainless f_u/β_w with β_w = 1, EN 1993-1-4 6.3; from memory)."""

MIN_STEEL_MODULUS = 150e9
"""Pa: a metal stiffer than this is a steel."""


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
        require_positive("weld", throat=self.throat, length=self.length, thickness=self.thickness)


def weld_line_forces(weld: FilletPair, loads: FloatArray) -> FloatArray:
    """(cases, 3), N/m, the greatest n (out of the foot), v1 and v3 on one weld, magnitudes, under loads at
    the foot.
    """
    F1, F2, F3, M1, M2, M3 = np.abs(np.asarray(loads, dtype=float)).T
    w, half = weld.length, weld.thickness / 2
    along, across = 2 * w**3 / 12, 2 * w * half**2
    n = F2 / (2 * w) + M1 * (w / 2) / along + M3 * half / across
    v1 = F1 / (2 * w) + M2 * (w / 2) / (along + across)
    v3 = F3 / (2 * w) + M2 * half / (along + across)
    return np.stack([n, v1, v3], axis=1)


def throat_stress(weld: FilletPair, loads: FloatArray) -> FloatArray:
    """(cases,), Pa, √(σ⊥² + 3(τ⊥² + τ∥²)) in the throat."""
    return _throat_stress(weld_line_forces(weld, loads) / weld.throat)


def weld_checks(part: str, weld: FilletPair, loads: FloatArray, factors: SafetyFactors) -> tuple[Check, ...]:
    """Throat and heat-affected zone under loads (cases, 6) at the foot."""
    flows = weld_line_forces(weld, loads)[:, None]
    return _line_force_checks(part, weld.metal, weld.throat, weld.strength, flows, factors)


@dataclass(frozen=True, eq=False)
class FilletGroup:
    """Fillets of one `throat`, m, along straight `lines` (k, 2, 2), m, each from point to point in the plane of a foot: axes 1
    and 3 of an `attachment`. `metal`: the weaker of those it joins; `strength` f_w, Pa, None unknown.
    """

    metal: Metal
    throat: float
    lines: FloatArray
    strength: float | None = None

    def __post_init__(self) -> None:
        require_positive("weld", throat=self.throat, length=float(self.lengths.sum()))

    @property
    def lengths(self) -> FloatArray:
        """(k,), m."""
        return np.asarray(np.linalg.norm(self.lines[:, 1] - self.lines[:, 0], axis=1))

    def flows(self, loads: FloatArray) -> FloatArray:
        """(cases, ends of lines, 3), N/m: out of the foot, across the line, along it."""
        start, along = self.lines[:, 0], self.lines[:, 1] - self.lines[:, 0]
        length, middle = self.lengths, self.lines.mean(axis=1)
        centre = length @ middle / length.sum()
        arms = middle - centre
        second = np.einsum("k,ki,kj->ij", length, arms, arms) + np.einsum(
            "k,ki,kj->ij", length / 12, along, along
        )
        at = np.concatenate([start, start + along]) - centre
        direction = np.tile(along / length[:, None], (2, 1))
        F1, F2, F3, M1, M2, M3 = np.asarray(loads, dtype=float).T
        # about the lines' own centre: M1 = ∫ −z n, M3 = ∫ x n with z along 3, x along 1
        about = np.stack([M3 - centre[0] * F2, -(M1 + centre[1] * F2)], axis=1)
        bending_gradient = np.linalg.lstsq(second, about.T, rcond=None)[0].T
        pull = F2[:, None] / length.sum() + bending_gradient @ at.T
        polar_rotation = (M2 - (centre[1] * F1 - centre[0] * F3)) / np.trace(second)
        sheared = np.stack([F1, F3], axis=1)[:, None] / length.sum()
        sheared = sheared + polar_rotation[:, None, None] * np.stack([at[:, 1], -at[:, 0]], axis=1)
        lengthwise = np.einsum("cpi,pi->cp", sheared, direction)
        across = np.einsum("cpi,pi->cp", sheared, np.stack([-direction[:, 1], direction[:, 0]], axis=1))
        return np.stack([pull, across, lengthwise], axis=2)

    def checks(self, part: str, loads: FloatArray, factors: SafetyFactors) -> tuple[Check, ...]:
        """Throat and heat-affected zone under loads (cases, 6) at the foot, in the axes of an `attachment`."""
        flows = np.abs(self.flows(loads))
        return _line_force_checks(f"{part}, weld", self.metal, self.throat, self.strength, flows, factors)


def _throat_stress(stress: FloatArray) -> FloatArray:
    """(…,), Pa, of the throat's own n, v1, v3 over a, sizes, (…, 3): the worse of both signs of v1."""
    n, v1, v3 = np.moveaxis(np.abs(stress), -1, 0)
    return np.asarray(np.sqrt((n - v1) ** 2 / 2 + 3 * ((n + v1) ** 2 / 2 + v3**2)))


def _line_force_checks(
    part: str, metal: Metal, throat: float, strength: float | None, flows: FloatArray, factors: SafetyFactors
) -> tuple[Check, ...]:
    """Of flows (cases, places, 3), N/m, the worst place of each case."""
    ultimate, cases, steel = factors.safety_factor("ultimate"), len(flows), metal.E > MIN_STEEL_MODULUS
    source = "EN 1993-1-8 4.5.3.2" if steel else "EN 1999-1-1 8.6.3.3 (from memory)"
    stress = _throat_stress(flows / throat).max(axis=1)
    first = (
        not_checked(part, "weld", cases, "no strength of the weld metal is given")
        if strength is None
        else checked(part, "weld", stress, strength, "Pa", ultimate, source)
    )
    if metal.ultimate_haz is None:
        return first, not_checked(part, "metal beside the weld", cases, "its strength there is not known")
    n, v1, v3 = np.moveaxis(flows, -1, 0) / (math.sqrt(2) * throat)
    haz_stress = np.sqrt(n**2 + 3 * (v1**2 + v3**2)).max(axis=1)
    source = "EN 1993-1-8 4.5.3.2, on the leg" if steel else "EN 1999-1-1 8.6.3.4 (from memory)"
    return first, checked(
        part, "metal beside the weld", haz_stress, metal.ultimate_haz, "Pa", ultimate, source
    )
