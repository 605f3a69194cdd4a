"""A number given as an option: within a range, and a number at all."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from typing import Any


class FiniteRange(click.FloatRange):
    """As click's, but "nan", which is beyond no bound, and "inf" are refused too."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:  # noqa: ANN401
        """The number; click's own fault where it is none, or out of range."""
        number = float(super().convert(value, param, ctx))
        if not math.isfinite(number):
            self.fail(f"{value!r} is no finite number.", param, ctx)
        return number
