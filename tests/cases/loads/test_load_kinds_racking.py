"""How the bows are racked: along the hulls by a rule, by a measured twist, by the rig's drive; each against hand statics."""

import numpy as np
import pytest
from pydantic import ValidationError

from cases.analyses.solved_cases import solve_cases
from cases.analyses.sweep import sweep
from cases.loads import case_loads
from cases.loads.connecting import dnv
from cases.loads.hull_load import along_hulls
from femcore.base.errors import InputFault
from models.boat.platform import HullAftStation, Platform, PlatformMember
from models.response.front_end import build
from models.response.joint_loads import crossbeam_twist, hull_twist, joint_loads, root_actions
from models.response.platform_frame import platform_response
from tests.cases.loads.load_kinds import RIGID, acting, answer, boat, case
from tests.models.boats import ANGULAR, LINEAR, boat_file_of, springs

STIFF = dict.fromkeys(("EI_vertical", "EI_lateral", "GJ", "EA"), 1e14)
DECK = {"EI_vertical": 8e6, "EI_lateral": 50e6, "GJ": 1e6, "EA": 900e6, "height": 0.5}
PLATFORM = Platform(
    members=[PlatformMember(name=f"at {x:g}", station=x, **DECK) for x in (0.0, -4.0)],
    hulls=[HullAftStation(at=0.0, **STIFF)],
)
FREE = springs(**dict.fromkeys(LINEAR + ANGULAR, 1.0))
"""So soft that the crossbeam carries nothing, and still has a place."""
CRAFT = {"displacement": "10 t", "length": "12.8 m", "acceleration": "9.81 m/s**2"}
NO_LOAD = pytest.approx(np.zeros(6), abs=1e-6)


def on_platform(**keys):
    """The plain boat on the platform; its bows stiff where nothing else is said."""
    return boat(**{"platform": PLATFORM, "bow": STIFF} | keys)


def along(length=12.0, on=None, **keys):
    """The rule's pitch connecting moment along hulls of that length, on the plain boat or another."""
    given = CRAFT | {"length": f"{length} m"} | keys
    cases = case("connecting", rule="dnv-hslc", pitch_load="hulls", **given).expand(on or boat())
    return next(one for one in cases if one.name == "one, pitch connecting along the hulls")


def bow_root_moment(front, solution):
    """(c,), N·m, in the port bow at its root: what holds it there, without what acts on the hull at the root itself."""
    _, held = root_actions(front, solution)
    return held[:, 0, 4] + solution.loads.nodal[:, front.frame.node_index["port root"], 4]


def test_a_racking_force_is_a_pair():
    """Up at the port stem and down at the starboard one, 3 m off the centreline each: no force in all, 2 × 3 m × 4 kN of roll."""
    assert acting(build(boat(), RIGID), case("racking", force="4 kN")) == pytest.approx(
        [0, 0, 0, 24e3, 0, 0], abs=1e-6
    )


@pytest.mark.parametrize("length", [4.5, 7.0, 8.0, 12.0])
def test_the_load_along_the_hulls_is_in_equilibrium(length):
    """Half of each hull up and half down, the other hull reversed: no force and no moment in all, wherever the hulls end."""
    assert acting(build(boat(), RIGID), along(length)) == NO_LOAD


@pytest.mark.parametrize("length", [4.5, 7.0, 8.0, 12.0])
def test_each_hull_has_the_rules_moment_about_any_point(length):
    """M = q L²/4 on the port hull, bow up, about the bulkhead and about any other point, as its total force is zero."""
    placed, lines = along_hulls(boat(), 100e3, length)
    for about in (0.0, -3.0, 4.0):
        force = pitch = 0.0
        for load in lines:
            if load.member == "port bow":
                line, extent = load.force[2], load.end - load.begin
                force += line * extent
                pitch += line * extent * ((load.begin + load.end) / 2 - about)
        (rest,) = [load for load in placed if load.place.startswith("port")]
        force, pitch = force + rest.force[2], pitch - rest.force[2] * about - rest.moment[1]
        assert force == pytest.approx(0, abs=1e-9)
        assert pitch == pytest.approx(100e3, rel=1e-12)


def test_aft_of_the_bulkhead_the_load_is_on_the_hulls_own_beams():
    """q = 4 M/L², L = 12.8 m, last member at −4 m: +q to −2.4 m, −q to −4 m; of the 4.8 m beyond −4.8 q, 11.52 q bow up."""
    placed, lines = along_hulls(on_platform(), 100e3, 12.8)
    q = 4 * 100e3 / 12.8**2
    port = [(one.member, one.begin, one.end, one.force[2]) for one in lines if one.member.startswith("port")]
    assert sorted(port, key=lambda row: row[1]) == [
        ("port hull aft", -4.0, pytest.approx(-2.4), pytest.approx(-q)),
        ("port hull aft", pytest.approx(-2.4), 0.0, pytest.approx(q)),
        ("port bow", 0.0, 4.0, pytest.approx(q)),
    ]
    (rest,) = [one for one in placed if one.place.startswith("port")]
    assert rest.place == "port hull at last member"
    assert rest.force == pytest.approx((0, 0, -4.8 * q))
    assert rest.moment == pytest.approx((0, -11.52 * q, 0))
    assert not along_hulls(on_platform(), 100e3, 7.9)[0], (
        "hulls that end on the platform leave nothing beyond it"
    )


@pytest.mark.parametrize("length", [4.5, 7.0, 8.0, 12.0])
def test_on_a_platform_the_load_is_in_equilibrium_too(length):
    """Wherever the hulls end: no force and no moment in all, and the rule's moment on each hull twists the platform."""
    on = on_platform()
    assert acting(build(on, RIGID), along(length, on=on)) == NO_LOAD


def test_a_quarter_of_the_boat_on_each_quarter_of_the_hulls_makes_the_rules_moment():
    """q L/2 = Δ a/4: 10 t at 9.81 m/s² over 12.8 m is 3.83 kN/m, and M_P = Δ a L/8 = 157 kN·m (by hand)."""
    moment = dnv(10e3, 12.8, 6.4, 9.81).pitch
    assert moment == pytest.approx(156.96e3, rel=1e-12)
    _, lines = along_hulls(boat(), moment, 12.8)
    assert lines[0].force[2] == pytest.approx(10e3 * 9.81 / (2 * 12.8), rel=1e-12)


def test_the_bows_root_bends_by_its_own_part_of_the_load():
    """q x²/2 over bows of 4 m without a crossbeam's help: 10 t, 12 m: 4.0875 kN/m × 8 m² = 32.7 kN·m, in any platform."""
    for on in (boat(), on_platform()):
        front, solution = answer(on, FREE, along())
        assert bow_root_moment(front, solution) == pytest.approx(
            [10e3 * 9.81 / (2 * 12) * 4**2 / 2], rel=1e-5
        )


def test_both_ways_of_applying_a_rules_moment_twist_the_platform_alike():
    """φ = M φ/M of the platform alone, by the pair at the stems and by the load along the hulls, where hulls are rigid."""
    on = on_platform()
    cases = case("connecting", rule="dnv-hslc", **CRAFT).expand(on)
    both = [one for one in cases if one.sea_loads() == {"pitch connecting"}]
    assert [one.name for one in both] == ["one, pitch connecting", "one, pitch connecting along the hulls"]
    front, solution = answer(on, FREE, *both)
    expected = 2 * dnv(10e3, 12.8, 6.0, 9.81).pitch * platform_response(on).twist_per_moment
    assert hull_twist(front, solution) == pytest.approx([expected, expected], rel=1e-5)


def test_the_pair_at_the_stems_bends_the_bows_roots_more():
    """M a/(a − x_c) at the root against q a²/2: for the same twist the pair bends the bows more, by hand."""
    on = on_platform()
    cases = [
        one for one in case("connecting", rule="dnv-hslc", **CRAFT).expand(on) if len(one.sea_loads()) == 1
    ]
    front, solution = answer(on, FREE, *[one for one in cases if "pitch" in one.name])
    moment = dnv(10e3, 12.8, 6.0, 9.81).pitch
    lever = 4 - platform_response(on).twist_centre
    by_hand = [moment * 4 / lever, 4 * moment / 12.8**2 * 4**2 / 2]
    assert bow_root_moment(front, solution) == pytest.approx(by_hand, rel=1e-5)
    assert by_hand[0] > 2 * by_hand[1]


def test_hulls_no_longer_than_the_bows_are_refused():
    """A length of 4 m from the stems ends at the bulkhead."""
    with pytest.raises(InputFault, match="no longer than the bows"):
        along(4.0)


@pytest.mark.parametrize("joint", [springs(pitch=2e5), springs("roll"), RIGID])
@pytest.mark.parametrize(
    "on", [on_platform(bow=None), boat(root={"pitch": 6e6})], ids=["platform", "root spring"]
)
@pytest.mark.parametrize(
    ("between", "reading"), [("hulls", hull_twist), ("bulkhead and crossbeam", crossbeam_twist)]
)
def test_a_measured_twist_is_reached_with_every_joint(joint, on, between, reading):
    """The reading of the solved boat is the twist entered, times the scale."""
    one = case("racking", twist="9 mrad", between=between, scale=-1.5)
    done = solve_cases(on, "one", joint, one.expand(on))
    assert reading(done.front, done.solution) == pytest.approx([-13.5e-3], rel=1e-9)


def test_a_twist_of_hull_against_hull_is_that_of_the_platforms_stiffness():
    """Without help of the crossbeam M = φ/(φ/M), φ half the twist; the bows ride along and nothing bends them."""
    on = on_platform(bow=None)
    done = solve_cases(on, "one", FREE, [case("racking", twist="9 mrad")])
    root = done.front.frame.node_index["port root"]
    applied = -done.solution.loads.nodal[0, root, 4]
    assert applied == pytest.approx(4.5e-3 / platform_response(on).twist_per_moment, rel=1e-6)
    assert np.abs(joint_loads(done.solution)).max() < 1e-5 * applied


def test_the_line_across_the_bows_rolls_by_the_twist_times_its_distance():
    """Rigid hulls pitched apart by 2 φ: roll at the crossbeam less that at the bulkhead is 2 φ x_beam/s, 3 m and 6 m here."""
    done = solve_cases(on_platform(), "one", FREE, [case("racking", twist="8 mrad")])
    assert crossbeam_twist(done.front, done.solution) == pytest.approx([8e-3 * 3 / 6], rel=1e-5)


def test_a_sweep_reaches_a_measured_twist_too():
    """Torque of a swept joint under a measured twist is that of the joint solved on its own."""
    one = {"name": "measured", "kind": "racking", "twist": "9 mrad"}
    joint = {"name": "socket", "kind": "sprung", "pitch": "300 kN*m/rad"}
    file = boat_file_of([joint], [one], inboard=0.5, station=3.0, platform=PLATFORM)
    swept = sweep(file, joint="socket", pitch=[2e5])
    own = solve_cases(file, "own", springs(pitch=2e5), file.load_cases)
    assert swept.joint_load[0, 0, :, 4] == pytest.approx(own.loads[0, :, 4], rel=1e-8)


def test_nothing_twists_on_rigid_roots():
    """Roots rigid in pitch have no twist to be imposed."""
    with pytest.raises(InputFault, match="nothing can twist"):
        case("racking", twist="9 mrad").expand(boat())


def test_the_rigs_drive_twists_by_half_its_moment_times_the_difference_of_shares():
    """M_P = ½ · 8 kN · 8 m · (0.8 − 0.2) = 19.2 kN·m on each hull, the lee bow up (by hand); none in all."""
    keys = {"drive": "8 kN", "height": "8 m", "lee_share": 0.8}
    for lee, sign in (("port", 1.0), ("starboard", -1.0)):
        (one,) = case("sail twist", lee=lee, **keys).expand(boat())
        port = one.loads()[0]
        assert (port.place, port.moment[1]) == (
            "port hull at bulkhead",
            pytest.approx(-sign * 19.2e3, rel=1e-12),
        )
        assert acting(build(boat(), RIGID), one) == NO_LOAD
        assert not one.sea_loads(), "a steady load is no sea's"
    (spread,) = case("sail twist", length="12 m", **keys).expand(boat())
    front = build(boat(), RIGID)
    assert acting(front, spread) == NO_LOAD
    assert case_loads(front, [spread]).line.any()


@pytest.mark.parametrize("share", [0.5, 1.1])
def test_a_lee_share_is_more_than_half_and_no_more_than_all(share):
    """An upright boat is not twisted, and no hull bears more than the boat."""
    with pytest.raises(ValidationError):
        case("sail twist", drive="8 kN", height="8 m", lee_share=share)
