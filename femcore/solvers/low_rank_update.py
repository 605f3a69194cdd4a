"""A linear frame in which a few elements get another stiffness: their forces then, without solving the frame again.

    K′ = K + Gᵀ (k′ − k) G,    d′ = (1 + S (k′ − k))⁻¹ d,    S = G K⁻¹ Gᵀ,    q′ = k′ d′

G, k and k′ are the natural modes and stiffnesses of these elements alone, d how the loads deform them in the frame as it is,
S how their own unit natural forces do (an inverse corrected by the rank of what changes: J. Sherman & W.J. Morrison, Ann.
Math. Stat. 21 (1950) 124, and M.A. Woodbury, 1950, from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy.linalg

from femcore.base.arrays import ArrayRecord, FloatArray
from femcore.base.errors import Mechanism
from femcore.elements.beam import global_modes
from femcore.frame.frame import Loads
from femcore.solvers.prepared_frame import PreparedFrame
from femcore.solvers.solution import solve

REL_TOL_SINGULAR_UPDATE = 1e-11
"""Of the frame's stiffness along these elements: a smaller one with the new stiffness is treated as zero, a mechanism."""


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class LowRankUpdate(ArrayRecord):
    """A linear frame under nodal loads, reduced to a few of its elements.

    k : (e, 6, 6), their stiffness in it;   d : (c, 6 e), their natural deformations;   S : (6 e, 6 e), per unit natural force
    """

    k: FloatArray
    d: FloatArray
    S: FloatArray

    @classmethod
    def for_elements(cls, elements: Sequence[int], prepared: PreparedFrame, loads: Loads) -> LowRankUpdate:
        """Solve once for the loads and for the elements' unit natural forces. StructureFaults as of `solve`."""
        frame, some = prepared.frame, list(elements)
        G = np.asarray(global_modes(frame.axes[some], frame.length[some], frame.offsets[some]), dtype=float)
        cases, count = len(loads.names), 6 * len(some)
        units = tuple(f"unit {number + 1}" for number in range(count))
        both = loads.combined(np.eye(cases + count, cases), (*loads.names, *units))
        pushes = scipy.linalg.block_diag(*G).reshape(count, -1, 6)
        np.add.at(both.nodal[cases:].swapaxes(0, 1), frame.ends[some].reshape(-1), pushes.swapaxes(0, 1))
        u = solve(prepared, both).displacement[:, frame.ends[some]].reshape(len(both.names), len(some), 12)
        d = np.einsum("eij,cej->cei", G, u).reshape(len(u), count)
        return cls(prepared.parts.k[some], d[:cases], d[cases:].T)

    def forces(self, k: FloatArray) -> FloatArray:
        """q′ : (c, e, 6), natural forces of the elements with a stiffness `k` (e, 6, 6); Mechanism where that leaves one."""
        stiffer = np.eye(len(self.S)) + self.S @ scipy.linalg.block_diag(*(k - self.k))
        if np.abs(np.linalg.eigvals(stiffer)).min() < REL_TOL_SINGULAR_UPDATE:
            raise Mechanism("with that stiffness of these elements something moves without resistance")
        d = np.linalg.solve(stiffer, self.d.T).T.reshape(len(self.d), -1, 6)
        return np.asarray(np.einsum("eij,cej->cei", k, d))


__all__ = ["LowRankUpdate"]
