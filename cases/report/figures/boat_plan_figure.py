"""The front end with its dimensions: from above and from ahead, hulls by their outlines, tubes as wide as they are; in m."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from cases.analyses.study import Study
from cases.report.data import words
from cases.report.figures.boat_shapes import draw_shapes, tube_sizes
from femcore.plotting import style
from femcore.plotting.dimensions import dimension
from femcore.plotting.drawing import Drawing
from femcore.plotting.labels import place_labels
from femcore.plotting.projection import View
from models.response.front_end import CENTRE, CROSSBEAM, SIDES, STRIKER, STRIKER_TOP, FrontEnd

if TYPE_CHECKING:
    from matplotlib.axes import Axes

ABOVE, AHEAD = View(0.0, 90.0), View(0.0, 0.0)
"""Port on the right in both; from above forward is down the page."""
EDGE, GAP, TITLE, WIDTH = 0.45, 0.2, 0.25, 4.6
"""Inches: around a view for its dimensions; between the views; above them; of the picture, which stands beside another."""
LABEL = 7.5
"""Points."""


def plan_picture(study: Study) -> Drawing:
    """Of the first joint's front end; all have the same geometry."""
    front = study.joints[0].front
    boat, sizes = front.boat, tube_sizes(front)
    nodes = front.frame.nodes
    half = boat.bows.spacing / 2 + _half_breadth(front)
    length, beam = boat.bows.length, boat.crossbeam
    per_m = (WIDTH - 2 * EDGE) / (2 * half)
    low, high = _heights(front)
    forward = float(max(nodes[:, 0].max(), length))
    tall = [per_m * forward + 1.9 * EDGE, per_m * (high - low) + 2.2 * EDGE]
    total = sum(tall) + 2 * TITLE + GAP
    with style.drawing_style():
        figure = style.new_figure(WIDTH, total, fixed_layout=True)
        plan = figure.add_axes((0, 1 - (TITLE + tall[0]) / total, 1, tall[0] / total))
        off = 0.5 * EDGE / per_m
        _view(plan, front, ABOVE, (-forward - 1.2 * EDGE / per_m, 0.7 * EDGE / per_m), per_m)
        plan.set_title("From above, bows down the page; m", y=1.0)
        port, joint = boat.bows.spacing / 2, front.joint_position(0)
        dimension(
            plan, (-port, -length), (port, -length), (0, -(forward - length) - 1.6 * off), f"{2 * port:.3g}"
        )
        dimension(plan, (-port, 0), (-port, -length), (-half + port - 1.2 * off, 0), f"{length:.3g}")
        dimension(plan, (port, 0), (port, -beam.station), (half - port + 1.2 * off, 0), f"{beam.station:.3g}")
        ahead = figure.add_axes((0, 0, 1, tall[1] / total))
        _view(ahead, front, AHEAD, (low - 1.3 * EDGE / per_m, high + 0.9 * EDGE / per_m), per_m)
        ahead.set_title("From ahead; m", y=1.0)
        across = f"{2 * joint[1]:.3g}"
        dimension(ahead, (-joint[1], joint[2]), (joint[1], joint[2]), (0, low - joint[2] - off), across)
        if STRIKER in front.frame.members:
            top = nodes[front.frame.node_index[STRIKER_TOP], 2]
            dimension(ahead, (0, joint[2]), (0, top), (0.12 * half, 0), f"{abs(top - joint[2]):.3g}")
        stay = front.position("stay")
        ahead.plot(stay[1], stay[2], "o", color=style.SERIES_COLOURS[1], ms=4.5, zorder=7)
        beam_size = f" of {1e3 * sizes[CROSSBEAM]:.3g} mm" if CROSSBEAM in sizes else ""
        leader = {"arrowstyle": "-", "color": style.MUTED_COLOUR, "lw": 0.5, "shrinkA": 1, "shrinkB": 2}
        ahead.annotate(
            "stay's attachment", tuple(stay[1:]), (-22, -20), textcoords="offset points", fontsize=LABEL, ha="right",
            va="center", arrowprops=leader, zorder=6,
        )  # fmt: skip
        place_labels(ahead, [[0.62 * joint[1], joint[2]]], [f"crossbeam{beam_size}"], size=LABEL)
        moved = stay - front.position(CENTRE)
        caption = (
            f"The front end as modelled, in m. Hulls {boat.bows.spacing:.3g} m between their axes, bows {length:.3g} m long, "
            f"crossbeam{beam_size} {beam.station:.3g} m ahead of the main bulkhead, {2 * joint[1]:.3g} m from joint to joint. "
            f"The stay is attached {words.millimetres(abs(moved[0]))} {'ahead of' if moved[0] >= 0 else 'behind'} and "
            f"{words.millimetres(abs(moved[2]))} {'above' if moved[2] >= 0 else 'below'} the beam's axis."
        )
        return Drawing(figure, "boat-plan", "The boat as modelled, with dimensions", caption)


def _half_breadth(front: FrontEnd) -> float:
    """m, of a hull at its widest."""
    sections = front.boat.bows.sections
    if sections is None:
        return max(front.boat.bows.inboard, 0.02 * front.boat.bows.spacing)
    return max(float(np.abs(one.section.points[:, 0]).max()) for one in sections.stiffness.solved)


def _heights(front: FrontEnd) -> tuple[float, float]:
    """m: lowest and highest of frame and hulls."""
    sections = front.boat.bows.sections
    heights = [front.frame.nodes[:, 2]]
    heights += [] if sections is None else [one.section.points[:, 1] for one in sections.stiffness.solved]
    every = np.concatenate(heights)
    return float(every.min()), float(every.max())


def _view(axes: Axes, front: FrontEnd, view: View, upright: tuple[float, float], per_m: float) -> None:
    """Shapes and the lines of the frame ahead of the bulkhead."""
    draw_shapes(axes, front, view)
    for name, member in front.frame.members.items():
        nodes = front.frame.ends[member.elements]
        run = front.frame.nodes[np.r_[nodes[:, 0], nodes[-1:, 1]]]
        if run[:, 0].min() >= 0 and run[:, 0].max() > 0:
            axes.plot(*view.project(run).T, color=_colour(name), lw=1.1, zorder=3)
    cables = front.frame.cables
    ropes = (front.frame.nodes[cables.nodes] + cables.arms)[cables.segments]
    for rope in view.project(ropes):
        axes.plot(*rope.T, color=style.SERIES_COLOURS[5], lw=0.9, zorder=3)
    joints = view.project(np.array([front.joint_position(side) for side in range(len(SIDES))]))
    axes.plot(*joints.T, "o", color=style.TEXT_COLOUR, ms=4, ls="none", zorder=5)
    wide = WIDTH / per_m / 2
    axes.set(xlim=(-wide, wide), ylim=upright)
    axes.axis("off")


def _colour(member: str) -> str:
    """Of a member's line: hulls muted, since their outline is drawn."""
    return style.MUTED_COLOUR if member.endswith("bow") else style.SERIES_COLOURS[0]
