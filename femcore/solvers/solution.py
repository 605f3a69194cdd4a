"""Solve a frame under all its cases: each in the undeformed shape, or in its own; with error and balance beside it.

What is solved how stands in `linear` (one factorisation for all cases, cables taut or slack) and in `second_order`
(equilibrium in the deformed shape). Here the cases are told apart, and an answer that cannot be believed is refused.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Any

import numpy as np
import numpy.typing as npt

from femcore.base.arrays import BoolArray, FloatArray
from femcore.base.errors import Mechanism, PoorSolution
from femcore.base.vectors import cross
from femcore.elements.beam import Real
from femcore.frame.frame import FREEDOMS, Frame, Loads
from femcore.solvers.assembly import (
    EXTENDED,
    Parts,
    fixed_end_forces,
    internal_forces,
    natural_forces,
    parts_of,
)
from femcore.solvers.linear import solve_linear
from femcore.solvers.prepared_frame import PreparedFrame
from femcore.solvers.second_order import line_load_share, solve_second_order

REL_TOL_SOLUTION = 1e-6
"""Relative error or imbalance above which there is no answer."""
MAX_RELATIVE_MOVEMENT = 1e15
"""Times the frame's size: a larger movement is no answer."""


@dataclass(frozen=True, slots=True, eq=False)
class Solution:
    """The answer to all cases, in global axes.

    ready        : the frame that was solved
    displacement : (c, n, 6), m and rad, from the frame as drawn, so with what pretension does to it
    reaction     : (c, n, 6), N and N·m, what supports and springs to ground put on the frame
    natural      : (c, p, 6), natural forces of beams, then springs
    tension      : (c, k), N, of the cables;   slack : (c, k)
    bent         : (c,), whether the case was solved in its deformed shape
    balance      : (c,), resultant of loads and reactions over the sum of their sizes; 0 is perfect
    error        : (c,), relative size of the last correction, an estimate of the error of `displacement`
    first_error  : (c,), the same for the answer before refinement
    """

    prepared: PreparedFrame
    loads: Loads
    displacement: FloatArray
    reaction: FloatArray
    natural: FloatArray
    tension: FloatArray
    slack: BoolArray
    second_order: BoolArray
    balance: FloatArray
    error: FloatArray
    first_error: FloatArray

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
        kept = (one.name for one in fields(self) if one.name not in {"prepared", "loads"})
        arrays = (np.concatenate([getattr(self, name), getattr(other, name)]) for name in kept)
        return Solution(self.prepared, self.loads.concatenated(other.loads), *arrays)


def solve(frame: Frame | PreparedFrame, loads: Loads, second_order: npt.ArrayLike = (False,)) -> Solution:
    """Solve all cases, those where `second_order` (c,) in the deformed shape.

    A frame that is solved several times is given as `PreparedFrame`: what its cases share is then worked out once, and kept.
    Mechanism where something moves freely, SlackSystem where only slack cables would hold it, NoConvergence where no
    stable deformed shape is found, PoorSolution where an answer cannot be believed.
    """
    prepared = frame if isinstance(frame, PreparedFrame) else PreparedFrame.of(frame)
    kept = prepared if prepared is frame else PreparedFrame.from_parts(prepared.parts)
    parts, frame = prepared.parts, prepared.frame
    _refuse_unresisted_moments(parts, loads)
    second_order = np.array(np.broadcast_to(np.asarray(second_order, dtype=bool), len(loads.names)))
    answer = _Answer.empty(parts, len(second_order))
    _fill_linear(answer, prepared, loads, np.flatnonzero(~second_order))
    _fill_deformed(answer, prepared, loads, np.flatnonzero(second_order))
    reaction = np.where(frame.fixed, answer.internal_force - loads.nodal, 0)
    reaction = _with_grounds(frame, reaction)
    balance = _balance(answer, parts, loads, reaction, second_order)
    _refuse_poor(loads.names, answer.error, balance)
    _refuse_excessive_movement(frame, loads.names, answer.u)
    u, reaction = np.asarray(answer.u, dtype=float), np.asarray(reaction, dtype=float)
    return Solution(
        kept, loads, u, reaction, answer.natural, answer.tension, answer.slack, second_order,
        balance, answer.error, answer.first_error,
    )  # fmt: skip


def undeformed_solution(frame: Frame, loads: Loads) -> Solution:
    """The frame as drawn, where nothing acts: for one that is free to move, and is only asked how it vibrates."""
    parts, cases = parts_of(frame), len(loads.names)
    empty = _Answer.empty(parts, cases)
    u, none, straight = empty.u.astype(float), np.zeros(cases), np.zeros(cases, dtype=bool)
    return Solution(
        PreparedFrame.from_parts(parts),
        loads,
        u,
        u,
        empty.natural,
        empty.tension,
        empty.slack,
        straight,
        none,
        none,
        none,
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Answer:
    """Movements, forces and errors of all cases, being filled; `internal_force` is what the nodes put on all parts."""

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
        natural, tension = np.zeros((cases, len(parts.nodes), 6)), np.zeros((cases, k))
        return cls(
            u, internal_force, natural, tension, np.zeros((cases, k), bool), np.zeros(cases), np.zeros(cases)
        )


def _fill_linear(answer: _Answer, prepared: PreparedFrame, loads: Loads, cases: npt.NDArray[np.intp]) -> None:
    if not len(cases):
        return
    some = loads if len(cases) == len(loads.names) else loads.only(*cases)
    done = solve_linear(prepared.parts, some, prepared.factors)
    answer.u[cases], answer.internal_force[cases] = done.state.u, done.state.internal_force
    answer.natural[cases], answer.tension[cases], answer.slack[cases] = (
        done.state.natural,
        done.state.tension,
        done.slack,
    )
    answer.error[cases], answer.first_error[cases] = done.error, done.first_error


def _fill_deformed(
    answer: _Answer, prepared: PreparedFrame, loads: Loads, cases: npt.NDArray[np.intp]
) -> None:
    for case in cases:
        rest = prepared.pretensioned
        done = (
            solve_second_order(prepared.parts, loads, int(case), rest.unstressed_length, rest.shape)
            if rest.answer is None or loads.has_load(int(case))
            else rest.answer
        )
        answer.u[case], answer.internal_force[case] = done.displacement, done.internal_force
        answer.natural[case], answer.tension[case] = done.natural, done.tension
        answer.slack[case] = done.tension <= 0
        answer.error[case] = answer.first_error[case] = done.error


def _with_grounds(frame: Frame, reaction: Real) -> Real:
    """Reactions with those of hidden ground nodes given to the nodes whose springs they hold."""
    hidden = np.flatnonzero(frame.ground_nodes >= 0)
    shown = reaction.copy()
    shown[:, hidden] = 0
    np.add.at(shown.swapaxes(0, 1), frame.ground_nodes[hidden], reaction[:, hidden].swapaxes(0, 1))
    return shown


def resultants(frame: Frame, loads: Loads) -> tuple[FloatArray, FloatArray]:
    """Points (n + m, 3) and, per case, forces and moments (c, n + m, 6) there; line loads as resultants."""
    points = np.concatenate([frame.nodes, frame.end_points.mean(axis=1)])
    line = np.einsum("mij,cmi->cmj", frame.axes, loads.line) * frame.length[:, None]
    whole = np.concatenate([loads.nodal, np.concatenate([line, np.zeros_like(line)], axis=2)], axis=1)
    return points, whole


def _balance(
    answer: _Answer, parts: Parts, loads: Loads, reaction: Real, second_order: BoolArray
) -> FloatArray:
    """Relative imbalance per case: resultant force, and moment about the frame's middle over its size.

    In a deformed shape loads and reactions stand where the nodes have gone, line loads as their shares at the nodes.
    """
    result = np.zeros(len(second_order))
    frame, straight = parts.frame, np.flatnonzero(~second_order)
    if len(straight):
        some = loads if len(straight) == len(second_order) else loads.only(*straight)
        points, applied = resultants(frame, some) if loads.line.any() else (frame.nodes, some.nodal)
        places = np.concatenate([points, frame.nodes])
        both = np.concatenate([applied, reaction[straight]], axis=1)
        least = _least_force(answer, parts, loads, EXTENDED)[straight]
        result[straight] = _imbalance(frame, both, places, least)
    for case in np.flatnonzero(second_order):
        one = loads.only(int(case))
        both = one.nodal - line_load_share(parts, one) + reaction[[case]]
        least = _least_force(answer, parts, loads, np.float64)[[case]] + _least_strain(frame)
        result[case] = _imbalance(frame, both, frame.nodes + answer.u[case, :, :3], least)[0]
    return result


def balance_of(solution: Solution) -> FloatArray:
    """(c,), the relative imbalance of an answer, taken anew from its loads, reactions and inner forces."""
    u = solution.displacement
    answer = _Answer(
        u, u[:, :0], solution.natural, solution.tension, solution.slack, solution.error, solution.first_error
    )
    return _balance(answer, solution.parts, solution.loads, solution.reaction, solution.second_order)


def _imbalance(frame: Frame, both: Real, places: Real, least: FloatArray) -> FloatArray:
    """(c,): forces and moments `both` (c, points, 6) at `places` (points, 3), summed over the sum of their sizes.

    least : (c,), N, of which less is rounding
    """
    acting = both.any(axis=(0, 2))
    arms = places[acting] - frame.nodes.mean(axis=0)
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

    A frame that pretension stresses in itself, that supports move as one, or that warmth stretches without hindrance has no
    other reactions.
    """
    to_force = np.array([1.0, *[1 / parts.frame.size] * 5])
    inner = (np.abs(answer.natural) * to_force).sum(axis=(1, 2)) + np.abs(answer.tension).sum(axis=1)
    cables = parts.frame.cables
    inner = inner + np.abs(cables.EA * cables.expansion * loads.cable_temperature_change).sum(axis=1)
    if loads.support_displacement.any() or loads.temperature_change.any():
        fixed_ends = fixed_end_forces(parts, loads.imposed_only())
        resisted = natural_forces(parts, loads.support_displacement, fixed_ends)
        force = internal_forces(parts, resisted, fixed_ends) / np.array([1.0] * 3 + [parts.frame.size] * 3)
        inner = inner + np.asarray(np.abs(force).sum(axis=(1, 2)), dtype=float)
    return np.asarray(1e3 * float(np.finfo(precision).eps) / REL_TOL_SOLUTION * inner)


def _least_strain(frame: Frame) -> float:
    """N, of which less is rounding in a deformed shape, whose strains are differences of coordinates in double."""
    return float(10 * np.finfo(float).eps / REL_TOL_SOLUTION * frame.EA.max(initial=0.0))


def _refuse_unresisted_moments(parts: Parts, loads: Loads) -> None:
    """A moment on a rotation that nothing resists has no answer."""
    moment = loads.nodal[:, parts.unresisted_loads, 3:]
    loose = np.abs(np.einsum("nij,cnj->cni", parts.rotation_projectors, moment)) > 1e-9 * np.abs(
        loads.nodal
    ).max(initial=0)
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
                f"case '{name}' could not be solved well enough: estimated error {e:.1e}, imbalance {b:.1e} "
                f"(limit {REL_TOL_SOLUTION:.0e}); fewer elements, or stiffnesses nearer to one another, would cure it"
            )


def _refuse_excessive_movement(frame: Frame, names: tuple[str, ...], u: Real) -> None:
    """A movement that no frame could make is that of a mechanism which rounding of its drawing, no part, holds."""
    for name, case in zip(names, u, strict=True):
        far = float(np.abs(case[:, :3]).max(initial=0.0))
        if far > MAX_RELATIVE_MOVEMENT * frame.size:
            node = frame.node_names.get(int(np.abs(case[:, :3]).max(axis=1).argmax()), "a node within a beam")
            raise PoorSolution(
                f"case '{name}' moves node '{node}' by {far:.0e} m, far beyond the frame's own size: nothing but the "
                "rounding of its coordinates holds it; add a support or a beam that does"
            )


__all__ = ["Solution", "balance_of", "resultants", "solve", "undeformed_solution"]
