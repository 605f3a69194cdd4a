"""Every way to know how large the racking is, beside what was entered: each number by hand statics."""

import json
from dataclasses import replace

import pytest

from cases.analyses.analysis import analyse
from cases.input.known_boat import BoatTable
from cases.report.data.results import results
from cases.report.sections.racking_section import racking_section, racking_sentences
from models.boat.platform import Platform, PlatformMember
from models.response.platform_frame import platform_response
from tests.models.boats import boat_file_of, example_boat

DECK = {"EI_vertical": 20e6, "EI_lateral": 60e6, "GJ": 0.6e6, "EA": 300e6, "height": 1.0}
PLATFORM = Platform(
    members=(
        PlatformMember(name="main bulkhead", station=0.0, end_roll=40e6, GA_vertical=50e6, **DECK),
        PlatformMember(name="aft beam", station=-5.0, **DECK),
    )
)
JOINTS = [
    {"name": "rigid", "kind": "rigid"},
    {"name": "socket", "kind": "sprung", "pitch": "300 kN*m/rad"},
]
SEA = {"name": "sea", "kind": "racking", "force": "5 kN"}
MOVED = {"name": "moved", "kind": "racking", "movement": "40 mm"}
MEASURED = {"name": "measured", "kind": "racking", "twist": "9 mrad"}
SAIL = {"name": "sail", "kind": "sail twist", "on": False, "drive": "8 kN", "height": "8 m", "lee_share": 0.8}
RULES = {
    "name": "rules", "kind": "connecting", "on": False, "rule": "bv-hsc", "displacement": "10 t", "length": "12.8 m",
    "acceleration": "9.80665 m/s**2",
}  # fmt: skip
BY_RULE = 10e3 * 9.80665 * 12.8 / 8
"""N·m, Δ a L/8 at 1 g."""


def analysis(*cases, **keys):
    """Of the plain boat on the platform, or on what is given."""
    on = {"platform": PLATFORM} if "root" not in keys else {}
    return analyse(boat_file_of(JOINTS, list(cases), inboard=0.5, station=3.4, **on | keys))


def by_name(found):
    """The ways by name."""
    return {way.name: way for way in found.racking_ways.ways}


def test_every_way_is_there_once_and_says_whether_it_is_run():
    """Cases that are on and off, and the two rules that are none; a rule's other moments are no racking of this kind."""
    ways = by_name(analysis(SEA, MEASURED, SAIL, RULES))
    names = [
        f"{rule}, pitch connecting{how}"
        for rule in ("rules", "rule dnv-hslc", "rule abs-hsc")
        for how in ("", " along the hulls")
    ]
    assert list(ways) == ["sea", "measured", "sail", *names]
    assert [name for name, way in ways.items() if way.run] == ["sea", "measured"]
    assert [name for name, way in ways.items() if way.assumed] == ["sea"]


def test_moments_are_those_of_statics():
    """F (a − x_c) of a pair; Δ a L/8 of rules, however applied; ½ D h (0.8 − 0.2) under sail; 2.5 Δ L of ABS at 1 g."""
    found = analysis(SEA, SAIL, RULES)
    ways, lever = by_name(found), 4.0 - platform_response(found.file).twist_centre
    assert ways["sea"].moment == pytest.approx(5e3 * lever, rel=1e-9)
    assert ways["sea"].pair == pytest.approx(5e3, rel=1e-9)
    assert ways["sail"].moment == pytest.approx(19.2e3, rel=1e-9)
    for name in ("rules, pitch connecting", "rules, pitch connecting along the hulls"):
        assert ways[name].moment == pytest.approx(BY_RULE, rel=1e-9)
        assert ways[name].pair == pytest.approx(BY_RULE / lever, rel=1e-9)
    assert ways["rule abs-hsc, pitch connecting"].moment == pytest.approx(2.5e3 * 10 * 12.8, rel=1e-9)
    for way in ways.values():
        alone = way.moment * platform_response(found.file).twist_per_moment
        assert way.twist_alone == pytest.approx(alone, rel=1e-12)
        assert all(0 < one.twist < alone for one in way.joints), "the crossbeam stiffens the boat"


def test_of_a_movement_the_moment_is_that_of_each_joints_own_stiffness():
    """M_P = K w (a − x_c), K the racking stiffness with that joint."""
    found = analysis(MOVED)
    (way,) = found.racking_ways.ways
    lever = 4.0 - platform_response(found.file).twist_centre
    for one, joint in zip(way.joints, found.study.joints, strict=True):
        assert one.moment == pytest.approx(joint.racking_stiffness * 0.04 * lever, rel=1e-8)
    assert way.moment == max(one.moment for one in way.joints)


def test_a_measured_twist_is_that_of_every_joint():
    """9 mrad between the hulls is φ = 4.5 mrad with each; the stiffer joint takes a larger moment for it."""
    found = analysis(MEASURED)
    (way,) = found.racking_ways.ways
    assert [one.twist for one in way.joints] == pytest.approx([4.5e-3, 4.5e-3], rel=1e-9)
    rigid, socket = way.joints
    assert rigid.moment > socket.moment > 4.5e-3 / platform_response(found.file).twist_per_moment * (1 - 1e-9)


def test_attracted_loads_are_those_of_the_study():
    """Of a case that is run, torque and bending at each joint are what the study found."""
    found = analysis(SEA, RULES)
    for one, joint in zip(by_name(found)["sea"].joints, found.study.joints, strict=True):
        case = joint.case("sea")
        assert (one.torque, one.bending) == pytest.approx(
            (case.attracted("torque"), case.attracted("vertical bending")), rel=1e-9
        )


def test_on_root_springs_the_moment_is_about_the_bulkhead():
    """A pair F at stems 4 m ahead makes 4 F on the springs, φ = 4 F/k alone; rigid roots do not twist."""
    (way,) = analysis(SEA, root={"pitch": 6e6}).racking_ways.ways
    assert (way.moment, way.twist_alone) == pytest.approx((20e3, 20e3 / 6e6), rel=1e-9)
    (held,) = analysis(SEA, root={}).racking_ways.ways
    assert held.twist_alone is None


@pytest.mark.parametrize(
    ("factor", "far"), [(1 / 1.6, True), (1 / 1.4, False), (1.4, False), (2.9, False), (3.2, True)]
)
def test_what_was_entered_is_far_where_no_other_way_is_within_half_as_much_again(factor, far):
    """Rules give Δ a L/8 and 2.04 times that: 1/1.4 to 1.4 of the one is near, and 2.9; far are 1/1.6, and 3.2 = 1.57 × 2.04."""
    lever = 4.0 - platform_response(analysis(SEA).file).twist_centre
    found = analysis(SEA | {"force": f"{BY_RULE * factor / lever!r} N"}, RULES)
    assert [way.name for way in found.racking_ways.far] == (["sea"] if far else [])
    said = racking_section(found.study, found).words[0]
    assert said.startswith("The racking entered is far from all other ways") == far
    assert f"‘sea’ has {BY_RULE * factor / 1e3:.3g} kN·m on each hull" in said.replace(".0 kN", " kN")
    if far:
        assert ("3 give more, at least" in said, "3 give less, at most" in said) == (factor < 1, factor > 1)


def test_where_nothing_else_is_known_the_report_asks_for_it():
    """A force alone has nothing beside it: no way is far, and the cure is named."""
    found = analysis(SEA)
    assert not found.racking_ways.far
    assert found.racking_ways.displacement is None
    first, measure = racking_section(found.study, found).words
    assert "give displacement and length" in first
    assert "two inclinometers" in measure
    assert "Never sight against the horizon" in measure


def test_displacement_and_waterline_of_a_dive_serve_the_rules():
    """Without a rule's case the rules take them from a diving bow, and say so."""
    dive = {"name": "dive", "kind": "deck diving", "displacement": "10 t", "waterline": "12.8 m", "on": False}
    found = analysis(SEA, dive).racking_ways
    assert (found.displacement, found.length) == (10e3, 12.8)
    assert "‘dive’" in found.taken_from
    assert sum(way.name.startswith("rule ") for way in found.ways) == 6


def test_the_boat_table_serves_the_rules_too():
    """[boat] has displacement and waterline, the rules' length, or estimates it; a rule's own case is believed before it."""
    table = {
        "length": "13.4 m",
        "waterline": "12.8 m",
        "beam": "7 m",
        "displacement": "10 t",
        "rig_height": "17 m",
    }
    file = boat_file_of(JOINTS, [SEA], inboard=0.5, station=3.4, platform=PLATFORM)
    boat = BoatTable.model_validate(table)
    found = analyse(file.model_copy(update={"boat": boat})).racking_ways
    assert (found.displacement, found.length, found.taken_from) == (10e3, 12.8, "[boat]")
    assert found.ways[-1].moment == pytest.approx(BY_RULE, rel=1e-9)
    unknown = boat.model_copy(update={"waterline": None})
    found = analyse(file.model_copy(update={"boat": unknown})).racking_ways
    assert found.length == pytest.approx(0.955 * 13.4)
    assert found.taken_from == "[boat], the waterline estimated ± 4 %"


def test_the_demo_says_what_confirms_its_racking_and_what_does_not():
    """10 kN was typed: a wave of 1/20 makes as much, the rules more than twice of it at the stems of the same boat, ABS's 4.9."""
    found = analyse(example_boat("demo"))
    assert not found.racking_ways.far
    pairs = {name: way.pair for name, way in by_name(found).items()}
    assert pairs["racking"] == pytest.approx(10e3, rel=1e-9)
    assert pairs["waves, hulls twisted, port bow up"] == pytest.approx(11.1e3, rel=0.02)
    assert pairs["rules for fast craft, pitch connecting"] == pytest.approx(24.5e3, rel=0.05)
    part = racking_section(found.study, found)
    assert not part.answer
    assert part.words[0].startswith(
        "‘racking’ has 65.6 kN·m on each hull, within a factor of 1.5 of 1 of 5 other ways: ‘waves’ (72.6 kN·m); "
        "the rest give ‘steady twist under sail’ (14.0 kN·m) to ‘rule abs-hsc’ (320 kN·m)"
    )


def test_a_wave_and_its_mirror_image_are_one_way():
    """Cases as run of one case are one way of knowing, that of most M_P; without the waves the demo's racking is far from all."""
    found = analyse(example_boat("demo")).racking_ways
    others = [way.case for way in found.others]
    assert len(others) == len(set(others)) == 5
    (waves,) = [way for way in found.others if way.case == "waves"]
    assert waves.moment == max(way.moment for way in found.ways if way.case == "waves")
    without = replace(found, ways=tuple(way for way in found.ways if way.case != "waves"))
    assert "racking" in [way.name for way in without.far]
    assert next(iter(racking_sentences(without))).startswith("The racking entered is far from all other ways")


def test_results_hold_them():
    """`racking` in the results has every way with every joint, as the analysis."""
    found = analysis(SEA, RULES)
    written = json.loads(results(found).json())["racking"]
    assert (written["displacement"], written["length"]) == (10e3, 12.8)
    assert [way["name"] for way in written["ways"]] == list(by_name(found))
    first = written["ways"][0]
    assert first["moment"] == found.racking_ways.ways[0].moment
    assert [joint["joint"] for joint in first["joints"]] == ["rigid", "socket"]
    assert set(first["joints"][0]) == {"joint", "moment", "twist", "torque", "bending"}
