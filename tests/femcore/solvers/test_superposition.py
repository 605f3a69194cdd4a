"""Combinations of solved cases are the answers to their combined loads, whatever is always there."""

from dataclasses import replace

import numpy as np
import pytest

from femcore.base.errors import NoConvergence
from femcore.solvers import superposition
from femcore.solvers.prepared_frame import PreparedFrame
from femcore.solvers.solution import solve
from femcore.solvers.superposition import (
    CANCELLING,
    COMBINED,
    DEFORMED,
    SLACK,
    combined,
    superpose,
    superpose_together,
    unit_solutions,
)
from tests.femcore.cabled import cabled

FACTORS = np.array([[1.0, 0.5, 0.0], [0.3, -1.2, 2.0], [-0.7, 0.0, 0.4], [0.0, 0.0, 0.0]])
NAMES = ("a", "b", "c", "none")
ANSWERS = ("displacement", "reactions", "natural", "tension")


def same(one, other, rows=slice(None), rel=1e-9):
    """Both answers agree to `rel` of the largest value of each kind."""
    for kind in ANSWERS:
        left, right = getattr(one, kind)[rows], getattr(other, kind)
        assert np.abs(left - right).max(initial=0) <= rel * np.abs(right).max(initial=0), kind


def taut(seed, force=0.1):
    """A frame whose cables' pretension no case's load overcomes, and its three cases."""
    given, _ = cabled(seed, pretension=3e3, force=force)
    return given


@pytest.mark.parametrize("seed", range(4))
def test_combined_is_solved(seed):
    """Pretension enters a combination once: unit solutions with that under pretension alone equal the direct solve to 1e-9."""
    given = taut(seed)
    units, base_case = unit_solutions(solve(given.frame, given.loads))
    assert base_case == 3
    factors = np.pad(FACTORS, ((0, 0), (0, 1)))
    same(combined(units, factors, NAMES, base_case), solve(given.frame, given.loads.combined(FACTORS, NAMES)))


@pytest.mark.parametrize("seed", range(2))
def test_what_every_case_holds_enters_once(seed):
    """Cases that share a load (weight, temperature change) and pretension combine about the case with these alone."""
    given = taut(seed)
    shared = given.loads.combined(np.array([[1.0, 0, 0], [1, 1, 0], [1, 0, 1]]), ("rest", "one", "two"))
    found = combined(solve(given.frame, shared), [[7.0, 1.4, -0.6]], base_case=0)
    same(found, solve(given.frame, given.loads.combined([[1.0, 1.4, -0.6]], ("sum",))))


@pytest.mark.parametrize("seed", range(6))
def test_each_combination_is_combined_or_solved_as_it_must(seed):
    """Where cables slacken in a combination it is solved, elsewhere combined, and both equal the direct solve."""
    given, _ = cabled(seed, pretension=300.0)
    factors = np.random.default_rng(seed).uniform(-2, 2, (40, 3))
    names = tuple(map(str, range(40)))
    found = superpose(solve(given.frame, given.loads), factors, names)
    direct = solve(given.frame, given.loads.combined(factors, names))
    slack = direct.slack.any(axis=1)
    assert slack.any()
    assert not slack.all()
    assert [how == SLACK for how in found.method] == slack.tolist()
    for kind in ANSWERS:
        solved = None if found.solved is None else getattr(found.solved, kind)
        value = found.combine(getattr(found.units, kind), solved)
        expected = getattr(direct, kind)
        assert np.abs(value - expected).max() <= 1e-9 * np.abs(expected).max(), kind
    assert max(found.error.max(), found.balance.max()) < 1e-10


def test_a_case_of_second_order_makes_its_combinations_so():
    """A combination that holds a case of second order is solved in its deformed shape, and no other."""
    given = taut(1)
    found = superpose(solve(given.frame, given.loads, [False, True, False]), FACTORS, NAMES)
    assert found.method == (DEFORMED, DEFORMED, COMBINED, COMBINED)
    direct = solve(given.frame, given.loads.combined(FACTORS, NAMES), [True, True, False, False])
    same(direct, found.solved, [0, 1])
    assert found.solved.second_order.all()
    same(direct, replace(found.linear, **{k: getattr(found.linear, k)[2:] for k in ANSWERS}), slice(2, 4))


def test_combinations_of_several_frames_are_those_of_each():
    """Alike but for their stiffness, with cases of second order; of one that folds under a combination the fault is told."""
    given, _ = cabled(3, pretension=200.0, force=0.02)
    frames = [given.frame, *(replace(given.frame, EIy=k * given.frame.EIy) for k in (1.5, 1e-9))]
    solutions = [solve(frame, given.loads, second_order=[False, True, False]) for frame in frames[:2]]
    folding = replace(solutions[1], prepared=PreparedFrame.of(frames[2]))
    first, broken, second = superpose_together([solutions[0], folding, solutions[1]], FACTORS, NAMES)
    assert isinstance(broken, NoConvergence)
    for found, solution in ((first, solutions[0]), (second, solutions[1])):
        alone = superpose(solution, FACTORS, NAMES)
        assert found.method == alone.method
        assert set(found.method) == {DEFORMED, COMBINED}
        same(found.linear, alone.linear)
        same(found.solved, alone.solved)


@pytest.mark.parametrize("bent", [(), (1,), (0, 2)])
def test_only_what_is_no_linear_case_is_solved_for_the_units(bent, monkeypatch):
    """Cases of second order and pretension alone are solved, the others taken, each in its place."""
    given, asked = taut(2), []
    right = superposition.solve
    solution = solve(given.frame, given.loads, np.isin(range(3), bent))
    monkeypatch.setattr(
        superposition, "solve", lambda frame, loads: asked.extend(loads.names) or right(frame, loads)
    )
    units, base_case = unit_solutions(solution)
    assert asked == [*(given.loads.names[case] for case in bent), "pretension alone"]
    assert (units.names, base_case) == ((*given.loads.names, "pretension alone"), 3)
    same(units, solve(given.frame, units.loads))
    np.testing.assert_array_equal(units.loads.nodal[:3], given.loads.nodal)


def test_the_error_is_a_bound():
    """The stated error is no less than the true one, also where the parts nearly cancel, which is then solved."""
    given, _ = cabled(2, count=0)
    loads = given.loads.combined([[1, 0, 0], [1 + 1e-9, 0, 0], [1, 1e-13, 0]], ("x", "y", "z"))
    solution = solve(given.frame, loads)
    factors = np.array([[1.0, 1.0, 0.0], [1.0, -1.0, 0.0], [1.0, 0.0, -1.0], [0.0, 0.0, 0.0]])
    found = combined(solution, factors)
    direct = solve(given.frame, found.loads)
    missed = np.abs(found.displacement - direct.displacement).max(axis=(1, 2))
    size = np.abs(direct.displacement).max(axis=(1, 2))
    assert np.all(missed <= found.error * size * 10)
    assert found.error[0] < 1e-13
    assert found.error[1] > 1e-8
    assert found.error[3] == 0
    assert superpose(solution, factors, NAMES).method == (COMBINED, CANCELLING, CANCELLING, COMBINED)


def test_a_lost_reaction_would_show_in_the_balance():
    """Balance is taken from what was combined: with one part's reactions lost it is no rounding."""
    given, _ = cabled(3, count=0)
    solution = solve(given.frame, given.loads)
    assert combined(solution, FACTORS).balance.max() < 1e-14
    broken = replace(solution, reactions=solution.reactions * [[[1.0]], [[0.0]], [[1.0]]])
    assert combined(broken, FACTORS).balance[0] > 1e-3


def test_what_does_not_add_is_refused():
    """Slack or deformed cases, and pretension without the case of it alone, are refused."""
    given = taut(0)
    with pytest.raises(ValueError, match="pretension alone"):
        combined(solve(given.frame, given.loads), FACTORS)
    with pytest.raises(ValueError, match="second order"):
        combined(solve(given.frame, given.loads, True), FACTORS)
    loose, _ = cabled(0, force=1.0)
    with pytest.raises(ValueError, match="slack"):
        combined(solve(loose.frame, loose.loads), FACTORS)


def test_without_cables_nothing_is_solved_again():
    """In a linear frame the unit solutions are the solution itself."""
    given, _ = cabled(4, count=0)
    solution = solve(given.frame, given.loads)
    assert unit_solutions(solution) == (solution, None)
