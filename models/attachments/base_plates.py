"""Feet that stand on a wall: bolted, welded, glued, or wound down with tape."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Annotated, Literal

from pydantic import Field, model_validator

from femcore.base.errors import InputFault, fault
from femcore.base.toml import Table
from femcore.materials import metals
from models.attachments.base import AttachmentTable, AttachmentWall, BasePlateTable, thicker_glue
from models.strength.attachment import Footprint
from models.strength.bolts.bolt_group import rectangular_group
from models.strength.bolts.bolted_base_plate import BoltedBasePlate, BoltedPlate
from models.strength.bonding.bonded_base_plate import BondedBasePlate
from models.strength.bonding.straps import Straps
from models.strength.design_variable import DesignVariable
from models.strength.remarks import Remark, alloy_on_bolts_remarks, bolt_remarks, galvanic_remarks
from models.strength.welds.weld import FILLER_STRENGTH, FilletGroup
from models.strength.welds.welded_base_plate import WeldedBasePlate
from models.tables.shared import (
    BackingTable,
    Bolts,
    GlueTable,
    LayupTable,
    MetalName,
    PositiveLength,
)
from models.tables.stock_sizes import STOCK_BOLT, STOCK_PLATE, STOCK_WELD, larger

GROWTH_FACTORS = (1.25, 1.5, 1.75, 2.0, 2.5, 3.0)


def _with(
    table: AttachmentTable, key: str, sizes: Sequence[tuple[str, object]]
) -> tuple[tuple[str, AttachmentTable], ...]:
    """The fixing with each size of one key."""
    return tuple((words, table.model_copy(update={key: size})) for words, size in sizes)


class AttachmentBolts(Bolts):
    """Bolts in columns along and rows across, about the foot's middle."""

    pitch_along: PositiveLength | None = None
    pitch_across: PositiveLength | None = None

    @model_validator(mode="after")
    def _check_pitches(self) -> AttachmentBolts:
        for number, key in ((self.columns, "pitch_along"), (self.rows, "pitch_across")):
            if number > 1 and getattr(self, key) is None:
                raise fault(f"{key} is not given", f'give {key} = "80 mm", from bolt to bolt')
        return self


class Bolted(AttachmentTable):
    """A foot of metal on bolts through a wall, with a backing plate behind a laminate."""

    kind: Literal["bolted"] = "bolted"
    bolts: AttachmentBolts
    foot: BasePlateTable
    onto: AttachmentWall
    backing: BackingTable | None = None

    @model_validator(mode="after")
    def _check_complete(self) -> Bolted:
        if self.foot.metal is None:
            raise fault("a bolted foot is of metal", "give foot = { metal, thickness, along, across }")
        if self.onto.edge is None:
            raise fault(
                "where the wall ends is not known",
                'give onto.edge = "100 mm", from a bolt to its nearest edge',
            )
        return self

    @property
    def default_height(self) -> float:
        """m, the foot's thickness."""
        return self.foot.depth

    def design_variables(self) -> tuple[DesignVariable[AttachmentTable], ...]:
        """Bolts, with washers in proportion; the foot's thickness."""
        bolts, foot = self.bolts, self.foot
        grown = [
            (f"M{size}", bolts.model_copy(update={"size": size, "washer": bolts.washer * size / bolts.size}))
            for size in STOCK_BOLT
            if size > bolts.size
        ]
        thicker = [
            (f"{1000 * t:g} mm", foot.model_copy(update={"thickness": t}))
            for t in larger(STOCK_PLATE, foot.depth)
        ]
        return (
            DesignVariable("bolts", ("bolts", "wall: laminate", "wall: washer"), _with(self, "bolts", grown)),
            DesignVariable("foot thickness", ("foot",), _with(self, "foot", thicker)),
        )

    def remarks(self, part: str) -> Iterator[Remark]:
        """Of its bolts, and of alloy beside carbon or steel."""
        bolts, foot = self.bolts, metals()[self.foot.metal or ""]
        if self.onto.laminate is not None:
            pitches = (
                (bolts.pitch_along or 0.0) * (bolts.columns - 1),
                (bolts.pitch_across or 0.0) * (bolts.rows - 1),
            )
            yield from bolt_remarks(
                f"{part}, bolts", bolts.bolt, hole=bolts.hole, reach=math.hypot(*pitches) / 2
            )
            yield from galvanic_remarks(f"{part}, foot", foot, self.onto.laminate.built)
        yield from alloy_on_bolts_remarks(f"{part}, foot", foot)

    def connection_under(self, stem: Footprint | None) -> BoltedBasePlate:
        """Bolts about the foot's middle."""
        bolts, foot = self.bolts, self.foot
        group = rectangular_group(
            bolts.rows, bolts.columns, bolts.pitch_across or 0.0, bolts.pitch_along or 0.0
        )
        free = foot.footprint_on_plate(stem).distance(group.positions[:, ::-1])
        if (free <= bolts.bolt.diameter / 2).any():
            raise InputFault("bolts", "a bolt is under the part that is on the foot", "set bolts clear of it")
        plate = BoltedPlate(
            metals()[foot.metal or ""], foot.depth, foot.size[::-1], bolts.bolt, group, bolts.washer, free
        )
        backing = None
        if self.backing is not None:
            pitches = [p for p in (bolts.pitch_along, bolts.pitch_across) if p is not None]
            backing = (
                self.backing.thickness,
                self.backing.metal_record.proof,
                min(pitches or [bolts.washer]),
            )
        return BoltedBasePlate(plate, self.onto.wall, self.onto.hole, self.onto.edge, backing)


class Welded(AttachmentTable):
    """Fillet welds of a `throat` around each cheek, eye or tube (`all_round`), or along the two long sides of each plate.

    metal : the weaker of the two that are joined;   diameter : of the tube that is welded on, where it is one
    onto  : the wall that it is welded to
    """

    kind: Literal["welded"] = "welded"
    metal: MetalName
    throat: PositiveLength
    filler: str | None = None
    all_round: bool = True
    diameter: PositiveLength | None = None
    onto: AttachmentWall | None = None

    def design_variables(self) -> tuple[DesignVariable[AttachmentTable], ...]:
        """The fillets."""
        sizes = [(f"{1000 * a:g} mm", a) for a in larger(STOCK_WELD, self.throat)]
        return (DesignVariable("weld", ("weld",), _with(self, "throat", sizes)),)

    def connection_under(self, stem: Footprint | None) -> WeldedBasePlate:
        """Around the footprint; InputFault where that is not given."""
        standing = stem if self.diameter is None else Footprint(diameter=self.diameter)
        if standing is None:
            raise InputFault("weld", "what is welded on is not known", 'give the tube\'s diameter = "60 mm"')
        strength = FILLER_STRENGTH.get((self.filler or "", self.metal))
        lines = standing.outline(ends=self.all_round)
        group = FilletGroup(metals()[self.metal], self.throat, lines, strength)
        return WeldedBasePlate(group, None if self.onto is None else self.onto.wall)


class Bonded(AttachmentTable):
    """A foot glued on."""

    kind: Literal["bonded"] = "bonded"
    foot: BasePlateTable
    onto: AttachmentWall
    glue: GlueTable

    @property
    def default_height(self) -> float:
        """m, the foot's thickness."""
        return self.foot.depth

    def design_variables(self) -> tuple[DesignVariable[AttachmentTable], ...]:
        """The foot along and across; the glue line."""
        foot = self.foot
        feet = [
            (
                f"{1000 * foot.along * g:.0f} × {1000 * foot.across * g:.0f} mm",
                foot.model_copy(update={"along": foot.along * g, "across": foot.across * g}),
            )
            for g in GROWTH_FACTORS
        ]
        size = DesignVariable("foot's size", ("glue",), _with(self, "foot", feet))
        return size, thicker_glue(self, "glue", self.glue, "glue")

    def remarks(self, part: str) -> Iterator[Remark]:
        """Of alloy beside carbon."""
        if self.foot.metal is not None and self.onto.laminate is not None:
            yield from galvanic_remarks(f"{part}, foot", metals()[self.foot.metal], self.onto.laminate.built)

    def connection_under(self, stem: Footprint | None) -> BondedBasePlate:
        """The foot with the lesser bending stiffness of its two ways."""
        foot = self.foot.supporting_wall()
        stiffness = foot.plate.D
        if foot.laminate is not None:
            stiffness = float(min(foot.laminate.D[0, 0], foot.laminate.D[1, 1]))
        standing, glue = self.foot.footprint_on_plate(stem), self.glue.adhesive
        return BondedBasePlate(
            self.foot.size, foot.axial_stiffness, stiffness, standing, glue, self.onto.wall, foot
        )


class StrapTable(Table):
    """`each_side` straps on each side of the part on the base plate, each of `turns` turns of a `tape`.

    pitch : from middle to middle, where there are several at a side
    """

    each_side: Annotated[int, Field(ge=1, le=20)] = 1
    width: PositiveLength
    pitch: PositiveLength | None = None
    turns: Annotated[int, Field(ge=1, le=200)] = 1
    tape: LayupTable


class Strapped(AttachmentTable):
    """Unidirectional tape wound round a foot and a round beam.

    along, across : of the foot;   stem : size along the beam of the part on it, the diameter of a tube
    radius : of the foot's edge that the tape is bent over;   overlap : of the end of a turn on the one below
    glue   : between the turns;   bed : under them, where that is another one
    """

    kind: Literal["strapped"] = "strapped"
    straps: StrapTable
    along: PositiveLength
    across: PositiveLength
    stem: PositiveLength | None = None
    radius: PositiveLength
    overlap: PositiveLength
    onto: AttachmentWall
    glue: GlueTable
    bed: GlueTable | None = None

    def design_variables(self) -> tuple[DesignVariable[AttachmentTable], ...]:
        """Turns of every strap; the glue line under them."""
        straps = self.straps
        more = [
            (f"{turns} turns", straps.model_copy(update={"turns": turns}))
            for turns in (math.ceil(straps.turns * g) for g in GROWTH_FACTORS)
        ]
        turns = DesignVariable("turns", ("straps",), _with(self, "straps", more))
        return turns, thicker_glue(self, "bed", self.bed or self.glue, "straps: glue")

    def connection_under(self, stem: Footprint | None) -> Straps:
        """By statics; InputFault where the part between them is not given."""
        straps, clear_width = self.straps, self.stem
        if clear_width is None:
            if stem is None:
                raise InputFault("straps", "what stands between them is not known", 'give stem = "170 mm"')
            clear_width = 2 * float(stem.outline()[..., 0].max())
        return Straps(
            straps.each_side, straps.width, straps.pitch or straps.width, clear_width, straps.turns, straps.tape.built,
            (self.along, self.across), self.radius, self.overlap, self.glue.adhesive, self.onto.wall,
            None if self.bed is None else self.bed.adhesive,
        )  # fmt: skip
