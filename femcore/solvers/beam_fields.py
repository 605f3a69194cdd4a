"""Internal actions and movements within the beams of a solved frame, at any fraction of an element.

Actions are those on a cut face whose outward normal is +x of the beam: N, Vy, Vz, T, My, Mz. Loads along the beam are included
exactly; the deflected shape is the element's own (cubic, with shear) plus what these loads add between clamped ends.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol, TypeVar

import numpy as np
import numpy.typing as npt

from femcore.base.arrays import FloatArray, IntArray
from femcore.elements.beam import end_movements, local_modes, shape_functions, shear_parameters
from femcore.elements.stretch_loads import actions_of_stretches, deflection_of_stretches
from femcore.frame.frame import Frame, Loads
from femcore.frame.stretches import Stretches
from femcore.solvers.assembly import FixedEndForces, Parts, clamped_end_forces, fixed_end_forces

T = TypeVar("T")


class Solved(Protocol):
    """What of a solution the fields within its beams follow from."""

    @property
    def parts(self) -> Parts:
        """What the frame is made of."""

    @property
    def frame(self) -> Frame:
        """The frame."""

    @property
    def loads(self) -> Loads:
        """All cases."""

    @property
    def displacement(self) -> FloatArray:
        """(c, n, 6), m and rad."""

    @property
    def natural(self) -> FloatArray:
        """(c, p, 6), natural forces of beams, then springs."""

    def once(self, function: Callable[[Solved], T]) -> T:
        """What a function makes of it, worked out when first asked for, and kept."""


def loads_on_clamped(solution: Solved) -> FixedEndForces | None:
    """Forces of the loads along beams in clamped ones, temperature left out; None where there are none."""
    return solution.once(_loads_on_clamped)


def _loads_on_clamped(solution: Solved) -> FixedEndForces | None:
    return fixed_end_forces(solution.parts, solution.loads, thermal=False)


def end_forces(solution: Solved) -> FloatArray:
    """p : (c, m, 12), forces and moments on the ends of each beam element, beam axes, start then end."""
    return solution.once(_end_forces)


def _end_forces(solution: Solved) -> FloatArray:
    frame = solution.frame
    q = solution.natural[:, : len(frame.ends)]
    p = np.einsum("mri,cmr->cmi", local_modes(frame.length), q)
    fixed_ends = loads_on_clamped(solution)
    return np.asarray(p if fixed_ends is None else p + fixed_ends.p)


def axial_forces(solution: Solved, case: int) -> FloatArray:
    """(m, 2), N, tension positive: at the start and at the end of each beam element in one case, loads along it included.

    `natural` holds the mean along an element.
    """
    ends = np.repeat(solution.natural[case, : len(solution.frame.ends), :1], 2, axis=1)
    fixed_ends = loads_on_clamped(solution)
    return ends if fixed_ends is None else ends + fixed_ends.p[case][:, [0, 6]] * [-1.0, 1.0]


def actions_at(solution: Solved, elements: npt.ArrayLike, xi: npt.ArrayLike) -> FloatArray:
    """(c, k, 6), internal actions at the fractions `xi` (k,) of the length of `elements` (k,)."""
    which, x = np.asarray(elements), np.asarray(xi, dtype=float)
    frame = solution.frame
    at, line = x * frame.length[which], solution.loads.line[:, which]
    start = -end_forces(solution)[:, which, :6]
    result = start.copy()
    result[..., :3] -= line * at[:, None]
    # dMy/dx = Vz and dMz/dx = −Vy, integrated from the start
    result[..., 4] += start[..., 2] * at - line[..., 2] * at**2 / 2
    result[..., 5] -= start[..., 1] * at - line[..., 1] * at**2 / 2
    stretches = solution.loads.stretches
    point, row = _points_and_stretches(which, stretches)
    if len(row):
        begin, end = (edge[row] for edge in stretches.extents(frame.length))
        taken = actions_of_stretches(stretches.load[:, row], begin, end, at[point])
        np.add.at(result.swapaxes(0, 1), point, taken.swapaxes(0, 1))
    return np.asarray(result)


def _points_and_stretches(which: IntArray, stretches: Stretches) -> tuple[IntArray, IntArray]:
    """(r,), (r,): pairs of a point on the elements `which` (k,) and a stretch of the same element."""
    point, row = np.nonzero(which[:, None] == stretches.element)
    return point, row


def element_end_movements(solution: Solved) -> FloatArray:
    """v : (c, m, 12), movements of the elements' own ends, inside any end spring, beam axes."""
    parts, frame = solution.parts, solution.frame
    beams = len(frame.ends)
    u = solution.displacement[:, frame.ends].reshape(-1, beams, 12)
    v = end_movements(frame.axes, frame.offsets, u)
    ends = parts.ends
    if len(ends.which):
        B = local_modes(frame.length[ends.which])
        d = np.einsum("eri,cei->cer", B, v[:, ends.which])
        slip = np.einsum("eir,cer->cei", ends.slip, d)
        q0, p0 = clamped_end_forces(frame, solution.loads)
        slip = slip + ends.slip_of_load(q0[:, ends.which], p0[:, ends.which])
        v[:, ends.which] -= np.einsum("eij,cei->cej", ends.turn, slip)
    return v


def displacement_at(solution: Solved, elements: npt.ArrayLike, xi: npt.ArrayLike) -> FloatArray:
    """(c, k, 6), movement and section rotation at the fractions `xi` (k,) of `elements` (k,), global axes."""
    which, x = np.asarray(elements), np.asarray(xi, dtype=float)
    frame = solution.frame
    L, line = frame.length[which], solution.loads.line[:, which]
    phi_y, phi_z = (phi[which] for phi in shear_parameters(frame))
    local = np.einsum(
        "kij,ckj->cki", shape_functions(L, phi_y, phi_z, x), element_end_movements(solution)[:, which]
    )
    # bending in x–y goes with +rz, in x–z with −ry
    for move, turn, sign, EI, GA in ((1, 5, 1.0, frame.EIz, frame.GAy), (2, 4, -1.0, frame.EIy, frame.GAz)):
        lift, slope = _line_load_deflection(x, L, line[..., move], EI[which], GA[which])
        local[..., move] += lift
        local[..., turn] += sign * slope
    local[..., 0] += _safe_ratio(line[..., 0], 2 * frame.EA[which]) * L**2 * x * (1 - x)
    point, row = _points_and_stretches(which, solution.loads.stretches)
    if len(row):
        moved = deflection_of_stretches(frame, solution.loads.stretches, row, (x * L)[point])
        np.add.at(local.swapaxes(0, 1), point, moved.swapaxes(0, 1))
    both = local.reshape(*local.shape[:2], 2, 3)
    return np.asarray(np.einsum("kij,ckei->ckej", frame.axes[which], both)).reshape(local.shape)


def _safe_ratio(over: FloatArray, under: FloatArray) -> FloatArray:
    """over / under, 0 where there is no stiffness (a bar does not bend)."""
    return np.divide(
        over, under, out=np.zeros(np.broadcast_shapes(over.shape, under.shape)), where=under != 0
    )


def _line_load_deflection(
    x: FloatArray, L: FloatArray, w: FloatArray, EI: FloatArray, GA: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Lift and section rotation of a clamped beam under a uniform load w."""
    bending = _safe_ratio(w * L**4, 24 * EI)
    bent = bending * (x * (1 - x)) ** 2
    return bent + _safe_ratio(w * L**2, 2 * GA) * x * (1 - x), bending / L * 2 * x * (1 - x) * (1 - 2 * x)
