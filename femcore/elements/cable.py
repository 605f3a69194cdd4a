"""Tension-only cables through any number of points, with one tension along the whole path (they slip without friction).

The elongation of a cable is e = g · u: at each point of the path, g is the unit direction of the segment that arrives less that
of the one that leaves, and with a rigid arm its moment. Taut, its tension is T = (EA/l₀)(l − l₀), so its stiffness is
(EA/l₀) g gᵀ, of rank one, and a pretensioned one adds T/l across each segment (H.M. Irvine, Cable Structures, 1981, ch. 1, from
memory, for the taut string). A cable that is gripped at each point is a cable per segment.

    k : cables;   t : points of all paths together;   s : segments of all paths together
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from femcore.base.arrays import ArrayRecord, FloatArray, IntArray, Real
from femcore.base.vectors import cross
from femcore.elements.geometric_stiffness import offset_rotation_stiffness
from femcore.frame.frame import Cables


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class CableGeometry(ArrayRecord):
    """Positions of the cables: `at` (t, 3) points, `direction` (s, 3) unit directions, `length` (s,) of the segments."""

    cables: Cables
    arms: Real
    at: Real
    direction: Real
    length: Real

    @property
    def total(self) -> Real:
        """(k,), m, whole length of each cable, in the precision of the positions."""
        whole = np.zeros(len(self.cables.EA), dtype=self.length.dtype)
        np.add.at(whole, self.cables.cable_of_segment, self.length)
        return whole


def cable_geometry(cables: Cables, nodes: Real, arms: Real | None = None) -> CableGeometry:
    """Lay the cables through `nodes` (n, 3); `arms` (t, 3), m, where these have turned with their nodes."""
    arms = (cables.arms if arms is None else arms).astype(nodes.dtype)
    at = nodes[cables.nodes] + arms
    step = at[cables.segments[:, 1]] - at[cables.segments[:, 0]]
    length = np.sqrt((step * step).sum(axis=1))
    return CableGeometry(cables, arms, at, step / length[:, None], length)


def elongation_gradient(cable_shape: CableGeometry) -> Real:
    """g : (t, 6), elongation per movement of each point's node, global axes."""
    g = np.zeros((len(cable_shape.at), 6), dtype=cable_shape.at.dtype)
    start, end = cable_shape.cables.segments.T
    np.add.at(g[:, :3], end, cable_shape.direction)
    np.add.at(g[:, :3], start, -cable_shape.direction)
    g[:, 3:] = cross(cable_shape.arms, g[:, :3])
    return g


def elongation(cables: Cables, g: Real, u: Real) -> Real:
    """(…, k), m, elongation under node movements u (…, n, 6)."""
    each = (u[..., cables.nodes, :] * g).sum(axis=-1)
    return np.add.reduceat(each, cables.first, axis=-1) if len(cables.first) else each[..., :0]


def nodal_forces(cables: Cables, g: Real, tension: Real, count: int) -> Real:
    """(c, n, 6), forces of the nodes on the cables under tensions (c, k): g T, summed at each node; of one case without the c."""
    total = np.zeros((count, *tension.shape[:-1], 6), dtype=np.result_type(g, tension))
    np.add.at(total, cables.nodes, np.swapaxes(tension[..., cables.cable_of_point, None] * g, 0, -2))
    return np.swapaxes(total, 0, -2)


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class LinearCables(ArrayRecord):
    """Cables in a linear frame, as drawn: T = T₀ + (EA/l) g·u, and 0 where slack.

    g : (t, 6);   stiffness : (k,), N/m;   initial : (c, k), N, T₀;   slack : (c, k)
    """

    cables: Cables
    g: Real
    stiffness: FloatArray
    initial: Real
    slack: npt.NDArray[np.bool_]

    def tension(self, u: Real) -> Real:
        """(c, k), N, under node movements u (c, n, 6)."""
        return np.where(self.slack, 0, self.initial + self.stiffness * elongation(self.cables, self.g, u))

    def change(self, u: Real) -> Real:
        """(c, k), N, by further movements u."""
        return np.where(self.slack, 0, self.stiffness * elongation(self.cables, self.g, u))

    def forces(self, tension: Real, count: int) -> Real:
        """(c, n, 6), forces of the nodes on the cables."""
        return nodal_forces(self.cables, self.g, tension, count)


def pairs(cables: Cables) -> tuple[IntArray, IntArray]:
    """All pairs of points (t₁, t₂) that belong to one cable, each way round and with themselves."""
    count = np.diff(np.append(cables.first, len(cables.nodes)))
    size = count[cables.cable_of_point]
    left = np.repeat(np.arange(len(cables.nodes)), size)
    start = np.repeat(cables.first[cables.cable_of_point], size)
    within = np.arange(len(left)) - np.repeat(np.cumsum(size) - size, size)
    return left, start + within


def elastic_blocks(cables: Cables, g: Real, stiffness: Real) -> tuple[IntArray, FloatArray]:
    """Node pairs (b, 2) and blocks (b, 6, 6) of (EA/l₀) g gᵀ, `stiffness` (k,) being EA/l₀ (0 where slack)."""
    left, right = pairs(cables)
    block = stiffness[cables.cable_of_point[left], None, None] * g[left, :, None] * g[right, None, :]
    return np.column_stack([cables.nodes[left], cables.nodes[right]]), np.asarray(block, dtype=float)


def geometric_blocks(cable_shape: CableGeometry, tension: Real) -> list[tuple[IntArray, FloatArray]]:
    """Node pairs (b, 2) and blocks (b, 6, 6) of the stiffness that the `tension` (k,) itself gives: T/l across each segment.

    Four sets by segments and one by points. An arm o that rotates with its node carries the pull F at its tip: it adds
    −(F·o) I + sym(o Fᵀ) to the rotations.
    """
    cables, (start, end) = cable_shape.cables, cable_shape.cables.segments.T
    across = np.eye(3) - cable_shape.direction[:, :, None] * cable_shape.direction[:, None, :]
    across = across * (tension[cables.cable_of_segment] / cable_shape.length)[:, None, None]
    reach = np.zeros((len(cable_shape.at), 3, 6))
    reach[:, :, :3] = np.eye(3)
    reach[:, :, 3:] = -np.asarray(cross(cable_shape.arms[:, None, :], np.eye(3)), dtype=float)
    found = []
    for a, b, sign in ((start, start, 1), (end, end, 1), (start, end, -1), (end, start, -1)):
        block = sign * np.swapaxes(reach[a], 1, 2) @ np.asarray(across, dtype=float) @ reach[b]
        found.append((np.column_stack([cables.nodes[a], cables.nodes[b]]), block))
    pull = np.asarray(
        elongation_gradient(cable_shape)[:, :3] * tension[cables.cable_of_point, None], dtype=float
    )
    arms = np.asarray(cable_shape.arms, dtype=float)
    turn = np.zeros((len(arms), 6, 6))
    turn[:, 3:, 3:] = offset_rotation_stiffness(arms, pull)
    return [*found, (np.column_stack([cables.nodes, cables.nodes]), turn)]
