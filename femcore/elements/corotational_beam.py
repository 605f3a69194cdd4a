"""Beams in the deformed shape: natural deformations measured in axes that go along with each element.

Theory: corotational (M.A. Crisfield, Non-linear Finite Element Analysis of Solids and Structures, vol. 2,
1997, ch. 17, from memory). An element's axes follow the line through its ends and, about it, the
section half-way between its ends'; what is left are the natural deformations of `beam`, small, with the axial strain
averaged over the bowed shape:

    N = EA/L (e + ½ Σ b α²) − EA α_T ΔT,     q = k α + N b α,     b = `bowing`

so that axial force softens or stiffens bending within the element. Range: displacements and rotations of the
frame may be large; rotations within one element (against its own axes) should stay below about 0.2 rad and
strains small, so divide a beam that bends far. Offsets turn with their nodes; line loads keep their direction and their
points of action on the undeformed beam. Springs are in `corotational_spring`.

Shapes are kept, and natural deformations measured, in extended precision: the chord of a short element is the difference of two
coordinates, and their rounding δ in double would put 12 EI δ/h³ on the ends of an element of length h, a force that no
equilibrium could remove. Forces, stiffnesses and axes are in double.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy.spatial.transform import Rotation

from femcore.base.arrays import EXTENDED, ArrayRecord, FloatArray, Real
from femcore.base.rotations import rotation_matrices, rotation_vectors
from femcore.base.vectors import cross
from femcore.elements.beam import (
    CondensedEnds,
    global_modes,
    inverse_of_scaled,
    natural_stiffness,
    spring_matrices,
    unit_diagonal,
)
from femcore.elements.geometric_stiffness import bowing, offset_rotation_stiffness, rotation_stiffness, skew
from femcore.frame.frame import Frame

MAX_LOCAL_ITERATIONS = 12
"""Of Newton's method for the end springs of an element, which converges quadratically: two to four are usual."""
REL_TOL_LOCAL_ITERATION = 1e-14
"""Of the largest end slip, m or rad, or absolute where that is below 1: a smaller change of it is rounding."""


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Configuration(ArrayRecord):
    """Positions and rotations of the nodes, in extended precision: moved by `move` (n, 3), m, turned by `turn` (n, 3, 3)."""

    move: Real
    turn: Real

    @classmethod
    def undeformed(cls, frame: Frame) -> Configuration:
        """As drawn."""
        count = len(frame.nodes)
        return cls(np.zeros((count, 3), EXTENDED), np.tile(np.eye(3, dtype=EXTENDED), (count, 1, 1)))

    @classmethod
    def from_displacement(cls, displacement: FloatArray) -> Configuration:
        """After movements (n, 6), rotations as vectors."""
        given = displacement.astype(EXTENDED)
        return cls(given[:, :3], rotation_matrices(given[:, 3:]))

    def updated(self, step: FloatArray) -> Configuration:
        """The shape after movements and spins `step` (n, 6)."""
        spin = rotation_matrices(step[:, 3:].astype(EXTENDED))
        return Configuration(self.move + step[:, :3], spin @ self.turn)

    @property
    def displacement(self) -> FloatArray:
        """(n, 6), m and rad, rotations as vectors."""
        turned = Rotation.from_matrix(self.turn.astype(float), assume_valid=True).as_rotvec()
        return np.concatenate([self.move.astype(float), turned], axis=1)


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class BeamData(ArrayRecord):
    """Properties of the beams that do not change with their shape.

    length                : (m,), m, as built
    k, bowing_coefficient : (m, 6), natural stiffness, and what axial force adds to it per N
    bowing_stiffness      : (m, 6, 6), the same between the nodes, end springs condensed
    ends                  : the condensed end springs;   spring : (e, 12, 12), their stiffness
    """

    frame: Frame
    length: FloatArray
    k: FloatArray
    bowing_coefficient: FloatArray
    bowing_stiffness: FloatArray
    ends: CondensedEnds
    spring: FloatArray

    @classmethod
    def of(cls, frame: Frame, ends: CondensedEnds) -> BeamData:
        """From a frame and its condensed end springs."""
        return cls(
            frame, frame.length, natural_stiffness(frame), bowing(frame), bowing_stiffness(frame, ends),
            ends, spring_matrices(frame, ends.which),
        )  # fmt: skip


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class DeformedBeams(ArrayRecord):
    """Beams in one shape.

    q       : (m, 6), natural forces;   force : (m, 12) on both nodes, global axes
    tangent : (m, 6, 6), ∂q/∂d;   bowing_stiffness : (m, 6, 6), its part proportional to the axial force, per N
    G       : (m, 6, 12), ∂d/∂u;   axes, length, offsets : in that shape
    """

    q: FloatArray
    tangent: FloatArray
    bowing_stiffness: FloatArray
    G: FloatArray
    axes: FloatArray
    length: FloatArray
    offsets: FloatArray

    @property
    def force(self) -> FloatArray:
        """(m, 12), forces of the nodes on the elements, global axes."""
        return np.asarray(np.einsum("mri,mr->mi", self.G, self.q))

    def stiffness(self, q: FloatArray | None = None) -> FloatArray:
        """(m, 12, 12), change of `force` with the node movements, symmetric part, global axes.

        q : (m, 6), natural forces of the geometric part, where these are known better than from the shape.
        """
        q = self.q if q is None else q
        tangent = self.tangent + (q - self.q)[:, 0, None, None] * self.bowing_stiffness
        K = np.swapaxes(self.G, 1, 2) @ tangent @ self.G
        to_ends = end_transformation(self.axes, self.offsets)
        K += np.swapaxes(to_ends, 1, 2) @ rotation_stiffness(self.length, q) @ to_ends
        return np.asarray(K + offset_stiffness(self.offsets, np.einsum("mri,mr->mi", self.G, q)))

    def predicted_forces(self, step: FloatArray) -> FloatArray:
        """(m, 6), natural forces after small movements of both nodes (m, 12), by the tangent."""
        return np.asarray(self.q + np.einsum("mrs,msi,mi->mr", self.tangent, self.G, step))


def bowing_stiffness(frame: Frame, ends: CondensedEnds) -> FloatArray:
    """(m, 6, 6), m: what the axial force adds to the natural stiffness between the nodes per N, the end springs condensed."""
    inner = np.tile(np.eye(6), (len(frame.ends), 1, 1))
    inner[ends.which] -= ends.modes @ ends.slip
    return np.asarray(np.swapaxes(inner, 1, 2) @ (bowing(frame)[:, :, None] * inner))


def deformed_frame(frame: Frame, displacement: FloatArray, tension: FloatArray) -> Frame:
    """The deformed frame as a frame of its own, after movements (n, 6): nodes moved, axes and offsets turned.

    Its natural stiffness and its mass are those of the lengths as built; the EA of a cable under `tension` (k,) grows with its
    length.
    """
    shape = Configuration.from_displacement(displacement)
    axes, length, offsets = beam_geometry(frame, shape).in_double
    turn = shape.turn[frame.cables.nodes].astype(float)
    arms = np.einsum("tij,tj->ti", turn, frame.cables.arms)
    longer = length / frame.length
    stiffness = {key: getattr(frame, key) * longer for key in ("EA", "EIy", "EIz", "GJ")}
    return replace(
        frame, nodes=frame.nodes + displacement[:, :3], axes=axes, offsets=offsets, **stiffness,
        GAy=frame.GAy / longer, GAz=frame.GAz / longer, line_mass=frame.line_mass / longer,
        line_inertia=frame.line_inertia / longer[:, None],
        cables=replace(frame.cables, arms=arms, EA=frame.cables.EA + tension),
    )  # fmt: skip


def end_transformation(axes: FloatArray, offsets: FloatArray) -> FloatArray:
    """(m, 12, 12), end freedoms in beam axes from node freedoms in global axes, rigid offsets included."""
    T = np.zeros((len(axes), 12, 12))
    for side in (0, 1):
        move, turn = slice(6 * side, 6 * side + 3), slice(6 * side + 3, 6 * side + 6)
        T[:, move, move] = T[:, turn, turn] = axes
        T[:, move, turn] = -axes @ skew(offsets[:, side])
    return T


def offset_stiffness(offsets: FloatArray, force: FloatArray) -> FloatArray:
    """(m, 12, 12), what rigid arms that turn under the end forces (m, 12) add to the stiffness."""
    blocks = np.zeros((len(offsets), 12, 12))
    if offsets.any():
        turned = offset_rotation_stiffness(offsets, force.reshape(-1, 2, 6)[:, :, :3])
        blocks[:, 3:6, 3:6], blocks[:, 9:12, 9:12] = turned[:, 0], turned[:, 1]
    return blocks


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class BeamGeometry(ArrayRecord):
    """Positions and axes of beams in one shape, in extended precision.

    sections : (m, 2, 3, 3), rows: the axes of both end sections;   along : (m, 3), m, from end to end
    axes, length, offsets : the elements' own
    """

    sections: Real
    along: Real
    axes: Real
    length: Real
    offsets: Real

    @property
    def in_double(self) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Axes, length and offsets in double precision."""
        return self.axes.astype(float), self.length.astype(float), self.offsets.astype(float)

    @property
    def modes(self) -> FloatArray:
        """G : (m, 6, 12), natural deformations per node movement, in this shape, in double."""
        return np.asarray(global_modes(*self.in_double), dtype=float)


def beam_geometry(frame: Frame, shape: Configuration) -> BeamGeometry:
    """The beams' axes where their nodes are in `shape`."""
    turned = shape.turn[frame.ends]
    offsets = np.einsum("meij,mej->mei", turned, frame.offsets)
    # movements are smaller than coordinates, and so is their rounding
    drawn = frame.nodes.astype(shape.move.dtype)[frame.ends]
    reach = shape.move[frame.ends] + offsets
    along = (drawn[:, 1] - drawn[:, 0]) + (reach[:, 1] - reach[:, 0])
    length = np.sqrt((along * along).sum(axis=1))
    sections = frame.axes[:, None] @ np.swapaxes(turned, 2, 3)
    axes = _align_axes(_mean_axes(sections), along / length[:, None])
    return BeamGeometry(sections, along, axes, length, offsets)


def deform_beams(beams: BeamData, shape: Configuration, temperature_change: FloatArray) -> DeformedBeams:
    """The beams in `shape` after a `temperature_change` (m,), K."""
    frame, at = beams.frame, beam_geometry(beams.frame, shape)
    d = _deformations(beams, at)
    q, tangent = _forces(beams, d, frame.EA * frame.expansion * temperature_change)
    return DeformedBeams(q, tangent, beams.bowing_stiffness, at.modes, *at.in_double)


def _deformations(beams: BeamData, at: BeamGeometry) -> FloatArray:
    """d : (m, 6), natural deformations, differences taken in extended precision."""
    # the end sections relative to the element's own axes, as rotation vectors
    local = rotation_vectors(at.axes[:, None] @ np.swapaxes(at.sections, 2, 3))
    start, end = local[:, 0], local[:, 1]
    stretch = (at.along * at.along).sum(axis=1) - beams.length**2
    d = np.empty((len(stretch), 6))
    d[:, 0], d[:, 1] = stretch / (at.length + beams.length), end[:, 0] - start[:, 0]
    d[:, 2], d[:, 4] = (end - start)[:, 1:].T
    d[:, 3], d[:, 5] = (end + start)[:, 1:].T / 2
    return d


def _mean_axes(sections: Real) -> Real:
    """(m, 3, 3), rows: the axes half-way between those of both end sections (m, 2, 3, 3), less than half a turn apart."""
    first, second = sections[:, 0], sections[:, 1]
    half = rotation_vectors(np.swapaxes(second, 1, 2) @ first) / 2
    return np.asarray(first @ np.swapaxes(rotation_matrices(half), 1, 2))


def _align_axes(axes: Real, x: Real) -> Real:
    """(m, 3, 3), rows: the same axes after the smallest rotation that aligns the first with the unit vectors x (m, 3).

    So an element that bends in any one plane does not rotate about its own axis.
    """
    both = axes[:, 0] + x
    leaning = np.einsum("mj,mj->m", both, x)[:, None]
    y = axes[:, 1] - np.einsum("mj,mj->m", axes[:, 1], x)[:, None] / leaning * both
    return np.stack([x, y, cross(x, y)], axis=1)


def _forces(beams: BeamData, d: FloatArray, thermal: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Natural forces and their tangent (m, 6, 6), end springs in equilibrium."""
    q, tangent = _forces_with_bowing(beams.k, beams.bowing_coefficient, d, thermal)
    ends, which = beams.ends, beams.ends.which
    if not len(which):
        return q, tangent
    k, coefficient, outer, heat = beams.k[which], beams.bowing_coefficient[which], d[which], thermal[which]
    modes, along = ends.modes, np.swapaxes(ends.modes, 1, 2)
    slip = _times(ends.slip, outer)
    for _ in range(MAX_LOCAL_ITERATIONS):
        inner_q, inner_k = _forces_with_bowing(k, coefficient, outer - _times(modes, slip), heat)
        across = inner_k @ modes
        inverse = inverse_of_scaled(*unit_diagonal(along @ across + beams.spring))
        change = _times(inverse, _times(along, inner_q) - _times(beams.spring, slip))
        slip = slip + change
        if np.abs(change).max() <= REL_TOL_LOCAL_ITERATION * max(1.0, np.abs(slip).max()):
            break
    q[which] = inner_q
    tangent[which] = inner_k - across @ inverse @ np.swapaxes(across, 1, 2)
    return q, tangent


def _times(matrix: FloatArray, vector: FloatArray) -> FloatArray:
    """(e, i), the products of matrices (e, i, j) and vectors (e, j)."""
    return np.asarray((matrix @ vector[:, :, None])[:, :, 0])


def _forces_with_bowing(
    k: FloatArray, bowing_coefficient: FloatArray, d: FloatArray, thermal: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """q and ∂q/∂d of elements without end springs: energy ½ EA/L ē² + ½ Σ k α², ē = e + ½ Σ b α²."""
    N = k[:, 0] * (d[:, 0] + 0.5 * (bowing_coefficient * d**2).sum(axis=1)) - thermal
    slope = bowing_coefficient * d
    slope[:, 0] = 1.0
    bending = k.copy()
    bending[:, 0] = 0.0
    tangent = k[:, :1, None] * slope[:, :, None] * slope[:, None, :]
    tangent[:, range(6), range(6)] += bending + N[:, None] * bowing_coefficient
    return bending * d + N[:, None] * slope, tangent
