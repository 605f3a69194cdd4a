"""The platform as a file gives it: typed members, or bulkheads and deck skins of which members are made.

What was built is idealised in one step by `models.boat.platform_recipe`, on the bows' spacing; afterwards the boat holds members.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any, Self

from pydantic import AfterValidator, Discriminator, Field, PrivateAttr, Tag, ValidationInfo, model_validator

from femcore.base.errors import fault
from femcore.base.toml import Table
from femcore.base.units import Unit, UnitVector
from femcore.files.section_file import WallMaterials, WallTable
from models.boat.bows import Bows
from models.boat.platform import AnyMember, HullAftStation, Platform, PlatformMember, station_aft
from models.boat.platform_recipe import SYMMETRIC, Bulkhead, PlatformAsBuilt, Sheet, Skin
from models.tables.beams import MAX_LENGTH, Length, PositiveLength, unit_stiffness
from models.tables.context import BuiltFrom

BY_MEMBERS, AS_BUILT = "by its members", "as built"
"""Words that tell the two ways apart; they may be no keys."""
Station = Annotated[float, Unit("m", most=MAX_LENGTH), AfterValidator(station_aft)]
Opening = Annotated[tuple[float, float], UnitVector("m", 2)]


class BulkheadTable(Table):
    """A transverse bulkhead between the hulls.

    station : x ≤ 0, 0 at the main bulkhead;   bottom, top : heights
    wall    : its own, a laminate's 0° athwart;   diaphragm : the hull's own bulkhead at that station; left out, as `wall`
    doors   : breadth and height of each opening, on both sides together
    """

    name: Annotated[str, Field(min_length=1, max_length=100)]
    station: Station
    bottom: Length
    top: Length
    wall: WallTable
    diaphragm: WallTable | None = None
    doors: list[Opening] = []

    @model_validator(mode="after")
    def _check(self) -> Self:
        if self.station > 0:
            raise fault("the bulkhead is ahead of the main one", "give 0 m, or a negative x aft of it")
        if self.top <= self.bottom:
            raise fault("the bulkhead's top is not above its bottom", "give top above bottom")
        for breadth, height in self.doors:
            if not (breadth > 0 and 0 < height < self.top - self.bottom):
                raise fault(
                    f"an opening of {breadth:g} × {height:g} m is no opening in a bulkhead {self.top - self.bottom:g} m high",
                    'give its breadth and height, such as doors = ["0.7 0.6 m", "0.7 0.6 m"]',
                )
        return self

    def bulkhead(self, walls: WallMaterials) -> Bulkhead:
        """In SI; InputFault for a wall that does not exist."""
        place = f"platform: bulkheads '{self.name}'"
        web = _sheet(walls, self.wall, f"{place}: wall", along=True)
        own = (
            web
            if self.diaphragm is None
            else _sheet(walls, self.diaphragm, f"{place}: diaphragm", along=True)
        )
        return Bulkhead(self.name, self.station, self.bottom, self.top, web, own, tuple(self.doors))


class SkinTable(Table):
    """A deck between the hulls at a height, from `aft` to `forward` (x); `wall` : a laminate's 0° fore and aft."""

    height: Length
    aft: Station
    forward: Station = 0.0
    wall: WallTable

    @model_validator(mode="after")
    def _check(self) -> Self:
        if not self.aft < self.forward:
            raise fault("the skin ends ahead of where it begins", "give aft as the smaller x, such as '-5 m'")
        if self.forward > 0:
            raise fault("the skin reaches ahead of the main bulkhead", "give 0 m, or a negative x aft of it")
        return self


def _sheet(walls: WallMaterials, given: WallTable, place: str, *, along: bool) -> Sheet:
    if not given.is_given:
        raise fault(f"{place}: has no wall", 'write { laminate = "…" }, or a material with its thickness')
    return Sheet.of_wall(walls.wall(given, place), along=along)


class BuiltPlatform(Platform):
    """A platform whose members were made of what was built."""

    _as_built: PlatformAsBuilt = PrivateAttr()

    @classmethod
    def of(cls, as_built: PlatformAsBuilt, hulls: list[HullAftStation]) -> Self:
        """Its members for racking; InputFaults where they make no platform."""
        platform = cls(members=as_built.members(), hulls=hulls)
        platform._as_built = as_built
        return platform

    @property
    def as_built(self) -> PlatformAsBuilt:
        """What was built, in SI."""
        return self._as_built

    @property
    def remarks(self) -> tuple[str, ...]:
        """A sentence each: scatter of the recipe, what is outside its range, doors, symmetric loads."""
        return tuple(self._as_built.remarks())

    @property
    def twist_range(self) -> tuple[float, float]:
        """Factors on φ per moment between which shells found it, within the recipe's range."""
        return self._as_built.twist_range

    @property
    def has_doors(self) -> bool:
        """Whether a bulkhead has openings, which `twist_range` allows for."""
        return bool(self._as_built.doors)

    @property
    def for_symmetric(self) -> Platform:
        """With the members of the recipe for symmetric transverse bending."""
        return Platform(members=self._as_built.members(SYMMETRIC), hulls=self.hulls)


class PlatformAsBuiltTable(Table):
    """Bulkheads and deck skins between the hulls, from which the members come.

    inboard                : from a hull's axis to its inboard side, where bulkheads, deck and `members` without their own end
    hull_bottom, hull_deck : heights of a hull's keel and deck there
    members                : further ones, as typed: the aft crossbeam, and whatever else joins the hulls
    hulls                  : the hulls' own beams, as of a platform of typed members
    """

    inboard: PositiveLength
    hull_bottom: Length
    hull_deck: Length
    bulkheads: list[BulkheadTable] = []
    skins: Annotated[list[SkinTable], Field(max_length=2)] = []
    members: list[AnyMember] = []
    hulls: list[HullAftStation] = []

    @model_validator(mode="after")
    def _check(self) -> Self:
        if self.hull_deck <= self.hull_bottom:
            raise fault("hull_deck is not above hull_bottom", "give the heights of a hull's keel and deck")
        return self

    def build(self, walls: WallMaterials, bows: Bows) -> Platform:
        """Its members between those bows; InputFault where the recipe has none, or a wall does not exist."""
        as_built = PlatformAsBuilt(
            bows.spacing, self.inboard, self.hull_bottom, self.hull_deck,
            tuple(one.bulkhead(walls) for one in self.bulkheads),
            tuple(
                Skin(one.height, one.aft, one.forward, _sheet(walls, one.wall, f"platform: skins[{i}]: wall", along=False))
                for i, one in enumerate(self.skins, 1)
            ),
            tuple(one if one.inboard is not None else one.model_copy(update={"inboard": self.inboard}) for one in self.members),
        )  # fmt: skip
        return BuiltPlatform.of(as_built, self.hulls)

    def outline_only(self) -> Platform:
        """Members of unit stiffness at its stations; the hulls as they are."""
        places = [(one.name, one.station, one.bottom) for one in self.bulkheads] or [
            ("deck", 0.0, self.hull_deck)
        ]
        made = [PlatformMember(name=n, station=x, height=z, **unit_stiffness()) for n, x, z in places]
        by_name = {one.name: one for one in (*self.members, *made)}
        return Platform(members=list(by_name.values()), hulls=self.hulls)


@dataclass(frozen=True, eq=False)
class _TableOnBows:
    """A table of what was built, with the bows of its boat; None where these are at fault."""

    table: PlatformAsBuiltTable
    bows: Bows | None

    def build(self, walls: WallMaterials) -> Platform:
        return self.outline_only() if self.bows is None else self.table.build(walls, self.bows)

    def outline_only(self) -> Platform:
        return self.table.outline_only()


def _input_form(value: object) -> str:
    if isinstance(value, dict):
        return AS_BUILT if {"bulkheads", "skins"} & set(value) else BY_MEMBERS
    return AS_BUILT if isinstance(value, PlatformAsBuiltTable) else BY_MEMBERS


def _on_bows(value: Platform | PlatformAsBuiltTable, info: ValidationInfo) -> Platform | _TableOnBows:
    """The table with the bows, which are validated before it in the boat's own table."""
    return value if isinstance(value, Platform) else _TableOnBows(value, info.data.get("bows"))


_PLATFORM_FORMS: Any = Annotated[
    Annotated[Platform, Tag(BY_MEMBERS)] | Annotated[PlatformAsBuiltTable, Tag(AS_BUILT)],
    Discriminator(_input_form),
    AfterValidator(_on_bows),
]
AnyPlatform = Annotated[Platform, BuiltFrom(_PLATFORM_FORMS)]
"""Field of a table that has the bows in an earlier field named `bows`."""
