"""Forces at the nodes, each case in the shape that it was solved in: as drawn, or deformed.

    c : cases;   n : nodes;   m : beam elements;   global axes throughout

All forces and moments are taken at the nodes, so that those on any part sum to zero there to rounding, in either shape. Line
loads are replaced by their equivalent nodal loads: statically the same as drawn, and those of the deformed shape.
"""

from __future__ import annotations

import numpy as np

from femcore.base.arrays import FloatArray
from femcore.base.vectors import cross
from femcore.elements.beam import global_modes
from femcore.elements.corotational_beam import BeamGeometry, Configuration, beam_geometry
from femcore.frame.frame import Frame, Loads
from femcore.solvers.assembly import FixedEndForces, Parts, fixed_end_forces
from femcore.solvers.beam_fields import loads_on_clamped
from femcore.solvers.side_by_side import by_copy, frames_side_by_side
from femcore.solvers.solution import Solution


def positions(solution: Solution) -> FloatArray:
    """(c, n, 3), m: positions of the nodes; as drawn where the case was solved so."""
    moved = np.where(solution.second_order[:, None, None], solution.displacement[..., :3], 0.0)
    return np.asarray(solution.frame.nodes + moved)


def arms(solution: Solution) -> FloatArray:
    """(c, m, 2, 3), m: rigid arms from the nodes to the ends of the elements, rotated with their nodes."""
    result = np.tile(solution.frame.offsets, (len(solution.second_order), 1, 1, 1))
    if solution.second_order.any():
        deformed = solution.once(_deformed_geometry)
        result[solution.second_order] = by_copy(deformed.offsets, solution.second_order.sum())
    return result


def beam_forces(solution: Solution) -> FloatArray:
    """(c, m, 2, 6), N and N·m: forces of the nodes on the elements, at start and end node."""
    return solution.once(_beam_forces)


def _beam_forces(solution: Solution) -> FloatArray:
    fixed_ends = loads_on_clamped(solution)
    q = solution.natural[:, : len(solution.frame.ends)]
    q = q if fixed_ends is None else q - fixed_ends.q[:, : len(solution.frame.ends)]
    force: FloatArray = np.einsum("mri,cmr->cmi", _modes_as_drawn(solution.frame), q)
    if solution.second_order.any():
        deformed, of_cases = solution.once(_deformed_geometry), q[solution.second_order]
        found = deformed.kinematics.forces(of_cases.reshape(1, -1, 6))
        force[solution.second_order] = by_copy(found[0], len(of_cases))
    return force.reshape(*q.shape[:2], 2, 6) - _on_nodes(
        solution.frame, len(solution.second_order), fixed_ends
    )


def line_forces(solution: Solution) -> FloatArray:
    """(c, m, 2, 6), N and N·m: equivalent nodal loads of line loads."""
    return solution.once(_line_forces)


def _line_forces(solution: Solution) -> FloatArray:
    return _on_nodes(solution.frame, len(solution.names), loads_on_clamped(solution))


def line_forces_of(parts: Parts, loads: Loads) -> FloatArray:
    """(c, m, 2, 6), N and N·m: the same of any loads on the frame, without a solution."""
    return _on_nodes(parts.frame, len(loads.names), fixed_end_forces(parts, loads, thermal=False))


def _on_nodes(frame: Frame, cases: int, fixed_ends: FixedEndForces | None) -> FloatArray:
    result = np.zeros((cases, len(frame.ends), 2, 6))
    if fixed_ends is None:
        return result
    q, p = fixed_ends.q[:, : len(frame.ends)], fixed_ends.p.reshape(*result.shape[:3], 2, 3)
    result -= np.einsum("mri,cmr->cmi", _modes_as_drawn(frame), q).reshape(result.shape)
    ends = np.einsum("mij,cmefi->cmefj", frame.axes, p)
    ends[..., 1, :] += cross(frame.offsets, ends[..., 0, :])
    return np.asarray(result - ends.reshape(result.shape))


def _deformed_geometry(solution: Solution) -> BeamGeometry:
    """Of the cases in their deformed shapes, side by side."""
    moved = solution.displacement[solution.second_order]
    shape = Configuration.from_displacement(moved.reshape(-1, 6))
    return beam_geometry(frames_side_by_side([solution.frame] * len(moved)), shape)


def _modes_as_drawn(frame: Frame) -> FloatArray:
    return np.asarray(global_modes(frame.axes, frame.length, frame.offsets), dtype=float)
