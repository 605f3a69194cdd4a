"""How sure each joint's answer is: chances, what they come from, what would turn the verdict, what to measure next.

All numbers are over the inputs of `cases.input.scatter`, by the same samples for all joints, so that joints are compared under
the same sea. A chance that a margin is below zero is of the verdict, safety factors in; a chance of failure is of loads beyond
what a part can carry, no factor in, limits in service left out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, Literal

import numpy as np
from pydantic import Field

from cases.analyses.case_rows import CaseRows
from cases.analyses.part_margins import PartMargins, buckling_utilisation
from cases.analyses.reliability.sampling import Chance, chance, standard_normals
from cases.analyses.study import JointResult
from cases.analyses.uncertainty.flips import Flip, flips
from cases.analyses.uncertainty.joint_limits import JointLimits, causes, inputs_at, largest_moments
from cases.analyses.uncertainty.part_reliability import Reliability, reliability
from cases.analyses.uncertainty.response_samples import BoatSamples, JointSamples
from cases.analyses.uncertainty.tornado import LEAST_MOMENT, InputEffect, input_effects
from cases.input.boat_file import BoatFile
from cases.input.scatter import ScatteredInput, scattered_inputs
from femcore.base.arrays import FloatArray, IntArray
from femcore.base.errors import StructureFault
from femcore.base.written import Unwritten

SAMPLES = 512
"""Of a report: a chance of one in ten is then known to ± 2.6 %; a power of two, for Sobol's sequence."""
MIN_SAMPLES, MAX_SAMPLES = 64, 2**17
SEED = 1
PERCENTILES = (5.0, 50.0, 95.0)
BLOCK = 1024
"""Samples worked on at once."""


@dataclass(frozen=True, slots=True)
class ScatteredValue:
    """A result over all samples."""

    nominal: Annotated[float, Field(description="without scatter; N·m, or a margin")]
    low: Annotated[float, Field(description="one boat in twenty is below")]
    median: Annotated[float, Field(description="half of them are below")]
    high: Annotated[float, Field(description="one in twenty is above")]
    log_deviation: Annotated[
        float, Field(description="standard deviation of its logarithm; of a margin that of 1 + margin")
    ]


@dataclass(frozen=True, slots=True, eq=False)
class JointUncertainty:
    """One joint over everything that scatters.

    log_margin : (s,), of every sample, the lower of `own` and `beside`, for comparisons
    """

    joint: Annotated[str, Field(description="name of the joint")]
    torque: Annotated[ScatteredValue, Field(description="N·m, the largest of all cases and combinations")]
    bending: Annotated[ScatteredValue, Field(description="N·m, vertical, the largest likewise")]
    margin: Annotated[
        ScatteredValue,
        Field(
            description="governing margin of the joint's own parts; of those beside it where none is checked"
        ),
    ]
    own: Annotated[
        Reliability | None, Field(description="of the joint's own parts together; null where none is checked")
    ]
    beside: Annotated[Reliability | None, Field(description="of the parts beside it together; null likewise")]
    parts: Annotated[
        tuple[Reliability, ...], Field(description="part by part, the likeliest below zero first")
    ]
    effects: Annotated[
        tuple[InputEffect, ...],
        Field(description="what each input moves, the largest share of the margin's variance first"),
    ]
    flips: Annotated[
        tuple[Flip, ...],
        Field(description="inputs that alone turn the verdict within nine boats in ten; the likeliest first"),
    ]
    log_margin: Unwritten[FloatArray]


@dataclass(frozen=True, slots=True)
class Preference:
    """How likely one joint has the larger governing margin of its own parts."""

    joint: Annotated[str, Field(description="with the larger governing margin")]
    other: Annotated[str, Field(description="with the smaller one")]
    chance: Annotated[
        Chance, Field(description="of that, under the same loads and platform; a tie counts for neither")
    ]


@dataclass(frozen=True, slots=True)
class Uncertainty:
    """Of all joints whose parts are described, or of all joints where none is."""

    samples: int
    seed: int
    method: Annotated[Literal["sobol"], Field(description="Sobol's sequence, scrambled")]
    inputs: Annotated[tuple[ScatteredInput, ...], Field(description="what scatters, and why so much")]
    joints: tuple[JointUncertainty, ...]
    preferences: Annotated[tuple[Preference, ...], Field(description="each pair of joints, both ways")]
    left_out: Annotated[
        tuple[str, ...],
        Field(description="estimated inputs that are taken as exact, and joints without chances: why"),
    ]

    def joint(self, name: str) -> JointUncertainty | None:
        """Of the joint of that name; None where its parts are not described."""
        return next((one for one in self.joints if one.joint == name), None)


def uncertainty(
    file: BoatFile,
    results: Sequence[JointResult],
    rows: Sequence[CaseRows],
    margins: Sequence[PartMargins],
    samples: int = SAMPLES,
    seed: int = SEED,
) -> Uncertainty:
    """Of a study's joints with their rows and margins; one of which a sample has no answer is in `left_out`.

    InputFault where a scatter that was entered leads to no boat.
    """
    every = list(zip(results, rows, margins, strict=True))
    described = [one for one in every if any(check.kind == "checked" for check in one[2].own)] or every
    names = {result.joint.name for result, *_ in described}
    inputs = tuple(
        one
        for one in scattered_inputs(file)
        if one.key not in ("joint_stiffness", "joint_model") or one.part in names
    )
    boat = BoatSamples.of(file, [row for _, row, _ in described], inputs)
    u = standard_normals(samples, len(causes(inputs)), seed, "sobol")
    joints, left_out = list[JointUncertainty](), list[str]()
    for result, row, margin in described:
        try:
            limits = JointLimits.of(JointSamples.of(boat, row, buckling_utilisation(result, row)), margin)
            joints.append(_joint(limits, u))
        except StructureFault as fault:
            left_out.append(
                f"no chances of joint '{result.joint.name}': one of its samples has no answer ({fault})"
            )
        else:
            left_out += [f"taken as exact: {fault}" for fault in limits.left_out]
    return Uncertainty(
        samples,
        seed,
        "sobol",
        inputs,
        tuple(joints),
        tuple(_preferences(joints)),
        tuple(dict.fromkeys(left_out)),
    )


@dataclass(frozen=True, eq=False)
class _Drawn:
    """torque, bending : (s,), N·m, largest sizes; log_margins : (s, c), of each check the lowest of its rows."""

    torque: FloatArray
    bending: FloatArray
    log_margins: FloatArray
    to_failure: FloatArray


def _drawn(limits: JointLimits, x: FloatArray) -> _Drawn:
    """Of inputs x (s, inputs), in blocks."""
    rows, checks = np.arange(len(limits.factor)), np.arange(len(limits.checks))
    factors = limits.log_factor(rows, checks)
    found = []
    for first in range(0, len(x), BLOCK):
        some = x[first : first + BLOCK]
        at_joint, on_parts = limits.samples.loads(some)
        margins = limits.from_loads(some, at_joint, on_parts, rows, checks)
        found.append((*largest_moments(at_joint).T, margins.min(axis=1), (margins + factors).min(axis=1)))
    return _Drawn(*(np.concatenate(part) for part in zip(*found, strict=True)))


def _joint(limits: JointLimits, u: FloatArray) -> JointUncertainty:
    inputs = limits.inputs
    drawn = _drawn(limits, inputs_at(inputs, u))
    nominal = _drawn(limits, np.array([[one.nominal for one in inputs]]))
    own, beside = np.flatnonzero(limits.own), np.flatnonzero(~limits.own)
    main = own if len(own) else beside

    def of(checks: IntArray, part: str) -> Reliability | None:
        if not len(checks):
            return None
        return reliability(limits, part, checks, u, drawn.log_margins[:, checks], drawn.to_failure[:, checks])

    parts = [found for part in limits.parts if (found := of(limits.of_part(part), part)) is not None]
    lowest = drawn.log_margins[:, main].min(axis=1) if len(main) else np.full(len(u), np.nan)
    outputs = np.stack(
        [
            np.log(np.maximum(drawn.torque, LEAST_MOMENT)),
            np.log(np.maximum(drawn.bending, LEAST_MOMENT)),
            lowest,
        ],
        axis=1,
    )
    name = limits.samples.joint.name
    return JointUncertainty(
        name,
        _value(drawn.torque, float(nominal.torque[0])),
        _value(drawn.bending, float(nominal.bending[0])),
        _margin(lowest, float(nominal.log_margins[:, main].min()) if len(main) else np.nan),
        of(own, name), of(beside, "parts beside the joint"),
        tuple(sorted(parts, key=lambda one: (-one.counted.value, one.margin))),
        input_effects(limits, main, u, outputs),
        flips(limits, main) if len(main) else (),
        drawn.log_margins[:, own].min(axis=1) if len(own) else lowest,
    )  # fmt: skip


def _value(values: FloatArray, nominal: float) -> ScatteredValue:
    low, median, high = np.percentile(values, PERCENTILES).tolist()
    spread = float(np.log(np.maximum(values, LEAST_MOMENT)).std())
    return ScatteredValue(nominal, low, median, high, spread)


def _margin(log_margins: FloatArray, nominal: float) -> ScatteredValue:
    low, median, high = np.expm1(np.percentile(log_margins, PERCENTILES)).tolist()
    return ScatteredValue(float(np.expm1(nominal)), low, median, high, float(log_margins.std()))


def _preferences(joints: Sequence[JointUncertainty]) -> list[Preference]:
    """Of each pair, both ways."""
    return [
        Preference(one.joint, other.joint, chance(one.log_margin > other.log_margin))
        for one in joints
        for other in joints
        if one is not other
    ]


__all__ = ["SAMPLES", "JointUncertainty", "Preference", "ScatteredValue", "Uncertainty", "uncertainty"]
