"""The free body of a cut: what acts on either part of a frame that is cut through one beam, closing to zero.

A cut through a beam has two faces, on which equal and opposite forces and moments act. Each face belongs to a part: all that is
connected with it, loads and reactions on it included. Where a frame is closed around the cut (a ring, a beam over a cable), one
cut does not part it; a part is then the piece of the beam from the cut to the next node that anything else is connected with,
and what acts there is on a second face.

A case that was solved in its deformed shape is cut in that shape: forces and moments act at the displaced nodes, loads along
beams as their equivalents there, and a beam is cut where two of its elements meet.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from scipy import sparse
from scipy.sparse.csgraph import connected_components

from femcore.base.arrays import ArrayRecord, BoolArray, FloatArray, IntArray
from femcore.base.checks import finite
from femcore.base.errors import InputFault
from femcore.base.vectors import cross
from femcore.elements.corotational_beam import Configuration
from femcore.frame.frame import Frame, Loads, Member
from femcore.frame.stretches import Stretches
from femcore.results.member_forces import actions_at, end_forces
from femcore.results.nodal_forces import beam_forces, line_forces, positions
from femcore.solvers.solution import Solution, resultants

REL_TOL_STATION = 1e-9
"""Of a beam's length: a station outside it by less is taken as its end."""
Kind = Literal["cut", "load", "line load", "reaction"]


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Acting(ArrayRecord):
    """One force and moment on a free body.

    where : the node or beam that it acts on
    point : (3,), m, in the shape that the case was solved in;   force : (6,), N and N·m, global axes, its moment about `point`
    """

    kind: Kind
    where: str
    point: FloatArray
    force: FloatArray

    def about(self, point: FloatArray) -> FloatArray:
        """(6,): the force, and its moment about another point."""
        return np.concatenate([self.force[:3], self.force[3:] + cross(self.point - point, self.force[:3])])


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class FreeBody(ArrayRecord):
    """One part of a frame that is cut.

    whole    : whether it is all that is connected with the face; else a piece of the beam, with a face at its other end too
    elements : beam elements of the part, the one that is cut included;   nodes : its nodes
    acting   : all forces and moments on it, that on the face of the cut first
    about    : (3,), m, the cut, about which moments are summed
    scale    : N, all loads, reactions and the face together, moments over the frame's size: what closure is measured against
    size     : m, of the frame
    """

    whole: bool
    elements: IntArray
    nodes: IntArray
    acting: tuple[Acting, ...]
    about: FloatArray
    scale: float
    size: float

    @property
    def resultant(self) -> FloatArray:
        """(6,), N and N·m: the sum of all that acts, moments about the cut; zero but for rounding."""
        return np.asarray(sum((one.about(self.about) for one in self.acting), np.zeros(6)))

    @property
    def imbalance(self) -> float:
        """The resultant, moments over the frame's size, relative to `scale`."""
        apart = np.abs(self.resultant) / ([1.0] * 3 + [self.size] * 3)
        return float(apart.max() / self.scale) if self.scale else 0.0


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Cut(ArrayRecord):
    """A beam cut through, and the two parts.

    element : the element that the part before the cut ends in
    station : m along the beam's flexible length;   point : (3,), m, there, in the shape that the case was solved in
    axes    : (3, 3), rows are the axes of the section, global;   actions : (6,), N, Vy, Vz in N and T, My, Mz in N·m on the face
              of the part before the cut, whose outward normal is the beam's x, in these axes; on the other face they are opposite
    before, after : the part with the beam's start side, and that with its end side
    """

    member: str
    element: int
    station: float
    point: FloatArray
    axes: FloatArray
    actions: FloatArray
    before: FreeBody
    after: FreeBody


def cut(solution: Solution, member: str, station: float, case: str | int | None = None) -> Cut:
    """Cut a beam at `station`, m along its flexible length, in one case.

    In the deformed shape the cut goes to the nearest place where two elements of the beam meet. InputFault for a beam, case or
    station that does not exist, and where a beam of one element would have to be cut in the deformed shape.
    """
    number = solution.case(case)
    run = solution.frame.member(member)
    place = f"beam '{member}'"
    given = float(finite(f"{place}: station", station, ()))
    stops = np.concatenate([[0.0], np.cumsum(solution.frame.length[run.elements])])
    total = float(stops[-1])
    if not -REL_TOL_STATION * total <= given <= (1 + REL_TOL_STATION) * total:
        raise InputFault(f"{place}: at {given:g} m", "is outside the beam", f"give 0 to {total:g} m")
    if solution.second_order[number]:
        joints = 1 + np.flatnonzero(
            ~_shared(solution.frame)[solution.frame.ends[run.first : run.last - 1, 1]]
        )
        if not len(joints):
            wrong = "is one element between nodes, which cannot be cut inside in the deformed shape"
            raise InputFault(place, wrong, "divide it into two or more")
        joint = int(joints[np.abs(stops[joints] - given).argmin()])
        return _deformed_cut(solution, number, member, run.first + joint - 1, float(stops[joint]))
    element = min(max(int(np.searchsorted(stops, given)) - 1, 0), len(stops) - 2)
    xi = float(np.clip((given - stops[element]) / (stops[element + 1] - stops[element]), 0.0, 1.0))
    return _straight_cut(solution, number, member, run.first + element, xi)


def _straight_cut(solution: Solution, number: int, member: str, element: int, xi: float) -> Cut:
    """In the frame as drawn, at a fraction of an element; the ends of the element belong to either part."""
    frame = solution.frame
    run = frame.member(member)
    start, end = frame.end_points[element]
    point, axes = start + xi * (end - start), frame.axes[element]
    actions = actions_at(solution, [element], [xi])[number, 0]
    face = _in_global(axes, actions)
    scale = _scale(
        frame,
        solution.loads.nodal[number],
        solution.reactions[number],
        _line_sizes(frame, solution.loads, number),
        face,
    )
    parts = []
    for side, sign in ((0, 1.0), (1, -1.0)):
        part = _Part.of(frame, run, element, side)
        acting = [Acting("cut", member, point, sign * face)]
        stretch = (0.0, xi) if side == 0 else (xi, 1.0)
        loads = _kept(solution.loads.only(number), frame, part, element, stretch)
        acting += _nodal(frame, part, solution.reactions[number], "reaction", frame.nodes)
        acting += _nodal(frame, part, loads.nodal[0], "load", frame.nodes)
        acting += _along(frame, loads)
        if not part.whole:
            acting.append(_far_face(solution, number, member, part, side))
        parts.append(part.body(acting, point, scale, frame.size))
    before = float(frame.length[run.first : element].sum()) + xi * float(frame.length[element])
    return Cut(member, element, before, point, axes, actions, *parts)


def _deformed_cut(solution: Solution, number: int, member: str, element: int, station: float) -> Cut:
    """In the deformed shape, between an element and the next of its beam; the node there belongs to the part after the cut."""
    frame, one = solution.frame, solution.loads.only(number)
    run = frame.member(member)
    node = int(frame.ends[element, 1])
    where = positions(solution)[number]
    on_elements, lines = beam_forces(solution)[number], line_forces(solution)[number]
    shape = Configuration.from_displacement(solution.displacement[number])
    axes = np.asarray(shape.turned(frame.axes[element], np.full(3, node)), dtype=float)
    face = on_elements[element, 1]
    scale = _scale(frame, one.nodal[0], solution.reactions[number], lines.reshape(-1, 6), face)
    parts = []
    for side, sign in ((0, 1.0), (1, -1.0)):
        part = _Part.of(frame, run, element + side, side)
        part = part if side == 0 else replace(part, nodes=np.union1d(part.nodes, [node]))
        acting = [Acting("cut", member, where[node], sign * face)]
        acting += _nodal(frame, part, solution.reactions[number], "reaction", where)
        acting += _nodal(frame, part, one.nodal[0], "load", where)
        for which in part.elements[lines[part.elements].any(axis=(1, 2))].tolist():
            name = _member_of(frame, which)
            acting += [
                Acting("line load", name, where[frame.ends[which, end]], lines[which, end]) for end in (0, 1)
            ]
        if not part.whole:
            far = part.elements[0] if side == 0 else part.elements[-1]
            acting.append(Acting("cut", member, where[frame.ends[far, side]], on_elements[far, side]))
        parts.append(part.body(acting, where[node], scale, frame.size))
    actions = np.concatenate([axes @ face[:3], axes @ face[3:]])
    return Cut(member, element, station, where[node], axes, actions, *parts)


@dataclass(frozen=True, slots=True, eq=False)
class _Part:
    """Elements and nodes of one part; `whole` as of a free body."""

    whole: bool
    elements: IntArray
    nodes: IntArray

    @classmethod
    def of(cls, frame: Frame, run: Member, element: int, side: int) -> _Part:
        """The part on one side (0 before, 1 after) of a cut through an element, that element included."""
        of_node = _components(frame, element)
        start, end = of_node[frame.ends[element]].tolist()
        if start != end:
            chosen = of_node == (start, end)[side]
            within = chosen[frame.ends].all(axis=1)
            within[element] = True
            return cls(
                whole=True,
                elements=np.flatnonzero(within),
                nodes=np.flatnonzero(chosen & (frame.ground_nodes < 0)),
            )
        piece = _piece(frame, run, element, side)
        inner = frame.ends[piece[:-1], 1]
        return cls(whole=False, elements=piece, nodes=inner)

    def body(self, acting: Sequence[Acting], about: FloatArray, scale: float, size: float) -> FreeBody:
        """The free body with all that acts on it."""
        return FreeBody(self.whole, self.elements, self.nodes, tuple(acting), about, scale, size)


def _components(frame: Frame, without: int) -> IntArray:
    """(n,): which nodes are connected by beams, springs and cables, one element left out; springs to ground connect nothing."""
    links = [np.delete(frame.ends, without, axis=0)]
    shown = (frame.ground_nodes[frame.spring_ends] < 0).all(axis=1)
    links.append(frame.spring_ends[shown])
    cables = frame.cables
    links.append(cables.nodes[cables.segments])
    both = np.concatenate(links)
    count = len(frame.nodes)
    graph = sparse.coo_array((np.ones(len(both)), (both[:, 0], both[:, 1])), shape=(count, count))
    return np.asarray(connected_components(graph, directed=False)[1])


def _shared(frame: Frame) -> BoolArray:
    """(n,): which nodes more than two elements are connected with, or a spring or cable."""
    shared: BoolArray = np.bincount(frame.ends.ravel(), minlength=len(frame.nodes)) > 2
    shared[frame.spring_ends.ravel()] = True
    shared[frame.cables.nodes] = True
    return shared


def _piece(frame: Frame, run: Member, element: int, side: int) -> IntArray:
    """Elements of the beam from the cut one to the next node that anything else is connected with, in the beam's order."""
    shared = _shared(frame)
    first = last = element
    if side == 0:
        while first > run.first and not shared[frame.ends[first, 0]]:
            first -= 1
    else:
        while last < run.last - 1 and not shared[frame.ends[last, 1]]:
            last += 1
    return np.arange(first, last + 1)


def _far_face(solution: Solution, number: int, member: str, part: _Part, side: int) -> Acting:
    """What acts on a piece of a beam at the end away from the cut, as drawn."""
    frame = solution.frame
    far = int(part.elements[0] if side == 0 else part.elements[-1])
    force = end_forces(solution)[number, far, 6 * side : 6 * side + 6]
    return Acting("cut", member, frame.end_points[far, side], _in_global(frame.axes[far], force))


def _in_global(axes: FloatArray, force: FloatArray) -> FloatArray:
    return np.concatenate([force[:3] @ axes, force[3:] @ axes])


def _nodal(frame: Frame, part: _Part, forces: FloatArray, kind: Kind, where: FloatArray) -> Iterator[Acting]:
    names = frame.node_names
    for node in part.nodes[forces[part.nodes].any(axis=1)].tolist():
        yield Acting(kind, names.get(node, f"node {node}"), where[node], forces[node])


def _kept(loads: Loads, frame: Frame, part: _Part, element: int, stretch: tuple[float, float]) -> Loads:
    """Loads of one case on a part alone; of the element that is cut, on one stretch of it alone."""
    on_nodes: BoolArray = np.zeros(len(frame.nodes), dtype=bool)
    on_nodes[part.nodes] = True
    whole: BoolArray = np.zeros(len(frame.ends), dtype=bool)
    whole[part.elements] = True
    whole[element] = False
    line = loads.line[:, [element]]
    given = loads.stretches
    chosen = np.flatnonzero(whole[given.element])
    on_cut = np.flatnonzero(given.element == element)
    begin, end = np.maximum(given.begin[on_cut], stretch[0]), np.minimum(given.end[on_cut], stretch[1])
    some = begin < end
    on_cut, begin, end = on_cut[some], begin[some], end[some]
    fraction = (np.stack([begin, end], axis=1) - given.begin[on_cut, None]) / (given.end - given.begin)[
        on_cut, None
    ]
    near, far = given.load[:, on_cut, :1], given.load[:, on_cut, 1:]
    clipped = near + (far - near) * fraction[None, :, :, None]
    uniform = np.zeros((1, 1, 2, 6))
    uniform[..., :3] = line[:, :, None]
    own = [element] if stretch[0] < stretch[1] else []
    stretches = Stretches(
        np.concatenate([given.element[chosen], np.full(len(on_cut), element), own]).astype(np.int64),
        np.concatenate([given.begin[chosen], begin, [stretch[0]] * len(own)]),
        np.concatenate([given.end[chosen], end, [stretch[1]] * len(own)]),
        np.concatenate([given.load[:, chosen], clipped, uniform[:, : len(own)]], axis=1),
    )
    return replace(
        loads,
        nodal=np.where(on_nodes[:, None], loads.nodal, 0.0),
        line=np.where(whole[:, None], loads.line, 0.0),
        stretches=stretches,
    )


def _along(frame: Frame, loads: Loads) -> Iterator[Acting]:
    """Loads along beams: one resultant for each beam, at the middle of what acts, weighted by its size."""
    points, forces = resultants(frame, replace(loads, nodal=np.zeros_like(loads.nodal)))
    points, forces = points[len(frame.nodes) :], forces[0, len(frame.nodes) :]
    element = np.concatenate([np.arange(len(frame.ends)), loads.stretches.element])
    for name, run in frame.members.items():
        chosen = (element >= run.first) & (element < run.last) & forces.any(axis=1)
        if chosen.any():
            weight = np.linalg.norm(forces[chosen, :3], axis=1)
            weight = weight if weight.any() else np.ones(len(weight))
            point = weight @ points[chosen] / weight.sum()
            moments = forces[chosen, 3:] + cross(points[chosen] - point, forces[chosen, :3])
            total = np.concatenate([forces[chosen, :3].sum(axis=0), moments.sum(axis=0)])
            yield Acting("line load", name, point, total)


def _line_sizes(frame: Frame, loads: Loads, number: int) -> FloatArray:
    one = loads.only(number)
    _, forces = resultants(frame, replace(one, nodal=np.zeros_like(one.nodal)))
    return np.asarray(forces[0])


def _scale(frame: Frame, *forces: FloatArray) -> float:
    weights = np.array([1.0] * 3 + [1 / frame.size] * 3)
    return sum(float((np.abs(one) * weights).sum()) for one in forces)


def _member_of(frame: Frame, element: int) -> str:
    return next(name for name, run in frame.members.items() if run.first <= element < run.last)


__all__ = ["Acting", "Cut", "FreeBody", "cut"]
