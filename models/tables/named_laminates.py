"""The laminates of a boat file by name, for tables that are read while the file is: joints and fixings.

A table is checked as it is read, and one that names a laminate has to find it then: whoever reads a file makes its laminates
known first, for as long as the reading lasts.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field

from pydantic import ValidationError

from femcore.base.errors import InputFault
from femcore.base.toml import unknown
from femcore.files.section_file import LaminateTable, MaterialTables, WallMaterials, build_wall_materials
from femcore.laminates import Laminate, LaminateMaterials, lay_up


@dataclass(frozen=True, eq=False)
class _FileLaminates:
    """What a file's material tables give; `invalid` are names of laminates that could not be built."""

    tables: MaterialTables = field(default_factory=MaterialTables)
    wall_materials: WallMaterials = field(default_factory=lambda: WallMaterials({}, {}))
    invalid: frozenset[str] = frozenset()


_FILE_LAMINATES: ContextVar[_FileLaminates | None] = ContextVar(
    "laminates of the file being read", default=None
)


@contextmanager
def file_laminates(raw: Mapping[str, object]) -> Iterator[None]:
    """While a file's raw tables are read, its laminates are known by name; what is wrong with them is told elsewhere."""
    token = _FILE_LAMINATES.set(_read_laminates(raw))
    try:
        yield
    finally:
        _FILE_LAMINATES.reset(token)


@dataclass(frozen=True, eq=False)
class NamedLaminate:
    """A laminate of the file, and the table that it was laid from."""

    laminate: Laminate
    table: LaminateTable

    def lay_cloth(self, words: str) -> Laminate:
        """A cloth laid with its fibre, resin and process; of a laminate given ply by ply, with the usual ones."""
        if self.table.layup is None:
            return lay_up([words], LaminateMaterials(), words)
        return self.table.model_copy(update={"layup": [words]}).laminate(words, {}, {})


def named_laminate(name: str) -> NamedLaminate:
    """The laminate of that name; InputFault where the file that is being read has none, or one that is at fault."""
    known = _FILE_LAMINATES.get() or _FileLaminates()
    if name in known.invalid | known.wall_materials.invalid:
        raise InputFault("laminate", f"'{name}' is at fault", "mend it under [laminates]")
    if name not in known.wall_materials.laminates:
        missing = unknown("", "laminate", name, known.wall_materials.laminates)
        raise InputFault("laminate", f"'{name}' does not stand under [laminates]", missing.cure)
    return NamedLaminate(known.wall_materials.laminates[name], known.tables.laminates[name])


def _read_laminates(raw: Mapping[str, object]) -> _FileLaminates:
    given = {key: raw[key] for key in MaterialTables.model_fields if key in raw}
    try:
        tables = MaterialTables.model_validate(given)
    except ValidationError:
        named = given.get("laminates")
        return _FileLaminates(invalid=frozenset(named) if isinstance(named, dict) else frozenset())
    return _FileLaminates(tables, build_wall_materials(tables)[0])
