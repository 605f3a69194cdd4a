"""Linear buckling: the multiple of its loads at which a frame loses its stiffness, and the shape in which it does.

    (K + G_sustained + λ G_growing) φ = 0

K is the stiffness as drawn, or, of a case solved in its deformed shape, the stiffness there (slack cables left out), G the
geometric stiffness of the internal forces of a solved case. The forces of the cables' pretension alone are sustained while the
load grows, unless they are to grow too. λ > 0 are sought, the lowest first: a load that only pulls has none.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy import sparse

from femcore.base.arrays import ArrayRecord, BoolArray, FloatArray
from femcore.base.errors import NoConvergence
from femcore.elements.beam import global_modes
from femcore.elements.cable import (
    CableGeometry,
    cable_geometry,
    elastic_blocks,
    elongation_gradient,
    geometric_blocks,
)
from femcore.elements.corotational_beam import (
    bowing_stiffness,
    deformed_frame,
    end_transformation,
    offset_stiffness,
)
from femcore.elements.corotational_spring import spring_geometric_stiffness
from femcore.elements.geometric_stiffness import rotation_stiffness
from femcore.solvers.assembly import Assembly, Blocks, Parts, parts_of
from femcore.solvers.band import FactorsOfPattern, SparseFactors, SymmetricFactors
from femcore.solvers.blocks import factorise_symmetric, node_blocks, split_blocks
from femcore.solvers.eigen import KnownModes, lowest
from femcore.solvers.prepared_frame import PreparedFrame
from femcore.solvers.side_by_side import are_alike, parts_side_by_side
from femcore.solvers.solution import Solution

MAX_ELEMENTS_AT_ONCE = 4096
"""Of all cases that are assembled side by side: their stiffness, 12 × 12 numbers each, then fits the cache."""


@dataclass(frozen=True, slots=True, eq=False)
class Modes:
    """Eigenvalues, ascending, and shapes (found, n, 6), each 1 at its largest entry, global axes."""

    values: FloatArray
    shapes: FloatArray

    def __repr__(self) -> str:
        return f"Modes({', '.join(f'{value:.4g}' for value in self.values[:6])}{' …' if len(self.values) > 6 else ''})"


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class GeometricStiffness(ArrayRecord):
    """The part of the geometric stiffness of a frame, as drawn, that does not depend on its forces.

    G : (m, 6, 12), natural deformations from node freedoms;   to_ends : (m, 12, 12), end freedoms from those of nodes
    bowing_stiffness : (m, 6, 6), per N of axial force;   cable_shape : of the cables
    """

    parts: Parts
    G: FloatArray
    to_ends: FloatArray
    bowing_stiffness: FloatArray
    cable_shape: CableGeometry

    @classmethod
    def of(cls, parts: Parts) -> GeometricStiffness:
        """Of a frame's parts."""
        frame = parts.frame
        G = np.asarray(global_modes(frame.axes, frame.length, frame.offsets), dtype=float)
        to_ends = end_transformation(frame.axes, frame.offsets)
        return cls(
            parts, G, to_ends, bowing_stiffness(frame, parts.ends), cable_geometry(frame.cables, frame.nodes)
        )

    def stiffness(self, natural: FloatArray, tension: FloatArray) -> list[Blocks]:
        """Node blocks of the geometric stiffness of natural forces (p, 6) and cable tensions (k,)."""
        frame, G, to_ends = self.parts.frame, self.G, self.to_ends
        q = natural[: len(frame.ends)]
        K = np.swapaxes(G, 1, 2) @ (q[:, :1, None] * self.bowing_stiffness) @ G
        K += np.swapaxes(to_ends, 1, 2) @ rotation_stiffness(frame.length, q) @ to_ends
        K += offset_stiffness(frame.offsets, np.einsum("mri,mr->mi", G, q))
        found: list[Blocks] = [(node_blocks(frame.ends), split_blocks(K))]
        if len(frame.springs):
            first, second = frame.spring_ends.T
            axes = np.broadcast_to(np.eye(3), (len(first), 3, 3))
            turned = spring_geometric_stiffness(
                axes, frame.nodes[first] - frame.nodes[second], natural[len(frame.ends) :]
            )
            found.append((node_blocks(frame.spring_ends), split_blocks(turned)))
        if len(frame.cables):
            found += geometric_blocks(self.cable_shape, tension)
        return found


def geometric_stiffness(parts: Parts, natural: FloatArray, tension: FloatArray) -> list[Blocks]:
    """Node blocks of the geometric stiffness of natural forces (p, 6) and cable tensions (k,), as drawn."""
    return GeometricStiffness.of(parts).stiffness(natural, tension)


def taut_stiffness(parts: Parts, slack: BoolArray) -> list[Blocks]:
    """Node blocks of the stiffness as drawn, without the slack cables (k,): those of beams, of springs, of cables."""
    frame, beams = parts.frame, len(parts.frame.ends)
    of_parts = np.empty((len(parts.nodes), 12, 12))
    for part, G in parts.chunks():
        of_parts[part] = np.swapaxes(G, 1, 2) @ (parts.k[part] @ G)
    found: list[Blocks] = [
        (node_blocks(parts.nodes[some]), split_blocks(of_parts[some]))
        for some in (slice(beams), slice(beams, None))
        if len(parts.nodes[some])
    ]
    if len(frame.cables):
        cable_shape = cable_geometry(frame.cables, frame.nodes)
        found.append(
            elastic_blocks(
                frame.cables,
                elongation_gradient(cable_shape),
                np.where(slack, 0.0, frame.cables.EA / cable_shape.total),
            )
        )
    return found


def buckling(solution: Solution, case: int | str, count: int, *, pretension_grows: bool = False) -> Modes:
    """The `count` lowest load factors of a solved case and their shapes; fewer where there are no more.

    NoConvergence where the frame has buckled before the load grows at all.
    """
    return buckling_of_cases(solution, (solution.case(case),), count, pretension_grows=pretension_grows)[0]


def buckling_of_cases(
    solution: Solution,
    cases: Sequence[int],
    count: int,
    *,
    pretension_grows: bool = False,
    like: Solution | None = None,
) -> tuple[Modes, ...]:
    """`buckling` of several cases. Those that load the same frame, with the same cables slack, share its factors; all are
    assembled side by side, as many at once as fit the cache.

    like : of a frame that is alike, whose modes are a start, as those of this one are that were found first
    """
    shared = solution.prepared.once(_matrices_of)
    start = shared.known
    if not start and like is not None and are_alike(solution.parts, like.parts):
        start = like.prepared.once(_matrices_of).known
    known = KnownModes(start)
    stressed = bool(solution.frame.cables.pretension.any()) and not pretension_grows
    found: dict[int, Modes] = {}
    for some in _alike(solution, cases):
        sustained = _Sustained.of(solution, some, stressed=stressed)
        found |= zip(some, _modes(solution, some, count, sustained, known), strict=True)
    # kept once and for all: last digits do not depend on how often and in what order other cases were asked for since
    shared.known = shared.known or known.modes
    return tuple(found[case] for case in cases)


def _alike(solution: Solution, cases: Sequence[int]) -> Iterator[list[int]]:
    """Some cases at once, all of the frame as drawn or all in their deformed shapes."""
    at_once = max(1, MAX_ELEMENTS_AT_ONCE // max(1, len(solution.parts.nodes)))
    drawn, deformed = (
        [case for case in dict.fromkeys(cases) if solution.second_order[case] == second]
        for second in (False, True)
    )
    # a rotation that nothing resists is one of a shape
    one = 1 if len(solution.parts.unresisted_loads) else at_once
    for group, step in ((drawn, at_once), (deformed, one)):
        yield from (group[first : first + step] for first in range(0, len(group), step))


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class _Sustained(ArrayRecord):
    """What acts in some cases before their load grows: whether anything does (c,), natural forces (c, p, 6), tensions (c, k)."""

    acts: BoolArray
    natural: FloatArray
    tension: FloatArray

    @classmethod
    def of(cls, solution: Solution, cases: Sequence[int], *, stressed: bool) -> _Sustained:
        """Of cases with a load, the forces of pretension alone."""
        acts = np.array([stressed and solution.loads.has_load(case) for case in cases], dtype=bool)
        natural, tension = np.zeros_like(solution.natural[cases]), np.zeros_like(solution.tension[cases])
        if acts.any():
            alone = solution.prepared.linear_pretension_state
            natural[acts], tension[acts] = alone.natural[0], alone.tension[0]
        return cls(acts, natural, tension)


Base = tuple[sparse.csc_array, SymmetricFactors]
"""The stiffness of a case before its load grows, with the sustained forces, and its factors."""


class _Matrices:
    """What the matrices of a frame's cases share; kept with the frame, for all that is asked of it.

    softening, stiffness : their sparsity patterns;   factors : their band;   known : modes of the cases asked for first
    drawn                : bases of cases as drawn, by the slack cables and whether pretension is sustained
    """

    def __init__(self, parts: Parts) -> None:
        self.softening, self.stiffness = Assembly(parts, hold_unresisted=False), Assembly(parts)
        self.factors, self.known = FactorsOfPattern(), tuple[FloatArray, ...]()
        self.drawn: dict[Hashable, Base] = {}

    @classmethod
    def of(cls, solution: Solution, cases: Sequence[int], parts: Parts) -> _Matrices:
        """Of some cases; `parts` in their state."""
        if solution.second_order[cases[0]] and len(parts.unresisted_loads):
            return cls(parts)  # of that shape alone
        return solution.prepared.once(_matrices_of)


def _matrices_of(prepared: PreparedFrame) -> _Matrices:
    return _Matrices(prepared.parts)


def _modes(
    solution: Solution, cases: list[int], count: int, sustained: _Sustained, known: KnownModes
) -> Iterator[Modes]:
    """Of cases that are all as drawn or all deformed."""
    geometry = GeometricStiffness.of(parts_in_state(solution, cases))
    parts = geometry.parts if len(cases) == 1 else solution.parts
    shared = _Matrices.of(solution, cases, parts)
    near = known if shared is solution.prepared.once(_matrices_of) else None
    # what the growing forces take off
    natural, tension = (
        sustained.natural - solution.natural[cases],
        sustained.tension - solution.tension[cases],
    )
    softening = shared.softening.matrices(
        geometry.stiffness(_by_kind(natural, parts), tension.reshape(-1)), len(cases)
    )
    bases = _bases(solution, cases, sustained, shared, geometry)
    for A, (K, factor) in zip(softening, bases, strict=True):
        values, modes = lowest(K, A, count, factor, shared.factors, near)
        yield Modes(values, parts.movements(modes))


def _bases(
    solution: Solution,
    cases: list[int],
    sustained: _Sustained,
    shared: _Matrices,
    geometry: GeometricStiffness | None = None,
) -> list[Base]:
    """Of each case; those as drawn share one for the same slack cables. NoConvergence where one has buckled.

    geometry : of all these cases, where it is at hand
    """
    drawn = not solution.second_order[cases[0]]
    alike: list[Hashable] = [
        (solution.slack[case].tobytes(), bool(acts)) if drawn else case
        for case, acts in zip(cases, sustained.acts, strict=True)
    ]
    bases: dict[Hashable, Base] = {**shared.drawn} if drawn else {}
    first = [alike.index(key) for key in dict.fromkeys(alike) if key not in bases]
    if first:
        some = [cases[place] for place in first]
        if geometry is None or len(some) < len(cases):
            geometry = GeometricStiffness.of(parts_in_state(solution, some))
        # with forces of zero where nothing is sustained, so that all have one pattern
        natural, tension = sustained.natural[first], sustained.tension[first]
        found = taut_stiffness(geometry.parts, solution.slack[some].reshape(-1))
        found += geometry.stiffness(_by_kind(natural, solution.parts), tension.reshape(-1))
        for place, K in zip(first, shared.stiffness.matrices(found, len(some)), strict=True):
            factor = next(shared.factors.of(K, K.data[None]))
            if sustained.acts[place] and (factor is None or not factor.is_positive):
                raise _buckled_before(solution.names[cases[place]])
            bases[alike[place]] = K, factor or SparseFactors(factorise_symmetric(K, "NATURAL"))
        if drawn:
            shared.drawn.update(bases)
    return [bases[key] for key in alike]


def _by_kind(natural: FloatArray, parts: Parts) -> FloatArray:
    """(c p, 6), natural forces (c, p, 6) in the order of parts side by side: the beams of all, then the springs of all."""
    beams = len(parts.frame.ends)
    return np.concatenate([natural[:, :beams].reshape(-1, 6), natural[:, beams:].reshape(-1, 6)])


def parts_in_state(solution: Solution, cases: Sequence[int]) -> Parts:
    """The parts of the frame side by side for each case: all as drawn, or all in their deformed shapes if solved in these."""
    copies = parts_side_by_side([solution.parts] * len(cases))
    if not solution.second_order[cases[0]]:
        return copies
    movement, tension = solution.displacement[cases].reshape(-1, 6), solution.tension[cases].reshape(-1)
    frame = deformed_frame(copies.frame, movement, tension)
    # the stiffness of its parts is that of the lengths as built, and so is everything but the rotations that nothing resists
    return parts_of(frame) if len(solution.parts.unresisted_loads) else replace(copies, frame=frame)


def is_stable(solution: Solution) -> bool:
    """Whether a frame keeps its stiffness as drawn in the first case of a solution, which is one without load."""
    acts = np.array([solution.frame.cables.pretension.any()], dtype=bool)
    sustained = _Sustained(acts, solution.natural[:1], solution.tension[:1])
    try:
        [(_, factor)] = _bases(solution, [0], sustained, _Matrices.of(solution, [0], solution.parts))
    except (NoConvergence, RuntimeError):
        return False
    return factor.is_positive


def _buckled_before(name: str) -> NoConvergence:
    words = f"case '{name}': the frame buckles under its pretension alone, before its load grows; lower the pretension"
    return NoConvergence(words, 0.0)


__all__ = [
    "CableGeometry",
    "Modes",
    "buckling",
    "buckling_of_cases",
    "geometric_stiffness",
    "is_stable",
    "parts_in_state",
    "taut_stiffness",
]
