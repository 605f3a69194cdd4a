"""A checked frame file becomes a frame and the loads of its cases, as arrays."""

from __future__ import annotations

import numpy as np

from femcore.base.arrays import FloatArray
from femcore.files.frame_file.file import FrameFile
from femcore.files.frame_file.shapes import Box, Properties, Rectangle, Round, Tube
from femcore.files.frame_file.tables import Beam, Case, Section
from femcore.files.section_file import Material
from femcore.frame.builder import FrameBuilder, Stiffness
from femcore.frame.frame import FREEDOMS, Frame, Loads, gravity_loads


def frame_of(file: FrameFile) -> Frame:
    """The structure."""
    builder = FrameBuilder()
    for name, point in file.nodes.items():
        builder.node(name, point)
    for beam in file.beams:
        start, end = beam.ends()
        builder.beam(
            beam.name, [beam.start, beam.end], _stiffness(file, beam), beam.up, beam.divide, start, end
        )
    for spring in file.springs:
        builder.spring(spring.start, spring.end, spring.row(0.0))
    for cable in file.cables:
        builder.cable(
            cable.name, cable.path, cable.EA, cable.pretension, cable.expansion, gripped=cable.gripped
        )
    for support in file.supports:
        builder.support(support.node, [FREEDOMS.index(freedom) for freedom in support.fixed])
    for mass in file.masses:
        builder.mass(mass.node, mass.mass)
    return builder.frame()


def loads_of(file: FrameFile, frame: Frame) -> Loads:
    """The loads of all cases on `frame`."""
    loads = Loads.zeros(frame, *(case.name for case in file.cases))
    for number, case in enumerate(file.cases):
        _add_case(loads, frame, number, case)
    loads.support_displacement[:] = _support_displacements(file, frame)
    return loads


def _add_case(loads: Loads, frame: Frame, number: int, case: Case) -> None:
    nodal, line = gravity_loads(frame, case.gravity)
    loads.nodal[number] += nodal
    loads.line[number] += line
    for point in case.point:
        loads.nodal[number, frame.node_index[point.node]] += (*point.force, *point.moment)
    for load in case.line:
        elements = frame.members[load.beam].elements
        force = np.array(load.force)
        loads.line[number, elements] += force if load.axes == "beam" else frame.axes[elements] @ force
    names = np.array(frame.cables.names)
    for entry in case.warm:
        if entry.beam is not None:
            loads.temperature_change[number, frame.members[entry.beam].elements] += entry.change
        else:
            loads.cable_temperature_change[number, names == entry.cable] += entry.change


def _support_displacements(file: FrameFile, frame: Frame) -> FloatArray:
    moved = np.zeros((len(frame.nodes), 6))
    for support in file.supports:
        row = [getattr(support.moved, freedom) or 0.0 for freedom in FREEDOMS]
        moved[frame.node_index[support.node]] = row
    return moved


def _stiffness(file: FrameFile, beam: Beam) -> Stiffness:
    """Of a thin-walled section as it was solved, of any other from its properties and the beam's material."""
    if beam.section in file.walled:
        return file.walled[beam.section].stiffness()
    section, material = file.sections[beam.section], file.materials[beam.material or ""]
    if isinstance(section, Section):
        return _of_properties(
            Properties(section.A, section.Iy, section.Iz, section.J, section.Ay, section.Az), material
        )
    assert isinstance(section, Round | Tube | Rectangle | Box)  # noqa: S101  (every thin-walled one is solved)
    return _of_properties(section.properties(material.nu), material)


def _of_properties(given: Properties, material: Material) -> Stiffness:
    E, G, density = material.E, material.shear_modulus, material.density
    GAy, GAz = (np.inf if area is None else G * area for area in (given.Ay, given.Az))
    inertia = (density * (given.Iy + given.Iz), density * given.Iy, density * given.Iz)
    return Stiffness(
        E * given.A, E * given.Iy, E * given.Iz, G * given.J, GAy, GAz,
        mass=density * given.A, inertia=inertia, expansion=material.expansion,
    )  # fmt: skip
