"""Wire, rod and rope: what a bend and a terminal leave of the breaking load, and how much of it may be used.

- Bend over a fixed radius, D = 2 × radius over d of the wire: the table of strength against D/d that wire
  rope makers print (read: 40 95 %, 30 93, 20 91, 15 89, 10 86, 8 83, 6 79, 4 75, 2 65, 1 50), linear
  between; tighter than 1 it is not known. It is for stranded rope: 1x19 strand is stiffer and worse, rod
  must not be bent so at all.
- Terminals (common practice): `TERMINALS`. The weakest place governs: bend and terminal do not multiply.
- Working load: no more than `line_fraction` of what is left.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from femcore.base.arrays import FloatArray
from models.strength.bounds import require_positive
from models.strength.margins import Check, SafetyFactors, checked, not_checked

BEND_EFFICIENCY: Final = {
    1.0: 0.50, 2.0: 0.65, 4.0: 0.75, 6.0: 0.79, 8.0: 0.83,
    10.0: 0.86, 15.0: 0.89, 20.0: 0.91, 30.0: 0.93, 40.0: 0.95,
}  # fmt: skip
"""D/d → part of the breaking load."""

TERMINALS: Final = {"swaged": 0.95, "mechanical": 0.90, "spliced": 0.90, "clamped": 0.80, "knotted": 0.50}
"""Part of the breaking load that a way to end a line leaves (common practice)."""


@dataclass(frozen=True)
class Wire:
    """A line of `breaking` load, N, and `diameter`, m, bent over `radius`, m (None: straight), ended by a
    `terminal`.
    """

    breaking: float
    diameter: float
    radius: float | None = None
    terminal: float = 0.90

    def __post_init__(self) -> None:
        require_positive("line", breaking_load=self.breaking, diameter=self.diameter, terminal=self.terminal)
        if self.radius is not None:
            require_positive("line", radius=self.radius)


def bend_efficiency(ratio: float) -> float:
    """Part of the breaking load left at D/d = `ratio`; NaN below 1, not known; 0.95 beyond 40."""
    if ratio < min(BEND_EFFICIENCY):
        return math.nan
    return float(np.interp(ratio, list(BEND_EFFICIENCY), list(BEND_EFFICIENCY.values())))


def deviation_force(tension: FloatArray, deflection_angle: float) -> FloatArray:
    """N, what a line under `tension` puts on what turns it by `deflection_angle`, rad: 2 T sin(turn/2)."""
    return np.asarray(2 * tension * math.sin(deflection_angle / 2))


def wire_checks(part: str, line: Wire, tension: FloatArray, factors: SafetyFactors) -> tuple[Check, ...]:
    """The line at its terminal and over its bend, under `tension` (cases,), N; a slack line is not loaded."""
    T, factor = np.maximum(tension, 0.0), factors.safety_factor("line")
    terminal_check = checked(
        part, "line at its terminal", T, line.terminal * line.breaking, "N", factor, "common practice"
    )
    if line.radius is None:
        return (terminal_check,)
    ratio, name = 2 * line.radius / line.diameter, "line over its bend"
    efficiency = bend_efficiency(ratio)
    if math.isnan(efficiency):
        why = f"it is bent over {ratio:.2g} of its own diameter; no strength is known below 1"
        return terminal_check, not_checked(part, name, len(T), why)
    return terminal_check, checked(
        part, name, T, efficiency * line.breaking, "N", factor, "wire rope makers' table, D/d"
    )
