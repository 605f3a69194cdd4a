"""What somebody meant by a quantity that does not read: usual slips, each with its own sentence and the text to write instead.

A text is proposed only where it reads as the quantity that is needed.
"""

from __future__ import annotations

import re

from femcore.base.unit_traps import Reader, trap

MAX_LENGTH = 60
"""Characters of a text that is tried for slips: a quantity that somebody wrote is shorter."""
_USUAL = (
    "mm", "cm", "m", "km", "ft", "inch", "N", "daN", "kN", "MN", "lbf", "kgf", "Pa", "kPa", "MPa", "GPa", "psi", "g", "kg", "t",
    "lb", "rad", "deg", "s", "Hz", "K",
)  # fmt: skip
_BY_SMALL_LETTERS = {unit.lower(): unit for unit in _USUAL}
_TOGETHER = re.compile(r"(da|k|M|m)?N(mm|cm|m)", re.IGNORECASE)
"""A force and a length with no sign between them."""
_OTHER_WORDS = {
    "gsm": "g/m**2", "osy": "oz/yd**2", "pcf": "lb/ft**3", "psf": "lbf/ft**2", "plf": "lbf/ft",
    '"': "inch", "″": "inch", "'": "ft", "′": "ft", "sqm": "m**2", "sqft": "ft**2",
    "gm": "g", "gms": "g", "kgs": "kg", "kilo": "kg", "kilos": "kg", "kp": "kgf", "kgm": "kgf*m", "tm": "tf*m",
    "ft-lb": "ft*lbf", "ft-lbs": "ft*lbf", "lb-ft": "lbf*ft", "in-lb": "in*lbf", "in-lbs": "in*lbf", "lb-in": "lbf*in",
    "metric ton": "t", "metric tons": "t", "long ton": "long_ton", "long tons": "long_ton", "short ton": "short_ton",
    "short tons": "short_ton", "nautical mile": "nmi", "nautical miles": "nmi", "/K": "1/K", "per K": "1/K",
}  # fmt: skip
_WHERE_NEEDED = {
    "m/s**2": {"g": "g_0", "G": "g_0", "gee": "g_0"},
    "K": dict.fromkeys(("C", "°C", "degC", "celsius"), "delta_degC")
    | dict.fromkeys(("F", "°F", "degF", "fahrenheit"), "delta_degF"),
    "1/K": {"1/C": "1/K", "/C": "1/K", "/°C": "1/K", "/degC": "1/K"},
}
"""Words that mean something else where another quantity is needed."""
_FEET_AND_INCHES = re.compile(
    r"""^\s*(\d+)\s*(?:ft|feet|foot|['′])[\s-]*(\d+(?:\.\d*)?)\s*(?:in|inch|inches|["″])\s*$"""
)
_FRACTION = re.compile(r"^\s*(?:(\d+)[\s-]+)?(\d+)/(\d+)\s*([^\d\s/].*?)\s*$")
_POWERS = str.maketrans({"²": "**2", "³": "**3", "⁴": "**4", "·": "*", "^": "**"})
_BY_GRAVITY = (("*standard_gravity", "mass", "weight"), ("/standard_gravity", "force", "mass of that weight"))


def slip(text: str, unit: str, kind: str, factor: Reader) -> tuple[str, str] | None:
    """What is wrong with a text that does not read, and its cure; None where it is no usual slip.

    unit : the SI unit that is needed;   kind : what it measures, such as "a force";   factor : how units are read
    """
    if len(text) > MAX_LENGTH:
        return None
    number, written = _split(text)
    if (found := _number_slip(text, number)) is not None:
        return found
    if (found := _in_parts(text)) is not None and _reads(factor, found[1]):
        return f"'{text}' has its number in parts", f'write "{found[0]} {found[1]}"'
    meant = spelled(written, unit)
    if meant != written and (doubt := trap(text, number, meant, unit, factor)):
        return doubt
    if meant != written and _reads(factor, meant):
        if meant.startswith("delta_"):
            why = "is a point on a temperature scale, not a difference"
        elif any(_TOGETHER.fullmatch(word) for word in re.findall(r"[A-Za-z]+", written)):
            why = "puts no sign between force and length"
        else:
            why = f"has the unit '{written}', which is not spelled so here"
        return f"'{text}' {why}", f'write "{number} {meant}"'
    return _weight_or_mass(text, unit, kind, factor)


def _in_parts(text: str) -> tuple[str, str] | None:
    """One number and unit of "5 ft 6 in" and "2 1/2 inch"; None of what is neither."""
    if match := _FEET_AND_INCHES.match(text):
        return f"{12 * float(match[1]) + float(match[2]):g}", "inch"
    if (match := _FRACTION.match(text)) and float(match[3]):
        return f"{float(match[1] or 0) + float(match[2]) / float(match[3]):.6g}", spelled(match[4], "")
    return None


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


def spelled(written: str, unit: str) -> str:
    """The unit in the spelling that is read: signs between factors, powers by **, small and capital letters as usual.

    unit : the SI unit that is needed
    """
    plain = written.translate(_POWERS)
    known = _OTHER_WORDS | _WHERE_NEEDED.get(unit, {})
    if plain in known:
        return known[plain]

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
    meant = spelled(written, unit)
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
