"""Forces and moments drawn to scale in one figure of several views: arrows as wide as the force, rings as thick as the moment.

All lengths that are drawn are in points, so that two views of different scale show a force alike. A width is proportional to the
force or the moment, and never less than what can be read.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np

from femcore.base import numbers
from femcore.base.arrays import FloatArray
from femcore.plotting import style
from femcore.plotting.labels import place_labels

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

MAX_ARROW_WIDTH, MAX_RING_THICKNESS, MIN_LINE_WIDTH, MIN_RING_THICKNESS = 10.0, 4.5, 0.5, 1.2
"""Points: of the largest force, of the largest moment, and what no arrow or rod and no ring is thinner than."""
MIN_ARROW_LENGTH, MAX_ARROW_LENGTH, ROW_ARROW_LENGTH = 22.0, 40.0, 20.0
"""Points: how long the arrows of the least and the largest force are, and those of a row."""
RING_RADIUS, RING_EDGE_WIDTH = 12.0, 6.0
"""Points: radius of a ring; width of one drawn edge-on."""
RING_CLEARANCE = RING_RADIUS + RING_EDGE_WIDTH + 5.0
"""Points: distance at which a ring drawn edge-on is clear of a ring about the line of sight."""
LABEL_SHIFTS = (0, 1, -1, 2, -2, 3, -3)


@dataclass(frozen=True, slots=True)
class Scale:
    """The largest force and moment that are drawn, N and N·m; 0 where there is none."""

    force: float
    moment: float

    def width(self, force: float) -> float:
        """Points, of an arrow, a rod or a beam."""
        return max(MAX_ARROW_WIDTH * abs(force) / self.force if self.force else 0.0, MIN_LINE_WIDTH)

    def thickness(self, moment: float) -> float:
        """Points, of a ring."""
        return max(MAX_RING_THICKNESS * abs(moment) / self.moment if self.moment else 0.0, MIN_RING_THICKNESS)

    def bars(self) -> list[tuple[float, str]]:
        """Widths in points and what they represent: a force and a moment of round numbers."""
        found = []
        for most, unit, width in (
            (self.force, "N", self.width),
            (self.moment, "N·m", self.thickness),
        ):
            if most:
                round_number = numbers.round_down_125(most)
                by, named = numbers.unit_prefix(round_number, unit)
                found.append((width(round_number), f"{round_number / by:g} {named}"))
        return found


@dataclass(slots=True)
class Panel:
    """One view, with all that is drawn and to be written in it.

    per_metre : points
    faded     : colours too pale for text; their labels are in the text colour
    """

    axes: Axes
    per_metre: float
    scale: Scale
    faded: tuple[str, ...] = ()
    _notes: list[tuple[FloatArray, str, str]] = field(default_factory=list)
    _taken: list[tuple[str, FloatArray]] = field(default_factory=list)

    def arrow(
        self,
        at: FloatArray,
        way: tuple[float, float],
        force: float,
        colour: str,
        text: str = "",
        *,
        row: bool = False,
    ) -> None:
        """An arrow from `at` (2,), m, along `way` times the force's sign; one of a row stays where it is and is short."""
        from matplotlib.patches import FancyArrow  # noqa: PLC0415  (start-up time)

        width = self.scale.width(force)
        share = abs(force) / self.scale.force if self.scale.force else 0.0
        length = (
            ROW_ARROW_LENGTH if row else MIN_ARROW_LENGTH + (MAX_ARROW_LENGTH - MIN_ARROW_LENGTH) * share
        ) + 0.4 * width
        head = max(1.8 * width, 4.5)
        span = np.array(way) * np.sign(force) * length / self.per_metre
        across = np.array([-way[1], way[0]])
        foot = at if row else self._free(f"arrow {way}", at, at + span, across * (head + 1.5), head)
        arrow = FancyArrow(
            *foot, *span, width=width / self.per_metre, head_width=head / self.per_metre,
            head_length=0.75 * head / self.per_metre, length_includes_head=True,
            facecolor=colour, edgecolor="none", alpha=0.9, zorder=4,
        )  # fmt: skip
        self.axes.add_artist(arrow)  # as add_patch, without its search for the limits, which a panel has
        if text:
            self.note(foot + span, text, self._line_colour(colour))

    def apart(
        self, at: FloatArray, forces: FloatArray, way: tuple[float, float]
    ) -> tuple[FloatArray, FloatArray]:
        """A row of parallel arrows as it is, or as one in its middle where they would cover one another."""
        if len(forces) < 2:
            return at, forces
        across = np.sort(at @ np.array([-way[1], way[0]])) * self.per_metre
        wide = 1.8 * self.scale.width(float(np.abs(forces).max())) + 1
        if np.diff(across).min() >= wide:
            return at, forces
        size = np.abs(forces)
        return (size @ at / size.sum())[None], forces.sum(keepdims=True)

    def ring(self, at: FloatArray, moment: float, colour: str, text: str) -> None:
        """About the line of sight: two thirds of a circle round `at` (2,), m, anticlockwise where positive."""
        turn = np.radians(np.linspace(-60.0, 200.0, 48))[:: 1 if moment > 0 else -1]
        size = RING_RADIUS / self.per_metre
        middle = self._free("ring", at - size, at + size, np.array([2 * RING_RADIUS + 8, 0.0]))
        points = middle + size + size * np.column_stack([np.cos(turn), np.sin(turn)])
        self._round(points, moment, colour, text)

    def torque(self, at: FloatArray, moment: float, colour: str, text: str, *, upright: bool = False) -> None:
        """About an axis across the view (or up it): a ring round the axis drawn edge-on, its near half full.

        The near half goes up the view (across an `upright` axis: to the right) where the moment is negative.
        """
        size = (
            np.array([RING_RADIUS, RING_EDGE_WIDTH] if upright else [RING_EDGE_WIDTH, RING_RADIUS])
            / self.per_metre
        )
        step = np.array([0.0, 2 * RING_EDGE_WIDTH + 6] if upright else [2 * RING_EDGE_WIDTH + 6, 0.0])
        middle = self._free("ring", at - size, at + size, step) + size
        turn = np.radians(np.linspace(80.0, -80.0, 36))[:: 1 if moment > 0 else -1]
        near = np.column_stack([np.cos(turn), np.sin(turn)])
        near = near[:, ::-1] * [1, -1] if upright else near
        back = middle + size * near * ([1, -1] if upright else [-1, 1])
        self.axes.plot(*back.T, color=colour, lw=1.0, ls=(0, (2, 1.5)), zorder=1.5)
        self._round(middle + size * near, moment, colour, text)

    def _round(self, points: FloatArray, moment: float, colour: str, text: str) -> None:
        from matplotlib.patches import FancyArrowPatch  # noqa: PLC0415  (start-up time)
        from matplotlib.path import Path  # noqa: PLC0415  (start-up time)

        thick = self.scale.thickness(moment)
        look: dict[str, Any] = {
            "arrowstyle": "-|>",
            "mutation_scale": 7 + 1.8 * thick,
            "shrinkA": 0,
            "shrinkB": 0,
        }
        look |= {"lw": thick, "color": colour, "capstyle": "butt"}
        self.axes.add_artist(FancyArrowPatch(path=Path(points), zorder=5, **look))
        self.note(points[len(points) // 2], text, self._line_colour(colour))

    def band(self, points: FloatArray, force: float, colour: str, text: str = "", **look: Any) -> None:  # noqa: ANN401
        """A rod or beam along points (k, 2), m, as wide as the force in it; dotted where it has none."""
        style: dict[str, Any] = {
            "alpha": 0.75,
            "zorder": 2.5,
            "solid_capstyle": "butt",
            "ls": "-" if force else ":",
        }
        self.axes.plot(*points.T, color=colour, lw=self.scale.width(force), **(style | look))
        if text:
            self.note(points.mean(axis=0), text, self._line_colour(colour))

    def note(self, at: FloatArray, text: str, colour: str = style.TEXT_COLOUR) -> None:
        """A label for a point (2,), m; `draw_labels` places it."""
        self._notes.append((np.asarray(at, dtype=float), text, colour))

    def draw_labels(self, size: float) -> None:
        """Draw all labels, over no other label and no ring, and beside what is drawn where there is room."""
        if not self._notes:
            return
        at, texts, colours = zip(*self._notes, strict=True)
        place_labels(self.axes, np.array(at), texts, size=size, colours=colours)

    def _line_colour(self, colour: str) -> str:
        return style.TEXT_COLOUR if colour in self.faded else colour

    def _free(
        self, kind: str, first: FloatArray, last: FloatArray, step: FloatArray, broad: float = 0.0
    ) -> FloatArray:
        """`first` moved by as many `step`s (points) as keep the box from first to last clear of others of its kind."""
        low, high = (np.minimum(first, last), np.maximum(first, last))
        across = np.abs(step) / np.linalg.norm(step) * broad / 2 / self.per_metre
        for number in LABEL_SHIFTS:
            move = number * step / self.per_metre
            box = np.array([low - across + move, high + across + move])
            if not any(kind == other and _overlap(box, placed) for other, placed in self._taken):
                break
        self._taken.append((kind, box))
        return np.asarray(first + move)


def _overlap(one: FloatArray, other: FloatArray) -> bool:
    return bool(np.all(one[0] < other[1] - 1e-9) and np.all(other[0] < one[1] - 1e-9))


def panel(
    figure: Figure,
    box: tuple[float, float, float, float],
    view: tuple[float, float, float, float],
    scale: Scale,
    faded: tuple[str, ...] = (),
) -> Panel:
    """A view of its own scale in a box (left, bottom, width, height), inches, that shows `view` (left, right, bottom, top), m."""
    wide, high = figure.get_size_inches()
    axes = figure.add_axes((box[0] / wide, box[1] / high, box[2] / wide, box[3] / high))
    axes.set(xlim=view[:2], ylim=view[2:])
    axes.axis("off")
    return Panel(axes, 72.0 * box[2] / (view[1] - view[0]), scale, faded)


def legend(figure: Figure, colours: Sequence[tuple[str, str]], scale: Scale, at: tuple[float, float]) -> None:
    """What the colours are, and how wide a force and how thick a moment of round numbers is."""
    from matplotlib.lines import Line2D  # noqa: PLC0415  (start-up time)
    from matplotlib.patches import Patch  # noqa: PLC0415  (start-up time)

    handles: list[Any] = [Patch(color=colour, label=text) for colour, text in colours]
    handles += [
        Line2D(
            [],
            [],
            color=style.TEXT_COLOUR,
            lw=width,
            label=f"{what} of {text}: this wide",
            solid_capstyle="butt",
        )
        for what, (width, text) in zip(("force", "moment"), scale.bars(), strict=False)
    ]
    figure.legend(
        handles=handles,
        loc="upper left",
        bbox_to_anchor=at,
        ncols=3,
        borderaxespad=0.2,
        columnspacing=1.4,
        fontsize=8,
    )
