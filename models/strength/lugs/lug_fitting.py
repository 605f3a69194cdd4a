"""A bolted plate with lugs and a pin on the side of a hull: its stiffness, the load on each part, and each part's resistance.

Axes of the boat's port side at the joint's point, on the hull's inboard side: x forward, y to port (into the hull), z up. The
plate's own: 1 = x, 2 = z, 3 = −y (off the hull). The lugs are square to it; the pin is parallel to it.
Loads (cases, 6) are what the beam puts on the hull, at the joint's point. The parts are in series:

- pin and lugs, free about the pin, at the plate's thickness and the lugs' length from the hull (`lug_pair`), the pin bent
  between lugs and eyes in series with the lugs (`pin_bending`);
- plate and bolts: in the plane every bolt is a spring (Huth); out of it a bolt is its shank on the bed under its washer
  (`bolts.axial_stiffness`), in series with its half of the plate as a T-stub, 0.9 E ℓ t³/m³ for a pair of bolts (EN 1993-1-8
  Table 6.11, end-plate in bending, from memory), m from the lug's root to the bolt. Springs push as they pull: the plate is
  held by its bolts alone and does not pivot about its edge, which gives the bolts the larger pull;
- the hull's side around the plate: a disc of the plate's area in a skin (`disc`), or rigid where none is given.

The plate is rigid in its own plane, and so are the beam's end between the lugs and the hull's frames.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

import numpy as np

from femcore.base.arrays import FloatArray
from femcore.base.errors import InputFault
from femcore.laminates import Laminate
from femcore.materials import Metal
from models.strength.bolts.bolt_group import (
    BoltForces,
    BoltGroup,
    axial_stiffness,
    huth_stiffness,
    shear_forces,
    tension_about_centroid,
)
from models.strength.bolts.bolt_strength import Bolt
from models.strength.bolts.bolted_base_plate import BoltedPlate, bolted_plate_checks
from models.strength.bolts.bolted_plate import LaminateHole, bolted_laminate_checks
from models.strength.bonding.ring_checks import skin_check
from models.strength.lugs.beam_end import BeamEnd, beam_end_checks, end_weld_stresses
from models.strength.lugs.lug import lug_checks, root_loads
from models.strength.lugs.lug_pair import LugPair, lug_loads, pair_stiffness, tip_stiffness
from models.strength.lugs.pin import Pin, pin_checks
from models.strength.lugs.pin_bending import PinBending
from models.strength.lugs.play import Play, PlayState
from models.strength.margins import Check, SafetyFactors, not_checked
from models.strength.plates import disc
from models.strength.plates.wall_bending import equivalent_disc_radius
from models.strength.springs import (
    loads_in_axes,
    series_matrices,
    stiffness_in_axes,
    transferred_loads,
    transferred_stiffness,
)
from models.strength.welds.weld import FilletPair, weld_checks
from models.strength.welds.weld_fatigue import WeldStresses, weld_stresses

PLATE_AXES = np.array([[1.0, 0.0, 0.0], [0.0, 0.0, 1.0], [0.0, -1.0, 0.0]])
INBOARD = np.array([0.0, -1.0, 0.0])
ABS_TOL_PARALLEL = 1e-6
"""Of a unit vector along the pin: a transverse component up to this counts as parallel to the hull's side."""
REL_TOL_FREE_TIP = 1e-14
"""Of a lug's greatest stiffness: an eigenvalue up to this counts as zero, a movement that the pin leaves free."""


@dataclass(frozen=True)
class Backing:
    """A plate behind the laminate: `thickness` m, proof stress Pa, E Pa.

    tributary_width : m, what of it may belong to one bolt
    """

    thickness: float
    metal: Metal
    tributary_width: float


@dataclass(frozen=True)
class HullSideData:
    """The hull's side: its laminate at a bolt, moduli in its plane and through it, Pa, and how far it is held.

    skin, laminate, far : as a plate around the fitting, its lay-up, m to the frames; None: rigid, not known
    """

    hole: LaminateHole
    modulus: float
    through_modulus: float
    backing: Backing | None = None
    skin: disc.IsotropicPlate | None = None
    laminate: Laminate | None = None
    support_radius: float | None = None


@dataclass(frozen=True, eq=False)
class LugFitting:
    """The whole fitting.

    pin_axis : (3,), unit, along the pin, in boat axes on the port side;   pair, pin, eye : lugs, pin, metal of the beam's eye
    weld     : at each lug's foot, None: made in one piece with the plate
    plate    : its metal, `thickness` and `size` (along x, along z), m
    bolt, group, washer : bolts at `group.positions` along x and z from the joint's point; washer's diameter, m
    end      : the beam's eye and how it is fixed, as far as that is described
    bending  : of the pin between lugs and eyes, None: rigid;   play : of the pin in its holes, None: not known
    """

    pin_axis: FloatArray
    pair: LugPair
    pin: Pin
    eye: Metal
    weld: FilletPair | None
    plate: Metal
    thickness: float
    size: tuple[float, float]
    bolt: Bolt
    group: BoltGroup
    washer: float
    side: HullSideData
    end: BeamEnd = field(default_factory=BeamEnd)
    bending: PinBending | None = None
    play: Play | None = None

    def __post_init__(self) -> None:
        if abs(self.pin_axis[1]) > ABS_TOL_PARALLEL:
            cure = 'give an axis in the side\'s plane, such as [1, 0, 0] or [0, 0, 1]; a transverse pin is a "pinned" joint'
            raise InputFault("pin", "is not parallel to the hull's side: no lug on it can carry it", cure)
        if (self.clear_distance <= self.bolt.diameter / 2).any():
            raise InputFault("bolts", "a bolt is under a lug", "set bolts clear of the lugs")
        _ = self.held

    @property
    def lug_axes(self) -> FloatArray:
        """(3, 3), rows: along the pin, out of the hull, across."""
        return np.array([self.pin_axis, INBOARD, np.cross(self.pin_axis, INBOARD)])

    @property
    def arm(self) -> FloatArray:
        """(3,), m, from the joint's point to the middle of the pin."""
        return INBOARD * (self.thickness + self.pair.lug.length)

    @property
    def clear_distance(self) -> FloatArray:
        """(bolts,), m, from each bolt to the nearest lug's root, a weld's leg taken off."""
        along = self.pin_axis[[0, 2]]
        u, v = self.group.positions @ along, self.group.positions @ np.array([-along[1], along[0]])
        lug, leg = self.pair.lug, 0.8 * math.sqrt(2) * self.weld.throat if self.weld else 0.0
        beside = np.abs(u[:, None] - np.array(self.pair.places)) - lug.thickness / 2
        beyond = np.abs(v)[:, None] - lug.width / 2
        gap = np.hypot(np.maximum(beside, 0.0), np.maximum(beyond, 0.0)).min(axis=1)
        return np.asarray(gap - leg)

    @property
    def held(self) -> BoltedPlate:
        """The plate on its bolts."""
        return BoltedPlate(
            self.plate, self.thickness, self.size, self.bolt, self.group, self.washer, self.clear_distance
        )


def plate_bending_stiffness(fitting: LugFitting) -> FloatArray:
    """(bolts,), N/m, of the plate at each bolt out of its plane: half of 0.9 E ℓ t³/m³."""
    bent = 0.9 * fitting.plate.E * fitting.held.length * fitting.thickness**3 / fitting.clear_distance**3
    return np.asarray(bent / 2)


def bolt_stiffnesses(fitting: LugFitting) -> tuple[float, float]:
    """N/m, of one bolt in shear and in pull, the laminate's bed in it."""
    bolt, side, t = fitting.bolt, fitting.side, fitting.thickness
    E, depth = bolt.grade.E, side.hole.thickness
    backing = side.backing.thickness if side.backing else 0.0
    across = fitting.washer + 2 * backing
    washer_area = math.pi / 4 * (across**2 - bolt.diameter**2)
    shear = huth_stiffness(bolt.diameter, ((t, fitting.plate.E), (depth, side.modulus)), E)
    grip = t + depth + backing
    return shear, axial_stiffness(bolt.stress_area, E, grip, washer_area, depth, side.through_modulus)


def part_stiffness(fitting: LugFitting) -> Mapping[str, FloatArray]:
    """Part → (6, 6) at the joint's point, boat axes, in series; a rigid hull side is left out."""
    arm = fitting.arm
    found = {
        "pin and lugs": transferred_stiffness(
            stiffness_in_axes(_pinned_pair_stiffness(fitting), fitting.lug_axes), arm
        ),
        "plate and bolts": stiffness_in_axes(_plate_and_bolt_stiffness(fitting), PLATE_AXES),
    }
    if fitting.side.skin is not None and fitting.side.support_radius is not None:
        r, R, skin = equivalent_disc_radius(fitting.size), fitting.side.support_radius, fitting.side.skin
        plane, tilt = disc.in_plane_stiffness(skin, r, R), disc.tilt_stiffness(skin, r, R)
        found["hull's side"] = np.diag(
            [
                plane,
                disc.transverse_stiffness(skin, r, R),
                plane,
                tilt,
                disc.torsional_stiffness(skin, r, R),
                tilt,
            ]
        )
    return MappingProxyType(found)


def fitting_stiffness(fitting: LugFitting) -> FloatArray:
    """(6, 6), N/m, N and N·m/rad, at the joint's point, boat axes; nothing about the pin's own line."""
    return series_matrices(*part_stiffness(fitting).values())


def energy_by_part(fitting: LugFitting, loads: FloatArray) -> Mapping[str, FloatArray]:
    """Part → (cases,), J, ½ of load times movement of each part; together the work of loads (cases, 6) on the fitting.

    Taken from what each lug, bolt and piece of plate carries, not from the part's own stiffness.
    """
    held = without_pin_moment(fitting, loads)
    forces, (shear, pull) = bolt_loads(fitting, held), bolt_stiffnesses(fitting)
    tips = np.linalg.pinv(tip_stiffness(fitting.pair), hermitian=True, rcond=REL_TOL_FREE_TIP)
    each = _lug_loads(fitting, held)
    bent = np.zeros(len(held))
    if fitting.bending is not None:
        bent = (_loads_in_lug_axes(fitting, held) ** 2 @ np.diag(fitting.bending.flexibility)) / 2
    found = {
        "pin and lugs": np.einsum("cli,ij,clj->c", each, tips, each) / 2 + bent,
        "plate": (forces.tension**2 / plate_bending_stiffness(fitting)).sum(axis=1) / 2,
        "bolts": (forces.shear_magnitude**2).sum(axis=1) / (2 * shear)
        + (forces.tension**2).sum(axis=1) / (2 * pull),
    }
    side = part_stiffness(fitting).get("hull's side")
    if side is not None:
        found["hull's side"] = (held**2 / np.diag(side)).sum(axis=1) / 2
    return MappingProxyType(found)


def bolt_loads(fitting: LugFitting, loads: FloatArray) -> BoltForces:
    """What each bolt carries of loads (cases, 6) at the joint's point, by stiffness; prying not in it."""
    on_plate, group = loads_in_axes(loads, PLATE_AXES), fitting.group
    return BoltForces(
        shear_forces(group, on_plate), tension_about_centroid(_tension_group(fitting), on_plate)
    )


def fitting_checks(fitting: LugFitting, loads: FloatArray, factors: SafetyFactors) -> tuple[Check, ...]:
    """All checks of all parts under loads (cases, 6), port side, boat axes, at the joint's point.

    A moment about the pin is left out: nothing resists it there, and what a deformed shape shows of it is the pin's own tilt.
    """
    held = without_pin_moment(fitting, np.asarray(loads, dtype=float))
    return (
        *_lug_checks(fitting, held, factors),
        *_bolt_checks(fitting, held, factors),
        *_side_checks(fitting, held, factors),
        *beam_end_checks(fitting.end, fitting.pin_axis, -_loads_at_pin(fitting, held), factors),
    )


def _lug_checks(fitting: LugFitting, loads: FloatArray, factors: SafetyFactors) -> list[Check]:
    each, lug, pair = _lug_loads(fitting, loads), fitting.pair.lug, fitting.pair
    plates = (fitting.eye, lug.metal)
    _, along, across, *_ = np.moveaxis(each, -1, 0)
    force = np.hypot(along, across).max(axis=1)
    # a pair holds the eye between its lugs; the worse lug is taken for both
    force, plates = (2 * force, plates) if len(pair.places) > 1 else (force, plates[::-1])
    found = list(pin_checks("pin", fitting.pin, force, factors, plates))
    for number in range(len(pair.places)):
        name = f"lug {number + 1}"
        found += lug_checks(name, lug, each[:, number], factors)
        if fitting.weld is not None:
            found += weld_checks(f"{name}, weld", fitting.weld, root_loads(lug, each[:, number]), factors)
    return found


def _bolt_checks(fitting: LugFitting, loads: FloatArray, factors: SafetyFactors) -> list[Check]:
    forces = bolt_loads(fitting, loads)
    return bolted_plate_checks(
        ("bolts", "plate"), "plate bent between lug and bolt", fitting.held, forces, factors
    )


def _side_checks(fitting: LugFitting, loads: FloatArray, factors: SafetyFactors) -> list[Check]:
    side, forces = fitting.side, bolt_loads(fitting, loads)
    backing = (
        None
        if side.backing is None
        else (side.backing.thickness, side.backing.metal.proof, side.backing.tributary_width)
    )
    found = list(
        bolted_laminate_checks(
            "hull's side", side.hole, fitting.bolt.diameter, fitting.washer, forces, factors, backing
        )
    )
    name = "skin around the plate, first ply"
    if side.support_radius is None:
        found.append(
            not_checked("hull's side", name, len(loads), "its lay-up and what holds it are not given")
        )
    else:
        radii = (equivalent_disc_radius(fitting.size), side.support_radius)
        found.append(skin_check("hull's side", name, side.laminate, radii, loads, factors))
    return found


def without_pin_moment(fitting: LugFitting, loads: FloatArray) -> FloatArray:
    """(cases, 6), the loads without their moment about the pin's line."""
    at_pin = _loads_at_pin(fitting, loads)
    at_pin[:, 3:] -= (at_pin[:, 3:] @ fitting.pin_axis)[:, None] * fitting.pin_axis
    return transferred_loads(at_pin, fitting.arm)


def fitting_weld_stresses(fitting: LugFitting, loads: FloatArray) -> tuple[WeldStresses, ...]:
    """Nominal stresses of the welds at the lugs' roots, and around the beam's eyes where these are welded on, under loads
    (cases, 6) at the joint's point; none without welds.
    """
    held = without_pin_moment(fitting, np.asarray(loads, dtype=float))
    return (
        *_lug_weld_stresses(fitting, held),
        *end_weld_stresses(fitting.end, -_loads_at_pin(fitting, held)),
    )


def _lug_weld_stresses(fitting: LugFitting, held: FloatArray) -> tuple[WeldStresses, ...]:
    weld, lug = fitting.weld, fitting.pair.lug
    if weld is None:
        return ()
    each = _lug_loads(fitting, held)
    return tuple(
        weld_stresses(f"lug {number + 1}, weld", weld, root_loads(lug, each[:, number]))
        for number in range(len(fitting.pair.places))
    )


def play_state(fitting: LugFitting, loads: FloatArray) -> PlayState | None:
    """Whether the pin's play is closed under loads (cases, 6) at the joint's point, boat axes; None where there is none."""
    return None if fitting.play is None else fitting.play.state(_loads_in_lug_axes(fitting, loads))


def _pinned_pair_stiffness(fitting: LugFitting) -> FloatArray:
    """(6, 6), in the axes of a lug: lugs and bent pin in series, K (1 + C K)⁻¹, also where K leaves something free."""
    K = pair_stiffness(fitting.pair)
    if fitting.bending is None:
        return K
    whole = K @ np.linalg.inv(np.eye(6) + fitting.bending.flexibility @ K)
    return np.asarray((whole + whole.T) / 2)


def _lug_loads(fitting: LugFitting, loads: FloatArray) -> FloatArray:
    return lug_loads(fitting.pair, _loads_in_lug_axes(fitting, loads))


def _loads_in_lug_axes(fitting: LugFitting, loads: FloatArray) -> FloatArray:
    """(cases, 6), at the pin's middle, in the axes of a lug, without what turns it about its own line."""
    at_pin = loads_in_axes(_loads_at_pin(fitting, loads), fitting.lug_axes)
    at_pin[:, 3] = 0.0
    return at_pin


def _loads_at_pin(fitting: LugFitting, loads: FloatArray) -> FloatArray:
    """(cases, 6), the loads moved to the middle of the pin, boat axes."""
    return transferred_loads(loads, -fitting.arm)


def _tension_group(fitting: LugFitting) -> BoltGroup:
    """The bolts with their shares of a pull: those near a lug, where the plate is stiffest, have more."""
    pull = bolt_stiffnesses(fitting)[1]
    return BoltGroup(fitting.group.positions, 1 / (1 / pull + 1 / plate_bending_stiffness(fitting)))


def _plate_and_bolt_stiffness(fitting: LugFitting) -> FloatArray:
    shear, group = bolt_stiffnesses(fitting)[0], _tension_group(fitting)
    assert group.areas is not None  # noqa: S101  (given above)
    bolt = np.zeros((len(group.areas), 6, 6))
    bolt[:, 0, 0] = bolt[:, 1, 1] = shear
    bolt[:, 2, 2] = group.areas
    arms = np.concatenate([group.positions, np.zeros((len(bolt), 1))], axis=1)
    return np.asarray(transferred_stiffness(bolt, arms).sum(axis=0))
