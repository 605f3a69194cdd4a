"""Bonded socket: the beam runs through the hull's inboard skin, and on to another skin or web where there is one, taped in.

Every skin that it crosses is taped on the side towards the centreline, on the other, or on both. Rings of tape, and the elastic
beam from each to the next, give the stiffness (`models.strength.bonding`); tapes on both sides of a skin share it half and half.
A bare skin is a very soft membrane along the beam, so that a file has to say what takes the beam's push and pull (`sway`: a
bulkhead, a web, an end plate).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Annotated, Literal

import numpy as np
from pydantic import Field, model_validator

from femcore.base.arrays import FloatArray
from femcore.base.errors import InputFault, fault, table_faults
from femcore.base.numbers import engineering
from femcore.base.toml import Table
from femcore.base.units import Unit
from femcore.laminates import Laminate
from femcore.materials import Metal, metals
from models.attachments.base import GLUE_LINES
from models.joints.base import Joint, JointStiffness
from models.strength.bonding.bond import Lap, shear_checks
from models.strength.bonding.ring import Outline, Ring, TubeWall, axial_flow, energy_by_part, shear_flow
from models.strength.bonding.ring_checks import first_ply_in_all_directions, ring_checks, skin_check
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
from models.strength.plates.hoop_bending import (
    TubeUnderBearing,
    diaphragm_buckling,
    diaphragm_flows,
    hoop_bending,
)
from models.strength.remarks import Remark, galvanic_remarks
from models.tables.shared import GlueTable, LayupTable, MetalName, NonNegativeLength, PositiveLength
from models.tables.stock_sizes import larger

TOWARDS_CENTRELINE, FROM_CENTRELINE = "towards the centreline", "away from the centreline"
"""The two faces of a skin that a beam crosses, by the side of it that they are on."""
HOOP_BENDING = "hoop bending"
HOOP_SOURCE = "skin's edge bearing on half the outline"
SWAY_CURE = (
    'say what takes the push and pull along the beam: sway = "50 MN/m" for a bulkhead or web that its end bears on; '
    '"0 N/m" if only the bare skins do, which are very soft'
)


class SheetTable(Table):
    """A sheet of laminate (`wall`: its lay-up) or of metal and thickness."""

    wall: LayupTable | None = None
    metal: MetalName | None = None
    thickness: PositiveLength | None = None

    @model_validator(mode="after")
    def _check_one_sheet(self) -> SheetTable:
        if (self.wall is not None) == (self.metal is not None and self.thickness is not None):
            raise fault("its wall is not known", "give wall = { layup = […] }, or metal and thickness")
        return self

    @property
    def laminate(self) -> Laminate | None:
        """Its laminate; None of metal."""
        return None if self.wall is None else self.wall.built

    @property
    def metal_record(self) -> Metal:
        """Its metal; KeyError of a laminate."""
        return metals()[self.metal or ""]

    @property
    def depth_of_wall(self) -> float:
        """m, its thickness."""
        return (self.thickness or 0.0) if self.wall is None else self.wall.built.thickness

    @property
    def areal_mass(self) -> float:
        """kg/m²."""
        if self.wall is not None:
            return self.wall.built.areal_mass
        return self.metal_record.density * self.depth_of_wall

    @property
    def stiffness(self) -> TubeWall:
        """Per width."""
        metal = None if self.metal is None else self.metal_record
        return TubeWall.of(self.laminate, metal, self.thickness or 0.0)

    @property
    def plate(self) -> IsotropicPlate:
        """As a plate, averaged over all directions."""
        if self.wall is not None:
            return IsotropicPlate.of_laminate(self.wall.built)
        return IsotropicPlate.of_metal(self.metal_record, self.depth_of_wall)


class SocketBeam(SheetTable):
    """The beam where it passes the skins: round (`diameter`) or a box (`breadth` fore and aft, `depth`); its wall.

    wall : its lay-up, x along the beam;   or metal and thickness
    """

    diameter: PositiveLength | None = None
    breadth: PositiveLength | None = None
    depth: PositiveLength | None = None

    @model_validator(mode="after")
    def _check_outline(self) -> SocketBeam:
        box = self.breadth is not None and self.depth is not None
        if (self.diameter is not None) == box:
            raise fault(
                "its outline is not known", "give diameter for a tube, or breadth and depth for a box"
            )
        return self

    @property
    def outline(self) -> Outline:
        """Of its outside."""
        if self.diameter is not None:
            return Outline(math.pi * self.diameter, math.pi / 4 * self.diameter**2)
        b, d = self.breadth or 0.0, self.depth or 0.0
        return Outline(2 * (b + d), b * d)

    @property
    def between_rings(self) -> SocketBeamStiffness:
        """Of the whole section, its wall thin: a tube of mean radius r has EI = π r³ E t, GJ = 2 π r³ G t (Bredt), GA = π r G t
        (half its area in shear); of a box b × d along the middles of its walls, the two parallel to a shear force carry it.
        """
        wall, t = self.stiffness, self.depth_of_wall
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
    def _inside(size: float, thickness: float) -> float:
        """m, between the middles of two walls whose outsides are `size` apart; InputFault where they meet."""
        if size <= thickness:
            raise InputFault("beam", "has a wall as thick as the beam", "correct the wall or the outline")
        return size - thickness


class DiaphragmTable(SheetTable):
    """A disc, or a closed end, inside the beam where a skin bears on it; `rim`: the width along the beam that it is bonded on."""

    rim: PositiveLength


class SkinCrossing(Table):
    """A skin that the beam crosses, and how it is taped there.

    at      : m, along the beam from the joint's point (the inboard skin) outboard
    taped   : on which side of the skin the tape is, its leg along the beam with it. Older files say "outside" for towards the
              centreline and "inside" for away from it, as of the hull's inboard skin, of any skin or web
    on_beam, on_skin : legs of the tape;   corner : the free width between them (the fillet)
    held_at : from the beam's axis to where frames, deck or bulkheads hold the skin
    diaphragm : inside the beam there, which keeps its wall from bending around it
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
    diaphragm: DiaphragmTable | None = None

    @property
    def faces(self) -> tuple[str, ...]:
        """The sides that are taped."""
        if self.taped.startswith("both"):
            return TOWARDS_CENTRELINE, FROM_CENTRELINE
        if self.taped in (TOWARDS_CENTRELINE, "outside"):
            return (TOWARDS_CENTRELINE,)
        return (FROM_CENTRELINE,)


def _sheet_check(
    part: str,
    what: str,
    sheet: SheetTable,
    actions: tuple[FloatArray, FloatArray, FloatArray],
    factors: SafetyFactors,
    source: str,
) -> Check:
    """First ply or first yield of a sheet under N_x, N_xy and M_y of the worst signs, each (cases,), N/m and N."""
    along, shear, bent = actions
    if sheet.laminate is not None:
        loads = with_all_signs(N_x=along, N_xy=shear, M_y=bent)
        return first_ply_check(part, f"{what}first ply", sheet.laminate, loads, factors, source)
    t = sheet.depth_of_wall
    stress, bending = along / t, 6 * bent / t**2
    # one of both faces has the bending that is worst beside the pull
    found = np.sqrt(stress**2 + bending**2 + stress * bending + 3 * (shear / t) ** 2)
    factor = factors.safety_factor("yielding")
    source += ", von Mises"
    return checked(part, f"{what}first yield", found, sheet.metal_record.proof, "Pa", factor, source)


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
                _TapedRing(
                    f"{crossing.name}, tape {face}", crossing, replace(ring, beyond=face == FROM_CENTRELINE)
                )
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

    def masses(self) -> Mapping[str, float]:
        """kg, of tapes and of diaphragms inside the beam; without glue and fillets, whose density no file gives.

        A leg on the beam and the corner have the length of the beam's outline P; a leg of width w on the skin goes round it
        from there, with the area P w + π w² of a strip beside a convex outline.
        """
        around, tape = self.beam.outline, self.tape.built
        found = {"tapes": 0.0}
        for crossing in self.crossings:
            w = crossing.on_skin
            area = around.perimeter * (crossing.on_beam + crossing.corner + w) + math.pi * w**2
            found["tapes"] += len(crossing.faces) * tape.areal_mass * area
            if crossing.diaphragm is not None:
                sheet = crossing.diaphragm
                found["diaphragms"] = found.get("diaphragms", 0.0) + sheet.areal_mass * around.area
        return found

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
        crossing_loads = []
        for crossing in self.crossings:
            ring_indices = [n for n, tape in enumerate(self._tapes) if tape.crossing is crossing]
            radii = (self._tapes[ring_indices[0]].ring.skin_radius, crossing.held_at)
            name, whole = "skin beside the tape, first ply", shared[:, ring_indices].sum(axis=1)
            crossing_loads.append(whole)
            found.append(skin_check(crossing.name, name, crossing.skin.built, radii, whole, factors))
        return (
            *found,
            *self._wall_checks(response.sections, crossing_loads, factors),
            self._end_check(response.end_support, factors),
        )

    def _wall_checks(
        self, sections: FloatArray, crossing_loads: list[FloatArray], factors: SafetyFactors
    ) -> Iterator[Check]:
        """The beam's wall at the joint's point and at every ring, its `sections` (cases, k, 6): the greatest pull and shear flow
        as of a thin tube, taken at one place; where skins bear on it, its hoop bending, or what a diaphragm takes instead.
        """
        ring, count, beam = self._tapes[0].ring, len(sections), self.beam
        n, q = (
            flow(ring, sections.reshape(-1, 6)).reshape(count, -1).max(axis=1)
            for flow in (axial_flow, shear_flow)
        )
        yield _sheet_check("beam's wall", "", beam, (n, q, 0 * n), factors, "thin tube")
        for crossing, loads in zip(self.crossings, crossing_loads, strict=True):
            F1, _, F3, *_ = loads.T
            force, part = np.hypot(F1, F3), f"beam's wall at {crossing.name}"
            if crossing.diaphragm is not None:
                yield from self._diaphragm_checks(crossing.name, crossing.diaphragm, force, factors)
            elif beam.diameter is None:
                why = "of a box it is not computed: give it a diaphragm there"
                yield not_checked(part, HOOP_BENDING, count, why)
            else:
                moment, along = hoop_bending(self._bearing(crossing))
                actions = (n + along * force, q, moment * force)
                yield _sheet_check(part, f"{HOOP_BENDING}, ", beam, actions, factors, HOOP_SOURCE)

    def _bearing(self, crossing: SkinCrossing) -> TubeUnderBearing:
        """A skin's edge and the corners of its tapes bear on the tube, which ends at the last of them."""
        beam, outermost = self.beam, max(one.at for one in self.crossings)
        hoop = beam.plate.D if beam.laminate is None else float(beam.laminate.D[1, 1])
        return TubeUnderBearing(
            radius=((beam.diameter or 0.0) - beam.depth_of_wall) / 2, along=beam.stiffness.along, hoop=hoop,
            length=crossing.skin.built.thickness + crossing.corner * len(crossing.faces), at_end=crossing.at == outermost,
        )  # fmt: skip

    def _diaphragm_checks(
        self, name: str, diaphragm: DiaphragmTable, force: FloatArray, factors: SafetyFactors
    ) -> Iterator[Check]:
        """A plate under the skin's bearing at its rim: its strength, its buckling, and the glue of its rim."""
        part, radius = f"diaphragm at {name}", self.beam.outline.radius
        pressure, shear = diaphragm_flows(force, radius)
        if diaphragm.laminate is None:
            yield _sheet_check(part, "", diaphragm, (pressure, shear, 0 * shear), factors, HOOP_SOURCE)
        else:
            places = [(sign * pressure, way * shear, 0 * shear) for sign in (1, -1) for way in (1, -1)]
            yield first_ply_in_all_directions(part, "first ply", diaphragm.laminate, places, factors)
        critical, factor = (
            diaphragm_buckling(diaphragm.plate.D, radius),
            factors.safety_factor("elastic_buckling"),
        )
        yield checked(
            part,
            "buckling",
            pressure,
            critical,
            "N/m",
            factor,
            "Timoshenko & Gere 1961, round plate (from memory)",
        )
        lap = Lap(
            self.beam.stiffness.shear, diaphragm.plate.Gt, diaphragm.rim, self.glue.adhesive, same_end=True
        )
        yield from shear_checks(part, "glue of its rim in shear", [(lap, shear)], factors)

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

    def remarks(self, loads: FloatArray) -> tuple[Remark, ...]:  # noqa: ARG002  (metals do not depend on loads)
        """Of a beam of alloy in tape of carbon."""
        if self.beam.metal is None:
            return ()
        return tuple(galvanic_remarks("beam in its tape", self.beam.metal_record, self.tape.built))

    def words(self) -> str:
        """In one line."""
        skins = ", ".join(
            f"{c.name} (taped {' and '.join(c.faces)}, {1000 * c.on_beam:.3g} + {1000 * c.on_skin:.3g} mm)"
            for c in self.crossings
        )
        torque, bending = (self.stiffness().own_stiffness(direction) for direction in ("pitch", "roll"))
        return (
            f"bonded through {skins}; torque stiffness {engineering(torque, 'N·m/rad')}, "
            f"vertical bending {engineering(bending, 'N·m/rad')}"
        )

    def design_variables(self) -> tuple[DesignVariable[Joint], ...]:
        """More of the tape, longer legs, a thicker glue line, doublers on the skins, and diaphragms."""
        return (
            DesignVariable("overlap", ("glue",), tuple(self._overlap_sizes())),
            DesignVariable("glue line's thickness", ("glue",), tuple(self._glue_sizes())),
            DesignVariable("tape", ("tape, first ply", "glue"), tuple(self._tape_sizes())),
            DesignVariable("skin doublers", ("skin beside the tape",), tuple(self._doubler_sizes())),
            DesignVariable("inner diaphragms", (HOOP_BENDING,), tuple(self._diaphragm_sizes())),
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

    def _glue_sizes(self) -> list[tuple[str, Joint]]:
        """Under both legs: the peaks of its shear fall with it."""
        found: list[tuple[str, Joint]] = []
        for size in larger(GLUE_LINES, self.glue.thickness):
            thicker = {"glue": self.glue.model_copy(update={"thickness": size})}
            if self.glue_on_beam is not None:
                on_beam = max(size, self.glue_on_beam.thickness)
                thicker["glue_on_beam"] = self.glue_on_beam.model_copy(update={"thickness": on_beam})
            joint = self._with(**thicker)
            if joint is not None:
                found.append((f"{1000 * size:g} mm", joint))
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

    def _diaphragm_sizes(self) -> list[tuple[str, Joint]]:
        """Of each skin's own laminate, in the beam where it bears on it and has none, as it is and with doublers."""
        found: list[tuple[str, Joint]] = []
        for layers in (0, 2, 4):
            cloth = f"{layers}x db 600 @45"
            crossings = [
                c
                if c.diaphragm is not None
                else c.model_copy(
                    update={
                        "diaphragm": _diaphragm(c, c.skin.with_cloth_both_faces(cloth) if layers else c.skin)
                    }
                )
                for c in self.crossings
            ]
            joint = self._with(crossings=crossings)
            if joint is not None:
                found.append((f"of the skin's laminate{f', {cloth} on both faces' * (layers > 0)}", joint))
        return found


def _diaphragm(crossing: SkinCrossing, wall: LayupTable) -> DiaphragmTable:
    """Of that laminate, bonded on a rim as wide as the tape's leg on the beam, or at least its corner."""
    return DiaphragmTable.model_construct(wall=wall, rim=max(crossing.on_beam, crossing.corner))
