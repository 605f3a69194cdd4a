"""How far the division into elements moves the numbers: the error that the solver's own estimate does not see.

An element has one stiffness, that of the taper at its middle, and bends by cubics. Both leave an error that falls with the square
of the elements' length. The front end is solved once more with every element halved; 4/3 of the change is the error of the
answer as given (L.F. Richardson, Phil. Trans. R. Soc. A 210 (1911) 307-357, from memory: extrapolation at the second power).

A boat of uniform beams in first order has none: then nodes are exact, whatever the division.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeAlias

import numpy as np

from cases.analyses.joint_results import REL_TOL_ROUNDING_LOAD, DiscretisationError, JointResult
from cases.analyses.solved_cases import SolvedCases, solve_with_joints
from femcore.base.arrays import FloatArray
from femcore.base.errors import StructureFault
from models.response.joint_loads import joint_loads, stem_movements

RICHARDSON = 4 / 3
"""Error over the change when every element is halved, where the error falls with the square of their length."""

DiscretisationErrors: TypeAlias = tuple[tuple[DiscretisationError, ...] | None, ...]
"""Of joints: in each case; None where it could not be estimated."""


def discretisation_of(joints: Sequence[JointResult]) -> DiscretisationErrors:
    """Of joints of a study, in order; None where the front end has no answer with its elements halved."""
    if not joints:
        return ()
    cases = [found.case for found in joints[0].cases]
    named = [(result.joint.name, result.stiffness) for result in joints]
    halved = solve_with_joints(joints[0].front.boat, named, cases, refine=2)
    return tuple(
        None if isinstance(fine, StructureFault) else _errors(result, fine)
        for result, fine in zip(joints, halved, strict=True)
    )


def _errors(result: JointResult, fine: SolvedCases) -> tuple[DiscretisationError, ...]:
    """Of one joint, from the same with its elements halved."""
    front, solution = result.front, result.solution
    pairs = [
        (stem_movements(front, solution)[..., :3], stem_movements(fine.front, fine.solution)[..., :3]),
        *((joint_loads(solution)[..., part], fine.loads[..., part]) for part in (slice(0, 3), slice(3, 6))),
    ]
    # joint loads that are rounding beside what holds the boat are none
    held = np.abs(fine.solution.reactions).max(axis=1)
    of_forces, _ = np.split(held, 2, axis=1)
    largest = held.max(axis=1)
    least = REL_TOL_ROUNDING_LOAD * np.stack([0 * largest, of_forces.max(axis=1), largest])
    stems, force, moment = (_relative(*pair, floor) for pair, floor in zip(pairs, least, strict=True))
    return tuple(
        DiscretisationError(s or 0.0, f or 0.0, m) for s, f, m in zip(stems, force, moment, strict=True)
    )


def _relative(plain: FloatArray, fine: FloatArray, least: FloatArray) -> list[float | None]:
    """The estimated error of `plain` (c, 2, 3) over its size, case by case; None where that is no more than `least` (c,)."""
    size, change = np.abs(fine).max(axis=(1, 2)), np.abs(plain - fine).max(axis=(1, 2))
    error = np.divide(RICHARDSON * change, size, out=np.full_like(size, np.nan), where=size > least)
    return [None if np.isnan(one) else one for one in error.tolist()]


__all__ = ["DiscretisationError", "DiscretisationErrors", "discretisation_of"]
