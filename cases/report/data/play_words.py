"""The play of the joints' pins in sentences, for results and page alike."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from cases.analyses.joint_play import JointPlay
from cases.report.data import words


def play_sentences(plays: Sequence[JointPlay]) -> Iterator[str]:
    """Each joint: its free angle, in how many rows it opens, and the worst of them."""
    for one in plays:
        in_lugs, in_eyes = (f"{1000 * size:.2g} mm" for size in (one.play.in_lugs, one.play.in_eyes))
        said = (
            f"{words.name_of(one.joint)}: the pin's play, {in_lugs} in the lugs and {in_eyes} in the eyes, lets the beam turn "
            f"freely by {words.quantity(one.angle, 'rad')}."
        )
        opened = one.opened
        if not opened:
            yield f"{said} It is closed in all {len(one.names)} cases and combinations."
            continue
        rows = {row for row, _ in opened}
        row, side = opened[0]
        said += (
            f" It opens in {len(rows)} of {len(one.names)} cases and combinations, most in {one.words_of(row, side)}: "
            f"torque {words.quantity(float(one.couple[row, side]), 'N·m')}, where it stays closed up to "
            f"{words.quantity(float(one.opening[row, side]), 'N·m')}"
        )
        if one.with_play is not None:
            said += f"; with the play counted the torque is {words.quantity(float(one.with_play[row, side]), 'N·m')}"
        yield f"{said}. A pin with open play rattles and wears."


def open_play_sentences(plays: Sequence[JointPlay]) -> Iterator[str]:
    """Those of the joints that open in any case or combination."""
    yield from play_sentences([one for one in plays if one.opened])
