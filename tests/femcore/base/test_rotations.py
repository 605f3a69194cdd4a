"""Rotations in extended precision against scipy's in double, and their own laws."""

import numpy as np
from scipy.spatial.transform import Rotation

from femcore.base.arrays import EXTENDED
from femcore.base.rotations import rotation_matrices, rotation_vectors

RNG = np.random.default_rng(7)
VECTORS = RNG.normal(size=(50, 3)) * np.geomspace(1e-12, 1.2, 50)[:, None]
ROUNDINGS = 20


def test_matrices_are_those_of_a_library():
    """The same matrices as scipy's, to the rounding of a double."""
    np.testing.assert_allclose(
        rotation_matrices(VECTORS), Rotation.from_rotvec(VECTORS).as_matrix(), atol=1e-15
    )


def test_vectors_come_back_to_the_rounding_of_their_precision():
    """Vector → matrix → vector keeps small angles too, relative to a turn of one radian."""
    given = VECTORS.astype(EXTENDED)
    back = rotation_vectors(rotation_matrices(given))
    assert np.abs(back - given).max() <= ROUNDINGS * np.finfo(EXTENDED).eps


def test_matrices_are_orthonormal_to_their_precision():
    """R Rᵀ = 1, and no rotation is the unit matrix."""
    R = rotation_matrices(VECTORS.astype(EXTENDED))
    unit = np.eye(3, dtype=EXTENDED)
    assert np.abs(R @ np.swapaxes(R, 1, 2) - unit).max() <= ROUNDINGS * np.finfo(EXTENDED).eps
    assert (rotation_matrices(np.zeros((1, 3))) == unit).all()
    assert (rotation_vectors(np.eye(3)[None]) == 0).all()
