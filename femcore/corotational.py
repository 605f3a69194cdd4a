"""Beams in the deformed shape: natural deformations measured in axes that go along with each element.

Theory: corotational (M.A. Crisfield, Non-linear Finite Element Analysis of Solids and Structures, vol. 2,
1997, ch. 17, from memory). An element's axes follow the line through its ends and, about it, the
section half-way between its ends'; what is left are the natural deformations of `element`, small, with the axial strain averaged
over the bowed shape:

    N = EA/L (e + ½ Σ b α²) − EA α_T ΔT,     q = k α + N b α,     b = `bowing`

so that axial force softens or stiffens bending within the element. Range: displacements and rotations of the
frame may be large; rotations within one element (against its own axes) should stay below about 0.2 rad and
strains small, so divide a beam that bends far. Offsets turn with their nodes; line loads keep their direction
and stay where they act on the undeformed beam. Springs stand in `turning_springs`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy.spatial.transform import Rotation

from femcore.element import Ends, end_springs, global_modes, natural_stiffness, spring_matrices
from femcore.frame import FloatArray, Frame
from femcore.geometric import bowing, offset_turning, skew, turning_stiffness
from femcore.vectors import cross

LOCAL_STEPS = 12


@dataclass(frozen=True, slots=True, eq=False)
class Shape:
    """Where the nodes are: moved by `move` (n, 3), m, and turned by `turn` (n, 3, 3)."""

    move: FloatArray
    turn: FloatArray

    @classmethod
    def undeformed(cls, frame: Frame) -> Shape:
        """As drawn."""
        return cls(np.zeros((len(frame.nodes), 3)), np.tile(np.eye(3), (len(frame.nodes), 1, 1)))

    @classmethod
    def after(cls, displacement: FloatArray) -> Shape:
        """After movements (n, 6), rotations as vectors."""
        return cls(displacement[:, :3], Rotation.from_rotvec(displacement[:, 3:]).as_matrix())

    def further(self, step: FloatArray) -> Shape:
        """The shape after movements and spins `step` (n, 6)."""
        spin = Rotation.from_rotvec(step[:, 3:]).as_matrix()
        return Shape(self.move + step[:, :3], spin @ self.turn)

    @property
    def displacement(self) -> FloatArray:
        """(n, 6), m and rad, rotations as vectors."""
        return np.concatenate([self.move, Rotation.from_matrix(self.turn).as_rotvec()], axis=1)


@dataclass(frozen=True, slots=True, eq=False)
class Beams:
    """What of the beams does not change with their shape."""

    frame: Frame
    k: FloatArray
    bow: FloatArray
    ends: Ends

    @classmethod
    def of(cls, frame: Frame) -> Beams:
        """Gather it."""
        return cls(frame, natural_stiffness(frame), bowing(frame), end_springs(frame))


@dataclass(frozen=True, slots=True, eq=False)
class Bent:
    """Beams in one shape.

    q       : (m, 6), natural forces;   force : (m, 12) on both nodes, global axes
    tangent : (m, 6, 6), ∂q/∂d;   bow : (m, 6, 6), its part that goes with the axial force, per N
    axes, length, offsets : in that shape
    """

    q: FloatArray
    tangent: FloatArray
    bow: FloatArray
    G: FloatArray
    axes: FloatArray
    length: FloatArray
    offsets: FloatArray

    @property
    def force(self) -> FloatArray:
        """(m, 12), what the nodes put on the elements, global axes."""
        return np.asarray(np.einsum("mri,mr->mi", self.G, self.q))

    def stiffness(self, q: FloatArray | None = None) -> FloatArray:
        """(m, 12, 12), change of `force` with the node movements, symmetric part, global axes.

        q : (m, 6), natural forces to take it with, where these are known better than from the shape.
        """
        q = self.q if q is None else q
        tangent = self.tangent + (q - self.q)[:, 0, None, None] * self.bow
        K = np.swapaxes(self.G, 1, 2) @ tangent @ self.G
        to_ends = ends_of_nodes(self.axes, self.offsets)
        K += np.swapaxes(to_ends, 1, 2) @ turning_stiffness(self.length, q) @ to_ends
        return np.asarray(K + offset_blocks(self.offsets, np.einsum("mri,mr->mi", self.G, q)))

    def ahead(self, step: FloatArray) -> FloatArray:
        """(m, 6), natural forces after small movements of both nodes (m, 12), by the tangent."""
        return np.asarray(self.q + np.einsum("mrs,msi,mi->mr", self.tangent, self.G, step))


def frame_in_shape(frame: Frame, displacement: FloatArray, tension: FloatArray) -> Frame:
    """The frame as it stands after movements (n, 6), drawn there: nodes moved, axes and offsets turned.

    Its natural stiffness and its mass are those of the lengths as built; a cable under `tension` (k,) is stiffer by as much as
    it is longer.
    """
    turn = Rotation.from_rotvec(displacement[:, 3:]).as_matrix()
    bent = bend(Beams.of(frame), Shape(displacement[:, :3], turn), np.zeros(len(frame.ends)))
    arms = np.einsum("tij,tj->ti", turn[frame.cables.nodes], frame.cables.arms)
    longer = bent.length / frame.length
    stiffness = {key: getattr(frame, key) * longer for key in ("EA", "EIy", "EIz", "GJ")}
    return replace(
        frame, nodes=frame.nodes + displacement[:, :3], axes=bent.axes, offsets=bent.offsets, **stiffness,
        GAy=frame.GAy / longer, GAz=frame.GAz / longer, line_mass=frame.line_mass / longer,
        line_inertia=frame.line_inertia / longer[:, None],
        cables=replace(frame.cables, arms=arms, EA=frame.cables.EA + tension),
    )  # fmt: skip


def ends_of_nodes(axes: FloatArray, offsets: FloatArray) -> FloatArray:
    """(m, 12, 12), end freedoms in beam axes from node freedoms in global axes, rigid offsets included."""
    T = np.zeros((len(axes), 12, 12))
    for side in (0, 1):
        move, turn = slice(6 * side, 6 * side + 3), slice(6 * side + 3, 6 * side + 6)
        T[:, move, move] = T[:, turn, turn] = axes
        T[:, move, turn] = -axes @ skew(offsets[:, side])
    return T


def offset_blocks(offsets: FloatArray, force: FloatArray) -> FloatArray:
    """(m, 12, 12), what rigid arms that turn under the end forces (m, 12) add to the stiffness."""
    blocks = np.zeros((len(offsets), 12, 12))
    if offsets.any():
        turned = offset_turning(offsets, force.reshape(-1, 2, 6)[:, :, :3])
        blocks[:, 3:6, 3:6], blocks[:, 9:12, 9:12] = turned[:, 0], turned[:, 1]
    return blocks


def bend(beams: Beams, shape: Shape, warm: FloatArray) -> Bent:
    """The beams in `shape`, warmed by `warm` (m,), K."""
    frame = beams.frame
    turned = shape.turn[frame.ends]
    offsets = np.einsum("meij,mej->mei", turned, frame.offsets)
    ends = frame.nodes[frame.ends] + shape.move[frame.ends] + offsets
    axes, length, d = _measured(frame, turned, ends)
    q, tangent = _forces(beams, d, frame.EA * frame.expansion * warm)
    inner = np.broadcast_to(np.eye(6), tangent.shape).copy()
    inner[beams.ends.which] -= beams.ends.modes @ beams.ends.slip
    bow = np.einsum("mri,mr,mrj->mij", inner, beams.bow, inner)
    G = np.asarray(global_modes(axes, length, offsets), dtype=float)
    return Bent(q, tangent, bow, G, axes, length, offsets)


def _measured(
    frame: Frame, turned: FloatArray, ends: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Axes, length and natural deformations d (m, 6) of elements whose ends are turned (m, 2, 3, 3) and lie at `ends`."""
    along, original = ends[:, 1] - ends[:, 0], frame.length
    length = np.linalg.norm(along, axis=1)
    sections = np.einsum("mri,meji->merj", frame.axes, turned)  # rows: the axes of both end sections
    x = along / length[:, None]
    axes = _swung(_between(sections), x)
    # the end sections seen from the element's own axes, as rotation vectors
    local = Rotation.from_matrix((axes[:, None] @ np.swapaxes(sections, 2, 3)).reshape(-1, 3, 3)).as_rotvec()
    start, end = np.moveaxis(local.reshape(-1, 2, 3), 1, 0)
    stretch = (along * along).sum(axis=1) - original**2
    d = np.empty((len(length), 6))
    d[:, 0], d[:, 1] = stretch / (length + original), end[:, 0] - start[:, 0]
    d[:, 2], d[:, 4] = (end - start)[:, 1:].T
    d[:, 3], d[:, 5] = (end + start)[:, 1:].T / 2
    return axes, length, d


def _between(sections: FloatArray) -> FloatArray:
    """(m, 3, 3), rows: the axes half-way between those of both end sections (m, 2, 3, 3)."""
    quaternion = Rotation.from_matrix(sections.reshape(-1, 3, 3)).as_quat().reshape(-1, 2, 4)
    first, second = quaternion[:, 0], quaternion[:, 1]
    # a rotation has two quaternions: the nearer pair
    second = np.where((first * second).sum(axis=1)[:, None] < 0, -second, second)
    return np.asarray(Rotation.from_quat(first + second).as_matrix())


def _swung(axes: FloatArray, x: FloatArray) -> FloatArray:
    """(m, 3, 3), rows: the same axes swung the shortest way until the first lies along the unit vectors x (m, 3).

    So an element bent in one plane, whichever, does not roll about itself.
    """
    both = axes[:, 0] + x
    leaning = np.einsum("mj,mj->m", both, x)[:, None]
    y = axes[:, 1] - np.einsum("mj,mj->m", axes[:, 1], x)[:, None] / leaning * both
    return np.stack([x, y, cross(x, y)], axis=1)


def _forces(beams: Beams, d: FloatArray, thermal: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Natural forces and their tangent (m, 6, 6), end springs in equilibrium."""
    q, tangent = _bowed(beams.k, beams.bow, d, thermal)
    ends, which = beams.ends, beams.ends.which
    if not len(which):
        return q, tangent
    k, bow, outer, warm = beams.k[which], beams.bow[which], d[which], thermal[which]
    spring = spring_matrices(beams.frame, which)
    slip = np.einsum("eir,er->ei", ends.slip, outer)
    for _ in range(LOCAL_STEPS):
        inner_q, inner_k = _bowed(k, bow, outer - np.einsum("eri,ei->er", ends.modes, slip), warm)
        inverse = _inverse(np.einsum("eri,ers,esj->eij", ends.modes, inner_k, ends.modes), spring)
        rest = np.einsum("eri,er->ei", ends.modes, inner_q) - np.einsum("eij,ej->ei", spring, slip)
        change = np.einsum("eij,ej->ei", inverse, rest)
        slip = slip + change
        if np.abs(change).max() <= 1e-14 * max(1.0, np.abs(slip).max()):
            break
    across = np.einsum("ers,esi->eri", inner_k, ends.modes)
    q[which] = inner_q
    tangent[which] = inner_k - across @ inverse @ np.swapaxes(across, 1, 2)
    return q, tangent


def _bowed(
    k: FloatArray, bow: FloatArray, d: FloatArray, thermal: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """q and ∂q/∂d of elements without end springs: energy ½ EA/L ē² + ½ Σ k α², ē = e + ½ Σ b α²."""
    N = k[:, 0] * (d[:, 0] + 0.5 * (bow * d**2).sum(axis=1)) - thermal
    slope = bow * d
    slope[:, 0] = 1.0
    bending = k.copy()
    bending[:, 0] = 0.0
    tangent = k[:, :1, None] * slope[:, :, None] * slope[:, None, :]
    tangent[:, range(6), range(6)] += bending + N[:, None] * bow
    return bending * d + N[:, None] * slope, tangent


def _inverse(M: FloatArray, spring: FloatArray) -> FloatArray:
    """Inverse of M + springs over the freedoms that have a stiffness; 0 in the others."""
    M = M + spring
    diagonal = M[:, range(12), range(12)]
    live = diagonal > 0
    scale = np.where(live, 1 / np.sqrt(np.where(live, diagonal, 1.0)), 0.0)
    scaled = M * scale[:, :, None] * scale[:, None, :]
    scaled[:, range(12), range(12)] = 1.0
    return np.asarray(np.linalg.inv(scaled)) * scale[:, :, None] * scale[:, None, :]
