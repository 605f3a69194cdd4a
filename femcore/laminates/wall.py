"""A laminate as the wall of a beam: what is left of its stiffness when some resultants vanish.

The wall of a beam is free to contract across the beam (N_y = M_y = 0), so it resists stretch not with A11 but
with A11 − A12²/A22, and likewise for every other pair. Condensing the whole 6 × 6 keeps what couples.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from femcore.base.arrays import ArrayRecord
from femcore.base.errors import InputFault
from femcore.laminates.laminate import RESULTANTS, Array, Laminate


@dataclass(frozen=True, eq=False, repr=False)
class WallStiffness(ArrayRecord):
    """A beam's wall per unit of its width, hoop force and hoop moment zero; x along the beam.

    matrix : (3, 3), from (ε_x, γ_xy, κ_xy) to (N_x, N_xy, M_xy) with M_x zero too; N/m, N, N·m
    axial : N/m, N_x per ε_x with the shear strain held (a closed section lets no wall shear freely)
    axial_shear_free : N/m, the same with the wall free to shear
    shear : N/m, N_xy per γ_xy with ε_x held
    shear_axial_free : N/m, the same with the wall free to stretch
    axial_modulus, shear_modulus : Pa, `axial` and `shear` over the thickness
    """

    matrix: Array
    axial: float
    axial_shear_free: float
    shear: float
    shear_axial_free: float
    axial_modulus: float
    shear_modulus: float


def condense(laminate: Laminate, keep: Sequence[str], held: Sequence[str] = ()) -> Array:
    """Stiffness (k, k) between the `keep` resultants and their strains, the other resultants zero.

    The strains that go with the resultants named in `held` are zero instead (their resultants are then
    reactions). Names are those of `RESULTANTS`. Raises InputFault for a name that is unknown or given twice.
    """
    _check(keep, held)
    kept = [RESULTANTS.index(name) for name in keep]
    free = [place for place, name in enumerate(RESULTANTS) if name not in (*keep, *held)]
    K = laminate.stiffness
    if not free:
        return K[np.ix_(kept, kept)].copy()
    scale = 1 / np.sqrt(np.diag(K)[free])
    inner = scale[:, None] * K[np.ix_(free, free)] * scale
    across = scale[:, None] * K[np.ix_(free, kept)]
    return np.asarray(K[np.ix_(kept, kept)] - across.T @ np.linalg.solve(inner, across))


def wall_stiffness(laminate: Laminate) -> WallStiffness:
    """The laminate as the wall of a thin-walled beam along x."""
    matrix = condense(laminate, ("N_x", "N_xy", "M_xy"))
    both = condense(laminate, ("N_x", "N_xy"))
    axial, shear = float(both[0, 0]), float(both[1, 1])
    return WallStiffness(
        matrix=matrix,
        axial=axial,
        axial_shear_free=axial - float(both[0, 1]) ** 2 / shear,
        shear=shear,
        shear_axial_free=shear - float(both[0, 1]) ** 2 / axial,
        axial_modulus=axial / laminate.thickness,
        shear_modulus=shear / laminate.thickness,
    )


def free_expansion(laminate: Laminate) -> Array | None:
    """(3,), 1/K, what a laminate that may not curl (a tube's wall, a symmetric sheet) expands: ε_x, ε_y, γ_xy per kelvin.

    A⁻¹ Σ Q̄ ᾱ t over the plies that are no core (classical lamination theory); None where a ply's expansion is not known.
    """
    laminas = [ply.lamina for ply in laminate.plies]
    solid = np.array([ply.core is None for ply in laminate.plies])
    if any(
        ply.core is None and (ply.lamina.expansion1 is None or ply.lamina.expansion2 is None)
        for ply in laminate.plies
    ):
        return None
    own = np.array([[each.expansion1 or 0.0, each.expansion2 or 0.0, 0.0] for each in laminas])[solid]
    t, Q, turn = np.diff(laminate.edges)[solid], laminate.Q[solid], laminate.strain_rotation[solid]
    stretched = np.einsum("p,pij->ij", t, laminate.Qbar[solid])
    pull = np.einsum("p,pji,pjk,pk->i", t, turn, Q, own)
    return np.asarray(np.linalg.solve(stretched, pull))


def _check(keep: Sequence[str], held: Sequence[str]) -> None:
    named = (*keep, *held)
    for name in named:
        if name not in RESULTANTS:
            raise InputFault("condense", f"no resultant is called '{name}'", f"use {', '.join(RESULTANTS)}")
    if len(set(named)) < len(named) or not keep:
        raise InputFault("condense", "a resultant is named twice, or none is kept", "name each once")
