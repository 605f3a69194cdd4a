"""Short boat files from what an owner knows: complete, sound, and marked where they are estimated."""

import itertools
import math
import tomllib

import pytest

from cases.input.boat_file import BoatFile, read_boat_file
from cases.input.estimates import RODS, WIRE, WIRES, estimates
from cases.input.known_boat import OwnersBoat
from cases.input.plausibility import plausibility_warnings
from cases.input.short_file import short_file
from femcore.base.errors import InputFaults
from femcore.base.toml import checked
from femcore.base.units import STANDARD_GRAVITY
from femcore.files.section_file import build_wall_materials
from femcore.materials import lines, metals

DEMO = {"length": "13.4 m", "beam": "7.6 m", "displacement": "9 t", "rig_height": "16 m"}
SIZES = (
    {"length": "8 m", "beam": "4.8 m", "displacement": "2 t", "rig_height": "10 m"},
    DEMO,
    {"length": "20 m", "beam": "10 m", "displacement": "28 t", "rig_height": "25 m"},
)
MOST_LINES, LONGEST_LINE = 80, 110
PARTS = ("lugs", "bolts", "eye", "hull", "glue", "crossings", '  { name = "web"')
"""Beginnings of lines that describe parts of a joint: TOML breaks no table of single values."""


def known(**answers):
    """A questionnaire of the demo's size with more answers, as a file gives them."""
    return checked(DEMO | answers, OwnersBoat, "answers.toml")


def boat(answers):
    """The boat that the short file of a questionnaire describes, with the file's text."""
    text = short_file(checked(answers, OwnersBoat, "answers.toml"), "answers.toml")
    return checked(tomllib.loads(text), BoatFile, "short.toml"), text


@pytest.mark.parametrize(
    ("size", "construction", "tube"),
    [
        *itertools.product(SIZES, ["glass sandwich"], ["aluminium", "carbon"]),
        *itertools.product([DEMO], ["carbon sandwich", "solid glass", "plywood"], ["carbon"]),
        *itertools.product(SIZES, ["aluminium"], ["aluminium"]),
    ],
)
@pytest.mark.parametrize("longeron", [{}, {"longeron_diameter": "170 mm", "prod": "1 m"}])
def test_a_boat_of_any_size_is_complete_and_plausible(size, construction, tube, longeron):
    """From four values alone the file reads without a fault; nothing in it is implausible; it stays short."""
    made, text = boat(size | {"construction": construction, "tube_material": tube} | longeron)
    [estimated] = plausibility_warnings(made)
    assert "inputs are estimated, not entered" in estimated
    lines_of_file = text.splitlines()
    assert len(lines_of_file) <= MOST_LINES
    assert not [one for one in lines_of_file if len(one) > LONGEST_LINE and not one.startswith(PARTS)]
    kinds = ["lug and pin", "bonded socket", "rigid"]
    assert [joint.kind for joint in made.joints] == [
        k for k in kinds if k != "bonded socket" or construction != "aluminium"
    ]
    assert all(one.scatter for one in made.estimates.inputs)
    assert [way for way in made.active_cases if way.kind == "waves"], "racking is computed, not typed"


def test_every_mark_stands_at_a_key_of_the_file_and_every_marked_line_is_listed():
    """[boat] and the remarks agree: what the owner gave is marked nowhere."""
    given = {
        "hull_breadth_at_bulkhead": "1.24 m", "hull_depth_at_bulkhead": "1.6 m", "hull_breadth_at_stem": "0.56 m",
        "hull_depth_at_stem": "1.3 m", "bow_length": "4.4 m", "beam_station": "3.7 m", "skin_thickness": "2 mm",
        "core_thickness": "20 mm", "tube_diameter": "200 mm", "tube_wall": "5 mm", "stay_wire": "12 mm",
    }  # fmt: skip
    bare, full = boat(DEMO)[0].boat, boat(DEMO | given)[0].boat
    gone = {"laminates.hull", "bows.spacing", "crossbeam.station", "crossbeam.section", "stay.line.diameter"}
    assert set(bare.marks) - set(full.marks) == gone
    assert set(full.marks) < set(bare.marks)
    # chines were not asked for, and the tension still follows from the wire by a rule of thumb
    assert full.scatter["bows.stations"] == "± 10 %"
    assert boat(DEMO | given)[0].estimates.at("cases.upwind.tension") == "± 25 %"


def test_unknown_is_as_a_key_left_out():
    """An owner may answer "unknown" to everything but the four that the rest follows from."""
    assert known(skin_thickness="unknown", tube_wall="unknown", construction="unknown") == known()
    with pytest.raises(InputFaults, match="rig_height is unknown; measure it"):
        known(rig_height="unknown")


def test_what_the_owner_gave_is_in_the_boat():
    """Entered values are taken as they are: the boat's beam is spacing and one hull's breadth; skins are as thick as entered."""
    made, _ = boat(
        DEMO | {"hull_breadth_at_bulkhead": "1.2 m", "beam_station": "3.7 m", "bow_length": "4.4 m"}
    )
    assert made.bows.spacing + 1.2 == pytest.approx(7.6, abs=1e-3)
    assert (made.crossbeam.station, made.bows.length) == (3.7, 4.4)
    made, _ = boat(DEMO | {"skin_thickness": "2 mm", "core_thickness": "25 mm"})
    hull = build_wall_materials(made)[0].laminates["hull"]
    # cloths come in steps of 25 g/m², 2 % of these skins
    assert hull.thickness == pytest.approx(0.025 + 2 * 0.002, rel=0.02)


@pytest.mark.parametrize("wall", ["6 mm", "10 mm"])
def test_a_carbon_tube_is_as_thick_as_entered(wall):
    """The lay-up of a tube, half unidirectional and half double-bias, comes to the wall entered, to the cloth's steps."""
    made, _ = boat(DEMO | {"tube_material": "carbon", "tube_wall": wall})
    tube = build_wall_materials(made)[0].laminates["tube"]
    assert tube.thickness == pytest.approx(float(wall.split()[0]) / 1000, rel=0.05)


def test_estimates_follow_statics():
    """Wire: 12 × righting moment over rig height. Rod: outlives the stay. Volume of both hulls: the displacement."""
    boat_known = known()
    found = estimates(boat_known)
    moment = 0.6 * 9000 * STANDARD_GRAVITY * found.spacing.value / 2
    needed = 12 * moment / 16
    sizes = [size for size in WIRES if lines()[WIRE].breaking_load(size) >= needed]
    assert found.stay_wire.value == sizes[0]
    assert found.tension.value == pytest.approx(needed / 2.75)
    draft = found.hull_breadth.value / 2
    assert 2 * 1025 * 0.45 * 13.4 * found.hull_breadth.value * draft == pytest.approx(9000)
    # the strut pushes what the stay lifts, each rod's pull has half of it upright
    stay = lines()[WIRE].breaking_load(found.stay_wire.value) * math.cos(math.radians(14))
    slope = math.hypot(found.striker_height.value, found.half_span) / found.striker_height.value
    assert lines()["rod_xm19"].breaking_load(found.rod.value) >= stay / 2 * slope
    assert found.rod.value in RODS


def test_alloy_hulls_are_plate_and_not_taped_to():
    """4 mm at 10 m, 6 mm at 16 m; no laminate in the file but those of carbon tubes; a taped socket is refused.

    Its side under the bolts has the strengths of plate beside welds: proof stress, 1/√3 of it in shear, twice it at a bolt.
    """
    for length, plate in (("10 m", 4e-3), ("16 m", 6e-3)):
        made, text = boat(DEMO | {"length": length, "construction": "aluminium"})
        assert "laminate" not in text
        assert made.bows.walls.bottom.thickness == pytest.approx(plate)
        assert "bows.walls ± 35 %" in text
        plates = metals()["al5083_h116"].proof_haz
        side = made.joints[0].hull
        assert (side.bearing, side.crushing) == pytest.approx((2 * plates, plates), rel=0.01)
        assert (side.shear, side.through) == pytest.approx(
            (plates / math.sqrt(3), plates / math.sqrt(3)), rel=0.01
        )
    with pytest.raises(InputFaults, match="hulls of aluminium plate are not taped to"):
        known(construction="aluminium", joints=["taped socket"])


def test_a_tube_of_alloy_carries_the_stays_breaking_load():
    """By hand, without a longeron: the rod takes the lift, the stay's aft pull T sin 14° bends the beam over its clear span,
    M = P l/4. That alone takes a third to nine tenths of its proof stress; the rest is for axial force and racking.
    """
    for size in SIZES:
        found = estimates(checked(size, OwnersBoat, ""))
        breaking = lines()[WIRE].breaking_load(found.stay_wire.value)
        clear = found.spacing.value - 2 * found.half_breadth_at_beam
        bending = breaking * math.sin(math.radians(14)) * clear / 4
        outside, inside = found.tube_diameter.value, found.tube_diameter.value - 2 * found.tube_wall.value
        modulus = math.pi / 32 * (outside**4 - inside**4) / outside
        assert 0.3 < bending / modulus / 260e6 < 0.9


@pytest.mark.parametrize(
    ("answers", "wrong"),
    [
        ({"hull_breadth_at_bulkhead": "4 m"}, "two hulls 4 m broad leave no bridge deck in a beam of 7.6 m"),
        (
            {"hull_breadth_at_bulkhead": "1 m", "hull_breadth_at_stem": "1.2 m"},
            "hull_breadth_at_stem: is greater",
        ),
        ({"bow_length": "10 m"}, "bow_length: is more than 0.7 of the boat's length"),
        (
            {"bow_length": "4 m", "beam_station": "4.2 m"},
            "beam_station: is not less than the bow's length, 4 m",
        ),
        ({"tube_diameter": "100 mm", "tube_wall": "20 mm"}, "tube_wall: is more than a sixth"),
        ({"prod": "1 m"}, "prod: is given and there is no longeron"),
        ({"construction": "plywood", "core_thickness": "20 mm"}, "hulls of plywood have no core"),
        ({"joints": ["rigid", "rigid"]}, "joints: names one way twice"),
        ({"joints": ["glue it"]}, "joints"),
        ({"beam": "14 m"}, "beam: is not less than the length"),
        ({"length": "13.4"}, "has no unit"),
        ({"tube_diametre": "200 mm"}, "did you mean 'tube_diameter'?"),
    ],
)
def test_answers_that_no_boat_has_are_faults(answers, wrong):
    """Each in one sentence, with file and key."""
    with pytest.raises(InputFaults) as trouble:
        known(**answers)
    assert wrong in str(trouble.value)
    assert str(trouble.value).startswith("answers.toml: ")


@pytest.mark.parametrize(
    ("mark", "wrong"),
    [
        ("crossbeam.statoin ± 8 %", "statoin"),
        ("crossbeam.station ± 5 %", "has its scatter both here and behind its value"),
        ("bows.inboard", "has no scatter; write it once"),
        ("±", "is no key with its scatter"),
        ("crossbeam.station ± much", "is no key with its scatter"),
    ],
)
def test_a_mark_that_marks_nothing_is_a_fault(tmp_path, mark, wrong):
    """A key that is not in the file, or has no scatter, is named."""
    _, text = boat(DEMO)
    path = tmp_path / "short.toml"
    path.write_text(text.replace("'crossbeam.station'", f"'{mark}'"), encoding="utf-8")
    with pytest.raises(InputFaults) as trouble:
        read_boat_file(path)
    assert wrong in str(trouble.value)


def test_a_variant_may_leave_out_what_is_estimated():
    """Marks are of the file as it is entered: a variant without a marked part is no fault, and stays sound."""
    text = short_file(known(), "answers.toml")
    raw = tomllib.loads(text) | {"variants": [{"name": "no strut", "without": ["striker", "martingale"]}]}
    assert checked(raw, BoatFile, "short.toml").variants


def test_a_longeron_is_written_where_its_tube_is_known():
    """A centreline tube with its prod, or none."""
    made, _ = boat(DEMO | {"longeron_diameter": "150 mm", "prod": "1.1 m", "joints": ["fork and pin"]})
    assert made.longeron is not None
    assert made.longeron.prod == 1.1
    assert boat(DEMO)[0].longeron is None


def test_a_beam_without_a_longeron_is_estimated_larger():
    """The stay's aft pull then bends the beam alone: its tube is no smaller in diameter or wall than beside a longeron."""
    for material in ("aluminium", "carbon"):
        alone, held = (
            estimates(known(tube_material=material, **more)) for more in ({}, {"longeron_diameter": "170 mm"})
        )
        assert alone.tube_diameter.value > held.tube_diameter.value
        assert alone.tube_wall.value > held.tube_wall.value
