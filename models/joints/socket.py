"""Bonded socket: the beam runs through the hull's inboard skin, and on to another skin or web where there is one, taped in.

Every skin that it crosses is taped on the side towards the centreline, on the other, or on both. Rings of tape, and the elastic
beam from each to the next, give the stiffness (`models.strength.bonding`); tapes on both sides of a skin share it half and half.
A bare skin is a very soft membrane along the beam, so that a file has to say what takes the beam's push and pull (`sway`: a
bulkhead, a web, an end plate).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
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
from models.strength.bonding.socket import (
    Socket,
    SocketBeamStiffness,
    SocketResponse,
    socket_response,
    socket_stiffness,
)
from models.strength.design_variable import DesignVariable
from models.strength.first_ply import first_ply_check, with_all_signs
from models.strength.margins import Check, SafetyFactors, checked, not_checked
from models.strength.plates.disc import IsotropicPlate
from models.tables.shared import GlueTable, LayupTable, MetalName, NonNegativeLength, PositiveLength

INNER, OUTER = "towards the centreline", "away from the centreline"
"""The two faces of a skin that a beam crosses, by the side of it that they are on."""
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

    @property
    def between_rings(self) -> SocketBeamStiffness:
        """Of the whole section, its wall thin: a tube of mean radius r has EI = π r³ E t, GJ = 2 π r³ G t (Bredt), GA = π r G t
        (half its area in shear); of a box b × d along the middles of its walls, the two parallel to a shear force carry it.
        """
        wall, t = self.stiffness, self.thickness if self.wall is None else self.wall.built.thickness
        if self.diameter is not None:
            r = self._inside(self.diameter, t) / 2
            area = math.pi * r
            return SocketBeamStiffness(
                EA=2 * area * wall.along, GJ=2 * area * r**2 * wall.shear, EI_vertical=area * r**2 * wall.along,
                EI_lateral=area * r**2 * wall.along, GA_vertical=area * wall.shear, GA_lateral=area * wall.shear,
            )  # fmt: skip
        b, d = (self._inside(size or 0.0, t) for size in (self.breadth, self.depth))
        return SocketBeamStiffness(
            EA=2 * (b + d) * wall.along, GJ=2 * (b * d) ** 2 / (b + d) * wall.shear,
            EI_vertical=(d**3 / 6 + b * d**2 / 2) * wall.along, EI_lateral=(b**3 / 6 + d * b**2 / 2) * wall.along,
            GA_vertical=2 * d * wall.shear, GA_lateral=2 * b * wall.shear,
        )  # fmt: skip

    @staticmethod
    def _inside(size: float, thickness: float | None) -> float:
        """m, between the middles of two walls whose outsides are `size` apart; InputFault where they meet."""
        if size <= (thickness or 0.0):
            raise InputFault("beam", "has a wall as thick as the beam", "correct the wall or the outline")
        return size - (thickness or 0.0)


class SkinCrossing(Table):
    """A skin that the beam crosses, and how it is taped there.

    at      : m, along the beam from the joint's point (the inboard skin) outboard
    taped   : on which side of the skin the tape is, its leg along the beam with it. Older files say "inside" and "outside" of the
              hull: of the inboard skin (at = 0) the inside is away from the centreline, of any other skin or web towards it
    on_beam, on_skin : legs of the tape;   corner : the free width between them (the fillet)
    held_at : from the beam's axis to where frames, deck or bulkheads hold the skin
    """

    name: Annotated[str, Field(min_length=1, max_length=40)]
    at: NonNegativeLength = 0.0
    skin: LayupTable
    held_at: PositiveLength
    taped: Literal[
        "towards the centreline", "away from the centreline", "both sides", "inside", "outside", "both"
    ] = "both sides"
    on_beam: NonNegativeLength
    on_skin: NonNegativeLength
    corner: PositiveLength

    @property
    def faces(self) -> tuple[str, ...]:
        """The sides that are taped."""
        if self.taped.startswith("both"):
            return INNER, OUTER
        if self.taped in (INNER, OUTER):
            return (self.taped,)
        return (OUTER if (self.taped == "inside") == (self.at == 0) else INNER,)


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
            # tapes on both sides work on half of the skin each: their rings in parallel then hold the skin once
            skin = IsotropicPlate(whole.Et / parts, whole.nu, whole.D / parts)
            ring = Ring(
                outline=outline, wall=wall, tape=tape, on_beam=crossing.on_beam, on_skin=crossing.on_skin,
                corner=crossing.corner, glue=self.glue.adhesive, skin=skin, support_radius=crossing.held_at, beam_glue=inner,
            )  # fmt: skip
            found += [
                _TapedRing(f"{crossing.name}, tape {face}", crossing, replace(ring, beyond=face == OUTER))
                for face in crossing.faces
            ]
        return tuple(found)

    @property
    def socket(self) -> Socket:
        """As the mechanics takes it."""
        tapes = self._tapes
        return Socket(
            tuple(t.ring for t in tapes),
            tuple(t.crossing.at for t in tapes),
            self.beam.between_rings,
            self.sway,
        )

    def stiffness(self) -> JointStiffness:
        """Rings, the beam between them, and what holds the beam along its axis, about the joint's point."""
        return JointStiffness.coupled(socket_stiffness(self.socket))

    def response(self, loads: FloatArray) -> SocketResponse:
        """How its parts share loads (cases, 6) at the joint's point; its rings are the tapes, crossing by crossing."""
        return socket_response(self.socket, loads)

    def energy_by_part(self, loads: FloatArray) -> Mapping[str, FloatArray]:
        """Glue, tape and skin of every ring, the beam between them, and the support beside the skins."""
        response = self.response(loads)
        found = {
            f"{tape.name}, {part}": energy
            for number, tape in enumerate(self._tapes)
            for part, energy in energy_by_part(tape.ring, response.rings[:, number]).items()
        }
        found["beam between the rings"] = response.beam_energy
        if self.sway:
            found["beside the skins"] = response.end_support**2 / (2 * self.sway)
        return found

    def port_checks(self, loads: FloatArray, factors: SafetyFactors) -> tuple[Check, ...]:
        """Every tape's glue and plies, every skin around its tape, the beam's wall, and what takes its push and pull."""
        response = self.response(loads)
        shared = response.rings
        found: list[Check] = []
        for number, tape in enumerate(self._tapes):
            checks = ring_checks(tape.name, tape.ring, shared[:, number], factors)
            found += [check for check in checks if not check.check.startswith("skin")]
        for crossing in self.crossings:
            ring_indices = [n for n, tape in enumerate(self._tapes) if tape.crossing is crossing]
            radii = (self._tapes[ring_indices[0]].ring.skin_radius, crossing.held_at)
            name, whole = "skin beside the tape, first ply", shared[:, ring_indices].sum(axis=1)
            found.append(skin_check(crossing.name, name, crossing.skin.built, radii, whole, factors))
        return (
            *found,
            self._wall_check(response.sections, factors),
            self._end_check(response.end_support, factors),
        )

    def _wall_check(self, sections: FloatArray, factors: SafetyFactors) -> Check:
        """The beam's wall at the joint's point and at every ring, its `sections` (cases, k, 6): the greatest pull and shear flow
        as of a thin tube, taken at one place.
        """
        ring, count = self._tapes[0].ring, len(sections)
        n, q = (
            flow(ring, sections.reshape(-1, 6)).reshape(count, -1).max(axis=1)
            for flow in (axial_flow, shear_flow)
        )
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
            f"{c.name} (taped {' and '.join(c.faces)}, {1000 * c.on_beam:.3g} + {1000 * c.on_skin:.3g} mm)"
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
