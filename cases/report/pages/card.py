"""The decision card: the first screen, page and slide."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from cases.analyses.analysis import Analysis
from cases.analyses.decision import Verdict
from cases.report.data import decision_words
from cases.report.data.statements import unchecked_parts
from cases.report.pages.page_parts import Figure
from femcore.base.numbers import plain

MARKS: Mapping[Verdict, str] = {
    "inadequate": "inadequate",
    "not assessed": "unknown",
    "adequate for what was checked": "adequate",
}
"""The class of a verdict's colour, which its word stands beside."""


@dataclass(frozen=True, slots=True)
class CardCandidate:
    """The head of a candidate's column."""

    name: str
    verdict: str
    mark: str


@dataclass(frozen=True, slots=True)
class CardLine:
    """A line of the candidates' table: figure and detail for each."""

    label: str
    cells: list[tuple[str, str]]


@dataclass(frozen=True, slots=True)
class Card:
    """The decision on the first screen; `warnings`: how many are further down."""

    question: str
    answer: str
    candidates: list[CardCandidate]
    rows: list[CardLine]
    figure: Figure | None
    actions: list[str]
    unchecked: list[str]
    warnings: int


def card(analysis: Analysis, drawn: Figure | None) -> Card:
    """Of an analysis, with the boat and its main load as drawn."""
    decision = analysis.decision
    return Card(
        question=plain(decision.question),
        answer=plain(decision_words.answer_sentence(decision)),
        candidates=[
            CardCandidate(plain(one.joint), plain(decision_words.verdict_words(one)), MARKS[one.verdict])
            for one in decision.candidates
        ],
        rows=[
            CardLine(
                row.label,
                [(plain(f), plain(d) if d else "") for f, d in zip(row.figures, row.details, strict=True)],
            )
            for row in decision_words.card_rows(decision)
        ],
        figure=drawn,
        actions=[plain(one) for one in decision_words.action_sentences(decision)],
        unchecked=list(unchecked_parts(analysis)),
        warnings=len(analysis.warnings),
    )
