"""Equilibrium in the deformed shape: Newton's method on corotational beams and true cables, with adaptive load steps.

Each iteration solves K Δu = λ F − R(u) with the tangent K of `corotational_beam`, `corotational_spring` and `cable`, whose
geometric part is taken with the forces that the last tangent predicted, not with those of the shape: beams are stiff along and
soft across, and a step across stretches them for one iteration (the mixed iteration of G. Garcea et al., Comput. Methods Appl.
Mech. Eng. 156 (1998), from memory). A tangent is kept while it shrinks the corrections well. Where the iteration does not
converge, the load step is halved; an equilibrium whose tangent has a negative pivot has buckled, and is refused.

Cables are given by their tension under pretension alone, not by their length: `solve_pretension` finds the lengths, and with
them the shape from which every load starts.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from scipy.sparse.linalg import SuperLU

from femcore.base.arrays import EXTENDED, ArrayRecord, FloatArray, Real
from femcore.base.errors import Mechanism, NoConvergence
from femcore.elements.cable import (
    CableGeometry,
    cable_geometry,
    elastic_blocks,
    elongation,
    elongation_gradient,
    geometric_blocks,
    nodal_forces,
)
from femcore.elements.corotational_beam import BeamData, Configuration, DeformedBeams, deform_beams
from femcore.elements.corotational_spring import DeformedSprings, deform_springs
from femcore.frame.frame import Frame, Loads
from femcore.solvers.assembly import (
    Assembly,
    FixedEndForces,
    Parts,
    fixed_end_forces,
    internal_forces,
    stiffness,
)
from femcore.solvers.blocks import factorise_symmetric, node_blocks, split_blocks
from femcore.solvers.mechanism import find_mechanism
from femcore.solvers.slack_cables import ABS_TOL_CABLE_STIFFNESS

REL_TOL_NEWTON = 1e-11
"""Of the largest movement: a smaller correction is rounding, and Newton's method has converged."""
TANGENT_REUSE_RATIO = 0.1
"""Of the last correction: where the next one is smaller than this, the tangent is used again."""
MAX_NEWTON_ITERATIONS = 40
"""Three to ten are usual; a step that needs more converges sooner when halved."""
MIN_LOAD_STEP = 1 / 512
"""Of the load: a frame that needs smaller steps has buckled or folds, and the fraction reached is known to 0.2 %."""
REL_TOL_SMALL_MOVEMENT = 1e-4
"""Of the frame's size: a smaller movement is taken as this when corrections are judged, since coordinates are rounded."""
REL_TOL_PIVOT = 1e-14
"""Of the largest pivot: a smaller one is treated as zero, a mechanism."""
REL_TOL_MOVEMENT_ROUNDING = 1e-8
"""Of the frame's size: the error of smaller movements, half of whose digits are rounding, is taken relative to this."""
MAX_RELATIVE_CORRECTION = 10.0
"""Of the frame's size: a larger correction, rotations times the size, means that the iteration diverges."""
MAX_PREDICTION_RATIO = 4.0
"""Times the movement that the tangents predict: a larger one in one step has snapped to another equilibrium path."""
REL_TOL_PRETENSION = 1e-11
"""Of the largest pretension: a smaller difference from it is rounding, and the pretension is reached."""
ROUNDINGS_OF_CABLE_STRAIN = 8
"""Units of rounding in the strain of a cable, from the differences of coordinates that make its length."""


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class SecondOrderResult(ArrayRecord):
    """One case in its deformed shape.

    displacement : (n, 6);   internal_force : (n, 6), forces of the nodes on all parts, the line loads' share left out
    natural      : (p, 6), natural forces of beams, then springs;   tension : (k,)
    axes, length : of the beams in that shape;   error : relative size of the last correction;   steps : load steps taken
    """

    displacement: FloatArray
    internal_force: FloatArray
    natural: FloatArray
    tension: FloatArray
    axes: FloatArray
    length: FloatArray
    error: float
    steps: int


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class _State(ArrayRecord):
    """All parts in one shape.

    pull : (k,), N, tensions of the cables, negative where a slack one would push if it could
    """

    shape: Configuration
    beams: DeformedBeams
    springs: DeformedSprings
    cable_shape: CableGeometry
    pull: FloatArray
    internal_force: FloatArray

    @property
    def tension(self) -> FloatArray:
        """(k,), N."""
        return np.asarray(np.maximum(self.pull, 0.0))


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class _Forces(ArrayRecord):
    """Natural forces of the beams (m, 6) and tensions (k,) of the geometric stiffness."""

    q: FloatArray
    tension: FloatArray

    @classmethod
    def of(cls, state: _State) -> _Forces:
        return cls(state.beams.q, state.tension)


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class _Correction(ArrayRecord):
    """A step of Newton's method from a state, `by` movements and spins (n, 6), to a shape; its size, m."""

    state: _State
    by: FloatArray
    to: Configuration
    size: float


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class PretensionedState(ArrayRecord):
    """A frame under pretension alone: the unstressed lengths of its cables, (k,), m, and its shape.

    answer : the frame in that shape; None where there is no pretension
    """

    unstressed_length: Real
    shape: Configuration
    answer: SecondOrderResult | None = None


class _Problem:
    """One frame under one case, as functions of its shape and of the load fraction; `unstressed_length` may change meanwhile."""

    def __init__(self, parts: Parts, loads: Loads, case: int, unstressed_length: Real) -> None:
        self.parts, self.frame = parts, parts.frame
        self.beams, self.assembly = BeamData.of(parts.frame, parts.ends), Assembly(parts)
        self.unstressed_length = unstressed_length
        self.temperature_change = loads.temperature_change[case]
        self.cable_temperature_change = loads.cable_temperature_change[case]
        one = loads.only(case)
        self.fixed_ends = fixed_end_forces(parts, one, thermal=False)
        self.dead = loads.nodal[case] - _line_load_share(parts, self.fixed_ends)
        self.support_displacement = loads.support_displacement[case]
        self.size = self.frame.size

    def state(self, shape: Configuration, fraction: float) -> _State:
        """Forces in a shape, with that fraction of the case's temperature change."""
        frame, n = self.frame, len(self.frame.nodes)
        beams = deform_beams(self.beams, shape, fraction * self.temperature_change)
        springs = deform_springs(frame, shape.move, shape.turn)
        internal_force = np.zeros((n, 6))
        np.add.at(internal_force, frame.ends.reshape(-1), beams.force.reshape(-1, 6))
        np.add.at(internal_force, frame.spring_ends.reshape(-1), springs.force.reshape(-1, 6))
        cable_shape = cable_geometry(frame.cables, frame.nodes + shape.move, shape.turn)
        free = self.unstressed_length * (
            1 + frame.cables.expansion * fraction * self.cable_temperature_change
        )
        pull = np.asarray(frame.cables.EA * (cable_shape.total / free - 1), dtype=float)
        if len(frame.cables):
            internal_force += nodal_forces(
                frame.cables, elongation_gradient(cable_shape), np.maximum(pull, 0.0), n
            )
        return _State(shape, beams, springs, cable_shape, pull, internal_force)

    def predicted_forces(self, state: _State, step: FloatArray) -> _Forces:
        """Forces after a small step (n, 6), by the tangent."""
        q = state.beams.predicted_forces(step[self.frame.ends].reshape(-1, 12))
        pull = np.where(state.pull > 0, self.predicted_tension(state, step), 0.0)
        return _Forces(q, np.maximum(pull, 0.0))

    def predicted_tension(self, state: _State, step: FloatArray) -> FloatArray:
        """(k,), N, `pull` of the cables after a small step (n, 6), by the tangent."""
        cables = self.frame.cables
        longer = elongation(cables, elongation_gradient(state.cable_shape), step)
        return np.asarray(state.pull + cables.EA / self.unstressed_length * longer, dtype=float)

    def tangent(self, state: _State, forces: _Forces) -> SuperLU:
        """The factorised tangent in a state, its geometric part taken with `forces`; RuntimeError where singular."""
        frame = self.frame
        found = [(node_blocks(frame.ends), split_blocks(state.beams.stiffness(forces.q)))]
        if len(frame.springs):
            found.append((node_blocks(frame.spring_ends), split_blocks(state.springs.stiffness)))
        if len(frame.cables):
            taut = np.where(state.tension > 0, frame.cables.EA / self.unstressed_length, 0.0).astype(float)
            found.append(elastic_blocks(frame.cables, elongation_gradient(state.cable_shape), taut))
            found.append(geometric_blocks(state.cable_shape, forces.tension))
        return factorise_symmetric(self.assembly.matrix(found), "NATURAL")

    def correction(self, factor: SuperLU, state: _State, fraction: float) -> FloatArray:
        """(n, 6), the movement from a state towards equilibrium under that fraction of the load, by a tangent."""
        residual = self.parts.unknowns((fraction * self.dead - state.internal_force)[None])[0]
        by: FloatArray = self.parts.movements(factor.solve(residual)[None])[0]
        return by

    def largest(self, movement: FloatArray) -> float:
        """m, the largest of movements (n, 6), rotations times the frame's size."""
        return float(self.frame.largest_movement(movement[None])[0])

    def is_settled(self, last: _Correction) -> bool:
        """Whether a correction is below the tolerance."""
        return last.size <= REL_TOL_NEWTON * max(
            self.largest(last.to.displacement), REL_TOL_SMALL_MOVEMENT * self.size
        )


def _line_load_share(parts: Parts, fixed_ends: FixedEndForces | None) -> FloatArray:
    if fixed_ends is None:
        return np.zeros((len(parts.frame.nodes), 6))
    return np.asarray(internal_forces(parts, fixed_ends.q, fixed_ends, dtype=np.float64)[0])


def line_load_share(parts: Parts, one: Loads) -> FloatArray:
    """(n, 6), end forces of clamped beams under line loads of one case: the equivalent nodal loads with the sign changed."""
    return _line_load_share(parts, fixed_end_forces(parts, one, thermal=False))


def solve_second_order(
    parts: Parts, loads: Loads, case: int, unstressed_length: Real, start: Configuration | None = None
) -> SecondOrderResult:
    """One case at full load, from `start` (as drawn where left out); NoConvergence, with the fraction reached, or Mechanism."""
    problem = _Problem(parts, loads, case, unstressed_length)
    shape, done, step, steps = start or Configuration.undeformed(parts.frame), 0.0, 1.0, 0
    while done < 1.0:
        target = min(1.0, done + step)
        found = _equilibrium(problem, shape, done, target)
        if found is None:
            step /= 2
            if step < MIN_LOAD_STEP:
                raise _mechanism_in(problem, shape) or _no_equilibrium(loads.names[case], done)
            continue
        state, change = found
        shape, done, step, steps = state.shape, target, 2 * step, steps + 1
    return _answer(problem, state, change, steps)


def _answer(problem: _Problem, state: _State, change: float, steps: int) -> SecondOrderResult:
    """A state in equilibrium, reached by a last correction of that size, m."""
    fixed_ends = (
        np.zeros((len(problem.parts.nodes), 6)) if problem.fixed_ends is None else problem.fixed_ends.q[0]
    )
    natural = np.concatenate([state.beams.q, state.springs.q]) + fixed_ends
    internal_force = state.internal_force + _line_load_share(problem.parts, problem.fixed_ends)
    displacement = state.shape.displacement
    # where hardly anything moves, the last correction is the rounding of coordinates, not an error
    error = change / max(problem.largest(displacement), REL_TOL_MOVEMENT_ROUNDING * problem.size)
    return SecondOrderResult(
        displacement,
        internal_force,
        natural,
        state.tension,
        state.beams.axes,
        state.beams.length,
        error,
        steps,
    )


def _mechanism_in(problem: _Problem, shape: Configuration) -> Mechanism | None:
    """What moves freely, where the first tangent is singular already."""
    state = problem.state(shape, 0.0)
    parts = problem.parts
    try:
        pivots = problem.tangent(state, _Forces.of(state)).U.diagonal()
    except RuntimeError:
        return find_mechanism(parts, stiffness(parts))
    diagonal = np.abs(pivots).max(initial=0.0)
    return (
        find_mechanism(parts, stiffness(parts))
        if np.abs(pivots).min(initial=np.inf) < REL_TOL_PIVOT * diagonal
        else None
    )


def _no_equilibrium(name: str, done: float) -> NoConvergence:
    return NoConvergence(
        f"case '{name}' finds no stable equilibrium in its deformed shape beyond {100 * done:.3g} % of its load; "
        "it buckles or folds there: lower the load, stiffen the frame, or divide its beams further",
        done,
    )


def _equilibrium(
    problem: _Problem, shape: Configuration, done: float, target: float
) -> tuple[_State, float] | None:
    """The equilibrium under the fraction `target` of the load, and the last correction's size, m; None if not found."""
    before, predicted = problem.state(shape, done), 0.0
    moved = shape.updated((target - done) * problem.support_displacement)
    for step in _corrections(problem, moved, _Forces.of(before), target):
        predicted = predicted or _max_translation(step.to, shape)
        if problem.is_settled(step):
            state = problem.state(step.to, target)
            return (state, step.size) if _is_on_path(problem, state, shape, done, predicted) else None
    return None


def _corrections(
    problem: _Problem, shape: Configuration, forces: _Forces, target: float
) -> Iterator[_Correction]:
    """Newton's iteration from a shape, step by step, until it diverges or has taken too many.

    forces : of the geometric part of the first tangent
    """
    factor, last = None, 0.0
    for _ in range(MAX_NEWTON_ITERATIONS):
        state = problem.state(shape, target)
        try:
            factor = factor or problem.tangent(state, forces)
        except RuntimeError:
            return
        by = problem.correction(factor, state, target)
        size = problem.largest(by)
        if not size <= MAX_RELATIVE_CORRECTION * problem.size:
            return
        shape = shape.updated(by)
        yield _Correction(state, by, shape, size)
        if size > TANGENT_REUSE_RATIO * last:
            factor, forces = None, problem.predicted_forces(state, by)
        last = size


def _max_translation(shape: Configuration, start: Configuration) -> float:
    """m, the largest movement of a node from one shape to another."""
    return float(np.abs(shape.move - start.move).max())


def _is_on_path(
    problem: _Problem, state: _State, start: Configuration, done: float, predicted: float
) -> bool:
    """Whether a state is stable and on the equilibrium path that it was sought on, not one that the frame snaps to.

    On one path the frame moves about as far in a step as the tangent at its start predicted, `predicted`, m, or as that at its
    end implies backwards; past a limit point it jumps much further than both.
    """
    try:
        factor = problem.tangent(state, _Forces.of(state))
    except RuntimeError:
        return False
    if not np.all(factor.U.diagonal() > 0):
        return False
    moved = _max_translation(state.shape, start) - REL_TOL_SMALL_MOVEMENT * problem.size
    if moved <= MAX_PREDICTION_RATIO * predicted:
        return True
    back = problem.correction(factor, problem.state(state.shape, done), done)
    return bool(moved <= MAX_PREDICTION_RATIO * np.abs(back[:, :3]).max())


def solve_pretension(parts: Parts, gain: FloatArray) -> PretensionedState:
    """The frame without load whose cables have their `pretension`, all together: lengths and shape by one iteration.

    A cable without pretension does not act, and is as long as its path is then.
    gain : (k, k), tensions under pretension alone per tension as drawn, in the linear frame. It affects how fast the iteration
    converges, not its result: as the shape converges, each correction of it is followed by one of the tensions as drawn.
    NoConvergence where there is no such shape, or where it is not stable.
    """
    wanted, start = parts.frame.cables.pretension, Configuration.undeformed(parts.frame)
    if not wanted.any():
        return PretensionedState(_drawn_length(parts.frame), start)
    steer = np.linalg.pinv(
        gain, rcond=ABS_TOL_CABLE_STIFFNESS / max(float(np.linalg.norm(gain, 2)), ABS_TOL_CABLE_STIFFNESS)
    )
    trial, predicted, last, settling = steer @ wanted, 0.0, 0.0, False
    # rounding of a cable's length alone changes its tension in proportion to its EA
    least = np.maximum(
        REL_TOL_PRETENSION * wanted.max(),
        ROUNDINGS_OF_CABLE_STRAIN * float(np.finfo(EXTENDED).eps) * parts.frame.cables.EA,
    )
    problem = _Problem(
        parts, Loads.zeros(parts.frame, "pretension alone"), 0, _unstressed_length(parts.frame, trial)
    )
    for step in _corrections(problem, start, _Forces.of(problem.state(start, 0.0)), 0.0):
        predicted = predicted or _max_translation(step.to, start)
        miss = np.where(wanted > 0, wanted - problem.predicted_tension(step.state, step.by), 0.0)
        tuned = bool(np.all(np.abs(miss) <= least))
        if tuned and problem.is_settled(step):
            state = problem.state(step.to, 0.0)
            if not _is_on_path(problem, state, start, 0.0, predicted):
                break
            length = np.where(wanted > 0, problem.unstressed_length, state.cable_shape.total)
            return PretensionedState(length, step.to, _answer(problem, state, step.size, 1))
        # the first shapes may be far off, and so their tensions
        settling, last = settling or step.size <= TANGENT_REUSE_RATIO * last, step.size
        if settling and not tuned:
            trial = trial + steer @ miss
            problem.unstressed_length = _unstressed_length(parts.frame, trial)
    raise _mechanism_in(problem, start) or NoConvergence(
        "the cables' pretension is not reached in the unloaded frame; lower it, or stiffen the frame", 0.0
    )


def _drawn_length(frame: Frame) -> Real:
    """(k,), m, lengths of the cables as drawn, in extended precision."""
    return cable_geometry(frame.cables, frame.nodes.astype(EXTENDED)).total


def _unstressed_length(frame: Frame, drawn: FloatArray) -> Real:
    """(k,), m, unstressed lengths of cables with tensions `drawn` (k,) as drawn; inf of those without pretension."""
    length = _drawn_length(frame) / (1 + drawn / frame.cables.EA)
    return np.where(frame.cables.pretension > 0, length, np.inf)
