"""The frame file: its tables as checked models, and the frame, loads and expectations they describe.

The format stands in the project's README; `FrameFile.model_json_schema()` is its JSON Schema. Units are read at this edge:
every field here already is in SI.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Annotated, Any, Literal

import numpy as np
from pydantic import Discriminator, Field, StringConstraints, Tag, model_validator
from pydantic_core import PydanticCustomError

from femcore.documents import Table, collect, duplicates, read_document, unknown
from femcore.draft import RIGID, Draft, End, Stiffness
from femcore.errors import InputFault
from femcore.frame import ACTIONS, FREEDOMS, REACTIONS, FloatArray, Frame, Loads, gravity_loads
from femcore.shapes import Box, Rectangle, Round, Tube
from femcore.units import Unit, UnitVector, si

Name = Annotated[str, StringConstraints(min_length=1, max_length=200)]
Freedom = Literal["ux", "uy", "uz", "rx", "ry", "rz"]
Triple = tuple[float, float, float]
Finite = Annotated[float, Field(allow_inf_nan=False)]
MOST_ELEMENTS = 1_000_000


def _fault(wrong: str, cure: str) -> PydanticCustomError:
    return PydanticCustomError("forebeam", "{wrong}; {cure}", {"wrong": wrong, "cure": cure})


class Material(Table):
    """An isotropic material: E with G or nu; density where mass matters, expansion where warmth does."""

    E: Annotated[float, Unit("Pa", above=0)]
    G: Annotated[float, Unit("Pa", above=0)] | None = None
    nu: Annotated[float, Field(gt=-1, le=0.5)] | None = None
    density: Annotated[float, Unit("kg/m**3", least=0)] = 0.0
    expansion: Annotated[float, Unit("1/K")] = 0.0

    @model_validator(mode="after")
    def _one_shear_modulus(self) -> Material:
        if (self.G is None) == (self.nu is None):
            raise _fault("needs either G or nu, not both" if self.G else "has neither G nor nu", "give one of them")
        return self

    @property
    def shear_modulus(self) -> float:
        """G, Pa, given or E/2(1 + ν)."""
        return float(self.G if self.G is not None else self.E / (2 * (1 + (self.nu or 0.0))))


class Section(Table):
    """A section by its properties: area, second moments, torsion constant, and shear areas where shear deforms."""

    A: Annotated[float, Unit("m**2", above=0)]
    Iy: Annotated[float, Unit("m**4", least=0)] = 0.0
    Iz: Annotated[float, Unit("m**4", least=0)] = 0.0
    J: Annotated[float, Unit("m**4", least=0)] = 0.0
    Ay: Annotated[float, Unit("m**2", above=0)] | None = None
    Az: Annotated[float, Unit("m**2", above=0)] | None = None


def _kind_of_section(value: object) -> str:
    shape = value.get("shape", "properties") if isinstance(value, dict) else getattr(value, "shape", "properties")
    return str(shape)


AnySection = Annotated[
    Annotated[Section, Tag("properties")]
    | Annotated[Round, Tag("round")]
    | Annotated[Tube, Tag("tube")]
    | Annotated[Rectangle, Tag("rectangle")]
    | Annotated[Box, Tag("box")],
    Discriminator(_kind_of_section, custom_error_type="forebeam", custom_error_message="{wrong}; {cure}",
        custom_error_context={"wrong": "has an unknown shape", "cure": "use one of round, tube, rectangle, box"}),
]  # fmt: skip
SPRING_UNITS = dict.fromkeys(("ux", "uy", "uz"), "N/m") | dict.fromkeys(("rx", "ry", "rz"), "N*m/rad")
MOVE_UNITS = dict.fromkeys(("ux", "uy", "uz"), "m") | dict.fromkeys(("rx", "ry", "rz"), "rad")


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


class Beam(Table):
    """A straight beam of one section and material between two nodes."""

    name: Name
    start: Name = Field(alias="from")
    end: Name = Field(alias="to")
    section: Name
    material: Name
    up: tuple[Finite, Finite, Finite] = (0.0, 0.0, 1.0)
    divide: Annotated[int, Field(ge=1, le=MOST_ELEMENTS)] = 1
    from_offset: Annotated[Triple, UnitVector("m")] = (0.0, 0.0, 0.0)
    to_offset: Annotated[Triple, UnitVector("m")] = (0.0, 0.0, 0.0)
    from_release: list[Freedom] = []
    to_release: list[Freedom] = []
    from_spring: SpringValues = SpringValues()
    to_spring: SpringValues = SpringValues()

    def ends(self) -> tuple[End, End]:
        """The beam's two ends for the draft."""
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


class Support(Table):
    """Held freedoms of a node, with imposed movements of some of them."""

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
    """A uniform force per length over a whole beam."""

    beam: Name
    force: Annotated[Triple, UnitVector("N/m")]
    axes: Literal["global", "beam"] = "global"


class Case(Table):
    """One load case."""

    name: Name
    gravity: Annotated[Triple, UnitVector("m/s**2")] = (0.0, 0.0, 0.0)
    second_order: bool = False
    point: list[PointLoad] = []
    line: list[LineLoad] = []
    warm: list[dict[str, Any]] = []


QUANTITY_UNITS = (
    MOVE_UNITS
    | dict.fromkeys(("Fx", "Fy", "Fz", "N", "Vy", "Vz"), "N")
    | dict.fromkeys(("Mx", "T"), "N*m")
    | dict.fromkeys(("My", "Mz"), "N*m")
)


class Expectation(Table):
    """A published value: what the file says must come out."""

    case: Name
    at: Name | None = None
    quantity: Name
    value: str
    tolerance: float | str

    @model_validator(mode="after")
    def _known_quantity(self) -> Expectation:
        if self.quantity not in QUANTITY_UNITS:
            known = ", ".join(QUANTITY_UNITS)
            raise _fault(f"quantity '{self.quantity}' is not one that can be expected (yet)", f"use one of {known}")
        value = self._si("value", self.value)
        if isinstance(self.tolerance, str):
            if self._si("tolerance", self.tolerance) < 0:
                raise _fault("tolerance is negative", "give the largest difference allowed, either way")
        elif value == 0 or not 0 < self.tolerance < 1:
            raise _fault("tolerance, being relative, means nothing", "give one with a unit, or between 0 and 1")
        return self

    def _si(self, key: str, text: str) -> float:
        try:
            return si(text, self.unit)
        except InputFault as fault:
            raise _fault(f"{key} {fault.wrong}", fault.cure) from None

    @property
    def unit(self) -> str:
        """SI unit of the quantity."""
        return QUANTITY_UNITS[self.quantity]

    @property
    def expected(self) -> float:
        """The value in SI."""
        return si(self.value, self.unit)

    @property
    def allowed(self) -> float:
        """The largest difference in SI."""
        given = self.tolerance
        return si(given, self.unit) if isinstance(given, str) else abs(given * self.expected)


class FrameFile(Table):
    """A frame file: any structure of beams, its load cases, and what is expected of it."""

    title: Name
    source: str = ""
    seen: Literal["text", "memory", "derived"] | None = None
    topic: str = ""
    note: str = ""
    materials: dict[Name, Material] = {}
    sections: dict[Name, AnySection] = {}
    nodes: Annotated[dict[Name, Annotated[Triple, UnitVector("m")]], Field(min_length=1)]
    beams: list[Beam] = []
    springs: list[Spring] = []
    cables: list[dict[str, Any]] = []
    supports: list[Support] = []
    masses: list[Mass] = []
    cases: Annotated[list[Case], Field(min_length=1)]
    expect: list[Expectation] = []

    def faults(self) -> Iterator[InputFault]:
        """Everything that the tables say of one another and that does not hold."""
        yield from self._not_yet()
        yield from duplicates("beams", [beam.name for beam in self.beams])
        yield from duplicates("cases", [case.name for case in self.cases])
        yield from self._names()
        yield from self._geometry()
        yield from self._supports()
        if self.expect and not (self.source and self.seen):
            yield InputFault("", "expectations need 'source' and 'seen'", 'say where the values are from (seen = "derived" if here)')
        if sum(beam.divide for beam in self.beams) > MOST_ELEMENTS:
            yield InputFault("beams", f"have more than {MOST_ELEMENTS:,} elements together", "divide them less")

    def _not_yet(self) -> Iterator[InputFault]:
        cure = "take it out for now"
        if self.cables:
            yield InputFault("cables", "are not yet supported", cure)
        for case in self.cases:
            place = f"cases '{case.name}'"
            if case.second_order:
                yield InputFault(f"{place}: second_order", "is not yet supported", cure)
            if case.warm:
                yield InputFault(f"{place}: warm", "is not yet supported", cure)

    def _names(self) -> Iterator[InputFault]:
        beams = [beam.name for beam in self.beams]
        used: list[tuple[str, str, str, Any]] = []
        for beam in self.beams:
            place = f"beams '{beam.name}'"
            used += [(f"{place}: {k}", "node", n, self.nodes) for k, n in (("from", beam.start), ("to", beam.end))]
            used += [(f"{place}: section", "section", beam.section, self.sections)]
            used += [(f"{place}: material", "material", beam.material, self.materials)]
        for number, spring in enumerate(self.springs, 1):
            for key, node in (("from", spring.start), ("to", spring.end)):
                used += [(f"springs[{number}]: {key}", "node", node, self.nodes)] if node is not None else []
        used += [(f"supports[{i}]: node", "node", s.node, self.nodes) for i, s in enumerate(self.supports, 1)]
        used += [(f"masses[{i}]: node", "node", s.node, self.nodes) for i, s in enumerate(self.masses, 1)]
        for case in self.cases:
            place = f"cases '{case.name}'"
            used += [(f"{place}: point[{i}]: node", "node", p.node, self.nodes) for i, p in enumerate(case.point, 1)]
            used += [(f"{place}: line[{i}]: beam", "beam", p.beam, beams) for i, p in enumerate(case.line, 1)]
        for number, expect in enumerate(self.expect, 1):
            yield from self._expectation_names(f"expect[{number}]", expect, beams)
        yield from (unknown(place, what, name, known) for place, what, name, known in used if name not in known)

    def _expectation_names(self, place: str, expect: Expectation, beams: list[str]) -> Iterator[InputFault]:
        cases = [case.name for case in self.cases]
        if expect.case not in cases:
            yield unknown(f"{place}: case", "case", expect.case, cases)
        name, _, end = (expect.at or "").rpartition(".")
        of_beam = name in beams and end in ("start", "end")
        if not of_beam and expect.at not in self.nodes:
            known = [*self.nodes, *(f"{beam}.start" for beam in beams)]
            yield unknown(f"{place}: at", "node or beam end", expect.at or "", known)
        elif expect.quantity not in (ACTIONS if of_beam else (*FREEDOMS, *REACTIONS)):
            of = "a beam end" if of_beam else "a node"
            yield InputFault(f"{place}: quantity", f"'{expect.quantity}' is none of {of}", "ask for one that is")

    def _geometry(self) -> Iterator[InputFault]:
        for beam in self.beams:
            if not {beam.start, beam.end} <= set(self.nodes):
                continue
            along = np.subtract(self.nodes[beam.end], self.nodes[beam.start])
            along = along + np.subtract(beam.to_offset, beam.from_offset)
            length, up = np.linalg.norm(along), np.array(beam.up)
            place = f"beams '{beam.name}'"
            if not length > 0:
                yield InputFault(place, "has no length", "set its ends (offsets included) apart")
            elif not np.linalg.norm(np.cross(along / length, up)) > 1e-6 * np.linalg.norm(up):
                yield InputFault(f"{place}: up", "lies along the beam", "give a direction square to it")
            for end in ("from", "to"):
                both = set(getattr(beam, f"{end}_release")) & getattr(beam, f"{end}_spring").model_fields_set
                for freedom in sorted(both):
                    yield InputFault(f"{place}: {end}_release", f"'{freedom}' has a spring too", "give one of the two")

        for number, spring in enumerate(self.springs, 1):
            if spring.start == spring.end:
                cure = "name another, or leave it out for ground"
                yield InputFault(f"springs[{number}]: to", "is the node it starts from", cure)

    def _supports(self) -> Iterator[InputFault]:
        yield from duplicates("supports", [support.node for support in self.supports])
        for support in self.supports:
            for freedom in support.moved.model_fields_set - set(support.fixed):
                place = f"supports '{support.node}': moved"
                yield InputFault(place, f"'{freedom}' is not fixed there", f"add '{freedom}' to fixed")

    def frame(self) -> Frame:
        """The structure as arrays."""
        draft = Draft()
        for name, point in self.nodes.items():
            draft.node(name, point)
        for beam in self.beams:
            start, end = beam.ends()
            stiffness = _stiffness(self.sections[beam.section], self.materials[beam.material])
            draft.beam(beam.name, [beam.start, beam.end], stiffness, beam.up, beam.divide, start, end)
        for spring in self.springs:
            draft.spring(spring.start, spring.end, spring.row(0.0))
        for support in self.supports:
            draft.support(support.node, [FREEDOMS.index(freedom) for freedom in support.fixed])
        for mass in self.masses:
            draft.mass(mass.node, mass.mass)
        return draft.frame()

    def loads(self, frame: Frame) -> Loads:
        """The loads of all cases on `frame`."""
        loads = Loads.none(frame, *(case.name for case in self.cases))
        for number, case in enumerate(self.cases):
            nodal, line = gravity_loads(frame, case.gravity)
            loads.nodal[number] += nodal
            loads.line[number] += line
            for point in case.point:
                loads.nodal[number, frame.node_index[point.node]] += (*point.force, *point.moment)
            for load in case.line:
                elements = frame.members[load.beam].elements
                force = np.array(load.force)
                loads.line[number, elements] += force if load.axes == "beam" else frame.axes[elements] @ force
        loads.moved[:] = self._moved(frame)
        return loads

    def _moved(self, frame: Frame) -> FloatArray:
        moved = np.zeros((len(frame.nodes), 6))
        for support in self.supports:
            row = [getattr(support.moved, freedom) or 0.0 for freedom in FREEDOMS]
            moved[frame.node_index[support.node]] = row
        return moved


def _stiffness(section: Section | Round | Tube | Rectangle | Box, material: Material) -> Stiffness:
    given = section if isinstance(section, Section) else Section.model_construct(**section.properties(material.nu))
    E, G = material.E, material.shear_modulus
    GAy, GAz = (np.inf if area is None else G * area for area in (given.Ay, given.Az))
    mass = material.density * given.A
    return Stiffness(E * given.A, E * given.Iy, E * given.Iz, G * given.J, GAy, GAz, mass)


def read_frame_file(path: str | Path) -> FrameFile:
    """Read and check a frame file; InputFaults with every fault of it."""
    file = read_document(path, FrameFile)
    collect(str(path), file.faults())
    return file
