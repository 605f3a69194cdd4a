"""From elements to equations, and back: freedoms, the sparse stiffness, internal forces element by element.

Beams and springs are both "parts": two nodes, modes G (6, 12), natural stiffness k (6, 6). The assembled matrix, in double
precision, is factorised; internal forces, summed part by part in extended precision, refine the solution, since a rigid motion
must cost nothing to more digits than the solution has (the condition number of a chain of n beams grows with n⁴).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from scipy import sparse

from femcore.base.arrays import EXTENDED, ArrayRecord, FloatArray, IntArray, Real
from femcore.base.vectors import cross
from femcore.elements.beam import CondensedEnds, end_springs, fixed_end, natural_stiffness, stiffness_of_beams
from femcore.elements.cable import cable_geometry, elastic_blocks, elongation_gradient, pairs
from femcore.elements.kinematics import BeamKinematics, SpringKinematics, beam_kinematics, spring_kinematics
from femcore.elements.stretch_loads import stretch_fixed_end
from femcore.frame.frame import Frame, Loads
from femcore.solvers.blocks import (
    EquationNumbers,
    SparsityPattern,
    node_blocks,
    number_equations,
    sum_blocks,
    with_values,
)

CHUNK_SIZE = 4096
"""Parts worked on at once, so that their modes (6 × 12 numbers each) fit the cache."""
REL_TOL_UNRESISTED_ROTATION = 1e-15
"""Of a node's largest rotational stiffness: a smaller one is treated as zero, so that nothing resists that rotation."""


def extended_digits() -> int:
    """Decimal digits of the extended precision on this platform (18 on x86-64, 15 where it is a double)."""
    return int(np.finfo(EXTENDED).precision)


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Parts(ArrayRecord):
    """Everything with stiffness, beams first, then springs.

    frame               : the frame they come from
    nodes               : (p, 2)
    k                   : (p, 6, 6), natural stiffness, end springs condensed
    ends                : the condensed end springs of beams
    free                : (n, 6), equation number of each freedom, in the order of elimination; −1 where a support fixes it
    unresisted_loads    : (i,), nodes with a rotation that no part resists
    rotation_projectors : (i, 3, 3), projectors onto these rotations
    sums                : (n, 2 p), of ones, the sum over the ends of parts at each node
    """

    frame: Frame
    nodes: IntArray
    k: FloatArray
    ends: CondensedEnds
    free: EquationNumbers
    unresisted_loads: IntArray
    rotation_projectors: FloatArray
    sums: sparse.csr_array

    @property
    def equations(self) -> int:
        """How many freedoms are free."""
        return int(self.free.max(initial=-1)) + 1

    def movements(self, solved: FloatArray) -> FloatArray:
        """u : (c, n, 6), 0 where a support fixes them, from the equations' unknowns (c, equations)."""
        u, free = np.zeros((len(solved), *self.free.shape)), self.free >= 0
        u[:, free] = solved[:, self.free[free]]
        return u

    def unknowns(self, nodal: Real) -> FloatArray:
        """(c, equations), what nodal values (c, n, 6) are at the free freedoms."""
        chosen, free = np.empty((len(nodal), self.equations)), self.free >= 0
        chosen[:, self.free[free]] = nodal[:, free]
        return chosen

    def chunks(self) -> Iterator[tuple[slice, FloatArray]]:
        """Slices of the part axis with their modes G (chunk, 6, 12), small enough for the cache."""
        for part, motion in self.kinematics(np.float64):
            yield part, motion.modes()

    def kinematics(
        self, dtype: type[np.floating[Any]]
    ) -> Iterator[tuple[slice, BeamKinematics | SpringKinematics]]:
        """The same slices with the kinematics behind G, differences taken in `dtype`."""
        beams, total = len(self.frame.ends), len(self.nodes)
        for first in range(0, beams, CHUNK_SIZE):
            part = slice(first, min(first + CHUNK_SIZE, beams))
            yield part, beam_kinematics(self.frame, part, dtype)
        if total > beams:
            yield slice(beams, total), spring_kinematics(self.frame, dtype)


def parts_of(frame: Frame) -> Parts:
    """Number the freedoms, gather the natural stiffness of all parts; Mechanism where one beam is a mechanism in itself."""
    ends = end_springs(frame)
    beams, total = len(frame.ends), len(frame.ends) + len(frame.springs)
    k, diagonal = np.zeros((total, 6, 6)), np.arange(6)
    k[:beams] = stiffness_of_beams(frame, ends)
    k[beams:, diagonal, diagonal] = frame.springs
    nodes = np.concatenate([frame.ends, frame.spring_ends])
    left, right = pairs(frame.cables)
    joined = np.column_stack([frame.cables.nodes[left], frame.cables.nodes[right]])
    free = number_equations(frame.fixed, np.concatenate([nodes, joined]))
    no_nodes, no_turns = np.zeros(0, dtype=np.int64), np.zeros((0, 3, 3))
    none = Parts(frame, nodes, k, ends, free, no_nodes, no_turns, sums_at_nodes(nodes, len(frame.nodes)))
    unresisted_loads, rotation_projectors = _unresisted_rotations(none)
    return replace(none, unresisted_loads=unresisted_loads, rotation_projectors=rotation_projectors)


def stiffness(parts: Parts) -> sparse.csc_array:
    """The assembled stiffness over the free freedoms, (equations, equations); unresisted rotations are restrained.

    Nothing resists the rotation of a node of a pin-jointed truss, and nothing turns it: such rotations get a stiffness here, in
    the matrix that is factorised. It is left out of the residual, so it does not affect the solution.
    """
    of_parts = np.empty((len(parts.nodes), 2, 2, 6, 6))
    for part, G in parts.chunks():
        K = np.swapaxes(G, 1, 2) @ (parts.k[part] @ G)
        of_parts[part] = K.reshape(-1, 2, 6, 2, 6).swapaxes(2, 3)
    found = [(node_blocks(parts.nodes), of_parts.reshape(-1, 6, 6))]
    cables = parts.frame.cables
    if len(cables):
        cable_shape = cable_geometry(cables, parts.frame.nodes)
        found.append(elastic_blocks(cables, elongation_gradient(cable_shape), cables.EA / cable_shape.total))
    return assembled(parts, found)


Blocks = tuple[IntArray, FloatArray]
"""Node pairs (b, 2) and a block (b, 6, 6) for each."""


def assembled(parts: Parts, found: list[Blocks], *, hold_unresisted: bool = True) -> sparse.csc_array:
    """The matrix of blocks between nodes, unresisted rotations restrained (in a stiffness)."""
    pairs, blocks = _joined(_with_rotation_restraint(parts, found) if hold_unresisted else found)
    return sum_blocks(blocks, pairs[:, 0], pairs[:, 1], parts.free)


class Assembly:
    """Matrices of blocks between the same nodes: their sparsity pattern is computed once, for the first."""

    def __init__(self, parts: Parts, *, hold_unresisted: bool = True) -> None:
        self.parts, self._hold_idle = parts, hold_unresisted
        self._pattern: SparsityPattern | None = None

    def matrix(self, found: list[Blocks]) -> sparse.csc_array:
        """As `assembled`, of blocks whose node pairs are those of the first call."""
        return self.matrices(found, 1)[0]

    def matrices(self, found: list[Blocks], copies: int) -> list[sparse.csc_array]:
        """Those of so many copies of the parts side by side, whose blocks follow each other copy by copy in each set."""
        pattern, entries = self.entries(found, copies)
        return [with_values(pattern, values) for values in entries]

    def entries(self, found: list[Blocks], copies: int) -> tuple[sparse.csc_array, FloatArray]:
        """A matrix of the pattern, whatever its values, and the entries (copies, nonzeros) of the same matrices."""
        sets = _with_rotation_restraint(self.parts, found, copies) if self._hold_idle else found
        one = [
            (pairs[: len(pairs) // copies], blocks.reshape(copies, len(pairs) // copies, 6, 6))
            for pairs, blocks in sets
        ]
        pairs, blocks = _joined([(of, each.swapaxes(0, 1)) for of, each in one])
        self._pattern = self._pattern or SparsityPattern.of(pairs[:, 0], pairs[:, 1], self.parts.free)
        return self._pattern.empty, self._pattern.entries(blocks)


def _joined(found: list[Blocks]) -> Blocks:
    """All sets of blocks as one."""
    # a single set is not copied, since it is the largest array of a solution
    if len(found) == 1:
        return found[0]
    pairs, blocks = zip(*found, strict=True)
    return np.concatenate(pairs), np.concatenate(blocks)


def _with_rotation_restraint(parts: Parts, found: list[Blocks], copies: int = 1) -> list[Blocks]:
    """All sets of blocks, and one that restrains the unresisted rotations of each copy of the parts."""
    if not len(parts.unresisted_loads):
        return found
    stiffest = max(float(np.abs(blocks).max(initial=0.0)) for _, blocks in found) or 1.0
    restraint = np.zeros((len(parts.unresisted_loads), 6, 6))
    restraint[:, 3:, 3:] = stiffest * parts.rotation_projectors
    pairs = np.column_stack([parts.unresisted_loads, parts.unresisted_loads])
    return [*found, (np.tile(pairs, (copies, 1)), np.tile(restraint, (copies, 1, 1)))]


def _unresisted_rotations(parts: Parts) -> tuple[IntArray, FloatArray]:
    """Nodes (i,) with rotations that no part resists, and the projectors (i, 3, 3) onto these rotations."""
    complete = np.all(parts.k[:, range(6), range(6)] > 0, axis=1)
    complete[parts.ends.which] = False
    complete[len(parts.frame.ends) :] = False
    doubtful = np.ones(len(parts.frame.nodes), dtype=bool)
    doubtful[parts.nodes[complete]] = False
    doubtful &= ~parts.frame.fixed[:, 3:].all(axis=1)
    doubtful[parts.frame.cables.nodes[parts.frame.cables.arms.any(axis=1)]] = False
    if parts.frame.node_index:
        # a node within a beam joins nothing: a free rotation there is a beam that rotates about its axis, no pin joint
        doubtful &= np.isin(np.arange(len(doubtful)), list(parts.frame.node_index.values()))
    nodes = np.flatnonzero(doubtful)
    if not len(nodes):
        return nodes, np.zeros((0, 3, 3))
    resisted = np.zeros((len(doubtful), 3, 3))
    resisted[:, range(3), range(3)] = parts.frame.fixed[:, 3:]
    size = parts.frame.size**2
    for part, G in parts.chunks():
        touched = doubtful[parts.nodes[part]].any(axis=1)
        k = parts.k[part][touched]
        for side in (0, 1):
            turn = G[touched, :, 6 * side + 3 : 6 * side + 6]
            block = np.swapaxes(turn, 1, 2) @ k @ turn
            np.add.at(resisted, parts.nodes[part][touched, side], block / size)
    scale = np.abs(resisted[nodes]).max(axis=(1, 2)) + np.finfo(float).tiny
    stiffness, direction = np.linalg.eigh(resisted[nodes] / scale[:, None, None])
    unresisted = (stiffness < REL_TOL_UNRESISTED_ROTATION).astype(float)
    some = unresisted.any(axis=1)
    projector = np.einsum("nij,nj,nkj->nik", direction, unresisted, direction)
    return nodes[some], projector[some]


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class FixedEndForces(ArrayRecord):
    """Forces of all cases on parts whose nodes are fixed: q (c, p, 6) natural, p (c, m, 12) in equilibrium with the loads."""

    q: FloatArray
    p: FloatArray


def fixed_end_forces(parts: Parts, loads: Loads, *, thermal: bool = True) -> FixedEndForces | None:
    """Forces of line loads and temperature changes in clamped beams, end springs included; None where there are none.

    A beam under a temperature change ΔT between clamped ends is compressed by EA α ΔT; `thermal` False leaves that out.
    """
    frame = parts.frame
    change = loads.temperature_change if thermal else np.zeros_like(loads.temperature_change)
    thermal_force = frame.EA * frame.expansion * change
    if not loads.loaded_elements.any() and not thermal_force.any():
        return None
    q0, p0 = clamped_end_forces(frame, loads)
    q0[..., 0] -= thermal_force
    which = parts.ends.which
    k = natural_stiffness(frame)[which]
    q0[:, which] = parts.ends.condensed_load(k, q0[:, which], p0[:, which])
    q = np.zeros((len(loads.names), len(parts.nodes), 6))
    q[:, : len(frame.ends)] = q0
    return FixedEndForces(q, p0)


def clamped_end_forces(frame: Frame, loads: Loads) -> tuple[FloatArray, FloatArray]:
    """q0 (c, m, 6) and p0 (c, m, 12) of all loads along clamped elements, end springs and temperature left out."""
    q0, p0 = fixed_end(frame, loads.line)
    stretches = loads.stretches
    if len(stretches.element):
        q, p = stretch_fixed_end(frame, stretches)
        for whole, part in ((q0, q), (p0, p)):
            np.add.at(whole.swapaxes(0, 1), stretches.element, part.swapaxes(0, 1))
    return q0, p0


def natural_forces(parts: Parts, u: Real, fixed_ends: FixedEndForces | None = None) -> FloatArray:
    """q : (c, p, 6), natural forces under node movements u (c, n, 6); differences as precise as u."""
    q = np.empty((len(u), len(parts.nodes), 6))
    for part, motion in parts.kinematics(u.dtype.type):
        d = motion.deformations(u[:, parts.nodes[part]].reshape(len(u), -1, 12))
        q[:, part] = np.einsum("pij,cpj->cpi", parts.k[part], d)
    return q if fixed_ends is None else q + fixed_ends.q


def internal_forces(
    parts: Parts,
    q: FloatArray,
    fixed_ends: FixedEndForces | None = None,
    dtype: type[np.floating[Any]] = EXTENDED,
) -> Real:
    """(c, n, 6), forces of the nodes on the parts: the sum of all end forces, in `dtype`."""
    cases = len(q)
    ends = np.empty((len(parts.nodes), 2, cases, 6), dtype=dtype)
    for part, motion in parts.kinematics(dtype):
        ends[part] = np.moveaxis(motion.forces(q[:, part]).reshape(cases, -1, 2, 6), 0, 2)
    if fixed_ends is not None:
        beams = _to_nodes(parts.frame, fixed_ends.p).reshape(cases, -1, 2, 6)
        ends[: len(parts.frame.ends)] += np.moveaxis(beams, 0, 2)
    total = parts.sums @ ends.reshape(-1, 6 * cases)
    return np.ascontiguousarray(total.reshape(-1, cases, 6).swapaxes(0, 1))


def sums_at_nodes(nodes: IntArray, count: int) -> sparse.csr_array:
    """(count, 2 p), of ones: the sum over the ends (p, 2) of parts at each node."""
    flat = nodes.reshape(-1)
    stops = np.cumsum(np.bincount(flat, minlength=count))
    order = np.argsort(flat, kind="stable")
    return sparse.csr_array((np.ones(len(flat)), order, np.append(0, stops)), (count, len(flat)))


def _to_nodes(frame: Frame, p: FloatArray) -> FloatArray:
    """End forces (c, m, 12), beam axes, as forces and moments on the nodes, global axes, offsets included."""
    parts = p.reshape(*p.shape[:-1], 2, 2, 3)
    turned = np.einsum("mij,cmefi->cmefj", frame.axes, parts)
    turned[..., 1, :] += cross(frame.offsets, turned[..., 0, :])
    return np.asarray(turned).reshape(p.shape)
