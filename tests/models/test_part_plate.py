"""Buckling of flat plates."""

import math

import numpy as np
import pytest
from scipy.linalg import eigh

from models.parts.plate import (
    BENDING_FACTOR,
    compression_factor,
    outstand_factor,
    plate_stress,
    shear_factor,
    with_yield,
)

NU = 0.3


def series_factor(aspect, stress, terms=8):
    """k of a simply supported plate of width 1 by a double sine series, under a stress along x that varies
    with y.
    """
    x, wx = np.polynomial.legendre.leggauss(60)
    X, Y = np.meshgrid(aspect * (x + 1) / 2, (x + 1) / 2, indexing="ij")
    weight = np.outer(wx, wx) * aspect / 4 * stress(Y)
    modes = [(m * math.pi / aspect, n * math.pi) for m in range(1, terms + 1) for n in range(1, terms + 1)]
    slope = np.stack([p * np.cos(p * X) * np.sin(q * Y) for p, q in modes])
    D = np.diag([(p**2 + q**2) ** 2 * aspect / 4 for p, q in modes])
    G = np.einsum("ixy,jxy,xy->ij", slope, slope, weight)
    return 1 / eigh(G, D, eigvals_only=True)[-1] / math.pi**2


@pytest.mark.parametrize("aspect", [0.6, 1.0, 1.41, 2.5])
def test_compression_against_a_series(aspect):
    """k of a plate supported all round in compression is what a double sine series gives; 4 where the length
    fits.
    """
    found = series_factor(aspect, np.ones_like)
    assert compression_factor(aspect) == pytest.approx(found, rel=1e-6)
    assert compression_factor(3.0) == pytest.approx(4.0)


def shear_by_series(aspect, terms=10):
    """k of shear by Timoshenko's sine series, its integrals in closed form."""
    modes = [(m, n) for m in range(1, terms + 1) for n in range(1, terms + 1)]
    K = np.diag([((m / aspect) ** 2 + n**2) ** 2 * math.pi**4 * aspect / 4 for m, n in modes])
    G = np.zeros_like(K)
    for i, (m, n) in enumerate(modes):
        for j, (p, q) in enumerate(modes):
            if (m + p) % 2 and (n + q) % 2:
                G[i, j] = 8 * m * n * p * q / ((m**2 - p**2) * (n**2 - q**2))
    values = eigh(G, K, eigvals_only=True)
    return 1 / np.abs(values).max() / math.pi**2


@pytest.mark.parametrize(("aspect", "printed"), [(1.0, 9.34), (1.5, 7.1), (2.0, 6.6), (3.0, 5.9)])
def test_shear_against_timoshenkos_table(aspect, printed):
    """k in shear: 9.34, 7.1, 6.6, 5.9 (Timoshenko & Gere 1961, table 9-10; from memory), and a sine series;
    fit within 4 %.
    """
    assert shear_factor(aspect) == pytest.approx(printed, rel=0.04)
    assert shear_factor(aspect) == pytest.approx(shear_by_series(aspect), rel=0.04)


@pytest.mark.parametrize(
    ("aspect", "printed"), [(1.0, 1.440), (1.4, 0.952), (2.0, 0.698), (3.0, 0.564), (5.0, 0.506)]
)
def test_outstand_against_timoshenkos_table(aspect, printed):
    """k with one side free, ν = 0.25: 1.440, 0.952, 0.698, 0.564, 0.506 (Timoshenko & Gere 1961, table 9-4;
    from memory).
    """
    assert outstand_factor(aspect, 0.25) == pytest.approx(printed, rel=0.02)


def test_bending_against_a_series():
    """k in pure bending in the plane is 23.9, least where the length is two thirds of the width."""
    found = series_factor(2 / 3, lambda y: 1 - 2 * y)
    assert found == pytest.approx(BENDING_FACTOR, rel=2e-3)


def test_critical_stress_by_hand():
    """Steel (E 210 GPa) with b/t = 50 and k = 4 buckles at 303.7 MPa: 4 π² E/12(1 − ν²)/50²."""
    assert plate_stress(4, 210e9, NU, 0.01, 0.5) == pytest.approx(303.7e6, rel=1e-3)


def test_yield_takes_over_smoothly():
    """Johnson's parabola meets the elastic curve at half the proof stress with one slope, and ends at the
    proof stress.
    """
    assert with_yield(1e3, 250.0) < 250
    assert with_yield(1e9, 250.0) == pytest.approx(250)
    assert with_yield(125.0, 250.0) == 125.0
    assert with_yield(125.001, 250.0) == pytest.approx(125.001, abs=1e-4)
