"""Checks of what Python gives: numbers, vectors and names, each refused with place, fault and cure as a file's are."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import numpy.typing as npt

from femcore.base.arrays import FloatArray
from femcore.base.errors import InputFault, unknown


def finite(place: str, value: npt.ArrayLike, shape: tuple[int, ...] | None = None) -> FloatArray:
    """An array of finite numbers, of `shape` where given; InputFault where it is not."""
    numbers = real(place, value, shape)
    if not np.isfinite(numbers).all():
        raise InputFault(place, f"{_shown(value)} is not finite", "give finite numbers in SI")
    return numbers


def non_negative(place: str, value: npt.ArrayLike, shape: tuple[int, ...] | None = None) -> FloatArray:
    """An array of numbers that are not negative (inf is one), of `shape` where given; InputFault where it is not."""
    numbers = real(place, value, shape)
    if not (numbers >= 0).all():
        raise InputFault(place, f"{_shown(value)} is negative or no number", "give at least 0, in SI")
    return numbers


def positive(place: str, value: npt.ArrayLike) -> FloatArray:
    """An array of numbers above 0 (inf is one); InputFault where it is not."""
    numbers = real(place, value)
    if not (numbers > 0).all():
        raise InputFault(place, f"{_shown(value)} is not above 0", "give more than 0, in SI")
    return numbers


def real(place: str, value: npt.ArrayLike, shape: tuple[int, ...] | None = None) -> FloatArray:
    """An array of numbers, of `shape` where given; InputFault where it is not."""
    try:
        numbers = np.asarray(value, dtype=float)
    except (TypeError, ValueError):
        raise InputFault(place, f"{_shown(value)} is not numeric", "give numbers in SI") from None
    if shape is not None and numbers.shape != shape:
        wanted = " × ".join(map(str, shape)) or "one"
        raise InputFault(
            place, f"has shape {numbers.shape} where {wanted} numbers are needed", "give as many"
        )
    return numbers


def known(place: str, what: str, name: object, names: Iterable[str]) -> str:
    """The name, which is one of `names`; InputFault, with the nearest of them, where it is not."""
    some = names if isinstance(names, dict) else list(names)
    if name not in some:
        raise unknown(place, what, str(name), some)
    return str(name)


def _shown(value: object) -> str:
    text = repr(value.tolist() if isinstance(value, np.ndarray | np.generic) else value)
    return text if len(text) <= 60 else text[:57] + "…"
