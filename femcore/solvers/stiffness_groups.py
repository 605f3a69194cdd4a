"""Stiffnesses of a frame that are scaled together, and the components of its deformation that go with them.

A component is one scalar: the deformation e of one natural mode of one element, of one spring or of one cable, and the force s in
it. Antisymmetric bending is two of them, bending and shear, whose flexibilities add:

    mode 3 (about y)    L/(12 EIy)  and  1/(GAz L)          mode 5 (about z)    L/(12 EIz)  and  1/(GAy L)

So e = φ f (s + s₀), with φ the reciprocal of the multiplier of its stiffness and s₀ of the loads along the element: every frame
with scaled stiffnesses is a sum of constant flexibilities, each times its φ. Loads along an element deform it in bending alone,
as shear forces of a simply supported element have no mean.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from itertools import product
from typing import Literal

import numpy as np

from femcore.base.arrays import ArrayRecord, FloatArray, IntArray
from femcore.elements.beam import local_modes, shear_parameters
from femcore.elements.cable import cable_geometry
from femcore.frame.frame import Frame
from femcore.solvers.assembly import Parts, clamped_end_forces
from femcore.solvers.solution import Solution

Quantity = Literal["EA", "GJ", "EIy", "EIz", "GAy", "GAz"]
Place = tuple[int, int]
"""A beam element and one of its ends, 0 or 1."""
MODES_OF: dict[Quantity, tuple[int, ...]] = {
    "EA": (0,), "GJ": (1,), "EIy": (2, 3), "EIz": (4, 5), "GAy": (5,), "GAz": (3,),
}  # fmt: skip
"""The natural modes whose flexibility a stiffness is in."""


@dataclass(frozen=True, slots=True)
class StiffnessGroup:
    """What one multiplier scales.

    name        : of the group
    quantities  : of its elements: EA, GJ, EIy, EIz, GAy, GAz;   elements : beam elements
    springs     : pairs of a spring and one of its freedoms 0 … 5
    end_springs : pairs of an element and one of its end freedoms 0 … 11, of springs that nothing couples
    cables      : whose EA it scales, at the same pretension
    """

    name: str
    quantities: tuple[Quantity, ...] = ()
    elements: tuple[int, ...] = ()
    springs: tuple[tuple[int, int], ...] = ()
    end_springs: tuple[tuple[int, int], ...] = ()
    cables: tuple[int, ...] = ()


def scaled(frame: Frame, groups: Sequence[StiffnessGroup], multipliers: FloatArray) -> Frame:
    """The frame with the stiffnesses of each group times its multiplier (g,)."""
    changed = {key: getattr(frame, key).copy() for key in (*MODES_OF, "springs", "end_springs")}
    axial = frame.cables.EA.copy()
    for group, factor in zip(groups, multipliers, strict=True):
        for quantity in group.quantities:
            changed[quantity][list(group.elements)] *= factor
        for spring, freedom in group.springs:
            changed["springs"][spring, freedom] *= factor
        for element, freedom in group.end_springs:
            changed["end_springs"][element, freedom] *= factor
        axial[list(group.cables)] *= factor
    return replace(frame, **changed, cables=replace(frame.cables, EA=axial))


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Components(ArrayRecord):
    """Components (p,) of the deformation of a frame.

    part : (p,), beams, then springs; −1 of a cable;   cable : (p,), −1 of a part
    row  : (p, 6), its force per natural force of its part, and its part's natural deformation per deformation of it
    """

    part: IntArray
    cable: IntArray
    row: FloatArray

    @classmethod
    def at_ends(cls, frame: Frame, places: Sequence[Place]) -> Components:
        """Six at each place : the gap between what springs hold its end to and that end.

        Their forces are those of the element on what holds it, along global axes.
        """
        elements = [element for element, _ in places]
        modes = local_modes(frame.length[elements]).reshape(-1, 6, 2, 2, 3)[
            np.arange(len(places)), :, [end for _, end in places]
        ]
        row = -np.einsum("pmtl,pli->ptim", modes, frame.axes[elements]).reshape(-1, 6)
        return cls(np.repeat(np.array(elements, dtype=np.int64), 6), np.full(len(row), -1), row)

    @classmethod
    def of_cables(cls, count: int) -> Components:
        """By how much each cable is longer than its tension makes it."""
        return cls(np.full(count, -1), np.arange(count), np.zeros((count, 6)))

    def __len__(self) -> int:
        return len(self.part)

    def followed_by(self, *others: Components) -> Components:
        """These, then others."""
        return Components(
            *(
                np.concatenate(of)
                for of in zip(*((one.part, one.cable, one.row) for one in (self, *others)), strict=True)
            )
        )

    def forces(self, natural: FloatArray, tension: FloatArray) -> FloatArray:
        """s : (c, p), N or N·m, of natural forces (c, parts, 6) and tensions (c, k); loads along elements left out."""
        s = np.einsum("cpi,pi->cp", natural[:, self.part], self.row)
        of_cables = np.flatnonzero(self.cable >= 0)
        s[:, of_cables] = tension[:, self.cable[of_cables]]
        return np.asarray(s)


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class ScaledComponents(ArrayRecord):
    """Components (p,) of the deformation that groups scale.

    group : (p,), number of each one's group;   of : the components
    f     : (p,), m/N or rad/(N·m), flexibility
    load  : (p,), how loads along the element deform it, per natural force that these cause between clamped ends
    end_freedom : (p,), 0 … 11 of an end spring, −1 of all others
    """

    group: IntArray
    of: Components
    f: FloatArray
    load: FloatArray
    end_freedom: IntArray

    @classmethod
    def of_groups(cls, parts: Parts, groups: Sequence[StiffnessGroup]) -> ScaledComponents:
        """Of all groups in turn; ValueError where one names a spring that is not elastic, or is coupled with others."""
        found = [(number, *one) for number, group in enumerate(groups) for one in _components(parts, group)]
        group, part, cable, row, f, load, end = zip(*found, strict=True) if found else ((),) * 7
        number, real = partial(np.array, dtype=np.int64), partial(np.array, dtype=float)
        which = Components(number(part), number(cable), real(row).reshape(-1, 6))
        return cls(number(group), which, real(f), real(load), number(end))

    def deformations(self, solution: Solution) -> FloatArray:
        """e : (c, p), m or rad, in the frame as it is, loads along its elements included, temperature changes left out."""
        e = self.f * self.of.forces(solution.natural, solution.tension)
        if not solution.loads.loaded_elements.any():
            return e
        q0, p0 = clamped_end_forces(solution.frame, solution.loads)
        part, bent = self.of.part, np.flatnonzero(self.load)
        e[:, bent] -= self.load[bent] * np.einsum("cpi,pi->cp", q0[:, part[bent]], self.of.row[bent])
        ends, sprung = solution.parts.ends, np.flatnonzero(self.end_freedom >= 0)
        turn = ends.turn[np.searchsorted(ends.which, part[sprung]), self.end_freedom[sprung]]
        e[:, sprung] += self.f[sprung] * np.einsum("cpi,pi->cp", p0[:, part[sprung]], turn)
        return e


_Component = tuple[int, int, FloatArray, float, float, int]
"""Part, cable, row, f, load, end freedom."""


def _components(parts: Parts, group: StiffnessGroup) -> Iterator[_Component]:
    """All of one group."""
    frame, unit = parts.frame, np.eye(6)
    for quantity, element in product(group.quantities, group.elements):
        yield from _of_element(frame, quantity, element)
    for spring, freedom in group.springs:
        k = _elastic(group, frame.springs[spring, freedom])
        yield len(frame.ends) + spring, -1, unit[freedom], 1 / k, 0.0, -1
    coupled = {(int(element), int(end)) for element, end in frame.coupled_ends}
    for element, freedom in group.end_springs:
        if (element, freedom // 6) in coupled:
            raise ValueError(f"group '{group.name}': the end springs of element {element} are coupled")
        k = _elastic(group, frame.end_springs[element, freedom])
        modes = parts.ends.modes[np.searchsorted(parts.ends.which, element)]
        yield element, -1, modes[:, freedom], 1 / k, 0.0, freedom
    length = cable_geometry(frame.cables, frame.nodes).total
    for cable in group.cables:
        yield -1, cable, np.zeros(6), float(length[cable] / frame.cables.EA[cable]), 0.0, -1


def _of_element(frame: Frame, quantity: Quantity, element: int) -> Iterator[_Component]:
    """Of one stiffness of an element; none where it has no such stiffness, or one without end."""
    stiffness, L = float(getattr(frame, quantity)[element]), float(frame.length[element])
    if not 0.0 < stiffness < np.inf:
        return
    unit, (phi_y, phi_z) = np.eye(6), shear_parameters(frame)
    bent_with_shear = {3: 1 + float(phi_z[element]), 5: 1 + float(phi_y[element])}
    for mode in MODES_OF[quantity]:
        if quantity in {"GAy", "GAz"}:
            yield element, -1, unit[mode], 1 / (stiffness * L), 0.0, -1
        else:
            f = L / stiffness / (12.0 if mode in bent_with_shear else 1.0)
            yield element, -1, unit[mode], f, f * bent_with_shear.get(mode, 1.0), -1


def _elastic(group: StiffnessGroup, k: float) -> float:
    if not 0.0 < k < np.inf:
        raise ValueError(f"group '{group.name}' scales a spring that is {'free' if k == 0 else 'rigid'}")
    return float(k)


__all__ = ["Components", "Place", "Quantity", "ScaledComponents", "StiffnessGroup", "scaled"]
