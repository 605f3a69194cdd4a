"""The answer in the terminal: the decision first, then a few sentences and one short table."""

from __future__ import annotations

from typing import TYPE_CHECKING

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
    from rich.console import RenderableType
    from rich.table import Table

    from cases.analyses.analysis import Analysis
    from cases.report.tables.table import FormattedTable


def decision_lines(analysis: Analysis) -> RenderableType:
    """The decision, warnings, a test on the boat, what to do next; of an analysis that has the candidates."""
    from rich.console import Group  # noqa: PLC0415  (start-up time)
    from rich.text import Text  # noqa: PLC0415  (start-up time)

    decision = analysis.decision
    actions = [
        f"{number}. {one}" for number, one in enumerate(decision_words.action_sentences(decision), start=1)
    ]
    sentences = [
        *(f"Warning: {sentence}" for sentence in analysis.warnings),
        *_fit_lines(analysis),
        checked_under_words(analysis),
        *(["What to do next"] if actions else []),
        *actions,
    ]
    return Group(
        Text(plain(analysis.file.title), style="bold"),
        Text(plain(decision.question)),
        _candidates(analysis),
        *(Text(plain(sentence)) for sentence in sentences),
    )


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


def _candidates(analysis: Analysis) -> Table:
    """The candidates side by side, verdict first."""
    from rich import box  # noqa: PLC0415  (start-up time)
    from rich.table import Table  # noqa: PLC0415  (start-up time)
    from rich.text import Text  # noqa: PLC0415  (start-up time)

    decision = analysis.decision
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, padding=(0, 1))
    table.add_column("")
    for one in decision.candidates:
        table.add_column(Text(shorten(one.joint, 24)))
    table.add_row(
        Text("verdict"),
        *(Text(one.verdict, style=decision_words.VERDICT_STYLES[one.verdict]) for one in decision.candidates),
    )
    for row in decision_words.card_rows(decision):
        cells = (
            Text(plain(f"{figure} ({detail})" if detail else figure))
            for figure, detail in zip(row.figures, row.details, strict=True)
        )
        table.add_row(Text(row.label), *cells)
    return table


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
