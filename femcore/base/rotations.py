"""Rotations of many nodes as vectors and matrices, in the precision that they are given in.

scipy's own work in double precision only; the deformed shape of a finely divided beam needs the digits beyond it.

    R = 1 + sin θ/θ W + (1 − cos θ)/θ² W²,   W = [w ×], θ = |w|      (Rodrigues' formula)
"""

from __future__ import annotations

import numpy as np

from femcore.base.arrays import Real


def rotation_matrices(vectors: Real) -> Real:
    """(…, 3, 3), of rotation vectors (…, 3), rad."""
    x, y, z = np.moveaxis(vectors, -1, 0)
    W = np.zeros((*vectors.shape, 3), dtype=vectors.dtype)
    W[..., 0, 1], W[..., 0, 2], W[..., 1, 2] = -z, y, -x
    W -= np.swapaxes(W, -1, -2)
    angle = np.sqrt(x * x + y * y + z * z)
    # sinc(t) = sin(π t)/(π t) would round π: the ratios are taken here, each 1 where nothing turns
    first, second = _sine_ratio(angle), _sine_ratio(angle / 2) ** 2 / 2
    return np.asarray(
        np.eye(3, dtype=vectors.dtype) + first[..., None, None] * W + second[..., None, None] * (W @ W)
    )


def rotation_vectors(matrices: Real) -> Real:
    """(…, 3), rad, of rotation matrices (…, 3, 3) by less than half a turn."""
    skew = matrices - np.swapaxes(matrices, -1, -2)
    doubled = np.stack([skew[..., 2, 1], skew[..., 0, 2], skew[..., 1, 0]], axis=-1)
    sine = np.sqrt((doubled * doubled).sum(axis=-1)) / 2
    cosine = (np.trace(matrices, axis1=-2, axis2=-1) - 1) / 2
    angle = np.arctan2(sine, cosine)
    ratio = np.divide(angle, sine, out=np.ones_like(angle), where=sine > 0)
    return np.asarray(doubled / 2 * ratio[..., None])


def _sine_ratio(angle: Real) -> Real:
    """sin θ/θ, 1 at 0."""
    return np.asarray(np.divide(np.sin(angle), angle, out=np.ones_like(angle), where=angle > 0))


__all__ = ["rotation_matrices", "rotation_vectors"]
