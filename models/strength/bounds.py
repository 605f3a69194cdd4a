"""Guards on what a part is given."""

from __future__ import annotations

import math

from femcore.base.errors import InputFault


def require_positive(place: str, **values: float) -> None:
    """InputFault for the first value that is not a finite number above zero, named as its key."""
    for name, value in values.items():
        if not (math.isfinite(value) and value > 0):
            raise InputFault(place, f"{name.replace('_', ' ')} is {value:g}", "give a value above zero")


def require_larger(place: str, small: tuple[str, float], large: tuple[str, float]) -> None:
    """InputFault unless the second named value exceeds the first."""
    if not large[1] > small[1]:
        wrong = f"{large[0]} ({large[1]:g} m) does not exceed {small[0]} ({small[1]:g} m)"
        raise InputFault(place, wrong, "correct one of the two")
