"""Strength of the parts in sentences, for results, terminal and page alike."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from cases.analyses.comparison import MARGIN, REL_TOL_NO_CHANGE
from cases.analyses.part_margins import PartMargins
from cases.report.data import words
from models.strength.margins import GoverningCheck, Outcome

MIN_MULTIPLE = 2.0
"""From this ratio on, a change is shown as a multiple."""
MIN_WHOLE_PERCENT = 10.0
"""Smaller changes have a decimal."""
MAX_MARGIN_SHOWN = 1000.0
"""A larger margin is as good as no load."""
VERDICTS: dict[Outcome, str] = {
    "holds": "no check fails",
    "fails": "inadequate",
    "not known": "no check that was made fails",
}


def margin_statements(part_margins: Sequence[PartMargins]) -> Iterator[str]:
    """The verdict and governing check of each joint, of the parts beside the joints, and which joints have all checks."""
    said = ["Strength of the joints."]
    for one in part_margins:
        if row := one.governing_check(own=True):
            lacks = sum(name is None and worst.part in one.joint_part_names for worst, name in one.worst)
            rest = f"; {lacks} check{'s' if lacks > 1 else ''} not made" if lacks else ""
            said.append(
                f"{words.name_of(one.joint)}: {VERDICTS[one.outcomes[0]]}; governing: {_named(*row)}{rest}."
            )
    silent = [words.name_of(one.joint) for one in part_margins if one.governing_check(own=True) is None]
    if silent:
        said.append(f"Not assessed: {', '.join(silent)} (the file does not describe their parts).")
    yield " ".join(said)
    beside = [(row, one) for one in part_margins if (row := one.governing_check(own=False))]
    if beside:
        (worst, case), one = min(beside, key=lambda found: found[0][0].margin)
        failing = sum(other.outcomes[1] == "fails" for other in part_margins)
        verdict = (
            f"inadequate with {'every joint' if failing == len(part_margins) else f'{failing} of {len(part_margins)} joints'}"
            if failing
            else "no check that was made fails"
        )
        yield (
            f"Parts beside the joints (striker, martingale, tangs, longeron’s ends, walls of the beams): {verdict}; governing: "
            f"{_named(worst, case)}, with {words.name_of(one.joint)}."
        )
    complete = [words.name_of(one.joint) for one in part_margins if one.outcomes == ("holds", "holds")]
    if complete:
        yield (
            f"With {' and '.join(complete)} every part was checked, of the joint and beside it; no check fails."
        )


def _named(worst: GoverningCheck, case: str) -> str:
    """A check: part, check, margin, factor, case."""
    return f"{worst.part}: {worst.check}, margin {margin_words(worst.margin)} ({factor_words(worst)}) in {words.name_of(case)}"


def factor_words(worst: GoverningCheck) -> str:
    """The safety factor of a check, with its name."""
    return f"safety factor {words.number(worst.factor.value, 2)}, {worst.factor.name.replace('_', ' ')}"


def margin_words(margin: float) -> str:
    """A margin for reading."""
    return (
        "no load"
        if math.isinf(margin)
        else "over 1000"
        if margin > MAX_MARGIN_SHOWN
        else words.number(margin, 2)
    )


def changed(value: float | None, first: float | None, unit: str, least: float) -> str:
    """A quantity of a variant, and in brackets its change from `first`, the boat as entered; up to `least` it is 0."""
    if value is None:
        return "–"
    if unit == MARGIN:
        return margin_words(value)
    if value <= least:
        return "0"
    said = words.quantity(value, unit)
    if first is None or first <= least or abs(value / first - 1) < REL_TOL_NO_CHANGE:
        return said
    ratio = value / first
    if ratio >= MIN_MULTIPLE:
        return f"{said} (×\N{NO-BREAK SPACE}{words.times(ratio)})"
    percent = 100 * (ratio - 1)
    figure = words.number(percent, 0 if abs(percent) >= MIN_WHOLE_PERCENT else 1)
    return f"{said} ({'+' if ratio > 1 else ''}{figure}\N{NO-BREAK SPACE}%)"
