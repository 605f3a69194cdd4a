"""How the joints look in a comparison: the candidates in colour, drawn last; all others grey."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from cases.analyses.candidates import candidates
from cases.analyses.study import Study
from femcore.base import numbers
from femcore.plotting import style

if TYPE_CHECKING:
    from matplotlib.figure import Figure

MOST_COLOURED = 4
"""Candidates in colour; more could not be distinguished at a glance."""


@dataclass(frozen=True, slots=True)
class JointLook:
    """One joint of a comparison: its short name, its line and its mark."""

    name: str
    candidate: bool
    colour: str
    dashes: Any
    marker: str

    @property
    def line(self) -> dict[str, Any]:
        """Of `Axes.plot`: candidates thick and over the others."""
        width, over = (2.0, 3) if self.candidate else (0.9, 2)
        return {"color": self.colour, "linestyle": self.dashes, "linewidth": width, "zorder": over}

    @property
    def text_colour(self) -> str:
        """Of its name beside a mark."""
        return style.TEXT_COLOUR if self.candidate else style.MUTED_COLOUR


def joint_looks(study: Study) -> list[JointLook]:
    """Of the joints of a study, in its order."""
    names = numbers.unique_short_names([joint.joint.name for joint in study.joints], 24)
    chosen = [joint.name for joint in candidates(study.file)]
    numbered = [joint.joint.name for joint in study.joints if joint.joint.name in chosen][:MOST_COLOURED]
    looks, others = [], 0
    for joint, name in zip(study.joints, names, strict=True):
        if joint.joint.name in numbered:
            number = numbered.index(joint.joint.name)
            colour, dashes = style.SERIES_COLOURS[number], style.DASHES[0 if number == 0 else number]
            looks.append(
                JointLook(name, candidate=True, colour=colour, dashes=dashes, marker=style.marker(number))
            )
        else:
            mark = style.MARKERS[(MOST_COLOURED + others) % len(style.MARKERS)]
            looks.append(JointLook(name, candidate=False, colour=style.MUTED_COLOUR, dashes="-", marker=mark))
            others += 1
    return looks


def candidates_first(looks: list[JointLook]) -> list[int]:
    """Numbers of the joints, those of the candidates before the others."""
    return sorted(range(len(looks)), key=lambda number: not looks[number].candidate)


def colour_key(looks: list[JointLook]) -> str:
    """What the colours are, for a caption."""
    named = [f"‘{look.name}’" for look in looks if look.candidate]
    if len(named) == len(looks):
        return ""
    return f"In colour the candidates ({', '.join(named)}); in grey the other joints, to compare with."


def key_of_looks(figure: Figure, looks: Sequence[JointLook]) -> None:
    """Above the panels: each candidate by name, and the others together."""
    from matplotlib.lines import Line2D  # noqa: PLC0415  (start-up time)

    named = [look for look in looks if look.candidate]
    handles = [Line2D([], [], label=look.name, **look.line) for look in named]
    others = [look for look in looks if not look.candidate]
    handles += (
        [Line2D([], [], label=others[0].name if len(others) == 1 else "other joints", **others[0].line)]
        if others
        else []
    )
    figure.legend(handles=handles, loc="outside upper left", ncols=min(len(handles), 5), handlelength=3.2)
