"""Joints whose springs are coupled, on a whole boat."""

import numpy as np
import pytest

from models.joints import JointStiffness
from tests.models.boats import MIRROR, joint_loads_on_hulls, load, plain

K = np.diag([3e6, 2e6, 5e6, 4e5, 6e5, 9e5])
LIFT = [load("beam centre", (-2e3, 0, 9e3), (0, 500, 0))]


def coupled(size):
    """A joint whose heave and roll, and whose surge and pitch, go together."""
    matrix = K.copy()
    for one, other in ((2, 3), (0, 4)):
        matrix[one, other] = matrix[other, one] = size * np.sqrt(K[one, one] * K[other, other])
    return JointStiffness.coupled(matrix)


def test_a_symmetric_load_loads_coupled_joints_as_mirror_images():
    """The starboard joint mirrors the port one, its coupling too."""
    port, starboard = joint_loads_on_hulls(plain(inboard=0.3), coupled(0.5), LIFT)[0]
    assert starboard == pytest.approx(port * MIRROR, rel=1e-9, abs=1e-6)


def test_without_coupling_it_is_the_six_springs():
    """A coupled joint without off-diagonal terms is a sprung one."""
    boat = plain(inboard=0.3)
    single = JointStiffness.in_boat_axes(np.diag(K))
    assert joint_loads_on_hulls(boat, coupled(0.0), LIFT) == pytest.approx(
        joint_loads_on_hulls(boat, single, LIFT), rel=1e-9, abs=1e-6
    )


def test_the_coupling_is_felt():
    """Heave that goes with roll changes what the joint attracts."""
    boat = plain(inboard=0.3)
    bending = [joint_loads_on_hulls(boat, coupled(size), LIFT)[0, 0, 3] for size in (0.0, 0.6)]
    assert abs(bending[1] / bending[0] - 1) > 0.01
