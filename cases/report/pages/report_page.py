"""What stands on the page of a report, in reading order; `templates/` says how it looks."""

from __future__ import annotations

import importlib.metadata
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from cases.analyses.analysis import Analysis
from cases.analyses.study import Study
from cases.caution import CAUTION, CAUTION_IN_FULL
from cases.report.data import words
from cases.report.data.statements import discretisation_words, unchecked_words
from cases.report.figures import load_path_figure
from cases.report.pages.card import card
from cases.report.pages.page_parts import Figure, figure, page_section, shown
from cases.report.pages.question_pages import MOST_MARGINS, Pages
from cases.report.pages.scripted import Scripted, scripted
from cases.report.pages.template import template
from cases.report.sections.margins_section import lowest_margins
from cases.report.sections.report_section import ReportSection
from cases.report.tables import joint_tables, load_path_tables, response_tables
from cases.report.tables.table import FormattedTable
from femcore.base import numbers
from femcore.base.arrays import EXTENDED
from femcore.base.numbers import plain, power_of_ten
from femcore.plotting.drawing import Picture
from models.joints import Joint

WITHIN_OTHERS = frozenset({"memory"})
"""Anchors of parts that the template puts into another appendix; all others are appendices of their own, in the order given."""


@dataclass(frozen=True, slots=True)
class Made:
    """Of what file and when a report was made, for who signs it.

    date : of the run, year first;   sha256 : of the boat file, in hexadecimal digits
    """

    date: str
    sha256: str


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
    *,
    scripts: Scripted | None = None,
    brief: bool = False,
    full: bool = False,
    made: Made | None = None,
) -> str:
    """The whole page as HTML; `solids` have no SVG, `parts` are what the analysis has of further topics.

    scripts : those of the analysis where they are known already; not for a brief page
    brief : the decision and the answer alone;   full : with the appendices open, so that they are printed
    made  : for the block to sign, which is blank without
    """
    study, file = analysis.study, analysis.file
    figures = {
        one.name: figure(one) for one in (*pictures, *(one for part in parts for one in part.pictures))
    }
    drawn = figures.pop("main-load", None)
    pages = [] if brief else Pages(analysis, figures, parts).all()
    head = {
        "title": plain(file.title),
        "card": card(analysis, drawn),
        "note": file.note,
        "source": plain(study.source) if study.source else "",
        "program": importlib.metadata.version("forebeam"),
        "made": made,
        "caution": CAUTION,
        "caution_in_full": CAUTION_IN_FULL,
        "warnings": list(analysis.warnings),
        "answer": _answer(analysis, parts),
        "pages": pages,
        "lowest": shown(
            lowest_margins(analysis, [one.joint for one in analysis.decision.candidates], MOST_MARGINS)
        )
        if brief
        else [],
        "brief": brief,
        "full": full,
    }
    return template("report.html.j2").render(
        head
        if brief
        else head | _appendices(analysis, figures, solids, remarks, parts, scripts or scripted(analysis))
    )


def _answer(analysis: Analysis, parts: Sequence[ReportSection]) -> list[str]:
    """The answer in sentences; what is in no check is on the card."""
    said = [*(sentence for part in parts for sentence in part.answer), *words.answer(analysis.study)]
    return [sentence for sentence in said if sentence != unchecked_words(analysis)]


def _appendices(
    analysis: Analysis,
    figures: dict[str, Figure],
    solids: Sequence[Picture],
    remarks: Sequence[str],
    parts: Sequence[ReportSection],
    scripts: Scripted,
) -> dict[str, Any]:
    """What is collapsed on a screen, with the figures that no page before took."""
    study, file = analysis.study, analysis.file
    sections = [page_section(part, figures) for part in parts]
    cases = _case_parts(study, figures)
    return {
        "parts": {part.anchor: part for part in sections if part.anchor in WITHIN_OTHERS},
        "own_sections": [part for part in sections if part.anchor not in WITHIN_OTHERS],
        "comparison": _compared(study),
        "worst_in_rig": joint_tables.worst_in_rig(study).shown() if study.rig_cases else None,
        "half": words.half_words(study),
        "states": shown(response_tables.deformed(study), response_tables.motions(study)),
        "figures": figures,
        "solids": [figure(picture) for picture in solids[1:]],
        "scripted": scripts,
        "still": figure(solids[0]) if solids else None,
        "cases": cases,
        "path_words": [
            load_path_figure.shown_joint_reason(study),
            *load_path_tables.pretension_sentences(study),
        ],
        "joints": [
            *(
                (plain(one.joint.name), plain(one.joint.words()) + _mark(study, one.joint), one.joint.note)
                for one in study.joints
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
        "sections": [drawn for name, drawn in figures.items() if name.startswith("section-")],
        "derived_remarks": list(file.derived.remarks),
        "trust": _solution_quality(analysis),
        "remarks": [remark for remark in remarks if remark not in analysis.warnings],
    }


def _mark(study: Study, joint: Joint) -> str:
    """That a joint is estimated."""
    return study.file.estimates.mark(f'joints."{joint.name}"')


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
