"""The stay's tension by several methods against hand statics, and what else of a rig pulls on the bows."""

import math

import numpy as np
import pytest
from pydantic import ValidationError

from cases.loads.pull import pull_vector
from cases.loads.tension import METHODS, TensionEstimate
from femcore.base.errors import InputFault
from models.response.front_end import build
from models.response.joint_loads import joint_loads
from tests.cases.loads.load_kinds import RIGID, acting, answer, boat, boat_with_longeron, case
from tests.models.boats import MIRROR

G = 9.80665
NORDIC = {"hoist": "14 m", "freeboard": "1.3 m"}
STATICS = {"stay_foot": "4 m", "mainsheet": "10 kN", "sheet_aft": "4.5 m", "shrouds_aft": "0.8 m"}
SAG = {"side_load": "300 N/m", "length": "15 m", "sag": "0.15 m"}
MOMENT = {"righting_moment": "60 kN*m"}


def estimate(*parts, **more):
    """A table of estimates from pieces of one."""
    table = {}
    for part in (*parts, more):
        table |= part
    return TensionEstimate.model_validate(table)


def tension(data, method, spacing=6.0, rake=0.0):
    """N, by one method."""
    return {one.method: one.tension for one in data.tension_range(spacing, rake).estimates}[method]


def test_the_nordic_standard_gives_breaking_loads():
    """15 RM/(I + FS) for a masthead rig, 12 for a fractional one: 58.8 kN for 60 kN·m and 14 + 1.3 m."""
    masthead = estimate(MOMENT, NORDIC, SAG, rig="masthead", wire_factor=1)
    assert tension(masthead, "nordic standard") == pytest.approx(58823.5, rel=1e-5)
    fractional = estimate(MOMENT, NORDIC, SAG, wire_factor=2)
    assert tension(fractional, "nordic standard") == pytest.approx(58823.5 * 12 / 15 / 2, rel=1e-5)


def test_a_sagging_stay_is_a_parabola():
    """T = w L²/(8 s): 300 N/m over 15 m sagging 1 % is 56.25 kN (statics)."""
    assert tension(estimate(MOMENT, NORDIC, SAG), "sag") == pytest.approx(56250, rel=1e-12)


@pytest.mark.parametrize("rake", [0.0, 14.0])
def test_the_mast_is_in_balance_about_its_foot(rake):
    """Stay, sheet, shroud and drive, each a force at its own place, make no moment about the foot."""
    angle, base = math.radians(rake), 3.0
    T = tension(estimate(MOMENT, STATICS, NORDIC), "mast statics", rake=angle)
    # what each pulls on mast and sails, (x, z), and where, (x, z)
    acts = [
        ((T * math.sin(angle), -T * math.cos(angle)), (4.0, 0.0)),
        ((0.0, -10e3), (-4.5, 0.0)),
        ((0.0, -60e3 / base), (-0.8, 0.0)),
        ((0.4 * 60e3 / 7.0, 0.0), (0.0, 7.0)),
    ]
    moments = [z * fx - x * fz for (fx, fz), (x, z) in acts]
    assert sum(moments) == pytest.approx(0, abs=1e-9 * max(map(abs, moments)))


WEAK = {"mainsheet": "1 N", "shrouds_aft": "0 m"}


def test_a_method_that_gives_no_pull_is_left_out():
    """Where drive tips the mast further than sheet and shrouds hold it, mast statics has no answer, and that is said."""
    keys = MOMENT | STATICS | NORDIC | WEAK
    (stay,) = case("rig", rake="10 deg", estimate=keys).expand(boat())
    assert [one.method for one in stay.tension_range.estimates] == ["nordic standard"]
    assert [one.method for one in stay.tension_range.excluded] == ["mast statics"]
    assert stay.tension == stay.tension_range.lowest == stay.tension_range.highest > 0
    assert "(largest of 1 estimate; mast statics gives no pull and is left out)" in stay.words()


def test_a_method_that_gives_no_pull_is_refused_when_taken():
    """A tension of nought or less is nothing that a stay could be taken to have."""
    keys = MOMENT | STATICS | NORDIC | WEAK
    with pytest.raises(
        InputFault, match="estimate: take: 'mast statics' gives no pull on the stay but −6 kN; take another"
    ):
        case("rig", rake="0 deg", estimate=keys | {"take": "mast statics"}).expand(boat())


def test_mast_statics_comes_with_its_sensitivity_to_the_drive():
    """dT/d drive = −RM/J: ±0.1 of 60 kN·m over 4 m is ±1.5 kN about 9.25 kN; said in the case's words."""
    (stay,) = case("rig", rake="0 deg", estimate=MOMENT | STATICS | NORDIC).expand(boat())
    one = next(one for one in stay.tension_range.estimates if one.method == "mast statics")
    assert one.at_drives == pytest.approx((one.tension - 1500, one.tension + 1500), rel=1e-12)
    assert one.usable_alone
    assert "mast statics gives 7.75 kN to 10.8 kN as the drive varies by ±0.1" in stay.words()


def test_mast_statics_is_not_usable_alone_where_the_drive_changes_it_fourfold():
    """Sheet and shrouds of 33 kN·m against a drive of 24: 0.75 to 3.75 kN. It counts beside others; alone it is refused."""
    keys = MOMENT | STATICS | NORDIC | {"mainsheet": "6 kN", "shrouds_aft": "0.3 m"}
    (stay,) = case("rig", rake="0 deg", estimate=keys).expand(boat())
    one = next(one for one in stay.tension_range.estimates if one.method == "mast statics")
    assert one.at_drives == pytest.approx((750, 3750), rel=1e-9)
    assert not one.usable_alone
    assert stay.words().endswith("as the drive varies by ±0.1: not usable alone)")
    with pytest.raises(
        InputFault,
        match=r"estimate: take: mast statics gives 750 N to 3.75 kN .*: not usable alone; take another",
    ):
        case("rig", rake="0 deg", estimate=keys | {"take": "mast statics"}).expand(boat())


def test_flying_a_hull_is_displacement_times_half_the_spacing():
    """The righting moment of a hull just lifted is the weight at half the spacing; or `share` of it."""
    assert estimate({"displacement": "9 t"}, NORDIC, SAG).moment(6.4) == pytest.approx(
        9000 * G * 3.2, rel=1e-12
    )
    assert estimate({"displacement": "9 t"}, NORDIC, SAG, share=0.6).moment(6.4) == pytest.approx(
        0.6 * 9000 * G * 3.2, rel=1e-12
    )
    assert estimate(MOMENT, NORDIC, SAG, share=0.5).moment(6.4) == pytest.approx(30e3, rel=1e-12)


def test_all_estimates_scale_with_the_boat():
    """Those by righting moment go with it where the sheet does too; that by sag does not know of it."""
    one = estimate(MOMENT, NORDIC, STATICS, SAG).tension_range(6.0, 0.2)
    two = estimate(NORDIC, STATICS, SAG, righting_moment="120 kN*m", mainsheet="20 kN").tension_range(
        6.0, 0.2
    )
    ratio = [b.tension / a.tension for a, b in zip(one.estimates, two.estimates, strict=True)]
    assert ratio == pytest.approx([2.0, 2.0, 1.0], rel=1e-12)


@pytest.mark.parametrize("take", ["largest", "smallest", "mean", *METHODS])
def test_the_case_takes_what_it_says_and_shows_the_spread(take):
    """The tension is the stated one of the estimates; the words name it and how far they lie apart."""
    stay = case("rig", rake="10 deg", estimate=MOMENT | NORDIC | STATICS | SAG | {"take": take})
    (taken,) = stay.expand(boat())
    values = {one.method: one.tension for one in taken.tension_range.estimates}
    picked = {"largest": max, "smallest": min, "mean": lambda v: sum(v) / 3}.get(take)
    assert taken.tension == pytest.approx(picked(values.values()) if picked else values[take], rel=1e-12)
    assert (taken.tension_range.lowest, taken.tension_range.highest) == (
        min(values.values()),
        max(values.values()),
    )
    assert f"{take} of 3 estimates" in taken.words()
    assert all(one.source for one in taken.tension_range.estimates)


def test_a_tension_still_to_be_estimated_is_no_number():
    """Before it is expanded on a boat, an estimated stay has no pull."""
    with pytest.raises(ValueError, match="expand"):
        _ = case("rig", rake="10 deg", estimate=MOMENT | NORDIC | SAG).pull


def test_a_rig_with_pretension_is_also_a_case_at_rest():
    """At rest the stay alone pulls with its pretension; under way an estimate is never taken for less."""
    low = MOMENT | NORDIC | SAG | {"take": "nordic standard", "wire_factor": 10}
    stay = case(
        "rig", rake="10 deg", estimate=low, pretension="30 kN", side_load="300 N/m", length="15 m",
        also=[{"place": "port stem", "force": "0 0 1 kN"}],
    )  # fmt: skip
    sailing, rest = stay.expand(boat())
    assert (sailing.name, rest.name) == ("one", "one, pretension alone")
    assert sailing.tension == rest.tension == 30e3
    front = build(boat(), RIGID)
    assert acting(front, rest)[:3] == pytest.approx(pull_vector(30e3, math.radians(10)), rel=1e-12)
    assert acting(front, sailing)[:3] - acting(front, rest)[:3] == pytest.approx(
        [0, 300 * 15 / 2, 1000], abs=1e-8
    )


def test_half_of_a_headsails_side_load_comes_to_the_foot():
    """A stay hung between its ends under w bows out w L²/8T, and its ends pull aside w L/2 each (statics)."""
    stay = case("rig", tension="20 kN", rake="0 deg", side_load="-200 N/m", length="12 m")
    pull, side = stay.loads()
    assert pull.force == pytest.approx((0.0, 0.0, 20e3))
    assert side.force == pytest.approx((0.0, -1200.0, 0.0))
    assert stay.sag == pytest.approx(200 * 144 / (8 * 20e3), rel=1e-12)
    slope = 4 * stay.sag / 12  # of a parabola at its end
    assert abs(side.force[1]) / 20e3 == pytest.approx(slope, rel=1e-12)


def test_an_inner_stay_pulls_at_its_own_place():
    """Further stays add their own pulls at their own places."""
    inner = {"place": "beam centre", "tension": "5 kN", "rake": "20 deg"}
    stay = case("rig", tension="20 kN", rake="10 deg", inner=[inner])
    both = np.array(pull_vector(20e3, math.radians(10))) + pull_vector(5e3, math.radians(20))
    assert acting(build(boat(), RIGID), stay)[:3] == pytest.approx(both, rel=1e-12)
    lost = case("rig", tension="1 kN", rake="0 deg", inner=[inner | {"place": "mast"}])
    assert "place 'mast' does not exist" in str(lost.faults(["stay", "beam centre"])[0])


@pytest.mark.parametrize(("rake", "lean"), [(10, 0), (-20, 0), (5, 25), (-30, -40)])
def test_a_tack_pulls_with_its_tension_along_its_line(rake, lean):
    """The pull has the tension's size; rake turns it aft, lean to port; its moment is the tip's."""
    on = boat_with_longeron(prod=1.2)
    tack = case("tack", tension="9 kN", rake=f"{rake} deg", lean=f"{lean} deg")
    got = acting(build(on, RIGID), tack)
    assert np.linalg.norm(got[:3]) == pytest.approx(9e3, rel=1e-12)
    assert math.degrees(math.atan2(-got[0], got[2])) == pytest.approx(rake, abs=1e-9)
    assert math.degrees(math.asin(got[1] / 9e3)) == pytest.approx(lean, abs=1e-9)
    assert got[3:] == pytest.approx(np.cross((4.2, 0.0, 0.5), got[:3]), rel=1e-11, abs=1e-8)


def test_a_tack_to_the_other_side_is_the_mirror_image():
    """Leaning to port and to starboard load the joints as mirror images of one another."""
    on = boat_with_longeron(prod=1.2)
    _, solution = answer(
        on, RIGID, case("tack", tension="9 kN", rake="5 deg", lean="20 deg", both_sides=True)
    )
    to_port, to_starboard = joint_loads(solution)
    assert to_starboard[::-1] * MIRROR == pytest.approx(to_port, rel=1e-9, abs=1e-7)


@pytest.mark.parametrize(
    ("keys", "said"),
    [
        ({"rake": "10 deg"}, "has none of tension, estimate"),
        (
            {"rake": "10 deg", "tension": "1 kN", "estimate": MOMENT | NORDIC | SAG},
            "has tension and estimate",
        ),
        ({"rake": "10 deg", "estimate": MOMENT | NORDIC}, "fewer than two methods"),
        ({"rake": "10 deg", "estimate": NORDIC | SAG}, "fewer than two methods"),
        ({"rake": "10 deg", "estimate": MOMENT | NORDIC | SAG | {"take": "mast statics"}}, "stay_foot"),
        ({"rake": "10 deg", "estimate": MOMENT | {"displacement": "9 t"} | NORDIC | SAG}, "and displacement"),
        ({"rake": "95 deg", "tension": "1 kN"}, "not that of a stay"),
        ({"rake": "10 deg", "tension": "1 kN", "side_load": "1 N/m"}, "no length"),
    ],
)
def test_what_a_rig_needs_is_said(keys, said):
    """A rig without a tension, with two, or with too little to estimate one, is a fault in words."""
    with pytest.raises(ValidationError, match=said):
        case("rig", **keys)
