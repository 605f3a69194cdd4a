"""How places of a linear frame act on one another, and exactly how that changes with stiffness.

A *port* is a generalised unit load with the movement on which it does work: forces on nodes and their movement; a couple across
an end spring, on both of its sides, and the spring's deformation; a strain imposed on an element and its natural forces.
Minimum potential energy makes the matrix H of port on port symmetric, and its derivative needs no further solution (unit-load
theorem: J.S. Przemieniecki, Theory of Matrix Structural Analysis, 1968, ch. 7, from memory):

    dH_ij = − Σ (d − ε − B s)_i ᵀ dk (d − ε − B s)_j − Σ s_iᵀ dS s_j

d = G u are natural deformations, ε imposed strains, s deformations of end springs, B what these take of d; k and S are the
stiffnesses of elements and end springs. In a linear frame each H_ij is so exact as one solution for all ports.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from femcore.base.arrays import ArrayRecord, FloatArray
from femcore.elements.beam import natural_stiffness, shear_parameters
from femcore.frame.frame import Frame, Loads
from femcore.solvers.prepared_frame import PreparedFrame
from femcore.solvers.solution import solve


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Ports(ArrayRecord):
    """Generalised unit loads on a frame, made empty and then filled.

    nodal  : (p, n, 6), N and N·m, global axes
    couple : (p, m, 12), N and N·m across end springs, spring axes, start then end: on the node's side, reversed on the beam's
    strain : (p, m, 6), imposed on the natural modes of beam elements
    """

    nodal: FloatArray
    couple: FloatArray
    strain: FloatArray

    @classmethod
    def zeros(cls, frame: Frame, count: int) -> Ports:
        """So many, without any load yet."""
        elements = len(frame.ends)
        return cls(
            np.zeros((count, len(frame.nodes), 6)),
            np.zeros((count, elements, 12)),
            np.zeros((count, elements, 6)),
        )


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class StiffnessChange(ArrayRecord):
    """Derivatives of a frame's stiffness with respect to some parameters.

    k : (g, p, 6), of the diagonal natural stiffness of parts, beams first, then springs
    S : (g, m, 12), N/m and N·m/rad, of the end springs of beam elements, spring axes, start then end
    """

    k: FloatArray
    S: FloatArray

    @classmethod
    def zeros(cls, frame: Frame, count: int) -> StiffnessChange:
        """So many parameters, none of which changes anything yet."""
        elements = len(frame.ends)
        return cls(np.zeros((count, elements + len(frame.springs), 6)), np.zeros((count, elements, 12)))


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class Influence(ArrayRecord):
    """What each port does at each other.

    matrix : (p, p), H, symmetric: deformation at port i per unit of port j
    inner  : (p, parts, 6), natural deformation that strains the parts;   slip : (p, m, 12), deformation of end springs
    """

    matrix: FloatArray
    inner: FloatArray
    slip: FloatArray

    @classmethod
    def of(cls, prepared: PreparedFrame, ports: Ports) -> Influence:
        """Solve once for all ports. The frame's cables count as bars; StructureFaults as of `solve`."""
        frame, ends, parts = prepared.frame, prepared.parts.ends, prepared.parts
        count, beams = len(ports.nodal), len(frame.ends)
        couple, strain = ports.couple[:, ends.which], ports.strain
        pushed = np.zeros((count, len(parts.nodes), 6))
        pushed[:, :beams] = np.einsum("eij,pej->pei", parts.k[:beams], strain)
        pushed[:, ends.which] += np.einsum("eij,pei->pej", ends.slip, couple)
        loads = Loads.zeros(frame, *(f"port {number + 1}" for number in range(count)))
        loads.nodal[:] = ports.nodal
        on_nodes = loads.nodal.swapaxes(0, 1)
        for chunk, G in parts.chunks():
            on_ends = np.einsum("eij,pei->epj", G, pushed[:, chunk]).reshape(len(G), count, 2, 6)
            for end in (0, 1):
                np.add.at(on_nodes, parts.nodes[chunk, end], on_ends[:, :, end])
        u = solve(prepared, loads).displacement
        inner = np.zeros((count, len(parts.nodes), 6))
        for chunk, G in parts.chunks():
            of_ends = u[:, parts.nodes[chunk]].reshape(count, len(G), 12)
            inner[:, chunk] = np.einsum("eij,pej->pei", G, of_ends)
        inner[:, :beams] -= strain
        slip = np.zeros((count, beams, 12))
        slip[:, ends.which] = np.einsum("eij,pej->pei", ends.slip, inner[:, ends.which]) + np.einsum(
            "eij,pej->pei", ends.M_inv, couple
        )
        inner[:, ends.which] -= np.einsum("eij,pej->pei", ends.modes, slip[:, ends.which])
        force = inner[:, :beams] * natural_stiffness(frame)
        matrix = (
            np.einsum("pni,qni->pq", ports.nodal, u)
            + np.einsum("pei,qei->pq", ports.couple, slip)
            + np.einsum("pei,qei->pq", ports.strain, force)
        )
        return cls(matrix, inner, slip)

    def derivative(self, change: StiffnessChange) -> FloatArray:
        """(g, p, p), exact, per unit of each parameter."""
        of_parts = np.einsum("pei,gei,qei->gpq", self.inner, change.k, self.inner, optimize=True)
        of_ends = np.einsum("pei,gei,qei->gpq", self.slip, change.S, self.slip, optimize=True)
        return np.asarray(-of_parts - of_ends)


def logarithmic_derivatives(frame: Frame) -> dict[str, FloatArray]:
    """(m, 6) each: derivative of every beam element's natural stiffness with respect to ln EA, EIy, EIz, GJ, GAy and GAz."""
    k = natural_stiffness(frame)
    phi_y, phi_z = shear_parameters(frame)
    found = {name: np.zeros_like(k) for name in ("EA", "EIy", "EIz", "GJ", "GAy", "GAz")}
    found["EA"][:, 0], found["GJ"][:, 1] = k[:, 0], k[:, 1]
    found["EIy"][:, 2], found["EIz"][:, 4] = k[:, 2], k[:, 4]
    for bending, shear, mode, phi in (("EIy", "GAz", 3, phi_z), ("EIz", "GAy", 5, phi_y)):
        # 12 EI/(L (1 + Φ)) with Φ in proportion to EI/GA
        found[bending][:, mode] = k[:, mode] / (1 + phi)
        found[shear][:, mode] = k[:, mode] * phi / (1 + phi)
    return found


__all__ = ["Influence", "Ports", "StiffnessChange", "logarithmic_derivatives"]
