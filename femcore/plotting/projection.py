"""From where a frame is looked at: along one direction, from far away, so that parallel beams stay parallel.

A frame that lies in a plane of two axes and stays in it is best viewed square to that plane, as frames are drawn in books;
any other from a corner.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from femcore.base.arrays import FloatArray

if TYPE_CHECKING:
    from femcore.solvers.solution import Solution  # the renderer's process needs no solver

REL_TOL_PLANE = 1e-6
"""Of the largest beside it: less than this out of a plane is rounding."""


@dataclass(frozen=True, slots=True)
class View:
    """A viewpoint: azimuth about z from +x and elevation above the x–y plane, degrees; and what the axes are called."""

    azimuth: float = -143.0
    elevation: float = 24.0
    axes: tuple[str, str, str] = ("x", "y", "z")

    def project(self, points: npt.ArrayLike) -> FloatArray:
        """(…, 2): right and up on the paper, of points (…, 3)."""
        a, h = np.radians([self.azimuth, self.elevation])
        right = [-np.sin(a), np.cos(a), 0.0]
        up = [-np.cos(a) * np.sin(h), -np.sin(a) * np.sin(h), np.cos(h)]
        return np.asarray(np.asarray(points, dtype=float) @ np.array([right, up]).T)

    @property
    def view_direction(self) -> FloatArray:
        """(3,): the unit vector from the frame to the viewer."""
        a, h = np.radians([self.azimuth, self.elevation])
        return np.array([np.cos(a) * np.cos(h), np.sin(a) * np.cos(h), np.sin(h)])

    @property
    def normal_axis(self) -> int | None:
        """The axis (0, 1, 2) that points at the viewer, where one does: the view is then the plane of the two others."""
        along = np.abs(self.view_direction)
        return int(along.argmax()) if along.max() > 1 - 1e-12 else None


OBLIQUE_VIEW = View(-65.0, 25.0)
PLANE_VIEWS = {0: View(0.0, 0.0), 1: View(-90.0, 0.0), 2: View(-90.0, 90.0)}
"""By the axis that points at the viewer; the first of the two others points to the right, the second up."""


def choose_view(*solutions: Solution) -> View:
    """Square to the plane in which all solutions lie and move, x–z before x–y before y–z; from a corner if there is none."""
    return next(
        (PLANE_VIEWS[axis] for axis in (1, 2, 0) if all(_is_planar(s, axis) for s in solutions)), OBLIQUE_VIEW
    )


def _is_planar(solution: Solution, axis: int) -> bool:
    """Whether the frame is in a plane square to the axis, and loads and displacements keep it there."""
    frame, loads = solution.frame, solution.loads
    if np.ptp(frame.nodes[:, axis]) > REL_TOL_PLANE * frame.size:
        return False
    if np.abs(frame.offsets[..., axis]).max(initial=0.0) > REL_TOL_PLANE * frame.size:
        return False
    lines = np.einsum("mij,cmi->cmj", frame.axes, loads.mean_line)
    turns = [other for other in range(3) if other != axis]
    return all(
        _is_negligible(vectors[..., [axis]], vectors)
        and (turned is None or _is_negligible(turned[..., turns], turned))
        for vectors, turned in (
            (loads.nodal[..., :3], loads.nodal[..., 3:]),
            (
                lines,
                np.einsum(
                    "pij,cpsi->cpsj", frame.axes[loads.stretches.element], loads.stretches.load[..., 3:]
                ),
            ),
            (loads.support_displacement[..., :3], loads.support_displacement[..., 3:]),
            (solution.displacement[..., :3], solution.displacement[..., 3:]),
        )
    )


def _is_negligible(part: FloatArray, whole: FloatArray) -> bool:
    return bool(np.abs(part).max(initial=0.0) <= REL_TOL_PLANE * np.abs(whole).max(initial=0.0))
