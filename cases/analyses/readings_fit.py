"""The readings of tests on a boat as one problem of fitting: which reading is which, and what the model says of each."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from cases.analyses.fitting import Problem
from cases.input.tested_boat import TestedOnce
from femcore.base.arrays import BoolArray, FloatArray
from models.response.boat_test_loads import Gauge

MIN_FOR_HYSTERESIS = 4
"""Readings of a gauge, with load growing and falling among them, from which its hysteresis is found."""
LOAD_KINDS = ("loads", "stay")
"""Factors on a test's loads that its load cells leave open."""


@dataclass(frozen=True, slots=True)
class FreeAmount:
    """What no other reading says, found for one gauge or one step: its `kind` is "zero", "hysteresis" or a rigid motion."""

    kind: str
    test: int
    gauge: int = -1
    step: int = -1


@dataclass(frozen=True, eq=False)
class TestReadings:
    """All readings of all tests, in one row.

    rows     : test, step and gauge of each;   free : what each column of the problem's A is
    unknowns : factors on stiffness, then `load_factors`: (test, "loads" or "stay") of factors on loads
    """

    __test__ = False  # nothing for pytest to collect

    runs: tuple[TestedOnce, ...]
    problem: Problem
    rows: tuple[tuple[int, int, int], ...]
    free: tuple[FreeAmount, ...]
    unknowns: tuple[str, ...]
    load_factors: tuple[tuple[int, str], ...]

    def gauge(self, row: int) -> tuple[TestedOnce, Gauge]:
        """The test and the gauge of a reading."""
        test, _, gauge = self.rows[row]
        return self.runs[test], self.runs[test].model.gauges[gauge]

    def of_gauge(self, test: int, gauge: int) -> BoolArray:
        """(n,), which readings are a gauge's."""
        return np.array([(row[0], row[2]) == (test, gauge) for row in self.rows])


def gathered(runs: Sequence[TestedOnce], unknowns: Sequence[str], prior: Mapping[str, float]) -> TestReadings:
    """The problem of fitting `unknowns`, with the prior scatter of their logarithms by name."""
    rows = tuple(
        (number, step, gauge)
        for number, run in enumerate(runs)
        for step, gauge in np.argwhere(~np.isnan(run.readings)).tolist()
    )
    scatters = [
        (number, kind, share)
        for number, run in enumerate(runs)
        for kind, share in zip(LOAD_KINDS, (run.load_scatter, run.stay_scatter), strict=True)
        if share > 0 and run.amounts[:, run.stay == (kind == "stay")].any()
    ]
    loads = tuple((number, kind) for number, kind, _ in scatters)
    free, columns = _free_amounts(runs, rows)
    problem = Problem(
        np.array([runs[test].readings[step, gauge] for test, step, gauge in rows]),
        np.array([runs[test].scatter[gauge] for test, _, gauge in rows]),
        columns,
        np.array([*(prior[name] for name in unknowns), *(share for _, _, share in scatters)]),
        _Model(tuple(runs), rows, tuple(unknowns), loads),
    )
    return TestReadings(tuple(runs), problem, rows, free, tuple(unknowns), loads)


@dataclass(frozen=True, eq=False)
class _Model:
    """Readings and their derivatives by the logarithms of factors, on stiffness and then on loads."""

    runs: tuple[TestedOnce, ...]
    rows: tuple[tuple[int, int, int], ...]
    unknowns: tuple[str, ...]
    load_factors: tuple[tuple[int, str], ...]

    def __call__(self, p: FloatArray) -> tuple[FloatArray, FloatArray]:
        factors = dict(zip(self.unknowns, np.exp(p[: len(self.unknowns)]).tolist(), strict=True))
        values, slopes = [], []
        for number, run in enumerate(self.runs):
            found = run.model.response(factors)
            amounts, own = run.amounts.copy(), []
            for (test, kind), logarithm in zip(self.load_factors, p[len(self.unknowns) :], strict=True):
                chosen = run.stay == (kind == "stay")
                if test == number:
                    amounts[:, chosen] *= np.exp(logarithm)
                own.append(chosen & (test == number))
            values.append(amounts @ found.readings.T)
            by = [found.readings_by @ amounts.T]
            by += [((found.readings * chosen) @ amounts.T)[None] for chosen in own]
            slopes.append(np.concatenate(by).swapaxes(1, 2))
        value = np.array([values[test][step, gauge] for test, step, gauge in self.rows])
        slope = np.array([slopes[test][:, step, gauge] for test, step, gauge in self.rows])
        return value, slope


def _free_amounts(
    runs: Sequence[TestedOnce], rows: Sequence[tuple[int, int, int]]
) -> tuple[tuple[FreeAmount, ...], FloatArray]:
    """A zero of every gauge, its hysteresis where load grew and fell, rigid motions in each step of a boat that may move so."""
    free: list[FreeAmount] = []
    columns: list[FloatArray] = []
    of = np.array(rows)
    for number, run in enumerate(runs):
        here = of[:, 0] == number
        for gauge in range(len(run.scatter)):
            own = here & (of[:, 2] == gauge)
            free.append(FreeAmount("zero", number, gauge))
            columns.append(own.astype(float))
            signs = set(run.branch[of[own, 1]].tolist())
            if {1.0, -1.0} <= signs and own.sum() >= MIN_FOR_HYSTERESIS:
                free.append(FreeAmount("hysteresis", number, gauge))
                columns.append(
                    np.array(
                        [
                            run.branch[step] / 2 if mine else 0.0
                            for step, mine in zip(of[:, 1], own, strict=True)
                        ]
                    )
                )
        if run.moves:
            for step in range(len(run.amounts)):
                at = here & (of[:, 1] == step)
                for motion, name in enumerate(("heave", "pitch", "roll")):
                    free.append(FreeAmount(name, number, step=step))
                    gauges = np.where(at, of[:, 2], 0)
                    columns.append(at * run.model.rigid[gauges, motion])
    return tuple(free), np.array(columns).T


__all__ = ["FreeAmount", "TestReadings", "gathered"]
