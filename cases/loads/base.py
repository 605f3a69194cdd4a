"""What every load case gives: forces at places, loads along members, weight, warmth, a movement to reach.

A kind whose loads depend on the boat, or that stands for several cases (a sweep), works them out in `expand`.
"""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Iterable
from typing import Annotated

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from femcore.documents import Table, unknown
from femcore.errors import InputFault
from femcore.units import Unit, UnitVector
from models.boat_file import Boat
from models.front_end import FrontEnd

Vector = tuple[float, float, float]
Force = Annotated[Vector, UnitVector("N")]
Moment = Annotated[Vector, UnitVector("N*m")]
LineForce = Annotated[Vector, UnitVector("N/m")]
Arm = Annotated[Vector, UnitVector("m")]
Length = Annotated[float, Unit("m")]
NOTHING: Vector = (0.0, 0.0, 0.0)


class PlaceLoad(Table):
    """A force and a moment at a named place of the front end, boat axes."""

    place: str
    force: Force = NOTHING
    moment: Moment = NOTHING


class MemberLoad(Table):
    """A uniform load along a member, N per metre of its length, boat axes.

    begin, end : m, the stretch it acts on, along the boat axis that the member mostly follows (x for bows
                 and longeron, y for the crossbeam); the whole member where left out
    arm        : m, boat axes, from the member's axis to the line on which the load acts
    """

    member: str
    force: LineForce
    begin: Length | None = None
    end: Length | None = None
    arm: Arm = NOTHING

    @model_validator(mode="after")
    def _forward(self) -> MemberLoad:
        if self.begin is not None and self.end is not None and not self.begin < self.end:
            raise fault("the stretch begins where it ends, or beyond", "let begin be less than end")
        return self


class LoadCase(Table):
    """One case of a boat file; `also` adds loads at named places, `line` loads along members, to any kind.

    second_order : equilibrium in the deformed shape
    """

    name: Annotated[str, Field(min_length=1, max_length=100)]
    note: str = ""
    also: list[PlaceLoad] = []
    line: list[MemberLoad] = []
    second_order: bool = False

    @abstractmethod
    def loads(self) -> list[PlaceLoad]:
        """The loads of this kind at places, without `also`."""

    @abstractmethod
    def words(self) -> str:
        """What the case is, in one line."""

    def lines(self) -> list[MemberLoad]:
        """The loads of this kind along members, without `line`."""
        return []

    def felt(self, member: str) -> Vector:
        """m/s², boat axes: the force on each kilogram of a member; none where its mass does not act."""
        del member
        return NOTHING

    def warmth(self) -> dict[str, float]:
        """K, by member: how much warmer than when the boat was built."""
        return {}

    def heave_to_reach(self) -> float | None:
        """m: differential heave of the stems that the loads are scaled to reach; None: they are not."""
        return None

    def expand(self, boat: Boat) -> list[LoadCase]:
        """The cases that this one stands for on that boat; InputFault where it does not fit the boat."""
        del boat
        return [self]

    def all_loads(self) -> list[PlaceLoad]:
        """Everything that acts at places."""
        return [*self.loads(), *self.also]

    def all_lines(self) -> list[MemberLoad]:
        """Everything that acts along members."""
        return [*self.lines(), *self.line]

    def faults(self, places: Iterable[str], front: FrontEnd | None = None) -> list[InputFault]:
        """A fault for every place, and with a `front` for every member, that the boat does not have."""
        known = list(places)
        here = f"cases '{self.name}'"
        loads = self.all_loads()
        wrong = [unknown(here, "place", load.place, known) for load in loads if load.place not in known]
        if front is not None:
            members = list(front.frame.members)
            named = dict.fromkeys(load.member for load in self.all_lines())
            wrong += [unknown(here, "member", name, members) for name in named if name not in members]
        return wrong


class SettledCase(LoadCase):
    """A case as worked out for one boat from another; it has no kind, and so stands in no file.

    sentence          : its words
    placed, along     : loads at places and along members
    """

    sentence: str
    placed: list[PlaceLoad] = []
    along: list[MemberLoad] = []

    def loads(self) -> list[PlaceLoad]:
        """What was worked out."""
        return self.placed

    def lines(self) -> list[MemberLoad]:
        """What was worked out."""
        return self.along

    def words(self) -> str:
        """In one line."""
        return self.sentence


def at(place: str, force: Vector = NOTHING, moment: Vector = NOTHING) -> PlaceLoad:
    """A load at a place, N and N·m."""
    return PlaceLoad.model_construct(place=place, force=force, moment=moment)


def along(
    member: str, force: Vector, begin: float | None = None, end: float | None = None, arm: Vector = NOTHING
) -> MemberLoad:
    """A load along a member, N/m and m."""
    return MemberLoad.model_construct(member=member, force=force, begin=begin, end=end, arm=arm)


def settled(
    case: LoadCase,
    sentence: str,
    placed: Iterable[PlaceLoad] = (),
    lines: Iterable[MemberLoad] = (),
    name: str = "",
) -> SettledCase:
    """A case worked out from `case`, called after it and `name`; its `also` and `line` go with it."""
    return SettledCase.model_construct(
        name=f"{case.name}, {name}" if name else case.name, note=case.note, also=case.also, line=case.line,
        second_order=case.second_order,
        sentence=sentence, placed=list(placed), along=list(lines),
    )  # fmt: skip


def fault(wrong: str, cure: str) -> PydanticCustomError:
    """What a validator raises: a fault in words."""
    return PydanticCustomError("forebeam", "{wrong}; {cure}", {"wrong": wrong, "cure": cure})


def exactly_one(case: Table, *keys: str) -> str:
    """The one of these keys that is given; a fault where none is, or several are."""
    given = [key for key in keys if getattr(case, key) is not None]
    if len(given) != 1:
        wrong = f"has {' and '.join(given)}" if given else f"has none of {', '.join(keys)}"
        raise fault(wrong, f"give one of {', '.join(keys)}")
    return given[0]
