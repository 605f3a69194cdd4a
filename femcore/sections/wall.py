"""A wall: what a strip of metal or laminate gives to the section it is part of.

Wall axes: x along the beam, s along the wall in the section's plane, n = x × s across its thickness (to the
           left of the
direction of travel, with y to the right and z up; so inward on an outline listed anticlockwise). The
laminate's
thickness coordinate runs along n.

A beam's wall is free to contract across the beam's axis, so its stiffness is taken with the hoop force N_s
and the hoop
moment M_s zero, never from A11 itself.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Protocol

import numpy as np

from femcore.base.arrays import ArrayRecord
from femcore.base.errors import InputFault

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]


class WallLaminate(Protocol):
    """What a laminate must give to serve as a wall (x along the beam, s along the wall; SI)."""

    @property
    def A(self) -> Array:
        """Membrane stiffness, (3, 3), N/m."""

    @property
    def B(self) -> Array:
        """Coupling stiffness, (3, 3), N."""

    @property
    def D(self) -> Array:
        """Bending stiffness, (3, 3), N·m."""

    @property
    def thickness(self) -> float:
        """Whole thickness, core included, m."""

    @property
    def areal_mass(self) -> float:
        """Mass per area, kg/m²."""


WALL_RESULTANTS, HOOP_RESULTANTS = [0, 2, 3, 5], [1, 4]
"""Places of (ε_x, γ_xs, κ_x, κ_xs) and of (ε_s, κ_s) among the six laminate strains."""


@dataclass(frozen=True, eq=False, repr=False)
class Wall(ArrayRecord):
    """One kind of wall, metal or laminate.

    name       : for tables and pictures
    stiffness  : (4, 4), from (ε_x, γ_xs, κ_x, κ_xs) to (N_x, N_xs, M_x, M_xs) with N_s = M_s = 0; N/m, N, N·m
    strains    : (6, 4), from the same four to all six laminate strains (ε_x, ε_s, γ_xs, κ_x, κ_s, κ_xs)
    membrane   : (3, 3), the plate's A, N/m: for the buckling of curved walls
    bending    : (3, 3), the plate's bending stiffness with the membrane force free, D − B A⁻¹ B, N·m: for
                 buckling
    thickness  : m
    areal_mass : kg/m²
    laminate   : the laminate it was made of, for ply recovery; None for metal
    E, G       : moduli of a metal wall, Pa; None for a laminate
    """

    name: str
    stiffness: Array
    strains: Array
    membrane: Array
    bending: Array
    thickness: float
    areal_mass: float
    laminate: Any = field(default=None, repr=False)
    E: float | None = None
    G: float | None = None

    @property
    def axial(self) -> float:
        """Axial stiffness at zero hoop force and zero shear strain, A11 − A12²/A22 where B = 0, N/m."""
        return float(self.stiffness[0, 0])

    @property
    def shear(self) -> float:
        """Shear stiffness per width at zero hoop force, A66 − A26²/A22 where B = 0, N/m."""
        return float(self.stiffness[1, 1])

    @property
    def coupling(self) -> float:
        """Axial–shear coupling at zero hoop force, A16 − A12 A26/A22 where B = 0, N/m; zero if balanced."""
        return float(self.stiffness[0, 1])

    @classmethod
    def isotropic(
        cls,
        E: float,
        thickness: float,
        *,
        G: float | None = None,
        nu: float | None = None,
        density: float = 0.0,
        name: str = "metal",
    ) -> Wall:
        """Make a metal wall from E (Pa), thickness (m), one of G (Pa) and nu, and density (kg/m³).

        Raises InputFault for a thickness, modulus or density out of range, or where both or neither of G and
        nu are given.
        """
        place = f"wall '{name}'"
        _positive(place, "thickness", thickness, "m")
        _positive(place, "E", E, "Pa")
        if (G is None) == (nu is None):
            raise InputFault(
                place, "needs exactly one of G and nu", "give the one you know and leave the other out"
            )
        modulus = G if G is not None else E / (2.0 * (1.0 + float(nu or 0.0)))
        _positive(place, "G", modulus, "Pa")
        ratio = E / (2.0 * modulus) - 1.0
        if not -1.0 < ratio < 0.5 + 1e-12:
            raise InputFault(
                place, f"has a Poisson's ratio of {ratio:g}", "give G between E/3 and, as a rule, E/2"
            )
        plate = (
            E
            / (1.0 - ratio**2)
            * np.array([[1.0, ratio, 0.0], [ratio, 1.0, 0.0], [0.0, 0.0, (1.0 - ratio) / 2]])
        )
        wall = _from_plate(
            name,
            (plate * thickness, np.zeros((3, 3)), plate * thickness**3 / 12.0),
            thickness,
            density * thickness,
        )
        return cls(**{**wall, "E": E, "G": modulus})

    @classmethod
    def from_laminate(cls, laminate: WallLaminate, *, name: str | None = None) -> Wall:
        """Make a wall of `laminate` (A, B, D, thickness, areal_mass; x along the beam, s along the wall).

        Raises InputFault where the thickness is not positive or the stiffness is no stiffness.
        """
        label = str(name if name is not None else getattr(laminate, "name", "laminate"))
        _positive(f"wall '{label}'", "thickness", laminate.thickness, "m")
        A, B, D = (np.asarray(part, float) for part in (laminate.A, laminate.B, laminate.D))
        return cls(
            **_from_plate(label, (A, B, D), laminate.thickness, laminate.areal_mass), laminate=laminate
        )


def _positive(place: str, key: str, value: float, unit: str) -> None:
    if not (np.isfinite(value) and value > 0.0):
        raise InputFault(place, f"has {key} = {value:g} {unit}", f"give a {key} above zero")


def _from_plate(
    name: str, plate: tuple[Array, Array, Array], thickness: float, areal_mass: float
) -> dict[str, Any]:
    """Condense (N_s, M_s) = 0 out of the laminate stiffness; the fields of a Wall."""
    if not (np.isfinite(areal_mass) and areal_mass >= 0.0):
        raise InputFault(
            f"wall '{name}'", f"has a mass of {areal_mass:g} kg/m²", "give a density of zero or more"
        )
    A, B, D = plate
    full = np.block([[A, B], [B, D]])
    scale = np.sqrt(np.abs(np.diag(full)))
    if not np.all(np.isfinite(full)) or np.any(scale == 0.0):
        raise InputFault(f"wall '{name}'", "has no stiffness in some direction", "check its plies and moduli")
    if np.linalg.eigvalsh((full + full.T) / 2 / np.outer(scale, scale)).min() <= 0.0:
        raise InputFault(
            f"wall '{name}'", "has a stiffness that gives energy away", "check its moduli and ratios"
        )
    back = -np.linalg.solve(
        full[np.ix_(HOOP_RESULTANTS, HOOP_RESULTANTS)], full[np.ix_(HOOP_RESULTANTS, WALL_RESULTANTS)]
    )
    strains = np.zeros((6, 4))
    strains[WALL_RESULTANTS], strains[HOOP_RESULTANTS] = np.eye(4), back
    stiffness = (
        full[np.ix_(WALL_RESULTANTS, WALL_RESULTANTS)] + full[np.ix_(WALL_RESULTANTS, HOOP_RESULTANTS)] @ back
    )
    arrays = {
        "stiffness": (stiffness + stiffness.T) / 2,
        "strains": strains,
        "membrane": np.array(A, float),
        "bending": D - B @ np.linalg.solve(A, B),
    }
    for array in arrays.values():
        array.flags.writeable = False
    return {"name": name, "thickness": float(thickness), "areal_mass": float(areal_mass), **arrays}
