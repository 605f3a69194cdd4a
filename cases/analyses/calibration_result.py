"""What a test on a boat taught, as it is written: factors, values, gauges, outliers, joint loads."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated, Literal

from pydantic import Field

from cases.analyses.fitting import POOR_FIT, Fit
from cases.analyses.reading_errors import SuspectReadings
from cases.analyses.readings_fit import TestReadings
from femcore.base.arrays import FloatArray
from femcore.base.written import WRITTEN, Unwritten, named, written

MIN_LEARNED = 0.2
"""Share of the prior's variance: what readings tell less of is still the prior, and no result of the test."""
PLAY_SCATTERS = 3.0
"""Standard deviations beyond which hysteresis is not noise."""
TOO_GOOD = 0.999
"""Probability of the fit above which the stated scatters are larger than those of the readings."""
DEVIATIONS_95 = 1.959963984540054
"""Standard deviations to either side that hold 95 % of a normal distribution."""
Verdict = Literal["fits", "does not fit", "fits better than its scatter"]


@dataclass(frozen=True, slots=True)
class FoundFactor:
    """An unknown: a factor on what the boat's file has, its scatter as a share before and after the test."""

    name: Annotated[str, Field(description="key of [calibration], or joint_pitch, joint_roll")]
    factor: Annotated[float, Field(description="on the stiffness of the boat's file")]
    before: Annotated[float, Field(description="standard deviation of its logarithm before the test")]
    after: Annotated[float, Field(description="and after it")]
    learned: Annotated[float, Field(description="1 − (after/before)²")]

    @written("whether the test taught enough of it to quote the factor")
    def quoted(self) -> bool:
        """At least a fifth was learned."""
        return self.learned >= MIN_LEARNED

    @property
    def range_95(self) -> tuple[float, float]:
        """Of the factor; its logarithm is normal."""
        away = math.exp(DEVIATIONS_95 * self.after)
        return self.factor / away, self.factor * away


@dataclass(frozen=True, slots=True)
class FoundLoad:
    """A factor on the loads of a test, which its load cells left open."""

    test: Annotated[str, Field(description="name of the test")]
    kind: Annotated[str, Field(description="loads or stay")]
    factor: Annotated[float, Field(description="on what the file states")]
    before: Annotated[float, Field(description="standard deviation of its logarithm before the test")]
    after: Annotated[float, Field(description="and after it")]


@dataclass(frozen=True, slots=True)
class GaugeRecord:
    """How well a gauge's readings fit, and what it has of its own."""

    test: Annotated[str, Field(description="name of the test")]
    gauge: Annotated[str, Field(description="its name")]
    unit: Annotated[str, Field(description="of what follows: m, rad or N")]
    readings: Annotated[int, Field(description="how many")]
    zero: Annotated[float, Field(description="what it shows in the unloaded boat")]
    miss: Annotated[float, Field(description="root mean square of readings less model")]
    scatter: Annotated[float, Field(description="as stated")]
    hysteresis: Annotated[
        float | None,
        Field(
            description="readings while load falls less those while it grows, at one load; null: not found"
        ),
    ]
    hysteresis_scatter: Annotated[float | None, Field(description="standard deviation of it")]

    @written("whether its hysteresis is more than noise: play or friction")
    def has_play(self) -> bool:
        """Beyond three standard deviations."""
        if self.hysteresis is None or self.hysteresis_scatter is None:
            return False
        return abs(self.hysteresis) > PLAY_SCATTERS * self.hysteresis_scatter


@dataclass(frozen=True, slots=True)
class Outlier:
    """A reading that all others together contradict."""

    test: Annotated[str, Field(description="name of the test")]
    step: Annotated[int, Field(description="from 1")]
    gauge: Annotated[str, Field(description="its name")]
    unit: Annotated[str, Field(description="of the readings: m, rad or N")]
    reading: Annotated[float, Field(description="as read")]
    expected: Annotated[float, Field(description="by the fitted model and the gauge's zero")]
    deviations: Annotated[float, Field(description="studentised residual")]


@dataclass(frozen=True, slots=True)
class FoundValue:
    """A quantity of the boat that follows from the factors."""

    name: Annotated[str, Field(description="in words")]
    unit: Annotated[str, Field(description="SI")]
    before: Annotated[float, Field(description="of the boat's file")]
    after: Annotated[float, Field(description="by the test")]
    before_scatter: Annotated[float, Field(description="standard deviation before the test")]
    after_scatter: Annotated[float, Field(description="and after it")]

    @property
    def range_95(self) -> tuple[float, float]:
        """After the test."""
        away = DEVIATIONS_95 * self.after_scatter
        return self.after - away, self.after + away


@dataclass(frozen=True, slots=True)
class JointLoadChange:
    """The joint's load in one case, on the worse hull, with the boat's file and with the factors found."""

    case: Annotated[str, Field(description="name of the case")]
    torque: Annotated[tuple[float, float], Field(description="N·m, before and after")]
    bending: Annotated[tuple[float, float], Field(description="N·m, vertical, before and after")]


@dataclass(frozen=True, slots=True, eq=False)
class CalibrationResult:
    """A test on a boat, worked out.

    correlation : (u, u), of the factors' logarithms;   racking_scatter : of torque and vertical bending in racking
    """

    title: Annotated[str, Field(description="of the test's file")]
    boat: Annotated[str, Field(description="title of the boat's file")]
    joint: Annotated[str, Field(description="which she had")]
    factors: Annotated[tuple[FoundFactor, ...], Field(description="stiffness, over that of the file")]
    loads: Annotated[tuple[FoundLoad, ...], Field(description="loads, over those stated")]
    correlation: Annotated[
        FloatArray, named(None, None), Field(description="of the logarithms of `factors`, in order")
    ]
    values: Annotated[tuple[FoundValue, ...], Field(description="what follows from the factors")]
    gauges: Annotated[tuple[GaugeRecord, ...], Field(description="each gauge of each test")]
    outliers: Annotated[tuple[Outlier, ...], Field(description="readings that all others contradict")]
    suspects: Annotated[tuple[SuspectReadings, ...], Field(description="signs and units that seem wrong")]
    chi_square: Annotated[float, Field(description="least sum of squares over scatter, the prior's included")]
    degrees: Annotated[int, Field(description="of freedom of it")]
    probability: Annotated[float, Field(description="of a sum as large by chance alone")]
    racking_scatter: Annotated[
        dict[str, tuple[float, float]],
        Field(
            description="torque, vertical bending → share of the joint's load in racking, before and after; by stiffness alone"
        ),
    ]
    joint_loads: Annotated[tuple[JointLoadChange, ...], Field(description="in every case of the boat's file")]
    absent: Annotated[dict[str, str], Field(description="unknowns that the boat does not have → why")]
    readings: Unwritten[TestReadings]
    fit: Unwritten[Fit]

    __pydantic_config__ = WRITTEN

    @written("whether model and readings agree")
    def verdict(self) -> Verdict:
        """By the probability of the sum."""
        if self.probability < POOR_FIT:
            return "does not fit"
        return "fits better than its scatter" if self.probability > TOO_GOOD else "fits"

    @property
    def quoted(self) -> dict[str, float]:
        """The factors that the test taught, by name; none where the model does not fit."""
        if self.probability < POOR_FIT:
            return {}
        return {one.name: one.factor for one in self.factors if one.quoted}
