"""A published rule's load on a sailing catamaran's bow that dives: the fore part of one hull, up and aft.

Bureau Veritas, Rules for the Classification and the Certification of Yachts (July 2006 with February 2008
amendments), Pt B, Ch 6, Sec 3, [3] "Loading induced by deck diving into waves (broaching)" (read):

    F' = 1.8 × 9.807 Δ d sin 10° / (δ₁ + δ₂), vertical, kN      F'' = F' cos 80°, horizontal
    δ₁ = 3/8 L_WL tan 10°      δ₂ = 1/8 L_WL tan 16°      Δ in t, d and L_WL in m

for 10° of trim and of list, 1 g, and the float under water from its fore end to the crossbeam over d. What
was read says neither which way F'' acts, nor how F' is shared by the floats or spread along one. Here: all
of it on one hull, upwards and aft, evenly over d.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated, Literal

from cases.loads.base import LoadCase, PlaceLoad, along, expanded_case
from cases.loads.origin import Origin
from femcore.base.errors import InputFault
from femcore.base.numbers import engineering
from femcore.base.units import Unit
from models.boat.boat import Boat

Positive = Annotated[float, Unit("m", above=0, most=1000.0)]
SOURCE = (
    "Bureau Veritas, Rules for the Classification and the Certification of Yachts (2006, amended 2008), Pt B, Ch 6, Sec 3, [3] "
    "(read); which way F″ acts, how the hulls share F′ and how it is spread was not stated: here all on one hull, up, aft, evenly"
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
    """One bow under water from its fore end over `fore_end` (that from crossbeam to stem, if left out).

    displacement : kg, full load;   waterline : m, of a hull
    """

    kind: Literal["deck diving"] = "deck diving"
    displacement: Annotated[float, Unit("kg", above=0, most=1e7)]
    waterline: Positive
    fore_end: Positive | None = None
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
        over = length - boat.crossbeam.station if self.fore_end is None else self.fore_end
        if not 0 < over <= length:
            cure = f'give fore_end, the length under water, up to "{length:g} m"'
            raise InputFault(
                "deck diving: fore_end", f"{over:g} m is no length of the bow ahead of the root", cure
            )
        load = diving_load(self.displacement, over, self.waterline)
        force = (-load.horizontal / over, 0.0, load.vertical / over)
        up, aft = engineering(load.vertical, "N"), engineering(load.horizontal, "N")
        words = f"{self.what()}: {up} up, {aft} aft, over {engineering(over, 'm')}"
        bow, name = f"{self.side} bow", f"water on the {self.side} bow"
        acting = [along(bow, force, length - over, length, name=name)]
        return [
            expanded_case(
                self, words, self._origin(load, over, length - boat.crossbeam.station), lines=acting
            )
        ]

    def _origin(self, load: DivingLoad, over: float, ahead: float) -> Origin:
        """The rule with this boat's numbers; `ahead`, m, is from stem to crossbeam."""
        as_ruled = math.isclose(over, ahead)
        first, second = (
            self.waterline * share * math.tan(math.radians(a)) for share, a in ((3 / 8, 10), (1 / 8, 16))
        )
        return Origin(
            SOURCE,
            f"F′ = 1.8 × 9.807 Δ d sin 10°/(δ₁ + δ₂) = 1.8 × 9.807 × {self.displacement / 1000:.3g} t × {over:.3g} m × sin 10°/"
            f"({first:.3g} + {second:.3g} m) = {engineering(load.vertical, 'N')}; F″ = F′ cos 80° = "
            f"{engineering(load.horizontal, 'N')}; δ₁ = ⅜ L_WL tan 10°, δ₂ = ⅛ L_WL tan 16°, L_WL = {self.waterline:.3g} m",
            "sailing catamarans, 10° of trim and of list, 1 g; d from the stem to the crossbeam"
            + ("" if as_ruled else f", {ahead:.3g} m: here it is given as {over:.3g} m"),
            inside=as_ruled,
        )
