"""The answer in the terminal: the decision first, then a few sentences and one short table."""

from __future__ import annotations

from typing import TYPE_CHECKING

from cases.analyses.decision import question_of
from cases.analyses.next_actions import MoveStay
from cases.report.data import decision_words, words
from cases.report.data.statements import (
    checked_under_words,
    discretisation_words,
    not_assessed_words,
    plastic_strain_words,
    unchecked_words,
)
from cases.report.tables import joint_tables
from femcore.base.numbers import plain, shorten

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rich.console import RenderableType
    from rich.table import Table

    from cases.analyses.analysis import Analysis
    from cases.analyses.decision import Candidate
    from cases.report.data.decision_words import CardRow
    from cases.report.tables.table import FormattedTable

LABEL_WIDTH, FIGURE_WIDTH = 26, 44
"""Signs, of the columns of candidates side by side, where the terminal has room."""


def verdict_lines(analysis: Analysis) -> RenderableType:
    """The question, the candidates with their verdicts and numbers, warnings; of an analysis that has the candidates."""
    from rich.console import Group  # noqa: PLC0415  (start-up time)
    from rich.text import Text  # noqa: PLC0415  (start-up time)

    study, candidates = analysis.study, analysis.verdicts
    table = _side_by_side(candidates)
    styles = decision_words.VERDICT_STYLES
    table.add_row(Text("verdict"), *(Text(one.verdict, style=styles[one.verdict]) for one in candidates))
    _add_rows(table, decision_words.verdict_rows(candidates, study.bare_racking_stiffness))
    return Group(
        Text(plain(analysis.file.title), style="bold"),
        Text(plain(question_of(analysis.file))),
        table,
        *(Text(plain(f"Warning: {sentence}")) for sentence in analysis.warnings),
        Text(plain(checked_under_words(analysis))),
    )


def decision_lines(analysis: Analysis) -> RenderableType:
    """How sure that is, a test on the boat, what to do next; of the same analysis."""
    from rich.console import Group  # noqa: PLC0415  (start-up time)
    from rich.text import Text  # noqa: PLC0415  (start-up time)

    decision = analysis.decision
    rows = decision_words.chance_rows(decision.candidates)
    table = _side_by_side(decision.candidates)
    _add_rows(table, rows)
    actions = [
        f"{number}. {one}" for number, one in enumerate(decision_words.action_sentences(decision), start=1)
    ]
    sentences = [*_fit_lines(analysis), *(["What to do next"] if actions else []), *actions]
    return Group(*([table] if rows else []), *(Text(plain(sentence)) for sentence in sentences))


def further_lines(analysis: Analysis) -> RenderableType:
    """What has no answer, what is in no check, racking, the joints in a table, the stay's line; of all joints."""
    from rich.console import Group  # noqa: PLC0415  (start-up time)
    from rich.text import Text  # noqa: PLC0415  (start-up time)

    study, decision = analysis.study, analysis.decision
    sentences = [
        *(one.words() for one in study.unsolved),
        *not_assessed_words(analysis, besides=[one.joint for one in decision.candidates]),
        *plastic_strain_words(analysis.part_margins),
        unchecked_words(analysis),
        "",
        words.stiffness_sentence(study),
        *(
            []
            if any(isinstance(one, MoveStay) for one in decision.actions)
            else words.stay_sentences(study)[:1]
        ),
    ]
    return Group(
        *(Text(plain(sentence) if sentence else "") for sentence in sentences),
        _table(joint_tables.design_loads(analysis).shown()),
        Text(plain(discretisation_words(analysis, brief=True))),
    )


def _fit_lines(analysis: Analysis) -> list[str]:
    """How a test on the boat fits, where there is one."""
    if analysis.test is None:
        return []
    from cases.report.data.calibration_words import fit_lines  # noqa: PLC0415  (start-up time)

    return list(fit_lines(analysis.test))


def _side_by_side(candidates: Sequence[Candidate]) -> Table:
    """A table with a column for each; all such tables have the same columns."""
    from rich import box  # noqa: PLC0415  (start-up time)
    from rich.table import Table  # noqa: PLC0415  (start-up time)
    from rich.text import Text  # noqa: PLC0415  (start-up time)

    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, padding=(0, 1))
    table.add_column("", width=LABEL_WIDTH)
    for one in candidates:
        table.add_column(Text(shorten(one.joint, 24)), width=FIGURE_WIDTH)
    return table


def _add_rows(table: Table, rows: Sequence[CardRow]) -> None:
    from rich.text import Text  # noqa: PLC0415  (start-up time)

    for row in rows:
        cells = (
            Text(plain(f"{figure} ({detail})" if detail else figure))
            for figure, detail in zip(row.figures, row.details, strict=True)
        )
        table.add_row(Text(row.label), *cells)


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
        Text("design loads: over all cases, combinations and both hulls, with pretension"),
        "left",
    )
    return table
