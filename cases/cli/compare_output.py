"""A boat and its variants in the terminal: one table, a column each."""

from __future__ import annotations

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from cases.analyses.analysis import ComparedBoat
from cases.analyses.comparison import REL_TOL_NO_QUANTITY, rows
from cases.report.data.statements import changed
from cases.report.sections.variants_section import variant_sentences
from femcore.base.numbers import plain


def comparison_tables(compared: tuple[ComparedBoat, ...]) -> list[RenderableType]:
    """Title, a sentence for each variant, joints without an answer, table, and what its numbers are."""
    table = Table(title_justify="left", show_lines=False)
    table.add_column("")
    table.add_column("joint")
    for one in compared:
        table.add_column(Text(plain(one.name)), justify="right")
    found = rows(compared)
    largest: dict[str, float] = {}
    for row in found:
        largest[row.quantity] = max(
            [largest.get(row.quantity, 0.0), *(v for v in row.values if v is not None)]
        )
    before = ""
    for row in found:
        if before and row.quantity != before:
            table.add_section()
        said = "" if row.quantity == before else row.quantity
        first = row.values[0]
        least = REL_TOL_NO_QUANTITY * largest[row.quantity]
        cells = [Text(changed(value, first, row.unit, least)) for value in row.values]
        table.add_row(Text(said), Text(plain(row.joint) if row.joint else ""), *cells)
        before = row.quantity
    words = (
        "Joint loads: the larger of both hulls, the largest over all cases of the kind. Margins: the lowest over all cases and "
        "combinations. In brackets: change from the boat as entered."
    )
    without_answer = [
        Text(f"{plain(one.name)}: {plain(joint.words())}") for one in compared for joint in one.study.unsolved
    ]
    return [
        Text(plain(compared[0].study.file.title), style="bold"),
        *(Text(plain(sentence)) for sentence in variant_sentences(compared)),
        *without_answer,
        table,
        Text(words, style="dim"),
    ]
