"""The free body of a cut: hand-worked beams, and laws that hold for every frame: closure, equal and opposite faces, rotation."""

from dataclasses import replace

import numpy as np
import pytest

from femcore.base.errors import InputFault
from femcore.frame.builder import FrameBuilder, Stiffness
from femcore.frame.frame import Loads
from femcore.frame.loads_builder import LoadsBuilder
from femcore.frame.stretches import Stretches
from femcore.results.free_body import cut
from femcore.results.member_forces import member_forces
from femcore.solvers.solution import solve
from tests.femcore.cabled import cabled
from tests.femcore.frames import RIGID_SHEAR, LoadedFrame, random_loaded_frame, single, tip_load, turn, turned

REL_TOL_CLOSED = 1e-9
"""Of all loads and reactions of the frame: what is left of a free body's sum."""
LITTLE = 0.02
"""Of the loads of random frames, so that they have a deformed shape."""
P, L = 3e3, 4.0
"""N, m: of the cantilever along x, its root at A."""


def cuts(solution, fractions=(0.0, 0.31, 1.0)):
    """Every beam cut at some fractions of its length, in every case."""
    for case in solution.names:
        for name, run in solution.frame.members.items():
            length = float(solution.frame.length[run.elements].sum())
            for fraction in fractions:
                yield case, cut(solution, name, fraction * length, case)


def closed(found):
    """The larger imbalance of the two parts."""
    return max(found.before.imbalance, found.after.imbalance)


def test_a_cantilever_cut_a_metre_from_its_tip():
    """P down at the tip: P up and P · 1 m on the outer part's face, the opposite on the inner one's, P and P L at the root."""
    frame = single(RIGID_SHEAR)
    found = cut(solve(frame, tip_load(frame, "B", [0, 0, -P, 0, 0, 0])), "AB", L - 1)
    assert found.actions == pytest.approx([0, 0, -P, 0, P, 0])
    face, tip = found.after.acting
    assert (face.kind, tip.kind, tip.where) == ("cut", "load", "B")
    assert face.force == pytest.approx([0, 0, P, 0, -P, 0])
    assert tip.about(found.point) == pytest.approx([0, 0, -P, 0, P, 0])
    face, root = found.before.acting
    assert face.force == pytest.approx([0, 0, -P, 0, P, 0])
    assert (root.kind, root.where) == ("reaction", "A")
    assert root.force == pytest.approx([0, 0, P, 0, -P * L, 0])
    assert root.about(found.point) == pytest.approx([0, 0, P, 0, -P, 0])
    assert closed(found) < REL_TOL_CLOSED


def test_a_line_load_is_cut_with_its_beam():
    """w over a cantilever of three elements: w (L − x) at the outer part's middle, w (L − x) and w (L − x)²/2 on its face."""
    frame, w, x = single(RIGID_SHEAR, divide=3), 2e3, 2.5
    loads = LoadsBuilder(frame).line("AB", qz=-w).build()
    found = cut(solve(frame, loads), "AB", x)
    face, line = found.after.acting
    assert line.kind == "line load"
    assert line.force == pytest.approx([0, 0, -w * (L - x), 0, 0, 0])
    assert line.point == pytest.approx([(L + x) / 2, 0, 0])
    assert face.force == pytest.approx([0, 0, w * (L - x), 0, -w * (L - x) ** 2 / 2, 0])
    inner = [one for one in found.before.acting if one.kind == "line load"]
    assert sum(one.force[2] for one in inner) == pytest.approx(-w * x)


def test_a_stretch_at_an_arm_is_clipped():
    """A force per length from 1 m to 3 m at an arm of 0.2 m, cut at 2.5 m: half a metre of it is outside, with its torque."""
    frame, w = single(RIGID_SHEAR, divide=2), 1e3
    loads = LoadsBuilder(frame).line("AB", qz=-w, begin=1.0, end=3.0, arm=(0, 0.2, 0)).build()
    found = cut(solve(frame, loads), "AB", 2.5)
    [line] = [one for one in found.after.acting if one.kind == "line load"]
    assert line.force == pytest.approx([0, 0, -500, -100, 0, 0])
    assert line.point == pytest.approx([2.75, 0, 0])
    assert found.actions == pytest.approx([0, 0, -500, -100, 125, 0])
    assert closed(found) < REL_TOL_CLOSED


def test_a_triangular_load_is_cut_where_it_is():
    """w(x) = w x/L over the whole cantilever, cut at L/2: 3/8 of w L outside, with its centroid at 7/9 L (statics)."""
    frame, w = single(RIGID_SHEAR), 1e3
    load = np.zeros((1, 1, 2, 6))
    load[0, 0, 1, 2] = -w
    stretches = Stretches(np.array([0]), np.array([0.0]), np.array([1.0]), load)
    found = cut(solve(frame, replace(Loads.zeros(frame, "one"), stretches=stretches)), "AB", L / 2)
    outside = 3 / 8 * w * L
    assert found.actions == pytest.approx([0, 0, -outside, 0, outside * (7 / 9 - 1 / 2) * L, 0])
    assert closed(found) < REL_TOL_CLOSED


@pytest.mark.parametrize("seed", range(4))
def test_every_free_body_closes(seed):
    """In random frames with offsets, releases, springs and cables, under loads everywhere; faces are equal and opposite."""
    given, _ = cabled(seed)
    for _, found in cuts(solve(given.frame, given.loads)):
        assert closed(found) < REL_TOL_CLOSED
        assert found.before.acting[0].force == pytest.approx(-found.after.acting[0].force)


@pytest.mark.parametrize("seed", range(2))
def test_every_free_body_closes_in_the_deformed_shape(seed):
    """At the displaced nodes, line loads as they act there."""
    given, _ = cabled(seed, count=2, moved=False)
    small = LoadedFrame(given.frame, given.loads.combined(LITTLE * np.eye(3)[:1], ("one",)))
    solution = solve(small.frame, small.loads, second_order=True)
    several = [name for name, run in small.frame.members.items() if run.last - run.first > 1]
    assert several
    for name in several:
        assert closed(cut(solution, name, 0.5)) < REL_TOL_CLOSED


def test_what_a_part_carries_is_seen():
    """A reaction left out opens the sum by its size: the closure can fail."""
    given = random_loaded_frame(3)
    _, found = next(cuts(solve(given.frame, given.loads)))
    part = max((found.before, found.after), key=lambda one: len(one.acting))
    for left_out in part.acting:
        rest = replace(part, acting=tuple(one for one in part.acting if one is not left_out))
        assert rest.imbalance > 1e3 * REL_TOL_CLOSED


def test_a_turned_frame_is_cut_alike():
    """Actions in the section's axes stay, forces and points turn with the frame."""
    given, R = random_loaded_frame(5, turnable=True), turn(np.random.default_rng(5))
    there = turned(given, R)
    both = [list(cuts(solve(one.frame, one.loads), (0.4,))) for one in (given, there)]
    for (_, here), (_, other) in zip(*both, strict=True):
        size = here.before.scale
        assert other.actions == pytest.approx(here.actions, abs=1e-9 * size)
        assert other.point == pytest.approx(R @ here.point)
        for one, two in zip(here.before.acting, other.before.acting, strict=True):
            assert (one.kind, one.where) == (two.kind, two.where)
            assert two.force == pytest.approx(np.kron(np.eye(2), R) @ one.force, abs=1e-9 * size)


def ring():
    """A square of four beams, held at one corner, pulled at the opposite one."""
    builder = FrameBuilder()
    builder.nodes(A=(0, 0, 0), B=(2, 0, 0), C=(2, 0, 2), D=(0, 0, 2))
    for one, other in ("AB", "BC", "CD", "DA"):
        builder.beam(one + other, [one, other], RIGID_SHEAR, up=(0, 1, 0), divide=2)
    builder.support("A")
    frame = builder.build()
    return frame, tip_load(frame, "C", [P, 0, P / 2, 0, 0, 0])


def test_a_stay_goes_with_its_part():
    """A cantilever whose tip is hung from a wall: the outer part is tip, stay and the wall's reaction."""
    builder = FrameBuilder()
    builder.nodes(A=(0, 0, 0), B=(L, 0, 0), C=(L, 0, 3))
    builder.beam("AB", ["A", "B"], RIGID_SHEAR)
    builder.cable("stay", ["B", "C"], 1e6)
    builder.support("A")
    builder.support("C")
    frame = builder.build()
    found = cut(solve(frame, tip_load(frame, "B", [0, 0, -P, 0, 0, 0])), "AB", 1.0)
    assert found.after.whole
    assert [(one.kind, one.where) for one in found.after.acting] == [
        ("cut", "AB"),
        ("reaction", "C"),
        ("load", "B"),
    ]
    assert closed(found) < REL_TOL_CLOSED


@pytest.mark.parametrize("second_order", [False, True])
def test_a_ring_is_not_parted_by_one_cut(second_order):
    """Each part is the piece of the beam to its next corner, with a face at either end."""
    frame, loads = ring()
    found = cut(solve(frame, loads, second_order), "BC", 0.7)
    for part in (found.before, found.after):
        assert not part.whole
        assert [one.kind for one in part.acting] == ["cut", "cut"]
        assert part.imbalance < REL_TOL_CLOSED


def test_a_small_deformation_is_cut_as_the_frame_as_drawn():
    """In the limit of small loads both ways give the same actions, at the joint of elements nearest to the place."""
    frame = single(RIGID_SHEAR, divide=4)
    loads = tip_load(frame, "B", [1e-3, 2e-3, -3e-3, 1e-3, 0, 0])
    straight, bent = (cut(solve(frame, loads, way), "AB", 1.2) for way in (False, True))
    assert bent.station == pytest.approx(1.0)
    there = cut(solve(frame, loads), "AB", 1.0)
    assert bent.actions == pytest.approx(there.actions, abs=1e-9)
    assert straight.station == pytest.approx(1.2)


def test_a_buckled_strut_s_moment_is_its_thrust_times_its_arm():
    """Statics in the deformed shape: cut anywhere, M = H (L − x) + P (w(L) − w(x)), the cantilever pushed along itself."""
    push, side, count = 1e5, 1e3, 8
    frame = single(RIGID_SHEAR, divide=count)
    solution = solve(frame, tip_load(frame, "B", [-push, 0, side, 0, 0, 0]), second_order=True)
    found = cut(solution, "AB", L / 2)
    tip = frame.nodes[1] + solution.displacement[0, 1, :3]
    arm = tip - found.point
    moment = -(side * arm[0] + push * arm[2])  # about y, of the load about the cut
    assert found.before.acting[0].force[4] == pytest.approx(moment, rel=1e-9)
    assert abs(moment) > 1.02 * side * L / 2
    turned = solution.displacement[0, frame.ends[count // 2, 0], 4]
    assert found.axes[0] == pytest.approx([np.cos(turned), 0, -np.sin(turned)])
    thrust = push * np.cos(turned) + side * np.sin(turned)
    assert found.actions[[0, 4]] == pytest.approx([-thrust, moment], rel=1e-9)


def test_actions_are_those_along_the_member():
    """At every station, jumps listed from either side: the values of `member_forces`."""
    frame = single(RIGID_SHEAR, divide=2)
    loads = LoadsBuilder(frame).line("AB", qz=-1e3).point("B", Fy=500.0, Mx=20.0).build()
    solution = solve(frame, loads)
    along = member_forces(solution, "AB", 4)
    for station, actions in zip(along.station, along.actions[0], strict=True):
        assert cut(solution, "AB", float(station)).actions == pytest.approx(actions, abs=1e-6)


def test_faults():
    """A station outside, a beam that does not exist, and one element that would be cut in the deformed shape."""
    frame = single(RIGID_SHEAR)
    loads = tip_load(frame, "B", [0, 0, -P, 0, 0, 0])
    with pytest.raises(InputFault, match="at 5 m: is outside the beam; give 0 to 4 m"):
        cut(solve(frame, loads), "AB", 5.0)
    with pytest.raises(InputFault, match="beam 'AC' does not exist"):
        cut(solve(frame, loads), "AC", 1.0)
    with pytest.raises(InputFault, match="divide it into two or more"):
        cut(solve(frame, loads, second_order=True), "AB", 1.0)


def test_a_bar_without_load_closes_to_nothing():
    """All zero is closed."""
    frame = single(Stiffness(EA=1e6, EIy=1.0, EIz=1.0, GJ=1.0))
    assert closed(cut(solve(frame, Loads.zeros(frame, "none")), "AB", 1.0)) == 0
