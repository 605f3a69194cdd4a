"""Linear buckling: at which multiple of its loads a frame loses its stiffness, and in which shape.

    (K + G_held + λ G_growing) φ = 0

K is the stiffness as drawn, or of a case solved in its deformed shape the stiffness there (slack cables left
out), G the geometric stiffness of the internal forces of a solved case. What the cables' pretension does at
rest is held while the load grows, unless it is to grow too. λ > 0 are sought, the lowest first: a load that
only pulls has none.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy import sparse
from scipy.sparse.linalg import SuperLU

from femcore.base.arrays import FloatArray
from femcore.base.errors import NoConvergence
from femcore.elements.beam import global_modes
from femcore.elements.cable import Paths, elastic_blocks, gathers, geometric_blocks, paths
from femcore.elements.corotational_beam import bowed, ends_of_nodes, frame_in_shape, offset_blocks
from femcore.elements.corotational_spring import turning
from femcore.elements.geometric_stiffness import turning_stiffness
from femcore.frame.frame import Loads
from femcore.solvers.assembly import Assembly, Blocks, Parts, assembled, parts_of
from femcore.solvers.blocks import factor_of, four_blocks, node_blocks
from femcore.solvers.eigen import lowest
from femcore.solvers.solution import Solution


@dataclass(frozen=True, slots=True, eq=False)
class Modes:
    """Eigenvalues, ascending, and shapes (found, n, 6), each 1 at its largest entry, global axes."""

    values: FloatArray
    shapes: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class Geometry:
    """What of the geometric stiffness of a frame, as drawn, does not change with the forces in it.

    G : (m, 6, 12), natural deformations from node freedoms;   to_ends : (m, 12, 12), end freedoms from those of nodes
    bowed : (m, 6, 6), per N of axial force;   lie : of the cables
    """

    parts: Parts
    G: FloatArray
    to_ends: FloatArray
    bowed: FloatArray
    lie: Paths

    @classmethod
    def of(cls, parts: Parts) -> Geometry:
        """Gather it."""
        frame = parts.frame
        G = np.asarray(global_modes(frame.axes, frame.length, frame.offsets), dtype=float)
        to_ends = ends_of_nodes(frame.axes, frame.offsets)
        return cls(parts, G, to_ends, bowed(parts), paths(frame.cables, frame.nodes))

    def stiffness(self, natural: FloatArray, tension: FloatArray) -> list[Blocks]:
        """Node blocks of the geometric stiffness of natural forces (p, 6) and cable tensions (k,)."""
        frame, G, to_ends = self.parts.frame, self.G, self.to_ends
        q = natural[: len(frame.ends)]
        K = np.swapaxes(G, 1, 2) @ (q[:, :1, None] * self.bowed) @ G
        K += np.swapaxes(to_ends, 1, 2) @ turning_stiffness(frame.length, q) @ to_ends
        K += offset_blocks(frame.offsets, np.einsum("mri,mr->mi", G, q))
        found: list[Blocks] = [(node_blocks(frame.ends), four_blocks(K))]
        if len(frame.springs):
            first, second = frame.spring_ends.T
            axes = np.broadcast_to(np.eye(3), (len(first), 3, 3))
            turned = turning(axes, frame.nodes[first] - frame.nodes[second], natural[len(frame.ends) :])
            found.append((node_blocks(frame.spring_ends), four_blocks(turned)))
        if len(frame.cables):
            found.append(geometric_blocks(self.lie, tension))
        return found


def geometric_stiffness(parts: Parts, natural: FloatArray, tension: FloatArray) -> list[Blocks]:
    """Node blocks of the geometric stiffness of natural forces (p, 6) and cable tensions (k,), as drawn."""
    return Geometry.of(parts).stiffness(natural, tension)


def taut_stiffness(parts: Parts, slack: np.ndarray[tuple[int, ...], np.dtype[np.bool_]]) -> list[Blocks]:
    """Node blocks of the stiffness as drawn, without the slack cables (k,)."""
    frame = parts.frame
    of_parts = np.empty((len(parts.nodes), 12, 12))
    for part, G in parts.chunks():
        of_parts[part] = np.swapaxes(G, 1, 2) @ (parts.k[part] @ G)
    found: list[Blocks] = [(node_blocks(parts.nodes), four_blocks(of_parts))]
    if len(frame.cables):
        lie = paths(frame.cables, frame.nodes)
        found.append(
            elastic_blocks(frame.cables, gathers(lie), np.where(slack, 0.0, frame.cables.EA / lie.total))
        )
    return found


def buckling(solution: Solution, case: int, count: int, *, pretension_grows: bool = False) -> Modes:
    """The `count` lowest load factors of a solved case and their shapes; fewer where there are no more.

    NoConvergence where the frame has buckled before the load grows at all.
    """
    return buckling_of_cases(solution, (case,), count, pretension_grows=pretension_grows)[0]


def buckling_of_cases(
    solution: Solution, cases: Sequence[int], count: int, *, pretension_grows: bool = False
) -> tuple[Modes, ...]:
    """`buckling` of several cases. Those that load the same frame, with the same cables slack, share its factors."""
    stressed = bool(solution.frame.cables.pretension.any()) and not pretension_grows
    held = [stressed and _is_loaded(solution.loads, case) for case in cases]
    rest = _at_rest(solution) if any(held) else None
    bases: dict[tuple[bytes | int, ...], _Base] = {}
    found = []
    for case, is_held in zip(cases, held, strict=True):
        alike = (case if solution.bent[case] else -1, solution.slack[case].tobytes(), is_held)
        if alike not in bases:
            bases[alike] = _Base.of(solution, case, rest if is_held else None)
        found.append(bases[alike].modes(solution.natural[case], solution.tension[case], count))
    return tuple(found)


@dataclass(frozen=True, slots=True, eq=False)
class _Held:
    """Natural forces (p, 6) and cable tensions (k,) that are there before a load grows."""

    natural: FloatArray
    tension: FloatArray


def _at_rest(solution: Solution) -> _Held:
    rest = solution.ready.drawn_rest
    return _Held(rest.natural[0], np.asarray(rest.tension[0], dtype=float))


@dataclass(frozen=True, slots=True, eq=False)
class _Base:
    """What a load grows on: a frame in a shape, its stiffness with what is held, and its factors."""

    geometry: Geometry
    held: _Held | None
    stiff: sparse.csc_array
    factor: SuperLU
    growing: Assembly

    @classmethod
    def of(cls, solution: Solution, case: int, held: _Held | None) -> _Base:
        parts = parts_in_state(solution, case)
        geometry, found = Geometry.of(parts), taut_stiffness(parts, solution.slack[case])
        if held is None:
            stiff = assembled(parts, found)
            factor = factor_of(stiff, "NATURAL")
        else:
            stiff = assembled(parts, found + geometry.stiffness(held.natural, held.tension))
            factor = _stable_factor(stiff, solution.names[case])
        return cls(geometry, held, stiff, factor, Assembly(parts, hold_idle=False))

    def modes(self, natural: FloatArray, tension: FloatArray, count: int) -> Modes:
        """Under growing natural forces (p, 6) and tensions (k,), less what is held."""
        if self.held is not None:
            natural, tension = natural - self.held.natural, tension - self.held.tension
        growing = self.growing.matrix(self.geometry.stiffness(natural, tension))
        values, modes = lowest(self.stiff, -growing, count, self.factor)
        return Modes(values, self.geometry.parts.movements(modes))


def parts_in_state(solution: Solution, case: int) -> Parts:
    """What the frame is made of, as drawn, or where the case was solved in its deformed shape as it stands there."""
    if not solution.bent[case]:
        return solution.parts
    return parts_of(frame_in_shape(solution.frame, solution.displacement[case], solution.tension[case]))


def _is_loaded(loads: Loads, case: int) -> bool:
    return loads.acts(case)


def _stable_factor(stiff: sparse.csc_array, name: str) -> SuperLU:
    words = (
        f"case '{name}': the frame buckles under what is held, before its load grows; lower the pretension"
    )
    try:
        factor = factor_of(stiff, "NATURAL")
    except RuntimeError:
        raise NoConvergence(words, 0.0) from None
    if not np.all(factor.U.diagonal() > 0):
        raise NoConvergence(words, 0.0)
    return factor


__all__ = [
    "Geometry",
    "Modes",
    "buckling",
    "buckling_of_cases",
    "geometric_stiffness",
    "parts_in_state",
    "taut_stiffness",
]
