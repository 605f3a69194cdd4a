"""A reduced frame against frames solved each on its own, and against laws of elasticity."""

from dataclasses import replace

import numpy as np
import pytest

from femcore.base.errors import StructureFault
from femcore.frame.builder import with_ends
from femcore.frame.frame import Loads
from femcore.frame.stretches import Stretches
from femcore.solvers.frame_changes import Changes, EndSprings
from femcore.solvers.prepared_frame import PreparedFrame
from femcore.solvers.reduced_frame import ReducedFrame, unit_movements
from femcore.solvers.solution import solve
from femcore.solvers.stiffness_groups import MODES_OF, StiffnessGroup, scaled
from tests.femcore.cabled import cabled
from tests.femcore.frames import STEEL, random_loaded_frame, single, tip_load, turn

SEEDS = range(3)


def every_group(frame):
    """Each stiffness of each beam, each elastic spring, each uncoupled elastic end spring, each cable."""
    for name, run in frame.members.items():
        for quantity in MODES_OF:
            if quantity in {"EA", "GAy"} or name != "bar":
                yield StiffnessGroup(f"{quantity} of {name}", (quantity,), tuple(range(run.first, run.last)))
    elastic = np.argwhere((frame.springs > 0) & np.isfinite(frame.springs)).tolist()
    yield from (StiffnessGroup(f"spring {at}", springs=(tuple(at),)) for at in elastic)
    ends = np.argwhere((frame.end_springs > 0) & np.isfinite(frame.end_springs)).tolist()
    own = [(at, freedom) for at, freedom in ends if (at, freedom // 6) not in places(frame)]
    yield StiffnessGroup("ends", end_springs=tuple(own))
    yield from (StiffnessGroup(f"cable {at}", cables=(at,)) for at in range(len(frame.cables)))


def reads(solution):
    """All natural forces and reactions."""
    count = len(solution.names)
    return np.concatenate(
        [solution.natural.reshape(count, -1), solution.reactions.reshape(count, -1)], axis=1
    )


def places(frame):
    """The far ends of two beams, where none of the six springs is free."""
    return [(frame.members[name].last - 1, 1) for name in ("12", "34")]


def reduced(given, **changes):
    """The frame with all its groups, both places, all readings and some movements."""
    frame = given.frame
    what = {"groups": tuple(every_group(frame)), "places": places(frame)} | changes
    return ReducedFrame.of(
        PreparedFrame.of(frame), given.loads, reads=reads, virtual_loads=unit_movements(frame, [1, 2]), **what
    )


def random_springs(rng, count):
    """Springs at two places from free to rigid, in axes of their own; the last third coupled."""
    springs = 10 ** rng.uniform(2, 9, (count, 2, 6))
    springs[rng.random(springs.shape) < 0.2] = np.inf
    springs[rng.random(springs.shape) < 0.1] = 0.0
    axes = np.array([[turn(rng), turn(rng)] for _ in range(count)])
    matrix = np.where(np.isinf(springs), 0.0, springs)[..., None] * np.eye(6)
    pull = 100 * rng.standard_normal((count, 2, 6, 6))
    matrix[2 * count // 3 :] += (pull @ pull.swapaxes(2, 3))[2 * count // 3 :]
    return EndSprings(
        np.where(np.isinf(springs), np.inf, np.diagonal(matrix, axis1=2, axis2=3)), axes, matrix
    )


def with_stretches(given, seed):
    """Loads and couples over parts of elements, linear along them, beside the others."""
    rng, frame, cases = np.random.default_rng(seed), given.frame, len(given.loads.names)
    along = np.flatnonzero(frame.EIy > 0)
    begin = rng.uniform(0.0, 0.5, len(along))
    stretches = Stretches(
        along,
        begin,
        begin + rng.uniform(0.1, 0.5, len(along)),
        300 * rng.standard_normal((cases, len(along), 2, 6)),
    )
    return replace(given, loads=replace(given.loads, stretches=stretches))


def assert_same(variants, number, solution, virtual):
    """One variant is what the frame solved on its own gives, each to a billionth of its largest."""
    moved = np.tensordot(solution.displacement, virtual, [[1, 2], [1, 2]])
    pairs = [(variants.readings, reads(solution))]
    if moved.size:
        pairs.append((variants.movements, moved))
    if solution.tension.size:
        pairs.append((variants.tension, solution.tension))
    for found, exact in pairs:
        size = np.abs(exact).max(axis=1, keepdims=True)
        np.testing.assert_allclose(found[number] / size, exact / size, rtol=0, atol=1e-9)


@pytest.mark.parametrize("seed", SEEDS)
def test_scaled_stiffnesses_are_those_of_a_frame_that_has_them(seed):
    """All stiffnesses of a frame with every feature times 1/5 to 5, each on its own, under loads of every kind: forces,
    reactions and movements are those of the frame built so.
    """
    given, rng = with_stretches(random_loaded_frame(seed), seed), np.random.default_rng(seed)
    one = reduced(given)
    multipliers = 5 ** rng.uniform(-1, 1, (4, len(one.groups)))
    variants = one.solve(Changes(multipliers))
    assert not variants.refactored.any()
    for number, factors in enumerate(multipliers):
        alone = solve(scaled(given.frame, one.groups, factors), given.loads)
        assert_same(variants, number, alone, one.virtual_loads)


@pytest.mark.parametrize("seed", SEEDS)
def test_variants_of_the_same_stiffness_may_share_what_makes_their_cases(seed):
    """Nine variants of three stiffnesses, each with weights and pretension of its own: as each worked out by itself."""
    given, rng = random_loaded_frame(seed), np.random.default_rng(seed)
    one, of = reduced(given), np.repeat(np.arange(3), 3)
    springs = random_springs(rng, 3).only(of)
    changes = Changes(
        5 ** rng.uniform(-1, 1, (3, len(one.groups)))[of],
        springs,
        rng.standard_normal((9, 2, len(given.loads.names))),
        rng.uniform(0.5, 2.0, (9, len(given.frame.cables))),
    )
    shared = one.varied(changes)
    assert (shared.X[::3] == shared.X[2::3]).all()
    found = one.solve(changes, shared)
    assert not found.refactored.any()
    for number in range(9):
        alone = one.solve(changes.only(slice(number, number + 1)))
        for kind in ("readings", "movements", "end_forces", "tension", "added"):
            got, wanted = getattr(found, kind)[number], getattr(alone, kind)[0]
            assert got == pytest.approx(wanted, rel=1e-9, abs=1e-9 * np.abs(wanted).max(initial=0.0))


def test_what_is_made_of_readings_is_made_of_those_of_every_variant():
    """A linear map of the states' readings, also where a variant is solved as a frame of its own."""
    given, rng = random_loaded_frame(1), np.random.default_rng(1)
    one = reduced(given)
    into = rng.standard_normal((one.readings.shape[1], 3))
    mapped = one.reading(lambda values: values @ into)
    multipliers = 5 ** rng.uniform(-1, 1, (3, len(one.groups)))
    for whole, few in (
        (one.solve(Changes(multipliers)), mapped.solve(Changes(multipliers))),
        (
            replace(one, error=1.0).solve(Changes(multipliers)),
            replace(mapped, error=1.0).solve(Changes(multipliers)),
        ),
    ):
        wanted = whole.readings @ into
        assert few.readings == pytest.approx(wanted, rel=1e-9, abs=1e-9 * np.abs(wanted).max())
    assert few.refactored.all()


def test_scaling_a_group_scales_just_what_it_names():
    """A frame whose group has a multiplier of 3 has three times these stiffnesses and its others unchanged."""
    frame = random_loaded_frame(0).frame
    run = frame.members["12"]
    group = StiffnessGroup("bending", ("EIy", "GAz"), tuple(range(run.first, run.last)), springs=((0, 2),))
    other = scaled(frame, [group], np.array([3.0]))
    for key in ("EA", "EIy", "EIz", "GJ", "GAy", "GAz", "springs", "end_springs"):
        before, after = getattr(frame, key), getattr(other, key)
        changed = np.argwhere(before != after).tolist()
        assert all(after[tuple(at)] == 3 * before[tuple(at)] for at in changed)
        own = [[at] for at in range(run.first, run.last)] if key in group.quantities else []
        wanted = [[0, 2]] if key == "springs" else own
        assert changed == wanted


@pytest.mark.parametrize("seed", SEEDS)
def test_springs_from_free_to_rigid_are_those_of_a_frame_that_has_them(seed):
    """Two beam ends get springs from free to rigid, along tilted axes, some coupled, while stiffnesses change too."""
    given, rng = random_loaded_frame(seed), np.random.default_rng(seed)
    one = reduced(given)
    springs = random_springs(rng, 12)
    multipliers = 2 ** rng.uniform(-1, 1, (12, len(one.groups)))
    variants = one.solve(Changes(multipliers, springs))
    assert variants.refactored.sum() <= 3
    for number, factors in enumerate(multipliers):
        frame = with_ends(
            scaled(given.frame, one.groups, factors), dict(zip(one.places, springs.ends(number), strict=True))
        )
        assert_same(variants, number, solve(frame, given.loads), one.virtual_loads)


@pytest.mark.parametrize("seed", SEEDS)
def test_pretension_is_kept_and_no_cable_pushes(seed):
    """Pretensioned cables over frames of other stiffness, pretension itself changed, some slack: tensions, forces and which
    cables are slack are those of the frame built so.
    """
    (given, _), rng = (
        cabled(seed, count=3, pretension=2e3, force=2.0, moved=False),
        np.random.default_rng(seed),
    )
    one = reduced(given)
    count = 8
    multipliers, springs = 2 ** rng.uniform(-1, 1, (count, len(one.groups))), random_springs(rng, count)
    pretension = rng.uniform(0.1, 2.0, (count, 3))
    variants = one.solve(Changes(multipliers, springs, pretension=pretension))
    assert variants.slack.any()
    assert not variants.slack.all()
    assert variants.refactored.sum() <= 2
    for number, factors in enumerate(multipliers):
        ends = dict(zip(one.places, springs.ends(number), strict=True))
        frame = with_ends(scaled(given.frame, one.groups, factors), ends)
        pulled = replace(frame.cables, pretension=frame.cables.pretension * pretension[number])
        alone = solve(replace(frame, cables=pulled), given.loads)
        assert (variants.slack[number] == alone.slack).all()
        assert_same(variants, number, alone, one.virtual_loads)


def test_cables_that_can_push_never_go_slack():
    """Of the linear frame about a state in which all cables are taut: compressions are those of the frame that has bars there."""
    (given, _), rng = cabled(0, count=3, force=2.0, moved=False), np.random.default_rng(0)
    taut = PreparedFrame.of(given.frame).all_cables_taut()
    one = ReducedFrame.of(taut, given.loads, tuple(every_group(given.frame)), reads=reads)
    multipliers = 2 ** rng.uniform(-1, 1, (3, len(one.groups)))
    variants = one.solve(Changes(multipliers))
    assert variants.tension.min() < 0
    for number, factors in enumerate(multipliers):
        assert_same(
            variants, number, solve(scaled(taut.frame, one.groups, factors), given.loads), one.virtual_loads
        )


def test_cases_are_combinations_of_loads():
    """Weights make cases of the loads: those of the frame under the loads so combined."""
    (given, _), rng = cabled(1, count=2, pretension=2e3, moved=False), np.random.default_rng(1)
    one = reduced(given)
    weights = rng.uniform(-1, 1, (2, 5, len(given.loads.names)))
    variants = one.solve(Changes(np.full((2, len(one.groups)), 1.5), weights=weights))
    for number in range(2):
        frame = scaled(given.frame, one.groups, np.full(len(one.groups), 1.5))
        combined = given.loads.combined(weights[number], tuple("abcde"))
        assert_same(variants, number, solve(frame, combined), one.virtual_loads)


@pytest.mark.parametrize("seed", SEEDS)
def test_movements_are_reciprocal_in_every_variant(seed):
    """Where loads are those that read the movements, Betti's law makes the matrix of movements symmetric, whatever the
    stiffness; and positive definite, since each load does work.
    """
    given, rng = random_loaded_frame(seed, moved=False), np.random.default_rng(seed)
    frame = given.frame
    virtual = unit_movements(frame, [1, 2])
    loads = replace(Loads.zeros(frame, *map(str, range(len(virtual)))), nodal=virtual)
    one = reduced(replace(given, loads=loads))
    variants = one.solve(Changes(3 ** rng.uniform(-1, 1, (5, len(one.groups))), random_springs(rng, 5)))
    for moved in variants.movements:
        scale = np.sqrt(np.diag(moved))
        np.testing.assert_allclose(
            moved / scale / scale[:, None], moved.T / scale / scale[:, None], atol=1e-9
        )
        assert np.linalg.eigvalsh(moved / scale / scale[:, None]).min() > 0


def test_derivatives_are_those_of_a_difference_of_sixth_order():
    """Forces change with the logarithm of each stiffness as a central difference of sixth order over whole frames says, to
    what that loses: its step to the sixth power.
    """
    (given, _), rng = cabled(2, count=2, pretension=2e3, moved=False), np.random.default_rng(2)
    one = reduced(given)
    at, springs = (
        1.5 ** rng.uniform(-1, 1, len(one.groups)),
        EndSprings(np.full((1, 2, 6), 3e6), np.eye(3)[None, None].repeat(2, 1)),
    )
    found = one.derivatives(Changes(at[None], springs))
    h, steps, factors = 2e-2, np.array([-3, -2, -1, 1, 2, 3]), np.array([-1, 9, -45, 45, -9, 1]) / 60
    for variable in (0, 7, len(one.groups) - 1, len(one.groups) + 4):
        frames, in_group = [], variable < len(one.groups)
        for step in np.exp(h * steps):
            changed = at * np.where(np.arange(len(at)) == variable, step, 1.0)
            some = springs.springs.copy()
            if not in_group:
                some.reshape(-1)[variable - len(one.groups)] *= step
            ends = dict(zip(one.places, replace(springs, springs=some).ends(0), strict=True))
            frames.append(solve(with_ends(scaled(given.frame, one.groups, changed), ends), given.loads))
        for values, of in (
            (found.readings, [reads(x) for x in frames]),
            (found.tension, [x.tension for x in frames]),
        ):
            wanted = np.tensordot(factors / h, np.array(of), 1)
            size = np.abs(of).max(axis=(0, 2))[:, None]
            np.testing.assert_allclose(values[variable] / size, wanted / size, rtol=0, atol=2e-8)


@pytest.mark.parametrize("cables", [0, 2])
def test_derivatives_of_a_frame_without_pretension(cables):
    """Weights that are entered, real, beside stiffness by a complex step: a frame without cables, or with cables that have no
    pretension, changes as differences over whole frames say.
    """
    given = cabled(2, count=cables, pretension=0.0, moved=False)[0] if cables else random_loaded_frame(0)
    one = reduced(given)
    springs = EndSprings(np.full((1, 2, 6), 3e6), np.eye(3)[None, None].repeat(2, 1))
    weights = np.eye(len(given.loads.names))[None]
    found = one.derivatives(Changes(np.ones((1, len(one.groups))), springs, weights))
    h, variable = 1e-3, len(one.groups) + 4
    either = []
    for step in np.exp([-h, h]):
        some = springs.springs.copy()
        some.reshape(-1)[4] *= step
        ends = dict(zip(one.places, replace(springs, springs=some).ends(0), strict=True))
        either.append(reads(solve(with_ends(given.frame, ends), given.loads)))
    wanted, size = (either[1] - either[0]) / (2 * h), np.abs(either[0]).max(axis=1, keepdims=True)
    np.testing.assert_allclose(found.readings[variable] / size, wanted / size, rtol=0, atol=1e-6)
    assert np.abs(wanted / size).max() > 1e-4


def test_what_is_ill_conditioned_is_factorised_anew():
    """A group softened a hundred-billion-fold: the estimate is not below the error that was made, it is refused, and the variant
    is solved as a frame of its own.
    """
    given = random_loaded_frame(0)
    one = reduced(given)
    for power in (6, 8, 11):
        multipliers = np.ones((1, len(one.groups)))
        multipliers[0, [group.name in {"EIy of 12", "EIz of 23"} for group in one.groups]] = 10.0**-power
        alone = solve(scaled(given.frame, one.groups, multipliers[0]), given.loads)
        poor = one.reduced_only(Changes(multipliers))
        size = np.abs(reads(alone)).max()
        assert np.abs(poor.readings[0] - reads(alone)).max() / size < poor.error[0]
        final = one.solve(Changes(multipliers))
        assert final.refactored[0] == (poor.error[0] > 1e-9)
        assert_same(final, 0, alone, one.virtual_loads)
    assert final.refactored[0]


def test_what_would_fall_is_named():
    """A beam whose end is held by nothing is a mechanism: the variant is named, the others do not matter."""
    frame = single(far=[2])
    one = ReducedFrame.of(PreparedFrame.of(frame), tip_load(frame, "B", [0, 0, 1, 0, 0, 0]), places=[(0, 0)])
    springs = np.full((2, 1, 6), 1e6)
    springs[1, 0, [0, 4]] = 0.0
    with pytest.raises(StructureFault, match="variant 2"):
        one.solve(Changes(springs=EndSprings(springs, np.eye(3)[None, None])))


def test_a_frame_that_is_free_where_it_shall_change_is_refused():
    """There no dislocation puts any force into it, so that nothing could be said of another stiffness."""
    given = random_loaded_frame(0)
    free = np.argwhere(given.frame.end_springs == 0)[0]
    with pytest.raises(ValueError, match="needs a stiffness"):
        reduced(given, places=[(int(free[0]), int(free[1]) // 6)])
    elastic = np.argwhere(np.isfinite(given.frame.end_springs) & (given.frame.end_springs > 0))[0].tolist()
    both = StiffnessGroup("both", end_springs=(tuple(elastic),))
    with pytest.raises(ValueError, match="both by a multiplier"):
        reduced(given, groups=[both], places=[(elastic[0], elastic[1] // 6)])
    with pytest.raises(ValueError, match="free"):
        reduced(given, groups=[StiffnessGroup("released", end_springs=(tuple(free.tolist()),))])


def test_a_determinate_frame_has_no_self_stress_and_moves_by_its_flexibility():
    """A cantilever, F L³/3EI + F L/GA: forces stay whatever the stiffness, and each part of the deflection goes with its own."""
    frame, length, force = single(divide=3), 4.0, 1e3
    run = tuple(range(3))
    groups = [StiffnessGroup("bending", ("EIy",), run), StiffnessGroup("shear", ("GAz",), run)]
    tip = [frame.node_index["B"]]
    one = ReducedFrame.of(
        PreparedFrame.of(frame), tip_load(frame, "B", [0, 0, force, 0, 0, 0]), groups, reads=reads,
        virtual_loads=unit_movements(frame, tip),
    )  # fmt: skip
    factors = np.array([[1.0, 1.0], [2.0, 1.0], [0.5, 4.0]])
    found = one.solve(Changes(factors))
    wanted = force * length**3 / (3 * STEEL.EIy * factors[:, 0]) + force * length / (
        STEEL.GAz * factors[:, 1]
    )
    np.testing.assert_allclose(found.movements[:, 0, 2], wanted, rtol=1e-12)
    np.testing.assert_allclose(found.readings, found.readings[:1].repeat(3, axis=0), rtol=1e-12)
    assert len(one.C) == 0


def test_without_changes_it_is_the_frame():
    """No group, no place, no change: the solution itself."""
    given = random_loaded_frame(1)
    one = ReducedFrame.of(
        PreparedFrame.of(given.frame),
        given.loads,
        reads=reads,
        virtual_loads=unit_movements(given.frame, [1]),
    )
    assert_same(one.solve(Changes()), 0, solve(given.frame, given.loads), one.virtual_loads)
