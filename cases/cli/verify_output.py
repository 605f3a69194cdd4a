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
    return [*shown, _count(cases)]


def topic_table(cases: list[VerifiedCase]) -> list[RenderableType]:
    """Of each topic how many cases and values there are, the names of its cases, and what is missed; and the count."""
    table = Table(title_justify="left", expand=True)
    table.add_column("topic", ratio=2)
    table.add_column("values", justify="right")
    table.add_column("missed", justify="right")
    table.add_column("cases, each by: forebeam verify CASE; all by --all", ratio=6)
    for topic, group in groupby(cases, key=lambda case: case.topic):
        those = list(group)
        outcomes = [outcome for case in those for outcome in case.run.outcomes]
        missed = sum(not outcome.ok for outcome in outcomes)
        table.add_row(
            Text(topic, style="bold"), Text(str(len(outcomes))), Text(str(missed), style="bold red" if missed else ""),
            Text(", ".join(case.path.stem for case in those)),
        )  # fmt: skip
    return [table, _count(cases)]


def _count(cases: list[VerifiedCase]) -> Text:
    missed = [case.path.name for case in cases if not case.run.ok]
    values = sum(len(case.run.outcomes) for case in cases)
    number = f"{len(cases)} case{'' if len(cases) == 1 else 's'}, {values} value{'' if values == 1 else 's'}"
    words = f"{number}: " + (f"missed in {', '.join(missed)}" if missed else "all within tolerance")
    words += " (" + ", ".join(f"{count} {status}" for status, count in values_by_status(cases).items()) + ")"
    return Text(words, style="bold red" if missed else "bold green")


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
