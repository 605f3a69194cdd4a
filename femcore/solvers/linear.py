"""The linear frame: one factorisation for all cases, refined to rounding; cables taut or slack.

The stiffness is factorised by SuperLU in its symmetric mode (minimum degree on Aᵀ+A, no pivoting off the diagonal:
right for a positive definite matrix). The residual that refines the answer is taken part by part in extended
precision, since that of the assembled matrix misses the digits that a long chain of beams loses (J.H. Wilkinson,
Rounding Errors in Algebraic Processes, 1963, on iterative refinement, from memory).

The factor counts every cable as if it could push; `slack_cables` finds which are slack, and a slack one is taken out of the
factor by its rank (Woodbury), without factorising again.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt
from scipy.sparse.linalg import SuperLU

from femcore.base.arrays import EXTENDED, ArrayRecord, FloatArray, Real
from femcore.base.errors import InputFault, PoorSolution, SlackSystem
from femcore.elements.cable import LinearCables, cable_geometry, elongation, elongation_gradient, nodal_forces
from femcore.frame.frame import Cables, Frame, Loads
from femcore.solvers.assembly import (
    FixedEndForces,
    Parts,
    fixed_end_forces,
    internal_forces,
    natural_forces,
    parts_of,
    stiffness,
)
from femcore.solvers.blocks import factorise_symmetric
from femcore.solvers.mechanism import find_mechanism, is_nearly_singular
from femcore.solvers.slack_cables import is_stable_without, slack_cables, solve_undeformed_tension

REL_TOL_REFINEMENT = 1e-13
"""Of the largest movement: a smaller correction is rounding, and refinement stops."""
MAX_REFINEMENT_STEPS = 12
"""Each step gains digits, most gain six or more; what has not converged by then does not."""
REL_TOL_DOUBLE_INCREMENT = float(np.finfo(EXTENDED).eps / np.finfo(float).eps) / 16
"""Relative size of a correction whose forces, taken in double, are good to the extended precision of the whole."""
REL_TOL_NO_MOVEMENT = 1e-9
"""Of the free thermal expansion, or of the state before cables went slack: smaller movements are rounding."""
MAX_SLACK_ITERATIONS = 30
"""Changes of the set of slack cables after the first; each only corrects rounding, so two or three are usual."""
REL_TOL_CABLE_SIGN = 1e-9
"""Of the largest tension: compression of a taut cable, or tension of a slack one, below it is treated as zero."""


def factorise(parts: Parts) -> SuperLU:
    """Factors of the stiffness; Mechanism, with what moves, where it is singular."""
    matrix = stiffness(parts)
    try:
        factor = factorise_symmetric(matrix, "NATURAL")
    except RuntimeError:
        raise find_mechanism(parts, matrix) or PoorSolution(
            "the stiffness is singular to rounding: some parts are too soft or too stiff compared with the others"
        ) from None
    if is_nearly_singular(parts, matrix, factor):
        mechanism = find_mechanism(parts, matrix)
        if mechanism is not None:
            raise mechanism
    return factor


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class LinearState(ArrayRecord):
    """Movements u (c, n, 6), the natural forces (c, p, 6), tensions (c, k) and internal forces (c, n, 6) they cause."""

    u: Real
    natural: FloatArray
    tension: Real
    internal_force: Real

    @classmethod
    def of(
        cls, parts: Parts, u: Real, fixed_ends: FixedEndForces | None, cables: LinearCables | None
    ) -> LinearState:
        """The state of movements u, with line loads on clamped beams as `fixed_ends`."""
        natural = natural_forces(parts, u, fixed_ends)
        internal_force = internal_forces(parts, natural, fixed_ends)
        if cables is None:
            return cls(u, natural, np.zeros((len(u), 0)), internal_force)
        tension = cables.tension(u)
        return cls(u, natural, tension, internal_force + cables.forces(tension, u.shape[1]))

    @classmethod
    def before(
        cls, parts: Parts, loads: Loads, fixed_ends: FixedEndForces | None, cables: LinearCables | None
    ) -> LinearState:
        """Before any free node has moved: only the supports have."""
        u = loads.support_displacement.astype(EXTENDED)
        if fixed_ends is not None or u.any():
            return cls.of(parts, u, fixed_ends, cables)
        natural, internal_force = np.zeros((len(u), len(parts.nodes), 6)), np.zeros_like(u)
        if cables is None:
            return cls(u, natural, np.zeros((len(u), 0)), internal_force)
        tension = cables.tension(u)
        return cls(u, natural, tension, cables.forces(tension, u.shape[1]))

    def with_small_increment(self, parts: Parts, by: FloatArray, cables: LinearCables | None) -> LinearState:
        """After a further movement so small that its own forces, taken in double, are added to the others."""
        natural = natural_forces(parts, by)
        internal_force = self.internal_force + internal_forces(parts, natural, dtype=np.float64)
        tension = self.tension
        if cables is not None:
            pull = cables.change(by)
            tension, internal_force = tension + pull, internal_force + cables.forces(pull, by.shape[1])
        return LinearState(self.u + by, self.natural + natural, tension, internal_force)


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class RefinedSolution(ArrayRecord):
    """A refined state and the relative sizes (c,) of the last correction and of the first; which cables are slack (c, k)."""

    state: LinearState
    error: FloatArray
    first_error: FloatArray
    slack: npt.NDArray[np.bool_]


def solve_linear(parts: Parts, loads: Loads, factors: Factors | None = None) -> RefinedSolution:
    """All cases in the undeformed shape; Mechanism, SlackSystem or InputFault where there is no answer.

    factors : of the frame's stiffness, where these are kept
    """
    factors = factors or Factors(parts)
    fixed_ends, count = fixed_end_forces(parts, loads), len(parts.frame.cables)
    slack = np.zeros((len(loads.names), count), dtype=bool)
    if not parts.equations:
        cables = _linear_cables(parts, loads, None) if count else None
        state = LinearState.before(parts, loads, fixed_ends, cables)
        if cables is not None:
            slack = np.asarray(state.tension < 0) & (not parts.frame.cables.can_push)
            state = LinearState.before(parts, loads, fixed_ends, replace(cables, slack=slack))
        zero = np.zeros(len(loads.names))
        return RefinedSolution(state, zero, zero, slack)
    if not count:
        return _refine(
            parts, factors.factor, loads, LinearState.before(parts, loads, fixed_ends, None), fixed_ends
        )
    return _with_cables(parts, factors, loads, fixed_ends)


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class CableFlexibility(ArrayRecord):
    """Flexibility of the frame, all cables in it, along its cables.

    columns : (equations, k), movements under a unit tension change of each;   flexibility : S, (k, k), m/N
    g       : (equations, k), unit tension changes as nodal forces
    """

    columns: FloatArray
    flexibility: FloatArray
    g: FloatArray


def solve_cable_flexibility(parts: Parts, factor: SuperLU) -> CableFlexibility:
    """One refined solve for each cable.

    The tension as drawn that becomes the pretension follows from it, so what it lacks in digits no later refinement gives back.
    """
    frame, count = parts.frame, len(parts.frame.cables)
    g = elongation_gradient(cable_geometry(frame.cables, frame.nodes.astype(EXTENDED)))
    forces = np.asarray(nodal_forces(frame.cables, g, np.eye(count), len(frame.nodes)), dtype=float)
    loads = replace(Loads.zeros(frame, *frame.cables.names), nodal=forces)
    none = np.zeros((count, count), dtype=bool)
    cables = LinearCables(frame.cables, g, cable_stiffness(frame), np.zeros((count, count), EXTENDED), none)
    u = _refine(parts, factor, loads, LinearState.before(parts, loads, None, cables), None, cables).state.u
    flexibility = np.asarray(elongation(frame.cables, g, u), dtype=float)
    unit = parts.unknowns(forces).T
    return CableFlexibility(np.asarray(parts.unknowns(u).T, dtype=float), flexibility, unit)


class Factors:
    """Factors of the stiffness of a frame, every cable counted, computed when first needed; Mechanism where it is singular."""

    def __init__(self, parts: Parts) -> None:
        self._parts = parts

    @cached_property
    def factor(self) -> SuperLU:
        """Of the stiffness."""
        return factorise(self._parts)

    @cached_property
    def cable_flexibility(self) -> CableFlexibility:
        """Its flexibility along its cables."""
        return solve_cable_flexibility(self._parts, self.factor)


def cable_stiffness(frame: Frame) -> FloatArray:
    """(k,), N/m, EA/l as drawn."""
    return np.asarray(frame.cables.EA / cable_geometry(frame.cables, frame.nodes).total)


def undeformed_tension(frame: Frame, flexibility: FloatArray) -> FloatArray:
    """(k,), N, tension as drawn that becomes the pretension once the frame has deformed, given its `flexibility` (k, k), m/N.

    InputFault where nothing resists the pretension.
    """
    cables = frame.cables
    drawn = solve_undeformed_tension(cables.pretension, flexibility, cable_stiffness(frame))
    if drawn is None:
        names = ", ".join(dict.fromkeys(n for n, p in zip(cables.names, cables.pretension, strict=True) if p))
        raise InputFault(
            "cables", f"pretension of {names} is resisted by nothing", "add what it can pull against"
        )
    return drawn


def _linear_cables(parts: Parts, loads: Loads, cable_flexibility: CableFlexibility | None) -> LinearCables:
    """The cables' linear law: the tension as drawn that becomes the pretension, less what a temperature change takes."""
    frame = parts.frame
    cables, axial = frame.cables, cable_stiffness(frame)
    flexibility = (
        np.zeros((len(cables), len(cables))) if cable_flexibility is None else cable_flexibility.flexibility
    )
    drawn = undeformed_tension(frame, flexibility)
    initial = drawn - cables.EA * cables.expansion * loads.cable_temperature_change
    g = elongation_gradient(cable_geometry(cables, frame.nodes.astype(EXTENDED)))
    none = np.zeros((len(loads.names), len(cables)), dtype=bool)
    return LinearCables(cables, g, axial, initial.astype(EXTENDED), none)


def _with_cables(
    parts: Parts, factors: Factors, loads: Loads, fixed_ends: FixedEndForces | None
) -> RefinedSolution:
    """All taut first; then, where some push, the slack ones by the complementarity problem, and refined again."""
    factor, cable_flexibility = factors.factor, factors.cable_flexibility
    cables = _linear_cables(parts, loads, cable_flexibility)
    done = _refine(
        parts,
        factor,
        loads,
        LinearState.before(parts, loads, fixed_ends, cables),
        fixed_ends,
        cables,
        cable_flexibility,
    )
    if parts.frame.cables.can_push:
        return done
    tension = np.asarray(done.state.tension, dtype=float)
    slack = np.array(
        [slack_cables(t, cable_flexibility.flexibility, cables.stiffness) for t in tension]
    ).reshape(tension.shape)
    if not slack.any():
        return done
    _refuse_slack_system(parts, loads.names, slack, cable_flexibility, cables.stiffness)
    for _ in range(MAX_SLACK_ITERATIONS):
        cables = replace(cables, slack=slack)
        start = LinearState.of(parts, done.state.u, fixed_ends, cables)
        done = _refine(parts, factor, loads, start, fixed_ends, cables, cable_flexibility)
        wrong = _inconsistent_cables(cables, done.state)
        if not wrong.any():
            return replace(done, slack=slack)
        slack = slack ^ wrong
        _refuse_slack_system(parts, loads.names, slack, cable_flexibility, cables.stiffness)
    raise SlackSystem(
        "no choice of slack cables is in equilibrium; give the cables pretension, or a stiffer frame"
    )


def _inconsistent_cables(cables: LinearCables, state: LinearState) -> npt.NDArray[np.bool_]:
    """(c, k): taut cables that push and slack ones that would pull, beyond rounding."""
    would = np.asarray(replace(cables, slack=np.zeros_like(cables.slack)).tension(state.u), dtype=float)
    limit = REL_TOL_CABLE_SIGN * np.abs(would).max(axis=1, keepdims=True)
    return np.asarray(np.where(cables.slack, would > limit, would < -limit))


def _refuse_slack_system(
    parts: Parts,
    names: tuple[str, ...],
    slack: npt.NDArray[np.bool_],
    cable_flexibility: CableFlexibility,
    axial: FloatArray,
) -> None:
    for name, without in zip(names, slack, strict=True):
        if not is_stable_without(without, cable_flexibility.flexibility, axial):
            gone = dict.fromkeys(n for n, s in zip(parts.frame.cables.names, without, strict=True) if s)
            bare = parts_of(replace(parts.frame, cables=Cables()))
            mechanism = find_mechanism(bare, stiffness(bare))
            moves = f": {mechanism.words}" if mechanism else ""
            raise SlackSystem(
                f"case '{name}' is held by nothing once {', '.join(gone)} {'go' if len(gone) > 1 else 'goes'} slack{moves}"
            )


def _correct(
    factor: SuperLU,
    residual: FloatArray,
    cables: LinearCables | None,
    cable_flexibility: CableFlexibility | None,
) -> FloatArray:
    """(c, equations): K⁻¹ r for each case, K without its slack cables (Woodbury)."""
    correction: FloatArray = factor.solve(np.asfortranarray(residual.T)).T
    if cables is None or cable_flexibility is None or not cables.slack.any():
        return correction
    for pattern in np.unique(cables.slack, axis=0):
        cases = np.flatnonzero((cables.slack == pattern).all(axis=1))
        if pattern.any():
            small = (
                np.diag(1 / cables.stiffness[pattern])
                - cable_flexibility.flexibility[np.ix_(pattern, pattern)]
            )
            pushed = np.linalg.solve(small, cable_flexibility.g[:, pattern].T @ correction[cases].T)
            correction[cases] += (cable_flexibility.columns[:, pattern] @ pushed).T
    return correction


def _refine(
    parts: Parts,
    factor: SuperLU,
    loads: Loads,
    state: LinearState,
    fixed_ends: FixedEndForces | None,
    cables: LinearCables | None = None,
    cable_flexibility: CableFlexibility | None = None,
) -> RefinedSolution:
    """Correct a state until it is in equilibrium to rounding."""
    largest = parts.frame.largest_movement
    first = last = before = np.full(len(state.u), np.inf)
    least = _displacement_floor(parts, loads, state.u)
    for step in range(MAX_REFINEMENT_STEPS):
        residual = parts.unknowns(loads.nodal - state.internal_force)
        correction = parts.movements(_correct(factor, residual, cables, cable_flexibility))
        if step:
            size = np.maximum(largest(state.u + correction), least)
            before, last = last, largest(correction) / size
            first = last if step == 1 else first
        if np.all(last <= REL_TOL_DOUBLE_INCREMENT):
            state = state.with_small_increment(parts, correction, cables)
        else:
            state = LinearState.of(parts, state.u + correction, fixed_ends, cables)
        if step and (not np.isfinite(last).all() or np.all(_is_converged(before, last))):
            break
    none = np.zeros((len(state.u), len(parts.frame.cables)), dtype=bool)
    return RefinedSolution(state, last, first, none)


def _is_converged(before: FloatArray, last: FloatArray) -> npt.NDArray[np.bool_]:
    """Where one more correction, shrinking like the last two, would change no digit, or none shrinks now."""
    known = np.isfinite(before) & (before > 0)
    shrinking = np.divide(last, before, out=np.ones_like(last), where=known)
    return (last <= REL_TOL_REFINEMENT) | (last * shrinking <= np.finfo(float).eps) | (last > before / 2)


def _displacement_floor(parts: Parts, loads: Loads, start: Real) -> FloatArray:
    """(c,), m: movements that are rounding compared with free thermal expansion and with the initial state."""
    frame = parts.frame
    free = np.abs(frame.expansion * loads.temperature_change).max(axis=1, initial=0.0)
    of_cables = np.abs(frame.cables.expansion * loads.cable_temperature_change).max(axis=1, initial=0.0)
    stretched = np.maximum(free, of_cables) * frame.size
    moved = np.maximum(stretched, frame.largest_movement(start))
    return np.asarray(np.maximum(REL_TOL_NO_MOVEMENT * moved, np.finfo(float).tiny))
