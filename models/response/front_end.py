"""A boat and one of its joints become a frame with named places.

Each bow is a chain of beams along its elastic axis, root to stem. The crossbeam runs from starboard to port, so its own x is the
boat's y, its z the boat's z (where level) and its y points aft. It begins and ends at the hulls' inboard sides: a rigid arm from
the hull's axis to the joint, the joint's six springs, then the beam.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise
from types import MappingProxyType

import numpy as np

from femcore.base.arrays import FloatArray
from femcore.frame.builder import RIGID, End, FrameBuilder, Stiffness, with_ends
from femcore.frame.frame import Frame, Loads
from femcore.solvers.prepared_frame import PreparedFrame
from femcore.solvers.solution import Solution, solve
from models.boat.boat import Boat, Station
from models.joints import JointStiffness
from models.joints.base import SIDE_NAMES
from models.response.calibrated_frame import with_factors
from models.response.platform_frame import (
    add_platform,
    aft_end,
    beam_stiffness,
    hull_node,
    middle_node,
    platform_response,
)

SIDES = SIDE_NAMES
CENTRE = "beam centre"
STRIKER_TOP = "striker top"
LONGERON_ROOT = "longeron root"
CROSSBEAM, STRIKER, LONGERON, PROD = "crossbeam", "striker", "longeron", "prod"
MARTINGALE = "martingale"
MARTINGALE_STAYS = tuple(f"{side} martingale" for side in SIDES)
STRUT_ELEMENTS = 4
"""So that it buckles at the right load."""
VERTICAL = (0.0, 0.0, 1.0)
FORWARD = (1.0, 0.0, 0.0)
ABS_TOL_SAME_STOP = 1e-3
"""m: stops along a bow nearer to one another than this are one node, since no hull is drawn or built closer, and a bay between
them would only cost digits. The crossbeam and both ends of the bow stay where they are; stiffness keeps its own stations."""
REL_TOL_DIVISION = 1e-9
"""Of an element's length: a bay longer than whole elements by no more than this gets no further element."""
BENDING_RELEASE = (RIGID, RIGID, RIGID, RIGID, 0.0, 0.0)
"""Beam end that passes force and torque, and no bending."""


@dataclass(frozen=True, slots=True)
class LoadPoint:
    """A named place where load can act: a node and a rigid arm from it, m, boat axes."""

    node: str
    arm: tuple[float, float, float] = (0.0, 0.0, 0.0)


@dataclass(frozen=True, eq=False)
class FrontEnd:
    """The front end of a boat, joined in one way.

    boat, joint : what it was built from
    frame       : its arrays; boat axes are the global ones
    places      : named places for loads and readings
    factorised  : this very frame ready to be solved, where it is so already
    """

    boat: Boat
    joint: JointStiffness | None
    frame: Frame
    places: Mapping[str, LoadPoint]
    factorised: PreparedFrame | None = None

    @cached_property
    def prepared(self) -> PreparedFrame:
        """The frame ready to be solved; Mechanism where a beam is loose in itself."""
        known = self.factorised
        return PreparedFrame.of(self.frame) if known is None or known.frame is not self.frame else known

    def with_factors_of(self, other: FrontEnd) -> FrontEnd:
        """The same with the factors of another one whose frame is the same; as it is where that has another frame."""
        if not self.frame.is_same(other.frame):
            return self
        return replace(self, frame=other.frame, factorised=other.prepared)

    @cached_property
    def under_pretension(self) -> Solution:
        """What pretension does as drawn, before any load, in one case; StructureFaults as of `solve`."""
        return solve(self.prepared, Loads.zeros(self.frame, "pretension alone"))

    @property
    def joint_elements(self) -> dict[int, int]:
        """The crossbeam's elements at its joints, and which of their ends is there: port, then starboard."""
        run = self.frame.members[CROSSBEAM]
        return {run.last - 1: 1, run.first: 0}

    def with_joint(self, joint: JointStiffness) -> Frame:
        """The same frame with other springs in the joints."""
        sides = enumerate(self.joint_elements.items())
        return with_ends(
            self.frame, {place: joint.end(self.frame.offsets[place], side) for side, place in sides}
        )

    @property
    def root_members(self) -> dict[str, str]:
        """The roots, where the front end is held or cut from the platform, and the member that begins there."""
        bows = {f"{side} root": f"{side} bow" for side in SIDES}
        return bows | ({LONGERON_ROOT: LONGERON} if LONGERON in self.frame.members else {})

    def root_position(self, root: str) -> FloatArray:
        """(3,), m: where the member of a root begins."""
        first = self.frame.members[self.root_members[root]].first
        return np.asarray(self.frame.nodes[self.frame.ends[first, 0]] + self.frame.offsets[first, 0])

    def position(self, place: str) -> FloatArray:
        """(3,), m: where a place is."""
        at = self.places[place]
        return np.asarray(self.frame.nodes[self.frame.node_index[at.node]] + at.arm)

    def joint_position(self, side: int) -> FloatArray:
        """(3,), m: the joint at the hull's inboard side, 0 port, 1 starboard."""
        return self.position(f"{SIDES[side]} joint")


def build(boat: Boat, joint: JointStiffness | None, refine: int = 1) -> FrontEnd:
    """The front end with all divisions times `refine`; `joint` None: the bows alone, without crossbeam."""
    builder = FrameBuilder()
    places: dict[str, LoadPoint] = {}
    for side, name in enumerate(SIDES):
        _add_bow(builder, places, boat, side, name, refine)
    response = platform_response(boat)
    if boat.platform is not None and response is not None:
        divide = max(1, round(boat.bows.divide * -boat.platform.aft / boat.bows.length))
        add_platform(builder, boat.bows, boat.platform, response.twist_centre, divide, refine)
        for name in SIDES:
            places[aft_end(name)] = LoadPoint(hull_node(name, boat.platform.aft))
    if joint is not None:
        _add_crossbeam(builder, places, boat, joint, refine)
        _add_truss(builder, places, boat, refine)
        _add_longeron(builder, places, boat, refine)
    frame = with_factors(builder.build(), boat.platform, boat.calibration.factors)
    return FrontEnd(boat, joint, frame, MappingProxyType(places))


def build_with_joints(boat: Boat, joints: Sequence[JointStiffness], refine: int = 1) -> list[FrontEnd]:
    """What `build` gives with each joint, built once: they differ in the springs of the joints alone."""
    first = build(boat, joints[0], refine)
    others = (replace(first, joint=joint, frame=first.with_joint(joint)) for joint in joints[1:])
    return [first, *others]


def _add_bow(
    builder: FrameBuilder, places: dict[str, LoadPoint], boat: Boat, side: int, name: str, refine: int
) -> None:
    """One bow as a beam through its stations and the crossbeam's; its root held where there is no platform."""
    bows, sign = boat.bows, 1 - 2 * side
    stations_x, at_beam = bow_stops([station.at for station in bows.stations], boat.crossbeam.station)
    labels = ["root", *(f"station {x:.9g} m" for x in stations_x[1:-1]), "stem"]
    labels[at_beam] = "hull at beam"
    nodes = [
        builder.node(f"{name} {label}", (x, sign * bows.spacing / 2, bows.height))
        for x, label in zip(stations_x, labels, strict=True)
    ]
    places[f"{name} stem"] = LoadPoint(nodes[-1])
    places[f"{name} hull at beam"] = LoadPoint(f"{name} hull at beam")
    places[f"{name} hull at bulkhead"] = LoadPoint(nodes[0])
    divisions = _elements_per_bay(stations_x, bows.divide * refine)
    midpoints = np.concatenate(
        [
            a + (b - a) * (np.arange(n) + 0.5) / n
            for (a, b), n in zip(pairwise(stations_x), divisions, strict=True)
        ]
    )
    builder.beam(f"{name} bow", nodes, _interpolated_stiffness(bows.stations, midpoints), VERTICAL, divisions)
    if boat.platform is None:
        springs = np.array(boat.root.springs)
        builder.support(nodes[0], np.flatnonzero(np.isinf(springs)).tolist())
        if np.isfinite(springs).any():
            builder.spring(nodes[0], None, np.where(np.isfinite(springs), springs, 0.0))


def bow_stops(stations: list[float], beam: float) -> tuple[list[float], int]:
    """Where a bow has nodes, m from the root, apart by `ABS_TOL_SAME_STOP` at least, and which of them is the crossbeam's.

    stations : from 0 to the stem;   beam : the crossbeam's, further than that distance from the root
    """
    length = stations[-1]
    beam = length if length - beam < ABS_TOL_SAME_STOP else beam
    stops = sorted({0.0, beam, length})
    for x in stations:
        if min(abs(x - stop) for stop in stops) >= ABS_TOL_SAME_STOP:
            stops = sorted([*stops, x])
    return stops, stops.index(beam)


def _elements_per_bay(stations_x: list[float], most: int) -> list[int]:
    """Elements in each bay, one at least, so that none is longer than the bow over `most`."""
    longest = (stations_x[-1] - stations_x[0]) / most
    return [max(1, int(np.ceil((b - a) / longest - REL_TOL_DIVISION))) for a, b in pairwise(stations_x)]


def _interpolated_stiffness(stations: list[Station], x: FloatArray) -> Stiffness:
    """The bows' stiffness at `x`, linear between stations, as one value for each element."""
    at = [station.at for station in stations]

    def interpolate(key: str) -> FloatArray:
        values = [RIGID if (v := getattr(station, key)) is None else v for station in stations]
        return np.interp(x, at, values) if np.isfinite(values).all() else np.full(len(x), RIGID)

    return Stiffness(
        EA=interpolate("EA"), EIy=interpolate("EI_vertical"), EIz=interpolate("EI_lateral"), GJ=interpolate("GJ"),
        GAy=interpolate("GA_lateral"), GAz=interpolate("GA_vertical"), mass=interpolate("mass"),
        inertia=(interpolate("mass") * interpolate("gyration") ** 2, 0.0, 0.0), expansion=interpolate("expansion"),
    )  # fmt: skip


def _add_crossbeam(
    builder: FrameBuilder, places: dict[str, LoadPoint], boat: Boat, joint: JointStiffness, refine: int
) -> None:
    beam, bows = boat.crossbeam, boat.bows
    half = bows.spacing / 2 - bows.inboard
    centre = builder.node(CENTRE, (beam.station, 0.0, beam.height))
    path = [f"{SIDES[1]} hull at beam", centre, f"{SIDES[0]} hull at beam"]
    if boat.martingale:
        for side, name in enumerate(SIDES):
            y = (1 - 2 * side) * boat.martingale.half_span
            martingale_node = builder.node(f"{name} martingale end", (beam.station, y, beam.height))
            path.insert(1 if side else len(path) - 1, martingale_node)
    ends = []
    for side, name in enumerate(SIDES):
        hull = f"{name} hull at beam"
        arm = np.array([beam.station, (1 - 2 * side) * half, beam.height]) - builder.position(hull)
        ends.append(joint.end(arm, side))
        places[f"{name} joint"] = LoadPoint(hull, (float(arm[0]), float(arm[1]), float(arm[2])))
    port, starboard = ends
    builder.beam(
        CROSSBEAM, path, beam_stiffness(beam), VERTICAL, beam.divide * refine, start=starboard, end=port
    )
    places[CENTRE] = LoadPoint(centre)
    places["stay"] = LoadPoint(centre, (boat.stay.forward, 0.0, boat.stay.up))


def _add_truss(builder: FrameBuilder, places: dict[str, LoadPoint], boat: Boat, refine: int) -> None:
    """Striker and martingale: one strut, and a strap over it or two stays to it."""
    striker, martingale = boat.striker, boat.martingale
    if striker is None:
        return
    base_position = builder.position(CENTRE)
    base = np.copysign(striker.base, striker.height)
    top = builder.node(STRIKER_TOP, base_position + np.array([0.0, 0.0, striker.height]))
    strut = Stiffness(
        EA=striker.EA, EIy=striker.EI, EIz=striker.EI, GJ=striker.EI, mass=striker.mass, expansion=striker.expansion,
    )  # fmt: skip
    builder.beam(
        STRIKER, [CENTRE, top], strut, FORWARD, STRUT_ELEMENTS * refine, start=End((0.0, 0.0, float(base)))
    )
    places[STRIKER_TOP] = LoadPoint(top)
    if martingale is None:
        return
    port, starboard = (f"{name} martingale end" for name in SIDES)
    tang, none = [0.0, 0.0, martingale.height], [0.0, 0.0, 0.0]
    given = martingale.EA, martingale.pretension, martingale.expansion
    if martingale.at_striker == "slips":
        builder.cable(MARTINGALE, [port, top, starboard], *given, arms=[tang, none, tang])
        return
    for name, end in zip(MARTINGALE_STAYS, (port, starboard), strict=True):
        builder.cable(name, [end, top], *given, arms=[tang, none])


def _add_longeron(builder: FrameBuilder, places: dict[str, LoadPoint], boat: Boat, refine: int) -> None:
    """The longeron from the root bulkhead to the crossbeam, and ahead of it as a prod."""
    longeron = boat.longeron
    if longeron is None:
        return
    root, arm = LONGERON_ROOT, 0.0
    if boat.platform is None:
        builder.node(root, (0.0, 0.0, longeron.height_at_root))
        builder.support(root, range(6))
    else:
        # amidships on the bulkhead, which may bend; a rigid arm makes up the difference of heights
        member = boat.platform.members_at_bulkhead[0]
        root, arm = middle_node(member.name), longeron.height_at_root - member.height
        # deck and stringers back a bulkhead where a longeron ends (common practice): it turns there in pitch as the hulls do on
        # average, which the support holds at zero, so that this is a tie to the hulls and not to the ground
        builder.support(root, ["ry"])
    at_root = End((0.0, 0.0, arm), BENDING_RELEASE if longeron.at_root == "pinned" else (RIGID,) * 6)
    at_beam = End(springs=BENDING_RELEASE if longeron.at_crossbeam == "pinned" else (RIGID,) * 6)
    count, stiffness = longeron.divide * refine, beam_stiffness(longeron)
    builder.beam(LONGERON, [root, CENTRE], stiffness, VERTICAL, count, at_root, at_beam)
    if longeron.prod:
        # the prod goes on in the longeron's line through the crossbeam, and is one piece with it
        interpolate = builder.position(CENTRE) - np.array([0.0, 0.0, longeron.height_at_root])
        tip = builder.node(
            "prod tip", builder.position(CENTRE) + interpolate / np.linalg.norm(interpolate) * longeron.prod
        )
        builder.beam(PROD, [CENTRE, tip], stiffness, VERTICAL, max(1, count // 2))
        places["prod tip"] = LoadPoint(tip)
