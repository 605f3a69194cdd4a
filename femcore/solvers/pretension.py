"""Frames under pretension alone: the cables' unstressed lengths, and with them the shape from which every load starts.

Cables are given by their tension under pretension alone, not by their length. One iteration (`newton`) finds lengths and shape.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from femcore.base.arrays import EXTENDED, ArrayRecord, FloatArray, Real
from femcore.base.errors import NoConvergence, StructureFault
from femcore.elements.cable import cable_geometry
from femcore.elements.corotational_beam import Configuration
from femcore.frame.frame import Frame, Loads
from femcore.solvers.assembly import Parts
from femcore.solvers.deformed_cases import DeformedCases, LoadedParts
from femcore.solvers.newton import (
    MAX_NEWTON_ITERATIONS,
    TANGENT_REUSE_RATIO,
    Equilibria,
    SecondOrderResult,
    answers_of,
    is_on_path,
    is_settled,
    unloaded,
)
from femcore.solvers.second_order import mechanism_in
from femcore.solvers.side_by_side import by_copy, copies_of, shape_of
from femcore.solvers.slack_cables import ABS_TOL_CABLE_STIFFNESS

REL_TOL_PRETENSION = 1e-11
"""Of the largest pretension: a smaller difference from it is rounding, and the pretension is reached."""
ROUNDINGS_OF_CABLE_STRAIN = 8
"""Units of rounding in the strain of a cable, from the differences of coordinates that make its length."""


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class PretensionedState(ArrayRecord):
    """A frame under pretension alone: the unstressed lengths of its cables, (k,), m, and its shape.

    answer : the frame in that shape; None where there is no pretension
    """

    unstressed_length: Real
    shape: Configuration
    answer: SecondOrderResult | None = None


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
    problem = DeformedCases([
        LoadedParts(parts, Loads.zeros(parts.frame, "pretension alone"), _unstressed_length(parts.frame, drawn), one_start)
        for (parts, _), drawn in zip(several, trial, strict=True)
    ])  # fmt: skip
    start, no_load = copies_of(one_start, cases), np.zeros(cases)
    predicted, last, settling = np.zeros(cases), np.zeros(cases), np.zeros(cases, dtype=bool)
    found: dict[int, PretensionedState | None] = {}
    newton = unloaded(problem, start, no_load, learns=False)
    for _ in range(MAX_NEWTON_ITERATIONS):
        now, which, step = newton.problem, newton.which, newton.advance()
        first = now.largest_translation(step.to, shape_of(start, which, cases))
        predicted[which] = np.where(predicted[which] > 0, predicted[which], first)
        tension = now.by_case(now.predicted_tension(step.state, step.by))
        miss = np.where(wanted[which] > 0, wanted[which] - tension, 0.0)
        tuned = np.all(np.abs(miss) <= least[which], axis=1)
        done, lost = tuned & is_settled(now, step), ~np.isfinite(step.size)
        if done.any():
            of, shape = which[done], shape_of(step.to, done, len(which))
            some, first_shape = now.only(np.flatnonzero(done)), shape_of(start, of, cases)
            states = _states(some, shape, first_shape, wanted[of], predicted[of], step.size[done])
            found |= zip(of.tolist(), states, strict=True)
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
        or mechanism_in(problem.only(np.array([case])), one_start)
        or NoConvergence(
            "the cables' pretension is not reached in the unloaded frame; lower it, or stiffen the frame", 0.0
        )
        for case in range(cases)
    ]


def _states(
    problem: DeformedCases,
    shape: Configuration,
    start: Configuration,
    wanted: FloatArray,
    predicted: FloatArray,
    last: FloatArray,
) -> list[PretensionedState | None]:
    """Of frames whose iteration has settled in `shape`, from `start`; None where that is not stable.

    wanted : (c, k), N, pretension;   predicted : (c,), m, movement by the first step;   last : (c,), m, the last correction
    """
    cases = len(wanted)
    no_load, every = np.zeros(cases), np.arange(cases)
    state = problem.state(shape, no_load)
    stable = is_on_path(problem, state, start, no_load, predicted)
    length = np.where(wanted > 0, problem.unstressed_length, by_copy(state.cable_shape.total, cases))
    places = np.flatnonzero(stable)
    answers = answers_of(Equilibria(every, problem, state, last), places, np.ones_like(places))
    return [
        PretensionedState(length[case], shape_of(shape, [case], cases), next(answers))
        if stable[case]
        else None
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
