"""Variants crossed with joints: every pair is that joint in that variant, alone, as another run finds it."""

import csv
import json

import pytest

from cases.analyses.analysis import analyse
from cases.analyses.comparison import QUANTITIES
from cases.analyses.crossing import cross
from cases.cli.commands import main
from cases.cli.crossing_output import crossing_csv, crossing_sentences, crossing_tables
from cases.input.variants import AS_ENTERED, Variant
from femcore.base.errors import InputFault, StructureFault
from femcore.base.written import as_json
from tests.cases.analyses.test_decision import CASES
from tests.cases.analyses.test_decision import boat as lug_boat
from tests.cases.input.test_variants import ATHWART, BARE, RIGID, SOFT, STIFF, boat
from tests.cases.report.report_boat import JOINTS, TEXT
from tests.models.boats import validated
from tests.models.joints.test_joint_lug import FITTING

LUG = FITTING["name"]
LIGHT = {"name": "light sea", "set": {"cases.racking.force": "20 N", "cases.rig.tension": "80 N"}}
WITHOUT = {"name": "no lugs", "without": [f'joints."{LUG}"']}


def lugs(*variants):
    """Lugs that fail under the sea as entered, and a rigid joint."""
    made = lug_boat(RIGID, cases=CASES)
    return validated(type(made), made._raw | {"variants": list(variants)})


@pytest.fixture(scope="module")
def crossing():
    """Both joints in the boat as entered, in a light sea, and where the lugs are left out."""
    return cross(lugs(LIGHT, WITHOUT), [LUG, "rigid", LUG])


def test_each_pair_is_that_joint_in_that_variant(crossing):
    """Verdict, margins and quantities are those of the variant's own file, run whole; a joint asked for twice is one."""
    file = lugs(LIGHT, WITHOUT)
    assert crossing.variants == (AS_ENTERED, "light sea", "no lugs")
    assert crossing.joints == (LUG, "rigid")
    for variant, made in zip(crossing.variants, (file, file.variant(file.variants[0])), strict=False):
        whole = analyse(made).with_answers()
        verdicts = {one.joint: one.verdict for one in whole.decision.candidates}
        for joint, margins in zip(whole.study.joints, whole.part_margins, strict=True):
            [pair] = [one for one in crossing.of_joint(joint.name) if one.variant == variant]
            assert pair.verdict == verdicts.get(joint.name, pair.verdict)
            governing = margins.governing_check(own=True)
            assert (pair.weakest is None) == (governing is None)
            said = {quantity.name: quantity.of(joint, margins) for quantity in QUANTITIES}
            assert {k: v for k, v in pair.values.items() if v is None} == {
                k: v for k, v in said.items() if v is None
            }
            known = {name: value for name, value in said.items() if value is not None}
            assert {name: pair.values[name] for name in known} == pytest.approx(known, rel=1e-9, abs=1e-6)
    entered, light, absent = crossing.of_joint(LUG)
    assert (entered.verdict, light.verdict) == ("inadequate", "adequate for what was checked")
    assert light.lowest_margin > 0 > entered.lowest_margin
    assert (absent.verdict, absent.reason, absent.no_answer) == (None, "left out by the variant", False)


def test_the_answer_comes_first_and_names_the_best_pair(crossing):
    """The first sentence counts pairs that have a verdict, and names the pair with the largest of the lowest margins."""
    first, *of_joints = crossing_sentences(crossing)
    pairs = [one for one in crossing.pairs if one.verdict]
    adequate = [one for one in pairs if one.verdict.startswith("adequate")]
    assert first.startswith(f"{len(adequate)} of {len(pairs)} pairs")
    assert "with ‘light sea’" in first
    assert of_joints[0].startswith(
        f"‘{LUG}’: inadequate in ‘as entered’; adequate for what was checked in ‘light sea’; left out"
    )
    assert of_joints[1] == "‘rigid’: not assessed in all."
    *_, table, _ = crossing_tables(crossing)
    assert [column.header if isinstance(column.header, str) else column.header.plain for column in table.columns] == [
        "", "variant", LUG, "rigid",
    ]  # fmt: skip
    assert [cell.plain for cell in table.columns[2].cells][:3] == [
        "inadequate", "adequate for what was checked", "left out by the variant",
    ]  # fmt: skip


def test_csv_and_json_hold_every_pair(crossing):
    """A row, and an object, for each pair, in SI, unrounded; what has no value is empty, or null."""
    rows = list(csv.DictReader(crossing_csv(crossing).splitlines()))
    data = json.loads(as_json(crossing))
    for row, one, pair in zip(rows, data["pairs"], crossing.pairs, strict=True):
        assert (row["variant"], row["joint"]) == (one["variant"], one["joint"]) == (pair.variant, pair.joint)
        stiffness = pair.values.get("racking stiffness")
        assert row["racking stiffness (N/m)"] == ("" if stiffness is None else repr(stiffness))
        assert one["values"].get("racking stiffness") == stiffness
        assert one["verdict"] == pair.verdict


def test_a_pair_without_an_answer_leaves_the_others():
    """A pin athwart without a longeron turns freely: that pair has no answer, with its reason, and the others have one."""
    found = cross(boat(BARE, joints=[RIGID, ATHWART]), ["athwart", "rigid"])
    last = found.of_joint("athwart")[1]
    assert last.no_answer
    assert "the crossbeam turns freely" in last.reason
    assert all(one.values for one in found.of_joint("rigid"))


def test_what_cannot_be_crossed_is_a_fault():
    """A joint that does not exist is named with the nearest; where no pair has an answer it is the structure's fault."""
    with pytest.raises(InputFault, match="joint 'sofd' does not exist"):
        cross(boat(STIFF, joints=[RIGID, SOFT]), ["sofd"])
    with pytest.raises(InputFault, match="has no variants to compare"):
        cross(boat(), ["soft"])
    bare = boat(BARE, joints=[RIGID, ATHWART]).variant(Variant.model_validate(BARE))
    loose = validated(
        type(bare), bare._raw | {"variants": [{"name": "calm", "set": {"cases.sea.force": "3 kN"}}]}
    )
    with pytest.raises(StructureFault, match=r"^athwart: no answer: .*turns freely"):
        cross(loose, ["athwart"])


def test_the_command_crosses(tmp_path, capsys):
    """`compare --joint` prints the answer first; --csv writes the pairs, and an existing file is left as it is."""
    path, table = tmp_path / "mine.toml", tmp_path / "pairs.csv"
    path.write_text(f'{TEXT}\n[[variants]]\nname = "stiffer"\nset = {{ "crossbeam.GJ" = "1.1 MN*m**2" }}\n')

    def status(*more):
        with pytest.raises(SystemExit) as done:
            main(["compare", str(path), *more])
        return done.value.code

    assert status("--joint", JOINTS[1], "--csv", str(table)) == 0
    shown = capsys.readouterr().out
    assert "0 of 2 pairs of variant and joint are adequate for what was checked" in shown
    assert len(table.read_text().splitlines()) == 3
    before = table.read_text()
    assert status("--csv", str(table)) == 2
    assert "exists already" in capsys.readouterr().err
    assert table.read_text() == before
    assert status("--csv", str(tmp_path / "all.csv")) == 0
    assert (tmp_path / "all.csv").read_text().startswith('quantity,unit,joint,"as entered, SI"')
