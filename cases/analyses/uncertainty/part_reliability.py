"""The reliability of one part, or of some together: by the design point, and as counted in samples."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Annotated

import numpy as np
from pydantic import Field

from cases.analyses.reliability.design_point import STEP, DesignPoint, design_point
from cases.analyses.reliability.sampling import Chance, chance
from cases.analyses.reliability.together import together
from cases.analyses.uncertainty.joint_limits import SAMPLES_AT_ONCE, JointLimits, causes
from femcore.base.arrays import FloatArray, IntArray
from femcore.base.written import FiniteOrNull

MAX_ROUNDS = 4
"""Searches, each for the check and row that governs at the point found by the one before."""
ABS_TOL_GOVERNS = 0.01
"""Of ln(1 + margin): another check or row that is lower by less at a design point changes nothing of it."""
FAR = 3.0
"""Standard deviations of ln(1 + margin) from the samples' mean to zero: beyond them no point is searched for."""
ABS_TOL_NO_SPREAD = 1e-9
"""Of ln(1 + margin): a smaller standard deviation is rounding, and treated as none."""
REL_TOL_MOVES = 1e-6
"""Of the largest derivative of ln(1 + margin) by a cause: one with less is left at its median."""
MIN_IMPORTANCE = 0.01


@dataclass(frozen=True, slots=True)
class Reliability:
    """Of one part, or of some together."""

    part: Annotated[str, Field(description="which")]
    check: Annotated[str, Field(description="that is likeliest to be the first below zero: part and check")]
    worst_in: Annotated[str, Field(description="the case or combination of that check at the design point")]
    margin: Annotated[float, Field(description="governing margin without scatter")]
    index: Annotated[
        FiniteOrNull,
        Field(
            description="reliability index of margin < 0, first order; null: far beyond 3, on the side of the margin"
        ),
    ]
    chance: Annotated[float | None, Field(description="of margin < 0, first order; null without an index")]
    counted: Annotated[Chance, Field(description="of margin < 0, in the samples")]
    failure: Annotated[
        Chance,
        Field(
            description="of load beyond capacity, no safety factor in, limits in service left out; in the samples"
        ),
    ]
    importance: Annotated[
        dict[str, float], Field(description="cause → share of the squared index, those of 1 % and more")
    ]


@dataclass(frozen=True, slots=True)
class Chances:
    """Of some checks, as counted in samples: that a margin is below 0, and that a load is beyond what a part carries."""

    counted: Chance
    failure: Chance

    @classmethod
    def of(
        cls, limits: JointLimits, checks: IntArray, log_margins: FloatArray, to_failure: FloatArray
    ) -> Chances:
        """log_margins, to_failure : (s, checks), the lowest of each check's rows, with factors and without."""
        breaking = ~limits.in_service[checks]
        failed = to_failure[:, breaking].min(axis=1, initial=np.inf) < 0
        return cls(chance(log_margins.min(axis=1) < 0), chance(failed))


def reliabilities(
    limits: JointLimits, parts: Sequence[tuple[str, IntArray]], u: FloatArray, of_checks: tuple[FloatArray, FloatArray]
) -> list[Reliability]:  # fmt: skip
    """Of parts by name, each some checks; the points of all of them are searched for side by side.

    u : (s, causes), samples;   of_checks : (s, all checks) twice, as of `SampledJoint`
    """
    log_margins, to_failure = of_checks
    lowest = [log_margins[:, checks].min(axis=1) for _, checks in parts]
    near = [number for number, one in enumerate(lowest) if _may_be_reached(one)]
    searches = [partial(_point, limits, parts[number][1], _start(u, lowest[number])) for number in near]
    points = dict(zip(near, together(searches, partial(_answers, limits)), strict=True))
    every = [Chances.of(limits, checks, log_margins[:, checks], to_failure[:, checks]) for _, checks in parts]
    return [
        _reliability(limits, *part, chances, points.get(number))
        for number, (part, chances) in enumerate(zip(parts, every, strict=True))
    ]


def _may_be_reached(lowest: FloatArray) -> bool:
    """Whether ln(1 + margin) (s,) of samples scatters, and about a mean from which zero is not far."""
    spread = float(lowest.std())
    return spread > ABS_TOL_NO_SPREAD and abs(float(lowest.mean())) < FAR * spread


def _reliability(
    limits: JointLimits, part: str, checks: IntArray, chances: Chances, found: tuple[DesignPoint, int, int] | None
) -> Reliability:  # fmt: skip
    """`found`: what `_point` says; None where none was searched for."""
    nominal = limits.nominal[:, checks]
    row, at = (int(one) for one in np.unravel_index(int(nominal.argmin()), nominal.shape))
    point, row, at = (None, row, at) if found is None else found
    reached = point is not None and np.isfinite(point.index)
    index = point.index if point is not None and reached else np.inf if nominal.min() >= 0 else -np.inf
    check, names = limits.checks[int(checks[at])], limits.row_names
    return Reliability(
        part, f"{check.part}: {check.check}", names[row] if checks[at] < limits.factor.shape[1] else "stay at its breaking load",
        float(np.expm1(nominal.min())), index,
        point.chance if point is not None and reached else None,
        chances.counted, chances.failure, _importance(limits, point) if reached else {},
    )  # fmt: skip


@dataclass(frozen=True, slots=True, eq=False)
class _Asked:
    """Points u (p, causes) at which ln(1 + margin) is wanted: of some checks in all rows (row None), or of one in one row."""

    u: FloatArray
    checks: IntArray
    row: int | None = None


_Ask = Callable[[_Asked], FloatArray]
"""The answer: (p, rows, checks), or (p,) of one check in one row."""


def _answers(limits: JointLimits, asked: Sequence[_Asked]) -> list[FloatArray]:
    """To the questions of all searches, two kinds at once."""
    found = list[FloatArray]([np.zeros(0)] * len(asked))
    everywhere = [number for number, one in enumerate(asked) if one.row is None]
    for first in range(0, len(everywhere), SAMPLES_AT_ONCE):
        some = everywhere[first : first + SAMPLES_AT_ONCE]
        x = limits.inputs_at(np.concatenate([asked[number].u for number in some]))
        at_joint, on_parts = limits.samples.loads(x)
        rows, ends = np.arange(len(limits.factor)), np.cumsum([0, *(len(asked[number].u) for number in some)])
        for number, start, end in zip(some, ends[:-1], ends[1:], strict=True):
            of = slice(start, end)
            found[number] = limits.from_loads(x[of], at_joint[of], on_parts[of], rows, asked[number].checks)
    each = [(number, one) for number, one in enumerate(asked) if one.row is not None]
    if each:
        counts = [len(one.u) for _, one in each]
        rows, checks = np.array([(one.row, one.checks[0]) for _, one in each]).repeat(counts, axis=0).T
        whole = limits.of_each(limits.inputs_at(np.concatenate([one.u for _, one in each])), rows, checks)
        for (number, _), part in zip(each, np.split(whole, np.cumsum(counts)[:-1]), strict=True):
            found[number] = part
    return found


def _start(u: FloatArray, lowest: FloatArray) -> FloatArray:
    """(causes,), where a plane through the samples of ln(1 + margin) reaches zero."""
    terms = np.concatenate([np.ones((len(u), 1)), u], axis=1)
    level, *slope = np.linalg.lstsq(terms, lowest, rcond=None)[0]
    steepness = float(np.dot(slope, slope))
    return np.asarray(-level * np.array(slope) / steepness if steepness else np.zeros(u.shape[1]))


def _point(
    limits: JointLimits, checks: IntArray, start: FloatArray, ask: _Ask
) -> tuple[DesignPoint, int, int]:
    """The nearest design point of the checks and rows that govern on the way, and which check (of `checks`) in which row."""
    best: tuple[DesignPoint, int, int] | None = None
    tried = np.zeros((len(limits.factor), len(checks)), dtype=bool)
    here = start
    for _ in range(MAX_ROUNDS):
        margins = ask(_Asked(here[None], checks))[0]
        if best is not None and np.isfinite(best[0].index) and margins.min() > -ABS_TOL_GOVERNS:
            break
        margins[tried] = np.inf
        row, at = (int(one) for one in np.unravel_index(int(margins.argmin()), margins.shape))
        if not np.isfinite(margins[row, at]):
            break
        tried[row, at] = True
        found = _nearest(row, int(checks[at]), here, ask)
        if best is None or found.index < best[0].index:
            best = found, row, at
        here = found.u if np.isfinite(found.index) else here
    if best is None:
        raise AssertionError("the first round always searches")
    return best


def _nearest(row: int, check: int, start: FloatArray, ask: _Ask) -> DesignPoint:
    """The design point of one check in one row, in the causes that move it."""
    checks, count = np.array([check]), len(start)

    def of_all(u: FloatArray) -> FloatArray:
        return ask(_Asked(u, checks, row))

    about = np.stack([np.zeros(count), start])
    around = about[:, None] + STEP * np.concatenate([np.zeros((1, count)), np.eye(count)])
    values = of_all(around.reshape(-1, count)).reshape(len(about), count + 1)
    slopes = np.abs(values[:, 1:] - values[:, :1])
    moving = np.flatnonzero((slopes > REL_TOL_MOVES * slopes.max(axis=1, keepdims=True)).any(axis=0))
    if not len(moving):
        return DesignPoint(np.inf if values[0, 0] >= 0 else -np.inf, np.zeros(count), np.zeros(count))

    def g(u: FloatArray) -> FloatArray:
        whole = np.zeros((len(u), count))
        whole[:, moving] = u
        return of_all(whole)

    found = design_point(g, len(moving), start[moving])
    u, importance = np.zeros(count), np.zeros(count)
    u[moving], importance[moving] = found.u, found.importance
    return DesignPoint(found.index, u, importance)


def _importance(limits: JointLimits, point: DesignPoint | None) -> dict[str, float]:
    if point is None:
        return {}
    pairs = zip(causes(limits.inputs), point.importance.tolist(), strict=True)
    return dict(sorted((pair for pair in pairs if pair[1] >= MIN_IMPORTANCE), key=lambda pair: -pair[1]))


__all__ = ["Chances", "Reliability", "reliabilities"]
