"""What a factor on a kind of input means in the file's own units: 1.5 times the racking is 15 kN where 10 kN was entered."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import Field

from cases.analyses.uncertainty.load_parts import load_parts
from cases.input.boat_file import BoatFile
from cases.input.variants import value_at
from femcore.base.errors import InputFault
from femcore.base.units import number_and_unit

RACKING_SIZES = ("force", "twist", "movement")
SIZES = {
    "racking": RACKING_SIZES,
    "racking_by_movement": RACKING_SIZES,
    "stay_tension": ("tension",),
    "other_loads": ("pressure",),
}
"""Kinds of inputs that are loads, and the keys of a case that these are in proportion to."""
KEYS = {
    "pretension": ("martingale.pretension",),
    "breaking_load": ("stay.line.breaking",),
    "crossbeam_EI": ("crossbeam.EI_vertical", "crossbeam.EI_lateral"),
    "crossbeam_GJ": ("crossbeam.GJ",),
    "longeron_EI": ("longeron.EI_vertical", "longeron.EI_lateral"),
}
"""Kinds of inputs whose value the file may give under a key of its own."""


@dataclass(frozen=True, slots=True)
class ScaledSize:
    """One quantity of the file, and what it would be."""

    of: Annotated[str, Field(description="name of the case, or key of the file")]
    entered: Annotated[str, Field(description="as the file writes it")]
    scaled: Annotated[str, Field(description="times the factor, in the same unit")]


def sizes_of_cases(
    file: BoatFile, names: Iterable[str], factor: float, keys: tuple[str, ...] = RACKING_SIZES
) -> tuple[ScaledSize, ...]:
    """Of the cases with these names, as far as the file gives their size by one number under one of the keys."""
    tables = {
        table["name"]: table
        for table in file.raw.get("cases", [])
        if isinstance(table, dict) and "name" in table
    }
    wanted = [tables[name] for name in names if name in tables]
    return tuple(_scaled(((table["name"], table.get(key)) for table in wanted for key in keys), factor))


def sizes_of_kind(file: BoatFile, kind: str, factor: float) -> tuple[ScaledSize, ...]:
    """Of a kind of input: its cases, or its keys; empty where the file gives its size by no one number."""
    if kind in KEYS:
        return tuple(_scaled(((key, _at(file.raw, key)) for key in KEYS[kind]), factor))
    names = [case.name for case in file.load_cases]
    of_kind = dict.fromkeys(names[part.case] for part in load_parts(file) if part.kind == kind)
    return sizes_of_cases(file, of_kind, factor, SIZES.get(kind, ()))


def _at(tables: Mapping[str, Any], key: str) -> Any:  # noqa: ANN401  (values of any key)
    try:
        return value_at(tables, key)
    except InputFault:
        return None


def _scaled(values: Iterable[tuple[str, Any]], factor: float) -> Iterator[ScaledSize]:
    for of, text in values:
        if isinstance(text, str):
            try:
                numbers, unit = number_and_unit(text)
            except ValueError:
                continue
            if len(numbers) == 1 and unit:
                yield ScaledSize(of, f"{numbers[0]:.3g} {unit}", f"{numbers[0] * factor:.3g} {unit}")


__all__ = ["ScaledSize", "sizes_of_cases", "sizes_of_kind"]
