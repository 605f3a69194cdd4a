"""Gauss–Newton with a prior against closed forms: one number learned, what free columns take, χ², leaving readings out."""

import numpy as np
import pytest
from scipy import stats

from cases.analyses.fitting import Problem, expected_covariance, fit

RNG = np.random.default_rng(5)
NONE = np.zeros((0, 0))


def linear(J, *, scatter=0.3, prior=0.7, free=None, y=None):
    """A linear problem with readings y, drawn from prior and noise where left out."""
    n, u = J.shape
    sigma, size = np.full(n, scatter), np.full(u, prior)
    free = np.zeros((n, 0)) if free is None else free
    if y is None:
        y = J @ (RNG.normal(size=u) * size) + RNG.normal(size=n) * sigma
    return Problem(y, sigma, free, size, lambda p: (J @ p, J))


def test_one_number_read_often_is_known_by_its_mean():
    """n readings of scatter σ with a prior σ_p: 1/σ_post² = n/σ² + 1/σ_p², p = σ_post² Σy/σ², learned 1 − (σ_post/σ_p)²."""
    n, sigma, prior = 8, 0.3, 2.0
    y = np.array([1.1, 0.9, 1.0, 1.3, 0.8, 1.2, 1.05, 0.95])
    found = fit(linear(np.ones((n, 1)), scatter=sigma, prior=prior, y=y))
    variance = 1 / (n / sigma**2 + 1 / prior**2)
    assert found.covariance[0, 0] == pytest.approx(variance)
    assert found.p[0] == pytest.approx(variance * y.sum() / sigma**2, rel=1e-6)
    assert found.learned[0] == pytest.approx(1 - variance / prior**2)


def test_a_zero_that_nobody_knows_takes_what_a_wide_prior_would():
    """Leaving the column out of the readings' space is the limit of a parameter whose prior is wide."""
    J, ones = RNG.normal(size=(9, 2)), np.ones((9, 1))
    left_out = linear(J, free=ones)
    wide = Problem(
        left_out.y, left_out.scatter, np.zeros((9, 0)), np.array([0.7, 0.7, 1e5]),
        lambda p: (J @ p[:2] + p[2], np.hstack([J, ones])),
    )  # fmt: skip
    one = fit(left_out)
    p, covariance = _exact(wide)
    assert one.p == pytest.approx(p[:2], rel=1e-5)
    assert one.covariance == pytest.approx(covariance[:2, :2], rel=1e-5)
    amounts, scatter = one.free_amounts()
    assert amounts[0] == pytest.approx(p[2], rel=1e-5)
    assert scatter[0] == pytest.approx(np.sqrt(covariance[2, 2]), rel=1e-5)


def _exact(problem):
    """A linear problem by its normal equations."""
    _, J = problem.model(np.zeros(len(problem.prior)))
    w = 1 / problem.scatter**2
    covariance = np.linalg.inv(J.T @ (w[:, None] * J) + np.diag(1 / problem.prior**2))
    return covariance @ J.T @ (w * problem.y), covariance


def test_columns_that_say_the_same_count_once():
    """A zero given twice leaves the fit and its degrees of freedom as given once."""
    J, ones = RNG.normal(size=(7, 1)), np.ones((7, 1))
    once = linear(J, free=ones)
    twice = linear(J, free=np.hstack([ones, 2 * ones]), y=once.y)
    assert fit(twice).degrees == fit(once).degrees == 6
    assert fit(twice).p == pytest.approx(fit(once).p)


def test_the_least_sum_is_chi_square_where_all_is_right():
    """Over 300 drawn truths and noises: probabilities are uniform (Kolmogorov–Smirnov), covariances hold the misses."""
    J, free = RNG.normal(size=(12, 3)), np.repeat(np.eye(2), 6, axis=0)
    probabilities, misses = [], []
    for _ in range(300):
        truth = RNG.normal(size=3) * 0.7
        y = J @ truth + free @ RNG.normal(size=2) * 50 + RNG.normal(size=12) * 0.3
        found = fit(linear(J, free=free, y=y))
        probabilities.append(found.probability)
        misses.append((found.p - truth) @ np.linalg.solve(found.covariance, found.p - truth))
    assert stats.kstest(probabilities, "uniform").pvalue > 0.01
    assert stats.kstest(misses, stats.chi2(3).cdf).pvalue > 0.01


def test_studentised_residuals_are_what_leaving_each_out_gives():
    """The miss of a reading by the prediction of all others, over its scatter, from the whole fit without fitting again."""
    J, free = RNG.normal(size=(8, 2)), np.ones((8, 1))
    problem = linear(J, free=free)
    whole = fit(problem)
    for row in range(8):
        left = np.arange(8) == row
        others = fit(problem.without(left))
        amounts, _ = others.free_amounts()
        predicted = J[row] @ others.p + amounts[0]
        # of the prediction: parameters and zero together, from the normal equations with a wide prior on the zero
        A = np.hstack([J, free])[~left] / 0.3
        C = np.linalg.inv(A.T @ A + np.diag([1 / 0.49, 1 / 0.49, 1e-12]))
        scatter = np.sqrt(0.3**2 + np.append(J[row], 1.0) @ C @ np.append(J[row], 1.0))
        assert whole.studentised[row] == pytest.approx((problem.y[row] - predicted) / scatter, rel=1e-5)


def test_what_is_expected_of_readings_is_what_they_then_give():
    """The covariance before any reading is taken is that of the fit of a linear problem; more readings never add scatter."""
    J, free = RNG.normal(size=(10, 3)), np.ones((10, 1))
    problem = linear(J, free=free)
    expected = expected_covariance(J, problem.scatter, free, problem.prior)
    assert expected == pytest.approx(fit(problem).covariance, rel=1e-6)
    fewer = expected_covariance(J[:6], problem.scatter[:6], free[:6], problem.prior)
    assert np.linalg.eigvalsh(fewer - expected).min() > -1e-12


def test_a_curved_model_is_fitted_on_its_own_terms():
    """y = exp p without noise: the fit goes to the true p, however far the tangent at 0 would miss it."""
    problem = Problem(
        np.exp(np.array([1.5, 1.5])), np.full(2, 1e-4), np.zeros((2, 0)), np.array([1.0]),
        lambda p: (np.exp(p[[0, 0]]), np.exp(p[[0, 0]])[:, None]),
    )  # fmt: skip
    assert fit(problem).p[0] == pytest.approx(1.5, abs=1e-6)
