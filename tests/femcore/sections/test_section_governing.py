"""Where walls are worst, from unit actions: what only shows in a laminate made for it."""

import numpy as np
import pytest

from femcore.laminates import PlyState, candidate_faces, evaluate_plies, layer_limits, stack
from femcore.sections import PlyPoints, Wall, analyse, box, metal_points, metal_stress, recover
from tests.femcore.laminates.laminate_cases import GRAPHITE


def test_hashin_is_judged_everywhere_where_the_outermost_faces_leave_it_open():
    """Between two faces that just fail, where compression that eases shear ends, a face of equal plies fails before."""
    laminate = stack([(GRAPHITE, 20e-3, 0), (GRAPHITE, 1e-3, 0)])
    ply, faces, outer = candidate_faces(laminate, "hashin")
    assert list(zip(ply, faces, strict=True)) == [(0, 0), (0, 1), (1, 1)]
    ends = np.zeros((2, 2, 3))
    ends[0], ends[1] = [0, -20e6, 68e6], [0, 1e6, 68e6]
    ends *= evaluate_plies(laminate, PlyState(ends, ends), "hashin").load_factor[..., None]
    unit = np.zeros((6, 3, 3))
    unit[0] = ends[0, 0] + np.array([0.0, 20 / 21, 1.0])[:, None] * (ends[1, 0] - ends[0, 0])
    places = PlyPoints(
        laminate, "hashin", np.zeros(3, int), ply, outer, PlyState(unit, unit), layer_limits(laminate).at(ply)
    )
    actions = np.array([[1.0, 0, 0, 0, 0, 0], [-1.0, 0, 0, 0, 0, 0]])
    place, criterion_result = places.worst(actions)
    assert place[0] == 1
    assert criterion_result.load_factor[0, 0] < 1 - 1e-4
    # the other way round tension across the fibre fails at an outermost face
    assert place[1] == 0


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
