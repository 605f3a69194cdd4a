"""The geometric stiffness of beams: what their internal forces add to their stiffness.

It follows from the natural modes: the forces at an element's ends rotate with the element, and its axial force follows its
bent axis. For the axial force alone this is the consistent matrix of cubic beams (J.S. Przemieniecki, Theory of Matrix
Structural Analysis, 1968, ch. 15, from memory), so four elements give an Euler load to 0.1 %; moments and torques are taken as
pairs that keep the assembled matrix symmetric.
"""

from __future__ import annotations

import numpy as np

from femcore.base.arrays import FloatArray, Real
from femcore.elements.beam import local_modes, shear_parameters
from femcore.frame.frame import Frame


def skew(a: Real) -> Real:
    """(…, 3, 3), the matrix that takes a vector to its product with a (…, 3) on the left."""
    x, y, z = a[..., 0], a[..., 1], a[..., 2]
    result = np.zeros((*a.shape, 3), dtype=a.dtype)
    result[..., 0, 1], result[..., 0, 2], result[..., 1, 2] = -z, y, -x
    result[..., 1, 0], result[..., 2, 0], result[..., 2, 1] = z, -y, x
    return result


def bowing(frame: Frame) -> FloatArray:
    """(m, 6), m: what the axial force adds to each natural stiffness per N.

    ∫w′² dx of the four bending modes: L/12 symmetric, L/(5 (1+Φ)²) antisymmetric. A bar, which has no EI, stays straight.
    """
    L = frame.length
    phi_y, phi_z = shear_parameters(frame)
    result = np.zeros((len(L), 6))
    result[:, 2] = result[:, 4] = L / 12
    result[:, 3], result[:, 5] = L / (5 * (1 + phi_z) ** 2), L / (5 * (1 + phi_y) ** 2)
    result[:, 2:4] *= (frame.EIy > 0)[:, None]
    result[:, 4:6] *= (frame.EIz > 0)[:, None]
    return result


def rotation_stiffness(length: Real, q: Real) -> Real:
    """(m, 12, 12), beam axes: change of the end forces as the element's own axes turn with its ends; symmetric part.

    q : (m, 6), natural forces. The axes turn by ω = ((θ₁x + θ₂x)/2, −Δuz/L, Δuy/L); forces and moments turn with them, and the
    shears, which balance the end moments over the length, shrink as it grows.
    """
    m, inverse = len(length), 1 / length
    W = np.zeros((m, 3, 12), dtype=q.dtype)
    W[:, 0, 3] = W[:, 0, 9] = 0.5
    W[:, 1, 2], W[:, 1, 8] = inverse, -inverse
    W[:, 2, 1], W[:, 2, 7] = -inverse, inverse
    stretch = np.zeros((m, 12), dtype=q.dtype)
    stretch[:, 0], stretch[:, 6] = -1, 1
    p = np.einsum("mri,mr->mi", local_modes(length), q)
    force, shear = p[:, 6:9], p[:, 6:9] * np.array([0.0, 1.0, 1.0])
    K = np.zeros((m, 12, 12), dtype=q.dtype)
    K[:, 6:9] = -skew(force) @ W - (shear * inverse[:, None])[:, :, None] * stretch[:, None, :]
    K[:, 0:3] = -K[:, 6:9]
    K[:, 3:6] = -skew(p[:, 3:6]) @ W
    K[:, 9:12] = -skew(p[:, 9:12]) @ W
    return np.asarray((K + np.swapaxes(K, 1, 2)) / 2)


def offset_rotation_stiffness(offsets: Real, force: Real) -> Real:
    """(m, 2, 3, 3), rotations at both nodes: rigid arms `offsets` (m, 2, 3) turn under the end `force` (m, 2, 3), global axes."""
    both = offsets[..., :, None] * force[..., None, :]
    dot = (offsets * force).sum(axis=-1)[..., None, None]
    return np.asarray((both + np.swapaxes(both, -1, -2)) / 2 - dot * np.eye(3))
