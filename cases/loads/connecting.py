"""Moments between two hulls by published rules for high-speed craft, as loads on the bows that do the same.

The rules are for powered craft of greater speed and are no rules for this boat: their moments are a measure
to set others beside. They state moments of the whole cross structure, not where the sea makes them.
Here, as common practice:

- pitch connecting moment M (one hull pitches against the other): opposite forces M / lever at the stems;
- torsional moment M (about the fore-and-aft axis): opposite vertical forces M / spacing at the stems;
- transverse bending M: opposite roll moments M × front_share on the hulls at the crossbeam.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated, Literal

from pydantic import Field, model_validator

from cases.loads.base import LoadCase, PlaceLoad, at, exactly_one, fault, settled
from femcore.units import Unit, engineering
from models.boat_file import Boat

STANDARD_GRAVITY = 9.80665
Rule = Literal["dnv-hslc", "abs-hsc", "bv-hsc"]
Restriction = Literal["R0", "R1", "R2", "R3", "R4", "R5", "R6"]
DNV_S = {"R0": 4.0, "R1": 5.5, "R2": 6.5, "R3": 7.5, "R4": 8.0, "R5": 8.0, "R6": 8.0}
DNV_Q = {"R0": 3.0, "R1": 4.0, "R2": 5.0, "R3": 5.5, "R4": 6.0, "R5": 6.0, "R6": 6.0}
"""Factors s and q by service restriction: DNV Rules for High Speed, Light Craft and Naval Surface Craft,
January 2011, Pt.3 Ch.1 Sec.3 Table B1 (read)."""


@dataclass(frozen=True, slots=True)
class ConnectingMoments:
    """What a rule gives: N·m, and N for the shear between the hulls; None where it has no such moment.

    source : the rule, its clause, and whether it was read
    """

    transverse: float
    pitch: float
    torsion: float | None
    shear: float
    source: str


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
    return max(asked, least) * 9.81


def dnv(
    displacement: float, length: float, spacing: float, acceleration: float, restriction: Restriction = "R0"
) -> ConnectingMoments:
    """M_S = Δ a b/s, M_P = Δ a L/8, M_t = Δ a b/4, S = Δ a/q."""
    weight = displacement * acceleration
    source = (
        "DNV Rules for High Speed, Light Craft and Naval Surface Craft (2011), Pt.3 Ch.1 Sec.3 B200–B400: "
        "s, q and shear read, the moments from memory"
    )
    return ConnectingMoments(
        weight * spacing / DNV_S[restriction], weight * length / 8, weight * spacing / 4,
        weight / DNV_Q[restriction], source,
    )  # fmt: skip


def abs_rules(displacement: float, length: float, spacing: float, acceleration: float) -> ConnectingMoments:
    """M_tb = 2.5 Δ B (1 + n), M_tt = 1.25 Δ L (1 + n), Q_t = 2.5 Δ (1 + n), kN and t; n in g."""
    sum_of_both = displacement * (1 + acceleration / STANDARD_GRAVITY)
    source = "ABS Rules for Building and Classing High-Speed Craft, 3-2-1 (from memory)"
    transverse, twisting = 2.5 * sum_of_both * spacing, 1.25 * sum_of_both * length
    return ConnectingMoments(transverse, twisting, None, 2.5 * sum_of_both, source)


def bv(displacement: float, length: float, spacing: float, acceleration: float) -> ConnectingMoments:
    """M_bt = Δ b a g/5, M_tt = 0.125 Δ L a g, T_bt = Δ a g/4, with a in g."""
    weight = displacement * acceleration
    source = "UNITAS (BV, RINA, GL) Rules for High Speed Craft (2002), C3.4.2 (from memory, in doubt)"
    return ConnectingMoments(weight * spacing / 5, weight * length / 8, None, weight / 4, source)


class Connecting(LoadCase):
    """A rule's moments, a case for each, and for DNV's the rule's own two combinations.

    displacement : kg;   length : m, of the rule
    acceleration : m/s², vertical, at the centre of gravity; or (DNV) speed, m/s, from which it follows
    restriction  : DNV service restriction; R0, none, gives the largest transverse moment
    lever        : m, from the middle of the boat to the stems, half the length if left out: the forces at the
                   stems alone make the pitch connecting moment, the hulls' inertia answers them
    front_share  : of the transverse moment, what the bows ahead of the root take: their share of the length
                   if left out (common practice)
    """

    kind: Literal["connecting"]
    rule: Rule
    displacement: Annotated[float, Unit("kg", above=0)]
    length: Annotated[float, Unit("m", above=0)]
    acceleration: Annotated[float, Unit("m/s**2", above=0)] | None = None
    speed: Annotated[float, Unit("m/s", above=0)] | None = None
    restriction: Restriction = "R0"
    lever: Annotated[float, Unit("m", above=0)] | None = None
    front_share: Annotated[float, Field(gt=0, le=1)] | None = None

    @model_validator(mode="after")
    def _one_of_both(self) -> Connecting:
        exactly_one(self, "acceleration", "speed")
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

    def words(self) -> str:
        """In one line."""
        return f"moments between the hulls, high-speed craft rule {self.rule}"

    def expand(self, boat: Boat) -> list[LoadCase]:
        """A case for each moment and combination."""
        spacing, moments = boat.bows.spacing, self.moments(boat.bows.spacing)
        share = self.front_share or min(1.0, boat.bows.length / self.length)
        pitch = moments.pitch / (self.lever or self.length / 2)
        bending = moments.transverse * share
        combined = (
            ((1.0, 0.0), (0.0, 1.0), (0.7, 1.0), (1.0, 0.7))
            if self.rule == "dnv-hslc"
            else ((1.0, 0.0), (0.0, 1.0))
        )
        cases: list[LoadCase] = [self._case(bending, pitch, *factors) for factors in combined]
        if moments.torsion is not None:
            words = f"{self.rule}, torsional moment {engineering(moments.torsion, 'N*m')}"
            cases.append(settled(self, words, _pair(moments.torsion / spacing), name="torsion"))
        return cases

    def _case(self, bending: float, pitch: float, of_bending: float, of_pitch: float) -> LoadCase:
        """Transverse bending and pitch connecting moment, each times its factor."""
        parts = ((of_bending, "transverse bending"), (of_pitch, "pitch connecting"))
        name = " + ".join(f"{factor:.0%} {word}" if factor < 1 else word for factor, word in parts if factor)
        placed = [*_roll(bending * of_bending), *_pair(pitch * of_pitch)]
        said: list[str] = [self.rule]
        if of_bending:
            said.append(f"±{engineering(bending * of_bending, 'N*m')} of roll on the hulls at the crossbeam")
        if of_pitch:
            said.append(f"±{engineering(pitch * of_pitch, 'N')} at the stems")
        return settled(self, ", ".join(said), placed, name=name)


def _pair(force: float) -> list[PlaceLoad]:
    return [at("port stem", (0.0, 0.0, force)), at("starboard stem", (0.0, 0.0, -force))] if force else []


def _roll(moment: float) -> list[PlaceLoad]:
    """The hulls' bottoms pushed apart."""
    sides = (("port hull at beam", moment), ("starboard hull at beam", -moment))
    return [at(place, moment=(size, 0.0, 0.0)) for place, size in sides] if moment else []
