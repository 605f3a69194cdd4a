"""The boat lifted, aground and at its mooring: statics by hand, shares, and the bridle."""

import math

import numpy as np
import pytest
from pydantic import ValidationError

from femcore.base.errors import InputFault
from models.response.front_end import build
from models.response.joint_loads import joint_loads
from tests.cases.loads.load_kinds import RIGID, acting, answer, boat, case
from tests.models.boats import springs

G = 9.80665


def test_slings_carry_their_share_by_hand():
    """8 t in four slings, 1.25 for the crane: 24.5 kN under each bow, 3 m ahead of the root; upright legs pull nowhere else."""
    on = boat()
    (one,) = case("slings", displacement="8 t").expand(on)
    each = 8000 * G / 4 * 1.25
    whole = acting(build(on, RIGID), one)
    assert whole == pytest.approx([0, 0, 2 * each, 0, -3.0 * 2 * each, 0], rel=1e-9, abs=1e-6)
    assert one.words().startswith("slings with 24.5 kN up in each")


@pytest.mark.parametrize(("hook", "inwards"), [("3 m", 1.0), ("6 m", 0.5), ("300 m", 0.01)])
def test_legs_to_one_hook_pull_the_hulls_inwards(hook, inwards):
    """V tan θ, tan θ = half the spacing (3 m) over the hook's height; a hook far up pulls upright."""
    (one,) = case("slings", displacement="8 t", hook=hook).expand(boat())
    port, starboard = one.lines()
    assert port.force[1] / port.force[2] == pytest.approx(-inwards, rel=1e-9)
    assert starboard.force[1] == pytest.approx(-port.force[1], rel=1e-12)


def test_legs_that_lean_inwards_compress_the_crossbeam():
    """Slings at the beam push the hulls together, and the beam pushes them apart."""
    _, solution = answer(boat(), RIGID, case("slings", displacement="8 t", hook="3 m"))
    load = joint_loads(solution)[0]
    assert load[0, 1] > 0 > load[1, 1]


def test_slings_beyond_the_stem_are_refused():
    """The bow is 4 m long."""
    with pytest.raises(
        InputFault, match=r"slings: station: 4.2 m is ahead of the stems; give a station up to"
    ):
        case("slings", displacement="8 t", station="4.2 m").expand(boat())


@pytest.mark.parametrize("share", [0.25, 0.4])
def test_aground_on_one_bow_by_hand(share):
    """s Δ g under the port stem; on rock with friction 0.5 half as much aft."""
    on = boat()
    one = case("grounding", displacement="8 t", share=share, friction=0.5)
    assert acting(build(on, RIGID), one)[:3] == pytest.approx(
        [-share * 8000 * G / 2, 0, share * 8000 * G], rel=1e-12
    )
    assert one.load_level == "extreme"
    assert one.origin().inside


def test_aground_the_most_is_taken_where_nothing_is_known():
    """0.4 of 8 t: 31.4 kN."""
    assert case("grounding", displacement="8 t").upward == pytest.approx(31381, rel=1e-4)
    assert case("grounding", displacement="8 t", share=0.6).origin().inside is False


def test_a_snatch_is_a_mooring_so_many_times_as_hard():
    """2.5 times the steady 6 kN is 15 kN: from ahead 9.375 kN in each leg of a 3:4:5 bridle, and both together the pull."""
    on = boat()
    cases = case("snatch", steady="6 kN", leg="5 m").expand(on)
    assert len(cases) == 3
    ahead = cases[1]
    assert math.hypot(*ahead.loads()[0].force) == pytest.approx(9375, rel=1e-9)
    front = build(on, RIGID)
    angle = math.radians(40)
    for one, side in zip(cases, (-1, 0, 1), strict=True):
        pull = [15e3 * math.cos(side * angle), 15e3 * math.sin(side * angle), 0]
        assert acting(front, one)[:3] == pytest.approx(pull, rel=1e-9, abs=1e-6)


def test_the_steady_pull_of_a_wind_by_hand():
    """½ × 1.225 × 16 m² × 20² = 3.92 kN."""
    one = case("snatch", wind="20 m/s", windage="16 m**2", leg="5 m")
    assert one.steady_pull == pytest.approx(3920, rel=1e-12)
    with pytest.raises(ValidationError, match="has none of windage"):
        case("snatch", wind="20 m/s", leg="5 m")
    with pytest.raises(ValidationError, match="has steady and wind"):
        case("snatch", steady="4 kN", wind="20 m/s", windage="16 m**2", leg="5 m")


def docked(on, joint=RIGID, **keys):
    """The force, N, of 8 t at 0.3 m/s, and the movement of the port stem under it, m, with that joint."""
    one = case("docking", displacement="8 t", **keys)
    (made,) = one.expand(on)
    front, solution = answer(on, joint, made)
    moved = solution.displacement[0, front.frame.node_index[front.places["port stem"].node], :3]
    force = np.array(made.loads()[0].force)
    return np.linalg.norm(force), float(moved @ force / np.linalg.norm(force))


@pytest.mark.parametrize("way", ["abeam", "ahead"])
def test_docking_puts_the_boats_energy_into_the_frame(way):
    """½ F u of the solved frame is ½ m v², 360 J, whatever its stiffness."""
    force, moved = docked(boat(), way=way)
    assert 0.5 * force * moved == pytest.approx(0.5 * 8000 * 0.3**2, rel=1e-9)


def test_a_fender_takes_its_share_of_the_energy():
    """½ F u + ½ F²/k of a fender of 50 kN/m are 360 J; no more than a fender alone would pass, v √(m k) = 6 kN."""
    force, moved = docked(boat(), fender="50 kN/m")
    assert 0.5 * force * moved + 0.5 * force**2 / 50e3 == pytest.approx(360.0, rel=1e-9)
    assert force < 0.3 * math.sqrt(8000 * 50e3) < docked(boat())[0]


def test_no_joint_makes_the_front_end_stiffer_than_a_rigid_one():
    """With a free joint the stem moves no less under the same force: its own F would be no larger."""
    _, rigid = docked(boat())
    _, soft = docked(boat(), joint=springs(roll=1e3, yaw=1e3, pitch=1e3))
    assert soft > rigid


def test_a_dock_pushes_the_bow_inwards_or_aft():
    """From outboard to starboard on the port bow, and the mirror image; twice the speed is twice the force."""
    port, starboard, ahead, fast = (
        case("docking", displacement="8 t", **keys).expand(boat())[0].loads()[0].force
        for keys in ({}, {"side": "starboard"}, {"way": "ahead"}, {"speed": "0.6 m/s"})
    )
    assert port[1] < 0 < starboard[1]
    assert starboard[1] == pytest.approx(-port[1], rel=1e-9)
    assert ahead[0] < 0 == ahead[1]
    assert fast == pytest.approx(2 * np.array(port), rel=1e-9)
