"""Every law in the table, asked of frames drawn at random."""

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from femcore.frame.frame import Loads
from femcore.results.member_forces import member_forces
from femcore.solvers.solution import solve
from tests.femcore.frames import ALL, STEEL, random_loaded_frame, single
from tests.femcore.laws import LAWS

SEEDS = st.integers(0, 10_000)


def check(law, seed):
    """A law holds for a seed."""
    violation = law.violation(seed)
    assert violation <= law.limit, f"{law.sentence} Violated by {violation:.1e}, allowed {law.limit:.0e}."


@pytest.mark.parametrize("name", [name for name, law in LAWS.items() if law.drawn])
@example(seed=0)
@given(seed=SEEDS)
@settings(max_examples=12)
def test_law(name, seed):
    """Each law of the table holds, to rounding, for every frame drawn; the law's own docstring is its
    sentence.
    """
    check(LAWS[name], seed)


@pytest.mark.parametrize("name", [name for name, law in LAWS.items() if not law.drawn])
def test_law_of_one_frame(name):
    """Each law of the table that speaks of one frame holds for it."""
    check(LAWS[name], 0)


@given(seed=SEEDS)
@settings(max_examples=5)
def test_solving_leaves_its_inputs_as_they_were(seed):
    """Solving changes neither frame nor loads."""
    given_ = random_loaded_frame(seed)
    same = random_loaded_frame(seed)
    solve(given_.frame, given_.loads)
    for one, other in ((given_.frame, same.frame), (given_.loads, same.loads)):
        for key in type(one).__dataclass_fields__:
            if isinstance(getattr(one, key), np.ndarray):
                np.testing.assert_array_equal(getattr(one, key), getattr(other, key))


@given(seed=SEEDS)
@settings(max_examples=5)
def test_cases_do_not_touch_each_other(seed):
    """A case solved with others has the answer it has alone."""
    given_ = random_loaded_frame(seed)
    together = solve(given_.frame, given_.loads)
    for number, name in enumerate(given_.loads.names):
        alone = solve(given_.frame, given_.loads.combined(np.eye(3)[number], (name,)))
        np.testing.assert_allclose(
            alone.displacement[0], together.displacement[number], rtol=1e-9, atol=1e-12
        )


def test_no_load_no_movement():
    """A frame without load stays where it is, exactly, with no imbalance."""
    frame = single()
    answer = solve(frame, Loads.zeros(frame, "nothing", "nothing again"))
    assert not answer.displacement.any()
    assert not answer.reactions.any()
    assert not answer.balance.any()


def test_a_frame_held_everywhere_moves_as_its_supports_do():
    """With no free freedom left the movements are the imposed ones, and the reactions the stiffness of the
    beam.
    """
    frame = single(far=ALL)
    loads = Loads.zeros(frame, "pulled")
    loads.support_displacement[0, 1, 0] = 1e-3
    answer = solve(frame, loads)
    assert answer.displacement[0, 1, 0] == 1e-3
    assert answer.reactions[0, 1, 0] == pytest.approx(STEEL.EA * 1e-3 / 4, rel=1e-12)


def test_along_a_member_the_stations_run_from_start_to_end():
    """Along a member stations grow from 0 to its length, points lie on its line, and both sides of a node
    agree.
    """
    frame = single(divide=3, to=(3.0, 4.0, 0.0))
    loads = Loads.zeros(frame, "w")
    loads.line[0] = (10, 20, 30)
    line = member_forces(solve(frame, loads), frame.members["AB"], per_element=4)
    assert line.station[0] == 0
    assert line.station[-1] == pytest.approx(5.0, rel=1e-14)
    np.testing.assert_allclose(np.linalg.norm(line.point, axis=1), line.station, atol=1e-14)
    left, right = slice(4, None, 5), slice(5, None, 5)
    for values in (line.actions, line.displacement):
        np.testing.assert_allclose(
            values[:, left][:, :2], values[:, right], rtol=1e-9, atol=1e-9 * np.abs(values).max()
        )
    np.testing.assert_allclose(line.actions[0, 0, :3], [50, 100, 150], rtol=1e-12)
