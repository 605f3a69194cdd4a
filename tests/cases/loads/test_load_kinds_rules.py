"""Published rules' loads: their formulas by number, the loads that stand for them by statics."""

import math

import numpy as np
import pytest
from pydantic import ValidationError

from cases.loads.connecting import abs_rules, bv, dnv, dnv_acceleration
from cases.loads.deck_diving import diving_load
from femcore.base.errors import InputFault
from models.response.front_end import build
from models.response.joint_loads import joint_loads
from tests.cases.loads.load_kinds import RIGID, acting, answer, boat, case
from tests.models.boats import MIRROR

G = 9.80665
KNOT = 1852 / 3600


def test_the_diving_rule_by_number():
    """62.63 and 10.88 kN for 10 t, d = 2.5 m, L_WL = 12 m (BV yacht rules, Pt B, Ch 6, Sec 3, [3])."""
    load = diving_load(10e3, 2.5, 12.0)
    assert load.vertical == pytest.approx(62630.1, rel=1e-6)
    assert load.horizontal == pytest.approx(10875.6, rel=1e-5)


@pytest.mark.parametrize(
    ("keys", "over"), [({}, 1.0), ({"fore_end": "2.3 m"}, 2.3), ({"fore_end": "4 m"}, 4.0)]
)
def test_a_diving_bow_is_pushed_up_and_aft_over_its_fore_end(keys, over):
    """The rule's forces act at the middle of what is under water, on the bow's own line."""
    on = boat()
    (dive,) = case("deck diving", displacement="10 t", waterline="12 m", **keys).expand(on)
    load = diving_load(10e3, over, 12.0)
    force = np.array([-load.horizontal, 0.0, load.vertical])
    got = acting(build(on, RIGID), dive)
    assert got == pytest.approx([*force, *np.cross((4 - over / 2, 3.0, 0.5), force)], rel=1e-10, abs=1e-6)


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
        case("deck diving", displacement="10 t", waterline="12 m").expand(boat(station=4.0))
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
    moments = abs_rules(1000.0, 12.0, 6.0, 0.0)
    assert (moments.transverse, moments.pitch, moments.shear) == pytest.approx(
        (2.5e3 * 6, 1.25e3 * 12, 2.5e3)
    )


def test_two_rules_agree_on_the_pitch_connecting_moment():
    """DNV's Δ a L/8 and the joint rules' 0.125 Δ L a g are one formula (both from memory)."""
    arguments = (9e3, 13.0, 6.4, 1.3 * G)
    assert dnv(*arguments).pitch == pytest.approx(bv(*arguments).pitch, rel=1e-12)
    assert bv(*arguments).pitch == pytest.approx(0.125 * 9 * 13 * 1.3 * G * 1e3, rel=1e-12)
    assert bv(*arguments).transverse == pytest.approx(9 * 6.4 * 1.3 * G / 5 * 1e3, rel=1e-12)
    assert bv(*arguments).shear == pytest.approx(9 * 1.3 * G / 4 * 1e3, rel=1e-12)


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
    assert loads["70% transverse bending + pitch connecting"] == pytest.approx(0.7 * bending + pitch, **close)
    assert loads["transverse bending + 70% pitch connecting"] == pytest.approx(bending + 0.7 * pitch, **close)


def test_lever_and_share_may_be_given():
    """A longer lever makes the stem forces less, a larger share the roll moments more."""
    given = expanded("bv-hsc", lever="9 m", front_share=0.5)
    moments = case("connecting", rule="bv-hsc", **CRAFT).moments(6.0)
    assert given["pitch connecting"].loads()[0].force[2] == pytest.approx(moments.pitch / 9, rel=1e-12)
    assert given["transverse bending"].loads()[0].moment[0] == pytest.approx(
        moments.transverse / 2, rel=1e-12
    )


def test_only_a_rule_with_a_formula_takes_a_speed():
    """Speed and acceleration are not both given; speed only where the rule makes one of the other."""
    plain = {key: value for key, value in CRAFT.items() if key != "acceleration"}
    with pytest.raises(ValidationError, match="has no formula here"):
        case("connecting", rule="abs-hsc", speed="10 kt", **plain)
    with pytest.raises(ValidationError, match="has acceleration and speed"):
        case("connecting", rule="dnv-hslc", speed="10 kt", **CRAFT)
    fast = case("connecting", rule="dnv-hslc", speed="5 kt", **plain).moments(6.0)
    assert fast.pitch == pytest.approx(9e3 * 9.81 * 12 / 8, rel=1e-12)
