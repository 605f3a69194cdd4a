"""The loads of every case, parted by what scales them: the sea, the stay, a measured movement, all others."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from cases.input.boat_file import BoatFile
from cases.loads import LoadCase, PlaceLoad
from cases.loads.base import ExpandedCase

RIG_KINDS = frozenset({"rig", "tack", "gybe", "flogging", "sheet"})
"""Kinds of cases whose size is that of the stay's or a sheet's pull in service."""
BREAKING_KINDS = frozenset({"stay breaks", "stay let go"})


@dataclass(frozen=True, slots=True)
class LoadPart:
    """Loads that one input scales.

    case : the number of the case as it is run;   kind : the kind of input, empty where the case has a scatter of its own
    load : they, as a case
    """

    case: int
    kind: str
    load: LoadCase


def load_parts(file: BoatFile, own: frozenset[str] = frozenset()) -> tuple[LoadPart, ...]:
    """Of every case in its order; `own`: names of those of the file whose loads no kind of input scales."""
    found: list[LoadPart] = []
    number = 0
    for case in file.active_cases:
        for one in case.expand(file):
            found += [LoadPart(number, "" if case.name in own else kind, load) for kind, load in _parts(one)]
            number += 1
    return tuple(found)


def _parts(case: LoadCase) -> Iterator[tuple[str, LoadCase]]:
    """The case's own loads with what is scaled as they are, then the rest of `also` by what scales that."""
    kind = _kind(case)
    kinds = [_kind_beside(load, case.also) for load in case.also]
    rest = {other: None for other in kinds if other != kind}
    yield kind, case.model_copy(update={"also": _of(case.also, kinds, kind)}) if rest else case
    for other in rest:
        placed = _of(case.also, kinds, other)
        yield other, ExpandedCase(name=case.name, summary=other, placed=placed, scale=case.scale)


def _of(loads: list[PlaceLoad], kinds: list[str], wanted: str) -> list[PlaceLoad]:
    return [load for load, kind in zip(loads, kinds, strict=True) if kind == wanted]


def _kind(case: LoadCase) -> str:
    """What scales a case's own loads."""
    kind = getattr(case, "kind", "")
    if case.target() is not None:
        return "racking_by_movement"
    if kind == "waves":
        return "racking_by_wave"
    if "racking" in case.sea_loads():
        return "racking"
    if kind in BREAKING_KINDS:
        return "breaking_load"
    return "stay_tension" if kind in RIG_KINDS else "other_loads"


def _kind_beside(load: PlaceLoad, beside: list[PlaceLoad]) -> str:
    """What scales an added load: the stay's, a sea that lifts one hull and lowers the other, or none of these."""
    if load.place == "stay":
        return "stay_tension"
    other = load.place.replace("port", "\0").replace("starboard", "port").replace("\0", "starboard")
    opposed = any(one.place == other and one.force[2] * load.force[2] < 0 for one in beside)
    return "racking" if opposed and other != load.place else "other_loads"


__all__ = ["LoadPart", "load_parts"]
