"""The inputs that are estimated, not entered: values, scatter, and where they come from."""

from __future__ import annotations

from cases.analyses.analysis import Analysis
from cases.analyses.study import Study
from cases.report.sections.report_section import ReportSection
from cases.report.tables.table import Cell, Column, Table

MOST_SHOWN = 40
"""Rows on the page; the CSV table has all."""


def estimates_section(study: Study, _: Analysis) -> ReportSection | None:
    """None where nothing is estimated."""
    found = study.file.estimates.inputs
    if not found:
        return None
    words = (
        f"Inputs that are estimated, not entered: {len(found)}. Wherever they are quoted in this report they are marked "
        "“estimated” with their scatter. Results that follow from them are no better."
    )
    return ReportSection(
        "estimated-inputs",
        "Inputs that are estimated",
        [words],
        tables=[table_of_estimates(study)],
        aside=(
            "A case takes a value from [boat] where it does not state it. What [boat] does not have is estimated from its "
            "length, beam, displacement and rig height. To replace an estimate, enter the measured value and take its key out of "
            "boat.estimated."
        ),
    )


def table_of_estimates(study: Study) -> Table:
    """A row for each."""
    columns = tuple(map(Column, ("input", "value", "scatter", "estimated by", "taken by")))
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (
            one.key, one.value or "several", one.scatter, one.rule or "marked in the boat file",
            ", ".join(one.taken_by) or one.key,
        )
        for one in study.file.estimates.inputs
    )  # fmt: skip
    return Table("estimated_inputs", "Inputs that are estimated", columns, rows, MOST_SHOWN)
