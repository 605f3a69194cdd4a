"""How sure the answer is, in sentences, tables and pictures: each number is the analysis's own."""

import csv
import io
import json

import pytest

from cases.analyses.analysis import Analysis
from cases.analyses.study import run_study
from cases.cli.commands import main
from cases.report.data.uncertainty_words import called, joint_sentences, preference_sentences
from cases.report.data.words import scaled_sizes
from cases.report.figures.tornado_figure import strongest, tornado_picture
from cases.report.sections.uncertainty_section import uncertainty_section
from cases.report.tables.uncertainty_tables import effects_table, inputs_table, percent, reliability_table
from tests.cases.analyses.uncertainty.test_uncertainty import CASES, boat, on_two_joints
from tests.cases.report.report_boat import TEXT

SCATTER = {"racking": "± 50 %", "metal": "± 6 %", "laminate": "± 12 %", "stay.forward": "± 5 mm"}


@pytest.fixture(scope="module")
def analysis():
    """Of the boat on two sorts of lugs."""
    return Analysis(run_study(on_two_joints(SCATTER, CASES[:2])))


def rows_of(table):
    """Of its CSV text, by heading."""
    return list(csv.DictReader(io.StringIO(table.csv())))


def test_the_section_says_chances_flips_and_what_to_know_first(analysis):
    """A sentence for each with the analysis's numbers; tables and a tornado for each joint."""
    found = analysis.uncertainty
    section = uncertainty_section(analysis.study, analysis)
    assert len(section.drawings) == len(found.joints) == 2
    text = " ".join(section.words)
    for one in found.joints:
        own = one.own.counted
        assert (
            f"{100 * own.value:.0f} %: the chance that a margin of one of its own parts is below zero"
            in text.replace("less than 1 %", "0 %").replace("more than 99 %", "100 %")
        )
        for flip in one.flips[:3]:
            before = scaled_sizes(flip.sizes) or f"was {flip.nominal}"
            assert (
                f"becomes {flip.becomes} with {called(flip.input)} alone at {flip.value} ({before};" in text
            )
    assert "goes away with an input known exactly" in text
    assert list(preference_sentences(found)) == [
        sentence for sentence in section.words if "larger governing margin" in sentence
    ]


def test_tables_hold_every_part_input_and_swing_in_full(analysis):
    """Signs, units and values of the CSV files are those of the result."""
    found = analysis.uncertainty
    reliability = rows_of(reliability_table(found))
    expected = [
        (one.joint, part)
        for one in found.joints
        for part in (*filter(None, (one.own, one.beside)), *one.parts)
    ]
    assert len(reliability) == len(expected)
    for row, (joint, part) in zip(reliability, expected, strict=True):
        values = list(row.values())
        assert (row["joint"], row["part"]) == (joint, part.part)
        assert float(row["margin, without scatter (share)"]) == part.margin
        assert [float(value) for value in values[6:10]] == [
            part.counted.value, part.counted.low, part.counted.high, part.failure.value,
        ]  # fmt: skip
        if part.chance is not None:
            assert (float(values[4]), float(values[5])) == (part.index, part.chance)
    effects = rows_of(effects_table(found))
    for row, (joint, effect) in zip(
        effects, [(one.joint, each) for one in found.joints for each in one.effects], strict=True
    ):
        values = list(row.values())
        swings = [
            v
            for s in (effect.torque, effect.bending, effect.margin)
            for v in (s.elasticity, s.low, s.high, s.share)
        ]
        assert [row["joint"], row["input"], row["below"], row["above"]] == [
            joint,
            effect.input,
            effect.below,
            effect.above,
        ]
        assert [float(value) for value in values[4:]] == pytest.approx([*swings, effect.remaining])
    inputs = rows_of(inputs_table(found))
    assert [(row["input"], row["scatter"]) for row in inputs] == [
        (one.name, one.scatter) for one in found.inputs
    ]


def test_the_tornado_has_a_bar_to_either_side_for_each_input(analysis):
    """Each bar begins at the value as entered and ends where the result says, in its unit."""
    one = analysis.uncertainty.joints[0]
    drawing = tornado_picture(one, "lugs")
    torque, bending, margin = drawing.figure.axes
    effects = strongest(one)
    for axes, key, value in (
        (torque, "torque", one.torque),
        (bending, "bending", one.bending),
        (margin, "margin", one.margin),
    ):
        by = 1e3 if axes.get_xlabel() == "kN·m" else 1.0
        ends = [bar.get_x() + bar.get_width() for bar in axes.patches]
        sides = [getattr(getattr(effect, key), side) / by for side in ("low", "high") for effect in effects]
        assert ends == pytest.approx(sides)
        assert [bar.get_x() for bar in axes.patches] == pytest.approx([value.nominal / by] * len(ends))
    assert [label.get_text() for label in torque.get_yticklabels()] == [
        called(effect.input) for effect in effects
    ]
    assert one.joint in drawing.words


def test_percentages_never_say_nothing_or_certainty():
    """Below one in a thousand and above all but one it says so."""
    assert [percent(share) for share in (0.0, 0.004, 0.0996, 0.5, 1.0)] == [
        "below 0.1 %",
        "0.4 %",
        "10 %",
        "50 %",
        "over 99.9 %",
    ]


def test_inputs_are_called_in_words_and_keys_as_they_are():
    """A kind loses its underscores, a key of the file and a part's own name do not."""
    assert called("joint_stiffness (my_joint)") == "joint stiffness (my_joint)"
    assert called("bows.frame_spacing") == "bows.frame_spacing"


def test_a_joint_that_nothing_turns_says_so():
    """With strengths alone of little scatter."""
    light = [{"name": "racking", "kind": "racking", "force": "3 kN"}]
    still = Analysis(run_study(boat({"metal": "± 1 %"}, light))).uncertainty.joints[0]
    assert "Within its 90 % range no single input changes the verdict on ‘lugs’." in list(
        joint_sentences(still)
    )


def test_the_command_prints_the_same_numbers_as_the_analysis(tmp_path, capsys):
    """As JSON and in words; samples and seed as asked; a number of samples that is no power of two is a fault."""
    path = tmp_path / "boat.toml"
    path.write_text(TEXT, encoding="utf-8")

    def ran(*options):
        with pytest.raises(SystemExit) as done:
            main(["uncertainty", str(path), *options])
        return done.value.code, capsys.readouterr()

    status, shown = ran("--json", "--samples", "64", "--seed", "3")
    answer = json.loads(shown.out)
    assert (status, answer["samples"], answer["seed"]) == (0, 64, 3)
    assert {one["key"] for one in answer["inputs"]} >= {"racking", "stay_tension", "stay.up"}
    for one in answer["joints"]:
        assert one["torque"]["low"] <= one["torque"]["median"] <= one["torque"]["high"]
    status, shown = ran("--samples", "64")
    assert status == 0
    assert "What scatters, and why so much" in shown.out
    status, shown = ran("--samples", "100")
    assert (status, shown.err) == (2, "--samples: 100 is not a power of two; give one, such as 128\n")
