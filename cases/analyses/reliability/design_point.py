"""The first-order reliability method: the likeliest failure, its distance in standard deviations, and what it is made of.

Inputs are standard normal variables u; a limit state g(u) is below zero where it is violated. The design point u* is the point
of g = 0 nearest to the origin, the reliability index β = |u*|, negative where g(0) < 0, and P(g < 0) ≈ Φ(−β): exact where g is
linear in u. Squares of the direction cosines of u* sum to 1: the importance factors.
Source: A.M. Hasofer & N.C. Lind, Exact and invariant second-moment code format, J. Eng. Mech. Div. ASCE 100 (1974) 111–121;
R. Rackwitz & B. Fiessler, Structural reliability under combined random load sequences, Comput. Struct. 9 (1978) 489–494 (both
from memory).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.optimize import minimize
from scipy.special import ndtr

from femcore.base.arrays import FloatArray

LimitState = Callable[[FloatArray], FloatArray]
"""(s, n) standard normal inputs → (s,), below zero where violated; all samples at once."""
STEP = 1e-4
"""Of central differences in u: g is smooth but for the kinks of a largest value, and known to about 1e-12."""
MAX_INDEX = 8.0
"""A reliability index beyond which none is quoted: Φ(−8) is 6e-16, and no distribution here is known so far out."""
REL_TOL_ON_LIMIT = 1e-5
"""|g| at the design point over the change of g per standard deviation there: a smaller one is on the limit."""
RAY_POINTS = 25
"""Of a direction in which the limit is looked for: a third of a standard deviation apart."""
MAX_ITERATIONS = 25
FTOL = 1e-9
"""Of ½β² between iterations: β is then known to some 1e-6."""


@dataclass(frozen=True, eq=False)
class DesignPoint:
    """The likeliest violation of a limit state.

    index      : β; inf (−inf) where the limit is not reached within `MAX_INDEX` of a sound (violated) median
    u          : (n,), the design point;   importance : (n,), squares of its direction cosines, sum 1; zeros without a point
    """

    index: float
    u: FloatArray
    importance: FloatArray

    @property
    def chance(self) -> float:
        """Φ(−β), of g < 0."""
        return float(ndtr(-self.index))


def value_and_gradient(g: LimitState, u: FloatArray) -> tuple[float, FloatArray]:
    """Of g at u (n,), its gradient (n,) by central differences, in one call."""
    count, steps = len(u), STEP * np.eye(len(u))
    found = g(np.concatenate([u[None], u + steps, u - steps]))
    return float(found[0]), np.asarray((found[1 : count + 1] - found[count + 1 :]) / (2 * STEP))


def design_point(g: LimitState, count: int, start: FloatArray | None = None) -> DesignPoint:
    """Of a limit state of `count` inputs: the nearest point of the limit in the direction in which it is approached.

    start : (count,), a point in whose direction the limit is looked for first; left out, and after it, along the tangent at the
            median. Along either the search begins where g changes its sign; where it does so along neither, there is no point.
    """
    at_median, slope = value_and_gradient(g, np.zeros(count))
    steepest = float(np.linalg.norm(slope))
    sign = 1.0 if at_median >= 0 else -1.0
    nothing = DesignPoint(sign * np.inf, np.zeros(count), np.zeros(count))
    towards = -sign * slope / steepest if steepest else np.zeros(count)
    scale = steepest or 1.0
    u = None
    for direction in ([] if start is None else [start / (np.linalg.norm(start) or 1.0)]) + [towards]:
        first = _crossing(g, direction)
        u = None if first is None else _nearest(g, first, scale)
        if u is not None:
            break
    if u is None:
        return nothing
    index = float(np.linalg.norm(u))
    if index > MAX_INDEX:
        return nothing
    return DesignPoint(sign * index, u, (u / index if index > 0 else towards) ** 2)


def _crossing(g: LimitState, direction: FloatArray) -> FloatArray | None:
    """The first point along a unit vector at which g changes its sign; None where it does not within `MAX_INDEX`."""
    along = np.linspace(0.0, MAX_INDEX, RAY_POINTS)
    values = g(along[:, None] * direction)
    changed = np.flatnonzero((values[1:] < 0) != (values[0] < 0))
    if not len(changed):
        return None
    before = int(changed[0])
    part = values[before] / (values[before] - values[before + 1])
    return np.asarray((along[before] + part * (along[before + 1] - along[before])) * direction)


def _nearest(g: LimitState, start: FloatArray, scale: float) -> FloatArray | None:
    """A point of g = 0 that is nearest to the origin in its neighbourhood; None where the search ends off the limit."""
    count = len(start)
    known: tuple[bytes, float, FloatArray] = (b"", 0.0, start)

    def both(u: FloatArray) -> tuple[float, FloatArray]:
        """g and its gradient over `scale`, in one call."""
        nonlocal known
        if known[0] != u.tobytes():
            value, slope = value_and_gradient(g, u)
            known = u.tobytes(), value / scale, slope / scale
        return known[1], known[2]

    search: Any = minimize  # its stubs know no gradient beside constraints
    done = search(
        lambda u: 0.5 * float(u @ u), start, jac=lambda u: u, method="SLSQP",
        bounds=[(-MAX_INDEX, MAX_INDEX)] * count,
        constraints={"type": "eq", "fun": lambda u: both(u)[0], "jac": lambda u: both(u)[1]},
        options={"maxiter": MAX_ITERATIONS, "ftol": FTOL},
    )  # fmt: skip
    u = np.asarray(done.x, dtype=float)
    value, slope = both(u)
    return u if abs(value) <= REL_TOL_ON_LIMIT * max(float(np.linalg.norm(slope)), 1e-12) else None


__all__ = ["DesignPoint", "LimitState", "design_point", "value_and_gradient"]
