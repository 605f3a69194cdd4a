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
from femcore.elements.corotational_beam import Configuration, beam_geometry
from femcore.frame.frame import Frame, Loads
from femcore.solvers.assembly import FixedEndForces, Parts, fixed_end_forces
from femcore.solvers.solution import Solution


def positions(solution: Solution) -> FloatArray:
    """(c, n, 3), m: positions of the nodes; as drawn where the case was solved so."""
    moved = np.where(solution.second_order[:, None, None], solution.displacement[..., :3], 0.0)
    return np.asarray(solution.frame.nodes + moved)


def arms(solution: Solution) -> FloatArray:
    """(c, m, 2, 3), m: rigid arms from the nodes to the ends of the elements, rotated with their nodes."""
    frame = solution.frame
    result = np.tile(frame.offsets, (len(solution.second_order), 1, 1, 1))
    for case in np.flatnonzero(solution.second_order).tolist():
        shape = Configuration.from_displacement(solution.displacement[case])
        turned = shape.turned(frame.offsets.reshape(-1, 3), frame.ends.reshape(-1))
        result[case] = turned.reshape(frame.offsets.shape)
    return result


def beam_forces(solution: Solution) -> FloatArray:
    """(c, m, 2, 6), N and N·m: forces of the nodes on the elements, at start and end node."""
    fixed_ends = fixed_end_forces(solution.parts, solution.loads, thermal=False)
    q = solution.natural[:, : len(solution.frame.ends)]
    q = q if fixed_ends is None else q - fixed_ends.q[:, : len(solution.frame.ends)]
    force: FloatArray = np.einsum("mri,cmr->cmi", _modes_as_drawn(solution.frame), q)
    for case in np.flatnonzero(solution.second_order).tolist():
        shape = Configuration.from_displacement(solution.displacement[case])
        force[case] = beam_geometry(solution.frame, shape).kinematics.forces(q[case, None])[0]
    return force.reshape(*q.shape[:2], 2, 6) - _on_nodes(
        solution.frame, len(solution.second_order), fixed_ends
    )


def line_forces(solution: Solution) -> FloatArray:
    """(c, m, 2, 6), N and N·m: equivalent nodal loads of line loads."""
    return line_forces_of(solution.parts, solution.loads)


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


def _modes_as_drawn(frame: Frame) -> FloatArray:
    return np.asarray(global_modes(frame.axes, frame.length, frame.offsets), dtype=float)
