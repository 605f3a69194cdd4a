"""Superposition: combinations of solved cases of a linear frame, without solving again.

What acts in every case (pretension; self-weight or a temperature change, where every case has it) enters a combination once,
whatever the sum of its factors. With that state as a case of its own, the base case x₀,

    x = x₀ + Σ f (x_i − x₀)

for movements, reactions, forces and tensions alike. It holds where no cable goes slack and equilibrium is taken in the
undeformed shape; all other combinations are solved, all of a frame at once.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal, get_args

import numpy as np
import numpy.typing as npt

from femcore.base.arrays import ArrayRecord, BoolArray, FloatArray, IntArray
from femcore.base.errors import PoorSolution, StructureFault
from femcore.frame.frame import Loads
from femcore.solvers.newton import SecondOrderResult
from femcore.solvers.prepared_frame import deformed_together
from femcore.solvers.solution import REL_TOL_SOLUTION, Solution, balance_of, solve

REL_TOL_CANCELLATION = 1e-10
"""Bound on a combination's relative error above which it is solved instead, since its parts nearly cancel."""
REL_TOL_COMPRESSED_CABLE = 1e-12
"""Of the largest axial force of a combination's parts: a smaller compression in a cable is rounding, and treated as zero."""

CombinationMethod = Literal["combined", "slack", "deformed", "cancelling"]
"""Combined from solved cases; or solved, since a cable is slack, a case is of second order, or the parts nearly cancel."""
COMBINED, SLACK, DEFORMED, CANCELLING = get_args(CombinationMethod)


def affine_weights(factors: npt.ArrayLike, base_case: int | None = None) -> FloatArray:
    """(n, c), weights of all cases: the factors (n, c), that of `base_case` 1 less their sum, so that each row sums to 1."""
    weights = np.atleast_2d(np.array(factors, dtype=float))
    if base_case is not None:
        weights[:, base_case] = 0.0
        weights[:, base_case] = 1.0 - weights.sum(axis=1)
    return weights


def combined(
    solution: Solution,
    factors: npt.ArrayLike,
    names: tuple[str, ...] | None = None,
    base_case: int | None = None,
) -> Solution:
    """Combinations of solved cases, by linear algebra alone.

    factors   : (n, c), of the cases of `solution`; that of the case `base_case` is ignored
    base_case : number of the case with only what acts in every case; None where nothing does
    names     : (n,) of the combinations; "combination 1" … where left out

    `balance` follows from the loads and reactions of each combination; `error` and `first_error` are bounds: those of its
    parts, by the triangle inequality, and rounding, over the size of the result (inf where only rounding is left).
    ValueError where a case is slack or of second order, or where there is pretension and no `base_case`.
    """
    weights = affine_weights(factors, base_case)
    if not solution.is_superposable:
        raise ValueError("cases of second order or with slack cables cannot be superposed")
    if (
        base_case is None
        and solution.frame.cables.pretension.any()
        and not np.allclose(weights.sum(axis=1), 1)
    ):
        raise ValueError("with pretension, combinations need the case under pretension alone")
    names = names or tuple(f"combination {number + 1}" for number in range(len(weights)))
    u, loads = _weighted(weights, solution.displacement), solution.loads.combined(weights, names)
    none = np.zeros(len(weights))
    error, first = (_bound(solution, weights, u, of) for of in (solution.error, solution.first_error))
    whole = Solution(
        solution.prepared, loads, u, _weighted(weights, solution.reactions), _weighted(weights, solution.natural),
        _weighted(weights, solution.tension), np.zeros((len(weights), len(solution.frame.cables)), bool),
        none.astype(bool), none, error, first,
    )  # fmt: skip
    return replace(whole, balance=balance_of(whole))


def _weighted(weights: FloatArray, parts: FloatArray) -> FloatArray:
    return (weights @ parts.reshape(len(parts), -1)).reshape(len(weights), *parts.shape[1:])


def _bound(solution: Solution, weights: FloatArray, u: FloatArray, errors: FloatArray) -> FloatArray:
    """(n,), relative: |w|·(errors and rounding of the parts, m) over the size of the combination."""
    rounding = (weights.shape[1] + 1) * np.finfo(float).eps
    missed = np.abs(weights) @ ((errors + rounding) * solution.frame.largest_movement(solution.displacement))
    size = solution.frame.largest_movement(u)
    return np.where(missed > 0, missed / np.where(size > 0, size, np.finfo(float).tiny), 0.0)


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Superposition(ArrayRecord):
    """Combinations of the cases of one frame, each combined or solved.

    units     : linear solutions of the cases, every cable able to push; the last is the one under pretension alone, if any
    base_case : number of that one in `units`, None where there is no pretension
    factors   : (n, c), of the cases;   weights : (n, cases of `units`), affine
    linear    : all combinations as combined; not valid for those in `resolved`
    resolved  : (r,), numbers of the combinations that were solved;   solved : their solutions, in that order
    method    : (n,), how each was found
    """

    units: Solution
    base_case: int | None
    factors: FloatArray
    weights: FloatArray
    linear: Solution
    resolved: IntArray
    solved: Solution | None
    method: tuple[CombinationMethod, ...]

    def combine(self, of_units: FloatArray, of_solved: FloatArray | None) -> FloatArray:
        """(n, …), any quantity that is linear in the solution, from its values in `units` and in `solved`."""
        values = _weighted(self.weights, of_units)
        if of_solved is not None:
            values[self.resolved] = of_solved
        return values

    @property
    def balance(self) -> FloatArray:
        """(n,), of each combination as it was found."""
        return self._either(self.linear.balance, None if self.solved is None else self.solved.balance)

    @property
    def error(self) -> FloatArray:
        """(n,), relative: a bound where combined, an estimate where solved."""
        return self._either(self.linear.error, None if self.solved is None else self.solved.error)

    def _either(self, linear: FloatArray, solved: FloatArray | None) -> FloatArray:
        values = linear.copy()
        if solved is not None:
            values[self.resolved] = solved
        return values


def superpose(
    solution: Solution, factors: npt.ArrayLike, names: tuple[str, ...], known: Superposition | None = None
) -> Superposition:
    """Combinations (n, c) of the cases of a solution: from unit solutions where that is exact, solved where not.

    known : other combinations of the same solution, whose unit solutions are taken
    A combination is of second order where a case in it is. StructureFaults as of `solve`, by the combination's name.
    """
    return _Combined.of(solution, factors, names, known).solved({})


def superpose_together(
    several: Sequence[Solution], factors: npt.ArrayLike, names: tuple[str, ...]
) -> list[Superposition | StructureFault]:
    """The same combinations of several frames with the same cases, each as of `superpose`, or the fault that it raises.

    What is of second order is solved side by side where the frames are alike, as those of several joints are.
    """
    begun: list[_Combined | StructureFault] = []
    for solution in several:
        try:
            begun.append(_Combined.of(solution, factors, names))
        except StructureFault as fault:
            begun.append(fault)
    wanted = {at: one for at, one in enumerate(begun) if isinstance(one, _Combined) and one.deformed.any()}
    together = deformed_together([
        (one.solution.prepared, one.linear.loads.only(*one.resolved[one.deformed])) for one in wanted.values()
    ])  # fmt: skip
    deformed = dict(zip(wanted, together, strict=True))
    found: list[Superposition | StructureFault] = []
    for at, one in enumerate(begun):
        try:
            found.append(one.solved(one.numbered(deformed.get(at))) if isinstance(one, _Combined) else one)
        except StructureFault as fault:
            found.append(fault)
    return found


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class _Combined(ArrayRecord):
    """Combinations before those of `resolved` are solved; fields as of `Superposition`.

    deformed : (r,), which of those are of second order
    """

    solution: Solution
    units: Solution
    base_case: int | None
    factors: FloatArray
    weights: FloatArray
    linear: Solution
    method: npt.NDArray[np.str_]
    resolved: IntArray
    deformed: BoolArray

    @classmethod
    def of(
        cls,
        solution: Solution,
        factors: npt.ArrayLike,
        names: tuple[str, ...],
        known: Superposition | None = None,
    ) -> _Combined:
        """As of `superpose`."""
        given = np.atleast_2d(np.asarray(factors, dtype=float))
        units, base_case = unit_solutions(solution) if known is None else (known.units, known.base_case)
        factors = given if base_case is None else np.pad(given, ((0, 0), (0, 1)))
        weights = affine_weights(factors, base_case)
        linear = combined(units, factors, names, base_case)
        linear = replace(linear, prepared=solution.prepared)
        second_order = ((given != 0) & solution.second_order).any(axis=1)
        method = np.where(linear.error > REL_TOL_CANCELLATION, CANCELLING, COMBINED)
        method = np.where(
            second_order, DEFORMED, np.where(_has_compressed_cable(units, weights, linear), SLACK, method)
        )
        resolved = np.flatnonzero(method != COMBINED)
        return cls(
            solution, units, base_case, given, weights, linear, method, resolved, second_order[resolved]
        )

    def numbered(self, deformed: Sequence[SecondOrderResult] | None) -> dict[int, SecondOrderResult]:
        """What was found of those of second order, by their numbers among the resolved; none where it was not."""
        return (
            {}
            if deformed is None
            else dict(zip(np.flatnonzero(self.deformed).tolist(), deformed, strict=True))
        )

    def solved(self, known: Mapping[int, SecondOrderResult]) -> Superposition:
        """All of them, from deformed shapes that are known."""
        solved = None
        if len(self.resolved):
            loads = self.linear.loads.only(*self.resolved)
            solved = solve(self.solution.prepared, loads, self.deformed, known)
        _refuse_poor(self.linear, self.method == COMBINED)
        return Superposition(
            self.units, self.base_case, self.factors, self.weights, self.linear, self.resolved, solved,
            tuple(self.method.tolist()),
        )  # fmt: skip


def unit_solutions(solution: Solution) -> tuple[Solution, int | None]:
    """The same cases in the linear frame whose cables can push, followed, where there is pretension, by that alone.

    Nothing is solved again that the solution holds already. Second: the number of the case under pretension alone, if any.
    """
    count, counted = len(solution.names), solution.prepared.allowing_compression()
    left = np.flatnonzero(solution.slack.any(axis=1) | solution.second_order)
    wanted = solution.loads.only(*left)
    tensioned = bool(solution.frame.cables.pretension.any())
    if tensioned:
        wanted = wanted.concatenated(Loads.zeros(solution.frame, "pretension alone"))
    if not len(wanted.names):
        return solution, None
    every = solution.concatenated(solve(counted, wanted))
    place = np.arange(count + tensioned)
    place[left] = count + np.arange(len(left))
    place[count:] = count + len(left)
    return every.only(place), count if tensioned else None


def _has_compressed_cable(units: Solution, weights: FloatArray, linear: Solution) -> BoolArray:
    """(n,), whether a cable is in compression, by more than rounding."""
    axial = np.abs(units.natural[..., 0]).max(axis=1, initial=0.0)
    brought = np.abs(weights) @ np.maximum(axial, np.abs(units.tension).max(axis=1, initial=0.0))
    return np.asarray((linear.tension < -REL_TOL_COMPRESSED_CABLE * brought[:, None]).any(axis=1))


def _refuse_poor(linear: Solution, kept: BoolArray) -> None:
    for number in np.flatnonzero(kept & ~(linear.balance <= REL_TOL_SOLUTION))[:1]:
        raise PoorSolution(
            f"case '{linear.names[number]}' could not be combined well enough: imbalance "
            f"{linear.balance[number]:.1e} (limit {REL_TOL_SOLUTION:.0e}); its cases nearly cancel"
        )


__all__ = [
    "Superposition",
    "affine_weights",
    "combined",
    "superpose",
    "superpose_together",
    "unit_solutions",
]
