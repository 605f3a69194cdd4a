"""What stands on the page of a report, in reading order; `templates/` says how it looks."""

from __future__ import annotations

import base64
import importlib.metadata
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from cases.analyses.analysis import Analysis
from cases.analyses.study import Study
from cases.caution import CAUTION, CAUTION_IN_FULL
from cases.report.data import decision_words, words
from cases.report.data.statements import discretisation_words, not_assessed_words, unchecked_parts
from cases.report.figures import load_path_figure
from cases.report.pages.template import template
from cases.report.sections.report_section import ReportSection
from cases.report.tables import boat_tables, joint_tables, load_path_tables, response_tables
from cases.report.tables.table import FormattedTable
from femcore.base import numbers
from femcore.base.numbers import plain, power_of_ten
from femcore.plotting.drawing import Picture
from femcore.solvers.assembly import EXTENDED
from models.joints import Joint

WITHIN_OTHERS = frozenset({"rake", "loads", "memory"})
"""Anchors of parts that the template puts into another section; all others are sections of their own, in the order given."""


@dataclass(frozen=True, slots=True)
class Figure:
    """A picture on the page: inline SVG, or a PNG as text where there is no SVG."""

    title: str
    words: str
    svg: str
    png: str


@dataclass(frozen=True, slots=True)
class FormattedSection:
    """A part of the report for reading."""

    anchor: str
    title: str
    words: list[str]
    tables: list[FormattedTable]
    figures: list[Figure]
    aside: str


@dataclass(frozen=True, slots=True)
class CardCandidate:
    """The head of a candidate's column: verdict in words, and the class of its colour."""

    name: str
    verdict: str
    mark: str


@dataclass(frozen=True, slots=True)
class CardLine:
    """A line of the candidates' table: figure and detail for each."""

    label: str
    cells: list[tuple[str, str]]


@dataclass(frozen=True, slots=True)
class Card:
    """The decision on the first screen."""

    question: str
    answer: str
    candidates: list[CardCandidate]
    rows: list[CardLine]
    figure: Figure | None
    actions: list[str]
    unchecked: list[str]
    not_assessed: list[str]


@dataclass(frozen=True, slots=True)
class CaseSection:
    """What one case has to itself."""

    name: str
    words: str
    note: str
    loads: FormattedTable
    path: FormattedTable
    whole: FormattedTable
    movements: FormattedTable
    truss: FormattedTable | None
    shares: FormattedTable | None
    way: Figure | None
    deflected: Figure | None
    diagrams: Figure | None


@dataclass(frozen=True, slots=True)
class SolutionQuality:
    """How far the numbers can be believed, in words."""

    balance: str
    error: str
    first_error: str
    digits: int
    unknowns: int
    discretisation: str


def render(
    analysis: Analysis,
    pictures: Sequence[Picture],
    solids: Sequence[Picture],
    remarks: Sequence[str],
    parts: Sequence[ReportSection] = (),
) -> str:
    """The whole page as HTML; `solids` have no SVG, `parts` are what the analysis has of further topics."""
    study = analysis.study
    by_name = {picture.name: figure(picture) for picture in pictures}
    return template("report.html.j2").render(
        title=plain(study.file.title),
        card=_card(analysis, by_name),
        note=study.file.note,
        source=plain(study.source) if study.source else "",
        program=importlib.metadata.version("forebeam"),
        caution=CAUTION,
        caution_in_full=CAUTION_IN_FULL,
        warnings=list(analysis.warnings),
        answer=[*(sentence for part in parts for sentence in part.answer), *words.answer(study)],
        parts={part.anchor: _part(part) for part in parts if part.anchor in WITHIN_OTHERS},
        own_sections=[_part(part) for part in parts if part.anchor not in WITHIN_OTHERS],
        design_loads=joint_tables.design_loads(analysis).shown(),
        comparison=_compared(study),
        worst_in_rig=joint_tables.worst_in_rig(study).shown() if study.rig_cases else None,
        stay=words.stay_sentences(study),
        stay_table=boat_tables.stay_lines(study).shown() if study.stay_lines() else None,
        half=words.half_words(study),
        states=[
            table.shown()
            for build in (response_tables.deformed, response_tables.motions)
            if (table := build(study)).rows
        ],
        figures=by_name,
        solids=[figure(picture) for picture in solids],
        cases=_case_parts(study, by_name),
        path_words=[
            load_path_figure.shown_joint_reason(study),
            *load_path_tables.pretension_sentences(study),
        ],
        joints=[
            *(
                (
                    plain(joint.joint.name),
                    plain(joint.joint.words()) + _mark(study, joint.joint),
                    joint.joint.note,
                )
                for joint in study.joints
            ),
            *(
                (
                    plain(one.joint.name),
                    f"{plain(one.joint.words())}{_mark(study, one.joint)}; no answer",
                    one.joint.note,
                )
                for one in study.unsolved
            ),
        ],
        boat=[table.shown() for table in boat_tables.boat_tables(study.file)],
        boat_words=boat_tables.boat_sentences(study.file),
        derived=any(name.startswith("section-") for name in by_name),
        derived_remarks=list(study.file.derived.remarks),
        trust=_solution_quality(analysis),
        remarks=[remark for remark in remarks if remark not in analysis.warnings],
    )


def _mark(study: Study, joint: Joint) -> str:
    """That a joint is estimated."""
    return study.file.estimates.mark(f'joints."{joint.name}"')


def _card(analysis: Analysis, figures: dict[str, Figure]) -> Card:
    decision = analysis.decision
    marks = {
        "inadequate": "inadequate",
        "not assessed": "unknown",
        "adequate for what was checked": "adequate",
    }
    return Card(
        question=plain(decision.question),
        answer=plain(decision_words.answer_sentence(decision)),
        candidates=[
            CardCandidate(plain(one.joint), plain(decision_words.verdict_words(one)), marks[one.verdict])
            for one in decision.candidates
        ],
        rows=[
            CardLine(
                row.label,
                [(plain(f), plain(d) if d else "") for f, d in zip(row.figures, row.details, strict=True)],
            )
            for row in decision_words.card_rows(decision)
        ],
        figure=figures.get("main-load") or figures.get("boat"),
        actions=[plain(one) for one in decision_words.action_sentences(decision)],
        unchecked=list(unchecked_parts(analysis)),
        not_assessed=list(not_assessed_words(analysis)),
    )


def figure(picture: Picture) -> Figure:
    """A picture for the page."""
    png = "" if picture.svg else base64.b64encode(picture.png).decode("ascii")
    return Figure(picture.title, picture.words, picture.svg, png)


def _part(part: ReportSection) -> FormattedSection:
    shown = [table.shown() for table in (*part.tables, *part.readable) if table.rows]
    drawn = [figure(picture) for picture in part.pictures]
    return FormattedSection(part.anchor, part.title, list(part.words), shown, drawn, part.aside)


def _compared(study: Study) -> FormattedTable:
    """The comparison without the column of cases where there is one case only."""
    table = joint_tables.comparison(study)
    return (table if len(study.racking_cases) > 1 else table.without("case")).shown()


def _case_parts(study: Study, figures: dict[str, Figure]) -> list[CaseSection]:
    loads = joint_tables.joint_loads(study)
    path, whole = load_path_tables.crossbeam_path(study), load_path_tables.front_end_load_path(study)
    moves, shares = joint_tables.movements(study), joint_tables.racking_shares(study)
    racked, truss = {row[0] for row in shares.rows}, response_tables.truss(study)
    trussed = study.file.striker is not None or study.file.martingale is not None
    slugs = numbers.slugs([case.name for case in study.cases])
    return [
        CaseSection(
            name=plain(case.name),
            words=plain(case.words()),
            note=case.note,
            loads=loads.only("case", case.name).shown(),
            path=path.only("case", case.name).shown(),
            whole=whole.only("case", case.name).shown(),
            movements=moves.only("case", case.name).shown(),
            truss=truss.only("case", case.name).shown() if trussed else None,
            shares=shares.only("case", case.name).shown() if case.name in racked else None,
            way=figures.get(f"path-{slug}"),
            deflected=figures.get(f"deflected-{slug}"),
            diagrams=figures.get(f"crossbeam-{slug}"),
        )
        for case, slug in zip(study.cases, slugs, strict=True)
    ]


def _solution_quality(analysis: Analysis) -> SolutionQuality:
    solutions = [joint.solution for joint in analysis.study.joints]
    worst = (
        max(float(np.max(getattr(s, key))) for s in solutions) for key in ("balance", "error", "first_error")
    )
    balance, error, first = (power_of_ten(value) for value in worst)
    unknowns = max(s.parts.equations for s in solutions)
    digits = int(np.finfo(EXTENDED).precision)
    return SolutionQuality(balance, error, first, digits, unknowns, discretisation_words(analysis))
