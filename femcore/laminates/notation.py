"""The lay-up in a builder's notation, parsed into steps. The grammar is in the docstring of
`femcore.laminates`.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from femcore.base.errors import InputFault
from femcore.base.units import si
from femcore.materials import cloths, fibres, pick

DEFAULT_ANGLE: Final = {"uni": 0.0, "db": 45.0, "biax": 0.0, "woven": 0.0, "csm": 0.0}
HELP: Final = (
    'write "2x uni 300 @0", "db 450 @45", "csm 300", "core foam80 20 mm", "ply okoume_ply 9 mm @0", '
    '"mirror" or "mirror on last"'
)

MAX_COUNT = 1000
"""Of one layer in an item: 1000 of the lightest cloth are a fifth of a metre, thicker than any wall."""
_COUNT = re.compile(r"^\s*(?:(\d+)\s*x\s+)?(.*?)\s*$")
_ANGLE = re.compile(r"^(.*?)\s*(?:@\s*([+-]?\d+(?:\.\d+)?))?$")
_NUMBER = re.compile(r"^-?\d+(?:\.\d+)?$")


@dataclass(frozen=True)
class ClothStep:
    """A cloth: kind, fibre ("" for the laminate's own), weight (kg/m² of dry fibre), angle (rad)."""

    cloth: str
    fibre: str
    areal_weight: float
    angle: float
    text: str


@dataclass(frozen=True)
class SolidStep:
    """A core or a ready-made ply: name, thickness (m), angle (rad)."""

    kind: str
    name: str
    thickness: float
    angle: float
    text: str


Step = ClothStep | SolidStep


def read_layup(items: Sequence[str], place: str = "layup") -> tuple[tuple[Step, ...], tuple[Step, ...]]:
    """Steps as laid, and the steps that a mirror adds in reverse (empty without one).

    Raises InputFault with the number and the words of the item that does not read.
    """
    if isinstance(items, str) or not items:
        raise InputFault(place, "no layers", f"list them; {HELP}")
    steps: list[Step] = []
    for number, item in enumerate(items, start=1):
        where = f"{place}[{number}]"
        if not isinstance(item, str):
            raise InputFault(where, f"{item!r} is no text", HELP)
        words = item.split()
        if words[:1] == ["mirror"]:
            return tuple(steps), _mirrored(steps, words, is_last=number == len(items), place=where)
        steps.extend(_read_item(item, where))
    return tuple(steps), ()


def _mirrored(steps: list[Step], words: list[str], *, is_last: bool, place: str) -> tuple[Step, ...]:
    if words not in (["mirror"], ["mirror", "on", "last"]):
        raise InputFault(place, f"'{' '.join(words)}' does not read", 'write "mirror" or "mirror on last"')
    if not is_last:
        raise InputFault(place, "layers follow the mirror", "put it last: it repeats all above it in reverse")
    if not steps:
        raise InputFault(place, "nothing to mirror", "list layers above it")
    return tuple(steps if len(words) == 1 else steps[:-1])


def _read_item(item: str, place: str) -> list[Step]:
    counted = _COUNT.match(item)
    assert counted is not None  # noqa: S101  (the pattern matches any text)
    digits = (counted[1] or "1").lstrip("0")
    if not digits:
        raise InputFault(place, f"'{item}' lays nothing", "give a count of one or more")
    if len(digits) > len(str(MAX_COUNT)) or int(digits) > MAX_COUNT:
        raise InputFault(place, f"'{item}' lays more than {MAX_COUNT} layers", "give the count that is laid")
    count = int(digits)
    angled = _ANGLE.match(counted[2])
    if angled is None or not angled[1].split():
        raise InputFault(place, f"'{item}' does not read as a layer", HELP)
    degrees = None if angled[2] is None else float(angled[2])
    words = angled[1].split()
    read = _read_solid if words[0] in {"core", "ply"} else _read_cloth
    return [read(words, degrees, item, place)] * count


def _read_solid(words: list[str], degrees: float | None, item: str, place: str) -> Step:
    kind = words[0]
    example = '"core foam80 20 mm"' if kind == "core" else '"ply okoume_ply 9 mm @0"'
    if len(words) < 3:
        raise InputFault(place, f"'{item}' does not read", f"write the name and the thickness: {example}")
    if kind == "core" and degrees is not None:
        raise InputFault(place, f"'{item}' gives a core an angle", "leave the angle out: a core has none")
    thickness = si(" ".join(words[2:]), "m", place)
    if thickness <= 0:
        wrong = f"a thickness of {1000 * thickness:g} mm is impossible"
        raise InputFault(place, wrong, f"give one above zero: {example}")
    return SolidStep(kind, words[1], thickness, math.radians(degrees or 0.0), item)


def _read_cloth(words: list[str], degrees: float | None, item: str, place: str) -> Step:
    kind = pick(cloths(), words[0], "cloth", place).name
    if len(words) not in (2, 3) or not _NUMBER.match(words[-1]):
        cure = f'write cloth, fibre if it is another, weight in g/m² and angle: "{kind} 300 @0"'
        raise InputFault(place, f"'{item}' does not read", cure)
    if kind == "csm" and degrees is not None:
        raise InputFault(place, f"'{item}' gives mat an angle", "leave the angle out: mat has none")
    fibre = pick(fibres(), words[1], "fibre", place).name if len(words) == 3 else ""
    weight = float(words[-1]) / 1000
    if weight <= 0:
        wrong = f"a cloth of {words[-1]} g/m² is impossible"
        raise InputFault(place, wrong, f'give a weight above zero: "{kind} 300 @0"')
    return ClothStep(
        kind, fibre, weight, math.radians(DEFAULT_ANGLE[kind] if degrees is None else degrees), item
    )
