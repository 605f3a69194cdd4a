"""How results are written as JSON: dataclasses as they are, arrays by the names of their axes, no number that JSON lacks.

A field of a dataclass is written under its own name, or its `serialization_alias`, unless it is `Unwritten`; what is derived is a
property made by `written`. `as_json` writes, and `schema_of` describes, by the same annotations.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from typing import Annotated, Any, Literal, NoReturn, Protocol, TypeVar, cast

from pydantic import ConfigDict, Field, GetCoreSchemaHandler, TypeAdapter, computed_field
from pydantic.json_schema import GenerateJsonSchema, JsonSchemaValue
from pydantic_core import CoreSchema, core_schema

from femcore.base.numbers import finite

T = TypeVar("T")
T_co = TypeVar("T_co", covariant=True)
Axis = tuple[str, ...] | int | None
"""Of an array: the names of its places, their number, or any number of them."""
WRITTEN = ConfigDict(ser_json_inf_nan="constants", json_schema_serialization_defaults_required=True)
"""`__pydantic_config__` of the outermost dataclass: an infinity is kept, so that `as_json` finds and refuses it."""


class AsWritten:
    """Takes any value; writes what `write` makes of it, which is of the type `shape`."""

    def __init__(self, write: Callable[[Any], Any] | None, shape: Any = None) -> None:  # noqa: ANN401  (any type)
        self.write, self.shape = write, shape

    def __get_pydantic_core_schema__(self, _: object, handler: GetCoreSchemaHandler) -> CoreSchema:
        if self.write is None:
            return core_schema.any_schema()
        return core_schema.any_schema(
            serialization=core_schema.plain_serializer_function_ser_schema(
                self.write, return_schema=handler.generate_schema(self.shape)
            )
        )


Unwritten = Annotated[T, AsWritten(None), Field(exclude=True)]
"""Not written."""
ByName = Annotated[T, AsWritten(lambda value: value.name, str)]
"""Something with a name, of which that is written."""
FiniteOrNull = Annotated[float, AsWritten(finite, float | None)]
"""Null where it is infinite or no number."""
Stiffness = Annotated[
    float, AsWritten(lambda k: "rigid" if math.isinf(k) else float(k), float | Literal["rigid"])
]
"""Of a spring: "rigid" where it is infinite."""


def named(*axes: Axis) -> AsWritten:
    """Annotation of an array of numbers: an object by name along an axis with names, else a list."""
    return AsWritten(lambda values: by_axes(values.tolist(), *axes), _shape(axes))


def _shape(axes: tuple[Axis, ...]) -> Any:  # noqa: ANN401  (a type)
    if not axes:
        return float
    inner = _shape(axes[1:])
    if isinstance(axes[0], tuple):
        return dict.__class_getitem__((str, inner))
    return list.__class_getitem__(inner) if axes[0] is None else tuple.__class_getitem__((inner,) * axes[0])


def by_axes(values: Any, *axes: Axis) -> Any:  # noqa: ANN401  (nested lists)
    """Nested lists as `named` writes them."""
    if not axes:
        return values
    inner = [by_axes(one, *axes[1:]) for one in values]
    if isinstance(axes[0], tuple):
        return dict(zip(axes[0], inner, strict=True))
    return inner if axes[0] is None else tuple(inner)


class WrittenProperty(Protocol[T_co]):
    """A property that is written."""

    def __get__(self, one: object, owner: type | None = None) -> T_co:
        """Its value."""


def _of_fields(schema: dict[str, Any]) -> None:
    """Properties are described as fields are."""
    schema.pop("readOnly", None)


def written(description: str, key: str | None = None) -> Callable[[Callable[[Any], T]], WrittenProperty[T]]:
    """A property of a dataclass that is written, under another `key` than its name where one is given."""

    def decorate(function: Callable[[Any], T]) -> WrittenProperty[T]:
        made = computed_field(alias=key, description=description, json_schema_extra=_of_fields)(
            property(function)
        )
        return cast("WrittenProperty[T]", made)

    return decorate


class _Closed(GenerateJsonSchema):
    """Dataclasses have the fields that are written and no others, and the first paragraph of their docstring."""

    def dataclass_schema(self, schema: core_schema.DataclassSchema) -> JsonSchemaValue:
        found = super().dataclass_schema(schema)
        words, _, _ = str(found.get("description", "")).partition("\n\n")
        return {**found, "description": words, "additionalProperties": False}


def as_json(result: Any) -> str:  # noqa: ANN401  (any dataclass)
    """A dataclass with the configuration `WRITTEN` as JSON; ValueError for an infinity where none is expected."""
    text = TypeAdapter(type(result)).dump_json(result, indent=1, by_alias=True).decode()
    json.loads(text, parse_constant=_refuse)
    return text


def plain_json(result: Any) -> str:  # noqa: ANN401  (nested dicts and lists)
    """Dicts and lists as JSON; null for an infinity and for NaN, which JSON does not have."""
    return json.dumps(_without_infinities(result), indent=1, allow_nan=False)


def _without_infinities(value: Any) -> Any:  # noqa: ANN401  (nested dicts and lists)
    if isinstance(value, dict):
        return {key: _without_infinities(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [_without_infinities(one) for one in value]
    return finite(value) if isinstance(value, float) else value


def schema_of(kind: type[Any]) -> dict[str, Any]:
    """The JSON Schema of what `as_json` writes of a dataclass."""
    return TypeAdapter(kind).json_schema(mode="serialization", schema_generator=_Closed)


def _refuse(constant: str) -> NoReturn:
    raise ValueError(f"a result is {constant}, where every number is finite")
