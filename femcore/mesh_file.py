"""A solved frame as a VTU file, for any viewer of finite-element results: movements and forces of every case.

Each beam element is one straight cell between its own ends, inside rigid offsets and end springs, so that a
joint's slip is seen; points are not shared. For each case, called `CASE: …`: point data `movement m` and
`rotation rad` (vectors), and cell data `N N`, `Vy N`, `Vz N`, `T N·m`, `My N·m`, `Mz N·m` at the middles of
elements. Cell data `member` counts the members in the frame's order.
"""

from __future__ import annotations

from pathlib import Path
from xml.sax.saxutils import escape

import numpy as np

from femcore.actions import actions_at, displacement_at
from femcore.frame import ACTIONS, FloatArray, IntArray
from femcore.looks import short_names
from femcore.solve import Solution

UNITS = ("N", "N", "N", "N·m", "N·m", "N·m")
LONGEST = 60


def case_names(solution: Solution) -> list[str]:
    """What the cases are called in the file: on one line, not too long, all different."""
    return short_names(solution.names, LONGEST)


def write_vtu(path: Path, solution: Solution) -> None:
    """Write all cases of a solution to one file."""
    import meshio  # type: ignore[import-untyped]  # noqa: PLC0415  (start-up time)

    frame = solution.frame
    count = len(frame.ends)
    ends = np.repeat(np.arange(count), 2)
    moved = displacement_at(solution, ends, np.tile([0.0, 1.0], count))
    inside = actions_at(solution, np.arange(count), np.full(count, 0.5))
    points: dict[str, FloatArray] = {}
    cells: dict[str, list[FloatArray | IntArray]] = {"member": [_member_of(solution)]}
    for case, name in enumerate(case_names(solution)):
        points[_safe(f"{name}: movement m")] = np.ascontiguousarray(moved[case, :, :3])
        points[_safe(f"{name}: rotation rad")] = np.ascontiguousarray(moved[case, :, 3:])
        for number, (action, unit) in enumerate(zip(ACTIONS, UNITS, strict=True)):
            cells[_safe(f"{name}: {action} {unit}")] = [np.ascontiguousarray(inside[case, :, number])]
    pairs = np.arange(2 * count).reshape(count, 2)
    mesh = meshio.Mesh(frame.end_points.reshape(-1, 3), [("line", pairs)], point_data=points, cell_data=cells)
    mesh.write(path, file_format="vtu")


def _safe(name: str) -> str:
    """A name as the file's XML needs it, since the writer takes names as they are: in ASCII, with `&…;` for
    the rest.
    """
    return escape(name, {'"': "&quot;"}).encode("ascii", "xmlcharrefreplace").decode("ascii")


def _member_of(solution: Solution) -> IntArray:
    """(m,): the number of the member that each element belongs to."""
    which = np.full(len(solution.frame.ends), -1, dtype=np.int64)
    for number, member in enumerate(solution.frame.members.values()):
        which[member.elements] = number
    return which
