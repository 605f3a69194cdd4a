"""Cases of frames in their deformed shapes: forces and tangents of shapes, many cases at once, each in its own copy of a frame.

The tangent is that of `corotational_beam`, `corotational_spring` and `cable`. `newton` finds equilibrium with it.
"""

from __future__ import annotations

from collections.abc import Sequence
from copy import copy
from dataclasses import dataclass, replace

import numpy as np
from scipy import sparse

from femcore.base.arrays import ArrayRecord, FloatArray, IntArray, Real
from femcore.elements.cable import (
    CableGeometry,
    cable_geometry,
    elastic_blocks,
    elongation,
    elongation_gradient,
    geometric_blocks,
    nodal_forces,
)
from femcore.elements.corotational_beam import BeamData, Configuration, DeformedBeams, deform_beams
from femcore.elements.corotational_spring import DeformedSprings, deform_springs
from femcore.frame.frame import Frame, Loads
from femcore.solvers.assembly import (
    Assembly,
    Blocks,
    FixedEndForces,
    Parts,
    fixed_end_forces,
    internal_forces,
)
from femcore.solvers.band import FactorsOfPattern, SymmetricFactors
from femcore.solvers.blocks import node_blocks, split_blocks
from femcore.solvers.side_by_side import (
    beams_side_by_side,
    by_copy,
    frames_side_by_side,
    record_of,
    rows_of,
    shape_of,
    sums_side_by_side,
)


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class LoadedParts(ArrayRecord):
    """A frame under its loads, with cables of `unstressed_length` (k,), m, from the shape `start`."""

    parts: Parts
    loads: Loads
    unstressed_length: Real
    start: Configuration

    def only(self, cases: Sequence[int]) -> LoadedParts:
        """Under those of its cases alone."""
        return replace(self, loads=self.loads.only(*cases))


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class State(ArrayRecord):
    """All parts of all cases in their shapes, case by case.

    pull : (c k,), N, tensions of the cables, negative where a slack one would push if it could
    internal_force : (c, n, 6)
    """

    shape: Configuration
    beams: DeformedBeams
    springs: DeformedSprings
    cable_shape: CableGeometry
    pull: FloatArray
    internal_force: FloatArray

    @property
    def tension(self) -> FloatArray:
        """(c k,), N."""
        return np.asarray(np.maximum(self.pull, 0.0))

    def of(self, problem: DeformedCases, which: IntArray) -> State:
        """What it is for the cases of `problem`, which are those of numbers `which` here; one may be there several times."""
        count = len(self.internal_force)
        return State(
            shape_of(self.shape, which, count),
            self.beams.of_copies(problem.beams, lambda values: rows_of(values, which, count)),
            record_of(self.springs, which, count),
            record_of(self.cable_shape, which, count, cables=problem.frame.cables),
            rows_of(self.pull, which, count),
            self.internal_force[which],
        )


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class GeometricForces(ArrayRecord):
    """Natural forces of the beams (c m, 6) and tensions (c k,) that the geometric stiffness is taken with."""

    q: FloatArray
    tension: FloatArray

    @classmethod
    def of(cls, state: State) -> GeometricForces:
        """Those of a state."""
        return cls(state.beams.q, state.tension)

    def only(self, which: IntArray, count: int) -> GeometricForces:
        """Those of the cases `which` of `count`."""
        return GeometricForces(rows_of(self.q, which, count), rows_of(self.tension, which, count))


@dataclass(frozen=True, eq=False)
class _Copies:
    """The frame of every case side by side; `sums` at its nodes over the ends of its parts."""

    beams: BeamData
    sums: sparse.csr_array

    @classmethod
    def of(cls, several: Sequence[tuple[Parts, BeamData]]) -> _Copies:
        frame = frames_side_by_side([parts.frame for parts, _ in several])
        return cls(beams_side_by_side([beams for _, beams in several], frame), sums_side_by_side(frame))


class DeformedCases:
    """Some cases of a frame, or of several that are alike, as functions of their shapes and of the fractions of their loads.

    Nodes, elements and cables are those of all cases, case by case: (c n), (c m), (c k).
    parts : of one of the frames, for what they have in common;   frame_of : (c,), which of the frames each case is of
    unstressed_length : (c, k), m, which may change
    """

    def __init__(self, several: Sequence[LoadedParts]) -> None:
        self.parts, self.size = several[0].parts, several[0].parts.frame.size
        self.frames = [(one.parts, BeamData.of(one.parts.frame, one.parts.ends)) for one in several]
        loads = [one.loads for one in several]
        self.frame_of = np.repeat(np.arange(len(several)), [len(one.names) for one in loads])
        self.names = tuple(name for one in loads for name in one.names)
        fixed_ends = [fixed_end_forces(one.parts, one.loads, thermal=False) for one in several]
        along = list(zip(several, fixed_ends, strict=True))
        self.clamped = np.concatenate([_clamped(one, forces) for one, forces in along])
        self.line_load_share = np.concatenate([
            _line_load_share(one.parts, one.loads, forces) for one, forces in along
        ])  # fmt: skip
        self.dead = np.concatenate([one.nodal for one in loads]) - self.line_load_share
        self.support_displacement = np.concatenate([one.support_displacement for one in loads])
        self.temperature_change = np.concatenate([one.temperature_change for one in loads])
        self.cable_temperature_change = np.concatenate([one.cable_temperature_change for one in loads])
        self.unstressed_length = np.concatenate([
            np.tile(one.unstressed_length, (len(one.loads.names), 1)) for one in several
        ])  # fmt: skip
        self._side_by_side: dict[bytes, _Copies] = {}
        self._own: _Copies | None = None
        self._assembly = Assembly(self.parts, hold_unresisted=False)
        self._factors = FactorsOfPattern()
        self._unresisted, self._projectors = _unresisted([parts for parts, _ in self.frames])

    def only(self, which: IntArray) -> DeformedCases:
        """Those of the cases alone."""
        if len(which) == len(self.names):
            return self
        one = copy(self)
        one.names = tuple(self.names[case] for case in which)
        for name in (
            "clamped", "line_load_share", "dead", "support_displacement", "temperature_change", "cable_temperature_change",
            "unstressed_length", "frame_of",
        ):  # fmt: skip
            setattr(one, name, getattr(self, name)[which])
        one._own = None  # noqa: SLF001  (of the same class)
        return one

    @property
    def _copies(self) -> _Copies:
        """The frames of the cases side by side, made once for each choice of cases."""
        if self._own is None:
            key = self.frame_of.tobytes()
            if key not in self._side_by_side:
                self._side_by_side[key] = _Copies.of([self.frames[frame] for frame in self.frame_of])
            self._own = self._side_by_side[key]
        return self._own

    @property
    def beams(self) -> BeamData:
        """Those of all cases."""
        return self._copies.beams

    @property
    def frame(self) -> Frame:
        """The frames of all cases side by side."""
        return self._copies.beams.frame

    def state(self, shape: Configuration, fraction: FloatArray) -> State:
        """Forces in a shape, with these fractions (c,) of the cases' temperature changes."""
        frame, n = self.frame, len(self.frame.nodes)
        warmer = (fraction[:, None] * self.temperature_change).reshape(-1)
        beams = deform_beams(self.beams, shape, warmer)
        springs = deform_springs(frame, shape)
        of_parts = np.concatenate([beams.force, springs.force]).reshape(-1, 6)
        internal_force = np.asarray(self._copies.sums @ of_parts)
        arms = shape.turned(frame.cables.arms, frame.cables.nodes)
        cable_shape = cable_geometry(frame.cables, frame.nodes + shape.move, arms)
        warmer = (fraction[:, None] * self.cable_temperature_change).reshape(-1)
        free = self.unstressed_length.reshape(-1) * (1 + frame.cables.expansion * warmer)
        pull = np.asarray(frame.cables.EA * (cable_shape.total / free - 1), dtype=float)
        if len(frame.cables):
            internal_force += nodal_forces(
                frame.cables, elongation_gradient(cable_shape), np.maximum(pull, 0.0), n
            )
        return State(shape, beams, springs, cable_shape, pull, self.by_case(internal_force))

    def by_case(self, values: FloatArray) -> FloatArray:
        """(c, …), what is of all copies in turn."""
        return by_copy(values, len(self.names))

    def predicted_forces(self, state: State, step: FloatArray) -> GeometricForces:
        """Forces after a small step (c, n, 6), by the tangents."""
        moved = step.reshape(-1, 6)
        q = state.beams.predicted_forces(moved[self.frame.ends].reshape(-1, 12))
        pull = np.where(state.pull > 0, self.predicted_tension(state, step), 0.0)
        return GeometricForces(q, np.maximum(pull, 0.0))

    def predicted_tension(self, state: State, step: FloatArray) -> FloatArray:
        """(c k,), N, `pull` of the cables after a small step (c, n, 6), by the tangents."""
        cables = self.frame.cables
        longer = elongation(cables, elongation_gradient(state.cable_shape), step.reshape(-1, 6))
        return np.asarray(state.pull + cables.EA / self.unstressed_length.reshape(-1) * longer, dtype=float)

    def tangents(self, state: State, forces: GeometricForces) -> list[SymmetricFactors | None]:
        """The factorised tangents of all cases, geometric parts taken with `forces`; None where singular."""
        if not self.names:
            return []
        pattern, entries = self._assembly.entries(self._tangent_blocks(state, forces), len(self.names))
        return list(self._factors.of(pattern, entries))

    def tangent_matrix(self, state: State, forces: GeometricForces) -> sparse.csc_array:
        """The tangent of the first case."""
        return self._assembly.matrices(self._tangent_blocks(state, forces), len(self.names))[0]

    def _tangent_blocks(self, state: State, forces: GeometricForces) -> list[Blocks]:
        """Node blocks of the tangents of all cases, case by case in each set."""
        frame = self.frame
        found = [(node_blocks(frame.ends), split_blocks(state.beams.stiffness(forces.q)))]
        if len(frame.springs):
            found.append((node_blocks(frame.spring_ends), split_blocks(state.springs.stiffness)))
        if len(frame.cables):
            taut = np.where(
                state.tension > 0, frame.cables.EA / self.unstressed_length.reshape(-1), 0.0
            ).astype(float)
            found.append(elastic_blocks(frame.cables, elongation_gradient(state.cable_shape), taut))
            found += geometric_blocks(state.cable_shape, forces.tension)
        if len(self._unresisted):
            stiffest = max(float(np.abs(blocks).max(initial=0.0)) for _, blocks in found) or 1.0
            held = np.zeros((len(self.names), len(self._unresisted), 6, 6))
            held[..., 3:, 3:] = stiffest * self._projectors[self.frame_of]
            pairs = np.column_stack([self._unresisted, self._unresisted])
            found.append((np.tile(pairs, (len(self.names), 1)), held.reshape(-1, 6, 6)))
        return found

    def out_of_balance(self, state: State, fraction: FloatArray) -> FloatArray:
        """(c, equations), what of these fractions of the loads the forces of a state leave."""
        return self.parts.unknowns(fraction[:, None, None] * self.dead - state.internal_force)

    def corrections(
        self, factors: Sequence[SymmetricFactors | None], state: State, fraction: FloatArray
    ) -> FloatArray:
        """(c, n, 6), movements from a state towards equilibrium under these fractions of the loads; nan without a tangent."""
        return self.parts.movements(solved(factors, self.out_of_balance(state, fraction)))

    def largest(self, movement: FloatArray) -> FloatArray:
        """(c,), m, the largest of movements (c, n, 6), rotations times the frame's size."""
        return self.parts.frame.largest_movement(movement)

    def largest_translation(self, shape: Configuration, start: Configuration) -> FloatArray:
        """(c,), m, the largest movement of a node from one shape to another."""
        moved = np.abs(shape.move - start.move).max(axis=1)
        return np.asarray(self.by_case(moved).max(axis=1), dtype=float)


def solved(factors: Sequence[SymmetricFactors | None], loads: FloatArray) -> FloatArray:
    """(c, equations), the solutions for loads (c, equations); nan where there are no factors."""
    pairs = zip(factors, loads, strict=True)
    found = [np.full_like(load, np.nan) if one is None else one.solve(load) for one, load in pairs]
    return np.array(found).reshape(loads.shape)


def _unresisted(several: Sequence[Parts]) -> tuple[IntArray, FloatArray]:
    """Nodes (i,) with rotations that no part of some frame resists, and the projectors onto these, (frames, i, 3, 3)."""
    nodes = np.unique(np.concatenate([parts.unresisted_loads for parts in several]))
    projectors = np.zeros((len(several), len(nodes), 3, 3))
    for own, parts in zip(projectors, several, strict=True):
        own[np.searchsorted(nodes, parts.unresisted_loads)] = parts.rotation_projectors
    return nodes, projectors


def _clamped(one: LoadedParts, fixed_ends: FixedEndForces | None) -> FloatArray:
    """(c, p, 6), natural forces of the loads along clamped beams."""
    if fixed_ends is None:
        return np.zeros((len(one.loads.names), len(one.parts.nodes), 6))
    return fixed_ends.q


def _line_load_share(parts: Parts, loads: Loads, fixed_ends: FixedEndForces | None) -> FloatArray:
    if fixed_ends is None:
        return np.zeros_like(loads.nodal)
    return np.asarray(internal_forces(parts, fixed_ends.q, fixed_ends, dtype=np.float64))


def line_load_share(parts: Parts, loads: Loads) -> FloatArray:
    """(c, n, 6), end forces of clamped beams under line loads: the equivalent nodal loads with the sign changed."""
    return _line_load_share(parts, loads, fixed_end_forces(parts, loads, thermal=False))


__all__ = ["DeformedCases", "GeometricForces", "LoadedParts", "State", "line_load_share", "solved"]
