"""The shipped materials by name; each look-up says what there is when the name is not known."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TypeVar

from femcore.base.errors import InputFault, nearest
from femcore.materials.cloth import Cloth, Process
from femcore.materials.constituents import Fibre, Resin
from femcore.materials.lamina import KnockDown, Lamina
from femcore.materials.records import Record, shipped
from femcore.materials.solids import BoltClass, Core, Line, Metal

AnyRecord = TypeVar("AnyRecord", bound=Record)


def fibres() -> Mapping[str, Fibre]:
    """Fibres by name."""
    return shipped(Fibre, "fibres.toml")


def resins() -> Mapping[str, Resin]:
    """Resins by name."""
    return shipped(Resin, "resins.toml")


def cloths() -> Mapping[str, Cloth]:
    """Kinds of cloth by name."""
    return shipped(Cloth, "cloths.toml")


def processes() -> Mapping[str, Process]:
    """Ways to laminate by name."""
    return shipped(Process, "processes.toml")


def cores() -> Mapping[str, Core]:
    """Sandwich cores by name."""
    return shipped(Core, "cores.toml")


def metals() -> Mapping[str, Metal]:
    """Alloys and steels by name."""
    return shipped(Metal, "metals.toml")


def bolt_classes() -> Mapping[str, BoltClass]:
    """Property classes of bolts by name."""
    return shipped(BoltClass, "bolts.toml")


def lines() -> Mapping[str, Line]:
    """Wire and rod by name."""
    return shipped(Line, "lines.toml")


def layers() -> Mapping[str, Lamina]:
    """Layers that are not computed: published unidirectional data and marine plywood."""
    return {**shipped(Lamina, "published.toml"), **shipped(Lamina, "boards.toml")}


def knockdowns() -> Mapping[str, KnockDown]:
    """Reasons to count on less than the dry, new, static strength."""
    return shipped(KnockDown, "knockdowns.toml")


def pick(known: Mapping[str, AnyRecord], name: str, what: str, place: str = "") -> AnyRecord:
    """The record called `name`, or an InputFault that says which names there are."""
    try:
        return known[name]
    except KeyError:
        close = nearest(name, known)
        hint = f"did you mean '{close}'? " if close else ""
        raise InputFault(
            place or what, f"no {what} is called '{name}'", f"{hint}use one of {', '.join(sorted(known))}"
        ) from None


def values_from_memory(records: Iterable[Record]) -> tuple[str, ...]:
    """``name.field`` of every value that was remembered, not read: what a report has to own up to."""
    return tuple(sorted({f"{record.name}.{key}" for record in records for key in record.from_memory}))
