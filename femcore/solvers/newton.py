"""Newton's method for cases of frames in their deformed shapes, side by side, and the equilibria that it finds.

Each iteration solves K Δu = λ F − R(u) with the tangent K, whose geometric part is taken with the forces that the last tangent
predicted, not with those of the shape: beams are stiff along and soft across, and a step across stretches them for one iteration
(the mixed iteration of G. Garcea et al., Comput. Methods Appl. Mech. Eng. 156 (1998), from memory). A tangent is kept while it
shrinks the corrections well; what the steps with it say of the true one is used by Broyden's method (C.G. Broyden, Math. Comput.
19 (1965), as written by C.T. Kelley, Iterative Methods for Linear and Nonlinear Equations, 1995, ch. 7, both from memory), with
lengths and angles by the energy of the tangent:

    z = K⁻¹ r;   z += p s₊ for each step s and the one s₊ after it, p = (s · K z)/(s · K s);   the next step is z/(1 − p)

An equilibrium whose tangent has a negative pivot has buckled.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from femcore.base.arrays import ArrayRecord, BoolArray, FloatArray, IntArray
from femcore.elements.corotational_beam import Configuration
from femcore.solvers.band import SymmetricFactors
from femcore.solvers.deformed_cases import DeformedCases, GeometricForces, State, solved
from femcore.solvers.side_by_side import shape_of

REL_TOL_NEWTON = 1e-11
"""Of the largest movement: a smaller correction is rounding, and Newton's method has converged."""
REL_TOL_NEXT_CORRECTION = 1e-13
"""Of the largest movement: where the next correction would be larger than this, by how they shrink, one more is made."""
TANGENT_REUSE_RATIO = 0.1
"""Of the last correction: where the next one is smaller than this, the tangent is used again."""
MAX_SECANT_STRETCH = 0.5
"""A last step that is to be stretched by 1/(1 − this) or more tells nothing of the tangent: the correction is taken as it is."""
MAX_NEWTON_ITERATIONS = 40
"""Three to ten are usual; a step that needs more converges sooner when halved."""
REL_TOL_SMALL_MOVEMENT = 1e-4
"""Of the frame's size: a smaller movement is taken as this when corrections are judged, since coordinates are rounded."""
REL_TOL_MOVEMENT_ROUNDING = 1e-8
"""Of the frame's size: the error of smaller movements, half of whose digits are rounding, is taken relative to this."""
MAX_RELATIVE_CORRECTION = 10.0
"""Of the frame's size: a larger correction, rotations times the size, means that the iteration diverges."""
MAX_PREDICTION_RATIO = 4.0
"""Times the movement that the tangents predict: a larger one in one step has snapped to another equilibrium path."""


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class SecondOrderResult(ArrayRecord):
    """One case in its deformed shape.

    displacement : (n, 6);   internal_force : (n, 6), forces of the nodes on all parts, the line loads' share left out
    natural      : (p, 6), natural forces of beams, then springs;   tension : (k,)
    error : relative size of the last correction;   steps : load steps taken
    """

    displacement: FloatArray
    internal_force: FloatArray
    natural: FloatArray
    tension: FloatArray
    error: float
    steps: int


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Correction(ArrayRecord):
    """A step of Newton's method from a state, `by` movements and spins (c, n, 6), to a shape.

    size : (c,), m;   last : (c,), m, of the step before, 0 where there is none
    """

    state: State
    by: FloatArray
    to: Configuration
    size: FloatArray
    last: FloatArray


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Equilibria(ArrayRecord):
    """Cases of a problem for which an equilibrium was found: which, their own problem, the last corrections' sizes, m."""

    which: IntArray
    problem: DeformedCases
    state: State
    size: FloatArray


class Newton:
    """Newton's iteration from a shape, of some cases side by side; `which` of those at its start still take part.

    first : factors of the first tangents, or the forces of their geometric parts;   state : of the shape, where it is known
    learns : whether steps with a kept tangent are used to mend it
    """

    def __init__(
        self,
        problem: DeformedCases,
        shape: Configuration,
        first: list[SymmetricFactors | None] | GeometricForces,
        target: FloatArray,
        state: State | None = None,
        *,
        learns: bool = True,
    ) -> None:
        self.problem, self.target, self._shape, self._state = problem, target, shape, state
        self.which = np.arange(len(target))
        self._forces = first if isinstance(first, GeometricForces) else None
        self._factors: list[SymmetricFactors | None] = (
            [None] * len(target) if isinstance(first, GeometricForces) else first
        )
        self._stale: BoolArray = np.full(len(target), isinstance(first, GeometricForces))
        self._last = np.zeros(len(target))
        self._steps: list[_Steps] = []
        self._learns = learns

    def advance(self) -> Correction:
        """The next correction of all; that of a case whose tangent is singular, or which diverges, has the size inf."""
        problem = self.problem
        state = problem.state(self._shape, self.target) if self._state is None else self._state
        self._state = None
        if self._forces is not None:
            self._renew_tangents(state, self._forces)
        by = problem.parts.movements(self._step(problem.out_of_balance(state, self.target)))
        size = problem.largest(by)
        lost = ~(size <= MAX_RELATIVE_CORRECTION * problem.size)
        by[lost], size[lost] = 0.0, np.inf
        self._shape = self._shape.updated(by.reshape(-1, 6))
        self._stale = size > TANGENT_REUSE_RATIO * self._last
        self._forces = problem.predicted_forces(state, by) if self._stale.any() else None
        self._last, last = size, self._last
        return Correction(state, by, self._shape, size, last)

    def keep(self, some: BoolArray) -> None:
        """Go on with these of the cases in `which` alone."""
        if some.all():
            return
        kept, count = np.flatnonzero(some), len(self.which)
        self.problem = self.problem.only(kept)
        self.which, self.target, self._last = self.which[kept], self.target[kept], self._last[kept]
        self._shape = shape_of(self._shape, kept, count)
        if self._forces is not None:
            self._forces = self._forces.only(kept, count)
        self._factors, self._stale = [self._factors[case] for case in kept], self._stale[kept]
        self._steps = [step.only(kept) for step in self._steps]

    def _renew_tangents(self, state: State, forces: GeometricForces) -> None:
        """Of the cases whose tangents are stale; what was learnt with the old ones is forgotten."""
        stale, count = np.flatnonzero(self._stale), len(self.which)
        if not len(stale):
            return
        some = self.problem.only(stale)
        if some is not self.problem:
            state, forces = state.of(some, stale), forces.only(stale, count)
        for case, factor in zip(stale.tolist(), some.tangents(state, forces), strict=True):
            self._factors[case] = factor
        for step in self._steps:
            step.known[stale] = False
        self._steps = [step for step in self._steps if step.known.any()]

    def _step(self, residual: FloatArray) -> FloatArray:
        """(c, equations), the correction for a residual by the tangents, and by what the steps with each show of the true one."""
        step, force = solved(self._factors, residual), residual
        stretch = np.ones(len(residual))
        for last, then in zip(self._steps, [*self._steps[1:], None], strict=False):
            part = last.share_of(step)
            if then is None:
                stretch = np.where(
                    np.abs(part) < MAX_SECANT_STRETCH, 1 / (1 - np.minimum(part, MAX_SECANT_STRETCH)), 1.0
                )
            else:
                step, force = step + part[:, None] * then.step, force + part[:, None] * then.force
        step, force = stretch[:, None] * step, stretch[:, None] * force
        if self._learns:
            self._steps.append(_Steps.of(step, force))
        return step


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class _Steps(ArrayRecord):
    """A step of each case, (c, equations), the forces of its tangent on it, and the energy (c,): step · force.

    known : (c,), whether it was taken with the tangent that is in use
    """

    step: FloatArray
    force: FloatArray
    energy: FloatArray
    known: BoolArray

    @classmethod
    def of(cls, step: FloatArray, force: FloatArray) -> _Steps:
        """Known where it is a step."""
        energy = np.einsum("ce,ce->c", step, force)
        return cls(step, force, energy, energy > 0)

    def only(self, kept: IntArray) -> _Steps:
        return _Steps(self.step[kept], self.force[kept], self.energy[kept], self.known[kept])

    def share_of(self, other: FloatArray) -> FloatArray:
        """(c,), how much of this step is in another (c, equations); 0 where it is not known."""
        work = np.einsum("ce,ce->c", self.force, other)
        return np.asarray(np.divide(work, self.energy, out=np.zeros_like(work), where=self.known))


def is_settled(problem: DeformedCases, step: Correction) -> BoolArray:
    """(c,), whether a correction is below the tolerance, and what is left is far below it or rounding."""
    moved = problem.largest(problem.by_case(step.to.displacement))
    moved = np.maximum(moved, REL_TOL_SMALL_MOVEMENT * problem.size)
    tolerance = REL_TOL_NEWTON * moved
    shrinks = step.size * step.size <= REL_TOL_NEXT_CORRECTION * moved * step.last
    return np.asarray((step.size <= tolerance) & (shrinks | (step.last <= tolerance)))


def equilibria(
    problem: DeformedCases, start: Configuration, done: FloatArray, target: FloatArray
) -> Iterator[Equilibria]:
    """The equilibria under the fractions `target` (c,) of the loads, from those under `done`, as they are found.

    What is not among them has none that Newton's method finds, or one that is unstable or on another path.
    """
    cases = len(done)
    newton, predicted = _begun(problem, start, done, target), np.zeros(cases)
    for _ in range(MAX_NEWTON_ITERATIONS):
        now, which, step = newton.problem, newton.which, newton.advance()
        first = now.largest_translation(step.to, shape_of(start, which, cases))
        predicted[which] = np.where(predicted[which] > 0, predicted[which], first)
        settled = is_settled(now, step)
        if settled.any():
            found, of = np.flatnonzero(settled), which[settled]
            some = now.only(found)
            state = some.state(shape_of(step.to, found, len(which)), target[of])
            on_path = is_on_path(some, state, shape_of(start, of, cases), done[of], predicted[of])
            kept = np.flatnonzero(on_path)
            if len(kept):
                own = some.only(kept)
                yield Equilibria(
                    of[kept], own, state if own is some else state.of(own, kept), step.size[found[kept]]
                )
        left = np.isfinite(step.size) & ~settled
        if not left.any():
            break
        newton.keep(left)


def _begun(problem: DeformedCases, start: Configuration, done: FloatArray, target: FloatArray) -> Newton:
    """Newton's iteration from the shape `start` under the fractions `done` of the loads."""
    imposed = (target - done)[:, None, None] * problem.support_displacement
    moved = start.updated(imposed.reshape(-1, 6))
    if imposed.any():
        # carried far without strain, a frame ends where forces are rounding, of which steps learn nothing
        forces = GeometricForces.of(problem.state(start, done))
        return Newton(problem, moved, forces, target, learns=False)
    if done.any():
        state = problem.state(start, done)
        return Newton(problem, moved, problem.tangents(state, GeometricForces.of(state)), target)
    return unloaded(problem, start, target)


def unloaded(
    problem: DeformedCases, start: Configuration, target: FloatArray, *, learns: bool = True
) -> Newton:
    """Newton's iteration where no case is loaded yet: all cases of one frame begin with its state and its tangent."""
    _, first, which = np.unique(problem.frame_of, return_index=True, return_inverse=True)
    alone = problem.only(first)
    state = alone.state(shape_of(start, first, len(target)), np.zeros(len(first)))
    factors = alone.tangents(state, GeometricForces.of(state))
    warmer = bool(problem.temperature_change.any() or problem.cable_temperature_change.any())
    known = None if warmer else state.of(problem, which)
    return Newton(problem, start, [factors[frame] for frame in which.tolist()], target, known, learns=learns)


def is_on_path(
    problem: DeformedCases, state: State, start: Configuration, done: FloatArray, predicted: FloatArray
) -> BoolArray:
    """(c,), whether a state is stable and on the equilibrium path that it was sought on, not one that the frame snaps to.

    On one path the frame moves about as far in a step as the tangent at its start predicted, `predicted`, m, or as that at its
    end implies backwards; past a limit point it jumps much further than both.
    """
    factors = problem.tangents(state, GeometricForces.of(state))
    stable = np.array([one is not None and one.is_positive for one in factors], dtype=bool)
    moved = problem.largest_translation(state.shape, start) - REL_TOL_SMALL_MOVEMENT * problem.size
    near = moved <= MAX_PREDICTION_RATIO * predicted
    if not (near | ~stable).all():
        back = problem.corrections(factors, problem.state(state.shape, done), done)
        near |= moved <= MAX_PREDICTION_RATIO * np.abs(back[..., :3]).max(axis=(1, 2))
    return np.asarray(stable & near)


def answers_of(found: Equilibria, places: IntArray, steps: IntArray) -> Iterator[SecondOrderResult]:
    """Those of the cases in equilibrium, after so many load steps each."""
    problem, state = found.problem, found.state
    displacement = problem.by_case(state.shape.displacement)
    beams, springs, tension = map(problem.by_case, (state.beams.q, state.springs.q, state.tension))
    moved = problem.largest(displacement)
    for place, count in zip(places.tolist(), steps.tolist(), strict=True):
        # where hardly anything moves, the last correction is the rounding of coordinates, not an error
        error = float(found.size[place]) / max(float(moved[place]), REL_TOL_MOVEMENT_ROUNDING * problem.size)
        yield SecondOrderResult(
            displacement[place],
            state.internal_force[place] + problem.line_load_share[place],
            np.concatenate([beams[place], springs[place]]) + problem.clamped[place],
            tension[place],
            error,
            count,
        )


__all__ = [
    "Correction",
    "Equilibria",
    "Newton",
    "SecondOrderResult",
    "answers_of",
    "equilibria",
    "is_on_path",
    "is_settled",
    "unloaded",
]
