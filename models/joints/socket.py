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
from pydantic import Field, field_validator, model_validator

from femcore.base.arrays import FloatArray
from femcore.base.errors import InputFault
from femcore.base.numbers import engineering
from femcore.base.toml import Table
from femcore.base.units import Unit
from femcore.laminates import Laminate, first_ply_failure, wall_stiffness
from femcore.materials import metals
from models.joints.base import Joint, JointStiffness, Knob
from models.strength.bonding.ring import Outline, Ring, Wall, energy_by_part, pull_flow, shear_flow
from models.strength.bonding.ring_checks import ring_checks, skin_check
from models.strength.bonding.socket import Socket, ring_loads, socket_stiffness
from models.strength.margins import Check, Factors, checked, not_checked
from models.strength.plates.disc import Plate
from models.strength.springs import movement
from models.tables.shared import GlueTable, LayupTable, LeastLength, Length, fault, metal_named

FACES = {"inside": ("inside",), "outside": ("outside",), "both": ("outside", "inside")}
SWAY = 1
"""Where the movement along the beam stands among the six."""
SWAY_CURE = (
    'say what takes the push and pull along the beam: sway = "50 MN/m" for a bulkhead or web that its end bears on; '
    '"0 N/m" if only the bare skins do, which are very soft'
)


class BeamEnd(Table):
    """The beam where it passes the skins: round (`diameter`) or a box (`breadth` fore and aft, `depth`); its wall.

    wall : its lay-up, x along the beam;   or metal and thickness
    """

    diameter: Length | None = None
    breadth: Length | None = None
    depth: Length | None = None
    wall: LayupTable | None = None
    metal: str | None = None
    thickness: Length | None = None

    @field_validator("metal")
    @classmethod
    def _known_metal(cls, name: str | None) -> str | None:
        return None if name is None else metal_named(name)

    @model_validator(mode="after")
    def _one_way(self) -> BeamEnd:
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
    def stiffness(self) -> Wall:
        """Per width."""
        if self.wall is not None:
            found = wall_stiffness(self.wall.built)
            return Wall(found.shear, found.axial)
        metal, t = metals()[self.metal or ""], self.thickness or 0.0
        return Wall(metal.shear_modulus * t, metal.E * t)


class Crossing(Table):
    """A skin that the beam crosses, and how it is taped there.

    at      : m, along the beam from the joint's point (the inboard skin) outboard;   taped : at which faces
    on_beam, on_skin : legs of the tape;   corner : the free width between them (the fillet)
    held_at : from the beam's axis to where frames, deck or bulkheads hold the skin
    """

    name: Annotated[str, Field(min_length=1, max_length=40)]
    at: LeastLength = 0.0
    skin: LayupTable
    held_at: Length
    taped: Literal["inside", "outside", "both"] = "both"
    on_beam: LeastLength
    on_skin: LeastLength
    corner: Length

    @property
    def faces(self) -> tuple[str, ...]:
        """The faces that are taped."""
        return FACES[self.taped]


@dataclass(frozen=True, eq=False)
class _Taped:
    """One tape: its name, its crossing, its ring (with its part of the skin) and where it stands."""

    name: str
    crossing: Crossing
    ring: Ring


class SocketJoint(Joint):
    """The beam taped into one skin or more."""

    kind: Literal["bonded socket"]
    beam: BeamEnd
    tape: LayupTable
    glue: GlueTable
    glue_on_beam: GlueTable | None = None
    crossings: Annotated[list[Crossing], Field(min_length=1)]
    sway: Annotated[float, Unit("N/m", least=0)]
    sway_strength: Annotated[float, Unit("N", above=0)] | None = None

    @model_validator(mode="before")
    @classmethod
    def _says_what_holds_it(cls, given: object) -> object:
        if isinstance(given, dict) and "sway" not in given:
            raise fault("nothing but the bare skins holds the beam along its own axis", SWAY_CURE)
        return given

    @model_validator(mode="after")
    def _fits(self) -> SocketJoint:
        names = [crossing.name for crossing in self.crossings]
        if len(set(names)) < len(names):
            raise fault("two crossings have one name", "give each a name of its own")
        try:
            _ = self._tapes
        except InputFault as trouble:
            raise fault(f"{trouble.place}: {trouble.wrong}", trouble.cure) from None
        return self

    @property
    def _tapes(self) -> tuple[_Taped, ...]:
        outline, wall, tape = self.beam.outline, self.beam.stiffness, self.tape.built
        inner = None if self.glue_on_beam is None else self.glue_on_beam.adhesive
        found = []
        for crossing in self.crossings:
            whole, parts = Plate.of_laminate(crossing.skin.built), len(crossing.faces)
            # tapes at both faces work on half of the skin each: their rings in parallel then hold the skin once
            skin = Plate(whole.Et / parts, whole.nu, whole.D / parts)
            ring = Ring(
                outline=outline, wall=wall, tape=tape, on_beam=crossing.on_beam, on_skin=crossing.on_skin,
                corner=crossing.corner, glue=self.glue.adhesive, skin=skin, far=crossing.held_at, inner_glue=inner,
            )  # fmt: skip
            found += [_Taped(f"{crossing.name}, {face} tape", crossing, ring) for face in crossing.faces]
        return tuple(found)

    @property
    def socket(self) -> Socket:
        """As the mechanics takes it, without what holds the beam along its axis."""
        tapes = self._tapes
        return Socket(tuple(t.ring for t in tapes), tuple(t.crossing.at for t in tapes))

    @property
    def _matrix(self) -> FloatArray:
        K = socket_stiffness(self.socket)
        K[SWAY, SWAY] += self.sway
        return K

    def stiffness(self) -> JointStiffness:
        """Rings by their lever arm about the joint's point, and what holds the beam along its axis."""
        return JointStiffness.coupled(self._matrix)

    def shares(self, loads: FloatArray) -> tuple[FloatArray, FloatArray]:
        """(cases, tapes, 6) at each ring's centre, and (cases,), N, of sway on what stands beside the skins."""
        at_end = self.sway * movement(self._matrix, loads)[:, SWAY]
        on_rings = np.array(loads, dtype=float)
        on_rings[:, SWAY] -= at_end
        return ring_loads(self.socket, on_rings), at_end

    def energy_by_part(self, loads: FloatArray) -> Mapping[str, FloatArray]:
        """Glue, tape and skin of every ring, and what stands beside the skins."""
        shared, at_end = self.shares(loads)
        found = {
            f"{tape.name}, {part}": energy
            for number, tape in enumerate(self._tapes)
            for part, energy in energy_by_part(tape.ring, shared[:, number]).items()
        }
        if self.sway:
            found["beside the skins"] = at_end**2 / (2 * self.sway)
        return found

    def port_checks(self, loads: FloatArray, factors: Factors) -> tuple[Check, ...]:
        """Every tape's glue and plies, every skin around its tape, the beam's wall, and what takes its push and pull."""
        shared, at_end = self.shares(loads)
        found: list[Check] = []
        for number, tape in enumerate(self._tapes):
            checks = ring_checks(tape.name, tape.ring, shared[:, number], factors)
            found += [check for check in checks if not check.check.startswith("skin")]
        for crossing in self.crossings:
            mine = [n for n, tape in enumerate(self._tapes) if tape.crossing is crossing]
            radii = (self._tapes[mine[0]].ring.skin_radius, crossing.held_at)
            name, whole = "skin beside the tape, first ply", shared[:, mine].sum(axis=1)
            found.append(skin_check(crossing.name, name, crossing.skin.built, radii, whole, factors))
        return (*found, self._wall_check(loads, factors), self._end_check(at_end, factors))

    def _wall_check(self, loads: FloatArray, factors: Factors) -> Check:
        """The beam's wall at the joint's point: the greatest pull and shear flow, as a thin tube, taken at one place."""
        ring = self._tapes[0].ring
        n, q = pull_flow(ring, loads), shear_flow(ring, loads)
        if self.beam.wall is None:
            metal, t = metals()[self.beam.metal or ""], self.beam.thickness or math.nan
            stress = np.sqrt(n**2 + 3 * q**2) / t
            return checked(
                "beam's wall",
                "first yield",
                stress,
                metal.proof,
                "Pa",
                factors.named("yielding"),
                "thin tube, von Mises",
            )
        return _wall_first_ply(self.beam.wall.built, n, q, factors)

    def _end_check(self, at_end: FloatArray, factors: Factors) -> Check:
        part, name = "beside the skins", "push and pull along the beam"
        if self.sway and self.sway_strength is None:
            return not_checked(part, name, len(at_end), "its strength (sway_strength) is not given")
        if not self.sway:
            return checked(
                part, name, 0 * at_end, 1.0, "N", factors.named("ultimate"), "nothing stands there"
            )
        return checked(
            part, name, at_end, self.sway_strength or 0.0, "N", factors.named("ultimate"), "strength as given"
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

    def knobs(self) -> tuple[Knob, ...]:
        """More of the tape, longer legs, and doublers on the skins."""
        return (
            Knob("overlap", ("glue",), tuple(self._longer())),
            Knob("tape", ("tape, first ply", "glue"), tuple(self._more_tape())),
            Knob("skin doublers", ("skin beside the tape",), tuple(self._doubled())),
        )

    def _with(self, **tables: object) -> SocketJoint | None:
        changed = self.model_copy(update=tables)
        try:
            _ = changed._tapes  # noqa: SLF001  (its own class)
        except InputFault:
            return None
        return changed

    def _longer(self) -> list[tuple[str, Joint]]:
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

    def _more_tape(self) -> list[tuple[str, Joint]]:
        """The tape laid twice, three times and so on."""
        made = [(times, self._with(tape=self.tape.times(times))) for times in range(2, 9)]
        return [(f"{times} × ({self.tape.words})", joint) for times, joint in made if joint is not None]

    def _doubled(self) -> list[tuple[str, Joint]]:
        """Double-bias of 600 g/m² on both faces of every skin, around the beam."""
        found: list[tuple[str, Joint]] = []
        for layers in range(1, 9):
            cloth = f"{layers}x db 600 @45"
            crossings = [c.model_copy(update={"skin": c.skin.covered(cloth)}) for c in self.crossings]
            joint = self._with(crossings=crossings)
            if joint is not None:
                found.append((f"{cloth} on both faces", joint))
        return found


def _wall_first_ply(wall: Laminate, n: FloatArray, q: FloatArray, factors: Factors) -> Check:
    part, name = "beam's wall", "first ply"
    loads = np.zeros((4, len(n), 6))
    for way, (sign, turn) in enumerate(((1, 1), (1, -1), (-1, 1), (-1, -1))):
        loads[way, :, 0], loads[way, :, 2] = sign * n, turn * q
    try:
        factor = first_ply_failure(wall, loads).load_factor.min(axis=0)
    except InputFault as trouble:
        return not_checked(part, name, len(n), f"{trouble.place}: {trouble.wrong}")
    usage = np.where(np.isfinite(factor), 1 / factor, 0.0)
    return checked(
        part, name, usage, 1.0, "", factors.named("laminate"), "thin tube; Tsai & Wu 1971, first ply"
    )
