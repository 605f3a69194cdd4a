"""Buckling utilisations of combinations: the largest is that of solving every eigenvalue problem, and none is too low."""

import numpy as np
import pytest

from femcore.solvers import superposed_buckling
from femcore.solvers.buckling import buckling
from femcore.solvers.solution import solve
from femcore.solvers.superposed_buckling import buckling_utilisations
from femcore.solvers.superposition import COMBINED, superpose
from tests.femcore.cabled import cabled

COUNT = 60
NAMES = tuple(map(str, range(COUNT)))


def directly(solution):
    """Usages of all its cases, an eigenvalue problem each."""
    values = [buckling(solution, case, 1).values for case in range(len(solution.names))]
    return np.array([1 / value[0] if len(value) else 0.0 for value in values])


def counted(monkeypatch):
    """The cases that were given an eigenvalue problem of their own, as they come."""
    asked = []
    utilisations = superposed_buckling._utilisations
    monkeypatch.setattr(
        superposed_buckling, "_utilisations", lambda *of: asked.extend(of[1]) or utilisations(*of)
    )
    return asked


def combinations(seed, pretension):
    """A frame with cables, random combinations of its three cases, and the direct answers to them."""
    given, _ = cabled(seed, pretension=pretension, force=0.1)
    factors = np.random.default_rng(seed).uniform(-1, 1, (COUNT, 3))
    done = superpose(solve(given.frame, given.loads), factors, NAMES)
    return done, directly(solve(given.frame, given.loads.combined(factors, NAMES)))


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("pretension", [3e3, 300.0])
def test_the_worst_combination_is_that_of_brute_force(seed, pretension):
    """The combination that buckles first, and its factor, are those of solving for every one; no other is too low."""
    done, direct = combinations(seed, pretension)
    found = buckling_utilisations(done)
    assert found.argmax() == direct.argmax()
    assert found.max() == pytest.approx(direct.max(), rel=1e-7)
    assert np.all(found >= direct * (1 - 1e-7))
    assert found[done.resolved] == pytest.approx(direct[done.resolved], rel=1e-7)


def test_most_combinations_need_no_eigenvalue(monkeypatch):
    """Sums of few cases follow from those cases: far fewer eigenvalue problems than combinations."""
    done, _ = combinations(1, 3e3)
    asked = counted(monkeypatch)
    buckling_utilisations(done)
    assert set(done.method) == {COMBINED}
    assert len(asked) < COUNT / 3


def test_a_worse_usage_known_beside_spares_them_all(monkeypatch):
    """Below what is known already nothing is solved but the single cases, and the result is a bound."""
    done, direct = combinations(1, 3e3)
    asked = counted(monkeypatch)
    found = buckling_utilisations(done, worst=1e3 * direct.max())
    assert len(asked) == 2 * 3
    assert np.all(found >= direct)


def test_what_is_known_of_single_cases_is_not_solved_again(monkeypatch):
    """With utilisations of two of three cases known, those alone are looked for that are not, or reversed; all stays as it is."""
    done, _ = combinations(1, 3e3)
    wanted = buckling_utilisations(done)
    given, _ = cabled(1, pretension=3e3, force=0.1)
    known = directly(solve(given.frame, given.loads))
    known[1] = np.nan
    asked = counted(monkeypatch)
    np.testing.assert_allclose(buckling_utilisations(done, 0.0, known), wanted, rtol=1e-8)
    assert asked[:4] == [0, 1, 2, 3]
    assert len(asked) < COUNT / 3


def test_few_combinations_are_solved_for_themselves():
    """Where there are no more combinations than signed cases in them, every value is exact."""
    given, _ = cabled(1, pretension=3e3, force=0.1)
    factors = np.array([[1.0, -0.5, 0.2], [0.5, 1.0, -1.0]])
    found = buckling_utilisations(superpose(solve(given.frame, given.loads), factors, ("a", "b")))
    direct = directly(solve(given.frame, given.loads.combined(factors, ("a", "b"))))
    assert found == pytest.approx(direct, rel=1e-7)
