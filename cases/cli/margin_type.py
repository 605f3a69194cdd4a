"""A margin on the command line: a number, or a percentage."""

from __future__ import annotations

import math

import click

LEAST_MARGIN, MOST_MARGIN = -0.5, 20.0


class MarginType(click.ParamType[float]):
    """``0.1`` and ``10%`` are the same margin; from -0.5 to 20."""

    name = "margin"

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """The margin as a number; a usage error, exit status 2, where it is none or out of bounds."""
        text = str(value).strip()
        try:
            margin = float(text.removesuffix("%")) / (100.0 if text.endswith("%") else 1.0)
        except ValueError:
            margin = math.nan
        if not LEAST_MARGIN <= margin <= MOST_MARGIN:
            self.fail(
                f"'{text}' is no margin from {LEAST_MARGIN:g} to {MOST_MARGIN:g}; give 0.1 or 10%", param, ctx
            )
        return margin
