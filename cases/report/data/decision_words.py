"""The decision in words, for page and terminal alike: the candidates row by row, what to do next, one sentence of answer."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from cases.analyses.decision import Candidate, Decision, ShortestLife
from cases.analyses.design_loads import DesignLoad
from cases.analyses.next_actions import (
    DescribeParts,
    GiveData,
    MeasureRacking,
    MoveStay,
    NextAction,
    RaiseSizes,
    SizeRaised,
)
from cases.analyses.verdict_flips import MAX_RACKING, VerdictFlip
from cases.report.data import words
from cases.report.data.statements import margin_words
from cases.report.data.uncertainty_words import called, percent_words
from models.joints.base import without_side
from models.strength.margins import GoverningCheck

MOST_ACTIONS = 3
"""On the card; results.json has all."""
NONE = "–"
VERDICT_STYLES = {
    "inadequate": "bold red",
    "not assessed": "bold yellow",
    "adequate for what was checked": "bold green",
}
"""In the terminal."""


@dataclass(frozen=True, slots=True)
class CardRow:
    """One line of the candidates side by side: a number for each, and what it is of."""

    label: str
    figures: tuple[str, ...]
    details: tuple[str, ...]


def card_rows(decision: Decision) -> list[CardRow]:
    """What is known of every candidate; a row of which nothing is known is left out."""
    return [
        *verdict_rows(decision.candidates, decision.bare_racking_stiffness),
        *chance_rows(decision.candidates),
    ]


def verdict_rows(of: Sequence[Candidate], bare_racking_stiffness: float) -> list[CardRow]:
    """Those that the verdict rests on."""
    return _known(
        _row("weakest in the joint", [_margin(one.weakest) for one in of]),
        _row("weakest beside it", [_margin(one.beside) for one in of]),
        _row("shortest fatigue life", [life_words(one.life) for one in of]),
        _row("design torque", [_load(one.torque) for one in of]),
        _row("design vertical bending", [_load(one.bending) for one in of]),
        _row("racking stiffness gained", [_stiffness(one, bare_racking_stiffness) for one in of]),
        _row("mass of both fittings", [_mass(one) for one in of]),
        _row(
            "checks not made",
            [(str(one.not_made), "data missing") if one.not_made else (NONE, "") for one in of],
        ),
    )


def chance_rows(of: Sequence[Candidate]) -> list[CardRow]:
    """Those that say how sure it is, and what would change it."""
    return _known(
        _row("chance that it fails", [_chance(one) for one in of]),
        _row("verdict changes at", [_flips(one) for one in of]),
        _row("one input that changes it", [_turned(one) for one in of]),
    )


def _known(*rows: CardRow) -> list[CardRow]:
    return [row for row in rows if any(figure != NONE for figure in row.figures)]


def answer_sentence(decision: Decision) -> str:
    """The verdict on every candidate with the margin that decides it, in one sentence."""
    return "; ".join(map(_verdict, decision.candidates)) + "."


def action_sentences(decision: Decision, most: int | None = MOST_ACTIONS) -> list[str]:
    """What to do next, the most telling first; what is the same for several candidates is one sentence."""
    names: dict[str, list[str]] = {}
    for action in decision.actions:
        names.setdefault(_action(action, decision), []).append(
            action.joint if isinstance(action, RaiseSizes) else ""
        )
    return [f"{_whose(joints, decision)}{said}" for said, joints in list(names.items())[:most]]


def _whose(joints: list[str], decision: Decision) -> str:
    """For which candidates, where an action is for some of them."""
    if not joints[0]:
        return ""
    everyone = len(joints) == len(decision.candidates) > 1
    return "With every candidate: " if everyone else f"{', '.join(map(words.name_of, joints))}: "


def verdict_words(one: Candidate) -> str:
    """The verdict, with the reason where there is none."""
    return f"{one.verdict}: {one.reason}" if one.reason else one.verdict


def _verdict(one: Candidate) -> str:
    known = [check for check in (one.weakest, one.beside) if check is not None]
    if one.verdict == "not assessed" or not known:
        return f"{words.name_of(one.joint)}: {verdict_words(one)}"
    worst = min(known, key=lambda check: check.margin)
    worn = one.life is not None and not one.life.lasts
    life = f", fatigue life {life_words(one.life)[0]}" if worn else ""
    return f"{words.name_of(one.joint)}: {one.verdict}, lowest margin {margin_words(worst.margin)}{life}"


def _row(label: str, cells: list[tuple[str, str]]) -> CardRow:
    figures, details = zip(*cells, strict=True)
    return CardRow(label, figures, details)


def check_words(worst: GoverningCheck) -> str:
    """A part, on whichever side, and the check of it."""
    return f"{without_side(worst.part)}: {worst.check}"


def _margin(worst: GoverningCheck | None) -> tuple[str, str]:
    return (NONE, "") if worst is None else (f"margin {margin_words(worst.margin)}", check_words(worst))


def life_words(life: ShortestLife | None) -> tuple[str, str]:
    """How long it lasts, and what wears out first."""
    if life is None:
        return NONE, ""
    if life.lasts:
        return (
            "longer than the service",
            f"{life.service:,.0f} nautical miles; first: {without_side(life.of)}",
        )
    reached = words.miles(life.miles, short_of=life.service)
    return f"{reached} of {life.service:,.0f} nautical miles", without_side(life.of)


def _load(load: DesignLoad | None) -> tuple[str, str]:
    if load is None:
        return NONE, ""
    return ("0", "") if load.size == 0 else (words.quantity(load.size, "N·m"), load.row)


def _stiffness(one: Candidate, bare: float) -> tuple[str, str]:
    if one.racking_stiffness is None or one.stiffer is None:
        return NONE, ""
    return stiffness_words(one.stiffer, bare, one.racking_stiffness)


def stiffness_words(stiffer: float, bare: float, stiffness: float) -> tuple[str, str]:
    """What a joint adds to the racking stiffness of the bows alone, N/m: by how much, and from what to what."""
    return f"+{words.percent(stiffer - 1)}", words.change(bare, stiffness, "N/m")


def _chance(one: Candidate) -> tuple[str, str]:
    if one.failure is None or one.below_zero is None:
        return NONE, ""
    below = percent_words(one.below_zero.value).replace(" %", "\N{NO-BREAK SPACE}%")
    return percent_words(
        one.failure.value
    ), f"that a load exceeds a capacity; {below} that a margin is below 0"


def _turned(one: Candidate) -> tuple[str, str]:
    if not one.turned_by:
        return NONE, ""
    first = one.turned_by[0]
    before = f"was {first.nominal}" if not first.sizes else words.scaled_sizes(first.sizes)
    return f"{called(first.input)} {first.value}", f"{before}; chance {percent_words(first.chance)}"


def _mass(one: Candidate) -> tuple[str, str]:
    return (NONE, "") if one.mass is None else (f"{one.mass:.3g} kg", "")


def _flips(one: Candidate) -> tuple[str, str]:
    said = [flip_words(flip) for flip in one.flips]
    return (said[0], "; ".join(said[1:])) if said else (NONE, "")


def flip_words(flip: VerdictFlip) -> str:
    """Where the verdict changes, in a few words."""
    named = "all loads" if flip.varied == "all loads" else "the racking alone"
    if flip.factor is None:
        return f"at no size of {named}, 0 to {MAX_RACKING:g} ×"
    sizes = f": {words.scaled_sizes(flip.sizes)}" if flip.sizes else ""
    return f"{words.number(flip.factor, 2)} × {named}{sizes}"


def _action(action: NextAction, decision: Decision) -> str:
    if isinstance(action, RaiseSizes):
        return f"{'. '.join(_sizes(action))}."
    if isinstance(action, MoveStay):
        return _stay(action)
    if isinstance(action, DescribeParts):
        return f"Describe the parts of {' and '.join(map(words.name_of, action.joints))}: of a stiffness nothing can be checked."
    if isinstance(action, GiveData):
        lacking = dict.fromkeys(f"{check_words(one)} ({one.reason})" for one in action.lacking)
        return f"{words.name_of(action.joint)}: give the data for what is not checked: {'; '.join(lacking)}."
    return _measure(action, decision)


def _sizes(action: RaiseSizes) -> Iterator[str]:
    if action.sizes:
        yield "; then ".join(map(_size, action.sizes))
    if action.still is not None:
        what, margin = check_words(action.still), margin_words(action.still.margin)
        yield (
            f"Margin {margin} remains: {what}; no stock size is enough"
            if action.sizes
            else f"no stock size is enough for {what}, margin {margin}"
        )


def _size(one: SizeRaised) -> str:
    before, after = margin_words(one.before), margin_words(one.after)
    still = "" if one.adequate else ", still inadequate"
    return f"{one.variable} {one.size}: {one.check}, margin {before} → {after}{still}"


def _stay(action: MoveStay) -> str:
    way = "forward" if action.forward > 0 else "aft"
    torques = ", ".join(
        f"{words.name_of(one.joint)} {words.change(one.torque_before, one.torque_after, 'N·m')}"
        for one in action.joints
    )
    margins = [
        f"{words.name_of(one.joint)} {margin_words(one.margin_before)} → {margin_words(one.margin_after)}"
        for one in action.joints
        if margin_words(one.margin_before) != margin_words(one.margin_after)
    ]
    lowest = f"Lowest margins: {', '.join(margins)}." if margins else "Lowest margins unchanged."
    return (
        f"Move the stay's tang {words.millimetres(action.forward)} {way}. Torque of the stay in {words.name_of(action.case)}: "
        f"{words.quantity(action.stay_torque, 'N·m')} → 0; torque of the joint in that case: {torques}. {lowest}"
    )


def _measure(action: MeasureRacking, decision: Decision) -> str:
    at = [
        f"{words.name_of(one.joint)} becomes {'adequate' if one.verdict == 'inadequate' else 'inadequate'} at "
        f"{words.number(flip.factor, 2)} times that size{f': {words.scaled_sizes(flip.sizes)}' if flip.sizes else ''}."
        for one in decision.candidates
        for flip in one.flips
        if flip.varied == "racking" and flip.factor is not None
    ]
    cases = ", ".join(map(words.name_of, action.cases))
    return " ".join([f"Measure the racking: its size was entered or estimated ({cases}).", *at])
