"""A laminate: plies through the thickness, and their stiffness by classical lamination theory.

Axes: x along the laminate (the beam), y across it in the plane, z through the thickness from the middle. The
first ply listed is at z = −h/2, the last at +h/2; a ply's angle turns from x towards y. Strains are
engineering strains (γ_xy), the six of a laminate (ε_x, ε_y, γ_xy, κ_x, κ_y, κ_xy) with κ_xy twice the twist,
the six resultants (N_x, N_y, N_xy, M_x, M_y, M_xy) per width:

    N = A ε⁰ + B κ,    M = B ε⁰ + D κ,    A, B, D = ∫ Q̄ (1, z, z²) dz

(R.M. Jones, Mechanics of Composite Materials, 2nd ed. (1999), chapters 2 and 4; formulas from memory.)
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np
import numpy.typing as npt

from femcore.base.arrays import ArrayRecord
from femcore.base.errors import InputFault
from femcore.materials import Core, KnockDown, Lamina

Array = npt.NDArray[np.float64]

RESULTANTS: Final = ("N_x", "N_y", "N_xy", "M_x", "M_y", "M_xy")
"""Order of the six resultants per width: N/m, then N."""

STRAINS: Final = ("eps_x", "eps_y", "gamma_xy", "kappa_x", "kappa_y", "kappa_xy")
"""Order of the six strains of a laminate: 1, then 1/m."""


@dataclass(frozen=True)
class Ply:
    """One layer: its material, thickness (m), angle of its fibres from x towards y (rad), and words for a
    table.

    `core` is the sandwich core that the layer is, if it is one.
    """

    lamina: Lamina
    thickness: float
    angle: float = 0.0
    label: str = ""
    core: Core | None = None

    def __post_init__(self) -> None:
        if not 0 < self.thickness < float("inf"):
            wrong = f"a thickness of {1000 * self.thickness:g} mm is impossible"
            place = f"ply {self.label or self.lamina.name}"
            raise InputFault(place, wrong, "give one above zero, such as 0.3 mm")


@dataclass(frozen=True, eq=False, repr=False)
class Laminate(ArrayRecord):
    """Plies from z = −h/2 to +h/2, with what classical lamination theory makes of them.

    A, B, D : (3, 3), N/m, N and N·m
    stiffness : (6, 6), from the six strains to the six resultants
    compliance : (6, 6), its inverse
    Q, Qbar : (plies, 3, 3), Pa, reduced stiffness of each ply in its own axes and in the laminate's
    strain_rotation : (plies, 3, 3), from strains in laminate axes to strains in ply axes
    edges : (plies + 1,), m, the z at which each ply begins, and where the last one ends
    thickness : m; areal_mass : kg/m²
    """

    plies: tuple[Ply, ...]
    name: str = "laminate"
    A: Array = field(init=False, repr=False)
    B: Array = field(init=False, repr=False)
    D: Array = field(init=False, repr=False)
    stiffness: Array = field(init=False, repr=False)
    compliance: Array = field(init=False, repr=False)
    Q: Array = field(init=False, repr=False)
    Qbar: Array = field(init=False, repr=False)
    strain_rotation: Array = field(init=False, repr=False)
    edges: Array = field(init=False, repr=False)
    thickness: float = field(init=False)
    areal_mass: float = field(init=False)

    def __post_init__(self) -> None:
        if not self.plies:
            raise InputFault(self.name, "a laminate without plies", "list at least one")
        t = np.array([ply.thickness for ply in self.plies])
        turn = strain_rotation(np.array([ply.angle for ply in self.plies]))
        Q = reduced_stiffness([ply.lamina for ply in self.plies])
        Qbar = np.swapaxes(turn, 1, 2) @ Q @ turn
        edges = np.concatenate([[0.0], np.cumsum(t)]) - t.sum() / 2
        A, B, D = _integrals(Qbar, t, edges)
        stiffness = np.block([[A, B], [B, D]])
        arrays = {"A": A, "B": B, "D": D, "stiffness": stiffness, "compliance": _inverse(stiffness), "Q": Q}
        arrays |= {"Qbar": Qbar, "strain_rotation": turn, "edges": edges}
        for key, value in arrays.items():
            value.setflags(write=False)
            object.__setattr__(self, key, value)
        object.__setattr__(self, "thickness", float(t.sum()))
        object.__setattr__(self, "areal_mass", sum(ply.thickness * ply.lamina.density for ply in self.plies))

    def rotated(self, angle: float) -> Laminate:
        """The same laminate laid at a further `angle` (rad, from x towards y)."""
        return Laminate(tuple(replace(ply, angle=ply.angle + angle) for ply in self.plies), self.name)

    def flipped(self) -> Laminate:
        """The same laminate turned over about x: the order of its plies and the sense of their angles
        reverse.
        """
        return Laminate(tuple(replace(ply, angle=-ply.angle) for ply in reversed(self.plies)), self.name)

    def with_knockdowns(self, knockdowns: Iterable[KnockDown]) -> Laminate:
        """The same laminate with named knock-downs taken off the strengths of every ply that is no core."""
        named = tuple(knockdowns)
        lowered = (replace(ply, lamina=ply.lamina.with_knockdowns(named)) for ply in self.plies)
        plies = (ply if ply.core else low for ply, low in zip(self.plies, lowered, strict=True))
        return Laminate(tuple(plies), self.name)

    def with_name(self, name: str) -> Laminate:
        """The same laminate under another name."""
        return Laminate(self.plies, name)


def reduced_stiffness(laminas: Iterable[Lamina]) -> Array:
    """Plane-stress stiffness Q of each layer in its own axes: (layers, 3, 3), Pa."""
    E1, E2, nu12, G12 = np.array([[each.E1, each.E2, each.nu12, each.G12] for each in laminas]).T
    solid = 1 - nu12**2 * E2 / E1
    Q = np.zeros((len(E1), 3, 3))
    Q[:, 0, 0], Q[:, 1, 1], Q[:, 2, 2] = E1 / solid, E2 / solid, G12
    Q[:, 0, 1] = Q[:, 1, 0] = nu12 * E2 / solid
    return Q


def strain_rotation(angle: Array) -> Array:
    """Engineering strains in laminate axes → in axes turned by `angle` (rad): (..., 3, 3) for angles (...).

    Its transpose turns stresses back: σ_xy = Rᵀ σ_12.
    """
    c, s = np.cos(angle), np.sin(angle)
    rows = [[c * c, s * s, c * s], [s * s, c * c, -c * s], [-2 * c * s, 2 * c * s, c * c - s * s]]
    return np.stack([np.stack(row, axis=-1) for row in rows], axis=-2)


def _integrals(Qbar: Array, t: Array, edges: Array) -> tuple[Array, Array, Array]:
    # about each ply's own middle: what cancels in a symmetric laminate then cancels to round-off
    middle = (edges[:-1] + edges[1:]) / 2
    A = np.einsum("k,kij->ij", t, Qbar)
    B = np.einsum("k,kij->ij", t * middle, Qbar)
    D = np.einsum("k,kij->ij", t * middle**2 + t**3 / 12, Qbar)
    return A, B, D


def _inverse(stiffness: Array) -> Array:
    # A in N/m and D in N·m are ten powers apart in a thin laminate: scale to a unit diagonal before inverting
    scale = 1 / np.sqrt(np.diag(stiffness))
    return np.asarray(scale[:, None] * np.linalg.inv(scale[:, None] * stiffness * scale) * scale)
