"""A frame described piece by piece and by name; `build()` turns it into arrays.

builder = FrameBuilder()
builder.nodes(A=(0, 0, 0), B=(4, 0, 0))
builder.beam("AB", ["A", "B"], Stiffness(EA=4e8, EIy=2e6, EIz=2e6, GJ=1e6), divide=4)
builder.support("A")
builder.support("B", ["uz"])
frame = builder.build()
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from itertools import pairwise
from types import MappingProxyType
from typing import Any

import numpy as np
import numpy.typing as npt

from femcore.base.arrays import ArrayRecord, FloatArray, IntArray
from femcore.base.checks import finite, known, non_negative, positive, real
from femcore.base.errors import InputFault
from femcore.base.vectors import cross
from femcore.frame.components import FREEDOMS, freedom_numbers
from femcore.frame.frame import Frame, Member, build_cables

RIGID = np.inf
REL_TOL_PARALLEL = 1e-6
"""Sine of the angle between a beam and its `up` at or below which they are parallel, so that `up` gives no direction."""
Values = float | FloatArray


@dataclass(frozen=True, slots=True, repr=False)
class Stiffness(ArrayRecord):
    """What a beam's section gives the solver: scalars, or one value for each element along it.

    EA, GAy, GAz in N;   EIy, EIz, GJ in N·m²;   mass in kg/m.   GAy, GAz = inf: no shear deformation.
    inertia : three, kg·m, rotary inertia per length about x, y, z;   expansion in 1/K
    """

    EA: Values
    EIy: Values = 0.0
    EIz: Values = 0.0
    GJ: Values = 0.0
    GAy: Values = np.inf
    GAz: Values = np.inf
    mass: Values = 0.0
    inertia: tuple[Values, Values, Values] = (0.0, 0.0, 0.0)
    expansion: Values = 0.0

    def along(self, place: str, count: int) -> dict[str, FloatArray]:
        """Each property as an array, one value for each of `count` elements; InputFault where one cannot be so."""
        properties = {one.name: getattr(self, one.name) for one in fields(self)}
        inertia = properties.pop("inertia")
        if len(inertia) != 3:
            raise InputFault(
                f"{place}: inertia", f"has {len(inertia)} values", "give one about each of x, y, z"
            )
        found = {key: _along(f"{place}: {key}", value, count) for key, value in properties.items()}
        for key in ("EA", "GAy", "GAz"):
            positive(f"{place}: {key}", found[key])
        for key in ("EIy", "EIz", "GJ", "mass"):
            finite(f"{place}: {key}", non_negative(f"{place}: {key}", found[key]))
        finite(f"{place}: EA", found["EA"])
        finite(f"{place}: expansion", found["expansion"])
        found["line_inertia"] = np.stack(
            [_along(f"{place}: inertia", about, count) for about in inertia], axis=1
        )
        non_negative(f"{place}: inertia", found["line_inertia"])
        return found


def _along(place: str, value: npt.ArrayLike, count: int) -> FloatArray:
    given = real(place, value)
    if given.shape not in ((), (count,)):
        raise InputFault(
            place, f"has shape {given.shape} on {count} elements", "give one value, or one for each element"
        )
    return np.full(count, given)


@dataclass(frozen=True, slots=True, repr=False)
class End(ArrayRecord):
    """One end of a beam: a rigid offset from its node (global axes, m) and six springs (inf rigid, 0 released).

    The springs act along `axes` (3, 3), rows in global axes; None: the beam's own axes. A `matrix` (6, 6) along the same axes
    couples those that are finite, and replaces them.
    """

    offset: tuple[float, float, float] = (0.0, 0.0, 0.0)
    springs: tuple[float, ...] = (RIGID,) * 6
    axes: npt.NDArray[np.float64] | None = None
    matrix: npt.NDArray[np.float64] | None = None

    @classmethod
    def of(cls, offset: tuple[float, float, float] = (0.0, 0.0, 0.0), **springs: float) -> End:
        """An end with springs by freedom, all others rigid: ``End.of(ry=0.0)`` is a hinge. InputFault where one is wrong."""
        return cls(offset, tuple(_springs("beam end", springs, RIGID)))

    def axes_in(self, beam_axes: FloatArray) -> FloatArray:
        """(3, 3), rows are the axes of the springs in those of the beam (rows, global axes)."""
        return np.eye(3) if self.axes is None else np.asarray(self.axes) @ beam_axes.T

    def check(self, place: str) -> None:
        """InputFault where a shape is wrong, a number is not finite, or a spring is negative."""
        finite(f"{place}: offset", self.offset, (3,))
        non_negative(f"{place}: springs", self.springs, (6,))
        for name, value, shape in (("axes", self.axes, (3, 3)), ("matrix", self.matrix, (6, 6))):
            if value is not None:
                finite(f"{place}: {name}", value, shape)


@dataclass(frozen=True, slots=True)
class _Beam:
    """A beam as described: its nodes, the ends of its bays (bays + 1, 3), m, the axes (3, 3) of each, and what it is made of."""

    path: tuple[str, ...]
    stops: list[FloatArray]
    axes: list[FloatArray]
    cuts: list[int]
    properties: dict[str, FloatArray]
    start: End
    end: End


@dataclass(slots=True, repr=False)
class FrameBuilder:
    """Collects nodes, beams, springs, masses and supports; knows no loads. Every misuse is an InputFault at the call."""

    _nodes: dict[str, FloatArray] = field(default_factory=dict)
    _beams: dict[str, _Beam] = field(default_factory=dict)
    _springs: list[tuple[str, str | None, FloatArray]] = field(default_factory=list)
    _cables: list[tuple[str, tuple[str, ...], FloatArray, float, float, float, bool]] = field(
        default_factory=list
    )
    _fixed: dict[str, set[int]] = field(default_factory=dict)
    _mass: dict[str, float] = field(default_factory=dict)

    def __repr__(self) -> str:
        return (
            f"FrameBuilder({len(self._nodes)} nodes, {len(self._beams)} beams, {len(self._springs)} springs, "
            f"{len(self._cables)} cables, {len(self._fixed)} supports)"
        )

    def node(self, name: str, at: npt.ArrayLike) -> str:
        """Add a node at `at` (3,), m."""
        _refuse_duplicate("node", name, self._nodes)
        self._nodes[name] = finite(f"node '{name}'", at, (3,)).copy()
        return name

    def nodes(self, **points: npt.ArrayLike) -> None:
        """Add several nodes by name: ``nodes(A=(0, 0, 0), B=(4, 0, 0))``, m."""
        for name, at in points.items():
            self.node(name, at)

    def position(self, name: str) -> FloatArray:
        """Where a node is, (3,), m."""
        return self._nodes[known("", "node", name, self._nodes)]

    def beam(
        self,
        name: str,
        path: Sequence[str],
        stiffness: Stiffness,
        up: npt.ArrayLike = (0.0, 0.0, 1.0),
        divide: int | Sequence[int] = 1,
        start: End = End(),
        end: End = End(),
    ) -> str:
        """Add a beam through the nodes of `path`, each bay divided into `divide` elements (one number, or one for each bay).

        Stiffness values that are arrays hold one value for each element along the whole path. InputFault where a node is not
        known, the name is taken, a bay has no length, `up` is parallel to the beam, or a value cannot be that of a beam.
        """
        place = f"beam '{name}'"
        _refuse_duplicate("beam", name, self._beams)
        nodes = self._path(place, path)
        start.check(f"{place}: start")
        end.check(f"{place}: end")
        stops = [self._nodes[node] for node in nodes]
        stops[0], stops[-1] = stops[0] + np.array(start.offset), stops[-1] + np.array(end.offset)
        cuts = _divisions(place, divide, len(nodes) - 1)
        axes = [beam_axes(place, b - a, up) for a, b in pairwise(stops)]
        properties = stiffness.along(place, sum(cuts))
        self._beams[name] = _Beam(nodes, stops, axes, cuts, properties, start, end)
        return name

    def spring(self, start: str, end: str | None, stiffness: npt.ArrayLike | Mapping[str, float]) -> None:
        """Join two nodes, or a node and the ground (`end` None), by six springs in global axes, N/m and N·m/rad.

        stiffness : (6,), or by freedom, such as ``{"uz": 1e5}``, the others 0
        """
        for node in (start, end):
            if node is not None:
                known("spring", "node", node, self._nodes)
        place = f"spring '{start}'–{'ground' if end is None else repr(end)}"
        if start == end:
            raise InputFault(place, "joins a node to itself", "name another node, or None for ground")
        self._springs.append((start, end, _springs(place, stiffness, 0.0)))

    def cable(
        self,
        name: str,
        path: Sequence[str],
        EA: float,
        pretension: float = 0.0,
        expansion: float = 0.0,
        *,
        gripped: bool = False,
        arms: npt.ArrayLike | None = None,
    ) -> str:
        """Add a tension-only cable through the nodes of `path`, at rigid `arms` (points, 3) from them where given, m."""
        place = f"cable '{name}'"
        _refuse_duplicate("cable", name, [row[0] for row in self._cables])
        nodes = self._path(place, path)
        lever = finite(f"{place}: arms", np.zeros((len(nodes), 3)) if arms is None else arms, (len(nodes), 3))
        positive(f"{place}: EA", finite(f"{place}: EA", EA, ()))
        non_negative(f"{place}: pretension", finite(f"{place}: pretension", pretension, ()))
        finite(f"{place}: expansion", expansion, ())
        self._cables.append((name, nodes, lever, EA, pretension, expansion, gripped))
        return name

    def mass(self, node: str, mass: float) -> None:
        """Add a point mass, kg, to a node."""
        place = f"mass on '{known('mass', 'node', node, self._nodes)}'"
        self._mass[node] = self._mass.get(node, 0.0) + float(non_negative(place, finite(place, mass, ())))

    def support(self, node: str, freedoms: str | Iterable[str | int] = FREEDOMS) -> None:
        """Fix freedoms of a node, by name ("ux" … "rz"); all six where none is named."""
        known("support", "node", node, self._nodes)
        self._fixed.setdefault(node, set()).update(freedom_numbers(f"support '{node}'", freedoms))

    def _path(self, place: str, path: Sequence[str]) -> tuple[str, ...]:
        """The nodes of a path; InputFault where one is not known, or where fewer than two are given."""
        if len(path) < 2:
            raise InputFault(
                f"{place}: path", "does not list two nodes or more", 'give a list, such as ["A", "B"]'
            )
        return tuple(known(place, "node", node, self._nodes) for node in path)

    def build(self) -> Frame:
        """The frame as arrays: named nodes first, then those within beams, then the far sides of springs to ground."""
        index = {name: number for number, name in enumerate(self._nodes)}
        points = list(self._nodes.values())
        runs: list[dict[str, Any]] = []
        members: dict[str, Member] = {}
        first = 0
        for name, beam in self._beams.items():
            runs.append(_elements(beam, index, points))
            members[name] = Member(first, first + sum(beam.cuts))
            first += sum(beam.cuts)
        spring_ends, springs, ground_nodes = self._spring_arrays(index, points)
        coupled = {
            (member.last - 1 if side else member.first, side): end.matrix
            for name, member in members.items()
            for side, end in enumerate((self._beams[name].start, self._beams[name].end))
            if end.matrix is not None
        }
        fixed = np.zeros((len(points), 6), dtype=bool)
        for node, freedoms in self._fixed.items():
            fixed[index[node], list(freedoms)] = True
        fixed[ground_nodes >= 0] = True
        mass = np.zeros(len(points))
        for node, value in self._mass.items():
            mass[index[node]] = value
        return Frame(
            nodes=np.array(points, dtype=float).reshape(-1, 3),
            **{
                key: np.concatenate([empty, *(run[key] for run in runs)])
                for key, empty in _NO_ELEMENTS.items()
            },
            spring_ends=spring_ends,
            springs=springs,
            point_mass=mass,
            fixed=fixed,
            ground_nodes=ground_nodes,
            node_index=MappingProxyType(index),
            members=MappingProxyType(members),
            **_coupling_arrays(coupled),
            cables=build_cables([(row[0], [index[n] for n in row[1]], *row[2:]) for row in self._cables]),
        )

    def _spring_arrays(
        self, index: Mapping[str, int], points: list[FloatArray]
    ) -> tuple[IntArray, FloatArray, IntArray]:
        ground_nodes = [-1] * len(points)
        ends, rows = [], []
        for start, end, row in self._springs:
            if end is None:
                points.append(self._nodes[start])
                ground_nodes.append(index[start])
            ends.append((index[start], len(points) - 1 if end is None else index[end]))
            rows.append(row)
        shape = np.array(ends, dtype=np.int64).reshape(-1, 2), np.array(rows, dtype=float).reshape(-1, 6)
        return *shape, np.array(ground_nodes, dtype=np.int64)


def with_ends(frame: Frame, ends: Mapping[tuple[int, int], End]) -> Frame:
    """The same frame with other springs at the ends (element, 0 or 1) of some elements; what these are offset by stays."""
    springs, axes = frame.end_springs.copy(), frame.spring_axes.copy()
    coupled = {
        (int(element), int(side)): matrix
        for (element, side), matrix in zip(frame.coupled_ends, frame.couplings, strict=True)
    }
    for (element, side), end in ends.items():
        springs[element, 6 * side : 6 * side + 6] = end.springs
        axes[element, side] = end.axes_in(frame.axes[element])
        coupled.pop((element, side), None)
        if end.matrix is not None:
            coupled[element, side] = end.matrix
    return replace(frame, end_springs=springs, spring_axes=axes, **_coupling_arrays(coupled))


def _coupling_arrays(coupled: Mapping[tuple[int, int], FloatArray]) -> dict[str, Any]:
    """Stiffness matrices by (element, 0 or 1) as the arrays of a frame."""
    places = sorted(coupled)
    return {
        "coupled_ends": np.array(places, dtype=np.int64).reshape(-1, 2),
        "couplings": np.array([coupled[place] for place in places], dtype=float).reshape(-1, 6, 6),
    }


_NO_ELEMENTS = {
    "ends": np.zeros((0, 2), dtype=np.int64), "axes": np.zeros((0, 3, 3)), "offsets": np.zeros((0, 2, 3)),
    **{key: np.zeros(0) for key in ("EA", "EIy", "EIz", "GJ", "GAy", "GAz", "line_mass", "expansion")},
    "line_inertia": np.zeros((0, 3)), "end_springs": np.zeros((0, 12)), "spring_axes": np.zeros((0, 2, 3, 3)),
}  # fmt: skip


def _elements(beam: _Beam, index: Mapping[str, int], points: list[FloatArray]) -> dict[str, Any]:
    """One beam as element arrays; the nodes within it are added to `points`."""
    stops, cuts = beam.stops, beam.cuts
    numbers = [index[node] for node in beam.path]
    chain = [numbers[0]]
    for bay, cut in enumerate(cuts):
        for step in range(1, cut):
            chain.append(len(points))
            points.append(stops[bay] + (stops[bay + 1] - stops[bay]) * (step / cut))
        chain.append(numbers[bay + 1])
    count = len(chain) - 1
    offsets = np.zeros((count, 2, 3))
    offsets[0, 0], offsets[-1, 1] = beam.start.offset, beam.end.offset
    axes = np.array(beam.axes)[np.repeat(np.arange(len(cuts)), cuts)]
    springs, spring_axes = np.full((count, 12), RIGID), np.tile(np.eye(3), (count, 2, 1, 1))
    for side, (element, given) in enumerate(((0, beam.start), (count - 1, beam.end))):
        springs[element, 6 * side : 6 * side + 6] = given.springs
        spring_axes[element, side] = given.axes_in(axes[element])
    return {
        "ends": np.column_stack([chain[:-1], chain[1:]]), "axes": axes, "offsets": offsets, **beam.properties,
        "line_mass": beam.properties["mass"], "end_springs": springs, "spring_axes": spring_axes,
    }  # fmt: skip


def beam_axes(place: str, along: FloatArray, up: npt.ArrayLike) -> FloatArray:
    """(3, 3), rows x, y, z of the axes of a beam along `along`; InputFault where it has no length or `up` is parallel to it."""
    length = np.linalg.norm(along)
    if not length > 0:
        raise InputFault(place, "has no length", "set its ends (offsets included) apart")
    x = along / length
    given = finite(f"{place}: up", up, (3,))
    z = given - (given @ x) * x
    across = np.linalg.norm(z)
    if not across > REL_TOL_PARALLEL * np.linalg.norm(given):
        raise InputFault(f"{place}: up", "is parallel to the beam", "give a direction perpendicular to it")
    return np.array([x, cross(z / across, x), z / across])


def _divisions(place: str, divide: int | Sequence[int], bays: int) -> list[int]:
    """How many elements each bay is divided into."""
    cuts = [divide] * bays if isinstance(divide, int) else list(divide)
    if len(cuts) != bays or not all(int(cut) == cut >= 1 for cut in cuts):
        cure = f"give a whole number from 1, or one for each of {bays} bays"
        raise InputFault(f"{place}: divide", f"{divide!r} does not divide the beam", cure)
    return [int(cut) for cut in cuts]


def _springs(place: str, stiffness: npt.ArrayLike | Mapping[str, float], otherwise: float) -> FloatArray:
    """(6,), spring stiffnesses given by freedom, `otherwise` where left out, or as an array."""
    if not isinstance(stiffness, Mapping):
        return non_negative(place, stiffness, (6,))
    row = np.full(6, otherwise)
    row[freedom_numbers(place, stiffness)] = list(stiffness.values())
    return non_negative(place, row)


def _refuse_duplicate(what: str, name: str, taken: Iterable[str]) -> None:
    if name in taken:
        raise InputFault(f"{what} '{name}'", "is duplicated", f"give each {what} a name of its own")
