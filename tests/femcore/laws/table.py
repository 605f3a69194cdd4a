"""The table that laws are entered in, and what they share.

A law is a function of a seed that gives the size of its worst violation. Laws stand apart from the tests so
that each can be asked again under a planted fault.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from femcore.base.errors import ForebeamError
from femcore.solvers.solution import solve


@dataclass(frozen=True)
class Law:
    """A law, how far it is violated for a seed, and how far rounding may violate it."""

    name: str
    sentence: str
    violation: Callable[[int], float]
    limit: float
    drawn: bool = True
    """Whether the seed matters."""

    def holds(self, seed):
        """Whether it holds; an answer refused is a law broken."""
        try:
            return self.violation(seed) <= self.limit
        except (ForebeamError, ArithmeticError, ValueError, np.linalg.LinAlgError):
            return False


LAWS: dict[str, Law] = {}


def law(limit, drawn=True):
    """Enter a function of a seed into the table of laws."""

    def enter(function):
        LAWS[function.__name__] = Law(
            function.__name__, " ".join(function.__doc__.split()), function, limit, drawn
        )
        return function

    return enter


def solved(given):
    """The solution of a specimen."""
    return solve(given.frame, given.loads)


def differ(a, b):
    """Largest difference over the largest value, movements and rotations (or forces and moments) apart."""
    a, b = np.atleast_1d(np.asarray(a, dtype=float)), np.atleast_1d(np.asarray(b, dtype=float))
    if a.shape[-1] == 6:
        return max(differ(a[..., :3], b[..., :3]), differ(a[..., 3:], b[..., 3:]))
    return float(np.abs(a - b).max() / max(np.abs(b).max(), np.finfo(float).tiny))
