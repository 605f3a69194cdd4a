"""What the solver's speed rests on gives what the plain way gives: forces by vectors, sums of node blocks, numbering."""

from itertools import pairwise

import numpy as np
import pytest
from scipy import sparse
from scipy.sparse.linalg import splu

from femcore.base.arrays import EXTENDED
from femcore.elements.kinematics import BeamKinematics, SpringKinematics, beam_kinematics, spring_kinematics
from femcore.solvers.assembly import internal_forces, natural_forces, parts_of, stiffness
from femcore.solvers.blocks import (
    SparsityPattern,
    factorise_symmetric,
    number_equations,
    sum_blocks,
    with_values,
)
from tests.femcore.frames import random_loaded_frame, single

SEEDS = range(6)


def by_triplets(parts):
    """The stiffness over all freedoms of the nodes, (6 n, 6 n), entry by entry."""
    size = parts.free.size
    total = np.zeros((size, size))
    freedoms = (6 * parts.nodes[:, :, None] + np.arange(6)).reshape(-1, 12)
    for part, G in parts.chunks():
        for rows, modes, k in zip(freedoms[part], G, parts.k[part], strict=True):
            total[np.ix_(rows, rows)] += modes.T @ k @ modes
    return total


@pytest.mark.parametrize("seed", SEEDS)
def test_the_assembled_matrix_is_the_sum_of_its_elements(seed):
    """Over the free freedoms, in the order of their numbers, K is the sum of GᵀkG, and symmetric."""
    parts = parts_of(random_loaded_frame(seed).frame)
    order = np.argsort(parts.free.reshape(-1))[np.count_nonzero(parts.free < 0) :]
    plain = by_triplets(parts)[np.ix_(order, order)]
    assert stiffness(parts).toarray() == pytest.approx(plain, rel=1e-12, abs=1e-13 * plain.max())


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("dtype", [np.float64, EXTENDED])
def test_vectors_and_matrix_tell_the_same_deformations_and_forces(seed, dtype):
    """d = G u and forces = Gᵀ q, for beams with offsets and for springs between apart nodes."""
    frame, rng = random_loaded_frame(seed).frame, np.random.default_rng(seed)
    beams = slice(0, len(frame.ends))
    for motion in (beam_kinematics(frame, beams, dtype), spring_kinematics(frame, dtype)):
        G = motion.modes()
        u, q = rng.standard_normal((2, len(G), 12)), rng.standard_normal((2, len(G), 6))
        assert motion.deformations(u.astype(dtype)) == pytest.approx(
            np.einsum("bij,cbj->cbi", G, u), abs=1e-12
        )
        assert motion.forces(q).astype(float) == pytest.approx(np.einsum("bij,cbi->cbj", G, q), abs=1e-12)


def carried(points, shift, turn, dtype):
    """Movements (b, 12) of both of each pair of points (b, 2, 3) under one rigid motion, in `dtype`."""
    move = shift.astype(dtype) + np.cross(turn.astype(dtype), points)
    return np.concatenate([move, np.broadcast_to(turn.astype(dtype), move.shape)], axis=2).reshape(-1, 12)


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("dtype", [np.float64, EXTENDED])
def test_a_rigid_motion_deforms_nothing_to_the_precision_asked_for(seed, dtype):
    """A part carried rigidly has no deformation beyond the rounding of its movements."""
    frame, rng = random_loaded_frame(seed).frame, np.random.default_rng(seed)
    shift, turn = rng.standard_normal((2, 3))
    beams = slice(0, len(frame.ends))
    kinematics = (
        (beam_kinematics(frame, beams, dtype), frame.ends),
        (spring_kinematics(frame, dtype), frame.spring_ends),
    )
    for motion, ends in kinematics:
        u = carried(frame.nodes[ends].astype(dtype), shift, turn, dtype)
        assert np.abs(motion.deformations(u[None])).max() < 300 * np.finfo(dtype).eps


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("dtype", [np.float64, EXTENDED])
def test_forces_on_a_part_balance_to_the_precision_asked_for(seed, dtype):
    """End forces and their moments about any point sum to zero, whatever the natural forces."""
    frame, rng = random_loaded_frame(seed).frame, np.random.default_rng(seed)
    beams = slice(0, len(frame.ends))
    kinematics = (
        (beam_kinematics(frame, beams, dtype), frame.ends),
        (spring_kinematics(frame, dtype), frame.spring_ends),
    )
    for motion, ends in kinematics:
        q = rng.standard_normal((1, len(ends), 6))
        both = motion.forces(q).reshape(-1, 2, 6)
        moment = both[..., 3:] + np.cross(frame.nodes[ends].astype(dtype), both[..., :3])
        assert np.abs(both[..., :3].sum(axis=1)).max() == 0
        assert np.abs(moment.sum(axis=1)).max() < 300 * np.finfo(dtype).eps


@pytest.mark.parametrize("seed", SEEDS)
def test_forces_in_both_precisions_agree(seed):
    """Internal forces of the same movements differ by rounding in double only."""
    parts = parts_of(random_loaded_frame(seed).frame)
    u = np.random.default_rng(seed).standard_normal((2, *parts.free.shape))
    double, wide = (
        internal_forces(parts, natural_forces(parts, u.astype(kind)), dtype=kind)
        for kind in (np.float64, EXTENDED)
    )
    assert np.abs(double - wide).max() < 1e-13 * np.abs(wide).max()


def random_graph(nodes, rng):
    """A chain through all nodes and as many random pairs."""
    pairs = [*pairwise(rng.permutation(nodes)), *(rng.choice(nodes, 2, replace=False) for _ in range(nodes))]
    return np.array([sorted(pair) for pair in pairs])


@pytest.mark.parametrize("seed", SEEDS)
def test_numbers_are_each_used_once(seed):
    """Free freedoms are numbered 0, 1, 2 … without a gap, those of a node together; fixed ones are −1."""
    rng = np.random.default_rng(seed)
    fixed = rng.random((30, 6)) < rng.choice([0.0, 0.3, 1.0], (30, 1))
    numbers = number_equations(fixed, random_graph(30, rng))
    assert np.array_equal(numbers < 0, fixed)
    assert np.array_equal(np.sort(numbers[~fixed]), np.arange(np.count_nonzero(~fixed)))
    for row in numbers:
        assert np.all(np.diff(row[row >= 0]) == 1)


def test_ordering_nodes_fills_in_no_more_than_ordering_freedoms():
    """Factors in the order of the nodes are no larger than those that SuperLU orders freedom by freedom."""
    rng = np.random.default_rng(3)
    pairs = random_graph(300, rng)
    fixed = np.zeros((300, 6), dtype=bool)
    ends = np.concatenate([pairs, pairs[:, ::-1], np.column_stack([np.arange(300)] * 2)])
    blocks = np.concatenate([-np.ones((2 * len(pairs), 6, 6)), np.tile(1e3 * np.eye(6) + 1, (300, 1, 1))])
    ours = sum_blocks(blocks, ends[:, 0], ends[:, 1], number_equations(fixed, pairs))
    plain = sum_blocks(blocks, ends[:, 0], ends[:, 1], np.arange(1800, dtype=np.int32).reshape(300, 6))
    symmetric = {"diag_pivot_thresh": 0.0, "options": {"SymmetricMode": True}}
    assert (
        factorise_symmetric(ours, "NATURAL").nnz
        < 1.1 * splu(plain, permc_spec="MMD_AT_PLUS_A", **symmetric).nnz
    )


def test_blocks_at_one_place_add_up():
    """Blocks that share a place are summed, and fixed freedoms leave their rows and columns out; a pattern sums others alike."""
    rng = np.random.default_rng(0)
    rows, columns = rng.integers(0, 4, (2, 40))
    blocks = rng.standard_normal((40, 6, 6))
    rows, columns = np.concatenate([rows, columns]), np.concatenate([columns, rows])
    blocks = np.concatenate([blocks, blocks.swapaxes(1, 2)])
    numbers = number_equations(rng.random((4, 6)) < 0.3, np.array([(0, 1), (1, 2), (2, 3)]))
    whole = np.zeros((4, 6, 4, 6))
    for row, column, block in zip(rows, columns, blocks, strict=True):
        whole[row, :, column, :] += block
    order = np.argsort(numbers.reshape(-1))[np.count_nonzero(numbers < 0) :]
    found = sum_blocks(blocks, rows, columns, numbers)
    assert isinstance(found, sparse.csc_array)
    assert found.has_canonical_format
    assert found.toarray() == pytest.approx(whole.reshape(24, 24)[np.ix_(order, order)], abs=1e-13)
    pattern = SparsityPattern.of(rows, columns, numbers)
    factors = (1.0, -2.0)
    copies = pattern.entries(np.stack([factor * blocks for factor in factors], axis=1))
    for factor, values in zip(factors, copies, strict=True):
        again = with_values(pattern.empty, values)
        assert again.has_canonical_format
        np.testing.assert_array_equal(again.toarray(), (factor * found).toarray())


def test_a_beam_without_free_freedoms_has_an_empty_matrix():
    """Where everything is fixed there is nothing to solve."""
    assert stiffness(parts_of(single(far=range(6)))).shape == (0, 0)


def test_motions_are_of_beams_then_springs():
    """Parts come beams first, springs last."""
    kinds = [type(motion) for _, motion in parts_of(random_loaded_frame(0).frame).kinematics(np.float64)]
    assert kinds == [BeamKinematics, SpringKinematics]
