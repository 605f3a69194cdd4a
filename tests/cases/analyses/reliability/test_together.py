"""Searches whose questions are answered at once find what each finds alone, in as many rounds as the longest one asks."""

import threading

import numpy as np
import pytest
from scipy.optimize import minimize

from cases.analyses.reliability.together import together


def counting(to):
    """A search that asks for the square of 1, 2, … `to` and adds the answers."""

    def search(ask):
        return sum(ask(number) for number in range(1, to + 1))

    return search


def squares_of(rounds):
    """Answers of squares, which keep what they were asked, round by round."""

    def answers(questions):
        rounds.append(list(questions))
        return [question**2 for question in questions]

    return answers


def test_all_that_wait_are_answered_at_once():
    """As many rounds as the longest search asks; one that asks nothing ends at once."""
    rounds = []
    found = together([counting(3), counting(0), counting(1)], squares_of(rounds))
    assert found == [14, 0, 1]
    assert rounds == [[1, 1], [2], [3]]
    assert together([], squares_of(rounds)) == []


def test_searches_of_a_library_find_what_each_finds_alone():
    """Bit for bit, since they go through the same numbers."""
    starts = [np.array([1.0, 2.0]), np.array([-2.0, 0.5]), np.array([3.0, 3.0])]

    def value(x):
        return float((x[0] - 1) ** 2 + 10 * (x[1] - x[0] ** 2) ** 2)

    def search(start):
        return lambda ask: minimize(ask, start, method="SLSQP").x

    found = together([search(start) for start in starts], lambda asked: [value(x) for x in asked])
    alone = [minimize(value, start, method="SLSQP").x for start in starts]
    assert [one.tolist() for one in found] == [one.tolist() for one in alone]


def test_a_fault_ends_all_searches():
    """Whether one of them raises it or who answers; nobody is left waiting."""
    before = threading.active_count()

    def broken(ask):
        ask(1)
        raise ZeroDivisionError

    def refusing(questions):
        if 3 in questions:
            raise ZeroDivisionError
        return questions

    for searches, answers in (
        ([counting(5), broken, counting(9)], squares_of([])),
        ([counting(5), counting(2)], refusing),
    ):
        with pytest.raises(ZeroDivisionError):
            together(searches, answers)
        assert threading.active_count() == before
