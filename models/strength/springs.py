"""Six-by-six stiffness of a part about a point: three forces and three moments per three movements and
rotations.

A part's stiffness K (6, 6) gives loads p = K u for u = (movement, rotation) of a rigid body measured at a
point, with rotations right-handed about the axes. Moving the point by an arm: u_there = T u_here, K_here =
Tᵀ K_there T. (H.C. Martin, Introduction to Matrix Methods of Structural Analysis (1966), rigid offsets; from
memory.)
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from femcore.base.arrays import FloatArray

REL_TOL_ZERO_STIFFNESS = 1e-11
"""A stiffness this small beside the others of its kind counts as none."""


def rigid_arm_matrix(arm: npt.ArrayLike) -> FloatArray:
    """T (..., 6, 6): movements at the end of `arm` (..., 3), m, from those at its foot."""
    a = np.asarray(arm, dtype=float)
    T = np.broadcast_to(np.eye(6), (*a.shape[:-1], 6, 6)).copy()
    x, y, z = a[..., 0], a[..., 1], a[..., 2]
    T[..., 0, 4], T[..., 0, 5] = z, -y
    T[..., 1, 3], T[..., 1, 5] = -z, x
    T[..., 2, 3], T[..., 2, 4] = y, -x
    return T


def transferred_stiffness(K: FloatArray, arm: npt.ArrayLike) -> FloatArray:
    """The stiffness K (..., 6, 6) of a part at the end of an arm (..., 3), m, referred to the arm's foot."""
    T = rigid_arm_matrix(arm)
    return np.asarray(np.swapaxes(T, -1, -2) @ K @ T)


def transferred_loads(loads: FloatArray, arm: npt.ArrayLike) -> FloatArray:
    """Loads (..., 6), N and N·m, that act at the end of an arm (..., 3), m, as loads at its foot."""
    return np.asarray(np.einsum("...ji,...j->...i", rigid_arm_matrix(arm), loads))


def stiffness_in_axes(K: FloatArray, axes: npt.ArrayLike) -> FloatArray:
    """A stiffness K (..., 6, 6) in a part's own axes, the rows of `axes` (3, 3), as one in the axes they are
    given in.
    """
    R = np.kron(np.eye(2), np.asarray(axes, dtype=float))
    return np.asarray(R.T @ K @ R)


def loads_in_axes(loads: FloatArray, axes: npt.ArrayLike) -> FloatArray:
    """Loads (..., 6) in common axes as loads in a part's own axes, the rows of `axes` (3, 3)."""
    R = np.kron(np.eye(2), np.asarray(axes, dtype=float))
    return np.asarray(loads @ R.T)


def series_springs(*stiffnesses: npt.ArrayLike) -> FloatArray:
    """Springs in series, element by element: 1/k = Σ 1/k_i; zero where one is free, inf where all rigid."""
    with np.errstate(divide="ignore"):
        flexibility = sum(1.0 / np.asarray(k, dtype=float) for k in stiffnesses)
        return np.asarray(1.0 / flexibility)


def displacements(K: FloatArray, loads: FloatArray) -> FloatArray:
    """(cases, 6): what the loads (cases, 6) move a part of stiffness K (6, 6) by; zero along what K leaves
    free.

    A load along a freedom that K leaves free does not move it here: see `unresisted_loads`.
    """
    return np.asarray(loads @ _inverse(K))


def unresisted_loads(K: FloatArray, loads: FloatArray) -> FloatArray:
    """(cases, 6): the part of the loads that a stiffness K (6, 6) cannot carry, zero where it is no
    mechanism.
    """
    return np.asarray(loads - displacements(K, loads) @ K)


def series_matrices(*stiffnesses: FloatArray) -> FloatArray:
    """(6, 6), of parts in series at one point, each (6, 6): K1 (K1 + K2)⁻¹ K2, two by two; what one leaves free is free.

    W.N. Anderson & R.J. Duffin, Series and parallel addition of matrices (1969), with the inverse that is meant where parts
    share a freedom that none of them resists (from memory).
    """
    whole = np.asarray(stiffnesses[0], dtype=float)
    for K in stiffnesses[1:]:
        whole = whole @ _inverse(whole + K) @ K
        whole = (whole + whole.T) / 2
    return whole


def _inverse(K: FloatArray) -> FloatArray:
    """(6, 6), the inverse over what K resists, zero beyond it."""
    diagonal = np.diag(K)
    # forces and moments differ by powers of ten: scale to a unit diagonal before telling zero from small
    scale = np.where(diagonal > 0, 1 / np.sqrt(np.where(diagonal > 0, diagonal, 1.0)), 1.0)
    scaled_inverse = np.linalg.pinv(scale[:, None] * K * scale, rcond=REL_TOL_ZERO_STIFFNESS, hermitian=True)
    return np.asarray(scale[:, None] * scaled_inverse * scale)
