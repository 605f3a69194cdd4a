"""Clamped or strapped: the beam lies in a saddle on the hull and is held by straps or half shells, side by side along it.

Each strap holds the beam across it as stiffly as is entered, and along it and around it by grip (friction or a bond line), as
stiffly as is entered for that. Several of them, by their places along the beam, give roll and yaw as well. What a strap carries
is found by stiffness. The file does not describe straps, saddle or hull under it, so they are not checked, but for the grip
where it is given: a strap slips at √(along² + (torque/r)²) = grip (friction works in one direction at a time; common practice).
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Literal

import numpy as np
from pydantic import Field

from femcore.base.arrays import FloatArray
from femcore.base.numbers import engineering
from femcore.base.units import Unit
from models.joints.base import Joint, JointStiffness
from models.strength.margins import Check, SafetyFactors, checked, not_checked
from models.strength.springs import displacements, rigid_arm_matrix, transferred_stiffness
from models.tables.shared import PositiveLength

TranslationalStiffness = Annotated[float, Unit("N/m", above=0)]
GripStiffness = Annotated[float, Unit("N/m", least=0)]
Position = Annotated[float, Unit("m")]


class ClampedJoint(Joint):
    """Straps or clamps at `places`, m, along the beam from the joint's point outboard.

    diameter : m, of the beam there;   across : N/m, of one strap, fore and aft or up and down
    along    : N/m, of one strap's grip, along the beam and around it;   grip : N, at which one strap slips
    """

    kind: Literal["strapped", "clamped"]
    places: Annotated[list[Position], Field(min_length=1)]
    diameter: PositiveLength
    across: TranslationalStiffness
    along: GripStiffness = 0.0
    grip: Annotated[float, Unit("N", above=0)] | None = None

    @property
    def _strap_stiffness(self) -> FloatArray:
        """(6, 6) of one strap about the beam's axis at its place, boat axes."""
        return np.diag(
            [self.across, self.along, self.across, 0.0, self.along * (self.diameter / 2) ** 2, 0.0]
        )

    @property
    def _arms(self) -> FloatArray:
        return np.array([[0.0, place, 0.0] for place in self.places])

    @property
    def _matrix(self) -> FloatArray:
        each = np.broadcast_to(self._strap_stiffness, (len(self.places), 6, 6))
        return np.asarray(transferred_stiffness(each, self._arms).sum(axis=0))

    def stiffness(self) -> JointStiffness:
        """The straps by their places."""
        return JointStiffness.coupled(self._matrix)

    def shares(self, loads: FloatArray) -> FloatArray:
        """(cases, straps, 6) of loads (cases, 6) at the joint's point."""
        moved = np.einsum("sij,cj->csi", rigid_arm_matrix(self._arms), displacements(self._matrix, loads))
        return np.asarray(moved @ self._strap_stiffness)

    def energy_by_part(self, loads: FloatArray) -> Mapping[str, FloatArray]:
        """Strap by strap, ½ of load times movement."""
        stiff = np.diag(self._strap_stiffness)
        flexible = np.where(stiff > 0, 1 / np.where(stiff > 0, stiff, 1.0), 0.0)
        energy = (self.shares(loads) ** 2 * flexible).sum(axis=2) / 2
        return {f"strap {number + 1}": energy[:, number] for number in range(len(self.places))}

    def port_checks(self, loads: FloatArray, factors: SafetyFactors) -> tuple[Check, ...]:
        """The grip where it is given; all else is not checked."""
        shared, cases, word = self.shares(loads), len(loads), "strap" if self.kind == "strapped" else "clamp"
        _, along, _, _, around, _ = np.moveaxis(shared, -1, 0)
        slip = np.hypot(along, around / (self.diameter / 2)).max(axis=1)
        name = "slip along and around the beam"
        grip = (
            not_checked(f"{word}s", name, cases, "the force at which one slips (grip) is not given")
            if self.grip is None
            else checked(
                f"{word}s", name, slip, self.grip, "N", factors.safety_factor("bearing"), "common practice"
            )
        )
        unknown = {
            f"{word}s": "strength",
            "saddle": "strength",
            "hull's side": "laminate under the saddle and its fastenings",
            "beam's wall": "crushing under the straps",
        }
        return (
            grip,
            *(
                not_checked(part, what, cases, "the file does not describe it")
                for part, what in unknown.items()
            ),
        )

    def words(self) -> str:
        """In one line."""
        count = len(self.places)
        what = (
            f"{count} strap{'s' * (count > 1)}"
            if self.kind == "strapped"
            else f"{count} clamp{'s' * (count > 1)}"
        )
        torque = engineering(self.stiffness().spring("pitch"), "N·m/rad")
        return f"{what} on a beam of {1000 * self.diameter:.4g} mm; torque stiffness by grip {torque}"
