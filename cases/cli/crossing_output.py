"""Variants crossed with joints: in the terminal, a sentence first and a column for each joint; as CSV, a row for each pair."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from cases.analyses.comparison import MARGIN, QUANTITIES
from cases.analyses.crossing import CrossedJoint, Crossing
from cases.report.data import words
from cases.report.data.decision_words import NONE, VERDICT_STYLES, check_words, life_words
from cases.report.data.statements import margin_words
from cases.report.tables import table as tables
from femcore.base.numbers import finite, plain, shorten
from models.strength.margins import GoverningCheck

SHOWN = ("torque of all cases", "vertical bending of all cases", "racking stiffness")
"""Of the quantities compared, those shown in the terminal; JSON and CSV have all."""


def crossing_tables(found: Crossing) -> list[RenderableType]:
    """Title, how many pairs are adequate, a sentence for each joint, the table, and what its numbers are."""
    note = (
        "Margins: the lowest over all cases and combinations, safety factors counted. Torque and bending: the larger of both "
        "hulls, the largest over all cases and combinations, with pretension."
    )
    return [
        Text(plain(found.title), style="bold"),
        *(Text(plain(sentence)) for sentence in crossing_sentences(found)),
        _table(found),
        Text(note, style="dim"),
    ]


def crossing_sentences(found: Crossing) -> Iterator[str]:
    """The answer: how many pairs are adequate, and the largest of the lowest margins; then each joint through the variants."""
    pairs = [one for one in found.pairs if one.verdict is not None]
    adequate = [one for one in pairs if one.verdict == "adequate for what was checked"]
    said = f"{len(adequate)} of {len(pairs)} pairs of variant and joint are adequate for what was checked."
    known = [(margin, one) for one in pairs if (margin := one.lowest_margin) is not None]
    if known:
        margin, best = max(known, key=lambda pair: pair[0])
        said += (
            f" The best pair is {words.name_of(best.joint)} with {words.name_of(best.variant)}: lowest margin "
            f"{margin_words(margin)}."
        )
    yield said
    for joint in found.joints:
        yield f"{words.name_of(joint)}: {'; '.join(_through(found.of_joint(joint)))}."


def _through(pairs: tuple[CrossedJoint, ...]) -> Iterator[str]:
    """What becomes of one joint, verdict by verdict, with the variants of each."""
    by_outcome: dict[str, list[str]] = {}
    for one in pairs:
        by_outcome.setdefault(one.verdict or one.reason, []).append(words.name_of(one.variant))
    for outcome, variants in by_outcome.items():
        everywhere = len(variants) == len(pairs)
        yield f"{outcome} in {'all' if everywhere else ', '.join(variants)}"


def _table(found: Crossing) -> Table:
    shown = Table(title_justify="left")
    shown.add_column("")
    shown.add_column("variant")
    for joint in found.joints:
        shown.add_column(Text(shorten(joint, 24)))
    for label, read in _rows().items():
        cells = [[read(one) for one in _of_variant(found, variant)] for variant in found.variants]
        if all(text == NONE for row in cells for text in row):
            continue
        shown.add_section()
        for variant, row in zip(found.variants, cells, strict=True):
            first = Text(label if variant == found.variants[0] else "")
            styled = (Text(plain(text), style=VERDICT_STYLES.get(text, "")) for text in row)
            shown.add_row(first, Text(shorten(variant, 24)), *styled)
    return shown


def _of_variant(found: Crossing, variant: str) -> list[CrossedJoint]:
    return [one for one in found.pairs if one.variant == variant]


def _rows() -> dict[str, Callable[[CrossedJoint], str]]:
    units = {quantity.name: quantity.unit for quantity in QUANTITIES}

    def value(name: str) -> Callable[[CrossedJoint], str]:
        def read(one: CrossedJoint) -> str:
            size = one.values.get(name)
            return NONE if size is None else words.quantity(size, units[name])

        return read

    return {
        "verdict": lambda one: one.verdict or one.reason,
        "weakest in the joint": lambda one: _margin(one.weakest),
        "weakest beside it": lambda one: _margin(one.beside),
        "shortest fatigue life": lambda one: life_words(one.life)[0],
        **{name: value(name) for name in SHOWN},
    }


def _margin(worst: GoverningCheck | None) -> str:
    return NONE if worst is None else f"{margin_words(worst.margin)} ({check_words(worst)})"


def crossing_csv(found: Crossing) -> str:
    """A row for each pair, in SI and in full."""
    columns = (
        *map(tables.Column, ("variant", "joint", "verdict", "weakest in the joint", "weakest beside it")),
        *(tables.Column(one.name, "" if one.unit == MARGIN else one.unit) for one in QUANTITIES),
        tables.Column("shortest fatigue life", "nautical miles"),
    )
    rows = tuple(
        (
            one.variant, one.joint, one.verdict or one.reason,
            *("" if worst is None else check_words(worst) for worst in (one.weakest, one.beside)),
            *(one.values.get(quantity.name) for quantity in QUANTITIES),
            None if one.life is None else finite(one.life.miles),
        )
        for one in found.pairs
    )  # fmt: skip
    return tables.Table("crossing", "Variants and joints", columns, rows).csv()
