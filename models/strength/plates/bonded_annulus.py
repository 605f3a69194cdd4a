"""An annular sheet bonded around a hole on a skin: a leg of tape, through which a tube loads the skin.

The sheet reaches from r0, where the load enters it, to r1; glue of stiffness κ = G/η (Pa/m) all over it; the skin from r0, its
edge free, to R, where it is held. Both are flat and stressed in their own plane: stress spreads outwards as the radius grows, and
passes through the glue at both ends of the leg. Per harmonic around the hole, u_r = U cos θ and u_θ = −V sin θ,

    ε_r = U′,  ε_θ = (U − V)/r,  γ = −(V′ + (U − V)/r);    twist: u_θ = v, γ = v′ − v/r

(S.P. Timoshenko & J.N. Goodier, Theory of Elasticity, polar coordinates; from memory). Energy of sheet, skin and glue is
minimised over polynomials of degree `DEGREE` in elements that are fine at both ends of the leg (Rayleigh and Ritz): what adds
material adds stiffness. Twist has a closed form too, of Bessel functions, which the tests compare with.

Bending, of a push square to the skin and a tilt: two plates one after the other, up to r1 with D of sheet plus D of skin
(glue is not counted on to make them one), beyond it with that of the skin; at r0 no slope against the tube; from their general
solutions, as in `disc`.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np
import scipy.linalg

from femcore.base.arrays import FloatArray
from femcore.laminates import Laminate
from models.strength.bounds import require_larger, require_positive
from models.strength.plates.disc import IsotropicPlate

DEGREE = 8
"""Of the polynomials in each element."""
FIRST_ELEMENT = 2.0
"""Of the glue's decay length 1/ω: the element at either end of the leg; the next ones are twice as long each."""
OUTER_GROWTH = 1.6
"""Largest outer over inner radius of an element."""
MAX_OMEGA_L = 3000.0
"""Of a leg: a glue that makes more of it acts as one that makes this, next to rigid; beyond it digits would be lost."""


@dataclass(frozen=True)
class PolarSheet:
    """In-plane stiffness of a sheet per width, N/m: `radial`, `hoop`, their `coupling`, `shear`; `D`, N·m, bent radially."""

    radial: float
    hoop: float
    coupling: float
    shear: float
    D: float

    def __post_init__(self) -> None:
        require_positive(
            "sheet around a hole", radial=self.radial, hoop=self.hoop, shear=self.shear, D=self.D
        )

    @classmethod
    def of_laminate(cls, laminate: Laminate) -> PolarSheet:
        """Of a tape, x along the perimeter and y across it; A16 and A26, none in double-bias, are left out."""
        A = laminate.A
        return cls(float(A[1, 1]), float(A[0, 0]), float(A[0, 1]), float(A[2, 2]), float(laminate.D[1, 1]))

    @classmethod
    def of_plate(cls, plate: IsotropicPlate) -> PolarSheet:
        """Alike in all directions."""
        stretch = plate.Et / (1 - plate.nu**2)
        return cls(stretch, stretch, plate.nu * stretch, plate.Gt, plate.D)


@dataclass(frozen=True)
class BondedAnnulus:
    """A sheet on a skin: radii r0 < r1 < R, m; glue Pa/m."""

    sheet: PolarSheet
    skin: IsotropicPlate
    glue: float
    inner: float
    outer: float
    support: float

    def __post_init__(self) -> None:
        require_positive("sheet around a hole", glue=self.glue, inner=self.inner)
        require_larger("sheet around a hole", ("inner radius", self.inner), ("outer radius", self.outer))
        require_larger("sheet around a hole", ("outer radius", self.outer), ("far radius", self.support))


@dataclass(frozen=True)
class AnnulusResponse:
    """A motion of the sheet's inner edge: `stiffness`, N/m or N·m/rad; `peak`, Pa per N or N·m, of the glue's shear stress."""

    stiffness: float
    peak: float


@lru_cache(maxsize=512)
def twist(annulus: BondedAnnulus) -> AnnulusResponse:
    """About the hole's own axis, N·m/rad and Pa per N·m."""
    at_edge, slip = _moved(
        annulus, _twisted, np.array([[annulus.sheet.shear]]), np.array([[annulus.skin.Gt]])
    )
    return AnnulusResponse(2 * annulus.inner**2 / at_edge, annulus.glue * slip / (2 * annulus.inner))


@lru_cache(maxsize=512)
def in_plane(annulus: BondedAnnulus) -> AnnulusResponse:
    """Along a direction in the plane, N/m and Pa per N, of a force that enters by shear alone around the sheet's inner edge."""
    stretch = (_plane_stiffness(sheet) for sheet in (annulus.sheet, PolarSheet.of_plate(annulus.skin)))
    at_edge, slip = _moved(annulus, _stretched, *stretch)
    return AnnulusResponse(1 / at_edge, annulus.glue * slip)


def transverse(annulus: BondedAnnulus) -> float:
    """N/m, of a movement square to the skin: w = A + B r² + C ln r + E r² ln r in both plates, F = 8π D E."""

    def of(r: float, nu: float) -> list[list[float]]:
        ln = math.log(r)
        return [
            [1.0, r**2, ln, r**2 * ln],
            [0.0, 2 * r, 1 / r, 2 * r * ln + r],
            [0.0, 2 * (1 + nu), (nu - 1) / r**2, 2 * (1 + nu) * ln + 3 + nu],
        ]

    return 8 * math.pi * _strength_of_source(annulus, of, (1.0, 0.0)) / annulus.outer**2


def tilt(annulus: BondedAnnulus) -> float:
    """N·m/rad, of a tilt out of the skin: w = (A r + B/r + C r³ + E r ln r) cos θ in both plates, M = −4π D E."""

    def of(r: float, nu: float) -> list[list[float]]:
        ln = math.log(r)
        return [
            [r, 1 / r, r**3, r * ln],
            [1.0, -1 / r**2, 3 * r**2, ln + 1],
            [0.0, 2 * (1 - nu) / r**3, 2 * (3 + nu) * r, (1 + nu) / r],
        ]

    return -4 * math.pi * _strength_of_source(annulus, of, (annulus.inner / annulus.outer, 1.0))


def _strength_of_source(
    annulus: BondedAnnulus, of: Callable[[float, float], list[list[float]]], edge: tuple[float, float]
) -> float:
    """N·m, D E of two plates one after the other; radii over r1.

    of   : movement, slope and −M_r/D of the four solutions, E's last, at a radius;   edge : movement and slope at r0
    """
    skin, nu = annulus.skin, annulus.skin.nu
    D = annulus.sheet.D + skin.D, skin.D
    inner, support = (np.array(of(r / annulus.outer, nu)) for r in (annulus.inner, annulus.support))
    middle, none = np.array(of(1.0, nu)), np.zeros((2, 4))
    joined = np.hstack([middle * [[1], [1], [D[0]]], -middle * [[1], [1], [D[1]]]])
    # at one radius the total force, or moment, of both plates is that of their last solutions
    source = [[0, 0, 0, D[0], 0, 0, 0, -D[1]]]
    system = np.vstack([np.hstack([inner[:2], none]), joined, source, np.hstack([none, support[:2]])])
    # movement per unit slope: a rigid edge that moves by 1, or turns by 1, with radii over r1
    solved = np.linalg.solve(system, [*edge, 0, 0, 0, 0, 0, 0])
    return float(D[0] * solved[3])


def _plane_stiffness(sheet: PolarSheet) -> FloatArray:
    """(3, 3), of ε_r, ε_θ, γ."""
    coupling = sheet.coupling
    return np.array([[sheet.radial, coupling, 0], [coupling, sheet.hoop, 0], [0, 0, sheet.shear]])


def _twisted(N: FloatArray, slope: FloatArray, r: FloatArray) -> FloatArray:
    """(g, 1, n, 1): γ of v per node, from its functions and their slopes (g, n) at radii r (g,)."""
    return (slope - N / r[:, None])[:, None, :, None]


def _stretched(N: FloatArray, slope: FloatArray, r: FloatArray) -> FloatArray:
    """(g, 3, n, 2): ε_r, ε_θ and γ of U and V per node, likewise."""
    around, none = N / r[:, None], np.zeros_like(N)
    rows = [[slope, none], [around, -around], [around, slope - around]]
    return np.moveaxis(np.array(rows), (0, 1, 2, 3), (1, 3, 0, 2))


def _moved(
    annulus: BondedAnnulus,
    strains: Callable[[FloatArray, FloatArray, FloatArray], FloatArray],
    of_sheet: FloatArray,
    of_skin: FloatArray,
) -> tuple[float, float]:
    """Movement, m, of the sheet's inner edge along θ under a unit load there, ∫ cos² or sin² dθ = π, and the largest slip."""
    ends, leg = _element_ends(annulus)
    functions, slopes, points, weights = _basis()
    parts = strains(functions, slopes, np.ones(len(points))).shape[3]
    nodes, on_leg = DEGREE * (len(ends) - 1) + 1, DEGREE * leg + 1
    K = np.zeros((parts * (nodes + on_leg),) * 2)
    for element, (a, b) in enumerate(pairwise(ends)):
        half, r = (b - a) / 2, (a + b) / 2 + (b - a) / 2 * points
        B = strains(functions, slopes / half, r).reshape(len(points), len(of_skin), -1)
        area = math.pi * weights * half * r
        at = parts * DEGREE * element + np.arange(parts * (DEGREE + 1))
        K[np.ix_(at, at)] += np.einsum("g,gia,ij,gjb->ab", area, B, of_skin, B)
        if element < leg:
            above = at + parts * nodes
            K[np.ix_(above, above)] += np.einsum("g,gia,ij,gjb->ab", area, B, of_sheet, B)
            bed = _glue_stiffness(annulus) * np.einsum("g,ga,gb->ab", area, functions, functions)
            glue = np.kron(bed, np.eye(parts))
            for one, other, sign in ((at, at, 1), (above, above, 1), (at, above, -1), (above, at, -1)):
                K[np.ix_(one, other)] += sign * glue
    free = np.delete(np.arange(len(K)), parts * (nodes - 1) + np.arange(parts))
    edge = parts * nodes + parts - 1
    scale = 1 / np.sqrt(np.diag(K)[free])
    load = np.where(free == edge, scale, 0.0)
    moved = np.zeros(len(K))
    moved[free] = scale * scipy.linalg.solve(
        scale[:, None] * K[np.ix_(free, free)] * scale, load, assume_a="pos"
    )
    slip = moved[parts * nodes :] - moved[: parts * on_leg]
    return float(moved[edge]), float(np.abs(slip).max())


def _glue_stiffness(annulus: BondedAnnulus) -> float:
    """Pa/m, no more than what makes `MAX_OMEGA_L` of the leg."""
    most = (MAX_OMEGA_L / (annulus.outer - annulus.inner)) ** 2
    return min(annulus.glue, most / (1 / annulus.sheet.shear + 1 / annulus.skin.Gt))


def _element_ends(annulus: BondedAnnulus) -> tuple[list[float], int]:
    """m, ends of all elements from r0 to R, and how many of them are on the leg."""
    r0, r1, R = annulus.inner, annulus.outer, annulus.support
    omega = math.sqrt(_glue_stiffness(annulus) * (1 / annulus.sheet.shear + 1 / annulus.skin.Gt))
    depth, size = 0.0, FIRST_ELEMENT / omega
    depths = []
    while depth + 1.5 * size < (r1 - r0) / 2:
        depth += size
        size *= 2
        depths.append(depth)
    leg = [r0, *(r0 + x for x in depths), *(r1 - x for x in reversed(depths)), r1]
    found = _not_longer(leg)
    return [*found, *_not_longer([r1, R])[1:]], len(found) - 1


def _not_longer(ends: list[float]) -> list[float]:
    """The ends of elements, each in parts whose radii grow by no more than `OUTER_GROWTH`."""
    found = [ends[0]]
    for a, b in pairwise(ends):
        count = max(1, math.ceil(math.log(b / a) / math.log(OUTER_GROWTH)))
        found += [a * (b / a) ** (part / count) for part in range(1, count)] + [b]
    return found


@lru_cache(maxsize=1)
def _basis() -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Functions and slopes (g, n) of an element from −1 to 1 at its Gauss points (g,), and their weights; nodes at both ends."""
    legendre = np.polynomial.legendre
    nodes = -np.cos(np.pi * np.arange(DEGREE + 1) / DEGREE)
    points, weights = legendre.leggauss(DEGREE + 2)
    to_legendre = np.linalg.inv(legendre.legvander(nodes, DEGREE))
    slopes = legendre.legval(points, legendre.legder(to_legendre)).T
    functions = np.asarray(legendre.legvander(points, DEGREE) @ to_legendre, dtype=float)
    return functions, np.asarray(slopes, dtype=float), points, weights
