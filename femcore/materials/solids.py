"""Materials that come as they are: cores, metals, bolts, wire and rod."""

from __future__ import annotations

import math
from dataclasses import dataclass

from femcore.base.errors import InputFault
from femcore.materials.lamina import Lamina
from femcore.materials.records import Record, quantity


@dataclass(frozen=True, kw_only=True)
class Core(Record):
    """A sandwich core: `E` in its plane; `E_through`, `G` and strengths through the thickness; Pa."""

    E: float = quantity("Pa")
    E_through: float = quantity("Pa")
    nu: float = quantity("")
    G: float = quantity("Pa")
    shear_strength: float = quantity("Pa")
    compressive_strength: float = quantity("Pa")
    density: float = quantity("kg/m**3")

    def lamina(self) -> Lamina:
        """The core as an isotropic layer in its plane, without strengths there: a core is checked as one."""
        return Lamina(
            name=self.name, title=self.title, provenance=self.provenance, E1=self.E, E2=self.E, nu12=self.nu,
            G12=self.E / (2 * (1 + self.nu)), density=self.density,
        )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Isotropic(Record):
    """An isotropic material: `proof` and `ultimate` strength (Pa) are None where nobody stated them.

    `thickest` bounds the wall (m) for which the strengths are stated.
    """

    E: float = quantity("Pa")
    nu: float = quantity("")
    density: float = quantity("kg/m**3")
    expansion: float = quantity("1/K", default=0.0)
    proof: float | None = quantity("Pa", default=None)
    ultimate: float | None = quantity("Pa", default=None)
    thickest: float | None = quantity("m", default=None)

    @property
    def shear_modulus(self) -> float:
        """Shear modulus E/2(1 + ν), Pa."""
        return self.E / (2 * (1 + self.nu))


@dataclass(frozen=True, kw_only=True)
class Metal(Isotropic):
    """A metal with its strengths, and both in the heat-affected zone of a weld where it has one (Pa)."""

    expansion: float = quantity("1/K")
    proof: float = quantity("Pa")
    ultimate: float = quantity("Pa")
    proof_haz: float | None = quantity("Pa", default=None)
    ultimate_haz: float | None = quantity("Pa", default=None)

    def strengths(self, *, welded: bool) -> tuple[float, float]:
        """Proof and ultimate strength, of the heat-affected zone where `welded`; InputFault where that is not
        known.
        """
        if not welded:
            return self.proof, self.ultimate
        if self.proof_haz is None or self.ultimate_haz is None:
            cure = "choose an alloy with proof_haz and ultimate_haz, or do not weld it"
            raise InputFault(f"metal {self.name}", "no strength beside a weld is known", cure)
        return self.proof_haz, self.ultimate_haz


@dataclass(frozen=True, kw_only=True)
class BoltClass(Record):
    """A property class of bolts: `proof` (0.2 %) and `ultimate` strength on the stress area (Pa)."""

    E: float = quantity("Pa")
    proof: float = quantity("Pa")
    ultimate: float = quantity("Pa")


@dataclass(frozen=True, kw_only=True)
class Line(Record):
    """Wire or rod in tension: `E` on the metal, `fill` (metal over the circle of its diameter), and the
    `breaking` stress on that circle (Pa), `density` of the metal.
    """

    E: float = quantity("Pa")
    fill: float = quantity("")
    breaking: float = quantity("Pa")
    density: float = quantity("kg/m**3")

    def area(self, diameter: float) -> float:
        """Area of metal (m²) of a line of this diameter (m)."""
        return self.fill * self._circle(diameter)

    def axial_stiffness(self, diameter: float) -> float:
        """EA, N, of a line of this diameter (m)."""
        return self.E * self.area(diameter)

    def breaking_load(self, diameter: float) -> float:
        """Breaking load of the line itself, N; terminals may hold less."""
        return self.breaking * self._circle(diameter)

    def _circle(self, diameter: float) -> float:
        if not diameter > 0:
            raise InputFault(
                f"line {self.name}", f"a diameter of {diameter:g} m is impossible", "give one above zero"
            )
        return math.pi / 4 * diameter**2
