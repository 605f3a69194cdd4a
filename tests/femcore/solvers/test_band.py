"""Factors of symmetric matrices as bands: the solution of the matrix, where it is positive definite, whatever the band."""

import numpy as np
import pytest
from scipy import sparse

from femcore.solvers import band
from femcore.solvers.band import Band, FactorsOfPattern

SIZE = 40


def chain_with_a_tie(rng, shift=0.0):
    """Positive definite: a chain of blocks whose ends are tied, in a random order; less `shift` on its diagonal."""
    whole = np.zeros((SIZE, SIZE))
    for first in range(0, SIZE - 4, 2):
        root = rng.standard_normal((4, 4))
        whole[first : first + 4, first : first + 4] += root @ root.T
    whole[0, -1] = whole[-1, 0] = 0.1
    whole += (1.0 - shift) * np.eye(SIZE)
    order = rng.permutation(SIZE)
    return sparse.csc_array(whole[np.ix_(order, order)])


@pytest.mark.parametrize("widest", [band.MAX_BAND, 2])
def test_factors_solve_the_matrix(widest, monkeypatch):
    """As a band and, where the band is too wide, as sparse factors: many matrices of one pattern, each its own solution."""
    monkeypatch.setattr(band, "MAX_BAND", widest)
    rng = np.random.default_rng(1)
    one = chain_with_a_tie(rng)
    other = one.copy()
    other.data = one.data * 2.0
    load = rng.standard_normal(SIZE)
    found = list(FactorsOfPattern().of(one, np.array([one.data, other.data])))
    assert all(factors is not None and factors.is_positive for factors in found)
    for factors, matrix in zip(found, (one, other), strict=True):
        np.testing.assert_allclose(matrix @ factors.solve(load), load, atol=1e-12 * SIZE)


def test_the_band_is_narrow():
    """Cuthill and McKee's order finds the chain again."""
    assert Band.of(chain_with_a_tie(np.random.default_rng(2))).width <= 9


@pytest.mark.parametrize("widest", [band.MAX_BAND, 2])
def test_a_matrix_that_is_not_positive_says_so(widest, monkeypatch):
    """It is still solved, by sparse factors; a singular one has none."""
    monkeypatch.setattr(band, "MAX_BAND", widest)
    rng = np.random.default_rng(3)
    matrix = chain_with_a_tie(rng, shift=3.0)
    assert np.linalg.eigvalsh(matrix.toarray())[0] < 0
    [factors] = FactorsOfPattern().of(matrix, matrix.data[None])
    load = rng.standard_normal(SIZE)
    assert factors is not None
    assert not factors.is_positive
    np.testing.assert_allclose(matrix @ factors.solve(load), load, atol=1e-9)
    assert list(FactorsOfPattern().of(matrix, 0.0 * matrix.data[None])) == [None]
