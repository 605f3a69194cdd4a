"""Glue lines: shear lag between two sheets, what plasticity adds, what temperature brings, and the peel beside it.

Two sheets of in-plane stiffness K1, K2 per width (E t for a pull, G t for shear or torsion of two coaxial
tubes), N/m, share one bond line of thickness η, shear modulus G, over a length L. A load P per width, N/m,
enters sheet 1 at x = 0 and leaves sheet 2 at x = L (O. Volkersen, Luftfahrtforschung 15 (1938) 41, from
memory; derived anew and checked against a boundary-value solution):

    ω² = (G/η)(1/K1 + 1/K2),  a = K1/(K1 + K2),  b = K2/(K1 + K2)
    N1/P = a + [b sinh ω(L − x) − a sinh ωx]/sinh ωL
    τ/P  = ω [b cosh ω(L − x) + a cosh ωx]/sinh ωL

Where it leaves sheet 2 at x = 0 again, both sheets free at x = L (`same_end`; derived from the same equations):

    N1/P = −N2/P = sinh ω(L − x)/sinh ωL,   τ/P = ω cosh ω(L − x)/sinh ωL:  the peak ω coth ωL is up to twice as high

Unequal expansion over a temperature change ΔT, no load, both sheets free at both ends (derived likewise, with α ΔT in the
strains):

    τ = Δα ΔT (G/η)/ω · sinh ω(x − L/2)/cosh(ωL/2),   at the ends Δα ΔT (G/η)/ω · tanh(ωL/2)

No peel enters: it is the model for laps whose sheets are held from bending (tubes, double laps, a skin on its core). Their
peel is that of the sheet alone, pushed at half its thickness off its middle (`peel_ratio`).

Every glue line is checked twice. *Elastic*: under the load in service, which has no factor of its own, peak shear and peel
stay below the strength less its knock-downs, with the factor `bond_elastic`; the stress of a temperature change is added to
the load's peak (both peak at the same ends, in either sense). *Ultimate*: the load times the factor `bond` stays below the
capacity of elastic, then plastic glue by the strength entered. Plastic strain turns no verdict alone.

Units: moduli Pa, lengths m, loads N/m; every load may be an array of cases, and of any other shape.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from femcore.base.arrays import FloatArray
from femcore.materials import KnockDown
from models.strength.bounds import require_positive
from models.strength.margins import Check, PlasticReserve, SafetyFactors, checked, not_checked

MAX_OMEGA_L = 350.0
"""ωL beyond which a lap is as good as endless: e to this power is still a number."""
ELASTIC = "elastic in service"
"""Ends the name of a glue line's elastic check; its ultimate check bears the plain name."""
LAP_SOURCE = "Volkersen 1938; Hart-Smith, NASA CR-112235"
END_PEEL_SOURCE = "peel of a double lap, Hart-Smith 1973 (from memory)"
NO_SHEAR_STRENGTH = "no shear strength of the glue is given"
NO_PEEL_STRENGTH = "the glue's peel strength or its E is not given"
NO_OVERLAP = "there is no overlap"
NO_EXPANSION = "a laminate's thermal expansion is not known; give its layers expansion1 and expansion2, or the wall expansion"


@dataclass(frozen=True)
class Adhesive:
    """A glue line: shear modulus `G`, thickness, m; strengths in shear and peel, Pa, None where they are not
    known.

    plastic_strain : shear strain at failure beyond the elastic one (Hart-Smith's γ_p); 0: brittle
    E : Young's modulus, Pa, for peel; None: none is estimated
    knockdowns : taken off both strengths in elastic checks, as off the matrix of a ply
    temperature_change : K, greatest from where it cured, either way; acts where the sheets expand unequally
    """

    G: float
    thickness: float
    shear_strength: float | None = None
    peel_strength: float | None = None
    plastic_strain: float = 0.0
    E: float | None = None
    knockdowns: tuple[KnockDown, ...] = ()
    temperature_change: float = 0.0

    def __post_init__(self) -> None:
        require_positive("glue line", G=self.G, thickness=self.thickness)

    @property
    def stiffness(self) -> float:
        """Pa/m, G/η: shear stress per slip."""
        return self.G / self.thickness

    @property
    def knockdown(self) -> float:
        """What all knock-downs leave of a strength, in (0, 1]."""
        return math.prod(item.matrix for item in self.knockdowns)

    @property
    def knockdown_words(self) -> str:
        """What is taken off in elastic checks, for a check's source."""
        names = ", ".join(item.name for item in self.knockdowns)
        return f"strength × {self.knockdown:.2g} ({names})" if names else "no knock-down"


@dataclass(frozen=True)
class Lap:
    """Two sheets on one glue line: `K1`, `K2` N/m per width, `length` m; no length joins nothing.

    same_end : whether the load leaves sheet 2 at the end where it enters sheet 1, and not at the other
    """

    K1: float
    K2: float
    length: float
    adhesive: Adhesive
    same_end: bool = False

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
        and slip at its end (derived; the same from either side); at the same end the slip alone, (η/G) ω coth ωL.
        Infinite for no length; over a long lap only its ends work.
        """
        if self.length <= 0:
            return np.inf
        a, b = self.shares
        w = self.omega
        x = min(w * self.length, MAX_OMEGA_L)
        if self.same_end:
            return float(w / np.tanh(x) / self.adhesive.stiffness)
        stretch = (a * self.length + (b - a) * np.tanh(x / 2) / w) / self.K1
        return float(stretch + w * (b / np.sinh(x) + a / np.tanh(x)) / self.adhesive.stiffness)

    @property
    def slip(self) -> float:
        """m²/N, movement of sheet 1 against sheet 2 where the load leaves sheet 2, per load per width: `flexibility` less the
        stretch of sheet 1. For a sheet 1 that goes on, as a beam whose own stretch is counted all along it.

        What sheet 2 takes off sheet 1 still counts as stretching it, on the soft side. Falls with length; infinite for none.
        """
        if self.same_end or self.length <= 0:
            return self.flexibility
        a, b = self.shares
        x = min(self.omega * self.length, MAX_OMEGA_L)
        return float(self.omega * (b / np.sinh(x) + a / np.tanh(x)) / self.adhesive.stiffness)

    @property
    def peak(self) -> float:
        """1/m, the greatest shear stress per load per width: at the end where the softer sheet is loaded, or both are."""
        if self.length <= 0:
            return np.inf
        a, b = (1.0, 0.0) if self.same_end else self.shares
        x = min(self.omega * self.length, MAX_OMEGA_L)
        return float(self.omega * (max(a, b) / np.tanh(x) + min(a, b) / np.sinh(x)))

    @property
    def shares(self) -> tuple[float, float]:
        """K1 and K2 over their sum: what each sheet carries far from both ends."""
        return self.K1 / (self.K1 + self.K2), self.K2 / (self.K1 + self.K2)


def lap_shear(lap: Lap, x: FloatArray) -> FloatArray:
    """1/m, τ/P at places x, m, from where sheet 1 is loaded."""
    a, b = (0.0, 1.0) if lap.same_end else lap.shares
    w = lap.omega
    return np.asarray(w * (b * np.cosh(w * (lap.length - x)) + a * np.cosh(w * x)) / np.sinh(w * lap.length))


def thermal_shear(lap: Lap, mismatch: float) -> float:
    """Pa, the greatest shear stress in the glue, at both ends, from the glue's temperature change.

    mismatch : 1/K, by how much more one sheet expands than the other, in the lap's direction
    """
    if lap.length <= 0:
        return 0.0
    strain = abs(mismatch * lap.adhesive.temperature_change)
    return float(strain * lap.adhesive.stiffness / lap.omega * np.tanh(lap.omega * lap.length / 2))


def peel_ratio(D: float, thickness: float, lap: Lap) -> float:
    """Peel at the end of a sheet over its peak shear there, where the lap itself is held from bending (a double lap, a tube).

    D, thickness : of the sheet that ends there, N·m and m;   ValueError where the glue's E is not known

    The shear acts at half a thickness t off the sheet's middle, a moment τ t/2 per length on a beam on the glue: for an
    even τ (plastic glue) σ/τ = βt, β⁴ = E_a/(4 η D), which is (3 (1 − ν²) E_a t/(E η))^¼ of one material (L.J. Hart-Smith, NASA
    CR-112235 (1973), from memory); for τ that decays as e^−ωx that times (2 + ω/β)/((1 + ω/β)² + 1) (derived; a long sheet).
    """
    if lap.adhesive.E is None:
        raise ValueError("the glue's Young's modulus is not known")
    beta = (lap.adhesive.E / (4 * lap.adhesive.thickness * D)) ** 0.25
    decay = lap.omega / beta
    return float(beta * thickness * (2 + decay) / ((1 + decay) ** 2 + 1))


def plastic_capacity(lap: Lap, strength: float) -> float:
    """N/m, the load per width at which the glue reaches its last strain, elastic and then plastic at
    `strength`, Pa.

    L.J. Hart-Smith, NASA CR-112235 (1973): elastic, perfectly plastic glue; the equations solved here for
    unequal sheets and any length (derived; checked against a boundary-value solution, and against his bond
    potential for long laps, √(2 η τ_p (γ_e/2 + γ_p) K1 (1 + K1/K2))). With γ_p = 0 it is strength over the
    elastic peak. The weaker end has the softer sheet; it goes plastic over d1 and ends at γ_e + γ_p, an
    elastic middle remains, and the other end may go plastic too. Loaded at one end alone, that end goes plastic and
    the rest stays elastic.
    """
    soft, stiff = sorted((lap.K1, lap.K2))
    w, ratio = lap.omega, soft / stiff
    elastic = strength / lap.adhesive.G
    plastic_term = 2 * lap.adhesive.plastic_strain / elastic
    low, high = 0.0, w * lap.length + 1.0
    for _ in range(200):
        middle = (low + high) / 2
        reached = (
            _loaded_end_omega_length(middle, plastic_term)
            if lap.same_end
            else _omega_length(middle, plastic_term, ratio)
        )
        low, high = (middle, high) if reached < w * lap.length else (low, middle)
    slope = np.sqrt(np.tanh(low) ** 2 + plastic_term)
    # the slip's slope at the weaker end is P over the softer sheet, or over both where both are loaded there
    sheet = 1 / (1 / soft + 1 / stiff) if lap.same_end else soft
    # a lap too short for an elastic middle is plastic all over
    return float(min(sheet * lap.adhesive.thickness * w * elastic * slope, strength * lap.length))


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


def _loaded_end_omega_length(depth: float, plastic_term: float) -> float:
    """ωL of a lap loaded at one end alone whose elastic part is depth/ω long, the glue at the end at its last strain."""
    T = np.tanh(depth)
    return float(depth + np.sqrt(T**2 + plastic_term) - T)


# Checks -----------------------------------------------------------------------------------------------------

Flow = tuple[Lap, FloatArray]
"""A lap and its load per width (cases,), N/m."""


def shear_checks(
    part: str, name: str, flows: Sequence[Flow], factors: SafetyFactors, thermal: float = 0.0
) -> tuple[Check, Check]:
    """A glue line in shear, ultimate and elastic, under one flow or two square to each other at one place (√ of squares).

    thermal : Pa, of a temperature change (`thermal_shear`), added to the peak of the elastic check
    """
    cases, glue = len(flows[0][1]), flows[0][0].adhesive
    strength = glue.shear_strength
    why = NO_SHEAR_STRENGTH if strength is None else NO_OVERLAP
    if strength is None or any(lap.length <= 0 for lap, _ in flows):
        return not_checked(part, name, cases, why), not_checked(part, f"{name}, {ELASTIC}", cases, why)
    peak = _root_of_squares([np.abs(load) * lap.peak for lap, load in flows])
    used = _root_of_squares([np.abs(load) / plastic_capacity(lap, strength) for lap, load in flows])
    elastic = elastic_check(part, name, peak, glue, strength, factors, "Volkersen 1938", thermal)
    factor = factors.safety_factor("bond")
    plastic = glue.plastic_strain > 0
    source = "Volkersen 1938" if not plastic else LAP_SOURCE
    if len(flows) == 1:
        (lap, load), *_ = flows
        ultimate = checked(part, name, load, plastic_capacity(lap, strength), "N/m", factor, source)
    else:
        ultimate = checked(part, name, used, 1.0, "", factor, source)
    return (with_reserve(ultimate, elastic, peak / strength) if plastic else ultimate), elastic


def peel_checks(
    part: str,
    name: str,
    glue: Adhesive,
    stress: FloatArray | None,
    cases: int,
    factors: SafetyFactors,
    source: str,
    thermal: float = 0.0,
    why: str = NO_PEEL_STRENGTH,
) -> tuple[Check, Check]:
    """A glue line in peel, ultimate and elastic, under stress (cases,), Pa: no plastic strain is counted on in peel.

    stress  : None where it is not known, and `why`;   thermal : Pa, of a temperature change, added in the elastic check
    """
    strength = glue.peel_strength
    if stress is None or strength is None:
        return not_checked(part, name, cases, why), not_checked(part, f"{name}, {ELASTIC}", cases, why)
    ultimate = checked(part, name, stress, strength, "Pa", factors.safety_factor("bond"), source)
    return ultimate, elastic_check(part, name, stress, glue, strength, factors, source, thermal)


def elastic_check(
    part: str,
    name: str,
    stress: FloatArray,
    glue: Adhesive,
    strength: float,
    factors: SafetyFactors,
    source: str,
    thermal: float = 0.0,
) -> Check:
    """Peak stress (cases,), Pa, in service and `thermal` on top of it, against a strength less the glue's knock-downs."""
    factor, source = factors.safety_factor("bond_elastic"), f"{source}, first yield; {glue.knockdown_words}"
    if thermal:
        source += f"; {glue.temperature_change:.0f} K"
    return checked(
        part, f"{name}, {ELASTIC}", stress, strength * glue.knockdown, "Pa", factor, source, thermal
    )


def with_reserve(ultimate: Check, elastic: Check, brittle: FloatArray) -> Check:
    """The ultimate check of a glue line with what of it rests on plastic strain.

    brittle : (cases,), its utilisation without plastic strain, no factor in
    """
    reserve = PlasticReserve(elastic.load / elastic.allowable, elastic.factor, brittle)
    return replace(ultimate, plastic=reserve)


def _root_of_squares(parts: Sequence[FloatArray]) -> FloatArray:
    return parts[0] if len(parts) == 1 else np.hypot(*parts)
