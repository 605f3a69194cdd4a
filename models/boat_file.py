"""The boat's tables of a boat file as checked models: what stands where, how stiff it is, and how it is joined.

Units are read at this edge; every field is in SI. Boat axes: x forward from the root of the bows, y to port, z up.
Load cases stand in the same file and are added by `cases.boat_file`.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import TYPE_CHECKING, Annotated, Literal

import numpy as np
from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from femcore.documents import Document, Table, duplicates
from femcore.draft import RIGID
from femcore.errors import InputFault
from femcore.units import Unit
from models.joints import JOINTS, Joint
from models.kinds import one_of

Length = Annotated[float, Unit("m")]
Positive = Annotated[float, Unit("m", above=0)]
Axial = Annotated[float, Unit("N", above=0)]
Bending = Annotated[float, Unit("N*m**2", above=0)]
Expansion = Annotated[float, Unit("1/K")]
LineMass = Annotated[float, Unit("kg/m", least=0)]
RootSpring = Annotated[float, Unit("N*m/rad", above=0)]
RootLinear = Annotated[float, Unit("N/m", above=0)]

if TYPE_CHECKING:
    AnyJoint = Joint
else:
    AnyJoint = one_of(JOINTS)


class BeamStiffness(Table):
    """Stiffness of a beam's section, entered directly.

    EA, GA_… in N;   EI_…, GJ in N·m²;   mass in kg/m.   "vertical" bends up and down, "lateral" in the plane of the deck.
    """

    EI_vertical: Bending
    EI_lateral: Bending
    GJ: Bending
    EA: Axial
    GA_vertical: Axial | None = None
    GA_lateral: Axial | None = None
    mass: LineMass = 0.0
    expansion: Expansion = 0.0


class Station(BeamStiffness):
    """A station of the bows; `gyration` is the radius of gyration of its mass about the bow's axis, for frequencies."""

    at: Annotated[float, Unit("m", least=0)]
    gyration: Annotated[float, Unit("m", least=0)] = 0.0


class Bows(Table):
    """Both bows, mirror images of one another."""

    spacing: Positive
    inboard: Annotated[float, Unit("m", least=0)]
    height: Length = 0.0
    divide: Annotated[int, Field(ge=1, le=2000)] = 12
    stations: Annotated[list[Station], Field(min_length=2)]

    @property
    def length(self) -> float:
        """m, root to stem."""
        return self.stations[-1].at

    @model_validator(mode="after")
    def _ordered(self) -> Bows:
        places = [station.at for station in self.stations]
        if places[0] != 0.0 or any(b <= a for a, b in pairwise(places)):
            raise _fault(
                "stations do not run from 0 m forward",
                "begin at '0 m' (the root) and let each lie further on",
            )
        for key in ("GA_vertical", "GA_lateral"):
            given = [getattr(station, key) is not None for station in self.stations]
            if any(given) and not all(given):
                raise _fault(f"{key} is given at some stations only", "give it at every station, or at none")
        if self.inboard >= self.spacing / 2:
            raise _fault(
                "the inboard side lies beyond the centreline", "give inboard less than half the spacing"
            )
        return self


class Root(Table):
    """The root of each bow: rigid where nothing is entered; about or along boat axes."""

    surge: RootLinear | None = None
    sway: RootLinear | None = None
    heave: RootLinear | None = None
    roll: RootSpring | None = None
    pitch: RootSpring | None = None
    yaw: RootSpring | None = None

    @property
    def springs(self) -> tuple[float, ...]:
        """Six stiffnesses, inf where rigid."""
        given = (self.surge, self.sway, self.heave, self.roll, self.pitch, self.yaw)
        return tuple(RIGID if value is None else value for value in given)


class Crossbeam(BeamStiffness):
    """The crossbeam, straight and athwart: its shear centre's line stands at `station` and `height`."""

    station: Positive
    height: Length
    divide: Annotated[int, Field(ge=1, le=2000)] = 4


class Striker(Table):
    """A strut amidships, square up (or, of negative height, down) from the crossbeam's axis to its top."""

    height: Length
    base: Annotated[float, Unit("m", least=0)] = 0.0
    EA: Axial
    EI: Bending
    mass: LineMass = 0.0
    expansion: Expansion = 0.0

    @model_validator(mode="after")
    def _stands(self) -> Striker:
        if not abs(self.height) > self.base:
            raise _fault("the striker's height lies within its base", "give a height beyond the base")
        return self


class Martingale(Table):
    """Tension only, from the crossbeam near its ends to the striker's top.

    at_striker : "fixed", two stays that end there; "slips", one strap that runs over it without friction
    pretension : left at rest, before any case's load
    """

    EA: Axial
    at_striker: Literal["fixed", "slips"] = "fixed"
    pretension: Annotated[float, Unit("N", least=0)] = 0.0
    expansion: Expansion = 0.0
    half_span: Positive
    height: Length = 0.0


class Stay(Table):
    """Where the forestay is attached, from the crossbeam's shear centre amidships."""

    forward: Length = 0.0
    up: Length = 0.0


class Longeron(BeamStiffness):
    """A fore-and-aft beam on the centreline, from the root bulkhead through the crossbeam to a prod where given."""

    height_at_root: Length
    prod: Annotated[float, Unit("m", least=0)] = 0.0
    at_root: Literal["fixed", "pinned"] = "pinned"
    at_crossbeam: Literal["rigid", "pinned"] = "rigid"
    divide: Annotated[int, Field(ge=1, le=2000)] = 4

    @model_validator(mode="after")
    def _one_piece(self) -> Longeron:
        if self.prod and self.at_crossbeam == "pinned":
            cure = 'write at_crossbeam = "rigid", or prod = "0 m"'
            raise _fault("a prod needs a longeron that is fixed to the crossbeam", cure)
        return self


class Boat(Document):
    """A boat's front end and the ways to join its crossbeam."""

    title: Annotated[str, Field(min_length=1, max_length=200)]
    note: str = ""
    bows: Bows
    root: Root = Root()
    crossbeam: Crossbeam
    striker: Striker | None = None
    martingale: Martingale | None = None
    stay: Stay = Stay()
    longeron: Longeron | None = None
    joints: Annotated[list[AnyJoint], Field(min_length=1)]

    def faults(self) -> Iterator[InputFault]:
        """Everything that the tables say of one another and that does not hold."""
        yield from duplicates("joints", [joint.name for joint in self.joints])
        bows, beam = self.bows, self.crossbeam
        if beam.station > bows.length:
            cure = f"put it at or behind the last station, {bows.length:g} m"
            yield InputFault("crossbeam: station", f"{beam.station:g} m lies ahead of the stems", cure)
        if self.martingale and not self.striker:
            yield InputFault(
                "martingale", "has no striker to go over", "add [striker], or take the martingale out"
            )
        half = bows.spacing / 2 - bows.inboard
        if self.martingale and self.martingale.half_span >= half:
            cure = f"give less than {half:g} m, half the beam's free length"
            yield InputFault(
                "martingale: half_span", f"{self.martingale.half_span:g} m is off the crossbeam", cure
            )
        if self.martingale and self.striker and np.isclose(self.martingale.height, self.striker.height):
            yield InputFault(
                "martingale", "lies level with the striker's top", "give its ends another height"
            )


def _fault(wrong: str, cure: str) -> PydanticCustomError:
    return PydanticCustomError("forebeam", "{wrong}; {cure}", {"wrong": wrong, "cure": cure})
