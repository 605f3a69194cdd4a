"""How a tang, an eye or the end of a beam is fixed, as a boat file says it: a kind of fixing each, told apart by `kind`.

"along" is along the beam that the fitting stands on, at the end of a beam level and square to it; "across" is around the beam, at
its end up and down. Several fixings in a list lie one behind the other: each carries the whole.
"""

from __future__ import annotations

import math
from abc import abstractmethod
from dataclasses import replace
from typing import TYPE_CHECKING, Annotated, Any, Literal

from pydantic import Discriminator, Field, Tag, field_validator, model_validator

from femcore.documents import Table
from femcore.errors import InputFault
from femcore.materials import metals
from models.kinds import one_of
from models.parts.bolted_foot import BoltedFoot, HeldPlate
from models.parts.bolted_plate import LaminateHole
from models.parts.bolts import rectangle
from models.parts.bonded_foot import BondedFoot
from models.parts.fitting import Bore, PinnedEnd
from models.parts.fixing import Fixing, Foot, Stem
from models.parts.pin import Pin
from models.parts.ring import Outline, Ring, Wall
from models.parts.sleeve import Sleeve
from models.parts.straps import Straps
from models.parts.taped_end import TapedEnd
from models.parts.wall_under import WallUnder
from models.parts.weld import FILLER, FilletGroup
from models.parts.welded_foot import WeldedFoot
from models.shared_tables import (
    BackingTable,
    Bolts,
    GlueTable,
    LayupTable,
    LeastLength,
    Length,
    MetalPart,
    Stress,
    fault,
    metal_named,
)


def _one_or_several(one: Any) -> Any:  # noqa: ANN401  (a type, made at run time)
    """The pydantic field type of one such table, or of a list of them."""
    many = Annotated[list[one], Field(min_length=1)]
    told = Discriminator(lambda given: "several" if isinstance(given, list) else "one")
    return Annotated[Annotated[one, Tag("one")] | Annotated[many, Tag("several")], told]


FARTHEST = 2.0
"""Of a tape's outer radius: where a wall counts as held for a taped end's ring, which its strength does not feel."""


class WallOf(Table):
    """A wall: a laminate (x along the beam), or a metal with its thickness."""

    laminate: LayupTable | None = None
    metal: str | None = None
    thickness: Length | None = None

    @field_validator("metal")
    @classmethod
    def _known_metal(cls, name: str | None) -> str | None:
        return None if name is None else metal_named(name)

    @model_validator(mode="after")
    def _one_way(self) -> WallOf:
        if (self.laminate is None) == (self.metal is None):
            raise fault(
                "what it is made of is not known, or is said twice",
                'give laminate = "name" of one under [laminates], or metal and thickness',
            )
        if (self.metal is None) != (self.thickness is None):
            raise fault("metal and thickness belong together", "give both, or a laminate")
        return self

    @property
    def depth(self) -> float:
        """m, its thickness."""
        return self.laminate.built.thickness if self.laminate is not None else self.thickness or 0.0

    def under(self, diameter: float | None = None, far: float | None = None) -> WallUnder:
        """As it carries a foot."""
        laminate = None if self.laminate is None else self.laminate.built
        metal = None if self.metal is None else metals()[self.metal]
        return WallUnder(laminate, metal, self.depth, diameter, far)

    @property
    def thin(self) -> Wall:
        """As the wall of a thin tube."""
        wall = self.under()
        return Wall(wall.shear, wall.stretch[0])


class Onto(WallOf):
    """What a fitting is fixed onto: the wall of a round beam of `diameter`, or a flat one.

    held_at : of a flat wall, from the fitting's middle to what holds it
    edge    : from a bolt to the wall's nearest edge
    bearing, shear, through, crushing : a laminate's strengths at a bolt or pin (`models.parts.bolted_plate.LaminateHole`)
    """

    diameter: Length | None = None
    held_at: Length | None = None
    edge: Length | None = None
    bearing: Stress | None = None
    shear: Stress | None = None
    through: Stress | None = None
    crushing: Stress | None = None

    @property
    def wall(self) -> WallUnder:
        """As it carries a foot."""
        return self.under(self.diameter, self.held_at)

    @property
    def hole(self) -> LaminateHole | None:
        """As bolts meet it; None for a metal."""
        if self.laminate is None:
            return None
        return LaminateHole(
            self.depth, self.edge or 0.0, self.bearing, self.shear, self.through, self.crushing
        )


class FootTable(WallOf):
    """A plate that is fixed, `along` and `across` as large; `stem`: diameter of what stands on it, where that is a tube."""

    along: Length
    across: Length
    stem: Length | None = None

    @property
    def size(self) -> tuple[float, float]:
        """m, along and across."""
        return self.along, self.across

    def standing(self, stem: Stem | None) -> Stem:
        """What stands on it; InputFault where nobody says."""
        found = Stem(diameter=self.stem) if self.stem is not None else stem
        if found is None:
            raise InputFault(
                "foot", "what stands on it is not known", 'give the tube\'s diameter: stem = "60 mm"'
            )
        return found


class FixingTable(Table):
    """A way to fix a fitting. height: from the face where it is fixed up to the fitting's root, such as the foot's thickness."""

    height: LeastLength | None = None

    @abstractmethod
    def foot_on(self, stem: Stem | None) -> Foot:
        """As it is checked, with what stands on it where that is known; InputFault where it cannot be."""

    @property
    def own_height(self) -> float:
        """m, where none is given."""
        return 0.0

    @property
    def beam_radius(self) -> float:
        """m, from the axis of the round beam that it is fixed to out to its side; 0 where it is fixed to something else."""
        onto = getattr(self, "onto", None)
        return 0.0 if onto is None or onto.diameter is None else float(onto.diameter) / 2

    def fixing(self, stem: Stem | None) -> Fixing:
        """As it is checked."""
        return Fixing(self.foot_on(stem), self.own_height if self.height is None else self.height)


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


class StrapTable(Table):
    """So many straps at `each_side` of what stands on the foot, `pitch` from middle to middle, each of so many `turns` of a `tape`."""

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


ON_BEAM = {"bolted": Bolted, "welded": Welded, "bonded": Bonded, "strapped": Strapped}
"""Ways to fix what stands on a beam's side."""
AT_END = {
    "bolted": Bolted,
    "welded": Welded,
    "bonded": Bonded,
    "sleeved": Sleeved,
    "taped": Taped,
    "pinned": Pinned,
}
"""Ways to fix the end of a beam."""

OnBeam = FixingTable | list[FixingTable]
AtEnd = FixingTable | list[FixingTable]
EndOnBeam = FixingTable | list[FixingTable]
if not TYPE_CHECKING:
    OnBeam, AtEnd, EndOnBeam = (
        _one_or_several(one_of(kinds)) for kinds in (ON_BEAM, AT_END, ON_BEAM | AT_END)
    )


def fixings(given: FixingTable | list[FixingTable] | None, stem: Stem | None = None) -> tuple[Fixing, ...]:
    """One fixing or several as they are checked, with what stands on them; none where none is given."""
    return tuple(one.fixing(stem) for one in _several(given))


def fixings_from_axis(given: FixingTable | list[FixingTable] | None) -> tuple[Fixing, ...]:
    """The same where loads are those at the axis of the beam that they are fixed to, not at its side."""
    return tuple(
        replace(made, height=made.height - one.beam_radius)
        for one in _several(given)
        for made in [one.fixing(None)]
    )


def _several(given: FixingTable | list[FixingTable] | None) -> list[FixingTable]:
    return given if isinstance(given, list) else [] if given is None else [given]
