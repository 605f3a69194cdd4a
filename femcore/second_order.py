"""Equilibrium in the deformed shape: Newton's method on corotational beams and true cables, loads applied in steps that adapt.

Each step solves K Δu = λ F − R(u) with the tangent K of `corotational` and `cables`; a line search on the work of the residual keeps a
step from overshooting (M.A. Crisfield, vol. 1, 1991, ch. 9, from memory). Where Newton does not settle the load step is halved; an
equilibrium whose tangent has a negative pivot has buckled, and is not an answer.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from femcore.assembly import Clamped, Parts, clamped, internal_forces
from femcore.blocks import factor_of, node_blocks, summed
from femcore.cables import Paths, elastic_blocks, gathers, geometric_blocks, nodal_forces, paths
from femcore.corotational import Beams, Bent, Shape, bend
from femcore.errors import NoConvergence
from femcore.frame import FloatArray, Frame, Loads

CLOSE = 1e-11
"""Relative size of a correction at which Newton's method has settled."""
MOST_ITERATIONS = 40
LEAST_STEP = 1 / 512
SEARCH = 0.8
"""Largest part of the residual's work that a step may leave before it is shortened."""
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
    springs: FloatArray
    lie: Paths
    tension: FloatArray
    inside: FloatArray


class _Problem:
    """One frame under one case, as functions of its shape and of the load fraction."""

    def __init__(self, parts: Parts, loads: Loads, case: int, free_length: FloatArray) -> None:
        self.parts, self.frame = parts, parts.frame
        self.beams = Beams.of(self.frame)
        self.free_length = free_length
        self.warm, self.warm_cables = loads.warm[case], loads.warm_cables[case]
        one = loads.only(case)
        self.held = clamped(parts, one, thermal=False)
        self.dead = loads.nodal[case] - _line_share(parts, self.held)
        self.moved = loads.moved[case]
        self.weight = np.array([1.0] * 3 + [self.frame.size] * 3)

    def state(self, shape: Shape, fraction: float) -> _State:
        """Forces in a shape, with that fraction of the case's warmth."""
        frame, n = self.frame, len(self.frame.nodes)
        bent = bend(self.beams, shape, fraction * self.warm)
        displacement = shape.displacement
        springs = self._springs(displacement)
        lie = paths(frame.cables, frame.nodes + shape.move, shape.turn)
        free = self.free_length * (1 + frame.cables.expansion * fraction * self.warm_cables)
        tension = np.maximum(frame.cables.EA * (lie.total / free - 1), 0.0) if len(frame.cables) else np.zeros(0)
        inside = np.zeros((n, 6))
        np.add.at(inside, frame.ends.reshape(-1), bent.force.reshape(-1, 6))
        inside += internal_forces(self.parts, _beside_beams(frame, springs)[None], dtype=np.float64)[0]
        if len(frame.cables):
            inside += nodal_forces(frame.cables, gathers(lie), tension, n)
        return _State(shape, bent, springs, lie, tension, inside)

    def _springs(self, displacement: FloatArray) -> FloatArray:
        beams = len(self.frame.ends)
        q = np.zeros((len(self.frame.springs), 6))
        for part, motion in self.parts.motions(np.float64):
            if part.start >= beams:
                u = displacement[self.parts.nodes[part]].reshape(1, -1, 12)
                q = self.frame.springs * motion.deformations(u)[0]
        return q

    def tangent(self, state: _State):  # noqa: ANN201  (a SuperLU)
        """The factorised tangent in a state; RuntimeError where it is singular."""
        frame, parts, beams = self.frame, self.parts, len(self.frame.ends)
        rows, blocks = [node_blocks(frame.ends)], [_split(state.bent.stiffness())]
        for part, G in parts.chunks():
            if part.start >= beams:
                rows.append(node_blocks(parts.nodes[part]))
                blocks.append(_split(np.swapaxes(G, 1, 2) @ (parts.k[part] @ G)))
        if len(frame.cables):
            taut = np.where(state.tension > 0, frame.cables.EA / self.free_length, 0.0)
            for nodes, block in (
                elastic_blocks(frame.cables, gathers(state.lie), taut),
                geometric_blocks(state.lie, state.tension),
            ):
                rows.append(nodes)
                blocks.append(block)
        if len(parts.idle):
            held = np.zeros((len(parts.idle), 6, 6))
            held[:, 3:, 3:] = max(float(np.abs(block).max(initial=0.0)) for block in blocks) * parts.turns
            rows.append(np.column_stack([parts.idle, parts.idle]))
            blocks.append(held)
        pairs = np.concatenate(rows)
        return factor_of(summed(np.concatenate(blocks), pairs[:, 0], pairs[:, 1], parts.free), "NATURAL")


def _beside_beams(frame: Frame, springs: FloatArray) -> FloatArray:
    return np.concatenate([np.zeros((len(frame.ends), 6)), springs])


def _split(K: FloatArray) -> FloatArray:
    """(b, 12, 12) as (4 b, 6, 6), in the order of `node_blocks`."""
    return K.reshape(-1, 2, 6, 2, 6).swapaxes(2, 3).reshape(-1, 6, 6)


def _line_share(parts: Parts, held: Clamped | None) -> FloatArray:
    """(n, 6), what clamped beams take of the line loads: dead forces on the nodes with the sign changed."""
    if held is None:
        return np.zeros((len(parts.frame.nodes), 6))
    return np.asarray(internal_forces(parts, held.q, held, dtype=np.float64)[0])


def deform(parts: Parts, loads: Loads, case: int, free_length: FloatArray, start: Shape | None = None) -> Deformed:
    """Bring one case to full load; NoConvergence, with the fraction reached, where that cannot be done."""
    problem = _Problem(parts, loads, case, free_length)
    shape, done, step, steps, error = start or Shape.undeformed(parts.frame), 0.0, 1.0, 0, 0.0
    while done < 1.0:
        aim = min(1.0, done + step)
        found = _equilibrium(problem, shape, done, aim)
        if found is None:
            step /= 2
            if step < LEAST_STEP:
                raise _stuck(loads.names[case], done)
            continue
        shape, error = found
        done, step, steps = aim, 2 * step, steps + 1
    state = problem.state(shape, 1.0)
    held = np.zeros((len(parts.nodes), 6)) if problem.held is None else problem.held.q[0]
    natural = np.concatenate([state.bent.q, state.springs]) + held
    inside = state.inside + _line_share(parts, problem.held)
    return Deformed(
        shape.displacement, inside, natural, state.tension, state.bent.axes, state.bent.length, error, steps
    )


def _stuck(name: str, done: float) -> NoConvergence:
    return NoConvergence(
        f"case '{name}' finds no stable equilibrium in its deformed shape beyond {100 * done:.3g} % of its load; "
        "it buckles or folds there: lower the load, stiffen what gives way, or divide its beams further",
        done,
    )


def _equilibrium(problem: _Problem, shape: Shape, done: float, aim: float) -> tuple[Shape, float] | None:
    """The shape in equilibrium under the fraction `aim` of the load, and the last correction's size; None if not found."""
    moved = (aim - done) * problem.moved
    parts, weight = problem.parts, problem.weight
    before = problem.state(shape, done)
    state, imposed = before, moved.any()
    for iteration in range(MOST_ITERATIONS):
        try:
            factor = problem.tangent(state)
        except RuntimeError:
            return None
        step = moved if iteration == 0 else np.zeros_like(moved)
        if imposed and iteration == 0:
            # first carry the supports along, so that the residual sees what they push
            state = problem.state(state.shape.further(step), aim)
        residual = aim * problem.dead - state.inside
        correction = parts.movements(factor.solve(parts.unknowns(residual[None])[0])[None])[0]
        if not np.isfinite(correction).all():
            return None
        state, used = _searched(problem, state, correction, aim)
        size = float(np.abs(state.shape.displacement * weight).max())
        error = used * float(np.abs(correction * weight).max()) / (size or 1.0)
        if error <= CLOSE:
            return (state.shape, error) if _stable(problem, state) else None
        if error > 1e6:
            return None
    return None


def _searched(problem: _Problem, state: _State, correction: FloatArray, aim: float) -> tuple[_State, float]:
    """The state after the correction, shortened where the residual's work would grow, and the part of it used."""

    def work(at: _State) -> float:
        free = problem.parts.free >= 0
        return float(((aim * problem.dead - at.inside) * correction)[free].sum())

    whole = problem.state(state.shape.further(correction), aim)
    first, last = work(state), work(whole)
    if first <= 0 or abs(last) <= SEARCH * first:
        return whole, 1.0
    part = float(np.clip(first / (first - last), 0.1, 1.0)) if last < 0 else 1.0
    if part == 1.0:
        return whole, 1.0
    return problem.state(state.shape.further(part * correction), aim), part


def _stable(problem: _Problem, state: _State) -> bool:
    """Whether the tangent has no negative pivot."""
    try:
        return bool(np.all(problem.tangent(state).U.diagonal() > 0))
    except RuntimeError:
        return False


def free_lengths(parts: Parts, at_rest: FloatArray, solve_rest: Callable[[FloatArray], Deformed] | None = None) -> FloatArray:
    """(k,), m: slack-free lengths of the cables, from the tension `at_rest` (k,) they would have as drawn, or in the shape at rest.

    With `solve_rest`, which gives the frame without load for given lengths, the lengths are found that give `at_rest` there, all
    cables together (a fixed point on the tension as drawn).
    """
    cables = parts.frame.cables
    drawn = paths(cables, parts.frame.nodes).total
    if solve_rest is None or not at_rest.any():
        return np.asarray(drawn / (1 + at_rest / cables.EA))
    trial = at_rest.copy()
    for _ in range(PRETENSION_ROUNDS):
        rest = solve_rest(drawn / (1 + trial / cables.EA))
        miss = at_rest - rest.tension
        if np.abs(miss).max() <= 1e-11 * at_rest.max():
            break
        trial = trial + miss
    else:
        raise NoConvergence("the cables' pretension could not be reached in the frame at rest; lower it, or stiffen the frame", 0.0)
    return np.asarray(drawn / (1 + trial / cables.EA))
