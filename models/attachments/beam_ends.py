"""Ends of tubes: a sleeve or plug glued on, tape all round, a pin through both walls."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Annotated, Literal

from pydantic import Field, model_validator

from femcore.base.errors import InputFault, fault
from femcore.materials import metals
from models.attachments.base import AttachmentTable, AttachmentWall, WallOf, thicker_glue
from models.strength.attachment import Footprint
from models.strength.bonding.ring import Outline, Ring
from models.strength.bonding.sleeve import Sleeve
from models.strength.bonding.taped_end import TapedEnd
from models.strength.design_variable import DesignVariable
from models.strength.lugs.pin import Pin
from models.strength.lugs.stay_attachment import Bore, PinnedTubeEnd
from models.strength.remarks import Remark, galvanic_remarks, pin_remarks
from models.tables.shared import GlueTable, LayupTable, MetalPart, NonNegativeLength, PositiveLength

SUPPORT_RADIUS_RATIO = 2.0
"""Of a tape's outer radius: where a wall counts as held for a taped end's ring, which its strength does not feel."""


class SleeveTable(MetalPart):
    """A sleeve over the end of a tube, or a plug in it; its wall's thickness."""

    thickness: PositiveLength


class Sleeved(AttachmentTable):
    """A sleeve or plug of metal glued to the end of a tube, over `length` at the glue line's `diameter`."""

    kind: Literal["sleeved"] = "sleeved"
    diameter: PositiveLength
    length: PositiveLength
    sleeve: SleeveTable
    tube: WallOf
    glue: GlueTable

    def design_variables(self) -> tuple[DesignVariable[AttachmentTable], ...]:
        """Its length; the glue line."""
        sizes = [self.length * g for g in (1.25, 1.5, 1.75, 2.0, 2.5, 3.0)]
        made = tuple((f"{1000 * L:.0f} mm", self.model_copy(update={"length": L})) for L in sizes)
        length: DesignVariable[AttachmentTable] = DesignVariable("sleeve's length", ("sleeve's glue",), made)
        return length, thicker_glue(self, "glue", self.glue, "sleeve's glue")

    def remarks(self, part: str) -> Iterator[Remark]:
        """Of alloy in carbon."""
        if self.tube.laminate is not None:
            metal = self.sleeve.metal_record
            yield from galvanic_remarks(f"{part}, sleeve", metal, self.tube.laminate.built)

    def connection_under(self, footprint: Footprint | None) -> Sleeve:  # noqa: ARG002  (the tube's end is the footprint)
        """As two coaxial tubes."""
        sleeve = self.sleeve
        return Sleeve(
            self.diameter / 2,
            self.length,
            self.tube.tube_wall,
            sleeve.metal_record,
            sleeve.thickness,
            self.glue.adhesive,
        )


class Taped(AttachmentTable):
    """The end of a tube of `diameter` taped to a wall all round.

    on_beam, on_skin : legs of the tape, on the tube and on the wall;   corner : the free width between them
    """

    kind: Literal["taped"] = "taped"
    diameter: PositiveLength
    tube: WallOf
    tape: LayupTable
    on_beam: PositiveLength
    on_skin: PositiveLength
    corner: PositiveLength
    onto: AttachmentWall
    glue: GlueTable

    def remarks(self, part: str) -> Iterator[Remark]:
        """Of a tube of alloy in tape of carbon."""
        if self.tube.metal is not None:
            yield from galvanic_remarks(f"{part}, tape", metals()[self.tube.metal], self.tape.built)

    def connection_under(self, footprint: Footprint | None) -> TapedEnd:  # noqa: ARG002  (the tube's end is the footprint)
        """As a ring of tape."""
        radius, wall = self.diameter / 2, self.onto.wall
        reach = radius + self.corner + self.on_skin
        ring = Ring(
            outline=Outline(2 * math.pi * radius, math.pi * radius**2), wall=self.tube.tube_wall, tape=self.tape.built,
            on_beam=self.on_beam, on_skin=self.on_skin, corner=self.corner, glue=self.glue.adhesive,
            skin=wall.plate, support_radius=max(wall.support_radius or 0.0, SUPPORT_RADIUS_RATIO * reach),
        )  # fmt: skip
        return TapedEnd(ring, wall)


class Bush(MetalPart):
    """A bush of that diameter outside; `hole`: in it, for the pin."""

    diameter: PositiveLength
    hole: PositiveLength | None = None


class TonguePin(MetalPart):
    """A pin of that diameter; `replaceable`: whether it is to come out again, as the longeron's when it is unshipped."""

    diameter: PositiveLength
    replaceable: bool = True


class Tongue(MetalPart):
    """A shoe's tongue inside a tube, or a plate beside each wall (`count` 2).

    gap : room between each of these two and its wall; of one tongue it follows from the tube
    hole : for the pin
    """

    thickness: PositiveLength
    count: Annotated[int, Field(ge=1, le=2)] = 1
    gap: NonNegativeLength = 0.0
    hole: PositiveLength | None = None


class Pinned(AttachmentTable):
    """A level pin through both walls of the end of a tube, and through a tongue between them.

    bush : of metal, set in each wall, of that `diameter`;   collar : diameter of what keeps the pin from sliding
    tube : with its diameter, and its wall's strengths at a pin
    """

    kind: Literal["pinned"] = "pinned"
    pin: TonguePin
    bush: Bush
    tongue: Tongue
    tube: AttachmentWall
    collar: PositiveLength

    @model_validator(mode="after")
    def _check_complete(self) -> Pinned:
        lacking = [key for key in ("diameter", "edge") if getattr(self.tube, key) is None]
        if self.tube.laminate is None or lacking:
            what = "laminate" if self.tube.laminate is None else lacking[0]
            raise fault(
                f"the tube's {what} is not given", "give tube = { laminate, diameter, edge, bearing, … }"
            )
        return self

    def remarks(self, part: str) -> Iterator[Remark]:
        """Of its pin, and of alloy bushes in carbon."""
        holes = [hole for hole in (self.tongue.hole, self.bush.hole) if hole is not None]
        clearance = max(holes) - self.pin.diameter if holes else None
        yield from pin_remarks(f"{part}, pin", replaceable=self.pin.replaceable, clearance=clearance)
        if self.tube.laminate is not None:
            yield from galvanic_remarks(f"{part}, bushes", self.bush.metal_record, self.tube.laminate.built)

    def connection_under(self, footprint: Footprint | None) -> PinnedTubeEnd:  # noqa: ARG002  (the tube's end is the footprint)
        """Pin, bushes and walls."""
        pin, tongue, wall = self.pin.metal_record, self.tongue, self.tube.depth
        hole = self.tube.hole
        assert hole is not None  # noqa: S101  (checked when read)
        inside, inner = (self.tube.diameter or 0.0) - 2 * wall, tongue.count * tongue.thickness
        if inner > inside:
            raise InputFault("tongue", "is thicker than the tube is wide inside", "make it thinner")
        # a plate beside each wall bends the pin as one of both their thicknesses would between walls close to it
        gap = tongue.gap if tongue.count > 1 else (inside - inner) / 2
        return PinnedTubeEnd(
            Pin(
                pin, self.pin.diameter, inner, wall, gap, self.pin.replaceable, (tongue.hole, self.bush.hole)
            ),
            Bore(hole, self.bush.diameter),
            (self.tube.diameter or 0.0) - wall,
            self.collar,
            (tongue.metal_record, self.bush.metal_record),
        )
