"""Tables that kinds of joints share: a lay-up, a glue line, a metal, and the laminate that a fitting is bolted to.

Strengths that the file leaves out stay unknown: the checks that need them are then not made.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Annotated

from pydantic import Field, field_validator, model_validator
from pydantic_core import PydanticCustomError

from femcore.documents import Table
from femcore.errors import InputFault
from femcore.laminates import Laminate, Recipe, lay_up, membrane_constants
from femcore.materials import Metal, knockdowns, metals, pick
from femcore.units import Unit
from models.parts.bolted_plate import LaminateHole
from models.parts.bond import Adhesive
from models.parts.disc import Plate

Length = Annotated[float, Unit("m", above=0)]
LeastLength = Annotated[float, Unit("m", least=0)]
Stress = Annotated[float, Unit("Pa", above=0)]
Fraction = Annotated[float, Field(gt=0.0, lt=1.0)]


def fault(wrong: str, cure: str) -> PydanticCustomError:
    """A fault of a table, in the words of `InputFault`."""
    return PydanticCustomError("forebeam", "{wrong}; {cure}", {"wrong": wrong, "cure": cure})


def metal_named(name: str) -> str:
    """A metal's name, checked; a fault of the table where there is none of that name."""
    try:
        pick(metals(), name, "metal")
    except InputFault as trouble:
        raise fault(trouble.wrong, trouble.cure) from None
    return name


class LayupTable(Table):
    """A lay-up, from outside to inside, and what it is laid with; the notation is that of `femcore.laminates`."""

    layup: Annotated[list[str], Field(min_length=1)]
    fibre: str = "e_glass"
    resin: str = "epoxy"
    process: str = "hand"
    fibre_volume: Fraction | None = None
    knockdowns: list[str] = []

    @model_validator(mode="after")
    def _can_be_laid(self) -> LayupTable:
        try:
            _ = self.laminate
        except InputFault as trouble:
            raise fault(f"{trouble.place}: {trouble.wrong}", trouble.cure) from None
        return self

    @property
    def laminate(self) -> Laminate:
        """The laminate; the first item lies at z = −h/2."""
        taken = tuple(pick(knockdowns(), name, "knock-down") for name in self.knockdowns)
        recipe = Recipe(
            fibre=self.fibre, resin=self.resin, process=self.process, fibre_volume=self.fibre_volume,
            knockdowns=taken,
        )  # fmt: skip
        return lay_up(self.layup, recipe)

    def times(self, count: int) -> LayupTable:
        """The same lay-up laid that many times over."""
        return self.model_copy(update={"layup": [item for _ in range(count) for item in self.layup]})


class GlueTable(Table):
    """A glue line, or the resin between wet tape and what it is laid on (0.2 to 0.5 mm; common practice)."""

    shear_modulus: Stress
    thickness: Length
    shear_strength: Stress | None = None
    peel_strength: Stress | None = None
    modulus: Stress | None = None
    plastic_strain: Annotated[float, Field(ge=0.0, le=5.0)] = 0.0

    @property
    def adhesive(self) -> Adhesive:
        """As `models.parts.bond` takes it."""
        return Adhesive(
            self.shear_modulus, self.thickness, self.shear_strength, self.peel_strength,
            self.plastic_strain, self.modulus,
        )  # fmt: skip


class HullSide(Table):
    """The hull side under a bolted fitting, stiff and strong as the builder knows it; a lay-up gives what is left out.

    modulus   : of the laminate in its plane;   through_modulus : square to it
    edge      : from a bolt to the nearest edge of the laminate
    bearing, shear, through, crushing : its strengths at a bolt (`models.parts.bolted_plate.LaminateHole`)
    held_at   : from the fitting's middle to the frames that hold the side; left out, the side counts as rigid
    """

    laminate: LayupTable | None = None
    thickness: Length | None = None
    modulus: Stress | None = None
    through_modulus: Stress | None = None
    edge: Length
    bearing: Stress | None = None
    shear: Stress | None = None
    through: Stress | None = None
    crushing: Stress | None = None
    held_at: Length | None = None

    @model_validator(mode="after")
    def _known(self) -> HullSide:
        lacking = [key for key in ("thickness", "modulus", "through_modulus") if getattr(self, key) is None]
        if self.laminate is None and lacking:
            raise fault(
                f"{' and '.join(lacking)} are not known",
                "give them, or give the lay-up as laminate = { layup = […] }",
            )
        if self.held_at is not None and self.laminate is None:
            raise fault(
                "held_at needs a lay-up: the side bends as its laminate does",
                "give laminate = { layup = […] }",
            )
        return self

    @property
    def depth(self) -> float:
        """m, of the laminate under the bolts."""
        return self.thickness if self.thickness is not None else self._built.thickness

    @property
    def in_plane(self) -> float:
        """Pa, modulus in the plane: the lesser of the two directions of the lay-up where none is given."""
        if self.modulus is not None:
            return self.modulus
        constants = membrane_constants(self._built)
        return float(min(constants.Ex, constants.Ey))

    @property
    def across(self) -> float:
        """Pa, modulus through the thickness: plies (E2) and cores in series where none is given."""
        if self.through_modulus is not None:
            return self.through_modulus
        plies = self._built.plies
        softness = sum(p.thickness / (p.core.E_through if p.core else p.lamina.E2) for p in plies)
        return float(self._built.thickness / softness)

    @property
    def _built(self) -> Laminate:
        assert self.laminate is not None  # noqa: S101  (checked when read)
        return _laminate_of(self.laminate.model_dump_json())

    @property
    def hole(self) -> LaminateHole:
        """As bolts meet it."""
        return LaminateHole(self.depth, self.edge, self.bearing, self.shear, self.through, self.crushing)

    @property
    def skin(self) -> Plate | None:
        """As a plate around the fitting; None where it counts as rigid."""
        return None if self.held_at is None else Plate.of_laminate(self._built)

    @property
    def skin_laminate(self) -> Laminate | None:
        """Its lay-up, where given."""
        return None if self.laminate is None else self._built


@lru_cache(maxsize=64)
def _laminate_of(written: str) -> Laminate:
    return LayupTable.model_validate_json(written).laminate


class MetalPart(Table):
    """A part of a metal that `femcore.materials.metals` knows."""

    metal: str

    @field_validator("metal")
    @classmethod
    def _known_metal(cls, name: str) -> str:
        return metal_named(name)

    @property
    def of(self) -> Metal:
        """The metal's record."""
        return metals()[self.metal]
