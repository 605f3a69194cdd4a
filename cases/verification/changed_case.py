"""A textbook case changed by hand: values by dotted key, as in a variant of a boat, and all lengths or all loads by a factor."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from cases.input.variants import change_tables, split_key
from cases.verification.textbook import TextbookCase
from femcore.base.errors import InputFault, InputFaults
from femcore.base.toml import checked, read_toml
from femcore.base.units import number_and_unit
from femcore.files.frame_file import FrameFile

ALL_LENGTHS, ALL_LOADS = "all lengths", "all loads"
"""Keys of the two factors. Lengths are those of the frame and of what acts along it, not of sections; loads are forces, moments,
forces per length, gravity, temperature changes and imposed movements.
"""
OF_THE_FILE, VALUES = "change", "expect"
OF_BEAM = ("from_offset", "to_offset")
OF_LINE = ("begin", "end", "arm")


def changed(case: TextbookCase, changes: Mapping[str, Any]) -> FrameFile:
    """The case with the changes; None: the key is left out. InputFaults with every fault of what they make of it.

    The two factors multiply what the other changes have left, so that their order does not matter.
    """
    if not changes:
        return case.file
    factors = {key: _factor(key, changes[key]) for key in (ALL_LENGTHS, ALL_LOADS) if key in changes}
    given = {key: value for key, value in changes.items() if key not in factors}
    for key in given:
        if split_key(key)[:1] == (VALUES,):
            raise InputFault(
                key, "is what the source says", "change the frame, not the values published of it"
            )
    tables = read_toml(case.path)
    try:
        without = [key for key, value in given.items() if value is None]
        change_tables(tables, {key: value for key, value in given.items() if value is not None}, without)
    except InputFault as fault:
        place = fault.place.removeprefix("set").removeprefix("without").removeprefix(": ")
        raise InputFault(place, fault.wrong, fault.cure) from None
    if ALL_LENGTHS in factors:
        _scale_lengths(tables, _times(factors[ALL_LENGTHS]))
    if ALL_LOADS in factors:
        _scale_loads(tables, _times(factors[ALL_LOADS]))
    try:
        return checked(tables, FrameFile, OF_THE_FILE)
    except InputFaults as faults:
        raise InputFaults(_as_of_change(fault) for fault in faults.faults) from None


def _as_of_change(fault: InputFault) -> InputFault:
    """The fault without the file's name: the file itself is sound."""
    return InputFault(fault.place.removeprefix(OF_THE_FILE).removeprefix(": "), fault.wrong, fault.cure)


def _factor(key: str, value: object) -> float:
    usable = isinstance(value, int | float) and not isinstance(value, bool)
    if not usable or not 1e-3 <= abs(value) <= 1e3 or (key == ALL_LENGTHS and value < 0):  # type: ignore[arg-type, operator]
        raise InputFault(key, f"'{value}' is no factor", "give a number from 0.001 to 1000, such as 1.5")
    return float(value)  # type: ignore[arg-type]


def _times(factor: float) -> Callable[[object], object]:
    def times(value: object) -> object:
        """The quantity times the factor; whatever is none is left to be reported."""
        try:
            numbers, unit = number_and_unit(value if isinstance(value, str) else "")
        except ValueError:
            return value
        return " ".join([*(repr(number * factor) for number in numbers), unit])

    return times


def _scale_lengths(tables: dict[str, Any], times: Callable[[object], object]) -> None:
    nodes = tables.get("nodes", {})
    nodes.update({name: times(place) for name, place in nodes.items()})
    _apply(_tables(tables, "beams"), OF_BEAM, times)
    for case in _tables(tables, "cases"):
        _apply(_tables(case, "line"), OF_LINE, times)


def _scale_loads(tables: dict[str, Any], times: Callable[[object], object]) -> None:
    for case in _tables(tables, "cases"):
        _apply([case], ["gravity"], times)
        _apply(_tables(case, "point"), ["force", "moment"], times)
        _apply(_tables(case, "line"), ["force"], times)
        _apply(_tables(case, "warm"), ["change"], times)
    for support in _tables(tables, "supports"):
        moved = support.get("moved")
        if isinstance(moved, dict):
            _apply([moved], list(moved), times)


def _tables(table: Mapping[str, Any], key: str) -> list[dict[str, Any]]:
    """The entries of a list of tables; what is none is left to be reported."""
    found = table.get(key, [])
    return [one for one in found if isinstance(one, dict)] if isinstance(found, list) else []


def _apply(
    tables: list[dict[str, Any]], keys: tuple[str, ...] | list[str], times: Callable[[object], object]
) -> None:
    for table in tables:
        table.update({key: times(table[key]) for key in keys if key in table})


__all__ = ["ALL_LENGTHS", "ALL_LOADS", "changed"]
