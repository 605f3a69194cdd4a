"""What the tables of a boat file need of the whole file while they are validated: its materials and laminates, built once.

The reader makes a `BoatContext` of the file's material tables first and passes it as the validation context. Tables of another
form than the boat's own objects (a beam by its section, bows by their outline) are built of it, each in one step.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import Any, Protocol, TypeVar, cast

from pydantic import GetCoreSchemaHandler, ValidationError, ValidationInfo, ValidatorFunctionWrapHandler
from pydantic_core import CoreSchema, core_schema

from femcore.base.errors import ConsequentFault, InputFault, fault
from femcore.base.toml import unknown
from femcore.base.units import FileContext
from femcore.files.section_file import (
    LaminateTable,
    MaterialTables,
    WallMaterials,
    build_wall_materials,
)
from femcore.laminates import Laminate, LaminateMaterials, lay_up

Made_co = TypeVar("Made_co", covariant=True)


@dataclass(frozen=True, eq=False)
class NamedLaminate:
    """A laminate by name, and the table that it was laid from, where that is known."""

    laminate: Laminate
    table: LaminateTable | None = None

    def lay_cloth(self, cloth: str) -> Laminate:
        """A cloth laid with its fibre, resin and process; of a laminate given ply by ply, with the usual ones."""
        if self.table is None or self.table.layup is None:
            return lay_up([cloth], LaminateMaterials(), cloth)
        return self.table.model_copy(update={"layup": [cloth]}).laminate(cloth, {}, {})


@cache
def _shipped() -> WallMaterials:
    return build_wall_materials(MaterialTables())[0]


@dataclass(frozen=True, eq=False)
class FileMaterials:
    """A file's material tables and what was built of them.

    invalid : names of laminates whose tables cannot be read
    walls   : laminates and isotropic materials, the shipped ones too;   faults : of what could not be built
    """

    tables: MaterialTables = field(default_factory=MaterialTables)
    invalid: frozenset[str] = frozenset()
    walls: WallMaterials = field(default_factory=_shipped)
    faults: tuple[InputFault, ...] = ()

    @classmethod
    def of_tables(cls, raw: Mapping[str, Any]) -> FileMaterials:
        """Those of a file's raw tables; what is wrong with the tables themselves is reported with the file's other tables."""
        given = {key: raw[key] for key in MaterialTables.model_fields if key in raw}
        try:
            tables = MaterialTables.model_validate(given, context=FileContext())
        except ValidationError:
            named = given.get("laminates")
            return cls(invalid=frozenset(named) if isinstance(named, dict) else frozenset())
        walls, faults = build_wall_materials(tables)
        return cls(tables, walls=walls, faults=tuple(faults))

    def laminate(self, name: str) -> NamedLaminate:
        """The laminate of that name; InputFault where there is none, or one that is at fault."""
        if name in self.invalid | self.walls.invalid:
            raise ConsequentFault("laminate", f"'{name}' is at fault", "correct it under [laminates]")
        if name not in self.walls.laminates:
            missing = unknown("", "laminate", name, self.walls.laminates)
            raise InputFault("laminate", f"'{name}' does not stand under [laminates]", missing.cure)
        return NamedLaminate(self.walls.laminates[name], self.tables.laminates.get(name))


class BoatContext(FileContext):
    """The validation context of a boat file.

    raw    : the file's own tables;   materials : of the file
    faults : of materials, and of objects that cannot be built of sound tables; validation adds to them
    """

    def __init__(self, raw: dict[str, Any], materials: FileMaterials | None = None) -> None:
        self.raw = raw
        self.materials = materials or FileMaterials.of_tables(raw)
        self.faults = list(self.materials.faults)


def materials_of(info: ValidationInfo) -> FileMaterials:
    """Those of the file that is being read; without a file the shipped ones."""
    return info.context.materials if isinstance(info.context, BoatContext) else FileMaterials()


class FileTable(Protocol[Made_co]):
    """A table of a file from which an object of the boat is built."""

    def build(self, walls: WallMaterials) -> Made_co:
        """The object; InputFault where it cannot be built."""

    def outline_only(self) -> Made_co:
        """The same with unit stiffness: serves to judge the other tables where the object cannot be built, and no more."""


def built(table: FileTable[Made_co], info: ValidationInfo) -> Made_co:
    """The object of a table.

    In a file, one that cannot be built leaves its fault in the context, which `Boat.faults` gives, and the other tables are
    judged by its outline; from Python the fault is raised at once.
    """
    try:
        return table.build(materials_of(info).walls)
    except InputFault as error:
        if not isinstance(info.context, BoatContext):
            raise fault(f"{error.place}: {error.wrong}", error.cure) from None
        info.context.faults.append(error)
        return table.outline_only()


@dataclass(frozen=True, eq=False)
class ValidatedAs:
    """Makes a pydantic field validated as `form`, a type made at run time; type checkers see the annotated type."""

    form: Any

    def __get_pydantic_core_schema__(self, source: object, handler: GetCoreSchemaHandler) -> CoreSchema:
        return handler.generate_schema(self.form)


@dataclass(frozen=True, eq=False)
class BuiltFrom:
    """Makes a pydantic field of an object that a file's table may give in another form: that is validated, then built."""

    form: Any

    def __get_pydantic_core_schema__(self, source: type, handler: GetCoreSchemaHandler) -> CoreSchema:
        def validate(value: object, inner: ValidatorFunctionWrapHandler, info: ValidationInfo) -> object:
            found = value if isinstance(value, source) else inner(value)
            return found if isinstance(found, source) else built(cast(FileTable[object], found), info)

        as_it_is: Callable[..., Any] = lambda value, inner: inner(value)  # noqa: E731  (as pydantic's SerializeAsAny)
        return core_schema.with_info_wrap_validator_function(
            validate,
            handler.generate_schema(self.form),
            serialization=core_schema.wrap_serializer_function_ser_schema(
                as_it_is, schema=core_schema.any_schema()
            ),
        )


def section_fault(error: InputFault, place: str) -> InputFault:
    """The fault inside a place, unless it only follows from another."""
    return error if isinstance(error, ConsequentFault) else error.inside(place)
