"""Ends of beams whose springs are coupled."""

from dataclasses import replace

import numpy as np
import pytest

from femcore.frame.builder import End, FrameBuilder, Stiffness
from femcore.frame.frame import Loads
from femcore.solvers.solution import solve

STIFF = Stiffness(EA=2e7, EIy=3e5, EIz=5e5, GJ=1e5, GAz=4e6)
SPRINGS = np.array([3e6, 2e6, 5e6, 4e4, 6e4, 9e4])


def beam(end, divide=2):
    """A beam on springs at its start, clamped at its end."""
    builder = FrameBuilder()
    builder.node("A", (0, 0, 0))
    builder.node("B", (1.5, 0.7, 0.4))
    builder.beam("AB", ["A", "B"], STIFF, divide=divide, start=end)
    builder.support("A", range(6))
    return builder.build()


def tip(frame, second_order=False):
    """(6,), movement of B under a force and a moment, with a line load."""
    loads = Loads.zeros(frame, "case")
    loads.nodal[0, 1] = (300, -200, 500, 40, 60, -30)
    loads.line[0, :, 2] = 100.0
    return solve(frame, loads, second_order).displacement[0, 1]


def arm_of(point):
    """(6, 6), movements at a point from those at the origin, for a rigid arm between them."""
    x, y, z = point
    reach = np.eye(6)
    reach[:3, 3:] = -np.array([[0, -z, y], [z, 0, -x], [-y, x, 0]])
    return reach


@pytest.mark.parametrize("second_order", [False, True])
def test_a_diagonal_matrix_is_six_springs(second_order):
    """A coupling without off-diagonal terms is what the six springs are."""
    single = beam(End(springs=tuple(SPRINGS), axes=np.eye(3)))
    whole = beam(End(springs=tuple(SPRINGS), axes=np.eye(3), matrix=np.diag(SPRINGS)))
    assert tip(whole, second_order) == pytest.approx(tip(single, second_order), rel=1e-10)


def test_springs_at_the_end_of_an_arm_couple():
    """Six springs that stand off the joint's point are coupled there, K = Tᵀ k T: the same as an offset to them and back."""
    arm = (0.1, -0.2, 0.15)
    matrix = arm_of(arm).T @ np.diag(SPRINGS) @ arm_of(arm)
    coupled = tip(beam(End(springs=tuple(np.diag(matrix)), axes=np.eye(3), matrix=matrix)))
    builder = FrameBuilder()
    for name, at in {"A": (0, 0, 0), "B": (1.5, 0.7, 0.4), "P": (0, 0, 0)}.items():
        builder.node(name, at)
    # the beam begins rigidly at P, supported by springs at the arm's tip: a spring is at its first node
    builder.node("S", arm)
    builder.beam("AB", ["P", "B"], STIFF, divide=2)
    builder.spring("S", "P", SPRINGS)
    builder.support("S", range(6))
    builder.support("A", range(6))
    assert tip(builder.build()) == pytest.approx(coupled, rel=1e-9)


def test_a_coupled_end_may_be_rigid_in_a_direction():
    """A direction that is rigid takes no part in the coupling, and is the limit of its own spring."""
    matrix = np.diag(SPRINGS) + 0.1 * np.sqrt(np.outer(SPRINGS, SPRINGS))
    rigid = np.diag(matrix).copy()
    rigid[2] = np.inf
    held = tip(beam(End(springs=tuple(rigid), axes=np.eye(3), matrix=matrix)))
    stiff = matrix.copy()
    stiff[2, :] = stiff[:, 2] = 0.0
    stiff[2, 2] = 1e13
    assert tip(beam(End(springs=tuple(np.diag(stiff)), axes=np.eye(3), matrix=stiff))) == pytest.approx(
        held, rel=1e-6
    )


def test_a_coupling_is_felt():
    """What is off the diagonal changes the answer: the law of diagonal matrices can fail."""
    frame = beam(End(springs=tuple(SPRINGS), axes=np.eye(3), matrix=np.diag(SPRINGS)))
    more = replace(frame, couplings=frame.couplings + 0.3 * np.sqrt(np.outer(SPRINGS, SPRINGS)))
    assert np.abs(tip(more) / tip(frame) - 1).max() > 0.01
