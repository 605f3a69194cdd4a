"""Rotations in extended precision against scipy's in double, and their own laws."""

import numpy as np
from scipy.spatial.transform import Rotation

from femcore.base.arrays import EXTENDED
from femcore.base.rotations import (
    inverse,
    product,
    quaternions,
    rotation_matrices,
    rotation_vectors,
    turned,
    turned_back,
    vector_between,
)

RNG = np.random.default_rng(7)
VECTORS = RNG.normal(size=(3, 50)) * np.geomspace(1e-12, 0.9, 50)
OTHERS = RNG.normal(size=(3, 50))
ROUNDINGS = 20
EPS = np.finfo(EXTENDED).eps


def test_rotations_are_those_of_a_library():
    """The same quaternions, matrices, products and turned vectors as scipy's, to the rounding of a double."""
    ours, theirs = quaternions(VECTORS), Rotation.from_rotvec(VECTORS.T)
    np.testing.assert_allclose(ours.T.astype(float), theirs.as_quat(scalar_first=True), atol=1e-15)
    np.testing.assert_allclose(rotation_matrices(ours).astype(float), theirs.as_matrix(), atol=1e-15)
    np.testing.assert_allclose(turned(ours, OTHERS).T.astype(float), theirs.apply(OTHERS.T), atol=1e-14)
    back = theirs.inv().apply(OTHERS.T)
    np.testing.assert_allclose(turned_back(ours, OTHERS).T.astype(float), back, atol=1e-14)
    both = (Rotation.from_rotvec(OTHERS.T) * theirs).as_matrix()
    ours_after = product(quaternions(OTHERS), ours)
    np.testing.assert_allclose(rotation_matrices(ours_after).astype(float), both, atol=1e-14)


def test_vectors_come_back():
    """Vector → quaternion → vector keeps small angles too, relative to themselves, and takes the shorter way."""
    np.testing.assert_allclose(rotation_vectors(quaternions(VECTORS)).astype(float), VECTORS, rtol=1e-14)
    np.testing.assert_allclose(rotation_vectors(-quaternions(VECTORS)).astype(float), VECTORS, rtol=1e-14)
    assert (rotation_vectors(quaternions(np.zeros((3, 1)))) == 0).all()


def test_rotations_are_rigid_to_extended_precision():
    """Quaternions are of unit length, R Rᵀ = 1, lengths stay, and a rotation and its inverse are none."""
    turn, given = quaternions(VECTORS), OTHERS.astype(EXTENDED)
    R, unit = rotation_matrices(turn), np.eye(3, dtype=EXTENDED)
    assert np.abs((turn * turn).sum(axis=0) - 1).max() <= ROUNDINGS * EPS
    assert np.abs(R @ np.swapaxes(R, 1, 2) - unit).max() <= ROUNDINGS * EPS
    assert (
        np.abs(turned_back(turn, turned(turn, given)) - given).max() <= ROUNDINGS * EPS * np.abs(given).max()
    )
    assert np.abs(product(turn, inverse(turn))[1:]).max() <= ROUNDINGS * EPS


def test_a_small_difference_of_large_rotations_keeps_its_digits():
    """What turns a little further after a large rotation is found to the digits of extended precision beside a radian."""
    small = quaternions(1e-9 * OTHERS)
    large = quaternions(VECTORS)
    between = vector_between(large, product(large, small))
    assert np.abs(between - small[1:]).max() <= ROUNDINGS * EPS
