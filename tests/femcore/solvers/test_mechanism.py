"""What moves freely is found and named; what is only soft is not."""

from itertools import pairwise

import numpy as np
import pytest

from femcore.base.errors import Mechanism
from femcore.frame.builder import End, FrameBuilder, Stiffness
from femcore.frame.frame import Loads
from femcore.solvers.solution import solve
from tests.femcore.frames import ALL, STEEL, chain, random_loaded_frame, single, tip_load, truss, turn

INF = np.inf
HINGE = End(springs=(INF, INF, INF, INF, 0.0, INF))
FREE_TWIST = End(springs=(INF, INF, INF, 0.0, INF, INF))


def mechanism(frame, loads=None):
    """The mechanism that solving the frame must meet."""
    with pytest.raises(Mechanism) as caught:
        solve(frame, loads or Loads.zeros(frame, "none"))
    words = str(caught.value)
    assert words.count(".") == 0 or "…" in words, "one sentence"
    assert ";" in words, "what is wrong; what would cure it"
    return caught.value


def line(names, ends=None, held=None, stiffness=STEEL):
    """Beams one after another along x at 1 m, with given ends of the later ones and supports."""
    builder = FrameBuilder()
    for x, name in enumerate(names):
        builder.node(name, (x, 0, 0))
    for number, (a, b) in enumerate(pairwise(names)):
        builder.beam(a + b, [a, b], stiffness, start=(ends or {}).get(number, End()))
    for name, freedoms in (held or {}).items():
        builder.support(name, freedoms)
    return builder.build()


def test_a_free_frame_moves_as_one():
    """A frame with no support at all has six movements, and every node is in all of them."""
    found = mechanism(single(held=()))
    assert found.words.startswith(
        "the whole frame moves freely as one, in 6 ways (A: ux uy uz rx ry rz; B: ux"
    )
    assert found.moving == dict.fromkeys("AB", ("ux", "uy", "uz", "rx", "ry", "rz"))


@pytest.mark.parametrize(
    ("left_out", "freedoms"),
    [(0, "ux"), (1, "uy"), (2, "uz"), (3, "uy uz rx"), (4, "ux uz ry"), (5, "ux uy rz")],
)
def test_one_support_left_out_is_named(left_out, freedoms):
    """A frame fixed in all but one freedom moves freely as one in just that one, and in what its turning
    moves.
    """
    frame = single(held=(), to=(1.0, 1.0, 1.0))
    frame.fixed[0] = True
    frame.fixed[0, left_out] = False
    found = mechanism(frame)
    assert found.words.startswith("the whole frame moves freely as one (")
    assert found.moving["B"] == tuple(freedoms.split())
    assert "; add a support" in found.words


@pytest.mark.parametrize("divide", [1, 2, 7])
@pytest.mark.parametrize("direction", [(1, 0, 0), (0.3, -0.5, 0.8)])
def test_a_spinning_beam_is_named(divide, direction):
    """A beam whose ends hold no rotation about its axis spins: it is named, however many elements it has and
    however it lies.
    """
    frame = single(held=(0, 1, 2), far=(0, 1, 2), to=direction, divide=divide, up=(0.1, 0.2, 0.9))
    found = mechanism(frame)
    assert found.rotating == ("AB",)
    assert found.words.startswith("beam 'AB' turns freely about its own axis")


@pytest.mark.parametrize("divide", [1, 2, 5])
def test_a_beam_free_to_twist_at_both_ends_is_named(divide):
    """A beam released in twist at both ends spins between whatever holds its nodes."""
    frame = single(far=ALL, divide=divide, start=FREE_TWIST, end=FREE_TWIST)
    found = mechanism(frame)
    assert found.rotating == ("AB",)
    assert "turns freely about its own axis" in found.words


def test_both_of_two_spinning_beams_are_named():
    """Where two beams spin, both are named."""
    builder = FrameBuilder()
    for name, at in (("A", (0, 0, 0)), ("B", (2, 0, 0)), ("C", (2, 2, 0))):
        builder.node(name, at)
        builder.support(name, ALL)
    for a, b in ("AB", "BC"):
        builder.beam(a + b, [a, b], STEEL, divide=2, start=FREE_TWIST, end=FREE_TWIST)
    assert set(mechanism(builder.build()).rotating) == {"AB", "BC"}


def test_a_chain_of_hinges_is_found():
    """Three hinges in a line let the beam between them fall, and only its nodes are named."""
    frame = line("ABCD", ends={1: HINGE, 2: HINGE}, held={"A": ALL, "D": (0, 1, 2)})
    found = mechanism(frame)
    assert set(found.moving) == {"B", "C", "D"} or set(found.moving) == {"C", "D"}
    assert "uz" in found.moving["C"]


def test_a_beam_loose_in_itself_names_its_releases():
    """A beam released so that it moves between its own ends is named with those releases."""
    slide = End(springs=(0.0, INF, INF, INF, INF, INF))
    found = mechanism(single(far=ALL, start=slide, end=slide))
    assert (
        found.words
        == "beam 'AB' moves freely between its ends (start: ux; end: ux released); hold one of these"
    )


def test_a_collinear_joint_of_a_truss_is_found():
    """Two bars in one line resist nothing across it at the joint between them."""
    frame = truss([(-1, 0, 0), (1, 0, 0)])
    found = mechanism(frame, tip_load(frame, "P", [0, 0, 1, 0, 0, 0]))
    assert found.moving == {"P": ("uz",)}


def test_an_inner_node_of_a_bar_is_found():
    """A bar without bending stiffness cut into elements has nothing to hold its inner nodes across it."""
    builder = FrameBuilder()
    builder.node("A", (0, 0, 0))
    builder.node("B", (1, 0, 0))
    builder.beam("AB", ["A", "B"], Stiffness(1e6), divide=3)
    for name in "AB":
        builder.support(name, (0, 1, 2))
    found = mechanism(builder.build())
    assert set(found.moving) == {"within 'AB'"}
    assert {"uy", "uz"} <= set(found.moving["within 'AB'"])


def test_a_moment_on_an_idle_rotation_has_no_answer():
    """A moment on a pinned joint of bars, which nothing there resists, is refused by case, node and
    freedom.
    """
    frame = truss([(-0.6, 0, 0.8), (0.6, 0, 0.8)])
    found = mechanism(frame, tip_load(frame, "P", [0, 0, 0, 0, 1.0, 0], "twisted"))
    assert "case 'twisted' puts a moment on node 'P'" in found.words
    assert found.moving == {"P": ("ry",)}


def test_a_node_that_nothing_holds_is_found():
    """A node that no beam or spring reaches moves freely."""
    builder = FrameBuilder()
    for name, at in (("A", (0, 0, 0)), ("B", (1, 0, 0)), ("lost", (0, 5, 0))):
        builder.node(name, at)
    builder.beam("AB", ["A", "B"], STEEL)
    builder.support("A", ALL)
    assert set(mechanism(builder.build()).moving) == {"lost"}


@pytest.mark.parametrize("seed", range(6))
def test_turning_a_mechanism_leaves_it_one(seed):
    """Hinges about an axis across the beams make a mechanism whatever the orientation of the frame."""
    R = turn(np.random.default_rng(seed))
    builder = FrameBuilder()
    for x, name in enumerate("ABCD"):
        builder.node(name, x * R[0])
    for number, (a, b) in enumerate(("AB", "BC", "CD")):
        builder.beam(a + b, [a, b], STEEL, up=R[2], start=HINGE if number else End())
    builder.support("A", ALL)
    builder.support("D", (0, 1, 2))
    assert "C" in mechanism(builder.build()).moving


@pytest.mark.parametrize("seed", range(6))
def test_a_random_frame_without_supports_is_a_mechanism(seed):
    """Any frame with neither support nor spring to ground moves freely, six ways."""
    frame = random_loaded_frame(seed).frame
    frame.fixed[frame.ground_nodes < 0] = False
    frame.springs[frame.ground_nodes[frame.spring_ends[:, 1]] >= 0] = 0.0
    assert mechanism(frame).words.startswith(
        "the whole frame moves freely as one, in 6 ways (0: ux uy uz rx ry rz;"
    )


@pytest.mark.parametrize("elements", [100, 1_000, 4_000])
def test_a_long_chain_is_no_mechanism(elements):
    """A legitimate chain, however soft its tip, is solved."""
    frame = chain(elements)
    solve(frame, tip_load(frame, "B", [0, 0, 1, 0, 0, 0]))


@pytest.mark.parametrize("k", [1e-3, 1.0, 1e3])
def test_a_soft_hinge_is_no_mechanism(k):
    """A hinge chain with the softest of springs in its hinges is no mechanism."""
    soft = End(springs=(INF, INF, INF, INF, k, INF))
    frame = line("ABCD", ends={1: soft, 2: soft}, held={"A": ALL, "D": (0, 1, 2)})
    answer = solve(frame, tip_load(frame, "C", [0, 0, 1, 0, 0, 0]))
    assert answer.error[0] < 1e-6


@pytest.mark.parametrize("shrink", [1e-3, 1.0, 1e3])
@pytest.mark.parametrize("weaken", [1e-6, 1.0, 1e6])
def test_finding_does_not_depend_on_units(shrink, weaken):
    """A mechanism stays one, and a sound frame sound, in any scale of length and of stiffness."""
    scaled = Stiffness(*(weaken * k for k in (2e8, 3e5 * shrink**2, 8e5 * shrink**2, 1e5 * shrink**2)))
    sound = single(scaled, to=(shrink, 0, 0), divide=3)
    solve(sound, tip_load(sound, "B", [0, 0, 1, 0, 0, 0]))
    mechanism(single(scaled, to=(shrink, 0, 0), divide=3, held=(0, 1, 2, 3, 5)))
