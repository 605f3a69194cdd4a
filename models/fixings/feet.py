"""Feet that stand on a wall: bolted, welded, glued, or wound down with tape."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, field_validator, model_validator

from femcore.documents import Table
from femcore.errors import InputFault
from femcore.materials import metals
from models.fixings.base import FixingTable, FootTable, Onto
from models.parts.bolted_foot import BoltedFoot, HeldPlate
from models.parts.bolts import rectangle
from models.parts.bonded_foot import BondedFoot
from models.parts.fixing import Stem
from models.parts.straps import Straps
from models.parts.weld import FILLER, FilletGroup
from models.parts.welded_foot import WeldedFoot
from models.shared_tables import BackingTable, Bolts, GlueTable, LayupTable, Length, fault, metal_named


class FixingBolts(Bolts):
    """Bolts in columns along and rows across, about the foot's middle."""

    pitch_along: Length | None = None
    pitch_across: Length | None = None

    @model_validator(mode="after")
    def _spaced(self) -> FixingBolts:
        for number, key in ((self.columns, "pitch_along"), (self.rows, "pitch_across")):
            if number > 1 and getattr(self, key) is None:
                raise fault(f"{key} is not given", f'give {key} = "80 mm", from bolt to bolt')
        return self


class Bolted(FixingTable):
    """A foot of metal on bolts through a wall, with a backing plate behind a laminate."""

    kind: Literal["bolted"]
    bolts: FixingBolts
    foot: FootTable
    onto: Onto
    backing: BackingTable | None = None

    @model_validator(mode="after")
    def _whole(self) -> Bolted:
        if self.foot.metal is None:
            raise fault("a bolted foot is of metal", "give foot = { metal, thickness, along, across }")
        if self.onto.edge is None:
            raise fault(
                "where the wall ends is not known",
                'give onto.edge = "100 mm", from a bolt to its nearest edge',
            )
        return self

    @property
    def own_height(self) -> float:
        """m, the foot's thickness."""
        return self.foot.depth

    def foot_on(self, stem: Stem | None) -> BoltedFoot:
        """Bolts about the foot's middle."""
        bolts, foot = self.bolts, self.foot
        group = rectangle(bolts.rows, bolts.columns, bolts.pitch_across or 0.0, bolts.pitch_along or 0.0)
        free = foot.standing(stem).distance(group.positions[:, ::-1])
        if (free <= bolts.bolt.diameter / 2).any():
            raise InputFault("bolts", "a bolt lies under what stands on the foot", "set bolts clear of it")
        plate = HeldPlate(
            metals()[foot.metal or ""], foot.depth, foot.size[::-1], bolts.bolt, group, bolts.washer, free
        )
        backing = None
        if self.backing is not None:
            pitches = [p for p in (bolts.pitch_along, bolts.pitch_across) if p is not None]
            backing = (self.backing.thickness, self.backing.of.proof, min(pitches or [bolts.washer]))
        return BoltedFoot(plate, self.onto.wall, self.onto.hole, self.onto.edge, backing)


class Welded(FixingTable):
    """Fillet welds of a `throat` around each cheek, eye or tube (`all_round`), or along the two long sides of each plate.

    metal : the weaker of the two that are joined;   diameter : of what stands there, where that is a tube
    onto  : the wall that it is welded to
    """

    kind: Literal["welded"]
    metal: str
    throat: Length
    filler: str | None = None
    all_round: bool = True
    diameter: Length | None = None
    onto: Onto | None = None

    @field_validator("metal")
    @classmethod
    def _known_metal(cls, name: str) -> str:
        return metal_named(name)

    def foot_on(self, stem: Stem | None) -> WeldedFoot:
        """Around what stands there; InputFault where nobody says what that is."""
        standing = stem if self.diameter is None else Stem(diameter=self.diameter)
        if standing is None:
            raise InputFault("weld", "what is welded on is not known", 'give the tube\'s diameter = "60 mm"')
        strength = FILLER.get((self.filler or "", self.metal))
        lines = standing.outline(ends=self.all_round)
        group = FilletGroup(metals()[self.metal], self.throat, lines, strength)
        return WeldedFoot(group, None if self.onto is None else self.onto.wall)


class Bonded(FixingTable):
    """A foot glued on."""

    kind: Literal["bonded"]
    foot: FootTable
    onto: Onto
    glue: GlueTable

    @property
    def own_height(self) -> float:
        """m, the foot's thickness."""
        return self.foot.depth

    def foot_on(self, stem: Stem | None) -> BondedFoot:
        """The foot with the lesser bending stiffness of its two ways."""
        foot = self.foot.under()
        stiffness = foot.plate.D
        if foot.laminate is not None:
            stiffness = float(min(foot.laminate.D[0, 0], foot.laminate.D[1, 1]))
        standing, glue = self.foot.standing(stem), self.glue.adhesive
        return BondedFoot(self.foot.size, foot.stretch, stiffness, standing, glue, self.onto.wall)


class StrapTable(Table):
    """So many straps at `each_side` of what stands on the foot, each of so many `turns` of a `tape`.

    pitch : from middle to middle, where there are several at a side
    """

    each_side: Annotated[int, Field(ge=1, le=20)] = 1
    width: Length
    pitch: Length | None = None
    turns: Annotated[int, Field(ge=1, le=200)] = 1
    tape: LayupTable


class Strapped(FixingTable):
    """Unidirectional tape wound round a foot and a round beam.

    along, across : of the foot;   stem : what stands on it along the beam, where that is a tube its diameter
    radius : of the foot's edge that the tape is bent over;   overlap : of the end of a turn on the one below
    """

    kind: Literal["strapped"]
    straps: StrapTable
    along: Length
    across: Length
    stem: Length | None = None
    radius: Length
    overlap: Length
    onto: Onto
    glue: GlueTable

    def foot_on(self, stem: Stem | None) -> Straps:
        """As statics has them; InputFault where nobody says what stands between them."""
        straps, stands = self.straps, self.stem
        if stands is None:
            if stem is None:
                raise InputFault("straps", "what stands between them is not known", 'give stem = "170 mm"')
            stands = 2 * float(stem.outline()[..., 0].max())
        return Straps(
            straps.each_side, straps.width, straps.pitch or straps.width, stands, straps.turns, straps.tape.built,
            (self.along, self.across), self.radius, self.overlap, self.glue.adhesive, self.onto.wall,
        )  # fmt: skip
