"""Types of the arrays that mechanics works on, and records of arrays whose `repr` is one line."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import fields
from functools import cached_property
from typing import Any, Self, TypeVar, cast

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]
Real = npt.NDArray[np.floating[Any]]
"""Of any precision."""

EXTENDED = np.longdouble
"""The precision of residuals and of deformed shapes; a double on some platforms, as `extended_digits` shows."""


T = TypeVar("T")


class Answer:
    """A frozen dataclass that keeps what is worked out from it; pickled as its fields alone."""

    def once(self, function: Callable[[Self], T]) -> T:
        """What a function makes of it, worked out when first asked for."""
        if function not in self._kept:
            self._kept[function] = function(self)
        return cast("T", self._kept[function])

    @cached_property
    def _kept(self) -> dict[Callable[[Self], Any], Any]:
        return {}

    def __getstate__(self) -> dict[str, Any]:
        return {one.name: getattr(self, one.name) for one in fields(self)}  # type: ignore[arg-type]


class ArrayRecord:
    """A dataclass of arrays (`repr=False`), whose `repr` shows the shapes of arrays and the sizes of mappings."""

    __slots__ = ()

    def __repr__(self) -> str:
        shown = (f"{one.name}={_brief(getattr(self, one.name))}" for one in fields(self))  # type: ignore[arg-type]
        return f"{type(self).__name__}({', '.join(shown)})"

    def is_same(self, other: ArrayRecord) -> bool:
        """Whether the other one is of this kind with the same values, to the last digit."""
        if type(self) is not type(other):
            return False
        pairs = ((getattr(self, one.name), getattr(other, one.name)) for one in fields(self))  # type: ignore[arg-type]
        return all(_are_same(*pair) for pair in pairs)


def _are_same(one: Any, other: Any) -> bool:  # noqa: ANN401  (any field)
    if isinstance(one, ArrayRecord):
        return one.is_same(other)
    return np.array_equal(one, other) if isinstance(one, np.ndarray) else bool(one == other)


def distinct_rows(rows: npt.NDArray[Any]) -> tuple[IntArray, IntArray]:
    """The first of every kind of row (s, …), by number, and (s,), which kind each is."""
    kinds: dict[bytes, int] = {}
    same = np.array([kinds.setdefault(row.tobytes(), len(kinds)) for row in rows], dtype=np.int64)
    first = np.full(len(kinds), len(rows), dtype=np.int64)
    np.minimum.at(first, same, np.arange(len(rows)))
    return first, same


def _brief(value: Any) -> str:  # noqa: ANN401  (any field)
    if isinstance(value, np.ndarray):
        return f"array{value.shape}"
    if isinstance(value, Mapping) or (isinstance(value, tuple) and len(value) > 8):
        return f"<{len(value)} entries>"
    text = repr(value)
    return text if len(text) <= 80 else f"<{type(value).__name__}>"


def listed(names: Iterable[str], most: int = 6) -> str:
    """Some names in quotes for one line: "'A', 'B' …"."""
    some = list(names)
    return ", ".join(f"'{name}'" for name in some[:most]) + (" …" if len(some) > most else "")
