"""First-order reliability, sampling and shares of a variance, against exact results and published examples."""

import numpy as np
import pytest
from scipy.stats import binom, norm, sobol_indices

from cases.analyses.reliability.design_point import MAX_INDEX, design_point
from cases.analyses.reliability.sampling import chance, standard_normals
from cases.analyses.reliability.shares import variance_shares


def linear(u):
    """Three normal inputs: 3 + 2 u₁ − u₂ + 2 u₃."""
    return 3 + u @ np.array([2.0, -1.0, 2.0])


def test_a_linear_limit_state_of_normals_is_exact():
    """β = a₀/|a| = 1, importance a²/|a|², and the chance is Φ(−1)."""
    found = design_point(linear, 3)
    assert found.index == pytest.approx(1.0, abs=1e-9)
    assert found.importance == pytest.approx([4 / 9, 1 / 9, 4 / 9], abs=1e-8)
    assert found.chance == pytest.approx(norm.sf(1.0))
    assert design_point(lambda u: -linear(u), 3).index == pytest.approx(-1.0, abs=1e-9)


def test_a_product_of_lognormals_is_exact():
    """R₁ R₂ against S: β = ln(medians' ratio)/√(Σ σ²), whatever the form in which it is written."""
    sigma = np.array([0.15, 0.4, 0.5])

    def ratio(u):
        r1, r2, s = np.exp(sigma * u).T
        return 3.0 * r1 * r2 - s

    exact = np.log(3.0) / np.linalg.norm(sigma)
    assert design_point(ratio, 3).index == pytest.approx(exact, rel=1e-7)
    assert design_point(lambda u: np.log(3.0) + u @ (sigma * [1, 1, -1]), 3).index == pytest.approx(exact)


@pytest.mark.parametrize(
    ("g", "index"),
    [
        # x₁³ + x₂³ − 18, both N(10, 5): T.V. Santosh et al., Nucl. Eng. Des. 236 (2006) (from memory)
        (lambda u: (10 + 5 * u[:, 0]) ** 3 + (10 + 5 * u[:, 1]) ** 3 - 18, 2.2401),
        # exp(0.4 (u₁ + 2) + 6.2) − exp(0.3 u₂ + 5) − 200: Y.-G. Zhao & T. Ono, Struct. Saf. 21 (1999) (from memory)
        (lambda u: np.exp(0.4 * (u[:, 0] + 2) + 6.2) - np.exp(0.3 * u[:, 1] + 5) - 200, 2.7099),
    ],
)
def test_published_examples(g, index):
    """The reliability index to the digits that are quoted."""
    assert design_point(g, 2).index == pytest.approx(index, abs=6e-4)


def test_units_and_order_of_inputs_change_nothing():
    """A limit state times a thousand, its inputs the other way round: the same index, the same importance."""

    def g(u):
        return 4 - np.exp(0.5 * u[:, 0]) - 0.3 * u[:, 1] ** 3

    one, scaled, turned = (
        design_point(g, 2),
        design_point(lambda u: 1e3 * g(u), 2),
        design_point(lambda u: g(u[:, ::-1]), 2),
    )
    assert scaled.index == pytest.approx(one.index, rel=1e-6)
    assert turned.index == pytest.approx(one.index, rel=1e-6)
    assert turned.importance[::-1] == pytest.approx(one.importance, abs=1e-5)


def test_a_limit_that_is_not_reached_has_no_index():
    """Beyond eight standard deviations, or never: infinite, by the sign of the median."""
    assert design_point(lambda u: 1 + u[:, 0] ** 2, 1).index == np.inf
    assert design_point(lambda u: -9 - u[:, 0] / MAX_INDEX, 1).index == -np.inf
    assert design_point(lambda u: np.ones(len(u)), 2).chance == 0.0


def test_the_worse_of_two_limits_is_found_however_the_search_begins():
    """The least of two planes at 2 and 3: the nearer one."""

    def g(u):
        return np.minimum(2 - u[:, 0], 3 + u[:, 1])

    found = design_point(g, 2)
    assert found.index == pytest.approx(2.0, abs=1e-6)
    assert found.importance == pytest.approx([1.0, 0.0], abs=1e-6)


def test_sampling_agrees_with_the_design_point_within_its_own_bounds():
    """P(linear < 0) = Φ(−1) = 15.9 %: inside the bounds of 95 %, for each way to draw."""
    for method in ("latin hypercube", "sobol", "plain"):
        found = chance(linear(standard_normals(4096, 3, 1, method)) < 0)
        assert found.low < norm.sf(1.0) < found.high


def test_bounds_contain_the_truth_as_often_as_they_say():
    """Of 400 repeats of 200 plain samples at least 95 % less two standard errors contain Φ(−1)."""
    hits = 0
    for seed in range(400):
        found = chance(linear(standard_normals(200, 3, seed, "plain")) < 0)
        hits += found.low <= norm.sf(1.0) <= found.high
    assert hits / 400 >= 0.95 - 2 * np.sqrt(0.95 * 0.05 / 400)


def test_error_shrinks_with_the_root_of_the_number_of_plain_samples():
    """Sixteen times as many: a quarter of the scatter, √(p (1 − p)/n) as theory says."""

    def scatter(count):
        return np.std([np.mean(linear(standard_normals(count, 3, seed, "plain")) < 0) for seed in range(300)])

    p = norm.sf(1.0)
    assert scatter(100) == pytest.approx(np.sqrt(p * (1 - p) / 100), rel=0.12)
    assert scatter(1600) == pytest.approx(scatter(100) / 4, rel=0.15)


def test_a_latin_hypercube_scatters_less_than_plain_samples():
    """The mean of a sum of inputs has nearly no error in it: less than a tenth of that of plain sampling; a chance less too."""

    def scatter(method, of):
        return np.std([of(linear(standard_normals(100, 3, seed, method))) for seed in range(100)])

    assert scatter("latin hypercube", np.mean) < 0.1 * scatter("plain", np.mean)
    below = lambda y: np.mean(y < 0)  # noqa: E731
    assert scatter("latin hypercube", below) < 0.9 * scatter("plain", below)


def both(u):
    """A sum, and a product of lognormals."""
    return np.stack([linear(u), np.exp(u @ [0.5, 0.3, 0.0])], axis=1)


def test_shares_of_the_variance_are_those_of_a_sum_and_of_a_product():
    """Of a sum a²/Σa²; of a product of lognormals (e^σ² − 1)/(Π e^σ² − 1), less than 1 in all: the rest is both together."""
    u = standard_normals(4096, 3, 1, "sobol")
    found = variance_shares(u, both(u))
    assert found[0] == pytest.approx([4 / 9, 1 / 9, 4 / 9], abs=0.01)
    e1, e2 = np.exp([0.25, 0.09])
    assert found[1] == pytest.approx([(e1 - 1) / (e1 * e2 - 1), (e2 - 1) / (e1 * e2 - 1), 0.0], abs=0.02)
    assert variance_shares(u, np.ones((len(u), 1))) == pytest.approx(np.zeros((1, 3)))


def test_shares_agree_with_first_order_indices_of_sobol():
    """An estimator of another kind, scipy's, of the same shares."""
    independent = sobol_indices(func=lambda x: both(x.T).T, n=4096, dists=[norm()] * 3, rng=1)
    u = standard_normals(2048, 3, 2, "sobol")
    assert variance_shares(u, both(u)) == pytest.approx(independent.first_order, abs=0.02)


def test_wider_scatter_never_lowers_the_variance_or_the_chance_beyond_a_median():
    """σ from 0.1 to 1: variance and chance of ln R < ln S rise."""
    u = standard_normals(4096, 2, 3)
    sizes = [0.1, 0.3, 0.6, 1.0]
    values = [0.5 + u @ [size, 0.2] for size in sizes]
    assert np.all(np.diff([value.var() for value in values]) > 0)
    assert np.all(
        np.diff([design_point(lambda x, s=size: 0.5 + x @ [s, 0.2], 2).chance for size in sizes]) > 0
    )


@pytest.mark.parametrize(("happened", "samples"), [(0, 64), (1, 64), (17, 64), (63, 64), (64, 64), (3, 512)])
def test_the_bounds_of_a_chance_are_those_at_which_the_count_is_just_unlikely(happened, samples):
    """With the chance at its lower bound so many or more happen once in forty, at its upper one so many or fewer."""
    found = chance(np.arange(samples) < happened)
    assert found.value == happened / samples
    more = binom.sf(happened - 1, samples, found.low)
    fewer = binom.cdf(happened, samples, found.high)
    assert more == pytest.approx(0.025, rel=1e-9) if happened else found.low == 0
    assert fewer == pytest.approx(0.025, rel=1e-9) if happened < samples else found.high == 1
