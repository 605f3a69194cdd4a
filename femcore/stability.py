"""Linear buckling: at which multiple of its loads a frame loses its stiffness, and in which shape.

    (K + G_held + λ G_growing) φ = 0

K is the stiffness as drawn, or of a case solved in its deformed shape the stiffness there (slack cables left
out), G the geometric stiffness of the internal forces of a solved case. What the cables' pretension does at
rest is held while the load grows, unless it is to grow too. λ > 0 are sought, the lowest first: a load that
only pulls has none.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import sparse
from scipy.sparse.linalg import SuperLU

from femcore.assembly import Blocks, Parts, assembled, parts_of
from femcore.blocks import factor_of, four_blocks, node_blocks
from femcore.cables import elastic_blocks, gathers, geometric_blocks, paths
from femcore.corotational import bowed, ends_of_nodes, frame_in_shape, offset_blocks
from femcore.eigen import lowest
from femcore.element import global_modes
from femcore.errors import NoConvergence
from femcore.frame import FloatArray, Loads
from femcore.geometric import turning_stiffness
from femcore.linear import solve_linear
from femcore.solution import Solution
from femcore.turning_springs import turning


@dataclass(frozen=True, slots=True, eq=False)
class Modes:
    """Eigenvalues, ascending, and shapes (found, n, 6), each 1 at its largest entry, global axes."""

    values: FloatArray
    shapes: FloatArray


def geometric_stiffness(parts: Parts, natural: FloatArray, tension: FloatArray) -> list[Blocks]:
    """Node blocks of the geometric stiffness of natural forces (p, 6) and cable tensions (k,), as drawn."""
    frame = parts.frame
    q = natural[: len(frame.ends)]
    G = np.asarray(global_modes(frame.axes, frame.length, frame.offsets))
    to_ends = ends_of_nodes(frame.axes, frame.offsets)
    K = np.swapaxes(G, 1, 2) @ (q[:, :1, None] * bowed(parts)) @ G
    K += np.swapaxes(to_ends, 1, 2) @ turning_stiffness(frame.length, q) @ to_ends
    K += offset_blocks(frame.offsets, np.einsum("mri,mr->mi", G, q))
    found: list[Blocks] = [(node_blocks(frame.ends), four_blocks(K))]
    if len(frame.springs):
        first, second = frame.spring_ends.T
        axes = np.broadcast_to(np.eye(3), (len(first), 3, 3))
        turned = turning(axes, frame.nodes[first] - frame.nodes[second], natural[len(frame.ends) :])
        found.append((node_blocks(frame.spring_ends), four_blocks(turned)))
    if len(frame.cables):
        found.append(geometric_blocks(paths(frame.cables, frame.nodes), tension))
    return found


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
    parts = parts_in_state(solution, case)
    natural, tension = solution.natural[case], solution.tension[case]
    found = taut_stiffness(parts, solution.slack[case])
    if parts.frame.cables.pretension.any() and not pretension_grows and _is_loaded(solution.loads, case):
        rest = solve_linear(solution.parts, Loads.none(parts.frame, "at rest"))
        held_q, held_t = rest.state.natural[0], np.asarray(rest.state.tension[0], dtype=float)
        natural, tension = natural - held_q, tension - held_t
        stiff = assembled(parts, found + geometric_stiffness(parts, held_q, held_t))
        factor = _stable_factor(stiff, solution.names[case])
    else:
        stiff = assembled(parts, found)
        factor = factor_of(stiff, "NATURAL")
    growing = assembled(parts, geometric_stiffness(parts, natural, tension), hold_idle=False)
    values, modes = lowest(stiff, -growing, count, factor)
    return Modes(values, parts.movements(modes))


def parts_in_state(solution: Solution, case: int) -> Parts:
    """What the frame is made of, as drawn, or where the case was solved in its deformed shape as it stands there."""
    if not solution.bent[case]:
        return solution.parts
    return parts_of(frame_in_shape(solution.parts, solution.displacement[case], solution.tension[case]))


def _is_loaded(loads: Loads, case: int) -> bool:
    return any(bool(part[case].any()) for part in loads.arrays)


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


__all__ = ["Modes", "buckling", "geometric_stiffness", "parts_in_state", "taut_stiffness"]
