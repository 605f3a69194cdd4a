"""Data files in which every value says where it comes from.

A file is TOML: a table ``[sources]`` of short names and full references, then one table per entry. A value is
``{ value = "72.4 GPa", source = "hyer", seen = "text" }``: text with its unit (a bare number where it has no
dimension), the short name of its source, and how it is known:

- ``text``: read in a text by whoever entered it;
- ``quoted``: read where another text repeats the source's value;
- ``memory``: remembered, not read: typical, to be replaced by a tested or certified value;
- ``derived``: worked from other values, as the source says.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import MISSING, Field, dataclass, field, fields
from functools import cache
from importlib import resources
from typing import Any, Literal, TypeVar

from pydantic import BaseModel, ConfigDict, ValidationError
from pydantic import Field as Checked

from femcore.base.errors import InputFault
from femcore.base.units import si

Seen = Literal["text", "quoted", "memory", "derived"]


@dataclass(frozen=True)
class Provenance:
    """Where one value comes from: the text as entered, its full source, and how it is known."""

    text: str
    source: str
    seen: Seen


@dataclass(frozen=True, kw_only=True)
class Record:
    """An entry of a data file: `name` is its key, `title` its words, `provenance` says where each value comes
    from.
    """

    name: str
    title: str = ""
    remark: str = ""
    provenance: Mapping[str, Provenance] = field(default_factory=dict, compare=False, repr=False)

    @property
    def from_memory(self) -> tuple[str, ...]:
        """The fields whose value was remembered, not read."""
        return tuple(sorted(key for key, origin in self.provenance.items() if origin.seen == "memory"))


AnyRecord = TypeVar("AnyRecord", bound=Record)


def quantity(unit: str, *, default: Any = MISSING) -> Any:  # noqa: ANN401  (as dataclasses.field)
    """A dataclass field that a data file fills: SI `unit`, or "" for a number without dimension."""
    if default is MISSING:
        return field(metadata={"unit": unit})
    return field(default=default, metadata={"unit": unit})


class _Value(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)
    value: str | float
    source: str
    seen: Seen


class _Entry(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)
    title: str
    remark: str = ""
    values: dict[str, _Value]


class _File(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)
    sources: dict[str, str] = Checked(min_length=1)
    entries: dict[str, _Entry] = Checked(min_length=1)


def read_records(kind: type[AnyRecord], text: str, place: str) -> dict[str, AnyRecord]:
    """Every entry of a data file's `text` as a record of `kind`; faults name `place`, entry, field."""
    try:
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError as trouble:
        raise InputFault(place, f"this is not TOML ({trouble})", "correct it at that line") from None
    entries = {name: _split(table) for name, table in raw.items() if name != "sources"}
    try:
        file = _File.model_validate({"sources": raw.get("sources", {}), "entries": entries})
    except ValidationError as trouble:
        first = trouble.errors()[0]
        where = ".".join(str(part) for part in first["loc"] if part != "values")
        cure = "see the head of femcore/materials/records.py for what an entry holds"
        raise InputFault(f"{place}: {where}", first["msg"], cure) from None
    return {name: _record(kind, name, entry, file.sources, place) for name, entry in file.entries.items()}


def _split(table: object) -> object:
    if not isinstance(table, dict):
        return table
    words = {key: value for key, value in table.items() if key in {"title", "remark"}}
    return words | {"values": {key: value for key, value in table.items() if key not in words}}


def _record(
    kind: type[AnyRecord], name: str, entry: _Entry, sources: Mapping[str, str], place: str
) -> AnyRecord:
    wanted = {item.name: item for item in fields(kind) if "unit" in item.metadata}
    _check_names(entry, wanted, sources, f"{place}: {name}")
    numbers = {
        key: _number(given.value, str(wanted[key].metadata["unit"]), f"{place}: {name}.{key}")
        for key, given in entry.values.items()
    }
    provenance = {
        key: Provenance(str(given.value), sources[given.source], given.seen)
        for key, given in entry.values.items()
    }
    return kind(name=name, title=entry.title, remark=entry.remark, provenance=provenance, **numbers)


def _check_names(
    entry: _Entry, wanted: Mapping[str, Field[Any]], sources: Mapping[str, str], place: str
) -> None:
    for key, given in entry.values.items():
        if key not in wanted:
            raise InputFault(f"{place}.{key}", "no such property", f"use one of {', '.join(sorted(wanted))}")
        if given.source not in sources:
            cure = f"use one of {', '.join(sorted(sources))}, or add it under [sources]"
            raise InputFault(f"{place}.{key}", f"source '{given.source}' is not listed", cure)
    missing = [key for key, item in wanted.items() if item.default is MISSING and key not in entry.values]
    if missing:
        raise InputFault(place, f"{', '.join(missing)} left out", "give it with value, source and seen")


def _number(value: str | float, unit: str, place: str) -> float:
    if unit:
        return si(value, unit, place)
    if isinstance(value, str):
        raise InputFault(
            place, f"'{value}' is text where a bare number is needed", "write it without quotes or unit"
        )
    return float(value)


@cache
def shipped(kind: type[AnyRecord], file: str) -> Mapping[str, AnyRecord]:
    """The records of a data file beside this module, read once."""
    text = resources.files(__package__).joinpath("data", file).read_text(encoding="utf-8")
    return read_records(kind, text, file)
