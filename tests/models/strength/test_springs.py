"""Six-by-six stiffness: moved, turned, in series."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from models.strength.springs import (
    displacements,
    loads_in_axes,
    rigid_arm_matrix,
    series_springs,
    stiffness_in_axes,
    transferred_loads,
    transferred_stiffness,
    unresisted_loads,
)

RNG = np.random.default_rng(7)
ROOT = RNG.normal(size=(6, 6))
K = ROOT @ ROOT.T
ARM = np.array([0.3, -0.2, 0.5])


def test_a_rigid_arm_moves_as_a_rigid_body():
    """The end of an arm moves by u + θ × a and turns by θ."""
    u = RNG.normal(size=6)
    np.testing.assert_allclose(rigid_arm_matrix(ARM) @ u, [*(u[:3] + np.cross(u[3:], ARM)), *u[3:]])


def test_loads_at_the_foot_are_statics():
    """A load at the end of an arm is at its foot the same force, and its moment with a × F."""
    p = RNG.normal(size=(4, 6))
    wanted = np.concatenate([p[:, :3], p[:, 3:] + np.cross(ARM, p[:, :3])], axis=1)
    np.testing.assert_allclose(transferred_loads(p, np.broadcast_to(ARM, (4, 3))), wanted)


def test_energy_does_not_ask_where_it_is_measured():
    """Moving the point of reference leaves the energy of a movement as it was."""
    u = RNG.normal(size=6)
    there = rigid_arm_matrix(ARM) @ u
    assert u @ transferred_stiffness(K, ARM) @ u == pytest.approx(there @ K @ there)


def test_energy_does_not_ask_in_which_axes():
    """Turning the axes leaves the energy as it was, and loads turn as movements do."""
    R = Rotation.from_euler("xyz", [0.3, -0.8, 1.1]).as_matrix()
    u, p = RNG.normal(size=6), RNG.normal(size=(2, 6))
    own = loads_in_axes(u[None], R)[0]
    assert u @ stiffness_in_axes(K, R) @ u == pytest.approx(own @ K @ own)
    np.testing.assert_allclose(loads_in_axes(p, R)[:, :3], p[:, :3] @ R.T)


def test_springs_in_series():
    """1/k adds; a rigid spring adds nothing and a free one leaves nothing."""
    np.testing.assert_allclose(series_springs(2.0, 3.0, np.inf), 1.2)
    assert series_springs(2.0, 0.0) == 0.0
    assert np.isposinf(series_springs(np.inf, np.inf))


def test_movement_undoes_stiffness():
    """Loads over a stiffness that holds everything give the movements back, whatever the units of its rows."""
    scale = np.diag([1e4, 1e4, 1e4, 1e-2, 1e-2, 1e-2])
    stiff = scale @ K @ scale
    u = RNG.normal(size=(3, 6))
    np.testing.assert_allclose(displacements(stiff, u @ stiff), u, rtol=1e-6)


def test_what_is_free_is_told():
    """A load in a freedom that nothing holds is handed back whole."""
    free = K.copy()
    free[3], free[:, 3] = 0, 0
    load = np.array([[0, 0, 0, 5.0, 0, 0]])
    np.testing.assert_allclose(unresisted_loads(free, load), load, atol=1e-9)
    np.testing.assert_allclose(unresisted_loads(K, RNG.normal(size=(2, 6))), 0, atol=1e-8)
