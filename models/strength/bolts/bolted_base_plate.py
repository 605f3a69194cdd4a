"""A plate held by bolts, as a foot under lugs, cheeks or a tube: prying, the bolts, the plate, and what it is bolted through.

Axes of a plate: 1 and 2 in its plane, 3 off what it is bolted to (`bolts`). Each bolt and its image at the other side of the part
on the plate are a T-stub (`bolted_plate`), m from its root to the bolt, its length 2π m and no more than the bolt's part
of the plate. A foot (`BoltedBasePlate`) takes its loads in the axes of an `attachment`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from femcore.base.arrays import FloatArray
from femcore.base.errors import InputFault
from femcore.materials import Metal
from models.strength.bolts.bolt_group import BoltForces, BoltGroup, bolt_forces
from models.strength.bolts.bolt_strength import Bolt, MetalSheet, bolt_checks, sheet_checks
from models.strength.bolts.bolted_plate import (
    T_STUB_SOURCE,
    LaminateHole,
    TStub,
    bolted_laminate_checks,
    prying_ratio,
    t_stub_resistance,
)
from models.strength.bounds import require_larger, require_positive
from models.strength.margins import Check, SafetyFactors, checked
from models.strength.plates.wall_bending import SupportingWall, wall_bending_checks
from models.strength.springs import loads_in_axes

PLATE_AXES = np.array([[0.0, 0.0, 1.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]])
"""Axes 1, 2, 3 of a plate in those of an attachment: 3, 1, 2."""


@dataclass(frozen=True, eq=False)
class BoltedPlate:
    """A plate of `metal`, `thickness` m, `size` m along its axes 1 and 2, on bolts at `group.positions` from its middle.

    washer : m, its diameter;   free : (bolts,), m, from each bolt to the root of the part on the plate
    """

    metal: Metal
    thickness: float
    size: tuple[float, float]
    bolt: Bolt
    group: BoltGroup
    washer: float
    clear_distance: FloatArray

    def __post_init__(self) -> None:
        require_positive("plate", thickness=self.thickness, length=self.size[0], height=self.size[1])
        require_larger("bolts", ("diameter", self.bolt.diameter), ("washer", self.washer))
        if (self.edge_distance <= self.bolt.diameter / 2).any():
            cure = "make the plate larger, or the pitch less"
            raise InputFault("bolts", "a bolt is at or beyond the plate's edge", cure)

    @property
    def edge_distance(self) -> FloatArray:
        """(bolts,), m, from each bolt to the plate's nearest edge."""
        return np.asarray((np.array(self.size) / 2 - np.abs(self.group.positions)).min(axis=1))

    @property
    def length(self) -> FloatArray:
        """(bolts,), m, of plate that bends with each bolt: 2π m, no more than its part of the plate."""
        own = math.sqrt(self.size[0] * self.size[1] / len(self.group.positions))
        return np.minimum(2 * math.pi * self.clear_distance, own)

    @property
    def stubs(self) -> tuple[TStub, ...]:
        """One for each bolt: it and its image at the other side of the part."""
        rows = zip(self.length, self.clear_distance, self.edge_distance, strict=True)
        return tuple(
            TStub(float(length), self.thickness, self.metal.proof, float(m), float(e))
            for length, m, e in rows
        )


def bolted_plate_checks(
    parts: tuple[str, str], bending_check: str, plate: BoltedPlate, forces: BoltForces, factors: SafetyFactors
) -> list[Check]:
    """Bolts with their prying, and the plate, named by `parts`.

    bending_check : names the check of the plate between stem and bolt
    """
    bolt, ultimate, bolt_resistance = (
        plate.bolt,
        factors.safety_factor("ultimate"),
        plate.bolt.tension_resistance,
    )
    stubs, pried = plate.stubs, prying_factors(plate, forces, ultimate.value)
    limits = np.array([t_stub_resistance(stub, 2 * bolt_resistance)[0] / 2 for stub in stubs])
    edge = float(plate.edge_distance.min())
    sheet = MetalSheet(plate.metal, plate.thickness, bolt.diameter, edge, edge, welded=False)
    both = max(ultimate, factors.safety_factor("yielding"))
    return [
        *bolt_checks(parts[0], bolt, BoltForces(forces.shear, forces.tension * pried), factors),
        checked(parts[1], bending_check, (forces.pull / limits).max(axis=1), 1.0, "", both, T_STUB_SOURCE),
        *sheet_checks(parts[1], sheet, bolt, plate.washer, forces, factors),
    ]


def prying_factors(plate: BoltedPlate, forces: BoltForces, factor: float) -> FloatArray:
    """(cases, bolts), 1 + Q/F of every bolt under `factor` times its pull."""
    stubs, resistance = plate.stubs, plate.bolt.tension_resistance
    pried = [
        [_prying_factor(stub, factor * pull, resistance) for stub, pull in zip(stubs, row, strict=True)]
        for row in forces.pull
    ]
    return np.array(pried).reshape(forces.pull.shape)


def _prying_factor(stub: TStub, pull: float, bolt_resistance: float) -> float:
    """1 + Q/F of a bolt whose pull, with the factor on it, is `pull`."""
    return 1.0 + (prying_ratio(stub, 2 * pull, 2 * bolt_resistance) if pull > 0 else 0.0)


@dataclass(frozen=True, eq=False)
class BoltedBasePlate:
    """A plate bolted through a wall of laminate (`hole`, with a `backing` plate: thickness m, proof Pa, m that belongs to a bolt)
    or of metal (`edge`, m, from a bolt to its nearest edge).

    Bolts in one line do not resist a moment about it by themselves: there the plate turns about its edge.
    """

    plate: BoltedPlate
    wall: SupportingWall
    hole: LaminateHole | None
    edge: float | None
    backing: tuple[float, float, float] | None = None

    def __post_init__(self) -> None:
        self.wall.check_size(self.size)

    @property
    def size(self) -> tuple[float, float]:
        """m, of the foot along and across."""
        return self.plate.size[1], self.plate.size[0]

    def forces(self, loads: FloatArray) -> BoltForces:
        """On every bolt under loads (cases, 6) at the foot, in the axes of an attachment."""
        size, arms = self.plate.size, self.plate.group.arms
        in_line = np.ptp(arms, axis=0).min() == 0.0
        outline = [[-size[0] / 2, size[0] / 2], [-size[1] / 2, size[1] / 2]] if in_line else None
        return bolt_forces(self.plate.group, loads_in_axes(loads, PLATE_AXES), outline)

    def checks(self, part: str, loads: FloatArray, factors: SafetyFactors) -> tuple[Check, ...]:
        """Bolts, foot, and the wall around bolts and foot."""
        forces, plate, wall = self.forces(loads), self.plate, f"{part}, wall"
        parts = f"{part}, bolts", f"{part}, foot"
        found = bolted_plate_checks(parts, "foot bent beside the bolts", plate, forces, factors)
        if self.hole is not None:
            found += bolted_laminate_checks(
                wall, self.hole, plate.bolt.diameter, plate.washer, forces, factors, self.backing
            )
        elif self.wall.metal is not None and self.edge is not None:
            sheet_around = MetalSheet(
                self.wall.metal, self.wall.thickness, plate.bolt.diameter, self.edge, self.edge
            )
            found += sheet_checks(wall, sheet_around, plate.bolt, plate.washer, forces, factors)
        return (*found, *wall_bending_checks(wall, self.wall, self.size, loads, factors))
