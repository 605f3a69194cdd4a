"""Variants: each is the boat file that a hand would have edited, or is told what is wrong with it."""

import json

import numpy as np
import pytest

from cases.analyses.comparison import MARGIN, compare, comparison, rows
from cases.analyses.study import run_study
from cases.cli.commands import main
from cases.cli.compare_output import comparison_tables
from cases.input.boat_file import read_boat_file
from cases.input.variants import AS_ENTERED, Variant, apply_variant, split_key
from cases.report.sections.variants_section import variant_sentences
from femcore.base.errors import InputFault, InputFaults, Mechanism
from femcore.base.written import as_json
from tests.cases.report.report_boat import TEXT
from tests.models.boats import FILES, LONGERON, MARTINGALE_STAYS, STRUT, boat_file_of, example_boat, validated

TEMPLATE = FILES["new_boat"].read_text(encoding="utf-8")
RIGID = {"name": "rigid", "kind": "rigid"}
SOFT = {"name": "soft", "kind": "sprung", "pitch": "200 kN*m/rad", "roll": "300 kN*m/rad"}
ATHWART = {"name": "athwart", "kind": "pinned", "axis": [0, 1, 0]}
RIG = {"name": "rig", "kind": "rig", "tension": "40 kN", "rake": "14 deg"}
SEA = {"name": "sea", "kind": "racking", "force": "4 kN"}


def read(folder, text):
    """The text, written and read as a boat file."""
    path = folder / "mine.toml"
    path.write_text(text, encoding="utf-8")
    return read_boat_file(path)


def block(start, end):
    """A stretch of the template."""
    return TEMPLATE[TEMPLATE.index(start) : TEMPLATE.index(end)]


LONGERON_TEXT = block("\n[longeron]", "\n# ---- Ways to join")
PROD_CASE = block('\n[[cases]]\nname = "headsail off the prod"', '\n[[cases]]\nname = "upwind, estimated"')
BY_HAND = {
    "a key in a dotted string": (
        'set = { "crossbeam.GJ" = "1.1 MN*m**2" }',
        [('GJ = "0.7 MN*m**2"', 'GJ = "1.1 MN*m**2"')],
    ),
    "a key in a dotted key": (
        'set.crossbeam.GJ = "1.1 MN*m**2"',
        [('GJ = "0.7 MN*m**2"', 'GJ = "1.1 MN*m**2"')],
    ),
    "a key that was not there": (
        'set = { crossbeam = { GA_vertical = "40 MN" } }',
        [('# GA_vertical = "40 MN"', 'GA_vertical = "40 MN"')],
    ),
    "a joint's value by its name": (
        'set = { \'joints."bolted plates".pitch\' = "900 kN*m/rad" }',
        [('pitch = "400 kN*m/rad"', 'pitch = "900 kN*m/rad"')],
    ),
    "a joint's value by its bare name": (
        'set = { "joints.bolted plates.pitch" = "900 kN*m/rad" }',
        [('pitch = "400 kN*m/rad"', 'pitch = "900 kN*m/rad"')],
    ),
    "a station by its number": (
        'set = { "bows.stations.2.GJ" = "7 MN*m**2" }',
        [('GJ = "8 MN*m**2"', 'GJ = "7 MN*m**2"')],
    ),
    "a table left out, and what hangs on it": (
        'without = ["longeron", \'cases."headsail off the prod"\']',
        [(LONGERON_TEXT, ""), (PROD_CASE, "")],
    ),
    "a joint more": (
        'set.joints."a ball" = { kind = "sprung", free = ["roll", "yaw"] }',
        [
            (
                "\n# ---- Cases to run",
                '\n[[joints]]\nname = "a ball"\nkind = "sprung"\nfree = ["roll", "yaw"]\n\n# ---- Cases to run',
            )
        ],
    ),
    "a kind changed: out, then in": (
        'without = ["joints.bonded"]\nset.joints.bonded = { kind = "pinned", axis = [0, 0, 1] }',
        [
            (
                'name = "bonded"\nkind = "rigid"',
                'name = "bonded"\nkind = "pinned"\naxis = [0, 0, 1]',
            )
        ],
    ),
    "a list in whole": (
        'set.joints = [{ name = "one", kind = "rigid" }]',
        [(block("\n[[joints]]", "\n# ---- Cases to run"), '\n[[joints]]\nname = "one"\nkind = "rigid"\n')],
    ),
}


@pytest.mark.parametrize("name", BY_HAND)
def test_a_variant_is_the_file_edited_by_hand(tmp_path, name):
    """Set and left-out keys give the very boat that the same edits of the text give."""
    table, edits = BY_HAND[name]
    file = read(tmp_path, f'{TEMPLATE}\n[[variants]]\nname = "x"\n{table}\n')
    edited = TEMPLATE
    for old, new in edits:
        assert edited.count(old) == 1, old
        edited = edited.replace(old, new)
    by_hand = read(tmp_path, edited)
    assert file.variant(file.variants[0]).model_dump() == by_hand.model_dump()
    assert by_hand.model_dump() != read(tmp_path, TEMPLATE).model_dump()


FAULTS = {
    "no such table": (
        'without = ["longerom"]',
        "variants 'x': without: 'longerom': key 'longerom' does not exist; did you mean 'longeron'?",
    ),
    "no such joint": (
        'set = { "joints.bolted plate.pitch" = "1 kN*m/rad" }',
        "variants 'x': set: 'joints.bolted plate.pitch': entry 'bolted plate' does not exist; did you mean 'bolted plates'?",
    ),
    "below a value": (
        'set = { "title.short" = "x" }',
        "variants 'x': set: 'title.short': 'title' is a single value, not a table; give it a value",
    ),
    "nothing": (
        'note = "nothing"',
        "variants[1] 'x': differs in nothing; give what to set or to leave out, such as without = [\"longeron\"]",
    ),
    "a key that a table does not know": (
        'set = { "martingale.pretensoin" = "1 kN" }',
        "variants 'x': martingale: pretensoin: key 'pretensoin' is not known here; did you mean 'pretension'?",
    ),
    "a wrong unit": (
        'set = { "crossbeam.GJ" = "1 MN" }',
        (
            "variants 'x': crossbeam: GJ: '1 MN' is not a bending or torsional stiffness; write it with its unit, "
            'such as "800 kN*m**2"'
        ),
    ),
    "what still hangs on what went": (
        'without = ["longeron"]',
        (
            "variants 'x': cases 'headsail off the prod': place 'prod tip' does not exist; did you mean "
            "'port joint'?"
        ),
    ),
    "a table half gone": (
        'without = ["striker"]',
        "variants 'x': martingale: has no striker to go over; add [striker], or take the martingale out",
    ),
    "the name of the boat itself": (
        f'set.title = "t"\n[[variants]]\nname = "{AS_ENTERED}"\nset.title = "t"',
        f"variants '{AS_ENTERED}': is duplicated; give each a name of its own",
    ),
}


@pytest.mark.parametrize("name", FAULTS)
def test_each_fault_names_the_variant_and_the_key(tmp_path, name):
    """What makes a variant no sound boat file is told with file, variant, key and cure."""
    table, sentence = FAULTS[name]
    with pytest.raises((InputFault, InputFaults)) as trouble:
        read(tmp_path, f'{TEMPLATE}\n[[variants]]\nname = "x"\n{table}\n')
    told = str(trouble.value).removeprefix(f"{tmp_path / 'mine.toml'}: ")
    if "prod tip" in sentence:
        told, sentence = told.split(";")[0], sentence.split(";")[0]
    assert told == sentence


def test_a_fault_of_the_file_is_told_once(tmp_path):
    """What is wrong with the file itself is not told again for its variants."""
    text = TEMPLATE.replace('half_span = "2.4 m"', 'half_span = "2.9 m"')
    with pytest.raises(InputFaults) as trouble:
        read(tmp_path, f'{text}\n[[variants]]\nname = "x"\nset.title = "t"\n')
    assert str(trouble.value).count("off the crossbeam") == 1


def test_the_file_is_left_as_it_was():
    """Making a variant changes nothing in the tables that it is made from."""
    raw = {"a": {"b": 1, "c": [{"name": "n", "d": 2}]}, "variants": []}
    made = apply_variant(
        raw, Variant.model_validate({"name": "v", "set": {"a.c.n.d": 3}, "without": ["a.b"]})
    )
    assert made == {"a": {"c": [{"name": "n", "d": 3}]}}
    assert raw == {"a": {"b": 1, "c": [{"name": "n", "d": 2}]}, "variants": []}


def test_keys_are_read_as_toml_reads_them():
    """Dots part a key, quotes keep them together."""
    assert split_key('joints."a.b".pitch') == ("joints", "a.b", "pitch")
    assert split_key("bows . stations . 2") == ("bows", "stations", "2")
    assert split_key("joints.two words.pitch") == ("joints", "two words", "pitch")


def boat(*variants, joints=(RIGID, SOFT)):
    """The plain boat with everything on it, and variants."""
    keys = {
        "station": 3.4,
        "inboard": 0.4,
        "striker": STRUT,
        "martingale": MARTINGALE_STAYS,
        "longeron": LONGERON,
    }
    made = boat_file_of(list(joints), [RIG, SEA], **keys, stay={"forward": 0.05, "up": 0.15})
    return validated(type(made), made._raw | {"variants": list(variants)})


BARE = {"name": "bare", "without": ["longeron", "martingale", "striker"]}
STIFF = {"name": "stiff", "set": {"joints.soft.pitch": "900 kN*m/rad"}}


def test_variants_are_run_side_by_side():
    """The boat as entered comes first, and every number is that of the variant's own study."""
    file = boat(BARE, STIFF)
    compared = compare(file)
    assert [one.name for one in compared] == [AS_ENTERED, "bare", "stiff"]
    table = {(row.quantity, row.joint): row.values for row in rows(compared)}
    studies = [run_study(file), *(run_study(file.variant(variant)) for variant in file.variants)]
    for number, joint in enumerate(("rigid", "soft")):
        stiffness = [study.joints[number].racking_stiffness for study in studies]
        assert table["racking stiffness", joint] == tuple(stiffness)
        torque = [abs(study.joints[number].cases[1].joint_load[:, 4]).max() for study in studies]
        assert table["torque that racking adds", joint] == tuple(torque)
        lift = [abs(study.joints[number].cases[0].joint_load[:, 2]).max() for study in studies]
        assert table["vertical shear under the rig", joint] == tuple(lift)
        assert table["martingale tension under the rig", joint][1] is None
    turned = abs(studies[0].stay_lines()["rig"].torque)
    assert table["torque of the stay about the beam's axis", ""] == (turned,) * 3


def test_a_stiffer_joint_attracts_more():
    """With its pitch spring stiffened a joint takes more torque that racking adds; a rigid one is left as it was."""
    table = {(row.quantity, row.joint): row.values for row in rows(compare(boat(STIFF)))}
    before, after = table["torque that racking adds", "soft"]
    assert after > before * 1.05
    assert table["torque that racking adds", "rigid"][0] == table["torque that racking adds", "rigid"][1]


def test_what_cannot_be_solved_names_the_variant():
    """A pin athwart passes no torque once the longeron is gone: a mechanism, named by variant and joint."""
    with pytest.raises(Mechanism, match=r"^variant 'bare': joint 'athwart': the crossbeam turns freely"):
        compare(boat(BARE, joints=[ATHWART]))


def test_a_joint_without_an_answer_in_a_variant_leaves_the_others():
    """The same beside a rigid joint: the variant is compared with the rigid joint, and has no value with the other one."""
    compared = compare(boat(BARE, joints=[RIGID, ATHWART]))
    assert [[one.joint.name for one in made.study.unsolved] for made in compared] == [[], ["athwart"]]
    table = {(row.quantity, row.joint): row.values for row in rows(compared)}
    assert None not in table["racking stiffness", "rigid"]
    before, after = table["racking stiffness", "athwart"]
    assert before > 0
    assert after is None


def test_a_file_without_variants_has_nothing_to_compare():
    """To compare a boat with nothing is a fault of the input."""
    with pytest.raises(InputFault, match=r"^boat.toml: has no variants to compare; add \[\[variants\]\]"):
        compare(example_boat("new_boat").model_copy(update={"variants": []}), "boat.toml")


def test_the_data_are_json():
    """The comparison as data holds each variant's cases and all rows, without NaN."""
    data = json.loads(as_json(comparison(compare(boat(BARE)))))
    assert [one["name"] for one in data["variants"]] == [AS_ENTERED, "bare"]
    assert all(len(row["values"]) == 2 for row in data["rows"])
    assert data["variants"][1]["joints"][0]["cases"][0]["tension"] == {}


def test_the_command_compares(tmp_path, capsys):
    """`forebeam compare` prints a column for each variant, and with --json the same rows as data."""
    path = tmp_path / "mine.toml"
    variant = '[[variants]]\nname = "more [bold]GJ"\nset = { "crossbeam.GJ" = "1.1 MN*m**2" }\n'
    path.write_text(f"{TEXT}\n{variant}", encoding="utf-8")

    def printed(*more):
        with pytest.raises(SystemExit) as done:
            main(["compare", str(path), *more])
        assert done.value.code == 0
        return capsys.readouterr().out

    shown = printed()
    assert "as entered" in shown
    assert "more [bold]GJ" in shown
    assert "Preliminary engineering aid" in shown
    data = json.loads(printed("--json"))
    assert [one["name"] for one in data["variants"]] == [AS_ENTERED, "more [bold]GJ"]
    assert data["rows"] == json.loads(as_json(comparison(compare(read_boat_file(path)))))["rows"]


def test_the_command_tells_a_fault(tmp_path, capsys):
    """A boat file without variants ends the command with status 2 and a sentence."""
    path = tmp_path / "mine.toml"
    path.write_text(TEXT, encoding="utf-8")
    with pytest.raises(SystemExit) as done:
        main(["compare", str(path)])
    assert done.value.code == 2
    assert capsys.readouterr().err.startswith(f"{path}: has no variants to compare; add [[variants]]")


def test_the_table_tells_changes():
    """A change is told in per cent, from double on as a multiple, and where nothing changed not at all."""
    compared = compare(boat(STIFF, BARE))
    *first, table, _ = comparison_tables(compared)
    cells = [[cell.plain for cell in column.cells] for column in table.columns]
    assert [part.plain for part in first[1:]] == variant_sentences(compared)
    assert any("%" in text for text in cells[3])
    assert any("(×" in text for text in cells[4])
    assert not any("(" in text for text in cells[2])


def test_margins_stand_side_by_side_too():
    """The lowest margins, and the most of all cases and combinations, are those of each variant's own parts and rows."""
    file = boat(STIFF)
    compared = compare(file)
    table = {(row.quantity, row.joint): row for row in rows(compared)}
    for number, one in enumerate(compared):
        for part_margins in one.part_margins:
            beside = table["lowest margin beside the joint", part_margins.joint]
            margins = [check.margin.min() for check in part_margins.other_checks if check.kind == "checked"]
            assert beside.unit == MARGIN
            assert beside.values[number] == min(margins)
            loads = part_margins.rows.values.joint_load
            assert len(loads) == len(one.study.cases) + len(one.study.file.expanded_combinations)
            assert (
                table["torque of all cases", part_margins.joint].values[number] == np.abs(loads[..., 4]).max()
            )
    assert not [row for row in table if row[0].startswith("lowest margin of the joint")]
