"""Variants of a boat: the same file with keys set and tables left out, each a whole boat file of its own.

A key is written as TOML writes it, from the top of the file: ``martingale.EA``, ``joints."bonded socket".pitch``.
An entry of a list is named by its name, or by its number from 1 (``bows.stations.3.GJ``).
"""

from __future__ import annotations

import copy
import json
import re
import tomllib
from collections.abc import Mapping, Sequence
from typing import Annotated, Any

from pydantic import Field, model_validator

from femcore.base.errors import InputFault, fault
from femcore.base.toml import Table, unknown

BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
"""A step of a dotted key that needs no quotes (TOML 1.0, section Keys)."""
AS_ENTERED = "as entered"
"""The name of the boat itself beside its variants."""


class Variant(Table):
    """What differs from its file; keys are left out first, then set.

    set     : values by their keys, dotted or as nested tables; a table adds to the one that is there, and any other
              value, a list too, takes the place of what is there
    without : keys to leave out
    """

    name: Annotated[str, Field(min_length=1, max_length=100)]
    note: str = ""
    set: dict[str, Any] = {}
    without: list[str] = []

    @model_validator(mode="after")
    def _check_not_empty(self) -> Variant:
        if not (self.set or self.without):
            raise fault(
                "differs in nothing", 'give what to set or to leave out, such as without = ["longeron"]'
            )
        return self


def apply_variant(raw: dict[str, Any], variant: Variant) -> dict[str, Any]:
    """The file's tables as the variant has them, without variants; InputFault, with the key, where one leads nowhere."""
    tables = copy.deepcopy({key: value for key, value in raw.items() if key != "variants"})
    change_tables(tables, variant.set, variant.without)
    return tables


def change_tables(tables: dict[str, Any], values: dict[str, Any], without: Sequence[str]) -> None:
    """Leave out keys of a file's tables and set others, in place; InputFault as of `apply_variant`."""
    for key in without:
        try:
            _remove(tables, split_key(key), key)
        except InputFault as wrong:
            raise wrong.inside("without") from None
    try:
        _set(tables, values, ())
    except InputFault as wrong:
        raise wrong.inside("set") from None


def split_key(key: str) -> tuple[str, ...]:
    """The parts of a dotted key, as TOML reads it; of one that it would not read, the parts between the dots."""
    try:
        found: Any = tomllib.loads(f"{key} = 0")
    except tomllib.TOMLDecodeError:
        return tuple(part.strip() for part in key.split("."))
    steps = []
    while isinstance(found, dict):
        [(step, found)] = found.items()
        steps.append(step)
    return tuple(steps)


def key_step(name: str) -> str:
    """A name as a step of a dotted key, quoted where TOML asks for it."""
    return name if BARE_KEY.fullmatch(name) else json.dumps(name, ensure_ascii=False)


def value_at(tables: Mapping[str, Any], key: str) -> Any:  # noqa: ANN401  (values of any key)
    """What is at a key, entries of a list by their name or number; InputFault where it leads nowhere."""
    here: Any = tables
    for step in split_key(key):
        here = here[_index(here, step, key)]
    return here


def _remove(tables: dict[str, Any], steps: Sequence[str], key: str) -> None:
    here: Any = tables
    for step in steps[:-1]:
        here = here[_index(here, step, key)]
    last = _index(here, steps[-1], key)
    here.pop(last)


def _index(here: object, step: str, key: str) -> Any:  # noqa: ANN401  (a key or a number)
    """Where a step leads in a table or list; InputFault where it leads nowhere."""
    if isinstance(here, dict):
        if step in here:
            return step
        raise unknown("", "key", step, here).inside(f"'{key}'")
    if isinstance(here, list):
        if (number := _entry_index(here, step)) is not None:
            return number
        raise unknown("", "entry", step, _entry_names(here)).inside(f"'{key}'")
    raise InputFault(
        f"'{key}'", f"there is nothing below a single value, so no '{step}'", "give a key of a table"
    )


def _entry_index(entries: list[Any], step: str) -> int | None:
    """The number of a list's entry by its name, or else by its number from 1."""
    for number, entry in enumerate(entries):
        if isinstance(entry, dict) and entry.get("name") == step:
            return number
    return int(step) - 1 if step.isdecimal() and 1 <= int(step) <= len(entries) else None


def _entry_names(entries: list[Any]) -> list[str]:
    named = [
        entry["name"] for entry in entries if isinstance(entry, dict) and isinstance(entry.get("name"), str)
    ]
    return named or [str(number + 1) for number in range(len(entries))]


def _set(here: dict[str, Any] | list[Any], values: dict[str, Any], above: tuple[str, ...]) -> None:
    """Set values in a table or list, going down where both are tables."""
    for key, value in values.items():
        steps = (key,) if _has_key(here, key) else split_key(key)
        _set_one(here, steps, value, (*above, *steps))


def _has_key(here: dict[str, Any] | list[Any], key: str) -> bool:
    return key in here if isinstance(here, dict) else _entry_index(here, key) is not None


def _set_one(here: Any, steps: Sequence[str], value: object, path: tuple[str, ...]) -> None:  # noqa: ANN401
    for step in steps[:-1]:
        here = _descend(here, step, path)
    last = steps[-1]
    if isinstance(value, dict):
        if isinstance(here, list) and _entry_index(here, last) is None and "kind" in value:
            here.append({"name": last} | value)
        else:
            _set(_descend(here, last, path), value, path)
    elif isinstance(here, dict):
        here[last] = value
    else:
        here[_index(here, last, ".".join(path))] = value


def _descend(here: Any, step: str, path: tuple[str, ...]) -> Any:  # noqa: ANN401  (a table or list)
    """The table or list at a step, made where a table has none yet."""
    if isinstance(here, dict) and step not in here:
        here[step] = {}
    found = here[_index(here, step, ".".join(path))]
    if not isinstance(found, dict | list):
        raise InputFault(f"'{'.'.join(path)}'", f"'{step}' is a single value, not a table", "give it a value")
    return found
