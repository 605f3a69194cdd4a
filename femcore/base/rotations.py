"""Rotations of many nodes as unit quaternions (w, x, y, z), components on the first axis, in extended precision.

scipy's own work in double precision only; the deformed shape of a finely divided beam needs the digits beyond it. Components come
first so that each product runs along memory, and a quaternion takes half the products of a matrix.

    w = cos θ/2,   (x, y, z) = sin θ/2 times the axis      (W.R. Hamilton; e.g. J.B. Kuipers, Quaternions and Rotation
                                                            Sequences, 1999, from memory)
"""

from __future__ import annotations

import numpy as np

from femcore.base.arrays import EXTENDED, Real


def quaternions(vectors: Real) -> Real:
    """(4, …), of rotation vectors (3, …), rad: of unit length in extended precision, their angles in double."""
    given = np.asarray(vectors, dtype=float)
    half = np.sqrt((given * given).sum(axis=0)) / 2
    found = np.empty((4, *half.shape), dtype=EXTENDED)
    found[0], found[1:] = np.cos(half), np.sinc(half / np.pi) / 2 * given
    return np.asarray(found / np.sqrt((found * found).sum(axis=0)))


def rotation_vectors(turns: Real) -> Real:
    """(3, …), rad, of unit quaternions (4, …), by half a turn at most, in their precision."""
    w, v = turns[0], turns[1:]
    sine = np.sqrt((v * v).sum(axis=0))
    angle = 2 * np.arctan2(sine, np.abs(w))
    ratio = np.divide(angle, sine, out=np.full_like(sine, 2.0), where=sine > 0)
    return np.asarray(np.where(w < 0, -ratio, ratio) * v)


def rotation_matrices(turns: Real) -> Real:
    """(…, 3, 3), of unit quaternions (4, …), in their precision."""
    w, x, y, z = turns
    R = np.empty((*w.shape, 3, 3), dtype=turns.dtype)
    xx, yy, zz = 2 * x * x, 2 * y * y, 2 * z * z
    R[..., 0, 0], R[..., 1, 1], R[..., 2, 2] = 1 - yy - zz, 1 - xx - zz, 1 - xx - yy
    for i, j, both, rest in ((0, 1, x * y, w * z), (1, 2, y * z, w * x), (2, 0, z * x, w * y)):
        R[..., i, j], R[..., j, i] = 2 * (both - rest), 2 * (both + rest)
    return R


def product(after: Real, before: Real) -> Real:
    """(4, …), the rotations `before` (4, …) followed by `after` (4, …)."""
    w, x, y, z = after
    a, b, c, d = before
    return np.stack([
        w * a - x * b - y * c - z * d,
        w * b + x * a + y * d - z * c,
        w * c - x * d + y * a + z * b,
        w * d + x * c - y * b + z * a,
    ])  # fmt: skip


def inverse(turns: Real) -> Real:
    """(4, …), the rotations (4, …) backwards."""
    return np.concatenate([turns[:1], -turns[1:]])


def turned(turns: Real, vectors: Real) -> Real:
    """(3, …), vectors (3, …) rotated by unit quaternions (4, …)."""
    return _rotated(turns[0], turns[1:], vectors)


def turned_back(turns: Real, vectors: Real) -> Real:
    """(3, …), vectors (3, …) rotated by the inverse of unit quaternions (4, …)."""
    return _rotated(-turns[0], turns[1:], vectors)


def _rotated(w: Real, u: Real, v: Real) -> Real:
    twice = _cross(u + u, v)
    return np.asarray(v + w * twice + _cross(u, twice))


def vector_between(first: Real, second: Real) -> Real:
    """(3, …), the last three components of first⁻¹ second, small where both (4, …) are nearly the same."""
    u, v = first[1:], second[1:]
    return np.asarray(first[0] * v - second[0] * u - _cross(u, v))


def _cross(a: Real, b: Real) -> Real:
    """a × b over the first axis (3, …)."""
    found = np.empty(np.broadcast_shapes(a.shape, b.shape), dtype=np.result_type(a, b))
    for i, j, k in ((0, 1, 2), (1, 2, 0), (2, 0, 1)):
        np.subtract(a[j] * b[k], a[k] * b[j], out=found[i])
    return found


__all__ = [
    "inverse",
    "product",
    "quaternions",
    "rotation_matrices",
    "rotation_vectors",
    "turned",
    "turned_back",
    "vector_between",
]
