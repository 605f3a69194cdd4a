"""Back from beam actions to the walls: axial and shear flow along each wall, metal and ply stresses."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from femcore.base.arrays import ArrayRecord
from femcore.base.errors import InputFault
from femcore.laminates import PlyState, ply_state
from femcore.sections.analysis import Analysis, shear_flow_at, strain_matrix
from femcore.sections.properties import centres, transfer_matrix

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from femcore.sections.wall import Wall

    Array = NDArray[np.float64]
    Ints = NDArray[np.intp]

STATIONS = 5
SHEAR_SQUARED = 3.0
"""What τ² counts beside σ² in von Mises's stress."""


@dataclass(frozen=True, eq=False, repr=False)
class WallFlows(ArrayRecord):
    """Forces and moments per length in every wall; arrays are (cases, m, k): k places along each segment.

    at      : (k,), fractions of the segment's length
    n_x     : axial flow, N/m, tension positive
    q       : shear flow N_xs, N/m, positive along the segment from start to end
    m_x     : bending moment across the wall's thickness, N
    m_xs    : twisting moment across it, N (what twists an open wall)
    v_n     : through-thickness shear force that goes with ∂m_x/∂x, N/m, along n
    strains : (cases, m, k, 6), laminate strains and curvatures (ε_x, ε_s, γ_xs, κ_x, κ_s, κ_xs)
    place   : (m, k, 2), y and z, m
    """

    at: Array
    n_x: Array
    q: Array
    m_x: Array
    m_xs: Array
    v_n: Array
    strains: Array
    place: Array


@dataclass(frozen=True, eq=False, repr=False)
class MetalStress(ArrayRecord):
    """Stresses at both faces of the metal walls; arrays are (cases, metal segments, k, 2): faces at −n and
    +n.

    segments  : which segments are metal
    sigma     : axial, Pa
    tau       : shear, Pa
    von_mises : Pa, √(σ² + 3τ²)
    """

    segments: Ints
    sigma: Array
    tau: Array
    von_mises: Array


@dataclass(frozen=True, eq=False, repr=False)
class WallPlies(ArrayRecord):
    """Ply strains and stresses of the segments of one laminate wall.

    wall     : the wall
    segments : (w,), which segments are of it
    state    : arrays (cases, w, k, plies, 2, 3) in ply axes, as the laminate's recovery gives them
    """

    wall: Wall
    segments: Ints
    state: PlyState


def recover(
    solved: Analysis, actions: ArrayLike, *, about: ArrayLike | None = None, stations: int = STATIONS
) -> WallFlows:
    """Return the flows in every wall under `actions` (cases, 6) or (6,): N, Vy, Vz, T, My, Mz in N and N·m.

    about    : point (y, z), m, where all six act; left out, N, My and Mz act at the elastic centre and Vy,
               Vz and T at the
               shear centre, as a beam element gives them
    stations : places along each segment, ends included; odd, so that `resultants` integrates exactly

    Raises InputFault where the actions are not six finite numbers each.
    """
    table = six_actions(solved, actions)
    loads = _to_origin(solved, about) @ table.T
    at = np.linspace(0.0, 1.0, stations)
    section, law = solved.section, solved.law
    shape = strain_matrix(section, solved.origin, at)
    q = shear_flow_at(
        section, solved.flow @ loads, np.einsum("mec,cl->mel", solved.axial_gradient, loads), at
    )
    e = np.einsum("mgij,jl->mgil", shape, solved.strain @ loads)
    moments = np.einsum("mij,mgjl->mgil", law.C, e) + law.c[:, None, :, None] * q[:, :, None]
    strain_gradient = np.einsum("mi,mgij,jl->mgl", law.C[:, 1], shape, solved.strain_gradient @ loads)
    strain_gradient += (law.c[:, 1:2] * (solved.cell_flow_gradient @ loads))[:, None]
    gamma = q / law.k[:, None, None] - np.einsum("mi,mgil->mgl", law.c, e)
    four = np.stack([e[:, :, 0], gamma, e[:, :, 1], e[:, :, 2]], axis=2)
    full = np.stack([wall.strains for wall in section.walls])[section.wall_of]
    start, end = (section.points[section.segments[:, i]][:, None] for i in (0, 1))
    return WallFlows(
        at=at,
        n_x=np.moveaxis(moments[:, :, 0], -1, 0),
        q=np.moveaxis(q, -1, 0),
        m_x=np.moveaxis(moments[:, :, 1], -1, 0),
        m_xs=np.moveaxis(moments[:, :, 2], -1, 0),
        v_n=np.moveaxis(strain_gradient, -1, 0),
        strains=np.einsum("mij,mgjl->lmgi", full, four),
        place=start + at[:, None] * (end - start),
    )


def six_actions(solved: Analysis, actions: ArrayLike) -> Array:
    """(cases, 6): the table of actions (cases, 6) or (6,); InputFault where they are not six finite numbers each."""
    table = np.atleast_2d(np.array(actions, float))
    if table.ndim != 2 or table.shape[-1] != 6 or not np.isfinite(table).all():
        raise InputFault(
            solved.section.name, "is loaded by actions that are not six numbers", "give N, Vy, Vz, T, My, Mz"
        )
    return table


def resultants(solved: Analysis, flows: WallFlows, *, about: ArrayLike | None = None) -> Array:
    """(cases, 6): N, Vy, Vz, T, My, Mz of `flows`, integrated over the walls (Simpson's rule: exact for
    these polynomials).

    about : as in `recover`
    """
    section = solved.section
    weight = section.length[:, None] * _simpson(len(flows.at))
    place = flows.place - solved.origin
    ty, tz = section.tangent[:, None, 0], section.tangent[:, None, 1]
    lever = place[..., 0] * tz - place[..., 1] * ty
    along = place[..., 0] * ty + place[..., 1] * tz

    def integral(*terms: Array) -> Array:
        return np.asarray(np.einsum("mg,lmg->l", weight, np.sum(terms, axis=0)))

    at_origin = np.stack(
        [
            integral(flows.n_x),
            integral(flows.q * ty, -flows.v_n * tz),
            integral(flows.q * tz, flows.v_n * ty),
            integral(flows.q * lever, flows.v_n * along, -2.0 * flows.m_xs),
            integral(flows.n_x * place[..., 1], flows.m_x * ty),
            integral(-flows.n_x * place[..., 0], flows.m_x * tz),
        ]
    )
    return np.asarray(np.linalg.solve(_to_origin(solved, about), at_origin).T)


def metal_stress(solved: Analysis, flows: WallFlows) -> MetalStress:
    """Stresses at both faces of every metal wall: σ = n_x/t ± 6 m_x/t², τ = q/t ± 6 m_xs/t²."""
    section = solved.section
    metal = np.array([wall.laminate is None for wall in section.walls])[section.wall_of]
    segments = np.flatnonzero(metal)
    t = section.thickness[segments][:, None, None]
    face = np.array([-1.0, 1.0])
    sigma = flows.n_x[:, segments, :, None] / t + face * 6.0 * flows.m_x[:, segments, :, None] / t**2
    tau = flows.q[:, segments, :, None] / t + face * 6.0 * flows.m_xs[:, segments, :, None] / t**2
    return MetalStress(segments, sigma, tau, von_mises(sigma, tau))


def von_mises(sigma: Array, tau: Array) -> Array:
    """√(σ² + 3τ²)."""
    return np.asarray(np.sqrt(sigma**2 + SHEAR_SQUARED * tau**2))


def ply_states(solved: Analysis, flows: WallFlows) -> tuple[WallPlies, ...]:
    """Strains and stresses of every ply of every laminate wall, from the laminate's own recovery."""
    found = []
    for number, wall in enumerate(solved.section.walls):
        if wall.laminate is not None:
            segments = np.flatnonzero(solved.section.wall_of == number)
            found.append(WallPlies(wall, segments, ply_state(wall.laminate, flows.strains[:, segments])))
    return tuple(found)


def _to_origin(solved: Analysis, about: ArrayLike | None) -> Array:
    if about is None:
        return transfer_matrix(*centres(solved), solved.origin)
    point = np.array(about, float)
    return transfer_matrix(point, point, solved.origin)


def _simpson(count: int) -> Array:
    if count < 3 or count % 2 == 0:
        raise InputFault("stations", f"are {count}", "recover with an odd number of them, three or more")
    weight = np.full(count, 2.0)
    weight[1::2] = 4.0
    weight[[0, -1]] = 1.0
    return np.asarray(weight / weight.sum())
