"""What a boat file may say of parts beside the joints, to have them checked: striker's tube, martingale's line, tangs, and the
attachments of tangs and of the longeron's ends.

A part that the file does not describe is not checked, and says so.
"""

from __future__ import annotations

import math
from abc import abstractmethod
from typing import Annotated, ClassVar, Literal, Self

from pydantic import Field, field_validator, model_validator

from femcore.base.errors import InputFault, fault, table_faults
from femcore.base.toml import Table
from femcore.base.units import Unit
from femcore.materials import lines, pick
from models.attachments import (
    AnyAttachment,
    BeamEndAttachment,
    BeamSideAttachment,
    attachments,
    attachments_from_axis,
)
from models.strength.attachment import Attachment, Footprint
from models.strength.lugs.lug import Lug
from models.strength.lugs.pin import Pin
from models.strength.lugs.stay_attachment import TangCheeks
from models.strength.members.column import BUCKLING_CURVES, Column
from models.strength.members.wire import TERMINALS, Wire
from models.tables.shared import MetalName, MetalPart, NonNegativeLength, PositiveLength, Stress

Angle = Annotated[float, Unit("rad")]


class StrikerTube(MetalPart):
    """The striker's round tube, its buckling curve, and its end conditions.

    effective : buckling length over length: 2 for a foot fixed and a top free to sway, 1 where the martingale guides it
    eccentricity, tilt : of its load, and of the tube from the load's line
    bed_area, bed_strength : what bears its foot, and at what pressure that is crushed
    """

    diameter: PositiveLength
    wall: PositiveLength
    curve: str = "aluminium A"
    effective: Annotated[float, Field(gt=0.0, le=4.0)] = 2.0
    eccentricity: NonNegativeLength = 0.0
    tilt: Angle = 0.0
    bed_area: Annotated[float, Unit("m**2", above=0)] | None = None
    bed_strength: Stress | None = None

    @model_validator(mode="after")
    def _check_tube(self) -> StrikerTube:
        if self.curve not in BUCKLING_CURVES:
            raise fault(
                f"there is no buckling curve '{self.curve}'", f"give one of {', '.join(BUCKLING_CURVES)}"
            )
        if 2 * self.wall >= self.diameter:
            raise fault("the wall is thicker than the tube's radius", "correct one of the two")
        return self

    def column(self, length: float) -> Column:
        """The strut of that length, m."""
        D, d = self.diameter, self.diameter - 2 * self.wall
        area, inertia = math.pi / 4 * (D**2 - d**2), math.pi / 64 * (D**4 - d**4)
        return Column(
            A=area, I=inertia, W=2 * inertia / D, E=self.metal_record.E, proof=self.metal_record.proof,
            length=length, curve=self.curve,
            effective=self.effective, eccentricity=self.eccentricity, tilt=self.tilt,
        )  # fmt: skip


class RiggingLine(Table):
    """A rod, wire or rope: of a stock `material` and a diameter, or with its own `breaking` load."""

    diameter: PositiveLength | None = None
    material: str | None = None
    breaking: Annotated[float, Unit("N", above=0)] | None = None

    @field_validator("material")
    @classmethod
    def _check_material(cls, name: str | None) -> str | None:
        try:
            return name if name is None else pick(lines(), name, "line").name
        except InputFault as error:
            raise fault(error.wrong, error.cure) from None

    @model_validator(mode="after")
    def _check_breaking_load(self) -> Self:
        if (self.material is None) == (self.breaking is None):
            raise fault(
                "its breaking load is not known, or is said twice",
                'give material = "rod_1_4401", or breaking = "90 kN"',
            )
        if self.material is not None and self.diameter is None:
            raise fault("its diameter is not given", 'give diameter = "10 mm", or breaking = "90 kN" alone')
        return self

    @property
    def breaking_load(self) -> float:
        """N, of the line itself, terminals not counted."""
        return self.breaking or lines()[self.material or ""].breaking_load(self.diameter or 0.0)


class StayLine(RiggingLine):
    """The forestay: what carries it is to outlive it."""


class MartingaleLine(RiggingLine):
    """The martingale's.

    radius   : of what it is bent over at the striker; left out: it ends there, or is straight
    terminal : how it ends
    """

    diameter: PositiveLength
    radius: PositiveLength | None = None
    terminal: Literal["swaged", "mechanical", "spliced", "clamped", "knotted"] = "swaged"

    @property
    def wire(self) -> Wire:
        """As it is checked."""
        return Wire(self.breaking_load, self.diameter, self.radius, TERMINALS[self.terminal])


class Tang(MetalPart):
    """Cheeks on the beam, and a pin through them and the part that pulls at it.

    length, end : from the cheeks' root to the hole, and on to their tip
    toggle      : thickness of the eye or toggle on the pin, of the pin's metal, its hole as the cheeks'
    replaceable : whether the pin is to come out again: a rig's pins do, each time that it is unstepped
    fixing      : how the cheeks are fixed to the beam;   table : its place in a file
    """

    table: ClassVar[str]
    count: Annotated[int, Field(ge=1, le=2)] = 2
    width: PositiveLength
    thickness: PositiveLength
    length: PositiveLength
    end: PositiveLength
    hole: PositiveLength | None = None
    pin: PositiveLength
    pin_metal: MetalName = "ss_1_4401"
    replaceable: bool = True
    toggle: PositiveLength
    gap: NonNegativeLength = 0.5e-3
    welded: bool = False
    fixing: BeamSideAttachment | None = None

    @model_validator(mode="after")
    def _check_fit(self) -> Tang:
        with table_faults():
            _ = self.cheeks, self.attachments
        return self

    @property
    def cheeks(self) -> TangCheeks:
        """As they are checked."""
        lug = Lug(
            self.metal_record, self.width, self.thickness, self.length, self.end, self.hole or self.pin, self.pin, self.welded,
            self.replaceable,
        )  # fmt: skip
        metal = MetalPart(metal=self.pin_metal).metal_record
        inner, outer = (self.toggle, self.thickness) if self.count == 2 else (self.thickness, self.toggle)
        pin = Pin(metal, self.pin, inner, outer, self.gap, self.replaceable, (self.hole, self.hole))
        return TangCheeks(lug, pin, metal, self.count)

    @property
    def attachments(self) -> tuple[Attachment, ...]:
        """As they are checked, with the cheeks on them."""
        return attachments(self.fixing, self.footprint)

    @property
    @abstractmethod
    def footprint(self) -> Footprint:
        """The cheeks' roots, in the axes of an attachment."""

    @property
    def places(self) -> tuple[float, ...]:
        """m, of the cheeks along the pin, from its middle."""
        out = self.toggle / 2 + self.gap + self.thickness / 2
        return (0.0,) if self.count == 1 else (-out, out)


class StayTang(Tang):
    """The forestay's: its pin athwart. lean: of the cheeks aft of upright."""

    table = "[stay.tang.fixing]"
    lean: Angle = 0.0

    @property
    def footprint(self) -> Footprint:
        """Cheeks side by side along the beam."""
        return Footprint((self.thickness, self.width), tuple((place, 0.0) for place in self.places))


class MartingaleTang(Tang):
    """One of the martingale's two on the beam: its pin fore and aft. lean: of the cheeks inboard; left out: along the pull."""

    table = "[martingale.tang.fixing]"
    lean: Angle | None = None

    @property
    def footprint(self) -> Footprint:
        """Cheeks side by side fore and aft."""
        return Footprint((self.width, self.thickness), tuple((0.0, place) for place in self.places))


class LongeronEnds(Table):
    """How the longeron's ends are fixed: at its root to the bulkhead, ahead to the crossbeam."""

    root: BeamEndAttachment | None = None
    crossbeam: AnyAttachment | None = None

    @model_validator(mode="after")
    def _check_fit(self) -> LongeronEnds:
        for key in ("root", "crossbeam"):
            try:
                _ = self.attachments(key)
            except InputFault as error:
                raise fault(f"{key}: {error.place}: {error.wrong}", error.cure) from None
        return self

    def attachments(self, key: str) -> tuple[Attachment, ...]:
        """Of "root" under loads at the bulkhead, of "crossbeam" under loads at that beam's axis."""
        return attachments(self.root) if key == "root" else attachments_from_axis(self.crossbeam)
