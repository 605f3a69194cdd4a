"""A boat on test: how she stands, what loads her, and what gauges then read, with exact derivatives by stiffness.

She stands on supports that carry vertical force alone, or floats. The front end with its platform is held by a support that no
load in equilibrium feels; here the test's own reactions R join the loads P, and a rigid heave, pitch and roll c are added:

    on supports   h_SP P + h_SS R + M_S c = −R/k        M_Sᵀ R + M_Pᵀ P = 0        k → ∞ where rigid
    afloat        M_Wᵀ R + M_Pᵀ P = 0                   c = −R: water of pressure ρ g, whose load is of shapes b, b x, b y
    a gauge       h_GP P + h_GR R + M_G c

h is the influence of one on the other, M what a rigid movement does at each. Where supports are statically determinate R follows
from the second line alone and is the same for every stiffness. The frame is reduced once (`femcore.solvers.reduced_frame`), so
that h follows from any stiffness at once, and all derivatives by a complex step, to the last digit.

Readings: height up; inclination as rotations of the boat's axes, pitch bow down, roll port side up; turn of the crossbeam's end
against the hull; distance from one place to another. Movements are those from the unloaded boat.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from femcore.base.arrays import FloatArray
from femcore.base.errors import PoorSolution
from femcore.frame.frame import Loads
from femcore.solvers.frame_changes import Changes, EndSprings, Numbers
from femcore.solvers.prepared_frame import PreparedFrame
from femcore.solvers.reduced_frame import COMPLEX_STEP, REL_TOL_REDUCED, ReducedFrame
from models.boat.calibration import FACTORS
from models.joints import DIRECTIONS
from models.response.boat_test_loads import Afloat, Gauge, LoadPattern, Supports, TestLoads
from models.response.calibrated_frame import CalibratedGroup, calibrated_groups, exponents
from models.response.front_end import SIDES, FrontEnd
from models.response.joint_loads import component_index
from models.response.stiffness_names import REDUCED_JOINT, springs_of_joints

JOINT_FACTORS = {"joint_pitch": "pitch", "joint_roll": "roll"}
"""Factors on the joint's own stiffness, and of which direction."""
UNKNOWNS = (*FACTORS, *JOINT_FACTORS)
"""What a test can find, each a factor on what the boat's file has."""
TARGETS = ("torque", "vertical bending")
"""Of the port joint, that racking causes."""
TAUT = 1000.0
"""N, in every cable beside the newtons of unit loads, so that they count as bars."""
SOFT = 1e-3
"""N·m/rad and N/m, beside every elastic or free spring of a joint, so that a free one has a turn too: 1e-8 of the softest that
matters."""


@dataclass(frozen=True, slots=True, eq=False)
class GaugeResponse:
    """What unit amounts of load patterns (l,) do, with derivatives with respect to the logarithms of factors (u,).

    readings : (g, l), m, rad or N;   readings_by : (u, g, l)
    reactions : (s, l), N, what supports carry more; empty afloat;   tension : (k, l), N, what cables carry more
    target   : (2,), N·m, torque and vertical bending of the port joint per newton of racking at the stems;   target_by : (u, 2)
    """

    readings: FloatArray
    readings_by: FloatArray
    reactions: FloatArray
    tension: FloatArray
    target: FloatArray
    target_by: FloatArray


def unavailable_unknowns(front: FrontEnd) -> dict[str, str]:
    """Those of `UNKNOWNS` that the boat does not have, with the reason."""
    found, joint, platform = {}, front.joint, front.boat.platform
    stations = {member.station for member in platform.members} if platform else set()
    if len(stations) < 2:
        found["platform_fore_to_aft"] = "all members of the platform are at one station"
    for name, direction in JOINT_FACTORS.items():
        if joint is None or not joint.is_in_boat_axes:
            found[name] = "the joint's springs are not along the boat's axes"
        elif (stiffness := joint.own_stiffness(direction)) == 0 or np.isinf(stiffness):
            found[name] = f"the joint is {'rigid' if stiffness else 'free'} in {direction}"
    return found


@dataclass(frozen=True, eq=False)
class BoatOnTest:
    """One way to stand, with its gauges and load patterns.

    front : of the boat with the joint that she has;   unknowns : of `UNKNOWNS`, those whose derivatives are wanted

    InputFault for a place that the boat does not have, once it is needed.
    """

    front: FrontEnd
    standing: Supports | Afloat
    gauges: tuple[Gauge, ...]
    patterns: tuple[LoadPattern, ...]
    unknowns: tuple[str, ...] = UNKNOWNS

    @cached_property
    def loads(self) -> TestLoads:
        """Of patterns, supports and gauges, on the nodes of the front end."""
        return TestLoads.of(self.front, self.standing, self.gauges, self.patterns)

    @property
    def rigid(self) -> FloatArray:
        """(g, 3): what a rigid heave, pitch and roll of the boat, m and rad, adds to each gauge."""
        return self.loads.rigid[self.loads.gauges]

    @property
    def resultants(self) -> FloatArray:
        """(l, 6), N and N·m about the origin, of each load pattern, boat axes."""
        nodal = self.loads.nodal[self.loads.patterns]
        force, moment = nodal[..., :3], nodal[..., 3:]
        about = moment + np.cross(self.front.frame.nodes, force)
        return np.concatenate([force.sum(axis=1), about.sum(axis=1)], axis=1)

    def response(self, factors: Mapping[str, float]) -> GaugeResponse:
        """With these factors, by name, on the boat's stiffness; PoorSolution where she is so changed that digits are lost."""
        logarithms = np.log([factors.get(name, 1.0) for name in self.unknowns])
        steps = np.eye(len(logarithms) + 1, len(logarithms), -1)
        readings, reactions, tension, target = self._responses(logarithms + 1j * COMPLEX_STEP * steps)
        return GaugeResponse(
            readings[0].real, readings[1:].imag / COMPLEX_STEP, reactions[0].real, tension[0].real,
            target[0].real, target[1:].imag / COMPLEX_STEP,
        )  # fmt: skip

    def _responses(self, logarithms: Numbers) -> tuple[Numbers, Numbers, Numbers, Numbers]:
        """Of factors' logarithms (s, u): readings (s, g, l), reactions (s, supports or none, l), tensions (s, k, l), targets."""
        loads, frame, springs = self.loads, self._reduced, self._springs(logarithms)
        P, S = loads.patterns, loads.supports
        count, cases = S.stop - S.start, len(frame.loads.names)
        of_parts = [n for n, name in enumerate(self.unknowns) if name not in JOINT_FACTORS]
        powers = exponents(self._groups, [self.unknowns[n] for n in of_parts])
        # each load is a case, and the last one is pretension alone, which is taken off all others
        weights = np.eye(cases + 1, cases, dtype=complex)[None]
        found = frame.reduced_only(Changes(np.exp(logarithms[:, of_parts] @ powers.T), springs, weights))
        if not (found.error <= REL_TOL_REDUCED).all():
            raise PoorSolution(f"the boat is so changed that digits are lost: error {found.error.max():.1e}")
        moved = (found.movements[:, :-1] - found.movements[:, -1:]).swapaxes(1, 2)
        on_hulls = found.end_forces[:, :-1] - found.end_forces[:, -1:]
        by_turn = np.array([gauge.kind == "turn" for gauge in self.gauges])[:, None]
        h = np.where(by_turn, self._turns(on_hulls, springs), moved[:, count:])
        z = self._reactions(moved[:, :count])
        readings = h[..., P] + h[..., S] @ z[:, :count] + self.rigid @ z[:, count:]
        cables = (found.tension[:, :-1] - found.tension[:, -1:]).swapaxes(1, 2)
        tension = cables[..., P] + cables[..., S] @ z[:, :count]
        on_supports = z[:, :count] if isinstance(self.standing, Supports) else z[:, :0]
        for number, gauge in enumerate(self.gauges):
            if gauge.kind == "reaction" and isinstance(self.standing, Supports):
                readings[:, number] = z[:, self.standing.places.index(gauge.place)]
            if gauge.kind == "stay tension":
                readings[:, number] = [pattern.stay for pattern in self.patterns]
            if gauge.kind == "cable tension":
                readings[:, number] = tension[:, self.front.frame.cables.names.index(gauge.place)]
        at = [component_index(word) for word in TARGETS]
        return readings, on_supports, tension, on_hulls[:, loads.racking.start, 0, at]

    @cached_property
    def _groups(self) -> tuple[CalibratedGroup, ...]:
        return calibrated_groups(self.front.frame, self.front.boat.platform)

    @cached_property
    def _reduced(self) -> ReducedFrame:
        """The frame under patterns, unit forces of supports, and racking; read at supports and gauges."""
        loads = self.loads
        frame = replace(self.front, joint=REDUCED_JOINT, frame=self.front.with_joint(REDUCED_JOINT)).frame
        frame = replace(frame, cables=replace(frame.cables, pretension=np.full(len(frame.cables), TAUT)))
        acting = Loads.zeros(frame, *(f"load {number + 1}" for number in range(loads.racking.stop)))
        acting.nodal[:] = loads.nodal[: loads.racking.stop]
        read = np.concatenate([loads.nodal[loads.supports], loads.nodal[loads.gauges]])
        return ReducedFrame.of(
            PreparedFrame.of(frame), acting, [one.group for one in self._groups],
            list(self.front.joint_elements.items()), virtual_loads=read,
        )  # fmt: skip

    def _springs(self, logarithms: Numbers) -> EndSprings:
        """Of both joints, for factors' logarithms (s, u): the file's with the own stiffness of pitch and roll times theirs."""
        joint = self.front.joint
        if joint is None:
            raise ValueError("a boat on test has her crossbeam")
        named = {name: direction for name, direction in JOINT_FACTORS.items() if name in self.unknowns}
        own = {direction: joint.own_stiffness(direction) for direction in named.values()}
        given = springs_of_joints([joint.with_springs(own) if own else joint])
        count = len(logarithms)
        same = np.zeros((1, 2, 6, 6)) if given.matrix is None else given.matrix
        springs = np.repeat(given.springs.astype(complex), count, axis=0)
        matrix = np.repeat(same.astype(complex), count, axis=0)
        for name, direction in named.items():
            at = DIRECTIONS.index(direction)
            more = (np.exp(logarithms[:, self.unknowns.index(name)]) - 1) * own[direction]
            springs[..., at] += more[:, None]
            matrix[..., at, at] += more[:, None]
        finite = np.isfinite(given.springs[0, 0])
        matrix[..., finite, finite] += SOFT
        return EndSprings(springs, given.axes, matrix)

    def _turns(self, on_hulls: Numbers, springs: EndSprings) -> Numbers:
        """(s, g, loads), rad: of the beam's end against the hull: what a joint passes (s, loads, 2, 6) over its stiffness."""
        found = np.zeros((len(on_hulls), len(self.gauges), on_hulls.shape[1]), dtype=complex)
        finite = np.flatnonzero(np.isfinite(springs.springs[0, 0]))
        for number, gauge in enumerate(self.gauges):
            if gauge.kind == "turn":
                side = SIDES.index(gauge.place)
                axes = springs.axes[0, side]
                force = np.concatenate(
                    [on_hulls[:, :, side, :3] @ axes.T, on_hulls[:, :, side, 3:] @ axes.T], axis=2
                )
                stiffness = np.asarray(springs.matrix)[:, side][:, finite[:, None], finite]
                gap = np.zeros_like(force)
                gap[..., finite] = np.linalg.solve(stiffness, force[..., finite].swapaxes(1, 2)).swapaxes(
                    1, 2
                )
                found[:, number] = gap[..., 3:] @ axes[:, DIRECTIONS.index(gauge.axis) - 3]
        return found

    def _reactions(self, h: Numbers) -> Numbers:
        """R and c per pattern, (s, supports + 3, l), of supports' movements h (s, supports, loads) per unit of each load."""
        loads, count = self.loads, h.shape[1]
        M, of_patterns = loads.rigid[loads.supports], loads.rigid[loads.patterns].T
        if isinstance(self.standing, Afloat):
            R = -np.linalg.solve(M.T, of_patterns)
            return np.broadcast_to(np.concatenate([R, -R]), (len(h), 6, R.shape[1]))
        size = float(np.abs(h).max())
        A = np.zeros((len(h), count + 3, count + 3), dtype=complex)
        A[:, :count, :count] = h[..., loads.supports] + np.diag(1 / np.array(self.standing.stiffness))
        # movements in units of `size`, so that all of A is of one order
        A[:, :count, count:], A[:, count:, :count] = M * size, M.T * size
        b = np.zeros((len(h), count + 3, of_patterns.shape[1]), dtype=complex)
        b[:, :count], b[:, count:] = -h[..., loads.patterns], -of_patterns * size
        z = np.linalg.solve(A, b)
        z[:, count:] *= size
        return z


__all__ = [
    "JOINT_FACTORS",
    "TARGETS",
    "UNKNOWNS",
    "BoatOnTest",
    "GaugeResponse",
    "unavailable_unknowns",
]
