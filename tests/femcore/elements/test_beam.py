"""The beam element by its natural modes, against the textbook's matrix."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from femcore.elements.beam import (
    end_springs,
    fixed_end,
    global_modes,
    local_modes,
    natural_stiffness,
    shear_parameters,
)
from tests.femcore.frames import random_end, random_stiffness, single, turn

SEEDS = st.integers(0, 10_000)


def textbook_matrix(s, L):
    """K (12, 12) of a beam with shear deformation, beam axes.

    J.S. Przemieniecki, Theory of Matrix Structural Analysis, 1968, eq. 5.116, from memory.
    """
    K = np.zeros((12, 12))
    for i, j, k in ((0, 6, s.EA / L), (3, 9, s.GJ / L)):
        K[np.ix_([i, j], [i, j])] = np.array([[k, -k], [-k, k]])
    for EI, GA, freedoms, sign in ((s.EIz, s.GAy, [1, 5, 7, 11], 1), (s.EIy, s.GAz, [2, 4, 8, 10], -1)):
        phi = 12 * EI / (GA * L**2)
        a, b = 12, 6 * L * sign
        c, d = (4 + phi) * L**2, (2 - phi) * L**2
        block = np.array([[a, b, -a, b], [b, c, -b, d], [-a, -b, a, -b], [b, d, -b, c]])
        K[np.ix_(freedoms, freedoms)] = EI / (L**3 * (1 + phi)) * block
    return K


def drawn(seed):
    """A random beam: its frame of one element, stiffness, length."""
    rng = np.random.default_rng(seed)
    s, R = random_stiffness(rng), turn(rng)
    L = float(rng.uniform(0.5, 6))
    return single(s, to=L * R[0], up=R[2]), s, L


@given(seed=SEEDS)
@settings(max_examples=20)
def test_the_stiffness_is_the_textbooks(seed):
    """Bᵀ k B is the textbook's stiffness of a beam with shear deformation."""
    frame, s, L = drawn(seed)
    B, k = local_modes(frame.length)[0], natural_stiffness(frame)[0]
    K = textbook_matrix(s, L)
    np.testing.assert_allclose((B.T * k) @ B, K, rtol=1e-9, atol=1e-12 * np.abs(K).max())


@given(seed=SEEDS)
@settings(max_examples=20)
def test_global_modes_are_local_ones_turned(seed):
    """G is B after the movements of the nodes are carried over the rigid offsets and turned into beam
    axes.
    """
    rng = np.random.default_rng(seed)
    frame, _, _ = drawn(seed)
    offsets = rng.uniform(-0.3, 0.3, (1, 2, 3))
    carry = np.eye(12)
    for side in (0, 1):
        o = offsets[0, side]
        # u + θ × o = u − [o]× θ
        carry[6 * side : 6 * side + 3, 6 * side + 3 : 6 * side + 6] = -np.array(
            [[0, -o[2], o[1]], [o[2], 0, -o[0]], [-o[1], o[0], 0]]
        )
    expected = local_modes(frame.length)[0] @ np.kron(np.eye(4), frame.axes[0]) @ carry
    np.testing.assert_allclose(global_modes(frame.axes, frame.length, offsets)[0], expected, atol=1e-14)


def test_six_modes_and_six_rigid_motions():
    """Six of the twelve end freedoms' combinations deform the element, the other six are rigid motions."""
    B = local_modes(np.array([2.5]))[0]
    assert np.linalg.matrix_rank(B) == 6
    x = np.array([[0, 0, 0], [2.5, 0, 0]])
    for freedom in range(3):
        axis = np.eye(3)[freedom]
        moved = np.concatenate([np.concatenate([axis, 0 * axis])] * 2)
        turned = np.concatenate([np.concatenate([np.cross(axis, point), axis]) for point in x])
        np.testing.assert_allclose(B @ np.array([moved, turned]).T, 0, atol=1e-15)


@given(seed=SEEDS)
@settings(max_examples=20)
def test_fixed_end_forces_are_the_handbooks(seed):
    """A uniform load w on clamped ends leaves wL/2 and ±wL²/12 (Roark's table 8.1, case 2d, from memory)."""
    frame, _, L = drawn(seed)
    w = np.random.default_rng(seed).standard_normal((1, 3))
    q0, p0 = fixed_end(frame, w)
    p = local_modes(frame.length)[0].T @ q0[0] + p0[0]
    x, y, z = w[0] * L / 2
    expected = [-x, -y, -z, 0, z * L / 6, -y * L / 6, -x, -y, -z, 0, -z * L / 6, y * L / 6]
    np.testing.assert_allclose(p, expected, rtol=1e-12, atol=1e-15)


def test_shear_parameters_belong_to_their_planes():
    """Φy takes EIz with GAy, Φz takes EIy with GAz; without shear deformation both are 0."""
    frame, s, L = drawn(3)
    phi_y, phi_z = shear_parameters(frame)
    assert phi_y[0] == pytest.approx(12 * s.EIz / (s.GAy * L**2))
    assert phi_z[0] == pytest.approx(12 * s.EIy / (s.GAz * L**2))
    assert shear_parameters(single(type(s)(1.0, 1.0, 1.0, 1.0))) == (0, 0)


@given(seed=SEEDS)
@settings(max_examples=20)
def test_end_springs_are_condensed_exactly(seed):
    """The natural stiffness with end springs is the Schur complement of the beam and its springs over the
    inner ends.
    """
    rng = np.random.default_rng(seed)
    R, L = turn(rng), float(rng.uniform(0.5, 6))
    s = random_stiffness(rng)
    start, end = random_end(rng), random_end(rng)
    frame = single(
        s,
        to=L * R[0],
        up=R[2],
        start=type(start)(springs=start.springs, axes=start.axes),
        end=type(end)(springs=end.springs, axes=end.axes),
    )
    ends = end_springs(frame)
    if not len(ends.which):
        return
    springs = np.where(np.isinf(frame.end_springs[0]), 1e14, frame.end_springs[0])
    turned = np.zeros((12, 12))
    for block in range(4):
        part = slice(3 * block, 3 * block + 3)
        turned[part, part] = frame.spring_axes[0, block // 2]
    S = turned.T @ np.diag(springs) @ turned
    K = textbook_matrix(s, L)
    whole = S - S @ np.linalg.solve(K + S, S)
    B = local_modes(frame.length)[0]
    got = B.T @ ends.k[0] @ B
    np.testing.assert_allclose(got, whole, atol=1e-5 * np.abs(got).max())
    np.testing.assert_allclose(got, got.T, atol=1e-12 * np.abs(got).max())
    assert np.linalg.eigvalsh(got).min() > -1e-9 * np.abs(got).max()
