"""What a life in closed form is set beside: the same sum by quadrature."""

import math
from itertools import pairwise

import numpy as np
from scipy import integrate


def density(ranges, size):
    """Of the ranges of a Weibull distribution, per range."""
    x = size / ranges.scale
    return ranges.shape / ranges.scale * math.pow(x, ranges.shape - 1) * math.exp(-math.pow(x, ranges.shape))


def damage_integral(curve, ranges):
    """Miner's sum as the integral of n₀ f(Δ)/N(Δ), by quadrature: to set beside the closed form."""
    most = ranges.scale * math.pow(700.0, 1 / ranges.shape)
    marks = [size for size in (curve.cutoff, curve.knee) if 0 < size < most]

    def rate(size):
        return density(ranges, size) / curve.cycles(size) if size > 0 else 0.0

    edges = np.unique(np.concatenate([[0.0], marks, np.geomspace(most * 1e-6, most, 40)]))
    parts = (integrate.quad(rate, a, b, epsabs=0, epsrel=1e-11)[0] for a, b in pairwise(edges))
    return ranges.cycles * sum(parts)
