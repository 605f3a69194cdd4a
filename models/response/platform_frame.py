"""The platform in the frame, the support of the free boat, and what the platform alone does.

Members run from starboard to port, so that a member's own x is the boat's y and its z the boat's z. The hulls' beams run on aft
of the root from station to station.

Members found for racking are too soft where the hulls roll apart. Where the platform has others for that, a spring in roll
between the hulls at each member makes up the difference; with both hulls rolling alike it is not strained.

A boat at sea is held nowhere. The frame is held statically determinately, so that loads in equilibrium cause no reaction and no
force depends on the support. Loads that are not in equilibrium are balanced where it matters least, or where theory asks for it:

- heave and pitch: by equal vertical forces and equal pitch moments on both hulls at the main bulkhead, where mast and shrouds act
  (two yokes: a transverse bar, free to roll at its middle, that hangs from both hulls);
- surge and yaw: by fore-and-aft forces on the hulls at the main bulkhead;   sway: at the middle of the foremost member;
- roll: by a pair of vertical forces on the hulls at the twist centre x_c, so that opposite forces F at the stems make the
  moment F (x_stem − x_c) that twists the platform.

Movements are those relative to the support: the hulls' mean heave and pitch at the bulkhead are zero, and so is the difference
of their heave at the twist centre.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import pairwise
from typing import Annotated

import numpy as np
from pydantic import Field

from femcore.base.arrays import FloatArray
from femcore.frame.builder import RIGID, End, FrameBuilder, Stiffness
from femcore.frame.frame import Frame, Loads
from femcore.solvers.solution import solve
from models.boat.boat import Boat
from models.boat.bows import Bows
from models.boat.calibration import Calibration
from models.boat.platform import (
    ABS_TOL_SAME_STATION,
    HandFormula,
    HullAftStation,
    Platform,
    hand_formula,
    symmetric_roll_springs,
)
from models.boat.platform_recipe import CENTRE_SCATTER
from models.joints.base import SIDE_NAMES as SIDES
from models.response.calibrated_frame import PLATFORM_PREFIX, member_powers, with_factors
from models.tables.beams import BeamStiffness

VERTICAL = (0.0, 0.0, 1.0)
ELEMENTS_PER_HALF = 2
"""Of a member, which is uniform: so that it buckles at the right load."""
YOKE_STIFFNESS = 1e12
"""N/m, of the springs by which the yokes hold the hulls. No force depends on it; 100 kN move a bow by 10⁻⁷ m."""
MIN_BALANCE_DISTANCE = 0.01
"""m: nearer to a member than this, roll is balanced at the member, so that no element of a hull is too short for its digits."""
BALANCE = "balance"
"""First word of the names of the support's own nodes."""
HULL_AFT_ELEMENTS = 40
"""Of each hull in the frame of the platform alone, so that its twist centre is found within a millimetre."""


def platform_member(name: str) -> str:
    """The name in the frame of a member of the platform."""
    return f"{PLATFORM_PREFIX}{name}"


def beam_stiffness(beam: BeamStiffness) -> Stiffness:
    """A uniform beam whose own z is up: "vertical" bends about its y. Rotary inertia is that of its walls, where known."""
    inertia = beam.thin_walled.inertia if beam.thin_walled and beam.mass else (0.0, 0.0, 0.0)
    return Stiffness(
        EA=beam.EA, EIy=beam.EI_vertical, EIz=beam.EI_lateral, GJ=beam.GJ,
        GAy=beam.GA_lateral or RIGID, GAz=beam.GA_vertical or RIGID, mass=beam.mass,
        inertia=inertia, expansion=beam.expansion,
    )  # fmt: skip


def add_platform(
    builder: FrameBuilder, bows: Bows, platform: Platform, centre: float, divide: int, refine: int = 1
) -> None:
    """Members, hulls aft of the nodes "port root" and "starboard root" (which must be there), and the support.

    centre : m, x of the twist centre, where roll is balanced, or at a member nearer than a centimetre to it
    divide : elements along a hull
    """
    stations = [0.0, *(one.station for one in platform.members)]
    nearest = min(stations, key=lambda x: abs(x - centre))
    centre = nearest if abs(nearest - centre) < MIN_BALANCE_DISTANCE else centre
    stops = _distinct([centre, *stations])
    for side, name in enumerate(SIDES):
        nodes = [f"{name} root"]
        nodes += [
            builder.node(hull_node(name, x), (x, (1 - 2 * side) * bows.spacing / 2, bows.height))
            for x in stops[1:]
        ]
        if len(nodes) > 1:
            cuts = [max(1, int(np.ceil((a - b) / -stops[-1] * divide - 1e-9))) for a, b in pairwise(stops)]
            middles = [
                a + (b - a) * (np.arange(n) + 0.5) / n
                for (a, b), n in zip(pairwise(stops), cuts, strict=True)
            ]
            stiffness = _hull_stiffness(platform.hull_stations(bows), np.concatenate(middles))
            builder.beam(f"{name} hull aft", nodes, stiffness, VERTICAL, cuts)
    in_roll = symmetric_roll_springs(platform, bows)
    for member in platform.members:
        inboard = bows.inboard if member.inboard is None else member.inboard
        middle = builder.node(middle_node(member.name), (member.station, 0.0, member.height))
        ends = []
        for sign in (1.0, -1.0):
            arm = (0.0, -sign * inboard, member.height - bows.height)
            ends.append(End(arm, (RIGID, RIGID, RIGID, RIGID, member.end_spring, RIGID)))
        station = min(stops, key=lambda x: abs(x - member.station))
        path = [hull_node(SIDES[1], station), middle, hull_node(SIDES[0], station)]
        port, starboard = ends
        if member.name in in_roll:
            builder.spring(path[2], path[0], {"rx": in_roll[member.name]})
        builder.beam(
            platform_member(member.name), path, beam_stiffness(member), VERTICAL,
            ELEMENTS_PER_HALF * refine, starboard, port,
        )  # fmt: skip
    _hold(builder, bows, min(stops, key=lambda x: abs(x - centre)), middle_node(platform.foremost.name))


def hull_aft(frame: Frame, side: str) -> list[int]:
    """The nodes of a hull's beam aft of the main bulkhead, from its root."""
    run = frame.members[f"{side} hull aft"].elements
    return [int(frame.ends[run][0, 0]), *frame.ends[run][:, 1].tolist()]


def hull_node(side: str, x: float) -> str:
    """The node of a hull at a station of the platform."""
    return f"{side} root" if x == 0.0 else f"{side} hull at {x:.7g} m"


def aft_end(side: str) -> str:
    """The name of the place on a hull at the platform's last member, where what is aft of it acts."""
    return f"{side} hull at last member"


def middle_node(name: str) -> str:
    """The node amidships of a member of the platform."""
    return f"middle of {name}"


def _distinct(stations: list[float]) -> list[float]:
    """From 0 aft, each once."""
    found: list[float] = []
    for x in sorted(stations, reverse=True):
        if not found or found[-1] - x > ABS_TOL_SAME_STATION:
            found.append(x)
    return found


def _hull_stiffness(stations: Sequence[HullAftStation], x: FloatArray) -> Stiffness:
    """Of the hulls' beams at `x`, linear between stations, constant beyond the last."""
    at = [-station.at for station in stations]

    def along(key: str) -> FloatArray:
        values = [getattr(station, key) or RIGID for station in stations]
        return np.interp(-x, at, values) if np.isfinite(values).all() else np.full(len(x), RIGID)

    return Stiffness(
        EA=along("EA"), EIy=along("EI_vertical"), EIz=along("EI_lateral"), GJ=along("GJ"),
        GAy=along("GA_lateral"), GAz=along("GA_vertical"),
    )  # fmt: skip


def _hold(builder: FrameBuilder, bows: Bows, centre: float, middle: str) -> None:
    """The statically determinate support of the module's head."""
    lever, z = bows.spacing, bows.height
    heave = builder.node(f"{BALANCE} of heave", (0.0, 0.0, z))
    pitch = builder.node(f"{BALANCE} of pitch", (-lever, 0.0, z))
    roll = builder.node(f"{BALANCE} of roll", (centre, 0.0, z))
    hang = {"uz": YOKE_STIFFNESS}
    for side, name in enumerate(SIDES):
        y = (1 - 2 * side) * bows.spacing / 2
        root = f"{name} root"
        # a spring acts at its first node; the second is carried there by a rigid arm
        builder.spring(root, heave, hang)
        end = builder.node(f"{BALANCE} of pitch, {name}", (-lever, y, z))
        builder.spring(end, root, hang)
        builder.spring(end, pitch, hang)
        builder.support(end, ["ux", "uy", "rx", "ry", "rz"])
        builder.spring(hull_node(name, centre), roll, hang)
        builder.support(root, ["ux"])
    for yoke in (heave, pitch):
        builder.support(yoke, ["ux", "uy", "uz", "ry", "rz"])
    builder.support(roll, ["ux", "uy", "rx", "ry", "rz"])
    builder.support(middle, ["uy"])


@dataclass(frozen=True, slots=True, eq=False)
class PlatformResponse:
    """What the platform alone does under unit loads on the hulls at the main bulkhead, and the closed form beside it.

    twist_centre     : m, x_c: where the hulls' vertical difference, each point carried to the centreline by its hull's own roll,
                       is zero when opposite pitch moments twist the platform
    twist_per_moment : rad/(N·m), half the difference of the hulls' pitch at the bulkhead, per moment on each
    antisymmetric_roll, symmetric_roll : N·m/rad per root: both hulls rolled the same way (balanced at the twist centre), and
                       opposite ways;   antisymmetric_yaw, symmetric_yaw : the same in yaw
    twist_range, twist_centre_scatter : rad/(N·m) and m, of a platform as built; None where members are as typed
    symmetric_recipe_roll : N·m/rad, symmetric_roll with the members that the recipe has for symmetric transverse bending in
                       place of those for racking with their springs in roll; None where members are as typed
    hand             : by the closed form
    """

    twist_centre: Annotated[float, Field(description="m, x of it: negative aft of the main bulkhead")]
    twist_per_moment: Annotated[
        float, Field(description="rad/(N·m), half the difference of the hulls' pitch per moment on each")
    ]
    antisymmetric_roll: Annotated[float, Field(description="N·m/rad per root, both hulls rolled alike")]
    symmetric_roll: Annotated[float, Field(description="N·m/rad per root, the hulls rolled apart")]
    antisymmetric_yaw: Annotated[float, Field(description="N·m/rad per root, both hulls yawed alike")]
    symmetric_yaw: Annotated[float, Field(description="N·m/rad per root, the hulls yawed apart")]
    hand: Annotated[HandFormula, Field(serialization_alias="by_hand")]
    twist_range: Annotated[
        tuple[float, float] | None,
        Field(
            description="rad/(N·m), between which shells put twist_per_moment of a platform as built; null: members as typed"
        ),
    ] = None
    twist_centre_scatter: Annotated[float | None, Field(description="m, to either side, likewise")] = None
    symmetric_recipe_roll: Annotated[
        float | None,
        Field(
            description="N·m/rad, symmetric_roll by members for symmetric bending, of a platform as built; null: members as typed"
        ),
    ] = None

    def spring_share(self, station: float) -> float:
        """Of the movement of the hulls at `station`, m ahead of the bulkhead, what a pitch spring there of the same φ shows."""
        return station / (station - self.twist_centre)


def platform_response(boat: Boat) -> PlatformResponse | None:
    """The platform alone, without bows; None for a boat with root springs. StructureFaults as of `solve`."""
    return None if boat.platform is None else response_of(boat.bows, boat.platform, boat.calibration)


def response_of(bows: Bows, platform: Platform, calibration: Calibration | None = None) -> PlatformResponse:
    """What that platform does between those hulls, with the factors of a test where there was one."""
    hulls = platform.hull_stations(bows)
    factors = calibration or Calibration()
    return _response(_Question(platform, hulls, bows.spacing, bows.inboard, bows.height, factors, bows))


@dataclass(frozen=True, slots=True)
class _Question:
    """All that the response of a platform depends on, so that boats which differ elsewhere share one answer."""

    platform: Platform
    hulls: tuple[HullAftStation, ...]
    spacing: float
    inboard: float
    height: float
    calibration: Calibration
    bows: Bows = field(compare=False)


@lru_cache(maxsize=64)
def _response(question: _Question) -> PlatformResponse:
    bows, platform, factors = question.bows, question.platform, question.calibration.factors
    hand = hand_formula(_with_factors_by_hand(platform, bows, question.calibration), bows)
    centre = _twist_centre(bows, platform, hand.twist_centre, factors)
    per_moment = _unit_movements(bows, platform, centre, factors)
    symmetric, scatter = platform.for_symmetric, platform.twist_range
    twist = per_moment["opposite pitch"]
    return PlatformResponse(
        twist_centre=centre,
        twist_per_moment=twist,
        antisymmetric_roll=1 / per_moment["equal roll"],
        symmetric_roll=1 / per_moment["opposite roll"],
        antisymmetric_yaw=1 / per_moment["equal yaw"],
        symmetric_yaw=1 / per_moment["opposite yaw"],
        hand=hand,
        twist_range=scatter and (scatter[0] * twist, scatter[1] * twist),
        twist_centre_scatter=CENTRE_SCATTER if scatter else None,
        symmetric_recipe_roll=1 / _unit_movements(bows, symmetric, centre, factors)["opposite roll"]
        if symmetric
        else None,
    )


UNIT_CASES = {
    "opposite pitch": (4, (1.0, -1.0)),
    "opposite roll": (3, (1.0, -1.0)),
    "opposite yaw": (5, (1.0, -1.0)),
    "equal roll": (3, (1.0, 1.0)),
    "equal yaw": (5, (1.0, 1.0)),
}
"""Unit moments on the hulls at the main bulkhead: the freedom, and the signs to port and to starboard."""


def _with_factors_by_hand(platform: Platform, bows: Bows, calibration: Calibration) -> Platform:
    """Its members and hulls with the factors of a test on what the closed form takes of them."""
    if not calibration.factors:
        return platform
    power = member_powers(platform)
    members = []
    for member in platform.members:
        EI = calibration.platform_EI * calibration.platform_fore_to_aft ** power(member.station)
        new = {"EI_vertical": member.EI_vertical * EI, "GJ": member.GJ * calibration.platform_GJ}
        new |= {key: value * EI for key in ("GA_vertical", "end_roll") if (value := getattr(member, key))}
        members.append(member.model_copy(update=new))
    hulls = tuple(
        station.model_copy(update={"GJ": station.GJ * calibration.hull_GJ})
        for station in platform.hull_stations(bows)
    )
    return Platform(members=tuple(members), hulls=hulls)


def _unit_movements(
    bows: Bows, platform: Platform, centre: float, factors: Mapping[str, float]
) -> dict[str, float]:
    """rad/(N·m), of the roots under each of the unit cases."""
    frame, roots = platform_alone(bows, platform, centre, factors)
    loads = Loads.zeros(frame, *UNIT_CASES)
    for case, (freedom, signs) in enumerate(UNIT_CASES.values()):
        loads.nodal[case, roots, freedom] = signs
    u = solve(frame, loads).displacement[:, roots]
    return {
        name: float(u[case, :, freedom] @ signs / 2)
        for case, (name, (freedom, signs)) in enumerate(UNIT_CASES.items())
    }


def platform_alone(
    bows: Bows, platform: Platform, centre: float, factors: Mapping[str, float]
) -> tuple[Frame, list[int]]:
    """The platform without bows, with the factors of a test, and the nodes of its roots."""
    builder = FrameBuilder()
    roots = [
        builder.node(f"{name} root", (0.0, (1 - 2 * side) * bows.spacing / 2, bows.height))
        for side, name in enumerate(SIDES)
    ]
    add_platform(builder, bows, platform, centre, HULL_AFT_ELEMENTS)
    frame = with_factors(builder.build(), platform, factors)
    return frame, [frame.node_index[name] for name in roots]


def _twist_centre(bows: Bows, platform: Platform, guess: float, factors: Mapping[str, float]) -> float:
    """m, where the twisted hulls' heave carried to the centreline is zero; extrapolated along the nearest element."""
    frame, roots = platform_alone(bows, platform, guess, factors)
    loads = Loads.zeros(frame, "twist")
    loads.nodal[0, roots, 4] = 1.0, -1.0
    u = solve(frame, loads).displacement[0]
    if platform.aft == 0.0:
        return 0.0
    x, apart = [], []
    for side, sign in zip(SIDES, (1.0, -1.0), strict=True):
        chain = hull_aft(frame, side)
        x.append(frame.nodes[chain, 0])
        apart.append(sign * (u[chain, 2] - sign * bows.spacing / 2 * u[chain, 3]))
    along, heave = x[0], (apart[0] + apart[1]) / 2
    crossing = np.flatnonzero(np.diff(np.sign(heave)) != 0)
    at = int(crossing[0]) if len(crossing) else int(np.abs(heave).argmin())
    at = min(at, len(along) - 2)
    slope = (heave[at + 1] - heave[at]) / (along[at + 1] - along[at])
    return float(np.clip(along[at] - heave[at] / slope, platform.aft, 0.0))
