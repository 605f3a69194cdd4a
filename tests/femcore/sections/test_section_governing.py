"""Where walls are worst, from unit actions."""

import numpy as np
import pytest

from femcore.laminates import stack
from femcore.materials import cores
from femcore.sections import (
    Wall,
    analyse,
    box,
    metal_points,
    metal_stress,
    ply_points,
    recover,
    sandwich_points,
    subdivided,
)
from tests.femcore.laminates.laminate_cases import WWFE


def test_metal_places_are_both_faces_of_every_station():
    """Their largest von Mises stress is the largest of all places recovered, of every wall its own."""
    thick, thin = (
        Wall.isotropic(70e9, t, nu=0.3, name=name) for t, name in ((4e-3, "thick"), (2e-3, "thin"))
    )
    solved = analyse(box(0.1, 0.06, [thick, thin, thick, thin]))
    actions = np.random.default_rng(2).normal(size=(9, 6)) * [1e4, 1e3, 1e3, 2e2, 5e2, 5e2]
    whole = metal_stress(solved, recover(solved, actions))
    found = metal_points(solved, recover(solved, np.eye(6)))
    assert [places.wall for places in found] == [0, 1]
    for places in found:
        mine = solved.section.wall_of[whole.segments] == places.wall
        place, stress = places.worst(actions)
        assert stress == pytest.approx(whole.von_mises[:, mine].max(axis=(1, 2, 3)), rel=1e-12)
        at = whole.von_mises.max(axis=(2, 3)).T[places.segment[place]]
        np.testing.assert_allclose(np.diag(at), stress, rtol=1e-12)


def test_places_alike_are_evaluated_once_and_none_is_lost():
    """Along a flat side a segment ends where the next begins; of chosen segments both ends stay, and the worst is the same."""
    skin = (WWFE[1], 0.6e-3, 30)
    wall = Wall.from_laminate(stack([skin, (cores()["foam80"], 8e-3, 0), skin]))
    solved = analyse(subdivided(box(0.2, 0.12, wall), 3))
    section, unit = solved.section, recover(solved, np.eye(6), stations=3)
    every = np.ones(len(section.segments), bool)
    (places,) = ply_points(solved, unit, "tsai_wu")
    once = places.among(every)
    flat_joints = 8
    assert len(places.segment) == 3 * len(every) * places.chains
    assert len(once.segment) == (3 * len(every) - flat_joints) * places.chains
    ((sandwich,), ()) = sandwich_points(solved, unit)
    assert len(sandwich.segment) == 3 * len(every) - flat_joints
    actions = np.random.default_rng(3).normal(size=(40, 6)) * [1e4, 1e3, 1e3, 2e2, 5e2, 5e2]
    factors = [one.worst(actions)[1].load_factor for one in (places, once)]
    np.testing.assert_allclose(*factors, rtol=1e-9)
    some = np.arange(len(every)) % 2 == 1
    assert len(places.among(some).segment) == 3 * some.sum() * places.chains
