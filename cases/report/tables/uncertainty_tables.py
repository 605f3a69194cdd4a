"""Tables of what is not known: chances part by part, what each input moves, which inputs scatter and why so much."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from cases.analyses.reliability.sampling import Chance
from cases.analyses.uncertainty.tornado import InputEffect
from cases.analyses.uncertainty.uncertainty import JointUncertainty, Uncertainty
from cases.report.data import words
from cases.report.data.statements import margin_words
from cases.report.data.uncertainty_words import called, torque_range
from cases.report.tables.table import Cell, Column, Table
from femcore.base import numbers

MOST_PARTS, MOST_INPUTS = 6, 8
"""Rows of each joint on the page; the CSV tables have all."""
BASIS_WORDS = {"entered": "entered", "estimated": "estimated", "default": "default"}


def percent(share: float) -> str:
    """Of a chance: two digits, three next to certainty, and "below 0.1 %" where there is next to none."""
    if share < 0.001:
        return "below 0.1 %"
    if share > 0.999:
        return "over 99.9 %"
    per_cent = 100 * share
    return f"{per_cent:.0f} %" if 9.95 <= per_cent < 99.5 else f"{per_cent:.1f} %"


def with_bounds(chance: Chance) -> str:
    """A chance with the bounds of 95 % confidence."""
    return f"{percent(chance.value)} ({percent(chance.low)} … {percent(chance.high)})"


def reliability_table(found: Uncertainty) -> Table:
    """Every part of every joint, the likeliest below zero first."""
    columns = (
        Column("joint"), Column("part"), Column("check", "", "the likeliest at fault"), Column("margin", "1", "without scatter"),
        Column("index", "×", "β, first order", below_shown="β, first order"), Column("P(margin < 0)", "1", "first order"),
        Column("P(margin < 0)", "1", "counted"), Column("at least", "1", "95 %"), Column("at most", "1", "95 %"),
        Column("P(load > capacity)", "1", "counted, no factor"), Column("made of", "", "causes, shares of β²"),
    )  # fmt: skip
    rows = tuple(
        (
            one.joint, part.part, part.check, part.margin, part.index if abs(part.index) < 100 else None, part.chance,
            part.counted.value, part.counted.low, part.counted.high, part.failure.value, _made_of(part.importance),
        )
        for one in found.joints
        for part in (*(whole for whole in (one.own, one.beside) if whole is not None), *one.parts)
    )  # fmt: skip
    return Table("reliability", "Chances of every part", columns, rows)


def _made_of(importance: dict[str, float]) -> str:
    return ", ".join(f"{called(cause)} {100 * share:.0f} %" for cause, share in list(importance.items())[:3])


def likeliest_parts(one: JointUncertainty) -> Table:
    """Of one joint for reading."""
    columns = tuple(
        map(Column, ("part", "check", "margin", "index β", "P(margin < 0)", "P(load > capacity)", "causes"))
    )
    rows = tuple(
        (
            part.part, part.check.partition(": ")[2], margin_words(part.margin),
            words.number(part.index, 1) if abs(part.index) < 100 else "–", with_bounds(part.counted),
            percent(part.failure.value), _made_of(part.importance),
        )
        for part in one.parts[:MOST_PARTS]
    )  # fmt: skip
    return Table("reliability", f"Likeliest parts below zero: {numbers.plain(one.joint)}", columns, rows)


def chances_table(joints: Sequence[JointUncertainty]) -> Table:
    """Of some joints for reading: loads and margin in their 90 % ranges, and the chances."""
    columns = (
        Column("joint"), Column("torque", "", "90 % range"), Column("vertical bending", "", "90 % range"),
        Column("lowest margin", "", "90 % range"), Column("margin below 0", "", "chance: own parts"),
        Column("margin below 0", "", "parts beside it"), Column("load beyond capacity", "", "chance: own parts"),
        Column("load beyond capacity", "", "parts beside it"),
    )  # fmt: skip
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (
            one.joint, torque_range(one.torque), torque_range(one.bending),
            f"{margin_words(one.margin.low)} … {margin_words(one.margin.high)}",
            *("–" if of is None else with_bounds(of.counted) for of in (one.own, one.beside)),
            *("–" if of is None else percent(of.failure.value) for of in (one.own, one.beside)),
        )
        for one in joints
    )  # fmt: skip
    return Table("chances", "How far the loads and margins of the candidates scatter", columns, rows)


def effects_table(found: Uncertainty) -> Table:
    """What each input moves at every joint."""
    swings = [
        Column(f"{name} {what}", unit, below)
        for name, unit in (("torque", "N·m"), ("bending", "N·m"), ("margin", "1"))
        for what, unit, below in (
            ("elasticity", "×", "% per %"), ("low", unit, "input one deviation below"),
            ("high", unit, "input one deviation above"), ("share", "1", "of the variance"),
        )
    ]  # fmt: skip
    columns = (
        Column("joint"),
        *map(Column, ("input", "below", "above")),
        *swings,
        Column("remaining", "1", "of the margin’s deviation, if known"),
    )
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (one.joint, effect.input, effect.below, effect.above, *_values(effect), effect.remaining)
        for one in found.joints
        for effect in one.effects
    )
    return Table("uncertainty", "What each input moves", columns, rows)


def _values(effect: InputEffect) -> Iterator[float]:
    for swing in (effect.torque, effect.bending, effect.margin):
        yield from (swing.elasticity, swing.low, swing.high, swing.share)


def strongest_inputs(one: JointUncertainty) -> Table:
    """Of one joint for reading: the inputs with the largest share of the margin's variance."""
    columns = (
        Column("input"), Column("from … to", "", "one deviation"), Column("torque"), Column("bending"), Column("margin"),
        Column("share", "", "of margin’s variance"), Column("if known", "", "deviation falls by"),
    )  # fmt: skip
    rows = tuple(
        (
            called(effect.input), f"{effect.below} … {effect.above}", _swing(effect.torque.low, effect.torque.high, "N·m"),
            _swing(effect.bending.low, effect.bending.high, "N·m"),
            f"{margin_words(effect.margin.low)} … {margin_words(effect.margin.high)}", percent(effect.margin.share),
            percent(1 - effect.remaining),
        )
        for effect in one.effects[:MOST_INPUTS]
    )  # fmt: skip
    return Table("uncertainty", f"What moves the answer most: {numbers.plain(one.joint)}", columns, rows)


def _swing(low: float, high: float, unit: str) -> str:
    return "–" if abs(high - low) <= 5e-4 * abs(high) else words.change(low, high, unit).replace("→", "…")


def inputs_table(found: Uncertainty) -> Table:
    """Everything that scatters, with the reason."""
    columns = tuple(map(Column, ("input", "what", "scatter", "from", "reason", "cause")))
    rows = tuple(
        (
            one.name,
            one.what,
            one.scatter,
            BASIS_WORDS[one.basis],
            one.reason,
            one.cause if one.cause != one.name else "",
        )
        for one in found.inputs
    )
    return Table("scatter", "What scatters, and why so much", columns, rows)


def tables(found: Uncertainty) -> Sequence[Table]:
    """Those that are written as CSV files."""
    return reliability_table(found), effects_table(found), inputs_table(found)
