"""What each input moves: elasticities, a swing of one standard deviation either way, and shares of the variance."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

import numpy as np
from pydantic import Field

from cases.analyses.reliability.shares import variance_shares
from cases.analyses.uncertainty.joint_limits import JointLimits, causes, largest_moments
from femcore.base.arrays import FloatArray, IntArray

REL_STEP = 1e-3
"""Of an input's nominal value, or of its standard deviation where that is 0: differences for elasticities."""
LEAST_MOMENT = 1e-12
"""N·m: a moment of none is taken as this, so that it has a logarithm."""
OUTPUTS = ("torque", "bending", "margin")


@dataclass(frozen=True, slots=True)
class Swing:
    """A result with one input at either side of its middle and all others as entered."""

    elasticity: Annotated[
        float, Field(description="per cent that it changes per per cent of the input; of a margin 1 + margin")
    ]
    low: Annotated[
        float, Field(description="with the input one standard deviation below its median; N·m, or the margin")
    ]
    high: Annotated[float, Field(description="with it one above")]
    share: Annotated[
        float,
        Field(
            description="of the variance of its logarithm that would go were the input's cause known; 1 + margin likewise"
        ),
    ]


@dataclass(frozen=True, slots=True)
class InputEffect:
    """What an input does to one joint."""

    input: Annotated[str, Field(description="key or kind, with its part")]
    cause: Annotated[
        str,
        Field(
            description="shared by inputs that are high or low together, whose shares are those of all of them"
        ),
    ]
    below: Annotated[str, Field(description="the input one standard deviation below its median")]
    above: Annotated[str, Field(description="one above")]
    torque: Swing
    bending: Swing
    margin: Annotated[Swing, Field(description="governing margin of the joint's own parts")]
    remaining: Annotated[
        float,
        Field(description="of the standard deviation of ln(1 + margin), what remains were the cause known"),
    ]


def input_effects(
    limits: JointLimits, checks: IntArray, u: FloatArray, outputs: FloatArray
) -> tuple[InputEffect, ...]:
    """Of all inputs that move one of them, the largest share of the margin's variance first.

    u, outputs : (s, causes) and (s, 3), samples: ln torque, ln bending, ln(1 + margin)
    """
    inputs = limits.inputs
    if not inputs:
        return ()
    shares = variance_shares(u, outputs)
    of_cause = {cause: shares[:, number] for number, cause in enumerate(causes(inputs))}
    nominal = np.array([one.nominal for one in inputs])
    sides = np.array([one.at_normal(np.array([-1.0, 1.0])) for one in inputs]).reshape(len(inputs), 2)
    step = REL_STEP * np.where(nominal != 0, np.abs(nominal), sides[:, 1] - sides[:, 0])
    count = len(inputs)
    x = np.tile(nominal, (4 * count, 1))
    for number in range(count):
        x[4 * number : 4 * number + 4, number] = [
            *sides[number],
            nominal[number] - step[number],
            nominal[number] + step[number],
        ]
    logs = _outputs(limits, checks, x).reshape(count, 4, len(OUTPUTS))

    def value_of(log: float, output: int) -> float:
        return float(
            np.expm1(log)
            if OUTPUTS[output] == "margin"
            else np.exp(log)
            if log > np.log(LEAST_MOMENT)
            else 0.0
        )

    found = []
    for number, one in enumerate(inputs):
        low, high, before, after = logs[number]
        slope = (after - before) / (2 * step[number]) * (nominal[number] or 1.0)
        share = of_cause[one.cause]
        swings = [
            Swing(float(slope[k]), value_of(low[k], k), value_of(high[k], k), float(share[k]))
            for k in range(len(OUTPUTS))
        ]
        if np.abs(logs[number] - logs[number][0]).max() == 0:
            continue  # it moves nothing here
        found.append(
            InputEffect(
                one.name, one.cause, one.shown(sides[number, 0]), one.shown(sides[number, 1]), swings[0], swings[1], swings[2],
                float(np.sqrt(1 - share[2])),
            )
        )  # fmt: skip
    return tuple(
        sorted(
            found,
            key=lambda one: (-one.margin.share, -abs(np.log1p(one.margin.high) - np.log1p(one.margin.low))),
        )
    )


def _outputs(limits: JointLimits, checks: IntArray, x: FloatArray) -> FloatArray:
    """(s, 3), ln torque, ln bending, ln(1 + margin)."""
    at_joint, on_parts = limits.samples.loads(x)
    moments = np.log(np.maximum(largest_moments(at_joint), LEAST_MOMENT))
    rows = np.arange(len(limits.factor))
    margins = (
        limits.from_loads(x, at_joint, on_parts, rows, checks) if len(checks) else np.zeros((len(x), 1, 1))
    )
    return np.concatenate([moments, margins.min(axis=(1, 2))[:, None]], axis=1)


__all__ = ["InputEffect", "Swing", "input_effects"]
