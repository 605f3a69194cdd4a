"""Sizes tried: each mark is the step's own margin; the size taken is in bold, and of many those about it are drawn."""

from dataclasses import replace
from functools import cache

import pytest

from cases.analyses.analysis import analyse
from cases.analyses.next_actions import RaiseSizes
from cases.analyses.sizing import Sizing
from cases.report.data.statements import margin_words
from cases.report.figures.sizes_figure import MOST_STEPS, sizes_jobs, sizes_picture, steps_shown
from tests.cases.analyses.test_decision import boat


@cache
def raised():
    """What was tried for lugs that fail."""
    [action] = [one for one in analyse(boat()).decision.actions if isinstance(one, RaiseSizes)]
    return action


def long_sizing(count, chosen):
    """So many steps of the first sizing, their margins rising."""
    first = next(one for one in raised().tried if len(one.steps) > 1)
    step = first.steps[0]
    steps = tuple(
        replace(step, size=f"{n} mm", margin=0.1 * n - 1, at_first_load=0.1 * n - 0.9) for n in range(count)
    )
    return Sizing(first.part, first.check, first.design_variable, steps, chosen, False)


def test_what_was_tried_is_what_the_action_says():
    """Each size raised is one of those tried, with the margins before and after."""
    action = raised()
    tried = {(one.part, one.check, one.design_variable): one for one in action.tried}
    assert action.sizes
    for size in action.sizes:
        steps = tried[size.part, size.check, size.variable].steps
        assert size.before == steps[0].margin
        assert (size.size, size.after) in {(step.size, step.margin) for step in steps}


def test_marks_stand_at_the_margins():
    """Of every step the margin with its own loads and at constant load, in rows from the first size down."""
    sizing = long_sizing(5, 3)
    drawing = sizes_picture("lugs", [sizing], "sizes-lugs")
    [axes] = drawing.figure.axes
    own, constant = (line for line in axes.lines if len(line.get_xdata()) == 5)
    assert list(own.get_xdata()) == pytest.approx([step.margin for step in sizing.steps])
    assert list(constant.get_xdata()) == pytest.approx([step.at_first_load for step in sizing.steps])
    weights = {label.get_text(): label.get_fontweight() for label in axes.get_yticklabels()}
    assert weights == {"0 mm": "normal", "1 mm": "normal", "2 mm": "normal", "3 mm": "bold", "4 mm": "normal"}
    low, high = axes.get_ylim()
    assert low > high, "the first size is on top"


@pytest.mark.parametrize(
    ("count", "chosen", "last"), [(20, 10, 11), (20, 19, 19), (20, None, 19), (5, 2, 4), (20, 1, 7)]
)
def test_of_many_sizes_those_about_the_one_taken_are_drawn(count, chosen, last):
    """The first, the one taken or the best, and at most one beyond it or as many as there is room for."""
    shown = steps_shown(long_sizing(count, chosen))
    numbers = [number for number, _ in shown]
    assert numbers[0] == 0
    assert numbers[-1] == last
    assert len(numbers) == min(count, MOST_STEPS)
    assert (count - 1 if chosen is None else chosen) in numbers


def test_the_caption_says_first_and_last_margin():
    """In words, for who does not see the picture; where no size satisfies the check, the best."""
    taken, none = long_sizing(5, 3), long_sizing(5, None)
    words = sizes_picture("lugs", [taken, none], "sizes-lugs").words
    assert f"3 mm: {taken.part.split(' ', 1)[-1]}" in words or taken.check in words
    assert f"margin {margin_words(-1.0)} → {margin_words(-0.7)}." in words
    assert f"margin {margin_words(-1.0)}, at best {margin_words(-0.6)}." in words


def test_a_candidate_without_sizes_has_no_picture():
    """Where nothing but the size as it is was tried there is nothing to draw."""
    action = raised()
    assert len(list(sizes_jobs([action]))) == 1
    assert list(sizes_jobs([replace(action, tried=())])) == []
