"""Combinations of cases: what a file asks for, what is taken where it asks for none, and what it gets wrong."""

import numpy as np
import pytest
from pydantic import ValidationError

from cases.input.boat_file import BoatFile, read_boat_file
from cases.input.combinations import ISO_12215_7_FACTORS, factor_matrix
from femcore.base.errors import InputFault, InputFaults
from tests.models.boats import FILES, boat_file_of, validated

RIGID = {"name": "rigid", "kind": "rigid"}
RIG = {"name": "rig", "kind": "rig", "tension": "40 kN", "rake": "14 deg"}
SEA = {"name": "sea", "kind": "racking", "force": "4 kN"}
TACK = {
    "name": "tack",
    "kind": "tack",
    "tension": "4 kN",
    "rake": "0 deg",
    "lean": "9 deg",
    "both_sides": True,
    "place": "stay",
}
AT_ANCHOR = {"name": "load", "kind": "points", "also": [{"place": "stay", "force": "0 0 1 kN"}]}


def sums(cases, **keys):
    """The combinations of the plain boat under those cases, as factors by name."""
    file = boat_file_of([RIGID], cases, **keys)
    return {one.name: dict(one.factors) for one in file.expanded_combinations}


def entered(combinations, cases=(RIG, SEA)):
    """The same with combinations as a file enters them."""
    tables = boat_file_of([RIGID], list(cases))._raw | {"combinations": combinations}
    return {
        one.name: dict(one.factors)
        for one in validated(type(boat_file_of([RIGID], [SEA])), tables).expanded_combinations
    }


def test_the_default_is_the_simplified_pair():
    """100 % of the sea with 50 % of the rig, and 50 % with 100 % (ISO 12215-7:2020, scope read), from either quarter."""
    assert ISO_12215_7_FACTORS == ((1.0, 0.5), (0.5, 1.0))
    assert sums([RIG, SEA]) == {
        "sea 100 %, rig 50 %": {"sea": 1.0, "rig": 0.5},
        "sea −100 %, rig 50 %": {"sea": -1.0, "rig": 0.5},
        "sea 50 %, rig 100 %": {"sea": 0.5, "rig": 1.0},
        "sea −50 %, rig 100 %": {"sea": -0.5, "rig": 1.0},
    }


def test_every_rig_case_meets_every_sea():
    """Two rig cases and two seas make four pairs, from either quarter; other kinds are left out."""
    more = [
        RIG,
        RIG | {"name": "gust"},
        SEA,
        {"name": "by 60 mm", "kind": "racking", "movement": "60 mm"},
        AT_ANCHOR,
    ]
    found = sums(more)
    assert len(found) == 2 * 2 * 2 * 2
    assert not any("load" in factors for factors in found.values())


RULES = {
    "name": "rules",
    "kind": "connecting",
    "rule": "dnv-hslc",
    "displacement": "9 t",
    "length": "12 m",
    "acceleration": "9 m/s**2",
}
DIVE = {"name": "dive", "kind": "deck diving", "displacement": "9 t", "waterline": "12 m"}


def test_rule_racking_and_a_dive_are_seas_too():
    """A rule's pitch connecting and torsional moments, each alone, meet the rig both ways up; a dive only pushes up."""
    found = sums([RIG, RULES, DIVE])
    twisted = {
        f"rules, {name}" for name in ("pitch connecting", "pitch connecting along the hulls", "torsion")
    }
    pairs = {(name, factor) for one in found.values() for name, factor in one.items() if name != "rig"}
    assert pairs == {(name, f) for name in twisted for f in (1.0, -1.0, 0.5, -0.5)} | {
        ("dive", 1.0),
        ("dive", 0.5),
    }
    assert all(len(one) == 2 and one["rig"] in (0.5, 1.0) for one in found.values())
    assert len(found) == 3 * 4 + 2


def test_one_load_seen_about_two_axes_is_not_added():
    """Pitch connecting and torsion in one combination are a fault that names both; each alone is sound."""
    both = {"rules, pitch connecting": 1.0, "rules, torsion": 0.5}
    for factors in (both, {"rules": 1.0, "rules, torsion": 0.5}):
        found = faults_of([{"name": "sum", "factors": factors}])
        assert any("one load seen about two axes" in fault and "'rules, torsion'" in fault for fault in found)
    assert not faults_of([{"name": f"rig and {name}", "factors": {name: 1.0, "rig": 1.0}} for name in both])


def faults_of(combinations):
    """What is wrong with a file of a rig and a rule that has these combinations."""
    raw = boat_file_of([RIGID], [RIG, RULES])._raw | {"combinations": combinations}
    return [str(fault) for fault in validated(BoatFile, raw).own_faults()]


@pytest.mark.parametrize(
    "cases", [[RIG], [SEA], [RULES, DIVE], [AT_ANCHOR], [RIG | {"also": AT_ANCHOR["also"]}, SEA]]
)
def test_no_default_without_a_plain_rig_and_a_plain_sea(cases):
    """Where one of both is missing, or already carries further loads, nothing is combined by default."""
    assert sums(cases) == {}


def test_an_empty_list_is_none():
    """A file that says it has no combinations has none."""
    assert entered([]) == {}
    assert len(entered([{"name": "both", "factors": {"rig": 1.0, "sea": 0.7}}])) == 1


def test_a_case_of_several_becomes_each_of_them():
    """The name of a case that stands for several stands for each in turn, and each makes a combination of its own."""
    found = entered([{"name": "both", "factors": {"tack": 1.0, "sea": 0.7}}], [TACK, SEA])
    assert found == {
        "both (tack, to port)": {"tack, to port": 1.0, "sea": 0.7},
        "both (tack, to starboard)": {"tack, to starboard": 1.0, "sea": 0.7},
    }
    alone = entered([{"name": "one", "factors": {"tack, to port": 1.0, "sea": 0.7}}], [TACK, SEA])
    assert alone == {"one": {"tack, to port": 1.0, "sea": 0.7}}


def test_a_rig_and_the_rig_at_rest_are_two_names():
    """A rig with pretension combines as the rig alone; at rest it has a name of its own and comes in by that only."""
    rig = RIG | {"pretension": "6 kN"}
    found = entered([{"name": "both", "factors": {"rig": 1.0, "sea": 0.7}}], [rig, SEA])
    assert found == {"both": {"rig": 1.0, "sea": 0.7}}
    rest = entered([{"name": "rest", "factors": {"rig, pretension alone": 1.0, "sea": 0.7}}], [rig, SEA])
    assert rest == {"rest": {"rig, pretension alone": 1.0, "sea": 0.7}}
    assert sums([rig, SEA]) == sums([RIG, SEA])


@pytest.mark.parametrize("factor", [1e200, -1e200, 1e-200, 1001.0])
def test_a_factor_beyond_reason_is_refused(factor):
    """A combination's factor is nought or of a size from 1e-6 to 1000; the sentence names the case."""
    with pytest.raises(
        ValidationError,
        match=r"rig: a factor of .* is out of range; give a size from 1e-06 to 1000, or leave",
    ):
        entered([{"name": "both", "factors": {"rig": factor}}])


def test_factors_stand_by_case():
    """The matrix has a row for each combination and a column for each case, 0 where a case is not in it."""
    file = boat_file_of([RIGID], [RIG, AT_ANCHOR, SEA])
    matrix = factor_matrix(file.expanded_combinations, [case.name for case in file.load_cases])
    assert np.array_equal(matrix, [[0.5, 0, 1], [0.5, 0, -1], [1, 0, 0.5], [1, 0, -0.5]])


SENTENCES = {
    "unknown case": (
        'name = "x"\nfactors = { "upwnd" = 1 }',
        "combinations 'x': factors: case 'upwnd' does not exist; did you mean 'upwind'?",
    ),
    "nothing": (
        'name = "x"\nfactors = {}',
        (
            "combinations[1] 'x': factors: combines nothing; give cases and factors, such as "
            "{ racking = 1.0, upwind = 0.5 }"
        ),
    ),
    "the name of a case": (
        'name = "upwind"\nfactors = { upwind = 1 }',
        "combinations 'upwind': is the name of a case too; give the combination another name",
    ),
    "twice": (
        'name = "x"\nfactors = { upwind = 1 }\n[[combinations]]\nname = "x"\nfactors = { upwind = 2 }',
        "combinations 'x': is duplicated; give each a name of its own",
    ),
    "no number": (
        'name = "x"\nfactors = { upwind = "all" }',
        (
            "combinations[1] 'x': factors: upwind: 'all': input should be a valid number, unable to parse string as a "
            "number; correct the value"
        ),
    ),
    "unknown key": (
        'name = "x"\nfactor = { upwind = 1 }\nfactors = { upwind = 1 }',
        "combinations[1] 'x': factor: key 'factor' is not known here; did you mean 'factors'?",
    ),
}


@pytest.mark.parametrize("name", SENTENCES)
def test_each_fault_is_a_sentence(tmp_path, name):
    """What is wrong with a combination is told with file, key and cure."""
    table, sentence = SENTENCES[name]
    path = tmp_path / "mine.toml"
    path.write_text(
        FILES["new_boat"].read_text(encoding="utf-8") + f"\n[[combinations]]\n{table}\n", encoding="utf-8"
    )
    with pytest.raises((InputFault, InputFaults)) as trouble:
        read_boat_file(path)
    assert str(trouble.value) == f"{path}: {sentence}"


def test_combinations_beyond_number_are_refused():
    """Cases that stand for many, multiplied with one another, are refused in a sentence and not built."""
    rigs = [TACK | {"name": f"tack {n}"} for n in range(16)]
    tables = boat_file_of([RIGID], rigs)._raw
    tables |= {"combinations": [{"name": "all", "factors": {one["name"]: 1.0 for one in rigs}}]}
    found = [str(fault) for fault in validated(type(boat_file_of([RIGID], [SEA])), tables).faults()]
    assert found == [
        "combinations: stand for 65536 combinations of single cases; combine cases that stand for fewer, 20000 in all"
    ]


def test_cases_are_expanded_once_and_anew_for_a_copy(monkeypatch):
    """Whoever asks has the cases of this boat; a copy with other cases, or with other tables, has its own."""
    file, calls = boat_file_of([RIGID], [TACK, SEA]), []
    original = type(file.cases[0]).expand
    monkeypatch.setattr(
        type(file.cases[0]), "expand", lambda self, boat: calls.append(boat) or original(self, boat)
    )
    names = [one.name for one in file.load_cases]
    assert [one.name for one in file.load_cases] == names
    assert set(file.load_levels) == {*names, *(one.name for one in file.expanded_combinations)}
    assert calls == [file]
    lone = file.model_copy(update={"cases": file.cases[1:]})
    assert [one.name for one in lone.load_cases] == names[-len(lone.load_cases) :] != names
    higher = file.model_copy(update={"note": "higher"})
    assert [one.name for one in higher.load_cases] == names
    assert calls[-1] is higher
