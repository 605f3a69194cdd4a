"""Natural frequencies and modes: mass consistent with the element's own shape functions, or lumped at its ends.

    K φ = ω² M φ

The consistent mass is ∫ Nᵀ ρA N dx with N the shapes of the deflection (cubic, with shear) and of the section's rotation, whose
rotary inertia counts (J.S. Przemieniecki, Theory of Matrix Structural Analysis, 1968, ch. 11, from memory); four Gauss points
integrate it exactly. A case's internal forces stiffen or soften the frame through its geometric stiffness.
"""

from __future__ import annotations

import numpy as np

from femcore.actions import shape_functions
from femcore.frame import FloatArray, Frame

GAUSS_POINTS = 4


def consistent_mass(frame: Frame, inner: FloatArray) -> FloatArray:
    """(m, 12, 12), kg, kg·m and kg·m²: mass matrices over the outer end freedoms in beam axes.

    inner : (m, 12, 12), movements of the elements' own ends per movement of the outer ends (end springs between them).
    """
    points, weights = np.polynomial.legendre.leggauss(GAUSS_POINTS)
    total = np.zeros((len(frame.ends), 12, 12))
    density = np.concatenate([np.repeat(frame.line_mass[:, None], 3, axis=1), frame.line_inertia], axis=1)
    for point, weight in zip((points + 1) / 2, weights / 2, strict=True):
        N = shape_functions(frame, np.full(len(frame.ends), point)) @ inner
        total += np.swapaxes(N, 1, 2) @ (density[:, :, None] * N) * (weight * frame.length)[:, None, None]
    return total


def lumped_mass(frame: Frame) -> FloatArray:
    """(m, 12, 12): half of each element's mass and rotary inertia at each end."""
    half = np.concatenate([np.repeat(frame.line_mass[:, None], 3, axis=1), frame.line_inertia], axis=1)
    half = half * (frame.length / 2)[:, None]
    total = np.zeros((len(half), 12, 12))
    total[:, range(12), range(12)] = np.concatenate([half, half], axis=1)
    return total
