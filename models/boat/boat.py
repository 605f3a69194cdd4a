"""The boat: positions, stiffnesses and joints, as frozen objects that a file or Python gives.

Every field is in SI. Boat axes: x forward from the root of the bows, y to port, z up.
Load cases are in the same file; they are added by `cases.input.boat_file`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Annotated, Any, Literal

import numpy as np
from pydantic import ConfigDict, Discriminator, Field, PrivateAttr, Tag, ValidationInfo, model_validator

from femcore.base.errors import InputFault, fault
from femcore.base.toml import Document, Table, duplicates
from femcore.base.units import Expansion, FileContext, Unit
from femcore.files.section_file import MaterialTables, ThinWalledBeam, WallMaterials, unique_faults
from femcore.frame.builder import RIGID
from femcore.materials import lines
from models.boat.bows import Bows, BowSections, BowsTable, Station
from models.boat.calibration import Calibration
from models.boat.parts import LongeronEnds, MartingaleLine, MartingaleTang, StayLine, StayTang, StrikerTube
from models.boat.platform import Platform
from models.boat.platform_as_built import AnyPlatform
from models.joints import JOINTS, Joint
from models.strength.margins import SafetyFactors
from models.tables.beams import (
    BY_SECTION,
    BY_STIFFNESS,
    MAX_LENGTH,
    AxialStiffness,
    BeamBySection,
    BeamStiffness,
    BendingStiffness,
    Length,
    LineMass,
    input_form,
    unit_stiffness,
)
from models.tables.context import BoatContext, BuiltFrom, ValidatedAs
from models.tables.kinds import discriminated_union

__all__ = [
    "BeamStiffness",
    "Boat",
    "Bows",
    "Crossbeam",
    "DerivedSections",
    "Longeron",
    "Martingale",
    "Root",
    "Station",
    "Stay",
    "Striker",
]

RotationalStiffness = Annotated[float, Unit("N*m/rad", above=0)]
TranslationalStiffness = Annotated[float, Unit("N/m", above=0)]

AnyJoint = Annotated[Joint, ValidatedAs(discriminated_union(JOINTS))]


def not_required(*keys: str) -> ConfigDict:
    """The configuration of a table whose keys another of its tables may give: its schema does not require them."""

    def without(schema: dict[str, Any]) -> None:
        schema["required"] = [key for key in schema.get("required", ()) if key not in keys]

    return ConfigDict(extra="forbid", frozen=True, populate_by_name=True, json_schema_extra=without)


def _in_words(values: Mapping[str, tuple[float, str]], info: ValidationInfo) -> dict[str, Any]:
    """SI values as the context has them: text with units in a file, numbers in Python."""
    in_file = isinstance(info.context, FileContext)
    return {key: f"{value!r} {unit}" if in_file else value for key, (value, unit) in values.items()}


class Root(Table):
    """The root of each bow: rigid where nothing is entered; about or along boat axes."""

    surge: TranslationalStiffness | None = None
    sway: TranslationalStiffness | None = None
    heave: TranslationalStiffness | None = None
    roll: RotationalStiffness | None = None
    pitch: RotationalStiffness | None = None
    yaw: RotationalStiffness | None = None

    @property
    def springs(self) -> tuple[float, ...]:
        """Six stiffnesses, inf where rigid."""
        given = (self.surge, self.sway, self.heave, self.roll, self.pitch, self.yaw)
        return tuple(RIGID if value is None else value for value in given)


class CrossbeamGeometry(Table):
    """Position of the crossbeam, straight and athwart: the line of its shear centres at `station` and `height`.

    station : at least its own breadth ahead of the root, so that a slip of mm for m is a fault
    """

    station: Annotated[float, Unit("m", least=0.05, most=MAX_LENGTH)]
    height: Annotated[float, Unit("m", most=10.0)]
    divide: Annotated[int, Field(ge=1, le=2000)] = 4


class Crossbeam(CrossbeamGeometry, BeamStiffness):
    """The crossbeam by its stiffness."""


class CrossbeamBySection(CrossbeamGeometry, BeamBySection):
    """The crossbeam by its section, y aft and z up."""

    def build(self, walls: WallMaterials) -> Crossbeam:
        """The crossbeam by the stiffness of its section; InputFault where that cannot be."""
        values, walled = self.stiffness(walls, "crossbeam")
        return Crossbeam.of_section(walled, self._geometry | values)

    def outline_only(self) -> Crossbeam:
        """Its place with unit stiffness."""
        return Crossbeam(**self._geometry, **unit_stiffness())


class Striker(Table):
    """A strut amidships, square up (or, of negative height, down) from the crossbeam's axis to its top.

    tube : to check it; EA, EI and mass that are left out are its own
    """

    model_config = not_required("EA", "EI")

    height: Length
    base: Annotated[float, Unit("m", least=0)] = 0.0
    EA: AxialStiffness
    EI: BendingStiffness
    mass: LineMass = 0.0
    expansion: Expansion = 0.0
    tube: StrikerTube | None = None

    @model_validator(mode="before")
    @classmethod
    def _as_its_tube(cls, given: Any, info: ValidationInfo) -> Any:  # noqa: ANN401  (whatever the file holds)
        """Stiffness and mass of the tube where they are left out."""
        if not isinstance(given, dict) or given.get("tube") is None or "EA" in given:
            return given
        tube = StrikerTube.model_validate(given["tube"], context=info.context)
        column, metal = tube.column(1.0), tube.metal_record
        own = {
            "EA": (metal.E * column.A, "N"),
            "EI": (metal.E * column.I, "N*m**2"),
            "mass": (metal.density * column.A, "kg/m"),
        }
        return _in_words(own, info) | given

    @model_validator(mode="after")
    def _check_height(self) -> Striker:
        if not abs(self.height) > self.base:
            raise fault("the striker's height is within its base", "give a height beyond the base")
        return self


class Martingale(Table):
    """Tension only, from the crossbeam near its ends to the striker's top.

    at_striker : "fixed", two stays that end there; "slips", one strap that runs over it without friction
    pretension : before any case's load;   line, tang : to check them, the tang at either end on the beam
    EA         : left out, that of its line, where this is of a stock material
    """

    model_config = not_required("EA")
    EA: AxialStiffness
    at_striker: Literal["fixed", "slips"] = "fixed"
    pretension: Annotated[float, Unit("N", least=0)] = 0.0
    expansion: Expansion = 0.0
    half_span: Annotated[float, Unit("m", least=0.05, most=MAX_LENGTH)]
    height: Length = 0.0
    line: MartingaleLine | None = None
    tang: MartingaleTang | None = None

    @model_validator(mode="before")
    @classmethod
    def _as_its_line(cls, given: Any, info: ValidationInfo) -> Any:  # noqa: ANN401  (whatever the file holds)
        """Stiffness of the line where it is left out."""
        if not isinstance(given, dict) or given.get("line") is None or "EA" in given:
            return given
        line = MartingaleLine.model_validate(given["line"], context=info.context)
        if line.material is None:
            return given
        return _in_words({"EA": (lines()[line.material].axial_stiffness(line.diameter), "N")}, info) | given


class Stay(Table):
    """Where the forestay is attached, from the crossbeam's shear centre amidships.

    tang : to check it;   line : the stay itself, to check what carries it against its breaking load
    """

    forward: Annotated[float, Unit("m", most=5.0)] = 0.0
    up: Annotated[float, Unit("m", most=5.0)] = 0.0
    tang: StayTang | None = None
    line: StayLine | None = None


class LongeronGeometry(Table):
    """Where the longeron runs: on the centreline, from the root bulkhead through the crossbeam to a prod where given.

    prod : m, along the longeron's own line;   at_root, at_crossbeam : "pinned": free in vertical and lateral bending, held in
           twist and all directions; "fixed", "rigid": held in bending too
    ends : how they are fixed, to check that
    """

    height_at_root: Length
    prod: Annotated[float, Unit("m", least=0)] = 0.0
    at_root: Literal["fixed", "pinned"] = "pinned"
    at_crossbeam: Literal["rigid", "pinned"] = "rigid"
    divide: Annotated[int, Field(ge=1, le=2000)] = 4
    ends: LongeronEnds | None = None

    @model_validator(mode="after")
    def _check_prod(self) -> LongeronGeometry:
        if self.prod and self.at_crossbeam == "pinned":
            cure = 'write at_crossbeam = "rigid", or prod = "0 m"'
            raise fault("a prod needs a longeron that is fixed to the crossbeam", cure)
        return self


class Longeron(LongeronGeometry, BeamStiffness):
    """A longeron by its stiffness."""


class LongeronBySection(LongeronGeometry, BeamBySection):
    """A longeron by its section, y to port and z up."""

    def build(self, walls: WallMaterials) -> Longeron:
        """The longeron by the stiffness of its section; InputFault where that cannot be."""
        values, walled = self.stiffness(walls, "longeron")
        return Longeron.of_section(walled, self._geometry | values)

    def outline_only(self) -> Longeron:
        """Its place with unit stiffness."""
        return Longeron(**self._geometry, **unit_stiffness())


def _by_input_form(by_stiffness: type[BeamStiffness], by_section: type[BeamBySection]) -> BuiltFrom:
    """A beam by its stiffness, or by its section, from which it is built."""
    forms: Any = Annotated[by_stiffness, Tag(BY_STIFFNESS)] | Annotated[by_section, Tag(BY_SECTION)]
    return BuiltFrom(Annotated[forms, Discriminator(input_form)])


@dataclass(frozen=True, eq=False)
class DerivedSections:
    """What was computed from outlines, sections and laminates; None where stiffness was entered.

    remarks : what beams of such sections leave out, a sentence each
    """

    bows: BowSections | None
    crossbeam: ThinWalledBeam | None
    longeron: ThinWalledBeam | None
    platform: Platform | None = None
    calibration: Calibration | None = None

    @property
    def remarks(self) -> list[str]:
        """Of all of them, each once."""
        parts = (self.bows, self.crossbeam, self.longeron, self.platform, self.calibration)
        return list(dict.fromkeys(remark for part in parts if part for remark in part.remarks))


class Boat(MaterialTables, Document):
    """A boat's front end and the ways to join its crossbeam."""

    title: Annotated[str, Field(min_length=1, max_length=200)]
    note: str = ""
    bows: Annotated[Bows, BuiltFrom(BowsTable)]
    root: Root = Root()
    platform: AnyPlatform | None = None
    crossbeam: Annotated[Crossbeam, _by_input_form(Crossbeam, CrossbeamBySection)]
    striker: Striker | None = None
    martingale: Martingale | None = None
    stay: Stay = Stay()
    longeron: Annotated[Longeron, _by_input_form(Longeron, LongeronBySection)] | None = None
    joints: Annotated[list[AnyJoint], Field(min_length=1)]
    calibration: Calibration = Calibration()
    factors: SafetyFactors = SafetyFactors()
    _build_faults: tuple[InputFault, ...] = PrivateAttr(default=())

    @classmethod
    def context(cls, raw: dict[str, Any]) -> BoatContext:
        """The file's materials, built, which its other tables are validated with."""
        return BoatContext(raw)

    def model_post_init(self, context: object, /) -> None:
        """What could not be built of the file's tables."""
        if isinstance(context, BoatContext):
            self._build_faults = tuple(unique_faults(context.faults))

    def __repr__(self) -> str:
        """Short: a whole boat is pages."""
        joints = ", ".join(joint.name for joint in self.joints)
        return f"{type(self).__name__}('{self.title}', joints: {joints})"

    __str__ = __repr__

    @property
    def derived(self) -> DerivedSections:
        """What was computed from sections, for the report and for checks of walls."""
        return DerivedSections(
            self.bows.sections,
            self.crossbeam.thin_walled,
            self.longeron.thin_walled if self.longeron else None,
            self.platform,
            self.calibration,
        )

    @property
    def build_faults(self) -> tuple[InputFault, ...]:
        """Of tables from which no object could be built; the outlines in their place serve to find further faults, no more."""
        return self._build_faults

    def faults(self) -> Iterator[InputFault]:
        """Everything that the tables say of one another and that does not hold."""
        yield from self.build_faults
        yield from duplicates("joints", [joint.name for joint in self.joints])
        bows, beam = self.bows, self.crossbeam
        yield from self._platform_faults()
        if beam.station > bows.length:
            cure = f"put it at or behind the last station, {bows.length:g} m"
            yield InputFault("crossbeam: station", f"{beam.station:g} m is ahead of the stems", cure)
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
            yield InputFault("martingale", "is level with the striker's top", "give its ends another height")

    def _platform_faults(self) -> Iterator[InputFault]:
        """What the platform does not agree with."""
        platform = self.platform
        if platform is None:
            return
        if "root" in self.model_fields_set:
            yield InputFault(
                "platform", "is given beside [root], which it replaces", "take one of the two out"
            )
        for member, width in zip(platform.members, platform.clear_width(self.bows), strict=True):
            if not width > 0:
                cure = f"give less than {self.bows.spacing / 2:g} m, half the spacing"
                yield InputFault(
                    f"platform: members '{member.name}': inboard", "reaches the centreline", cure
                )
        if self.longeron and not platform.members_at_bulkhead:
            yield InputFault(
                "platform",
                "has no member at the main bulkhead, where the longeron ends",
                "add one with station = '0 m'",
            )
