"""Tables that joints, attachments and other parts share: a lay-up, a glue line, a metal, bolts, the laminate under a fitting.

Strengths that the file leaves out stay unknown: the checks that need them are then not made.
"""

from __future__ import annotations

from typing import Annotated, Self

from pydantic import (
    AfterValidator,
    Field,
    GetJsonSchemaHandler,
    ModelWrapValidatorHandler,
    PrivateAttr,
    SerializerFunctionWrapHandler,
    ValidationInfo,
    field_validator,
    model_serializer,
    model_validator,
)
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema

from femcore.base.errors import InputFault, fault, table_faults
from femcore.base.toml import Table
from femcore.base.units import Unit
from femcore.files.section_file import ClothTable, WallMaterials
from femcore.laminates import Laminate, Ply, membrane_constants
from femcore.materials import Metal, bolt_classes, knockdowns, metals, pick
from models.strength.bolts.bolt_strength import COARSE_PITCH, Bolt, coarse_bolt
from models.strength.bolts.bolted_plate import LaminateHole
from models.strength.bonding.bond import Adhesive
from models.strength.plates.disc import IsotropicPlate
from models.tables.context import BoatContext, FileMaterials, NamedLaminate, materials_of

PositiveLength = Annotated[float, Unit("m", above=0)]
NonNegativeLength = Annotated[float, Unit("m", least=0)]
Stress = Annotated[float, Unit("Pa", above=0)]
Fraction = Annotated[float, Field(gt=0.0, lt=1.0)]


def _check_metal(name: str) -> str:
    """A metal's name, checked; a fault of the table where there is none of that name."""
    try:
        pick(metals(), name, "metal")
    except InputFault as error:
        raise fault(error.wrong, error.cure) from None
    return name


MetalName = Annotated[str, AfterValidator(_check_metal)]


class LayupTable(ClothTable):
    """A lay-up, from outside to inside, and what it is laid with, in the notation of `femcore.laminates`; or `laminate`: the
    name of one of the file's own, for which that name alone may be given too.
    """

    laminate: Annotated[str, Field(min_length=1)] | None = None
    fibre_volume: Fraction | None = None
    _laminate: Laminate | None = PrivateAttr(default=None)
    _named: NamedLaminate | None = PrivateAttr(default=None)

    @model_validator(mode="wrap")
    @classmethod
    def _from_name(cls, given: object, handler: ModelWrapValidatorHandler[LayupTable]) -> LayupTable:
        """A name alone, or from Python a laminate."""
        if isinstance(given, Laminate):
            named = FileMaterials(walls=WallMaterials({given.name: given}, {}))
            return cls.model_validate({"laminate": given.name}, context=BoatContext({}, named))
        return handler({"laminate": given} if isinstance(given, str) else given)

    @model_validator(mode="after")
    def _check_layup(self, info: ValidationInfo) -> LayupTable:
        if self._laminate is not None:  # of a laminate that Python gave
            return self
        beside = sorted(self.model_fields_set - {"laminate"})
        if self.laminate is not None and beside:
            raise fault(
                f"names a laminate and has {beside[0]} too", "give the name alone, or the lay-up alone"
            )
        if self.laminate is None and self.layup is None:
            raise fault("its lay-up is not known", "give layup = […], or the name of one under [laminates]")
        with table_faults():
            self._build(materials_of(info))
        return self

    def _build(self, materials: FileMaterials) -> None:
        if self.laminate is not None:
            self._named = materials.laminate(self.laminate)
            self._laminate = self._named.laminate
        else:
            self._laminate = self.laid_up()

    @property
    def built(self) -> Laminate:
        """The laminate; the first item lies at z = −h/2."""
        assert self._laminate is not None  # noqa: S101  (built when read)
        return self._laminate

    @property
    def words(self) -> str:
        """Its lay-up, or its name."""
        return f"‘{self.laminate}’" if self.layup is None else ", ".join(self.layup)

    def repeated(self, count: int) -> LayupTable:
        """The same laid that many times over."""
        return self._with_plies(
            [item for _ in range(count) for item in self.layup or []], self.built.plies * count
        )

    def with_cloth_both_faces(self, cloth: str) -> LayupTable:
        """The same with a cloth on both faces; a mirrored lay-up brings the second itself."""
        if self.layup is None:
            new = self._named.lay_cloth(cloth).plies if self._named else ()
            return self._with_plies([], (*new, *self.built.plies, *reversed(new)))
        mirrored = self.layup[-1].split()[:1] == ["mirror"]
        return self._with_plies([cloth, *self.layup, *([] if mirrored else [cloth])], ())

    def _with_plies(self, layup: list[str], plies: tuple[Ply, ...]) -> LayupTable:
        """Another one: by its lay-up where this has one, else by its plies, under the same name."""
        if self.layup is None:
            copy = self.model_copy()
            copy._laminate = Laminate(plies, self.built.name)  # noqa: SLF001  (its own class)
        else:
            copy = self.model_copy(update={"layup": layup})
            copy._laminate = copy.laid_up()  # noqa: SLF001  (its own class)
        return copy

    @model_serializer(mode="wrap")
    def _as_given(self, handler: SerializerFunctionWrapHandler) -> object:
        return handler(self) if self.laminate is None else self.laminate

    @classmethod
    def __get_pydantic_json_schema__(cls, core: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        """A table, or the name of a laminate alone."""
        return {"anyOf": [handler(core), {"type": "string"}]}


DEFAULT_GLUE_KNOCKDOWNS = ("wet", "warm")
"""What a glue line on deck meets: water for years, and a surface at 60 °C under the sun."""
DEFAULT_GLUE_TEMPERATURE_CHANGE = 40.0
"""K, from a workshop at 20 °C, where it cures, to a deck at 60 °C (common practice; a winter at −10 °C is 30 K the other way)."""


class GlueTable(Table):
    """A glue line, or the resin between wet tape and what it is laid on (0.2 to 0.5 mm; common practice).

    knockdowns : taken off both strengths in the elastic checks, by the names that plies have, their factor on the matrix
    temperature_change : greatest from where it cured, either way: stress where the joined parts expand unequally
    """

    shear_modulus: Stress
    thickness: PositiveLength
    shear_strength: Stress | None = None
    peel_strength: Stress | None = None
    modulus: Stress | None = None
    plastic_strain: Annotated[float, Field(ge=0.0, le=5.0)] = 0.0
    knockdowns: list[str] = list(DEFAULT_GLUE_KNOCKDOWNS)
    temperature_change: Annotated[float, Unit("K", least=0, most=200.0)] = DEFAULT_GLUE_TEMPERATURE_CHANGE

    @field_validator("knockdowns")
    @classmethod
    def _check_knockdowns(cls, names: list[str]) -> list[str]:
        try:
            for name in names:
                pick(knockdowns(), name, "knock-down")
        except InputFault as error:
            raise fault(error.wrong, error.cure) from None
        return names

    @property
    def adhesive(self) -> Adhesive:
        """As `models.strength.bonding.bond` takes it."""
        return Adhesive(
            self.shear_modulus, self.thickness, self.shear_strength, self.peel_strength,
            self.plastic_strain, self.modulus, tuple(knockdowns()[name] for name in self.knockdowns),
            self.temperature_change,
        )  # fmt: skip


class HullSide(Table):
    """The hull side under a bolted fitting, stiff and strong as the builder knows it; a lay-up gives what is left out.

    modulus   : of the laminate in its plane;   through_modulus : square to it
    edge      : from a bolt to the nearest edge of the laminate
    bearing, shear, through, crushing : its strengths at a bolt (`models.strength.bolts.bolted_plate.LaminateHole`)
    held_at   : from the fitting's middle to the frames that hold the side; left out, the side counts as rigid
    """

    laminate: LayupTable | None = None
    thickness: PositiveLength | None = None
    modulus: Stress | None = None
    through_modulus: Stress | None = None
    edge: PositiveLength
    bearing: Stress | None = None
    shear: Stress | None = None
    through: Stress | None = None
    crushing: Stress | None = None
    held_at: PositiveLength | None = None

    @model_validator(mode="after")
    def _check_stiffness_data(self) -> HullSide:
        lacking = [key for key in ("thickness", "modulus", "through_modulus") if getattr(self, key) is None]
        if self.laminate is None and lacking:
            raise fault(
                f"{' and '.join(lacking)} are not known",
                "give them, or give the lay-up as laminate = { layup = […] }, or by its name",
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
        return self.thickness if self.thickness is not None else self._laminate.thickness

    @property
    def in_plane_modulus(self) -> float:
        """Pa, modulus in the plane: the lesser of the two directions of the lay-up where none is given."""
        if self.modulus is not None:
            return self.modulus
        constants = membrane_constants(self._laminate)
        return float(min(constants.Ex, constants.Ey))

    @property
    def through_thickness_modulus(self) -> float:
        """Pa, modulus through the thickness: plies (E2) and cores in series where none is given."""
        if self.through_modulus is not None:
            return self.through_modulus
        plies = self._laminate.plies
        flexibility = sum(p.thickness / (p.core.E_through if p.core else p.lamina.E2) for p in plies)
        return float(self._laminate.thickness / flexibility)

    @property
    def _laminate(self) -> Laminate:
        assert self.laminate is not None  # noqa: S101  (checked when read)
        return self.laminate.built

    @property
    def hole(self) -> LaminateHole:
        """As bolts meet it."""
        return LaminateHole(self.depth, self.edge, self.bearing, self.shear, self.through, self.crushing)

    @property
    def skin(self) -> IsotropicPlate | None:
        """As a plate around the fitting; None where it counts as rigid."""
        return None if self.held_at is None else IsotropicPlate.of_laminate(self._laminate)

    @property
    def skin_laminate(self) -> Laminate | None:
        """Its lay-up, where given."""
        return None if self.laminate is None else self._laminate


class MetalPart(Table):
    """A part of a metal that `femcore.materials.metals` knows."""

    metal: MetalName

    @property
    def metal_record(self) -> Metal:
        """The metal's record."""
        return metals()[self.metal]


class BackingTable(MetalPart):
    """A plate behind the laminate."""

    thickness: PositiveLength


class Bolts(Table):
    """Bolts of one size (M…) and class, with washers of that diameter. hole: theirs; left out, as fitted to the bolts."""

    size: int
    grade: str = "a4_70"
    columns: Annotated[int, Field(ge=1, le=20)] = 1
    rows: Annotated[int, Field(ge=1, le=20)] = 1
    washer: PositiveLength
    hole: PositiveLength | None = None
    thread_in_shear: bool = True

    @model_validator(mode="after")
    def _check_hole(self) -> Self:
        if self.hole is not None and self.hole < self.size / 1000:
            raise fault(
                f"hole is smaller than the M{self.size} in it", "correct one of the two, or leave hole out"
            )
        return self

    @field_validator("size")
    @classmethod
    def _check_size(cls, size: int) -> int:
        if size not in COARSE_PITCH:
            raise fault(f"there is no bolt M{size}", f"give one of {', '.join(map(str, COARSE_PITCH))}")
        return size

    @field_validator("grade")
    @classmethod
    def _check_class(cls, grade: str) -> str:
        try:
            pick(bolt_classes(), grade, "class of bolts")
        except InputFault as error:
            raise fault(error.wrong, error.cure) from None
        return grade

    @property
    def bolt(self) -> Bolt:
        """One of them."""
        grade = bolt_classes()[self.grade]
        return coarse_bolt(self.size, grade, thread_in_shear=self.thread_in_shear)

    @property
    def words(self) -> str:
        """As a builder says it."""
        return f"{self.columns * self.rows} M{self.size}"
