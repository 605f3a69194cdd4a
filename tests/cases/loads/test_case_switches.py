"""Each case of a boat file is switched and scaled: off it is nowhere, scaled it is all that it puts there, times a factor."""

import numpy as np
import pytest
from pydantic import ValidationError

from cases.analyses.study import run_study
from cases.input.boat_file import BoatFile
from cases.loads import LOAD_CASES, case_loads
from femcore.base.errors import InputFault, InputFaults
from femcore.base.toml import MAX_SHOWN_KEYS, checked
from models.response.front_end import build
from tests.cases.loads.load_kinds import RIGID, boat_for, case, expanding
from tests.models.boats import MARTINGALE_STAYS, STRUT, boat_file_of, tables

RIG = {"name": "rig", "kind": "rig", "tension": "40 kN", "rake": "14 deg"}
SEA = {"name": "sea", "kind": "racking", "force": "4 kN"}
JOINT = {"name": "rigid", "kind": "rigid"}
ALSO = {
    "also": [{"place": "port stem", "force": "1 2 3 kN", "moment": "1 0 2 kN*m"}],
    "line": [{"member": "crossbeam", "force": "0 0 -200 N/m"}],
}
KINDS = {
    "rig": {
        "tension": "40 kN",
        "rake": "14 deg",
        "side_load": "200 N/m",
        "aft_load": "300 N/m",
        "length": "15 m",
    }
    | ALSO,
    "tack": {"tension": "9 kN", "rake": "-10 deg", "lean": "10 deg"},
    "net": {"people": 4, "sag": "0.2 m", "lacing": "1 kN/m"},
    "racking": {"force": "4 kN"} | ALSO,
    "deck diving": {"displacement": "9 t", "waterline": "12 m"},
    "connecting": {"rule": "dnv-hslc", "displacement": "9 t", "length": "12 m", "acceleration": "10 m/s**2"},
    "mooring": {"tension": "9 kN", "leg": "5 m", "sweep": "60 deg", "steps": 3},
    "sail twist": {"drive": "8 kN", "height": "8 m", "lee_share": 0.8, "length": "12 m"},
    "jack": {"force": "9 kN"},
    "weight": {"acceleration": "1 2 3 m/s**2", "masses": [{"place": "prod tip", "mass": "40 kg"}]},
    "temperature": {"crossbeam": "30 delta_degC"},
    "beam slam": {"speed": "4 m/s", "depth": "200 mm", "direction": "20 deg"},
    "net slam": {"speed": "4 m/s", "sag": "0.2 m"},
    "side wave": {"breaker": "1.5 m", "meets": "0.6 m", "side": "both"},
    "slings": {"displacement": "9 t", "hook": "5 m"},
    "grounding": {"displacement": "9 t", "friction": 0.3},
    "snatch": {"steady": "4 kN", "leg": "5 m"},
    "stay breaks": {"breaking": "90 kN", "rake": "14 deg", "factor": 1.25},
    "stay let go": {"tension": "40 kN", "rake": "14 deg"},
    "flogging": {"steady": "10 kN", "rake": "14 deg"},
    "gybe": {"tension": "9 kN", "rake": "10 deg"},
    "sheet": {"area": "35 m**2", "wind": "20 kn", "rake": "45 deg"},
    "docking": {"displacement": "9 t"},
    "points": ALSO,
    "waves": {"displacement": "9 t", "waterline": "12 m", "breadth": "1.1 m", "steepness": 0.05} | ALSO,
}


def test_every_kind_is_scaled_here():
    """The table of this file has each kind of load case that there is."""
    assert set(KINDS) == set(LOAD_CASES)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("scale", [1.7, -0.4])
def test_scale_is_a_factor_on_all_that_a_case_puts_on_the_boat(kind, scale):
    """Forces, line loads, weight and warmth of every kind, `also` and `line` too, go with the scale; the words tell it."""
    on = boat_for(kind, prod=1.2, mass=5.0)
    front = expanding(build(on, RIGID), 23e-6)
    plain, scaled = (case(kind, scale=factor, **KINDS[kind]).expand(on) for factor in (1.0, scale))
    assert [one.name for one in plain] == [one.name for one in scaled]
    for one, other in zip(plain, scaled, strict=True):
        unit, got = (case_loads(front, [each]) for each in (one, other))
        acts = any(np.any(getattr(unit, key)) for key in ("nodal", "line", "temperature_change"))
        assert acts or unit.stretches.load.any()
        assert got.stretches.load == pytest.approx(scale * unit.stretches.load, rel=1e-12, abs=1e-9)
        for key in ("nodal", "line", "temperature_change", "cable_temperature_change"):
            assert getattr(got, key) == pytest.approx(scale * getattr(unit, key), rel=1e-12, abs=1e-9)
        assert other.words() == f"{one.words()}; all of it times {scale:g}"


def test_scale_moves_the_stems_so_much_further():
    """Of a racking by movement it is the movement that is scaled, and with it the force that brings it there."""
    cases = [
        SEA | {"name": "one", "force": None, "movement": "20 mm"},
        SEA | {"name": "two", "force": None, "movement": "20 mm", "scale": 2.5},
    ]
    cases = [{key: value for key, value in one.items() if value is not None} for one in cases]
    one, two = run_study(boat_file_of([JOINT], cases)).joints[0].cases
    assert one.stems[0, 2] - one.stems[1, 2] == pytest.approx(0.020, rel=1e-9)
    assert two.stems == pytest.approx(2.5 * one.stems, rel=1e-9)


def test_scale_leaves_pretension_alone():
    """What the martingale holds at rest, and the rig at rest, are there whatever a case is scaled to."""
    parts = {"striker": STRUT, "martingale": MARTINGALE_STAYS | {"pretension": 5e3}}
    rig = RIG | {"pretension": "6 kN", "scale": 2.0}
    file = boat_file_of([JOINT], [rig], **parts)
    sailing, rest = file.load_cases
    assert (sailing.scale, rest.scale) == (2.0, 1.0)
    twice = run_study(file).joints[0].cases
    once = run_study(boat_file_of([JOINT], [RIG], **parts)).joints[0].cases[0]
    alone = run_study(boat_file_of([JOINT], [RIG | {"tension": "0 N"}], **parts)).joints[0].cases[0]
    pull = [next(iter(c.truss.tension.values())) for c in (alone, once, twice[0])]
    assert pull[0] == pytest.approx(5e3, rel=1e-9)
    assert pull[2] - pull[0] == pytest.approx(2 * (pull[1] - pull[0]), rel=1e-9)


def test_the_stays_line_pulls_as_scaled():
    """The rig's geometry tells the forces that act, scaled; where the line passes is not changed."""
    lines = [run_study(boat_file_of([JOINT], [RIG | {"scale": s}])).stay_lines()["rig"] for s in (1.0, 1.5)]
    assert (lines[1].up, lines[1].aft, lines[1].torque) == pytest.approx(
        (1.5 * lines[0].up, 1.5 * lines[0].aft, 1.5 * lines[0].torque), rel=1e-12
    )
    assert lines[1].offset == lines[0].offset


@pytest.mark.parametrize("scale", [0.0, 1e-9, 1e9, float("inf"), float("nan")])
def test_a_scale_that_is_none_is_refused(scale):
    """A scale is finite, not nought, and of a reasonable size."""
    with pytest.raises(ValidationError, match=r"give a size from 1e-06 to 1000, or on = false|finite"):
        case("racking", force="1 kN", scale=scale)


OFF = RIG | {"name": "squall", "on": False}


def made(cases, **more):
    """The boat file of these cases, checked whole."""
    return checked(tables() | {"joints": [JOINT], "cases": cases} | more, BoatFile, "mine.toml")


def test_a_case_that_is_off_is_nowhere():
    """It is not run, not combined by default, and does not have to fit the boat."""
    lost = {"name": "prod", "kind": "tack", "tension": "9 kN", "rake": "0 deg", "on": False}
    file, plain = made([RIG, SEA, OFF, lost]), made([RIG, SEA])
    assert [one.name for one in file.load_cases] == ["rig", "sea"]
    assert [one.factors for one in file.expanded_combinations] == [
        one.factors for one in plain.expanded_combinations
    ]
    with pytest.raises(InputFaults, match="place 'prod tip' does not exist"):
        made([RIG, lost | {"on": True}])


def told(cases, **more):
    """What is wrong with them."""
    with pytest.raises((InputFault, InputFaults)) as trouble:
        made(cases, **more)
    return str(trouble.value)


def test_a_file_with_every_case_off_is_refused_in_one_sentence():
    """Nothing else is said of it, though combinations and service name its cases."""
    sums = [{"name": "both", "factors": {"rig": 1.0, "sea": 1.0}}]
    service = {"distance": "100 nmi", "count": 1e5}
    found = told([RIG | {"on": False}, SEA | {"on": False}], combinations=sums, service=service)
    assert found == "mine.toml: cases: every case is switched off; give one of them on = true"


@pytest.mark.parametrize(
    ("more", "place"),
    [
        (
            {"combinations": [{"name": "both", "factors": {"squall": 1.0, "sea": 1.0}}]},
            "combinations 'both': factors",
        ),
        ({"service": {"distance": "100 nmi", "count": 1e5, "about": "squall"}}, "service: about"),
        ({"service": {"distance": "100 nmi", "count": 1e5, "case": "squall"}}, "service: case"),
    ],
)
def test_who_names_a_case_that_is_off_is_told_so(more, place):
    """A combination or a service that names it gets one sentence: it is there, and off."""
    assert told([RIG, SEA, OFF], **more) == (
        f"mine.toml: {place}: case 'squall' is switched off; give it on = true, or take its name out here"
    )


def test_a_case_that_a_case_off_would_become_is_told_as_off():
    """A name that only its expansion has is known as well."""
    sums = [{"name": "rest", "factors": {"squall, pretension alone": 1.0}}]
    found = told([RIG, SEA, OFF | {"pretension": "4 kN"}], combinations=sums)
    assert "case 'squall, pretension alone' is switched off" in found


def test_a_variant_may_switch_a_case_on_but_not_change_one_that_stays_off():
    """What it changes of a case that is off would show nowhere; with on = true it is run."""
    variant = {"name": "gusty", "set": {"cases.squall.tension": "60 kN"}}
    found = told([RIG, SEA, OFF], variants=[variant])
    assert found == (
        "mine.toml: variants 'gusty': changes the case 'squall', which is switched off; "
        "set on = true for it too, or leave it as it is"
    )
    variant["set"]["cases.squall.on"] = True
    file = made([RIG, SEA, OFF], variants=[variant])
    assert [one.name for one in file.variant(file.variants[0]).load_cases] == ["rig", "sea", "squall"]


def test_names_stay_unique_with_cases_off():
    """A case that is off keeps its name, or switching it on would break the file."""
    assert "cases 'rig': is duplicated" in told([RIG, SEA, OFF | {"name": "rig"}])


def test_an_unknown_key_is_told_with_the_keys_of_its_kind_only():
    """Under a racking case stand the keys of racking cases, none of the other kinds'."""
    found = told([RIG, SEA | {"zzz": 1}])
    assert "key 'zzz' is not known here; take it out, or use one of " in found
    shown = found.rpartition("one of ")[2].removesuffix(" …").split(", ")
    assert shown == list(LOAD_CASES["racking"].model_fields)[: len(shown)]
    assert len(shown) == min(len(LOAD_CASES["racking"].model_fields), MAX_SHOWN_KEYS)


def test_cases_worked_out_for_a_boat_keep_the_kind_of_the_file():
    """A net, a diving bow, a rule's moments and a bridle are still of their kind when they are run."""
    for kind, keys in KINDS.items():
        assert {one.kind for one in case(kind, **keys).expand(boat_for(kind, prod=1.2))} == {kind}
