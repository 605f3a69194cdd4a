"""What an owner knows of a boat, and which values of a boat file are estimated from it.

`OwnersBoat` is the questionnaire: four values that every owner has, and whatever else is known; "unknown" is as a key left out.
`BoatTable` is the [boat] table of a boat file: the same four values, others that cases take, and by key what was estimated, with
its scatter.
The estimates themselves are in `cases.input.estimates`.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from contextlib import suppress
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, Field, model_validator

from cases.input.variants import value_at
from femcore.base.errors import InputFault, fault
from femcore.base.spread import split_spread
from femcore.base.toml import Document, Table
from femcore.base.units import Unit

Construction = Literal["glass sandwich", "carbon sandwich", "solid glass", "plywood", "aluminium"]
JointIdea = Literal["lug and pin", "taped socket", "fork and pin", "rigid"]
"""Joints that a short file can describe: the first two with their parts, the last two as limits to compare them with."""
Metres = Annotated[float, Unit("m", above=0, most=60.0)]
Millimetres = Annotated[float, Unit("m", above=0, most=1.0)]
MIN_BEAM_IN_HULLS = 2.5
"""A boat's beam over the breadth of a hull: two hulls, and half of one between them."""
MAX_BOW = 0.7
"""Bow ahead of the main bulkhead, over the boat's length."""
MAX_WALL = 1 / 6
UNKNOWN = "unknown"
REQUIRED = ("length", "beam", "displacement", "rig_height")
_ESTIMATED = re.compile(
    r"(?P<key>[^\s±×](?:[^±×]*[^\s±×])?)(?:\s*(?P<scatter>[±×]\s*\d+(\.\d+)?(\s*(%|m|mm|deg))?))?"
)


def _estimated(text: str) -> str:
    """The text, where it names a key, and says how far its value may be off if that does not stand behind it; else a fault."""
    if not _ESTIMATED.fullmatch(text.strip()):
        raise fault(
            f"'{text}' is no key with its scatter",
            'write it as "bows.spacing ± 5 %", "stay.up ± 20 mm" or, either way by a factor, "bows.stations × 2"',
        )
    return text.strip()


def scatter_behind(value: object) -> str:
    """How far a value of a file may be off, as that stands behind it: "± 5 %"; empty where it says nothing."""
    with suppress(InputFault):
        if isinstance(value, str) and (spread := split_spread(value)[1]) is not None:
            return spread.text
    return ""


class KnownBoat(Table):
    """What every owner knows.

    length       : m, of the hulls over all;   beam : m, over all
    displacement : kg, loaded as she sails;    rig_height : m, of the forestay's upper end above the water
    """

    length: Annotated[float, Unit("m", least=5.0, most=40.0)]
    beam: Annotated[float, Unit("m", least=2.0, most=25.0)]
    displacement: Annotated[float, Unit("kg", least=100.0, most=2e5)]
    rig_height: Annotated[float, Unit("m", least=4.0, most=60.0)]


class BoatTable(KnownBoat):
    """The [boat] table of a boat file: the particulars that cases take where they do not state them, and what is estimated.

    A particular that is left out is estimated from the four of `KnownBoat` where a case needs it (`cases.input.estimates`).

    waterline, waterline_breadth : m, of one hull in the water as she sails: its length, and its greatest breadth
    windage       : m², of what the boat shows the wind from ahead;   bridle : m, of each leg of her mooring bridle
    headsail_area : m²;   drive : N, forward force of the sails as hard as she is sailed to windward
    effort_height : m, of the sails' centre of effort above that of the hulls' resistance
    lee_share     : of the displacement, on the lee hull as hard as she is sailed
    estimated     : of each estimate the key, of a value or of a whole table, from the file's top, and the scatter of what is
                    there: "stay.up ± 20 mm", "platform × 2"; the key alone of a value that has its scatter behind it
    """

    waterline: Metres | None = None
    waterline_breadth: Metres | None = None
    windage: Annotated[float, Unit("m**2", above=0, most=1e3)] | None = None
    bridle: Metres | None = None
    headsail_area: Annotated[float, Unit("m**2", above=0, most=1e3)] | None = None
    drive: Annotated[float, Unit("N", above=0, most=1e7)] | None = None
    effort_height: Metres | None = None
    lee_share: Annotated[float, Field(gt=0.5, le=1)] | None = None
    estimated: list[Annotated[str, AfterValidator(_estimated)]] = []

    @property
    def scatter(self) -> dict[str, str]:
        """Key of the file → how far what is there may be off, of the marks that say so."""
        return {key: scatter for key, scatter in self.marks.items() if scatter}

    @property
    def marks(self) -> dict[str, str]:
        """Key of the file → how far what is there may be off; empty where that stands behind the value."""
        found = (_ESTIMATED.fullmatch(text) for text in self.estimated)
        return {one["key"]: one["scatter"] or "" for one in found if one}

    def faults(self, raw: Mapping[str, Any]) -> Iterator[InputFault]:
        """Keys that are marked as estimated and are not in the file, are marked twice, or have no scatter or two."""
        if len(self.marks) < len(self.estimated):
            yield InputFault("boat: estimated", "marks a key twice", "give each key once")
        for key, scatter in self.marks.items():
            try:
                behind = scatter_behind(value_at(raw, key))
            except InputFault as wrong:
                yield wrong.inside("boat: estimated")
                continue
            if bool(scatter) == bool(behind):
                has = "has its scatter both here and behind its value" if scatter else "has no scatter"
                cure = f'write it once, here as "{key} ± 5 %", or behind the value'
                yield InputFault("boat: estimated", f"'{key}' {has}", cure)

    def marks_within(self, raw: Mapping[str, Any]) -> list[str]:
        """The marks whose keys are in these tables: a variant has fewer where it leaves parts out."""
        found = list[str]()
        for key, scatter in self.marks.items():
            with suppress(InputFault):
                value_at(raw, key)
                found.append(f"{key} {scatter}".rstrip())
        return found


class OwnersBoat(KnownBoat, Document):
    """The questionnaire; a key that is left out, or "unknown", is estimated.

    hull_breadth_… : m, of one hull at deck level;   hull_depth_… : m, keel to deck
    bow_length     : m, main bulkhead to stem;       beam_station : m, main bulkhead to the crossbeam's axis
    bridge_deck    : m, main bulkhead to the aft bulkhead or crossbeam
    skin_thickness : m, of each skin of a sandwich, of the whole of solid glass or plywood, of aluminium plate
    core_thickness : m, of a sandwich
    tube_…         : of the crossbeam, outside diameter;   stay_wire : m, diameter of the forestay, 1x19 strand
    longeron_diameter, prod : m, of a fore-and-aft tube on the centreline; where the diameter is left out there is none
    joints         : ways to join the crossbeam, to compare
    """

    hull_breadth_at_bulkhead: Metres | None = None
    hull_depth_at_bulkhead: Metres | None = None
    hull_breadth_at_stem: Metres | None = None
    hull_depth_at_stem: Metres | None = None
    bow_length: Metres | None = None
    beam_station: Metres | None = None
    bridge_deck: Metres | None = None
    construction: Construction = "glass sandwich"
    skin_thickness: Millimetres | None = None
    core_thickness: Millimetres | None = None
    tube_material: Literal["aluminium", "carbon"] = "aluminium"
    tube_diameter: Millimetres | None = None
    tube_wall: Millimetres | None = None
    stay_wire: Annotated[float, Unit("m", least=0.002, most=0.05)] | None = None
    longeron_diameter: Millimetres | None = None
    prod: Annotated[float, Unit("m", least=0.0, most=10.0)] | None = None
    joints: Annotated[list[JointIdea], Field(min_length=1)] | None = None

    @property
    def ideas(self) -> tuple[JointIdea, ...]:
        """The joints asked for; left out a bolted one, on laminate a taped one too, and the limit."""
        if self.joints is not None:
            return tuple(self.joints)
        return (
            ("lug and pin", "rigid")
            if self.construction == "aluminium"
            else ("lug and pin", "taped socket", "rigid")
        )

    @model_validator(mode="before")
    @classmethod
    def _leave_unknown_out(cls, given: Any) -> Any:  # noqa: ANN401  (whatever the file holds)
        """Without what is "unknown"; of the four that must be known, a fault by their absence."""
        if not isinstance(given, dict):
            return given
        asked = [key for key, value in given.items() if isinstance(value, str) and value.strip() == UNKNOWN]
        needed = [key for key in asked if key in REQUIRED]
        if needed:
            raise fault(f"{needed[0]} is unknown", "measure it: everything else is estimated from it")
        return {key: value for key, value in given.items() if key not in asked}

    def faults(self) -> Iterator[InputFault]:
        """What the answers say of one another that no boat has."""
        if self.beam >= self.length:
            yield InputFault("beam", "is not less than the length", "give the boat's beam over all")
        yield from self._hull_faults()
        yield from self._beam_faults()

    def _hull_faults(self) -> Iterator[InputFault]:
        breadth, stem = self.hull_breadth_at_bulkhead, self.hull_breadth_at_stem
        if breadth is not None and MIN_BEAM_IN_HULLS * breadth > self.beam:
            wrong = f"two hulls {breadth:g} m broad leave no bridge deck in a beam of {self.beam:g} m"
            yield InputFault("hull_breadth_at_bulkhead", wrong, "give the breadth of one hull")
        if breadth is not None and stem is not None and stem > breadth:
            yield InputFault("hull_breadth_at_stem", "is greater than at the bulkhead", "exchange the two")
        if self.bow_length is not None and self.bow_length > MAX_BOW * self.length:
            wrong = f"is more than {MAX_BOW:g} of the boat's length"
            yield InputFault("bow_length", wrong, "give the distance from the main bulkhead to the stem")
        if self.core_thickness is not None and "sandwich" not in self.construction:
            wrong = f"is given and hulls of {self.construction} have no core"
            yield InputFault("core_thickness", wrong, "take it out, or correct construction")

    def _beam_faults(self) -> Iterator[InputFault]:
        bow = MAX_BOW * self.length if self.bow_length is None else self.bow_length
        if self.beam_station is not None and self.beam_station >= bow:
            cure = "give the distance from the main bulkhead to the crossbeam's axis"
            yield InputFault("beam_station", f"is not less than the bow's length, {bow:g} m", cure)
        if self.tube_diameter and self.tube_wall and self.tube_wall > MAX_WALL * self.tube_diameter:
            wrong = "is more than a sixth of the tube's diameter, beyond what thin-wall theory covers"
            yield InputFault("tube_wall", wrong, "give the thickness of the wall")
        if self.prod is not None and self.longeron_diameter is None:
            yield InputFault("prod", "is given and there is no longeron", "give longeron_diameter too")
        if "taped socket" in self.ideas and self.construction == "aluminium":
            wrong = "has a taped socket, and hulls of aluminium plate are not taped to"
            yield InputFault("joints", wrong, 'leave it out, or write "lug and pin"')
        if len(set(self.ideas)) < len(self.ideas):
            yield InputFault("joints", "names one way twice", "give each once")
