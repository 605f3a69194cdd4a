"""Kinds of a thing, a module each: every module of a package that defines one is found, and no list of them is kept.

Used for joints and load cases: a new kind is a new file with a class that has a `kind` of its own, and touches no other.
"""

from __future__ import annotations

import importlib
import pkgutil
from types import ModuleType
from typing import Annotated, Any, ClassVar, Literal, TypeVar, Union, get_args

from pydantic import BaseModel, Discriminator, GetJsonSchemaHandler, Tag
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema

from femcore.base.toml import Table

Kind = TypeVar("Kind", bound=BaseModel)


def find_kinds(package: ModuleType, base: type[Kind]) -> dict[str, type[Kind]]:
    """Every subclass of `base` with a ``kind: Literal["…"]`` in the modules of `package`, by that name, sorted."""
    for module in pkgutil.iter_modules(package.__path__):
        importlib.import_module(f"{package.__name__}.{module.name}")
    found: dict[str, type[Kind]] = {}
    pending = list(base.__subclasses__())
    while pending:
        kind = pending.pop()
        pending.extend(kind.__subclasses__())
        names = get_args(kind.model_fields["kind"].annotation) if "kind" in kind.model_fields else ()
        found.update(dict.fromkeys(names, kind))
    return dict(sorted(found.items()))


class KindTable(Table):
    """A table whose `kind` tells it apart: a file must give it, in Python the class says it."""

    kind_in_schema: ClassVar[Literal["required", "default"]] = "required"

    @classmethod
    def __get_pydantic_json_schema__(cls, core: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        """The kind is required, though the class has it as a default."""
        made = handler(core)
        schema = handler.resolve_ref_schema(made)
        if cls.kind_in_schema == "required" and "default" in schema["properties"].get("kind", {}):
            del schema["properties"]["kind"]["default"]
            required = {"kind", *schema.get("required", ())}
            schema["required"] = [key for key in schema["properties"] if key in required]
        return made


class _HashableDiscriminator(Discriminator):
    """A discriminator that may stand inside another choice: Python keeps choices by their hash, and this one holds words."""

    __hash__ = object.__hash__


def discriminated_union(kinds: dict[str, type[Kind]]) -> Any:  # noqa: ANN401  (a type, made at run time)
    """The pydantic field type "any of these kinds", distinguished by `kind`."""
    tagged = tuple(Annotated[kind, Tag(name)] for name, kind in kinds.items())
    known = ", ".join(kinds)
    discriminator = _HashableDiscriminator(
        lambda value: value.get("kind") if isinstance(value, dict) else getattr(value, "kind", None),
        custom_error_type="forebeam",
        custom_error_message="{wrong}; {cure}",
        custom_error_context={"wrong": "has no 'kind' that is known", "cure": f"give kind as one of {known}"},
    )
    return Annotated[Union[tagged], discriminator]  # noqa: UP007  (built from a tuple)
