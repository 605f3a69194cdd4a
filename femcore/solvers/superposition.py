"""Cases put together from cases that are solved: the frame is linear, so its answers are, and nothing is solved again.

What is always there (pretension; self-weight or warmth, where every case holds it) enters a combination once, however
its factors sum. With that state of rest as a case of its own, x_rest,

    x = x_rest + Σ f (x_i − x_rest)

for movements, reactions, forces and tensions alike. It holds where no cable goes slack and equilibrium is that of the
undeformed shape; all other combinations are solved, all of a frame at once.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal, get_args

import numpy as np
import numpy.typing as npt

from femcore.base.arrays import ArrayRecord, BoolArray, FloatArray, IntArray
from femcore.base.errors import PoorSolution
from femcore.frame.frame import Loads
from femcore.solvers.solution import REL_TOL_SOLUTION, Solution, balance_of, solve

REL_TOL_CANCELLATION = 1e-10
"""Bound on a combination's relative error above which it is solved: its parts all but cancel."""
REL_TOL_COMPRESSED_CABLE = 1e-12
"""Of the largest axial force that a combination's parts bring: a cable that pushes less does so by rounding."""

CombinationMethod = Literal["combined", "slack", "deformed", "cancelling"]
"""From solved cases; or solved as a whole, since a cable is slack, the shape is deformed, or the parts all but cancel."""
COMBINED, SLACK, DEFORMED, CANCELLING = get_args(CombinationMethod)


def affine_weights(factors: npt.ArrayLike, base_case: int | None = None) -> FloatArray:
    """(n, c), weights of all cases: the factors (n, c), and of the case `base_case` also what they miss 1 by."""
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
    """The answers to combinations of solved cases, by linear algebra alone.

    factors : (n, c), of the cases of `solution`; that of the case `base_case` counts for nothing
    rest    : number of the case in which only what is always there acts; None where nothing is
    names   : (n,) of the combinations; "combination 1" … where left out

    Balance is taken anew from the loads and reactions of each combination; `error` and `first_error` are bounds:
    those of its parts, by the triangle inequality, and rounding, over the size of what comes out (inf where only
    rounding does). ValueError where a case is slack or of second order, or where pretension asks for a `base_case`.
    """
    weights = affine_weights(factors, base_case)
    if not solution.is_superposable:
        raise ValueError("cases in the deformed shape or with slack cables are no parts of a sum")
    if (
        base_case is None
        and solution.frame.cables.pretension.any()
        and not np.allclose(weights.sum(axis=1), 1)
    ):
        raise ValueError("with pretension, combinations need the case at rest")
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


def _size(solution: Solution, u: FloatArray) -> FloatArray:
    """(c,), m: the largest movement of each case, rotations times the frame's size."""
    weighted = np.abs(u) * np.array([1.0] * 3 + [solution.frame.size] * 3)
    return np.asarray(weighted.reshape(len(u), -1).max(axis=1))


def _bound(solution: Solution, weights: FloatArray, u: FloatArray, errors: FloatArray) -> FloatArray:
    """(n,), relative: |w|·(errors and rounding of the parts, m) over what comes out."""
    rounding = (weights.shape[1] + 1) * np.finfo(float).eps
    missed = np.abs(weights) @ ((errors + rounding) * _size(solution, solution.displacement))
    size = _size(solution, u)
    return np.where(missed > 0, missed / np.where(size > 0, size, np.finfo(float).tiny), 0.0)


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Superposition(ArrayRecord):
    """Combinations of the cases of one frame, each combined or solved.

    units    : linear answers to the cases, every cable counted; the last is the state at rest where there is pretension
    rest     : number of that state in `units`, None where nothing is always there
    factors  : (n, c), of the cases;   weights : (n, cases of `units`), affine
    linear   : all combinations as combined; what it says of those in `resolved` is not so
    again    : numbers (r,) of the combinations that were solved;   solved : their answers, in that order
    how      : (n,), what was done for each
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
        """(n, …), anything that is linear in the answer, from its values in `units` and in `solved`."""
        values = _weighted(self.weights, of_units)
        if of_solved is not None:
            values[self.resolved] = of_solved
        return values

    @property
    def balance(self) -> FloatArray:
        """(n,), of each combination as it was answered."""
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


def superpose(solution: Solution, factors: npt.ArrayLike, names: tuple[str, ...]) -> Superposition:
    """Combinations (n, c) of the cases of a solution: from unit solutions where that is exact, solved where not.

    A combination is of second order where a case in it is. StructureFaults as of `solve`, by the combination's name.
    """
    given = np.atleast_2d(np.asarray(factors, dtype=float))
    units, base_case = unit_solutions(solution)
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
    solved = (
        solve(solution.prepared, linear.loads.only(*resolved), second_order[resolved])
        if len(resolved)
        else None
    )
    _refuse_poor(linear, method == COMBINED)
    return Superposition(units, base_case, given, weights, linear, resolved, solved, tuple(method.tolist()))


def unit_solutions(solution: Solution) -> tuple[Solution, int | None]:
    """The same cases in the linear frame with every cable counted, and, where there is pretension, at rest.

    Nothing is solved again that the solution holds already. The second is the number of the case at rest, if any.
    """
    count, counted = len(solution.names), solution.prepared.allowing_compression()
    base_case = Loads.zeros(solution.frame, "at rest")
    if not solution.frame.cables.pretension.any():
        return (solution if solution.is_superposable else solve(counted, solution.loads)), None
    if solution.is_superposable:
        return solution.concatenated(solve(counted, base_case)), count
    return solve(counted, solution.loads.concatenated(base_case)), count


def _has_compressed_cable(units: Solution, weights: FloatArray, linear: Solution) -> BoolArray:
    """(n,), whether a cable would have to push, by more than rounding."""
    axial = np.abs(units.natural[..., 0]).max(axis=1, initial=0.0)
    brought = np.abs(weights) @ np.maximum(axial, np.abs(units.tension).max(axis=1, initial=0.0))
    return np.asarray((linear.tension < -REL_TOL_COMPRESSED_CABLE * brought[:, None]).any(axis=1))


def _refuse_poor(linear: Solution, kept: BoolArray) -> None:
    for number in np.flatnonzero(kept & ~(linear.balance <= REL_TOL_SOLUTION))[:1]:
        raise PoorSolution(
            f"case '{linear.names[number]}' could not be combined well enough: imbalance "
            f"{linear.balance[number]:.1e} (limit {REL_TOL_SOLUTION:.0e}); the cases in it all but cancel"
        )


__all__ = [
    "Superposition",
    "affine_weights",
    "combined",
    "superpose",
    "unit_solutions",
]
