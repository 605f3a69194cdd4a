"""Local buckling of the walls: long flat and curved panels of orthotropic laminate under compression and
shear.

Panels are the walls between corners and joints. Their long edges count as simply supported (the neighbours'
own bending stiffness is not
counted on), or as free where a wall ends. The bending–twisting terms D16, D26 of the laminate and the shear
flexibility of a sandwich core
are left out: both lower the buckling load, so a panel of few plies or of thick soft core needs more margin
              than the number shows.

Sources: flat compression and flange: S. G. Lekhnitskii, Anisotropic Plates (1968), as in L. P. Kollár & G.
         S. Springer, Mechanics of Composite
Structures (2003), ch. 4; flat shear: E. Seydel (1933), as there and in R&M 3677 (1970): all from memory,
checked in the tests against the
plate equation. Curved: Donnell's equations for a long orthotropic cylinder; knock-downs and the torsion
formula after NASA SP-8007 (1968),
from memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from femcore.base.arrays import ArrayRecord

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from femcore.sections.analysis import Analysis
    from femcore.sections.outline import Section
    from femcore.sections.recovery import WallFlows
    from femcore.sections.wall import Wall

    Array = NDArray[np.float64]
    Ints = NDArray[np.intp]

SHEAR_KNOCKDOWN = 0.67
"""On the torsional buckling of cylinders, NASA SP-8007 (1968), from memory."""
MAX_FLAT_SAGITTA = 1e-3
"""Flat neighbours that turn by less than this, rad, are one panel."""


@dataclass(frozen=True, eq=False, repr=False)
class Panels(ArrayRecord):
    """Walls between corners and joints.

    of     : (m,), panel of each segment
    names  : (p,), its part
    width  : (p,), m, along the wall
    radius : (p,), m, the largest along it; inf where flat
    free   : (p,), whether a long edge is free
    walls  : (p,) walls
    """

    of: Ints
    names: tuple[str, ...]
    width: Array
    radius: Array
    free: NDArray[np.bool_]
    walls: tuple[Wall, ...]


@dataclass(frozen=True, eq=False, repr=False)
class PanelStrength(ArrayRecord):
    """Panels with their critical compression and shear when alone, (p,) each, knock-downs included, N/m."""

    panels: Panels
    compression: Array
    shear: Array


@dataclass(frozen=True, eq=False, repr=False)
class LocalBuckling(ArrayRecord):
    """How far each panel is from buckling; arrays are (cases, p).

    panels              : the panels
    compression, shear  : (p,) critical flows when alone, knock-downs included, N/m
    ratio_c, ratio_s    : largest compression and shear in the panel over these
    factor              : what all actions may be multiplied by until R_c + R_s² = 1; inf where nothing
                          presses
    """

    panels: Panels
    compression: Array
    shear: Array
    ratio_c: Array
    ratio_s: Array
    factor: Array


def panels(section: Section) -> Panels:
    """Group the segments of `section` into panels."""
    count = len(section.segments)
    ends = np.full((len(section.points), 2), -1)
    for side in (0, 1):
        for segment, point in enumerate(section.segments[:, side]):
            ends[point, int(ends[point, 0] >= 0)] = segment
    one, other = ends[section.degree == 2].T
    turn = np.abs(
        section.tangent[one, 0] * section.tangent[other, 1]
        - section.tangent[one, 1] * section.tangent[other, 0]
    )
    curved = np.isfinite(section.radius)
    parts = np.unique(section.parts, return_inverse=True)[1]
    same = (parts[one] == parts[other]) & (section.wall_of[one] == section.wall_of[other])
    smooth = (curved[one] & curved[other]) | (~curved[one] & ~curved[other] & (turn < MAX_FLAT_SAGITTA))
    one, other = one[same & smooth], other[same & smooth]
    total, label = connected_components(
        coo_array((np.ones(len(one)), (one, other)), shape=(count, count)), directed=False
    )
    of = label.astype(np.intp)
    first = np.array([int(np.flatnonzero(of == p)[0]) for p in range(total)])
    radius = np.zeros(total)
    np.maximum.at(radius, of, section.radius)
    loose = (section.degree[section.segments] == 1).any(axis=1)
    return Panels(
        of,
        tuple(section.parts[i] for i in first),
        np.asarray(np.bincount(of, section.length, total), float),
        radius,
        np.bincount(of, loose, total) > 0,
        tuple(section.walls[section.wall_of[i]] for i in first),
    )


def compression_flat(D: Array, width: float) -> float:
    """Critical compression of a long plate, simply supported: 2π²/b² (√(D11 D22) + D12 + 2 D66), N/m."""
    return float(2 * np.pi**2 / width**2 * (np.sqrt(D[0, 0] * D[1, 1]) + D[0, 1] + 2 * D[2, 2]))


def compression_flange(D: Array, width: float, length: float = np.inf) -> float:
    """Critical compression of a plate of length L with one long edge free: 12 D66/b² + π² D11/L², N/m."""
    return float(12 * D[2, 2] / width**2 + np.pi**2 * D[0, 0] / length**2)


def shear_flat(D: Array, width: float) -> float:
    """Critical shear of a long plate, edges simply supported (Seydel's fit), N/m; x is the long direction.

    With K = √(D11 D22)/(D12 + 2 D66): 4/b² (D11 D22³)^¼ (8.125 + 5.045/K) for K ≥ 1, else
    4/b² √(D22 (D12 + 2 D66)) (11.7 + 0.532 K + 0.938 K²).
    """
    twist = D[0, 1] + 2 * D[2, 2]
    K = np.sqrt(D[0, 0] * D[1, 1]) / twist
    if K >= 1.0:
        return float(4 / width**2 * (D[0, 0] * D[1, 1] ** 3) ** 0.25 * (8.125 + 5.045 / K))
    return float(4 / width**2 * np.sqrt(D[1, 1] * twist) * (11.7 + 0.532 * K + 0.938 * K**2))


def compression_cylinder(A: Array, D: Array, radius: float) -> float:
    """Classical critical compression of a long orthotropic cylinder, (2/R) min √(d/a), N/m, before any
    knock-down.

    Donnell's equations with waves α along and β around, ψ = (β/α)²: d = D11 + 2 (D12 + 2 D66) ψ + D22 ψ², a
    = a22 + (2 a12 + a66) ψ + a11 ψ²
    with the membrane compliance a = A⁻¹; the least over ψ ≥ 0. Isotropic: E t²/(R √(3 (1 − ν²))) at every ψ.
    """
    s = np.linalg.inv(A)
    d = np.array([D[0, 0], 2 * (D[0, 1] + 2 * D[2, 2]), D[1, 1]])
    a = np.array([s[1, 1], 2 * s[0, 1] + s[2, 2], s[0, 0]])
    turning = [d[2] * a[1] - d[1] * a[2], 2 * (d[2] * a[0] - d[0] * a[2]), d[1] * a[0] - d[0] * a[1]]
    roots = np.roots(turning) if np.any(np.abs(turning) > 0) else np.zeros(0)
    psi = roots.real[(np.abs(roots.imag) < 1e-9 * np.abs(roots)) & (roots.real > 0)]
    inner = (d[0] + d[1] * psi + d[2] * psi**2) / (a[0] + a[1] * psi + a[2] * psi**2)
    return float(2 / radius * np.sqrt(min(d[0] / a[0], d[2] / a[2], *inner)))


def compression_knockdown(A: Array, D: Array, radius: float) -> float:
    """SP-8007's γ for compressed cylinders: 1 − 0.901 (1 − e^−φ), φ = √(R/((Dx Dy)/(Ex Ey))^¼)/29.8."""
    depth = (D[0, 0] * D[1, 1] / (A[0, 0] * A[1, 1])) ** 0.25
    return float(1 - 0.901 * (1 - np.exp(-np.sqrt(radius / depth) / 29.8)))


def shear_cylinder(A: Array, D: Array, radius: float, length: float) -> float:
    """Critical shear of an orthotropic cylinder of `length` in torsion, no knock-down, N/m (SP-8007,
    moderate length).

    21.75 Dy^⅝ ((Ex Ey − Exy²)/Ey)^⅜ R^¼·⁵ / L^½ over 2πR².
    """
    extension = (A[0, 0] * A[1, 1] - A[0, 1] ** 2) / A[1, 1]
    torque = 21.75 * D[1, 1] ** 0.625 * extension**0.375 * radius**1.25 / np.sqrt(length)
    return float(torque / (2 * np.pi * radius**2))


def critical_flows(group: Panels, length: float = np.inf) -> tuple[Array, Array]:
    """Critical compression and shear of each panel alone, (p,) each, N/m.

    A curved panel is credited with the larger of what it bears as a flat one and as a knocked-down cylinder;
    its shear as a cylinder needs the
    `length` between frames or bulkheads. A flange with a free edge is taken for half as good in shear as a
    supported panel
    (`common practice`).
    """
    compression, shear = [], []
    for wall, b, radius, free in zip(group.walls, group.width, group.radius, group.free, strict=True):
        A, D = wall.membrane, wall.bending
        alone = compression_flange(D, b, length) if free else compression_flat(D, b)
        slide = shear_flat(D, b) / (2 if free else 1)
        if np.isfinite(radius):
            alone = max(alone, compression_knockdown(A, D, radius) * compression_cylinder(A, D, radius))
            if np.isfinite(length):
                slide = max(slide, SHEAR_KNOCKDOWN * shear_cylinder(A, D, radius, length))
        compression.append(alone)
        shear.append(slide)
    return np.array(compression), np.array(shear)


def panel_strength(section: Section, length: float = np.inf) -> PanelStrength:
    """What every panel of `section` bears, frames or bulkheads `length` apart, m (see `critical_flows`)."""
    group = panels(section)
    return PanelStrength(group, *critical_flows(group, length))


def local_buckling(solved: Analysis, flows: WallFlows, *, length: float = np.inf) -> LocalBuckling:
    """How far every panel is from buckling under `flows`; each panel as if its largest compression and shear
    acted all over it.

    length : between frames or bulkheads, m; used for flanges with a free edge and curved panels in shear
    """
    return panel_buckling(panel_strength(solved.section, length), flows.n_x, flows.q)


def panel_buckling(strength: PanelStrength, n_x: Array, q: Array) -> LocalBuckling:
    """The same under axial and shear flows (cases, m, k), N/m, for panels whose strength is known."""
    group = strength.panels
    compression_flow, shear_flow = (np.zeros((len(n_x), len(group.width))) for _ in range(2))
    for panel in range(len(group.width)):
        # a panel's segments mostly follow each other: then nothing is copied
        members = np.flatnonzero(group.of == panel)
        run = slice(members[0], members[-1] + 1)
        here = run if run.stop - run.start == len(members) else members
        compression_flow[:, panel] = np.maximum(-n_x[:, here].min(axis=(1, 2)), 0.0)
        shear_flow[:, panel] = np.maximum(q[:, here].max(axis=(1, 2)), -q[:, here].min(axis=(1, 2)))
    ratio_c, ratio_s = compression_flow / strength.compression, shear_flow / strength.shear
    reach = ratio_c + np.sqrt(ratio_c**2 + 4 * ratio_s**2)
    factor = np.divide(2.0, reach, out=np.full_like(reach, np.inf), where=reach > 0)
    return LocalBuckling(group, strength.compression, strength.shear, ratio_c, ratio_s, factor)
