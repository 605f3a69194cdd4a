"""Mechanisms: whether anything moves without resistance, and what, found from deformation energy.

A mechanism is a movement u with no deformation anywhere, G u = 0. A nearly singular matrix alone does not prove one (a long
chain of beams has one too), so the softest movements are found by inverse iteration on a shifted matrix, and their deformation
energy is taken part by part in extended precision: only in a mechanism is it 0 to the square of rounding.
"""

from __future__ import annotations

import numpy as np
from scipy import sparse
from scipy.sparse.linalg import SuperLU

from femcore.base.arrays import EXTENDED, FloatArray
from femcore.base.errors import Mechanism
from femcore.elements.cable import cable_geometry, elongation, elongation_gradient
from femcore.frame.frame import FREEDOMS, Frame
from femcore.solvers.assembly import Parts, internal_forces, natural_forces
from femcore.solvers.blocks import factorise_symmetric

SUSPECT_AMPLIFICATION = 1e9
"""Growth of a random load through the inverse, at unit diagonal, above which the correction is checked too."""
REL_TOL_REGULAR_CORRECTION = 1e-2
"""Size of a correction over that of the answer, below which the answer is no mechanism's."""
REL_TOL_ZERO_ENERGY = 1e-22
"""Energy of a movement over that of the same movement with all else held, below which nothing resists it."""
MAX_MECHANISM_MODES = 8
"""Independent movements sought: more than the six of a free rigid body; the message says "or more" where all are found."""
SUBSPACE_ITERATIONS = 6
"""Each shrinks movements with energy by the shift over their stiffness: six leave rounding only."""
RELATIVE_DIAGONAL_SHIFT = 1e-12
"""Of the unit diagonal: makes a singular stiffness positive definite, and is small against any resistance."""
REL_TOL_VISIBLE_MOTION = 1e-6
"""Of a mechanism's largest movement: a node that moves less is treated as fixed, and not named."""
MAX_NAMES_LISTED = 6
"""Nodes named in a message."""


def is_nearly_singular(parts: Parts, matrix: sparse.csc_array, factor: SuperLU) -> bool:
    """Whether the factors amplify a random load as those of a singular matrix do, so that refinement cannot converge.

    No movement balances a load along a mechanism: its residual is the load again, and the correction is as large as the first
    answer. A long chain of beams amplifies as much, but its correction is small.
    """
    scale = np.sqrt(np.maximum(matrix.diagonal(), np.finfo(float).tiny))
    probe = np.random.default_rng(0).standard_normal(len(scale))
    answer = factor.solve(scale * probe)
    grown = np.linalg.norm(scale * answer)
    if grown < SUSPECT_AMPLIFICATION * np.linalg.norm(probe):
        return False
    moved = parts.movements(answer[None]).astype(EXTENDED)
    left = parts.movements((scale * probe)[None]) - internal_forces(parts, natural_forces(parts, moved))
    correction = factor.solve(parts.unknowns(left)[0])
    return not np.linalg.norm(scale * correction) < REL_TOL_REGULAR_CORRECTION * grown


def find_mechanism(parts: Parts, matrix: sparse.csc_array) -> Mechanism | None:
    """The mechanism of a singular frame, in words; None where every movement is resisted."""
    modes = free_movements(parts, matrix)
    return _as_mechanism(parts.frame, modes) if len(modes) else None


def free_movements(parts: Parts, matrix: sparse.csc_array) -> FloatArray:
    """(modes, n, 6), movements without energy, each 1 at its largest (rotations times frame size)."""
    diagonal = matrix.diagonal()
    scale = 1 / np.sqrt(np.where(diagonal > 0, diagonal, diagonal.max(initial=1.0) or 1.0))
    size = parts.equations
    scaled = sparse.diags_array(scale) @ matrix @ sparse.diags_array(
        scale
    ) + RELATIVE_DIAGONAL_SHIFT * sparse.eye_array(size)
    factor = factorise_symmetric(scaled.tocsc(), "NATURAL")
    block = np.random.default_rng(1).standard_normal((size, min(MAX_MECHANISM_MODES, size)))
    for _ in range(SUBSPACE_ITERATIONS):
        block, _ = np.linalg.qr(factor.solve(block))
    u = parts.movements((scale[:, None] * block).T)
    strain, mix = np.linalg.svd(_strains(parts, u))[1:]
    loose = mix[strain**2 < REL_TOL_ZERO_ENERGY]
    if not len(loose):
        return np.zeros((0, *parts.free.shape))
    return _plain_basis(parts.frame, np.tensordot(loose, u, 1))


def _strains(parts: Parts, u: FloatArray) -> FloatArray:
    """(modes, modes), triangular R of all deformations of u (modes, n, 6) times root k: energy is RᵀR.

    The root, not the energy itself: its rounding is then squared, and a mechanism differs by sixteen digits more.
    """
    sprung = np.zeros(len(parts.nodes), dtype=bool)
    sprung[parts.ends.which] = True
    root = np.where(sprung[:, None], 0.0, np.sqrt(parts.k[:, range(6), range(6)]))
    rows = [np.zeros((len(u), len(u))), _unresisted_rotation_strain(parts, u), _cable_strain(parts, u)]
    for part, motion in parts.kinematics(EXTENDED):
        d = motion.deformations(u[:, parts.nodes[part]].reshape(len(u), -1, 12).astype(EXTENDED))
        of_ends = np.searchsorted(parts.ends.which, np.flatnonzero(sprung[part]) + part.start)
        inner = np.einsum("eri,mei->mer", parts.ends.root[of_ends], d[:, sprung[part]])
        both = ((root[part] * d).reshape(len(u), -1), inner.reshape(len(u), -1))
        stacked = np.concatenate([*rows, *(block.T for block in both)])
        rows = [np.asarray(np.linalg.qr(stacked, mode="r"))]
    return rows[0]


def _unresisted_rotation_strain(parts: Parts, u: FloatArray) -> FloatArray:
    """Unresisted rotations are restrained in the factorised matrix, so they count as resisted here too."""
    unresisted_loads = np.einsum(
        "nij,mnj->mni", parts.rotation_projectors, u[:, parts.unresisted_loads, 3:]
    ).reshape(len(u), -1)
    return np.asarray(np.sqrt(parts.k.max(initial=1.0)) * unresisted_loads.T)


def _cable_strain(parts: Parts, u: FloatArray) -> FloatArray:
    """Every cable, counted as if it could push too."""
    cables = parts.frame.cables
    if not len(cables):
        return np.zeros((0, len(u)))
    cable_shape = cable_geometry(cables, parts.frame.nodes.astype(EXTENDED))
    stretch = elongation(cables, elongation_gradient(cable_shape), u.astype(EXTENDED))
    return np.asarray((np.sqrt(cables.EA / cable_shape.total) * stretch).T, dtype=float)


def _plain_basis(frame: Frame, modes: FloatArray) -> FloatArray:
    """The same movements, mixed so that each has a freedom of its own (Gauss–Jordan), and scaled."""
    weight = frame.freedom_weights
    flat = (modes * weight).reshape(len(modes), -1)
    for row in range(len(flat)):
        pivot = int(np.abs(flat[row]).argmax())
        flat[row] /= flat[row, pivot]
        others = np.arange(len(flat)) != row
        flat[others] -= np.outer(flat[others, pivot], flat[row])
    flat /= np.abs(flat).max(axis=1, keepdims=True)
    return np.asarray(flat.reshape(modes.shape) / weight)


def _as_mechanism(frame: Frame, modes: FloatArray) -> Mechanism:
    spins = [_rotating_members(frame, mode) for mode in modes]
    rotating = tuple(dict.fromkeys(name for names in spins for name in names))
    moving, several = _moving_nodes(frame, modes), len(modes) > 1
    turning = " and ".join(f"beam '{name}'" for name in rotating)
    turning += f" turn{'s' * (len(rotating) == 1)} freely about its own axis"
    if all(spins):
        words = turning + ": nothing holds rotation about it at either end"
    elif all(_is_rigid(frame, mode) for mode in modes):
        words = (
            f"the whole frame moves freely as one{f', in {len(modes)} ways' * several} ({_list_of(moving)})"
        )
    else:
        count = f"{len(modes)}{' or more' * (len(modes) == MAX_MECHANISM_MODES)}"
        words = f"{count} movement{'s' * several} without resistance: {_list_of(moving)}"
        words += f"; among them {turning}" * bool(rotating)
    return Mechanism(words + "; add a support, a connection or a stiffness that holds it", rotating, moving)


def _list_of(moving: dict[str, tuple[str, ...]]) -> str:
    shown = [f"{name}: {' '.join(freedoms)}" for name, freedoms in list(moving.items())[:MAX_NAMES_LISTED]]
    more = len(moving) - MAX_NAMES_LISTED
    return "; ".join(shown) + (f"; and {more} more" if more > 0 else "")


def _rotating_members(frame: Frame, mode: FloatArray) -> list[str]:
    """Members whose nodes stay in place and turn about the member's own axis."""
    found = []
    for name, member in frame.members.items():
        nodes = np.unique(frame.ends[member.elements])
        axis = frame.axes[member.first, 0]
        about = mode[nodes, 3:] @ axis
        rest = np.linalg.norm(mode[nodes, 3:] - about[:, None] * axis, axis=1) * frame.size
        still = max(np.abs(mode[nodes, :3]).max(), rest.max()) < REL_TOL_VISIBLE_MOTION
        turning = np.abs(about).max() * frame.size
        free_nodes = ~frame.fixed[nodes].all(axis=1)
        if (
            still
            and turning > REL_TOL_VISIBLE_MOTION
            and np.all(np.abs(about[free_nodes]) * frame.size > REL_TOL_VISIBLE_MOTION)
        ):
            found.append(name)
    return found


def _moving_nodes(frame: Frame, modes: FloatArray) -> dict[str, tuple[str, ...]]:
    """Named nodes (or, where only unnamed ones move, members) and the freedoms in which they move."""
    weighted = np.abs(modes * frame.freedom_weights)
    visible = np.asarray((weighted > REL_TOL_VISIBLE_MOTION).any(axis=0))
    named = {name: visible[node] for name, node in frame.node_index.items()}
    if not any(row.any() for row in named.values()):
        named = {
            f"within '{n}'": visible[frame.ends[m.elements]].any(axis=(0, 1))
            for n, m in frame.members.items()
        }
    return {
        name: tuple(freedom for freedom, moves in zip(FREEDOMS, row, strict=True) if moves)
        for name, row in named.items()
        if row.any()
    }


def _is_rigid(frame: Frame, mode: FloatArray) -> bool:
    """Whether all nodes move as one rigid body."""
    real = frame.ground_nodes < 0
    mode, nodes = mode[real], frame.nodes[real]
    turn = mode[:, 3:].mean(axis=0)
    rigid = mode[:, :3].mean(axis=0) + np.cross(turn, nodes - nodes.mean(axis=0))
    return bool(
        np.abs(mode[:, :3] - rigid).max() < REL_TOL_VISIBLE_MOTION
        and np.abs(mode[:, 3:] - turn).max() * frame.size < REL_TOL_VISIBLE_MOTION
    )
