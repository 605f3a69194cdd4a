"""Fields that the page makes of the tables of a file: every value by its dotted key, with what a slider moves of it."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator
from typing import Any

from cases.input.variants import key_step

QUANTITY = re.compile(r"^\s*((?:[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?\s+)+)([^\s0-9].*?)\s*$")
"""Numbers and their unit."""
NOT_CHANGED = ("name", "note", "kind")


def fields_of(
    value: Any,  # noqa: ANN401  (whatever the file holds)
    key: str,
    main: re.Pattern[str],
    left_out: Collection[str] = NOT_CHANGED,
) -> Iterator[dict[str, Any]]:
    """Every value below a key that is a number, a text or a list of plain values.

    main     : keys that are shown at once;   left_out : names of keys that are not shown
    pattern  : of a quantity with one number that is not zero, its text with "{}" in that number's place
    """
    if isinstance(value, dict):
        for name, one in value.items():
            if name not in left_out:
                yield from fields_of(one, f"{key}.{key_step(name)}", main, left_out)
    elif isinstance(value, list) and any(isinstance(one, dict | list) for one in value):
        for number, one in enumerate(value, 1):
            named = isinstance(one, dict) and isinstance(one.get("name"), str)
            yield from fields_of(one, f"{key}.{key_step(one['name']) if named else number}", main, left_out)
    else:
        pattern, moved, unit = _movable(value) if isinstance(value, str) else (None, None, None)
        yield {
            "key": key,
            "value": value,
            "pattern": pattern,
            "unit": unit,
            "number": moved,
            "main": main.fullmatch(key) is not None,
        }


def _movable(text: str) -> tuple[str | None, float | None, str | None]:
    """Pattern, number and unit of a quantity that a slider can move."""
    found = QUANTITY.match(text)
    numbers = found[1].split() if found else []
    moving = [place for place, one in enumerate(numbers) if float(one) != 0] if len(numbers) > 1 else [0]
    if found is None or len(moving) != 1:
        return None, None, None
    [place] = moving
    shown = ["{}" if number == place else one for number, one in enumerate(numbers)]
    return " ".join([*shown, found[2]]), float(numbers[place]), found[2]


__all__ = ["fields_of"]
