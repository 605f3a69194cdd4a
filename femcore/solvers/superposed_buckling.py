"""How near to buckling combinations of cases are, without an eigenvalue problem for each.

The usage of a case is one over its load factor λ. With the stiffness K and what pretension does at rest held,

    1/λ = max over φ of −φᵀ G(N) φ / φᵀ (K + G_rest) φ,   0 where that is negative,

G linear in the internal forces N that the load adds: the usage is convex and grows in proportion, so that of a sum is at
most the sum of its parts' (P.F. Papkovich's theorem of the convex domain of stability, from memory):

    usage(Σ f N) ≤ Σ |f| usage(sign(f) N).

Only combinations whose bound exceeds the worst found so far need their own eigenvalue.
"""

from __future__ import annotations

import numpy as np

from femcore.base.arrays import FloatArray
from femcore.solvers.buckling import buckling
from femcore.solvers.solution import Solution
from femcore.solvers.superposition import COMBINED, Superposition, combined


def buckling_utilisations(superposition: Superposition, worst: float = 0.0) -> FloatArray:
    """(n,), usages of combinations, 0 where no load buckles them; the largest is exact, and so is each that was solved.

    worst : a usage that is known beside them

    Others, which are below the largest of these and `worst`, may stand by their bound. NoConvergence as of `buckling`.
    """
    found = np.zeros(len(superposition.method))
    if superposition.solved is not None:
        found[superposition.resolved] = [
            _utilisation(superposition.solved, number) for number in range(len(superposition.resolved))
        ]
    put_together = np.flatnonzero(np.array(superposition.method) == COMBINED)
    signed, size = _signed_unit_cases(superposition.factors[put_together])
    if len(signed) >= len(put_together):
        found[put_together] = [_utilisation(superposition.linear, number) for number in put_together]
        return found
    parts = combined(
        superposition.units, _with_base_case(signed, superposition), None, superposition.base_case
    )
    found[put_together] = size @ [_utilisation(parts, number) for number in range(len(signed))]
    worst = max(worst, found[superposition.resolved].max(initial=0.0))
    for number in put_together[np.argsort(-found[put_together], kind="stable")]:
        if found[number] <= worst:
            break
        found[number] = _utilisation(superposition.linear, number)
        worst = max(worst, found[number])
    return found


def _utilisation(solution: Solution, case: int | np.integer) -> float:
    modes = buckling(solution, int(case), 1)
    return 1.0 / float(modes.values[0]) if len(modes.values) else 0.0


def _signed_unit_cases(factors: FloatArray) -> tuple[FloatArray, FloatArray]:
    """(p, c), single cases with a sign, those that factors (n, c) are made of, and (n, p) how much of each."""
    size = np.maximum(np.concatenate([factors, -factors], axis=1), 0.0)
    one, used = np.eye(factors.shape[1]), size.any(axis=0)
    return np.concatenate([one, -one])[used], size[:, used]


def _with_base_case(factors: FloatArray, superposition: Superposition) -> FloatArray:
    return factors if superposition.base_case is None else np.pad(factors, ((0, 0), (0, 1)))


__all__ = ["buckling_utilisations"]
