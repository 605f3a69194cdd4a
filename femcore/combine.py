"""Scaling solved cases: exact in a linear frame, and no equation is solved again."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from femcore.solve import Solution


def scaled(solution: Solution, factors: npt.ArrayLike) -> Solution:
    """Every case times its factor (c,): loads, movements and forces alike; relative errors stay."""
    by = np.asarray(factors, dtype=float)[:, None, None]
    loads = solution.loads
    return replace(
        solution,
        loads=loads.combined(np.diag(by[:, 0, 0]), loads.names),
        displacement=solution.displacement * by,
        reaction=solution.reaction * by,
        natural=solution.natural * by,
    )
