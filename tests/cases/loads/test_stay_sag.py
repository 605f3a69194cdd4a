"""A sagging stay: what its foot pulls, against statics of a cable put together from many straight pieces."""

import math

import numpy as np
import pytest
from pydantic import ValidationError

from cases.loads.rig import stay_line
from cases.loads.sag import MAX_STAY_SAG_RATIO, SaggingStay, sagging_stay_line
from femcore.base.errors import InputFault
from models.response.front_end import build
from models.response.joint_loads import joint_loads
from tests.cases.loads.load_kinds import RIGID, acting, answer, boat, case

T, RAKE, SPAN = 40e3, math.radians(13.0), 15.0
CHORD = np.array([-math.sin(RAKE), 0.0, math.cos(RAKE)])
AFT = np.array([-math.cos(RAKE), 0.0, -math.sin(RAKE)])
PORT = np.array([0.0, 1.0, 0.0])


def chain(aft, side, links=400):
    """(pull on the foot (3,) N, sag (3,) m) of a chain of links under even loads, N/m, with T along its chord.

    Each link takes up the force that is left above it; the chain must end on the chord.
    """
    load = aft * AFT + side * PORT
    foot = T * CHORD + load * SPAN / 2
    points = [np.zeros(3)]
    for link in range(links):
        force = foot - load * SPAN * (link + 0.5) / links
        points.append(points[-1] + force * SPAN / links / (force @ CHORD))
    end = points[-1]
    assert end - (end @ CHORD) * CHORD == pytest.approx(0, abs=1e-9)
    middle = points[links // 2]
    return foot, middle - (middle @ CHORD) * CHORD


def rig(**keys):
    """The stay of this file."""
    return case("rig", tension=f"{T} N", rake="13 deg", length=f"{SPAN} m", **keys)


@pytest.mark.parametrize(("aft", "side"), [(0, 400), (500, 0), (-300, 0), (700, -250)])
def test_the_foot_pulls_as_a_chain_of_links_does(aft, side):
    """Pull on the foot and sag are those of a chain of straight links in balance, each link by itself."""
    stay = rig(aft_load=f"{aft} N/m", side_load=f"{side} N/m")
    foot, sag = chain(aft, side)
    pull = np.sum([load.force for load in stay.loads() if load.place == "stay"], axis=0)
    assert pull == pytest.approx(foot, rel=1e-12, abs=1e-9)
    assert stay.sagging_stay.aft * SPAN == pytest.approx(sag @ AFT, rel=1e-5, abs=1e-9)
    assert stay.sagging_stay.side * SPAN == pytest.approx(sag @ PORT, rel=1e-5, abs=1e-9)
    assert stay.sag == pytest.approx(np.linalg.norm(sag), rel=1e-5)


def test_the_foot_leans_with_the_chains_first_link():
    """Rake and lean at the foot are the direction of the pull there: 4 s/L more than the chord's."""
    line = stay_line(rig(aft_load="500 N/m", side_load="200 N/m"), 0.03, 0.12)
    foot, _ = chain(500, 200)
    assert line.rake_at_foot == pytest.approx(math.atan2(-foot[0], foot[2]), rel=1e-12)
    assert line.lean_at_foot == pytest.approx(math.atan2(foot[1], math.hypot(foot[0], foot[2])), rel=1e-12)
    assert line.rake_at_foot - RAKE == pytest.approx(math.atan(4 * line.sag_aft), rel=1e-12)


@pytest.mark.parametrize("aft", [0.0, 0.02, -0.03, 0.12])
@pytest.mark.parametrize("side", [0.0, 0.03])
def test_torque_and_free_attachment_follow_the_line_at_the_foot(aft, side):
    """Torque is y of r × F; with the attachment moved to where it is said to be free there is none; offset is its lever."""
    sagging_stay = SaggingStay(T, RAKE, aft, side)
    line = sagging_stay_line(sagging_stay, 0.05, 0.15)
    force = np.array(sagging_stay.pull)
    assert line.torque == pytest.approx(np.cross([0.05, 0, 0.15], force)[1], rel=1e-12)
    free = sagging_stay_line(sagging_stay, line.torque_free_forward, 0.15)
    assert free.torque == pytest.approx(0, abs=1e-9 * T)
    assert line.offset * math.hypot(force[0], force[2]) == pytest.approx(line.torque, rel=1e-12)
    assert line.side == pytest.approx(4 * T * side, rel=1e-12)


def test_sag_to_the_side_makes_no_torque_and_sag_aft_does():
    """A side pull lies along the beam's axis and turns nothing about it; 2 % aft turns it by 4·2 % of T times the height."""
    straight, aside, aft = (
        sagging_stay_line(SaggingStay(T, RAKE, *sag), 0.0, 0.15) for sag in ((0, 0), (0, 0.02), (0.02, 0))
    )
    assert aside.torque == straight.torque
    assert aft.torque - straight.torque == pytest.approx(-0.15 * 4 * T * 0.02 * math.cos(RAKE), rel=1e-12)


def test_both_ends_together_carry_the_sails_whole_load():
    """The foot's part square to the chord is half of the load, 8 T s/L in all (equilibrium of the stay)."""
    stay = rig(aft_load="500 N/m", side_load="200 N/m").sagging_stay
    square = np.array(stay.pull) - T * CHORD
    assert 2 * np.linalg.norm(square) == pytest.approx(stay.load, rel=1e-12)
    assert stay.load == pytest.approx(math.hypot(500, 200) * SPAN, rel=1e-12)


def test_the_joints_hold_the_sagging_stays_torque():
    """The solver's joints share the torque of the line at the foot, on a beam whose stay stands off its axis."""
    on = boat(stay={"forward": 0.03, "up": 0.12}, height=0.4, inboard=0.5)
    stay = rig(aft_load="600 N/m", side_load="150 N/m")
    got = acting(build(on, RIGID), stay, (3.0, 0.0, 0.9))
    line = stay_line(stay, 0.03, 0.12)
    assert got[:3] == pytest.approx([-line.aft, line.side, line.up], rel=1e-11)
    assert got[4] == pytest.approx(line.torque, rel=1e-9)
    loads = joint_loads(answer(on, RIGID, stay)[1])[0]
    assert loads[:, :3].sum(axis=0) == pytest.approx([-line.aft, line.side, line.up], rel=1e-9)


@pytest.mark.parametrize("key", ["side_load", "aft_load"])
def test_a_stay_that_sags_beyond_an_eighth_is_refused(key):
    """100 N of tension does not hold 500 N/m on 16 m; at an eighth of the span, w L = T, it is the limit."""
    assert MAX_STAY_SAG_RATIO == 1 / 8
    at_limit = {"rake": "9 deg", "length": "16 m", key: "500 N/m"}
    case("rig", tension="8000.1 N", **at_limit)
    for weak in ("100 N", "7999 N", "0 N"):
        with pytest.raises(
            ValidationError, match=rf"{key} would bow out a stay of .* give it more than 8 kN of tension"
        ):
            case("rig", tension=weak, **at_limit)


def test_an_estimated_stay_is_held_to_the_same_limit():
    """What an estimate gives must hold the sail's load too."""
    estimate = {
        "righting_moment": "1 kN*m",
        "hoist": "15 m",
        "freeboard": "1 m",
        "side_load": "20 N/m",
        "length": "15 m",
    }
    keys = {
        "rake": "9 deg",
        "length": "15 m",
        "side_load": "900 N/m",
        "estimate": estimate | {"sag": "0.2 m"},
    }
    with pytest.raises(InputFault, match="rig: side_load would bow out a stay"):
        case("rig", **keys).expand(boat())
    with pytest.raises(ValidationError, match="a sag of 2 m is beyond 1/8 of the stay's 15 m"):
        case("rig", **keys | {"estimate": estimate | {"sag": "2 m"}})


def test_the_words_tell_which_way_it_bows():
    """Aft or forward, to port or starboard, each by w L²/8T."""
    said = rig(aft_load="300 N/m", side_load="-100 N/m").words()
    assert "bowed out 211 mm aft and 70.3 mm to starboard by the headsail" in said
