"""Load cases: the stay's pull by its own trigonometry, racking by force and by movement, loads at places."""

import math

import numpy as np
import pytest
from pydantic import ValidationError

from cases.loads import LOAD_CASES, LoadCase, nodal_loads
from cases.loads.base import ImposedMovement
from cases.loads.rig import stay_line
from models.response.front_end import build
from tests.models.boats import LONGERON, joint_loads_on_hulls, load, plain, springs

TONNE = 9806.65


def case(kind, **keys):
    """A load case of that kind as a file gives it."""
    return LOAD_CASES[kind].model_validate({"name": "one", "kind": kind, **keys})


def rig(tension, rake):
    """A rig case, N and degrees."""
    return case("rig", tension=f"{tension!r} N", rake=f"{rake!r} deg")


@pytest.mark.parametrize("rake", [-5.0, 0.0, 14.0, 60.0])
def test_the_stay_pulls_up_and_aft(rake):
    """The pull is T (−sin ρ, 0, cos ρ): up by the cosine, aft by the sine of the rake."""
    pull = rig(4e4, rake).pull
    angle = math.radians(rake)
    assert pull == pytest.approx((-4e4 * math.sin(angle), 0, 4e4 * math.cos(angle)), rel=1e-14)
    assert np.linalg.norm(pull) == pytest.approx(4e4, rel=1e-14)
    line = stay_line(rig(4e4, rake), 0.0, 0.0)
    assert (-line.aft, 0.0, line.up) == pull
    assert line.torque == 0


def test_ten_tonnes_pull_nine_and_a_half_up_and_three_aft():
    """A stay raked so that 10 t lifts 9.5 t pulls 3.1 t aft, half of each to each side (common practice)."""
    rake = math.degrees(math.atan2(3.1, 9.5))
    line = stay_line(rig(10 * TONNE, rake), 0.0, 0.0)
    assert line.up / TONNE == pytest.approx(9.5, abs=0.05)
    assert line.aft / TONNE == pytest.approx(3.1, abs=0.05)
    port, starboard = joint_loads_on_hulls(
        plain(inboard=0.5), springs("roll"), rig(10 * TONNE, rake).loads()
    )[0]
    assert port[[0, 2]] / TONNE == pytest.approx([-3.1 / 2, 9.5 / 2], abs=0.03)
    assert starboard[[0, 2]] == pytest.approx(port[[0, 2]], rel=1e-12)


@pytest.mark.parametrize(("forward", "up"), [(0.05, 0.15), (-0.1, 0.2), (0.0, -0.3), (0.2, 0.0)])
@pytest.mark.parametrize("rake", [0.0, 12.0, -8.0])
def test_torque_is_the_pull_times_its_distance_from_the_axis(forward, up, rake):
    """The torque is y of r × T, and the offset the distance of the stay's line from the shear centre."""
    stay = rig(4e4, rake)
    line = stay_line(stay, forward, up)
    r, pull = np.array([forward, 0.0, up]), np.array(stay.pull)
    assert line.torque == pytest.approx(np.cross(r, pull)[1], rel=1e-12)
    assert abs(line.offset) == pytest.approx(np.linalg.norm(np.cross(r, pull / 4e4)), rel=1e-12)


@pytest.mark.parametrize("pitch", [np.inf, 2e5])
def test_the_joints_hold_the_stays_torque(pitch):
    """Without longeron the joint torques sum to the stay's torque about the beam, stiff joints or soft."""
    stay = {"forward": 0.06, "up": 0.17}
    torque = stay_line(rig(4e4, 13.0), **stay).torque
    loads = joint_loads_on_hulls(
        plain(stay=stay, height=0.4), springs("roll", pitch=pitch), rig(4e4, 13.0).loads()
    )[0]
    assert loads[:, 4] == pytest.approx([torque / 2] * 2, rel=1e-11)


def test_a_torque_free_attachment_leaves_the_joints_no_torque():
    """Attached where the stay's line, produced, meets the shear centre, the pull makes no torque at all."""
    forward = stay_line(rig(4e4, 13.0), 0.06, 0.17).torque_free_forward
    assert forward == pytest.approx(-0.17 * math.tan(math.radians(13.0)), rel=1e-14)
    boat = plain(stay={"forward": forward, "up": 0.17}, height=0.4)
    loads = joint_loads_on_hulls(boat, springs("roll", pitch=2e5), rig(4e4, 13.0).loads())[0]
    assert np.abs(loads[:, 4]).max() < 1e-10 * 4e4 * 0.17
    moved = plain(stay={"forward": forward + 0.01, "up": 0.17}, height=0.4)
    nudged = joint_loads_on_hulls(moved, springs("roll", pitch=2e5), rig(4e4, 13.0).loads())[0]
    assert nudged[:, 4].sum() == pytest.approx(-0.01 * 4e4 * math.cos(math.radians(13.0)), rel=1e-9)


def test_racking_is_a_pair():
    """Racking lifts the port stem and presses the starboard one down as much."""
    port, starboard = case("racking", force="4 kN").loads()
    assert (port.place, port.force) == ("port stem", (0.0, 0.0, 4000.0))
    assert (starboard.place, starboard.force) == ("starboard stem", (0.0, 0.0, -4000.0))
    assert case("racking", force="4 kN").target() is None
    assert case("racking", movement="60 mm").target() == ImposedMovement("heave of the stems", 0.06)


@pytest.mark.parametrize(
    ("keys", "words"),
    [
        ({}, "has no force, movement or twist"),
        ({"force": "1 kN", "movement": "1 mm"}, "has both force and movement"),
        ({"twist": "9 mrad", "movement": "1 mm"}, "has both movement and twist"),
        ({"force": "1 kN", "between": "hulls"}, "has between without twist"),
        (
            {"twist": "9 mrad", "line": [{"member": "port bow", "force": "0 0 1 N/m"}]},
            "has a twist and 'line'",
        ),
        ({"movement": "1 mm", "also": [{"place": "stay"}]}, "has a movement and 'also'"),
    ],
)
def test_racking_is_a_force_or_a_movement(keys, words):
    """Racking by both, by neither, or by a movement beside other loads is refused."""
    with pytest.raises(ValidationError, match=words):
        case("racking", **keys)


@pytest.mark.parametrize("rake", [90.0, -90.0, 200.0])
def test_a_stay_that_does_not_rise_is_refused(rake):
    """A rake of a right angle or more is not that of a stay."""
    with pytest.raises(ValidationError, match="is not that of a stay"):
        rig(1e3, rake)


def test_points_need_a_load():
    """A case of points without a load is refused."""
    with pytest.raises(ValidationError, match="has no loads"):
        case("points")


def test_also_adds_to_any_kind():
    """`also` is carried beside the loads of the kind itself."""
    more = [{"place": "port stem", "force": "1 2 3 kN", "moment": "4 5 6 kN*m"}]
    for kind, keys in (
        ("rig", {"tension": "1 kN", "rake": "0 deg"}),
        ("racking", {"force": "1 kN"}),
        ("points", {}),
    ):
        made = case(kind, also=more, **keys)
        assert made.all_place_loads()[:-1] == made.loads()
        assert made.all_place_loads()[-1].force == (1000.0, 2000.0, 3000.0)
        assert made.all_place_loads()[-1].moment == (4000.0, 5000.0, 6000.0)


def test_a_load_at_a_place_is_a_force_and_its_moment_at_the_node():
    """A force at the end of a place's arm acts on the node with r × F beside the moment that was entered."""
    front = build(plain(stay={"forward": 0.1, "up": 0.2}), springs())
    nodal = nodal_loads(front, [load("stay", (1e3, 2e3, 3e3), (10.0, 20.0, 30.0)), load("stay", (1e3, 0, 0))])
    at = front.frame.node_index["beam centre"]
    turn = np.add(np.cross([0.1, 0, 0.2], [2e3, 2e3, 3e3]), [10, 20, 30])
    assert nodal[at] == pytest.approx([2e3, 2e3, 3e3, *turn], rel=1e-14)
    assert not np.delete(nodal, at, axis=0).any()


def test_a_place_the_boat_lacks_is_told_with_the_nearest():
    """A load at an unknown place is a fault that names the case and the nearest place there is."""
    made = case("points", also=[{"place": "prodtip"}])
    places = build(plain(longeron=LONGERON | {"prod": 1.0}), springs()).places
    (fault,) = made.faults(places)
    assert str(fault) == "cases 'one': place 'prodtip' does not exist; did you mean 'prod tip'?"


@pytest.mark.parametrize(
    ("made", "words"),
    [
        (rig(4e4, 14.0), "stay at 40 kN, raked 14° aft of vertical"),
        (case("racking", force="4 kN"), "4 kN up at the port stem, as much down at the starboard one"),
        (case("racking", movement="60 mm"), "stems moved 60 mm apart in height"),
        (
            case("points", also=[{"place": "stay"}, {"place": "port stem"}, {"place": "stay"}]),
            "loads at stay, port stem",
        ),
    ],
)
def test_a_case_says_what_it_is(made, words):
    """Each kind tells in one line what acts."""
    assert made.words() == words


def test_every_kind_is_found_in_its_module():
    """The kinds that a file may name are those of the modules beside `base`, and each is a LoadCase."""
    assert {"points", "racking", "rig"} <= set(LOAD_CASES)
    assert all(issubclass(kind, LoadCase) for kind in LOAD_CASES.values())
