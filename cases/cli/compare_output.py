"""A boat and its variants in the terminal: one table, a column each."""

from __future__ import annotations

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from cases.analyses.analysis import ComparedBoat
from cases.analyses.comparison import MARGIN, REL_TOL_NO_CHANGE, REL_TOL_NO_QUANTITY, rows
from femcore.base.numbers import engineering, plain

MIN_MULTIPLE = 2.0
"""From this ratio on, a change is shown as a multiple."""


def comparison_tables(compared: tuple[ComparedBoat, ...]) -> list[RenderableType]:
    """Title, table, and what its numbers are."""
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
        cells = [_cell(value, row.unit, first, largest[row.quantity]) for value in row.values]
        table.add_row(Text(said), Text(plain(row.joint) if row.joint else ""), *cells)
        before = row.quantity
    words = (
        "Joint loads: the larger of both hulls, the largest over all cases of the kind. Margins: the lowest over all cases and "
        "combinations. In brackets: change from the boat as entered."
    )
    return [Text(plain(compared[0].study.file.title), style="bold"), table, Text(words, style="dim")]


def _cell(value: float | None, unit: str, first: float | None, largest: float) -> Text:
    """The number, and by how much it differs from that of the boat as entered."""
    if value is None:
        return Text("–")
    if unit == MARGIN:
        return Text(f"{value:.2f}".replace("-", "−"))
    if value <= REL_TOL_NO_QUANTITY * largest:
        return Text("0")
    text = engineering(value, unit)
    if first is None or first <= REL_TOL_NO_QUANTITY * largest or abs(value / first - 1) < REL_TOL_NO_CHANGE:
        return Text(text)
    return Text(f"{text} ({_change(value / first)})")


def _change(ratio: float) -> str:
    return f"×{ratio:.3g}" if ratio >= MIN_MULTIPLE else f"{100 * (ratio - 1):+.2g} %".replace("-", "−")
