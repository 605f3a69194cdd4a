"""One factorisation for all cases, refined until the answer can be believed, with its error and balance beside it.

The stiffness is factorised by SuperLU in its symmetric mode (minimum degree on Aᵀ+A, no pivoting off the diagonal: right for
a positive definite matrix). The residual that refines the answer is taken part by part in extended precision, since that of
the assembled matrix does not see the digits a long chain of beams loses (J.H. Wilkinson, Rounding Errors in Algebraic
Processes, 1963, on iterative refinement, from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.sparse.linalg import SuperLU, splu

from femcore.assembly import (
    EXTENDED,
    Clamped,
    Parts,
    clamped,
    internal_forces,
    natural_forces,
    parts_of,
    stiffness,
)
from femcore.element import Real
from femcore.errors import Mechanism, PoorSolution
from femcore.frame import FREEDOMS, FloatArray, Frame, Loads
from femcore.mechanism import find_mechanism, looks_singular

GOOD_ENOUGH = 1e-13
"""Relative size of a correction at which refinement stops."""
POOR = 1e-6
"""Relative error or imbalance above which there is no answer."""
MOST_STEPS = 12


@dataclass(frozen=True, slots=True, eq=False)
class Solution:
    """The answer to all cases, in global axes.

    displacement : (c, n, 6), m and rad
    reaction     : (c, n, 6), N and N·m, what supports and springs to ground put on the frame
    natural      : (c, p, 6), natural forces of beams, then springs
    balance      : (c,), resultant of loads and reactions over the sum of their sizes; 0 is perfect
    error        : (c,), relative size of the last correction, an estimate of the error of `displacement`
    first_error  : (c,), the same for the answer before refinement
    """

    parts: Parts
    loads: Loads
    displacement: FloatArray
    reaction: FloatArray
    natural: FloatArray
    balance: FloatArray
    error: FloatArray
    first_error: FloatArray

    @property
    def frame(self) -> Frame:
        """The frame that was solved."""
        return self.parts.frame

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the cases."""
        return self.loads.names


def solve(frame: Frame, loads: Loads) -> Solution:
    """Solve all cases; Mechanism where something moves freely, PoorSolution where the answer cannot be believed."""
    parts = parts_of(frame)
    _refuse_idle_moments(parts, loads)
    held = clamped(parts, loads)
    u = loads.moved.astype(EXTENDED)
    error = first = np.zeros(len(loads.names))
    if parts.equations:
        u, error, first = _refined(parts, factorise(parts), loads, held)
    natural = natural_forces(parts, u, held)
    reaction = np.where(frame.fixed, internal_forces(parts, natural, held) - loads.nodal, 0)
    reaction = _with_grounds(frame, reaction)
    balance = _balance(parts, loads, reaction)
    _refuse_poor(loads.names, error, balance)
    answer = (np.asarray(x, dtype=float) for x in (u, reaction, natural))
    return Solution(parts, loads, *answer, balance, error, first)


def factorise(parts: Parts) -> SuperLU:
    """Factorise the stiffness; Mechanism where it is singular, told in words."""
    matrix = stiffness(parts)
    try:
        factor = splu(
            matrix, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True}
        )
    except RuntimeError:
        raise find_mechanism(parts, matrix) or PoorSolution(
            "the stiffness is singular to rounding: some parts are too soft or too stiff beside the others"
        ) from None
    if looks_singular(matrix, factor):
        mechanism = find_mechanism(parts, matrix)
        if mechanism is not None:
            raise mechanism
    return factor


def _refined(
    parts: Parts, factor: SuperLU, loads: Loads, held: Clamped | None
) -> tuple[Real, FloatArray, FloatArray]:
    """Displacement in extended precision, the relative size of the last correction and of the first, per case."""
    frame, free = parts.frame, ~parts.frame.fixed
    weight = np.array([1.0] * 3 + [frame.size] * 3)
    u = loads.moved.astype(EXTENDED)
    first = last = np.full(len(u), np.inf)
    for step in range(MOST_STEPS):
        at_rest = step == 0 and held is None and not loads.moved.any()
        inside = 0 if at_rest else internal_forces(parts, natural_forces(parts, u, held), held)
        residual = (loads.nodal - inside)[:, free].astype(float)
        correction = np.zeros(u.shape)
        correction[:, free] = factor.solve(np.ascontiguousarray(residual.T)).T
        u = u + correction
        if step == 0:
            continue
        before, last = last, _largest(correction * weight) / np.maximum(_largest(u * weight), np.finfo(float).tiny)
        first = last if step == 1 else first
        if not np.isfinite(last).all() or np.all((last <= GOOD_ENOUGH) | (last > before / 2)):
            break
    return u, last, first


def _largest(u: Real) -> FloatArray:
    return np.asarray(np.abs(u).reshape(len(u), -1).max(axis=1), dtype=float)


def _with_grounds(frame: Frame, reaction: Real) -> Real:
    """Reactions with those of hidden ground nodes given to the nodes whose springs they hold."""
    hidden = np.flatnonzero(frame.grounds >= 0)
    shown = reaction.copy()
    shown[:, hidden] = 0
    np.add.at(shown, (slice(None), frame.grounds[hidden]), reaction[:, hidden])
    return shown


def resultants(frame: Frame, loads: Loads) -> tuple[FloatArray, FloatArray]:
    """Points (n + m, 3) and, per case, forces and moments (c, n + m, 6) of all loads, line loads as their resultants."""
    points = np.concatenate([frame.nodes, frame.end_points.mean(axis=1)])
    line = np.einsum("mij,cmi->cmj", frame.axes, loads.line) * frame.length[:, None]
    whole = np.concatenate([loads.nodal, np.concatenate([line, np.zeros_like(line)], axis=2)], axis=1)
    return points, whole


def _balance(parts: Parts, loads: Loads, reaction: Real) -> FloatArray:
    """Relative imbalance per case: resultant force, and moment about the middle of the frame over its size."""
    frame = parts.frame
    points, applied = resultants(frame, loads)
    middle = frame.nodes.mean(axis=0)
    arms = np.concatenate([points, frame.nodes]) - middle
    both = np.concatenate([applied, reaction], axis=1).astype(EXTENDED)
    force = both[..., :3]
    moment = (both[..., 3:] + np.cross(arms, force)) / frame.size
    size = np.abs(force).sum(axis=(1, 2)) + np.abs(both[..., 3:]).sum(axis=(1, 2)) / frame.size
    size += _least_force(parts, loads)
    net = np.maximum(np.abs(force.sum(axis=1)).max(axis=1), np.abs(moment.sum(axis=1)).max(axis=1))
    return np.asarray(net / np.where(size > 0, size, 1), dtype=float)


def _least_force(parts: Parts, loads: Loads) -> FloatArray:
    """(c,), N, below which reactions to moved supports are rounding: a frame moved as one rigid body has no other."""
    if not loads.moved.any():
        return np.zeros(len(loads.names))
    resisted = natural_forces(parts, loads.moved, None)
    force = internal_forces(parts, resisted, None) / np.array([1.0] * 3 + [parts.frame.size] * 3)
    return np.asarray(1e3 * float(np.finfo(EXTENDED).eps) / POOR * np.abs(force).sum(axis=(1, 2)))


def _refuse_idle_moments(parts: Parts, loads: Loads) -> None:
    """A moment on a rotation that nothing resists has no answer."""
    moment = loads.nodal[:, parts.idle, 3:]
    loose = np.abs(np.einsum("nij,cnj->cni", parts.turns, moment)) > 1e-9 * np.abs(loads.nodal).max(initial=0)
    for case, index in np.argwhere(loose.any(axis=2))[:1]:
        name = parts.frame.node_names.get(int(parts.idle[index]), "a node")
        raise Mechanism(
            f"case '{loads.names[case]}' puts a moment on node '{name}', which nothing there resists; "
            "join a beam rigidly to it, or take the moment away",
            moving={name: tuple(f for f, m in zip(FREEDOMS[3:], loose[case, index], strict=True) if m)},
        )


def _refuse_poor(names: tuple[str, ...], error: FloatArray, balance: FloatArray) -> None:
    for name, e, b in zip(names, error, balance, strict=True):
        if not (e <= POOR and b <= POOR):
            raise PoorSolution(
                f"case '{name}' could not be solved well enough: estimated error {e:.1e}, imbalance {b:.1e} "
                f"(limit {POOR:.0e}); fewer elements, or stiffnesses nearer to one another, would cure it"
            )


__all__ = ["Mechanism", "PoorSolution", "Solution", "factorise", "resultants", "solve"]
