"""Ends of tubes: a sleeve or plug glued on, tape all round, a pin through both walls."""

from __future__ import annotations

import math
from typing import Annotated, Literal

from pydantic import Field, model_validator

from femcore.base.errors import InputFault
from models.attachments.base import FixingTable, Larger, Onto, WallOf
from models.strength.attachment import Stem
from models.strength.bonding.ring import Outline, Ring
from models.strength.bonding.sleeve import Sleeve
from models.strength.bonding.taped_end import TapedEnd
from models.strength.lugs.pin import Pin
from models.strength.lugs.stay_attachment import Bore, PinnedEnd
from models.tables.shared import GlueTable, LayupTable, LeastLength, Length, MetalPart, fault

FARTHEST = 2.0
"""Of a tape's outer radius: where a wall counts as held for a taped end's ring, which its strength does not feel."""


class SleeveTable(MetalPart):
    """A sleeve over the end of a tube, or a plug in it; its wall's thickness."""

    thickness: Length


class Sleeved(FixingTable):
    """A sleeve or plug of metal glued to the end of a tube, over `length` at the glue line's `diameter`."""

    kind: Literal["sleeved"]
    diameter: Length
    length: Length
    sleeve: SleeveTable
    tube: WallOf
    glue: GlueTable

    def larger(self) -> tuple[Larger, ...]:
        """Its length."""
        sizes = [self.length * g for g in (1.25, 1.5, 1.75, 2.0, 2.5, 3.0)]
        made = tuple((f"{1000 * L:.0f} mm", self.model_copy(update={"length": L})) for L in sizes)
        return (Larger("sleeve's length", ("sleeve's glue",), made),)

    def foot_on(self, stem: Stem | None) -> Sleeve:  # noqa: ARG002  (a tube's end is what stands there)
        """As two coaxial tubes."""
        sleeve = self.sleeve
        return Sleeve(
            self.diameter / 2, self.length, self.tube.thin, sleeve.of, sleeve.thickness, self.glue.adhesive
        )


class Taped(FixingTable):
    """The end of a tube of `diameter` taped to a wall all round.

    on_beam, on_skin : legs of the tape, on the tube and on the wall;   corner : the free width between them
    """

    kind: Literal["taped"]
    diameter: Length
    tube: WallOf
    tape: LayupTable
    on_beam: Length
    on_skin: Length
    corner: Length
    onto: Onto
    glue: GlueTable

    def foot_on(self, stem: Stem | None) -> TapedEnd:  # noqa: ARG002  (a tube's end is what stands there)
        """As a ring of tape."""
        radius, wall = self.diameter / 2, self.onto.wall
        reach = radius + self.corner + self.on_skin
        ring = Ring(
            outline=Outline(2 * math.pi * radius, math.pi * radius**2), wall=self.tube.thin, tape=self.tape.built,
            on_beam=self.on_beam, on_skin=self.on_skin, corner=self.corner, glue=self.glue.adhesive,
            skin=wall.plate, far=max(wall.far or 0.0, FARTHEST * reach),
        )  # fmt: skip
        return TapedEnd(ring, wall)


class TonguePin(MetalPart):
    """A pin of that diameter."""

    diameter: Length


class Tongue(MetalPart):
    """A shoe's tongue inside a tube, or a plate beside each wall (`count` 2).

    gap : play between each of these two and its wall; of one tongue it follows from the tube
    """

    thickness: Length
    count: Annotated[int, Field(ge=1, le=2)] = 1
    gap: LeastLength = 0.0


class Pinned(FixingTable):
    """A level pin through both walls of the end of a tube, and through a tongue between them.

    bush : of metal, set in each wall, of that `diameter`;   collar : diameter of what keeps the pin from sliding
    tube : with its diameter, and its wall's strengths at a pin
    """

    kind: Literal["pinned"]
    pin: TonguePin
    bush: TonguePin
    tongue: Tongue
    tube: Onto
    collar: Length

    @model_validator(mode="after")
    def _whole(self) -> Pinned:
        lacking = [key for key in ("diameter", "edge") if getattr(self.tube, key) is None]
        if self.tube.laminate is None or lacking:
            what = "laminate" if self.tube.laminate is None else lacking[0]
            raise fault(
                f"the tube's {what} is not given", "give tube = { laminate, diameter, edge, bearing, … }"
            )
        return self

    def foot_on(self, stem: Stem | None) -> PinnedEnd:  # noqa: ARG002  (a tube's end is what stands there)
        """Pin, bushes and walls."""
        pin, tongue, wall = self.pin.of, self.tongue, self.tube.depth
        hole = self.tube.hole
        assert hole is not None  # noqa: S101  (checked when read)
        inside, inner = (self.tube.diameter or 0.0) - 2 * wall, tongue.count * tongue.thickness
        if inner > inside:
            raise InputFault("tongue", "is thicker than the tube is wide inside", "make it thinner")
        # a plate beside each wall bends the pin as one of both their thicknesses would between walls close to it
        gap = tongue.gap if tongue.count > 1 else (inside - inner) / 2
        return PinnedEnd(
            Pin(self.pin.diameter, pin.proof, pin.ultimate, inner, wall, gap),
            Bore(hole, self.bush.diameter),
            (self.tube.diameter or 0.0) - wall,
            self.collar,
            (tongue.of.proof, self.bush.of.proof),
        )
