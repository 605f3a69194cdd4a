"""One factorisation for all cases, refined until it can be believed, with error and balance beside it.

The stiffness, numbered by minimum degree of the nodes, is factorised by SuperLU in its symmetric mode (no
pivoting off the diagonal: right for a positive definite matrix). The residual that refines the answer is
taken part by part in extended precision, since that of the assembled matrix does not see the digits a long
chain of beams loses (J.H. Wilkinson, Rounding Errors in Algebraic Processes, 1963, on iterative refinement,
from memory). Corrections are small beside the answer, so their own forces need no more than double.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.sparse.linalg import SuperLU

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
from femcore.blocks import factor_of
from femcore.element import Real
from femcore.errors import Mechanism, PoorSolution
from femcore.frame import FREEDOMS, FloatArray, Frame, Loads
from femcore.mechanism import find_mechanism, looks_singular

GOOD_ENOUGH = 1e-13
"""Relative size of a correction at which refinement stops."""
POOR = 1e-6
"""Relative error or imbalance above which there is no answer."""
MOST_STEPS = 12
SMALL = float(np.finfo(EXTENDED).eps / np.finfo(float).eps) / 16
"""Relative size of a correction whose forces, in double, are good to the extended precision of the whole."""


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
    """Solve all cases; Mechanism where something moves freely, PoorSolution where no answer is good."""
    parts = parts_of(frame)
    _refuse_idle_moments(parts, loads)
    held = clamped(parts, loads)
    state, error, first = _solved(parts, loads, held)
    reaction = np.where(frame.fixed, state.inside - loads.nodal, 0)
    reaction = _with_grounds(frame, reaction)
    balance = _balance(parts, loads, reaction)
    _refuse_poor(loads.names, error, balance)
    u, reaction = np.asarray(state.u, dtype=float), np.asarray(reaction, dtype=float)
    return Solution(parts, loads, u, reaction, state.natural, balance, error, first)


def factorise(parts: Parts) -> SuperLU:
    """Factorise the stiffness; Mechanism where it is singular, told in words."""
    matrix = stiffness(parts)
    try:
        factor = factor_of(matrix, "NATURAL")
    except RuntimeError:
        raise find_mechanism(parts, matrix) or PoorSolution(
            "the stiffness is singular to rounding: some parts are too soft or too stiff beside the others"
        ) from None
    if looks_singular(matrix, factor):
        mechanism = find_mechanism(parts, matrix)
        if mechanism is not None:
            raise mechanism
    return factor


@dataclass(frozen=True, slots=True, eq=False)
class _State:
    """Movements u (c, n, 6), the natural forces (c, p, 6) and internal forces (c, n, 6) they cause."""

    u: Real
    natural: FloatArray
    inside: Real

    @classmethod
    def of(cls, parts: Parts, u: Real, held: Clamped | None) -> _State:
        """The state of movements u, with line loads on clamped beams as `held`."""
        natural = natural_forces(parts, u, held)
        return cls(u, natural, internal_forces(parts, natural, held))

    @classmethod
    def before(cls, parts: Parts, loads: Loads, held: Clamped | None) -> _State:
        """Only the supports have moved."""
        u = loads.moved.astype(EXTENDED)
        if held is None and not u.any():
            return cls(u, np.zeros((len(u), len(parts.nodes), 6)), np.zeros_like(u))
        return cls.of(parts, u, held)

    def moved_little(self, parts: Parts, by: FloatArray) -> _State:
        """After a further movement so small that its own forces, taken in double, are added to the others."""
        natural = natural_forces(parts, by)
        inside = internal_forces(parts, natural, dtype=np.float64)
        return _State(self.u + by, self.natural + natural, self.inside + inside)


def _solved(parts: Parts, loads: Loads, held: Clamped | None) -> tuple[_State, FloatArray, FloatArray]:
    """The refined state, and the relative sizes (c,) of the last correction and of the first."""
    state, weight = _State.before(parts, loads, held), np.array([1.0] * 3 + [parts.frame.size] * 3)
    first = last = before = np.full(len(state.u), np.inf if parts.equations else 0.0)
    if not parts.equations:
        return state, last, first
    factor = factorise(parts)
    for step in range(MOST_STEPS):
        residual = parts.unknowns(loads.nodal - state.inside)
        correction = parts.movements(factor.solve(np.asfortranarray(residual.T)).T)
        if step:
            size = np.maximum(_largest((state.u + correction) * weight), np.finfo(float).tiny)
            before, last = last, _largest(correction * weight) / size
            first = last if step == 1 else first
        if np.all(last <= SMALL):
            state = state.moved_little(parts, correction)
        else:
            state = _State.of(parts, state.u + correction, held)
        if step and (not np.isfinite(last).all() or np.all(_done(before, last))):
            break
    return state, last, first


def _done(before: FloatArray, last: FloatArray) -> npt.NDArray[np.bool_]:
    """Where one more correction, shrinking like the last two, would change no digit, or none shrinks now."""
    known = np.isfinite(before) & (before > 0)
    shrinking = np.divide(last, before, out=np.ones_like(last), where=known)
    return (last <= GOOD_ENOUGH) | (last * shrinking <= np.finfo(float).eps) | (last > before / 2)


def _largest(u: Real) -> FloatArray:
    return np.asarray(np.abs(u).reshape(len(u), -1).max(axis=1), dtype=float)


def _with_grounds(frame: Frame, reaction: Real) -> Real:
    """Reactions with those of hidden ground nodes given to the nodes whose springs they hold."""
    hidden = np.flatnonzero(frame.grounds >= 0)
    shown = reaction.copy()
    shown[:, hidden] = 0
    np.add.at(shown.swapaxes(0, 1), frame.grounds[hidden], reaction[:, hidden].swapaxes(0, 1))
    return shown


def resultants(frame: Frame, loads: Loads) -> tuple[FloatArray, FloatArray]:
    """Points (n + m, 3) and, per case, forces and moments (c, n + m, 6) there; line loads as resultants."""
    points = np.concatenate([frame.nodes, frame.end_points.mean(axis=1)])
    line = np.einsum("mij,cmi->cmj", frame.axes, loads.line) * frame.length[:, None]
    whole = np.concatenate([loads.nodal, np.concatenate([line, np.zeros_like(line)], axis=2)], axis=1)
    return points, whole


def _balance(parts: Parts, loads: Loads, reaction: Real) -> FloatArray:
    """Relative imbalance per case: resultant force, and moment about the frame's middle over its size."""
    frame = parts.frame
    points, applied = resultants(frame, loads) if loads.line.any() else (frame.nodes, loads.nodal)
    both = np.concatenate([applied, reaction], axis=1)
    acting = both.any(axis=(0, 2))
    arms = np.concatenate([points, frame.nodes])[acting] - frame.nodes.mean(axis=0)
    both = both[:, acting].astype(EXTENDED)
    force = both[..., :3]
    moment = (both[..., 3:] + np.cross(arms, force)) / frame.size
    size = np.abs(force).sum(axis=(1, 2)) + np.abs(both[..., 3:]).sum(axis=(1, 2)) / frame.size
    size += _least_force(parts, loads)
    net = np.maximum(np.abs(force.sum(axis=1)).max(axis=1), np.abs(moment.sum(axis=1)).max(axis=1))
    return np.asarray(net / np.where(size > 0, size, 1), dtype=float)


def _least_force(parts: Parts, loads: Loads) -> FloatArray:
    """(c,), N, below which reactions to moved supports are rounding: a frame moved rigidly has no other."""
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
