"""How far a value may be off, as a file writes it behind the value: the spread's own words become a distribution.

    "10 kN ± 15 %"            lognormal about 10 kN as median, coefficient of variation 15 %
    "20 mm ± 5 mm"            normal, standard deviation 5 mm
    "150 kN*m/rad × 2"        lognormal, one standard deviation is a factor of 2 either way
    "8 … 14 kN"               uniform; the value is the middle
    "10 kN normal 1.5 kN"     by name: normal, lognormal, gumbel with their standard deviation; weibull with its shape;
                              uniform with its range; the value is the median of each, save of the uniform one

An analysis without scatter uses the value alone (`value_text`). `Spread.distribution` is of the value, or of its factor where
the spread is a share of it.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Any, Literal

from femcore.base.errors import InputFault

if TYPE_CHECKING:
    from collections.abc import Callable

SpreadKind = Literal["normal", "lognormal", "uniform", "weibull", "gumbel"]
NAMES: tuple[SpreadKind, ...] = ("normal", "lognormal", "uniform", "weibull", "gumbel")
CURE = 'write "± 15 %", "± 5 mm", "× 2", "8 … 14 kN", or a name with its size, such as "normal 1.5 kN"'
MAX_VARIATION = 2.0
"""Largest coefficient of variation of a lognormal: its upper 5 % are then beyond 8 times its median: nothing is known."""
MAX_FACTOR = 10.0
MAX_NORMAL_SHARE = 0.3
"""Largest standard deviation of a normal over its own mean: beyond, more than one in 2,000 changes its sign."""
MIN_SHAPE, MAX_SHAPE = 0.5, 50.0

_NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?"
_DOTS = r"(?:…|\.\.\.?|\bto\b)"
_PLUS_MINUS = re.compile(r"^(?P<value>.*?)\s*(?P<sign>±|\+/-|\+-|×|×/÷)\s*(?P<rest>.*)$", re.DOTALL)
_RANGE = re.compile(rf"^\s*(?P<low>{_NUMBER})\s*{_DOTS}\s*(?P<high>{_NUMBER})\s*(?P<unit>\D?.*)$", re.DOTALL)
_NAMED = re.compile(rf"^(?P<value>.*?)(?:^|\s)(?P<name>[a-z]{{3,}})\s+(?P<rest>(?:{_NUMBER}).*)$", re.DOTALL)
_SIZE = re.compile(rf"^\s*(?P<size>{_NUMBER})\s*(?P<unit>.*?)\s*$", re.DOTALL)
_MARKS = re.compile(rf"±|×|\+/-|\+-|{_DOTS}|(?:^|\s)[a-z]{{3,}}\s+[+-]?[\d.]")
"""What every spread holds and an ordinary value does not: tried first, since files hold thousands of values."""


@dataclass(frozen=True, slots=True)
class Spread:
    """A distribution as it was written.

    size : of a uniform one its two ends, else one number: a standard deviation, of `weibull` the shape;   unit : of `size` as
           written, "%" of a share of the value, "×" of a factor either way, "" of bare numbers
    """

    kind: SpreadKind
    size: tuple[float, ...]
    unit: str
    text: str

    @property
    def is_relative(self) -> bool:
        """Whether it is of the value's factor; else of the value itself."""
        return self.unit in ("%", "×") or self.kind == "weibull"

    @property
    def is_none(self) -> bool:
        """Whether the value is taken as exact."""
        return self.kind != "uniform" and self.size == (0.0,)

    def distribution(self, value: float, to_unit: float = 1.0) -> Any:  # noqa: ANN401  (scipy's frozen ones have no public type)
        """The scipy distribution: of the value's factor where `is_relative` (its median 1), else of the value.

        value : in the unit wanted;   to_unit : that many of it is one of the spread's unit

        ValueError, in words, where there is no such distribution about that value.
        """
        scale = 0.01 if self.unit == "%" else to_unit
        if self.kind == "uniform":
            low, high = (end * scale for end in self.size)
            return _scipy().uniform(low, high - low)
        median = 1.0 if self.is_relative else value
        size = self.size[0] * (1.0 if self.unit == "×" or self.kind == "weibull" else scale)
        return _DISTRIBUTIONS[self.kind](median, size, factor=self.unit == "×")


@cache
def _scipy() -> Any:  # noqa: ANN401  (a module without types)
    from scipy import stats  # noqa: PLC0415  (start-up time of the command line)

    return stats


def _normal(median: float, size: float, *, factor: bool) -> Any:  # noqa: ANN401, ARG001
    return _scipy().norm(median, size)


def _lognormal(median: float, size: float, *, factor: bool) -> Any:  # noqa: ANN401
    """By its median; `size` is the standard deviation, or a factor either way."""
    if median <= 0:
        raise ValueError("a lognormal is of a value above zero")
    sigma = math.log(size) if factor else math.sqrt(math.log1p((size / median) ** 2))
    return _scipy().lognorm(sigma, scale=median)


def _gumbel(median: float, size: float, *, factor: bool) -> Any:  # noqa: ANN401, ARG001
    """Of largest values, by its median and standard deviation."""
    scale = size * math.sqrt(6) / math.pi
    return _scipy().gumbel_r(median + scale * math.log(math.log(2)), scale)


def _weibull(median: float, size: float, *, factor: bool) -> Any:  # noqa: ANN401, ARG001
    """By its median, 1, and shape."""
    return _scipy().weibull_min(size, scale=median / math.log(2) ** (1 / size))


_DISTRIBUTIONS: dict[str, Callable[..., Any]] = {
    "normal": _normal,
    "lognormal": _lognormal,
    "gumbel": _gumbel,
    "weibull": _weibull,
}


def value_text(text: str) -> str:
    """The value alone, its unit with it, of a text that may have a spread behind it; InputFault where that is no spread."""
    return split_spread(text)[0]


def split_spread(text: str) -> tuple[str, Spread | None]:
    """The value's own text and its spread, None without; InputFault, place left empty, where the spread is at fault.

    Of a range the value is the middle; a spread alone, as in a table of scatter, has an empty value.
    """
    if not _MARKS.search(text):
        return text, None
    if found := _PLUS_MINUS.match(text):
        relative = found["sign"].startswith("×")
        return found["value"], _plus_minus(found["rest"], factor=relative, text=text[found.end("value") :])
    if found := _RANGE.match(text):
        spread = _range(found, text)
        return f"{sum(spread.size) / 2!r} {found['unit'].strip()}".strip(), spread
    if (found := _NAMED.match(text)) and (not found["value"].strip() or _SIZE.match(found["value"])):
        return found["value"], _named(found["name"], found["rest"], text[found.end("value") :])
    return text, None


def read_spread(text: str) -> Spread:
    """A spread without a value before it, as "± 15 %"; InputFault where it is none."""
    value, spread = split_spread(text)
    if spread is None or (value.strip() and spread.kind != "uniform"):
        raise InputFault("", f"'{text:.60}' is no scatter", CURE)
    return spread


def _plus_minus(rest: str, *, factor: bool, text: str) -> Spread:
    text = text.strip()
    found = _SIZE.match(rest)
    if found is None or (factor and found["unit"]):
        raise InputFault("", f"'{text:.60}' is no scatter", CURE)
    size, unit = float(found["size"]), found["unit"]
    if factor:
        if not 1.0 <= size <= MAX_FACTOR:
            raise InputFault(
                "", f"'{text:.60}' is no factor either way", f"give one from 1 to {MAX_FACTOR:g}, such as × 2"
            )
        return Spread("lognormal", (0.0,) if size == 1.0 else (size,), "×", text)
    return _sized("lognormal" if unit == "%" else "normal", size, unit, text)


def _range(found: re.Match[str], text: str) -> Spread:
    low, high = float(found["low"]), float(found["high"])
    if not low < high:
        raise InputFault(
            "",
            f"the range '{text.strip():.60}' does not rise",
            "give the smaller number first, the larger one after it",
        )
    return Spread("uniform", (low, high), found["unit"].strip(), text.strip())


def _named(name: str, rest: str, text: str) -> Spread:
    text = text.strip()
    if name not in NAMES:
        raise InputFault("", f"'{name}' is no distribution known here", f"use one of {', '.join(NAMES)}")
    if name == "uniform":
        found = _RANGE.match(rest)
        if found is None:
            raise InputFault("", f"'{text:.60}' has no range", 'write it as "uniform 8 … 14 kN"')
        return _range(found, rest)
    size = _SIZE.match(rest)
    if size is None:
        raise InputFault("", f"'{text:.60}' is no scatter", CURE)
    number, unit = float(size["size"]), size["unit"]
    if name == "weibull":
        if unit or not MIN_SHAPE <= number <= MAX_SHAPE:
            wrong = f"'{text:.60}' has no shape from {MIN_SHAPE:g} to {MAX_SHAPE:g}"
            raise InputFault("", wrong, 'give the shape without a unit, such as "weibull 2"')
        return Spread("weibull", (number,), "", text)
    return _sized(name, number, unit, text)


def _sized(kind: SpreadKind, size: float, unit: str, text: str) -> Spread:
    """With one standard deviation, bounded by what its kind takes."""
    if size < 0:
        raise InputFault("", f"the scatter '{text:.60}' is negative", "give its size, without a sign")
    most = {"lognormal": MAX_VARIATION, "normal": MAX_NORMAL_SHARE}.get(kind)
    if unit == "%" and most is not None and size > 100 * most:
        instead = "a factor, such as × 3" if kind == "lognormal" else "a lognormal, which keeps its sign"
        raise InputFault(
            "", f"the scatter '{text:.60}' is more than a {kind} takes, {100 * most:g} %", f"give {instead}"
        )
    return Spread(kind, (size,), unit, text)


__all__ = ["Spread", "SpreadKind", "read_spread", "split_spread", "value_text"]
