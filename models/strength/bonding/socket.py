"""A bonded socket: rings side by side on one beam, between its end and the joint point.

The beam is taken as rigid from ring to ring. Torsion is shared by the rings' stiffness; roll, yaw and the
forces by statics with their lever arms and their own stiffness: K = Σ Tᵀ K_ring T about the joint point. Two
like rings w apart so give about k w²/2 in roll and yaw from their stiffness k in the plane, beside their own
tilt.

Axes: 2 along the beam, 1 and 3 across it, as a ring's; `joint` axes of a hull are given by `springs.turned`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from femcore.base.arrays import FloatArray
from femcore.base.errors import InputFault
from models.strength.bonding.ring import Ring, ring_stiffness
from models.strength.bonding.ring_checks import ring_checks
from models.strength.margins import Check, SafetyFactors
from models.strength.springs import displacements, rigid_arm_matrix, transferred_stiffness


@dataclass(frozen=True, eq=False)
class Socket:
    """Rings, and the position of each along the beam (axis 2) from the joint point, m."""

    rings: tuple[Ring, ...]
    places: tuple[float, ...]

    def __post_init__(self) -> None:
        if not self.rings or len(self.rings) != len(self.places):
            raise InputFault("socket", "rings and their places do not match", "give one place for each ring")

    @property
    def arms(self) -> FloatArray:
        """(rings, 3), m, from the joint point."""
        return np.array([[0.0, place, 0.0] for place in self.places])


def socket_stiffness(socket: Socket) -> FloatArray:
    """(6, 6), N/m, N and N·m/rad, about the joint point; rings at unlike places or of unlike stiffness
    couple.
    """
    each = np.stack([ring_stiffness(ring) for ring in socket.rings])
    return np.asarray(transferred_stiffness(each, socket.arms).sum(axis=0))


def ring_loads(socket: Socket, loads: FloatArray) -> FloatArray:
    """(cases, rings, 6): each ring's part, at its own centre, of loads (cases, 6) at the joint point."""
    moved = displacements(socket_stiffness(socket), loads)
    at_rings = np.einsum("rij,cj->cri", rigid_arm_matrix(socket.arms), moved)
    each = np.stack([ring_stiffness(ring) for ring in socket.rings])
    return np.asarray(np.einsum("rij,crj->cri", each, at_rings))


def socket_checks(part: str, socket: Socket, loads: FloatArray, factors: SafetyFactors) -> tuple[Check, ...]:
    """All checks of all rings; parts are named "`part`, ring 1" and so on."""
    shared = ring_loads(socket, np.asarray(loads, dtype=float))
    return tuple(
        check
        for number, ring in enumerate(socket.rings)
        for check in ring_checks(f"{part}, ring {number + 1}", ring, shared[:, number], factors)
    )
