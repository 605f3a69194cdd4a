"""Natural frequencies and modes: mass consistent with the element's own shape functions, or lumped at its ends.

    K φ = ω² M φ

The consistent mass is ∫ Nᵀ ρA N dx with N the shapes of the deflection (cubic, with shear) and of the section's rotation, whose
rotary inertia counts (J.S. Przemieniecki, Theory of Matrix Structural Analysis, 1968, ch. 11, from memory); four Gauss points
integrate it exactly. A case's internal forces stiffen or soften the frame through its geometric stiffness.
"""

from __future__ import annotations

import numpy as np
from scipy import sparse
from scipy.sparse.linalg import SuperLU

from femcore.base.arrays import FloatArray
from femcore.base.errors import InputFault, NoConvergence
from femcore.elements.beam import local_modes, shape_functions, shear_parameters
from femcore.elements.corotational_beam import end_transformation
from femcore.frame.frame import Frame
from femcore.solvers.assembly import Parts, assembled
from femcore.solvers.blocks import factorise_symmetric, node_blocks, split_blocks
from femcore.solvers.buckling import Modes, geometric_stiffness, parts_in_state, taut_stiffness
from femcore.solvers.eigen import lowest
from femcore.solvers.mechanism import find_mechanism
from femcore.solvers.solution import Solution

GAUSS_POINTS = 4
"""Exact for the polynomials of degree 6 that two cubics make."""
REL_TOL_SINGULAR_STIFFNESS = 1e-13
"""Of the unit diagonal: a smaller pivot is rounding, and the stiffness treated as singular."""
RELATIVE_STIFFNESS_SHIFT = 1e-6
"""Of the median ratio of stiffness to mass: the shift that makes the stiffness of a free frame positive definite."""
REL_TOL_ZERO_FREQUENCY = 1e-4
"""Of the shift: a smaller square of an angular frequency is rounding, and treated as zero."""


def consistent_mass(frame: Frame, inner: FloatArray) -> FloatArray:
    """(m, 12, 12), kg, kg·m and kg·m²: mass matrices over the outer end freedoms in beam axes.

    inner : (m, 12, 12), movements of the elements' own ends per movement of the outer ends (end springs between them).
    """
    points, weights = np.polynomial.legendre.leggauss(GAUSS_POINTS)
    total = np.zeros((len(frame.ends), 12, 12))
    density = np.concatenate([np.repeat(frame.line_mass[:, None], 3, axis=1), frame.line_inertia], axis=1)
    for point, weight in zip((points + 1) / 2, weights / 2, strict=True):
        at = np.full(len(frame.ends), point)
        N = shape_functions(frame.length, *shear_parameters(frame), at) @ inner
        total += np.swapaxes(N, 1, 2) @ (density[:, :, None] * N) * (weight * frame.length)[:, None, None]
    return total


def lumped_mass(frame: Frame) -> FloatArray:
    """(m, 12, 12): half of each element's mass and rotary inertia at each end."""
    half = np.concatenate([np.repeat(frame.line_mass[:, None], 3, axis=1), frame.line_inertia], axis=1)
    half = half * (frame.length / 2)[:, None]
    total = np.zeros((len(half), 12, 12))
    total[:, range(12), range(12)] = np.concatenate([half, half], axis=1)
    return total


def mass_matrix(parts: Parts, *, lumped: bool = False) -> sparse.csc_array:
    """The mass over the free freedoms: beams, consistent or lumped, and point masses."""
    frame = parts.frame
    M = lumped_mass(frame) if lumped else consistent_mass(frame, inner_end_transformation(parts))
    to_ends = end_transformation(frame.axes, frame.offsets)
    n = len(frame.nodes)
    points = np.zeros((n, 6, 6))
    points[:, range(3), range(3)] = frame.point_mass[:, None]
    found = [
        (node_blocks(frame.ends), split_blocks(np.swapaxes(to_ends, 1, 2) @ M @ to_ends)),
        (np.column_stack([np.arange(n), np.arange(n)]), points),
    ]
    return assembled(parts, found, hold_unresisted=False)


def inner_end_transformation(parts: Parts) -> FloatArray:
    """(m, 12, 12), beam axes: movements of the elements' own ends per movement of the outer ends."""
    frame, ends = parts.frame, parts.ends
    inner = np.tile(np.eye(12), (len(frame.ends), 1, 1))
    slip = ends.slip @ local_modes(frame.length[ends.which])
    inner[ends.which] -= np.swapaxes(ends.turn, 1, 2) @ slip
    return inner


def natural_frequencies(solution: Solution, case: int | str, count: int, *, lumped: bool = False) -> Modes:
    """The `count` lowest natural frequencies, Hz, and their modes, about the state of a solved case.

    A frame that moves freely has frequencies of 0. InputFault where nothing has mass, Mechanism where something without mass
    moves freely, NoConvergence where it has buckled.
    """
    case = solution.case(case)
    parts = parts_in_state(solution, [case])
    natural, tension = solution.natural[case], solution.tension[case]
    found = taut_stiffness(parts, solution.slack[case])
    if natural.any() or tension.any():
        found = found + geometric_stiffness(parts, natural, tension)
    K, M = assembled(parts, found), mass_matrix(parts, lumped=lumped)
    if not M.diagonal().any():
        raise InputFault("", "nothing that can move has mass", "give materials a density, or add masses")
    shift = 0.0
    factor = _factor(K)
    if factor is None:
        K, shift = _shifted(K, M)
        factor = _factor(K)
        if factor is None:
            free = None if natural.any() else find_mechanism(parts, K)
            raise free or _buckled()
    values, modes = lowest(K, M, count, factor)
    square = values - shift
    if np.any(square < -REL_TOL_ZERO_FREQUENCY * shift):
        raise _buckled()
    square[square < REL_TOL_ZERO_FREQUENCY * shift] = 0.0
    return Modes(np.sqrt(square) / (2 * np.pi), parts.movements(modes))


def _buckled() -> NoConvergence:
    return NoConvergence("the frame has buckled under the case's forces, so it has no frequencies there", 0.0)


def _factor(K: sparse.csc_array) -> SuperLU | None:
    """Factors of K, or None where it is not positive to rounding."""
    scale = 1 / np.sqrt(np.maximum(K.diagonal(), np.finfo(float).tiny))
    try:
        factor = factorise_symmetric(K, "NATURAL")
    except RuntimeError:
        return None
    pivots = factor.U.diagonal() * scale[factor.perm_c.argsort()] ** 2
    return factor if np.all(pivots > REL_TOL_SINGULAR_STIFFNESS) else None


def _shifted(K: sparse.csc_array, M: sparse.csc_array) -> tuple[sparse.csc_array, float]:
    """K + s M with s, (rad/s)², well below the first elastic frequency of most frames and well above rounding."""
    heavy = M.diagonal() > 0
    s = RELATIVE_STIFFNESS_SHIFT * float(np.median(K.diagonal()[heavy] / M.diagonal()[heavy]))
    return (K + s * M).tocsc(), s
