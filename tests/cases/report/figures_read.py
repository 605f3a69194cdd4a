"""Reads the figures in a sentence or a cell back into SI, each with half of its last digit as tolerance."""

import re
from typing import NamedTuple

PREFIXES = {"n": 1e-9, "µ": 1e-6, "m": 1e-3, "": 1.0, "k": 1e3, "M": 1e6, "G": 1e9}
UNITS = ("N·m²", "N·m/rad", "N·m", "N/m", "rad", "Pa", "Hz", "N", "m", "g", "s")
PLAIN = {"%": 0.01, "°": 1.0, "t": 1e6}
_NUMBER = r"(?P<sign>[−+-]?)(?P<figure>\d{1,3}(?:,\d{3})+|\d+(?:\.\d+)?)"
_UNIT = "|".join(
    [rf"(?P<prefix{k}>[nµmkMG]?)(?P<unit{k}>{re.escape(unit)})" for k, unit in enumerate(UNITS)]
    + [rf"(?P<plain>{'|'.join(map(re.escape, PLAIN))})"]
)
_POWER = r"(?:·10(?P<power>[⁻⁰¹²³⁴⁵⁶⁷⁸⁹]+))?"
_RAISED = str.maketrans("⁻⁰¹²³⁴⁵⁶⁷⁸⁹", "-0123456789")
_FIGURE = re.compile(rf"(?<![\w.]){_NUMBER}{_POWER}(?:[ \N{{NO-BREAK SPACE}}]?(?:{_UNIT})(?![\w·/]))?")


class Figure(NamedTuple):
    """A figure of a text: its value in SI with its sign, half of its last digit, and its unit without prefix ("" for none)."""

    value: float
    half_digit: float
    unit: str
    text: str

    def shows(self, value: float, unit: str | None = None, *, size: bool = False) -> bool:
        """Whether it is that value rounded, in that unit where one is given; `size`: whatever the value's sign."""
        value = abs(value) if size else value
        near = abs(self.value - value) <= self.half_digit * (1 + 1e-6) + 1e-12 * abs(value)
        return near and (unit is None or unit == self.unit)


def figures(text: str) -> list[Figure]:
    """All of a text, in order; digits within words and names of axes are none."""
    return [_figure(found) for found in _FIGURE.finditer(text)]


def figure(text: str) -> Figure:
    """Of a cell that is one figure and nothing else."""
    (found,) = figures(text)
    assert found.text == text, text
    return found


def _figure(found: re.Match[str]) -> Figure:
    digits = found["figure"].replace(",", "")
    last = 10.0 ** -len(digits.partition(".")[2])
    unit, by = "", 1.0
    if found["plain"]:
        unit, by = found["plain"], PLAIN[found["plain"]]
    for k, name in enumerate(UNITS):
        if found[f"unit{k}"]:
            unit, by = name, PREFIXES[found[f"prefix{k}"]]
    if found["power"]:
        by *= 10.0 ** int(found["power"].translate(_RAISED))
    sign = -1.0 if found["sign"] in {"−", "-"} else 1.0
    return Figure(sign * float(digits) * by, last / 2 * by, unit, found[0])
