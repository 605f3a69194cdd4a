"""Drawn samples of standard normal inputs, and what counts of them say of a chance.

Latin hypercube and Sobol samples fill the space more evenly than plain ones, so that a mean scatters less; bounds here are those
of plain sampling, and so on the safe side. Source: M.D. McKay, R.J. Beckman & W.J. Conover, Technometrics 21 (1979) 239–245;
C.J. Clopper & E.S. Pearson, Biometrika 26 (1934) 404–413 (both from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

import numpy as np
from pydantic import Field
from scipy.special import betaincinv, ndtri

from femcore.base.arrays import BoolArray, FloatArray

SamplingMethod = Literal["latin hypercube", "sobol", "plain"]
CONFIDENCE = 0.95


def standard_normals(
    count: int, inputs: int, seed: int, method: SamplingMethod = "latin hypercube"
) -> FloatArray:
    """(count, inputs), the same for the same seed."""
    if method == "plain":
        return np.random.default_rng(seed).standard_normal((count, inputs))
    from scipy.stats import qmc  # noqa: PLC0415  (half a second, which a run without scatter need not wait)

    of_kind = {"latin hypercube": qmc.LatinHypercube, "sobol": qmc.Sobol}[method]
    tiny = np.finfo(float).tiny
    drawn = of_kind(d=inputs, rng=seed).random(count)
    return np.asarray(ndtri(np.clip(drawn, tiny, 1 - np.finfo(float).epsneg)))


@dataclass(frozen=True, slots=True)
class Chance:
    """A chance as counted in samples."""

    value: Annotated[float, Field(description="share of the samples")]
    low: Annotated[float, Field(description="lower bound, 95 % confidence")]
    high: Annotated[float, Field(description="upper bound, 95 % confidence")]


def chance(happened: BoolArray) -> Chance:
    """Of what happened in each sample (s,), with the bounds of Clopper and Pearson: quantiles of beta distributions."""
    count, samples, beyond = int(happened.sum()), len(happened), (1 - CONFIDENCE) / 2
    low = betaincinv(count, samples - count + 1, beyond) if count else 0.0
    high = betaincinv(count + 1, samples - count, 1 - beyond) if count < samples else 1.0
    return Chance(float(happened.mean()), float(low), float(high))


__all__ = ["Chance", "SamplingMethod", "chance", "standard_normals"]
