"""The 3D beam element by its six natural modes of deformation.

An element's 12 end freedoms hold six rigid-body motions and six deformations; only the latter cost energy (J.H. Argyris et
al., "Finite element method: the natural approach", Comput. Methods Appl. Mech. Eng. 17/18 (1979) 1-106, from memory):

    mode   deformation d                       force q                      stiffness k
    0      elongation                          N at mid-length              EA/L
    1      twist                               T                            GJ/L
    2      symmetric bending about y           My at mid-length             EIy/L
    3      antisymmetric bending about y       2 × end moment               12 EIy / (L (1 + Φz))
    4, 5   the same about z

with Φz = 12 EIy/(GAz L²), the shear parameter (J.S. Przemieniecki, Theory of Matrix Structural Analysis, 1968, ch. 5,
from memory). So K = Gᵀ k G with d = G u, and a rigid motion gives no force by construction, offsets included.

An end spring or release is between the node (or rigid offset) and the element's end. Its deformation is condensed out of
the natural modes (static condensation), which keeps K = Gᵀ k G, so that rigid motions cost nothing.

    u : (…, m, 12), m and rad, global axes, node at start then node at end: ux uy uz rx ry rz each
    d : (…, m, 6);   q : (…, m, 6);   p : (…, m, 12), end forces on the element in beam axes
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from femcore.base.arrays import ArrayRecord, FloatArray, Real
from femcore.base.errors import Mechanism
from femcore.base.vectors import cross
from femcore.frame.frame import FREEDOMS, Frame

SHIFTED, SLOPES = [0, 3, 5], slice(3, 6, 2)
"""The natural modes that movements of the ends change, not only their rotations; those that movements change over the length."""


def _natural_mode_matrix() -> FloatArray:
    """(24, 3): coefficients of movement and rotation, at the start, then at the end, in each natural mode, beam axes.

    Movements of the modes 3 and 5 are slopes, still to be divided by the length.
    """
    takes = np.zeros((6, 2, 2, 3))
    x, y, z = np.eye(3)
    for side, sign in enumerate((-1.0, 1.0)):
        takes[0, side, 0] = takes[1, side, 1] = sign * x
        takes[2, side, 1], takes[4, side, 1] = sign * y, sign * z
        takes[3, side] = sign * z, y / 2
        takes[5, side] = -sign * y, z / 2
    return takes.reshape(24, 3)


NATURAL_MODE_MATRIX = _natural_mode_matrix()
REL_TOL_RELEASED_STIFFNESS = 1e-14
"""Of a natural mode's root stiffness: what end springs leave of it below this is rounding, and treated as zero."""
REL_TOL_ELEMENT_MECHANISM = 1e-11
"""Of the unit diagonal: an element whose scaled end stiffness has a smaller eigenvalue is a mechanism in itself."""


def local_modes(length: Real) -> Real:
    """B : (m, 6, 12), natural deformations from the element's end freedoms in beam axes; dtype as `length`."""
    B = np.zeros((len(length), 6, 12), dtype=length.dtype)
    inverse = 1 / length
    B[:, 0, 0], B[:, 0, 6] = -1, 1
    B[:, 1, 3], B[:, 1, 9] = -1, 1
    B[:, 2, 4], B[:, 2, 10] = -1, 1
    B[:, 3, 4], B[:, 3, 10], B[:, 3, 2], B[:, 3, 8] = 0.5, 0.5, -inverse, inverse
    B[:, 4, 5], B[:, 4, 11] = -1, 1
    B[:, 5, 5], B[:, 5, 11], B[:, 5, 1], B[:, 5, 7] = 0.5, 0.5, inverse, -inverse
    return B


def global_modes(axes: Real, length: Real, offsets: Real) -> Real:
    """G : (m, 6, 12), natural deformations from node freedoms in global axes, rigid offsets included.

    axes (m, 3, 3), length (m,), offsets (m, 2, 3). A movement of an offset end is u + θ × o, so a row that takes the
    component a of it takes (o × a) of the rotation.
    """
    G = (NATURAL_MODE_MATRIX @ axes).reshape(len(length), 6, 2, 2, 3)
    G[:, SLOPES, :, 0] /= length[:, None, None, None]
    for side in (0, 1):
        some = np.flatnonzero(offsets[:, side].any(axis=1))
        if len(some):
            rows = some[:, None], SHIFTED, side
            G[*rows, 1] += cross(offsets[some, side, None], G[*rows, 0])
    return G.reshape(len(length), 6, 12)


def end_movements(axes: FloatArray, offsets: FloatArray, u: FloatArray) -> FloatArray:
    """v : (…, m, 12), movements of the (outer) ends in beam axes, from node freedoms u (…, m, 12) in global axes."""
    parts = u.reshape(*u.shape[:-1], 2, 2, 3)
    move = parts[..., 0, :] + cross(parts[..., 1, :], offsets)
    both = np.stack([move, parts[..., 1, :]], axis=-2)
    return np.asarray(np.einsum("mij,...mefj->...mefi", axes, both)).reshape(u.shape)


def shear_parameters(frame: Frame) -> tuple[FloatArray, FloatArray]:
    """Φy = 12 EIz/(GAy L²) and Φz = 12 EIy/(GAz L²), each (m,)."""
    square = frame.length**2
    return 12 * frame.EIz / (frame.GAy * square), 12 * frame.EIy / (frame.GAz * square)


def shape_functions(length: FloatArray, phi_y: FloatArray, phi_z: FloatArray, xi: FloatArray) -> FloatArray:
    """N : (m, 6, 12), movement and section rotation at the fraction `xi` (m,) of each element, from its end freedoms.

    Beam axes. Linear along the chord, plus the deflection from it of the bending modes: L (ξ² − ξ)/2 for a unit symmetric one,
    L (ξ − 3ξ² + 2ξ³)/(1 + Φ) for a unit antisymmetric one.
    """
    B, N = local_modes(length), np.zeros((len(length), 6, 12))
    shapes = mode_shapes(length, phi_y, phi_z, xi)
    for freedom in range(6):
        N[:, freedom, freedom], N[:, freedom, 6 + freedom] = 1 - xi, xi
    for move, turn, mode in ((1, 5, 4), (2, 4, 2)):
        N[:, move] += shapes[:, mode, move, None] * B[:, mode]
        N[:, move] += shapes[:, mode + 1, move, None] * B[:, mode + 1]
        N[:, turn] += shapes[:, mode + 1, turn, None] * B[:, mode + 1]
    return N


def mode_shapes(length: FloatArray, phi_y: FloatArray, phi_z: FloatArray, xi: FloatArray) -> FloatArray:
    """(m, 6, 6): movement and section rotation at `xi` (m,) from the chord, for a unit of each natural mode, beam axes."""
    shapes = np.zeros((len(length), 6, 6))
    sym, anti = (xi * xi - xi) / 2, xi - 3 * xi**2 + 2 * xi**3
    # bending in x–y goes with +rz, in x–z with −ry
    for move, turn, mode, sign, phi in ((1, 5, 4, 1.0, phi_y), (2, 4, 2, -1.0, phi_z)):
        shapes[:, mode, move] = sign * (length * sym)
        shapes[:, mode + 1, move] = sign * (length * anti / (1 + phi))
        shapes[:, mode + 1, turn] = 6 * (xi * xi - xi) / (1 + phi)
    return shapes


def natural_stiffness(frame: Frame) -> FloatArray:
    """(m, 6), the diagonal k of the natural modes, without end springs."""
    L = frame.length
    phi_y, phi_z = shear_parameters(frame)
    rows = [
        frame.EA / L,
        frame.GJ / L,
        frame.EIy / L,
        12 * frame.EIy / (L * (1 + phi_z)),
        frame.EIz / L,
        12 * frame.EIz / (L * (1 + phi_y)),
    ]
    return np.stack(rows, axis=1)


def fixed_end(frame: Frame, line: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Forces of a uniform line load (…, m, 3), beam axes, on clamped ends; a bar without EI has no end moments.

    Returns q0 (…, m, 6), natural forces, and p0 (…, m, 12), the end forces of the same element on simple supports
    (w L/2 each), both as forces on the element. They hold with shear deformation too, since the load is symmetric.
    Other loads along an element are in `stretch_loads`.
    """
    q0 = np.zeros((*line.shape[:-1], 6))
    length = frame.length
    q0[..., 2] = np.where(frame.EIy > 0, -line[..., 2] * length**2 / 12, 0)
    q0[..., 4] = np.where(frame.EIz > 0, line[..., 1] * length**2 / 12, 0)
    p0 = np.zeros((*line.shape[:-1], 12))
    p0[..., 0:3] = p0[..., 6:9] = -line * (length / 2)[:, None]
    return q0, p0


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class CondensedEnds(ArrayRecord):
    """The end springs of the elements that have any, condensed into their natural modes.

    which  : (e,), elements concerned
    turn   : (e, 12, 12), beam axes → spring axes at both ends
    modes  : (e, 6, 12), B in spring axes, columns of rigid ends zero
    M_inv  : (e, 12, 12), inverse of (spring + element) stiffness over the sprung freedoms, zero elsewhere
    slip   : (e, 12, 6), spring deformation per natural deformation
    root   : (e, 18, 6), natural and spring deformations times the roots of their stiffness
    k      : (e, 6, 6), condensed natural stiffness, rootᵀ root
    """

    which: npt.NDArray[np.int64]
    turn: FloatArray
    modes: FloatArray
    M_inv: FloatArray
    slip: FloatArray
    root: FloatArray
    k: FloatArray

    def condensed_load(self, k: FloatArray, q0: FloatArray, p0: FloatArray) -> FloatArray:
        """q0 (…, e, 6) of the element with springs, from q0 (…, e, 6) and p0 (…, e, 12) of the clamped one."""
        slip = self.slip_of_load(q0, p0)
        return np.asarray(q0 - k * np.einsum("emi,...ei->...em", self.modes, slip))

    def slip_of_load(self, q0: FloatArray, p0: FloatArray) -> FloatArray:
        """(…, e, 12), spring deformation under the line load alone, spring axes."""
        force = np.einsum("emi,...em->...ei", self.modes, q0) + np.einsum("eij,...ej->...ei", self.turn, p0)
        return np.asarray(np.einsum("eij,...ej->...ei", self.M_inv, force))


def stiffness_of_beams(frame: Frame, ends: CondensedEnds) -> FloatArray:
    """(m, 6, 6), natural stiffness between the nodes, end springs condensed."""
    k, diagonal = np.zeros((len(frame.ends), 6, 6)), np.arange(6)
    k[:, diagonal, diagonal] = natural_stiffness(frame)
    k[ends.which] = ends.k
    return k


def end_springs(frame: Frame) -> CondensedEnds:
    """Condense the end springs; Mechanism where the releases of one element make it a mechanism in itself."""
    which = np.flatnonzero(np.isfinite(frame.end_springs).any(axis=1))
    sprung, spring = np.isfinite(frame.end_springs[which]), spring_matrices(frame, which)
    turn = np.zeros((len(which), 12, 12))
    for block in range(4):
        part = slice(3 * block, 3 * block + 3)
        turn[:, part, part] = frame.spring_axes[which, block // 2]
    k = natural_stiffness(frame)[which]
    modes = local_modes(frame.length[which]) @ np.swapaxes(turn, 1, 2) * sprung[:, None, :]
    M = np.einsum("emi,em,emj->eij", modes, k, modes)
    M += spring
    scaled, scale = unit_diagonal(M)
    _refuse_loose_elements(frame, which, scaled)
    M_inv = inverse_of_scaled(scaled, scale)
    slip = M_inv @ np.swapaxes(modes, 1, 2) * k[:, None, :]
    inner = np.eye(6) - modes @ slip
    # by its root k stays symmetric, positive and free of cancellation where a spring is soft
    root = np.concatenate([np.sqrt(k)[:, :, None] * inner, _matrix_roots(spring) @ slip], axis=1)
    # a release leaves nothing, not the rounding of 1 − 1
    root[np.abs(root) < REL_TOL_RELEASED_STIFFNESS * np.sqrt(k)[:, None, :]] = 0.0
    return CondensedEnds(which, turn, modes, M_inv, slip, root, np.swapaxes(root, 1, 2) @ root)


def spring_matrices(frame: Frame, which: npt.NDArray[np.int64]) -> FloatArray:
    """(e, 12, 12), stiffness of the end springs of elements `which` in spring axes; 0 where rigid or released."""
    given = frame.end_springs[which]
    spring = np.zeros((len(which), 12, 12))
    spring[:, range(12), range(12)] = np.where(np.isfinite(given), given, 0.0)
    for (element, end), coupling in zip(frame.coupled_ends, frame.couplings, strict=True):
        place = int(np.searchsorted(which, element))
        part = slice(6 * int(end), 6 * int(end) + 6)
        finite = np.isfinite(given[place, part])
        spring[place, part, part] = coupling * finite[:, None] * finite
    return spring


def _matrix_roots(spring: FloatArray) -> FloatArray:
    """(e, 12, 12), R with RᵀR = spring, of symmetric matrices that are not negative."""
    scale = np.sqrt(np.maximum(spring[:, range(12), range(12)], 0.0))
    safe = np.where(scale > 0, scale, 1.0)
    value, vector = np.linalg.eigh(spring / (safe[:, :, None] * safe[:, None, :]))
    return np.asarray(
        np.sqrt(np.maximum(value, 0.0))[:, :, None] * np.swapaxes(vector, 1, 2) * scale[:, None, :]
    )


def unit_diagonal(M: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Matrices (e, 12, 12) scaled to a unit diagonal, and the factors (e, 12) that did it, 0 of freedoms without stiffness."""
    diagonal = M[:, range(12), range(12)]
    live = diagonal > 0
    scale = np.where(live, 1 / np.sqrt(np.where(live, diagonal, 1.0)), 0.0)
    scaled = M * scale[:, :, None] * scale[:, None, :]
    scaled[:, range(12), range(12)] = 1.0
    return scaled, scale


def inverse_of_scaled(scaled: FloatArray, scale: FloatArray) -> FloatArray:
    """Inverse (e, 12, 12) over the freedoms with a stiffness, from their `unit_diagonal`; 0 in the others."""
    return np.asarray(np.linalg.inv(scaled)) * scale[:, :, None] * scale[:, None, :]


def _refuse_loose_elements(frame: Frame, which: npt.NDArray[np.int64], scaled: FloatArray) -> None:
    """Mechanism where the ends of one of the elements `which` move freely, given their stiffness at unit diagonal."""
    if len(which):
        least = np.linalg.eigvalsh(scaled)[:, 0]
        for loose in np.flatnonzero(least < REL_TOL_ELEMENT_MECHANISM)[:1]:
            raise _loose_element(frame, int(which[loose]))


def _loose_element(frame: Frame, element: int) -> Mechanism:
    name = next((n for n, m in frame.members.items() if m.first <= element < m.last), f"element {element}")
    released = frame.end_springs[element].reshape(2, 6) == 0
    if released[:, 3].all():
        words = f"beam '{name}' turns freely about its own axis: rx is released at both of its ends"
        return Mechanism(f"{words}; hold rx at one of them", rotating=(name,))
    freed = "; ".join(
        f"{end}: {', '.join(f for f, free in zip(FREEDOMS, row, strict=True) if free)}"
        for end, row in zip(("start", "end"), released, strict=True)
    )
    return Mechanism(f"beam '{name}' moves freely between its ends ({freed} released); hold one of these")
