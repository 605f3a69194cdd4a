"""Moments between two hulls by published rules for high-speed craft, as loads on the bows that do the same.

The rules are for powered craft of greater speed and are no rules for this boat: their moments are a measure
to set others beside. They state moments of the whole cross structure, not where the sea makes them.
Here, as common practice:

- pitch connecting moment M (one hull pitches against the other): opposite forces M / lever at the stems, the lever to the
  platform's twist centre, where roll is balanced, so that M is what twists the platform; and, as a case beside it, as the sea
  loads the hulls: spread along both (`cases.loads.hull_load`). The pair bends the bows' roots more for the same twist;
- torsional moment M (about the fore-and-aft axis): opposite vertical forces M / spacing at the stems;
- transverse bending M: opposite roll moments M × front_share on the hulls at the crossbeam, in both senses.

The pitch connecting and the torsional moment are one load, which two axes show in turn: each is a case, and they are never added.
The acceleration of these two need not be taken greater than 1 g (from memory); transverse bending takes it whole.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, ClassVar, Literal

from pydantic import Field, model_validator

from cases.loads.base import LoadCase, MemberLoad, PlaceLoad, SeaLoad, at, exactly_one, expanded_case, fitting
from cases.loads.hull_load import along_hulls
from cases.loads.origin import Origin
from femcore.base.errors import fault
from femcore.base.numbers import engineering
from femcore.base.units import STANDARD_GRAVITY, Unit
from models.boat.boat import Boat
from models.response.platform_frame import platform_response

Rule = Literal["dnv-hslc", "abs-hsc", "bv-hsc"]
Restriction = Literal["R0", "R1", "R2", "R3", "R4", "R5", "R6"]
DNV_S = {"R0": 4.0, "R1": 5.5, "R2": 6.5, "R3": 7.5, "R4": 8.0, "R5": 8.0, "R6": 8.0}
DNV_Q = {"R0": 3.0, "R1": 4.0, "R2": 5.0, "R3": 5.5, "R4": 6.0, "R5": 6.0, "R6": 6.0}
"""Factors s and q by service restriction: DNV Rules for High Speed, Light Craft and Naval Surface Craft,
January 2011, Pt.3 Ch.1 Sec.3 Table B1 (read)."""


TITLES = {
    "dnv-hslc": "DNV rules for high-speed craft",
    "abs-hsc": "ABS rules for high-speed craft",
    "bv-hsc": "UNITAS rules for high-speed craft (BV, RINA, GL)",
}
"""What the rules are called, by their key."""
SEA_LOADS: Mapping[str, SeaLoad] = {
    "transverse": "transverse",
    "pitch": "pitch connecting",
    "along": "pitch connecting",
    "torsion": "torsion",
}
SHORT = {
    "dnv-hslc": "DNV high-speed craft rules",
    "abs-hsc": "ABS high-speed craft rules",
    "bv-hsc": "UNITAS high-speed craft rules",
}
DNV_GRAVITY = 9.81
"""m/s², g₀ of DNV's rules. In the pitch connecting and torsional moments the acceleration need not be greater than 1 g: by UNITAS
C3.4.2, and by DNV Sec.3 B300 and B400 likewise (both from memory). ABS adds it to 1 g and has no such cap."""
DNV_MAX_LENGTH = 50.0
"""m: DNV's M_S = Δ a b/s is for L < 50 m (Pt.3 Ch.1 Sec.3 B200, read); from there on it has another formula."""


@dataclass(frozen=True, slots=True)
class ConnectingMoments:
    """What a rule gives: N·m, and N for the shear between the hulls; None where it has no such moment.

    source   : the rule, its clause, and whether it was read
    formulas : of transverse, pitch and torsion, symbols with their numbers and the result
    """

    transverse: float
    pitch: float
    torsion: float | None
    shear: float
    source: str
    formulas: Mapping[str, str]


def dnv_acceleration(
    speed: float, length: float, factor: float = 1.0, restriction: Restriction = "R0"
) -> float:
    """m/s²: (V/√L)(3.2/L^0.76) f_g g₀, V in knots, V/√L ≤ 3; at least 1 g₀, or 0.5 g₀ in R5 and R6.

    DNV Rules for High Speed, Light Craft and Naval Surface Craft, January 2011, Pt.3 Ch.1 Sec.2 B201 (read;
    that the least for R6 is as for R5 is assumed). `speed` in m/s, `length` in m.
    """
    knots = speed / (1852 / 3600)
    least = 0.5 if restriction in {"R5", "R6"} else 1.0
    asked = min(knots / math.sqrt(length), 3.0) * 3.2 / math.pow(length, 0.76) * factor
    return max(asked, least) * DNV_GRAVITY


def dnv(
    displacement: float, length: float, spacing: float, acceleration: float, restriction: Restriction = "R0"
) -> ConnectingMoments:
    """M_S = Δ a b/s, M_P = Δ a L/8, M_t = Δ a b/4, S = Δ a/q, for L < 50 m; a at most 1 g in M_P and M_t."""
    weight, capped = displacement * acceleration, min(acceleration, DNV_GRAVITY)
    twisting = displacement * capped
    source = (
        "DNV Rules for High Speed, Light Craft and Naval Surface Craft (2011), Pt.3 Ch.1 Sec.3 B200–B400: "
        "s, q and shear read, the moments from memory"
    )
    s = DNV_S[restriction]
    transverse, pitch, torsion = weight * spacing / s, twisting * length / 8, twisting * spacing / 4
    force, least = (f"{_tonnes(displacement)} × {a:.3g} m/s²" for a in (acceleration, capped))
    cap = _cap(acceleration, capped)
    formulas = {
        "transverse": f"M_S = Δ a b/s = {force} × {spacing:.3g} m/{s:g} = {_moment(transverse)}, s for {restriction}",
        "pitch": f"M_P = Δ a L/8 = {least} × {length:.3g} m/8 = {_moment(pitch)}{cap}",
        "torsion": f"M_t = Δ a b/4 = {least} × {spacing:.3g} m/4 = {_moment(torsion)}{cap}",
    }
    return ConnectingMoments(transverse, pitch, torsion, weight / DNV_Q[restriction], source, formulas)


def abs_rules(displacement: float, length: float, spacing: float, acceleration: float) -> ConnectingMoments:
    """M_tb = 2.5 Δ B (1 + n), M_tt = 1.25 Δ L (1 + n), Q_t = 2.5 Δ (1 + n), kN and t; n in g."""
    n = acceleration / STANDARD_GRAVITY
    sum_of_both = displacement * (1 + n)
    source = "ABS Rules for Building and Classing High-Speed Craft, 3-2-1 (from memory)"
    transverse, twisting = 2.5 * sum_of_both * spacing, 1.25 * sum_of_both * length
    ton, both = _tonnes(displacement), f"(1 + {n:.3g})"
    formulas = {
        "transverse": f"M_tb = 2.5 Δ B (1 + n) = 2.5 × {ton} × {spacing:.3g} m × {both} = {_moment(transverse)}",
        "pitch": f"M_tt = 1.25 Δ L (1 + n) = 1.25 × {ton} × {length:.3g} m × {both} = {_moment(twisting)}",
    }
    return ConnectingMoments(transverse, twisting, None, 2.5 * sum_of_both, source, formulas)


def bv(displacement: float, length: float, spacing: float, acceleration: float) -> ConnectingMoments:
    """M_bt = Δ b a g/5, M_tt = 0.125 Δ L a g, T_bt = Δ a g/4, with a in g, at most 1 in M_tt."""
    weight, capped = displacement * acceleration, min(acceleration, STANDARD_GRAVITY)
    source = "UNITAS (BV, RINA, GL) Rules for High Speed Craft (2002), C3.4.2 (from memory, in doubt)"
    transverse, twisting = weight * spacing / 5, displacement * capped * length / 8
    force, least = (
        f"{_tonnes(displacement)} × {a / STANDARD_GRAVITY:.3g} × 9.81 m/s²" for a in (acceleration, capped)
    )
    formulas = {
        "transverse": f"M_bt = Δ b a g/5 = {force} × {spacing:.3g} m/5 = {_moment(transverse)}",
        "pitch": f"M_tt = 0.125 Δ L a g = 0.125 × {least} × {length:.3g} m = {_moment(twisting)}{_cap(acceleration, capped)}",
    }
    return ConnectingMoments(transverse, twisting, None, weight / 4, source, formulas)


def _cap(acceleration: float, capped: float) -> str:
    """What is said of an acceleration that is capped."""
    return "" if capped == acceleration else f", a of {acceleration:.3g} m/s² taken as 1 g (from memory)"


def _tonnes(mass: float) -> str:
    return f"{mass / 1000:.3g} t"


def _moment(size: float) -> str:
    return engineering(size, "N·m")


class Connecting(LoadCase):
    """A rule's moments, a case for each, and for DNV's the rule's own combinations; transverse bending in both senses.

    displacement : kg;   length : m, of the rule; DNV's is refused from 50 m on, where the formula used here ends
    acceleration : m/s², vertical, at the centre of gravity; or (DNV) speed, m/s, from which it follows
    restriction  : DNV service restriction; R0, none, gives the largest transverse moment
    pitch_load   : how the pitch connecting moment is applied: as a pair of forces at the stems, spread along the hulls, or both,
                   each a case of its own, where left out: for the same twist the pair bends the bows' roots more than the sea
    lever        : m, from the stems to where the forces there are balanced; left out: to the platform's twist centre, or on
                   root springs half the length, the hulls' inertia answering them
    front_share  : of the transverse moment, what the bows ahead of the root take: their share of the length
                   if left out (common practice)
    """

    from_boat: ClassVar[Mapping[str, str]] = {"displacement": "displacement", "length": "waterline"}
    kind: Literal["connecting"] = "connecting"
    rule: Rule
    displacement: Annotated[float, Unit("kg", above=0, most=1e7)]
    length: Annotated[float, Unit("m", above=0, most=1000.0)]
    acceleration: Annotated[float, Unit("m/s**2", above=0, most=1000.0)] | None = None
    speed: Annotated[float, Unit("m/s", above=0, most=100.0)] | None = None
    restriction: Restriction = "R0"
    pitch_load: Literal["stems", "hulls", "both"] = "both"
    lever: Annotated[float, Unit("m", above=0, most=1000.0)] | None = None
    front_share: Annotated[float, Field(gt=0, le=1)] | None = None

    @model_validator(mode="after")
    def _one_of_both(self) -> Connecting:
        exactly_one(self, "acceleration", "speed")
        if self.rule == "dnv-hslc" and self.length >= DNV_MAX_LENGTH:
            limit = f"whose M_S = Δ a b/s is for less than {DNV_MAX_LENGTH:g} m"
            wrong = f"a length of {self.length:g} m is outside the rule, {limit}"
            raise fault(wrong, "give the length of the boat, or take another rule")
        if self.rule != "dnv-hslc" and self.acceleration is None:
            raise fault(
                f"rule '{self.rule}' has no formula here for the acceleration", "give acceleration, not speed"
            )
        return self

    def moments(self, spacing: float) -> ConnectingMoments:
        """The rule's moments for hulls `spacing` apart, m."""
        a = self.acceleration or dnv_acceleration(
            self.speed or 0.0, self.length, restriction=self.restriction
        )
        if self.rule == "dnv-hslc":
            return dnv(self.displacement, self.length, spacing, a, self.restriction)
        return (abs_rules if self.rule == "abs-hsc" else bv)(self.displacement, self.length, spacing, a)

    def loads(self) -> list[PlaceLoad]:
        """None before `expand`."""
        return []

    def what(self) -> str:
        """In one line."""
        return f"moments between the hulls by the {SHORT[self.rule]}"

    def expand(self, boat: Boat) -> list[LoadCase]:
        """A case for each moment and combination."""
        spacing = boat.bows.spacing
        moments = self.moments(spacing)
        share = self.front_share or min(1.0, boat.bows.length / self.length)
        platform = platform_response(fitting(boat))
        lever = self.lever or (
            self.length / 2 if platform is None else boat.bows.length - platform.twist_centre
        )
        parts = {
            "transverse": _part(
                "transverse bending", moments, "transverse", share, "N·m", f"× {share:.3g} of it ahead of the root",
                "of roll on the hulls at the crossbeam, keels apart", "of roll on the hulls at the crossbeam, keels together",
            ),
            "pitch": _part("pitch connecting", moments, "pitch", 1 / lever, "N", f"/{lever:.3g} m of lever", "at the stems"),
            "along": _part(
                "pitch connecting along the hulls", moments, "pitch", 4 / self.length**2, "N/m", f"× 4/({self.length:.3g} m)²",
                "on the fore halves of the hulls, the reverse on their aft halves",
            ),
            "torsion": _part(
                "torsion", moments, "torsion", 1 / spacing, "N", f"/{spacing:.3g} m between the hulls", "at the stems"
            ),
        }  # fmt: skip
        along = along_hulls(boat, moments.pitch, self.length) if self.pitch_load != "stems" else ([], [])
        return [self._case(moments, parts, factors, along) for factors in self._combined(moments)]

    def _combined(self, moments: ConnectingMoments) -> list[dict[str, float]]:
        """Each moment alone; and for DNV the rule's own combinations of two (Sec.3 A800, read): 70 % of one with the other.

        Transverse bending in both senses: seas push the hulls apart and together. The other two change sides with their sign.
        """
        pitch = {"stems": ["pitch"], "hulls": ["along"], "both": ["pitch", "along"]}[self.pitch_load]
        found = [{"transverse": 1.0}, {"transverse": -1.0}, *({key: 1.0} for key in pitch)]
        if self.rule == "dnv-hslc":
            for key in pitch:
                found += [{"transverse": sense * 0.7, key: 1.0} for sense in (1, -1)]
                found += [{"transverse": sense, key: 0.7} for sense in (1.0, -1.0)]
        return [*found, *([{"torsion": 1.0}] if moments.torsion is not None else [])]

    def _vertical_acceleration(self) -> str:
        """Where the acceleration comes from, if not entered."""
        if self.speed is None:
            return ""
        a = dnv_acceleration(self.speed, self.length, restriction=self.restriction)
        least = "0.5" if self.restriction in {"R5", "R6"} else "1"
        return f"a = (V/√L)(3.2/L^0.76) g₀, at least {least} g₀ (Sec.2 B201, read) = {a:.3g} m/s²; "

    def _case(
        self,
        moments: ConnectingMoments,
        parts: Mapping[str, _FactoredLoad],
        factors: Mapping[str, float],
        along: tuple[list[PlaceLoad], list[MemberLoad]],
    ) -> LoadCase:
        """The parts, each times its factor."""
        chosen = [(parts[key], factor) for key, factor in factors.items()]
        roll = sum(part.load * factor for part, factor in chosen if part.unit == "N·m")
        heave = sum(part.load * factor for part, factor in chosen if part.unit == "N")
        text = " and ".join(f"{_part_of(factor)}{part.text(factor)}" for part, factor in chosen)
        origin = Origin(
            f"{moments.source}; how they come to the bows is common practice",
            self._vertical_acceleration()
            + "; ".join(f"{_part_of(factor)}{part.formula} {part.where(factor)}" for part, factor in chosen),
            f"{TITLES[self.rule]}: written for powered craft of greater speed: no rules for this boat, a measure to set others "
            "beside"
            + (f"; L < {DNV_MAX_LENGTH:g} m, here {self.length:.3g} m" if self.rule == "dnv-hslc" else ""),
            inside=False,
        )
        name = " + ".join(f"{_share(factor)}{part.name}" for part, factor in chosen)
        of_sea = (SEA_LOADS[key] for key in factors)
        placed, lines = [*_roll(roll), *_pair(heave)], []
        if "along" in factors:
            placed += [load.scaled_by(factors["along"]) for load in along[0]]
            lines = [load.scaled_by(factors["along"]) for load in along[1]]
        words = f"{SHORT[self.rule]}: {text}"
        return expanded_case(self, words, origin, placed, lines, name=name, of_sea=of_sea)


@dataclass(frozen=True, slots=True)
class _FactoredLoad:
    """One moment of a rule: its load on the bows, N or N·m, and its description."""

    name: str
    size: float
    load: float
    unit: str
    formula: str
    place: str
    reversed_place: str

    def text(self, factor: float) -> str:
        """In words: the rule's own moment, and what of it is put on the bows."""
        label = "torsional" if self.name == "torsion" else self.name.removesuffix(" along the hulls")
        load = engineering(abs(self.load * factor), self.unit)
        return f"{label} moment {_moment(self.size)}, as ±{load} {self.where(factor)}"

    def where(self, factor: float) -> str:
        """Where it acts, and which way."""
        return self.place if factor > 0 else self.reversed_place


def _part(
    name: str,
    moments: ConnectingMoments,
    key: str,
    per: float,
    unit: str,
    by: str,
    place: str,
    reverse: str = "",
) -> _FactoredLoad:
    size = getattr(moments, key) or 0.0
    load = size * per
    formula = f"{moments.formulas.get(key, '')}; {by} = ±{engineering(load, unit)}"
    return _FactoredLoad(name, size, load, unit, formula, place, reverse or place)


def _share(factor: float) -> str:
    return ("" if abs(factor) == 1 else f"{abs(factor):.0%} ") + ("reversed " if factor < 0 else "")


def _part_of(factor: float) -> str:
    return "" if abs(factor) == 1 else f"{100 * abs(factor):.0f} % of "


def _pair(force: float) -> list[PlaceLoad]:
    return [at("port stem", (0.0, 0.0, force)), at("starboard stem", (0.0, 0.0, -force))] if force else []


def _roll(moment: float) -> list[PlaceLoad]:
    """The hulls' bottoms pushed apart."""
    sides = (("port hull at beam", moment), ("starboard hull at beam", -moment))
    return [at(place, moment=(size, 0.0, 0.0)) for place, size in sides] if moment else []
