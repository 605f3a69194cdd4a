"""How sure each joint's answer is: chances, what they come from, what would turn the verdict, what to measure next.

All numbers are over the inputs of `cases.input.scatter`, by the same samples for all joints, so that joints are compared under
the same sea. A chance that a margin is below zero is of the verdict, safety factors in; a chance of failure is of loads beyond
what a part can carry, no factor in, limits in service left out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Annotated, Literal

import numpy as np
from pydantic import Field

from cases.analyses.case_rows import CaseRows
from cases.analyses.joint_results import JointResult
from cases.analyses.part_margins import PartMargins
from cases.analyses.reliability.sampling import Chance, chance, standard_normals
from cases.analyses.uncertainty.flips import Flip, flips
from cases.analyses.uncertainty.joint_limits import (
    SAMPLES_AT_ONCE,
    JointLimits,
    causes,
    largest_moments,
)
from cases.analyses.uncertainty.part_reliability import Chances, Reliability, reliabilities
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
MAX_KEPT = 1024
"""Samples of which the loads on parts are kept, some kilobytes each, until the checks that do not decide are asked for."""
PERCENTILES = (5.0, 50.0, 95.0)


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


@dataclass(frozen=True, eq=False)
class SampledJoint:
    """One joint in all samples: what its checks say in each, before anything is made of it.

    u : (s, causes);   torque, bending : (s,), N·m, largest sizes;   flips : as of `JointUncertainty`
    drawn : numbers of the checks that were worked out at once: those that decide, or all where the samples are many
    of_drawn : (s, drawn) twice, as `of_checks`
    on_parts : (s, r, z + 4), from which the others are worked out when first asked for; none where there are none
    """

    limits: JointLimits
    u: FloatArray
    torque: FloatArray
    bending: FloatArray
    flips: tuple[Flip, ...]
    drawn: IntArray
    of_drawn: tuple[FloatArray, FloatArray]
    on_parts: FloatArray

    @classmethod
    def of(cls, limits: JointLimits, u: FloatArray) -> SampledJoint:
        """Of samples u (s, causes). StructureFault where one has no answer."""
        main = _main_checks(limits)
        checks = main if len(u) <= MAX_KEPT else np.arange(len(limits.checks))
        torque, bending, *lowest, on_parts = _drawn(limits, limits.inputs_at(u), checks)
        found = flips(limits, main) if len(main) else ()
        return cls(limits, u, torque, bending, found, checks, (lowest[0], lowest[1]), on_parts)

    @property
    def name(self) -> str:
        """Of the joint."""
        return self.limits.samples.joint.name

    @property
    def own_chances(self) -> Chances | None:
        """Of the joint's own parts together; None where none is checked."""
        own = np.flatnonzero(self.limits.own)
        if not len(own):
            return None
        log_margins, to_failure = (one[:, np.searchsorted(self.drawn, own)] for one in self.of_drawn)
        return Chances.of(self.limits, own, log_margins, to_failure)

    @cached_property
    def of_checks(self) -> tuple[FloatArray, FloatArray]:
        """(s, c) twice, ln(1 + margin) of each check, the lowest of its rows, with safety factors and without."""
        limits, x = self.limits, self.limits.inputs_at(self.u)
        rest = np.setdiff1d(np.arange(len(limits.checks)), self.drawn)
        if not len(rest):
            return self.of_drawn
        blocks = (slice(at, at + SAMPLES_AT_ONCE) for at in range(0, len(x), SAMPLES_AT_ONCE))
        at_joint = np.zeros((0, 0, 0))  # of whose checks none is left
        found = [limits.lowest_of_rows(x[some], at_joint, self.on_parts[some], rest) for some in blocks]
        order = np.argsort(np.concatenate([self.drawn, rest]))
        log_margins, to_failure = (
            np.concatenate([known, np.concatenate(of_rest)], axis=1)[:, order]
            for known, of_rest in zip(self.of_drawn, zip(*found, strict=True), strict=True)
        )
        return log_margins, to_failure


@dataclass(frozen=True, eq=False)
class Sampled:
    """All joints whose parts are described, or all where none is, in the same samples.

    inputs : that scatter;   left_out : inputs taken as exact, and joints without an answer: why
    """

    samples: int
    seed: int
    inputs: tuple[ScatteredInput, ...]
    joints: tuple[SampledJoint, ...]
    left_out: tuple[str, ...]

    def joint(self, name: str) -> SampledJoint | None:
        """The joint of that name; None where its parts are not described, or one of its samples has no answer."""
        return next((one for one in self.joints if one.name == name), None)


def sampled(
    file: BoatFile,
    results: Sequence[JointResult],
    rows: Sequence[CaseRows],
    margins: Sequence[PartMargins],
    samples: int = SAMPLES,
    seed: int = SEED,
) -> Sampled:
    """A study's joints with their rows and margins; one of which a sample has no answer is in `left_out`.

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
    joints, left_out = list[SampledJoint](), list[str]()
    for result, row, margin in described:
        try:
            limits = JointLimits.of(JointSamples.of(boat, row, margin.buckled), margin)
            joints.append(SampledJoint.of(limits, u))
        except StructureFault as fault:
            left_out.append(_without_chances(result.joint.name, fault))
        else:
            left_out += [f"taken as exact: {fault}" for fault in limits.left_out]
    return Sampled(samples, seed, inputs, tuple(joints), tuple(left_out))


def _without_chances(joint: str, fault: StructureFault) -> str:
    return f"no chances of joint '{joint}': one of its samples has no answer ({fault})"


def uncertainty(drawn: Sampled) -> Uncertainty:
    """What the samples of a boat's joints say, with design points; joints that have none for want of an answer are left out."""
    joints, left_out = list[JointUncertainty](), list(drawn.left_out)
    for one in drawn.joints:
        try:
            joints.append(_joint(one))
        except StructureFault as fault:
            left_out.append(_without_chances(one.name, fault))
    return Uncertainty(
        drawn.samples,
        drawn.seed,
        "sobol",
        drawn.inputs,
        tuple(joints),
        tuple(_preferences(joints)),
        tuple(dict.fromkeys(left_out)),
    )


def _drawn(limits: JointLimits, x: FloatArray, checks: IntArray) -> tuple[FloatArray, ...]:
    """Of inputs x (s, inputs), in blocks: torque, bending, then `of_drawn` and `on_parts` of a `SampledJoint`."""
    found = []
    for first in range(0, len(x), SAMPLES_AT_ONCE):
        some = x[first : first + SAMPLES_AT_ONCE]
        at_joint, on_parts = limits.samples.loads(some)
        lowest = limits.lowest_of_rows(some, at_joint, on_parts, checks)
        kept = on_parts if len(checks) < len(limits.checks) else on_parts[:, :0]
        found.append((*largest_moments(at_joint).T, *lowest, kept))
    return tuple(np.concatenate(part) for part in zip(*found, strict=True))


def _main_checks(limits: JointLimits) -> IntArray:
    """Of the joint's own parts; of those beside it where none of its own is checked."""
    own = np.flatnonzero(limits.own)
    return own if len(own) else np.flatnonzero(~limits.own)


def _joint(one: SampledJoint) -> JointUncertainty:
    limits, main = one.limits, _main_checks(one.limits)
    own, beside = np.flatnonzero(limits.own), np.flatnonzero(~limits.own)
    torque, bending, nominal, *_ = _drawn(
        limits, np.array([[of.nominal for of in limits.inputs]]), np.arange(len(limits.checks))
    )
    log_margins, _ = one.of_checks

    groups = [(one.name, own), ("parts beside the joint", beside)]
    groups += [(part, limits.of_part(part)) for part in limits.parts]
    checked = [group for group in groups if len(group[1])]
    found = iter(reliabilities(limits, checked, one.u, one.of_checks))
    of_own, of_beside, *of_parts = (next(found) if len(checks) else None for _, checks in groups)
    parts = [part for part in of_parts if part is not None]
    lowest = log_margins[:, main].min(axis=1) if len(main) else np.full(len(one.u), np.nan)
    outputs = np.stack(
        [
            np.log(np.maximum(one.torque, LEAST_MOMENT)),
            np.log(np.maximum(one.bending, LEAST_MOMENT)),
            lowest,
        ],
        axis=1,
    )
    return JointUncertainty(
        one.name,
        _value(one.torque, float(torque[0])),
        _value(one.bending, float(bending[0])),
        _margin(lowest, float(nominal[:, main].min()) if len(main) else np.nan),
        of_own, of_beside,
        tuple(sorted(parts, key=lambda part: (-part.counted.value, part.margin))),
        input_effects(limits, main, one.u, outputs),
        one.flips,
        lowest,
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


__all__ = [
    "SAMPLES",
    "JointUncertainty",
    "Preference",
    "Sampled",
    "SampledJoint",
    "ScatteredValue",
    "Uncertainty",
    "sampled",
    "uncertainty",
]
