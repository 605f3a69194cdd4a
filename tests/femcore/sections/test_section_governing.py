"""Where walls are worst, from unit actions."""

import numpy as np
import pytest

from femcore.sections import Wall, analyse, box, metal_points, metal_stress, recover


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
