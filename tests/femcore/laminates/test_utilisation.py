"""Usage as a function of loads against the criteria themselves, and the few faces that stand for a laminate."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from femcore.laminates import (
    CONVEX_CRITERIA,
    CRITERIA,
    Laminate,
    Ply,
    PlyState,
    candidate_faces,
    evaluate_plies,
    first_ply_failure,
    first_ply_utilisation,
    layer_limits,
    ply_state,
    stack,
    utilisation,
)
from femcore.laminates.utilisation import ChainedUtilisation, Utilisation
from femcore.materials import cores
from tests.femcore.laminates.laminate_cases import GRAPHITE, WWFE, laminas, plies

STRESS = st.lists(st.just(0.0) | st.floats(1, 1e9) | st.floats(-1e9, -1), min_size=3, max_size=3)
LAYERS = (GRAPHITE, *WWFE[:2])


def one_place(lamina, stresses):
    """Strains and stresses (n, 1, 1, 3) of one ply of `lamina` under `stresses` (n, 3) in its axes; its laminate."""
    laminate = plies(lamina, (0,))
    table = np.asarray(stresses, float)
    both = (table @ np.linalg.inv(laminate.Q[0]), table)
    return laminate, PlyState(*(x[:, None, None] for x in both))


def rows(state, of):
    """The loads that a usage takes of `state`, (n, 3)."""
    return getattr(state, of).reshape(-1, 3)


@pytest.mark.parametrize("criterion", CONVEX_CRITERIA)
@given(lamina=laminas(), stress=STRESS)
def test_usage_is_one_over_the_load_factor(criterion, lamina, stress):
    """What a criterion says by its own words and as a usage is the same."""
    laminate, state = one_place(lamina, [stress])
    convex = CONVEX_CRITERIA[criterion]
    found = convex.utilisation(layer_limits(laminate)).of(rows(state, convex.of))
    # of what nearly cancels, digits are lost in proportion to the parts
    rounding = (
        1e-13 * np.abs(state.stress).max() / min(lamina.Xt, lamina.Xc, lamina.Yt, lamina.Yc, lamina.S12)
    )
    assert found[0, 0] == pytest.approx(
        1 / evaluate_plies(laminate, state, criterion).load_factor[0, 0, 0], rel=1e-9, abs=rounding
    )


@pytest.mark.parametrize("criterion", CRITERIA)
@given(lamina=laminas(), one=STRESS, other=STRESS, share=st.floats(0, 1))
def test_between_two_loads_usage_is_nowhere_more(criterion, lamina, one, other, share):
    """Utilisation is convex in the stresses, by every criterion."""
    between = np.array(one) * share + np.array(other) * (1 - share)
    laminate, state = one_place(lamina, [one, other, between])
    used = 1 / evaluate_plies(laminate, state, criterion).load_factor[:, 0, 0]
    assert used[2] <= (share * used[0] + (1 - share) * used[1]) * (1 + 1e-9) + 1e-12 * used.max()


def test_every_criterion_is_a_utilisation_too():
    """Both tables name the same criteria."""
    assert set(CONVEX_CRITERIA) == set(CRITERIA)


@st.composite
def repeated_laminates(draw):
    """Plies of few layers at few angles, so that many are alike, with a core here and there."""
    core = cores()["foam80"]
    angles = st.sampled_from([0.0, 45.0, -45.0, 135.0, 90.0])
    layer = st.builds(
        lambda lamina, angle, mm: Ply(lamina, mm * 1e-3, np.radians(angle)),
        st.sampled_from(LAYERS), angles, st.floats(0.1, 1.0),
    )  # fmt: skip
    foam = st.builds(lambda mm: Ply(core.lamina(), mm * 1e-3, core=core), st.floats(5, 20))
    return Laminate(tuple(draw(st.lists(layer | layer | layer | foam, min_size=1, max_size=8))))


@pytest.mark.parametrize("criterion", CRITERIA)
@given(laminate=repeated_laminates(), seed=st.integers(0, 2**32 - 1))
def test_the_telling_faces_tell_all(criterion, laminate, seed):
    """Whatever the strains, no face fails before the first of those that are said to tell."""
    strain = np.random.default_rng(seed).normal(size=(20, 6)) * [1e-3, 1e-3, 1e-3, 0.2, 0.2, 0.2]
    factors = evaluate_plies(laminate, ply_state(laminate, strain), criterion).load_factor
    faces, sides = candidate_faces(laminate)
    if not len(faces):
        assert np.isinf(factors).all()
        return
    np.testing.assert_allclose(factors[:, faces, sides].min(axis=1), factors.min(axis=(1, 2)), rtol=1e-9)


def test_equal_plies_are_told_by_their_outermost_faces():
    """Of [0/90/0]s two faces of each angle."""
    laminate = plies(GRAPHITE, (0, 90, 0, 0, 90, 0))
    plies_, faces = candidate_faces(laminate)
    assert list(zip(plies_, faces, strict=True)) == [(0, 0), (1, 0), (4, 1), (5, 1)]


def test_half_a_turn_is_no_other_angle():
    """Fibres at −45° and at 135° lie the same way."""
    faces, _ = candidate_faces(stack([(GRAPHITE, 1e-3, angle) for angle in (-45, 135, -45)]))
    assert list(faces) == [0, 2]


def test_usage_under_other_loads_is_that_of_the_loads_they_bring():
    """u(S b) = (u∘S)(b), place by place."""
    rng = np.random.default_rng(5)
    root = rng.normal(size=(7, 2, 3, 3))
    given_ = Utilisation(rng.normal(size=(7, 2, 3)), root @ np.swapaxes(root, -1, -2))
    unit, loads = rng.normal(size=(7, 3, 6)), rng.normal(size=(9, 6))
    alone = [given_.of(loads @ unit[place].T)[:, place] for place in range(7)]
    np.testing.assert_allclose(given_.under(unit).of(loads), np.transpose(alone), rtol=1e-12)


def chained(stations, pieces, roughness, seed=6):
    """Three chains of places: what loads bring to them changes along each by waves, and by chance from place to place."""
    rng = np.random.default_rng(seed)
    root = rng.normal(size=(3, pieces, 3, 3))
    within = Utilisation(rng.normal(size=(3, pieces, 3)) / 2, root @ np.swapaxes(root, -1, -2))
    along = np.linspace(0, 2 * np.pi, stations)[:, None, None, None]
    waves = [np.cos(along + rng.uniform(0, 6, (3, 3, 6))) + rng.normal(size=(3, 3, 6)) for _ in range(2)]
    maps = waves[0] + waves[1] * np.sin(2 * along) + roughness * rng.normal(size=(stations, 3, 3, 6))
    return ChainedUtilisation(within, maps), Utilisation(
        np.tile(within.linear, (stations, 1, 1)), np.tile(within.square, (stations, 1, 1, 1))
    ).under(maps.reshape(-1, 3, 6))


@pytest.mark.parametrize("stations", [1, 2, 30, utilisation.MANY_STATIONS, 500])
@pytest.mark.parametrize("pieces", [1, 4])
@pytest.mark.parametrize("roughness", [0.0, 1e-3, 0.5])
@pytest.mark.parametrize("block", [450, utilisation.BLOCK_ENTRIES])
def test_the_governing_place_is_that_of_evaluating_all(stations, pieces, roughness, block, monkeypatch):
    """However many stations there are, smooth or rough along a chain, taken some rows at a time or all at once."""
    found, whole = chained(stations, pieces, roughness)
    loads = np.random.default_rng(7).normal(size=(33, 6)) * 10.0 ** np.arange(-16, 17)[:, None]
    loads[3] = 0.0
    used = whole.of(loads)
    monkeypatch.setattr(utilisation, "BLOCK_ENTRIES", block)
    place = found.governing(loads)
    np.testing.assert_allclose(used[np.arange(len(loads)), place], used.max(axis=1), rtol=1e-13)
    assert found.governing(loads[:0]).shape == (0,)


@pytest.mark.parametrize("stations", [30, 500])
@pytest.mark.parametrize("pieces", [1, 4])
@pytest.mark.parametrize("roughness", [1e-3, 0.5])
@pytest.mark.parametrize("block", [450, utilisation.BLOCK_ENTRIES])
def test_the_worst_of_groups_of_loads_is_that_of_evaluating_all(
    stations, pieces, roughness, block, monkeypatch
):
    """Which of the loads of a group it is, where, and how large; groups are of one load up to many."""
    found, whole = chained(stations, pieces, roughness)
    loads = np.random.default_rng(9).normal(size=(60, 6))
    # nearly as large each, so that the largest is not known before all places are
    loads *= np.linspace(1, 1.001, 60)[:, None] / whole.of(loads).max(axis=1)[:, None]
    starts = np.array([0, 1, 2, 12, 40, 43])
    used = whole.of(loads)
    monkeypatch.setattr(utilisation, "BLOCK_ENTRIES", block)
    row, place, most = found.worst_of(loads, starts)
    np.testing.assert_allclose(most, np.maximum.reduceat(used.max(axis=1), starts), rtol=1e-13)
    np.testing.assert_allclose(used[row, place], most, rtol=1e-13)
    assert (np.searchsorted(starts, row, side="right") - 1 == np.arange(len(starts))).all()


def test_of_a_smooth_chain_few_places_are_evaluated(monkeypatch):
    """A place in ten is, of many stations along which stresses change smoothly; the other places are bounded."""
    found, whole = chained(1000, 1, 0.0)
    loads = np.random.default_rng(8).normal(size=(50, 6))
    evaluated = []
    of, at_each = Utilisation.of, Utilisation.at_each
    monkeypatch.setattr(Utilisation, "of", lambda *a: evaluated.append(of(*a).size) or of(*a))
    monkeypatch.setattr(Utilisation, "at_each", lambda *a: evaluated.append(at_each(*a).size) or at_each(*a))
    found.governing(loads)
    assert sum(evaluated) < 0.1 * len(loads) * len(whole.linear)


@pytest.mark.parametrize("criterion", CRITERIA)
def test_first_ply_utilisation_is_one_over_the_load_factor_of_every_ply(criterion):
    """The few faces that stand for a laminate give what all its plies do: unsymmetric, with a core, under all resultants."""
    sheets = [
        (WWFE[0], 0.4e-3, 0),
        (WWFE[1], 0.3e-3, 35),
        (cores()["foam80"], 12e-3, 0),
        (WWFE[1], 0.3e-3, -35),
        (GRAPHITE, 0.2e-3, 90),
    ]
    laminate, rng = stack(sheets), np.random.default_rng(4)
    loads = rng.standard_normal((200, 6)) * [1e5, 1e5, 1e5, 300, 300, 300]
    loads[0] = 0.0
    found = first_ply_utilisation(laminate, criterion).largest(loads)
    factor = first_ply_failure(laminate, loads, criterion).load_factor
    assert found[0] == 0.0
    np.testing.assert_allclose(found[1:], 1 / factor[1:], rtol=1e-9)
