"""The boat beside its variants."""

from __future__ import annotations

import math
from collections.abc import Sequence

from cases.analyses.analysis import Analysis, ComparedBoat
from cases.analyses.comparison import (
    MARGIN,
    REL_TOL_NO_CHANGE,
    REL_TOL_NO_QUANTITY,
    QuantityChange,
    largest_changes,
)
from cases.analyses.comparison import rows as compared_rows
from cases.analyses.study import Study
from cases.report.data import words
from cases.report.data.statements import changed, margin_words
from cases.report.sections.report_section import ReportSection
from cases.report.tables.table import Cell, Column, Table

MOST_CHANGES = 3
"""Of each variant, where they are shown in a few numbers."""
REL_TOL_TELLING = 0.1
"""Of the largest value of a quantity over joints and variants: a change between smaller ones tells nothing."""
PASSES_ZERO = 100.0
"""Added to a change of a margin that passes zero: it comes before all others."""


def variants_section(_: Study, found: Analysis) -> ReportSection | None:
    """None where the file has no variants."""
    if not found.compared:
        return None
    return ReportSection(
        "variants",
        "Variants side by side",
        [
            "The boat as entered and with the changes of each variant, each with all joints and cases.",
            *variant_sentences(found.compared),
        ],
        unshown=[variants_table(found.compared)],
        readable=[_for_reading(found)],
        aside=(
            "Joint loads: the larger of both hulls, the largest over all cases of the kind. Margins: the lowest over all cases "
            "and combinations. In brackets: change from the boat as entered."
        ),
    )


def variant_sentences(compared: Sequence[ComparedBoat]) -> list[str]:
    """Of each variant, those after the boat as entered: its note, and its largest change."""
    changes = {one.variant: one for one in largest_changes(tuple(compared))}
    return [_variant(one, changes.get(one.name)) for one in compared[1:]]


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


def few_changes(found: Analysis, joints: Sequence[str]) -> Table:
    """For each variant what it changes most with these joints, margins that pass zero first; all is in the full table."""
    rows: list[tuple[Cell, ...]] = []
    every = compared_rows(found.compared)
    most: dict[str, float] = {}
    for row in every:
        most[row.quantity] = max([most.get(row.quantity, 0.0), *(v for v in row.values if v is not None)])
    compared = [row for row in every if not row.joint or row.joint in joints]
    for number, variant in enumerate(found.compared[1:], start=1):
        changes = []
        for row in compared:
            before, after = row.values[0], row.values[number]
            if before is None or after is None or (size := _change(before, after, row.unit)) == 0:
                continue
            if row.unit == MARGIN or max(before, after) > REL_TOL_TELLING * most[row.quantity]:
                changes.append((size, row, before, after))
        changes.sort(key=lambda change: -change[0])
        rows += [
            (
                variant.name,
                row.quantity,
                row.joint or "–",
                *(
                    margin_words(v) if row.unit == MARGIN else words.quantity(v, row.unit)
                    for v in (before, after)
                ),
            )
            for _, row, before, after in changes[:MOST_CHANGES]
        ] or [(variant.name, "nothing by 0.5 % or more", "–", "–", "–")]
    columns = tuple(map(Column, ("variant", "what it changes most", "with", "as entered", "then")))
    return Table("variants", "Variants, in what they change most", columns, tuple(rows))


def _for_reading_value(value: float, unit: str, least: float) -> str:
    """A margin, or a size; one up to `least` is 0."""
    return margin_words(value) if unit == MARGIN else words.quantity(value, unit) if value > least else "0"


def _change(before: float, after: float, unit: str) -> float:
    """How telling a change is: of sizes the logarithm of their ratio, of margins that of the load's; 0 where it is none."""
    if unit == MARGIN:
        before, after = 1 + before, 1 + after
        passes_zero = PASSES_ZERO if (before < 1) != (after < 1) else 0.0
    else:
        passes_zero = 0.0
    if before <= 0 or after <= 0 or abs(after / before - 1) < REL_TOL_NO_CHANGE:
        return 0.0
    return passes_zero + abs(math.log(after / before))


def variants_table(compared: tuple[ComparedBoat, ...]) -> Table:
    """Every quantity of every joint, a column for each variant, in SI."""
    columns = (
        Column("quantity"), Column("unit"), Column("joint"), *(Column(one.name, "", "SI") for one in compared),
    )  # fmt: skip
    rows = tuple((row.quantity, row.unit, row.joint, *row.values) for row in compared_rows(compared))
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
