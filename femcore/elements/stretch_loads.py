"""A beam under loads along part of it: forces on clamped ends, actions and deflection within the element.

The clamped ends carry the work-equivalent loads of the exact shape functions of a beam with shear deformation, so that the
movements of nodes do not depend on how a beam is divided (J.S. Przemieniecki, Theory of Matrix Structural Analysis, 1968,
ch. 5, from memory). Shape functions are cubic and loads linear, so that three Gauss points integrate their product exactly.

    p : stretches;   r : pairs of a point and a stretch of its element;   c : cases
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from femcore.base.arrays import FloatArray, IntArray
from femcore.elements.beam import local_modes, mode_shapes, shear_parameters
from femcore.frame.frame import Frame
from femcore.frame.stretches import Stretches

GAUSS_POINT, GAUSS_WEIGHT = ((np.polynomial.legendre.leggauss(3)[i] + (1, 0)[i]) / 2 for i in (0, 1))
"""On 0 … 1: exact to the fifth degree."""


def stretch_fixed_end(frame: Frame, stretches: Stretches) -> tuple[FloatArray, FloatArray]:
    """q0 (c, p, 6) and p0 (c, p, 12) of each stretch, as `fixed_end` gives them of whole elements.

    A bar, without EI, has no end moments: a couple on it becomes a pair of forces at its ends.
    """
    which, L = stretches.element, frame.length[stretches.element]
    phi_y, phi_z = (phi[which] for phi in shear_parameters(frame))
    q0 = np.zeros((*stretches.load.shape[:2], 6))
    p0 = np.zeros((*stretches.load.shape[:2], 2, 6))
    for t, weight in zip(GAUSS_POINT, GAUSS_WEIGHT, strict=True):
        xi = stretches.begin + (stretches.end - stretches.begin) * t
        acting = stretches.load[:, :, 0] * (1 - t) + stretches.load[:, :, 1] * t
        acting = acting * (weight * (stretches.end - stretches.begin) * L)[:, None]
        q0 -= np.einsum("pri,cpi->cpr", mode_shapes(L, phi_y, phi_z, xi), acting)
        p0 -= np.stack([(1 - xi)[:, None] * acting, xi[:, None] * acting], axis=2)
    for EI, modes, turn, move, sign in (
        (frame.EIy, slice(2, 4), 4, 2, -1.0),
        (frame.EIz, slice(4, 6), 5, 1, 1.0),
    ):
        bar = EI[which] == 0
        q0[:, bar, modes] = 0.0
        pair = np.where(bar, sign * p0[..., turn].sum(axis=2) / L, 0.0)
        p0[:, :, 0, move] -= pair
        p0[:, :, 1, move] += pair
        p0[:, bar, :, turn] = 0.0
    return q0, p0.reshape(*p0.shape[:2], 12)


def actions_of_stretches(load: FloatArray, begin: FloatArray, end: FloatArray, at: FloatArray) -> FloatArray:
    """(c, r, 6): what loads (c, r, 2, 6) from `begin` to `end` (r,), m, take off the actions at `at` (r,), m, past them."""
    covered = np.clip(at - begin, 0.0, end - begin)
    rise = (load[:, :, 1] - load[:, :, 0]) / (end - begin)[:, None]
    total = load[:, :, 0] * covered[:, None] + rise * (covered**2 / 2)[:, None]
    past = at - begin
    first = load[:, :, 0] * (past * covered - covered**2 / 2)[:, None]
    first += rise * (past * covered**2 / 2 - covered**3 / 3)[:, None]
    # dMy/dx = Vz − my and dMz/dx = −Vy − mz
    total[..., 4] += first[..., 2]
    total[..., 5] -= first[..., 1]
    return np.asarray(-total)


def deflection_of_stretches(frame: Frame, stretches: Stretches, row: IntArray, at: FloatArray) -> FloatArray:
    """(c, r, 6), m and rad, beam axes: movement and section rotation of the clamped element at `at` (r,), m, under stretch `row`.

    Curvature, shear strain, stretch and twist integrated from the clamped start, piece by piece, each a polynomial.
    """
    q0, p0 = stretch_fixed_end(frame, stretches)
    which = stretches.element[row]
    L = frame.length[which]
    clamped = -(np.einsum("rmi,crm->cri", local_modes(L), q0[:, row]) + p0[:, row])[..., :6]
    begin, end = (edge[row] for edge in stretches.extents(frame.length))
    flexibility = [
        _inverse(part[which]) for part in (frame.EA, frame.GAy, frame.GAz, frame.GJ, frame.EIy, frame.EIz)
    ]
    edges = np.stack([np.zeros_like(at), np.minimum(begin, at), np.minimum(end, at), at])
    moved = np.zeros((len(stretches.load), len(row), 6))
    for near, far in pairwise(edges):
        for t, weight in zip(GAUSS_POINT, GAUSS_WEIGHT, strict=True):
            s = near + (far - near) * t
            strain = clamped + actions_of_stretches(stretches.load[:, row], begin, end, s)
            strain[..., 4] += clamped[..., 2] * s
            strain[..., 5] -= clamped[..., 1] * s
            strain *= np.stack(flexibility, axis=1) * (weight * (far - near))[:, None]
            moved += strain
            # bending in x–y goes with +rz, in x–z with −ry
            moved[..., 1] += strain[..., 5] * (at - s)
            moved[..., 2] -= strain[..., 4] * (at - s)
    return moved


def _inverse(stiffness: FloatArray) -> FloatArray:
    """1 / stiffness, 0 where there is none (a bar does not bend)."""
    return np.divide(1.0, stiffness, out=np.zeros_like(stiffness), where=stiffness != 0)


__all__ = ["actions_of_stretches", "deflection_of_stretches", "stretch_fixed_end"]
