"""Bonded socket: the beam runs through the hull's inboard skin, and on to another skin or web where there is one, taped in.

Every skin that it crosses is taped at its inside, its outside or both. Rings of tape and their lever arm give the stiffness
(`models.strength.bonding`); tapes at both faces of a skin share it half and half. A bare skin is a very soft
membrane along the beam, so that a file has to say what takes the beam's push and pull (`sway`: a bulkhead, a web, an end plate).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Literal

import numpy as np
from pydantic import Field, model_validator

from femcore.base.arrays import FloatArray
from femcore.base.errors import InputFault, fault, table_faults
from femcore.base.numbers import engineering
from femcore.base.toml import Table
from femcore.base.units import Unit
from femcore.materials import metals
from models.joints.base import Joint, JointStiffness
from models.strength.bonding.ring import Outline, Ring, TubeWall, axial_flow, energy_by_part, shear_flow
from models.strength.bonding.ring_checks import ring_checks, skin_check
from models.strength.bonding.socket import Socket, ring_loads, socket_stiffness
from models.strength.design_variable import DesignVariable
from models.strength.first_ply import first_ply_check, with_all_signs
from models.strength.margins import Check, SafetyFactors, checked, not_checked
from models.strength.plates.disc import IsotropicPlate
from models.strength.springs import displacements
from models.tables.shared import GlueTable, LayupTable, MetalName, NonNegativeLength, PositiveLength

FACES = {"inside": ("inside",), "outside": ("outside",), "both": ("outside", "inside")}
SWAY_INDEX = 1
"""Index of the movement along the beam among the six freedoms."""
SWAY_CURE = (
    'say what takes the push and pull along the beam: sway = "50 MN/m" for a bulkhead or web that its end bears on; '
    '"0 N/m" if only the bare skins do, which are very soft'
)


class SocketBeam(Table):
    """The beam where it passes the skins: round (`diameter`) or a box (`breadth` fore and aft, `depth`); its wall.

    wall : its lay-up, x along the beam;   or metal and thickness
    """

    diameter: PositiveLength | None = None
    breadth: PositiveLength | None = None
    depth: PositiveLength | None = None
    wall: LayupTable | None = None
    metal: MetalName | None = None
    thickness: PositiveLength | None = None

    @model_validator(mode="after")
    def _check_one_form(self) -> SocketBeam:
        box = self.breadth is not None and self.depth is not None
        if (self.diameter is not None) == box:
            raise fault(
                "its outline is not known", "give diameter for a tube, or breadth and depth for a box"
            )
        if (self.wall is not None) == (self.metal is not None and self.thickness is not None):
            raise fault("its wall is not known", "give wall = { layup = […] }, or metal and thickness")
        return self

    @property
    def outline(self) -> Outline:
        """Of its outside."""
        if self.diameter is not None:
            return Outline(math.pi * self.diameter, math.pi / 4 * self.diameter**2)
        b, d = self.breadth or 0.0, self.depth or 0.0
        return Outline(2 * (b + d), b * d)

    @property
    def stiffness(self) -> TubeWall:
        """Per width."""
        metal = None if self.metal is None else metals()[self.metal]
        return TubeWall.of(None if self.wall is None else self.wall.built, metal, self.thickness or 0.0)


class SkinCrossing(Table):
    """A skin that the beam crosses, and how it is taped there.

    at      : m, along the beam from the joint's point (the inboard skin) outboard;   taped : at which faces
    on_beam, on_skin : legs of the tape;   corner : the free width between them (the fillet)
    held_at : from the beam's axis to where frames, deck or bulkheads hold the skin
    """

    name: Annotated[str, Field(min_length=1, max_length=40)]
    at: NonNegativeLength = 0.0
    skin: LayupTable
    held_at: PositiveLength
    taped: Literal["inside", "outside", "both"] = "both"
    on_beam: NonNegativeLength
    on_skin: NonNegativeLength
    corner: PositiveLength

    @property
    def faces(self) -> tuple[str, ...]:
        """The faces that are taped."""
        return FACES[self.taped]


@dataclass(frozen=True, eq=False)
class _TapedRing:
    """One tape: its name, its crossing, its ring (with its part of the skin) and its place."""

    name: str
    crossing: SkinCrossing
    ring: Ring


class SocketJoint(Joint):
    """The beam taped into one skin or more."""

    kind: Literal["bonded socket"] = "bonded socket"
    beam: SocketBeam
    tape: LayupTable
    glue: GlueTable
    glue_on_beam: GlueTable | None = None
    crossings: Annotated[list[SkinCrossing], Field(min_length=1)]
    sway: Annotated[float, Unit("N/m", least=0)]
    sway_strength: Annotated[float, Unit("N", above=0)] | None = None

    @model_validator(mode="before")
    @classmethod
    def _require_sway(cls, given: object) -> object:
        if isinstance(given, dict) and "sway" not in given:
            raise fault("nothing but the bare skins holds the beam along its own axis", SWAY_CURE)
        return given

    @model_validator(mode="after")
    def _check_fit(self) -> SocketJoint:
        names = [crossing.name for crossing in self.crossings]
        if len(set(names)) < len(names):
            raise fault("two crossings have one name", "give each a name of its own")
        with table_faults():
            _ = self._tapes
        return self

    @property
    def _tapes(self) -> tuple[_TapedRing, ...]:
        outline, wall, tape = self.beam.outline, self.beam.stiffness, self.tape.built
        inner = None if self.glue_on_beam is None else self.glue_on_beam.adhesive
        found = []
        for crossing in self.crossings:
            whole, parts = IsotropicPlate.of_laminate(crossing.skin.built), len(crossing.faces)
            # tapes at both faces work on half of the skin each: their rings in parallel then hold the skin once
            skin = IsotropicPlate(whole.Et / parts, whole.nu, whole.D / parts)
            ring = Ring(
                outline=outline, wall=wall, tape=tape, on_beam=crossing.on_beam, on_skin=crossing.on_skin,
                corner=crossing.corner, glue=self.glue.adhesive, skin=skin, support_radius=crossing.held_at, beam_glue=inner,
            )  # fmt: skip
            found += [_TapedRing(f"{crossing.name}, {face} tape", crossing, ring) for face in crossing.faces]
        return tuple(found)

    @property
    def socket(self) -> Socket:
        """As the mechanics takes it, without what holds the beam along its axis."""
        tapes = self._tapes
        return Socket(tuple(t.ring for t in tapes), tuple(t.crossing.at for t in tapes))

    @property
    def _matrix(self) -> FloatArray:
        K = socket_stiffness(self.socket)
        K[SWAY_INDEX, SWAY_INDEX] += self.sway
        return K

    def stiffness(self) -> JointStiffness:
        """Rings by their lever arm about the joint's point, and what holds the beam along its axis."""
        return JointStiffness.coupled(self._matrix)

    def shares(self, loads: FloatArray) -> tuple[FloatArray, FloatArray]:
        """(cases, tapes, 6) at each ring's centre, and (cases,), N, of sway on the support beside the skins."""
        end_force = self.sway * displacements(self._matrix, loads)[:, SWAY_INDEX]
        on_rings = np.array(loads, dtype=float)
        on_rings[:, SWAY_INDEX] -= end_force
        return ring_loads(self.socket, on_rings), end_force

    def energy_by_part(self, loads: FloatArray) -> Mapping[str, FloatArray]:
        """Glue, tape and skin of every ring, and the support beside the skins."""
        shared, end_force = self.shares(loads)
        found = {
            f"{tape.name}, {part}": energy
            for number, tape in enumerate(self._tapes)
            for part, energy in energy_by_part(tape.ring, shared[:, number]).items()
        }
        if self.sway:
            found["beside the skins"] = end_force**2 / (2 * self.sway)
        return found

    def port_checks(self, loads: FloatArray, factors: SafetyFactors) -> tuple[Check, ...]:
        """Every tape's glue and plies, every skin around its tape, the beam's wall, and what takes its push and pull."""
        shared, end_force = self.shares(loads)
        found: list[Check] = []
        for number, tape in enumerate(self._tapes):
            checks = ring_checks(tape.name, tape.ring, shared[:, number], factors)
            found += [check for check in checks if not check.check.startswith("skin")]
        for crossing in self.crossings:
            ring_indices = [n for n, tape in enumerate(self._tapes) if tape.crossing is crossing]
            radii = (self._tapes[ring_indices[0]].ring.skin_radius, crossing.held_at)
            name, whole = "skin beside the tape, first ply", shared[:, ring_indices].sum(axis=1)
            found.append(skin_check(crossing.name, name, crossing.skin.built, radii, whole, factors))
        return (*found, self._wall_check(loads, factors), self._end_check(end_force, factors))

    def _wall_check(self, loads: FloatArray, factors: SafetyFactors) -> Check:
        """The beam's wall at the joint's point: the greatest pull and shear flow, as a thin tube, taken at one place."""
        ring = self._tapes[0].ring
        n, q = axial_flow(ring, loads), shear_flow(ring, loads)
        if self.beam.wall is None:
            metal, t = metals()[self.beam.metal or ""], self.beam.thickness or math.nan
            stress = np.sqrt(n**2 + 3 * q**2) / t
            return checked(
                "beam's wall",
                "first yield",
                stress,
                metal.proof,
                "Pa",
                factors.safety_factor("yielding"),
                "thin tube, von Mises",
            )
        loads = with_all_signs(N_x=n, N_xy=q)
        return first_ply_check("beam's wall", "first ply", self.beam.wall.built, loads, factors, "thin tube")

    def _end_check(self, end_force: FloatArray, factors: SafetyFactors) -> Check:
        part, name = "beside the skins", "push and pull along the beam"
        if self.sway and self.sway_strength is None:
            return not_checked(part, name, len(end_force), "its strength (sway_strength) is not given")
        if not self.sway:
            return checked(
                part, name, 0 * end_force, 1.0, "N", factors.safety_factor("ultimate"), "nothing stands there"
            )
        return checked(
            part,
            name,
            end_force,
            self.sway_strength or 0.0,
            "N",
            factors.safety_factor("ultimate"),
            "strength as given",
        )

    def words(self) -> str:
        """In one line."""
        skins = ", ".join(
            f"{c.name} (taped {c.taped}, {1000 * c.on_beam:.3g} + {1000 * c.on_skin:.3g} mm)"
            for c in self.crossings
        )
        springs = self.stiffness().springs
        return (
            f"bonded through {skins}; torque stiffness {engineering(float(springs[4]), 'N·m/rad')}, "
            f"vertical bending {engineering(float(springs[3]), 'N·m/rad')}"
        )

    def design_variables(self) -> tuple[DesignVariable[Joint], ...]:
        """More of the tape, longer legs, and doublers on the skins."""
        return (
            DesignVariable("overlap", ("glue",), tuple(self._overlap_sizes())),
            DesignVariable("tape", ("tape, first ply", "glue"), tuple(self._tape_sizes())),
            DesignVariable("skin doublers", ("skin beside the tape",), tuple(self._doubler_sizes())),
        )

    def _with(self, **tables: object) -> SocketJoint | None:
        changed = self.model_copy(update=tables)
        try:
            _ = changed._tapes  # noqa: SLF001  (its own class)
        except InputFault:
            return None
        return changed

    def _overlap_sizes(self) -> list[tuple[str, Joint]]:
        """Both legs by quarters of what they are."""
        found: list[tuple[str, Joint]] = []
        for quarters in (1, 2, 3, 4, 6, 8):
            grown = 1 + quarters / 4
            crossings = [
                c.model_copy(update={"on_beam": c.on_beam * grown, "on_skin": c.on_skin * grown})
                for c in self.crossings
            ]
            joint = self._with(crossings=crossings)
            if joint is not None:
                c = crossings[0]
                found.append(
                    (f"{1000 * c.on_beam:.0f} mm on the beam, {1000 * c.on_skin:.0f} mm on the skin", joint)
                )
        return found

    def _tape_sizes(self) -> list[tuple[str, Joint]]:
        """The tape laid twice, three times and so on."""
        made = [(times, self._with(tape=self.tape.repeated(times))) for times in range(2, 9)]
        return [(f"{times} × ({self.tape.words})", joint) for times, joint in made if joint is not None]

    def _doubler_sizes(self) -> list[tuple[str, Joint]]:
        """Double-bias of 600 g/m² on both faces of every skin, around the beam."""
        found: list[tuple[str, Joint]] = []
        for layers in range(1, 9):
            cloth = f"{layers}x db 600 @45"
            crossings = [
                c.model_copy(update={"skin": c.skin.with_cloth_both_faces(cloth)}) for c in self.crossings
            ]
            joint = self._with(crossings=crossings)
            if joint is not None:
                found.append((f"{cloth} on both faces", joint))
        return found
