"""The single inputs that turn a verdict within their plausible range, all others as entered, and at which value."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

import numpy as np
from pydantic import Field
from scipy.special import ndtr

from cases.analyses.scaled_sizes import ScaledSize, sizes_of_kind
from cases.analyses.uncertainty.joint_limits import JointLimits
from femcore.base.arrays import BoolArray, FloatArray, IntArray

PLAUSIBLE = 1.645
"""Standard deviations either side of the median: nine boats in ten."""
STEPS = 24
"""Of the range, within which the place of a change of sign is then interpolated: ln(1 + margin) is nearly straight there."""
COARSE = 6
"""Of these steps, a first look: an input whose margin is further from zero than it moves in one such stride turns nothing."""


@dataclass(frozen=True, slots=True)
class Flip:
    """An input that turns the verdict."""

    input: Annotated[str, Field(description="key or kind, with its part")]
    nominal: Annotated[str, Field(description="as entered, or × 1 of a kind")]
    value: Annotated[str, Field(description="at which the governing margin is zero, all else as entered")]
    at: Annotated[float, Field(description="the same as a number: factor, or in the unit of the file")]
    becomes: Annotated[str, Field(description="inadequate or adequate, beyond that value")]
    chance: Annotated[float, Field(description="that the input is beyond that value")]
    sizes: Annotated[
        tuple[ScaledSize, ...],
        Field(description="of a factor, what of the file it scales, and to what; empty of a key"),
    ] = ()


def flips(limits: JointLimits, checks: IntArray) -> tuple[Flip, ...]:
    """Of the verdict of some checks; the likeliest first."""
    inputs = limits.inputs
    u = np.linspace(-PLAUSIBLE, PLAUSIBLE, 2 * STEPS + 1)
    nominal = np.array([one.nominal for one in inputs])
    reference = float(limits.lowest(nominal[None], checks)[0])
    first_look = _along(limits, checks, u[::COARSE], np.arange(len(inputs)))
    turning = np.flatnonzero(_may_turn(first_look, reference))
    found: list[Flip] = []
    for number, margins in zip(turning, _along(limits, checks, u, turning), strict=True):
        one = inputs[number]
        at = _crossing(u, margins, reference)
        if at is not None:
            value = float(one.at_normal(np.array([at]))[0])
            beyond = ndtr(-at if margins[-1] * reference < 0 else at)
            becomes = "inadequate" if reference >= 0 else "adequate"
            sizes = () if one.group == "key" else sizes_of_kind(limits.samples.samples.file, one.key, value)
            found.append(
                Flip(one.name, one.shown(one.nominal), one.shown(value), value, becomes, float(beyond), sizes)
            )
    return tuple(sorted(found, key=lambda flip: -flip.chance))


def _along(limits: JointLimits, checks: IntArray, u: FloatArray, numbers: IntArray) -> FloatArray:
    """(i, u), the lowest ln(1 + margin), each of these inputs in turn at u (u,) and all others as entered."""
    inputs = limits.inputs
    x = np.tile([one.nominal for one in inputs], (len(numbers), len(u), 1))
    for place, number in enumerate(numbers):
        x[place, :, number] = inputs[number].at_normal(u)
    if not x.size:
        return np.zeros((len(numbers), len(u)))
    return limits.lowest(x.reshape(-1, len(inputs)), checks).reshape(len(numbers), len(u))


def _may_turn(margins: FloatArray, reference: float) -> BoolArray:
    """(i,), whether margins (i, u) have another sign than the reference somewhere, or might between two of their points."""
    turned = (margins < 0) != (reference < 0)
    steps = np.abs(np.diff(margins, axis=1))
    reach = np.maximum(np.pad(steps, ((0, 0), (0, 1))), np.pad(steps, ((0, 0), (1, 0))))
    return np.asarray((turned | (np.abs(margins) < reach)).any(axis=1))


def _crossing(u: FloatArray, margins: FloatArray, reference: float) -> float | None:
    """u nearest to the middle at which the margins have another sign than the reference; None where they have not."""
    turned = np.flatnonzero((margins < 0) != (reference < 0))
    if not len(turned):
        return None
    first = int(turned[np.abs(u[turned]).argmin()])
    back = first - int(np.sign(u[first])) if u[first] else first
    if (margins[back] < 0) == (margins[first] < 0):
        return float(u[first])
    part = margins[back] / (margins[back] - margins[first])
    return float(u[back] + part * (u[first] - u[back]))


__all__ = ["Flip", "flips"]
