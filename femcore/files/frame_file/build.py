"""A checked frame file becomes a frame and the loads of its cases, as arrays."""

from __future__ import annotations

import numpy as np

from femcore.files.frame_file.file import FrameFile
from femcore.files.frame_file.shapes import Box, Properties, Rectangle, Round, Tube
from femcore.files.frame_file.tables import Beam, Case, Section
from femcore.files.section_file import Material
from femcore.frame.builder import FrameBuilder, Stiffness
from femcore.frame.frame import Frame, Loads
from femcore.frame.loads_builder import LoadsBuilder


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
        builder.support(support.node, support.fixed)
    for mass in file.masses:
        builder.mass(mass.node, mass.mass)
    return builder.build()


def loads_of(file: FrameFile, frame: Frame) -> Loads:
    """The loads of all cases on `frame`."""
    loads = LoadsBuilder(frame, *(case.name for case in file.cases))
    for case in file.cases:
        _add_case(loads, case)
        for support in file.supports:
            loads.displacement(support.node, **support.moved.given(), case=case.name)
    return loads.build()


def _add_case(loads: LoadsBuilder, case: Case) -> None:
    gx, gy, gz = case.gravity
    loads.gravity(gx=gx, gy=gy, gz=gz, case=case.name)
    for point in case.point:
        (Fx, Fy, Fz), (Mx, My, Mz) = point.force, point.moment
        loads.point(point.node, Fx=Fx, Fy=Fy, Fz=Fz, Mx=Mx, My=My, Mz=Mz, case=case.name)
    for line in case.line:
        qx, qy, qz = line.force
        loads.line(
            line.beam, qx=qx, qy=qy, qz=qz, axes=line.axes, begin=line.begin, end=line.end, arm=line.arm,
            case=case.name,
        )  # fmt: skip
    for entry in case.warm:
        loads.temperature(entry.beam or entry.cable or "", entry.change, case=case.name)


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
