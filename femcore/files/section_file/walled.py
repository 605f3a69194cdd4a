"""A thin-walled section as a beam: what the frame takes of it, and in words what the frame leaves out.

The beam's line is the line of the section's shear centres: a shear force on it does not twist the beam, so that torque
is exact. Axial force acts at the elastic centre; where that is off the line, the bending that comes
with it is not in the frame, and a remark says by how much. Likewise for walls that couple one action with another.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from femcore.base.errors import InputFault
from femcore.files.section_file.stock import WallMaterials
from femcore.frame.builder import Stiffness
from femcore.materials import Isotropic
from femcore.sections import (
    Analysis,
    SectionProperties,
    WallFlows,
    analyse,
    properties,
    recover,
    rotary_inertia,
)

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

    from femcore.files.section_file.shapes import ThinWalledSection

REL_TOL_PRINCIPAL_AXES = 0.01
"""EIyz over √(EIy EIz); its square is the share of stiffness at stake."""
MIN_NOTICEABLE_OFFSET = 0.01
"""Of the section's size."""


@dataclass(frozen=True, eq=False)
class ThinWalledBeam:
    """A thin-walled section, solved, on its line of shear centres.

    solved     : the section's analysis, from which wall stresses come
    properties : its stiffnesses and centres
    inertia    : rotary inertia per length about x, y, z of the line, kg·m
    expansion  : 1/K
    materials  : of each kind of wall, None where it is a laminate
    remarks    : what a beam on this line leaves out, a sentence each
    """

    solved: Analysis
    properties: SectionProperties
    inertia: tuple[float, float, float]
    expansion: float
    materials: tuple[Isotropic | None, ...]
    remarks: tuple[str, ...]

    def flows(self, actions: ArrayLike) -> WallFlows:
        """In its walls under actions (n, 6), all six about the beam's line, at the ends and the middle of each segment."""
        return recover(self.solved, actions, about=self.properties.shear_centre, stations=3)

    @property
    def name(self) -> str:
        """The section's."""
        return self.solved.section.name

    def stiffness(self) -> Stiffness:
        """What the frame takes; beam axes are the section's."""
        beam = self.properties
        return Stiffness(
            beam.EA, beam.EIy, beam.EIz, beam.GJ, beam.GAy, beam.GAz,
            mass=beam.mass, inertia=self.inertia, expansion=self.expansion,
        )  # fmt: skip


def thin_walled_beam(table: ThinWalledSection, wall_materials: WallMaterials, name: str) -> ThinWalledBeam:
    """The beam of a section's table.

    Raises InputFault where the section cannot be built, or is so turned that a beam on y and z would be wrong.
    """
    solved = analyse(table.section(wall_materials, name))
    beam = properties(solved)
    _check_axes(beam, name)
    materials = tuple(
        wall_materials.materials[wall.name] if wall.laminate is None else None
        for wall in solved.section.walls
    )
    return ThinWalledBeam(
        solved=solved,
        properties=beam,
        inertia=rotary_inertia(solved.section, beam.shear_centre),
        expansion=_expansion(table, materials),
        materials=materials,
        remarks=tuple(_remarks(solved, beam, name)),
    )


def _check_axes(beam: SectionProperties, name: str) -> None:
    if abs(beam.EIyz) > REL_TOL_PRINCIPAL_AXES * np.sqrt(beam.EIy * beam.EIz):
        turn = -np.degrees(beam.angle)
        turn -= 90 * np.round(turn / 90)
        wrong = f"has its principal axes turned by {-turn:.4g}° from y and z, so that it bends askew"
        cure = f'turn it by angle = "{turn:.4g} deg" more, and the beam\'s up the other way by as much'
        raise InputFault(name, wrong, cure)


def _expansion(table: ThinWalledSection, materials: tuple[Isotropic | None, ...]) -> float:
    if table.expansion is not None:
        return table.expansion
    rates = {material.expansion if material else None for material in materials}
    only = rates.pop() if len(rates) == 1 else None
    return only or 0.0


def _remarks(solved: Analysis, beam: SectionProperties, name: str) -> Iterator[str]:
    where = f"Section '{name}'"
    yield from coupling_remarks(beam, where)
    size = MIN_NOTICEABLE_OFFSET * solved.section.size
    off = beam.centre - beam.shear_centre
    if np.hypot(*off) > size:
        yield (
            f"{where}: the elastic centre is {_offset(off)} from the shear centre, whose line is the beam's; an axial "
            "force there bends the beam by as much, which the frame leaves out."
        )
    off = beam.mass_centre - beam.shear_centre
    if beam.mass > 0.0 and np.hypot(*off) > size:
        yield f"{where}: its mass is {_offset(off)} from the beam's line, on which the frame hangs it."
    if not len(beam.cell_area):
        yield f"{where}: it is open, and counted free to warp: where its ends are held against that, it is stiffer in torsion."


def coupling_remarks(beam: SectionProperties, where: str) -> Iterator[str]:
    """A sentence for every noticeable coupling, which the frame leaves out."""
    for coupling in beam.couplings:
        yield f"{where}: {coupling.sentence()} (the frame leaves the coupling out)."


def _offset(off: np.ndarray[tuple[int], np.dtype[np.float64]]) -> str:
    parts = [
        f"{1000 * part:.3g} mm along {axis}"
        for axis, part in zip("yz", off, strict=True)
        if abs(part) > 1e-3 * np.hypot(*off)
    ]
    return " and ".join(parts)
