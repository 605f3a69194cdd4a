"""Linear buckling: the multiple of its loads at which a frame loses its stiffness, and the shape in which it does.

    (K + G_sustained + λ G_growing) φ = 0

K is the stiffness as drawn, or, of a case solved in its deformed shape, the stiffness there (slack cables left out), G the
geometric stiffness of the internal forces of a solved case. The forces of the cables' pretension alone are sustained while the
load grows, unless they are to grow too. λ > 0 are sought, the lowest first: a load that only pulls has none.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy import sparse
from scipy.sparse.linalg import SuperLU

from femcore.base.arrays import ArrayRecord, FloatArray
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
from femcore.solvers.assembly import Assembly, Blocks, Parts, assembled, parts_of
from femcore.solvers.blocks import factorise_symmetric, node_blocks, split_blocks
from femcore.solvers.eigen import lowest
from femcore.solvers.solution import Solution


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
            found.append(geometric_blocks(self.cable_shape, tension))
        return found


def geometric_stiffness(parts: Parts, natural: FloatArray, tension: FloatArray) -> list[Blocks]:
    """Node blocks of the geometric stiffness of natural forces (p, 6) and cable tensions (k,), as drawn."""
    return GeometricStiffness.of(parts).stiffness(natural, tension)


def taut_stiffness(parts: Parts, slack: np.ndarray[tuple[int, ...], np.dtype[np.bool_]]) -> list[Blocks]:
    """Node blocks of the stiffness as drawn, without the slack cables (k,)."""
    frame = parts.frame
    of_parts = np.empty((len(parts.nodes), 12, 12))
    for part, G in parts.chunks():
        of_parts[part] = np.swapaxes(G, 1, 2) @ (parts.k[part] @ G)
    found: list[Blocks] = [(node_blocks(parts.nodes), split_blocks(of_parts))]
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
    solution: Solution, cases: Sequence[int], count: int, *, pretension_grows: bool = False
) -> tuple[Modes, ...]:
    """`buckling` of several cases. Those that load the same frame, with the same cables slack, share its factors."""
    stressed = bool(solution.frame.cables.pretension.any()) and not pretension_grows
    sustained = [stressed and solution.loads.has_load(case) for case in cases]
    before = _SustainedForces.of(solution) if any(sustained) else None
    bases: dict[tuple[bytes | int, ...], _BucklingBase] = {}
    found = []
    for case, is_sustained in zip(cases, sustained, strict=True):
        alike = (case if solution.second_order[case] else -1, solution.slack[case].tobytes(), is_sustained)
        if alike not in bases:
            bases[alike] = _BucklingBase.of(solution, case, before if is_sustained else None)
        found.append(bases[alike].modes(solution.natural[case], solution.tension[case], count))
    return tuple(found)


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class _SustainedForces(ArrayRecord):
    """Natural forces (p, 6) and cable tensions (k,) before a load grows."""

    natural: FloatArray
    tension: FloatArray

    @classmethod
    def of(cls, solution: Solution) -> _SustainedForces:
        alone = solution.prepared.linear_pretension_state
        return cls(alone.natural[0], np.asarray(alone.tension[0], dtype=float))


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class _BucklingBase(ArrayRecord):
    """A frame in a shape before a load grows: its stiffness with the sustained forces, and its factors."""

    geometry: GeometricStiffness
    sustained: _SustainedForces | None
    base_stiffness: sparse.csc_array
    factor: SuperLU
    load_assembly: Assembly

    @classmethod
    def of(cls, solution: Solution, case: int, sustained: _SustainedForces | None) -> _BucklingBase:
        parts = parts_in_state(solution, case)
        geometry, found = GeometricStiffness.of(parts), taut_stiffness(parts, solution.slack[case])
        if sustained is None:
            base_stiffness = assembled(parts, found)
            factor = factorise_symmetric(base_stiffness, "NATURAL")
        else:
            base_stiffness = assembled(
                parts, found + geometry.stiffness(sustained.natural, sustained.tension)
            )
            factor = _stable_factor(base_stiffness, solution.names[case])
        return cls(geometry, sustained, base_stiffness, factor, Assembly(parts, hold_unresisted=False))

    def modes(self, natural: FloatArray, tension: FloatArray, count: int) -> Modes:
        """Under growing natural forces (p, 6) and tensions (k,), less the sustained ones."""
        if self.sustained is not None:
            natural, tension = natural - self.sustained.natural, tension - self.sustained.tension
        load_assembly = self.load_assembly.matrix(self.geometry.stiffness(natural, tension))
        values, modes = lowest(self.base_stiffness, -load_assembly, count, self.factor)
        return Modes(values, self.geometry.parts.movements(modes))


def parts_in_state(solution: Solution, case: int) -> Parts:
    """The parts of the frame, as drawn, or of its deformed shape where the case was solved in that."""
    if not solution.second_order[case]:
        return solution.parts
    frame = deformed_frame(solution.frame, solution.displacement[case], solution.tension[case])
    # the stiffness of its parts is that of the lengths as built, and so is everything but the rotations that nothing resists
    return parts_of(frame) if len(solution.parts.unresisted_loads) else replace(solution.parts, frame=frame)


def _stable_factor(base_stiffness: sparse.csc_array, name: str) -> SuperLU:
    words = f"case '{name}': the frame buckles under its pretension alone, before its load grows; lower the pretension"
    try:
        factor = factorise_symmetric(base_stiffness, "NATURAL")
    except RuntimeError:
        raise NoConvergence(words, 0.0) from None
    if not np.all(factor.U.diagonal() > 0):
        raise NoConvergence(words, 0.0)
    return factor


__all__ = [
    "CableGeometry",
    "Modes",
    "buckling",
    "buckling_of_cases",
    "geometric_stiffness",
    "parts_in_state",
    "taut_stiffness",
]
