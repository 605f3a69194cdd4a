"""The boat's own outline in the views of a load path: hulls from ahead, above and the side, crossbeam, longeron and joints."""

from __future__ import annotations

from typing import Literal

import numpy as np

from femcore.base.arrays import FloatArray
from femcore.plotting import style
from femcore.plotting.force_flow import Panel
from femcore.plotting.projection import View
from models.response.front_end import CENTRE, CROSSBEAM, LONGERON, PROD, FrontEnd

TEXT = 7.5
ROOM, EDGE = 56.0, 20.0
"""Points left free around where forces act, and around all that is drawn."""


def panel_height(front: FrontEnd, per_metre: float) -> tuple[float, float]:
    """Lowest and highest of a view from ahead or from the side, m, with room for arrows."""
    heights = np.concatenate([front.frame.nodes[:, 2], profile_outline(front)[:, 1]])
    feet = np.array([front.boat.bows.height, front.position(CENTRE)[2]])
    lowest = float(min(heights.min() - EDGE / per_metre, feet.min() - ROOM / per_metre))
    return lowest, float(max(heights.max() + EDGE / per_metre, feet.max() + ROOM / per_metre))


def hull_section(front: FrontEnd) -> FloatArray:
    """(k, 2), m: the hull's section at the crossbeam, y from its own centreline and z; without an outline a box."""
    sections = front.boat.bows.sections
    if sections is None:
        side = hull_half_breadths(front)[1][0]
        low, high = profile_outline(front)[[0, -1], 1]
        return np.array([[-side, low], [side, low], [side, high], [-side, high]])
    nearest = int(np.abs(sections.stiffness.x - front.boat.crossbeam.station).argmin())
    return np.asarray(sections.stiffness.solved[nearest].section.points)


def hull_half_breadths(front: FrontEnd) -> tuple[FloatArray, FloatArray]:
    """m: places along the bow and its half-breadth there; without an outline that of its inboard side, all along."""
    bows = front.boat.bows
    if bows.sections is None:
        return np.array([0.0, bows.length]), np.full(2, max(bows.inboard, 0.02 * bows.spacing))
    solved = bows.sections.stiffness.solved
    return bows.sections.stiffness.x, np.array([np.abs(one.section.points[:, 0]).max() for one in solved])


def profile_outline(front: FrontEnd) -> FloatArray:
    """(k, 2), m: the bow from its side, x and z; without an outline a slim bar along its axis."""
    bows = front.boat.bows
    if bows.sections is None:
        half = 0.03 * bows.spacing
        keel, deck = bows.height - half, bows.height + half
        return np.array([[0, keel], [bows.length, keel], [bows.length, deck], [0, deck]])
    x, solved = bows.sections.stiffness.x, bows.sections.stiffness.solved
    low, high = (np.array([pick(one.section.points[:, 1]) for one in solved]) for pick in (np.min, np.max))
    return np.column_stack([np.r_[x, x[::-1]], np.r_[low, high[::-1]]])


def run(front: FrontEnd, member: str) -> FloatArray:
    """(k, 3), m: a member's nodes in turn."""
    nodes = front.frame.ends[front.frame.members[member].elements]
    return np.asarray(front.frame.nodes[np.r_[nodes[:, 0], nodes[-1:, 1]]])


def closed(panel: Panel, points: FloatArray) -> None:
    """The outline of a hull."""
    panel.axes.fill(
        *points.T, facecolor=style.GRID_COLOUR, edgecolor=style.MUTED_COLOUR, alpha=0.35, lw=1.0, zorder=1
    )


def label(
    panel: Panel, at: tuple[float, float], side: str, aligned: Literal["left", "center", "right"] = "center"
) -> None:
    """Which hull it is, below and beside a point of it."""
    aside = {"left": 3, "center": 0, "right": -3}[aligned]
    panel.axes.annotate(
        side, at, (aside, 0), textcoords="offset points", ha=aligned, va="top",
        fontsize=TEXT, color=style.MUTED_COLOUR, style="italic",
    )  # fmt: skip


def beam(panel: Panel, front: FrontEnd, view: View) -> None:
    """Crossbeam, longeron and prod, as long as they are, and the joints."""
    for member, width in ((CROSSBEAM, 4.0), (LONGERON, 3.0), (PROD, 3.0)):
        if member in front.frame.members:
            points = run(front, member)
            if member == CROSSBEAM:
                points = np.array([front.joint_position(1), front.joint_position(0)])
            panel.axes.plot(
                *view.project(points).T, color=style.GRID_COLOUR, lw=width, solid_capstyle="butt", zorder=2
            )
    joints = np.array([front.joint_position(side) for side in (0, 1)])
    panel.axes.plot(*view.project(joints).T, "o", color=style.TEXT_COLOUR, ms=3.5, zorder=6)
