"""Torsion of an open section that is held against warping at both ends of a length: sectorial theory with shear.

A twist rate that changes along the beam stretches the walls by the sectorial coordinate ω (V. Z. Vlasov, Thin-Walled Elastic
Beams; S. P. Timoshenko & J. M. Gere, Theory of Elastic Stability, 2nd ed., ch. 5; from memory). With χ the amplitude of the
warping, B its bimoment, and f the shear flexibility of the flow that goes with a warping torque Tω:

    θ′ = χ + f Tω,    Tω = −EIω χ″,    T = GJ θ′ + Tω,    χ = 0 at both ends

so that over the length L, with λ² = GJ/(EIω (1 + GJ f)), the twist is that of the one stiffness `restrained_torsion`.
Without f it is Timoshenko's θ = T/GJ · (L − 2/λ tanh λL/2). Warping across the walls' own thickness is left out.
In the walls it gives N_x = −A ω χ′ and the flow of Tω: with x from the middle of the length

    χ = T/GJ (1 − cosh λx/cosh λL/2),    Tω = T cosh λx/((1 + GJ f) cosh λL/2)
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import breadth_first_order

from femcore.base.arrays import ArrayRecord
from femcore.base.errors import InputFault
from femcore.sections.analysis import GAUSS_ABSCISSAE, GAUSS_WEIGHT, Analysis, _FlowSystem, shear_flow_at
from femcore.sections.properties import properties
from femcore.sections.recovery import STATIONS, WallFlows, recover

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from femcore.sections.outline import Section

    Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False, repr=False)
class Warping(ArrayRecord):
    """What resists warping torsion of an open section.

    omega             : (n,), m², sectorial coordinate of each point about the shear centre, its weighted mean zero
    EIw               : ∫ E ω² dA, N·m⁴
    GJ                : St-Venant's, N·m²
    shear_flexibility : energy of the shear flow of a unit warping torque, twice: 1/(N·m²)
    """

    omega: Array
    EIw: float
    GJ: float
    shear_flexibility: float

    def restrained_torsion(self, length: float) -> float:
        """The one GJ (N·m²) that twists as much over `length` (m) as the section held against warping at both ends."""
        if not length > 0.0:
            raise InputFault("held length", f"is {length:g} m", "give one above zero")
        f, own = self.shear_flexibility, 1 + self.GJ * self.shear_flexibility
        u = length / 2 * np.sqrt(self.GJ / (self.EIw * own))
        # 1 − tanh(u)/u, by its series where the difference would be rounding
        bent = u**2 / 3 * (1 - 2 * u**2 / 5) if u < 1e-3 else 1 - np.tanh(u) / u
        return float(own / (bent / self.GJ + f))


def warping(solved: Analysis) -> Warping:
    """The warping properties of an open section; InputFault where it has a closed cell."""
    section = solved.section
    if len(solved.cells):
        raise InputFault(
            section.name, "is closed, and hardly warps", "ask for the warping of open sections only"
        )
    beam = properties(solved)
    omega = _sectorial(section, beam.shear_centre)
    axial = solved.law.C[:, 0, 0]
    ends = omega[section.segments]
    omega = omega - (axial * section.length) @ ends.mean(axis=1) / (axial @ section.length)
    ends = omega[section.segments]
    square = (ends[:, 0] ** 2 + ends[:, 0] * ends[:, 1] + ends[:, 1] ** 2) / 3
    EIw = float((axial * section.length) @ square)
    q = _warping_flow(solved, omega, EIw, GAUSS_ABSCISSAE)
    flexibility = float(np.sum(section.length / solved.law.k * (q**2 @ GAUSS_WEIGHT)))
    return Warping(omega, EIw, beam.GJ, flexibility)


def recover_held(
    solved: Analysis,
    actions: ArrayLike,
    *,
    about: Array,
    length: float,
    place: float,
    stations: int = STATIONS,
) -> WallFlows:
    """`recover` for an open section that is held against warping at both ends of `length` (m).

    place : m, from the first end; there the torque about the shear centre goes partly into warping

    Raises InputFault for a closed section and for actions that are not six finite numbers each.
    """
    found, beam, own = (
        recover(solved, actions, about=about, stations=stations),
        properties(solved),
        warping(solved),
    )
    table, lever = np.atleast_2d(np.array(actions, float)), np.asarray(about, float) - beam.shear_centre
    torque = table[:, 3] + lever[0] * table[:, 2] - lever[1] * table[:, 1]
    shared = 1 + own.GJ * own.shear_flexibility
    rate = np.sqrt(own.GJ / (own.EIw * shared))
    x, cosh = place - length / 2, np.cosh(rate * length / 2)
    warped = np.cosh(rate * x) / (shared * cosh)
    slope = -rate * np.sinh(rate * x) / (own.GJ * cosh)
    alone = recover(solved, [0.0, 0.0, 0.0, 1.0, 0.0, 0.0], about=beam.shear_centre, stations=stations)
    section, at = solved.section, found.at
    ends = own.omega[section.segments]
    strain = -slope * (ends[:, :1] + (ends[:, 1:] - ends[:, :1]) * at)
    q = warped * _warping_flow(solved, own.omega, own.EIw, at)
    none = np.zeros_like(q)
    full = np.stack([wall.strains for wall in section.walls])[section.wall_of]
    four = np.stack([strain, q / solved.law.k[:, None], none, none], axis=-1)

    def added(key: str, more: Array) -> Array:
        change = more - warped * getattr(alone, key)[0]
        return np.asarray(getattr(found, key) + np.tensordot(torque, change, axes=0))

    return WallFlows(
        at=at,
        n_x=added("n_x", solved.law.C[:, 0, 0][:, None] * strain),
        q=added("q", q),
        m_x=added("m_x", none),
        m_xs=added("m_xs", none),
        v_n=added("v_n", none),
        strains=added("strains", np.einsum("mij,mgj->mgi", full, four)),
        place=found.place,
    )


def _warping_flow(solved: Analysis, omega: Array, EIw: float, at: Array) -> Array:
    """(m, k), N/m: shear flow at fractions `at` of each segment under a unit warping torque."""
    # N_x = −A ω χ′: its rate of change per unit warping torque drives the flow
    axial_gradient = (solved.law.C[:, 0, 0][:, None] * omega[solved.section.segments] / EIw)[:, :, None]
    flow = _FlowSystem(solved.section, solved.law, solved.cells).solve(axial_gradient, np.zeros((0, 1)))
    return np.asarray(shear_flow_at(solved.section, flow, axial_gradient, at)[..., 0])


def _sectorial(section: Section, pole: Array) -> Array:
    """(n,), m²: twice the area swept about the pole from the first point, along the walls."""
    count = len(section.points)
    start, end = section.segments.T
    a, b = section.points[start] - pole, section.points[end] - pole
    swept = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
    number = np.arange(1, len(swept) + 1)
    graph = coo_array((number, (start, end)), shape=(count, count))
    order, before = breadth_first_order(graph.tocsr(), 0, directed=False)
    step = dict(zip(zip(start.tolist(), end.tolist(), strict=True), swept.tolist(), strict=True))
    omega = np.zeros(count)
    for point in order[1:].tolist():
        last = int(before[point])
        omega[point] = omega[last] + step.get((last, point), 0.0) - step.get((point, last), 0.0)
    return omega
