"""How sure the answer is, in sentences."""

from __future__ import annotations

from collections.abc import Iterator

from cases.analyses.uncertainty.uncertainty import JointUncertainty, ScatteredValue, Uncertainty
from cases.report.data import words
from cases.report.data.statements import margin_words
from femcore.base.numbers import plain

MIN_WORTH = 0.005
"""Of the margin's deviation: to know an input that takes away less is worth nothing."""
HOW_READ = (
    "P(margin < 0) is the chance that a margin is below zero, safety factors in; P(load > capacity) that a load is beyond what "
    "the part can carry, no factor in. Index β and causes are of the single check that is likeliest below zero; counts take all "
    "checks together, and so are higher. Strengths scatter about the values entered; those of metals are minima, so that chances "
    "are on the safe side. All of it is no better than the scatter it starts from, most of which is judged."
)


def called(name: str) -> str:
    """An input for reading: the key of a file as it is, a kind in words, "stay tension"."""
    key, bracket, part = name.partition(" (")
    return f"{key if '.' in key else key.replace('_', ' ')}{bracket}{part}"


def percent_words(share: float) -> str:
    """A chance in a sentence, in whole per cent where it is one or more."""
    if share < 0.005:
        return "less than 1 %"
    return "more than 99 %" if share > 0.995 else f"{100 * share:.0f} %"


def joint_sentences(one: JointUncertainty) -> Iterator[str]:
    """Of one joint: its loads, its margin, its chances, and what alone would change its verdict."""
    of_parts = "its own parts" if one.own is not None else "the parts beside it"
    low, high = margin_words(one.margin.low), margin_words(one.margin.high)
    yield (
        f"‘{plain(one.joint)}’, 90 % range: torque {torque_range(one.torque)}, vertical bending "
        f"{torque_range(one.bending)}, governing margin of {of_parts} {low} … {high}; as entered "
        f"{words.quantity(one.torque.nominal, 'N·m')}, {words.quantity(one.bending.nominal, 'N·m')} and "
        f"{margin_words(one.margin.nominal)}."
    )
    for whole, name in ((one.own, "one of its own parts"), (one.beside, "a part beside it")):
        if whole is not None:
            yield (
                f"{percent_words(whole.counted.value)}: the chance that a margin of {name} is below zero "
                f"({percent_words(whole.counted.low)} to {percent_words(whole.counted.high)} with 95 % confidence); "
                f"{percent_words(whole.failure.value)} that a load is beyond capacity without safety factor."
            )
    yield from cause_sentences(one)


def cause_sentences(one: JointUncertainty) -> Iterator[str]:
    """Of one joint: what its margin scatters by, and what alone would change its verdict."""
    name = f"‘{plain(one.joint)}’"
    worth = [effect for effect in one.effects if 1 - effect.remaining >= MIN_WORTH]
    if worth:
        listed = ", ".join(
            f"{called(effect.input)} {percent_words(1 - effect.remaining)}" for effect in worth[:3]
        )
        yield f"Scatter of the margin of {name} that goes away with an input known exactly: {listed}."
    for flip in one.flips[:3]:
        before = words.scaled_sizes(flip.sizes) or f"was {flip.nominal}"
        yield (
            f"{name} becomes {flip.becomes} with {called(flip.input)} alone at {flip.value} ({before}; chance "
            f"{percent_words(flip.chance)})."
        )
    if not one.flips:
        yield f"Within its 90 % range no single input changes the verdict on {name}."


def torque_range(value: ScatteredValue) -> str:
    """90 % range, N·m."""
    low, high = words.quantity(value.low, "N·m"), words.quantity(value.high, "N·m")
    same = low.split(" ", 1)[1] == high.split(" ", 1)[1]
    return f"{low.split(' ', 1)[0] if same else low} … {high}"


def preference_sentences(found: Uncertainty) -> Iterator[str]:
    """Of each pair of joints, the likelier one."""
    for one in found.preferences:
        if one.chance.value > 0.5:
            yield (
                f"{percent_words(one.chance.value)}: the chance that ‘{plain(one.joint)}’ has the larger governing margin than "
                f"‘{plain(one.other)}’, under the same loads and platform."
            )


def left_out_sentences(found: Uncertainty) -> Iterator[str]:
    """Inputs that are taken as exact, joints without chances."""
    yield from (f"{reason[:1].upper()}{reason[1:]}." for reason in found.left_out)


__all__ = [
    "HOW_READ",
    "called",
    "cause_sentences",
    "joint_sentences",
    "left_out_sentences",
    "percent_words",
    "preference_sentences",
    "torque_range",
]
