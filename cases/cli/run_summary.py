"""The answer in the terminal: a few sentences and one short table."""

from __future__ import annotations

from typing import TYPE_CHECKING

from cases.report.data import words
from cases.report.data.statements import design_load_words, discretisation_words, strength_statements
from cases.report.tables import joint_tables
from femcore.base.numbers import plain, shorten

if TYPE_CHECKING:
    from rich.console import RenderableType

    from cases.analyses.analysis import Analysis
    from cases.report.tables.table import FormattedTable


def summary(analysis: Analysis) -> RenderableType:
    """Warnings, strength, design loads, racking, the joints in a table, the stay's line."""
    from rich.console import Group  # noqa: PLC0415  (start-up time)
    from rich.text import Text  # noqa: PLC0415  (start-up time)

    study = analysis.study
    said = words.answer(study)
    stays = len(study.stay_lines()) > 0
    before, after = (said[:-1], said[-1:]) if stays else (said, [])
    parts: list[RenderableType] = [Text(plain(study.file.title), style="bold"), Text("")]
    if analysis.warnings:
        parts += [*(Text(f"Warning: {plain(sentence)}") for sentence in analysis.warnings), Text("")]
    parts += [Text(plain(sentence)) for sentence in strength_statements(analysis)]
    parts += [Text(""), Text(plain(design_load_words(analysis)))]
    parts += [Text(sentence) for sentence in before]
    parts += [
        Text(""),
        _table(joint_tables.design_loads(analysis).shown()),
        *(Text(sentence) for sentence in after),
        Text(plain(discretisation_words(analysis, brief=True))),
    ]
    return Group(*parts)


def _table(shown: FormattedTable) -> RenderableType:
    from rich import box  # noqa: PLC0415  (start-up time)
    from rich.table import Table  # noqa: PLC0415  (start-up time)
    from rich.text import Text  # noqa: PLC0415  (start-up time)

    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, padding=(0, 1))
    for head in shown.heads:
        words = " ".join(part for part in (head.title, head.below) if part)
        title = Text(f"{words}\n{head.unit}" if head.unit else words)
        if head.number:
            table.add_column(title, justify="right", max_width=14)
        else:
            table.add_column(title, no_wrap=True)
    for row in shown.rows:
        table.add_row(*(Text(shorten(cell.text, 24)) for cell in row))
    table.caption, table.caption_justify = (
        Text("design loads: the largest of all cases, combinations and both hulls, pretension included"),
        "left",
    )
    return table
