"""Solve a frame under all its cases, each in the undeformed or in the deformed shape, with an error estimate and its balance.

The methods are in `linear` (one factorisation for all cases, cables taut or slack) and in `second_order` (equilibrium in the
deformed shape). Here the cases are separated, and a solution that is not accurate enough is refused.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from femcore.base.arrays import EXTENDED, Answer, ArrayRecord, BoolArray, FloatArray, IntArray, Real, listed
from femcore.base.checks import finite
from femcore.base.errors import InputFault, Mechanism, PoorSolution
from femcore.base.numbers import engineering
from femcore.base.vectors import cross
from femcore.frame.components import FREEDOMS, Actions, Displacement, Reaction
from femcore.frame.frame import Frame, Loads
from femcore.frame.loads_builder import LoadsBuilder
from femcore.solvers.assembly import Parts, fixed_end_forces, internal_forces, natural_forces, parts_of
from femcore.solvers.beam_fields import actions_at, displacement_at
from femcore.solvers.deformed_cases import line_load_share
from femcore.solvers.linear import solve_linear
from femcore.solvers.newton import SecondOrderResult
from femcore.solvers.prepared_frame import PreparedFrame
from femcore.solvers.second_order import solve_second_order

REL_TOL_SOLUTION = 1e-6
"""Of the largest movement, or of all forces: a larger estimated error, or imbalance, is refused."""
MAX_RELATIVE_MOVEMENT = 1e15
"""Times the frame's size: a larger movement is that of a mechanism, and refused."""
ROUNDINGS_OF_FORCES = 1e3
"""Units of rounding, of the sum of internal forces, that reactions may have where they should be zero."""
ROUNDINGS_OF_STRAIN = 10
"""Units of rounding in the strain of a deformed beam, a difference of coordinates in double precision."""
REL_TOL_UNRESISTED_MOMENT = 1e-9
"""Of the largest nodal load: a smaller moment about an axis that nothing resists is rounding, and treated as zero."""
REL_TOL_STATION = 1e-9
"""Of a beam's length: a station outside it by less is taken as its end."""


class CableResult(NamedTuple):
    """Tension of a cable, N, and whether it is slack."""

    tension: float
    slack: bool


@dataclass(frozen=True, slots=True, repr=False)
class BeamResult:
    """One beam in one case of a solution: actions (beam axes) and movements (global axes) at its ends or any station."""

    solution: Solution
    name: str
    case: int

    def __repr__(self) -> str:
        return f"BeamResult('{self.name}' in case '{self.solution.names[self.case]}', {self.length:g} m)"

    @property
    def length(self) -> float:
        """m, flexible length, rigid offsets left out."""
        return float(self._lengths.sum())

    @property
    def start(self) -> Actions:
        """Actions at the start of its flexible length."""
        return self.at(0.0)

    @property
    def end(self) -> Actions:
        """Actions at the end of its flexible length."""
        return self.at(self.length)

    def at(self, station: float) -> Actions:
        """Actions at `station`, m along the flexible length; at a joint of elements, those of the element that ends there.

        InputFault where the station is outside the beam.
        """
        return Actions(*actions_at(self.solution, *self._place(station))[self.case, 0].tolist())

    def displacement(self, station: float) -> Displacement:
        """Movement and section rotation at `station`, m along the flexible length. InputFault as of `at`."""
        return Displacement(*displacement_at(self.solution, *self._place(station))[self.case, 0].tolist())

    @property
    def _lengths(self) -> FloatArray:
        frame = self.solution.frame
        return frame.length[frame.member(self.name).elements]

    def _place(self, station: float) -> tuple[list[int], list[float]]:
        """The element and the fraction of its length."""
        stops = np.concatenate([[0.0], np.cumsum(self._lengths)])
        total, station = float(stops[-1]), float(finite(f"beam '{self.name}': station", station, ()))
        if not -REL_TOL_STATION * total <= station <= (1 + REL_TOL_STATION) * total:
            place = f"beam '{self.name}': at {station:g} m"
            raise InputFault(place, "is outside the beam", f"give 0 to {total:g} m")
        element = min(max(int(np.searchsorted(stops, station)) - 1, 0), len(stops) - 2)
        fraction = (station - stops[element]) / (stops[element + 1] - stops[element])
        first = self.solution.frame.member(self.name).first
        return [first + element], [min(max(float(fraction), 0.0), 1.0)]


@dataclass(frozen=True, eq=False, repr=False)
class Solution(Answer):
    """The answer to all cases, as arrays in global axes; `node`, `reaction`, `beam` and `cable` read them by name.

    A `case` is given by name or number, and left out where there is only one.

    prepared     : the frame that was solved
    displacement : (c, n, 6), m and rad, from the frame as drawn, so that of pretension is included
    reactions    : (c, n, 6), N and N·m, of supports and springs to ground on the frame
    natural      : (c, p, 6), natural forces of beams, then springs
    tension      : (c, k), N, of the cables;   slack : (c, k)
    second_order : (c,), whether the case was solved in its deformed shape
    balance      : (c,), resultant of loads and reactions over the sum of their sizes; 0 is perfect
    error        : (c,), relative size of the last correction, an estimate of the error of `displacement`; in a deformed shape
                   at least the largest force out of balance at a node, relative to the largest in a part
    first_error  : (c,), the same for the answer before refinement
    """

    prepared: PreparedFrame
    loads: Loads
    displacement: FloatArray
    reactions: FloatArray
    natural: FloatArray
    tension: FloatArray
    slack: BoolArray
    second_order: BoolArray
    balance: FloatArray
    error: FloatArray
    first_error: FloatArray

    def __repr__(self) -> str:
        largest = np.abs(self.displacement[..., :3]).max(initial=0.0)
        return (
            f"Solution({len(self.names)} cases: {listed(self.names)}; {len(self.frame.node_index)} named nodes, "
            f"{len(self.frame.members)} beams; largest nodal displacement {engineering(largest, 'm')})"
        )

    def case(self, name: str | int | None = None) -> int:
        """The number of a case. InputFault where there is no such case, or where none is named of several."""
        return self.loads.case(name)

    def node(self, name: str, case: str | int | None = None) -> Displacement:
        """Movement and rotation of a node. InputFault where there is no such node or case."""
        return Displacement(*self.displacement[self.case(case), self.frame.node_number(name)].tolist())

    def reaction(self, name: str, case: str | int | None = None) -> Reaction:
        """Reaction of the support and springs to ground of a node on the frame. InputFault as of `node`."""
        return Reaction(*self.reactions[self.case(case), self.frame.node_number(name)].tolist())

    def beam(self, name: str, case: str | int | None = None) -> BeamResult:
        """Actions and movements along a beam. InputFault where there is no such beam or case."""
        self.frame.member(name)
        return BeamResult(self, name, self.case(case))

    def cable(self, name: str, case: str | int | None = None) -> CableResult:
        """Tension of a cable, the largest along one that is gripped. InputFault where there is no such cable or case."""
        largest = float(self.tension[self.case(case), self.frame.cable_numbers(name)].max())
        return CableResult(max(0.0, largest), largest <= 0.0)

    @property
    def parts(self) -> Parts:
        """What the frame is made of."""
        return self.prepared.parts

    @property
    def frame(self) -> Frame:
        """The frame that was solved."""
        return self.parts.frame

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the cases."""
        return self.loads.names

    @property
    def is_superposable(self) -> bool:
        """Whether its cases add up: none with a slack cable, none in its deformed shape."""
        return not (self.slack.any() or self.second_order.any())

    def concatenated(self, other: Solution) -> Solution:
        """These cases and then those of another solution of the same frame."""
        arrays = (np.concatenate([getattr(one, name) for one in (self, other)]) for name in self._by_case)
        return Solution(self.prepared, self.loads.concatenated(other.loads), *arrays)

    def only(self, cases: IntArray) -> Solution:
        """Those of the cases alone, in that order."""
        arrays = (getattr(self, name)[cases] for name in self._by_case)
        return Solution(self.prepared, self.loads.only(*cases.tolist()), *arrays)

    @property
    def _by_case(self) -> list[str]:
        """The names of its arrays, all of which have the cases on their first axis."""
        return [one.name for one in fields(self) if one.name not in {"prepared", "loads"}]


def solve(
    frame: Frame | PreparedFrame,
    loads: Loads | LoadsBuilder,
    second_order: npt.ArrayLike | Sequence[str] = (False,),
    known: Mapping[int, SecondOrderResult] | None = None,
) -> Solution:
    """Solve all cases; those of `second_order`, (c,) booleans or their names, in the deformed shape.

    known : of the latter those that are solved already, as of `deformed_together`, by the case's number
    A frame that is solved several times is given as `PreparedFrame`, which keeps what its cases share.
    InputFault where the loads are not of the frame's shape, or not finite; Mechanism where something moves freely, SlackSystem
    where only slack cables would hold it, NoConvergence where no stable deformed shape is found,
    PoorSolution where a solution is not accurate enough.
    """
    prepared = frame if isinstance(frame, PreparedFrame) else PreparedFrame.of(frame)
    kept = prepared if prepared is frame else PreparedFrame.from_parts(prepared.parts)
    parts, frame = prepared.parts, prepared.frame
    loads = loads.build() if isinstance(loads, LoadsBuilder) else loads
    _refuse_foreign_loads(frame, loads)
    _refuse_unresisted_moments(parts, loads)
    deformed = _chosen(loads, second_order)
    answer = _Answer.empty(parts, len(deformed))
    _fill_linear(answer, prepared, loads, np.flatnonzero(~deformed))
    _fill_deformed(answer, prepared, loads, np.flatnonzero(deformed), known or {})
    reaction = np.where(frame.fixed, answer.internal_force - loads.nodal, 0)
    reaction = _with_grounds(frame, reaction)
    balance = _balance(answer, parts, loads, reaction, deformed)
    _count_unbalanced_nodes(answer, parts, loads, np.flatnonzero(deformed))
    _refuse_poor(loads.names, answer.error, balance)
    _refuse_excessive_movement(frame, loads.names, answer.u)
    u, reaction = np.asarray(answer.u, dtype=float), np.asarray(reaction, dtype=float)
    return Solution(
        kept, loads, u, reaction, answer.natural, answer.tension, answer.slack, deformed,
        balance, answer.error, answer.first_error,
    )  # fmt: skip


def _chosen(loads: Loads, second_order: npt.ArrayLike | Sequence[str]) -> BoolArray:
    """(c,), which cases are of second order, from booleans or names."""
    given = np.asarray(second_order)
    if given.dtype.kind == "U":
        chosen = np.zeros(len(loads.names), dtype=bool)
        chosen[[loads.case(name) for name in np.atleast_1d(given).tolist()]] = True
        return chosen
    if given.shape not in ((), (1,), (len(loads.names),)):
        wrong = f"has shape {given.shape} with {len(loads.names)} cases"
        raise InputFault("second_order", wrong, "name the cases, or give a boolean for each")
    return np.array(np.broadcast_to(given.astype(bool), len(loads.names)))


def _refuse_foreign_loads(frame: Frame, loads: Loads) -> None:
    """InputFault where load arrays are not of the shape of the frame, or not finite."""
    stretches, zeros = loads.stretches, Loads.zeros(frame)
    if not ((stretches.element >= 0) & (stretches.element < len(frame.ends))).all():
        cure = "build the loads on the frame that is solved"
        raise InputFault("loads: stretches", "name elements that the frame does not have", cure)
    wanted_shapes = (*(part.shape for part in zeros.arrays[:-1]), (0, len(stretches.element), 2, 6))
    for field, part, empty in zip(fields(loads)[1:], loads.arrays, wanted_shapes, strict=True):
        wanted = (len(loads.names), *empty[1:])
        if part.shape != wanted:
            raise InputFault(
                f"loads: {field.name}", f"has shape {part.shape} on a frame that needs {wanted}",
                "build the loads on the frame that is solved",
            )  # fmt: skip
        if not np.isfinite(part).all():
            raise InputFault(f"loads: {field.name}", "is not finite", "give finite numbers in SI")


def undeformed_solution(frame: Frame, loads: Loads) -> Solution:
    """The frame as drawn, without load or solving: for the natural frequencies of one that is free to move."""
    parts, cases = parts_of(frame), len(loads.names)
    empty = _Answer.empty(parts, cases)
    u, none, straight = empty.u.astype(float), np.zeros(cases), np.zeros(cases, dtype=bool)
    return Solution(
        PreparedFrame.from_parts(parts), loads, u, u, empty.natural, empty.tension, empty.slack, straight,
        none, none, none,
    )  # fmt: skip


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class _Answer(ArrayRecord):
    """Movements, forces and errors of all cases, being filled; `internal_force` is that of the nodes on all parts."""

    u: Real
    internal_force: Real
    natural: FloatArray
    tension: FloatArray
    slack: BoolArray
    error: FloatArray
    first_error: FloatArray

    @classmethod
    def empty(cls, parts: Parts, cases: int) -> _Answer:
        n, k = len(parts.frame.nodes), len(parts.frame.cables)
        u, internal_force = (np.zeros((cases, n, 6), dtype=EXTENDED) for _ in range(2))
        natural, slack = np.zeros((cases, len(parts.nodes), 6)), np.zeros((cases, k), bool)
        return cls(u, internal_force, natural, np.zeros((cases, k)), slack, *np.zeros((2, cases)))


def _fill_linear(answer: _Answer, prepared: PreparedFrame, loads: Loads, cases: npt.NDArray[np.intp]) -> None:
    if not len(cases):
        return
    if len(cases) == 1 and not loads.has_load(int(cases[0])):
        done = prepared.under_pretension
    else:
        some = loads if len(cases) == len(loads.names) else loads.only(*cases)
        done = solve_linear(prepared.parts, some, prepared.factors)
    answer.u[cases], answer.internal_force[cases] = done.state.u, done.state.internal_force
    answer.natural[cases], answer.tension[cases] = done.state.natural, done.state.tension
    answer.slack[cases] = done.slack
    answer.error[cases], answer.first_error[cases] = done.error, done.first_error


def _fill_deformed(
    answer: _Answer,
    prepared: PreparedFrame,
    loads: Loads,
    cases: npt.NDArray[np.intp],
    known: Mapping[int, SecondOrderResult],
) -> None:
    if not len(cases):
        return
    before, found = prepared.pretensioned, dict(known)
    if before.answer is not None:
        found |= {case: before.answer for case in cases.tolist() if not loads.has_load(case)}
    left = [case for case in cases.tolist() if case not in found]
    solved = solve_second_order(prepared.parts, loads.only(*left), before.unstressed_length, before.shape)
    found |= zip(left, solved, strict=True)
    for case in cases.tolist():
        done = found[case]
        answer.u[case], answer.internal_force[case] = done.displacement, done.internal_force
        answer.natural[case], answer.tension[case] = done.natural, done.tension
        answer.slack[case] = done.tension <= 0
        answer.error[case] = answer.first_error[case] = done.error


def _with_grounds(frame: Frame, reaction: Real) -> Real:
    """Reactions with those of hidden ground nodes moved to the nodes of their springs."""
    hidden = np.flatnonzero(frame.ground_nodes >= 0)
    shown = reaction.copy()
    shown[:, hidden] = 0
    np.add.at(shown.swapaxes(0, 1), frame.ground_nodes[hidden], reaction[:, hidden].swapaxes(0, 1))
    return shown


def resultants(frame: Frame, loads: Loads) -> tuple[FloatArray, FloatArray]:
    """Points (k, 3) and, per case, forces and moments (c, k, 6) there: loads at nodes, and those along beams as resultants."""
    line = np.einsum("mij,cmi->cmj", frame.axes, loads.line) * frame.length[:, None]
    whole = [loads.nodal, np.concatenate([line, np.zeros_like(line)], axis=2)]
    stretches, which = loads.stretches, loads.stretches.element
    begin, end = stretches.extents(frame.length)
    near, far = stretches.load[:, :, 0], stretches.load[:, :, 1]
    of_stretches = (near + far) / 2 * (end - begin)[:, None]
    first = (far - near)[..., :3] * ((end - begin) ** 2 / 12)[:, None]
    of_stretches[..., 3:] += cross(np.broadcast_to([1.0, 0.0, 0.0], first.shape), first)
    turned = np.einsum("pij,cpei->cpej", frame.axes[which], of_stretches.reshape(*first.shape[:2], 2, 3))
    middle = frame.end_points[which, 0] + frame.axes[which, 0] * ((begin + end) / 2)[:, None]
    points = np.concatenate([frame.nodes, frame.end_points.mean(axis=1), middle])
    return points, np.concatenate([*whole, turned.reshape(of_stretches.shape)], axis=1)


def _balance(
    answer: _Answer, parts: Parts, loads: Loads, reaction: Real, second_order: BoolArray
) -> FloatArray:
    """Relative imbalance per case: resultant force, and moment about the frame's middle over its size.

    In a deformed shape loads and reactions act at the displaced nodes, line loads as equivalent nodal loads.
    """
    result = np.zeros(len(second_order))
    frame, straight = parts.frame, np.flatnonzero(~second_order)
    if len(straight):
        some = loads if len(straight) == len(second_order) else loads.only(*straight)
        points, applied = resultants(frame, some) if some.loaded_elements.any() else (frame.nodes, some.nodal)
        places = np.concatenate([points, frame.nodes])
        both = np.concatenate([applied, reaction[straight]], axis=1)
        least = _least_force(answer, parts, loads, EXTENDED)[straight]
        result[straight] = _imbalance(frame, both, places, least)
    deformed = np.flatnonzero(second_order)
    if len(deformed):
        some = loads if len(deformed) == len(second_order) else loads.only(*deformed)
        both = some.nodal - line_load_share(parts, some) + reaction[deformed]
        least = _least_force(answer, parts, loads, np.float64)[deformed] + _least_strain(frame)
        result[deformed] = _imbalance(frame, both, frame.nodes + answer.u[deformed, :, :3], least)
    return result


def _count_unbalanced_nodes(answer: _Answer, parts: Parts, loads: Loads, cases: npt.NDArray[np.intp]) -> None:
    """In a deformed shape the error is at least the largest force out of balance at a free node, over the largest in a part.

    A correction that is small for the frame can be large for a short element: neither its size nor the balance of the whole
    frame shows what it does to the forces there. Moments are taken over the frame's size.
    """
    if not len(cases):
        return
    residual = np.asarray(loads.nodal[cases] - answer.internal_force[cases], dtype=float)
    free = np.abs(parts.movements(parts.unknowns(residual)))
    unbalanced = np.maximum(free[..., :3], free[..., 3:] / parts.frame.size).max(axis=(1, 2), initial=0.0)
    natural = np.abs(answer.natural[cases])
    largest = np.maximum(natural[..., 0], natural[..., 1:].max(axis=-1) / parts.frame.size)
    least = _least_force(answer, parts, loads, np.float64)[cases] + _least_strain(parts.frame)
    size = (
        np.maximum(largest.max(axis=1, initial=0.0), answer.tension[cases].max(axis=1, initial=0.0)) + least
    )
    relative = np.divide(unbalanced, size, out=np.zeros_like(size), where=size > 0)
    answer.error[cases] = np.maximum(answer.error[cases], relative)


def balance_of(solution: Solution) -> FloatArray:
    """(c,), the relative imbalance of a solution, from its loads, reactions and internal forces."""
    u = solution.displacement
    answer = _Answer(
        u, u[:, :0], solution.natural, solution.tension, solution.slack, solution.error, solution.first_error
    )
    return _balance(answer, solution.parts, solution.loads, solution.reactions, solution.second_order)


def _imbalance(frame: Frame, both: Real, places: Real, least: FloatArray) -> FloatArray:
    """(c,): forces and moments `both` (c, points, 6) at `places` ([c,] points, 3), summed over the sum of their sizes.

    least : (c,), N, below which the sum is rounding
    """
    acting = both.any(axis=(0, 2))
    arms = places[..., acting, :] - frame.nodes.mean(axis=0)
    both = both[:, acting].astype(EXTENDED)
    force = both[..., :3]
    moment = (both[..., 3:] + cross(arms, force)) / frame.size
    size = np.abs(force).sum(axis=(1, 2)) + np.abs(both[..., 3:]).sum(axis=(1, 2)) / frame.size
    size += least
    net = np.maximum(np.abs(force.sum(axis=1)).max(axis=1), np.abs(moment.sum(axis=1)).max(axis=1))
    return np.asarray(net / np.where(size > 0, size, 1), dtype=float)


def _least_force(
    answer: _Answer, parts: Parts, loads: Loads, precision: type[np.floating[Any]]
) -> FloatArray:
    """(c,), N, below which reactions are rounding of forces that balance within the frame.

    A frame whose pretension balances within itself, whose supports all move alike, or that expands freely has no other reactions.
    """
    to_force = np.array([1.0, *[1 / parts.frame.size] * 5])
    inner = (np.abs(answer.natural) * to_force).sum(axis=(1, 2)) + np.abs(answer.tension).sum(axis=1)
    cables = parts.frame.cables
    inner = inner + np.abs(cables.EA * cables.expansion * loads.cable_temperature_change).sum(axis=1)
    if loads.support_displacement.any() or loads.temperature_change.any():
        fixed_ends = fixed_end_forces(parts, loads.imposed_only())
        resisted = natural_forces(parts, loads.support_displacement, fixed_ends)
        force = internal_forces(parts, resisted, fixed_ends) / parts.frame.freedom_weights
        inner = inner + np.asarray(np.abs(force).sum(axis=(1, 2)), dtype=float)
    return np.asarray(ROUNDINGS_OF_FORCES * float(np.finfo(precision).eps) / REL_TOL_SOLUTION * inner)


def _least_strain(frame: Frame) -> float:
    """N, below which forces in a deformed shape are rounding."""
    return float(ROUNDINGS_OF_STRAIN * np.finfo(float).eps / REL_TOL_SOLUTION * frame.EA.max(initial=0.0))


def _refuse_unresisted_moments(parts: Parts, loads: Loads) -> None:
    """Mechanism where a moment acts on a rotation that nothing resists."""
    moment = loads.nodal[:, parts.unresisted_loads, 3:]
    loose = np.abs(
        np.einsum("nij,cnj->cni", parts.rotation_projectors, moment)
    ) > REL_TOL_UNRESISTED_MOMENT * np.abs(loads.nodal).max(initial=0)
    for case, index in np.argwhere(loose.any(axis=2))[:1]:
        name = parts.frame.node_names.get(int(parts.unresisted_loads[index]), "a node")
        raise Mechanism(
            f"case '{loads.names[case]}' puts a moment on node '{name}', which nothing there resists; "
            "join a beam rigidly to it, or take the moment away",
            moving={name: tuple(f for f, m in zip(FREEDOMS[3:], loose[case, index], strict=True) if m)},
        )


def _refuse_poor(names: tuple[str, ...], error: FloatArray, balance: FloatArray) -> None:
    for name, e, b in zip(names, error, balance, strict=True):
        if not (e <= REL_TOL_SOLUTION and b <= REL_TOL_SOLUTION):
            raise PoorSolution(
                f"case '{name}' could not be solved accurately enough: estimated error {e:.1e}, imbalance {b:.1e} "
                f"(limit {REL_TOL_SOLUTION:.0e}); fewer elements, or stiffnesses nearer to one another, would cure it"
            )


def _refuse_excessive_movement(frame: Frame, names: tuple[str, ...], u: Real) -> None:
    """PoorSolution for the movement of a mechanism that only rounding of its coordinates restrains."""
    for name, case in zip(names, u, strict=True):
        far = float(np.abs(case[:, :3]).max(initial=0.0))
        if far > MAX_RELATIVE_MOVEMENT * frame.size:
            node = frame.node_names.get(int(np.abs(case[:, :3]).max(axis=1).argmax()), "a node within a beam")
            raise PoorSolution(
                f"case '{name}' moves node '{node}' by {far:.0e} m, far beyond the frame's own size: only the "
                "rounding of its coordinates restrains it; add a support or a beam that does"
            )


__all__ = [
    "BeamResult",
    "CableResult",
    "Solution",
    "balance_of",
    "resultants",
    "solve",
    "undeformed_solution",
]
