"""One orthotropic layer in plane stress: moduli, strengths, and the named knock-downs taken off them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Final

from femcore.base.errors import InputFault
from femcore.materials.records import Record, quantity

STRENGTHS: Final = ("Xt", "Xc", "Yt", "Yc", "S12")
"""In-plane strengths: tension and compression along (X) and across (Y) the fibre, shear; magnitudes, Pa."""


@dataclass(frozen=True, kw_only=True)
class KnockDown(Record):
    """A named reason for which less than the dry, new, static strength may be counted on; factors in (0, 1].

    `fibre_tension` acts on Xt, `fibre_compression` on Xc, `matrix` on Yt, Yc, S12 and S23.
    """

    fibre_tension: float = quantity("")
    fibre_compression: float = quantity("")
    matrix: float = quantity("")

    def __post_init__(self) -> None:
        for key in ("fibre_tension", "fibre_compression", "matrix"):
            factor = getattr(self, key)
            if not 0 < factor <= 1:
                raise InputFault(
                    f"knock-down {self.name}", f"{key} is {factor:g}", "give a factor above 0 and up to 1"
                )


@dataclass(frozen=True, kw_only=True)
class Lamina(Record):
    """A layer in its own axes: 1 along the fibre, 2 across it in the plane.

    Moduli and strengths in Pa, `density` in kg/m³, expansions in 1/K. A strength or expansion left out is None:
    a check that needs it says so. `S23` is the transverse shear strength; no criterion in plane stress asks for it.
    `knockdowns` lists what has been taken off the strengths already. `strength_basis` is "typical" where the
    strengths were computed from typical breaking strains, "stated" where somebody stated them.
    """

    E1: float = quantity("Pa")
    E2: float = quantity("Pa")
    nu12: float = quantity("")
    G12: float = quantity("Pa")
    density: float = quantity("kg/m**3")
    Xt: float | None = quantity("Pa", default=None)
    Xc: float | None = quantity("Pa", default=None)
    Yt: float | None = quantity("Pa", default=None)
    Yc: float | None = quantity("Pa", default=None)
    S12: float | None = quantity("Pa", default=None)
    S23: float | None = quantity("Pa", default=None)
    expansion1: float | None = quantity("1/K", default=None)
    expansion2: float | None = quantity("1/K", default=None)
    knockdowns: tuple[KnockDown, ...] = ()
    strength_basis: str = "stated"

    def __post_init__(self) -> None:
        place = f"layer {self.name}"
        for key in ("E1", "E2", "G12", "density"):
            if not getattr(self, key) > 0:
                raise InputFault(place, f"{key} is {getattr(self, key):g}", "give a value above zero")
        for key in (*STRENGTHS, "S23"):
            strength = getattr(self, key)
            if strength is not None and not strength > 0:
                raise InputFault(
                    place,
                    f"strength {key} is {strength:g}",
                    "give its magnitude, above zero, or leave it out",
                )
        if not self.nu12**2 * self.E2 < self.E1:
            bound = (self.E1 / self.E2) ** 0.5
            raise InputFault(
                place, f"nu12 is {self.nu12:g}", f"energy stays positive only within ±{bound:.3g} = √(E1/E2)"
            )

    def with_knockdowns(self, knockdowns: Iterable[KnockDown]) -> Lamina:
        """The same layer with each knock-down multiplied in, and listed."""
        new = tuple(knockdowns)
        tension, compression, matrix = 1.0, 1.0, 1.0
        for item in new:
            tension *= item.fibre_tension
            compression *= item.fibre_compression
            matrix *= item.matrix
        factors = {"Xt": tension, "Xc": compression, "Yt": matrix, "Yc": matrix, "S12": matrix, "S23": matrix}
        values = {key: getattr(self, key) for key in factors}
        lowered = {key: value * factors[key] for key, value in values.items() if value is not None}
        return replace(self, knockdowns=(*self.knockdowns, *new), **lowered)
