"""Many small systems at once: inverses with their condition, and which cables are slack.

s : systems;   c : cases;   n : unknowns;   k : cables
"""

from __future__ import annotations

import numpy as np

from femcore.base.arrays import BoolArray, FloatArray
from femcore.solvers.frame_changes import Numbers

REL_TOL_SLACK = 1e-12
"""Of the largest tension: a smaller compression in a cable is rounding, and treated as zero."""
MAX_SLACK_ITERATIONS = 30
"""Changes of the set of slack cables; two or three are usual."""


def inverses(systems: Numbers) -> tuple[Numbers, FloatArray]:
    """Inverses of (s, n, n), and (s,), their condition in the largest sum of a row; inf where there is none."""
    if not systems.shape[1]:
        return systems, np.ones(len(systems))
    singular = np.zeros(len(systems), dtype=bool)
    try:
        inverse = np.linalg.inv(systems)
    except np.linalg.LinAlgError:
        singular = np.linalg.slogdet(systems).sign == 0
        inverse = np.linalg.inv(np.where(singular[:, None, None], np.eye(systems.shape[1]), systems))
    sizes = (np.abs(one).sum(axis=2).max(axis=1) for one in (systems, inverse))
    return inverse, np.where(singular, np.inf, np.prod(list(sizes), axis=0))


def scaled_solutions(systems: Numbers, scale: FloatArray, right: Numbers) -> tuple[Numbers, FloatArray]:
    """z (s, c, n) of systems (s, n, n) z = right (s, c, n), and (s,), their condition with rows and columns scaled to near 1.

    scale : (n,), by which rows of different units are comparable
    """
    rows = systems / scale[:, None]
    columns = _sizes(rows, 1)
    again = _sizes(rows / columns, 2)
    inverse, condition = inverses(rows / columns / again)
    return (right / scale / again.swapaxes(1, 2)) @ inverse.swapaxes(1, 2) / columns, condition


def _sizes(systems: Numbers, axis: int) -> FloatArray:
    size = np.linalg.norm(systems, axis=axis, keepdims=True)
    return np.where(size > 0, size, 1.0)


def slack_gaps(tension: Numbers, of_gaps: Numbers) -> tuple[BoolArray, Numbers, BoolArray]:
    """Which cables are slack (s, c, k), their gaps, and (s,) whether that was found; tension : (s, c, k), all taut.

    No taut cable pushes, and no slack one is longer than it is between its ends: a linear complementarity problem of a
    symmetric positive definite matrix, by changing the set of slack cables until it is consistent.
    """
    least = REL_TOL_SLACK * np.abs(tension).max(axis=(1, 2), initial=0.0)
    slack = tension.real < -least[:, None, None]
    gaps, found = np.zeros_like(tension), np.ones(len(tension), dtype=bool)
    row, case = np.nonzero(slack.any(axis=2))
    for _ in range(MAX_SLACK_ITERATIONS):
        if not len(row):
            break
        gaps[row, case] = 0.0
        pattern = slack[row, case]
        for one in np.unique(pattern, axis=0):
            of = (pattern == one).all(axis=1)
            at, system = np.flatnonzero(one), of_gaps[row[of]][:, one][:, :, one]
            gaps[row[of][:, None], case[of][:, None], at] = -(
                tension[row[of], case[of]][:, None, at] @ inverses(system)[0]
            )[:, 0]
        pulled = tension[row, case] + np.einsum("sk,skj->sj", gaps[row, case], of_gaps[row])
        wrong = np.where(pattern, gaps[row, case].real > 0, pulled.real < -least[row, None])
        slack[row, case] = pattern ^ wrong
        row, case = row[wrong.any(axis=1)], case[wrong.any(axis=1)]
    found[row] = False
    return slack, gaps, found & np.isfinite(gaps).all(axis=(1, 2))


__all__ = ["inverses", "scaled_solutions", "slack_gaps"]
