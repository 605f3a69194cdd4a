"""From elements to equations, and back: freedoms, the sparse stiffness, and internal forces element by element.

Beams and springs are both "parts": two nodes, modes G (6, 12), natural stiffness k (6, 6). The assembled matrix is in double
precision and serves to factorise; internal forces are summed part by part from G in extended precision and serve to refine,
since a rigid motion must cost nothing to more digits than the answer has (a chain of n beams loses n⁴ of them).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt
from scipy import sparse

from femcore.element import Ends, Real, end_springs, fixed_end, global_modes, natural_stiffness
from femcore.frame import FloatArray, Frame, IntArray, Loads

EXTENDED = np.longdouble
"""The precision of residuals; on platforms whose long double is a double, `extended_digits` says so."""

CHUNK = 4096
IDLE = 1e-15
"""Rotational stiffness of a node over its largest one below which nothing resists that rotation."""


def extended_digits() -> int:
    """Decimal digits of the extended precision on this platform (18 on x86-64, 15 where it is only a double)."""
    return int(np.finfo(EXTENDED).precision)


@dataclass(frozen=True, slots=True, eq=False)
class Parts:
    """Everything with stiffness, beams first, then springs.

    frame : the frame they come from
    nodes : (p, 2)
    k     : (p, 6, 6), natural stiffness, end springs condensed
    ends  : the condensed end springs of beams
    free  : (n, 6), equation number of each freedom, −1 where a support holds it
    idle  : (i,), nodes with a rotation that no part resists;   turns : (i, 3, 3), projectors onto these rotations
    """

    frame: Frame
    nodes: IntArray
    k: FloatArray
    ends: Ends
    free: npt.NDArray[np.int32]
    idle: IntArray
    turns: FloatArray

    @property
    def equations(self) -> int:
        """How many freedoms are free."""
        return int(self.free.max(initial=-1)) + 1

    @property
    def freedoms(self) -> npt.NDArray[np.int32]:
        """(p, 12), equation numbers of each part's freedoms."""
        return self.free[self.nodes].reshape(-1, 12)

    def chunks(self, dtype: type[np.floating[Any]] = np.float64) -> Iterator[tuple[slice, Real]]:
        """Slices of the part axis with their modes G (chunk, 6, 12) in `dtype`, small enough for the cache."""
        beams, total = len(self.frame.ends), len(self.nodes)
        for first in range(0, beams, CHUNK):
            part = slice(first, min(first + CHUNK, beams))
            yield part, global_modes(*_geometry(self.frame, part, dtype))
        if total > beams:
            yield slice(beams, total), _spring_modes(self.frame, dtype)


def parts_of(frame: Frame) -> Parts:
    """Number the free freedoms and gather the natural stiffness of all parts; Mechanism where one beam is loose."""
    ends = end_springs(frame)
    beams, total = len(frame.ends), len(frame.ends) + len(frame.springs)
    k, diagonal = np.zeros((total, 6, 6)), np.arange(6)
    k[:beams, diagonal, diagonal] = natural_stiffness(frame)
    k[ends.which] = ends.k
    k[beams:, diagonal, diagonal] = frame.springs
    free = np.full(frame.fixed.shape, -1, dtype=np.int32)
    free[~frame.fixed] = np.arange(np.count_nonzero(~frame.fixed), dtype=np.int32)
    nodes = np.concatenate([frame.ends, frame.spring_ends])
    none = Parts(frame, nodes, k, ends, free, np.zeros(0, dtype=np.int64), np.zeros((0, 3, 3)))
    idle, turns = _idle_rotations(none)
    return replace(none, idle=idle, turns=turns)


def _geometry(frame: Frame, part: slice, dtype: type[np.floating[Any]]) -> tuple[Real, Real, Real]:
    """Axes, length and offsets of a slice of beams; in a wider `dtype` made square and of unit length again."""
    offsets = frame.offsets[part].astype(dtype)
    if dtype is np.float64:
        return frame.axes[part], frame.length[part], offsets
    start, end = np.moveaxis(frame.nodes.astype(dtype)[frame.ends[part]] + offsets, 1, 0)
    along = end - start
    length = np.sqrt((along * along).sum(axis=1))
    x, z = along / length[:, None], frame.axes[part, 2].astype(dtype)
    z = z - (z * x).sum(axis=1)[:, None] * x
    z /= np.sqrt((z * z).sum(axis=1))[:, None]
    return np.stack([x, np.cross(z, x), z], axis=1), length, offsets


def _spring_modes(frame: Frame, dtype: type[np.floating[Any]]) -> Real:
    """G of springs: the second node, carried rigidly to where the first one stands, less the first, in global axes."""
    start, end = np.moveaxis(frame.nodes.astype(dtype)[frame.spring_ends], 1, 0)
    arm, G = start - end, np.zeros((len(start), 6, 12), dtype=dtype)
    G[:, :, :6], G[:, :, 6:] = -np.eye(6), np.eye(6)
    G[:, :3, 9:] = np.cross(arm[:, None, :], np.eye(3))
    return G


def stiffness(parts: Parts) -> sparse.csc_array:
    """The assembled stiffness over the free freedoms, (equations, equations); idle rotations are held.

    Nothing resists the rotation of a node of a pin-jointed truss, and nothing turns it: such *idle* rotations get a stiffness
    here, in the matrix that is factorised. The residual does not know it, so it changes no answer.
    """
    freedoms = parts.freedoms
    triplets = [
        _triplets(freedoms[part], np.swapaxes(G, 1, 2) @ (parts.k[part] @ G)) for part, G in parts.chunks()
    ]
    if len(parts.idle):
        stiffest = max(float(entries.max(initial=0.0)) for entries, _, _ in triplets) or 1.0
        triplets.append(_triplets(parts.free[parts.idle, 3:], stiffest * parts.turns))
    size = parts.equations
    entries, rows, columns = (np.concatenate(column) for column in zip(*triplets, strict=True))
    return sparse.coo_array((entries, (rows, columns)), shape=(size, size)).tocsc()


def _triplets(numbers: npt.NDArray[np.int32], K: Real) -> tuple[Real, npt.NDArray[np.int32], npt.NDArray[np.int32]]:
    """Entries, rows and columns of square blocks K (b, f, f) at equations `numbers` (b, f), supports left out."""
    row = np.broadcast_to(numbers[:, :, None], K.shape)
    column = np.broadcast_to(numbers[:, None, :], K.shape)
    kept = (row >= 0) & (column >= 0)
    if kept.all():
        return K.reshape(-1), row.reshape(-1), column.reshape(-1)
    return K[kept], row[kept], column[kept]


def _idle_rotations(parts: Parts) -> tuple[IntArray, FloatArray]:
    """Nodes (i,) with rotations that no part resists, and the projectors (i, 3, 3) onto these rotations."""
    complete = np.all(parts.k[:, range(6), range(6)] > 0, axis=1)
    complete[parts.ends.which] = False
    complete[len(parts.frame.ends) :] = False
    doubtful = np.ones(len(parts.frame.nodes), dtype=bool)
    doubtful[parts.nodes[complete]] = False
    doubtful &= ~parts.frame.fixed[:, 3:].all(axis=1)
    nodes = np.flatnonzero(doubtful)
    if not len(nodes):
        return nodes, np.zeros((0, 3, 3))
    held = np.zeros((len(doubtful), 3, 3))
    held[:, range(3), range(3)] = parts.frame.fixed[:, 3:]
    size = parts.frame.size**2
    for part, G in parts.chunks():
        touched = doubtful[parts.nodes[part]].any(axis=1)
        G, k = G[touched], parts.k[part][touched]
        for side in (0, 1):
            turn = G[:, :, 6 * side + 3 : 6 * side + 6]
            block = np.swapaxes(turn, 1, 2) @ k @ turn
            np.add.at(held, parts.nodes[part][touched, side], block / size)
    scale = np.abs(held[nodes]).max(axis=(1, 2)) + np.finfo(float).tiny
    stiffness, direction = np.linalg.eigh(held[nodes] / scale[:, None, None])
    idle = (stiffness < IDLE).astype(float)
    some = idle.any(axis=1)
    projector = np.einsum("nij,nj,nkj->nik", direction, idle, direction)
    return nodes[some], projector[some]


@dataclass(frozen=True, slots=True, eq=False)
class Clamped:
    """Forces of all cases on parts whose nodes do not move: q (c, p, 6) natural, p (c, m, 12) on simple supports."""

    q: FloatArray
    p: FloatArray


def clamped(parts: Parts, loads: Loads) -> Clamped | None:
    """What the line loads leave in clamped beams, end springs included; None where there are none."""
    if not loads.line.any():
        return None
    frame = parts.frame
    q0, p0 = fixed_end(frame, loads.line)
    which = parts.ends.which
    k = natural_stiffness(frame)[which]
    q0[:, which] = parts.ends.condensed_load(k, q0[:, which], p0[:, which])
    q = np.zeros((len(loads.names), len(parts.nodes), 6))
    q[:, : len(frame.ends)] = q0
    return Clamped(q, p0)


def natural_forces(parts: Parts, u: Real, held: Clamped | None) -> Real:
    """q : (c, p, 6), natural forces under node movements u (c, n, 6), in the precision of u."""
    q = np.empty((len(u), len(parts.nodes), 6), dtype=u.dtype)
    for part, G in parts.chunks(u.dtype.type):
        moved = u[:, parts.nodes[part]].reshape(len(u), -1, 12, 1)
        q[:, part] = (parts.k[part].astype(u.dtype) @ (G @ moved))[..., 0]
    return q if held is None else q + held.q


def internal_forces(parts: Parts, q: Real, held: Clamped | None) -> Real:
    """(c, n, 6), what the nodes put on the parts: the sum of all end forces, in the precision of q."""
    cases, order, starts, targets = len(q), *_scatter(parts)
    ends = np.empty((cases, len(parts.nodes), 12), dtype=q.dtype)
    for part, G in parts.chunks(q.dtype.type):
        ends[:, part] = (np.swapaxes(G, 1, 2) @ q[:, part, :, None])[..., 0]
    if held is not None:
        ends[:, : len(parts.frame.ends)] += _to_nodes(parts.frame, held.p)
    total = np.zeros((cases, len(parts.frame.nodes), 6), dtype=q.dtype)
    if len(order):
        total[:, targets] = np.add.reduceat(ends.reshape(cases, -1, 6)[:, order], starts, axis=1)
    return total


def _scatter(parts: Parts) -> tuple[IntArray, IntArray, IntArray]:
    """Order of the part ends by node, where each node's run starts, and the nodes themselves."""
    flat = parts.nodes.reshape(-1)
    order = np.argsort(flat, kind="stable")
    targets, starts = np.unique(flat[order], return_index=True)
    return order, starts, targets


def _to_nodes(frame: Frame, p: FloatArray) -> FloatArray:
    """End forces (c, m, 12) in beam axes as forces and moments on the nodes, global axes, offsets included."""
    parts = p.reshape(*p.shape[:-1], 2, 2, 3)
    turned = np.einsum("mij,cmefi->cmefj", frame.axes, parts)
    turned[..., 1, :] += np.cross(frame.offsets, turned[..., 0, :])
    return np.asarray(turned).reshape(p.shape)
