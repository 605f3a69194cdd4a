"""A TOML file becomes a checked description, or every fault in it at once, each with file, key and cure."""

from __future__ import annotations

import copy
import re
import stat
import tomllib
import unicodedata
from abc import abstractmethod
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache, lru_cache
from pathlib import Path
from types import UnionType
from typing import Annotated, Any, TypeVar, Union, cast, get_args, get_origin

from pydantic import BaseModel, ConfigDict, GetCoreSchemaHandler, ValidationError
from pydantic._internal._model_construction import ModelMetaclass  # pydantic has no public name for it
from pydantic_core import CoreSchema, ErrorDetails, core_schema

from femcore.base.errors import (
    CONSEQUENT,
    ConsequentFault,
    InputFault,
    InputFaults,
    duplicates,
    fault,
    nearest,
    unknown,
)
from femcore.base.units import FileContext

MAX_VALIDATION_ROUNDS = 8
NAMED = 2
"""Depth of an entry of a table of named tables, such as materials.steel."""
MAX_FILE_SIZE = 2 * 1024 * 1024
"""Bytes; a larger file is not one somebody wrote."""
MAX_DEPTH, MAX_ENTRIES = 16, 200_000
"""Of tables and lists within one another, and of values in a file."""
MAX_SHOWN_KEYS = 12
"""That a fault of an unknown key offers."""
_LONG_KEY = re.compile(r"""(?<![\w"'.-])(?:(?:[\w-]++|"[^"\n]*+"|'[^'\n]*+')[ \t]*+\.[ \t]*+){32}""")
"""A key of more than 32 parts, over which the parser takes the square of their number."""
_DIGITS = re.compile(r"(?<!\w)[+-]?[\d_]{400,}")
"""A whole number that no float can hold."""
_KEPT_CONTROLS = frozenset("\n\t\r")


class _ClearFaults(ModelMetaclass):
    """A faulty table made in Python raises InputFaults as a file does, the class's name in place of the file's.

    A metaclass, since an `__init__` of its own would make pydantic lose the context of nested tables.
    """

    def __call__(cls, *args: Any, **keys: Any) -> Any:  # noqa: ANN401, N805  (a metaclass: its instance is a class)
        try:
            return super().__call__(*args, **keys)
        except ValidationError as trouble:
            model = cast("type[BaseModel]", cls)
            raise InputFaults(_fault(cls.__name__, keys, model, one) for one in trouble.errors()) from None


class Table(BaseModel, metaclass=_ClearFaults):
    """A table of an input file: frozen, and a key it does not know is a fault."""

    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=True, defer_build=True)

    @classmethod
    def __pydantic_init_subclass__(cls, **keys: Any) -> None:  # noqa: ANN401  (as of its base)
        """Fields of plain kinds take values of these alone; all others say themselves what they take."""
        super().__pydantic_init_subclass__(**keys)
        for field in cls.model_fields.values():
            kinds = [one for one in _kinds(field.annotation, tuple(field.metadata)) if one is not type(None)]
            # by identity: an annotation may hold what has no hash
            if kinds and all(any(one is plain for plain in (bool, int, float)) for one in kinds):
                field.metadata.append(_OfItsKind(flag=bool in kinds, number=int in kinds or float in kinds))


@dataclass(frozen=True)
class _OfItsKind:
    """Makes a pydantic field that takes no text or number for true or false, and neither of these two, nor text, for a number."""

    flag: bool
    number: bool

    def check(self, value: object) -> object:
        """The value, unless it is a bare one of another kind."""
        if not isinstance(value, str | bool | int | float):
            return value
        if self.flag and not self.number and not isinstance(value, bool):
            raise fault(
                f"{value!r:.60} is neither true nor false", "write true or false, without quotation marks"
            )
        if self.number and not self.flag and isinstance(value, bool | str):
            cure = "write the number, without quotation marks"
            raise fault(
                f"{str(value).lower() if isinstance(value, bool) else repr(value):.60} is no number", cure
            )
        return value

    def __get_pydantic_core_schema__(self, source: object, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_before_validator_function(self.check, handler(source))


def _kinds(annotation: Any, metadata: tuple[Any, ...] = ()) -> Iterator[Any]:  # noqa: ANN401  (any type)
    if any(hasattr(one, "__get_pydantic_core_schema__") for one in metadata):
        yield object  # it reads its values itself
    elif get_origin(annotation) is Annotated:
        inner, *more = get_args(annotation)
        yield from _kinds(inner, tuple(more))
    elif get_origin(annotation) in (Union, UnionType):
        for one in get_args(annotation):
            yield from _kinds(one)
    else:
        yield annotation


Model = TypeVar("Model", bound=BaseModel)


def read_toml(path: str | Path) -> dict[str, Any]:
    """The file as nested dicts; InputFault where it cannot be read or is not TOML."""
    file, described = Path(path), "give the file that describes the structure"
    try:
        found = file.stat()
        if not stat.S_ISREG(found.st_mode) and not stat.S_ISDIR(found.st_mode):
            raise InputFault(str(path), "is no ordinary file", described)
        if found.st_size > MAX_FILE_SIZE:
            wrong = f"is larger than {MAX_FILE_SIZE / 2**20:g} MiB"
            raise InputFault(str(path), wrong, described)
        text = file.read_text(
            encoding="utf-8-sig"
        )  # with or without the mark that Windows begins a file with
        return parsed_toml(text, str(path))
    except FileNotFoundError:
        raise InputFault(str(path), "does not exist", "check the name of the file") from None
    except OSError as trouble:
        raise InputFault(str(path), f"cannot be read ({trouble.strerror})", "give a readable file") from None
    except UnicodeDecodeError:
        raise InputFault(str(path), "is not UTF-8 text", "save it as UTF-8") from None


def parsed_toml(text: str, place: str) -> dict[str, Any]:
    """TOML as nested dicts; InputFault where it is none, or none that somebody wrote."""
    if _LONG_KEY.search(text):
        raise InputFault(place, "has a key of more than 32 parts", "write tables within tables, [a.b]")
    if found := _DIGITS.search(text):
        line = text.count("\n", 0, found.start()) + 1
        raise InputFault(place, f"line {line} has a number of {len(found[0])} digits", "round it")
    try:
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError as trouble:
        raise InputFault(place, f"is not sound TOML: {trouble}", "correct the line it names") from None
    except RecursionError:
        raise InputFault(place, "is nested too deeply", f"use at most {MAX_DEPTH} levels") from None
    except ValueError as trouble:  # a date or number beyond what Python holds
        raise InputFault(place, f"is not sound TOML: {trouble}", "correct that value") from None
    require_plain(raw, place)
    return raw


def require_plain(raw: dict[str, Any], place: str) -> None:
    """InputFault where a file is deeper or longer than a description is, or holds signs that steer a screen and show nothing."""
    level: list[Any] = [raw]
    count = 0
    for _ in range(MAX_DEPTH):
        texts = [key for one in level if isinstance(one, dict) for key in one]
        values = [v for one in level for v in (one.values() if isinstance(one, dict) else one)]
        texts += [value for value in values if isinstance(value, str)]
        count += len(values)
        if count > MAX_ENTRIES:
            raise InputFault(place, f"has more than {MAX_ENTRIES:,} values", "give the structure alone")
        for text in texts:
            if not text.isprintable() and (sign := next(filter(_steers, text), None)):
                wrong = f"'{text:.40}' holds the control character U+{ord(sign):04X}"
                raise InputFault(place, wrong, "take it out")
        level = [value for value in values if isinstance(value, dict | list)]
        if not level:
            return
    raise InputFault(place, "is nested too deeply", f"use at most {MAX_DEPTH} levels")


def _steers(sign: str) -> bool:
    return unicodedata.category(sign) in ("Cc", "Cs", "Cf") and sign not in _KEPT_CONTROLS


class Document(Table):
    """A whole file: a table that can also say what its tables get wrong of one another."""

    @classmethod
    def context(cls, raw: dict[str, Any]) -> FileContext:  # noqa: ARG003  (whole files with more to know use it)
        """What the validators of its tables need of the whole file."""
        return FileContext()

    @abstractmethod
    def faults(self) -> Iterable[InputFault]:
        """Everything that the tables say of one another and that does not hold."""


Whole = TypeVar("Whole", bound=Document)


def read_document(path: str | Path, model: type[Model]) -> Model:
    """The file as a checked `model`; InputFaults with every fault of its tables."""
    return _validated(read_toml(path), model, str(path), FileContext())


def _validated(
    raw: dict[str, Any],
    model: type[Model],
    place: str,
    context: FileContext,
    reused: Mapping[str, Any] | None = None,
) -> Model:
    try:
        return model.model_validate({**raw, **(reused or {})}, context=context)
    except ValidationError as trouble:
        raise InputFaults(_fault(place, raw, model, error) for error in trouble.errors()) from None


def read_checked(path: str | Path, model: type[Whole]) -> Whole:
    """The file as a checked `model` whose tables agree; InputFaults with every fault, of tables and between them, at once."""
    return checked(read_toml(path), model, str(path))


def checked(
    raw: dict[str, Any],
    model: type[Whole],
    place: str,
    context: FileContext | None = None,
    reused: Mapping[str, Any] | None = None,
) -> Whole:
    """Nested dicts as a checked `model` whose tables agree; InputFaults, each inside `place`, with every fault at once.

    context : left out, the model's own;   reused : values of keys in place of the raw ones, where those are validated already
    """
    try:
        document = _validated(raw, model, place, context or model.context(raw), reused)
    except InputFaults as trouble:
        between = _between_sound_tables(raw, model)
        every = [*trouble.faults, *(fault.inside(place) for fault in between)]
        own = [fault for fault in every if not isinstance(fault, ConsequentFault)]
        raise InputFaults(own or every) from None
    collect(place, document.faults())
    return document


def _between_sound_tables(raw: dict[str, Any], model: type[Whole]) -> list[InputFault]:
    """What the tables that can be read get wrong of one another, the others left out; nothing that names one of these."""
    sound, gone = copy.deepcopy(raw), set[str]()
    for _ in range(MAX_VALIDATION_ROUNDS):
        try:
            found = model.model_validate(sound, context=model.context(sound)).faults()
            named = re.compile("|".join(rf"\b{re.escape(name)}\b" for name in gone))
            return [fault for fault in found if not named.search(str(fault))]
        except ValidationError as trouble:
            # from the last to the first, so that numbers in lists stay right
            places = {_faulty_part(sound, error["loc"], error["type"]) for error in trouble.errors()}
            for place in sorted(places, key=lambda loc: [str(step).rjust(8) for step in loc], reverse=True):
                if len(place) < NAMED:
                    return []  # a whole table is at fault: what others say of it cannot be judged
                gone |= _without(sound, place)
    return []


def _faulty_part(raw: dict[str, Any], loc: tuple[int | str, ...], kind: str) -> tuple[int | str, ...]:
    """The least part to leave out: a key that is not known, else the entry of a list or named table that holds the fault."""
    path: list[int | str] = []
    here: Any = raw
    for step in loc:
        inside = isinstance(here, list) and isinstance(step, int) and step < len(here)
        if inside or (isinstance(here, dict) and step in here):
            path.append(step)
            here = here[step]
    if kind == "extra_forbidden":
        return tuple(path)
    entries = [depth for depth, step in enumerate(path, 1) if isinstance(step, int) or depth == NAMED]
    return tuple(path[: entries[-1]] if entries else path[:1])


def _without(raw: dict[str, Any], place: tuple[int | str, ...]) -> set[str]:
    """Leave out the value at a place; return the names that went with it."""
    here: Any = raw
    for step in place[:-1]:
        here = here[step]
    last = place[-1]
    lost = here.pop(last, None) if isinstance(here, dict) else here.pop(int(last))
    return {str(lost["name"])} if isinstance(lost, dict) and "name" in lost else {str(last)}


def collect(place: str, faults: Iterable[InputFault]) -> None:
    """Raise InputFaults, each inside `place`, if there are any."""
    found = [fault.inside(place) for fault in faults]
    if found:
        raise InputFaults(found)


def _fault(path: str, raw: object, model: type[BaseModel], error: ErrorDetails) -> InputFault:
    place, last = _place(raw, error["loc"], missing=error["type"] == "missing")
    where = ": ".join([path, *([place] if place else [])])
    kind, context = error["type"], error.get("ctx", {})
    if "cure" in context:
        made = ConsequentFault if kind == CONSEQUENT else InputFault
        return made(where, str(context["wrong"]), str(context["cure"]))
    if kind == "too_short" or (kind == "missing" and isinstance(error["loc"][-1], int)):
        least = context.get("min_length", "as many as are needed")
        return InputFault(where, "has too few entries", f"give {'at least ' if context else ''}{least}")
    if kind == "missing":
        return InputFault(where, f"'{last}' is missing", f"add {last} = …")
    if kind == "extra_forbidden":
        return InputFault(where, *_extra_key(raw, model, error["loc"][:-1], last))
    if kind in ("union_tag_not_found", "union_tag_invalid"):
        tag = str(context.get("discriminator", "kind")).strip("'")
        allowed = context.get("expected_tags")
        cure = f"give {tag} one of {allowed}" if allowed else f"say which {tag} it is"
        return InputFault(where, f"has no known '{tag}'", cure)
    return InputFault(where, f"{_shown(error['input'])}: {error['msg'].lower()}", "correct the value")


def _extra_key(raw: object, model: type[BaseModel], loc: tuple[int | str, ...], key: str) -> tuple[str, str]:
    """What is wrong with a key that a table does not know, and its cure: it may belong to the table in another of its forms."""
    tables, others = _tables(model, loc)
    own = [table for table in tables if key not in table.get("properties", {})]
    others += [table for table in tables if table not in own]
    keys = _keys_of(own)
    near = nearest(key, keys)
    forms = [table for table in others if key in table.get("properties", {})]
    if near is None and forms:
        kinds = list(dict.fromkeys(kind for table in forms for kind in _kind_names(table)))
        mine = [kind for table in own for kind in _kind_names(table)]
        if kinds and mine:
            cure = f"take it out, or give kind = {' or '.join(map(repr, kinds))}"
            return f"key '{key}' does not belong to kind '{mine[0]}'", cure
        elsewhere = _keys_of(forms)
        given = _at(raw, loc)
        if rivals := [one for one in keys if one in given and one not in elsewhere]:
            return f"key '{key}' does not belong beside '{rivals[0]}'", "take one of the two out"
    few = ", ".join(keys[:MAX_SHOWN_KEYS]) + (" …" if len(keys) > MAX_SHOWN_KEYS else "")
    cure = f"did you mean '{near}'?" if near else f"take it out, or use one of {few}"
    return f"key '{key}' is not known here", cure


def _at(raw: object, loc: tuple[int | str, ...]) -> dict[str, Any]:
    """The table of a file at a place, steps that name alternatives passed over; empty where there is none."""
    here: Any = raw
    for step in loc:
        if isinstance(here, dict):
            here = here.get(step, here)
        elif isinstance(here, list) and isinstance(step, int):
            here = here[step]
    return here if isinstance(here, dict) else {}


def _shown(value: object) -> str:
    text = repr(value)
    return text if len(text) <= 60 else text[:57] + "…"


def _place(raw: object, loc: tuple[int | str, ...], *, missing: bool) -> tuple[str, str]:
    """Where an error is, in the file's own keys (pydantic's path also holds names of alternatives)."""
    words: list[str] = []
    here = raw
    for step in loc:
        if isinstance(step, int):
            here = here[step] if isinstance(here, list) and step < len(here) else None
            name = here.get("name") if isinstance(here, dict) else None
            words[-1:] = [f"{words[-1] if words else ''}[{step + 1}]" + (f" '{name}'" if name else "")]
        elif isinstance(here, dict) and (step in here or (missing and step == loc[-1])):
            here = here.get(step)
            words.append(step)
    last = str(loc[-1]) if loc else ""
    return ": ".join(words), last


@cache
def _schema(model: type[BaseModel]) -> dict[str, Any]:
    return model.model_json_schema()


@lru_cache(maxsize=256)
def _tables(
    model: type[BaseModel], loc: tuple[int | str, ...]
) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    """The schemas of the table at `loc`, and those of the other forms that a table there may have."""
    schema = _schema(model)
    tables, others = _alternatives(schema, schema), list[dict[str, Any]]()
    for step in loc:
        inner = [found for table in tables for found in _inside(table, step)]
        # a step that leads nowhere is pydantic's name of an alternative, recognised by a key that has no other meaning
        named = [table for table in tables if _is_kind(table, step)]
        if inner:
            tables, others = [choice for found in inner for choice in _alternatives(schema, found)], []
        elif named:
            others = [*others, *(table for table in tables if table not in named)]
            tables = named
    return tables, others


def _keys_of(tables: Iterable[dict[str, Any]]) -> list[str]:
    return list(dict.fromkeys(key for table in tables for key in table.get("properties", {})))


def _kind_names(table: dict[str, Any]) -> list[str]:
    """The names of the kind that a table says it is of; none for one that has no kind."""
    kind = table.get("properties", {}).get("kind", {})
    return [str(name) for name in ([kind["const"]] if "const" in kind else kind.get("enum", ()))]


def _is_kind(table: dict[str, Any], name: int | str) -> bool:
    """Whether one of a table's keys is there to say that it is of the kind of that name."""
    keys = table.get("properties", {}).values()
    return name in _kind_names(table) or any(
        name in [key.get("const"), *key.get("enum", ())] and "default" not in key for key in keys
    )


def _inside(table: dict[str, Any], step: int | str) -> list[dict[str, Any]]:
    """Schemas of the values at a step inside a table or list."""
    found = table.get("items") if isinstance(step, int) else table.get("properties", {}).get(step)
    found = table.get("additionalProperties") if found is None else found
    return [found] if isinstance(found, dict) else []


def _alternatives(schema: dict[str, Any], given: dict[str, Any]) -> list[dict[str, Any]]:
    """A schema with its references and alternatives laid open."""
    if "$ref" in given:
        return _alternatives(schema, schema["$defs"][given["$ref"].rpartition("/")[2]])
    choices = given.get("anyOf") or given.get("oneOf")
    return [each for choice in choices for each in _alternatives(schema, choice)] if choices else [given]


__all__ = [
    "Document",
    "Table",
    "checked",
    "collect",
    "duplicates",
    "parsed_toml",
    "read_checked",
    "read_document",
    "read_toml",
    "unknown",
]
