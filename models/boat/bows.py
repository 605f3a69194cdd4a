"""The bows as a file gives them: stations with their stiffness, or with the hull's outline and walls of which it is made.

Outline and walls become stiffnesses by `models.boat.hull_section`: a closed cell where the deck is whole, an open section along a
hatch. The bow's axis is straight and level, at the mean height of the sections' elastic centres along it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Annotated, Any, Literal, Self

import numpy as np
from pydantic import Discriminator, Field, PrivateAttr, Tag, model_validator

from femcore.base.errors import InputFault, fault
from femcore.base.numbers import engineering
from femcore.base.toml import Table
from femcore.base.units import Expansion, Unit, UnitVector
from femcore.files.section_file import WallMaterials, WallTable, coupling_remarks
from femcore.materials import Isotropic
from femcore.sections import Wall, rotary_inertia
from models.boat.hull_section import (
    BowStiffness,
    Hatch,
    HullStation,
    HullWalls,
    bow_stiffness,
)
from models.boat.outline import middle_of_walls
from models.tables.beams import (
    BY_STIFFNESS,
    MAX_LENGTH,
    BeamStiffness,
    Length,
    LineMass,
    PositiveLength,
    unit_stiffness,
)
from models.tables.context import section_fault

NonNegativeLength = Annotated[float, Unit("m", least=0, most=MAX_LENGTH)]
Corner = Annotated[tuple[float, float], UnitVector("m", 2)]
KEPT_BOWS = 8
"""Of changed boats: those of a page, a sizing, samples."""
BY_OUTLINE = "by its hull's outline"


class Station(BeamStiffness):
    """A station of the bows; `gyration` is the radius of gyration of its mass about the bow's axis, for frequencies.

    Two stations at one place are a step.
    """

    at: NonNegativeLength
    gyration: Annotated[float, Unit("m", least=0, most=5.0)] = 0.0


class OutlineStation(Table):
    """A station by the hull's outline: half-breadth and height of each corner, from the keel up, in boat axes.

    keel      : of a flat keel its half-breadth, else 0;   chines : and any knuckle in the topsides, from below
    crown     : height of the deck's middle above the gunwale
    mass      : kg/m, of what is built in, besides the walls
    """

    at: NonNegativeLength
    keel: Corner
    chines: list[Corner] = []
    gunwale: Corner
    crown: NonNegativeLength = 0.0
    mass: LineMass = 0.0
    expansion: Expansion = 0.0

    def hull(self) -> HullStation:
        """Its shape; InputFault where that is none."""
        corners = [self.keel, *self.chines, self.gunwale]
        return HullStation(self.at, tuple(y for y, _ in corners), tuple(z for _, z in corners), self.crown)


class BowWalls(Table):
    """What the strips of a hull are made of: bottom up to the first chine, bilge between chines, topside up to the gunwale.

    The first item of a laminate lies outermost. bottom : not needed without a chine;   keel : of a flat keel; left out, as
    the bottom;   bilge : left out, as the bottom
    """

    bottom: WallTable | None = None
    bilge: WallTable | None = None
    topside: WallTable
    deck: WallTable
    keel: WallTable | None = None

    def of(self, wall_materials: WallMaterials, strips: int) -> HullWalls:
        """Walls of a hull of that many strips between keel and gunwale; InputFault where one is not there."""
        bilges = max(strips - 2, 0)
        keys = ["bottom"] * (strips > 1) + ["bilge"] * bilges + ["topside"]
        names = [f"bilge {i}" if bilges > 1 and key == "bilge" else key for i, key in enumerate(keys)]
        skins = tuple(self._wall(wall_materials, key) for key in keys)
        return HullWalls(
            skins,
            self._wall(wall_materials, "deck"),
            self._wall(wall_materials, "keel" if self.keel else keys[0]),
            tuple(names),
        )

    def _wall(self, wall_materials: WallMaterials, key: str) -> Wall:
        given = getattr(self, key) or (self.bottom if key == "bilge" else None)
        if given is None or not given.is_given:
            raise InputFault(f"walls: {key}", "has no wall", f'write {key} = {{ laminate = "…" }}')
        return wall_materials.wall(given, f"walls: {key}")


class HatchTable(Table):
    """An opening in the deck, on the hull's centreline, from `at` over `length` forward.

    warping       : the closed hull at both ends holds the open one against warping, or leaves it free
                    (`models.boat.hull_section`)
    concentration : stress at its corners over that of the deck beside it; left out, of a round hole as wide
    """

    at: NonNegativeLength
    length: PositiveLength
    width: PositiveLength
    warping: Literal["held", "free"] = "held"
    concentration: Annotated[float, Field(ge=1, le=20)] | None = None

    def hatch(self) -> Hatch:
        """The hatch."""
        return Hatch(self.at, self.length, self.width, self.warping, self.concentration)


@dataclass(frozen=True, eq=False)
class BowSections:
    """What came of the hull's outline: beam properties at every station, and what a straight beam leaves out.

    stiffness : by station, two at each end of a hatch
    axis      : m, the height of the bow's axis
    built_in  : (stations,), kg/m, mass besides the walls
    remarks   : a sentence each
    outlines, walls, hatches : what it was made of;   materials : of its walls of metal, by their name
    """

    stiffness: BowStiffness
    axis: float
    outfit_mass: np.ndarray[Any, np.dtype[np.float64]]
    remarks: tuple[str, ...]
    outlines: tuple[HullStation, ...]
    walls: HullWalls
    hatches: tuple[Hatch, ...]
    materials: Mapping[str, Isotropic]


def _input_form(value: object) -> str:
    has_outline = (
        "keel" in value or "gunwale" in value
        if isinstance(value, dict)
        else isinstance(value, OutlineStation)
    )
    return BY_OUTLINE if has_outline else BY_STIFFNESS


class BowsGeometry(Table):
    """Where both bows lie, mirror images of one another.

    height        : of the bow's axis; with outlines it follows from them, and is not entered
    frame_spacing : between frames or bulkheads, which hold the shell's panels; left out, none counts between the main bulkhead
                    and the crossbeam
    outline       : whether keel, chines and gunwale are in the middle of the walls, where sections are worked, or on the outside
    """

    spacing: PositiveLength
    inboard: NonNegativeLength
    height: Length = 0.0
    divide: Annotated[int, Field(ge=1, le=2000)] = 12
    frame_spacing: PositiveLength | None = None
    outline: Literal["middle", "outside"] = "middle"
    walls: BowWalls | None = None
    hatches: list[HatchTable] = []

    @model_validator(mode="after")
    def _check_inboard(self) -> Self:
        if self.inboard >= self.spacing / 2:
            raise fault(
                "the inboard side is beyond the centreline", "give inboard less than half the spacing"
            )
        return self


class Bows(BowsGeometry):
    """Both bows by the stiffness of their stations."""

    stations: Annotated[list[Station], Field(min_length=2)]

    @property
    def sections(self) -> BowSections | None:
        """What came of the hull's outline, where one was given."""
        return None

    @property
    def length(self) -> float:
        """m, root to stem."""
        return self.stations[-1].at

    @model_validator(mode="after")
    def _check_stations(self) -> Self:
        _check_order(self.stations, may_step=True)
        for key in ("GA_vertical", "GA_lateral"):
            given = [getattr(station, key) is not None for station in self.stations]
            if any(given) and not all(given):
                raise fault(f"{key} is given at some stations only", "give it at every station, or at none")
        if self.walls or self.hatches or self.frame_spacing:
            key = "walls" if self.walls else "hatches" if self.hatches else "frame_spacing"
            cure = f"give keel and gunwale at each station, or take {key} out"
            be = "is" if key == "frame_spacing" else "are"
            raise fault(f"{key} {be} given and the stations have no outline", cure)
        return self


class OutlinedBows(Bows):
    """Bows whose stations were computed of the hull's outline, with `walls` and `hatches`."""

    _sections: BowSections | None = PrivateAttr(default=None)

    @property
    def sections(self) -> BowSections | None:
        """What came of the hull's outline."""
        return self._sections

    @model_validator(mode="after")
    def _check_stations(self) -> Self:
        """As they were computed: a hatch's end may lie anywhere."""
        return self


AnyStation = Annotated[
    Annotated[Station, Tag(BY_STIFFNESS)] | Annotated[OutlineStation, Tag(BY_OUTLINE)],
    Discriminator(_input_form),
]


class BowsTable(BowsGeometry):
    """Both bows, mirror images of one another: stations of stiffness, or of outline with `walls` and `hatches`.

    height : of the bow's axis; with outlines it follows from them, and is not entered
    """

    stations: Annotated[list[AnyStation], Field(min_length=2)]

    @property
    def _outlines(self) -> list[OutlineStation]:
        return [station for station in self.stations if isinstance(station, OutlineStation)]

    @model_validator(mode="after")
    def _check_stations(self) -> Self:
        if not self._outlines:
            if "outline" in self.model_fields_set:
                raise fault(
                    "has outline beside stations of stiffness", "take outline out, or give keel and gunwale"
                )
            self._by_stiffness()
            return self
        _check_order(self.stations, may_step=False)
        if len(self._outlines) < len(self.stations):
            raise fault("some stations have an outline and some a stiffness", "give all of them one way")
        if self.walls is None:
            cure = 'add [bows.walls] with bottom, topside and deck = { laminate = "…" }'
            raise fault("stations have an outline and there are no walls", cure)
        if "height" in self.model_fields_set:
            raise fault("has a height beside outlines, from which it follows", "take height out")
        return self

    def _by_stiffness(self) -> Bows:
        return Bows.model_validate(dict(self))  # within a validation, which reports its faults

    def build(self, walls: WallMaterials) -> Bows:
        """The bows by the stiffness of their stations; InputFault where their sections cannot be built."""
        outlines = self._outlines
        if not outlines or self.walls is None:
            return self._by_stiffness()
        try:
            hull_walls = self.walls.of(walls, len(outlines[0].chines) + 1)
            return _outlined(_Shell(self, hull_walls, walls.materials))
        except InputFault as error:
            raise section_fault(error, "bows") from None

    def outlined(self, hull_walls: HullWalls, materials: Mapping[str, Isotropic]) -> OutlinedBows:
        """The bows by the stiffness that their outline has with these walls; InputFault where a section cannot be built."""
        outlines = self._outlines
        hulls = tuple(self._by_middle(each.hull(), hull_walls) for each in outlines)
        hatches = tuple(hatch.hatch() for hatch in self.hatches)
        found = bow_stiffness(hulls, hull_walls, hatches)
        place = [each.at for each in outlines]
        outfit_mass = np.interp(found.x, place, [each.mass for each in outlines])
        axis = float(np.trapezoid(found.centre, found.x) / place[-1])
        roll = [rotary_inertia(solved.section, (0.0, axis))[0] for solved in found.solved]
        columns = {
            "at": found.x, "EI_vertical": found.EI_vertical, "EI_lateral": found.EI_lateral, "GJ": found.GJ,
            "EA": found.EA, "GA_vertical": found.GA_vertical, "GA_lateral": found.GA_lateral,
            "mass": found.mass + outfit_mass, "gyration": np.sqrt(np.array(roll) / found.mass),
            "expansion": np.interp(found.x, place, [each.expansion for each in outlines]),
        }  # fmt: skip
        rows = np.column_stack(list(columns.values())).tolist()
        stations = [Station(**dict(zip(columns, row, strict=True))) for row in rows]
        bows = OutlinedBows(**dict(self) | {"stations": stations, "height": axis})
        remarks = tuple(_remarks(found, axis))
        bows._sections = BowSections(  # noqa: SLF001
            found, axis, outfit_mass, remarks, hulls, hull_walls, hatches, materials
        )
        return bows

    def _by_middle(self, hull: HullStation, walls: HullWalls) -> HullStation:
        """A station by the middle of its walls, however its outline is given."""
        return middle_of_walls(hull, walls) if self.outline == "outside" else hull

    def outline_only(self) -> Bows:
        """Their places with unit stiffness."""
        stations = [Station(at=each.at, **unit_stiffness()) for each in self.stations]
        return OutlinedBows(**dict(self) | {"stations": stations})


@dataclass(frozen=True, eq=False)
class _Shell:
    """Bows with their walls, equal where all that their sections come of is."""

    table: BowsTable
    walls: HullWalls
    materials: Mapping[str, Isotropic]

    @cached_property
    def _content(self) -> tuple[object, ...]:
        walls = self.walls
        every = [
            _wall_content(wall) for wall in (*walls.skins, walls.deck, *([walls.keel] if walls.keel else []))
        ]
        return (
            self.table.model_dump_json(),
            walls.names,
            *every,
            *sorted(self.materials.items(), key=lambda item: item[0]),
        )

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Shell) and self._content == other._content

    def __hash__(self) -> int:
        return hash(self._content)


def _wall_content(wall: Wall) -> tuple[object, ...]:
    """A laminate is its plies; metal its moduli, thickness and mass."""
    laminate = wall.laminate
    plies = () if laminate is None else (laminate.name, laminate.plies)
    return wall.name, wall.E, wall.G, wall.thickness, wall.areal_mass, *plies


@lru_cache(maxsize=KEPT_BOWS)
def _outlined(shell: _Shell) -> OutlinedBows:
    """Kept, since a boat that is changed elsewhere has the same bows, and with them all that is kept of their sections."""
    return shell.table.outlined(shell.walls, shell.materials)


def _check_order(stations: Sequence[Station | OutlineStation], *, may_step: bool) -> None:
    """A fault where stations do not run forward from the root; a step is two stations at one place, apart from other steps."""
    gaps = np.diff([station.at for station in stations])
    backward = stations[0].at != 0.0 or gaps.min() < 0.0
    steps = np.flatnonzero(gaps == 0.0)
    steps_apart = may_step and not {0, len(gaps) - 1} & set(steps) and (np.diff(steps) > 1).all()
    if backward or (len(steps) and not steps_apart):
        raise fault(
            "stations do not run from 0 m forward",
            "begin at '0 m' (the root), each further forward than the last",
        )


def _remarks(found: BowStiffness, axis: float) -> Iterator[str]:
    low, high = _offset_text(found.centre.min(), axis), _offset_text(found.centre.max(), axis)
    yield (
        f"The bows' axis is straight, at {axis:.3g} m: the mean of the sections' elastic centres, which are from "
        f"{low} to {high}; the bending that an axial force causes by that offset is left out."
    )
    for words, chosen in (("where the deck is whole", ~found.deck_open), ("along a hatch", found.deck_open)):
        if chosen.any():
            low, high = (_offset_text(each(found.shear_centre[chosen]), axis) for each in (np.min, np.max))
            yield (
                f"The bows' shear centres are from {low} to {high} {words}; the torsion that a lateral force on the axis "
                "causes by that offset is left out."
            )
    if found.deck_open.any():
        counted, free = (each[found.deck_open].min() for each in (found.GJ, found.GJ_free))
        yield (
            f"Along a hatch the hull is open: GJ falls to {engineering(counted, 'N·m²')} with warping restrained there; "
            f"free to warp it would be {engineering(free, 'N·m²')}, and the bow is between the two."
            if counted > free
            else f"Along a hatch the hull is open and counted free to warp: GJ falls to {engineering(free, 'N·m²')}; the "
            "closed hull at both ends makes it stiffer."
        )
    reported = set[str]()
    for x, section in zip(found.x, found.sections, strict=True):
        strongest = next(iter(section.couplings), None)
        if strongest is not None and strongest.cause + strongest.effect not in reported:
            reported.add(strongest.cause + strongest.effect)
            yield next(coupling_remarks(section, f"Bow at {x:g} m"))


def _offset_text(height: float, axis: float) -> str:
    off = 1000 * (height - axis)
    return f"{abs(off):.0f} mm {'below' if off < 0 else 'above'}"
