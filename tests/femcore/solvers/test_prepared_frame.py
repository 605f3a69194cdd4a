"""A frame prepared once, or reduced to a few of its elements, gives the results of one solved anew each time."""

from dataclasses import replace

import numpy as np
import pytest

from femcore.frame.builder import FrameBuilder, Stiffness, with_ends
from femcore.frame.frame import Loads
from femcore.solvers import linear
from femcore.solvers.prepared_frame import PreparedFrame, deformed_together
from femcore.solvers.solution import solve
from tests.femcore.cabled import cabled
from tests.femcore.frames import ALL, random_builder, random_end
from tests.femcore.laws.table import differ

SEEDS = range(4)


def counted(monkeypatch, name):
    """A list that grows with each call of a function of `linear`."""
    calls, right = [], getattr(linear, name)
    monkeypatch.setattr(linear, name, lambda *given: calls.append(given) or right(*given))
    return calls


@pytest.mark.parametrize("seed", SEEDS)
def test_a_ready_frame_answers_as_the_frame_does(seed):
    """Cases solved one after the other on a frame that is ready, as drawn or deformed, are those solved at once on the
    frame itself.
    """
    given, _ = cabled(seed, count=2, pretension=200.0, force=0.02)
    bent = np.array([False, True, False])
    whole, prepared = solve(given.frame, given.loads, bent), PreparedFrame.of(given.frame)
    for case in range(3):
        one = solve(prepared, given.loads.only(case), bent[case])
        assert differ(one.displacement[0], whole.displacement[case]) < 1e-11
        assert differ(one.tension[0], whole.tension[case]) < 1e-9


@pytest.mark.parametrize("seed", SEEDS)
def test_frames_that_are_alike_deform_side_by_side_as_each_does_alone(seed):
    """Of other stiffness, pretension and end springs, among them one that folds under its load: that one alone has no answer,
    and a frame that is joined otherwise is found by itself.
    """
    given, _ = cabled(seed, count=2, pretension=200.0, force=0.02)
    frame, cables = given.frame, given.frame.cables
    springs = frame.end_springs.copy()
    springs[0] = 1e5
    several = [
        frame,
        replace(frame, EIy=1.3 * frame.EIy, cables=replace(cables, pretension=0.7 * cables.pretension)),
        replace(frame, end_springs=springs),
        replace(frame, EIy=1e-9 * frame.EIy, EIz=1e-9 * frame.EIz),
        cabled(seed + 10, count=2, pretension=200.0)[0].frame,
        replace(frame, cables=replace(cables, pretension=0 * cables.pretension)),
    ]
    prepared = [PreparedFrame.of(one) for one in several]
    loads = [cabled(seed + 10, count=2, force=0.02)[0].loads if at == 4 else given.loads for at in range(6)]
    together = deformed_together(list(zip(prepared, loads, strict=True)))
    for at, (one, found) in enumerate(zip(several, together, strict=True)):
        if at == 3:
            assert found is None
            continue
        assert found is not None
        alone = solve(one, loads[at], second_order=True)
        known = solve(prepared[at], loads[at], True, dict(enumerate(found)))
        for name in ("displacement", "reactions", "natural", "tension"):
            assert differ(getattr(known, name), getattr(alone, name)) < 1e-9


def test_a_ready_frame_is_factorised_once(monkeypatch):
    """However often it is solved, and about its taut state too."""
    calls = counted(monkeypatch, "factorise")
    given, _ = cabled(1, count=2, pretension=200.0, force=0.02)
    prepared = PreparedFrame.of(given.frame)
    for second_order in (False, True, False):
        solve(prepared, given.loads, second_order)
    solve(prepared.all_cables_taut(), given.loads)
    assert len(calls) == 1


@pytest.mark.parametrize("seed", SEEDS)
def test_about_its_taut_state_a_ready_frame_is_that_of_the_frame(seed):
    """Every cable counts, and none has pretension."""
    given, _ = cabled(seed, pretension=300.0)
    ours, plain = (
        solve(f, given.loads)
        for f in (PreparedFrame.of(given.frame).all_cables_taut(), given.frame.all_cables_taut())
    )
    np.testing.assert_array_equal(ours.displacement, plain.displacement)


def test_a_frame_that_is_only_solved_keeps_no_factors(monkeypatch):
    """The answer to a frame that was not made ready holds no factors: asked for, they are worked out again."""
    calls = counted(monkeypatch, "factorise")
    given, _ = cabled(1, count=2)
    answer = solve(given.frame, given.loads)
    assert len(calls) == 1
    assert answer.prepared.factors.factor is answer.prepared.factors.factor
    assert len(calls) == 2


def test_without_a_load_the_deformed_shape_is_that_at_rest():
    """A case without load is that under pretension alone, in which every cable has its pretension, in equilibrium."""
    given, _ = cabled(3, count=3, pretension=200.0)
    prepared = PreparedFrame.of(given.frame)
    answer = solve(prepared, Loads.zeros(given.frame, "rest"), second_order=True)
    np.testing.assert_array_equal(answer.displacement[0], prepared.pretensioned.shape.displacement)
    np.testing.assert_allclose(answer.tension[0], given.frame.cables.pretension, rtol=1e-9)
    assert answer.balance[0] < 1e-9


def test_a_cable_without_pretension_is_just_taut_beside_one_that_has_some():
    """Where one guy's pretension pulls a mast away from another's anchor, that one is then as long as its path:
    the least further lean tightens it.
    """
    builder = FrameBuilder()
    builder.node("foot", (0, 0, 0))
    builder.node("top", (0, 0, 6))
    builder.beam("mast", ["foot", "top"], Stiffness(1e8, 4e5, 4e5, 1e5), up=(1, 0, 0), divide=4)
    builder.support("foot", ALL)
    for name, x, pretension in (("left", -4.0, 2e3), ("right", 4.0, 0.0)):
        builder.node(name, (x, 0, 0))
        builder.support(name, ALL)
        builder.cable(name, [name, "top"], 1e6, pretension)
    frame = builder.build()
    rest = PreparedFrame.of(frame).pretensioned
    top = frame.nodes[1] + rest.shape.move[1]
    assert rest.shape.move[1, 0] < -0.05
    assert rest.unstressed_length[1] == pytest.approx(np.linalg.norm(top - frame.nodes[3]), rel=1e-12)


@pytest.mark.parametrize("seed", SEEDS)
def test_other_ends_are_as_if_drafted_so(seed):
    """A frame given other springs at the ends of two beams, coupled or not, is the frame drafted with these."""
    rng = np.random.default_rng(seed)
    single, matrix = random_end(rng), np.diag([1e6, 2e6, 3e6, 1e4, 2e4, 3e4]) + 1e3
    coupled = replace(random_end(rng), matrix=matrix, offset=single.offset)
    far, frames = rng.uniform(6, 7, (2, 3)), []
    for pair in ((single, coupled), (coupled, single)):
        builder = random_builder(np.random.default_rng(seed))
        for name, at, end in zip("BC", far, pair, strict=True):
            builder.node(name, at)
            builder.beam(f"to {name}", ["1", name], Stiffness(1e6, 1e4, 1e4, 1e4), start=end)
        frames.append(builder.build())
    first, second = frames
    places = [(first.members[f"to {name}"].first, 0) for name in "BC"]
    changed = with_ends(first, dict(zip(places, (coupled, single), strict=True)))
    for part in ("end_springs", "spring_axes", "coupled_ends", "couplings"):
        np.testing.assert_array_equal(getattr(changed, part), getattr(second, part))
