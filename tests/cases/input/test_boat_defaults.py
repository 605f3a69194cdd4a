"""[boat] is the one source of what several cases need; what rests on an estimate is marked, and nothing else is."""

import json
import tomllib

import jsonschema
import pytest

from cases.analyses.analysis import analyse
from cases.cli.check_output import checked_boat
from cases.input.boat_defaults import UNITS
from cases.input.boat_file import BoatFile
from cases.input.estimates import particulars
from cases.input.known_boat import BoatTable
from cases.input.plausibility import plausibility_warnings
from cases.loads import LOAD_CASES
from cases.report.data.results import results
from cases.report.output import all_sections
from cases.report.sections.loads_section import loads_section
from cases.report.tables.boat_tables import boat_sentences, boat_tables
from femcore.base.errors import InputFaults
from femcore.base.toml import checked
from femcore.base.units import STANDARD_GRAVITY
from tests.models.boats import FILES

BOAT = {"length": "13.4 m", "beam": "7.6 m", "displacement": "10 t", "rig_height": "16 m"}
ALL = {
    "waterline": "12.8 m", "waterline_breadth": "1.2 m", "windage": "15 m**2", "bridle": "8 m", "headsail_area": "30 m**2",
    "drive": "7 kN", "effort_height": "8 m", "lee_share": 0.75,
}  # fmt: skip
WITHOUT = {
    "connecting": {"rule": "bv-hsc", "acceleration": "9.81 m/s**2"},
    "waves": {"steepness": 0.05},
    "deck diving": {},
    "slings": {},
    "grounding": {},
    "docking": {},
    "mooring": {"tension": "10 kN"},
    "snatch": {"wind": "20 m/s"},
    "sail twist": {},
    "sheet": {"wind": "20 kn", "rake": "30 deg"},
    "rig": {"rake": "14 deg", "estimate": {"side_load": "150 N/m", "length": "15 m", "sag": "0.15 m"}},
}
"""By kind, what is left where everything that [boat] gives is left out."""
RACKING = {"name": "sea", "kind": "racking", "force": "10 kN"}


def file(*cases, boat=None, **keys):
    """The demo with these cases and that [boat], each joint but the rigid one left out."""
    raw = tomllib.loads(FILES["demo"].read_text(encoding="utf-8"))
    raw = {key: value for key, value in raw.items() if key not in {"variants", "service", "boat"}}
    raw |= {"joints": [one for one in raw["joints"] if one["name"] == "rigid"], "cases": list(cases)} | keys
    return checked(raw | ({} if boat is None else {"boat": boat}), BoatFile, "mine.toml")


def one(kind, **keys):
    """A case of that kind."""
    return {"name": "one", "kind": kind, **keys}


def acting(made):
    """What the first of its cases puts on the boat, expanded."""
    return [(c.name, c.all_place_loads(), c.all_member_loads()) for c in made.cases[0].expand(made)]


def stated(kind):
    """The keys of a kind with the values that [boat] has for them, as a file states them."""
    table = BOAT | ALL
    keys = dict(WITHOUT[kind])
    for key, of in LOAD_CASES[kind].from_boat.items():
        *inside, last = key.split(".")
        if inside:
            keys["estimate"] = keys["estimate"] | {last: table[of]}
        else:
            keys[last] = table[of]
    return keys


@pytest.mark.parametrize("kind", WITHOUT)
def test_what_a_case_takes_from_boat_is_as_if_it_stated_it(kind):
    """The same loads to the last digit, and no estimate: all is entered in one place."""
    taken, entered = file(one(kind, **WITHOUT[kind]), boat=BOAT | ALL), file(one(kind, **stated(kind)))
    assert acting(taken) == acting(entered)
    assert not taken.estimates.inputs
    assert [c.provenance().basis for c in taken.load_cases] == [c.origin().basis for c in entered.load_cases]
    assert not plausibility_warnings(taken)


def test_every_kind_that_takes_from_boat_is_tried():
    """A kind with keys of [boat] is in the table above, and takes what [boat] can give."""
    takers = {kind for kind, model in LOAD_CASES.items() if model.from_boat}
    assert takers == set(WITHOUT)
    assert {of for kind in takers for of in LOAD_CASES[kind].from_boat.values()} == set(UNITS)


@pytest.mark.parametrize("kind", sorted(set(WITHOUT) - {"rig", "snatch", "waves"}))
def test_without_boat_a_case_states_what_it_needs(kind):
    """Neither the case nor [boat] has it: a fault that names the key."""
    if LOAD_CASES[kind].from_boat:
        with pytest.raises(InputFaults, match=r"is missing|has no"):
            file(one(kind, **WITHOUT[kind]), RACKING)


def test_the_schema_lets_out_what_boat_gives():
    """Editors accept a case without the keys that [boat] has; other keys stay required."""
    schema = BoatFile.model_json_schema()
    slings, connecting = schema["$defs"]["Slings"], schema["$defs"]["Connecting"]
    assert "displacement" in slings["properties"]
    assert "displacement" not in slings["required"]
    assert {"kind", "name", "rule"} <= set(connecting["required"])
    jsonschema.validate(one("slings"), {"$ref": "#/$defs/Slings", "$defs": schema["$defs"]})


def test_particulars_that_are_not_entered_are_estimated_by_statics():
    """Drive × height is 0.35 of 0.6 Δ g s/2 whatever the height; the hulls' volume 0.45 L b T is the displacement."""
    found = particulars(BoatTable(length=13.4, beam=7.6, displacement=10e3, rig_height=16.0))
    breadth = found["waterline_breadth"].value
    assert 2 * 1025 * 0.45 * 13.4 * breadth * breadth / 2 == pytest.approx(10e3)
    righting = 10e3 * STANDARD_GRAVITY * (7.6 - breadth) / 2
    assert found["drive"].value * found["effort_height"].value == pytest.approx(0.35 * 0.6 * righting)
    assert 2 * found["lee_share"].value - 1 == pytest.approx(0.6)
    assert [key for key, value in found.items() if not value.scatter] == ["displacement", "rig_height"]
    assert not any(v.scatter for v in particulars(BoatTable.model_validate(BOAT | ALL)).values())


def test_particulars_grow_with_the_boat():
    """A larger boat of the same proportions has more of each but the share on the lee hull, which has no size."""
    sizes = [
        {"length": 13.4 * s, "beam": 7.6 * s, "displacement": 1e4 * s**3, "rig_height": 16 * s}
        for s in (1, 1.2)
    ]
    small, large = (particulars(BoatTable(**size)) for size in sizes)
    powers = {"displacement": 3, "headsail_area": 2, "windage": 2, "drive": 3, "lee_share": 0}
    for key, value in small.items():
        assert large[key].value == pytest.approx(value.value * 1.2 ** powers.get(key, 1)), key


def test_a_variant_of_boat_changes_the_cases_that_take_from_it():
    """Twice the displacement is twice what slings lift; a case that states its own keeps it."""
    variant = {"name": "laden", "set": {"boat.displacement": "20 t"}}
    light = file(
        one("slings"), one("slings", displacement="10 t") | {"name": "own"}, boat=BOAT, variants=[variant]
    )
    laden = light.variant(light.variants[0])
    assert [case.displacement for case in laden.cases] == [20e3, 10e3]
    assert [case.displacement for case in light.cases] == [10e3, 10e3]


def test_two_values_of_one_thing_are_warned_of():
    """Stated in both: nothing where they agree, in whatever unit; one sentence with both values where they do not."""
    assert not plausibility_warnings(file(one("slings", displacement="10000 kg"), boat=BOAT))
    [warning] = plausibility_warnings(file(one("slings", displacement="9 t"), boat=BOAT))
    assert warning.startswith("case ‘one’: displacement is 9 t, and [boat] has 10 t for displacement")
    # a value that [boat] only estimates contradicts nothing
    assert not plausibility_warnings(file(one("deck diving", waterline="11 m"), boat=BOAT))


ESTIMATED = ["boat.displacement ± 5 %", "stay.up ± 20 mm", "crossbeam.station ± 8 %", "bows.stations × 2"]
MARKED = BOAT | {"estimated": [*ESTIMATED, "cases.sea.force ± 40 %"]}


def test_a_case_is_marked_by_what_of_it_is_estimated():
    """A mark on the key, one on what [boat] gives it, and an estimate that [boat] makes; what states its own is not marked."""
    made = file(
        RACKING, one("deck diving"), one("slings", displacement="10 t") | {"name": "own"}, boat=MARKED
    )
    sea, dive, own = made.load_cases
    assert sea.provenance().estimated == ("force ± 40 %",)
    assert dive.provenance().estimated == ("displacement ± 5 %", "waterline ± 4 %")
    assert own.provenance().estimated == ()
    assert sea.words().endswith("(estimated: force ± 40 %)")
    assert "estimated" not in own.words()
    assert [c.provenance().basis for c in (sea, dive, own)] == ["estimated", "estimated", "computed"]


def test_estimates_are_marked_in_report_results_and_check(tmp_path):
    """Tables, sentences, captions and results carry the mark of each estimate, and none where nothing is estimated."""
    made = file(
        RACKING,
        one("deck diving"),
        {"name": "rig", "kind": "rig", "tension": "40 kN", "rake": "14 deg"},
        boat=MARKED,
    )
    found = analyse(made)
    sentences = " ".join(boat_sentences(made))
    assert "3.70 m ahead of the root (estimated ± 8 %)" in sentences
    assert "160 mm above (estimated ± 20 mm) the crossbeam's shear centre" in sentences
    assert boat_tables(made)[0].title == "Each bow, by station (estimated × 2)"
    [table] = next(one for one in all_sections(found) if one.anchor == "estimated-inputs").tables
    assert [row[0] for row in table.rows] == [mark.split()[0] for mark in MARKED["estimated"]] + [
        "boat.waterline"
    ]
    assert table.rows[-1][1:] == ("12.8 m", "± 4 %", "0.955 L", 'cases."one".waterline')
    assert "(estimated: force ± 40 %)" in str(loads_section(found.study, found).unshown[0].rows)
    written = json.loads(results(found).json())
    assert [one["key"] for one in written["estimated"]] == [row[0] for row in table.rows]
    assert written["cases"][0]["estimated"] == ["force ± 40 %"]
    assert written["cases"][0]["basis"] == "estimated"
    path = tmp_path / "mine.toml"
    text = FILES["demo"].read_text(encoding="utf-8")
    own = text[text.index("[boat]") : text.index("# What the boat is laid up of")]
    table = "\n".join(f"{key} = {json.dumps(value, ensure_ascii=False)}" for key, value in MARKED.items())
    text = text.replace(own, f"[boat]\n{table}\n".replace("cases.sea.force", "cases.racking.force"))
    path.write_text(text, encoding="utf-8")
    [line] = [line for line in checked_boat(path).lines if "are estimated, not entered" in line]
    for mark in ("boat.displacement ± 5 %", "cases.racking.force ± 40 %"):
        assert mark in line
    plain = file(RACKING)
    assert "estimated" not in " ".join(boat_sentences(plain))
    assert not plain.estimates.inputs


def test_a_boat_that_is_at_fault_gives_what_it_states():
    """A slip in one key of [boat] is one fault: cases that take another key are not reported as well."""
    with pytest.raises(InputFaults) as trouble:
        file(one("slings"), boat=BOAT | {"beam": "7.6"})
    assert [str(fault).split(": ")[1] for fault in trouble.value.faults] == ["boat"]
