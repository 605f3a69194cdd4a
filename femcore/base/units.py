"""Units at the edge: text with a unit becomes a number in SI, and back.

Inside, everything is SI (N, m, kg, s, rad, Pa, K). A file writes ``"12 mm"`` or ``"0 0 -5 kN"``; `si` and `si_vector`
read that, `Unit` and `UnitVector` make pydantic fields of it. A file must give text with a unit: its reader says so by a
`FileContext`, the validation context. Python may give a number in SI instead. pint knows the units; the usual ones are read
without it, since it takes a moment to load. How far a value may be off can stand behind it, ``"12 mm ± 1 mm"``: see
`femcore.base.spread`.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from numbers import Real
from typing import TYPE_CHECKING, Annotated, Any

import numpy as np
from pydantic import ValidationInfo
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from femcore.base.errors import CONSEQUENT, InputFault, fault
from femcore.base.numbers import engineering
from femcore.base.spread import value_text
from femcore.base.unit_slips import slip, spelled
from femcore.base.unit_traps import names_angle, trap
from femcore.base.usual_units import FACTORS, KIND_OF

if TYPE_CHECKING:
    from pint import UnitRegistry

STANDARD_GRAVITY = 9.80665
"""m/s², exact by definition (CGPM 1901)."""

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
_NO_UNIT = re.compile(
    r"(?:\*\*|\^)\s*(?:[+-]?\s*\d{2,}|\(|[+-]?\s*\d\s*(?:\*\*|\^))|\)\s*(?:\*\*|\^)|\d{7,}|[⁰¹²³⁴⁵⁶⁷⁸⁹](?:[⁰¹²³⁴⁵⁶⁷⁸⁹]|\s*(?:\*\*|\^))|#"
)
"""Powers of powers and of two digits, which no quantity has and which take for ever to work out, and the sign of a remark."""
MAX_UNIT, MAX_QUANTITY = 60, 200
"""Characters of a unit, and of a quantity with its numbers and its scatter."""
PREFIXED = frozenset(
    (
        "meter",
        "gram",
        "newton",
        "pascal",
        "joule",
        "second",
        "hertz",
        "radian",
        "watt",
        "bar",
        "kelvin",
        "liter",
    )
)
"""Units that take a prefix; "ddeg", a tenth of a degree, is a slip of the pen."""
KNOWN = PREFIXED | {
    "micron", "thou", "inch", "foot", "yard", "fathom", "mile", "nautical_mile", "square_inch", "square_foot",
    "square_yard", "are", "cubic_centimeter", "cubic_inch", "cubic_foot", "gallon", "imperial_gallon", "metric_ton",
    "ounce", "pound", "stone", "slug", "grain", "ton", "long_ton", "hundredweight", "long_hundredweight", "force_gram",
    "force_kilogram", "force_metric_ton", "force_ounce", "force_pound", "force_ton", "force_long_ton", "kip", "dyne",
    "pound_force_per_square_inch", "kip_per_square_inch", "technical_atmosphere", "standard_atmosphere", "foot_pound",
    "degree", "grade", "turn", "arcminute", "arcsecond", "percent", "permille", "ppm", "minute", "hour", "day", "week",
    "month", "year", "knot", "kilometer_per_hour", "mile_per_hour", "revolutions_per_minute", "revolutions_per_second",
    "counts_per_second", "degree_Celsius", "degree_Fahrenheit", "delta_degree_Celsius", "delta_degree_Fahrenheit",
    "standard_gravity", "tex",
}  # fmt: skip
"""Of pint's thousand units those of the trade, in its own names: "5 u" is no mass on a scale, "link" no length."""


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
    if (usual := FACTORS.get(unit, {}).get(text)) is not None:
        return usual
    ureg = registry()
    try:
        given = _parsed(text)
        zero, one = (float(ureg.Quantity(size, given).to(unit).magnitude) for size in (0.0, 1.0))
    except Exception as trouble:  # noqa: BLE001  (pint's parser lets tokeniser errors through as well)
        if type(trouble).__name__ == "DimensionalityError" or _is_of_another_kind(spelled(text, unit), unit):
            raise ValueError(f"is not {kind}") from None
        raise ValueError(f"has a unit '{text}' that is not known") from None
    if unit != "Hz" and names_angle(text) != ("rad" in unit):  # a radian has no dimension
        raise ValueError(f"is not {kind}")
    if zero != 0.0:
        raise ValueError("is a point on a temperature scale, not a difference")
    return one


def _is_of_another_kind(text: str, unit: str) -> bool:
    """Whether a text is a known unit, such as the "kN*m" that "kNm" is spelled as, of what `unit` does not measure."""
    try:
        return not _parsed(text).is_compatible_with(unit)
    except Exception:  # noqa: BLE001  (as in `_factor`)
        return False


def _parsed(text: str) -> Any:  # noqa: ANN401  (pint's units have no public type)
    """What pint makes of a unit; ValueError where nobody writes one so."""
    if len(text) > MAX_UNIT or _NO_UNIT.search(text):
        raise ValueError(text)
    ureg = registry()
    given = ureg.parse_units(text)
    for name in dict(given._units):  # noqa: SLF001  (pint has no public name for it)
        if not any(base in (PREFIXED if prefix else KNOWN) for prefix, base, _ in ureg.parse_unit_name(name)):
            raise ValueError(text)
    return given


def _numbers(value: object, unit: str, place: str, count: int) -> list[float]:
    kind, example = _words(unit)
    shown = example if count == 1 else " ".join(["0"] * (count - 1) + [example])
    cure = f'write it with its unit, such as "{shown}"'
    if isinstance(value, bool) or not isinstance(value, str):
        what = (
            "a bare number" if isinstance(value, (int, float)) and not isinstance(value, bool) else "no text"
        )
        raise InputFault(place, f"{value!r} is {what} where {kind} is needed", cure)
    if len(value) > MAX_QUANTITY:
        raise InputFault(place, f"'{value}' has {len(value):,} characters where {kind} is needed", cure)
    try:
        text = value_text(value)
    except InputFault as trouble:
        raise trouble.inside(place) from None
    match = _QUANTITY.match(text)
    if match is None:
        raise InputFault(place, *_meant(text, unit, f"'{value}' does not read as {kind}", cure))
    numbers = [float(part) for part in match[1].split()]
    try:
        factor = _only_factor(text, match[1], match[2], unit)
    except ValueError as trouble:
        raise InputFault(place, *_meant(text, unit, f"'{value}' {trouble}", cure)) from None
    if len(numbers) != count:
        are = "is" if count == 1 else "are"
        raise InputFault(place, f"'{value}' has {len(numbers)} numbers where {count} {are} needed", cure)
    result = [number * factor for number in numbers]
    if not all(math.isfinite(number) for number in result):
        raise InputFault(place, f"'{value}' is not finite", cure)
    return result


def _only_factor(text: str, number: str, written: str, unit: str) -> float:
    """How many `unit` one `written` is; ValueError in words where it is none, or may be another amount."""
    if trap(text, number, written, unit, lambda other: _factor(other, unit)):
        raise ValueError("may be another amount")
    return _factor(written, unit)


def _meant(text: str, unit: str, wrong: str, cure: str) -> tuple[str, str]:
    """What is wrong with a text and its cure: those of a trap or a usual slip in its own words, else these."""
    kind, _ = _words(unit)

    def factor(written: str) -> float:
        return _factor(written, unit)

    match = _QUANTITY.match(text)
    doubt = trap(text, match[1], match[2], unit, factor) if match else None
    return doubt or slip(text, unit, kind, factor) or (wrong, cure)


def si(text: object, unit: str, place: str = "") -> float:
    """`text` such as ``"12 mm"`` as a number in the SI `unit` such as ``"m"``; InputFault where it does not fit."""
    return _numbers(text, unit, place, 1)[0]


def si_vector(text: object, unit: str, place: str = "", count: int = 3) -> tuple[float, ...]:
    """`text` such as ``"0 0 -5 kN"`` (one unit for all) as `count` numbers in the SI `unit`."""
    return tuple(_numbers(text, unit, place, count))


class FileContext:
    """The validation context of a file: its quantities are text with a unit, never bare numbers."""


@dataclass(frozen=True)
class _Quantity:
    """What `Unit` and `UnitVector` share: one unit, bounds in SI, and text or numbers as the context allows.

    unit : the SI unit
    """

    unit: str

    def _numbers(self, value: object, info: ValidationInfo | None, count: int) -> list[float]:
        """The value in SI, `count` numbers, all finite."""
        from_file = info is not None and isinstance(info.context, FileContext)
        given: Any = value if isinstance(value, list | tuple | np.ndarray) and count > 1 else [value]
        # a float is asked about first: whether it is a Real takes ten times as long
        if not from_file and all(isinstance(x, float | Real) and not isinstance(x, bool) for x in given):
            numbers = [float(each) for each in given]
            if len(numbers) != count or not all(map(math.isfinite, numbers)):
                kind, _ = _words(self.unit)
                needed = "a finite number" if count == 1 else f"{count} finite numbers"
                raise fault(f"{value!r} is not {kind} in SI", f"give {needed} of {self.unit}")
            return numbers
        try:
            return _numbers(value, self.unit, "", count)
        except InputFault as error:
            raise _fault_of(value, error.wrong, error.cure) from None

    def _check_size(self, value: object, numbers: Iterable[float], most: float | None) -> None:
        """A fault where one of the numbers is larger than `most`."""
        if most is not None and any(abs(number) > most for number in numbers):
            limit = f"{most:g} {self.unit}" if "/" in self.unit else engineering(most, self.unit)
            raise _fault_of(value, f"'{value}' is too large", f"give at most {limit}")


class ReportedText(str):
    """A quantity that stands in another table of the file too, where its fault is reported."""

    __slots__ = ()


def _fault_of(value: object, wrong: str, cure: str) -> PydanticCustomError:
    return fault(wrong, cure, CONSEQUENT if isinstance(value, ReportedText) else "forebeam")


@dataclass(frozen=True)
class Unit(_Quantity):
    """Makes a pydantic field of a quantity: ``wall: Annotated[float, Unit("m", above=0)]`` holds SI.

    least, above : bounds on the value in SI, from below;   most : on its size
    """

    least: float | None = None
    above: float | None = None
    most: float | None = None

    def read(self, value: object, info: ValidationInfo | None = None) -> float:
        """Text with a unit, or from Python a number in SI, as that number."""
        [number] = self._numbers(value, info, 1)
        least, above = self.least, self.above
        if (least is not None and number < least) or (above is not None and number <= above):
            bound = f"at least {least:g}" if least is not None else f"more than {above:g}"
            raise _fault_of(value, f"'{value}' is too small", f"give {bound} {self.unit}")
        self._check_size(value, [number], self.most)
        return number

    def __get_pydantic_core_schema__(self, source: object, handler: object) -> CoreSchema:
        return core_schema.with_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: object) -> dict[str, Any]:
        kind, example = _words(self.unit)
        return {"type": "string", "description": f"{kind} with its unit", "examples": [example]}


Expansion = Annotated[float, Unit("1/K", most=1e-3)]
"""Per temperature; the bound is five times that of the softest plastics (common practice): 23 for 23e-6 is beyond it."""


@dataclass(frozen=True)
class UnitVector(_Quantity):
    """Makes a pydantic field of ``"1 2 3 mm"``: a tuple of `count` floats in SI.

    most : bound on the size of each
    """

    count: int = 3
    most: float | None = None

    def read(self, value: object, info: ValidationInfo | None = None) -> tuple[float, ...]:
        """Text with a unit, or from Python numbers in SI, as those numbers."""
        numbers = self._numbers(value, info, self.count)
        self._check_size(value, numbers, self.most)
        return tuple(numbers)

    def __get_pydantic_core_schema__(self, source: object, handler: object) -> CoreSchema:
        return core_schema.with_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: object) -> dict[str, Any]:
        kind, example = _words(self.unit)
        shown = " ".join(["0"] * (self.count - 1) + [example])
        words = f"{self.count} components of {kind}, one unit for all"
        return {"type": "string", "description": words, "examples": [shown]}


def as_written(value: float, like: str, unit: str, digits: int = 6) -> str:
    """`value` in SI `unit`, written in the unit of the text `like`: ``as_written(0.003, "3.1 mm", "m") → '3 mm'``."""
    match = _QUANTITY.match(value_text(like))
    own = match[2] if match else unit
    return f"{value / _factor(own, unit):.{digits}g} {own}"


def unit_ratio(text: str, like: str) -> float:
    """How many of the unit `like` one of the unit `text` is; ValueError, in words, where they measure different things."""
    return 1.0 if text == like else _factor(text, like)


def number_and_unit(text: str) -> tuple[tuple[float, ...], str]:
    """The numbers of a quantity as written, its spread left out, and their unit as written; ValueError where it is none."""
    match = _QUANTITY.match(value_text(text))
    if match is None:
        raise ValueError(f"'{text}' is no quantity")
    if match[2] and match[2] not in KIND_OF:
        try:
            _ = _parsed(match[2])
        except Exception:  # noqa: BLE001  (as in `_factor`)
            raise ValueError(f"'{text}' has a unit that is not known") from None
    return tuple(float(part) for part in match[1].split()), match[2]


def between(low: str, high: str, fractions: Iterable[float]) -> list[str]:
    """Texts of one unit, that of `low`, at fractions of the way from `low` to `high`: ``between("0 mm", "1 m", [0.5])``.

    Several numbers before one unit move together. The ends come out as they are written. ValueError, in words, where the two do
    not fit.
    """
    starts, unit = number_and_unit(low)
    ends, other = number_and_unit(high)
    if len(starts) != len(ends):
        raise ValueError(f"'{low}' has {len(starts)} numbers, '{high}' {len(ends)}")
    if unit != other:
        try:
            factor = _factor(other, unit)
        except ValueError as trouble:
            raise ValueError(f"'{high}' {trouble}") from None
        ends = tuple(end * factor for end in ends)
    return [
        " ".join([*(repr(a + (b - a) * t if t < 1 else b) for a, b in zip(starts, ends, strict=True)), unit])
        for t in fractions
    ]


def si_unit(text: str) -> str | None:
    """The SI unit, of `KINDS`, in which a quantity is kept, such as "m" for "12 mm"; None for what is no single quantity."""
    try:
        [_], unit = number_and_unit(text)
    except ValueError:
        return None
    if not unit:
        return None
    if KIND_OF.get(unit) in KINDS:
        return KIND_OF[unit]
    # a moment per rotation has the dimension of a moment: where an angle is named, the unit that names one is tried first
    for known in sorted(KINDS, key=lambda name: ("rad" in name) != ("rad" in unit or "deg" in unit)):
        try:
            _factor(unit, known)
        except ValueError:
            continue
        return known
    return None
