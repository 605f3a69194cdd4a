"""What every load case gives: forces at places, loads along members, weight, temperature changes, a movement to reach.

A kind whose loads depend on the boat, or that expands to several cases (a sweep), computes them in `expand`.
"""

from __future__ import annotations

import math
from abc import abstractmethod
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Annotated, Any, ClassVar, Literal, TypeVar

from pydantic import Field, GetJsonSchemaHandler, PrivateAttr, field_validator, model_validator
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema

from cases.loads.origin import ENTERED, Origin
from femcore.base.errors import InputFault, fault
from femcore.base.toml import Table, unknown
from femcore.base.units import Unit, UnitVector
from models.boat.boat import Boat
from models.response.front_end import FrontEnd
from models.tables.kinds import KindTable

Vector = tuple[float, float, float]
MAX_FORCE = 1e8
"""N, and N·m, N/m: the weight of ten thousand tonnes; nothing on a boat's bow is larger."""
MAX_FACTOR = 1000.0
"""Of a case, in its own scale or in a combination."""
MIN_FACTOR = 1e-6
Force = Annotated[Vector, UnitVector("N", most=MAX_FORCE)]
Moment = Annotated[Vector, UnitVector("N*m", most=MAX_FORCE)]
LineForce = Annotated[Vector, UnitVector("N/m", most=MAX_FORCE)]
Arm = Annotated[Vector, UnitVector("m", most=1000.0)]
Length = Annotated[float, Unit("m", most=1000.0)]
Name = Annotated[str, Field(max_length=60)]
ZERO_VECTOR: Vector = (0.0, 0.0, 0.0)
LoadLevel = Literal["working", "extreme"]
"""Working: met again and again, or one that may be exceeded; checks take their factors in full. Extreme: one that is not
exceeded, an accident or once in the boat's life; checks leave out the factors' part for loads."""
SeaLoad = Literal["racking", "pitch connecting", "transverse", "torsion", "deck diving", "slam"]
"""What a sea does to two hulls. The pitch connecting and the torsional moment are one load: forces at the four corners of the
platform, up and down in turn, about the transverse axis and about the fore-and-aft one. They are never added."""
QUARTERING_SEA: frozenset[SeaLoad] = frozenset({"racking", "pitch connecting", "torsion", "deck diving"})
"""Those of a quartering sea, which combine with the rig by default; transverse bending is of a beam sea."""


Reading = Literal["heave of the stems", "hulls", "bulkhead and crossbeam"]
"""What an imposed movement is read by: m, the port stem above the starboard one; rad, pitch of the port hull less that of the
starboard one at the main bulkhead, bow up; rad, roll of the line between the hulls at the crossbeam less that at the bulkhead."""


@dataclass(frozen=True, slots=True)
class ImposedMovement:
    """A movement that the loads of a case are scaled to reach: m or rad."""

    reading: Reading
    size: float


class PlaceLoad(Table):
    """A force and a moment at a named place of the front end, boat axes.

    name : what it is in a load path; its place where left out
    """

    place: str
    force: Force = ZERO_VECTOR
    moment: Moment = ZERO_VECTOR
    name: Name = ""

    def scaled_by(self, scale: float) -> PlaceLoad:
        """So many times as large."""
        return self.model_copy(
            update={"force": _times(self.force, scale), "moment": _times(self.moment, scale)}
        )


class MemberLoad(Table):
    """A load along a member, N per metre of its length, boat axes: uniform, or linear from `force` to `end_force`.

    end_force  : N/m, at the end of the stretch; as `force`, that at its beginning, where left out
    begin, end : m, the stretch it acts on, along the boat axis that the member mostly follows (x for bows
                 and longeron, y for the crossbeam); the whole member where left out
    arm        : m, boat axes, from the member's axis to the line on which the load acts
    name       : what it is in a load path; its member where left out
    """

    member: str
    force: LineForce
    end_force: LineForce | None = None
    begin: Length | None = None
    end: Length | None = None
    arm: Arm = ZERO_VECTOR
    name: Name = ""

    @model_validator(mode="after")
    def _check_interval(self) -> MemberLoad:
        if self.begin is not None and self.end is not None and not self.begin < self.end:
            raise fault("the stretch begins where it ends, or beyond", "let begin be less than end")
        return self

    def scaled_by(self, scale: float) -> MemberLoad:
        """So many times as large."""
        last = None if self.end_force is None else _times(self.end_force, scale)
        return self.model_copy(update={"force": _times(self.force, scale), "end_force": last})


Load = TypeVar("Load", PlaceLoad, MemberLoad)


class LoadCase(KindTable):
    """One case of a boat file; `also` adds loads at named places, `line` loads along members, to any kind.

    on           : whether it is run, and takes part in combinations
    scale        : factor on all that it puts on the boat (not on pretension, which is always there)
    second_order : equilibrium in the deformed shape
    level        : whether its loads are working or extreme ones; that of the kind, `default_level`, where left out

    uncombined   : of a kind, why it is in no combination that is made by default; empty of those that are, or need no reason
    from_boat    : of a kind, keys that may be left out of a file where its [boat] table has what they are: key → key of [boat]
    """

    default_level: ClassVar[LoadLevel] = "working"
    uncombined: ClassVar[str] = ""
    from_boat: ClassVar[Mapping[str, str]] = {}

    name: Annotated[str, Field(min_length=1, max_length=100)]
    note: str = ""
    on: bool = True
    scale: Annotated[float, Field(allow_inf_nan=False)] = 1.0
    also: list[PlaceLoad] = []
    line: list[MemberLoad] = []
    second_order: bool = False
    level: LoadLevel | None = None
    _estimated: tuple[str, ...] = PrivateAttr(())

    @classmethod
    def keys_from_boat(cls, given: Mapping[str, Any]) -> Mapping[str, str]:  # noqa: ARG003  (some kinds have alternatives)
        """`from_boat`, as far as a case with these raw keys has a use for it; a key of a table in it is written with a dot."""
        return cls.from_boat

    @classmethod
    def __get_pydantic_json_schema__(cls, core: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        """What the [boat] table may give is not required."""
        made = super().__get_pydantic_json_schema__(core, handler)
        schema = handler.resolve_ref_schema(made)
        schema["required"] = [key for key in schema.get("required", ()) if key not in cls.from_boat]
        return made

    @field_validator("scale")
    @classmethod
    def _check_size(cls, scale: float) -> float:
        if not MIN_FACTOR <= abs(scale) <= MAX_FACTOR:
            cure = f"give a size from {MIN_FACTOR:g} to {MAX_FACTOR:g}, or on = false to leave the case out"
            raise fault(f"a scale of {scale:g} is out of range", cure)
        return scale

    @abstractmethod
    def loads(self) -> list[PlaceLoad]:
        """The loads of this kind at places, without `also` and `scale`."""

    @abstractmethod
    def what(self) -> str:
        """What the case is, in one line, without `scale`."""

    def origin(self) -> Origin:
        """Where its loads come from; of a case as it is run, with the boat's numbers."""
        return ENTERED

    def provenance(self) -> Origin:
        """`origin`, and which of the case's inputs are estimated: then the size of its loads is."""
        own = self.origin()
        return replace(own, basis="estimated", estimated=self._estimated) if self._estimated else own

    def marked(self, estimated: tuple[str, ...]) -> LoadCase:
        """The case with these of its inputs marked as estimated, each with its scatter; what it expands to is marked too."""
        made = self.model_copy()
        made._estimated = estimated  # noqa: SLF001  (its own class)
        return made

    def lines(self) -> list[MemberLoad]:
        """The loads of this kind along members, without `line` and `scale`."""
        return []

    def sea_loads(self) -> frozenset[SeaLoad]:
        """Which loads of a sea on two hulls it has, `also` and `line` left out; none where it has none."""
        return frozenset()

    @property
    def reverses(self) -> bool:
        """Whether the same load turned about is one to be reckoned with too; not where both senses are cases of their own."""
        return self.sea_loads() not in ({"deck diving"}, {"slam"})

    @property
    def load_level(self) -> LoadLevel:
        """As entered, or that of its kind."""
        return self.level or self.default_level

    @property
    def is_plain(self) -> bool:
        """Whether nothing else acts in it: neither `also` nor `line`."""
        return not (self.also or self.line)

    def member_acceleration(self, member: str) -> Vector:
        """m/s², boat axes: the force on each kilogram of a member, before `scale`; none where its mass does not act."""
        del member
        return ZERO_VECTOR

    def weight_label(self, member: str) -> str:
        """What the force on a member's mass is in a load path."""
        return f"weight of the {member}"

    def temperature_changes(self) -> dict[str, float]:
        """K, by member, before `scale`: temperature change since the boat was built."""
        return {}

    def target(self) -> ImposedMovement | None:
        """The movement that the loads are scaled to reach; None: they are not."""
        return None

    def expand(self, boat: Boat) -> list[LoadCase]:
        """The cases that this one expands to on that boat; InputFault where it does not fit the boat."""
        del boat
        return [self]

    def words(self) -> str:
        """What the case is, in one line; its inputs that are estimated are marked."""
        what = self.what() if self.scale == 1 else f"{self.what()}; all of it times {self.scale:g}"
        return what + self.estimate_mark

    @property
    def estimate_mark(self) -> str:
        """What follows a quoted load: which of the case's inputs are estimated, in brackets; empty where none is."""
        return f" (estimated: {', '.join(self._estimated)})" if self._estimated else ""

    def all_place_loads(self) -> list[PlaceLoad]:
        """Everything that acts at places."""
        return _scaled([*self.loads(), *self.also], self.scale)

    def all_member_loads(self) -> list[MemberLoad]:
        """Everything that acts along members."""
        return _scaled([*self.lines(), *self.line], self.scale)

    def faults(self, places: Iterable[str], front: FrontEnd | None = None) -> list[InputFault]:
        """A fault for every place, and with a `front` for every member, that the boat does not have."""
        known = list(places)
        here = f"cases '{self.name}'"
        loads = self.all_place_loads()
        wrong = [unknown(here, "place", load.place, known) for load in loads if load.place not in known]
        if front is not None:
            members = list(front.frame.members)
            named = dict.fromkeys(load.member for load in self.all_member_loads())
            wrong += [unknown(here, "member", name, members) for name in named if name not in members]
        return wrong


class ExpandedCase(LoadCase):
    """A case computed for one boat from another; no file holds it.

    kind          : that of the case it was worked out from
    summary       : the case in one line;   load_origin : where its loads come from
    placed, along : loads at places and along members;   of_sea : what of them is a sea's
    both_senses   : whether the case stands for its reverse too
    """

    name: str
    kind: str = ""
    summary: str
    load_origin: Origin = ENTERED
    placed: list[PlaceLoad] = []
    along: list[MemberLoad] = []
    of_sea: frozenset[SeaLoad] = frozenset()
    both_senses: bool = True

    @property
    def reverses(self) -> bool:
        """As worked out; a dive or a slam has no reverse."""
        return self.both_senses and super().reverses

    def sea_loads(self) -> frozenset[SeaLoad]:
        """As worked out."""
        return self.of_sea

    def loads(self) -> list[PlaceLoad]:
        """What was worked out."""
        return self.placed

    def lines(self) -> list[MemberLoad]:
        """What was worked out."""
        return self.along

    def what(self) -> str:
        """In one line."""
        return self.summary

    def origin(self) -> Origin:
        """As worked out."""
        return self.load_origin


def _times(vector: Vector, scale: float) -> Vector:
    x, y, z = vector
    return scale * x, scale * y, scale * z


def _scaled(loads: list[Load], scale: float) -> list[Load]:
    return loads if scale == 1 else [load.scaled_by(scale) for load in loads]


def at(place: str, force: Vector = ZERO_VECTOR, moment: Vector = ZERO_VECTOR, name: str = "") -> PlaceLoad:
    """A load at a place, N and N·m."""
    return PlaceLoad(place=place, force=force, moment=moment, name=name)


def along(
    member: str,
    force: Vector,
    begin: float | None = None,
    end: float | None = None,
    arm: Vector = ZERO_VECTOR,
    name: str = "",
    end_force: Vector | None = None,
) -> MemberLoad:
    """A load along a member, N/m and m."""
    return MemberLoad(
        member=member, force=force, end_force=end_force, begin=begin, end=end, arm=arm, name=name
    )


def expanded_case(
    case: LoadCase,
    summary: str,
    origin: Origin,
    placed: Iterable[PlaceLoad] = (),
    lines: Iterable[MemberLoad] = (),
    name: str = "",
    of_sea: Iterable[SeaLoad] = (),
    *,
    both_senses: bool = True,
) -> ExpandedCase:
    """A case worked out from `case`, called after it and `name`; its `also`, `line` and `scale` go with it.

    both_senses : whether it stands for its reverse too, which then is in default combinations
    """
    made = ExpandedCase(
        name=f"{case.name}, {name}" if name else case.name, note=case.note, also=case.also, line=case.line,
        second_order=case.second_order, scale=case.scale, kind=getattr(case, "kind", ""),
        summary=summary, load_origin=origin, placed=list(placed), along=list(lines),
        of_sea=frozenset(of_sea), level=case.load_level, both_senses=both_senses,
    )  # fmt: skip
    made._estimated = case._estimated  # noqa: SLF001  (a subclass's)
    return made


def fitting(boat: Boat) -> Boat:
    """The boat, without martingale and platform where its tables do not fit one another: that is reported, the rest checked."""
    unfit = {"martingale": None, "platform": None}
    return boat.model_copy(update=unfit) if any(Boat.faults(boat)) else boat


def degrees(angle: float) -> str:
    """An angle, rad, for reading, with a true minus: ``−14°``."""
    return f"{math.degrees(angle):.3g}°".replace("-", "−")


def exactly_one(case: Table, *keys: str) -> str:
    """The one of these keys that is given; a fault where none is, or several are."""
    given = [key for key in keys if getattr(case, key) is not None]
    if len(given) != 1:
        wrong = f"has {' and '.join(given)}" if given else f"has none of {', '.join(keys)}"
        raise fault(wrong, f"give one of {', '.join(keys)}")
    return given[0]
