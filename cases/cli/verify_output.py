"""The textbook cases in the terminal."""

from __future__ import annotations

from itertools import groupby

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from cases.verification.textbook import SOURCE_STATUS, VerifiedCase, values_by_status


def verify_tables(cases: list[VerifiedCase]) -> list[RenderableType]:
    """One table for each topic, and the count."""
    shown: list[RenderableType] = []
    for topic, group in groupby(cases, key=lambda case: case.topic):
        table = Table(title=Text(topic, style="bold"), title_justify="left", expand=True)
        table.add_column("case", ratio=3)
        table.add_column("quantity", ratio=2)
        for head in ("published", "computed", "difference"):
            table.add_column(head, justify="right")
        table.add_column("source", ratio=3)
        for case in group:
            _add_case(table, case)
        shown.append(table)
    missed = [case.path.name for case in cases if not case.run.ok]
    values = sum(len(case.run.outcomes) for case in cases)
    words = f"{len(cases)} cases, {values} values: " + (
        f"missed in {', '.join(missed)}" if missed else "all within tolerance"
    )
    words += " (" + ", ".join(f"{count} {status}" for status, count in values_by_status(cases).items()) + ")"
    shown.append(Text(words, style="bold red" if missed else "bold green"))
    return shown


def _add_case(table: Table, case: VerifiedCase) -> None:
    file = case.run.file
    seen = SOURCE_STATUS.get(file.seen or "", "not said")
    source = file.source if seen in file.source else f"{file.source} ({seen})"
    for number, (what, published, ours, difference, ok) in enumerate(case.rows):
        first = number == 0
        table.add_row(
            Text(file.title if first else ""), Text(what), Text(published), Text(ours),
            Text(difference, style="" if ok else "bold red"), Text(source if first else "", style="dim"),
        )  # fmt: skip
    table.add_section()
