"""A published rule's load on a sailing catamaran's bow that dives: the fore part of one hull, up and aft.

Bureau Veritas, Rules for the Classification and the Certification of Yachts (July 2006 with February 2008
amendments), Pt B, Ch 6, Sec 3, [3] "Loading induced by deck diving into waves (broaching)" (read):

    F' = 1.8 × 9.807 Δ d sin 10° / (δ₁ + δ₂), vertical, kN      F'' = F' cos 80°, horizontal
    δ₁ = 3/8 L_WL tan 10°      δ₂ = 1/8 L_WL tan 16°      Δ in t, d and L_WL in m

for quartering head seas, 10° of trim and of list, and a horizontal deceleration of 1 g. δ₁ and δ₂ are the sinkages, by trim and
by list, of the point half-way along d; d runs from the float's fore end to the forward face of the forward cross structure, and
both forces act on the fore part of the floats. With a net ahead of the bulkhead the cross structure is the bridge deck, whose
forward face is the bulkhead; with a solid deck up to the crossbeam it is that.

F' is spread linearly along d (3.2.2, read as far as "li…"): which end has nothing was not seen. Taken with its greatest value at
the stem, whose moment at the after end of d is 4/3 of that of an even spread; the other sense has 2/3. Neither which way F''
acts nor how the floats share F' was seen: here all of it on one hull, upwards and aft.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, ClassVar, Literal

from cases.loads.base import ZERO_VECTOR, LoadCase, LoadLevel, PlaceLoad, along, expanded_case
from cases.loads.origin import Origin
from femcore.base.errors import InputFault
from femcore.base.numbers import engineering
from femcore.base.units import Unit
from models.boat.boat import Boat

Positive = Annotated[float, Unit("m", above=0, most=1000.0)]
SOURCE = (
    "Bureau Veritas, Rules for the Classification and the Certification of Yachts (2006, amended 2008), Pt B, Ch 6, Sec 3, [3] "
    "(read); linear along d (read in part); which end has most, which way F″ acts and how the hulls share F′ was not seen: here "
    "the greatest at the stem, the worse sense, all on one hull, up and aft"
)


@dataclass(frozen=True, slots=True)
class DivingLoad:
    """N: vertical F' and horizontal F''."""

    vertical: float
    horizontal: float


def diving_load(displacement: float, fore_end: float, waterline: float) -> DivingLoad:
    """The rule's two forces, for a displacement in kg, d and L_WL in m."""
    sinking = waterline * (3 / 8 * math.tan(math.radians(10)) + 1 / 8 * math.tan(math.radians(16)))
    vertical = 1.8 * 9.807 * displacement * fore_end * math.sin(math.radians(10)) / sinking
    return DivingLoad(vertical, vertical * math.cos(math.radians(80)))


class DeckDiving(LoadCase):
    """One bow under water from its fore end over d.

    displacement : kg, full load;   waterline : m, of a hull
    fore_end     : m, d; left out: by the rule, from the stem to the forward face of the cross structure
    ahead        : what is ahead of the bulkhead: a "net", so that d runs to the bulkhead, or a solid "deck" up to the crossbeam
    greatest_at  : the end of d where the load is greatest, and from which it falls linearly to nothing

    Its load is an extreme one: a bow that dives at speed and stops the boat at 1 g is an accident (common practice).
    """

    default_level: ClassVar[LoadLevel] = "extreme"
    from_boat: ClassVar[Mapping[str, str]] = {"displacement": "displacement", "waterline": "waterline"}
    kind: Literal["deck diving"] = "deck diving"
    displacement: Annotated[float, Unit("kg", above=0, most=1e7)]
    waterline: Positive
    fore_end: Positive | None = None
    ahead: Literal["net", "deck"] = "net"
    greatest_at: Literal["stem", "aft"] = "stem"
    side: Literal["port", "starboard"] = "port"

    def loads(self) -> list[PlaceLoad]:
        """None: it acts along the bow, over a length that the boat gives."""
        return []

    def what(self) -> str:
        """In one line."""
        return f"{self.side} bow dives (rule for sailing catamarans)"

    def expand(self, boat: Boat) -> list[LoadCase]:
        """The case with its line load on the bow; InputFault where the bow has no such fore end."""
        length = boat.bows.length
        ruled = length - (boat.crossbeam.station if self.ahead == "deck" else 0.0)
        over = ruled if self.fore_end is None else self.fore_end
        if not 0 < over <= length:
            cure = f'give fore_end, the length under water, up to "{length:g} m"'
            raise InputFault(
                "deck diving: fore_end", f"{over:g} m is no length of the bow ahead of the root", cure
            )
        load = diving_load(self.displacement, over, self.waterline)
        most, nothing = (-2 * load.horizontal / over, 0.0, 2 * load.vertical / over), ZERO_VECTOR
        aft_end, stem = (nothing, most) if self.greatest_at == "stem" else (most, nothing)
        up, aft = engineering(load.vertical, "N"), engineering(load.horizontal, "N")
        words = f"{self.what()}: {up} up, {aft} aft, over {engineering(over, 'm')}, greatest at "
        words += "the stem" if self.greatest_at == "stem" else "its after end"
        bow, name = f"{self.side} bow", f"water on the {self.side} bow"
        acting = [along(bow, aft_end, length - over, length, name=name, end_force=stem)]
        return [
            expanded_case(self, words, self._origin(load, over, ruled), lines=acting, of_sea=["deck diving"])
        ]

    def _origin(self, load: DivingLoad, over: float, ruled: float) -> Origin:
        """The rule with this boat's numbers; `ruled`, m, is d by the rule."""
        as_ruled = math.isclose(over, ruled)
        first, second = (
            self.waterline * share * math.tan(math.radians(a)) for share, a in ((3 / 8, 10), (1 / 8, 16))
        )
        to = (
            "the bulkhead, where a net is ahead of it"
            if self.ahead == "net"
            else "the crossbeam, up to a solid deck"
        )
        return Origin(
            SOURCE,
            f"F′ = 1.8 × 9.807 Δ d sin 10°/(δ₁ + δ₂) = 1.8 × 9.807 × {self.displacement / 1000:.3g} t × {over:.3g} m × sin 10°/"
            f"({first:.3g} + {second:.3g} m) = {engineering(load.vertical, 'N')}; F″ = F′ cos 80° = "
            f"{engineering(load.horizontal, 'N')}; δ₁ = ⅜ L_WL tan 10°, δ₂ = ⅛ L_WL tan 16°, L_WL = {self.waterline:.3g} m",
            f"sailing catamarans in quartering head seas, 10° of trim and of list, 1 g; d from the stem to {to}"
            + ("" if as_ruled else f", {ruled:.3g} m: here it is given as {over:.3g} m"),
            inside=as_ruled,
        )
