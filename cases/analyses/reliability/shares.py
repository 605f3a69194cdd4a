"""Which input a variance comes from: first-order indices, the part of it that would go if that input were known.

    S_i = Var(E(y | u_i)) / Var(y)        so √(1 − S_i) of the standard deviation would remain, on average

E(y | u_i) is a cubic of the normal input u_i, fitted to the samples at hand for all inputs at once (a polynomial chaos without
products of inputs: B. Sudret, Reliab. Eng. Syst. Saf. 93 (2008) 964–979, from memory), so that no further samples are needed.
"""

from __future__ import annotations

import numpy as np
from numpy.polynomial import hermite_e

from femcore.base.arrays import FloatArray

DEGREE = 3


def variance_shares(u: FloatArray, y: FloatArray) -> FloatArray:
    """(outputs, inputs), first-order indices, from samples of inputs u (s, inputs), standard normal, and outputs y (s, outputs).

    What a fit of that many samples finds in mere noise is taken off; 0 of a constant output, and never below 0.
    """
    count, inputs = u.shape
    about = y - y.mean(axis=0)
    variance = (about**2).mean(axis=0)
    known = variance > np.finfo(float).eps * (y**2).mean(axis=0)
    powers = hermite_e.hermevander(u, DEGREE)[..., 1:].reshape(count, -1)
    terms = np.concatenate([np.ones((count, 1)), powers], axis=1)
    coefficients, *_ = np.linalg.lstsq(terms, about, rcond=None)
    rest = ((about - terms @ coefficients) ** 2).sum(axis=0) / max(count - terms.shape[1], 1)
    components = np.einsum(
        "sik,ikq->siq",
        powers.reshape(count, inputs, DEGREE),
        coefficients[1:].reshape(inputs, DEGREE, y.shape[1]),
    )
    explained = components.var(axis=0)
    shares = (explained - DEGREE * rest / count) / np.where(known, variance, 1.0)
    return np.asarray(np.clip(np.where(known, shares, 0.0), 0.0, 1.0).T)


__all__ = ["variance_shares"]
