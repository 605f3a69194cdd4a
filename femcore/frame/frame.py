"""A frame as arrays: nodes, two-ended elements, springs, masses, supports; and the loads of all its cases.

Everything is in SI and in global axes unless a name says "beam axes". Elements are on the first axis everywhere.

    symbol   meaning
    n        nodes
    m        beam elements; a *member* is a run of them under one name
    s        springs
    c        load cases
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import Any

import numpy as np
import numpy.typing as npt

from femcore.base.arrays import ArrayRecord, BoolArray, FloatArray, IntArray, listed
from femcore.base.checks import known
from femcore.base.errors import InputFault
from femcore.frame.components import ACTIONS, FREEDOMS, REACTIONS
from femcore.frame.stretches import Stretches


@dataclass(frozen=True, slots=True)
class Member:
    """A named beam: its elements `first … last` (exclusive), in order from its start to its end."""

    first: int
    last: int

    @property
    def elements(self) -> slice:
        """The member's elements as a slice of the element axis."""
        return slice(self.first, self.last)


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Cables(ArrayRecord):
    """Tension-only cables; one that is gripped along its path is stored as one cable per segment, all of one name.

    names                      : (k,)
    nodes, arms                : (t,), (t, 3), m: points of all paths in turn, each a node and a rigid arm from it
    first, cable_of_point      : (k,) where each path begins;   (t,) the cable of each point
    segments, cable_of_segment : (s, 2) points;   (s,) the cable of each segment
    EA, pretension, expansion  : (k,), N, N and 1/K
    can_push                   : whether they count as bars: the linear frame about a state in which all are taut
    """

    names: tuple[str, ...] = ()
    nodes: IntArray = field(default_factory=lambda: np.zeros(0, np.int64))
    arms: FloatArray = field(default_factory=lambda: np.zeros((0, 3)))
    first: IntArray = field(default_factory=lambda: np.zeros(0, np.int64))
    cable_of_point: IntArray = field(default_factory=lambda: np.zeros(0, np.int64))
    segments: IntArray = field(default_factory=lambda: np.zeros((0, 2), np.int64))
    cable_of_segment: IntArray = field(default_factory=lambda: np.zeros(0, np.int64))
    EA: FloatArray = field(default_factory=lambda: np.zeros(0))
    pretension: FloatArray = field(default_factory=lambda: np.zeros(0))
    expansion: FloatArray = field(default_factory=lambda: np.zeros(0))
    can_push: bool = False

    def __len__(self) -> int:
        return len(self.names)


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Frame(ArrayRecord):
    """The structure, without loads.

    nodes         : (n, 3), m
    ends          : (m, 2), node at the start and at the end of each element
    axes          : (m, 3, 3), rows are the beam axes x, y, z in global axes
    offsets       : (m, 2, 3), m, rigid, from the node to the element's end, global axes
    EA            : (m,), N;   EIy, EIz, GJ : (m,), N·m²;   GAy, GAz : (m,), N, inf where shear does not deform
    line_mass     : (m,), kg/m
    end_springs   : (m, 12), N/m and N·m/rad, in spring axes, start then end, ux uy uz rx ry rz: inf rigid, 0 released
    spring_axes   : (m, 2, 3, 3), rows are the axes of the end springs in beam axes (identity: the beam axes)
    coupled_ends  : (j, 2), elements and their ends (0, 1) whose springs are coupled;   couplings : (j, 6, 6), their stiffness,
                    which replaces the finite ones of `end_springs`
    spring_ends   : (s, 2), nodes joined by springs in global axes; a spring is at its first node
    springs       : (s, 6), N/m and N·m/rad
    point_mass    : (n,), kg
    fixed         : (n, 6), which freedoms a support fixes
    ground_nodes  : (n,), the node whose spring to ground this (hidden) node is the far side of; −1 for all others
    node_index    : the nodes that have a name;   members : the beams by name
    line_inertia  : (m, 3), kg·m, rotary inertia per length about beam axes x, y, z (0 where left out)
    expansion     : (m,), 1/K (0 where left out)
    cables        : tension-only cables
    """

    nodes: FloatArray
    ends: IntArray
    axes: FloatArray
    offsets: FloatArray
    EA: FloatArray
    EIy: FloatArray
    EIz: FloatArray
    GJ: FloatArray
    GAy: FloatArray
    GAz: FloatArray
    line_mass: FloatArray
    end_springs: FloatArray
    spring_axes: FloatArray
    spring_ends: IntArray
    springs: FloatArray
    point_mass: FloatArray
    fixed: BoolArray
    ground_nodes: IntArray
    node_index: Mapping[str, int] = field(default_factory=lambda: MappingProxyType({}))
    members: Mapping[str, Member] = field(default_factory=lambda: MappingProxyType({}))
    line_inertia: FloatArray = field(default_factory=lambda: np.zeros((0, 3)))
    expansion: FloatArray = field(default_factory=lambda: np.zeros(0))
    cables: Cables = field(default_factory=Cables)
    coupled_ends: IntArray = field(default_factory=lambda: np.zeros((0, 2), np.int64))
    couplings: FloatArray = field(default_factory=lambda: np.zeros((0, 6, 6)))

    def __post_init__(self) -> None:
        m = len(self.ends)
        if len(self.line_inertia) != m:
            object.__setattr__(self, "line_inertia", np.zeros((m, 3)))
        if len(self.expansion) != m:
            object.__setattr__(self, "expansion", np.zeros(m))

    def __repr__(self) -> str:
        supports = int((self.fixed.any(axis=1) & (self.ground_nodes < 0)).sum())
        return (
            f"Frame({len(self.node_index)} named nodes of {len(self.nodes)}, {len(self.members)} beams of "
            f"{len(self.ends)} elements, {len(self.springs)} springs, {len(set(self.cables.names))} cables, {supports} supports)"
        )

    def node_number(self, name: str) -> int:
        """The number of a named node; InputFault where there is none of that name."""
        return self.node_index[known("", "node", name, self.node_index)]

    def member(self, name: str) -> Member:
        """The elements of a named beam; InputFault where there is none of that name."""
        return self.members[known("", "beam", name, self.members)]

    def cable_numbers(self, name: str) -> IntArray:
        """Numbers of the cables of a name, several where it is gripped; InputFault where there is none."""
        names = self.cables.names
        known("", "cable", name, dict.fromkeys(names))
        return np.flatnonzero([one == name for one in names])

    @property
    def end_points(self) -> FloatArray:
        """(m, 2, 3), m: the ends of the flexible part of each element."""
        return self.nodes[self.ends] + self.offsets

    @property
    def length(self) -> FloatArray:
        """(m,), m: flexible length of each element."""
        ends = self.end_points
        along = ends[:, 1] - ends[:, 0]
        return np.asarray(np.sqrt((along * along).sum(axis=1)))

    @property
    def mass(self) -> float:
        """kg: of all elements and nodes."""
        return float(self.point_mass.sum() + self.line_mass @ self.length)

    @property
    def size(self) -> float:
        """m: diagonal of the box around the nodes; a rotation times it is comparable with a movement."""
        return float(np.linalg.norm(np.ptp(self.nodes, axis=0))) or 1.0

    @property
    def freedom_weights(self) -> FloatArray:
        """(6,): factors that make movements, m, and rotations, rad, of a node comparable: 1 and `size`."""
        return np.array([1.0] * 3 + [self.size] * 3)

    def largest_movement(self, u: npt.NDArray[np.floating[Any]]) -> FloatArray:
        """(c,), m: the largest movement of each case in u (c, n, 6), rotations times `size`."""
        return np.asarray(np.abs(u * self.freedom_weights).reshape(len(u), -1).max(axis=1), dtype=float)

    def all_cables_taut(self) -> Frame:
        """The same frame about a state in which every cable is taut: increments of load meet cables that push too."""
        cables = replace(self.cables, pretension=np.zeros_like(self.cables.pretension), can_push=True)
        return replace(self, cables=cables)

    @property
    def node_names(self) -> dict[int, str]:
        """Names of the named nodes by index."""
        return {index: name for name, index in self.node_index.items()}


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Loads(ArrayRecord):
    """The loads of all cases.

    nodal : (c, n, 6), N and N·m, global axes
    line  : (c, m, 3), N/m, uniform along each whole element, beam axes
    support_displacement : (c, n, 6), m and rad, imposed where the frame is fixed
    temperature_change : (c, m), K, of each beam element;   cable_temperature_change : (c, k) of each cable
    stretches : what else acts along elements: over part of one, at an arm, or not uniform
    """

    names: tuple[str, ...]
    nodal: FloatArray
    line: FloatArray
    support_displacement: FloatArray
    temperature_change: FloatArray = field(default_factory=lambda: np.zeros((0, 0)))
    cable_temperature_change: FloatArray = field(default_factory=lambda: np.zeros((0, 0)))
    stretches: Stretches = field(default_factory=Stretches.none)

    def __post_init__(self) -> None:
        if not self.temperature_change.size:
            object.__setattr__(self, "temperature_change", np.zeros(self.line.shape[:2]))
        if not self.cable_temperature_change.size:
            object.__setattr__(
                self,
                "cable_temperature_change",
                np.zeros((len(self.nodal), self.cable_temperature_change.shape[-1])),
            )
        if not self.stretches.load.size:
            object.__setattr__(self, "stretches", Stretches.none(len(self.nodal)))

    def __repr__(self) -> str:
        return f"Loads({len(self.names)} cases: {listed(self.names)})"

    def case(self, name: str | int | None = None) -> int:
        """The number of a case, given by name or number; None is the only one. InputFault where there is no such case."""
        return case_number(self.names, name)

    @classmethod
    def zeros(cls, frame: Frame, *names: str) -> Loads:
        """A case without load for each of the names, to be filled before use."""
        c, n, m = len(names), len(frame.nodes), len(frame.ends)
        nodal, line, moved = np.zeros((c, n, 6)), np.zeros((c, m, 3)), np.zeros((c, n, 6))
        return cls(names, nodal, line, moved, np.zeros((c, m)), np.zeros((c, len(frame.cables))))

    def combined(self, factors: npt.ArrayLike, names: tuple[str, ...]) -> Loads:
        """Linear combinations: factors (new cases, cases)."""
        weights = np.atleast_2d(np.asarray(factors, dtype=float))
        return self._mapped(names, lambda part: np.tensordot(weights, part, 1))

    def only(self, *cases: int) -> Loads:
        """Some of the cases, by number."""
        chosen = list(cases)
        return self._mapped(tuple(self.names[case] for case in chosen), lambda part: part[chosen])

    def copied(self) -> Loads:
        """The same in arrays of their own."""
        return self._mapped(self.names, np.copy)

    def _mapped(self, names: tuple[str, ...], of: Callable[[FloatArray], FloatArray]) -> Loads:
        """The same loads with their arrays, cases on the first axis, changed alike."""
        return Loads(
            names,
            of(self.nodal),
            of(self.line),
            of(self.support_displacement),
            of(self.temperature_change),
            of(self.cable_temperature_change),
            replace(self.stretches, load=of(self.stretches.load)),
        )

    def concatenated(self, other: Loads) -> Loads:
        """These cases and then those of others on the same frame."""
        pairs = zip(self.arrays[:5], other.arrays[:5], strict=True)
        nodal, line, moved, beams, cables = (np.concatenate(pair) for pair in pairs)
        stretches = Stretches.stacked([self.stretches, other.stretches])
        return Loads((*self.names, *other.names), nodal, line, moved, beams, cables, stretches)

    def has_load(self, case: int) -> bool:
        """Whether a case has any load."""
        return any(bool(part[case].any()) for part in self.arrays)

    def imposed_only(self) -> Loads:
        """Imposed movements and temperature changes alone."""
        none = Stretches.none(len(self.names))
        return replace(self, nodal=np.zeros_like(self.nodal), line=np.zeros_like(self.line), stretches=none)

    @property
    def loaded_elements(self) -> BoolArray:
        """(m,), along which elements anything acts in any case."""
        loaded: BoolArray = np.array(self.line.any(axis=(0, 2)))
        loaded[self.stretches.element[self.stretches.load.any(axis=(0, 2, 3))]] = True
        return loaded

    @property
    def mean_line(self) -> FloatArray:
        """(c, m, 3), N/m, beam axes: all forces along each element, spread over its whole length."""
        mean = self.line.copy()
        part = self.stretches
        spread = part.load[..., :3].mean(axis=2) * (part.end - part.begin)[:, None]
        np.add.at(mean.swapaxes(0, 1), part.element, spread.swapaxes(0, 1))
        return mean

    @property
    def arrays(self) -> tuple[FloatArray, ...]:
        """All loads, each with the cases on its first axis."""
        return (
            self.nodal,
            self.line,
            self.support_displacement,
            self.temperature_change,
            self.cable_temperature_change,
            self.stretches.load,
        )


def case_number(names: Sequence[str], case: str | int | None) -> int:
    """The number of a case among `names`, by name or number; None is the only one. InputFault where there is no such case."""
    if case is None and len(names) == 1:
        return 0
    if case is None:
        raise InputFault("case", "is missing where there are several", f"name one of {listed(names, 8)}")
    if isinstance(case, int | np.integer) and -len(names) <= case < len(names):
        return int(case)
    return list(names).index(known("", "case", case, names))


def gravity_loads(frame: Frame, acceleration: npt.ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Nodal loads (n, 6) and line loads in beam axes (m, 3) of the frame's own mass under `acceleration` (3,), m/s²."""
    g = np.asarray(acceleration, dtype=float)
    nodal = np.zeros((len(frame.nodes), 6))
    nodal[:, :3] = frame.point_mass[:, None] * g
    return nodal, frame.line_mass[:, None] * (frame.axes @ g)


def build_cables(
    rows: Sequence[tuple[str, Sequence[int], npt.ArrayLike, float, float, float, bool]],
) -> Cables:
    """Gather cables: name, node numbers, arms (points, 3), EA, pretension, expansion, gripped; a gripped one becomes several."""
    names, paths_, arms, EA, pretension, expansion = [], [], [], [], [], []
    for name, nodes, given, axial, tension, temperature_change, gripped in rows:
        arm = np.asarray(given, dtype=float).reshape(-1, 3)
        spans = [(i, i + 2) for i in range(len(nodes) - 1)] if gripped else [(0, len(nodes))]
        for first, last in spans:
            names.append(name)
            paths_.append(list(nodes[first:last]))
            arms.append(arm[first:last])
            EA.append(axial)
            pretension.append(tension)
            expansion.append(temperature_change)
    if not names:
        return Cables()
    count = np.array([len(path) for path in paths_])
    first = np.cumsum(count) - count
    inner = np.concatenate([np.arange(f, f + c - 1) for f, c in zip(first, count, strict=True)])
    return Cables(
        names=tuple(names),
        nodes=np.concatenate(paths_).astype(np.int64),
        arms=np.concatenate(arms),
        first=first,
        cable_of_point=np.repeat(np.arange(len(names)), count),
        segments=np.column_stack([inner, inner + 1]),
        cable_of_segment=np.repeat(np.arange(len(names)), count - 1),
        EA=np.array(EA, dtype=float),
        pretension=np.array(pretension, dtype=float),
        expansion=np.array(expansion, dtype=float),
    )


__all__ = [
    "ACTIONS",
    "FREEDOMS",
    "REACTIONS",
    "Cables",
    "Frame",
    "Loads",
    "Member",
    "build_cables",
    "case_number",
    "gravity_loads",
]
