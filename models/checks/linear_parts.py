"""Parts whose utilisation is in proportion to one force: the martingale's lines and fittings, and the striker.

Each check is made once under a kilonewton; its margin under any number of forces is a ratio. What does not grow with the force (a
glue line's thermal stress) is left out, as are walls, which many actions share.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from femcore.base.arrays import BoolArray, FloatArray
from models.boat.boat import Boat
from models.checks.beam_parts import PartLoads, beam_part_checks
from models.strength.margins import SafetyFactors, with_extreme_loads

LinearForce = Literal["tension of the martingale", "compression of the striker"]
FORCES: tuple[LinearForce, ...] = ("tension of the martingale", "compression of the striker")
UNIT = 1e3
"""N, under which each check is made."""
REL_TOL_UNLOADED = 1e-12
"""Of the largest utilisation: a smaller one under a force is rounding, and the part is not loaded by it."""


@dataclass(frozen=True, slots=True)
class LinearPart:
    """A check of a part, and the force, N, at which its margin is 0: under working loads, and under extreme ones."""

    part: str
    check: str
    force: LinearForce
    limit: float
    extreme_limit: float


def linear_parts(boat: Boat, factors: SafetyFactors) -> tuple[LinearPart, ...]:
    """All of a boat, those with the lowest limit first."""
    single = np.eye(2) * UNIT
    nothing = np.zeros(2)
    loads = PartLoads(
        striker_compression=single[1], tension=single[0], stay=np.zeros((2, 3)), crossbeam=np.zeros((2, 1, 6)),
        longeron=None, longeron_ends=None, buckling_utilisation=nothing,
    )  # fmt: skip
    checks = [
        one for one in beam_part_checks(boat, loads, factors) if one.kind == "checked" and one.steady is None
    ]
    extreme = with_extreme_loads(checks, np.ones(2, dtype=bool))
    found = [
        LinearPart(one.part, one.check, force, *(UNIT * (1 + float(of.margin[row])) for of in (one, other)))
        for one, other in zip(checks, extreme, strict=True)
        for row, force in enumerate(FORCES)
        if np.isfinite(one.margin[row])
    ]
    found.sort(key=lambda one: one.limit)
    return tuple(one for one in found if one.limit * REL_TOL_UNLOADED < found[0].limit)


def linear_margins(
    parts: Sequence[LinearPart], forces: Mapping[LinearForce, FloatArray], extreme: BoolArray
) -> FloatArray:
    """(parts, …, c), of each check under forces (…, c), N, in cases (c,) of which some are extreme; infinite without force."""
    limits = [np.where(extreme, one.extreme_limit, one.limit) for one in parts]
    with np.errstate(divide="ignore"):
        found = [limit / forces[one.force] - 1 for one, limit in zip(parts, limits, strict=True)]
    return np.array(found)


__all__ = ["FORCES", "LinearForce", "LinearPart", "linear_margins", "linear_parts"]
