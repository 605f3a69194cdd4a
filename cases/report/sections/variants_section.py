"""The boat beside its variants."""

from __future__ import annotations

from cases.analyses.analysis import Analysis, ComparedBoat
from cases.analyses.comparison import (
    REL_TOL_NO_CHANGE,
    REL_TOL_NO_QUANTITY,
    QuantityChange,
    largest_changes,
)
from cases.analyses.comparison import rows as compared_rows
from cases.analyses.study import Study
from cases.report.data import words
from cases.report.data.statements import changed
from cases.report.sections.report_section import ReportSection
from cases.report.tables.table import Cell, Column, Table


def variants_section(_: Study, found: Analysis) -> ReportSection | None:
    """None where the file has no variants."""
    if not found.compared:
        return None
    changes = {one.variant: one for one in largest_changes(found.compared)}
    sentences = [_variant(one, changes.get(one.name)) for one in found.compared[1:]]
    return ReportSection(
        "variants",
        "Variants side by side",
        [
            "The boat as entered and with the changes of each variant, each with all joints and cases.",
            *sentences,
        ],
        unshown=[_in_si(found)],
        readable=[_for_reading(found)],
        aside=(
            "Joint loads: the larger of both hulls, the largest over all cases of the kind. Margins: the lowest over all cases "
            "and combinations. In brackets: change from the boat as entered."
        ),
    )


def _variant(one: ComparedBoat, change: QuantityChange | None) -> str:
    """The variant's note, and its largest change."""
    note = one.note.strip().removesuffix(".")
    named = f"{words.name_of(one.name)}: {note}. " if note else f"{words.name_of(one.name)}: "
    if change is None or abs(change.after / change.before - 1) < REL_TOL_NO_CHANGE:
        return f"{named}No change in the quantities of the table."
    before, after = (
        words.quantity(change.before, change.unit),
        changed(change.after, change.before, change.unit, 0.0),
    )
    return f"{named}Largest change: {change.quantity}, at most {after} at any joint, was {before}."


def _in_si(found: Analysis) -> Table:
    columns = (
        Column("quantity"), Column("unit"), Column("joint"), *(Column(one.name, "", "SI") for one in found.compared),
    )  # fmt: skip
    rows = tuple((row.quantity, row.unit, row.joint, *row.values) for row in compared_rows(found.compared))
    return Table("variants", "Variants side by side", columns, rows)


def _for_reading(found: Analysis) -> Table:
    columns = (Column("quantity"), Column("joint"), *(Column(one.name) for one in found.compared))
    compared = compared_rows(found.compared)
    most: dict[str, float] = {}
    for row in compared:
        most[row.quantity] = max([most.get(row.quantity, 0.0), *(v for v in row.values if v is not None)])
    rows: list[tuple[Cell, ...]] = [
        (
            row.quantity,
            row.joint or "–",
            *(
                changed(value, row.values[0], row.unit, REL_TOL_NO_QUANTITY * most[row.quantity])
                for value in row.values
            ),
        )
        for row in compared
    ]
    return Table("variants", "Variants side by side", columns, tuple(rows))
