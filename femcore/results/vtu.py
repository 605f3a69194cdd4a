"""A solved frame as a VTU file, for any viewer of finite-element results: movements and forces of every case.

Each beam element is one straight cell between its own ends, inside rigid offsets and end springs, so that a joint's slip is
visible; points are not shared. For each case, called `CASE: …`: point data `movement m` and `rotation rad` (vectors), and cell
data `N N`, `Vy N`, `Vz N`, `T N·m`, `My N·m`, `Mz N·m` at the middles of elements. Cable segments follow as further cells, their
tension as N. Cell data `member` numbers the members in the frame's order.
"""

from __future__ import annotations

from pathlib import Path
from xml.sax.saxutils import escape

import numpy as np

from femcore.base.arrays import FloatArray, IntArray
from femcore.base.numbers import unique_short_names
from femcore.frame.frame import ACTIONS
from femcore.results.deflected_shape import cable_segments
from femcore.results.member_forces import actions_at, displacement_at
from femcore.solvers.solution import Solution

UNITS = ("N", "N", "N", "N·m", "N·m", "N·m")
MAX_NAME_LENGTH = 60


def case_names(solution: Solution) -> list[str]:
    """What the cases are called in the file: on one line, not too long, all different."""
    return unique_short_names(solution.names, MAX_NAME_LENGTH)


def write_vtu(path: Path, solution: Solution) -> None:
    """Write all cases of a solution to one file."""
    import meshio  # type: ignore[import-untyped]  # noqa: PLC0415  (start-up time)

    frame = solution.frame
    ropes, ropes_moved = cable_segments(solution)
    moved, inside = _movements(solution, ropes_moved), _forces(solution)
    points: dict[str, FloatArray] = {}
    cells: dict[str, list[FloatArray | IntArray]] = {"member": [_member_of(solution)]}
    for case, name in enumerate(case_names(solution)):
        points[_safe(f"{name}: movement m")] = np.ascontiguousarray(moved[case, :, :3])
        points[_safe(f"{name}: rotation rad")] = np.ascontiguousarray(moved[case, :, 3:])
        for number, (action, unit) in enumerate(zip(ACTIONS, UNITS, strict=True)):
            cells[_safe(f"{name}: {action} {unit}")] = [np.ascontiguousarray(inside[case, :, number])]
    where = np.concatenate([frame.end_points, ropes]).reshape(-1, 3)
    pairs = np.arange(len(where)).reshape(-1, 2)
    mesh = meshio.Mesh(where, [("line", pairs)], point_data=points, cell_data=cells)
    mesh.write(path, file_format="vtu")


def _movements(solution: Solution, ropes_moved: FloatArray) -> FloatArray:
    """(c, points, 6): of the ends of all elements, then of all cable segments."""
    count, cables = len(solution.frame.ends), solution.frame.cables
    of_beams = displacement_at(solution, np.repeat(np.arange(count), 2), np.tile([0.0, 1.0], count))
    turned = solution.displacement[:, cables.nodes[cables.segments], 3:]
    of_cables = np.concatenate([ropes_moved, turned], axis=-1).reshape(len(of_beams), -1, 6)
    return np.concatenate([of_beams, of_cables], axis=1)


def _forces(solution: Solution) -> FloatArray:
    """(c, cells, 6): actions at the middles of elements, then the tension of cable segments as N."""
    count, owner = len(solution.frame.ends), solution.frame.cables.cable_of_segment
    of_beams = actions_at(solution, np.arange(count), np.full(count, 0.5))
    of_cables = np.zeros((len(of_beams), len(owner), 6))
    of_cables[..., 0] = solution.tension[:, owner]
    return np.concatenate([of_beams, of_cables], axis=1)


def _safe(name: str) -> str:
    """A name as the file's XML needs it, since the writer takes names as they are: in ASCII, with `&…;` for
    the rest.
    """
    return escape(name, {'"': "&quot;"}).encode("ascii", "xmlcharrefreplace").decode("ascii")


def cell_names(solution: Solution) -> list[str]:
    """What cell data `member` counts: the members, then the cables."""
    return [*solution.frame.members, *solution.frame.cables.names]


def _member_of(solution: Solution) -> IntArray:
    """(cells,): the number of the member or cable that each cell belongs to, in `cell_names`."""
    frame = solution.frame
    which = np.full(len(frame.ends), -1, dtype=np.int64)
    for number, member in enumerate(frame.members.values()):
        which[member.elements] = number
    return np.concatenate([which, len(frame.members) + frame.cables.cable_of_segment])
