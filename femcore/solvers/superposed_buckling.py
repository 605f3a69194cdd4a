"""Buckling utilisations of combinations of cases, without an eigenvalue problem for each.

The utilisation U of a case is one over its load factor λ. With the stiffness K and the forces of pretension alone held constant,

    U = 1/λ = max over φ of −φᵀ G(N) φ / φᵀ (K + G₀) φ,   0 where that is negative,

G linear in the internal forces N that the load adds: U is convex and proportional to the load, so that of a sum is at most the
sum of its parts' (P.F. Papkovich's theorem of the convex domain of stability, from memory):

    U(Σ f N) ≤ Σ |f| U(sign(f) N).

Only combinations whose bound exceeds the largest found so far need their own eigenvalue.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from femcore.base.arrays import FloatArray
from femcore.solvers.buckling import buckling_of_cases
from femcore.solvers.solution import Solution
from femcore.solvers.superposition import COMBINED, Superposition, combined


def buckling_utilisations(
    superposition: Superposition, worst: float = 0.0, of_units: FloatArray | None = None
) -> FloatArray:
    """(n,), utilisations of combinations, 0 where no load buckles them; exact for the largest and for those that were solved.

    worst    : a utilisation that is known besides
    of_units : (c,), those of the single cases as drawn, nan where not known

    Others, below the largest of these and `worst`, may be upper bounds. NoConvergence as of `buckling`.
    """
    found = np.zeros(len(superposition.method))
    if superposition.solved is not None:
        found[superposition.resolved] = _utilisations(
            superposition.solved, range(len(superposition.resolved))
        )
    combinations = np.flatnonzero(np.array(superposition.method) == COMBINED)
    signed, size = _signed_unit_cases(superposition.factors[combinations])
    if len(signed) >= len(combinations):
        found[combinations] = _utilisations(superposition.linear, combinations.tolist())
        return found
    found[combinations] = size @ _of_signed(superposition, signed, of_units)
    worst = max(worst, found[superposition.resolved].max(initial=0.0))
    for number in combinations[np.argsort(-found[combinations], kind="stable")]:
        if found[number] <= worst:
            break
        found[number] = _utilisations(superposition.linear, [int(number)])[0]
        worst = max(worst, found[number])
    return found


def _utilisations(solution: Solution, cases: Sequence[int]) -> FloatArray:
    """(cases,), exact."""
    found = buckling_of_cases(solution, cases, 1)
    return np.array([1.0 / float(modes.values[0]) if len(modes.values) else 0.0 for modes in found])


def _of_signed(superposition: Superposition, signed: FloatArray, of_units: FloatArray | None) -> FloatArray:
    """(p,), utilisations of single cases with a sign (p, c); `of_units` as of `buckling_utilisations`."""
    found = np.full(len(signed), np.nan)
    if of_units is not None:
        positive = signed.max(axis=1) > 0
        found[positive] = of_units[signed[positive].argmax(axis=1)]
    left = np.flatnonzero(np.isnan(found))
    if len(left):
        base_case = superposition.base_case
        factors = signed[left] if base_case is None else np.pad(signed[left], ((0, 0), (0, 1)))
        parts = combined(superposition.units, factors, None, base_case)
        found[left] = _utilisations(parts, range(len(left)))
    return found


def _signed_unit_cases(factors: FloatArray) -> tuple[FloatArray, FloatArray]:
    """(p, c), single cases with a sign, those that factors (n, c) are made of, and (n, p) how much of each."""
    size = np.maximum(np.concatenate([factors, -factors], axis=1), 0.0)
    one, used = np.eye(factors.shape[1]), size.any(axis=0)
    return np.concatenate([one, -one])[used], size[:, used]


__all__ = ["buckling_utilisations"]
