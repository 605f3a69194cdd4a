"""What a file's sections are made of: its laminates and isotropic materials, built once, and walls of them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import TypeVar

from pydantic import model_validator

from femcore.base.errors import ConsequentFault, InputFault, fault
from femcore.base.toml import Table, unknown
from femcore.files.section_file.materials import CoreMaterial, LaminateTable, Layer, Material, Name, Thickness
from femcore.laminates import Laminate
from femcore.materials import Isotropic, metals
from femcore.sections import Wall

Made = TypeVar("Made")


class MaterialTables(Table):
    """A file's own materials; those that the house ships need no table."""

    materials: dict[Name, Material] = {}
    layers: dict[Name, Layer] = {}
    cores: dict[Name, CoreMaterial] = {}
    laminates: dict[Name, LaminateTable] = {}


class WallTable(Table):
    """A wall: a laminate by name, or an isotropic material by name and its thickness."""

    laminate: Name | None = None
    material: Name | None = None
    thickness: Thickness | None = None

    @model_validator(mode="after")
    def _one_of_both(self) -> WallTable:
        if self.laminate is not None and (self.material is not None or self.thickness is not None):
            raise fault(
                "has a laminate and a material or thickness",
                "give a laminate, or a material with its thickness",
            )
        if (self.material is None) != (self.thickness is None):
            lacking = "thickness" if self.thickness is None else "material"
            raise fault(f"has no {lacking}", "give a material with its thickness, or a laminate")
        return self

    @property
    def is_given(self) -> bool:
        """Whether it says anything."""
        return self.laminate is not None or self.material is not None


@dataclass(frozen=True, eq=False)
class WallMaterials:
    """Laminates and isotropic materials by name; `invalid` are laminates that could not be built."""

    laminates: Mapping[str, Laminate]
    materials: Mapping[str, Isotropic]
    invalid: frozenset[str] = frozenset()
    _walls: dict[tuple[str, float], Wall] = field(default_factory=dict, repr=False)

    def wall(self, given: WallTable, place: str) -> Wall:
        """The wall that a table speaks of: the same object for the same words, so that sections can tell kinds apart.

        Raises InputFault for a name that does not exist, and for a wall thicker than its strengths are stated for.
        """
        if given.laminate is not None:
            return self._of_laminate(given.laminate, place)
        return self._of_material(given.material or "", given.thickness or 0.0, place)

    def _of_laminate(self, name: str, place: str) -> Wall:
        if name in self.invalid:
            raise ConsequentFault(place, f"laminate '{name}' is at fault", "correct it")
        if name not in self.laminates:
            raise unknown(f"{place}: laminate", "laminate", name, self.laminates)
        key = (name, 0.0)
        if key not in self._walls:
            self._walls[key] = Wall.from_laminate(self.laminates[name])
        return self._walls[key]

    def _of_material(self, name: str, thickness: float, place: str) -> Wall:
        if name not in self.materials:
            raise unknown(f"{place}: material", "material", name, self.materials)
        of = self.materials[name]
        if of.thickest is not None and thickness > of.thickest * (1 + 1e-9):
            wrong = f"{1000 * thickness:g} mm of {name}, whose strengths are stated up to {1000 * of.thickest:g} mm"
            raise InputFault(f"{place}: thickness", wrong, "take a thinner wall, or a material stated for it")
        key = (name, thickness)
        if key not in self._walls:
            self._walls[key] = Wall.isotropic(of.E, thickness, nu=of.nu, density=of.density, name=name)
        return self._walls[key]


def build_wall_materials(tables: MaterialTables) -> tuple[WallMaterials, list[InputFault]]:
    """What a file's sections can be made of, and everything that is wrong with it."""
    faults: list[InputFault] = []
    lamina = _built("layers", tables.layers, lambda name, table: table.lamina(name), faults)
    core = _built("cores", tables.cores, lambda name, table: table.core(name), faults)
    laid = _built(
        "laminates", tables.laminates, lambda name, table: table.laminate(name, lamina, core), faults
    )
    own = {name: table.isotropic(name) for name, table in tables.materials.items()}
    invalid = frozenset(tables.laminates) - frozenset(laid)
    return WallMaterials(laid, {**metals(), **own}, invalid), faults


Given = TypeVar("Given")


def _built(
    kind: str,
    tables: Mapping[str, Given],
    make: Callable[[str, Given], Made],
    faults: list[InputFault],
) -> dict[str, Made]:
    """What can be made of a file's tables by name; the rest becomes faults."""
    made: dict[str, Made] = {}
    for name, table in tables.items():
        try:
            made[name] = make(name, table)
        except InputFault as trouble:
            faults.append(trouble.inside(kind))
    return made


def unique_faults(faults: Iterable[InputFault]) -> list[InputFault]:
    """Faults without those that only follow from another, each once."""
    return list({str(each): each for each in faults if not isinstance(each, ConsequentFault)}.values())
