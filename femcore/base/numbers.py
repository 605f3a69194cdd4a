"""Numbers and names for reading: SI prefixes, round numbers, names that fit."""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Sequence
from functools import lru_cache

import numpy as np
import numpy.typing as npt

HARD = "\N{NO-BREAK SPACE}"
SUPERSCRIPTS = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")
PREFIXES = {-9: "n", -6: "µ", -3: "m", 0: "", 3: "k", 6: "M", 9: "G"}


REL_TOL_ROUND_NUMBER = 1e-9
"""Of a power of ten, or of 1, 2 or 5 times one: a number below it by less is taken as that number."""


def engineering(value: float, unit: str, digits: int = 3) -> str:
    """A number in SI for reading, with a prefix: ``engineering(12345, "N") → '12.3 kN'``; of "kg" in g, kg or t."""
    if unit == "kg":
        return engineering(1000 * value, "g", digits).replace("Mg", "t").replace("Gg", "kt")
    if value == 0 or not np.isfinite(value):
        return f"{value:g} {unit}"
    power = _prefix_power(value)
    return f"{value / 10.0**power:.{digits}g} {PREFIXES[power]}{unit}"


def unit_prefix(largest: float, unit: str) -> tuple[float, str]:
    """What to divide values in SI by, and the unit's text, so that the largest reads between 1 and 1000."""
    if not unit or largest == 0 or not math.isfinite(largest):
        return 1.0, unit
    power = _prefix_power(largest)
    return 10.0**power, PREFIXES[power] + unit


def _prefix_power(value: float) -> int:
    """The power of ten, a multiple of 3 from −9 to 9, of the prefix with which a finite value ≠ 0 reads between 1 and 1000."""
    return min(9, max(-9, 3 * math.floor((math.log10(abs(value)) + REL_TOL_ROUND_NUMBER) / 3)))


def finite(value: float) -> float | None:
    """The value; None, which JSON can hold, for an infinite one and for NaN."""
    return value if math.isfinite(value) else None


def superscript(text: str) -> str:
    """Digits and minus sign raised: ``superscript("-16") → '⁻¹⁶'``."""
    return text.translate(SUPERSCRIPTS)


def power_of_ten(value: float) -> str:
    """A small number for reading, one digit: ``2·10⁻¹⁶``."""
    if value == 0:
        return "0"
    figure, power = f"{value:.0e}".split("e")
    return f"{figure}·10{superscript(str(int(power)))}"


def largest(values: npt.ArrayLike) -> float:
    """The largest finite size among values, 0 where there is none."""
    sizes = np.abs(np.asarray(values, dtype=float))
    sizes = sizes[np.isfinite(sizes)]
    return float(sizes.max()) if sizes.size else 0.0


def round_down_125(value: float) -> float:
    """The largest of …, 1, 2, 5, 10, 20, 50, … that is not above a positive value."""
    power = 10.0 ** math.floor(math.log10(value))
    return max(step for step in (1, 2, 5) if step * power <= value * (1 + REL_TOL_ROUND_NUMBER)) * power


@lru_cache(maxsize=4096)  # tables repeat names in thousands of rows
def plain(text: str) -> str:
    """A name on one line, without characters that no picture or file can hold; a no-break space is kept."""
    kept = (" " if sign != HARD and unicodedata.category(sign)[0] in "ZC" else sign for sign in text)
    words = [word for word in "".join(kept).split(" ") if word.strip()]
    return " ".join(words) or "unnamed"


def shorten(text: str, most: int = 28) -> str:
    """A name that fits: plain, and with an ellipsis in its middle where it is longer than `most` characters."""
    name = plain(text)
    if len(name) <= most:
        return name
    head = (most - 1) * 2 // 3
    return name[:head].rstrip() + "…" + name[len(name) - (most - 1 - head) :].lstrip()


def unique_short_names(names: Sequence[str], most: int = 28) -> list[str]:
    """Names that fit and still differ: equal ones get a number."""
    short = [shorten(name, most) for name in names]
    return [
        name if short.count(name) == 1 else f"{shorten(name, most - 4)} ({short[: i + 1].count(name)})"
        for i, name in enumerate(short)
    ]


def slugs(names: Sequence[str]) -> list[str]:
    """A safe part of a file's name for each name, all different: lower-case letters, digits and hyphens."""
    found: list[str] = []
    for name in names:
        letters = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
        slug = re.sub(r"[^a-z0-9]+", "-", letters).strip("-")[:40].strip("-") or "unnamed"
        again = next(n for n in range(1, len(names) + 2) if (slug if n == 1 else f"{slug}-{n}") not in found)
        found.append(slug if again == 1 else f"{slug}-{again}")
    return found
