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
from scipy.stats import norm

from femcore.base.arrays import FloatArray

LimitState = Callable[[FloatArray], FloatArray]
"""(s, n) standard normal inputs → (s,), below zero where violated; all samples at once."""
STEP = 1e-4
"""Of central differences in u: g is smooth but for the kinks of a largest value, and known to about 1e-12."""
MAX_INDEX = 8.0
"""A reliability index beyond which none is quoted: Φ(−8) is 6e-16, and no distribution here is known so far out."""
REL_TOL_ON_LIMIT = 1e-6
"""|g| at the design point over the change of g per standard deviation there: a smaller one is on the limit."""
MAX_ITERATIONS = 60


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
        return float(norm.sf(self.index))


def gradient(g: LimitState, u: FloatArray) -> FloatArray:
    """(n,), of g at u (n,), by central differences in one call."""
    steps = STEP * np.eye(len(u))
    both = g(np.concatenate([u + steps, u - steps]))
    return np.asarray((both[: len(u)] - both[len(u) :]) / (2 * STEP))


def design_point(g: LimitState, count: int) -> DesignPoint:
    """Of a limit state of `count` inputs: the nearest of those that the search reaches from the median and from points near it.

    Starts are the median, the point where the tangent at the median reaches zero, and that tangent's direction at 3.
    """
    at_median = float(g(np.zeros((1, count)))[0])
    slope = gradient(g, np.zeros(count))
    steepest = float(np.linalg.norm(slope))
    sign = 1.0 if at_median >= 0 else -1.0
    nothing = DesignPoint(sign * np.inf, np.zeros(count), np.zeros(count))
    if steepest == 0.0:
        return nothing
    towards = -sign * slope / steepest
    distance = min(abs(at_median) / steepest, MAX_INDEX)
    found = [
        point
        for start in (np.zeros(count), distance * towards, 3.0 * towards)
        if (point := _nearest(g, start, steepest)) is not None
    ]
    if not found:
        return nothing
    u = min(found, key=lambda point: float(np.linalg.norm(point)))
    index = float(np.linalg.norm(u))
    if index > MAX_INDEX:
        return nothing
    toward_limit = u / index if index > 0 else towards
    return DesignPoint(sign * index, u, toward_limit**2)


def _nearest(g: LimitState, start: FloatArray, scale: float) -> FloatArray | None:
    """A point of g = 0 that is nearest to the origin in its neighbourhood; None where the search ends off the limit."""

    def value(u: FloatArray) -> float:
        return float(g(u[None])[0]) / scale

    def slope(u: FloatArray) -> FloatArray:
        return gradient(g, u) / scale

    search: Any = minimize  # its stubs know no gradient beside constraints
    done = search(
        lambda u: 0.5 * float(u @ u), start, jac=lambda u: u, method="SLSQP",
        bounds=[(-MAX_INDEX, MAX_INDEX)] * len(start),
        constraints={"type": "eq", "fun": value, "jac": slope},
        options={"maxiter": MAX_ITERATIONS, "ftol": 1e-12},
    )  # fmt: skip
    u = np.asarray(done.x, dtype=float)
    steepness = float(np.linalg.norm(slope(u)))
    return u if abs(value(u)) <= REL_TOL_ON_LIMIT * max(steepness, 1e-12) else None


__all__ = ["DesignPoint", "LimitState", "design_point", "gradient"]
