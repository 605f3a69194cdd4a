"""The boat's own shapes: hulls by their outlines at the stations, beams by the size of their tubes, as far as they are known."""

from __future__ import annotations

from contextlib import suppress
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
from scipy.spatial import ConvexHull, QhullError

from femcore.base.arrays import FloatArray
from femcore.plotting import style
from femcore.plotting.projection import View
from models.response.front_end import CENTRE, CROSSBEAM, LONGERON, PROD, STRIKER, STRIKER_TOP, FrontEnd

if TYPE_CHECKING:
    from matplotlib.axes import Axes

POINTS = 40
"""Of each outline as drawn, evenly along it from the keel."""
BEFORE_ALL = 0.5
"""Drawing order of the hulls: under everything of the frame."""


def hull_outlines(front: FrontEnd) -> FloatArray | None:
    """(2, stations, `POINTS`, 3), m: outlines of the bows, port then starboard, from root to stem; None where not known."""
    bows = front.boat.bows
    if bows.sections is None:
        return None
    found = bows.sections.stiffness
    rings = np.array([_evenly(solved.section.points) for solved in found.solved])
    sides = []
    for sign in (1, -1):
        x = np.broadcast_to(np.asarray(found.x)[:, None], rings.shape[:2])
        sides.append(np.stack([x, sign * (bows.spacing / 2 + rings[..., 0]), rings[..., 1]], axis=-1))
    return np.array(sides)


def _evenly(points: FloatArray) -> FloatArray:
    """(`POINTS`, 2): a closed outline from its lowest point round, evenly along it."""
    middle = points.mean(axis=0)
    turn = np.arctan2(points[:, 1] - middle[1], points[:, 0] - middle[0])
    ordered = points[np.argsort(turn, kind="stable")]
    ordered = np.roll(ordered, -int(ordered[:, 1].argmin()), axis=0)
    closed = np.vstack([ordered, ordered[:1]])
    along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(closed, axis=0), axis=1))])
    at = np.linspace(0.0, along[-1], POINTS + 1)[:-1]
    return np.column_stack([np.interp(at, along, closed[:, axis]) for axis in (0, 1)])


def tube_sizes(front: FrontEnd) -> dict[str, float]:
    """m: diameter (of a box its depth) of each member whose section is known."""
    boat = front.boat
    walled = {CROSSBEAM: boat.crossbeam, LONGERON: boat.longeron, PROD: boat.longeron}
    found = {}
    for member, beam in walled.items():
        thin = getattr(beam, "thin_walled", None)
        if thin is not None and member in front.frame.members:
            section = thin.solved.section
            found[member] = float(np.ptp(section.points[:, 1]) + section.thickness.max())
    if boat.striker is not None and boat.striker.tube is not None and STRIKER in front.frame.members:
        found[STRIKER] = boat.striker.tube.diameter
    return found


def draw_shapes(axes: Axes, front: FrontEnd, view: View) -> None:
    """Hulls and tubes as pale bodies under a drawn frame."""
    outlines = hull_outlines(front)
    if outlines is not None:
        for side in outlines:
            flat = view.project(side)
            for bay in pairwise(flat):
                around = np.concatenate(bay)
                with suppress(QhullError):  # two stations that are one line as seen from here
                    shadow = around[ConvexHull(around).vertices]
                    axes.fill(*shadow.T, color=style.tint(style.GRID_COLOUR, 0.45), lw=0, zorder=BEFORE_ALL)
            for ring in flat:
                axes.plot(
                    *np.vstack([ring, ring[:1]]).T, color=style.GRID_COLOUR, lw=0.6, zorder=BEFORE_ALL + 0.1
                )
    for member, size in tube_sizes(front).items():
        band = tube_band(member_ends(front, member), size, view)
        axes.fill(
            *band.T, facecolor=style.tint(style.MUTED_COLOUR, 0.35), edgecolor="none", zorder=BEFORE_ALL + 0.2
        )


def member_ends(front: FrontEnd, member: str) -> FloatArray:
    """(2, 3), m: where a straight member begins and ends."""
    if member == CROSSBEAM:
        return np.array([front.joint_position(1), front.joint_position(0)])
    if member == STRIKER:
        top = front.frame.nodes[front.frame.node_index[STRIKER_TOP]]
        return np.array([front.position(CENTRE), top])
    nodes = front.frame.ends[front.frame.members[member].elements]
    return np.asarray(front.frame.nodes[[nodes[0, 0], nodes[-1, 1]]])


def tube_band(ends: FloatArray, size: float, view: View) -> FloatArray:
    """(4, 2): a tube as wide as it is, from end to end as seen."""
    first, last = view.project(ends)
    way = last - first
    across = np.array([-way[1], way[0]]) / max(float(np.linalg.norm(way)), 1e-12) * size / 2
    return np.array([first + across, last + across, last - across, first - across])
