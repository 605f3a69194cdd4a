"""What loads do to a laminate: its strains, and the strains and stresses in every ply.

Loads and strains are arrays of any leading shape `...` with six at the end (see `RESULTANTS`, `STRAINS`), so
that one call serves one load, a table of them, or every place of every wall.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from femcore.base.arrays import ArrayRecord
from femcore.base.errors import InputFault
from femcore.laminates.laminate import Array, Laminate


@dataclass(frozen=True, eq=False, repr=False)
class PlyState(ArrayRecord):
    """Strain and stress in ply axes at both faces of every ply: smaller z (face 0), larger z (face 1).

    strain : (..., plies, 2, 3), (ε₁, ε₂, γ₁₂)
    stress : (..., plies, 2, 3), (σ₁, σ₂, τ₁₂), Pa
    """

    strain: Array
    stress: Array


def laminate_strain(laminate: Laminate, resultants: npt.ArrayLike) -> Array:
    """The six strains (..., 6) under the six resultants (..., 6), N/m and N."""
    return np.asarray(_six(resultants, "resultants") @ laminate.compliance)


def resultants_of_strain(laminate: Laminate, strain: npt.ArrayLike) -> Array:
    """The six resultants (..., 6) that go with the six strains (..., 6)."""
    return np.asarray(_six(strain, "strains") @ laminate.stiffness)


def resultants_with_curvature(laminate: Laminate, N: npt.ArrayLike, kappa: npt.ArrayLike) -> Array:
    """The six resultants (..., 6) where forces N (..., 3), N/m, and curvatures kappa (..., 3) are given.

    ε⁰ = A⁻¹(N − Bκ), M = Bε⁰ + Dκ.
    """
    N, kappa = np.asarray(N, float), np.asarray(kappa, float)
    eps = (N - kappa @ laminate.B) @ np.linalg.inv(laminate.A)
    return np.concatenate([np.broadcast_to(N, eps.shape), eps @ laminate.B + kappa @ laminate.D], axis=-1)


def ply_state(laminate: Laminate, strain: npt.ArrayLike) -> PlyState:
    """Strains and stresses in every ply for the laminate's six strains (..., 6)."""
    six, unit = _six(strain, "strains"), unit_ply_state(laminate)
    shape = (*six.shape[:-1], *unit.strain.shape[1:])
    strains, stresses = ((six @ of.reshape(6, -1)).reshape(shape) for of in (unit.strain, unit.stress))
    return PlyState(strains, stresses)


def unit_ply_state(laminate: Laminate) -> PlyState:
    """Strains and stresses in every ply for each of the laminate's six strains alone, as one: (6, plies, 2, 3)."""
    faces = np.stack([laminate.edges[:-1], laminate.edges[1:]], axis=1)
    own = np.einsum("kij->jki", laminate.strain_rotation)[:, :, None]
    strain = np.concatenate([np.broadcast_to(own, (3, *faces.shape, 3)), faces[..., None] * own])
    return PlyState(strain, np.einsum("kij,skfj->skfi", laminate.Q, strain))


def ply_state_under(laminate: Laminate, resultants: npt.ArrayLike) -> PlyState:
    """Strains and stresses in every ply under the six resultants (..., 6)."""
    return ply_state(laminate, laminate_strain(laminate, resultants))


def laminate_axes(laminate: Laminate, state: PlyState) -> Array:
    """The stresses of `state` in the laminate's axes, (..., plies, 2, 3): (σ_x, σ_y, τ_xy), Pa."""
    return np.asarray(np.einsum("kji,...kfj->...kfi", laminate.strain_rotation, state.stress))


def _six(values: npt.ArrayLike, what: str) -> Array:
    array = np.asarray(values, dtype=float)
    if array.shape[-1:] != (6,):
        raise InputFault(what, f"are of shape {array.shape}", "give six numbers along the last axis")
    return array
