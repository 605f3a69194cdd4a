"""A bonded socket: rings side by side on one beam, from the joint's point on, and what holds its end along it.

The beam between the rings is elastic: of its own GJ, EA, EI and GA it twists, stretches, bends and shears. Load enters at the
joint's point and meets the rings one after another, so that the first takes more of a torque than its stiffness alone would give
it, and lever arms are worth less than between rigid points. From the last ring back, K what holds the beam at a ring and F the
flexibility of the beam from there to the ring before (of loads at its far end, T the rigid arm to it):

    K_before = K_ring + Tᵀ K (1 + F K)⁻¹ T,    F = ∫ T(s) c T(s)ᵀ ds,  c = diag(1/GA, 1/EA, 1/GA, 1/EI, 1/GJ, 1/EI)

(springs and beams in series and parallel; exact for Timoshenko's beam, checked against a frame of the same parts.) Two like rings
w apart on a rigid beam give about k w²/2 in roll and yaw from their stiffness k in the plane, beside their own tilt.

Axes: 2 along the beam, 1 and 3 across it, as a ring's; `joint` axes of a hull are given by `springs.stiffness_in_axes`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from femcore.base.arrays import FloatArray
from femcore.base.errors import InputFault
from models.strength.bonding.ring import Ring, ring_stiffness
from models.strength.bonding.ring_checks import ring_checks
from models.strength.bounds import require_positive
from models.strength.margins import Check, SafetyFactors
from models.strength.springs import displacements, rigid_arm_matrix

ALONG = 1
"""Index of the movement along the beam among the six freedoms of a ring."""
GAUSS_POINTS, GAUSS_WEIGHTS = np.polynomial.legendre.leggauss(2)
"""Exact for polynomials up to the third degree: flexibility along a beam is of the second."""


@dataclass(frozen=True)
class SocketBeamStiffness:
    """The beam between rings: EA, GJ, EI_vertical and EI_lateral (bent by M1 and by M3), GA_vertical, GA_lateral; N, N·m²."""

    EA: float
    GJ: float
    EI_vertical: float
    EI_lateral: float
    GA_vertical: float
    GA_lateral: float

    def __post_init__(self) -> None:
        require_positive(
            "socket's beam", EA=self.EA, GJ=self.GJ, EI_vertical=self.EI_vertical, EI_lateral=self.EI_lateral,
            GA_vertical=self.GA_vertical, GA_lateral=self.GA_lateral,
        )  # fmt: skip

    def flexibility(self, length: float) -> FloatArray:
        """(6, 6), of loads at the far end of a piece of that length, m, signed along axis 2, held at its near end."""
        per_length = 1.0 / np.array(
            [self.GA_lateral, self.EA, self.GA_vertical, self.EI_vertical, self.GJ, self.EI_lateral]
        )
        to_end = length * (1 - GAUSS_POINTS) / 2
        T = rigid_arm_matrix(np.stack([0 * to_end, to_end, 0 * to_end], axis=1))
        return np.asarray(np.einsum("g,gij,j,gkj->ik", abs(length) / 2 * GAUSS_WEIGHTS, T, per_length, T))


@dataclass(frozen=True, eq=False)
class Socket:
    """Rings, and the position of each along the beam (axis 2) from the joint point, m.

    beam        : what it is between them; None: rigid
    end_support : N/m, what holds the beam along its axis at its last ring, beside the skins
    """

    rings: tuple[Ring, ...]
    places: tuple[float, ...]
    beam: SocketBeamStiffness | None = None
    end_support: float = 0.0

    def __post_init__(self) -> None:
        if not self.rings or len(self.rings) != len(self.places):
            raise InputFault("socket", "rings and their places do not match", "give one place for each ring")

    @property
    def arms(self) -> FloatArray:
        """(rings, 3), m, from the joint point."""
        return np.array([[0.0, place, 0.0] for place in self.places])


@dataclass(frozen=True, slots=True, eq=False)
class SocketResponse:
    """What carries loads (cases, 6) at the joint's point.

    rings       : (cases, rings, 6), N and N·m, each ring's part, at its own centre
    end_support : (cases,), N, on what holds the beam along its axis
    sections    : (cases, k, 6), N and N·m, what the beam passes on: at the joint's point, and at both ends of every piece of it
    beam_energy : (cases,), J, of the beam between the rings
    """

    rings: FloatArray
    end_support: FloatArray
    sections: FloatArray
    beam_energy: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class _Station:
    """A place with rings: their numbers, and T and F of the beam to it from the station before.

    K : (6, 6), of its rings, of the end's support where it is there, and of all beyond
    """

    numbers: tuple[int, ...]
    T: FloatArray
    F: FloatArray
    K: FloatArray
    is_last: bool

    @property
    def passed(self) -> FloatArray:
        """(6, 6): what the beam brings to this station, per movement of the one before at the end of a rigid arm to here."""
        return np.asarray(np.linalg.solve((np.eye(6) + self.F @ self.K).T, self.K.T).T)

    @property
    def from_before(self) -> FloatArray:
        """(6, 6), of all from here on, about the station before."""
        return np.asarray(self.T.T @ self.passed @ self.T)


def socket_stiffness(socket: Socket) -> FloatArray:
    """(6, 6), N/m, N and N·m/rad, about the joint point; rings at unlike places or of unlike stiffness
    couple.
    """
    K = sum((branch[0].from_before for branch in _branches(socket)), np.zeros((6, 6)))
    return np.asarray((K + K.T) / 2)


def socket_response(socket: Socket, loads: FloatArray) -> SocketResponse:
    """How rings, beam and the end's support share loads (cases, 6) at the joint point."""
    each = np.stack([ring_stiffness(ring) for ring in socket.rings])
    rings, sections = np.zeros((len(loads), len(each), 6)), [loads]
    end_support, energy = np.zeros(len(loads)), np.zeros(len(loads))
    at_joint = displacements(socket_stiffness(socket), loads)
    for branch in _branches(socket):
        moved = at_joint
        for station in branch:
            rigid = moved @ station.T.T
            brought = rigid @ station.passed.T
            moved = rigid - brought @ station.F.T
            energy += np.einsum("ci,ci->c", brought, rigid - moved) / 2
            rings[:, station.numbers] = np.einsum("rij,cj->cri", each[list(station.numbers)], moved)
            sections += [brought @ station.T, brought]
            if station.is_last:
                end_support = socket.end_support * moved[:, ALONG]
    return SocketResponse(rings, end_support, np.stack(sections, axis=1), energy)


def ring_loads(socket: Socket, loads: FloatArray) -> FloatArray:
    """(cases, rings, 6): each ring's part, at its own centre, of loads (cases, 6) at the joint point."""
    return socket_response(socket, loads).rings


def socket_checks(part: str, socket: Socket, loads: FloatArray, factors: SafetyFactors) -> tuple[Check, ...]:
    """All checks of all rings; parts are named "`part`, ring 1" and so on."""
    shared = ring_loads(socket, np.asarray(loads, dtype=float))
    return tuple(
        check
        for number, ring in enumerate(socket.rings)
        for check in ring_checks(f"{part}, ring {number + 1}", ring, shared[:, number], factors)
    )


def _branches(socket: Socket) -> list[list[_Station]]:
    """The stations outboard of the joint's point and those inboard of it, each from the point on; one at it is outboard."""
    outboard, inboard = ([p for p in socket.places if (p >= 0) == side] for side in (True, False))
    return [_branch(socket, sorted(set(places), key=abs)) for places in (outboard, inboard) if places]


def _branch(socket: Socket, places: list[float]) -> list[_Station]:
    stations: list[_Station] = []
    for before, place in reversed([*zip([0.0, *places], places, strict=False)]):
        numbers = tuple(number for number, at in enumerate(socket.places) if at == place)
        held = sum((ring_stiffness(socket.rings[number]) for number in numbers), np.zeros((6, 6)))
        is_last = place == max(socket.places)
        if is_last:
            held[ALONG, ALONG] += socket.end_support
        beyond = stations[0].from_before if stations else 0.0
        F = np.zeros((6, 6)) if socket.beam is None else socket.beam.flexibility(place - before)
        T = rigid_arm_matrix([0.0, place - before, 0.0])
        stations.insert(0, _Station(numbers, T, F, held + beyond, is_last))
    return stations
