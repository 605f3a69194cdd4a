"""A linear frame reduced to what changes of its stiffness do: thousands of variants, each exact, without solving again.

A change of stiffness acts on the unchanged frame as a dislocation y: a deformation that its components have beyond what their
own forces cause. All that dislocations put into the frame is a state of self-stress, and of these there are no more than the
frame has redundants, whatever is changed. With states B of unit energy, components' forces C in them, flexibilities f and φ the
reciprocals of the multipliers of the groups' stiffnesses,

    (1 + Σ (φ_g − 1) A_g) X = −Σ (φ_g − 1) b_g − Σ Cᵀ y,      A_g = Σ f C Cᵀ,   b_g = Σ C e

e being the components' deformations under the loads in the frame as it is: the dual of the low-rank update of an inverse
(M.A. Woodbury, Inverting modified matrices, 1950, from memory), of one small symmetric system near the identity for each variant.
The springs at some ends may be anything from free to rigid: their forces w and gaps x are w = A z, x = B z of unknowns z, and
their dislocation y = x − F w what they move beyond the flexibility F that the reduced frame has there. A slack cable is one more
dislocation, of the size that leaves no force in it; pretension is kept whatever the stiffness, by dislocations likewise.

Forces follow from X; movements by virtual work from e and y. All is analytic in the inputs, so that derivatives are taken by a
complex step, to the last digit (J.N. Lyness & C.B. Moler, Numerical differentiation of analytic functions, SIAM J. Numer. Anal.
4 (1967) 202–210, from memory).

    g : groups;   j : places × 6;   l : loads;   c : cases;   k : cables;   r : states of self-stress;   s : variants
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields, replace

import numpy as np

from femcore.base.arrays import ArrayRecord, BoolArray, FloatArray, IntArray, distinct_rows
from femcore.base.errors import PoorSolution, StructureFault
from femcore.frame.frame import Frame, Loads
from femcore.solvers.beam_fields import end_forces
from femcore.solvers.frame_changes import Changes, Numbers, block_diagonal, end_flexibility
from femcore.solvers.prepared_frame import PreparedFrame
from femcore.solvers.self_stress import self_stress, unit_energy
from femcore.solvers.small_systems import inverses, scaled_solutions, slack_gaps
from femcore.solvers.solution import Solution, solve
from femcore.solvers.stiffness_groups import Components, Place, ScaledComponents, StiffnessGroup

Readings = Callable[[Solution], FloatArray]
"""(c, q), forces of any kind that are linear in natural forces, tensions and loads."""
REL_TOL_REDUCED = 1e-9
"""Of the forces of a variant: a larger estimated error, and it is solved as a frame of its own."""
COMPLEX_STEP = 1e-30
"""Its square is nothing beside 1."""
BLOCK_ENTRIES = 2**19
"""Numbers of states by what is read of them that are worked on at once: some megabytes, whatever is read."""


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Variants(ArrayRecord):
    """What s variants of a frame do in c cases, complex where the inputs are.

    readings   : (s, c, q), as the `readings` of the frame;   movements : (s, c, m), as its `virtual_loads`
    end_forces : (s, c, places, 6), N and N·m, of the elements on what their springs hold them to, global axes
    tension    : (s, c, k), N;   slack : (s, c, k)
    added      : (s, l, m), movements that each load adds where every cable stays taut
    error      : (s,), relative, an estimate
    refactored : (s,), whether the variant was solved as a frame of its own, since its estimate was too large
    """

    readings: Numbers
    movements: Numbers
    end_forces: Numbers
    tension: Numbers
    slack: BoolArray
    added: Numbers
    error: FloatArray
    refactored: BoolArray


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class States(ArrayRecord):
    """Loads l, then pretension where there is any, then a unit gap of each cable: states n that all cases are made of.

    e       : (n, g, r), Cᵀe of each group;   gap : (n, r), Cᵀ of the gap
    w       : (n, j), forces at the places;   tension : (n, k);   readings : (n, q);   movements : (n, m)
    moved   : (n, g, m), what each group's deformation moves
    """

    e: FloatArray
    gap: FloatArray
    w: FloatArray
    tension: FloatArray
    readings: FloatArray
    movements: FloatArray
    moved: FloatArray

    def only(self, some: Sequence[int]) -> States:
        """Some of them, by number."""
        return States(*(getattr(self, one.name)[list(some)] for one in fields(self)))


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class VariedStates(ArrayRecord):
    """The `States` in s variants, which weights and pretension do not change.

    X : (s, n, r), states of self-stress in each;   w : (s, n, j);   moved : (s, n, m);   tension : (s, n, k);   condition : (s,)
    """

    X: Numbers
    w: Numbers
    moved: Numbers
    tension: Numbers
    condition: FloatArray

    def only(self, some: slice | IntArray) -> VariedStates:
        """Those of some variants; what is the same in all stays so."""
        every = (getattr(self, one.name) for one in fields(self))
        return VariedStates(*(one if len(one) == 1 else one[some] for one in every))


@dataclass(frozen=True, eq=False)
class ReducedFrame:
    """A prepared frame, its loads, and what may change in it.

    prepared, loads, groups, places, reads, virtual_loads : as given to `of`
    states  : of which all cases are made
    A       : (g, r, r);   moving : (g, r, m), what each group's deformation moves, per state of self-stress
    C       : (r, j), forces at the places;   F : (j, j), flexibility there;   scale : (j,), by which forces there are comparable
    moved_by_gap : (j, m), per gap there
    tension, readings : (r, k), (r, q), of the states of self-stress
    error   : relative, by how much Betti's law is missed
    """

    prepared: PreparedFrame
    loads: Loads
    groups: tuple[StiffnessGroup, ...]
    places: tuple[Place, ...]
    reads: Readings
    virtual_loads: FloatArray
    states: States
    A: FloatArray
    moving: FloatArray
    C: FloatArray
    F: FloatArray
    scale: FloatArray
    moved_by_gap: FloatArray
    tension: FloatArray
    readings: FloatArray
    error: float

    @classmethod
    def of(
        cls,
        prepared: PreparedFrame,
        loads: Loads,
        groups: Sequence[StiffnessGroup] = (),
        places: Sequence[Place] = (),
        reads: Readings | None = None,
        virtual_loads: FloatArray | None = None,
    ) -> ReducedFrame:
        """Solve for loads, virtual loads and some dislocations, all with the factors of the frame.

        groups        : what multipliers scale;   places : whose springs change
        reads         : forces wanted of each solution, linear in natural forces, tensions and loads; none where left out
        virtual_loads : (m, n, 6), each of which reads a movement by its work: 1 at a freedom gives the movement of that
        ValueError where a spring that is scaled is not elastic or is at one of the places, or the frame is free at one of them.
        StructureFaults as of `solve`.
        """
        _refuse_twice(groups, places)
        frame, reads = prepared.frame, reads or _nothing
        virtual = np.zeros((0, len(frame.nodes), 6)) if virtual_loads is None else virtual_loads
        scaled_ones = ScaledComponents.of_groups(prepared.parts, groups)
        at_ends, cables = Components.at_ends(frame, places), Components.of_cables(len(frame.cables))
        every = scaled_ones.of.followed_by(at_ends, cables)
        own, gaps = slice(0, len(scaled_ones.f)), slice(len(every) - len(cables), None)
        ends = slice(own.stop, gaps.start)
        stress = self_stress(prepared, every)
        C, work = stress.C, _forces_of_virtual_loads(prepared, every, virtual)
        grouped = (np.arange(len(groups))[:, None] == scaled_ones.group).astype(float)
        solutions = [solve(prepared.all_cables_taut(), loads)]
        if frame.cables.pretension.any():
            solutions.append(solve(prepared, Loads.zeros(frame, "pretension alone")))

        def states(of: Callable[[Solution], FloatArray], of_gaps: FloatArray | float = 0.0) -> FloatArray:
            found = np.concatenate([of(one) for one in solutions])
            return np.concatenate([found, np.broadcast_to(of_gaps, (len(cables), *found.shape[1:]))])

        e = states(scaled_ones.deformations)
        return cls(
            prepared, loads, tuple(groups), tuple(places), reads, virtual,
            States(
                e=_by_group(e, grouped, C[:, own]).swapaxes(0, 1),
                gap=states(lambda one: np.zeros((len(one.names), len(C))), C[:, gaps].T),
                w=states(lambda one: _at_places(one, places)),
                tension=states(lambda one: one.tension),
                readings=states(reads),
                movements=states(lambda one: _movements(one, virtual), work[:, gaps].T),
                moved=_by_group(e, grouped, work[:, own]).swapaxes(0, 1),
            ),
            A=_by_group(C[:, own], grouped * scaled_ones.f, C[:, own]),
            moving=_by_group(C[:, own], grouped * scaled_ones.f, work[:, own]),
            C=C[:, ends], F=end_flexibility(frame, places), scale=1 / unit_energy(prepared, at_ends),
            moved_by_gap=work[:, ends].T, tension=C[:, gaps], readings=stress.weights @ reads(stress.probes),
            error=stress.error,
        )  # fmt: skip

    def solve(self, changes: Changes, varied: VariedStates | None = None) -> Variants:
        """All variants, those whose estimate is too large as frames of their own.

        varied : `varied` of these changes, where it is known
        StructureFault, with the number of the variant, where one of these has no answer.
        """
        whole = self.reduced_only(changes, varied)
        for number in np.flatnonzero(~(whole.error <= REL_TOL_REDUCED)).tolist():
            one = changes.only(slice(number, number + 1))
            alone = PreparedFrame.of(one.frame(self.prepared.frame, self.groups, self.places))
            try:
                done, taut = solve(alone, one.loads(self.loads)), solve(alone.all_cables_taut(), self.loads)
            except StructureFault as fault:
                raise fault.inside(f"variant {number + 1}") from None
            whole.readings[number], whole.movements[number] = (
                self.reads(done),
                _movements(done, self.virtual_loads),
            )
            whole.end_forces[number] = _at_places(done, self.places).reshape(len(done.names), -1, 6)
            whole.tension[number], whole.slack[number] = done.tension, done.slack
            whole.added[number] = _movements(taut, self.virtual_loads)
            whole.error[number], whole.refactored[number] = done.error.max(initial=0.0), True
        return whole

    def without_readings(self) -> ReducedFrame:
        """The same for whoever wants movements, tensions and forces at the places alone."""
        return replace(self.reading(lambda values: values[:, :0]), reads=_nothing)

    def without_movements(self) -> ReducedFrame:
        """The same for whoever wants forces alone."""
        states = replace(
            self.states, movements=self.states.movements[:, :0], moved=self.states.moved[..., :0]
        )
        return replace(
            self,
            virtual_loads=self.virtual_loads[:0],
            states=states,
            moving=self.moving[..., :0],
            moved_by_gap=self.moved_by_gap[:, :0],
        )

    def reading(self, of: Callable[[FloatArray], FloatArray]) -> ReducedFrame:
        """The same that reads what a linear map makes of these readings, (c, q) → (c, q')."""
        reads, states = self.reads, replace(self.states, readings=of(self.states.readings))
        return replace(self, reads=lambda one: of(reads(one)), states=states, readings=of(self.readings))

    def reduced_only(self, changes: Changes, varied: VariedStates | None = None) -> Variants:
        """As `solve`, complex changes too, each variant as the reduced system gives it: `error` says how far to believe it."""
        widest = sum(
            one.shape[1] for one in (self.states.w, self.states.readings, self.states.movements)
        ) + len(self.C)
        block = max(1, min(len(changes), BLOCK_ENTRIES // (len(self.states.w) * widest)))
        blocks = [slice(first, min(first + block, len(changes))) for first in range(0, len(changes), block)]
        parts = [
            self._block(changes.only(some), None if varied is None else varied.only(some)) for some in blocks
        ]
        names = [one.name for one in fields(Variants)]
        return Variants(*(np.concatenate([getattr(part, name) for part in parts]) for name in names))

    def derivatives(self, changes: Changes) -> Variants:
        """Of one variant, by the logarithm of each multiplier, then of each spring; by a rigid, free or coupled one 0.

        The first axis of the answer is that of the variables: the groups, then six springs of each place where springs are given.
        The cables that are slack in the variant stay so. PoorSolution where its estimate is too large.
        """
        springs, count = changes.springs, len(self.groups)
        more = 0 if springs is None else springs.springs.size
        step = np.exp(1j * COMPLEX_STEP * np.eye(count + more))
        multipliers = np.ones((1, count)) if changes.multipliers is None else changes.multipliers
        stepped = springs if springs is None else springs.each_stepped(step[:, count:])
        found = self.reduced_only(
            replace(changes, multipliers=multipliers * step[:, :count], springs=stepped)
        )
        if not (found.error <= REL_TOL_REDUCED).all():
            raise PoorSolution(f"the reduced frame is ill-conditioned there: error {found.error.max():.1e}")
        kinds = ("readings", "movements", "end_forces", "tension", "added")
        return replace(found, **{kind: getattr(found, kind).imag / COMPLEX_STEP for kind in kinds})

    def varied(self, changes: Changes) -> VariedStates:
        """Of real changes: those that differ in weights and pretension alone share theirs."""
        stiffness = replace(changes, weights=None, pretension=None)
        first, same = distinct_rows(stiffness.rows())
        if len(first) == len(same):
            return self._varied(stiffness)
        return self._varied(stiffness.only(first)).only(same)

    def _varied(self, changes: Changes) -> VariedStates:
        states, r = self.states, len(self.C)
        phi = np.zeros((1, len(self.groups))) if changes.multipliers is None else 1 / changes.multipliers - 1
        inverse, condition = inverses(np.eye(r) + np.tensordot(phi, self.A, 1))
        X = -(np.tensordot(phi, states.e.swapaxes(0, 1), 1) + states.gap) @ inverse
        w = states.w + X @ self.C
        moved = states.movements + np.tensordot(phi, states.moved.swapaxes(0, 1), 1)
        if changes.springs is not None:
            A, B = (block_diagonal(one) for one in changes.springs.maps())
            dislocation, through = B - self.F @ A, inverse @ self.C
            z, more = scaled_solutions(A + (self.C.T @ through) @ dislocation, self.scale, w)
            y, w = z @ dislocation.swapaxes(1, 2), z @ A.swapaxes(1, 2)
            X, moved, condition = (
                X - y @ through.swapaxes(1, 2),
                moved + y @ self.moved_by_gap,
                condition * more,
            )
        moved = moved + X @ np.tensordot(phi, self.moving, 1)
        return VariedStates(X, w, moved, states.tension + X @ self.tension, condition)

    def _block(self, changes: Changes, varied: VariedStates | None) -> Variants:
        """Variants few enough for the memory."""
        count, r = len(changes), len(self.C)
        of = self._varied(changes) if varied is None else varied
        moved, w, tension = of.moved, of.w, of.tension
        share, slack, condition = self._shares(tension, changes, of.condition)
        return Variants(
            self._readings(share, of.X), share @ moved,
            (share @ w).reshape(count, share.shape[1], -1, 6), share @ tension, slack,
            np.broadcast_to(moved[:, : len(self.loads.names)], (count, len(self.loads.names), moved.shape[2])),
            condition * (self.error + r * np.finfo(float).eps), np.zeros(count, dtype=bool),
        )  # fmt: skip

    def _readings(self, share: Numbers, X: Numbers) -> Numbers:
        """(s, c, q), by two products of all cases of all variants at once, which the states' own readings are common to."""
        count, cases, states = share.shape
        stress = (share @ X).reshape(count * cases, len(self.C))
        found = share.reshape(count * cases, states) @ self.states.readings + stress @ self.readings
        return found.reshape(count, cases, found.shape[1])

    def _shares(
        self, tension: Numbers, changes: Changes, condition: FloatArray
    ) -> tuple[Numbers, BoolArray, FloatArray]:
        """(s, c, n), of each state in each case, with gaps of cables so that pretension is kept and no cable pushes.

        tension : (s or 1, n, k), of the states.   Then which are slack (s, c, k), and the condition of it all (s,)
        """
        count, loads, cables = len(changes), len(self.loads.names), tension.shape[2]
        weights = np.eye(loads)[None] if changes.weights is None else changes.weights
        tension = np.broadcast_to(tension, (count, *tension.shape[1:]))
        weights = np.broadcast_to(weights, (count, *weights.shape[1:]))
        of_gaps = tension[:, tension.shape[1] - cables :]
        kept = np.zeros((count, 1, cables), dtype=tension.dtype)
        pretensioned = tension.shape[1] > loads + cables
        if pretensioned:
            wanted = self.prepared.frame.cables.pretension * (
                1.0 if changes.pretension is None else changes.pretension
            )
            lacking = (wanted - tension[:, loads])[:, None]
            kept, more = scaled_solutions(of_gaps.swapaxes(1, 2), np.ones(cables), lacking)
            condition = condition * more
        base = np.ones((*weights.shape[:2], int(pretensioned)))
        share = np.concatenate([weights, base, np.repeat(kept, weights.shape[1], axis=1)], axis=2)
        if self.prepared.frame.cables.can_push:
            return share, np.zeros((*share.shape[:2], cables), dtype=bool), condition
        slack, gaps, found = slack_gaps(share @ tension, of_gaps)
        share[..., loads + int(pretensioned) :] += gaps
        return share, slack, np.where(found, condition, np.inf)


def _by_group(one: FloatArray, grouped: FloatArray, other: FloatArray) -> FloatArray:
    """(g, a, b), Σ one × grouped × other over the components p of each group, of (a, p), (g, p) and (b, p)."""
    found = np.zeros((len(grouped), len(one), len(other)))
    for number, weights in enumerate(grouped):
        of = np.flatnonzero(weights)
        found[number] = (one[:, of] * weights[of]) @ other[:, of].T
    return found


def unit_movements(frame: Frame, nodes: Sequence[int]) -> FloatArray:
    """(6 nodes, n, 6), virtual loads that read all six movements of each node in turn."""
    virtual = np.zeros((6 * len(nodes), len(frame.nodes), 6))
    freedom = np.arange(len(virtual))
    virtual[freedom, np.repeat(np.asarray(nodes, dtype=np.int64), 6), freedom % 6] = 1.0
    return virtual


def _refuse_twice(groups: Sequence[StiffnessGroup], places: Sequence[Place]) -> None:
    for group in groups:
        if any((element, freedom // 6) in places for element, freedom in group.end_springs):
            raise ValueError(
                f"springs are changed both by a multiplier, of group '{group.name}', and at a place"
            )


def _nothing(solution: Solution) -> FloatArray:
    return np.zeros((len(solution.names), 0))


def _forces_of_virtual_loads(
    prepared: PreparedFrame, components: Components, virtual: FloatArray
) -> FloatArray:
    """(m, p), of the components under each virtual load, every cable taut: what their deformations move, by its work."""
    loads = Loads.zeros(prepared.frame, *(f"movement {at + 1}" for at in range(len(virtual))))
    loads.nodal[:] = virtual
    done = solve(prepared.all_cables_taut(), loads)
    return components.forces(done.natural, done.tension)


def _movements(solution: Solution, virtual: FloatArray) -> FloatArray:
    """(c, m), read by the work of virtual loads (m, n, 6)."""
    return np.asarray(np.tensordot(solution.displacement, virtual, ((1, 2), (1, 2))))


def _at_places(solution: Solution, places: Sequence[Place]) -> FloatArray:
    """(c, j), N and N·m: of the elements on what their springs hold them to, global axes."""
    elements, ends = [one for one, _ in places], [end for _, end in places]
    p = end_forces(solution).reshape(len(solution.names), -1, 2, 2, 3)[:, elements, ends]
    on_others = -np.einsum("cpti,pij->cptj", p, solution.frame.axes[elements])
    return np.asarray(on_others).reshape(len(p), 6 * len(places))


__all__ = ["ReducedFrame", "States", "Variants", "unit_movements"]
