"""Published rules' loads: their formulas by number, the loads that stand for them by statics."""

import math

import numpy as np
import pytest
from pydantic import ValidationError

from cases.loads.connecting import abs_rules, bv, dnv, dnv_acceleration
from cases.loads.deck_diving import diving_load
from femcore.base.errors import InputFault
from femcore.solvers.solution import solve
from models.boat.platform import HullAftStation, Platform, PlatformMember
from models.response.front_end import build
from models.response.joint_loads import differential_heave, joint_loads
from models.response.platform_frame import platform_response
from tests.cases.loads.load_kinds import RIGID, acting, answer, as_loads, boat, case
from tests.models.boats import MIRROR

G = 9.80665
KNOT = 1852 / 3600


def test_the_diving_rule_by_number():
    """62.63 and 10.88 kN for 10 t, d = 2.5 m, L_WL = 12 m (BV yacht rules, Pt B, Ch 6, Sec 3, [3])."""
    load = diving_load(10e3, 2.5, 12.0)
    assert load.vertical == pytest.approx(62630.1, rel=1e-6)
    assert load.horizontal == pytest.approx(10875.6, rel=1e-5)


AFT = {"greatest_at": "aft"}


@pytest.mark.parametrize(
    ("keys", "over", "share"),
    [
        ({}, 4.0, 2 / 3),
        ({"ahead": "deck"}, 1.0, 2 / 3),
        ({"fore_end": "2.3 m"}, 2.3, 2 / 3),
        ({"fore_end": "2.3 m", "ahead": "deck"} | AFT, 2.3, 1 / 3),
        (AFT, 4.0, 1 / 3),
    ],
)
def test_a_diving_bow_is_pushed_up_and_aft_over_its_fore_end(keys, over, share):
    """The rule's forces, linear over what is under water, act at two thirds of it from the end that has none, on the bow's line.

    With a net ahead of the bulkhead d runs from there to the stem, with a deck ahead from the crossbeam.
    """
    on = boat()
    (dive,) = case("deck diving", displacement="10 t", waterline="12 m", **keys).expand(on)
    load = diving_load(10e3, over, 12.0)
    force = np.array([-load.horizontal, 0.0, load.vertical])
    got = acting(build(on, RIGID), dive)
    at = (4 - over + share * over, 3.0, 0.5)
    assert got == pytest.approx([*force, *np.cross(at, force)], rel=1e-10, abs=1e-6)


def test_a_net_ahead_of_the_bulkhead_makes_the_dive_as_much_larger_as_it_is_longer():
    """F' is proportional to d (the rule): 4 m from the bulkhead for 1 m from the crossbeam is four times the force."""
    net, deck = (
        acting(
            build(boat(), RIGID),
            *case("deck diving", displacement="10 t", waterline="12 m", ahead=key).expand(boat()),
        )
        for key in ("net", "deck")
    )
    assert net[:3] == pytest.approx(4 * deck[:3], rel=1e-12, abs=1e-9)


@pytest.mark.parametrize("ahead", ["net", "deck"])
def test_a_dive_that_is_greatest_at_the_stem_is_the_worse(ahead):
    """More of the load further from the root bends the bow more: every joint moment and the stem's rise are greater."""
    dives = [
        case("deck diving", displacement="10 t", waterline="12 m", ahead=ahead, greatest_at=end)
        for end in ("stem", "aft")
    ]
    front, solution = answer(boat(), RIGID, *dives)
    loads = np.abs(joint_loads(solution)[..., 3:]).max(axis=1)
    assert (loads[0] >= loads[1] * (1 - 1e-9)).all()
    assert loads[0, 1] > 1.15 * loads[1, 1]
    rise = solution.displacement[:, front.frame.node_index["port stem"], 2]
    assert rise[0] > 1.1 * rise[1] > 0


def test_the_other_bow_dives_as_its_mirror_image():
    """Port and starboard diving load the joints as mirror images."""
    dives = [
        case("deck diving", displacement="10 t", waterline="12 m", side=side)
        for side in ("port", "starboard")
    ]
    port, starboard = joint_loads(answer(boat(), RIGID, *dives)[1])
    assert starboard[::-1] * MIRROR == pytest.approx(port, rel=1e-9, abs=1e-7)


def test_a_bow_without_fore_end_cannot_dive():
    """A crossbeam at the stems leaves no bow ahead of it: the length is to be given."""
    with pytest.raises(InputFault, match="fore_end"):
        case("deck diving", displacement="10 t", waterline="12 m", ahead="deck").expand(boat(station=4.0))
    with pytest.raises(InputFault, match="no length of the bow"):
        case("deck diving", displacement="10 t", waterline="12 m", fore_end="5 m").expand(boat())


def test_the_high_speed_rules_by_number():
    """DNV: 9.664 m/s² at 20 kn, 20 m, at least 1 g; S = 16.35 kN for 10 t, 1 g, R4; ABS: 2.5, 1.25."""
    assert dnv_acceleration(20 * KNOT, 20.0) == 9.81
    assert dnv_acceleration(20 * KNOT, 20.0, restriction="R5") == pytest.approx(9.66401, rel=1e-5)
    fastest = [dnv_acceleration(knots * KNOT, 20.0, 2.0) for knots in (3 * math.sqrt(20), 99)]
    assert fastest[0] == pytest.approx(fastest[1], rel=1e-12)
    assert dnv(10e3, 12.0, 6.0, 9.81, "R4").shear == pytest.approx(16350, rel=1e-12)
    assert dnv(10e3, 12.0, 6.0, 10.0, "R4").transverse == pytest.approx(10e3 * 10 * 6 / 8, rel=1e-12)
    assert dnv(10e3, 12.0, 6.0, 9.81, "R4").torsion == pytest.approx(10e3 * 9.81 * 6 / 4, rel=1e-12)
    assert dnv(10e3, 12.0, 6.0, 9.81, "R4").pitch == pytest.approx(10e3 * 9.81 * 12 / 8, rel=1e-12)
    moments = abs_rules(1000.0, 12.0, 6.0, 0.0)
    assert (moments.transverse, moments.pitch, moments.shear) == pytest.approx(
        (2.5e3 * 6, 1.25e3 * 12, 2.5e3)
    )


def test_two_rules_agree_on_the_pitch_connecting_moment():
    """DNV's Δ a L/8 and the joint rules' 0.125 Δ L a g are one formula (both from memory)."""
    gentle, arguments = (9e3, 13.0, 6.4, 0.8 * G), (9e3, 13.0, 6.4, 1.3 * G)
    assert dnv(*gentle).pitch == pytest.approx(bv(*gentle).pitch, rel=1e-12)
    assert bv(*gentle).pitch == pytest.approx(0.125 * 9 * 13 * 0.8 * G * 1e3, rel=1e-12)
    assert bv(*arguments).transverse == pytest.approx(9 * 6.4 * 1.3 * G / 5 * 1e3, rel=1e-12)
    assert bv(*arguments).shear == pytest.approx(9 * 1.3 * G / 4 * 1e3, rel=1e-12)


@pytest.mark.parametrize("rule", [dnv, bv])
@pytest.mark.parametrize("acceleration", [1.0 * G, 1.3 * G, 6.0 * G])
def test_beyond_1_g_only_transverse_bending_grows(rule, acceleration):
    """Pitch connecting and torsional moments take at most 1 g (from memory); transverse bending takes the acceleration whole."""
    at_1_g, beyond = rule(9e3, 13.0, 6.4, G), rule(9e3, 13.0, 6.4, acceleration)
    g_of_both = 5e-4
    assert beyond.pitch == pytest.approx(at_1_g.pitch, rel=g_of_both)
    assert (beyond.torsion or 0.0) == pytest.approx(at_1_g.torsion or 0.0, rel=g_of_both)
    assert beyond.transverse == pytest.approx(at_1_g.transverse * acceleration / G, rel=1e-12)
    assert ("taken as 1 g" in beyond.formulas["pitch"]) == (acceleration > G)


CRAFT = {"displacement": "9 t", "length": "12 m", "acceleration": "10 m/s**2"}


def expanded(rule, **keys):
    """The cases of a rule on the plain boat, by what follows the case's name."""
    cases = case("connecting", rule=rule, **CRAFT | keys).expand(boat())
    return {one.name.removeprefix("one, "): one for one in cases}


@pytest.mark.parametrize("rule", ["dnv-hslc", "abs-hsc", "bv-hsc"])
def test_loads_on_the_bows_make_the_rules_moments(rule):
    """Stem force × lever is the pitch connecting moment, stem force × spacing the torsional one."""
    cases, front = expanded(rule), build(boat(), RIGID)
    moments = case("connecting", rule=rule, **CRAFT).moments(6.0)
    port = cases["pitch connecting"].loads()[0]
    assert port.force[2] * 12 / 2 == pytest.approx(moments.pitch, rel=1e-12)
    assert acting(front, cases["pitch connecting"])[[0, 1, 2, 4]] == pytest.approx(0, abs=1e-6)
    bent = cases["transverse bending"].loads()
    assert [load.moment[0] for load in bent] == pytest.approx(
        [moments.transverse * 4 / 12, -moments.transverse * 4 / 12]
    )
    assert acting(front, cases["transverse bending"]) == pytest.approx(0, abs=1e-6)
    assert ("torsion" in cases) == (rule == "dnv-hslc") == (moments.torsion is not None)
    if moments.torsion is not None:
        assert acting(front, cases["torsion"]) == pytest.approx([0, 0, 0, moments.torsion, 0, 0], abs=1e-6)


def test_the_rules_own_combinations():
    """70 % of transverse bending with all of pitch connecting, and the other way round (DNV Sec.3 A802)."""
    cases, front = expanded("dnv-hslc"), build(boat(), RIGID)
    loads = {name: joint_loads(answer(boat(), RIGID, one)[1])[0] for name, one in cases.items()}
    assert acting(front, cases["torsion"]).any()
    bending, pitch = loads["transverse bending"], loads["pitch connecting"]
    close = {"rel": 1e-9, "abs": 1e-6}
    for sense, reversed_ in ((1, ""), (-1, "reversed ")):
        weaker, whole = f"70% {reversed_}transverse bending", f"{reversed_}transverse bending"
        assert loads[whole] == pytest.approx(sense * bending, **close)
        assert loads[f"{weaker} + pitch connecting"] == pytest.approx(sense * 0.7 * bending + pitch, **close)
        assert loads[f"{whole} + 70% pitch connecting"] == pytest.approx(
            sense * bending + 0.7 * pitch, **close
        )


@pytest.mark.parametrize("rule", ["dnv-hslc", "abs-hsc", "bv-hsc"])
def test_pitch_connecting_and_torsion_are_never_in_one_case(rule):
    """They are one load about two axes: no case of any rule has both."""
    for one in expanded(rule).values():
        assert not {"pitch connecting", "torsion"} <= one.sea_loads()
        assert one.sea_loads()


def test_transverse_bending_says_which_way():
    """Keels pushed apart in one sense, together in the other; the size is the same."""
    cases = expanded("bv-hsc")
    words = [cases[name].words() for name in ("transverse bending", "reversed transverse bending")]
    assert words[0].endswith("keels apart")
    assert words[1] == words[0].replace("apart", "together")


def test_lever_and_share_may_be_given():
    """A longer lever makes the stem forces less, a larger share the roll moments more."""
    given = expanded("bv-hsc", lever="9 m", front_share=0.5)
    moments = case("connecting", rule="bv-hsc", **CRAFT).moments(6.0)
    assert given["pitch connecting"].loads()[0].force[2] == pytest.approx(moments.pitch / 9, rel=1e-12)
    assert given["transverse bending"].loads()[0].moment[0] == pytest.approx(
        moments.transverse / 2, rel=1e-12
    )


def test_on_a_platform_the_rules_pitch_connecting_moment_is_what_twists_it():
    """The pair at the stems has its lever to the twist centre, so rigid hulls turn by the moment's φ/M: w = 2 φ (a − x_c)."""
    stiff = dict.fromkeys(("EI_vertical", "EI_lateral", "GJ", "EA"), 1e14)
    deck = {"EI_vertical": 8e6, "EI_lateral": 50e6, "GJ": 1e6, "EA": 900e6, "height": 0.5}
    members = [PlatformMember(name=f"at {x:g}", station=x, **deck) for x in (0.0, -4.0)]
    on = boat(bow=stiff, platform=Platform(members=members, hulls=[HullAftStation(at=0.0, **stiff)]))
    cases = case("connecting", rule="bv-hsc", **CRAFT).expand(on)
    (pitch,) = [one for one in cases if one.name.endswith("pitch connecting")]
    moments, found = case("connecting", rule="bv-hsc", **CRAFT).moments(6.0), platform_response(on)
    front = build(on, None)
    movement = differential_heave(front, solve(front.frame, as_loads(front, pitch)))[0]
    lever = 4.0 - found.twist_centre
    assert movement == pytest.approx(2 * moments.pitch * found.twist_per_moment * lever, rel=1e-5)


def test_only_a_rule_with_a_formula_takes_a_speed():
    """Speed and acceleration are not both given; speed only where the rule makes one of the other."""
    plain = {key: value for key, value in CRAFT.items() if key != "acceleration"}
    with pytest.raises(ValidationError, match="has no formula here"):
        case("connecting", rule="abs-hsc", speed="10 kt", **plain)
    with pytest.raises(ValidationError, match="has acceleration and speed"):
        case("connecting", rule="dnv-hslc", speed="10 kt", **CRAFT)
    fast = case("connecting", rule="dnv-hslc", speed="5 kt", **plain).moments(6.0)
    assert fast.pitch == pytest.approx(9e3 * 9.81 * 12 / 8, rel=1e-12)
