"""Readings whose sign or unit is wrong: leave a gauge out, fit the others, and see by what factor its readings miss these.

A gauge is suspected where the others then fit, where its readings are the predicted ones times a factor that a slip makes (−1, a
prefix, inches for millimetres, degrees for radians) within that factor's own scatter, and where all fit once the slip is mended.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated

import numpy as np
from pydantic import Field

from cases.analyses.fitting import POOR_FIT, Fit, fit
from cases.analyses.readings_fit import TestReadings
from femcore.base.arrays import BoolArray
from femcore.base.errors import NoConvergence

MAX_SLIP_MISS = float(np.log(1.6))
"""Of a slip's factor, as a logarithm: readings that miss it by more are not explained by it, however large their scatter."""
SLIP_SCATTERS = 3.0
"""Standard deviations of the factor, within which it is a slip's."""
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
    factor: Annotated[float, Field(description="readings over what all others predict")]
    words: Annotated[str, Field(description="the slip that makes it")]
    probability: Annotated[float, Field(description="of the fit once the slip is mended, by chance alone")]


def suspect_readings(whole: Fit, readings: TestReadings) -> tuple[SuspectReadings, ...]:
    """Those that best explain a fit that is poor, at most one for each test; none where it is not poor."""
    if whole.probability > POOR_FIT:
        return ()
    found: dict[int, SuspectReadings] = {}
    for test, names, chosen in _groups(readings):
        one = _suspect(readings, test, names, chosen)
        if one is not None and (test not in found or one.probability > found[test].probability):
            found[test] = one
    return tuple(found.values())


def _groups(readings: TestReadings) -> Iterator[tuple[int, tuple[str, ...], BoolArray]]:
    """Each gauge of each test, and all gauges of a kind together where there are several."""
    for test, run in enumerate(readings.runs):
        each = {n: readings.of_gauge(test, n) for n in range(len(run.model.gauges))}
        for number, chosen in each.items():
            yield test, (run.model.gauges[number].name,), chosen
        for kind in dict.fromkeys(gauge.kind for gauge in run.model.gauges):
            same = [n for n, gauge in enumerate(run.model.gauges) if gauge.kind == kind]
            if 1 < len(same) < len(each):
                chosen = np.any([each[n] for n in same], axis=0)
                yield test, tuple(run.model.gauges[n].name for n in same), chosen


def _suspect(
    readings: TestReadings, test: int, names: tuple[str, ...], chosen: BoolArray
) -> SuspectReadings | None:
    """Those readings against all others; None where no slip explains them, or the others do not fit either."""
    problem = readings.problem
    try:
        others = fit(problem.without(chosen))
    except NoConvergence:
        return None
    if others.probability < POOR_FIT:
        return None
    value, slope = problem.model(others.p)
    own = problem.without(~chosen)
    Q = own.basis()
    said, read, by = (
        Q.T @ (each / own.scatter.reshape(-1, *[1] * (each.ndim - 1)))
        for each in (value[chosen], own.y, slope[chosen])
    )
    size = float(said @ said)
    if not size:
        return None
    factor = float(said @ read) / size
    along = said @ by / size
    # the gauges' own noise, and what is not known of the prediction, which a factor multiplies
    scatter = float(np.sqrt(1 / size + factor**2 * along @ others.covariance @ along))
    slip = min(SLIPS, key=lambda one: _miss(factor, one))
    if _miss(factor, slip) > min(
        SLIP_SCATTERS * scatter / max(abs(factor), np.finfo(float).tiny), MAX_SLIP_MISS
    ):
        return None
    mended = fit(problem.of_readings(np.where(chosen, problem.y / slip, problem.y)))
    if mended.probability < POOR_FIT:
        return None
    return SuspectReadings(readings.runs[test].name, names, factor, SLIPS[slip], mended.probability)


def _miss(factor: float, slip: float) -> float:
    """Size of the logarithm of their ratio; inf where their signs differ."""
    return abs(float(np.log(factor / slip))) if factor * slip > 0 else np.inf
