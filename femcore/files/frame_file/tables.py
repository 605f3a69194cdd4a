"""The tables of a frame file as checked models; every quantity is in SI once read."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, Tag, model_validator

from femcore.base.errors import fault
from femcore.base.toml import Table
from femcore.base.units import Expansion, Unit, UnitVector
from femcore.files.frame_file.shapes import Box, Rectangle, Round, Tube
from femcore.files.section_file.materials import Name
from femcore.files.section_file.shapes import (
    THIN_WALLED_SHAPES,
    Channel,
    DSection,
    ISection,
    Outline,
    Oval,
    ThinBox,
    ThinTube,
    by_shape,
)
from femcore.frame.builder import RIGID, End
from femcore.frame.frame import FREEDOMS

Freedom = Literal["ux", "uy", "uz", "rx", "ry", "rz"]
Triple = tuple[float, float, float]
Finite = Annotated[float, Field(allow_inf_nan=False)]
MAX_DIVISION = 10_000
"""Elements of one beam: longer chains keep too few digits, whatever the refinement (measured: 1e-8 here, nothing at 30,000)."""
MAX_ELEMENTS = 200_000
"""Of a file: the factors of more may not fit the memory of a small machine."""
MAX_MODES = 100


class Section(Table):
    """A section by its properties: area, second moments, torsion constant, and shear areas where shear deforms."""

    A: Annotated[float, Unit("m**2", above=0)]
    Iy: Annotated[float, Unit("m**4", least=0)] = 0.0
    Iz: Annotated[float, Unit("m**4", least=0)] = 0.0
    J: Annotated[float, Unit("m**4", least=0)] = 0.0
    Ay: Annotated[float, Unit("m**2", above=0)] | None = None
    Az: Annotated[float, Unit("m**2", above=0)] | None = None


SHAPES = ("round", "tube", "rectangle", "box", *THIN_WALLED_SHAPES)
"""Solid and thick ones in closed form, then thin-walled ones, whose walls bring their own material."""

_Closed = (
    Annotated[Section, Tag("properties")]
    | Annotated[Round, Tag("round")]
    | Annotated[Tube, Tag("tube")]
    | Annotated[Rectangle, Tag("rectangle")]
    | Annotated[Box, Tag("box")]
)
_Walled = (
    Annotated[ThinTube, Tag("thin tube")]
    | Annotated[ThinBox, Tag("thin box")]
    | Annotated[Oval, Tag("oval")]
    | Annotated[DSection, Tag("D")]
    | Annotated[Channel, Tag("channel")]
    | Annotated[ISection, Tag("I")]
    | Annotated[Outline, Tag("outline")]
)
AnySection = Annotated[_Closed | _Walled, by_shape(SHAPES, otherwise="properties")]


class SpringValues(Table):
    """Up to six springs; one that is left out is rigid at a beam's end, free between nodes."""

    ux: Annotated[float, Unit("N/m", least=0)] | None = None
    uy: Annotated[float, Unit("N/m", least=0)] | None = None
    uz: Annotated[float, Unit("N/m", least=0)] | None = None
    rx: Annotated[float, Unit("N*m/rad", least=0)] | None = None
    ry: Annotated[float, Unit("N*m/rad", least=0)] | None = None
    rz: Annotated[float, Unit("N*m/rad", least=0)] | None = None

    def row(self, otherwise: float) -> list[float]:
        """The six stiffnesses, `otherwise` where one is left out."""
        given = [getattr(self, freedom) for freedom in FREEDOMS]
        return [otherwise if value is None else value for value in given]


class Movement(Table):
    """Imposed movements of a support."""

    ux: Annotated[float, Unit("m")] | None = None
    uy: Annotated[float, Unit("m")] | None = None
    uz: Annotated[float, Unit("m")] | None = None
    rx: Annotated[float, Unit("rad")] | None = None
    ry: Annotated[float, Unit("rad")] | None = None
    rz: Annotated[float, Unit("rad")] | None = None

    def given(self) -> dict[str, float]:
        """The movements that are given, by freedom."""
        return self.model_dump(exclude_none=True)


class Beam(Table):
    """A straight beam of one section and material between two nodes; a thin-walled section brings its own material."""

    name: Name
    start: Name = Field(alias="from")
    end: Name = Field(alias="to")
    section: Name
    material: Name | None = None
    up: tuple[Finite, Finite, Finite] = (0.0, 0.0, 1.0)
    divide: Annotated[int, Field(ge=1, le=MAX_DIVISION)] = 1
    from_offset: Annotated[Triple, UnitVector("m")] = (0.0, 0.0, 0.0)
    to_offset: Annotated[Triple, UnitVector("m")] = (0.0, 0.0, 0.0)
    from_release: list[Freedom] = []
    to_release: list[Freedom] = []
    from_spring: SpringValues = SpringValues()
    to_spring: SpringValues = SpringValues()

    def ends(self) -> tuple[End, End]:
        """The beam's two ends for the frame builder."""
        return (
            End(self.from_offset, self._springs(self.from_release, self.from_spring)),
            End(self.to_offset, self._springs(self.to_release, self.to_spring)),
        )

    @staticmethod
    def _springs(released: list[Freedom], springs: SpringValues) -> tuple[float, ...]:
        row = springs.row(RIGID)
        return tuple(0.0 if f in released else value for f, value in zip(FREEDOMS, row, strict=True))


class Spring(SpringValues):
    """A spring between two nodes, or to ground where `to` is left out; what is left out is free."""

    start: Name = Field(alias="from")
    end: Name | None = Field(default=None, alias="to")


class Cable(Table):
    """A tension-only cable through its nodes in order, slipping over the inner ones, or gripped at each."""

    name: Name
    path: Annotated[list[Name], Field(min_length=2)]
    EA: Annotated[float, Unit("N", above=0)]
    pretension: Annotated[float, Unit("N", least=0)] = 0.0
    gripped: bool = False
    expansion: Expansion = 0.0


class Support(Table):
    """Fixed freedoms of a node, with imposed movements of some of them."""

    node: Name
    fixed: Annotated[list[Freedom], Field(min_length=1)]
    moved: Movement = Movement()


class Mass(Table):
    """A point mass."""

    node: Name
    mass: Annotated[float, Unit("kg", least=0)]


class PointLoad(Table):
    """A force and a moment on a node."""

    node: Name
    force: Annotated[Triple, UnitVector("N")] = (0.0, 0.0, 0.0)
    moment: Annotated[Triple, UnitVector("N*m")] = (0.0, 0.0, 0.0)


class LineLoad(Table):
    """A uniform force per length of a beam.

    begin, end : m, the stretch it acts on, along the beam's flexible length; the whole beam where left out
    arm        : m, in the axes of the force, from the beam's axis to the line on which it acts
    """

    beam: Name
    force: Annotated[Triple, UnitVector("N/m")]
    axes: Literal["global", "beam"] = "global"
    begin: Annotated[float, Unit("m", least=0)] | None = None
    end: Annotated[float, Unit("m", above=0)] | None = None
    arm: Annotated[Triple, UnitVector("m")] = (0.0, 0.0, 0.0)


class TemperatureChange(Table):
    """A temperature change of a whole beam or cable; its material or the cable needs `expansion`."""

    beam: Name | None = None
    cable: Name | None = None
    change: Annotated[float, Unit("K")]

    @model_validator(mode="after")
    def _one_of_both(self) -> TemperatureChange:
        if (self.beam is None) == (self.cable is None):
            raise fault("needs one beam or one cable", 'name it, such as beam = "AB"')
        return self


class Case(Table):
    """One load case.

    buckling, frequencies : how many load factors and natural frequencies to find, besides those that are expected
    pretension_grows      : whether the cables' pretension is multiplied by the load factor too
    lumped_mass           : lumped instead of consistent mass
    """

    name: Name
    gravity: Annotated[Triple, UnitVector("m/s**2")] = (0.0, 0.0, 0.0)
    second_order: bool = False
    point: list[PointLoad] = []
    line: list[LineLoad] = []
    warm: list[TemperatureChange] = []
    buckling: Annotated[int, Field(ge=0, le=MAX_MODES)] = 0
    pretension_grows: bool = False
    frequencies: Annotated[int, Field(ge=0, le=MAX_MODES)] = 0
    lumped_mass: bool = False
