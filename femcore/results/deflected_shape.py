"""The deflected shape of a frame: points along its members, rigid arms and cables, undeformed and displaced, and the scale at
which displacements are visible. A mode of buckling or vibration is a displacement like any other.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from femcore.base import numbers
from femcore.base.arrays import ArrayRecord, BoolArray, FloatArray, IntArray
from femcore.frame.frame import Frame, Loads
from femcore.results.member_forces import displacement_at
from femcore.solvers.buckling import Modes
from femcore.solvers.solution import Solution

MAX_POINTS = 20_000
"""Points along the members of one picture; a larger frame gets fewer per element."""
SMOOTH_CURVE_POINTS = 240
"""Points that make a curve of few elements smooth."""
SHAPES_KEPT = 16
"""The latest ones: all pictures of a study show the same few solutions."""
DRAWN_DEFLECTION_RATIO = 0.1
"""The largest drawn displacement over the frame's size."""
REL_TOL_ZERO_MOVEMENT = 1e-7
"""Of the largest rotation times the frame's size: smaller displacements are rounding, and treated as zero."""
LARGE_ROTATION = 0.2
"""rad: where nodes rotate more than this in a deformed shape, elements are drawn as chords between their ends."""


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class DeflectedShape(ArrayRecord):
    """Points along every element, and how they move in every case.

    element  : (k,), the element that a point belongs to, points in order along it
    point    : (k, 3), m, undeformed;   movement : (c, k, 3), m, global axes
    """

    element: IntArray
    point: FloatArray
    movement: FloatArray


def deflected_shape(solution: Solution, per_element: int | None = None) -> DeflectedShape:
    """The deflected shape of all members in all cases; smooth to the eye where the steps per element are not given."""
    count = len(solution.frame.ends)
    if not count:
        none, cases = np.zeros((0, 3)), len(solution.names)
        return DeflectedShape(np.zeros(0, dtype=np.int64), none, np.zeros((cases, 0, 3)))
    wanted = per_element or int(np.clip(SMOOTH_CURVE_POINTS // count, 4, 16))
    return _in_steps(solution, max(1, min(wanted, MAX_POINTS // count)))


@lru_cache(maxsize=SHAPES_KEPT)
def _in_steps(solution: Solution, steps: int) -> DeflectedShape:
    """The same in so many pieces of every element."""
    frame, count = solution.frame, len(solution.frame.ends)
    element = np.repeat(np.arange(count), steps + 1)
    xi = np.tile(np.linspace(0.0, 1.0, steps + 1), count)
    start, end = np.moveaxis(frame.end_points[element], 1, 0)
    movement = displacement_at(solution, element, xi)[..., :3]
    first = element * (steps + 1)
    chord = movement[:, first] * (1 - xi[:, None]) + movement[:, first + steps] * xi[:, None]
    # an element without bending stiffness stays straight, however its nodes rotate; nor are large rotations slopes
    turned = np.abs(solution.displacement[..., 3:]).max(axis=(1, 2), initial=0.0)
    second_order = ~(solution.second_order & (turned > LARGE_ROTATION))
    movement = np.where(
        second_order[:, None, None] & has_bending_stiffness(frame)[element][:, None], movement, chord
    )
    return DeflectedShape(element, start + (end - start) * xi[:, None], movement)


def has_bending_stiffness(frame: Frame) -> BoolArray:
    """(m,): which elements have bending stiffness; the others are bars."""
    return np.asarray((frame.EIy > 0) | (frame.EIz > 0))


def rigid_arms(solution: Solution) -> tuple[FloatArray, FloatArray]:
    """Rigid arms from nodes to the ends of beams and cables: undeformed (a, 2, 3), m, and their movements (c, a, 2, 3)."""
    frame, cables = solution.frame, solution.frame.cables
    node = np.concatenate([frame.ends.ravel(), cables.nodes])
    arm = np.concatenate([frame.offsets.reshape(-1, 3), cables.arms])
    long = np.linalg.norm(arm, axis=1) > 0
    node, arm = node[long], arm[long]
    foot, turn = solution.displacement[:, node, :3], solution.displacement[:, node, 3:]
    rest = np.stack([frame.nodes[node], frame.nodes[node] + arm], axis=1)
    return rest, np.stack([foot, foot + np.cross(turn, arm)], axis=2)


def cable_segments(solution: Solution) -> tuple[FloatArray, FloatArray]:
    """Segments of the cables: undeformed (s, 2, 3), m, and the movements of their ends (c, s, 2, 3)."""
    frame, cables = solution.frame, solution.frame.cables
    foot, turn = solution.displacement[:, cables.nodes, :3], solution.displacement[:, cables.nodes, 3:]
    point, moved = frame.nodes[cables.nodes] + cables.arms, foot + np.cross(turn, cables.arms)
    return point[cables.segments], moved[:, cables.segments]


def deflection_scale(solutions: Iterable[Solution], case: int) -> float:
    """The factor, the same for all solutions, that makes the displacements of a case visible: 1, 2 or 5 times a power of ten."""
    sizes = [(solution.frame.size, max_displacement(solution, case)) for solution in solutions]
    allowed = [DRAWN_DEFLECTION_RATIO * size / moved for size, moved in sizes if moved > 0]
    return numbers.round_down_125(min(allowed)) if allowed else 1.0


def max_displacement(solution: Solution, case: int) -> float:
    """m: the largest displacement of nodes and members in a case; 0 where all only rotate, to rounding."""
    along = np.linalg.norm(deflected_shape(solution, 4).movement[case], axis=-1)
    at_nodes = np.linalg.norm(solution.displacement[case, :, :3], axis=-1)
    moved = max(numbers.largest(along), numbers.largest(at_nodes))
    turned = numbers.largest(solution.displacement[case, :, 3:]) * solution.frame.size
    return moved if moved > REL_TOL_ZERO_MOVEMENT * turned else 0.0


def mode_shape_solution(solution: Solution, case: int, modes: Modes) -> Solution:
    """The modes of a solved case as movements of the frame without loads: a case for each mode, named by its number."""
    frame, count = solution.frame, len(modes.values)
    names = tuple(str(number) for number in range(1, count + 1))
    none = np.zeros(count)
    return replace(
        solution,
        loads=Loads.zeros(frame, *names),
        displacement=modes.shapes,
        reactions=np.zeros_like(modes.shapes),
        natural=np.zeros((count, *solution.natural.shape[1:])),
        tension=np.repeat(solution.tension[[case]], count, axis=0),
        slack=np.repeat(solution.slack[[case]], count, axis=0),
        second_order=np.zeros(count, dtype=bool),
        balance=none, error=none, first_error=none,
    )  # fmt: skip
