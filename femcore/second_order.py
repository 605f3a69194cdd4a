"""Equilibrium in the deformed shape: Newton's method on corotational beams and true cables, loads applied in
steps that adapt.

Each iteration solves K Δu = λ F − R(u) with the tangent K of `corotational`, `turning_springs` and `cables`,
whose geometric part is taken with the forces that the last tangent foretold, not with those of the shape:
beams are stiff along and soft across, and a step across stretches them for one iteration (the mixed iteration
of G. Garcea et al., Comput. Methods Appl. Mech. Eng. 156 (1998), from memory). Where that does not settle the
load step is halved; an equilibrium whose tangent has a negative pivot has buckled, and is no answer.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.sparse.linalg import SuperLU

from femcore.assembly import Clamped, Parts, assembled, clamped, internal_forces, stiffness
from femcore.blocks import factor_of, four_blocks, node_blocks
from femcore.cables import Paths, elastic_blocks, elongation, gathers, geometric_blocks, nodal_forces, paths
from femcore.corotational import Beams, Bent, Shape, bend
from femcore.errors import Mechanism, NoConvergence
from femcore.frame import FloatArray, Loads
from femcore.mechanism import find_mechanism
from femcore.tension_only import LOOSE
from femcore.turning_springs import Turned, turn_springs

CLOSE = 1e-11
"""Relative size of a correction at which Newton's method has settled."""
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
PRETENSION_ROUNDS = 30


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
    """All parts in one shape."""

    shape: Shape
    bent: Bent
    springs: Turned
    lie: Paths
    tension: FloatArray
    inside: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class _Forces:
    """Natural forces of the beams (m, 6) and tensions (k,) that the geometric stiffness is taken with."""

    q: FloatArray
    tension: FloatArray


class _Problem:
    """One frame under one case, as functions of its shape and of the load fraction."""

    def __init__(self, parts: Parts, loads: Loads, case: int, free_length: FloatArray) -> None:
        self.parts, self.frame = parts, parts.frame
        self.beams = Beams.of(self.frame)
        self.free_length = free_length
        self.warm, self.warm_cables = loads.warm[case], loads.warm_cables[case]
        one = loads.only(case)
        self.held = clamped(parts, one, thermal=False)
        self.dead = loads.nodal[case] - _share(parts, self.held)
        self.moved = loads.moved[case]
        self.weight = np.array([1.0] * 3 + [self.frame.size] * 3)

    def state(self, shape: Shape, fraction: float) -> _State:
        """Forces in a shape, with that fraction of the case's warmth."""
        frame, n = self.frame, len(self.frame.nodes)
        bent = bend(self.beams, shape, fraction * self.warm)
        springs = turn_springs(frame, shape.move, shape.turn)
        lie = paths(frame.cables, frame.nodes + shape.move, shape.turn)
        free = self.free_length * (1 + frame.cables.expansion * fraction * self.warm_cables)
        tension = (
            np.maximum(frame.cables.EA * (lie.total / free - 1), 0.0) if len(frame.cables) else np.zeros(0)
        )
        inside = np.zeros((n, 6))
        np.add.at(inside, frame.ends.reshape(-1), bent.force.reshape(-1, 6))
        np.add.at(inside, frame.spring_ends.reshape(-1), springs.force.reshape(-1, 6))
        if len(frame.cables):
            inside += nodal_forces(frame.cables, gathers(lie), tension, n)
        return _State(shape, bent, springs, lie, tension, inside)

    def ahead(self, state: _State, step: FloatArray) -> _Forces:
        """Forces after a small step (n, 6), by the tangent."""
        frame = self.frame
        q = state.bent.ahead(step[frame.ends].reshape(-1, 12))
        if not len(frame.cables):
            return _Forces(q, state.tension)
        pull = frame.cables.EA / self.free_length * elongation(frame.cables, gathers(state.lie), step)
        return _Forces(q, np.maximum(state.tension + np.where(state.tension > 0, pull, 0.0), 0.0))

    def tangent(self, state: _State, forces: _Forces) -> SuperLU:
        """The factorised tangent in a state, its geometric part taken with `forces`; RuntimeError where singular."""
        frame, parts = self.frame, self.parts
        found = [(node_blocks(frame.ends), four_blocks(state.bent.stiffness(forces.q)))]
        if len(frame.springs):
            found.append((node_blocks(frame.spring_ends), four_blocks(state.springs.stiffness)))
        if len(frame.cables):
            taut = np.where(state.tension > 0, frame.cables.EA / self.free_length, 0.0)
            found.append(elastic_blocks(frame.cables, gathers(state.lie), taut))
            found.append(geometric_blocks(state.lie, forces.tension))
        return factor_of(assembled(parts, found), "NATURAL")


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
    """Bring one case to full load; NoConvergence, with the fraction reached, where that cannot be done."""
    problem = _Problem(parts, loads, case, free_length)
    shape, done, step, steps, error = start or Shape.undeformed(parts.frame), 0.0, 1.0, 0, 0.0
    while done < 1.0:
        aim = min(1.0, done + step)
        found = _equilibrium(problem, shape, done, aim)
        if found is None:
            step /= 2
            if step < LEAST_STEP:
                raise _loose(problem, shape) or _stuck(loads.names[case], done)
            continue
        shape, error = found
        done, step, steps = aim, 2 * step, steps + 1
    state = problem.state(shape, 1.0)
    held = np.zeros((len(parts.nodes), 6)) if problem.held is None else problem.held.q[0]
    natural = np.concatenate([state.bent.q, state.springs.q]) + held
    inside = state.inside + _share(parts, problem.held)
    return Deformed(
        shape.displacement, inside, natural, state.tension, state.bent.axes, state.bent.length, error, steps
    )


def _loose(problem: _Problem, shape: Shape) -> Mechanism | None:
    """What moves freely, where already the first tangent resists nothing there."""
    state = problem.state(shape, 0.0)
    parts = problem.parts
    try:
        pivots = problem.tangent(state, _Forces(state.bent.q, state.tension)).U.diagonal()
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


def _equilibrium(problem: _Problem, shape: Shape, done: float, aim: float) -> tuple[Shape, float] | None:
    """The shape in equilibrium under the fraction `aim` of the load, and the last correction's size; None if not found."""
    parts, weight = problem.parts, problem.weight
    before = problem.state(shape, done)
    forces = _Forces(before.bent.q, before.tension)
    state = problem.state(shape.further((aim - done) * problem.moved), aim)
    foreseen = 0.0
    for _ in range(MOST_ITERATIONS):
        try:
            factor = problem.tangent(state, forces)
        except RuntimeError:
            return None
        residual = aim * problem.dead - state.inside
        correction = parts.movements(factor.solve(parts.unknowns(residual[None])[0])[None])[0]
        if (
            not np.isfinite(correction).all()
            or np.abs(correction * weight).max() > TOO_FAR * parts.frame.size
        ):
            return None
        forces = problem.ahead(state, correction)
        state = problem.state(state.shape.further(correction), aim)
        foreseen = foreseen or _far(state.shape, shape)
        size, change = (float(np.abs(x * weight).max()) for x in (state.shape.displacement, correction))
        if change <= CLOSE * max(size, LITTLE * parts.frame.size):
            if not _stays_on_its_way(problem, state, shape, done, foreseen):
                return None
            # where hardly anything moves, what is left is the rounding of coordinates, not an error
            return state.shape, change / max(size, ROUNDING * parts.frame.size)
    return None


def _far(shape: Shape, start: Shape) -> float:
    """m, the largest movement of a node from one shape to another."""
    return float(np.abs(shape.move - start.move).max())


def _stays_on_its_way(problem: _Problem, state: _State, start: Shape, done: float, foreseen: float) -> bool:
    """Whether a state has no negative pivot, and lies on the way that it was sought on: not one that the frame snaps to.

    On one way the frame moves about as far in a step as the tangent at its beginning foresaw, `foreseen`, m, or as that at its
    end tells looking back; past the top of its load it jumps much further than both.
    """
    try:
        factor = problem.tangent(state, _Forces(state.bent.q, state.tension))
    except RuntimeError:
        return False
    if not np.all(factor.U.diagonal() > 0):
        return False
    moved = _far(state.shape, start) - LITTLE * problem.frame.size
    if moved <= JUMP * foreseen:
        return True
    residual = done * problem.dead - problem.state(state.shape, done).inside
    back = problem.parts.movements(factor.solve(problem.parts.unknowns(residual[None])[0])[None])[0]
    return bool(moved <= JUMP * np.abs(back[:, :3]).max())


def free_lengths(parts: Parts, gain: FloatArray) -> FloatArray:
    """(k,), m: slack-free lengths that leave the cables' `pretension` in the frame at rest, without load, all together.

    gain : (k, k), how the tensions at rest follow those that the cables would have as drawn, in the linear frame. It steers the
    search (a fixed point on the tensions as drawn), not its result.
    """
    cables, wanted = parts.frame.cables, parts.frame.cables.pretension
    drawn = paths(cables, parts.frame.nodes).total
    if not wanted.any():
        return np.asarray(drawn)
    at_rest = Loads.none(parts.frame, "at rest")
    steer = np.linalg.pinv(gain, rcond=LOOSE / max(float(np.linalg.norm(gain, 2)), LOOSE))
    trial = steer @ wanted
    shape = None
    for _ in range(PRETENSION_ROUNDS):
        rest = deform(parts, at_rest, 0, drawn / (1 + trial / cables.EA), shape)
        miss, shape = wanted - rest.tension, Shape.after(rest.displacement)
        if np.abs(miss).max() <= 1e-11 * wanted.max():
            return np.asarray(drawn / (1 + trial / cables.EA))
        trial = trial + steer @ miss
    raise NoConvergence(
        "the cables' pretension is not reached in the frame at rest; lower it, or stiffen the frame", 0.0
    )
