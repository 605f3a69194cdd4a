"""Play of the joints' pins: in which cases and combinations it is closed, and what a joint attracts beyond.

A joint with play is solved as closed, by its stiffness; the second-order switch does not treat the play as a gap. Where a row
opens it, the torque with play follows in closed form from the joint's and the boat's stiffness (`models.strength.lugs.play`),
the rest of the row's loads as they are.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated

import numpy as np
from pydantic import Field

from cases.analyses.case_rows import CaseRows
from cases.analyses.joint_results import JointResult
from femcore.base.arrays import BoolArray, FloatArray
from femcore.base.numbers import finite
from femcore.base.written import Unwritten, written
from models.response.front_end import SIDES
from models.strength.lugs.play import Play


@dataclass(frozen=True, slots=True)
class PlayAtHull:
    """A pin's play in one case or combination, at one hull."""

    torque: Annotated[
        float,
        Field(description="N·m, without sign, that turns the beam's end on its pin, the joint as closed"),
    ]
    opens_at: Annotated[float, Field(description="N·m, from which the play is open")]
    closed: bool
    with_play: Annotated[
        float | None,
        Field(description="N·m, what is carried with the play in it; null where not known"),
    ]


@dataclass(frozen=True, eq=False)
class JointPlay:
    """The play of a joint's pin over its cases and combinations, `names` (r,); every list is port, starboard.

    play            : of the pin in lugs and eyes
    couple, opening : (r, 2), N·m, port then starboard: what turns the beam's end on its pin, and at what it opens
    with_play       : (r, 2), N·m, that couple with the play in it; None where the boat's stiffness about the joint is not known
    """

    joint: Annotated[str, Field(description="name of the joint")]
    names: Unwritten[tuple[str, ...]]
    play: Unwritten[Play]
    couple: Unwritten[FloatArray]
    opening: Unwritten[FloatArray]
    closed: Unwritten[BoolArray]
    with_play: Unwritten[FloatArray | None]

    @written("m, hole less pin, of lugs and eyes")
    def clearance(self) -> dict[str, float]:
        """Of both."""
        return {"lugs": self.play.in_lugs, "eyes": self.play.in_eyes}

    @written("case or combination → port, starboard")
    def rows(self) -> dict[str, list[PlayAtHull]]:
        """By name."""
        carried = np.full_like(self.couple, np.nan) if self.with_play is None else self.with_play
        states = zip(
            *(of.ravel().tolist() for of in (self.couple, self.opening, self.closed, carried)), strict=True
        )
        listed = [
            PlayAtHull(torque, opens_at, closed, finite(with_play))
            for torque, opens_at, closed, with_play in states
        ]
        return {name: listed[2 * row : 2 * row + 2] for row, name in enumerate(self.names)}

    @written("rad, by which the beam's end turns free")
    def angle(self) -> float:
        """rad, by which the beam's end turns free."""
        return self.play.angle

    @property
    def opened(self) -> list[tuple[int, int]]:
        """Row and side of all that open it, the one furthest beyond its opening first."""
        found = np.argwhere(~self.closed)
        beyond = (self.couple - self.opening)[~self.closed]
        return [(int(found[i, 0]), int(found[i, 1])) for i in np.argsort(-beyond, kind="stable")]

    def words_of(self, row: int, side: int) -> str:
        """Row and side, in words."""
        return f"‘{self.names[row]}’, {SIDES[side]}"


def joint_plays(results: Sequence[JointResult], rows: Sequence[CaseRows]) -> tuple[JointPlay, ...]:
    """Of every joint whose pin has play."""
    found = (_joint_play(one, of) for one, of in zip(results, rows, strict=True))
    return tuple(one for one in found if one is not None)


def _joint_play(result: JointResult, rows: CaseRows) -> JointPlay | None:
    plays = result.joint.plays(rows.values.joint_load)
    if plays is None:
        return None
    play, sides = plays
    curve = result.curves.get("pitch")
    with_play = None
    if curve is not None:
        k = curve.joint_stiffness
        with_play = np.stack([side.couple_with_play(play.angle, k, curve.k_half) for side in sides], axis=1)
    couple, opening, closed = (
        np.stack([getattr(side, key) for side in sides], axis=1) for key in ("couple", "opening", "closed")
    )
    return JointPlay(result.joint.name, rows.names, play, couple, opening, closed, with_play)
