"""What somebody meant by a quantity that does not read: usual slips, each with its own sentence and the text to write instead.

A text is proposed only where it reads as the quantity that is needed.
"""

from __future__ import annotations

import re
from collections.abc import Callable

MAX_LENGTH = 60
"""Characters of a text that is tried for slips: a quantity that somebody wrote is shorter."""
_USUAL = (
    "mm", "cm", "m", "km", "ft", "inch", "N", "kN", "MN", "lbf", "kgf", "Pa", "kPa", "MPa", "GPa", "psi", "g", "kg", "t", "lb",
    "rad", "deg", "s", "Hz", "K",
)  # fmt: skip
_BY_SMALL_LETTERS = {unit.lower(): unit for unit in _USUAL}
_TOGETHER = re.compile(r"(k|M|m)?N(mm|cm|m)", re.IGNORECASE)
"""A force and a length with no sign between them."""
_OTHER_WORDS = {"gsm": "g/m**2", '"': "inch", "″": "inch", "'": "ft", "′": "ft"}
_POWERS = str.maketrans({"²": "**2", "³": "**3", "⁴": "**4", "·": "*", "^": "**"})
_BY_GRAVITY = (("*standard_gravity", "mass", "weight"), ("/standard_gravity", "force", "mass of that weight"))

Reader = Callable[[str], float]
"""The factor to SI of a unit as written; ValueError where it is not one of the quantity that is needed."""


def slip(text: str, unit: str, kind: str, factor: Reader) -> tuple[str, str] | None:
    """What is wrong with a text that does not read, and its cure; None where it is no usual slip.

    unit : the SI unit that is needed;   kind : what it measures, such as "a force";   factor : how units are read
    """
    if len(text) > MAX_LENGTH:
        return None
    number, written = _split(text)
    if (found := _number_slip(text, number)) is not None:
        return found
    meant = _spelled(written)
    if meant != written and _reads(factor, meant):
        why = (
            "puts no sign between force and length"
            if any(_TOGETHER.fullmatch(word) for word in re.findall(r"[A-Za-z]+", written))
            else f"has the unit '{written}', which is not spelled so here"
        )
        return f"'{text}' {why}", f'write "{number} {meant}"'
    return _weight_or_mass(text, unit, kind, factor)


def _split(text: str) -> tuple[str, str]:
    """The numbers and the unit, without regard to how numbers are written."""
    match = re.match(r"^\s*([-+−\d.,\s]*\d[.,]?(?:[eE][-+]?\d+)?)\s*(.*?)\s*$", text)
    return (match[1], match[2]) if match else ("", text.strip())


def _number_slip(text: str, number: str) -> tuple[str, str] | None:
    if "−" in number:
        return f"'{text}' has a typographic minus sign", f'write "{text.replace("−", "-").strip()}"'
    if "," not in number:
        return None
    if re.search(r",\s", number):
        spaced = re.sub(r",\s+", " ", text).strip()
        return f"'{text}' has commas between its numbers", f'put spaces between them: "{spaced}"'
    if re.search(r"\d,\d{3}(?!\d)", number) or number.count(",") > 1 or "." in number:
        return (
            f"'{text}' has a comma in its number: decimals, or thousands",
            "write decimals after a point, and thousands without a sign, such as 1500.5",
        )
    return f"'{text}' has a decimal comma", f'write a decimal point: "{text.replace(",", ".").strip()}"'


def _spelled(written: str) -> str:
    """The unit in the spelling that is read: signs between factors, powers by **, small and capital letters as usual."""
    plain = written.translate(_POWERS)
    if plain in _OTHER_WORDS:
        return _OTHER_WORDS[plain]

    def word(match: re.Match[str]) -> str:
        name, power = match[1], match[2]
        if together := _TOGETHER.fullmatch(name):
            force = _BY_SMALL_LETTERS[f"{together[1] or ''}N".lower()]
            name = f"{force}*{together[2].lower()}"
        elif name not in _USUAL:
            name = _BY_SMALL_LETTERS.get(name.lower(), name)
        return f"{name}**{power}" if power else name

    return re.sub(r"([A-Za-z]+)(?:\*\*)?(\d?)", word, plain)


def _weight_or_mass(text: str, unit: str, kind: str, factor: Reader) -> tuple[str, str] | None:
    """A mass where a force is needed, alone, per length or per area; or a force where a mass is."""
    number, written = _split(text)
    meant = _spelled(written)
    for gravity, held, words in _BY_GRAVITY:
        scale = _reads(factor, meant + gravity) if meant else None
        if scale is not None and (unit.startswith("kg") == (held == "force")):
            try:
                shown = " ".join(f"{float(size) * scale:.6g}" for size in number.split())
            except ValueError:
                return None
            return f"'{text}' gives a {held} where {kind} is needed", f'write the {words}: "{shown} {unit}"'
    return None


def _reads(factor: Reader, unit: str) -> float | None:
    try:
        return factor(unit)
    except ValueError:
        return None
