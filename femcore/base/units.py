"""Units at the edge: text with a unit becomes a number in SI, and back.

Inside, everything is SI (N, m, kg, s, rad, Pa, K). A file writes ``"12 mm"`` or ``"0 0 -5 kN"``; `si` and `si_vector`
read that, `Unit` and `UnitVector` make pydantic fields of it. What a unit means, and whether it fits, is pint's to say.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Any

from pydantic_core import CoreSchema, core_schema

from femcore.base.errors import InputFault, fault
from femcore.base.numbers import engineering

if TYPE_CHECKING:
    from pint import UnitRegistry

KINDS = {
    "m": ("a length", "4.2 m"),
    "m**2": ("an area", "20 cm**2"),
    "m**4": ("a second moment of area", "1000 cm**4"),
    "Pa": ("a stress or modulus", "70 GPa"),
    "N": ("a force", "5 kN"),
    "N*m": ("a moment", "2 kN*m"),
    "N/m": ("a force per length", "2 kN/m"),
    "N*m/rad": ("a moment per rotation", "200 kN*m/rad"),
    "N*m**2": ("a bending or torsional stiffness", "800 kN*m**2"),
    "kg": ("a mass", "50 kg"),
    "kg/m": ("a mass per length", "12 kg/m"),
    "kg/m**2": ("a mass per area", "600 g/m**2"),
    "kg/m**3": ("a density", "2700 kg/m**3"),
    "m/s**2": ("an acceleration", "9.81 m/s**2"),
    "rad": ("an angle", "12 deg"),
    "K": ("a temperature difference", "20 delta_degC"),
    "1/K": ("an expansion per temperature", "23e-6 1/K"),
    "s": ("a time", "3 s"),
    "Hz": ("a frequency", "11.3 Hz"),
}
"""SI unit → (what it measures, an example): the words of every unit fault."""

_NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?(?![\d./])"  # the 1 of "1/K" belongs to the unit
_QUANTITY = re.compile(rf"^\s*((?:{_NUMBER}\s+)*{_NUMBER})\s*(.*?)\s*$")


@cache
def registry() -> UnitRegistry[Any]:
    """The one unit registry (made when first asked for: pint takes a moment to load)."""
    from pint import UnitRegistry  # noqa: PLC0415  (start-up time of the command line)

    return UnitRegistry()


def _words(unit: str) -> tuple[str, str]:
    return KINDS.get(unit, (f"a quantity in {unit}", f"1 {unit}"))


@cache
def _factor(text: str, unit: str) -> float:
    """How many `unit` one `text` is; raises ValueError in words."""
    kind, _ = _words(unit)
    if not text:
        raise ValueError(f"has no unit where {kind} is needed")
    ureg = registry()
    try:
        given = ureg.parse_units(text)
        zero, one = (float(ureg.Quantity(size, given).to(unit).magnitude) for size in (0.0, 1.0))
    except Exception as trouble:  # noqa: BLE001  (pint's parser lets tokeniser errors through as well)
        if type(trouble).__name__ == "DimensionalityError":
            raise ValueError(f"is not {kind}") from None
        raise ValueError(f"has a unit '{text}' that is not known") from None
    if zero != 0.0:
        raise ValueError("is a point on a temperature scale, not a difference")
    return one


def _numbers(value: object, unit: str, place: str, count: int) -> list[float]:
    kind, example = _words(unit)
    shown = example if count == 1 else " ".join(["0"] * (count - 1) + [example])
    cure = f'write it with its unit, such as "{shown}"'
    if isinstance(value, bool) or not isinstance(value, str):
        what = (
            "a bare number" if isinstance(value, (int, float)) and not isinstance(value, bool) else "no text"
        )
        raise InputFault(place, f"{value!r} is {what} where {kind} is needed", cure)
    match = _QUANTITY.match(value)
    if match is None:
        raise InputFault(place, f"'{value}' does not read as {kind}", cure)
    numbers = [float(part) for part in match[1].split()]
    if len(numbers) != count:
        raise InputFault(place, f"'{value}' has {len(numbers)} numbers where {count} are needed", cure)
    try:
        factor = _factor(match[2], unit)
    except ValueError as trouble:
        raise InputFault(place, f"'{value}' {trouble}", cure) from None
    result = [number * factor for number in numbers]
    if not all(math.isfinite(number) for number in result):
        raise InputFault(place, f"'{value}' is not finite", cure)
    return result


def si(text: object, unit: str, place: str = "") -> float:
    """`text` such as ``"12 mm"`` as a number in the SI `unit` such as ``"m"``; InputFault where it does not fit."""
    return _numbers(text, unit, place, 1)[0]


def si_vector(text: object, unit: str, place: str = "", count: int = 3) -> tuple[float, ...]:
    """`text` such as ``"0 0 -5 kN"`` (one unit for all) as `count` numbers in the SI `unit`."""
    return tuple(_numbers(text, unit, place, count))


def _bounded(value: object, numbers: Iterable[float], most: float | None, unit: str) -> None:
    """A fault where one of the numbers is larger than `most`."""
    if most is not None and any(abs(number) > most for number in numbers):
        cure = f"give at most {f'{most:g} {unit}' if '/' in unit else engineering(most, unit)}"
        raise fault(f"'{value}' is beyond reason", cure)


@dataclass(frozen=True)
class Unit:
    """Makes a pydantic field of text with a unit: ``wall: Annotated[float, Unit("m", above=0)]`` holds SI.

    least, above : bounds on the value in SI, from below;   most : on its size
    """

    unit: str
    least: float | None = None
    above: float | None = None
    most: float | None = None

    def read(self, value: object) -> float:
        """The text as a number in SI."""
        try:
            number = si(value, self.unit)
        except InputFault as trouble:
            raise fault(trouble.wrong, trouble.cure) from None
        least, above = self.least, self.above
        if (least is not None and number < least) or (above is not None and number <= above):
            bound = f"at least {least:g}" if least is not None else f"more than {above:g}"
            raise fault(f"'{value}' is too small", f"give {bound} {self.unit}")
        _bounded(value, [number], self.most, self.unit)
        return number

    def __get_pydantic_core_schema__(self, source: object, handler: object) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: object) -> dict[str, Any]:
        kind, example = _words(self.unit)
        return {"type": "string", "description": f"{kind} with its unit", "examples": [example]}


@dataclass(frozen=True)
class UnitVector:
    """Makes a pydantic field of ``"1 2 3 mm"``: a tuple of `count` floats in SI.

    most : bound on the size of each
    """

    unit: str
    count: int = 3
    most: float | None = None

    def read(self, value: object) -> tuple[float, ...]:
        """The text as numbers in SI."""
        try:
            numbers = si_vector(value, self.unit, count=self.count)
        except InputFault as trouble:
            raise fault(trouble.wrong, trouble.cure) from None
        _bounded(value, numbers, self.most, self.unit)
        return numbers

    def __get_pydantic_core_schema__(self, source: object, handler: object) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: object) -> dict[str, Any]:
        kind, example = _words(self.unit)
        shown = " ".join(["0"] * (self.count - 1) + [example])
        words = f"{self.count} components of {kind}, one unit for all"
        return {"type": "string", "description": words, "examples": [shown]}


def as_written(value: float, like: str, unit: str, digits: int = 6) -> str:
    """`value` in SI `unit`, written in the unit of the text `like`: ``as_written(0.003, "3.1 mm", "m") → '3 mm'``."""
    match = _QUANTITY.match(like)
    own = match[2] if match else unit
    return f"{value / _factor(own, unit):.{digits}g} {own}"
