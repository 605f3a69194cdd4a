"""The linear frame: one factorisation for all cases, refined until the answer can be believed; cables taut or slack.

The stiffness is factorised by SuperLU in its symmetric mode (minimum degree on Aᵀ+A, no pivoting off the diagonal:
right for a positive definite matrix). The residual that refines the answer is taken part by part in extended
precision, since that of the assembled matrix does not see the digits a long chain of beams loses (J.H. Wilkinson,
Rounding Errors in Algebraic Processes, 1963, on iterative refinement, from memory).

Cables are counted as if they could push; `tension_only` tells which are slack, and a slack one is taken out of the
factor by its rank (Woodbury), without factorising again.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt
from scipy.sparse.linalg import SuperLU

from femcore.base.arrays import FloatArray
from femcore.base.errors import InputFault, PoorSolution, SlackSystem
from femcore.elements.beam import Real
from femcore.elements.cable import LinearCables, gathers, nodal_forces, paths
from femcore.frame.frame import Cables, Frame, Loads
from femcore.solvers.assembly import (
    EXTENDED,
    Clamped,
    Parts,
    clamped,
    internal_forces,
    natural_forces,
    parts_of,
    stiffness,
)
from femcore.solvers.blocks import factor_of
from femcore.solvers.mechanism import find_mechanism, looks_singular
from femcore.solvers.slack_cables import rest_tension, slack_cables, stands_without

GOOD_ENOUGH = 1e-13
"""Relative size of a correction at which refinement stops."""
MOST_STEPS = 12
SMALL = float(np.finfo(EXTENDED).eps / np.finfo(float).eps) / 16
"""Relative size of a correction whose forces, taken in double, are good to the extended precision of the whole."""
NOTHING = 1e-9
"""Of the movement that warmth would give freely, or of the state before cables went slack: less is nothing that moves."""
MOST_CHANGES = 30
SIGN = 1e-9
"""Of the largest tension: a taut cable that pushes less, or a slack one that would pull less, is at its limit."""


def factorise(parts: Parts) -> SuperLU:
    """Factorise the stiffness; Mechanism where it is singular, told in words."""
    matrix = stiffness(parts)
    try:
        factor = factor_of(matrix, "NATURAL")
    except RuntimeError:
        raise find_mechanism(parts, matrix) or PoorSolution(
            "the stiffness is singular to rounding: some parts are too soft or too stiff beside the others"
        ) from None
    if looks_singular(parts, matrix, factor):
        mechanism = find_mechanism(parts, matrix)
        if mechanism is not None:
            raise mechanism
    return factor


@dataclass(frozen=True, slots=True, eq=False)
class State:
    """Movements u (c, n, 6), the natural forces (c, p, 6), tensions (c, k) and internal forces (c, n, 6) they cause."""

    u: Real
    natural: FloatArray
    tension: Real
    inside: Real

    @classmethod
    def of(cls, parts: Parts, u: Real, held: Clamped | None, cables: LinearCables | None) -> State:
        """The state of movements u, with line loads on clamped beams as `held`."""
        natural = natural_forces(parts, u, held)
        inside = internal_forces(parts, natural, held)
        if cables is None:
            return cls(u, natural, np.zeros((len(u), 0)), inside)
        tension = cables.tension(u)
        return cls(u, natural, tension, inside + cables.forces(tension, u.shape[1]))

    @classmethod
    def before(cls, parts: Parts, loads: Loads, held: Clamped | None, cables: LinearCables | None) -> State:
        """Only the supports have moved."""
        u = loads.moved.astype(EXTENDED)
        if held is not None or u.any():
            return cls.of(parts, u, held, cables)
        natural, inside = np.zeros((len(u), len(parts.nodes), 6)), np.zeros_like(u)
        if cables is None:
            return cls(u, natural, np.zeros((len(u), 0)), inside)
        tension = cables.tension(u)
        return cls(u, natural, tension, cables.forces(tension, u.shape[1]))

    def moved_little(self, parts: Parts, by: FloatArray, cables: LinearCables | None) -> State:
        """After a further movement so small that its own forces, taken in double, are added to the others."""
        natural = natural_forces(parts, by)
        inside = self.inside + internal_forces(parts, natural, dtype=np.float64)
        tension = self.tension
        if cables is not None:
            pull = cables.change(by)
            tension, inside = tension + pull, inside + cables.forces(pull, by.shape[1])
        return State(self.u + by, self.natural + natural, tension, inside)


@dataclass(frozen=True, slots=True, eq=False)
class Refined:
    """A refined state and the relative sizes (c,) of the last correction and of the first; which cables are slack (c, k)."""

    state: State
    error: FloatArray
    first_error: FloatArray
    slack: npt.NDArray[np.bool_]


def solve_linear(parts: Parts, loads: Loads, factors: Factors | None = None) -> Refined:
    """All cases in the undeformed shape; Mechanism, SlackSystem or InputFault where there is no answer.

    factors : of the frame's stiffness, where these are kept
    """
    factors = factors or Factors(parts)
    held, count = clamped(parts, loads), len(parts.frame.cables)
    slack = np.zeros((len(loads.names), count), dtype=bool)
    if not parts.equations:
        cables = _cables(parts, loads, None) if count else None
        state = State.before(parts, loads, held, cables)
        if cables is not None:
            slack = np.asarray(state.tension < 0) & (not parts.frame.cables.may_push)
            state = State.before(parts, loads, held, replace(cables, slack=slack))
        zero = np.zeros(len(loads.names))
        return Refined(state, zero, zero, slack)
    if not count:
        return _refine(parts, factors.factor, loads, State.before(parts, loads, held, None), held)
    return _with_cables(parts, factors, loads, held)


@dataclass(frozen=True, slots=True, eq=False)
class Compliance:
    """How the frame, all cables in it, gives way along its cables.

    columns : (equations, k), movements under a unit tension change of each;   along : S, (k, k), m/N
    """

    columns: FloatArray
    along: FloatArray
    g: FloatArray


def compliance(parts: Parts, factor: SuperLU) -> Compliance:
    """One solve for each cable."""
    cables = parts.frame.cables
    g = np.asarray(gathers(paths(cables, parts.frame.nodes)), dtype=float)
    unit = parts.unknowns(nodal_forces(cables, g, np.eye(len(cables)), len(parts.frame.nodes))).T
    columns = factor.solve(np.asfortranarray(unit))
    return Compliance(columns, unit.T @ columns, unit)


class Factors:
    """The stiffness of a frame, every cable counted, as factors; Mechanism where it is singular. Worked out when first needed."""

    def __init__(self, parts: Parts) -> None:
        self._parts = parts

    @cached_property
    def factor(self) -> SuperLU:
        """Of the stiffness."""
        return factorise(self._parts)

    @cached_property
    def soft(self) -> Compliance:
        """How it gives way along its cables."""
        return compliance(self._parts, self.factor)


def cable_stiffness(frame: Frame) -> FloatArray:
    """(k,), N/m, EA/l as drawn."""
    return np.asarray(frame.cables.EA / paths(frame.cables, frame.nodes).total)


def drawn_tension(frame: Frame, flexibility: FloatArray) -> FloatArray:
    """(k,), N, tension as drawn that leaves the cables' pretension at rest, in a frame that gives way along them by
    `flexibility` (k, k), m/N; InputFault where nothing takes it.
    """
    cables = frame.cables
    drawn = rest_tension(cables.pretension, flexibility, cable_stiffness(frame))
    if drawn is None:
        names = ", ".join(dict.fromkeys(n for n, p in zip(cables.names, cables.pretension, strict=True) if p))
        raise InputFault(
            "cables", f"pretension of {names} is held by nothing", "add what it can pull against"
        )
    return drawn


def _cables(parts: Parts, loads: Loads, soft: Compliance | None) -> LinearCables:
    """The cables' linear law: the tension as drawn that leaves the pretension at rest, less what warmth takes."""
    frame = parts.frame
    cables, axial = frame.cables, cable_stiffness(frame)
    flexibility = np.zeros((len(cables), len(cables))) if soft is None else soft.along
    drawn = drawn_tension(frame, flexibility)
    initial = drawn - cables.EA * cables.expansion * loads.warm_cables
    g = gathers(paths(cables, frame.nodes.astype(EXTENDED)))
    none = np.zeros((len(loads.names), len(cables)), dtype=bool)
    return LinearCables(cables, g, axial, initial.astype(EXTENDED), none)


def _with_cables(parts: Parts, factors: Factors, loads: Loads, held: Clamped | None) -> Refined:
    """All taut first; then, where some push, the slack ones by the complementarity problem, and refined again."""
    factor, soft = factors.factor, factors.soft
    cables = _cables(parts, loads, soft)
    done = _refine(parts, factor, loads, State.before(parts, loads, held, cables), held, cables, soft)
    if parts.frame.cables.may_push:
        return done
    tension = np.asarray(done.state.tension, dtype=float)
    slack = np.array([slack_cables(t, soft.along, cables.stiffness) for t in tension]).reshape(tension.shape)
    if not slack.any():
        return done
    _refuse_slack_system(parts, loads.names, slack, soft, cables.stiffness)
    for _ in range(MOST_CHANGES):
        cables = replace(cables, slack=slack)
        start = State.of(parts, done.state.u, held, cables)
        done = _refine(parts, factor, loads, start, held, cables, soft)
        wrong = _wrong_sides(cables, done.state)
        if not wrong.any():
            return replace(done, slack=slack)
        slack = slack ^ wrong
        _refuse_slack_system(parts, loads.names, slack, soft, cables.stiffness)
    raise SlackSystem(
        "no choice of slack cables is in equilibrium; give the cables pretension, or a stiffer frame"
    )


def _wrong_sides(cables: LinearCables, state: State) -> npt.NDArray[np.bool_]:
    """(c, k): taut cables that push and slack ones that would pull, beyond rounding."""
    would = np.asarray(replace(cables, slack=np.zeros_like(cables.slack)).tension(state.u), dtype=float)
    limit = SIGN * np.abs(would).max(axis=1, keepdims=True)
    return np.asarray(np.where(cables.slack, would > limit, would < -limit))


def _refuse_slack_system(
    parts: Parts, names: tuple[str, ...], slack: npt.NDArray[np.bool_], soft: Compliance, axial: FloatArray
) -> None:
    for name, without in zip(names, slack, strict=True):
        if not stands_without(without, soft.along, axial):
            gone = dict.fromkeys(n for n, s in zip(parts.frame.cables.names, without, strict=True) if s)
            bare = parts_of(replace(parts.frame, cables=Cables()))
            mechanism = find_mechanism(bare, stiffness(bare))
            moves = f": {mechanism.words}" if mechanism else ""
            raise SlackSystem(
                f"case '{name}' is held by nothing once {', '.join(gone)} {'go' if len(gone) > 1 else 'goes'} slack{moves}"
            )


def _correct(
    factor: SuperLU, residual: FloatArray, cables: LinearCables | None, soft: Compliance | None
) -> FloatArray:
    """(c, equations): K⁻¹ r for each case, K without its slack cables (Woodbury)."""
    correction: FloatArray = factor.solve(np.asfortranarray(residual.T)).T
    if cables is None or soft is None or not cables.slack.any():
        return correction
    for pattern in np.unique(cables.slack, axis=0):
        cases = np.flatnonzero((cables.slack == pattern).all(axis=1))
        if pattern.any():
            small = np.diag(1 / cables.stiffness[pattern]) - soft.along[np.ix_(pattern, pattern)]
            pushed = np.linalg.solve(small, soft.g[:, pattern].T @ correction[cases].T)
            correction[cases] += (soft.columns[:, pattern] @ pushed).T
    return correction


def _refine(
    parts: Parts,
    factor: SuperLU,
    loads: Loads,
    state: State,
    held: Clamped | None,
    cables: LinearCables | None = None,
    soft: Compliance | None = None,
) -> Refined:
    """Correct a state until it is in equilibrium to rounding."""
    weight = np.array([1.0] * 3 + [parts.frame.size] * 3)
    first = last = before = np.full(len(state.u), np.inf)
    least = _imposed(parts, loads, state.u * weight)
    for step in range(MOST_STEPS):
        residual = parts.unknowns(loads.nodal - state.inside)
        correction = parts.movements(_correct(factor, residual, cables, soft))
        if step:
            size = np.maximum(_largest((state.u + correction) * weight), least)
            before, last = last, _largest(correction * weight) / size
            first = last if step == 1 else first
        if np.all(last <= SMALL):
            state = state.moved_little(parts, correction, cables)
        else:
            state = State.of(parts, state.u + correction, held, cables)
        if step and (not np.isfinite(last).all() or np.all(_done(before, last))):
            break
    none = np.zeros((len(state.u), len(parts.frame.cables)), dtype=bool)
    return Refined(state, last, first, none)


def _done(before: FloatArray, last: FloatArray) -> npt.NDArray[np.bool_]:
    """Where one more correction, shrinking like the last two, would change no digit, or none shrinks now."""
    known = np.isfinite(before) & (before > 0)
    shrinking = np.divide(last, before, out=np.ones_like(last), where=known)
    return (last <= GOOD_ENOUGH) | (last * shrinking <= np.finfo(float).eps) | (last > before / 2)


def _imposed(parts: Parts, loads: Loads, start: Real) -> FloatArray:
    """(c,), m: movements that are rounding beside what warmth would stretch, and where the state began."""
    frame = parts.frame
    free = np.abs(frame.expansion * loads.warm).max(axis=1, initial=0.0)
    of_cables = np.abs(frame.cables.expansion * loads.warm_cables).max(axis=1, initial=0.0)
    stretched = np.maximum(free, of_cables) * frame.size
    return np.asarray(np.maximum(NOTHING * np.maximum(stretched, _largest(start)), np.finfo(float).tiny))


def _largest(u: Real) -> FloatArray:
    return np.asarray(np.abs(u).reshape(len(u), -1).max(axis=1), dtype=float)
