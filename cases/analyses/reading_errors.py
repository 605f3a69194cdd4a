"""Readings whose sign or unit is wrong: leave a gauge out, fit the others, and see by what factor its readings miss these.

A gauge is suspected where the others then fit, where its readings are the predicted ones times a factor that a slip makes (−1, a
prefix, inches for millimetres, degrees for radians) within that factor's own scatter, and where all fit once the slip is
corrected. Where no gauge alone explains a poor fit, two are left out: one of those without which the others fit best, each with
every other. Readings of which the others predict nothing, as of one hull's pitch where the whole boat may pitch in each step, are
corrected by each slip in turn.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product
from typing import Annotated

import numpy as np
from pydantic import Field

from cases.analyses.fitting import POOR_FIT, Fit, Problem, fit
from cases.analyses.readings_fit import TestReadings
from femcore.base.arrays import BoolArray
from femcore.base.errors import NoConvergence

MAX_SLIP_MISS = float(np.log(1.6))
"""Of a slip's factor, as a logarithm: readings that miss it by more are not explained by it, however large their scatter."""
SLIP_SCATTERS = 3.0
"""Standard deviations of the factor, within which it is a slip's."""
FIRST_OF_TWO = 3
"""Gauges, or kinds, without which the others fit best: each is taken for one of two slips in turn, all pairs would take long."""
LEAST_OF_TWO = 3.0
"""Of two slips at once, each changes readings by more than this factor, or its sign: hulls that differ pass for two twos."""
SLIPS = {
    -1.0: "with the wrong sign",
    1000.0: "a thousand times too large, as by a prefix",
    0.001: "a thousand times too small, as by a prefix",
    10.0: "ten times too large, as by a decimal point",
    0.1: "ten times too small, as by a decimal point",
    25.4: "25.4 times too large, as millimetres written as inches",
    1 / 25.4: "25.4 times too small, as inches written as millimetres",
    np.pi / 180: "57.3 times too small, as radians written as degrees",
    180 / np.pi: "57.3 times too large, as degrees written as radians",
    0.18 / np.pi: "17.5 times too small, as degrees written as milliradians",
    10 * np.pi / 1.8: "17.5 times too large, as milliradians written as degrees",
    2.0: "twice too large, as a difference of two written for one",
    0.5: "half too small, as half of a difference",
}
"""What a slip does to readings, and its words."""


@dataclass(frozen=True, slots=True)
class SuspectReadings:
    """Readings that are those of all others times a slip's factor."""

    test: Annotated[str, Field(description="name of the test")]
    gauges: Annotated[tuple[str, ...], Field(description="one gauge, or all of one kind")]
    factor: Annotated[
        float,
        Field(description="readings over what all others predict; the slip's own where they predict nothing"),
    ]
    words: Annotated[str, Field(description="the slip that makes it")]
    probability: Annotated[float, Field(description="of the fit once the slip is corrected, by chance alone")]
    together: Annotated[
        bool, Field(description="whether the other suspect slip has to be corrected as well")
    ] = False


@dataclass(frozen=True, slots=True, eq=False)
class _Group:
    """Readings that one slip may have changed: a gauge of a test, or all of a kind; `rows` (n,) says which they are."""

    test: int
    names: tuple[str, ...]
    rows: BoolArray


def suspect_readings(whole: Fit, readings: TestReadings) -> tuple[SuspectReadings, ...]:
    """Those that best explain a fit that is poor, at most one for each test, or two together; none where it is not poor."""
    if whole.probability > POOR_FIT:
        return ()
    groups, problem = tuple(_groups(readings)), readings.problem
    others = [_fitted(problem.without(one.rows)) for one in groups]
    found: dict[int, SuspectReadings] = {}
    for one, left in zip(groups, others, strict=True):
        for suspect in _slips(readings, (one,), left):
            if one.test not in found or suspect.probability > found[one.test].probability:
                found[one.test] = suspect
    poor = [n for n, left in enumerate(others) if left is not None and left.probability < POOR_FIT]
    if found or not poor:
        return tuple(found.values())
    for first in sorted(poor, key=lambda n: _misfit(others[n]))[:FIRST_OF_TWO]:
        pairs = [(groups[first], one) for one in groups if not (groups[first].rows & one.rows).any()]
        each = [
            _slips(readings, pair, _fitted(problem.without(pair[0].rows | pair[1].rows))) for pair in pairs
        ]
        best = max(each, key=lambda two: two[0].probability if two else 0.0, default=())
        if best:
            return best
    return ()


def _fitted(problem: Problem) -> Fit | None:
    """None where no stiffness is found."""
    try:
        return fit(problem)
    except NoConvergence:
        return None


def _misfit(found: Fit | None) -> float:
    """Sum of squares by degree of freedom."""
    return np.inf if found is None else found.cost / max(found.degrees, 1)


def _groups(readings: TestReadings) -> Iterator[_Group]:
    """Each gauge of each test, and all gauges of a kind together where there are several."""
    for test, run in enumerate(readings.runs):
        each = {n: readings.of_gauge(test, n) for n in range(len(run.model.gauges))}
        for number, chosen in each.items():
            yield _Group(test, (run.model.gauges[number].name,), chosen)
        for kind in dict.fromkeys(gauge.kind for gauge in run.model.gauges):
            same = [n for n, gauge in enumerate(run.model.gauges) if gauge.kind == kind]
            if 1 < len(same) < len(each):
                chosen = np.any([each[n] for n in same], axis=0)
                yield _Group(test, tuple(run.model.gauges[n].name for n in same), chosen)


def _slips(
    readings: TestReadings, groups: Sequence[_Group], others: Fit | None
) -> tuple[SuspectReadings, ...]:
    """Those readings against all others; none where slips do not explain them, or the others do not fit either."""
    if others is None or others.probability < POOR_FIT:
        return ()
    problem, each = readings.problem, [_likely(readings.problem, one.rows, others) for one in groups]
    best: tuple[SuspectReadings, ...] = ()
    if len(groups) > 1:
        each = [[one for one in likely if abs(_miss(one[1], 1.0)) > np.log(LEAST_OF_TWO)] for likely in each]
    for chosen in product(*each):
        corrected = problem.y
        for one, (_, slip) in zip(groups, chosen, strict=True):
            corrected = np.where(one.rows, corrected / slip, corrected)
        after = _fitted(problem.of_readings(corrected))
        if after is not None and after.probability > max(POOR_FIT, best[0].probability if best else 0.0):
            best = tuple(
                SuspectReadings(
                    readings.runs[one.test].name,
                    one.names,
                    factor,
                    SLIPS[slip],
                    after.probability,
                    len(groups) > 1,
                )
                for one, (factor, slip) in zip(groups, chosen, strict=True)
            )
    return best


def _likely(problem: Problem, chosen: BoolArray, others: Fit) -> list[tuple[float, float]]:
    """By what factor those readings miss what the others predict, and the slip that makes it; all where these predict nothing."""
    value, slope = problem.model(others.p)
    own = problem.without(~chosen)
    Q = own.basis()
    if not Q.shape[1]:
        return [(slip, slip) for slip in SLIPS]
    predicted, read, by = (
        Q.T @ (each / own.scatter.reshape(-1, *[1] * (each.ndim - 1)))
        for each in (value[chosen], own.y, slope[chosen])
    )
    size = float(predicted @ predicted)
    if not size:
        return []
    factor = float(predicted @ read) / size
    along = predicted @ by / size
    # the gauges' own noise, and what is not known of the prediction, which a factor multiplies
    scatter = float(np.sqrt(1 / size + factor**2 * along @ others.covariance @ along))
    slip = min(SLIPS, key=lambda one: _miss(factor, one))
    limit = min(SLIP_SCATTERS * scatter / max(abs(factor), np.finfo(float).tiny), MAX_SLIP_MISS)
    return [] if _miss(factor, slip) > limit else [(factor, slip)]


def _miss(factor: float, slip: float) -> float:
    """Size of the logarithm of their ratio; inf where their signs differ."""
    return abs(float(np.log(factor / slip))) if factor * slip > 0 else np.inf
