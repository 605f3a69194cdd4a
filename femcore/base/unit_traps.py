"""Units that read but may mean another amount than the writer's: each has its own sentence and the units to write instead.

A "ton" is 1000, 907 or 1016 kg, a "nm" a nautical mile or a nanometre: whoever reads it quietly as one of them is wrong by a
factor that no later check sees. A trap is one only where a unit proposed instead fits the quantity that is needed.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from typing import NamedTuple

Reader = Callable[[str], float]
"""The factor to SI of a unit as written; ValueError where it is not one of the quantity that is needed."""


class Trap(NamedTuple):
    """Words for a unit, what they may mean, and what to write for each meaning."""

    words: frozenset[str]
    why: str
    write: tuple[str, ...]


def _trap(words: str, why: str, *write: str) -> Trap:
    return Trap(frozenset(words.split()), why, write)


TRAPS = (
    _trap(
        "ton tons",
        "may count tonnes of 1000 kg, short tons of 907 kg or long tons of 1016 kg",
        "t", "short_ton", "long_ton", "tf", "short_ton_force", "long_ton_force",
    ),
    _trap(
        "ton_force tons_force force_ton tonf",
        "may count tonnes-force of 9.81 kN, short ones of 8.90 kN or long ones of 9.96 kN",
        "tf", "short_ton_force", "long_ton_force",
    ),
    _trap(
        "cwt hundredweight hundredweights",
        "may count short hundredweights of 45.4 kg or long ones of 50.8 kg",
        "short_hundredweight", "long_hundredweight",
    ),
    _trap(
        "gal gallon gallons",
        "may count US gallons of 3.79 litres or imperial ones of 4.55 litres",
        "US_liquid_gallon", "imperial_gallon",
    ),
    _trap("gr", "may count grams or grains of 0.0648 g", "g", "grain"),
    _trap("mile miles", "may count nautical miles of 1852 m or statute miles of 1609 m", "nmi", "mi"),
    _trap("nm NM", "may count nautical miles or nanometres", "nmi"),
    _trap("mil mils", "may count thousandths of an inch, millimetres or thousandths of a radian", "thou", "mm", "mrad"),
    _trap("grad grads grade grades", "may count degrees or gons (400 to a full turn)", "deg", "gon"),
    _trap("Mm", "counts megametres, thousands of kilometres", "mm", "m"),
    _trap("mPa", "counts millipascals, of which MPa has 10⁹", "MPa", "Pa"),
    _trap("mN", "counts millinewtons, of which MN has 10⁹", "MN", "N"),
    _trap("dN", "counts decinewtons, tenths of a newton; daN are tens", "daN", "N"),
    _trap("mt Mt MT", "may count tonnes, or thousandths or millions of them", "t", "tf"),
    _trap(
        "oz ounce ounces",
        "may weigh cloth by the square yard or chopped mat by the square foot",
        "oz/yd**2", "oz/ft**2",
    ),
)  # fmt: skip
"""Sizes: NIST Handbook 44, appendix C (from memory); ounces of cloth and mat: common practice."""
_BY_WORD = {word: one for one in TRAPS for word in one.words}
SHORT = 2
"""Letters of a unit in which small and capital ones differ: mt and MT, not tons and TONS."""
_WORD = re.compile(r"[^\W\d]\w*")
_ANGLES = re.compile(
    r"(?<!\w)(?:[mkuμµ]?rad|(?:milli|micro)?radians?|deg|degrees?|°|gon|grad(?:e|ian)?s?|mils?|turns?|revolutions?|cycles?|rp[ms]|arc_?(?:min|sec)\w*)"
    r"(?!\w)"
)


def names_angle(written: str) -> bool:
    """Whether a unit counts an angle: to a library of units a radian has no dimension."""
    return _ANGLES.search(written) is not None


def trap(text: str, number: str, written: str, unit: str, factor: Reader) -> tuple[str, str] | None:
    """Why the unit of a text may mean another amount, and the texts to write instead; None where it means one alone.

    number, written : the text's numbers and its unit as written
    unit            : the SI unit that is needed;   factor : how units are read
    """
    if unit == "Hz" and names_angle(written) and (per_second := _reads(factor, written)):
        shown = " ".join(f"{float(each) * per_second / math.tau:.6g}" for each in number.split())
        return f"'{text}' counts an angle, a frequency whole cycles", f'write "{shown} Hz"'
    if unit == "N*m/rad" and not names_angle(written) and _reads(factor, f"{written}/rad"):
        return (
            f"'{text}' names no angle: per radian and per degree differ by a factor of 57",
            _cure(number, (f"{written}/rad", f"{written}/deg")),
        )
    for word in _WORD.findall(written):
        one = _BY_WORD.get(word) or _BY_WORD.get(word.lower() if len(word) > SHORT else word)
        if one is not None:
            instead = (re.sub(rf"(?<!\w){word}(?!\w)", each, written) for each in one.write)
            if fits := tuple(each for each in instead if _reads(factor, each)):
                return f"'{text}' {one.why}", _cure(number, fits)
    return None


def _cure(number: str, units: tuple[str, ...]) -> str:
    *most, last = (f'"{number} {unit}"' for unit in units)
    return f"write {', '.join(most)} or {last}" if most else f"write {last}"


def _reads(factor: Reader, written: str) -> float | None:
    try:
        return factor(written)
    except ValueError:
        return None
