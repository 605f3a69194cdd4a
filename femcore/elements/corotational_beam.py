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

from collections.abc import Callable
from dataclasses import dataclass, fields, replace
from functools import cache, cached_property
from typing import Any

import numpy as np
import numpy.typing as npt

from femcore.base.arrays import EXTENDED, ArrayRecord, FloatArray, IntArray, Real
from femcore.base.rotations import (
    product,
    quaternions,
    rotation_matrices,
    rotation_vectors,
    turned,
    turned_back,
    vector_between,
)
from femcore.elements.beam import (
    CondensedEnds,
    inverse_of_scaled,
    local_modes,
    natural_stiffness,
    spring_matrices,
    unit_diagonal,
)
from femcore.elements.geometric_stiffness import bowing, offset_rotation_stiffness, rotation_stiffness, skew
from femcore.elements.kinematics import BeamKinematics
from femcore.frame.frame import Frame

MAX_LOCAL_ITERATIONS = 12
"""Of Newton's method for the end springs of an element: two to six are usual."""
LOCAL_REUSE_RATIO = 0.01
"""Of the last change of the end slips: where the next one is larger, their stiffness is inverted anew."""
REL_TOL_LOCAL_ITERATION = 1e-14
"""Of the largest deformation between the nodes or end slip, m or rad: a smaller change of the slips is rounding."""
MODES = 6
UPPER = np.triu_indices(MODES)
"""Places of a symmetric (6, 6) matrix that make it up."""


@cache
def unit_stiffness() -> FloatArray:
    """(27, 144): of an element of unit length the stiffness between its ends, beam axes, of each place `UPPER` of its natural
    tangent, then of each natural force.

    By their dimensions those of an element of length L are the same where elongations and movements are divided by L, and
    axial forces and stiffnesses multiplied by it.
    """
    B, tangents = local_modes(np.ones(1))[0], np.zeros((len(UPPER[0]), 6, 6))
    places = np.arange(len(tangents))
    tangents[places, UPPER[0], UPPER[1]] = tangents[places, UPPER[1], UPPER[0]] = 1.0
    return np.concatenate([B.T @ tangents @ B, rotation_stiffness(np.ones(6), np.eye(6))]).reshape(-1, 144)


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Configuration(ArrayRecord):
    """Positions and rotations of the nodes, in extended precision.

    move : (n, 3), m;   turn : (n, 4), unit quaternions
    """

    move: Real
    turn: Real

    @classmethod
    def undeformed(cls, frame: Frame) -> Configuration:
        """As drawn."""
        return cls.from_displacement(np.zeros((len(frame.nodes), 6)))

    @classmethod
    def from_displacement(cls, displacement: FloatArray) -> Configuration:
        """After movements (n, 6), rotations as vectors."""
        return cls(displacement[:, :3].astype(EXTENDED), quaternions(displacement[:, 3:].T).T)

    def updated(self, step: FloatArray) -> Configuration:
        """The shape after movements and spins `step` (n, 6)."""
        return Configuration(self.move + step[:, :3], product(quaternions(step[:, 3:].T), self.turn.T).T)

    @property
    def displacement(self) -> FloatArray:
        """(n, 6), m and rad, rotations as vectors."""
        return np.concatenate([self.move.T, rotation_vectors(self.turn.T.astype(float))]).T.astype(float)

    def turned(self, vectors: Real, nodes: IntArray) -> Real:
        """(k, 3), vectors (k, 3) that turn with the nodes (k,), in extended precision."""
        return turned(self.turn[nodes].T, vectors.T).T


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class BeamData(ArrayRecord):
    """Properties of the beams that do not change with their shape.

    length                : (m,), m, as built
    k, bowing_coefficient : (m, 6), natural stiffness, and what axial force adds to it per N
    bowing_stiffness      : (m, 6, 6), the same between the nodes, end springs condensed
    drawn                 : as of `drawn_spans`
    ends                  : the condensed end springs;   spring : (e, 12, 12), their stiffness
    """

    frame: Frame
    length: FloatArray
    k: FloatArray
    bowing_coefficient: FloatArray
    bowing_stiffness: FloatArray
    drawn: Real
    ends: CondensedEnds
    spring: FloatArray

    @classmethod
    def of(cls, frame: Frame, ends: CondensedEnds) -> BeamData:
        """From a frame and its condensed end springs."""
        return cls(
            frame, frame.length, natural_stiffness(frame), bowing(frame), bowing_stiffness(frame, ends),
            drawn_spans(frame), ends, spring_matrices(frame, ends.which),
        )  # fmt: skip


@dataclass(frozen=True, eq=False, repr=False)
class DeformedBeams(ArrayRecord):
    """Beams in one shape.

    at : where they are;   q : (m, 6), natural forces
    d  : (m, 6), natural deformations, those of the elements themselves, inside any end springs
    thermal : (m,), N, compression of the clamped elements under their temperature change
    """

    beams: BeamData
    at: BeamGeometry
    d: FloatArray
    q: FloatArray
    thermal: FloatArray

    @property
    def force(self) -> FloatArray:
        """(m, 12), forces of the nodes on the elements, global axes."""
        return np.asarray(self.at.kinematics.forces(self.q[None])[0])

    @cached_property
    def tangent(self) -> FloatArray:
        """(m, 6, 6), change of the natural forces with the deformations between the nodes."""
        beams, ends, which = self.beams, self.beams.ends, self.beams.ends.which
        tangent = _tangent_with_bowing(beams.k, beams.bowing_coefficient, self.d, self.thermal)
        if len(which):
            across = tangent[which] @ ends.modes
            tangent[which] -= across @ _slip_flexibility(beams, across) @ np.swapaxes(across, 1, 2)
        return tangent

    def stiffness(self, q: FloatArray | None = None) -> FloatArray:
        """(m, 12, 12), change of `force` with the node movements, symmetric part, global axes.

        q : (m, 6), natural forces of the geometric part, where these are known better than from the shape.
        """
        q, at = self.q if q is None else q, self.at
        tangent = self.tangent + (q - self.q)[:, 0, None, None] * self.beams.bowing_stiffness
        length = at.length.astype(float)[:, None]
        of_unit_length = np.concatenate([tangent[:, *UPPER], q], axis=1)
        of_unit_length[:, :MODES] *= length
        of_unit_length[:, [0, len(UPPER[0])]] *= length
        to_ends = end_transformation(at.axes, at.offsets)
        to_ends.reshape(-1, 2, 2, 3, 12)[:, :, 0] /= length[:, None, :, None]
        K = (of_unit_length @ unit_stiffness()).reshape(-1, 12, 12)
        K = np.swapaxes(to_ends, 1, 2) @ K @ to_ends
        if at.offsets.any():
            K += offset_stiffness(at.offsets, at.kinematics.forces(q[None])[0])
        return np.asarray(K)

    def of_copies(
        self, beams: BeamData, rows: Callable[[npt.NDArray[Any]], npt.NDArray[Any]]
    ) -> DeformedBeams:
        """Those of the copies in `beams`, chosen by `rows` from any values on the elements of all."""
        at = BeamGeometry(*(rows(getattr(self.at, one.name)) for one in fields(self.at)))
        some = DeformedBeams(beams, at, rows(self.d), rows(self.q), rows(self.thermal))
        if "tangent" in vars(self):
            vars(some)["tangent"] = rows(self.tangent)
        return some

    def predicted_forces(self, step: FloatArray) -> FloatArray:
        """(m, 6), natural forces after small movements of both nodes (m, 12), by the tangent."""
        longer = self.at.kinematics.deformations(step[None])[0]
        return np.asarray(self.q + _times(self.tangent, longer))


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
    at = beam_geometry(frame, shape)
    arms = shape.turned(frame.cables.arms, frame.cables.nodes).astype(float)
    longer = at.length.astype(float) / frame.length
    stiffness = {key: getattr(frame, key) * longer for key in ("EA", "EIy", "EIz", "GJ")}
    return replace(
        frame, nodes=frame.nodes + displacement[:, :3], axes=at.axes, offsets=at.offsets, **stiffness,
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
        some = np.flatnonzero(offsets[:, side].any(axis=1))
        T[some, move, turn] = -axes[some] @ skew(offsets[some, side])
    return T


def offset_stiffness(offsets: FloatArray, force: FloatArray) -> FloatArray:
    """(m, 12, 12), what rigid arms that turn under the end forces (m, 12) add to the stiffness."""
    blocks = np.zeros((len(offsets), 12, 12))
    if offsets.any():
        turned = offset_rotation_stiffness(offsets, force.reshape(-1, 2, 6)[:, :, :3])
        blocks[:, 3:6, 3:6], blocks[:, 9:12, 9:12] = turned[:, 0], turned[:, 1]
    return blocks


@dataclass(frozen=True, eq=False, repr=False)
class BeamGeometry(ArrayRecord):
    """Positions and axes of beams in one shape.

    along, length : (m, 3), (m,), m, from end to end, and longer, (m,), m, than as drawn: in extended precision
    axes, offsets : the elements' own, (m, 3, 3), rows, and (m, 2, 3), m
    rotation      : (m, 2, 3), rad, of both end sections against the element's axes, in these
    """

    along: Real
    length: Real
    longer: Real
    axes: FloatArray
    offsets: FloatArray
    rotation: FloatArray

    @cached_property
    def kinematics(self) -> BeamKinematics:
        """Small further deformations, and forces on the nodes, in this shape."""
        return BeamKinematics(self.axes, self.length.astype(float), self.along.astype(float), self.offsets)


def drawn_spans(frame: Frame) -> Real:
    """(m, 3), m, from end to end of the beams as drawn, in extended precision."""
    ends = frame.nodes.astype(EXTENDED)[frame.ends] + frame.offsets
    return np.asarray(ends[:, 1] - ends[:, 0])


def beam_geometry(frame: Frame, shape: Configuration, drawn: Real | None = None) -> BeamGeometry:
    """The beams' axes where their nodes are in `shape`; `drawn` as of `drawn_spans`, where it is known.

    What is small, the differences of both ends and of the shape from the drawing, is taken in extended precision; what follows
    from these differences is in double.
    """
    drawn = drawn_spans(frame) if drawn is None else drawn
    offsets, arms = frame.offsets, np.flatnonzero(frame.offsets.any(axis=(1, 2)))
    moved = np.ascontiguousarray((shape.move[frame.ends[:, 1]] - shape.move[frame.ends[:, 0]]).T)
    if len(arms):
        rigid, nodes = offsets[arms].reshape(-1, 3), frame.ends[arms].reshape(-1)
        carried = shape.turned(rigid, nodes).reshape(-1, 2, 3)
        shifted = carried - offsets[arms]
        moved[:, arms] += (shifted[:, 1] - shifted[:, 0]).T
        offsets = offsets.copy()
        offsets[arms] = carried
    span, straight = np.ascontiguousarray(drawn.T), frame.length
    along = span + moved
    length = np.sqrt((along * along).sum(axis=0))
    longer = (moved * (along + span)).sum(axis=0) / (length + straight)
    half, mean, half_bend = _half_way(*(np.ascontiguousarray(shape.turn.T[:, end]) for end in frame.ends.T))
    leaning = turned_back(mean, along) - span
    both = frame.axes @ np.stack([leaning.T, half_bend.T], axis=2).astype(float)
    chord = both[:, :, 0].T.copy()
    chord[0] += straight
    aligned, rotation = _aligned(chord / np.sqrt((chord * chord).sum(axis=0)), half, both[:, :, 1].T)
    sections = frame.axes @ np.swapaxes(rotation_matrices(mean.astype(float)), 1, 2)
    return BeamGeometry(along.T, length, longer, aligned @ sections, offsets, rotation)


def _half_way(first: Real, second: Real) -> tuple[FloatArray, Real, FloatArray]:
    """From both ends' rotations (4, m), less than half a turn apart, to the middle of the way between them.

    Its quaternion's first component (m,), the rotation there (4, m) and the rest of the quaternion from there to the second
    end, (3, m), in the axes as drawn.
    """
    cosine = (first * second).sum(axis=0)
    if (cosine < 0).any():
        second, cosine = np.where(cosine < 0, -second, second), np.abs(cosine)
    both = np.sqrt(2 + 2 * cosine)
    return (
        (both / 2).astype(float),
        (first + second) / both,
        (vector_between(first, second) / both).astype(float),
    )


def _aligned(x: FloatArray, half: FloatArray, bend: FloatArray) -> tuple[FloatArray, FloatArray]:
    """The element's axes, and the rotations of its end sections against them.

    The axes (m, 3, 3), rows, in those of the section half-way, are these after the smallest rotation that aligns the first with
    the unit vectors x (3, m); so an element that bends in any one plane does not rotate about its own axis. The end sections
    are at the quaternions `half` (m,), −`bend` and `bend` (3, m) from half-way; rotations (m, 2, 3), rad, in the element's axes.
    """
    lean = 1 + x[0]
    axes = np.empty((len(lean), 3, 3))
    axes[:, 0], axes[:, 1:, 0] = x.T, -x[1:].T
    axes[:, 1, 1], axes[:, 2, 2] = 1 - x[1] * x[1] / lean, 1 - x[2] * x[2] / lean
    axes[:, 1, 2] = axes[:, 2, 1] = -x[1] * x[2] / lean
    # from the section half-way to these axes, backwards: (1 + x₀, 0, z, −y) over its size
    w = np.sqrt(lean / 2)
    back = np.stack([w, np.zeros_like(w), x[2] / (2 * w), -x[1] / (2 * w)])
    ends = (np.concatenate([half[None], sign * bend]) for sign in (-1, 1))
    return axes, np.stack([rotation_vectors(product(back, end)).T for end in ends], axis=1)


def deform_beams(beams: BeamData, shape: Configuration, temperature_change: FloatArray) -> DeformedBeams:
    """The beams in `shape` after a `temperature_change` (m,), K."""
    frame, at = beams.frame, beam_geometry(beams.frame, shape, beams.drawn)
    thermal = frame.EA * frame.expansion * temperature_change
    d, q = _forces(beams, _deformations(at), thermal)
    return DeformedBeams(beams, at, d, q, thermal)


def _deformations(at: BeamGeometry) -> FloatArray:
    """d : (m, 6), natural deformations."""
    start, end = at.rotation[:, 0], at.rotation[:, 1]
    d = np.empty((len(start), 6))
    d[:, 0], d[:, 1] = at.longer, end[:, 0] - start[:, 0]
    d[:, 2:5:2], d[:, 3:6:2] = (end - start)[:, 1:], (end + start)[:, 1:] / 2
    return d


def _forces(beams: BeamData, between: FloatArray, thermal: FloatArray) -> tuple[FloatArray, FloatArray]:
    """From deformations between the nodes to d and q (m, 6) of the elements, end springs in equilibrium."""
    d, which = between.copy(), beams.ends.which
    if len(which):
        d[which] = _inside_end_springs(beams, between[which], thermal[which])
    return d, _forces_with_bowing(beams.k, beams.bowing_coefficient, d, thermal)


def _inside_end_springs(beams: BeamData, outer: FloatArray, thermal: FloatArray) -> FloatArray:
    """(e, 6), natural deformations of elements inside their end springs, from those between the nodes."""
    ends, k, coefficient = beams.ends, beams.k[beams.ends.which], beams.bowing_coefficient[beams.ends.which]
    slip, inverse, last = _times(ends.slip, outer), ends.M_inv, np.inf
    largest = max(float(np.abs(outer).max()), float(np.abs(slip).max()))
    for _ in range(MAX_LOCAL_ITERATIONS):
        inner = outer - _times(ends.modes, slip)
        pulled = _times(np.swapaxes(ends.modes, 1, 2), _forces_with_bowing(k, coefficient, inner, thermal))
        missing = pulled - _times(beams.spring, slip)
        change = _times(inverse, missing)
        size = float(np.abs(change).max())
        if size > LOCAL_REUSE_RATIO * last:
            across = _tangent_with_bowing(k, coefficient, inner, thermal) @ ends.modes
            inverse = _slip_flexibility(beams, across)
            change = _times(inverse, missing)
            size = float(np.abs(change).max())
        slip, last = slip + change, size
        if size <= REL_TOL_LOCAL_ITERATION * largest:
            break
    return np.asarray(outer - _times(ends.modes, slip))


def _slip_flexibility(beams: BeamData, across: FloatArray) -> FloatArray:
    """(e, 12, 12), end slips per force on them, given natural forces per slip `across` (e, 6, 12)."""
    own = np.swapaxes(beams.ends.modes, 1, 2) @ across
    return inverse_of_scaled(*unit_diagonal(own + beams.spring))


def _times(matrix: FloatArray, vector: FloatArray) -> FloatArray:
    """(e, i), the products of matrices (e, i, j) and vectors (e, j)."""
    return np.asarray((matrix @ vector[:, :, None])[:, :, 0])


def _axial_force(k: FloatArray, coefficient: FloatArray, d: FloatArray, thermal: FloatArray) -> FloatArray:
    """(m, 1), N, with the axial strain averaged over the bowed shape."""
    N = k[:, 0] * (d[:, 0] + 0.5 * (coefficient * d * d).sum(axis=1)) - thermal
    return np.asarray(N[:, None])


def _forces_with_bowing(
    k: FloatArray, coefficient: FloatArray, d: FloatArray, thermal: FloatArray
) -> FloatArray:
    """q of elements without end springs: energy ½ EA/L ē² + ½ Σ k α², ē = e + ½ Σ b α²."""
    N = _axial_force(k, coefficient, d, thermal)
    q = (k + N * coefficient) * d
    q[:, :1] = N
    return np.asarray(q)


def _tangent_with_bowing(
    k: FloatArray, coefficient: FloatArray, d: FloatArray, thermal: FloatArray
) -> FloatArray:
    """∂q/∂d, (m, 6, 6), of the same."""
    slope, bending = coefficient * d, k + _axial_force(k, coefficient, d, thermal) * coefficient
    slope[:, 0], bending[:, 0] = 1.0, 0.0
    tangent = (k[:, :1] * slope)[:, :, None] * slope[:, None, :]
    tangent[:, range(6), range(6)] += bending
    return np.asarray(tangent)
