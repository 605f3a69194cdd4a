"""Stiffness of a thin-walled section: one linear system over points and cells for every unit action.

The theory, for a straight prismatic beam whose section keeps its shape (thin walls, free warping, contour
free of hoop force and
hoop moment):

- beam strains E = (e, κ_y, κ_z, θ′): ε = e + z κ_y − y κ_z on the mid-surface, κ_x = t_y κ_y + t_z κ_z and
  κ_xs = −2 θ′ across the
  thickness, t being the wall's direction. N = ∫N_x, M_y = ∫z N_x, M_z = −∫y N_x, T = ∫q r, with the wall's
  own moments added;
- wall law, turned about its shear: (N_x, M_x, M_xs) = C (ε, κ_x, κ_xs) + c q and γ = q/k − c·(ε, κ_x, κ_xs),
  q = N_xs being the shear flow
  and k the wall's shear stiffness (G t in metal);
- at every point as much shear flow leaves as arrives; around every cell ∮ γ ds = 2 A θ′ (R. Bredt 1896,
  extended to several cells and to
  walls that couple); an open wall carries no flow of its own and twists by its M_xs, ⅓ G t³ per length in
  metal;
- under a shear force the bending strains change along x and ∂q/∂s = −∂N_x/∂x (D. J. Jourawski), so that q is
  quadratic along each
  segment; the section's shear flexibility is the strain energy of that flow. No Poisson's-ratio effect of
  shear is in it.

The order of actions is (N, Vy, Vz, T, My, Mz) everywhere.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.sparse import coo_array, csc_array, vstack
from scipy.sparse.linalg import splu

from femcore.base.arrays import ArrayRecord
from femcore.sections.outline import Cells, Section, cells

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

GAUSS_ABSCISSAE, GAUSS_WEIGHT = (
    (1.0 + np.array([-np.sqrt(0.6), 0.0, np.sqrt(0.6)])) / 2,
    np.array([5.0, 8.0, 5.0]) / 18.0,
)
"""Three points integrate degree 5 exactly; the energy of a quadratic flow has degree 4."""
SHEARS, STRAIN_ACTIONS = [1, 2], [0, 4, 5, 3]
"""Places among the six actions: the two shear forces; and (N, My, Mz, T), which make the beam strains."""


@dataclass(frozen=True, eq=False, repr=False)
class WallStiffnessMatrices(ArrayRecord):
    """Each segment's wall law, turned about its shear: C (m, 3, 3), c (m, 3), k (m,)."""

    C: Array
    c: Array
    k: Array


@dataclass(frozen=True, eq=False, repr=False)
class Analysis(ArrayRecord):
    """A solved section: what every unit action, taken at the point `origin`, does to every wall.

    section     : the outline
    cells       : its closed cells
    origin      : (2,), y and z of the reference point, m
    law         : the walls' laws
    strain      : (4, 6), beam strains (e, κ_y, κ_z, θ′) per unit action at `origin`
    flow        : (m, 6), shear flow at each segment's start per unit action, N/m
    push        : (m, 2, 6), ∂N_x/∂x at each segment's start and end per unit action, N/m²
    rate        : (4, 6) and (m, 6): how strains and closed-cell flows change along x per unit action, 1/m of
                  the above
    rate_flow   : see `strain_gradient`
    stiffness   : (4, 4), from (e, κ_y, κ_z, θ′) to (N, My, Mz, T) at `origin`, shear forces absent
    flexibility : (6, 6), strain energy's second derivative by the actions at `origin`: 1/N, 1/(N·m), 1/(N·m²)
    """

    section: Section
    cells: Cells
    origin: Array
    law: WallStiffnessMatrices
    strain: Array
    flow: Array
    axial_gradient: Array
    strain_gradient: Array
    cell_flow_gradient: Array
    stiffness: Array
    flexibility: Array


def analyse(section: Section) -> Analysis:
    """Solve `section` for the six unit actions."""
    middles = section.points[section.segments].mean(axis=1)
    origin = section.length @ middles / section.length.sum()
    law, loops = _wall_law(section), cells(section)
    system = _FlowSystem(section, law, loops)
    shape = strain_matrix(section, origin, GAUSS_ABSCISSAE)
    weight = _gauss_weights(section)
    lever = _lever_arms(section, origin)
    unit_flow = system.solve(
        np.zeros((len(section.segments), 2, 4)),
        _twist_closure(loops) + loops.loops @ _coupled_shear_strain(shape, law, weight),
    )
    stiffness = _stiffness(shape, law, weight, lever * section.length, unit_flow)
    scale = 1.0 / np.sqrt(np.diag(stiffness))
    inverse = np.linalg.inv(stiffness * np.outer(scale, scale)) * np.outer(scale, scale)
    inverse = (inverse + inverse.T) / 2

    # A shear force is the rate of change of a bending moment: My′ = Vz, Mz′ = −Vy.
    strain_gradient = np.zeros((4, 6))
    strain_gradient[:, SHEARS] = np.column_stack([-inverse[:, 2], inverse[:, 1]])
    cell_flow_gradient = unit_flow @ strain_gradient
    axial_gradient = axial_flow_gradient(section, origin, law, strain_gradient, cell_flow_gradient)
    flow = np.zeros((len(section.segments), 6))
    flow[:, SHEARS] = system.solve(axial_gradient[..., SHEARS], np.zeros((len(loops), 2)))
    strain = np.zeros((4, 6))
    strain[:, STRAIN_ACTIONS] = inverse
    left = _resultants(
        section, origin, law, shape, (flow, axial_gradient, strain_gradient, cell_flow_gradient)
    )
    strain[:, SHEARS] = -inverse @ left[:, SHEARS]
    flow = flow + unit_flow @ strain
    flexibility = _flexibility(section, law, np.einsum("mgij,jc->mgic", shape, strain), flow, axial_gradient)
    return Analysis(
        section,
        loops,
        origin,
        law,
        strain,
        flow,
        axial_gradient,
        strain_gradient,
        cell_flow_gradient,
        stiffness,
        flexibility,
    )


def strain_matrix(section: Section, origin: Array, at: Array) -> Array:
    """(m, g, 3, 4): from beam strains to (ε, κ_x, κ_xs) at fractions `at` (g,) along each segment."""
    start = section.points[section.segments[:, 0]] - origin
    place = start[:, None] + at[:, None] * (section.length[:, None] * section.tangent)[:, None]
    shape = np.zeros((*place.shape[:2], 3, 4))
    shape[..., 0, 0] = 1.0
    shape[..., 0, 1], shape[..., 0, 2] = place[..., 1], -place[..., 0]
    shape[..., 1, 1], shape[..., 1, 2] = section.tangent[:, None, 0], section.tangent[:, None, 1]
    shape[..., 2, 3] = -2.0
    return shape


def shear_flow_at(section: Section, flow: Array, axial_gradient: Array, at: Array) -> Array:
    """(m, g, c): shear flow at fractions `at` of each segment, from start `flow` (m, c), `axial_gradient` (m, 2, c)."""
    run = section.length[:, None, None] * at[None, :, None]
    return np.asarray(
        flow[:, None]
        - run
        * (axial_gradient[:, :1] + (axial_gradient[:, 1:] - axial_gradient[:, :1]) * at[None, :, None] / 2)
    )


def axial_flow_gradient(
    section: Section,
    origin: Array,
    law: WallStiffnessMatrices,
    strain_gradient: Array,
    cell_flow_gradient: Array,
) -> Array:
    """(m, 2, c): ∂N_x/∂x at the ends of each segment."""
    shape = strain_matrix(section, origin, np.array([0.0, 1.0]))
    return np.asarray(
        np.einsum("mi,mgij,jc->mgc", law.C[:, 0], shape, strain_gradient)
        + (law.c[:, :1] * cell_flow_gradient)[:, None]
    )


def _wall_law(section: Section) -> WallStiffnessMatrices:
    K = np.stack([wall.stiffness for wall in section.walls])
    rest = [0, 2, 3]
    k = K[:, 1, 1]
    c = K[:, 1, rest] / k[:, None]
    C = K[:, rest][:, :, rest] - c[:, :, None] * K[:, 1, rest][:, None]
    return WallStiffnessMatrices(C[section.wall_of], c[section.wall_of], k[section.wall_of])


def _gauss_weights(section: Section) -> Array:
    """(m, g): the length that each of a segment's Gauss points represents."""
    return np.asarray(section.length[:, None] * GAUSS_WEIGHT)


def _lever_arms(section: Section, origin: Array) -> Array:
    """Arm of each segment's line about `origin`, (m,): positive where a flow along it turns y towards z."""
    start = section.points[section.segments[:, 0]] - origin
    return np.asarray(start[:, 0] * section.tangent[:, 1] - start[:, 1] * section.tangent[:, 0])


def _twist_closure(loops: Cells) -> Array:
    closure = np.zeros((len(loops), 4))
    closure[:, 3] = 2.0 * loops.area
    return closure


def _coupled_shear_strain(shape: Array, law: WallStiffnessMatrices, weight: Array) -> Array:
    """(m, 4): ∫ c·(ε, κ_x, κ_xs) ds along each segment per unit beam strain."""
    return np.asarray(np.einsum("mg,mi,mgij->mj", weight, law.c, shape))


class _FlowSystem:
    """Shear flow at the segments' starts from continuity at the points and closure around the cells."""

    def __init__(self, section: Section, law: WallStiffnessMatrices, loops: Cells) -> None:
        count = len(section.segments)
        self._section, self._law, self._loops = section, law, loops
        self._give = section.length / law.k
        self._scale = 1.0 / self._give.mean()
        number = np.arange(count)
        sign = np.repeat([1.0, -1.0], count)
        place = (section.segments.T.ravel(), np.concatenate([number, number]))
        continuity = csc_array(coo_array((sign, place), shape=(len(section.points), count)))
        closure = csc_array(loops.loops * (self._give * self._scale))
        # Of the points' equations one follows from the rest.
        self._factor = splu(csc_array(vstack([continuity[:-1], closure])))

    def __reduce__(self) -> tuple[type[_FlowSystem], tuple[Section, WallStiffnessMatrices, Cells]]:
        """Pickled as what it was made of: factors cannot be pickled."""
        return type(self), (self._section, self._law, self._loops)

    def solve(self, axial_gradient: Array, closure: Array) -> Array:
        """(m, c): start flows for `axial_gradient` (m, 2, c) and, beside q's own, ∮ γ ds = `closure` (cells, c)."""
        length = self._section.length[:, None]
        lost = length * axial_gradient.mean(axis=1)
        arrives = np.zeros((len(self._section.points), axial_gradient.shape[-1]))
        np.add.at(arrives, self._section.segments[:, 1], -lost)
        slack = (
            self._give[:, None]
            * length
            * (axial_gradient[:, 0] / 2 + (axial_gradient[:, 1] - axial_gradient[:, 0]) / 6)
        )
        around = closure + self._loops.loops @ slack
        return np.asarray(self._factor.solve(np.concatenate([arrives[:-1], self._scale * around])))


def _stiffness(
    shape: Array, law: WallStiffnessMatrices, weight: Array, sweep: Array, unit_flow: Array
) -> Array:
    """(4, 4): resultants (N, My, Mz, T) per unit beam strain."""
    solid = np.einsum("mg,mgai,mab,mgbj->ij", weight, shape, law.C, shape)
    gather = np.einsum("mg,mgai,ma->mi", weight, shape, law.c)
    gather[:, 3] += sweep
    whole = solid + gather.T @ unit_flow
    return np.asarray((whole + whole.T) / 2)


def _resultants(
    section: Section,
    origin: Array,
    law: WallStiffnessMatrices,
    shape: Array,
    fields: tuple[Array, Array, Array, Array],
) -> Array:
    """(4, c): (N, My, Mz, T) of a flow alone, the walls' through-thickness shear M_x′ counted in T."""
    flow, axial_gradient, strain_gradient, cell_flow_gradient = fields
    weight = _gauss_weights(section)
    q = shear_flow_at(section, flow, axial_gradient, GAUSS_ABSCISSAE)
    result = np.einsum("mg,mgai,ma,mgc->ic", weight, shape, law.c, q)
    result[3] += np.einsum("mg,m,mgc->c", weight, _lever_arms(section, origin), q)
    cross = (
        np.einsum("mi,mgij,jc->mgc", law.C[:, 1], shape, strain_gradient)
        + (law.c[:, 1:2] * cell_flow_gradient)[:, None]
    )
    start = section.points[section.segments[:, 0]] - origin
    along = np.einsum("mi,mi->m", start, section.tangent)[:, None] + section.length[:, None] * GAUSS_ABSCISSAE
    result[3] += np.einsum("mg,mg,mgc->c", weight, along, cross)
    return np.asarray(result)


def _flexibility(
    section: Section, law: WallStiffnessMatrices, e: Array, flow: Array, axial_gradient: Array
) -> Array:
    """(6, 6): ∫ (e·C e + q²/k) ds between unit actions; e is (m, g, 3, 6)."""
    weight = _gauss_weights(section)
    q = shear_flow_at(section, flow, axial_gradient, GAUSS_ABSCISSAE)
    return np.asarray(
        np.einsum("mg,mgac,mab,mgbd->cd", weight, e, law.C, e)
        + np.einsum("mg,m,mgc,mgd->cd", weight, 1.0 / law.k, q, q)
    )
