"""Local buckling of the walls: long flat and curved panels of laminate or metal under compression and shear.

Panels are the walls between corners and joints. Their long edges count as simply supported (the neighbours' own bending
stiffness is not counted on), or as free where a wall ends.

Flat panels of orthotropic laminate have closed forms: compression and flange after S. G. Lekhnitskii, Anisotropic Plates
(1968), as in L. P. Kollár & G. S. Springer, Mechanics of Composite Structures (2003), ch. 4; shear after E. Seydel (1933),
as there and in R&M 3677 (1970): all from memory, checked in the tests against the plate equation. Where the laminate couples
bending with twist (D16, D26) they are on the unsafe side, and `strip_buckling` takes their place.
Curved: Donnell's equations for a long anisotropic cylinder; knock-downs after NASA SP-8007 (1968; 2020), read as quoted,
the torsion formula from there too, from memory.

Compression and shear together: R_c = (1 − q/q₊)(1 + q/q₋) with the critical shear of either sense; R_c + R_s² = 1 where these are
equal (common practice for long plates and for cylinders). It is within 4 % below and 1.5 % above the plate equation for the
laminates of the tests, up to 5 % above it where all fibres run askew.

A sandwich bends and shears. Its core's flexibility adds to that in bending: 1/N = 1/N_bending + 1/S at least, S = G d²/c (P. F.
Papkovich's theorem on the sum of two flexibilities, from memory), for every combination of flows. Short waves in the core alone
are shear crimping, at a largest compression of any direction of S. In compression the sum is on the safe side by 25 % at most.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from femcore.base.arrays import ArrayRecord
from femcore.laminates import core_shear_stiffness
from femcore.sections.strip_buckling import critical_strip_flow, critical_strip_shear

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
TORSION_EXPONENT = 0.625
"""Of the bending stiffness in the torsional buckling of cylinders, the same source."""
MAX_FLAT_SAGITTA = 1e-3
"""Flat neighbours that turn by less than this, rad, are one panel."""
REL_TOL_UNCOUPLED = 1e-6
"""D16 over √(D11 D66), D26 over √(D22 D66): below it the laminate counts as orthotropic."""
MIN_HALF_WAVE = 0.2
"""Of a coupled panel's width: nothing is gained by frames closer than this, up to where the series has converged."""
DIGITS_OF_A_WIDTH = 9
"""m, decimals: panels alike to these are worked out once."""
PANELS_KEPT = 512
"""Whose critical flows are kept: the same strips come back under every set of actions."""


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
    """Panels with their critical flows when alone, (p,) each, N/m, knock-downs included and a core's flexibility not.

    compression    : along the beam
    shear          : of positive flow, along the segments from start to end;   shear_negative : of the other sense
    crimping       : largest compression of any direction at which the core crimps; inf without a core
    """

    panels: Panels
    compression: Array
    shear: Array
    shear_negative: Array
    crimping: Array


@dataclass(frozen=True, eq=False, repr=False)
class LocalBuckling(ArrayRecord):
    """How far each panel is from buckling; arrays are (cases, p).

    strength           : the panels with what each bears
    ratio_c, ratio_s   : largest compression, and largest shear of the worse sense, over what the panel bears without core shear
    factor             : what all actions may be multiplied by until the panel buckles, core shear included; inf where nothing
                         presses
    crimping_factor    : the same until its core crimps
    """

    strength: PanelStrength
    ratio_c: Array
    ratio_s: Array
    factor: Array
    crimping_factor: Array

    @property
    def panels(self) -> Panels:
        """The panels."""
        return self.strength.panels


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


def compression_flat(D: Array, width: float, length: float = np.inf) -> float:
    """Critical compression of a long orthotropic plate, simply supported: 2π²/b² (√(D11 D22) + D12 + 2 D66), N/m.

    length : m; where the half-wave b (D11/D22)^¼ is longer, it is that long: π² (D11/a² + 2 (D12 + 2 D66)/b² + D22 a²/b⁴)
    """
    twist = D[0, 1] + 2 * D[2, 2]
    if length < width * (D[0, 0] / D[1, 1]) ** 0.25:
        return float(np.pi**2 * (D[0, 0] / length**2 + 2 * twist / width**2 + D[1, 1] * length**2 / width**4))
    return float(2 * np.pi**2 / width**2 * (np.sqrt(D[0, 0] * D[1, 1]) + twist))


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
    """Classical critical compression of a long anisotropic cylinder, (2/R) min √(d/a), N/m, before any knock-down.

    Donnell's equations with waves along a helix of slope t (α along, αt around), which solve them whatever couples:
    d = D11 + 4 D16 t + 2 (D12 + 2 D66) t² + 4 D26 t³ + D22 t⁴ and a = a22 − 2 a26 t + (2 a12 + a66) t² − 2 a16 t³ + a11 t⁴
    with the membrane compliance a = A⁻¹; the least over t. Isotropic: E t²/(R √(3 (1 − ν²))) at every t.
    """
    s = np.linalg.inv(A)
    d = np.array([D[1, 1], 4 * D[1, 2], 2 * (D[0, 1] + 2 * D[2, 2]), 4 * D[0, 2], D[0, 0]])
    a = np.array([s[0, 0], -2 * s[0, 2], 2 * s[0, 1] + s[2, 2], -2 * s[1, 2], s[1, 1]])
    scale = (d[4] / d[0]) ** 0.25
    d, a = (each * scale ** np.arange(4, -1, -1) for each in (d, a))
    turning = np.polysub(np.polymul(np.polyder(d), a), np.polymul(d, np.polyder(a)))
    roots = np.roots(turning) if np.any(np.abs(turning) > 0) else np.zeros(0)
    # a root that rounding has moved off the real axis is tried too: any slope gives an upper bound
    inner = np.polyval(d, roots.real) / np.polyval(a, roots.real)
    return float(2 / radius * np.sqrt(min(d[0] / a[0], d[-1] / a[-1], *inner)))


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
    torque = 21.75 * D[1, 1] ** TORSION_EXPONENT * extension**0.375 * radius**1.25 / np.sqrt(length)
    return float(torque / (2 * np.pi * radius**2))


def coupling_share(D: Array) -> float:
    """The part of the bending stiffness that D16 and D26 can take away, 0 to 1.

    κ·D κ ≥ (1 − share) κ·D₀ κ for every curvature, D₀ the same without them; so buckling loads of plates and shells that bend
    alone fall by no more.
    """
    straight = D.copy()
    straight[:2, 2] = straight[2, :2] = 0.0
    root = np.linalg.cholesky(straight)
    both = np.linalg.solve(root, np.linalg.solve(root, D - straight).T)
    return float(np.abs(np.linalg.eigvalsh(both)).max())


def critical_flows(
    group: Panels, length: float = np.inf, edge_length: float = np.inf
) -> tuple[Array, Array, Array]:
    """Critical compression, and shear of positive and of negative sense, of each panel alone, (p,) each, N/m.

    A curved panel is credited with the larger of what it bears as a flat one and as a knocked-down cylinder; its shear as a
    cylinder needs the `length` between frames or bulkheads. A flat panel bears in shear what an endless strip along it bears, or
    one across it, whichever is more: either leaves supported edges out. A flange with a free edge, which is at most
    `edge_length` long, is taken for half as good in shear as a supported panel (`common practice`).
    """
    found = [
        _critical_flows(
            wall,
            round(b, DIGITS_OF_A_WIDTH),
            round(radius, DIGITS_OF_A_WIDTH),
            min(length, edge_length) if free else length,
            free=free,
        )
        for wall, b, radius, free in zip(
            group.walls, group.width.tolist(), group.radius.tolist(), group.free.tolist(), strict=True
        )
    ]
    compression, shear, negative = np.array(found).reshape(-1, 3).T
    return compression, shear, negative


@lru_cache(maxsize=PANELS_KEPT)
def _critical_flows(
    wall: Wall, b: float, radius: float, length: float, *, free: bool
) -> tuple[float, float, float]:
    A, D = wall.membrane, wall.bending
    coupled = _is_coupled(D)
    if coupled:
        shortest = max(length, MIN_HALF_WAVE * b)
        alone = critical_strip_flow(D, b, 1.0, 0.0, length=shortest, free=free)
    else:
        alone = compression_flange(D, b, length) if free else compression_flat(D, b, length)
    along = critical_strip_shear(D, b) if coupled else (shear_flat(D, b),) * 2
    slides = [max(of) / (2 if free else 1) for of in zip(along, _shear_across(wall, length), strict=True)]
    if np.isfinite(radius):
        alone = max(alone, compression_knockdown(A, D, radius) * compression_cylinder(A, D, radius))
        if np.isfinite(length):
            less = (1 - coupling_share(D)) ** TORSION_EXPONENT
            cylinder = SHEAR_KNOCKDOWN * less * shear_cylinder(A, D, radius, length)
            slides = [max(slide, cylinder) for slide in slides]
    return alone, slides[0], slides[1]


def _is_coupled(D: Array) -> bool:
    return bool(np.any(np.abs(D[:2, 2]) > REL_TOL_UNCOUPLED * np.sqrt(np.diag(D)[:2] * D[2, 2])))


@lru_cache(maxsize=PANELS_KEPT)
def _shear_across(wall: Wall, length: float) -> tuple[float, float]:
    """Critical shear of either sense of the strip across a panel, as wide as the panel is long."""
    if np.isinf(length):
        return 0.0, 0.0
    across = wall.bending[np.ix_([1, 0, 2], [1, 0, 2])]
    return critical_strip_shear(across, length) if _is_coupled(across) else (shear_flat(across, length),) * 2


def panel_strength(section: Section, length: float = np.inf, edge_length: float = np.inf) -> PanelStrength:
    """What every panel of `section` bears, frames or bulkheads `length` apart, m, free edges no longer than `edge_length`
    (see `critical_flows`).
    """
    group = panels(section)
    crimping = [
        np.inf if wall.laminate is None else core_shear_stiffness(wall.laminate) for wall in group.walls
    ]
    return PanelStrength(group, *critical_flows(group, length, edge_length), np.array(crimping))


def local_buckling(solved: Analysis, flows: WallFlows, *, length: float = np.inf) -> LocalBuckling:
    """How far every panel is from buckling under `flows`; each panel as if its largest compression and shear
    acted all over it.

    length : between frames or bulkheads, m; half-waves are no longer, and curved panels in shear need it
    """
    return panel_buckling(panel_strength(solved.section, length), flows.n_x, flows.q)


def panel_buckling(strength: PanelStrength, n_x: Array, q: Array) -> LocalBuckling:
    """The same under axial and shear flows (cases, m, k), N/m, for panels whose strength is known."""
    # a panel's segments as a run of places: they mostly are one already, and then nothing is copied
    of, places = strength.panels.of, n_x.shape[2]
    if np.any(of[1:] < of[:-1]):
        order = np.argsort(of, kind="stable")
        of, n_x, q = of[order], n_x[:, order], q[:, order]
    starts = places * np.searchsorted(of, np.arange(len(strength.panels.width)))
    axial, shear_flow = (flow.reshape(len(flow), places * len(of)) for flow in (n_x, q))
    lowest, least = (np.minimum.reduceat(flow, starts, axis=1) for flow in (axial, shear_flow))
    largest = np.maximum.reduceat(shear_flow, starts, axis=1)
    compression = np.maximum(-lowest, 0.0)
    ratio_c = compression / strength.compression
    # convex in the shear: between its largest and its least the worse of these two governs
    bending = np.maximum(_bent(strength, ratio_c, largest), _bent(strength, ratio_c, least))
    shear = np.maximum(largest, -least)
    crimping = (compression / 2 + np.sqrt((compression / 2) ** 2 + shear**2)) / strength.crimping
    ratio_s = np.maximum(largest / strength.shear, -least / strength.shear_negative)
    return LocalBuckling(strength, ratio_c, ratio_s, _reserve(bending + crimping), _reserve(crimping))


def _bent(strength: PanelStrength, ratio_c: Array, q: Array) -> Array:
    """Utilisation u of panels that bend alone: R_c/u = (1 − q/(u q₊)) (1 + q/(u q₋))."""
    linear = ratio_c + q / strength.shear - q / strength.shear_negative
    return np.asarray(
        (linear + np.sqrt(linear**2 + 4 * q**2 / (strength.shear * strength.shear_negative))) / 2
    )


def _reserve(utilisation: Array) -> Array:
    return np.divide(1.0, utilisation, out=np.full_like(utilisation, np.inf), where=utilisation > 0)
