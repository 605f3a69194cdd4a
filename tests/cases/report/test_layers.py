"""The page in layers: the decision, a page for each question, all else collapsed; and what its short tables hold."""

import html.parser
import math
import tomllib

import numpy as np
import pytest

from cases.analyses.analysis import Analysis, analyse
from cases.analyses.study import run_study
from cases.input.boat_file import BoatFile
from cases.report import output
from cases.report.data import words
from cases.report.data.statements import margin_words
from cases.report.pages import report_page
from cases.report.pages.question_pages import Pages
from cases.report.pages.report_page import Made
from cases.report.sections.margins_section import lowest_margins
from cases.report.sections.sheets_section import design_actions, governing_rows
from cases.report.sections.variants_section import few_changes
from femcore.base.numbers import slugs
from femcore.plotting.drawing import Picture
from models.joints.base import without_side
from models.response.front_end import SIDES
from models.response.joint_loads import JOINT_LOAD_NAMES
from tests.cases.analyses.test_decision import RIGID, boat
from tests.cases.report.report_boat import TEXT
from tests.models.boats import validated

QUESTIONS = {"rig", "stiffness", "weakest", "change", "trust", "boat"}


@pytest.fixture(scope="module")
def analysis():
    """Lugs beside a rigid joint, under racking and the rig."""
    return analyse(boat(RIGID))


def page(analysis, **options):
    """The page with two pictures that the questions take, and one that none does."""
    pictures = [
        Picture(name, name, f"words of {name}", f'<svg id="{name}"></svg>')
        for name in ("main-load", "attraction", "deflected-racking")
    ]
    return report_page.render(analysis, pictures, [], [], list(output.all_sections(analysis)), **options)


def test_the_rig_page_shows_the_load_path_of_its_first_sentence(analysis):
    """That of the case in which the stay's torque is largest, wherever it stands in the file."""
    file = analysis.file
    rig = next(case for case in file.cases if case.kind == "rig")
    harder = rig.model_copy(update={"name": "harder", "tension": 2 * rig.stay_tension})
    cases, stay = [*file.cases, harder], file.stay.model_copy(update={"forward": 0.1})
    study = run_study(file.model_copy(update={"cases": cases, "combinations": [], "stay": stay}))
    figures = {f"path-{slug}": slug for slug in slugs([case.name for case in study.cases])}
    shown = next(one for one in Pages(Analysis(study), figures, []).all() if one.anchor == "rig")
    assert shown.words[0].startswith("In ‘harder’ the stay pulls ")
    assert list(shown.figures) == ["harder"]


class Collapsed(html.parser.HTMLParser):
    """By the id of every element: whether it is within details, and these closed."""

    def __init__(self, text):
        super().__init__()
        self.open, self.where, self.words = [], {}, []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        """Note an id with the details around it."""
        given = dict(attrs)
        if tag == "details":
            self.open.append("open" if "open" in given else "closed")
        if "id" in given:
            self.where[given["id"]] = self.open[-1] if self.open else "shown"

    def handle_endtag(self, tag):
        """Leave details."""
        if tag == "details":
            self.open.pop()

    def handle_data(self, data):
        """Note words."""
        self.words.append(data)


def test_questions_are_shown_and_appendices_collapsed(analysis):
    """Decision, answer and questions are in sight; cases, checks, sheets and terms are closed, each with a heading to open it."""
    where = Collapsed(page(analysis)).where
    assert all(
        where[anchor] == "shown" for anchor in QUESTIONS | {"decision", "answer", "attraction", "main-load"}
    )
    hidden = ("sheets", "compared", "racking", "margins", "cases", "accuracy", "words", "deflected-racking")
    assert all(where[anchor] == "closed" for anchor in hidden)


def test_in_full_everything_is_open(analysis):
    """For a print of everything no part stays closed, and the choice to print it is ticked."""
    text = page(analysis, full=True)
    assert "closed" not in Collapsed(text).where.values()
    assert 'id="print-all" checked' in text
    assert 'id="print-all" checked' not in page(analysis)


def test_in_brief_there_are_the_decision_and_the_answer(analysis):
    """Of all sections these two alone."""
    where = Collapsed(page(analysis, brief=True)).where
    assert {"decision", "answer"} <= set(where)
    assert not set(where) & (QUESTIONS | {"appendices", "sheets", "words"})


def test_each_picture_is_on_the_page_once(analysis):
    """What a question takes is not shown again in an appendix."""
    text = page(analysis)
    assert all(
        text.count(f'<svg id="{name}">') == 1 for name in ("main-load", "attraction", "deflected-racking")
    )


def test_the_sheet_is_signed_for_the_file_that_was_run(analysis):
    """Hash and date are those that are given; without, there is none."""
    made = Made("2026-02-03", "ab12" * 16)
    assert made.sha256 in page(analysis, made=made)
    assert made.date in page(analysis, made=made)
    assert made.sha256 not in page(analysis)


def test_the_lowest_margins_are_the_lowest(analysis):
    """In rising order, from the governing one; no check of the candidate that is not shown has a lower margin."""
    [joint] = [one.joint for one in analysis.decision.candidates]
    table = lowest_margins(analysis, [joint], 5)
    [margins] = [one for one in analysis.part_margins if one.joint == joint]
    every = {}
    for worst, name in margins.worst:
        if name is not None:
            key = (without_side(worst.part), worst.check)
            every[key] = min(every.get(key, math.inf), worst.margin)
    assert [row[6] for row in table.rows] == [margin_words(value) for value in sorted(every.values())[:5]]
    assert {row[0] for row in table.rows} == {joint}


def test_actions_on_the_sheet_act_at_one_time(analysis):
    """Each row has the six components of one hull in one case, signs kept; the largest of every component is among them."""
    [(rows, margins)] = [
        (rows, margins)
        for rows, margins in zip(analysis.case_rows, analysis.part_margins, strict=True)
        if margins.joint == analysis.decision.candidates[0].joint
    ]
    load = rows.values.joint_load
    table = design_actions(rows, margins)
    for case, hull, why, *actions in table.rows:
        assert actions == load[rows.names.index(case), SIDES.index(hull)].tolist()
        for column, component in enumerate(JOINT_LOAD_NAMES):
            if f"largest {component}" in why:
                assert abs(actions[column]) == np.abs(load[..., column]).max()
    named = " ".join(row[2] for row in table.rows)
    assert all(
        f"largest {name}" in named for name, of in zip(JOINT_LOAD_NAMES, load.T, strict=True) if of.any()
    )
    governing = margins.governing_check(own=True)
    assert any(governing[1] == rows.names[row] for row, _ in governing_rows(rows, margins))


def test_variants_are_the_numbers_that_change_most():
    """Of a beam twice as stiff: the quantities of the table change, and stand there as in the two boats."""
    raw = tomllib.loads(TEXT) | {
        "variants": [{"name": "stiff", "set": {"crossbeam": {"EI_vertical": "9 MN*m**2"}}}]
    }
    found = analyse(validated(BoatFile, raw))
    names = [one.joint for one in found.decision.candidates]
    table = few_changes(found, names)
    assert 1 <= len(table.rows) <= 3
    entered, stiff = found.compared
    for variant, quantity, joint, before, after in table.rows:
        assert variant == "stiff"
        if quantity == "racking stiffness":
            of = [
                next(one for one in each.study.joints if one.name == joint).racking_stiffness
                for each in (entered, stiff)
            ]
            assert [before, after] == [words.quantity(value, "N/m") for value in of]
        assert before != after
