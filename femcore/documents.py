"""A TOML file becomes a checked description, or every fault in it at once, each with file, key and cure."""

from __future__ import annotations

import difflib
import tomllib
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ConfigDict, ValidationError
from pydantic_core import ErrorDetails

from femcore.errors import InputFault, InputFaults

LARGEST = 64 * 1024 * 1024
"""Bytes; a larger file is not one somebody wrote."""


class Table(BaseModel):
    """A table of an input file: frozen, and a key it does not know is a fault."""

    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=True)


Model = TypeVar("Model", bound=BaseModel)


def read_toml(path: str | Path) -> dict[str, Any]:
    """The file as nested dicts; InputFault where it cannot be read or is not TOML."""
    file = Path(path)
    try:
        if file.stat().st_size > LARGEST:
            raise InputFault(str(path), "is larger than 64 MiB", "give the file that describes the structure")
        return tomllib.loads(file.read_text(encoding="utf-8"))
    except FileNotFoundError:
        raise InputFault(str(path), "does not exist", "check the name of the file") from None
    except OSError as trouble:
        raise InputFault(str(path), f"cannot be read ({trouble.strerror})", "give a readable file") from None
    except UnicodeDecodeError:
        raise InputFault(str(path), "is not UTF-8 text", "save it as UTF-8") from None
    except tomllib.TOMLDecodeError as trouble:
        raise InputFault(str(path), f"is not sound TOML: {trouble}", "mend the line it names") from None


def read_document(path: str | Path, model: type[Model]) -> Model:
    """The file as a checked `model`; InputFaults with every fault of it."""
    raw = read_toml(path)
    try:
        return model.model_validate(raw)
    except ValidationError as trouble:
        raise InputFaults(_fault(str(path), raw, model, error) for error in trouble.errors()) from None


def collect(place: str, faults: Iterable[InputFault]) -> None:
    """Raise InputFaults, each inside `place`, if there are any."""
    found = [fault.inside(place) for fault in faults]
    if found:
        raise InputFaults(found)


def duplicates(what: str, names: Sequence[str]) -> list[InputFault]:
    """A fault for every name that stands more than once."""
    again = dict.fromkeys(name for i, name in enumerate(names) if name in names[:i])
    return [InputFault(f"{what} '{name}'", "is there twice", "give each a name of its own") for name in again]


def unknown(place: str, what: str, name: str, known: Iterable[str]) -> InputFault:
    """A fault for a name that does not exist, with the nearest that do."""
    names = list(known)
    near = difflib.get_close_matches(name, names, 1)
    few = ", ".join(f"'{n}'" for n in names[:8]) + (" …" if len(names) > 8 else "")
    cure = f"did you mean '{near[0]}'?" if near else (f"name one of {few}" if names else f"add a {what} first")
    return InputFault(place, f"{what} '{name}' does not exist", cure)


def _fault(path: str, raw: object, model: type[BaseModel], error: ErrorDetails) -> InputFault:
    place, last = _place(raw, error["loc"])
    where = ": ".join([path, *([place] if place else [])])
    kind, context = error["type"], error.get("ctx", {})
    if "cure" in context:
        return InputFault(where, str(context["wrong"]), str(context["cure"]))
    if kind == "missing" and isinstance(error["loc"][-1], int):
        return InputFault(where, "has too few entries", "give as many as are needed")
    if kind == "missing":
        return InputFault(where, f"'{last}' is missing", f"add {last} = …")
    if kind == "extra_forbidden":
        keys = _keys(model, error["loc"][:-1])
        near = difflib.get_close_matches(last, keys, 1)
        cure = f"did you mean '{near[0]}'?" if near else f"take it out, or use one of {', '.join(keys)}"
        return InputFault(where, f"key '{last}' is not known here", cure)
    if kind in ("union_tag_not_found", "union_tag_invalid"):
        tag = str(context.get("discriminator", "kind")).strip("'")
        allowed = context.get("expected_tags")
        cure = f"give {tag} one of {allowed}" if allowed else f"say which {tag} it is"
        return InputFault(where, f"has no known '{tag}'", cure)
    return InputFault(where, f"{_shown(error['input'])}: {error['msg'].lower()}", "mend the value")


def _shown(value: object) -> str:
    text = repr(value)
    return text if len(text) <= 60 else text[:57] + "…"


def _place(raw: object, loc: tuple[int | str, ...]) -> tuple[str, str]:
    """Where an error is, in the file's own keys (pydantic's path also holds names of alternatives)."""
    words: list[str] = []
    here = raw
    for step in loc:
        if isinstance(step, int):
            here = here[step] if isinstance(here, list) and step < len(here) else None
            name = here.get("name") if isinstance(here, dict) else None
            words[-1:] = [f"{words[-1] if words else ''}[{step + 1}]" + (f" '{name}'" if name else "")]
        elif isinstance(here, dict) and (step in here or step == loc[-1]):
            here = here.get(step)
            words.append(step)
    last = str(loc[-1]) if loc else ""
    return ": ".join(words), last


def _keys(model: type[BaseModel], loc: tuple[int | str, ...]) -> list[str]:
    """The keys that the table at `loc` knows."""
    schema = model.model_json_schema()
    tables = _alternatives(schema, schema)
    for step in loc:
        inner = [found for table in tables for found in _inside(table, step)]
        # a step that leads nowhere is pydantic's name of an alternative
        tables = [choice for found in inner for choice in _alternatives(schema, found)] or tables
    return list(dict.fromkeys(key for table in tables for key in table.get("properties", {})))


def _inside(table: dict[str, Any], step: int | str) -> list[dict[str, Any]]:
    """Schemas of what stands at a step inside a table or list."""
    found = table.get("items") if isinstance(step, int) else table.get("properties", {}).get(step)
    found = table.get("additionalProperties") if found is None else found
    return [found] if isinstance(found, dict) else []


def _alternatives(schema: dict[str, Any], given: dict[str, Any]) -> list[dict[str, Any]]:
    """A schema with its references and alternatives laid open."""
    if "$ref" in given:
        return _alternatives(schema, schema["$defs"][given["$ref"].rpartition("/")[2]])
    choices = given.get("anyOf") or given.get("oneOf")
    return [each for choice in choices for each in _alternatives(schema, choice)] if choices else [given]
