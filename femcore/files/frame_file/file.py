"""The frame file as a whole, and the checks between its tables."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from itertools import pairwise
from pathlib import Path
from typing import Annotated, Any

import numpy as np
from pydantic import Field, PrivateAttr, model_validator

from femcore.base.arrays import FloatArray
from femcore.base.errors import ConsequentFault, InputFault, duplicates, unknown
from femcore.base.toml import Document, read_checked
from femcore.base.units import UnitVector
from femcore.files.frame_file.expectations import OF_BEAM_END, OF_NODE, Expectation
from femcore.files.frame_file.tables import (
    MAX_ELEMENTS,
    AnySection,
    Beam,
    Cable,
    Case,
    Mass,
    Spring,
    Support,
    Triple,
)
from femcore.files.section_file import (
    MaterialTables,
    ThinWalledBeam,
    ThinWalledSection,
    build_wall_materials,
    thin_walled_beam,
    unique_faults,
)
from femcore.files.section_file.materials import Name
from femcore.frame.builder import beam_axes
from femcore.frame.loads_builder import REL_TOL_BEAM_END
from femcore.materials.records import Seen


class FrameFile(MaterialTables, Document):
    """A frame file: any structure of beams, its load cases, and what is expected of it."""

    title: Name
    source: str = ""
    seen: Seen | None = None
    topic: str = ""
    note: str = ""
    sections: dict[Name, AnySection] = {}
    nodes: Annotated[dict[Name, Annotated[Triple, UnitVector("m")]], Field(min_length=1)]
    beams: list[Beam] = []
    springs: list[Spring] = []
    cables: list[Cable] = []
    supports: list[Support] = []
    masses: list[Mass] = []
    cases: Annotated[list[Case], Field(min_length=1)]
    expect: list[Expectation] = []
    _walled: dict[str, ThinWalledBeam] = PrivateAttr(default_factory=dict)
    _wall_faults: tuple[InputFault, ...] = PrivateAttr(default=())

    @model_validator(mode="after")
    def _build_walls(self) -> FrameFile:
        wall_materials, faults = build_wall_materials(self)
        for name, section in self.sections.items():
            try:
                if isinstance(section, ThinWalledSection):
                    self._walled[name] = thin_walled_beam(section, wall_materials, name)
            except InputFault as trouble:
                faults.append(trouble if isinstance(trouble, ConsequentFault) else trouble.inside("sections"))
        self._wall_faults = tuple(unique_faults(faults))
        return self

    @property
    def walled(self) -> Mapping[str, ThinWalledBeam]:
        """Thin-walled sections by name, solved."""
        return self._walled

    @property
    def remarks(self) -> list[str]:
        """What the frame leaves out of its thin-walled sections, a sentence each."""
        used = dict.fromkeys(beam.section for beam in self.beams)
        return [remark for name in used if name in self._walled for remark in self._walled[name].remarks]

    def faults(self) -> Iterator[InputFault]:
        """Every contradiction between the tables."""
        yield from self._wall_faults
        yield from duplicates("beams", [beam.name for beam in self.beams])
        yield from duplicates("cables", [cable.name for cable in self.cables])
        yield from duplicates("cases", [case.name for case in self.cases])
        yield from self._names()
        yield from self._geometry()
        yield from self._supports()
        yield from self._line_loads()
        if self.expect and not (self.source and self.seen):
            cure = 'say where the values are from (seen = "derived" if here)'
            yield InputFault("", "expectations need 'source' and 'seen'", cure)
        if sum(beam.divide for beam in self.beams) > MAX_ELEMENTS:
            yield InputFault(
                "beams", f"have more than {MAX_ELEMENTS:,} elements together", "divide them less"
            )

    def _names(self) -> Iterator[InputFault]:
        beams, cables = [beam.name for beam in self.beams], [cable.name for cable in self.cables]
        used: list[tuple[str, str, str, Any]] = []
        for beam in self.beams:
            place = f"beams '{beam.name}'"
            used += [
                (f"{place}: {k}", "node", n, self.nodes) for k, n in (("from", beam.start), ("to", beam.end))
            ]
            used += [(f"{place}: section", "section", beam.section, self.sections)]
            yield from self._material_faults(beam)
        for number, spring in enumerate(self.springs, 1):
            for key, node in (("from", spring.start), ("to", spring.end)):
                used += [(f"springs[{number}]: {key}", "node", node, self.nodes)] if node is not None else []
        for cable in self.cables:
            used += [(f"cables '{cable.name}': path", "node", node, self.nodes) for node in cable.path]
        used += [(f"supports[{i}]: node", "node", s.node, self.nodes) for i, s in enumerate(self.supports, 1)]
        used += [(f"masses[{i}]: node", "node", s.node, self.nodes) for i, s in enumerate(self.masses, 1)]
        for case in self.cases:
            place = f"cases '{case.name}'"
            used += [
                (f"{place}: point[{i}]: node", "node", p.node, self.nodes)
                for i, p in enumerate(case.point, 1)
            ]
            used += [(f"{place}: line[{i}]: beam", "beam", p.beam, beams) for i, p in enumerate(case.line, 1)]
            for i, entry in enumerate(case.warm, 1):
                here = f"{place}: warm[{i}]"
                used += [(f"{here}: beam", "beam", entry.beam, beams)] if entry.beam is not None else []
                used += [(f"{here}: cable", "cable", entry.cable, cables)] if entry.cable is not None else []
        for number, expect in enumerate(self.expect, 1):
            yield from self._expectation_names(f"expect[{number}]", expect, beams)
        yield from (
            unknown(place, what, name, known) for place, what, name, known in used if name not in known
        )

    def _material_faults(self, beam: Beam) -> Iterator[InputFault]:
        """A beam needs a material just where its section brings none."""
        section, place = self.sections.get(beam.section), f"beams '{beam.name}': material"
        if isinstance(section, ThinWalledSection) and beam.material is not None:
            yield InputFault(place, f"is given beside that of the walls of '{beam.section}'", "take it out")
        elif section is not None and not isinstance(section, ThinWalledSection) and beam.material is None:
            yield InputFault(place, "'material' is missing", "add material = …")
        elif beam.material is not None and beam.material not in self.materials:
            yield unknown(place, "material", beam.material, self.materials)

    def _expectation_names(self, place: str, expect: Expectation, beams: list[str]) -> Iterator[InputFault]:
        cases, cables = [case.name for case in self.cases], [cable.name for cable in self.cables]
        if expect.case not in cases:
            yield unknown(f"{place}: case", "case", expect.case, cases)
        if expect.mode:
            return
        name, _, end = (expect.at or "").rpartition(".")
        allowed = {
            "a beam end": OF_BEAM_END if name in beams and end in ("start", "end") else (),
            "a node": OF_NODE if expect.at in self.nodes else (),
            "a cable": ("tension",) if expect.at in cables else (),
        }
        is_of = [what for what, quantities in allowed.items() if quantities]
        if not is_of:
            known = [*self.nodes, *(f"{beam}.{end}" for beam in beams for end in ("start", "end")), *cables]
            yield unknown(f"{place}: at", "node, beam end or cable", expect.at or "", known)
        elif not any(expect.quantity in quantities for quantities in allowed.values()):
            yield InputFault(
                f"{place}: quantity",
                f"'{expect.quantity}' is none of {' or '.join(is_of)}",
                "ask for one that is",
            )

    def _geometry(self) -> Iterator[InputFault]:
        for beam in self.beams:
            if {beam.start, beam.end} <= set(self.nodes):
                yield from self._beam_geometry(beam)
        for cable in self.cables:
            for here, there in pairwise(cable.path):
                if here in self.nodes and there in self.nodes and self.nodes[here] == self.nodes[there]:
                    wrong = f"goes from '{here}' to '{there}', which are at one point"
                    yield InputFault(f"cables '{cable.name}': path", wrong, "set them apart")
        for number, spring in enumerate(self.springs, 1):
            if spring.start == spring.end:
                cure = "name another, or leave it out for ground"
                yield InputFault(f"springs[{number}]: to", "is the node it starts from", cure)

    def _along(self, beam: Beam) -> FloatArray:
        """(3,), m: from the start of the beam's flexible length to its end."""
        along = np.subtract(self.nodes[beam.end], self.nodes[beam.start])
        return along + np.subtract(beam.to_offset, beam.from_offset)

    def _beam_geometry(self, beam: Beam) -> Iterator[InputFault]:
        place = f"beams '{beam.name}'"
        try:
            beam_axes(place, self._along(beam), beam.up)
        except InputFault as fault:
            yield fault
        for end in ("from", "to"):
            both = set(getattr(beam, f"{end}_release")) & getattr(beam, f"{end}_spring").model_fields_set
            for freedom in sorted(both):
                yield InputFault(
                    f"{place}: {end}_release", f"'{freedom}' has a spring too", "give one of the two"
                )

    def _line_loads(self) -> Iterator[InputFault]:
        """Stretches that are not on their beams."""
        length = {
            beam.name: float(np.linalg.norm(self._along(beam)))
            for beam in self.beams
            if {beam.start, beam.end} <= set(self.nodes)
        }
        for case in self.cases:
            for number, line in enumerate(case.line, 1):
                # a beam without length, or without its nodes, is a fault of its own
                total = length.get(line.beam) or math.inf
                begin, end = line.begin or 0.0, total if line.end is None else line.end
                if not begin < end <= total * (1 + REL_TOL_BEAM_END):
                    wrong = (
                        f"from {begin:g} m to {end:g} m is no stretch of '{line.beam}', {total:.6g} m long"
                    )
                    cure = f"let begin be less than end, both from 0 to {total:.6g} m"
                    yield InputFault(f"cases '{case.name}': line[{number}]", wrong, cure)

    def _supports(self) -> Iterator[InputFault]:
        yield from duplicates("supports", [support.node for support in self.supports])
        for support in self.supports:
            for freedom in support.moved.model_fields_set - set(support.fixed):
                place = f"supports '{support.node}': moved"
                yield InputFault(place, f"'{freedom}' is not fixed there", f"add '{freedom}' to fixed")


def read_frame_file(path: str | Path) -> FrameFile:
    """Read and check a frame file; InputFaults with every fault of it."""
    return read_checked(path, FrameFile)
