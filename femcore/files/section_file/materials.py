"""Tables of a file's own materials: isotropic ones, single layers, sandwich cores, and laminates of them.

Units are read at this edge; every field is in SI.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Annotated, Any

from pydantic import Field, StringConstraints, model_validator

from femcore.base.errors import InputFault, fault
from femcore.base.toml import Table
from femcore.base.units import Expansion, Unit
from femcore.laminates import Laminate, LaminateMaterials, lay_up, stack
from femcore.materials import (
    Core,
    Isotropic,
    KnockDown,
    Lamina,
    cores,
    fibres,
    knockdowns,
    layers,
    pick,
    processes,
    resins,
)

Name = Annotated[str, StringConstraints(min_length=1, max_length=200)]
Modulus = Annotated[float, Unit("Pa", above=0)]
Strength = Annotated[float, Unit("Pa", above=0)]
Density = Annotated[float, Unit("kg/m**3", least=0)]
Heavy = Annotated[float, Unit("kg/m**3", above=0)]
Thickness = Annotated[float, Unit("m", above=0)]
Ratio = Annotated[float, Field(gt=-1, le=0.5, allow_inf_nan=False)]
Fraction = Annotated[float, Field(allow_inf_nan=False)]


class Material(Table):
    """An isotropic material: E with G or nu; density where mass matters, expansion where temperature does.

    proof, ultimate : strengths, for checks of a thin wall
    """

    E: Modulus
    G: Modulus | None = None
    nu: Ratio | None = None
    density: Density = 0.0
    expansion: Expansion = 0.0
    proof: Strength | None = None
    ultimate: Strength | None = None

    @model_validator(mode="after")
    def _one_shear_modulus(self) -> Material:
        if (self.G is None) == (self.nu is None):
            raise fault(
                "needs either G or nu, not both" if self.G else "has neither G nor nu", "give one of them"
            )
        return self

    @property
    def shear_modulus(self) -> float:
        """G, Pa, given or E/2(1 + ν)."""
        return float(self.G if self.G is not None else self.E / (2 * (1 + (self.nu or 0.0))))

    def isotropic(self, name: str) -> Isotropic:
        """The material as a record, with ν = E/2G − 1 where G is given."""
        nu = self.E / (2 * self.shear_modulus) - 1 if self.nu is None else self.nu
        return Isotropic(
            name=name, E=self.E, nu=nu, density=self.density, expansion=self.expansion, proof=self.proof,
            ultimate=self.ultimate,
        )  # fmt: skip


class Layer(Table):
    """One layer of a laminate, cured: moduli along (1) and across (2) its fibres; strengths where it is checked."""

    E1: Modulus
    E2: Modulus
    nu12: Annotated[float, Field(allow_inf_nan=False)]
    G12: Modulus
    density: Heavy
    Xt: Strength | None = None
    Xc: Strength | None = None
    Yt: Strength | None = None
    Yc: Strength | None = None
    S12: Strength | None = None
    expansion1: Expansion | None = None
    expansion2: Expansion | None = None

    def lamina(self, name: str) -> Lamina:
        """The layer; InputFault for ratios that no material has."""
        return Lamina(name=name, **self.model_dump())


class CoreMaterial(Table):
    """A sandwich core: E in its plane; E_through, G and strengths through the thickness."""

    E: Modulus
    E_through: Modulus
    nu: Ratio
    G: Modulus
    shear_strength: Strength
    compressive_strength: Strength
    density: Heavy

    def core(self, name: str) -> Core:
        """The core as a record."""
        return Core(name=name, **self.model_dump())


class PlyTable(Table):
    """One ply of a laminate given ply by ply: a layer or core by name, its thickness, the angle of its fibres."""

    material: Name
    thickness: Thickness
    angle: Annotated[float, Unit("rad")] = 0.0


class ClothTable(Table):
    """Cloths and what they are laid with: `layup` in the notation of `femcore.laminates`, the first item outermost.

    fibre, resin : of the cloths, by name;   process : with its typical fibre fractions;   fibre_volume : that fraction itself
    instead;   knockdowns : taken off the strengths, by name
    """

    layup: Annotated[list[str], Field(min_length=1)] | None = None
    fibre: str = LaminateMaterials.fibre
    resin: str = LaminateMaterials.resin
    process: str = LaminateMaterials.process
    fibre_volume: Fraction | None = None
    knockdowns: list[str] = []

    def strength_knockdowns(self, place: str = "") -> tuple[KnockDown, ...]:
        """By their names; InputFault, at `place`, for one that does not exist."""
        return tuple(pick(knockdowns(), name, "knock-down", place) for name in self.knockdowns)

    def laid_up(self, name: str = "laminate", place: str = "", **more: Any) -> Laminate:  # noqa: ANN401
        """The cloths as laid; `more` as `LaminateMaterials` takes it. InputFault for a wrong notation or name."""
        materials = LaminateMaterials(
            fibre=self.fibre, resin=self.resin, process=self.process, fibre_volume=self.fibre_volume,
            knockdowns=self.strength_knockdowns(place), **more,
        )  # fmt: skip
        return lay_up(self.layup or [], materials, name)


class LaminateTable(ClothTable):
    """A laminate as it is laid up (`layup`), or ply by ply (`plies`); fibre_weight : in place of fibre_volume."""

    plies: Annotated[list[PlyTable], Field(min_length=1)] | None = None
    fibre_weight: Fraction | None = None

    @model_validator(mode="after")
    def _one_of_both(self) -> LaminateTable:
        if (self.layup is None) == (self.plies is None):
            wrong = "has both layup and plies" if self.layup else "has neither layup nor plies"
            raise fault(wrong, 'give one of them, such as layup = ["2x uni 300 @0", "db 450"]')
        if self.fibre_volume is not None and self.fibre_weight is not None:
            raise fault("has both fibre_volume and fibre_weight", "give one of them")
        laid_by = {"fibre", "resin", "process", "fibre_volume", "fibre_weight"} & self.model_fields_set
        if self.plies and laid_by:
            raise fault(
                f"is given ply by ply and has {min(laid_by)} too", "leave that out: a ply brings its own"
            )
        return self

    def laminate(
        self, name: str, own_layers: Mapping[str, Lamina], own_cores: Mapping[str, Core]
    ) -> Laminate:
        """The laminate; InputFault with the key and what is wrong: notation, names, impossible fractions."""
        lowered = self.strength_knockdowns(f"{name}: knockdowns")
        if self.plies:
            known: dict[str, Lamina | Core] = {**layers(), **cores(), **own_layers, **own_cores}
            named: list[Lamina | Core] = [
                pick(known, ply.material, "ply", f"{name}: plies[{i}]: material")
                for i, ply in enumerate(self.plies, 1)
            ]
            rows = zip(named, self.plies, strict=True)
            plies = [(material, ply.thickness, math.degrees(ply.angle)) for material, ply in rows]
            return stack(plies, name).with_knockdowns(lowered)
        self._check_recipe(name)
        own: dict[str, Any] = {
            "fibre_weight": self.fibre_weight,
            "own_layers": own_layers,
            "own_cores": own_cores,
        }
        return self.laid_up(name, f"{name}: knockdowns", **own)

    def _check_recipe(self, name: str) -> None:
        pick(fibres(), self.fibre, "fibre", f"{name}: fibre")
        pick(resins(), self.resin, "resin", f"{name}: resin")
        pick(processes(), self.process, "process", f"{name}: process")
        for key in ("fibre_volume", "fibre_weight"):
            value = getattr(self, key)
            if value is not None and not 0 < value < 1:
                raise InputFault(
                    f"{name}: {key}", f"a fraction of {value:g} is impossible", "give one between 0 and 1"
                )
