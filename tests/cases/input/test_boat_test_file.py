"""The file of a test on a boat: what it says in SI, and every fault in it as one sentence; a boat file patched by a test."""

import tomllib

import pytest

from cases.input.blank_test import blank_test
from cases.input.boat_file import BoatFile, read_boat_file
from cases.input.boat_test import BoatTestFile, read_test_file
from cases.input.calibrated_file import calibrated_text
from cases.input.tested_boat import runs
from femcore.base.errors import InputFaults
from femcore.base.toml import checked
from femcore.base.units import STANDARD_GRAVITY
from models.response.boat_on_test import UNKNOWNS
from models.response.boat_test_loads import Afloat, Gauge
from models.response.front_end import build
from tests.models.boats import FILES, ROOT

DEMO = read_boat_file(FILES["demo"])
TEST = ROOT / "cases/boats/tests/demo_test.toml"
JOINT = next(joint for joint in DEMO.joints if joint.name == "bolted plates")
FRONT = build(DEMO, JOINT.stiffness())
AFT = ("port hull at cockpit bulkhead", "starboard hull at cockpit bulkhead")
SMALL = """
title = "small"
joint = "bolted plates"
[[tests]]
name = "hard"
supports = [{ place = "starboard stem" }, { place = "port hull at cockpit bulkhead" }, AFT_TO_STARBOARD]
gauges = [{ name = "stem", kind = "height", place = "port stem", scatter = "0.5 mm" }]
[[tests.steps]]
readings = { stem = "100 mm" }
[[tests.steps]]
up = { "port stem" = "2 kN" }
readings = { stem = "124 mm" }
""".replace("AFT_TO_STARBOARD", '{ place = "starboard hull at cockpit bulkhead" }')
HEIGHT = 'kind = "height", place = "port stem", scatter = "0.5 mm"'
FLOATS = 'afloat = { aft = "-8 m", forward = "4 m", breadth = "1 m" }\n'


def faults_of(text):
    """Every fault of a test's file with that text, on the demo."""
    with pytest.raises(InputFaults) as caught:
        runs(checked(tomllib.loads(text), BoatTestFile, "test.toml"), FRONT, UNKNOWNS, "test.toml")
    return str(caught.value)


def changed(*pairs):
    """The small file with some of its words changed."""
    text = SMALL
    for old, new in pairs:
        assert old in text
        text = text.replace(old, new)
    return text


def test_the_demos_test_is_read_in_si():
    """Forces in newtons upwards, weights downwards times g, readings by their gauge's unit, the branch of each step."""
    hard, afloat = runs(read_test_file(TEST), FRONT, UNKNOWNS, "test")
    assert hard.amounts[:, 0].tolist() == [1e3 * f for f in (0, 1, 2, 3, 4, 5, 4, 3, 2, 1, 0)]
    assert hard.branch.tolist() == [1.0] * 6 + [-1.0] * 5
    assert not hard.moves
    assert afloat.moves
    assert afloat.branch.tolist() == [0.0] * 10
    assert afloat.amounts[0].tolist() == [-400 * STANDARD_GRAVITY, 0.0]
    assert afloat.amounts[1].tolist() == [0.0, -400 * STANDARD_GRAVITY]
    assert afloat.model.standing == Afloat(-8.0, 4.3, 0.9, 0.72)
    raw = tomllib.loads(TEST.read_text(encoding="utf-8"))["tests"][0]
    names = [gauge["name"] for gauge in raw["gauges"]]
    first = raw["steps"][0]["readings"]
    assert hard.readings[0, names.index("port stem")] == pytest.approx(
        float(first["port stem"].split()[0]) / 1e3
    )
    assert hard.readings[0, names.index("port hull")] == pytest.approx(
        float(first["port hull"].split()[0]) / 1e3
    )
    assert hard.scatter[names.index("port twist")] == pytest.approx(5e-5)


@pytest.mark.parametrize(
    ("pairs", "said"),
    [
        ([('place = "port stem", scatter', 'place = "port stern", scatter')], "did you mean 'port stem'"),
        ([('"port stem" = "2 kN"', '"port sten" = "2 kN"')], "step 2: place 'port sten' does not exist"),
        ([('stem = "124 mm"', 'stem = "124 mrad"')], "'124 mrad' is not a length"),
        ([('stem = "124 mm"', "stem = 124")], "124 is a bare number where a length is needed"),
        ([('stem = "124 mm"', 'step = "124 mm"')], "gauge 'step' does not exist"),
        ([('readings = { stem = "124 mm" }', "readings = {}")], "the gauge 'stem' is read once"),
        ([('scatter = "0.5 mm"', 'scatter = "0 mm"')], "'0 mm' is too small"),
        ([('scatter = "0.5 mm"', 'scatter = "0.01e-9 mm"')], "give at least 1e-06 m"),
        ([('"2 kN"', '"0 kN"')], "all steps have the same load"),
        ([('kind = "height"', 'kind = "level"')], "kind"),
        ([(HEIGHT, 'kind = "turn", place = "port stem", scatter = "1 mrad"')],
         "a turn is read at a joint"),
        ([('kind = "height"', 'kind = "distance"')], "a distance has no place that it is measured from"),
        ([('{ place = "starboard stem" }, ', "")], "are fewer than three, so that the boat tips"),
        ([('place = "starboard stem"', 'place = "middle of cockpit bulkhead"')], "are in one line"),
        ([("supports = [", FLOATS + "supports = [")], "has supports and floats"),
        ([('up = { "port stem" = "2 kN" }', 'push = { "port stem" = "0 2 0 kN" }')], "its horizontal loads leave 2 kN"),
        ([('place = "port stem", scatter', 'place = "starboard stem", scatter')],
         "reads 24 mm of movement, and the boat stands there on a rigid support"),
        ([(HEIGHT, 'kind = "reaction", place = "port stem", scatter = "20 N"'),
          ("100 mm", "1 kN"), ("124 mm", "2 kN")], "support 'port stem' does not exist"),
        ([(HEIGHT, 'kind = "stay tension", scatter = "20 N"'),
          ("100 mm", "1 kN"), ("124 mm", "2 kN")], "reads a stay that no step pulls"),
        ([(HEIGHT, 'kind = "cable tension", place = "port martingail", scatter = "20 N"'),
          ("100 mm", "1 kN"), ("124 mm", "2 kN")], "did you mean 'port martingale'"),
    ],
)  # fmt: skip
def test_every_fault_is_a_sentence_with_its_cure(pairs, said):
    """Unknown places and gauges, wrong units, stands that cannot be, loads that nothing carries, readings that contradict."""
    found = faults_of(changed(*pairs))
    assert said in found
    assert found.startswith("test.toml: ")
    assert all("; " in line for line in found.splitlines())


def test_a_cable_that_would_go_slack_is_a_fault():
    """Cables count as bars: a step that takes more off a martingale than its pretension is refused, half of it is not."""
    taut = checked(tomllib.loads(SMALL), BoatTestFile, "t")
    [run] = runs(taut, FRONT, UNKNOWNS, "t")
    per_newton = run.model.response({}).tension[:, 0]
    most = 12e3 / -per_newton.min()  # its pretension
    over, half = (changed(('"2 kN"', f'"{share * most:.0f} N"')) for share in (1.1, 0.5))
    assert "martingale', by 1.2 kN beyond its pretension" in faults_of(over)
    assert runs(checked(tomllib.loads(half), BoatTestFile, "t"), FRONT, UNKNOWNS, "t")


def test_cells_that_do_not_carry_the_load_contradict_it():
    """Three cells under the supports and 2 kN of lift: they show 2 kN less in all, or something is wrong with one of them."""
    places = ("starboard stem", "port hull at cockpit bulkhead", "starboard hull at cockpit bulkhead")
    cells = ", ".join(
        f'{{ name = "c{n}", kind = "reaction", place = "{p}", scatter = "20 N" }}'
        for n, p in enumerate(places)
    )
    old = 'gauges = [{ name = "stem", kind = "height", place = "port stem", scatter = "0.5 mm" }]'

    def text(loads):
        readings = ", ".join(f'c{n} = "{load} N"' for n, load in enumerate(loads))
        return changed(
            (old, f"gauges = [{cells}]"), ('stem = "100 mm"', 'c0 = "9000 N", c1 = "9000 N", c2 = "9000 N"'),
            ('stem = "124 mm"', readings),
        )  # fmt: skip

    sound = checked(tomllib.loads(text((7000, 7000, 11000))), BoatTestFile, "t")
    assert runs(sound, FRONT, UNKNOWNS, "t")
    assert "the cells under the supports and the loads differ by 4 kN" in faults_of(
        text((11000, 11000, 7000))
    )


def test_a_planned_test_is_a_file_once_its_readings_are_filled_in():
    """Supports, gauges, steps and their scatter are there; each reading that is not filled in is a fault by its name."""
    gauges = [
        (Gauge('stem "P"', "height", "port stem"), 5e-4),
        (Gauge("heel", "inclination", "port stem", "roll"), 1e-4),
    ]
    text = blank_test("bolted plates", ("starboard stem", *AFT), gauges, (0.0, 2500.0))
    assert "step 1: 'stem \"P\"': '? mm' does not read as a length" in faults_of(text)
    filled = text.replace("? mm", "12 mm").replace("? mrad", "1 mrad")
    [one] = runs(checked(tomllib.loads(filled), BoatTestFile, "t"), FRONT, UNKNOWNS, "t")
    assert one.amounts[:, 0].tolist() == [0.0, 2500.0]
    assert one.scatter.tolist() == pytest.approx([5e-4, 1e-4])
    assert [gauge.axis for gauge in one.model.gauges] == ["pitch", "roll"]


def test_a_patched_file_keeps_every_line_that_it_does_not_change():
    """New values where they are, comments and order kept, new tables added; read again it is that boat."""
    text = FILES["demo"].read_text(encoding="utf-8")
    new = calibrated_text(
        text, {"hull_GJ": 0.75, "platform_EI": 1.2}, "bolted plates", {"pitch": 244e3, "roll": 751e3},
        {"hull_GJ": "± 8 %"}, "a test",
    )  # fmt: skip
    lines = new.splitlines()
    kept = [line for line in text.splitlines() if line in lines]
    assert len(text.splitlines()) - len(kept) <= 2
    boat = checked(tomllib.loads(new), BoatFile, "patched")
    joint = next(one for one in boat.joints if one.name == "bolted plates").stiffness()
    assert (joint.spring("pitch"), joint.spring("roll"), joint.spring("yaw")) == pytest.approx(
        (244e3, 751e3, 500e3)
    )
    assert boat.calibration.factors == {"hull_GJ": 0.75, "platform_EI": 1.2}
    assert boat.calibration.note == "a test"
    assert boat.scatter == {"hull_GJ": "± 8 %"}
    again = calibrated_text(new, {"hull_GJ": 0.6}, "bolted plates", {}, {}, "another")
    assert checked(tomllib.loads(again), BoatFile, "again").calibration.factors == {
        "hull_GJ": 0.6,
        "platform_EI": 1.2,
    }
