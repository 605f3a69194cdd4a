"""Springs in the deformed shape: each is at its first node, and its axes and arm rotate with its second node.

So a rotation of the whole frame does not strain them, and their forces on both nodes are in equilibrium in the deformed
positions. A spring to ground keeps its axes. The rotation between the nodes is measured as a vector in the turned axes, for
moderate relative rotations.

    r = x₁ − x₂,   d = (a − Rᵀ r,  −log(Rᵀ R₁)),   q = k d,   R the rotation of the second node, a the arm as drawn
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from femcore.base.arrays import EXTENDED, ArrayRecord, FloatArray
from femcore.base.rotations import inverse, product, rotation_matrices, rotation_vectors, turned_back
from femcore.elements.corotational_beam import Configuration
from femcore.elements.geometric_stiffness import offset_rotation_stiffness, skew
from femcore.frame.frame import Frame


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class DeformedSprings(ArrayRecord):
    """Springs in one shape.

    q     : (s, 6), natural forces, in axes turned with the second node;   axes : (s, 3, 3), rows
    lever : (s, 3), m, from the second node to the first, 0 where that is the ground
    """

    q: FloatArray
    k: FloatArray
    axes: FloatArray
    lever: FloatArray

    @property
    def force(self) -> FloatArray:
        """(s, 12), forces of the nodes on the springs, global axes."""
        return np.asarray(np.einsum("srj,sr->sj", self.modes, self.q))

    @property
    def modes(self) -> FloatArray:
        """G : (s, 6, 12), natural deformations per node movement, in this shape."""
        G = np.zeros((len(self.q), 6, 12))
        G[:, :3, 0:3], G[:, :3, 6:9] = -self.axes, self.axes
        G[:, :3, 9:12] = -self.axes @ skew(self.lever)
        G[:, 3:, 3:6], G[:, 3:, 9:12] = -self.axes, self.axes
        return G

    @property
    def stiffness(self) -> FloatArray:
        """(s, 12, 12), change of `force` with the node movements, symmetric part."""
        G = self.modes
        return np.swapaxes(G, 1, 2) @ (self.k[:, :, None] * G) + spring_geometric_stiffness(
            self.axes, self.lever, self.q
        )


def spring_geometric_stiffness(axes: FloatArray, lever: FloatArray, q: FloatArray) -> FloatArray:
    """(s, 12, 12), change of the forces on both nodes as the springs' axes and levers turn; symmetric part."""
    pull, couple = (np.einsum("sij,si->sj", axes, part) for part in (-q[:, :3], q[:, 3:]))
    K = np.zeros((len(q), 12, 12))
    K[:, 9:12, 0:3], K[:, 9:12, 6:9] = skew(pull), -skew(pull)
    K[:, 3:6, 9:12] = skew(couple) / 2
    K += np.swapaxes(K, 1, 2)
    K[:, 9:12, 9:12] = offset_rotation_stiffness(lever, pull)
    return K


def deform_springs(frame: Frame, shape: Configuration) -> DeformedSprings:
    """The springs in `shape`; differences in its precision."""
    first, second = frame.spring_ends.T
    turns, grounded = shape.turn[second].T, frame.ground_nodes[second] >= 0
    arm = (frame.nodes[first] - frame.nodes[second]).astype(EXTENDED)
    lever = arm + shape.move[first] - shape.move[second]
    stretch = arm - turned_back(turns, lever.T).T
    twist = -rotation_vectors(product(inverse(turns), shape.turn[first].T)).T
    q = frame.springs * np.concatenate([stretch, twist], axis=1).astype(float)
    axes = np.swapaxes(rotation_matrices(turns), 1, 2).astype(float)
    lever = np.where(grounded[:, None], 0.0, lever).astype(float)
    return DeformedSprings(q, frame.springs, axes, lever)
