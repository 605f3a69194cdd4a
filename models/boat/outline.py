"""From the outside of a hull, as a lines plan or a tape measure gives it, to the middle of its walls, where sections are worked.

Every strip of the outline is moved inward by half the thickness of its own wall, the deck down by half of its own, a flat keel
up; lines that meet in a corner of the outline meet in the corner of the moved lines. Exact for straight strips.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from femcore.base.arrays import FloatArray
from femcore.base.errors import InputFault
from models.boat.hull_section import HullStation

if TYPE_CHECKING:
    from models.boat.hull_section import HullWalls

REL_TOL_PARALLEL = 1e-9
"""Sine of the angle between two strips that are one straight line: their corner moves square to it."""


def middle_of_walls(outside: HullStation, walls: HullWalls) -> HullStation:
    """The station by the middle of its walls, from the outside of the hull; both from the keel up, m.

    The deck's crown is moved with its middle. InputFault where the walls are too thick for the outline.
    """
    corners = np.column_stack([outside.half_breadth, outside.height])
    along = np.diff(corners, axis=0)
    along /= np.linalg.norm(along, axis=1)[:, None]
    inward = np.column_stack([-along[:, 1], along[:, 0]])
    half = np.array([wall.thickness for wall in walls.skins]) / 2
    on_strip = corners[:-1] + half[:, None] * inward
    moved = np.empty_like(corners)
    for corner in range(1, len(along)):
        moved[corner] = _meeting(
            on_strip[corner - 1], along[corner - 1], on_strip[corner], along[corner], corners[corner]
        )
    if outside.half_breadth[0] > 0.0:
        keel = corners[0] + [0.0, (walls.keel or walls.skins[0]).thickness / 2]
        moved[0] = _meeting(keel, np.array([1.0, 0.0]), on_strip[0], along[0], corners[0])
    else:
        moved[0] = _meeting(np.zeros(2), np.array([0.0, 1.0]), on_strip[0], along[0], corners[0])
    # the deck falls from its crown to the gunwale as a parabola: there it is straight enough
    edge = np.array([outside.half_breadth[-1], -2.0 * outside.crown])
    edge /= np.linalg.norm(edge)
    half_deck = walls.deck.thickness / 2
    on_deck = corners[-1] + half_deck * np.array([edge[1], -edge[0]])
    moved[-1] = _meeting(on_strip[-1], along[-1], on_deck, edge, corners[-1])
    crown = outside.height[-1] + outside.crown - half_deck - moved[-1, 1]
    if (
        (np.diff(moved[:, 1]) <= 0.0).any()
        or (moved[1:, 0] <= 0.0).any()
        or moved[0, 0] < 0.0
        or crown < -half_deck
    ):
        place = f"station at x = {outside.x:g} m"
        cure = 'write outline = "middle" if it is the middle of the walls, or check their thickness'
        raise InputFault(place, "is too small for the thickness of its walls", cure)
    half_breadth, height = (tuple(column.tolist()) for column in moved.T)
    return HullStation(outside.x, half_breadth, height, max(float(crown), 0.0))


def _meeting(p: FloatArray, u: FloatArray, q: FloatArray, v: FloatArray, corner: FloatArray) -> FloatArray:
    """Where the line through p along u meets that through q along v; of parallel ones the corner, moved as their mean."""
    sine = u[0] * v[1] - u[1] * v[0]
    if abs(sine) < REL_TOL_PARALLEL:
        middle = (p + q) / 2
        return np.asarray(middle + u * float((corner - middle) @ u))
    d = q - p
    return np.asarray(p + u * (d[0] * v[1] - d[1] * v[0]) / sine)
