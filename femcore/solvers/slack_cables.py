"""Which cables are slack in a linear frame: a small complementarity problem, solved exactly and without cycling.

With every cable counted as if it could push, the frame is linear: t = t_all. Where a cable is slack, a force c ≥ 0 is added
along it so that its tension becomes 0:

    t = t_all + (I − D S) c,      t ≥ 0,  c ≥ 0,  t · c = 0

S = Gᵀ K⁻¹ G is the flexibility of the frame (all cables in it) along the cables, D = diag(EA/l). D⁻¹ − S is symmetric and not
negative, so this is the optimum of a convex quadratic in c ≥ 0: as least squares with c ≥ 0 it is found by an active set that
strictly improves and so never cycles (C.L. Lawson & R.J. Hanson, Solving Least Squares Problems, 1974, ch. 23: scipy's nnls).
Nothing is factorised again: the slack set then corrects the factor by its rank.
"""

from __future__ import annotations

import numpy as np

from femcore.base.arrays import FloatArray

REL_TOL_SLACK_PUSH = 1e-12
"""Of the largest tension: a cable with a smaller c is at its limit, and not treated as slack."""
ABS_TOL_CABLE_STIFFNESS = 1e-10
"""Least eigenvalue of I − √D S √D over the slack cables, at most 1, below which the frame is a mechanism without them."""
REL_TOL_UNRESISTED_PRETENSION = 1e-8
"""Of the pretension: a smaller part of it along a mechanism is rounding."""

Slack = np.ndarray[tuple[int], np.dtype[np.bool_]]


def slack_cables(t_all: FloatArray, flexibility: FloatArray, stiffness: FloatArray) -> Slack:
    """(k,), which cables are slack.

    t_all : (k,), N, tensions (or pushes, negative) with every cable counted;   flexibility : S, (k, k), m/N
    stiffness : D, (k,), N/m
    """
    if np.all(t_all >= 0):
        return np.zeros(len(t_all), dtype=bool)
    from scipy.optimize import nnls  # noqa: PLC0415  (most frames have no slack cable, and start sooner)

    A = _scaled_stiffness(flexibility, stiffness)
    values, vectors = np.linalg.eigh(A)
    root = np.sqrt(np.maximum(values, ABS_TOL_CABLE_STIFFNESS))
    # ½ xᵀ A x + bᵀ x with x = √D⁻¹ c … as |R x − r|², A = Rᵀ R
    R = root[:, None] * vectors.T
    b = t_all / np.sqrt(stiffness)
    x, _ = nnls(R, -(vectors.T @ b) / root, maxiter=50 * len(b))
    return np.asarray(x * np.sqrt(stiffness) > REL_TOL_SLACK_PUSH * np.abs(t_all).max())


def is_stable_without(slack: Slack, flexibility: FloatArray, stiffness: FloatArray) -> bool:
    """Whether the frame keeps its stiffness without the slack cables."""
    if not slack.any():
        return True
    A = _scaled_stiffness(flexibility[np.ix_(slack, slack)], stiffness[slack])
    return bool(np.linalg.eigvalsh(A)[0] > ABS_TOL_CABLE_STIFFNESS)


def solve_undeformed_tension(
    pretension: FloatArray, flexibility: FloatArray, stiffness: FloatArray
) -> FloatArray | None:
    """(k,), N: tension t of the cables as drawn that becomes `pretension` once the frame has deformed: pretension = (I − D S) t.

    None where nothing resists it: along a mechanism that only the cables restrain.
    """
    if not pretension.any():
        return np.zeros_like(pretension)
    root = np.sqrt(stiffness)
    values, vectors = np.linalg.eigh(_scaled_stiffness(flexibility, stiffness))
    wanted, firm = vectors.T @ (pretension / root), values > ABS_TOL_CABLE_STIFFNESS
    if np.abs(wanted[~firm]).max(initial=0.0) > REL_TOL_UNRESISTED_PRETENSION * np.abs(wanted).max():
        return None
    return np.asarray(root * (vectors[:, firm] @ (wanted[firm] / values[firm])))


def _scaled_stiffness(flexibility: FloatArray, stiffness: FloatArray) -> FloatArray:
    """I − √D S √D, symmetric: the part of each cable's stiffness that the frame's flexibility leaves; eigenvalues from 0 to 1."""
    root = np.sqrt(stiffness)
    A = np.eye(len(root)) - root[:, None] * flexibility * root[None, :]
    return np.asarray((A + A.T) / 2)
