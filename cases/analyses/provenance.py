"""What a verdict rests on that was remembered, not read: strengths of the materials in use, formulas of the checks made."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from cases.analyses.part_margins import PartMargins
from femcore.base.toml import Table
from femcore.files.section_file import build_wall_materials
from femcore.materials import Record, bolt_classes, lines, metals
from models.boat.boat import Boat
from models.strength.margins import GoverningCheck
from models.tables.shared import LayupTable

STRENGTHS = {
    "Xt", "Xc", "Yt", "Yc", "S12", "tension_strain", "compression_strain", "proof", "ultimate", "proof_haz", "ultimate_haz",
    "breaking", "shear_strength", "compressive_strength",
}  # fmt: skip
"""Fields of materials that decide whether a check is met; moduli and densities are left out."""
FROM_MEMORY = "from memory"


@dataclass(frozen=True, slots=True)
class RememberedStrength:
    """A strength of a material in use whose value was not read.

    material : its name;   field : which strength;   value : as entered, with its unit;   source : where it is said to be from
    """

    material: str
    field: str
    value: str
    source: str


@dataclass(frozen=True, slots=True)
class RememberedFormula:
    """A source, not read, of checks that were made.

    checks : how many;   lowest : the one of them with the lowest margin;   joint, case : where that is
    """

    source: str
    checks: int
    lowest: GoverningCheck
    joint: str
    case: str


def remembered_strengths(boat: Boat) -> tuple[RememberedStrength, ...]:
    """Of laminates, metals, bolts and lines that the boat names, in the order of their names."""
    found = {
        (*_origin_name(record, key), origin.text, origin.source)
        for record in _materials(boat)
        for key, origin in record.provenance.items()
        if origin.seen == "memory" and key.rsplit(".", 1)[-1] in STRENGTHS
    }
    return tuple(RememberedStrength(*row) for row in sorted(found))


def remembered_formulas(part_margins: Sequence[PartMargins]) -> tuple[RememberedFormula, ...]:
    """By source, the one whose checks have the lowest margin first."""
    by_source: dict[str, list[tuple[GoverningCheck, str, str]]] = {}
    for one in part_margins:
        for check, case in one.worst:
            if case is not None and FROM_MEMORY in check.source:
                by_source.setdefault(check.source, []).append((check, one.joint, case))
    found = [
        RememberedFormula(source, len(made), *min(made, key=lambda row: row[0].margin))
        for source, made in by_source.items()
    ]
    return tuple(sorted(found, key=lambda one: one.lowest.margin))


def _origin_name(record: Record, key: str) -> tuple[str, str]:
    """Material and field of a value; a computed layer's values are its fibre's and its resin's."""
    material, _, field = key.rpartition(".")
    return material or record.name, field


def _materials(boat: Boat) -> Iterator[Record]:
    laminates = list(build_wall_materials(boat)[0].laminates.values())
    for table in _tables(boat):
        if isinstance(table, LayupTable):
            laminates.append(table.built)
        shelves: tuple[tuple[str, Mapping[str, Record]], ...] = (
            ("metal", metals()), ("material", lines()), ("grade", bolt_classes()),
        )  # fmt: skip
        for key, shelf in shelves:
            name = getattr(table, key, None)
            if isinstance(name, str) and name in shelf:
                yield shelf[name]
    for laminate in laminates:
        for ply in laminate.plies:
            yield ply.lamina if ply.core is None else ply.core


def _tables(value: object) -> Iterator[Table]:
    """A table and all tables in it, at any depth."""
    if isinstance(value, Table):
        yield value
        inner: Iterable[object] = [getattr(value, name) for name in type(value).model_fields]
    elif isinstance(value, dict):
        inner = value.values()
    elif isinstance(value, (list, tuple)):
        inner = value
    else:
        return
    for one in inner:
        yield from _tables(one)
