"""Cables against closed forms, brute force and their own limits, and the message where they support nothing."""

from itertools import product

import numpy as np
import pytest

from femcore.base.errors import InputFault, SlackSystem, StructureFault
from femcore.frame.builder import FrameBuilder, Stiffness
from femcore.frame.frame import Loads
from femcore.results.member_forces import actions_at
from femcore.solvers.solution import solve
from tests.femcore.frames import ALL

HALF, HEIGHT, EI, EA_BEAM, EA_STRAP = 3.0, 0.6, 4e5, 8e7, 6e6
SLANT = np.hypot(HALF, HEIGHT)


def strutted_beam(pretension=0.0, gripped=False, stiff=EA_STRAP):
    """A beam on hinges at both ends, a stiff striker below its middle, and a strap from end to end over it."""
    builder = FrameBuilder()
    for name, at in (("A", (-HALF, 0, 0)), ("M", (0, 0, 0)), ("B", (HALF, 0, 0)), ("S", (0, 0, -HEIGHT))):
        builder.node(name, at)
    builder.beam("beam", ["A", "M", "B"], Stiffness(EA_BEAM, EI, EI, EI))
    builder.beam("striker", ["M", "S"], Stiffness(1e13, 1e8, 1e8, 1e8), up=(1, 0, 0))
    builder.cable("strap", ["A", "S", "B"], stiff, pretension, gripped=gripped)
    builder.support("A", (0, 1, 2, 3))
    builder.support("B", (1, 2))
    return builder.build()


def load_at(frame, node, force, name="load"):
    """One case with a force on a node."""
    loads = Loads.zeros(frame, name)
    loads.nodal[0, frame.node_index[node], :3] = force
    return loads


def strap_tension(weight, stiff=EA_STRAP):
    """N, by the force method: the strap's stretch under the load over that under its own unit tension."""
    lift, squeeze = 2 * HEIGHT / SLANT, HALF / SLANT
    sag = (2 * HALF) ** 3 / (48 * EI)
    own = lift**2 * sag + squeeze**2 * 2 * HALF / EA_BEAM + 2 * SLANT / stiff
    return weight * lift * sag / own


def test_a_strap_over_a_striker_pulls_by_the_force_method():
    """Over a striker of height h at mid-span a strap of tension T lifts with 2Th/√(s² + h²) and squeezes the beam with
    Ts/√(s² + h²); T follows from the stretch of all three.
    """
    frame, weight = strutted_beam(), 8e3
    answer = solve(frame, load_at(frame, "M", (0, 0, -weight)))
    T = strap_tension(weight)
    assert answer.tension[0, 0] == pytest.approx(T, rel=1e-6)
    beam, striker = (frame.members[name].first for name in ("beam", "striker"))
    N = actions_at(answer, [beam, striker], [0.5, 0.5])[0, :, 0]
    np.testing.assert_allclose(N, [-T * HALF / SLANT, -2 * T * HEIGHT / SLANT], rtol=1e-7)
    sag = (weight - 2 * T * HEIGHT / SLANT) * (2 * HALF) ** 3 / (48 * EI)
    assert answer.displacement[0, frame.node_index["M"], 2] == pytest.approx(-sag, rel=1e-7)
    assert answer.balance[0] < 1e-15
    assert answer.error[0] < 1e-12


def test_pushed_the_other_way_the_strap_hangs_slack():
    """Under a load that lifts the beam the strap is slack, and the beam bends as if it were not there."""
    frame, lift = strutted_beam(), 8e3
    answer = solve(frame, load_at(frame, "M", (0, 0, lift)))
    assert answer.slack[0, 0]
    assert answer.tension[0, 0] == 0
    bare = lift * (2 * HALF) ** 3 / (48 * EI)
    assert answer.displacement[0, frame.node_index["M"], 2] == pytest.approx(bare, rel=1e-9)


def test_a_strap_that_slips_has_one_tension_and_a_gripped_one_two():
    """Under a side force on the striker a slipping strap keeps one tension along its path; gripped, it pulls more on
    one side than on the other and holds the striker.
    """
    moved = []
    for gripped in (False, True):
        frame = strutted_beam(5e3, gripped)
        answer = solve(frame, load_at(frame, "S", (1e3, 0, 0)))
        moved.append(answer.displacement[0, frame.node_index["S"], 0])
        assert len(answer.tension[0]) == 1 + gripped
        if gripped:
            assert answer.tension[0, 0] - answer.tension[0, 1] > 500
    assert moved[1] < 0.5 * moved[0]


@pytest.mark.parametrize("bent", [False, True])
def test_pretension_alone_bends_the_frame_and_is_what_is_left(bent):
    """With no load the strap has its pretension p, and the beam is bent and compressed by it."""
    p = 2e3
    frame = strutted_beam(p)
    answer = solve(frame, Loads.zeros(frame, "rest"), bent)
    assert answer.tension[0, 0] == pytest.approx(p, rel=1e-7)
    hump = 2 * p * HEIGHT / SLANT * (2 * HALF) ** 3 / (48 * EI)
    shorter = p * HALF / SLANT * 2 * HALF / EA_BEAM
    found = answer.displacement[0, frame.node_index["M"], 2], answer.displacement[0, frame.node_index["B"], 0]
    np.testing.assert_allclose(found, (hump, -shorter), rtol=0.01 if bent else 1e-8, atol=5e-5 if bent else 0)


def soft_mast(gripped):
    """A slender mast, built in, with three guys of unlike stiffness and a strap that runs over two of its nodes."""
    builder = FrameBuilder()
    for name, at in (("foot", (0, 0, 0)), ("mid", (0, 0, 4)), ("top", (0, 0, 8))):
        builder.node(name, at)
    builder.beam("mast", ["foot", "mid", "top"], Stiffness(2e7, 1e5, 1.5e5, 1e5), up=(1, 0, 0), divide=3)
    for number, angle in enumerate((0.3, 2.2, 4.4)):
        name = builder.node(f"ground {number}", (4 * np.cos(angle), 4 * np.sin(angle), 0))
        builder.support(name, ALL)
        builder.cable(f"guy {number}", [name, "top"], 10 ** (5 + 0.5 * number), 300.0 * (number + 1))
    builder.node("spreader", (1, 0, 4))
    builder.beam("arm", ["mid", "spreader"], Stiffness(1e7, 1e4, 1e4, 1e4))
    builder.cable("strap", ["ground 0", "spreader", "top"], 1e6, 500.0, gripped=gripped)
    builder.support("foot", ALL)
    return builder.build()


@pytest.mark.parametrize("bent", [False, True])
@pytest.mark.parametrize("gripped", [False, True])
def test_pretension_is_measured_at_rest_for_all_cables_together(bent, gripped):
    """In a soft frame that deforms by a hundredth of its size, each of several cables ends with the pretension
    asked for, slipping or gripped, in the linear frame and in the deformed shape.
    """
    frame = soft_mast(gripped)
    answer = solve(frame, Loads.zeros(frame, "rest"), bent)
    np.testing.assert_allclose(answer.tension[0], frame.cables.pretension, rtol=1e-7 if bent else 1e-10)
    assert np.abs(answer.displacement[0, :, :3]).max() > 0.005 * frame.size
    assert answer.balance[0] < 1e-6


@pytest.mark.parametrize("bent", [False, True])
def test_turning_the_load_round_swaps_the_slack_guy(bent):
    """In a symmetric guyed mast the guy that a side load slackens is the one that its mirror image tightens."""
    builder = FrameBuilder()
    builder.node("foot", (0, 0, 0))
    builder.node("top", (0, 0, 6))
    builder.beam("mast", ["foot", "top"], Stiffness(5e7, 2e5, 2e5, 2e5), up=(1, 0, 0), divide=2)
    for name, x in (("left", -3), ("right", 3)):
        builder.node(name, (x, 0, 0))
        builder.support(name, ALL)
        builder.cable(name, [name, "top"], 2e6, 200.0)
    builder.support("foot", ALL)
    frame = builder.build()
    loads = Loads.zeros(frame, "to the right", "to the left")
    loads.nodal[:, 1, 0] = (3e3, -3e3)
    answer = solve(frame, loads, bent)
    np.testing.assert_array_equal(answer.slack, [[False, True], [True, False]])
    np.testing.assert_allclose(answer.tension[0], answer.tension[1, ::-1], rtol=1e-9)
    np.testing.assert_allclose(answer.displacement[0, 1, 0], -answer.displacement[1, 1, 0], rtol=1e-9)


def star(angles, EA, reach=5.0):
    """A node supported in a plane by cables alone to anchors around it."""
    builder = FrameBuilder()
    builder.node("P", (0, 0, 0))
    builder.support("P", (2, 3, 4, 5))
    for number, (angle, stiff) in enumerate(zip(angles, EA, strict=True)):
        name = builder.node(f"Q{number}", (reach * np.cos(angle), reach * np.sin(angle), 0))
        builder.support(name, ALL)
        builder.cable(f"cable {number}", [name, "P"], stiff)
    return builder.build()


def star_tensions(angles, EA, force, reach=5.0):
    """All states of equilibrium, by trying every set of taut cables; at its limit a cable counts either way."""
    g = -np.column_stack([np.cos(angles), np.sin(angles)])
    k = np.asarray(EA) / reach
    for taut in product((False, True), repeat=len(k)):
        on = np.array(taut)
        K = (k[on, None] * g[on]).T @ g[on]
        if on.sum() < 2 or np.linalg.cond(K) > 1e10:
            continue
        t = k * (g @ np.linalg.solve(K, force))
        little = 1e-9 * np.abs(t).max()
        if np.all(t[on] >= -little) and np.all(t[~on] <= little):
            yield np.where(on, np.maximum(t, 0), 0)


@pytest.mark.parametrize("seed", range(24))
def test_cables_at_their_limit_are_told_taut_or_slack(seed):
    """Held by nothing but 3 to 6 cables, spread at random, evenly, or evenly to seven digits, and pulled straight
    along or across some of them so that others are just about to slacken, a node has the tensions that brute force
    finds; where it finds none the system is refused. Where those that pull leave the node some play it may be.
    """
    rng = np.random.default_rng(seed)
    count, kind = int(rng.integers(3, 7)), seed % 3
    angles = rng.uniform(0, 2 * np.pi, count) if kind == 0 else np.arange(count) * 2 * np.pi / count
    angles = angles + (kind == 2) * rng.uniform(-1e-7, 1e-7, count)
    EA = 10 ** rng.uniform(4, 8, count) if kind == 0 else np.full(count, 1e6)
    along = angles[rng.integers(count)] + (rng.integers(0, 8) * np.pi / 8 if kind else 0.1)
    force = -1e3 * np.array([np.cos(along), np.sin(along)])
    frame, wanted = star(angles, EA), list(star_tensions(angles, EA, force))
    try:
        found = solve(frame, load_at(frame, "P", (*force, 0))).tension[0]
    except SlackSystem:
        assert not any(_leave_no_play(angles, each) for each in wanted)
    else:
        assert np.all(found >= 0)
        assert min(np.abs(found - each).max() for each in wanted) < 1e-3


def _leave_no_play(angles, tensions):
    """Whether the cables that do pull would hold the node by themselves."""
    pulling = angles[tensions > 1e-6]
    return np.linalg.matrix_rank(np.column_stack([np.cos(pulling), np.sin(pulling)]), 1e-5) == 2


def guyed_mast(pretension=0.0):
    """A mast on a ball joint, supported by one guy."""
    builder = FrameBuilder()
    builder.node("foot", (0, 0, 0))
    builder.node("top", (0, 0, 5))
    builder.node("anchor", (-3, 0, 0))
    builder.beam("mast", ["foot", "top"], Stiffness(1e8, 1e5, 1e5, 1e5), up=(1, 0, 0))
    builder.cable("guy", ["anchor", "top"], 1e6, pretension)
    builder.support("foot", (0, 1, 2, 3, 5))
    builder.support("top", (1,))
    builder.support("anchor", ALL)
    return builder.build()


def test_a_mast_held_by_one_guy_stands_against_one_side_only():
    """Pulled away from its only guy a mast is in equilibrium, the guy's tension that of statics; pulled towards it, it falls: a
    slack system, exit status 3, which names case, cable and what moves.
    """
    frame = guyed_mast()
    away = solve(frame, load_at(frame, "top", (1e3, 0, 0)))
    assert away.tension[0, 0] == pytest.approx(1e3 * np.hypot(3, 5) / 3, rel=1e-12)
    with pytest.raises(
        SlackSystem, match=r"case 'towards' is held by nothing once guy goes slack: .*top: ux"
    ) as fault:
        solve(frame, load_at(frame, "top", (-1e3, 0, 0), "towards"))
    assert fault.value.exit_status == 3


def test_pretension_needs_something_to_pull_against():
    """Pretension in a guy that nothing pulls against is a fault of the input, which names the guy."""
    frame = guyed_mast(500.0)
    for bent in (False, True):
        with pytest.raises(InputFault, match="pretension of guy is resisted by nothing"):
            solve(frame, load_at(frame, "top", (1e3, 0, 0)), bent)


def test_two_cables_in_a_line_do_not_hold_what_lies_across():
    """Pulled across, a node between two cables, or two bars, in one line but for the rounding of its drawing is refused,
    not moved by light years.
    """
    for stiff in (None, Stiffness(1e6)):
        builder = FrameBuilder()
        builder.node("P", (0, 0, 0))
        builder.support("P", (2, 3, 4, 5))
        for number, angle in enumerate((0, np.pi)):
            name = builder.node(f"Q{number}", (5 * np.cos(angle), 5 * np.sin(angle), 0))
            builder.support(name, ALL)
            if stiff is None:
                builder.cable(name, [name, "P"], 1e6)
            else:
                builder.beam(name, [name, "P"], stiff)
        frame = builder.build()
        with pytest.raises(StructureFault, match=r"rounding of its coordinates|without resistance"):
            solve(frame, load_at(frame, "P", (600, 800, 0)))


def test_a_soft_strap_tends_to_none_and_a_stiff_one_to_a_rod():
    """As EA tends to 0 the strap's tension tends to 0 in proportion to EA; as EA tends to infinity, to that of a rod that
    does not stretch, in proportion to 1/EA.
    """
    tensions = []
    for stiff in (1e1, 1e2, 1e13, 1e14):
        frame = strutted_beam(stiff=stiff)
        tensions.append(solve(frame, load_at(frame, "M", (0, 0, -8e3))).tension[0, 0])
        assert tensions[-1] == pytest.approx(strap_tension(8e3, stiff), rel=1e-5)
    assert tensions[1] / tensions[0] == pytest.approx(10, rel=1e-3)
    assert tensions[3] == pytest.approx(strap_tension(8e3, np.inf), rel=1e-5)


@pytest.mark.parametrize("bent", [False, True])
def test_warmth_slackens_a_cable(bent):
    """Between rigid anchors, a temperature change ΔT takes EA α ΔT off a cable's tension (true length: over 1 + α ΔT), and
    all of it once that exceeds the pretension.
    """
    builder = FrameBuilder()
    for name, x in (("A", 0), ("B", 4), ("P", 8)):
        builder.node(name, (x, 0, 0))
        builder.support(name, ALL)
    builder.support("P", ())
    builder.beam("beside", ["B", "P"], Stiffness(1e6, 1e4, 1e4, 1e4))
    builder.cable("stay", ["A", "B"], 1e6, 400.0, expansion=2e-5)
    frame = builder.build()
    frame.fixed[2] = False
    loads = Loads.zeros(frame, "warm", "hot", "cold")
    loads.cable_temperature_change[:, 0] = (10.0, 30.0, -10.0)
    answer = solve(frame, loads, bent)
    free = 1 / (1 + 400.0 / 1e6)
    true = [max(1e6 * (1 / (free * (1 + 2e-5 * t)) - 1), 0) for t in (10, 30, -10)]
    np.testing.assert_allclose(answer.tension[:, 0], true if bent else [200, 0, 600], rtol=1e-9, atol=1e-9)
    np.testing.assert_array_equal(answer.slack[:, 0], [False, True, False])


def test_a_frame_stressed_only_in_itself_is_in_balance():
    """A frame that is separate from others and stressed by its own strap alone has reactions of rounding, and no
    imbalance that would refuse it.
    """
    for bent in (False, True):
        frame = strutted_beam(1e5)
        answer = solve(frame, Loads.zeros(frame, "rest"), bent)
        assert np.abs(answer.reactions).max() < 1e-5
        assert answer.balance[0] < 1e-6
