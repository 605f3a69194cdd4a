"""How a boat stands on test, what loads her, and what is read, as loads on the nodes of her front end.

Every gauge is the unit load whose work is its reading, so that one set of vectors serves loads, supports and gauges.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np

from femcore.base.arrays import FloatArray
from femcore.base.toml import unknown
from femcore.base.units import STANDARD_GRAVITY
from femcore.frame.frame import FREEDOMS
from models.joints import DIRECTIONS
from models.response.front_end import SIDES, FrontEnd, LoadPoint
from models.response.platform_frame import hull_node, middle_node

Vector = tuple[float, float, float]
ZERO: Vector = (0.0, 0.0, 0.0)
GaugeKind = Literal["height", "inclination", "turn", "distance", "reaction", "stay tension", "cable tension"]
Axis = Literal["roll", "pitch", "yaw"]
RIGID_MOTIONS = ("heave", "pitch", "roll")
SEA_WATER = 1025.0
"""kg/m³ (common practice)."""
WATER_STRIPS = 200
"""Of a waterline: the roll that they balance is exact, and their centre within a millimetre."""


@dataclass(frozen=True, slots=True)
class Gauge:
    """What is read.

    place : where; a side, "port" or "starboard", of a turn; a support of a reaction; a cable, such as "port martingale"
    axis  : of an inclination or turn
    reference : the place from which a distance is measured, or to which a bar (of a height) or a second inclinometer is
                fixed; None: the ground, or plumb
    """

    name: str
    kind: GaugeKind
    place: str = ""
    axis: Axis = "pitch"
    reference: str | None = None


@dataclass(frozen=True, slots=True)
class LoadPattern:
    """Forces and moments at places, N and N·m, boat axes, that grow together.

    stay : N, pull of the forestay at `rake`, rad, from upright; mast and shrouds put its reverse on the hulls at the bulkhead
    """

    name: str
    placed: tuple[tuple[str, Vector, Vector], ...] = ()
    stay: float = 0.0
    rake: float = 0.0


@dataclass(frozen=True, slots=True)
class Supports:
    """On the hard: places that carry vertical force, and their stiffness, N/m, inf where rigid."""

    places: tuple[str, ...]
    stiffness: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Afloat:
    """In calm water: waterlines from `aft` to `forward`, m, of hulls of `breadth`, m, and waterplane `coefficient`.

    Breadth falls as 1 − |ξ|ⁿ from the middle, n = C/(1 − C), the simplest curve with that coefficient (common practice).
    """

    aft: float
    forward: float
    breadth: float
    coefficient: float

    def strips(self) -> tuple[FloatArray, FloatArray]:
        """x, m, of strips along a waterline, and the stiffness of each, N/m: ρ g times its area."""
        edges = np.linspace(self.aft, self.forward, WATER_STRIPS + 1)
        x = (edges[1:] + edges[:-1]) / 2
        along = np.abs(2 * (x - self.aft) / (self.forward - self.aft) - 1)
        share = np.ones_like(x)
        if self.coefficient < 1:
            share = 1 - along ** (self.coefficient / (1 - self.coefficient))
        return x, SEA_WATER * STANDARD_GRAVITY * self.breadth * share * np.diff(edges)


def places_of(front: FrontEnd) -> dict[str, LoadPoint]:
    """Where a test loads, supports and reads: the front end's places, and hulls and middle at each member of the platform."""
    found = dict(front.places)
    for member in front.boat.platform.members if front.boat.platform else ():
        found[f"middle of {member.name}"] = LoadPoint(middle_node(member.name))
        for side in SIDES:
            found[f"{side} hull at {member.name}"] = LoadPoint(hull_node(side, member.station))
    return found


def position(front: FrontEnd, place: str) -> FloatArray:
    """(3,), m: where a place of a test is. InputFault for one that the boat does not have."""
    at = _place(places_of(front), place)
    return np.asarray(front.frame.nodes[front.frame.node_index[at.node]] + at.arm)


@dataclass(frozen=True, eq=False)
class TestLoads:
    """Unit loads on nodes: of load patterns, of supports (or the water's three shapes), of racking at the stems, and of gauges.

    nodal  : (p, n, 6), in that order;   patterns, supports, racking, gauges : which of them
    rigid  : (p, 3), the work of each on a unit heave, m, pitch and roll, rad
    """

    __test__ = False  # nothing for pytest to collect

    nodal: FloatArray
    patterns: slice
    supports: slice
    racking: slice
    gauges: slice
    rigid: FloatArray

    @classmethod
    def of(
        cls,
        front: FrontEnd,
        standing: Supports | Afloat,
        gauges: tuple[Gauge, ...],
        patterns: tuple[LoadPattern, ...],
    ) -> TestLoads:
        """InputFault for a place that the boat does not have."""
        make = _NodalLoads(front, places_of(front))
        up: Vector = (0.0, 0.0, 1.0)
        groups = (
            [make.pattern(one) for one in patterns],
            [make.at(place, up) for place in standing.places]
            if isinstance(standing, Supports)
            else make.water(standing),
            [make.at("port stem", up) - make.at("starboard stem", up)],
            [make.gauge(one) for one in gauges],
        )
        stops = np.cumsum([0, *(len(group) for group in groups)]).tolist()
        nodal = np.array([one for group in groups for one in group])
        moment = (nodal[..., 3:] + np.cross(front.frame.nodes, nodal[..., :3])).sum(axis=1)
        rigid = np.stack([nodal[..., 2].sum(axis=1), moment[:, 1], moment[:, 0]], axis=1)
        P, S, R, G = (slice(first, last) for first, last in pairwise(stops))
        return cls(nodal, P, S, R, G, rigid)


@dataclass(frozen=True)
class _NodalLoads:
    """Loads at places as forces and moments on nodes, (n, 6)."""

    front: FrontEnd
    places: Mapping[str, LoadPoint]

    def none(self) -> FloatArray:
        """No load."""
        return np.zeros((len(self.front.frame.nodes), 6))

    def at(self, place: str, force: Vector, moment: Vector = ZERO, of: str | None = None) -> FloatArray:
        """At a place; `of`: on another place, by a rigid arm."""
        frame, where = self.front.frame, _place(self.places, place)
        found, node = self.none(), frame.node_index[_place(self.places, of or place).node]
        arm = frame.nodes[frame.node_index[where.node]] + where.arm - frame.nodes[node]
        found[node] = [*force, *(np.cross(arm, force) + moment)]
        return found

    def pattern(self, pattern: LoadPattern) -> FloatArray:
        """All of a load pattern."""
        found = sum((self.at(*one) for one in pattern.placed), self.none())
        if pattern.stay:
            pull = pattern.stay * np.array([-np.sin(pattern.rake), 0.0, np.cos(pattern.rake)])
            found = found + self.at("stay", tuple(pull))
            roots = [f"{side} hull at bulkhead" for side in SIDES]
            lever = self._position("stay") - sum(self._position(root) for root in roots) / 2
            moment = -np.cross(lever, pull) / 2
            for root in roots:
                found = found + self.at(root, tuple(-pull / 2), (0.0, float(moment[1]), 0.0))
        return found

    def gauge(self, gauge: Gauge) -> FloatArray:
        """The unit load whose work is a gauge's reading; none of those that are no movement of nodes."""
        if gauge.kind == "height":
            return self._against(gauge, (0.0, 0.0, 1.0), ZERO)
        if gauge.kind == "inclination":
            turn = np.eye(3)[DIRECTIONS.index(gauge.axis) - 3]
            return self._against(gauge, ZERO, tuple(turn))
        if gauge.kind == "distance":
            line = self._position(gauge.place) - self._position(str(gauge.reference))
            unit = line / np.linalg.norm(line)
            return self.at(gauge.place, tuple(unit)) - self.at(str(gauge.reference), tuple(unit))
        return self.none()

    def _against(self, gauge: Gauge, force: Vector, moment: Vector) -> FloatArray:
        """At the place, less the same of a bar fixed to the reference that reaches to the place."""
        own = self.at(gauge.place, force, moment)
        return (
            own if gauge.reference is None else own - self.at(gauge.place, force, moment, of=gauge.reference)
        )

    def _position(self, place: str) -> FloatArray:
        where, frame = _place(self.places, place), self.front.frame
        return np.asarray(frame.nodes[frame.node_index[where.node]] + where.arm)

    def water(self, afloat: Afloat) -> list[FloatArray]:
        """Loads of the shapes b, −b x and b y, of the water that a unit of heave, pitch or roll displaces."""
        frame, shapes = self.front.frame, [self.none() for _ in RIGID_MOTIONS]
        x, stiffness = afloat.strips()
        for side in SIDES:
            runs = [
                frame.members[f"{side} {part}"]
                for part in ("hull aft", "bow")
                if f"{side} {part}" in frame.members
            ]
            hull = np.unique(np.concatenate([frame.ends[run.elements].ravel() for run in runs]))
            nearest = hull[np.abs(frame.nodes[hull, 0] - x[:, None]).argmin(axis=1)]
            y = frame.nodes[hull[0], 1]
            for shape, share in zip(shapes, (np.ones_like(x), -x, np.full_like(x, y)), strict=True):
                force = stiffness * share
                np.add.at(shape, (nearest, FREEDOMS.index("uz")), force)
                np.add.at(shape, (nearest, FREEDOMS.index("ry")), -force * (x - frame.nodes[nearest, 0]))
        return shapes


def _place(places: Mapping[str, LoadPoint], name: str) -> LoadPoint:
    if name not in places:
        raise unknown("", "place", name, list(places))
    return places[name]


__all__ = [
    "Afloat",
    "Axis",
    "Gauge",
    "GaugeKind",
    "LoadPattern",
    "Supports",
    "TestLoads",
    "places_of",
    "position",
]
