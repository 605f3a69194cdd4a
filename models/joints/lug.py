"""Lug and pin: a plate bolted to the hull's side, one lug or two on it, and a pin through the beam's end fitting.

Free about the pin's own line, which lies off the hull's side by the plate and the lug; in all else as stiff as lugs, plate,
bolts, bed and hull side in series. The mechanics is `models.strength.lugs.lug_fitting`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Annotated, Literal

import numpy as np
from pydantic import Field, field_validator, model_validator

from femcore.base.arrays import FloatArray
from femcore.base.errors import InputFault, fault, table_faults
from femcore.base.numbers import engineering
from femcore.base.toml import Table
from femcore.materials import Metal, metals
from models.attachments import BeamEndAttachment, attachments, design_variables
from models.attachments import remarks as attachment_remarks
from models.joints.base import Joint, JointStiffness, as_port_loads
from models.strength.attachment import Footprint
from models.strength.bolts.bolt_group import rectangular_group
from models.strength.bolts.bolted_base_plate import prying_factors
from models.strength.design_variable import DesignVariable
from models.strength.lugs import lug_fitting
from models.strength.lugs.beam_end import PART, BeamEnd
from models.strength.lugs.lug import Lug
from models.strength.lugs.lug_fitting import Backing, HullSideData, LugFitting
from models.strength.lugs.lug_pair import LugPair
from models.strength.lugs.pin import Pin
from models.strength.lugs.pin_bending import PinBending, PressingPlates
from models.strength.lugs.play import Play, PlayState
from models.strength.margins import Check, SafetyFactors
from models.strength.remarks import (
    Remark,
    alloy_on_bolts_remarks,
    bolt_remarks,
    galvanic_remarks,
    mixed_metal_remarks,
    pin_remarks,
)
from models.strength.welds.weld import FILLER_STRENGTH, FilletPair
from models.strength.welds.weld_fatigue import WeldStresses
from models.tables.shared import BackingTable, Bolts, HullSide, MetalPart, NonNegativeLength, PositiveLength
from models.tables.stock_sizes import (
    ABS_TOL_SIZE,
    STOCK_BACKING,
    STOCK_BOLT,
    STOCK_PIN,
    STOCK_PLATE,
    STOCK_WELD,
    larger,
)

BOLT_METAL, BOLT_ENDS = "ss_1_4401", 3.0
"""What bolts are taken as for their mass; head and nut as so many diameters of shank beyond the grip (common practice)."""
COS_TOL_PARALLEL = 1.0 - 1e-6
"""Of an axis: one that lies along another."""
DIRECTIONS = {"fore and aft": (1.0, 0.0, 0.0), "upright": (0.0, 0.0, 1.0)}


class LugTable(MetalPart):
    """Lugs, side by side along the pin; each projects from the plate by `length` to the middle of its hole."""

    count: Annotated[int, Field(ge=1, le=2)] = 2
    spacing: PositiveLength | None = None
    width: PositiveLength
    thickness: PositiveLength
    length: PositiveLength
    end: PositiveLength
    hole: PositiveLength | None = None
    faces_held: bool = True
    weld: PositiveLength | None = None
    filler: str | None = None

    @model_validator(mode="after")
    def _check_complete(self) -> LugTable:
        if self.count == 2 and self.spacing is None:
            raise fault(
                "two lugs have no spacing", 'give spacing = "120 mm", from middle to middle, or count = 1'
            )
        if self.spacing is not None and self.spacing <= self.thickness:
            raise fault("the lugs overlap", "let spacing exceed their thickness")
        return self

    @property
    def places(self) -> tuple[float, ...]:
        """m, along the pin from its middle."""
        return (0.0,) if self.count == 1 or self.spacing is None else (-self.spacing / 2, self.spacing / 2)


class PinTable(MetalPart):
    """The pin: its diameter, and its direction on the port side ("fore and aft", "upright", or three numbers).

    replaceable : whether it is to come out again, as one that is pulled when the beam is unshipped
    """

    diameter: PositiveLength
    axis: tuple[float, float, float] = (1.0, 0.0, 0.0)
    replaceable: bool = True

    @field_validator("axis", mode="before")
    @classmethod
    def _unit_vector(cls, axis: object) -> object:
        given = DIRECTIONS.get(axis) if isinstance(axis, str) else axis
        if (
            isinstance(given, list | tuple)
            and len(given) == 3
            and np.linalg.norm(np.asarray(given, dtype=float)) > 0
        ):
            return tuple(np.asarray(given, dtype=float) / np.linalg.norm(np.asarray(given, dtype=float)))
        raise fault(
            f"{axis!r} is no direction", 'write "fore and aft", "upright", or three numbers such as [1, 0, 0]'
        )


class EyeTable(MetalPart):
    """What the beam's end puts on the pin: between two lugs one eye (or boss) or an eye beside each (`count` 2); at a single
    lug a fork of two cheeks. `gap`: the play between cheek and lug, of one eye between two lugs it follows from their spacing.

    hole  : of its holes; left out, as the lugs'
    width, length, end : its shape, to have it checked: across, from its root to the middle of its hole, and on to its tip
    fixing             : how it is fixed to the beam;   welded : the strength beside a weld counts at its root
    """

    thickness: PositiveLength
    count: Annotated[int, Field(ge=1, le=2)] = 1
    gap: NonNegativeLength = 0.0
    hole: PositiveLength | None = None
    width: PositiveLength | None = None
    length: PositiveLength | None = None
    end: PositiveLength | None = None
    welded: bool = False
    fixing: BeamEndAttachment | None = None

    @model_validator(mode="after")
    def _check_complete(self) -> EyeTable:
        shape = {key: getattr(self, key) for key in ("width", "length", "end")}
        lacking = [key for key, value in shape.items() if value is None]
        if lacking and len(lacking) < len(shape):
            raise fault(f"{lacking[0]} is not given", "give width, length and end, or none of them")
        return self


class PlateTable(MetalPart):
    """The plate on the hull's side."""

    thickness: PositiveLength
    fore_and_aft: PositiveLength
    upright: PositiveLength


class BoltTable(Bolts):
    """Bolts in columns fore and aft and rows up and down, about the joint's point."""

    columns: Annotated[int, Field(ge=1, le=20)] = 2
    rows: Annotated[int, Field(ge=1, le=20)]
    pitch_fore_and_aft: PositiveLength
    pitch_upright: PositiveLength


def _eye_mass(lug: Lug) -> float:
    """kg, of a lug or eye: a rectangle from its root to its tip, less the hole."""
    area = lug.width * (lug.length + lug.end) - math.pi / 4 * lug.hole**2
    return lug.metal.density * lug.thickness * area


def _rod_mass(metal: Metal, diameter: float, length: float) -> float:
    """kg, of a round bar."""
    return metal.density * math.pi / 4 * diameter**2 * length


class LugJoint(Joint):
    """A bolted plate with lugs, and a pin through the beam's end; free about the pin."""

    kind: Literal["lug and pin"] = "lug and pin"
    lugs: LugTable
    pin: PinTable
    eye: EyeTable
    plate: PlateTable
    bolts: BoltTable
    hull: HullSide
    backing: BackingTable | None = None

    @model_validator(mode="after")
    def _check_fit(self) -> LugJoint:
        with table_faults():
            _ = self.fitting
        return self

    @property
    def fitting(self) -> LugFitting:
        """As the mechanics takes it."""
        lugs, bolts, plate = self.lugs, self.bolts, self.plate
        lug = Lug(
            metal=lugs.metal_record, width=lugs.width, thickness=lugs.thickness, length=lugs.length, end=lugs.end,
            hole=lugs.hole or self.pin.diameter, pin=self.pin.diameter, welded=lugs.weld is not None,
            replaceable=self.pin.replaceable,
        )  # fmt: skip
        weld = None
        if lugs.weld is not None:
            strength = FILLER_STRENGTH.get((lugs.filler or "", lugs.metal))
            weld = FilletPair(lugs.metal_record, lugs.weld, lugs.width, lugs.thickness, strength)
        return LugFitting(
            pin_axis=np.array(self.pin.axis),
            pair=LugPair(lug, lugs.places, lugs.faces_held),
            pin=self._pin(),
            eye=self.eye.metal_record,
            weld=weld,
            plate=plate.metal_record,
            thickness=plate.thickness,
            size=(plate.fore_and_aft, plate.upright),
            bolt=bolts.bolt,
            group=rectangular_group(bolts.columns, bolts.rows, bolts.pitch_fore_and_aft, bolts.pitch_upright),
            washer=bolts.washer,
            side=self._side(),
            end=self._end(),
            bending=PinBending(self.pin.metal_record, self.pin.diameter, *self._pressing),
            play=self._play(),
        )

    @property
    def _pressing(self) -> tuple[PressingPlates, PressingPlates]:
        """Lugs and eyes on the pin."""
        lugs, eye = self.lugs, self.eye
        return PressingPlates(lugs.places, lugs.thickness), PressingPlates(self.eye_places, eye.thickness)

    def _play(self) -> Play | None:
        """Hole less pin, of lugs and eyes; None where no hole is given, or none has play."""
        in_lugs = (self.lugs.hole or self.pin.diameter) - self.pin.diameter
        in_eyes = (self.eye.hole or self.lugs.hole or self.pin.diameter) - self.pin.diameter
        if in_lugs == in_eyes == 0:
            return None
        lugs, eyes = self._pressing
        return Play(in_lugs, in_eyes, lugs.reach, eyes.reach)

    def remarks(self, loads: FloatArray) -> tuple[Remark, ...]:
        """Of pin, bolts, and alloy beside carbon or steel, in lugs, plate and the beam's end."""
        fitting, bolts, hull = self.fitting, self.bolts, self.hull.skin_laminate
        sides = np.concatenate(as_port_loads(loads))
        forces = lug_fitting.bolt_loads(fitting, lug_fitting.without_pin_moment(fitting, sides))
        pried = prying_factors(fitting.held, forces, SafetyFactors().ultimate)
        hole = self.lugs.hole
        touching = {
            "lugs": self.lugs.metal_record,
            "eye": self.eye.metal_record,
            "pin": self.pin.metal_record,
        }
        return (
            *pin_remarks(
                "pin",
                replaceable=self.pin.replaceable,
                clearance=hole and hole - self.pin.diameter,
                reverses=True,
            ),
            *bolt_remarks(
                "bolts",
                bolts.bolt,
                hole=bolts.hole,
                reach=float(np.linalg.norm(fitting.group.positions, axis=1).max()),
                shear=float(forces.shear_magnitude.max()),
                prying=float(pried.max()) - 1.0,
            ),
            *galvanic_remarks("plate", self.plate.metal_record, hull),
            *alloy_on_bolts_remarks("plate", self.plate.metal_record),
            *mixed_metal_remarks("pin, lugs and eye", touching),
            *attachment_remarks(self.eye.fixing, PART),
        )

    def masses(self) -> Mapping[str, float]:
        """kg, of lugs, pin, plate, bolts, backing and eyes; without what fixes the eyes to the beam.

        Lugs and eyes are taken as rectangles up to their tips, less their holes. A bolt is as long as what it clamps and
        `BOLT_ENDS` of its diameter for head and nut; a backing plate is as large as the plate.
        """
        plate, bolts, end = self.plate, self.bolts, self._end()
        area = plate.fore_and_aft * plate.upright
        behind = 0.0 if self.backing is None else self.backing.thickness
        size = bolts.size / 1000
        grip = plate.thickness + self.hull.depth + behind + BOLT_ENDS * size
        found = {
            "lugs": len(self.lugs.places) * _eye_mass(self.fitting.pair.lug),
            "pin": _rod_mass(
                self.pin.metal_record,
                self.pin.diameter,
                max(2 * max(plates.places) + plates.thickness for plates in self._pressing),
            ),
            "plate": plate.metal_record.density * area * plate.thickness,
            "bolts": bolts.columns * bolts.rows * _rod_mass(metals()[BOLT_METAL], size, grip),
        }
        if self.backing is not None:
            found["backing"] = self.backing.metal_record.density * area * behind
        if end.eyes is not None:
            found["eyes"] = len(end.eyes.places) * _eye_mass(end.eyes.lug)
        return found

    def weld_stresses(self, loads: FloatArray) -> tuple[WeldStresses, ...]:
        """Of the welds at the lugs' roots, and around the beam's eyes."""
        return lug_fitting.fitting_weld_stresses(self.fitting, loads)

    def play(self, loads: FloatArray) -> tuple[Play, PlayState] | None:
        """The pin's in lugs and eyes."""
        fitting = self.fitting
        state = lug_fitting.play_state(fitting, loads)
        return None if state is None or fitting.play is None else (fitting.play, state)

    def _end(self) -> BeamEnd:
        """The beam's eyes on the pin, where their shape is described, and how they are fixed."""
        eye, lugs, pin, axis = self.eye, self.lugs, self.pin, self.pin.axis
        if eye.width is None or eye.length is None or eye.end is None:
            return BeamEnd(attachments=attachments(eye.fixing))
        lug = Lug(
            metal=eye.metal_record, width=eye.width, thickness=eye.thickness, length=eye.length, end=eye.end,
            hole=eye.hole or lugs.hole or pin.diameter, pin=pin.diameter, welded=eye.welded, replaceable=pin.replaceable,
        )  # fmt: skip
        pair = LugPair(lug, self.eye_places, lugs.faces_held)
        footprint = None
        if max(map(abs, axis)) > COS_TOL_PARALLEL:
            level = abs(axis[0]) > COS_TOL_PARALLEL
            size = (eye.thickness, eye.width) if level else (eye.width, eye.thickness)
            footprint = Footprint(size, tuple((u, 0.0) if level else (0.0, u) for u in pair.places))
        return BeamEnd(pair, attachments(eye.fixing, footprint), eye.length)

    @property
    def eye_places(self) -> tuple[float, ...]:
        """m, of the beam's eyes along the pin from its middle."""
        eye, lugs = self.eye, self.lugs
        beside = lugs.thickness / 2 + eye.gap + eye.thickness / 2
        if lugs.count == 1 or lugs.spacing is None:
            return (-beside, beside)
        inner = lugs.spacing / 2 - beside
        return (-inner, inner) if eye.count == 2 else (0.0,)

    def _pin(self) -> Pin:
        lugs, eye = self.lugs, self.eye
        inner, outer, gap = lugs.thickness, eye.thickness, eye.gap
        if lugs.spacing is not None and lugs.count == 2:
            # an eye beside each lug bends the pin as one of both their thicknesses would between two lugs close to it
            inner, outer = eye.count * eye.thickness, lugs.thickness
            room = (lugs.spacing - lugs.thickness - inner) / 2
            if room < -ABS_TOL_SIZE:
                cure = "make it thinner, or the spacing wider"
                raise InputFault("eye", "is thicker than the room between the lugs", cure)
            gap = room if eye.count == 1 else gap
        holes = (eye.hole or lugs.hole, lugs.hole)
        return Pin(
            self.pin.metal_record,
            self.pin.diameter,
            inner,
            outer,
            max(gap, 0.0),
            self.pin.replaceable,
            holes if lugs.count == 2 else holes[::-1],
        )

    def _side(self) -> HullSideData:
        hull, bolts = self.hull, self.bolts
        pitch = min(
            [
                p
                for n, p in ((bolts.columns, bolts.pitch_fore_and_aft), (bolts.rows, bolts.pitch_upright))
                if n > 1
            ]
            or [bolts.washer]
        )
        backing = (
            None
            if self.backing is None
            else Backing(self.backing.thickness, self.backing.metal_record, pitch)
        )
        return HullSideData(
            hull.hole,
            hull.in_plane_modulus,
            hull.through_thickness_modulus,
            backing,
            hull.skin,
            hull.skin_laminate,
            hull.held_at,
        )

    def stiffness(self) -> JointStiffness:
        """All parts in series, at the joint's point."""
        return JointStiffness.coupled(lug_fitting.fitting_stiffness(self.fitting))

    def energy_by_part(self, loads: FloatArray) -> Mapping[str, FloatArray]:
        """Lugs, plate, bolts and hull's side."""
        return lug_fitting.energy_by_part(self.fitting, loads)

    def port_checks(self, loads: FloatArray, factors: SafetyFactors) -> tuple[Check, ...]:
        """Pin, lugs, welds, bolts, plate and the hull's side."""
        return lug_fitting.fitting_checks(self.fitting, loads, factors)

    def words(self) -> str:
        """In one line."""
        lugs, (x, y, z) = self.lugs, self.pin.axis
        direction = {
            (1.0, 0.0, 0.0): "fore and aft, free in vertical bending",
            (0.0, 0.0, 1.0): "upright, free in fore-and-aft bending",
        }.get((abs(x), abs(y), abs(z)), "oblique")
        pair = "one lug" if lugs.count == 1 else f"two lugs {1000 * (lugs.spacing or 0):.4g} mm apart"
        return (
            f"{pair} of {1000 * lugs.thickness:.3g} mm on a plate of {1000 * self.plate.thickness:.3g} mm, {self.bolts.words}; "
            f"a pin of {1000 * self.pin.diameter:.3g} mm, {direction}; "
            f"torque stiffness {engineering(self.stiffness().spring('pitch'), 'N·m/rad')}"
        )

    def design_variables(self) -> tuple[DesignVariable[Joint], ...]:
        """Lugs, welds, pin, bolts, plate, backing plate, and the laminate itself."""
        return (
            DesignVariable("lug thickness", ("lug 1", "lug 2"), tuple(self._lug_sizes())),
            DesignVariable("pin diameter", ("pin: ",), tuple(self._pin_sizes())),
            DesignVariable("bolts", ("bolts: ",), tuple(self._bolt_sizes())),
            DesignVariable(
                "plate thickness",
                ("plate: ",),
                tuple(self._thickness_sizes("plate", self.plate.thickness, STOCK_PLATE)),
            ),
            DesignVariable(
                "backing plate", ("under the washer", "drawn through"), tuple(self._backing_sizes())
            ),
            DesignVariable(
                "laminate under the bolts",
                ("laminate in bearing", "laminate torn out", "drawn through"),
                tuple(self._laminate_sizes()),
            ),
            *self._eye_variables(),
        )

    def _eye_variables(self) -> Iterator[DesignVariable[Joint]]:
        """The beam's eyes, and how they are fixed."""
        thicker = [
            (f"{1000 * size:g} mm", self._with(eye=self.eye.model_copy(update={"thickness": size})))
            for size in larger(STOCK_PLATE, self.eye.thickness)
        ]
        yield DesignVariable(
            "eye thickness", (f"{PART}, eye",), tuple((w, j) for w, j in thicker if j is not None)
        )
        for variable in design_variables(self.eye.fixing, PART):
            made = [
                (words, self._with(eye=self.eye.model_copy(update={"fixing": one})))
                for words, one in variable.sizes
            ]
            sizes = tuple((words, joint) for words, joint in made if joint is not None)
            yield DesignVariable(variable.name, variable.improves, sizes)

    def _with(self, **tables: Table) -> LugJoint | None:
        """The same with other tables; None where they do not fit together."""
        changed = self.model_copy(update=tables)
        try:
            _ = changed.fitting
        except InputFault:
            return None
        return changed

    def _thickness_sizes(self, key: str, now: float, stock: tuple[float, ...]) -> list[tuple[str, Joint]]:
        table = getattr(self, key)
        made = [
            (size, self._with(**{key: table.model_copy(update={"thickness": size})}))
            for size in larger(stock, now)
        ]
        return [(f"{1000 * size:g} mm", joint) for size, joint in made if joint is not None]

    def _lug_sizes(self) -> list[tuple[str, Joint]]:
        """With the same room between them, and welds that grow with them where there are any."""
        found: list[tuple[str, Joint]] = []
        for size in larger(STOCK_PLATE, self.lugs.thickness):
            ratio = size / self.lugs.thickness
            update = {"thickness": size}
            if self.lugs.spacing is not None:
                update["spacing"] = self.lugs.spacing + size - self.lugs.thickness
            if self.lugs.weld is not None:
                update["weld"] = min(
                    (w for w in STOCK_WELD if w >= self.lugs.weld * ratio - ABS_TOL_SIZE),
                    default=STOCK_WELD[-1],
                )
            joint = self._with(lugs=self.lugs.model_copy(update=update))
            if joint is not None:
                weld = f", welds of {1000 * update['weld']:g} mm" if "weld" in update else ""
                found.append((f"{1000 * size:g} mm{weld}", joint))
        return found

    def _pin_sizes(self) -> list[tuple[str, Joint]]:
        """With the lug's hole, and its width and end beyond the hole, in proportion; the eyes' too where they are described."""
        found: list[tuple[str, Joint]] = []
        for size in larger(STOCK_PIN, self.pin.diameter):
            ratio = size / self.pin.diameter
            grown = {key: getattr(self.lugs, key) * ratio for key in ("width", "end")}
            if self.lugs.hole is not None:
                grown["hole"] = self.lugs.hole + size - self.pin.diameter
            shape = {key: getattr(self.eye, key) for key in ("width", "end")}
            joint = self._with(
                pin=self.pin.model_copy(update={"diameter": size}),
                lugs=self.lugs.model_copy(update=grown),
                eye=self.eye.model_copy(
                    update={k: v and v * ratio for k, v in shape.items()}
                    | {"hole": self.eye.hole and self.eye.hole + size - self.pin.diameter}
                ),
            )
            if joint is not None:
                found.append((f"{1000 * size:g} mm, lugs {1000 * grown['width']:.0f} mm wide", joint))
        return found

    def _bolt_sizes(self) -> list[tuple[str, Joint]]:
        """Larger, then more rows; plate, washers and pitch grow as they need."""
        found: list[tuple[str, Joint]] = []
        sizes = [s for s in STOCK_BOLT if s >= self.bolts.size]
        for rows in range(self.bolts.rows, self.bolts.rows + 4):
            for size in sizes if rows == self.bolts.rows else sizes[:3]:
                if (rows, size) == (self.bolts.rows, self.bolts.size):
                    continue
                joint = self._with_bolts(rows, size)
                if joint is not None:
                    found.append((joint.bolts.words, joint))
        return found

    def _with_bolts(self, rows: int, size: int) -> LugJoint | None:
        old, ratio = self.bolts, size / self.bolts.size
        pitch = max(old.pitch_upright, 3 * size / 1000)
        update = {"rows": rows, "size": size, "washer": old.washer * ratio, "pitch_upright": pitch}
        taller = (rows - 1) * pitch - (old.rows - 1) * old.pitch_upright
        plate = self.plate.model_copy(update={"upright": self.plate.upright + max(taller, 0.0)})
        return self._with(bolts=old.model_copy(update=update), plate=plate)

    def _backing_sizes(self) -> list[tuple[str, Joint]]:
        now = self.backing.thickness if self.backing else 0.0
        metal = self.backing.metal if self.backing else "al6082_t6"
        made = [
            (s, self._with(backing=BackingTable(metal=metal, thickness=s)))
            for s in larger(STOCK_BACKING, now)
        ]
        return [(f"{1000 * size:g} mm", joint) for size, joint in made if joint is not None]

    def _laminate_sizes(self) -> list[tuple[str, Joint]]:
        """Solid laminate added behind, in quarters of what there is."""
        found: list[tuple[str, Joint]] = []
        for quarters in range(1, 9):
            depth = self.hull.depth * (1 + quarters / 4)
            given = {
                "thickness": depth,
                "modulus": self.hull.in_plane_modulus,
                "through_modulus": self.hull.through_thickness_modulus,
            }
            joint = self._with(hull=self.hull.model_copy(update=given))
            if joint is not None:
                found.append((f"{1000 * depth:.3g} mm", joint))
        return found
