"""What the report tells of further topics is what the study says."""

import copy
import io
import math
import re
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from matplotlib.colors import to_hex
from matplotlib.text import Text
from rich.console import Console

from cases.analyses import analysis as analysis_module
from cases.analyses.analysis import Analysis, analyse
from cases.analyses.breaking_load import BreakingLoadChecks
from cases.analyses.claims import unchecked_entries
from cases.analyses.comparison import compare, largest_changes, rows
from cases.analyses.fatigue_life import fatigue_lives
from cases.analyses.joint_results import ATTRACTED
from cases.analyses.part_margins import rotation_capacity
from cases.analyses.study import run_study
from cases.cli.run_summary import verdict_lines
from cases.input.boat_file import BoatFile
from cases.report import output
from cases.report.data import words
from cases.report.data.results import results
from cases.report.data.statements import design_load_words, strength_statements
from cases.report.figures.boat_figures import DIAGRAMS
from cases.report.figures.fitting_figure import fitting_jobs, governing_by_part, names_in_drawing
from cases.report.figures.fitting_shapes import views
from cases.report.pages import report_page
from cases.report.sections import rig_section
from cases.report.sections.combinations_section import combinations_section, envelope_picture
from cases.report.sections.fatigue_section import fatigue_section
from cases.report.sections.margins_section import (
    margins_section,
    rotation_capacity_sentences,
)
from cases.report.sections.report_section import ReportSection
from cases.report.sections.variants_section import variants_section
from femcore.base.errors import NoConvergence
from femcore.base.toml import read_toml
from femcore.frame.frame import ACTIONS
from femcore.plotting import style
from models.checks.not_checked import never_checked
from models.joints.base import without_side
from models.response.front_end import SIDES
from models.response.joint_loads import JOINT_LOAD_NAMES
from tests.cases.report.report_boat import CASES, TEXT, boat_file
from tests.models.boats import boat_file_of, validated
from tests.models.joints.test_joint_lug import FITTING
from tests.models.joints.test_joint_socket import GLUE, crossing

SAILED = """
[[cases]]
name = "estimated"
kind = "rig"
rake = "12 deg"
side_load = "60 N/m"
length = "15 m"
[cases.estimate]
righting_moment = "90 kN*m"
hoist = "14 m"
freeboard = "1.2 m"
side_load = "60 N/m"
length = "15 m"
sag = "0.1 m"
take = "mean"
"""


@pytest.fixture(scope="module")
def study(tmp_path_factory):
    """The small boat, run once."""
    return run_study(boat_file(tmp_path_factory.mktemp("boat")))


@pytest.fixture(scope="module")
def study_with_service(tmp_path_factory):
    """The small boat with a stay whose tension is estimated."""
    path = tmp_path_factory.mktemp("boat") / "sailed.toml"
    path.write_text(TEXT + SAILED, encoding="utf-8")
    return run_study(validated(BoatFile, read_toml(path)))


def test_the_stay_over_rake_is_statics(study):
    """At every rake the pull is T cos ρ up and T sin ρ aft, its torque −T (forward cos ρ + up sin ρ), none at −up tan ρ."""
    [table] = [
        t for t in rig_section.rig_section(study, Analysis(study)).tables if t.name == "stay_over_rake"
    ]
    pull, forward, up = 40e3, 0.05, 0.12
    assert [row[-1] for row in table.rows].count("as entered") == 1
    assert {row[-1].text for row in table.shown().rows} == {"", "as entered"}
    for degrees, sag, foot, upward, aft, side, torque, ahead, _ in table.rows:
        assert (sag, side, foot) == (0, 0, pytest.approx(degrees, abs=1e-9))
        sine, cosine = math.sin(math.radians(degrees)), math.cos(math.radians(degrees))
        expected = [pull * cosine, pull * sine, -pull * (forward * cosine + up * sine), -up * sine / cosine]
        assert np.allclose([upward, aft, torque, ahead], expected, rtol=1e-12, atol=1e-9)


def test_every_estimate_of_a_tension_is_shown(study_with_service):
    """Each method's tension stands in the table, and lowest, highest and taken in the sentence."""
    part = rig_section.rig_section(study_with_service, Analysis(study_with_service))
    rig = next(case for case in study_with_service.cases if case.name == "estimated")
    [table] = [t for t in part.tables if t.name == "tension_estimates"]
    rows = {row[1]: row[2] for row in table.rows}
    assert {one.method: one.tension for one in rig.tension_range.estimates} | {
        "taken: mean": rig.stay_tension
    } == rows
    [said] = [sentence for sentence in part.words if "is estimated, not measured" in sentence]
    # 12 × 90/(14 + 1.2)/2.75 = 25.8 kN; 60 × 15²/(8 × 0.1) = 16.9 kN
    assert "from 16.9 kN to 25.8 kN" in said


def test_sag_is_the_parabola(study_with_service):
    """Sag is w L²/8T and the pull on the foot half of the side load."""
    rig = next(case for case in study_with_service.cases if case.name == "estimated")
    [said] = [
        sentence
        for sentence in rig_section.rig_section(study_with_service, Analysis(study_with_service)).words
        if "gives the stay a sag of" in sentence
    ]
    sag = 60 * 15**2 / (8 * rig.stay_tension)
    assert f"sag of {1000 * sag:.1f} mm"[:15] in said
    assert "sideways with 450 N" in said
    assert CASES[1] not in said


def test_the_envelope_is_the_worst_of_all_rows(study):
    """Each number of the envelope's tables is the greatest and least over cases and combinations, in the row that it names."""
    found = Analysis(study)
    part = combinations_section(study, found)
    tables = {table.name: table for table in (*part.tables, *part.unshown)}
    rows = [row for name in ("envelope_forces", "envelope_moments") for row in tables[name].rows]
    assert len(rows) == len(study.joints) * 2 * 6
    for joint, hull, component, high, high_in, low, low_in in rows:
        one = next(e for e in found.envelopes if e.name == joint)
        values = one.rows.values.joint_load[:, SIDES.index(hull), JOINT_LOAD_NAMES.index(component)]
        assert (high, low) == (values.max(), values.min())
        near = 1e-9 * np.abs(values).max()
        assert abs(values[one.rows.names.index(high_in)] - high) <= near
        assert abs(values[one.rows.names.index(low_in)] - low) <= near


def test_combinations_are_told_with_their_reason_and_how(study):
    """Default combinations come with the standard they follow, their factors, and whether anything was solved again."""
    part = combinations_section(study, Analysis(study))
    said = " ".join(part.words)
    assert "No combinations are entered" in said
    assert "ISO 12215-7:2020" in said
    assert "8 combinations were found: 8 linear superposition of solved cases" in said
    [table] = [table for table in part.tables if table.name == "combinations"]
    # one racking and one rig case, the pair, either quarter
    assert len(table.rows) == 4
    assert table.rows[0][1] == f"1.00 × {CASES[0]}, 0.50 × {CASES[1]}"


def test_the_band_is_the_envelope(study):
    """The band's edges along the crossbeam are the envelope, in each panel's unit."""
    one = Analysis(study).envelopes[1]
    figure = envelope_picture(one).figure
    worst = one.worst["crossbeam"]
    for axes, (action, _, _) in zip(figure.axes, DIAGRAMS, strict=True):
        column = ACTIONS.index(action)
        for line, values in zip(axes.lines[:2], (worst.highest, worst.lowest), strict=True):
            drawn, full = line.get_ydata(), values[:, column]
            assert np.allclose(drawn * np.abs(full).max(), full * np.abs(drawn).max(), rtol=1e-9, atol=1e-6)


def test_a_variant_without_an_answer_is_a_remark(tmp_path):
    """A variant that is a mechanism is reported, and takes nothing away from the report; so is a joint of a variant."""
    path = tmp_path / "loose.toml"
    loose = '\n[[variants]]\nname = "loose"\nset = { "joints.2.pitch" = "0 N*m/rad" }\n'
    both = loose.replace("loose", "looser").replace("joints.2", "joints.1") + 'without = ["joints.1"]\n'
    path.write_text(TEXT + loose + both, encoding="utf-8")
    found = analyse(validated(BoatFile, read_toml(path)))
    assert [one.name for one in found.compared[1:]] == ["loose"]
    assert len(found.compared[1].study.joints) == 1
    assert re.search(
        "variant ‘loose’: The joint ‘.*’ has no answer: the crossbeam turns freely", found.remarks[0]
    )
    assert "variant ‘looser’ has no answer" in found.remarks[1]


def test_a_joint_that_is_a_mechanism_is_reported_beside_the_others(tmp_path):
    """Second joint free in pitch: the first has its verdict, the second its reason, in answer, results and remarks."""
    path = tmp_path / "loose.toml"
    path.write_text(TEXT.replace('pitch = "300 kN*m/rad"', 'pitch = "0 N*m/rad"'), encoding="utf-8")
    found = analyse(validated(BoatFile, read_toml(path))).with_answers()
    [without] = found.study.unsolved
    assert without.reason.startswith("the crossbeam turns freely about its own axis")
    numbers = results(found)
    assert [one.joint.name for one in numbers.unsolved] == [without.joint.name]
    assert len(numbers.joints) == len(numbers.margins) == 1
    assert sum("no answer: the crossbeam turns freely" in sentence for sentence in numbers.answer) == 1
    assert without.words() in found.remarks
    assert {
        row[0]
        for part in output.all_sections(found)
        for t in part.unshown
        if t.name == "margins"
        for row in t.rows
    } == {found.study.joints[0].joint.name}


def test_warnings_come_first_and_are_remarks_of_the_results(tmp_path):
    """A rake from the deck: first in the terminal, among the remarks of the results, and once on the page, first."""
    path = tmp_path / "raked.toml"
    path.write_text(TEXT.replace('rake = "10 deg"', 'rake = "76 deg"'), encoding="utf-8")
    found = analyse(validated(BoatFile, read_toml(path)))
    [warning] = found.warnings
    assert warning in results(found, found.remarks).remarks
    console = Console(width=100, file=io.StringIO(), color_system=None)
    console.print(verdict_lines(found))
    shown = " ".join(console.file.getvalue().split())
    assert 0 < shown.index(f"Warning: {warning}") < shown.index("Strength was checked under ")
    page = report_page.render(found, [], [], list(found.remarks), [margins_section(found.study, found)])
    assert page.count("is 76° from upright") == 1
    assert page.index("is 76° from upright") < page.index("Strength was checked under ")


def test_a_joint_that_fails_in_a_combination_alone_is_kept_apart(fitted, monkeypatch):
    """A combination without equilibrium with one joint: that joint has no answer, the others keep theirs to the last digit."""
    _, found = fitted
    rows_of = analysis_module.case_rows_together

    def diverging(several, *rest):
        if any(joint.name == "rigid" for joint, *_ in several):
            raise NoConvergence("joint 'rigid': the combination buckles", 0.5)
        return rows_of(several, *rest)

    monkeypatch.setattr(analysis_module, "case_rows_together", diverging)
    apart = Analysis(found.study).with_answers()
    monkeypatch.undo()
    assert [(one.joint.name, one.reason) for one in apart.study.unsolved] == [
        ("rigid", "the combination buckles")
    ]
    assert [one.joint for one in apart.part_margins] == [one.joint for one in found.part_margins[:2]]
    assert apart.part_margins[0].worst[0] == found.part_margins[0].worst[0]


@pytest.fixture(scope="module")
def fitted():
    """The plain boat on a lug fitting and on a taped socket, and rigidly."""
    wall = {"layup": ["2x uni 600 @0", "3x db 450 @45", "mirror"], "fibre": "carbon_sm", "process": "infused"}
    socket = {
        "name": "taped", "kind": "bonded socket", "beam": {"diameter": "200 mm", "wall": wall}, "glue": GLUE,
        "tape": {"layup": ["6x db 450 @45"], "fibre": "carbon_sm", "process": "hand"}, "sway": "100 MN/m",
        "crossings": [crossing("inboard skin", "0 m"), crossing("web", "500 mm")],
    }  # fmt: skip
    joints = [copy.deepcopy(FITTING), socket, {"name": "rigid", "kind": "rigid"}]
    cases = [{"name": "racking", "kind": "racking", "force": "6 kN"}]
    cases.append({"name": "pull", "kind": "rig", "tension": "20 kN", "rake": "10 deg"})
    study = run_study(boat_file_of(joints, cases, station=3.6, inboard=0.4))
    return study, Analysis(study)


def test_margins_are_allowable_over_factor_and_load(fitted):
    """Every margin told is allowable / (factor × load) − 1, the governing one first, and the worst over all combinations."""
    study, found = fitted
    table, *_ = margins_section(study, found).unshown
    known = [row for row in table.rows if row[9] is not None]
    assert len({row[0] for row in known}) >= 2
    for row in known:
        _, _, _, load, allowable, _, factor, _, margin, *_ = row
        assert margin == (pytest.approx(allowable / (factor * load) - 1) if load else math.inf)
    for one in found.part_margins:
        margins = [worst.margin for worst, name in one.worst if name is not None]
        assert margins == sorted(margins)
    joint, over = study.joints[0].joint, found.envelopes[0].rows.values.joint_load
    least = min(c.margin.min() for c in joint.checks(over, study.file.factors) if c.kind == "checked")
    assert found.part_margins[0].governing_check(own=True)[0].margin == least


def test_the_verdict_names_what_governs_and_what_is_not_known(fitted):
    """A joint that is described is judged by its governing check; one that is not described is listed as not assessed."""
    _, found = fitted
    said = " ".join(strength_statements(found))
    worst, case = found.part_margins[0].governing_check(own=True)
    assert f"governing: {worst.part}: {worst.check}" in said
    assert case in said
    assert "Not assessed: ‘rigid’" in said


def test_the_verdict_begins_with_the_loads_and_ends_with_what_is_in_no_check(fitted):
    """Two cases, entered, with the default combinations; then every part of the list of what is never checked, by name."""
    _, found = fitted
    said = list(strength_statements(found))
    count = len(found.file.expanded_combinations)
    assert said[0] == f"Strength was checked under 2 load cases (loads: 2 entered) and {count} combinations."
    assert said[-1].startswith("In no check: ")
    for entry in never_checked(found.file):
        assert f"{entry.part} (" in said[-1]
        assert entry.what in said[-1]


def test_joints_without_parts_are_in_their_own_sentence_alone():
    """Where no joint describes its parts: not assessed, each by name, and the list of what is in no check does not repeat it."""
    joints = [{"name": "rigid", "kind": "rigid"}, {"name": "soft", "kind": "sprung", "pitch": "200 kN*m/rad"}]
    cases = [{"name": "racking", "kind": "racking", "force": "6 kN"}]
    found = Analysis(run_study(boat_file_of(joints, cases, station=3.6, inboard=0.4)))
    said = list(strength_statements(found))
    assert sum("‘rigid’, ‘soft’" in sentence for sentence in said) == 1
    assert "(strength;" not in said[-1]
    assert next(e.part for e in unchecked_entries(found.file, found.part_margins)) == "all parts of the joint"


def test_the_parts_beside_are_those_that_are_checked(fitted):
    """Only what has a check is named as checked: the crossbeam by its stiffness is in no check, the frame's buckling is."""
    _, found = fitted
    [beside] = [s for s in strength_statements(found) if s.startswith("Parts beside the joints (")]
    named = beside.split("(")[1].split(")")[0].split(", ")
    checked = {
        w.part.split(",")[0]
        for one in found.part_margins
        for w, name in one.worst
        if name and w.part not in one.joint_part_names
    }
    assert set(named) == checked
    assert "crossbeam" not in named


def test_design_loads_are_in_words_with_the_part_due_to_racking(fitted):
    """Torque and bending: the candidate with the most, its case, and its part due to racking are those of the table, by name."""
    _, found = fitted
    said = design_load_words(found)
    for component in ATTRACTED:
        column = JOINT_LOAD_NAMES.index(component)
        size, most, name = max(
            (loads[column].size, loads[column], joint.joint.name)
            for joint, loads in zip(found.study.joints, found.design_loads, strict=True)
            if joint.joint.describes_parts
        )
        start = said.index(f"Design {component}: {words.quantity(size, 'N·m')} (‘{name}’, in ‘{most.row}’)")
        due = said[start:].split("Largest part due to racking: ", 1)[1]
        assert due.startswith(f"{words.quantity(most.largest_racking, 'N·m')} (in ‘{most.racking_row}’)")


def test_the_joint_with_the_lowest_margin_is_named_first(fitted):
    """Whatever the order in the file: the joint that fails by most, or has least in hand, is the second sentence."""
    _, found = fitted
    lowest = {
        one.joint: row[0].margin for one in found.part_margins if (row := one.governing_check(own=True))
    }
    ranked = sorted(lowest, key=lowest.__getitem__)
    said = list(strength_statements(found))
    assert [said[1 + at].split("’")[0].lstrip("‘") for at in range(len(ranked))] == ranked


def test_no_verdict_claims_that_a_part_holds(fitted):
    """Where no check fails and none lacks its data, that is all that is claimed, and what is in no check is listed still."""
    _, found = fitted
    strong = [
        replace(check, load=1e-9 * check.load)
        for check in found.part_margins[1].own
        if check.kind == "checked"
    ]
    whole = replace(
        found.part_margins[1],
        own=tuple(strong),
        other_checks=tuple(strong),
        at_breaking_load=BreakingLoadChecks((), ()),
    )
    assert whole.outcomes == ("holds", "holds")
    passing = Analysis(found.study)
    passing.__dict__["part_margins"] = (whole,)
    said = list(strength_statements(passing))
    assert said[1].startswith("‘taped’: adequate for what was checked; governing: ")
    assert said[-1].startswith("In no check: ")
    assert not re.search(
        r"\bholds?\b|every part was checked|adequate(?! for what was checked)", " ".join(said)
    )


@pytest.fixture(scope="module")
def drawn_fittings(fitted):
    """Drawing, joint and governing checks of each described joint, and of straps; a rigid joint has none."""
    straps = {
        "name": "straps", "kind": "strapped", "places": ["-150 mm", "150 mm"], "diameter": "160 mm", "across": "30 MN/m",
        "along": "5 MN/m", "grip": "9 kN",
    }  # fmt: skip
    cases = [{"name": "racking", "kind": "racking", "force": "6 kN"}]
    strapped = run_study(boat_file_of([straps], cases, station=3.6, inboard=0.4))
    drawn = []
    for study, found, count in ((*fitted, 2), (strapped, Analysis(strapped), 1)):
        drawings = [job() for job in fitting_jobs(study, found)]
        assert len(drawings) == count
        for drawing in drawings:
            drawing.figure.draw_without_rendering()
        drawn += zip(drawings, study.joints, map(governing_by_part, found.part_margins), strict=False)
    return drawn


def test_a_fitting_lists_every_part(drawn_fittings):
    """The list has each checked part of the joint once, with its utilisation 1 ∕ (1 + margin), and says which is inadequate; the
    words have the highest; no number or entry covers another.
    """
    for drawing, _, parts in drawn_fittings:
        *views, listed = drawing.figure.axes
        entries = [text.get_text() for text in listed.texts if "\n" in text.get_text()]
        assert len(entries) == len(parts)
        for number, ((part, check), entry) in enumerate(zip(parts.items(), entries, strict=True), start=1):
            assert entry.startswith(f"{number}  {part}: utilisation {1 / (1 + check.margin):.2f}")
            assert ("inadequate" in entry) == (check.margin < 0)
        part, check = next(iter(parts.items()))
        assert f"Highest: {part}, {check.check}, utilisation {1 / (1 + check.margin):.2f}" in drawing.words
        for axes in (*views, listed):
            boxes = [Text.get_window_extent(text) for text in axes.texts if text.get_text()]
            assert not [1 for i, a in enumerate(boxes) for b in boxes[:i] if a.padded(-1).overlaps(b)]
        pointed = {
            number
            for axes in views
            for text in axes.texts
            for number in re.findall(r"^[\d, ]+$", text.get_text())
        }
        assert {int(one) for numbers_ in pointed for one in numbers_.split(", ")} >= set(
            range(1, len(parts) + 1)
        )


def test_a_part_is_filled_by_its_utilisation(drawn_fittings):
    """Each shape has the colour of the highest utilisation of the parts that it stands for; darker is higher."""
    lightness = [style.lightness(colour) for colour in style.UTILISATION_COLOURS[:3]]
    assert lightness[0] - lightness[1] > 12
    assert lightness[1] - lightness[2] > 25
    assert [style.utilisation_colour(u) for u in (0.0, 0.7499, 0.75, 1.0, 1.0001)] == [
        style.UTILISATION_COLOURS[i] for i in (0, 0, 1, 1, 2)
    ]
    for drawing, joint, parts in drawn_fittings:
        known = [name for view in views(joint.joint) for name in view.names]
        for axes, view in zip(drawing.figure.axes, views(joint.joint), strict=False):
            for patch, shape in zip(axes.patches, view.shapes, strict=True):
                own = [c.margin for part, c in parts.items() if shape.part in names_in_drawing(part, known)]
                wanted = style.utilisation_colour(1 / (1 + min(own)) if own else None)
                assert to_hex(patch.get_facecolor()) == wanted


def test_dimensions_are_the_file_s(drawn_fittings):
    """What is measured on paper is as long as the number beside it, and each number is a length of the fitting in mm."""
    for _, joint, _ in drawn_fittings:
        for view in views(joint.joint):
            for one in view.measures:
                apart = np.abs(np.subtract(one.end, one.start))
                count, _, length = one.text.rpartition(" × ")
                said = float(re.search(r"[\d.]+$", length).group()) * int(count or 1)
                assert apart.max() == pytest.approx(said, rel=6e-3)
                assert apart.min() == pytest.approx(0, abs=1e-9), "level or upright"


LIVED = """
[service]
distance = "20000 nmi"
count = 2000000
about = "{about}"
[[service.details]]
name = "weld of the end plate"
component = "torque"
curve = "alloy fillet weld, toe"
stress_per = "9 kPa/(N*m)"
[[service.details]]
name = "tape"
component = "torque"
curve = "laminate"
strain_per = "5e-8 1/(N*m)"
tension = 0.012
compression = 0.010
[[variants]]
name = "softer beam"
set = {{ "crossbeam.GJ" = "0.25 MN*m**2" }}
"""


@pytest.fixture(scope="module")
def study_with_lives(tmp_path_factory):
    """The small boat with a service and a variant."""
    path = tmp_path_factory.mktemp("boat") / "lived.toml"
    path.write_text(TEXT + LIVED.format(about=CASES[1]), encoding="utf-8")
    study = run_study(validated(BoatFile, read_toml(path)))
    return study, Analysis(study)


def test_variants_stand_side_by_side(study_with_lives):
    """The table holds the comparison's numbers, the boat as entered first."""
    study, found = study_with_lives
    [table] = variants_section(study, found).unshown
    assert [column.title for column in table.columns[3:]] == ["as entered", "softer beam"]
    assert [row[3:] for row in table.rows] == [row.values for row in rows(compare(study.file))]
    [shown] = variants_section(study, found).readable
    assert any("%)" in str(cell) for row in shown.rows for cell in row)


def test_what_a_variant_changes_most_is_said(study_with_lives):
    """The largest ratio of what any joint gets, by brute force over the rows, is the one in the variant's sentence."""
    study, found = study_with_lives
    [change] = largest_changes(found.compared)
    most = {}
    for row in rows(found.compared):
        before, after = row.values
        known = most.get(row.quantity, (0.0, 0.0))
        most[row.quantity] = (max(before, known[0]), max(after, known[1]))
    ratios = {what: max(b / a, a / b) for what, (a, b) in most.items() if a and b}
    assert change.quantity == max(ratios, key=ratios.get)
    assert (change.before, change.after) == most[change.quantity]
    assert change.quantity in variants_section(study, found).words[1]


def test_lives_are_told_as_far_as_they_make_sense(study_with_lives):
    """A life is told to two digits, and one beyond what any boat sails as that; the table beside has it in full."""
    study, found = study_with_lives
    part = fatigue_section(study, found)
    for read, full in zip(part.readable[0].rows, part.unshown[0].rows, strict=True):
        if full[1] == "tape":
            assert full[11] is None or full[11] > 1e7
            assert "workmanship, sea water and corrosion not known" in read[-1]
        elif full[11] is not None and full[11] <= 1e7:
            assert float(read[-1].split()[0].replace(",", "")) == pytest.approx(full[11], rel=0.05)
            shortest, longest = full[13:15]
            assert shortest < full[11]
            assert float(read[-1].split("(")[1].split()[0].replace(",", "")) == pytest.approx(
                shortest, rel=0.05
            )
            beyond = longest is None or longest > 1e7
            assert (
                "to over 10 million; workmanship, sea water and corrosion not known)" in read[-1]
            ) == beyond
            assert read[-1] == full[12]
    assert "with 1.6 and 0.6 times the racking range" in part.words[-1]


def test_lives_are_those_of_the_wear(study_with_lives):
    """Each detail's damage and miles stand in the table, and the shortest lived in the sentence."""
    study, found = study_with_lives
    part = fatigue_section(study, found)
    told = {(row[0], row[1]): (row[10], row[11]) for row in part.unshown[0].rows}
    lives = {(j.joint, life.detail.name): life for j in fatigue_lives(study).joints for life in j.lives}
    assert set(told) == set(lives)
    for key, life in lives.items():
        assert told[key] == (life.damage, life.miles if math.isfinite(life.miles) else None)
    assert "weld of the end plate" in part.words[1]
    assert "20,000 nautical miles with 2,000,000 racking cycles" in part.words[0]


def test_each_case_has_its_own_table_of_margins(fitted):
    """Under every case each joint's checks stand with the governing first, and the worst case of a check is its envelope's."""
    study, found = fitted
    table = margins_section(study, found).unshown[1]
    for one in found.part_margins:
        for case in study.cases:
            rows = [row for row in table.rows if row[:2] == (one.joint, case.name)]
            margins = [row[9] for row in rows if row[9] is not None]
            assert margins == sorted(margins)
            checks = (*one.own, *one.other_checks)
            checked = {(check.part, check.check) for check in checks if check.kind == "checked"}
            assert {row[2:4] for row in rows} == checked


def test_what_a_fitting_forgives_is_said(fitted):
    """A joint whose parts are described says at which torque the first of them fails, and which racking brings it there."""
    study, _ = fitted
    told = " ".join(rotation_capacity_sentences(study))
    for joint in study.joints:
        limit = rotation_capacity(joint.joint, joint.curves.get("pitch"))
        assert (limit is not None) == (joint.joint.name in told)
        assert limit is None or limit.part in told
    assert told.count("of the parts checked") == told.count("Torque capacity of ")
    named = told.count("if nothing else failed before"), told.count("only far beyond any load here")
    assert sum(named) == told.count("Racking alone would")
    for joint in study.joints:
        if (limit := rotation_capacity(joint.joint, joint.curves.get("pitch"))) and limit.racking is not None:
            # the pair of a racking case is its moment over the bows' length
            entered = max(case.racking_moment for case in joint.cases if case.shares) / study.file.bows.length
            said = told.split(f"‘{joint.name}’")[1].split("Torque capacity")[0]
            assert ("far beyond" in said) == (limit.racking > 10 * entered)


def test_the_page_tells_each_check_once(fitted):
    """Of both sides the worse, of what is beside the joints the joint that asks most: the least of every check is on the page."""
    study, found = fitted
    *own, beside, lacking = margins_section(study, found).readable
    for one, table in zip(found.part_margins, own, strict=True):
        least = {}
        for worst, name in one.worst:
            if name is not None and worst.part in one.joint_part_names:
                key = (without_side(worst.part), worst.check)
                least[key] = min(least.get(key, math.inf), worst.margin)
        assert [row[:2] for row in table.rows] == list(dict.fromkeys(row[:2] for row in table.rows))
        assert {(without_side(row[0]), row[1]) for row in table.rows} == set(least)
    everything = [
        (w, one.joint)
        for one in found.part_margins
        for w, name in one.worst
        if w.part not in one.joint_part_names and name
    ]
    for row in beside.rows:
        same = [(w.margin, joint) for w, joint in everything if (w.part, w.check) == row[:2]]
        assert row[6] in {joint for margin, joint in same if margin == min(same)[0]}
    assert {row[:2] for row in beside.rows} == {(w.part, w.check) for w, _ in everything}
    told = " ".join(str(cell) for row in lacking.rows for cell in row)
    assert all(
        without_side(w.part) in told for one in found.part_margins for w, name in one.worst if name is None
    )


def test_what_waits_for_others_is_worked_out_last_and_stands_in_its_place(monkeypatch):
    """Each section is handed on as it is done; one without anything is left out."""
    named = {name: ReportSection(name, name) for name in ("rig", "variants", "waves")}
    made = {name: lambda _study, _found, name=name: named.get(name) for name in (*named, "none")}
    monkeypatch.setattr(
        output, "SECTIONS", tuple(made[name] for name in ("rig", "variants", "none", "waves"))
    )
    monkeypatch.setattr(output, "WORKED_LAST", (made["variants"],))
    done = []
    parts = output.all_sections(SimpleNamespace(study=None), done=lambda part: done.append(part.anchor))
    assert [part.anchor for part in parts] == ["rig", "variants", "waves"]
    assert done == ["rig", "waves", "variants"]
