"""Values and formulas from memory that the verdicts rest on."""

from __future__ import annotations

from cases.analyses.analysis import Analysis
from cases.analyses.study import Study
from cases.report.data.statements import margin_words
from cases.report.sections.report_section import ReportSection
from cases.report.tables.table import Column, Table
from models.joints.base import without_side

WORDS = (
    "These strengths and formulas were recalled from the source named and not looked up. A verdict that rests on one of them "
    "is no better than that: replace the strengths by tested or certified values, and have the formulas checked."
)
MOST_SHOWN = 30
"""Rows of each table on the page; the CSV tables have all."""


def memory_section(_: Study, found: Analysis) -> ReportSection | None:
    """Strengths and formulas that were recalled and not looked up; None where there is none."""
    if not (found.remembered_formulas or found.remembered_strengths):
        return None
    return ReportSection(
        "memory",
        "From memory",
        [WORDS],
        tables=[remembered_formulas(found), remembered_strengths(found)],
    )


def remembered_formulas(found: Analysis) -> Table:
    """Each source, and the check by it that comes closest to failing."""
    columns = tuple(map(Column, ("source", "checks", "lowest margin", "part", "check", "with", "case")))
    rows = tuple(
        (
            one.source, one.checks, margin_words(one.lowest.margin), without_side(one.lowest.part), one.lowest.check,
            one.joint, one.case,
        )
        for one in found.remembered_formulas
    )  # fmt: skip
    title = "Formulas from memory, and the check of each with the lowest margin"
    return Table("formulas_from_memory", title, columns, rows, MOST_SHOWN)


def remembered_strengths(found: Analysis) -> Table:
    """Each strength of a material in use."""
    columns = tuple(map(Column, ("material", "strength", "value", "source")))
    rows = tuple((one.material, one.field, one.value, one.source) for one in found.remembered_strengths)
    return Table("strengths_from_memory", "Strengths from memory", columns, rows, MOST_SHOWN)
