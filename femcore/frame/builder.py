"""A frame being described, piece by piece and by name; `frame()` turns it into arrays.

draft = Draft()
draft.node("A", (0, 0, 0)); draft.node("B", (4, 0, 0))
draft.beam("AB", ["A", "B"], Stiffness(EA=…, EIy=…, EIz=…, GJ=…), up=(0, 0, 1), divide=4)
draft.support("A", range(6))
frame = draft.frame()
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import Any

import numpy as np
import numpy.typing as npt

from femcore.base.arrays import FloatArray
from femcore.base.errors import InputFault
from femcore.base.vectors import cross
from femcore.frame.frame import Frame, Member, build_cables

RIGID = np.inf
Values = float | FloatArray


@dataclass(frozen=True, slots=True)
class Stiffness:
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


@dataclass(frozen=True, slots=True)
class End:
    """One end of a beam: a rigid offset from its node (global axes, m) and six springs (inf rigid, 0 released).

    The springs act along `axes` (3, 3), rows in global axes; None: the beam's own axes. A `matrix` (6, 6) along the same axes
    couples those that are finite, and stands in their place.
    """

    offset: tuple[float, float, float] = (0.0, 0.0, 0.0)
    springs: tuple[float, ...] = (RIGID,) * 6
    axes: npt.NDArray[np.float64] | None = None
    matrix: npt.NDArray[np.float64] | None = None

    def axes_in(self, beam_axes: FloatArray) -> FloatArray:
        """(3, 3), rows are the axes of the springs in those of the beam (rows, global axes)."""
        return np.eye(3) if self.axes is None else np.asarray(self.axes) @ beam_axes.T


@dataclass(slots=True)
class FrameBuilder:
    """Collects nodes, beams, springs, masses and supports; knows no loads."""

    _nodes: dict[str, npt.NDArray[np.float64]] = field(default_factory=dict)
    _beams: dict[str, dict[str, Any]] = field(default_factory=dict)
    _springs: list[tuple[str, str | None, npt.NDArray[np.float64]]] = field(default_factory=list)
    _cables: list[tuple[str, tuple[str, ...], FloatArray, float, float, float, bool]] = field(
        default_factory=list
    )
    _fixed: dict[str, set[int]] = field(default_factory=dict)
    _mass: dict[str, float] = field(default_factory=dict)

    def node(self, name: str, at: npt.ArrayLike) -> str:
        """Add a node at `at` (3,), m."""
        if name in self._nodes:
            raise InputFault(f"node '{name}'", "is there twice", "give each node a name of its own")
        self._nodes[name] = np.asarray(at, dtype=float)
        return name

    def position(self, name: str) -> FloatArray:
        """Where a node is, (3,), m."""
        self._known(name)
        return self._nodes[name]

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
        """Add a beam through the nodes of `path`, each bay cut into `divide` elements.

        Stiffness values that are arrays hold one value for each element along the whole path. InputFault where a node is not
        known, the name is taken, a bay has no length, or `up` lies along the beam.
        """
        if name in self._beams:
            raise InputFault(f"beam '{name}'", "is there twice", "give each beam a name of its own")
        for node in path:
            self._known(node, f"beam '{name}'")
        bays = len(path) - 1
        cuts = [divide] * bays if isinstance(divide, int) else list(divide)
        self._beams[name] = {
            "path": tuple(path), "stiffness": stiffness, "up": up, "cuts": cuts, "start": start, "end": end,
        }  # fmt: skip
        return name

    def spring(self, start: str, end: str | None, stiffness: npt.ArrayLike) -> None:
        """Join two nodes, or a node and the ground (`end` None), by six springs (6,) in global axes."""
        for node in (start, end):
            if node is not None:
                self._known(node, "spring")
        self._springs.append((start, end, np.asarray(stiffness, dtype=float)))

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
        for node in path:
            self._known(node, f"cable '{name}'")
        lever = np.zeros((len(path), 3)) if arms is None else np.asarray(arms, dtype=float)
        self._cables.append((name, tuple(path), lever, EA, pretension, expansion, gripped))
        return name

    def mass(self, node: str, mass: float) -> None:
        """Put a point mass, kg, on a node."""
        self._known(node, "mass")
        self._mass[node] = self._mass.get(node, 0.0) + mass

    def support(self, node: str, freedoms: Iterable[int]) -> None:
        """Hold freedoms (0 … 5 for ux … rz) of a node."""
        self._known(node, "support")
        self._fixed.setdefault(node, set()).update(freedoms)

    def _known(self, name: str, place: str = "") -> None:
        if name not in self._nodes:
            raise InputFault(place, f"node '{name}' does not exist", f"name one of {_few(self._nodes)}")

    def frame(self) -> Frame:
        """The frame as arrays: named nodes first, then those within beams, then the far sides of springs to ground."""
        index = {name: number for number, name in enumerate(self._nodes)}
        points = list(self._nodes.values())
        runs: list[dict[str, Any]] = []
        members: dict[str, Member] = {}
        for name, beam in self._beams.items():
            run = _divided(name, beam, index, points)
            first = sum(len(r["ends"]) for r in runs)
            members[name] = Member(first, first + len(run["ends"]))
            runs.append(run)
        spring_ends, springs, ground_nodes = self._spring_arrays(index, points)
        coupled = [
            ((member.last - 1 if side else member.first, side), end.matrix)
            for name, member in members.items()
            for side, end in enumerate((self._beams[name]["start"], self._beams[name]["end"]))
            if end.matrix is not None
        ]
        fixed = np.zeros((len(points), 6), dtype=bool)
        for node, freedoms in self._fixed.items():
            fixed[index[node], list(freedoms)] = True
        fixed[ground_nodes >= 0] = True
        mass = np.zeros(len(points))
        for node, value in self._mass.items():
            mass[index[node]] = value
        return Frame(
            nodes=np.array(points, dtype=float).reshape(-1, 3),
            **_joined(runs),
            spring_ends=spring_ends,
            springs=springs,
            point_mass=mass,
            fixed=fixed,
            ground_nodes=ground_nodes,
            node_index=MappingProxyType(index),
            members=MappingProxyType(members),
            coupled_ends=np.array([place for place, _ in coupled], dtype=np.int64).reshape(-1, 2),
            couplings=np.array([matrix for _, matrix in coupled], dtype=float).reshape(-1, 6, 6),
            cables=build_cables([(row[0], [index[n] for n in row[1]], *row[2:]) for row in self._cables]),
        )

    def _spring_arrays(
        self, index: Mapping[str, int], points: list[FloatArray]
    ) -> tuple[npt.NDArray[np.int64], FloatArray, npt.NDArray[np.int64]]:
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
    places, matrices = list(coupled), list(coupled.values())
    return replace(
        frame, end_springs=springs, spring_axes=axes,
        coupled_ends=np.array(places, dtype=np.int64).reshape(-1, 2),
        couplings=np.array(matrices, dtype=float).reshape(-1, 6, 6),
    )  # fmt: skip


_STIFFNESS = ("EA", "EIy", "EIz", "GJ", "GAy", "GAz")


def _divided(
    name: str, beam: dict[str, Any], index: Mapping[str, int], points: list[FloatArray]
) -> dict[str, Any]:
    """One beam as element arrays; the nodes within it are added to `points`."""
    start, end, cuts = beam["start"], beam["end"], beam["cuts"]
    numbers = [index[node] for node in beam["path"]]
    stops = [points[number] for number in numbers]
    stops[0] = stops[0] + np.array(start.offset)
    stops[-1] = stops[-1] + np.array(end.offset)
    chain = [numbers[0]]
    for bay, cut in enumerate(cuts):
        for step in range(1, cut):
            chain.append(len(points))
            points.append(stops[bay] + (stops[bay + 1] - stops[bay]) * (step / cut))
        chain.append(numbers[bay + 1])
    count = len(chain) - 1
    offsets = np.zeros((count, 2, 3))
    offsets[0, 0], offsets[-1, 1] = start.offset, end.offset
    bays = np.repeat(np.arange(len(cuts)), cuts)
    axes = np.array([_axes(name, stops[b + 1] - stops[b], beam["up"]) for b in range(len(cuts))])[bays]
    springs, spring_axes = np.full((count, 12), RIGID), np.tile(np.eye(3), (count, 2, 1, 1))
    for side, (element, given) in enumerate(((0, start), (count - 1, end))):
        springs[element, 6 * side : 6 * side + 6] = given.springs
        spring_axes[element, side] = given.axes_in(axes[element])
    stiffness = beam["stiffness"]
    values = {key: np.full(count, getattr(stiffness, key), dtype=float) for key in _STIFFNESS}
    return {
        "ends": np.column_stack([chain[:-1], chain[1:]]), "axes": axes, "offsets": offsets, **values,
        "line_mass": np.full(count, stiffness.mass, dtype=float),
        "line_inertia": np.stack([np.full(count, about, dtype=float) for about in stiffness.inertia], axis=1),
        "expansion": np.full(count, stiffness.expansion, dtype=float),
        "end_springs": springs, "spring_axes": spring_axes,
    }  # fmt: skip


def _axes(name: str, along: FloatArray, up: npt.ArrayLike) -> FloatArray:
    """Rows x, y, z of the beam axes; InputFault where the beam has no length or `up` lies along it."""
    length = np.linalg.norm(along)
    if not length > 0:
        raise InputFault(f"beam '{name}'", "has no length", "set its ends (offsets included) apart")
    x = along / length
    given = np.asarray(up, dtype=float)
    z = given - (given @ x) * x
    square = np.linalg.norm(z)
    if not square > 1e-6 * np.linalg.norm(given):
        raise InputFault(f"beam '{name}': up", "lies along the beam", "give a direction square to it")
    return np.array([x, cross(z / square, x), z / square])


_EMPTY = {
    "ends": np.zeros((0, 2), dtype=np.int64), "axes": np.zeros((0, 3, 3)), "offsets": np.zeros((0, 2, 3)),
    **{key: np.zeros(0) for key in (*_STIFFNESS, "line_mass", "expansion")}, "line_inertia": np.zeros((0, 3)),
    "end_springs": np.zeros((0, 12)), "spring_axes": np.zeros((0, 2, 3, 3)),
}  # fmt: skip


def _joined(runs: list[dict[str, Any]]) -> dict[str, Any]:
    return {key: np.concatenate([empty, *(run[key] for run in runs)]) for key, empty in _EMPTY.items()}


def _few(names: Iterable[str]) -> str:
    shown = [f"'{name}'" for name in names]
    return ", ".join(shown[:8]) + (" …" if len(shown) > 8 else "") or "(there is none)"
