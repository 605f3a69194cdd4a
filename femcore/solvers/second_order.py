"""Equilibrium in the deformed shape: Newton's method on corotational beams and true cables, with adaptive load steps.

Each iteration solves K Δu = λ F − R(u) with the tangent K of `corotational_beam`, `corotational_spring` and `cable`, whose
geometric part is taken with the forces that the last tangent predicted, not with those of the shape: beams are stiff along and
soft across, and a step across stretches them for one iteration (the mixed iteration of G. Garcea et al., Comput. Methods Appl.
Mech. Eng. 156 (1998), from memory). A tangent is kept while it shrinks the corrections well. Where the iteration does not
converge, the load step is halved; an equilibrium whose tangent has a negative pivot has buckled, and is refused. The cases of a
frame take their steps together, each in its own copy of the frame (`side_by_side`).

Cables are given by their tension under pretension alone, not by their length: `solve_pretension` finds the lengths, and with
them the shape from which every load starts.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from copy import copy
from dataclasses import dataclass, replace

import numpy as np
from scipy import sparse

from femcore.base.arrays import EXTENDED, ArrayRecord, BoolArray, FloatArray, IntArray, Real
from femcore.base.errors import Mechanism, NoConvergence, StructureFault
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
from femcore.solvers.band import FactorsOfPattern, SymmetricFactors
from femcore.solvers.blocks import factorise_symmetric, node_blocks, split_blocks
from femcore.solvers.mechanism import find_mechanism
from femcore.solvers.side_by_side import (
    beams_side_by_side,
    by_copy,
    copies_of,
    parts_side_by_side,
    rows_of,
    shape_of,
    shapes_side_by_side,
    with_shape_of,
)
from femcore.solvers.slack_cables import ABS_TOL_CABLE_STIFFNESS

REL_TOL_NEWTON = 1e-11
"""Of the largest movement: a smaller correction is rounding, and Newton's method has converged."""
TANGENT_REUSE_RATIO = 0.1
"""Of the last correction: where the next one is smaller than this, the tangent is used again."""
MAX_NEWTON_ITERATIONS = 40
"""Three to ten are usual; a step that needs more converges sooner when halved."""
MAX_ELEMENTS_AT_ONCE = 4096
"""Of all cases that are worked on side by side: their stiffness, 12 × 12 numbers each, then fits the cache."""
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
    error : relative size of the last correction;   steps : load steps taken
    """

    displacement: FloatArray
    internal_force: FloatArray
    natural: FloatArray
    tension: FloatArray
    error: float
    steps: int


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class _State(ArrayRecord):
    """All parts of all cases in their shapes, case by case.

    pull : (c k,), N, tensions of the cables, negative where a slack one would push if it could
    internal_force : (c, n, 6)
    """

    shape: Configuration
    beams: DeformedBeams
    springs: DeformedSprings
    cable_shape: CableGeometry
    pull: FloatArray
    internal_force: FloatArray

    @property
    def tension(self) -> FloatArray:
        """(c k,), N."""
        return np.asarray(np.maximum(self.pull, 0.0))


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class _Forces(ArrayRecord):
    """Natural forces of the beams (c m, 6) and tensions (c k,) of the geometric stiffness."""

    q: FloatArray
    tension: FloatArray

    @classmethod
    def of(cls, state: _State) -> _Forces:
        return cls(state.beams.q, state.tension)


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class _Correction(ArrayRecord):
    """A step of Newton's method from a state, `by` movements and spins (c, n, 6), to a shape; its sizes (c,), m."""

    state: _State
    by: FloatArray
    to: Configuration
    size: FloatArray


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class PretensionedState(ArrayRecord):
    """A frame under pretension alone: the unstressed lengths of its cables, (k,), m, and its shape.

    answer : the frame in that shape; None where there is no pretension
    """

    unstressed_length: Real
    shape: Configuration
    answer: SecondOrderResult | None = None


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class LoadedParts(ArrayRecord):
    """A frame under its loads, with cables of `unstressed_length` (k,), m, from the shape `start`."""

    parts: Parts
    loads: Loads
    unstressed_length: Real
    start: Configuration

    def only(self, cases: Sequence[int]) -> LoadedParts:
        """Under those of its cases alone."""
        return replace(self, loads=self.loads.only(*cases))


@dataclass(frozen=True, eq=False)
class _Copies:
    """The frame of every case side by side."""

    beams: BeamData
    assembly: Assembly

    @classmethod
    def of(cls, several: Sequence[tuple[Parts, BeamData]]) -> _Copies:
        copies = parts_side_by_side([parts for parts, _ in several])
        return cls(beams_side_by_side([beams for _, beams in several], copies.frame), Assembly(copies))


class _Problem:
    """Some cases of a frame, or of several that are alike, as functions of their shapes and of the fractions of their loads.

    Nodes, elements and cables are those of all cases, case by case: (c n), (c m), (c k).
    parts : of one of the frames, for what they have in common;   frame_of : (c,), which of the frames each case is of
    unstressed_length : (c, k), m, which may change
    """

    def __init__(self, several: Sequence[LoadedParts]) -> None:
        self.parts, self.size = several[0].parts, several[0].parts.frame.size
        self.frames = [(one.parts, BeamData.of(one.parts.frame, one.parts.ends)) for one in several]
        loads = [one.loads for one in several]
        self.frame_of = np.repeat(np.arange(len(several)), [len(one.names) for one in loads])
        self.names = tuple(name for one in loads for name in one.names)
        fixed_ends = [fixed_end_forces(one.parts, one.loads, thermal=False) for one in several]
        along = list(zip(several, fixed_ends, strict=True))
        self.clamped = np.concatenate([_clamped(one, forces) for one, forces in along])
        self.line_load_share = np.concatenate([
            _line_load_share(one.parts, one.loads, forces) for one, forces in along
        ])  # fmt: skip
        self.dead = np.concatenate([one.nodal for one in loads]) - self.line_load_share
        self.support_displacement = np.concatenate([one.support_displacement for one in loads])
        self.temperature_change = np.concatenate([one.temperature_change for one in loads])
        self.cable_temperature_change = np.concatenate([one.cable_temperature_change for one in loads])
        self.unstressed_length = np.concatenate([
            np.tile(one.unstressed_length, (len(one.loads.names), 1)) for one in several
        ])  # fmt: skip
        self._side_by_side: dict[bytes, _Copies] = {}
        self.factors = FactorsOfPattern()
        self._copied()

    def only(self, which: IntArray) -> _Problem:
        """Those of the cases alone."""
        if len(which) == len(self.names):
            return self
        one = copy(self)
        one.names = tuple(self.names[case] for case in which)
        for name in (
            "clamped", "line_load_share", "dead", "support_displacement", "temperature_change", "cable_temperature_change",
            "unstressed_length", "frame_of",
        ):  # fmt: skip
            setattr(one, name, getattr(self, name)[which])
        one._copied()  # noqa: SLF001  (of the same class)
        return one

    def _copied(self) -> None:
        """The frames of the cases side by side, made once for each choice of cases."""
        key = self.frame_of.tobytes()
        if key not in self._side_by_side:
            self._side_by_side[key] = _Copies.of([self.frames[frame] for frame in self.frame_of])
        copies = self._side_by_side[key]
        self.frame, self.copied_beams, self.assembly = copies.beams.frame, copies.beams, copies.assembly

    def state(self, shape: Configuration, fraction: FloatArray) -> _State:
        """Forces in a shape, with these fractions (c,) of the cases' temperature changes."""
        frame, n = self.frame, len(self.frame.nodes)
        warmer = (fraction[:, None] * self.temperature_change).reshape(-1)
        beams = deform_beams(self.copied_beams, shape, warmer)
        springs = deform_springs(frame, shape)
        of_parts = np.concatenate([beams.force, springs.force]).reshape(-1, 6)
        internal_force = np.asarray(self.assembly.parts.sums @ of_parts)
        arms = shape.turned(frame.cables.arms, frame.cables.nodes)
        cable_shape = cable_geometry(frame.cables, frame.nodes + shape.move, arms)
        warmer = (fraction[:, None] * self.cable_temperature_change).reshape(-1)
        free = self.unstressed_length.reshape(-1) * (1 + frame.cables.expansion * warmer)
        pull = np.asarray(frame.cables.EA * (cable_shape.total / free - 1), dtype=float)
        if len(frame.cables):
            internal_force += nodal_forces(
                frame.cables, elongation_gradient(cable_shape), np.maximum(pull, 0.0), n
            )
        return _State(shape, beams, springs, cable_shape, pull, self.by_case(internal_force))

    def by_case(self, values: FloatArray) -> FloatArray:
        """(c, …), what is of all copies in turn."""
        return by_copy(values, len(self.names))

    def predicted_forces(self, state: _State, step: FloatArray) -> _Forces:
        """Forces after a small step (c, n, 6), by the tangents."""
        moved = step.reshape(-1, 6)
        q = state.beams.predicted_forces(moved[self.frame.ends].reshape(-1, 12))
        pull = np.where(state.pull > 0, self.predicted_tension(state, step), 0.0)
        return _Forces(q, np.maximum(pull, 0.0))

    def predicted_tension(self, state: _State, step: FloatArray) -> FloatArray:
        """(c k,), N, `pull` of the cables after a small step (c, n, 6), by the tangents."""
        cables = self.frame.cables
        longer = elongation(cables, elongation_gradient(state.cable_shape), step.reshape(-1, 6))
        return np.asarray(state.pull + cables.EA / self.unstressed_length.reshape(-1) * longer, dtype=float)

    def tangents(
        self, state: _State, forces: _Forces, wanted: Sequence[int] | None = None
    ) -> list[SymmetricFactors | None]:
        """The factorised tangents of the cases `wanted` (all), geometric parts taken with `forces`; None where singular."""
        wanted = list(range(len(self.names)) if wanted is None else wanted)
        if not wanted:
            return []
        matrix, each = self.tangent_matrix(state, forces), self.parts.equations
        rows, stops = matrix.indices[: matrix.nnz // len(self.names)], matrix.indptr[: each + 1]
        values = matrix.data.reshape(len(self.names), -1)
        pattern = sparse.csc_array((values[0], rows, stops), shape=(each, each))
        return list(self.factors.of(pattern, values[wanted]))

    def tangent_matrix(self, state: _State, forces: _Forces) -> sparse.csc_array:
        """The tangents of all cases, as blocks on the diagonal, all of one pattern."""
        frame = self.frame
        found = [(node_blocks(frame.ends), split_blocks(state.beams.stiffness(forces.q)))]
        if len(frame.springs):
            found.append((node_blocks(frame.spring_ends), split_blocks(state.springs.stiffness)))
        if len(frame.cables):
            taut = np.where(
                state.tension > 0, frame.cables.EA / self.unstressed_length.reshape(-1), 0.0
            ).astype(float)
            found.append(elastic_blocks(frame.cables, elongation_gradient(state.cable_shape), taut))
            found += geometric_blocks(state.cable_shape, forces.tension)
        return self.assembly.matrix(found)

    def corrections(
        self, factors: Sequence[SymmetricFactors | None], state: _State, fraction: FloatArray
    ) -> FloatArray:
        """(c, n, 6), movements from a state towards equilibrium under these fractions of the loads; nan without a tangent."""
        residual = self.parts.unknowns(fraction[:, None, None] * self.dead - state.internal_force)
        pairs = zip(factors, residual, strict=True)
        solved = [np.full_like(force, np.nan) if one is None else one.solve(force) for one, force in pairs]
        return self.parts.movements(np.array(solved).reshape(residual.shape))

    def largest(self, movement: FloatArray) -> FloatArray:
        """(c,), m, the largest of movements (c, n, 6), rotations times the frame's size."""
        return self.parts.frame.largest_movement(movement)

    def is_settled(self, last: _Correction) -> BoolArray:
        """(c,), whether a correction is below the tolerance."""
        moved = self.largest(self.by_case(last.to.displacement))
        return np.asarray(last.size <= REL_TOL_NEWTON * np.maximum(moved, REL_TOL_SMALL_MOVEMENT * self.size))


def _clamped(one: LoadedParts, fixed_ends: FixedEndForces | None) -> FloatArray:
    """(c, p, 6), natural forces of the loads along clamped beams."""
    if fixed_ends is None:
        return np.zeros((len(one.loads.names), len(one.parts.nodes), 6))
    return fixed_ends.q


def _line_load_share(parts: Parts, loads: Loads, fixed_ends: FixedEndForces | None) -> FloatArray:
    if fixed_ends is None:
        return np.zeros_like(loads.nodal)
    return np.asarray(internal_forces(parts, fixed_ends.q, fixed_ends, dtype=np.float64))


def line_load_share(parts: Parts, loads: Loads) -> FloatArray:
    """(c, n, 6), end forces of clamped beams under line loads: the equivalent nodal loads with the sign changed."""
    return _line_load_share(parts, loads, fixed_end_forces(parts, loads, thermal=False))


def solve_second_order(
    parts: Parts, loads: Loads, unstressed_length: Real, start: Configuration | None = None
) -> list[SecondOrderResult]:
    """All cases at full load, from `start` (as drawn where left out); NoConvergence, with the fraction reached, or Mechanism.

    Of the cases without an answer the fault of the one that fails in the fewest steps is raised, of several the first.
    """
    start = start or Configuration.undeformed(parts.frame)
    [found] = solve_loaded_frames([LoadedParts(parts, loads, unstressed_length, start)])
    if isinstance(found, StructureFault):
        raise found
    return found


def solve_loaded_frames(several: Sequence[LoadedParts]) -> list[list[SecondOrderResult] | StructureFault]:
    """All cases of every frame at full load, or why a frame has no answer, as of `solve_second_order`.

    The frames are alike (`side_by_side.are_alike`). Cases take each step side by side, as many at once as fit the cache.
    """
    at_once = max(1, MAX_ELEMENTS_AT_ONCE // max(1, len(several[0].parts.nodes)))
    places = [(frame, case) for frame, one in enumerate(several) for case in range(len(one.loads.names))]
    answers: list[list[SecondOrderResult]] = [[] for _ in several]
    faults: dict[int, StructureFault] = {}
    for first in range(0, len(places), at_once):
        some = [place for place in places[first : first + at_once] if place[0] not in faults]
        chosen = {frame: [case for of, case in some if of == frame] for frame, _ in some}
        if not chosen:
            continue
        found, failed = _solve_side_by_side([several[frame].only(cases) for frame, cases in chosen.items()])
        faults |= {list(chosen)[place]: fault for place, fault in failed.items()}
        for (frame, _), answer in zip(some, found, strict=True):
            if answer is not None:
                answers[frame].append(answer)
    return [faults.get(frame, found) for frame, found in enumerate(answers)]


def _solve_side_by_side(
    several: Sequence[LoadedParts],
) -> tuple[list[SecondOrderResult | None], dict[int, StructureFault]]:
    """Of every case its answer, None where its frame has none, and of such frames why."""
    problem = _Problem(several)
    shape = shapes_side_by_side([several[frame].start for frame in problem.frame_of.tolist()])
    cases = len(problem.names)
    done, step, steps = np.zeros(cases), np.ones(cases), np.zeros(cases, dtype=int)
    answers: list[SecondOrderResult | None] = [None] * cases
    faults: dict[int, StructureFault] = {}
    while len(left := np.flatnonzero((done < 1.0) & ~np.isin(problem.frame_of, list(faults)))):
        some, target = problem.only(left), np.minimum(1.0, done[left] + step[left])
        found = _equilibria(some, shape_of(shape, left, cases), done[left], target)
        missed = left
        if found is not None:
            reached = left[found.which]
            shape = with_shape_of(shape, reached, found.state.shape, cases)
            done[reached], step[reached] = target[found.which], 2 * step[reached]
            steps[reached] += 1
            whole = np.flatnonzero(done[reached] >= 1.0)
            for case, answer in zip(
                reached[whole], _answers(found, whole, steps[reached[whole]]), strict=True
            ):
                answers[case] = answer
            missed = np.setdiff1d(left, reached)
        step[missed] /= 2
        for case in missed[step[missed] < MIN_LOAD_STEP].tolist():
            alone = problem.only(np.array([case]))
            faults.setdefault(
                int(problem.frame_of[case]),
                _mechanism_in(alone, shape_of(shape, [case], cases))
                or _no_equilibrium(problem.names[case], float(done[case])),
            )
    return answers, faults


def _answers(found: _Equilibria, places: IntArray, steps: IntArray) -> Iterator[SecondOrderResult]:
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


def _mechanism_in(problem: _Problem, shape: Configuration) -> Mechanism | None:
    """What moves freely in the one case, where the first tangent is singular already."""
    state, (parts, _) = problem.state(shape, np.zeros(1)), problem.frames[int(problem.frame_of[0])]
    matrix = problem.tangent_matrix(state, _Forces.of(state))
    try:
        pivots = np.abs(factorise_symmetric(matrix, "NATURAL").U.diagonal())
    except RuntimeError:
        pivots = np.zeros(1)
    singular = pivots.min(initial=np.inf) <= REL_TOL_PIVOT * pivots.max(initial=0.0)
    return find_mechanism(parts, stiffness(parts)) if singular else None


def _no_equilibrium(name: str, done: float) -> NoConvergence:
    return NoConvergence(
        f"case '{name}' finds no stable equilibrium in its deformed shape beyond {100 * done:.3g} % of its load; "
        "it buckles or folds there: lower the load, stiffen the frame, or divide its beams further",
        done,
    )


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class _Equilibria(ArrayRecord):
    """The cases of a problem for which an equilibrium was found: which, their own problem, the last corrections' sizes, m."""

    which: IntArray
    problem: _Problem
    state: _State
    size: FloatArray


def _equilibria(
    problem: _Problem, start: Configuration, done: FloatArray, target: FloatArray
) -> _Equilibria | None:
    """The equilibria under the fractions `target` (c,) of the loads, from those under `done`, where found; None without any."""
    cases = len(done)
    imposed = (target - done)[:, None, None] * problem.support_displacement
    moved = start.updated(imposed.reshape(-1, 6))
    if imposed.any():
        newton = _Newton(problem, moved, _Forces.of(problem.state(start, done)), target)
    else:
        newton = _Newton(problem, moved, _tangents_before(problem, start, done), target)
    shape, predicted, size = start, np.zeros(cases), np.full(cases, np.inf)
    for _ in range(MAX_NEWTON_ITERATIONS):
        which, step = newton.which, newton.advance()
        first = _max_translation(newton.problem, step.to, shape_of(start, which, cases))
        predicted[which] = np.where(predicted[which] > 0, predicted[which], first)
        settled = newton.problem.is_settled(step)
        shape = with_shape_of(shape, which[settled], shape_of(step.to, settled, len(which)), cases)
        size[which[settled]] = step.size[settled]
        left = np.isfinite(step.size) & ~settled
        if not left.any():
            break
        newton.keep(left)
    found = np.flatnonzero(np.isfinite(size))
    if not len(found):
        return None
    some = problem.only(found)
    state = some.state(shape_of(shape, found, cases), target[found])
    from_ = shape_of(start, found, cases)
    kept = _are_on_path(some, state, from_, done[found], predicted[found])
    if not kept.any():
        return None
    if not kept.all():
        found, some = found[kept], some.only(np.flatnonzero(kept))
        state = some.state(shape_of(shape, found, cases), target[found])
    return _Equilibria(found, some, state, size[found])


class _Newton:
    """Newton's iteration from a shape, of some cases side by side; `which` of those at its start still take part.

    first : factors of the first tangents, or the forces of their geometric parts
    """

    def __init__(
        self,
        problem: _Problem,
        shape: Configuration,
        first: list[SymmetricFactors | None] | _Forces,
        target: FloatArray,
    ) -> None:
        self.problem, self.target, self._shape = problem, target, shape
        self.which = np.arange(len(target))
        self._forces = first if isinstance(first, _Forces) else None
        self._factors: list[SymmetricFactors | None] = (
            [None] * len(target) if isinstance(first, _Forces) else first
        )
        self._stale: BoolArray = np.full(len(target), isinstance(first, _Forces))
        self._last = np.zeros(len(target))

    def advance(self) -> _Correction:
        """The next correction of all; that of a case whose tangent is singular, or which diverges, has the size inf."""
        problem = self.problem
        state = problem.state(self._shape, self.target)
        if self._forces is not None:
            wanted = np.flatnonzero(self._stale).tolist()
            for case, factor in zip(wanted, problem.tangents(state, self._forces, wanted), strict=True):
                self._factors[case] = factor
        by = problem.corrections(self._factors, state, self.target)
        size = problem.largest(by)
        lost = ~(size <= MAX_RELATIVE_CORRECTION * problem.size)
        by[lost], size[lost] = 0.0, np.inf
        self._shape = self._shape.updated(by.reshape(-1, 6))
        self._stale = size > TANGENT_REUSE_RATIO * self._last
        self._forces = problem.predicted_forces(state, by) if self._stale.any() else None
        self._last = size
        return _Correction(state, by, self._shape, size)

    def keep(self, some: BoolArray) -> None:
        """Go on with these of the cases in `which` alone."""
        if some.all():
            return
        kept, count = np.flatnonzero(some), len(self.which)
        self.problem = self.problem.only(kept)
        self.which, self.target, self._last = self.which[kept], self.target[kept], self._last[kept]
        self._shape = shape_of(self._shape, kept, count)
        if self._forces is not None:
            q, tension = self._forces.q, self._forces.tension
            self._forces = _Forces(rows_of(q, kept, count), rows_of(tension, kept, count))
        self._factors, self._stale = [self._factors[case] for case in kept], self._stale[kept]


def _tangents_before(
    problem: _Problem, start: Configuration, done: FloatArray
) -> list[SymmetricFactors | None]:
    """Factors of the tangents at the start of a step; of cases of one frame that are not loaded yet they are the same."""
    if done.any():
        state = problem.state(start, done)
        return problem.tangents(state, _Forces.of(state))
    _, first, which = np.unique(problem.frame_of, return_index=True, return_inverse=True)
    alone = problem.only(first)
    state = alone.state(shape_of(start, first, len(done)), done[first])
    factors = alone.tangents(state, _Forces.of(state))
    return [factors[frame] for frame in which.tolist()]


def _max_translation(problem: _Problem, shape: Configuration, start: Configuration) -> FloatArray:
    """(c,), m, the largest movement of a node from one shape to another."""
    moved = np.abs(shape.move - start.move).max(axis=1)
    return np.asarray(problem.by_case(moved).max(axis=1), dtype=float)


def _are_on_path(
    problem: _Problem, state: _State, start: Configuration, done: FloatArray, predicted: FloatArray
) -> BoolArray:
    """(c,), whether a state is stable and on the equilibrium path that it was sought on, not one that the frame snaps to.

    On one path the frame moves about as far in a step as the tangent at its start predicted, `predicted`, m, or as that at its
    end implies backwards; past a limit point it jumps much further than both.
    """
    factors = problem.tangents(state, _Forces.of(state))
    stable = np.array([one is not None and one.is_positive for one in factors], dtype=bool)
    moved = _max_translation(problem, state.shape, start) - REL_TOL_SMALL_MOVEMENT * problem.size
    near = moved <= MAX_PREDICTION_RATIO * predicted
    if not (near | ~stable).all():
        back = problem.corrections(factors, problem.state(state.shape, done), done)
        near |= moved <= MAX_PREDICTION_RATIO * np.abs(back[..., :3]).max(axis=(1, 2))
    return np.asarray(stable & near)


def solve_pretension(several: Sequence[tuple[Parts, FloatArray]]) -> list[PretensionedState | StructureFault]:
    """Frames without load whose cables have their `pretension`, all together: lengths and shape by one iteration.

    A cable without pretension does not act, and is as long as its path is then. The frames are alike
    (`side_by_side.are_alike`), and take their iterations side by side.
    several : each with its gain (k, k), tensions under pretension alone per tension as drawn, in the linear frame. It affects how
    fast the iteration converges, not its result: as the shape converges, each correction of it is followed by one of the tensions
    as drawn.
    NoConvergence where there is no such shape, or where it is not stable; Mechanism.
    """
    found: list[PretensionedState | StructureFault] = []
    tensioned = [one for one in several if one[0].frame.cables.pretension.any()]
    of_tensioned = iter(_pretensioned(tensioned) if tensioned else ())
    for parts, _ in several:
        if parts.frame.cables.pretension.any():
            found.append(next(of_tensioned))
        else:
            start = Configuration.undeformed(parts.frame)
            found.append(PretensionedState(_drawn_length(parts.frame), start))
    return found


def _pretensioned(several: Sequence[tuple[Parts, FloatArray]]) -> list[PretensionedState | StructureFault]:
    """Of frames with pretension."""
    frames, cases = [parts.frame for parts, _ in several], len(several)
    wanted = np.array([frame.cables.pretension for frame in frames])
    steer = np.array([_steering(gain) for _, gain in several])
    trial = _each_times(steer, wanted)
    # rounding of a cable's length alone changes its tension in proportion to its EA
    least = np.maximum(
        REL_TOL_PRETENSION * wanted.max(axis=1, keepdims=True),
        ROUNDINGS_OF_CABLE_STRAIN * float(np.finfo(EXTENDED).eps) * np.array([f.cables.EA for f in frames]),
    )
    one_start = Configuration.undeformed(frames[0])
    problem = _Problem([
        LoadedParts(parts, Loads.zeros(parts.frame, "pretension alone"), _unstressed_length(parts.frame, drawn), one_start)
        for (parts, _), drawn in zip(several, trial, strict=True)
    ])  # fmt: skip
    start, unloaded = copies_of(one_start, cases), np.zeros(cases)
    predicted, last, settling = np.zeros(cases), np.zeros(cases), np.zeros(cases, dtype=bool)
    found: dict[int, PretensionedState] = {}
    newton = _Newton(problem, start, _tangents_before(problem, start, unloaded), unloaded)
    for _ in range(MAX_NEWTON_ITERATIONS):
        now, which, step = newton.problem, newton.which, newton.advance()
        first = _max_translation(now, step.to, shape_of(start, which, cases))
        predicted[which] = np.where(predicted[which] > 0, predicted[which], first)
        tension = now.by_case(now.predicted_tension(step.state, step.by))
        miss = np.where(wanted[which] > 0, wanted[which] - tension, 0.0)
        tuned = np.all(np.abs(miss) <= least[which], axis=1)
        done, lost = tuned & now.is_settled(step), ~np.isfinite(step.size)
        if done.any():
            some, of = now.only(np.flatnonzero(done)), which[done]
            state = some.state(shape_of(step.to, done, len(which)), unloaded[of])
            stable = _are_on_path(some, state, shape_of(start, of, cases), unloaded[of], predicted[of])
            equilibria = _Equilibria(of, some, state, step.size[done])
            length = np.where(
                wanted[of] > 0, some.unstressed_length, by_copy(state.cable_shape.total, len(of))
            )
            places = np.flatnonzero(stable)
            for place, answer in zip(
                places.tolist(), _answers(equilibria, places, np.ones_like(places)), strict=True
            ):
                shape = shape_of(state.shape, [place], len(of))
                found[int(of[place])] = PretensionedState(length[place], shape, answer)
        # the first shapes may be far off, and so their tensions
        settling[which] |= step.size <= TANGENT_REUSE_RATIO * last[which]
        last[which] = step.size
        tune = np.flatnonzero(settling[which] & ~tuned)
        trial[which[tune]] += _each_times(steer[which[tune]], miss[tune])
        for place in tune.tolist():
            case = int(which[place])
            now.unstressed_length[place] = _unstressed_length(frames[case], trial[case])
        if (done | lost).all():
            break
        newton.keep(~(done | lost))
    return [
        found.get(case)
        or _mechanism_in(problem.only(np.array([case])), one_start)
        or NoConvergence(
            "the cables' pretension is not reached in the unloaded frame; lower it, or stiffen the frame", 0.0
        )
        for case in range(cases)
    ]


def _steering(gain: FloatArray) -> FloatArray:
    """(k, k), tensions as drawn per tension under pretension alone."""
    least = ABS_TOL_CABLE_STIFFNESS / max(float(np.linalg.norm(gain, 2)), ABS_TOL_CABLE_STIFFNESS)
    return np.asarray(np.linalg.pinv(gain, rcond=least))


def _each_times(matrices: FloatArray, vectors: FloatArray) -> FloatArray:
    """(c, k), the products of matrices (c, k, k) and vectors (c, k)."""
    return np.asarray((matrices @ vectors[..., None])[..., 0])


def _drawn_length(frame: Frame) -> Real:
    """(k,), m, lengths of the cables as drawn, in extended precision."""
    return cable_geometry(frame.cables, frame.nodes.astype(EXTENDED)).total


def _unstressed_length(frame: Frame, drawn: FloatArray) -> Real:
    """(k,), m, unstressed lengths of cables with tensions `drawn` (k,) as drawn; inf of those without pretension."""
    length = _drawn_length(frame) / (1 + drawn / frame.cables.EA)
    return np.where(frame.cables.pretension > 0, length, np.inf)
