"""Equilibrium in the deformed shape: Newton's method on corotational beams and true cables, loads applied in
steps that adapt.

Each iteration solves K Δu = λ F − R(u) with the tangent K of `corotational`, `turning_springs` and `cables`,
whose geometric part is taken with the forces that the last tangent foretold, not with those of the shape:
beams are stiff along and soft across, and a step across stretches them for one iteration (the mixed iteration
of G. Garcea et al., Comput. Methods Appl. Mech. Eng. 156 (1998), from memory). A tangent is kept while it shrinks
the corrections well. Where that does not settle the load step is halved; an equilibrium whose tangent has a negative
pivot has buckled, and is no answer.

Cables are given by the tension that they have at rest, not by their length: `at_rest` finds the lengths, and with
them the shape that every load begins from.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from scipy.sparse.linalg import SuperLU

from femcore.base.arrays import FloatArray
from femcore.base.errors import Mechanism, NoConvergence
from femcore.elements.cable import (
    Paths,
    elastic_blocks,
    elongation,
    gathers,
    geometric_blocks,
    nodal_forces,
    paths,
)
from femcore.elements.corotational_beam import Beams, Bent, Shape, bend
from femcore.elements.corotational_spring import Turned, turn_springs
from femcore.frame.frame import Frame, Loads
from femcore.solvers.assembly import Assembly, Clamped, Parts, clamped, internal_forces, stiffness
from femcore.solvers.blocks import factor_of, four_blocks, node_blocks
from femcore.solvers.mechanism import find_mechanism
from femcore.solvers.slack_cables import LOOSE

CLOSE = 1e-11
"""Relative size of a correction at which Newton's method has settled."""
KEPT = 0.1
"""Of the last correction: a tangent that leaves no more is used again."""
MOST_ITERATIONS = 40
LEAST_STEP = 1 / 512
LITTLE = 1e-4
"""Of the frame's size: where it moves less, rounding of its coordinates bounds the correction."""
FREE = 1e-14
"""Of the largest pivot: less is no resistance."""
ROUNDING = 1e-8
"""Of the frame's size: movements below it are not told from rounding by more than half their digits."""
TOO_FAR = 10.0
"""Of the frame's size: a correction that moves or turns more has lost its way."""
JUMP = 4.0
"""Times what the tangents foresee: a movement further in one step has left its way."""
TUNED = 1e-11
"""Of the largest pretension: a miss that is rounding."""


@dataclass(frozen=True, slots=True, eq=False)
class Deformed:
    """One case in its deformed shape.

    displacement : (n, 6);   inside : (n, 6), what the nodes put on all parts less the line loads' share
    natural      : (p, 6), natural forces of beams, then springs;   tension : (k,)
    axes, length : of the beams in that shape;   error : relative size of the last correction
    """

    displacement: FloatArray
    inside: FloatArray
    natural: FloatArray
    tension: FloatArray
    axes: FloatArray
    length: FloatArray
    error: float
    steps: int


@dataclass(frozen=True, slots=True, eq=False)
class _State:
    """All parts in one shape.

    pull : (k,), N, tensions of the cables, negative by what a slack one would push, could it
    """

    shape: Shape
    bent: Bent
    springs: Turned
    lie: Paths
    pull: FloatArray
    inside: FloatArray

    @property
    def tension(self) -> FloatArray:
        """(k,), N."""
        return np.asarray(np.maximum(self.pull, 0.0))


@dataclass(frozen=True, slots=True, eq=False)
class _Forces:
    """Natural forces of the beams (m, 6) and tensions (k,) that the geometric stiffness is taken with."""

    q: FloatArray
    tension: FloatArray

    @classmethod
    def of(cls, state: _State) -> _Forces:
        return cls(state.bent.q, state.tension)


@dataclass(frozen=True, slots=True, eq=False)
class _Correction:
    """A step of Newton's method from a state, `by` movements and spins (n, 6), to a shape; its size, m."""

    state: _State
    by: FloatArray
    to: Shape
    size: float


@dataclass(frozen=True, slots=True, eq=False)
class Rest:
    """A frame without load: the slack-free lengths of its cables, (k,), m, and the shape that their pretension gives it.

    answer : the frame in that shape; None where it is as drawn
    """

    free_length: FloatArray
    shape: Shape
    answer: Deformed | None = None


class _Problem:
    """One frame under one case, as functions of its shape and of the load fraction; `free_length` may change on the way."""

    def __init__(self, parts: Parts, loads: Loads, case: int, free_length: FloatArray) -> None:
        self.parts, self.frame = parts, parts.frame
        self.beams, self.assembly = Beams.of(parts), Assembly(parts)
        self.free_length = free_length
        self.warm, self.warm_cables = loads.warm[case], loads.warm_cables[case]
        one = loads.only(case)
        self.held = clamped(parts, one, thermal=False)
        self.dead = loads.nodal[case] - _share(parts, self.held)
        self.moved = loads.moved[case]
        self.size, self.weight = self.frame.size, np.array([1.0] * 3 + [self.frame.size] * 3)

    def state(self, shape: Shape, fraction: float) -> _State:
        """Forces in a shape, with that fraction of the case's warmth."""
        frame, n = self.frame, len(self.frame.nodes)
        bent = bend(self.beams, shape, fraction * self.warm)
        springs = turn_springs(frame, shape.move, shape.turn)
        inside = np.zeros((n, 6))
        np.add.at(inside, frame.ends.reshape(-1), bent.force.reshape(-1, 6))
        np.add.at(inside, frame.spring_ends.reshape(-1), springs.force.reshape(-1, 6))
        lie = paths(frame.cables, frame.nodes + shape.move, shape.turn)
        free = self.free_length * (1 + frame.cables.expansion * fraction * self.warm_cables)
        pull = np.asarray(frame.cables.EA * (lie.total / free - 1))
        if len(frame.cables):
            inside += nodal_forces(frame.cables, gathers(lie), np.maximum(pull, 0.0), n)
        return _State(shape, bent, springs, lie, pull, inside)

    def ahead(self, state: _State, step: FloatArray) -> _Forces:
        """Forces after a small step (n, 6), by the tangent."""
        q = state.bent.ahead(step[self.frame.ends].reshape(-1, 12))
        pull = np.where(state.pull > 0, self.pull_ahead(state, step), 0.0)
        return _Forces(q, np.maximum(pull, 0.0))

    def pull_ahead(self, state: _State, step: FloatArray) -> FloatArray:
        """(k,), N, `pull` of the cables after a small step (n, 6), by the tangent."""
        cables = self.frame.cables
        longer = elongation(cables, gathers(state.lie), step)
        return np.asarray(state.pull + cables.EA / self.free_length * longer)

    def tangent(self, state: _State, forces: _Forces) -> SuperLU:
        """The factorised tangent in a state, its geometric part taken with `forces`; RuntimeError where singular."""
        frame = self.frame
        found = [(node_blocks(frame.ends), four_blocks(state.bent.stiffness(forces.q)))]
        if len(frame.springs):
            found.append((node_blocks(frame.spring_ends), four_blocks(state.springs.stiffness)))
        if len(frame.cables):
            taut = np.where(state.tension > 0, frame.cables.EA / self.free_length, 0.0)
            found.append(elastic_blocks(frame.cables, gathers(state.lie), taut))
            found.append(geometric_blocks(state.lie, forces.tension))
        return factor_of(self.assembly.matrix(found), "NATURAL")

    def correction(self, factor: SuperLU, state: _State, fraction: float) -> FloatArray:
        """(n, 6), by which a tangent takes the state towards equilibrium under that fraction of the load."""
        residual = self.parts.unknowns((fraction * self.dead - state.inside)[None])[0]
        by: FloatArray = self.parts.movements(factor.solve(residual)[None])[0]
        return by

    def largest(self, movement: FloatArray) -> float:
        """m, the largest of movements (n, 6), rotations times the frame's size."""
        return float(np.abs(movement * self.weight).max())

    def is_settled(self, last: _Correction) -> bool:
        """Whether a correction changes no digit that is asked for."""
        return last.size <= CLOSE * max(self.largest(last.to.displacement), LITTLE * self.size)


def _share(parts: Parts, held: Clamped | None) -> FloatArray:
    if held is None:
        return np.zeros((len(parts.frame.nodes), 6))
    return np.asarray(internal_forces(parts, held.q, held, dtype=np.float64)[0])


def line_share(parts: Parts, one: Loads) -> FloatArray:
    """(n, 6), what clamped beams take of the line loads of one case: dead forces on the nodes with the sign changed."""
    return _share(parts, clamped(parts, one, thermal=False))


def deform(
    parts: Parts, loads: Loads, case: int, free_length: FloatArray, start: Shape | None = None
) -> Deformed:
    """Bring one case to full load, from `start` (as drawn where left out); NoConvergence, with the fraction reached, where
    that cannot be done.
    """
    problem = _Problem(parts, loads, case, free_length)
    shape, done, step, steps = start or Shape.undeformed(parts.frame), 0.0, 1.0, 0
    while done < 1.0:
        aim = min(1.0, done + step)
        found = _equilibrium(problem, shape, done, aim)
        if found is None:
            step /= 2
            if step < LEAST_STEP:
                raise _loose(problem, shape) or _stuck(loads.names[case], done)
            continue
        state, change = found
        shape, done, step, steps = state.shape, aim, 2 * step, steps + 1
    return _answer(problem, state, change, steps)


def _answer(problem: _Problem, state: _State, change: float, steps: int) -> Deformed:
    """A state in equilibrium, reached by a last correction of that size, m."""
    held = np.zeros((len(problem.parts.nodes), 6)) if problem.held is None else problem.held.q[0]
    natural = np.concatenate([state.bent.q, state.springs.q]) + held
    inside, displacement = state.inside + _share(problem.parts, problem.held), state.shape.displacement
    # where hardly anything moves, what is left is the rounding of coordinates, not an error
    error = change / max(problem.largest(displacement), ROUNDING * problem.size)
    return Deformed(
        displacement, inside, natural, state.tension, state.bent.axes, state.bent.length, error, steps
    )


def _loose(problem: _Problem, shape: Shape) -> Mechanism | None:
    """What moves freely, where already the first tangent resists nothing there."""
    state = problem.state(shape, 0.0)
    parts = problem.parts
    try:
        pivots = problem.tangent(state, _Forces.of(state)).U.diagonal()
    except RuntimeError:
        return find_mechanism(parts, stiffness(parts))
    diagonal = np.abs(pivots).max(initial=0.0)
    return (
        find_mechanism(parts, stiffness(parts))
        if np.abs(pivots).min(initial=np.inf) < FREE * diagonal
        else None
    )


def _stuck(name: str, done: float) -> NoConvergence:
    return NoConvergence(
        f"case '{name}' finds no stable equilibrium in its deformed shape beyond {100 * done:.3g} % of its load; "
        "it buckles or folds there: lower the load, stiffen what gives way, or divide its beams further",
        done,
    )


def _equilibrium(problem: _Problem, shape: Shape, done: float, aim: float) -> tuple[_State, float] | None:
    """The equilibrium under the fraction `aim` of the load, and the last correction's size, m; None if not found."""
    before, foreseen = problem.state(shape, done), 0.0
    moved = shape.further((aim - done) * problem.moved)
    for step in _corrections(problem, moved, _Forces.of(before), aim):
        foreseen = foreseen or _far(step.to, shape)
        if problem.is_settled(step):
            state = problem.state(step.to, aim)
            return (state, step.size) if _stays_on_its_way(problem, state, shape, done, foreseen) else None
    return None


def _corrections(problem: _Problem, shape: Shape, forces: _Forces, aim: float) -> Iterator[_Correction]:
    """Newton's way from a shape, step by step. It ends where it is lost.

    forces : that the geometric part of the first tangent is taken with
    """
    factor, last = None, 0.0
    for _ in range(MOST_ITERATIONS):
        state = problem.state(shape, aim)
        try:
            factor = factor or problem.tangent(state, forces)
        except RuntimeError:
            return
        by = problem.correction(factor, state, aim)
        size = problem.largest(by)
        if not size <= TOO_FAR * problem.size:
            return
        shape = shape.further(by)
        yield _Correction(state, by, shape, size)
        if size > KEPT * last:
            factor, forces = None, problem.ahead(state, by)
        last = size


def _far(shape: Shape, start: Shape) -> float:
    """m, the largest movement of a node from one shape to another."""
    return float(np.abs(shape.move - start.move).max())


def _stays_on_its_way(problem: _Problem, state: _State, start: Shape, done: float, foreseen: float) -> bool:
    """Whether a state has no negative pivot, and lies on the way that it was sought on: not one that the frame snaps to.

    On one way the frame moves about as far in a step as the tangent at its beginning foresaw, `foreseen`, m, or as that at its
    end tells looking back; past the top of its load it jumps much further than both.
    """
    try:
        factor = problem.tangent(state, _Forces.of(state))
    except RuntimeError:
        return False
    if not np.all(factor.U.diagonal() > 0):
        return False
    moved = _far(state.shape, start) - LITTLE * problem.size
    if moved <= JUMP * foreseen:
        return True
    back = problem.correction(factor, problem.state(state.shape, done), done)
    return bool(moved <= JUMP * np.abs(back[:, :3]).max())


def at_rest(parts: Parts, gain: FloatArray) -> Rest:
    """The frame without load whose cables have their `pretension`, all together: lengths and shape by one iteration.

    A cable without pretension has no part in it, and is as long as its way is then.
    gain : (k, k), how the tensions at rest follow those that the cables would have as drawn, in the linear frame. It steers the
    search, not its result: as the shape settles, each correction of it is followed by one of the tensions as drawn.
    NoConvergence where that ends nowhere, or in a shape that is not stable.
    """
    wanted, start = parts.frame.cables.pretension, Shape.undeformed(parts.frame)
    if not wanted.any():
        return Rest(paths(parts.frame.cables, parts.frame.nodes).total, start)
    steer = np.linalg.pinv(gain, rcond=LOOSE / max(float(np.linalg.norm(gain, 2)), LOOSE))
    trial, foreseen, last, settling = steer @ wanted, 0.0, 0.0, False
    # rounding of a cable's length alone is some of its EA
    least = np.maximum(TUNED * wanted.max(), 8 * np.finfo(float).eps * parts.frame.cables.EA)
    problem = _Problem(parts, Loads.none(parts.frame, "at rest"), 0, _length(parts.frame, trial))
    for step in _corrections(problem, start, _Forces.of(problem.state(start, 0.0)), 0.0):
        foreseen = foreseen or _far(step.to, start)
        miss = np.where(wanted > 0, wanted - problem.pull_ahead(step.state, step.by), 0.0)
        tuned = bool(np.all(np.abs(miss) <= least))
        if tuned and problem.is_settled(step):
            state = problem.state(step.to, 0.0)
            if not _stays_on_its_way(problem, state, start, 0.0, foreseen):
                break
            length = np.where(wanted > 0, problem.free_length, state.lie.total)
            return Rest(length, step.to, _answer(problem, state, step.size, 1))
        # the first shapes may be far off, and so what they say of tensions
        settling, last = settling or step.size <= KEPT * last, step.size
        if settling and not tuned:
            trial = trial + steer @ miss
            problem.free_length = _length(parts.frame, trial)
    raise _loose(problem, start) or NoConvergence(
        "the cables' pretension is not reached in the frame at rest; lower it, or stiffen the frame", 0.0
    )


def _length(frame: Frame, drawn: FloatArray) -> FloatArray:
    """(k,), m, slack-free, of cables that would have the tensions `drawn` (k,) as drawn; inf of those without pretension."""
    length = paths(frame.cables, frame.nodes).total / (1 + drawn / frame.cables.EA)
    return np.where(frame.cables.pretension > 0, length, np.inf)
