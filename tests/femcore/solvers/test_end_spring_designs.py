"""Springs at a few places, by elimination side by side, against the reduced frame and against dense solutions."""

import numpy as np
import pytest

from femcore.solvers.end_spring_designs import EndSpringDesigns, eliminated
from femcore.solvers.frame_changes import Changes, EndSprings
from tests.femcore.frames import random_loaded_frame
from tests.femcore.solvers.test_reduced_frame import reduced


def test_systems_side_by_side_are_those_one_by_one():
    """Random positive definite systems, some of whose diagonals are infinite: there 0, else as a dense solution has it."""
    rng = np.random.default_rng(0)
    root = rng.standard_normal((40, 7, 7))
    systems, right = root @ root.swapaxes(1, 2) + np.eye(7), rng.standard_normal((7, 3))
    rigid = rng.random((40, 7)) < 0.2
    whole = systems.copy()
    whole[:, np.arange(7), np.arange(7)] += np.where(rigid, np.inf, 0.0)
    found, lost = eliminated(np.moveaxis(whole, 0, 2).copy(), np.repeat(right[..., None], 40, axis=2))
    assert (lost >= 1).all()
    for number in range(40):
        free = ~rigid[number]
        exact = np.zeros((7, 3))
        exact[free] = np.linalg.solve(systems[number][np.ix_(free, free)], right[free])
        np.testing.assert_allclose(found[:, :, number], exact, rtol=0, atol=1e-10 * np.abs(exact).max())


def test_a_system_that_is_not_positive_definite_is_marked():
    """A pivot that is not positive, in the second row of the second system, leaves no digit of it, and none of the first."""
    systems = np.stack([np.diag([2.0, 3.0]), np.array([[1.0, 2.0], [2.0, 1.0]])], axis=2)
    found, lost = eliminated(systems, np.ones((2, 1, 2)))
    assert lost.tolist() == [1.0, np.inf]
    np.testing.assert_allclose(found[:, 0, 0], [1 / 2, 1 / 3])


@pytest.mark.parametrize("seed", range(3))
def test_designs_are_those_of_the_reduced_frame(seed):
    """Springs along global axes at two places of a frame with every feature, from free to rigid, under loads of every kind."""
    one, rng = reduced(random_loaded_frame(seed)), np.random.default_rng(seed)
    springs = 10 ** rng.uniform(3, 9, (8, 2, 6))
    springs[rng.random(springs.shape) < 0.2] = np.inf
    springs[rng.random(springs.shape) < 0.1] = 0.0
    found = EndSpringDesigns.of(one).states(springs.reshape(8, 12))
    exact = one.solve(Changes(springs=EndSprings(springs, np.tile(np.eye(3), (1, 2, 1, 1)))))
    loads = len(one.loads.names)
    for ours, theirs in (
        (found.forces, exact.end_forces.reshape(8, loads, 12)), (found.readings, exact.readings),
        (found.movements, exact.movements),
    ):  # fmt: skip
        size = np.abs(theirs).max()
        kept = found.lost[:, None, None] < 1e5
        difference = np.where(kept, np.moveaxis(ours[:, :loads], 2, 0).swapaxes(1, 2) - theirs, 0.0)
        assert np.abs(difference).max() < 1e-9 * size
    assert (found.lost < 1e5).sum() >= 6
