"""Whether the parts hold, in sentences: for results, terminal and page alike."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from cases.analyses.part_margins import PartMargins
from cases.report.data import words
from models.strength.margins import GoverningCheck, Outcome

MAX_MARGIN_SHOWN = 1000.0
"""A larger margin is as good as no load."""
OUTCOME_VERBS: dict[Outcome, str] = {
    "holds": "holds",
    "fails": "fails",
    "not known": "is not known to hold in all its parts",
}


def margin_statements(part_margins: Sequence[PartMargins]) -> Iterator[str]:
    """Each joint whose parts the file describes, with what governs; the others; what is beside them; where all of it holds."""
    told = []
    for one in part_margins:
        if row := one.governing_check(own=True):
            lacks = sum(name is None and worst.part in one.joint_part_names for worst, name in one.worst)
            rest = f", and {lacks} check{'s' if lacks > 1 else ''} could not be made" if lacks else ""
            told.append(
                f"{words.name_of(one.joint)} {OUTCOME_VERBS[one.outcomes[0]]}, governed by {_named(*row)}{rest}"
            )
    silent = [words.name_of(one.joint) for one in part_margins if one.governing_check(own=True) is None]
    if silent:
        told.append(
            f"of {', '.join(silent)} it is not known, since the file does not describe what would be checked"
        )
    yield f"Strength of the joints: {'; '.join(told)}."
    beside = [(row, one) for one in part_margins if (row := one.governing_check(own=False))]
    if beside:
        (worst, case), one = min(beside, key=lambda found: found[0][0].margin)
        failing = [other for other in part_margins if other.outcomes[1] == "fails"]
        all_of_them = len(failing) == len(part_margins)
        many = (
            "with every joint something"
            if all_of_them
            else f"with {len(failing)} of {len(part_margins)} joints something"
        )
        yield (
            f"Beside the joints (striker, martingale, tangs, longeron’s ends, the beams’ walls) "
            f"{many if failing else 'nothing that was checked'} "
            f"fails; the lowest margin is {_named(worst, case)}, with {words.name_of(one.joint)}."
        )
    hold = [words.name_of(one.joint) for one in part_margins if one.outcomes == ("holds", "holds")]
    if hold:
        yield f"With {' and '.join(hold)} every part was checked, of the joint and beside it, and holds."


def _named(worst: GoverningCheck, case: str) -> str:
    """A check in words: part, check, margin, factor, case."""
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
