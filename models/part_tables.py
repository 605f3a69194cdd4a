"""What a boat file may say of parts beside the joints, to have them checked: striker's tube, martingale's line, stay's tang.

A part that the file does not describe is not checked, and says so.
"""

from __future__ import annotations

import math
from typing import Annotated, Literal

from pydantic import Field, field_validator, model_validator

from femcore.documents import Table
from femcore.errors import InputFault
from femcore.materials import lines, pick
from femcore.units import Unit
from models.shared_tables import LeastLength, Length, MetalPart, Stress, fault
from models.parts.column import CURVES, Column
from models.parts.fitting import Cheeks
from models.parts.line import TERMINALS, LineRun
from models.parts.lug import Lug
from models.parts.pin import Pin

Angle = Annotated[float, Unit("rad")]


class StrikerTube(MetalPart):
    """The striker's round tube, its buckling curve, and how it stands.

    effective : buckling length over length: 2 for a foot fixed and a top free to sway, 1 where the martingale guides it
    eccentricity, tilt : of its load, and of the tube from the load's line
    bed_area, bed_strength : what bears its foot, and at what pressure that is crushed
    """

    diameter: Length
    wall: Length
    curve: str = "aluminium A"
    effective: Annotated[float, Field(gt=0.0, le=4.0)] = 2.0
    eccentricity: LeastLength = 0.0
    tilt: Angle = 0.0
    bed_area: Annotated[float, Unit("m**2", above=0)] | None = None
    bed_strength: Stress | None = None

    @model_validator(mode="after")
    def _a_tube(self) -> StrikerTube:
        if self.curve not in CURVES:
            raise fault(f"there is no buckling curve '{self.curve}'", f"give one of {', '.join(CURVES)}")
        if 2 * self.wall >= self.diameter:
            raise fault("the wall is thicker than the tube's radius", "correct one of the two")
        return self

    def column(self, length: float) -> Column:
        """The strut of that length, m."""
        D, d = self.diameter, self.diameter - 2 * self.wall
        area, inertia = math.pi / 4 * (D**2 - d**2), math.pi / 64 * (D**4 - d**4)
        return Column(
            A=area, I=inertia, W=2 * inertia / D, E=self.of.E, proof=self.of.proof, length=length, curve=self.curve,
            effective=self.effective, eccentricity=self.eccentricity, tilt=self.tilt,
        )  # fmt: skip


class MartingaleLine(Table):
    """The martingale's rod, wire or rope: of a stock `material` or with its own breaking load.

    radius   : of what it is bent over at the striker; left out: it ends there, or is straight
    terminal : how it ends
    """

    diameter: Length
    material: str | None = None
    breaking: Annotated[float, Unit("N", above=0)] | None = None
    radius: Length | None = None
    terminal: Literal["swaged", "mechanical", "spliced", "clamped", "knotted"] = "swaged"

    @field_validator("material")
    @classmethod
    def _in_stock(cls, name: str | None) -> str | None:
        try:
            return name if name is None else pick(lines(), name, "line").name
        except InputFault as trouble:
            raise fault(trouble.wrong, trouble.cure) from None

    @model_validator(mode="after")
    def _breaks_somewhere(self) -> MartingaleLine:
        if (self.material is None) == (self.breaking is None):
            raise fault(
                "its breaking load is not known, or is said twice",
                'give material = "rod_1_4401", or breaking = "90 kN"',
            )
        return self

    @property
    def run(self) -> LineRun:
        """As it is checked."""
        breaking = self.breaking or lines()[self.material or ""].breaking_load(self.diameter)
        return LineRun(breaking, self.diameter, self.radius, TERMINALS[self.terminal])


class StayTang(MetalPart):
    """The forestay's tang: cheeks that stand up from the beam, and an athwart pin through them and the stay's toggle.

    length, end : from the cheeks' root to the hole, and on to their tip;   lean : of the cheeks aft of upright
    toggle      : thickness of the stay's eye or toggle on the pin;   proof strengths as its metals'
    """

    count: Annotated[int, Field(ge=1, le=2)] = 2
    width: Length
    thickness: Length
    length: Length
    end: Length
    hole: Length | None = None
    pin: Length
    pin_metal: str = "ss_1_4401"
    toggle: Length
    gap: LeastLength = 0.5e-3
    lean: Angle = 0.0
    welded: bool = False

    @model_validator(mode="after")
    def _fits(self) -> StayTang:
        try:
            _ = self.cheeks
        except InputFault as trouble:
            raise fault(f"{trouble.place}: {trouble.wrong}", trouble.cure) from None
        return self

    @property
    def cheeks(self) -> Cheeks:
        """As they are checked."""
        lug = Lug(
            self.of, self.width, self.thickness, self.length, self.end, self.hole or self.pin, self.pin, self.welded
        )  # fmt: skip
        metal = MetalPart(metal=self.pin_metal).of
        inner, outer = (self.toggle, self.thickness) if self.count == 2 else (self.thickness, self.toggle)
        pin = Pin(self.pin, metal.proof, metal.ultimate, inner, outer, self.gap)
        return Cheeks(lug, pin, metal.proof, self.count)
