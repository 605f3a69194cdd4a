"""Equilibrium in the deformed shape: corotational beams and true cables under full load, with adaptive load steps.

Where Newton's method (`newton`) does not converge, the load step is halved; an equilibrium whose tangent has a negative pivot has
buckled, and is refused. The cases of a frame take their steps together, each in its own copy of the frame (`deformed_cases`).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from femcore.base.arrays import Real
from femcore.base.errors import Mechanism, NoConvergence, StructureFault
from femcore.elements.corotational_beam import Configuration
from femcore.frame.frame import Loads
from femcore.solvers.assembly import Parts, stiffness
from femcore.solvers.blocks import factorise_symmetric
from femcore.solvers.deformed_cases import DeformedCases, GeometricForces, LoadedParts
from femcore.solvers.mechanism import find_mechanism
from femcore.solvers.newton import SecondOrderResult, answers_of, equilibria
from femcore.solvers.side_by_side import shape_of, shapes_side_by_side, with_shape_of

MAX_ELEMENTS_AT_ONCE = 4096
"""Of all cases that are worked on side by side: their stiffness, 12 × 12 numbers each, then fits the cache."""
MIN_LOAD_STEP = 1 / 512
"""Of the load: a frame that needs smaller steps has buckled or folds, and the fraction reached is known to 0.2 %."""
REL_TOL_PIVOT = 1e-14
"""Of the largest pivot: a smaller one is treated as zero, a mechanism."""


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
    answers: list[list[SecondOrderResult]] = [[] for _ in several]
    if not any(one.loads.names for one in several):
        return list(answers)
    problem = DeformedCases(several)
    at_once = max(1, MAX_ELEMENTS_AT_ONCE // max(1, len(several[0].parts.nodes)))
    faults: dict[int, StructureFault] = {}
    for first in range(0, len(problem.names), at_once):
        every = np.arange(first, min(first + at_once, len(problem.names)))
        some = problem.only(every[~np.isin(problem.frame_of[every], list(faults))])
        frames = some.frame_of.tolist()
        shape = shapes_side_by_side([several[frame].start for frame in frames]) if frames else None
        found, failed = _solve_side_by_side(some, shape) if shape else ([], {})
        faults |= failed
        for frame, answer in zip(frames, found, strict=True):
            if answer is not None:
                answers[frame].append(answer)
    return [faults.get(frame, found) for frame, found in enumerate(answers)]


def _solve_side_by_side(
    problem: DeformedCases, shape: Configuration
) -> tuple[list[SecondOrderResult | None], dict[int, StructureFault]]:
    """Of every case its answer, from the shapes of all, None where its frame has none, and of such frames why."""
    cases = len(problem.names)
    done, step, steps = np.zeros(cases), np.ones(cases), np.zeros(cases, dtype=int)
    answers: list[SecondOrderResult | None] = [None] * cases
    faults: dict[int, StructureFault] = {}
    while len(left := np.flatnonzero((done < 1.0) & ~np.isin(problem.frame_of, list(faults)))):
        some, target = problem.only(left), np.minimum(1.0, done[left] + step[left])
        missed = np.ones(len(left), dtype=bool)
        before = shape_of(shape, left, cases)
        for found in equilibria(some, before, done[left], target):
            reached = left[found.which]
            shape = with_shape_of(shape, reached, found.state.shape, cases)
            done[reached], step[reached] = target[found.which], 2 * step[reached]
            steps[reached] += 1
            missed[found.which] = False
            whole = np.flatnonzero(done[reached] >= 1.0)
            for case, answer in zip(
                reached[whole], answers_of(found, whole, steps[reached[whole]]), strict=True
            ):
                answers[case] = answer
        step[left[missed]] /= 2
        for case in left[missed & (step[left] < MIN_LOAD_STEP)].tolist():
            alone = problem.only(np.array([case]))
            faults.setdefault(
                int(problem.frame_of[case]),
                mechanism_in(alone, shape_of(shape, [case], cases))
                or _no_equilibrium(problem.names[case], float(done[case])),
            )
    return answers, faults


def mechanism_in(problem: DeformedCases, shape: Configuration) -> Mechanism | None:
    """What moves freely in the one case, where the first tangent is singular already."""
    state, (parts, _) = problem.state(shape, np.zeros(1)), problem.frames[int(problem.frame_of[0])]
    matrix = problem.tangent_matrix(state, GeometricForces.of(state))
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
