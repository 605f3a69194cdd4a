"""First-ply failure of a laminate as a check, by the criterion of the boat's `[factors]`."""

from __future__ import annotations

from itertools import product

import numpy as np

from femcore.base.arrays import FloatArray
from femcore.base.errors import InputFault
from femcore.laminates import RESULTANTS, Laminate, first_ply_utilisation
from models.strength.margins import CRITERION_SOURCES, Check, SafetyFactors, checked, not_checked


def with_all_signs(**magnitudes: FloatArray) -> FloatArray:
    """(2^k, cases, 6), N/m and N: k resultants by name (`N_y`, `M_y`, …), each (cases,), with every combination of signs."""
    signs = np.array(list(product((1.0, -1.0), repeat=len(magnitudes))))
    columns = [RESULTANTS.index(name) for name in magnitudes]
    loads = np.zeros((len(signs), len(next(iter(magnitudes.values()))), len(RESULTANTS)))
    loads[..., columns] = signs[:, None] * np.stack(list(magnitudes.values()), axis=-1)
    return loads


def first_ply_check(
    part: str, name: str, laminate: Laminate, resultants: FloatArray, factors: SafetyFactors, source: str = ""
) -> Check:
    """The largest utilisation over the first axis of resultants (ways, cases, 6), N/m and N.

    source : of the resultants

    Not checked where a strength of the laminate is missing.
    """
    try:
        of_plies = first_ply_utilisation(laminate, factors.criterion)
    except InputFault as fault:
        return not_checked(part, name, resultants.shape[1], f"{fault.place}: {fault.wrong}")
    utilisation = of_plies.largest(resultants.reshape(-1, 6)).reshape(resultants.shape[:2]).max(axis=0)
    sources = f"{source}; " * bool(source) + f"{CRITERION_SOURCES[factors.criterion]}, first ply"
    return checked(part, name, utilisation, 1.0, "", factors.safety_factor("laminate"), sources)
