"""A group of bolts through a plate: the force on each bolt, and the stiffness of the group.

Axes of a plate: 1 and 2 in its plane, 3 square to it, out of what it is bolted to (a force along +3 pulls it
off). Loads are (cases, 6): F1 F2 F3 M1 M2 M3, N and N·m, right-handed, at the origin in which `positions`
are given.

- In the plane, elastic method: direct share A_i F/ΣA, and A_i r_i M/ΣA r² square to the arm from the centroid
  (R.G. Budynas & J.K. Nisbett, Shigley's Mechanical Engineering Design, 9th ed. (2011), section 8-12; read).
- Out of it, two assumptions on where the pressure acts:
  `tension_about_centroid`: bolts alone, as a plate held off by its bolts (a gap, a soft bed): pull on one
  side, thrust on the other, zero at the centroid;
  `tension_about_edge`: a stiff plate that bears on a hard bed at its edge: pull grows in proportion to the
  distance from that edge (common practice). Each axis by itself; where both act their pulls are added, which
  is on the safe side.
- Preload and friction are not counted on: a laminate creeps.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
import numpy.typing as npt

from femcore.base.arrays import FloatArray
from femcore.base.errors import InputFault
from models.strength.springs import transferred_stiffness

HuthMembers = Literal["metal", "laminate", "rivets in metal"]

HUTH_CONSTANTS: Final = {"metal": (2 / 3, 3.0), "laminate": (2 / 3, 4.2), "rivets in metal": (2 / 5, 2.2)}
"""Exponent a and factor b of Huth's formula: bolts in metal, bolts in carbon laminate, rivets in metal."""

REL_TOL_IN_LINE = 1e-12
"""Of the greatest scaled inertia of a group: an eigenvalue up to this counts as zero, the bolts as in one line."""
REL_TOL_UNRESISTED = 1e-9
"""Of the greatest load component: what the bolts' pulls miss of it up to this is rounding."""


@dataclass(frozen=True, eq=False)
class BoltGroup:
    """Where the bolts are: `positions` (bolts, 2), m, axes 1 and 2; `areas` (bolts,), m² or any measure of
    their shares.

    Left out, areas are equal.
    """

    positions: FloatArray
    areas: FloatArray | None = None

    def __post_init__(self) -> None:
        positions = np.asarray(self.positions, dtype=float)
        if positions.ndim != 2 or positions.shape[1:] != (2,) or not len(positions):
            raise InputFault(
                "bolts", f"positions are of shape {positions.shape}", "give two coordinates for each bolt"
            )
        areas = np.ones(len(positions)) if self.areas is None else np.asarray(self.areas, dtype=float)
        if areas.shape != (len(positions),) or not (areas > 0).all():
            raise InputFault("bolts", "areas do not fit the bolts", "give one area above zero for each bolt")
        object.__setattr__(self, "positions", positions)
        object.__setattr__(self, "areas", areas)

    @property
    def weights(self) -> FloatArray:
        """(bolts,), each bolt's share of a direct force; sums to 1."""
        assert self.areas is not None  # noqa: S101  (set when made)
        return np.asarray(self.areas / self.areas.sum())

    @property
    def centroid(self) -> FloatArray:
        """(2,), m."""
        return np.asarray(self.weights @ self.positions)

    @property
    def arms(self) -> FloatArray:
        """(bolts, 2), m, from the centroid."""
        return np.asarray(self.positions - self.centroid)


@dataclass(frozen=True, eq=False)
class BoltForces:
    """What the plate puts on each bolt: `shear` (cases, bolts, 2), N, in the plane; `tension` (cases,
    bolts), N, a pull above zero.
    """

    shear: FloatArray
    tension: FloatArray

    @property
    def shear_magnitude(self) -> FloatArray:
        """(cases, bolts), N."""
        return np.asarray(np.hypot(self.shear[..., 0], self.shear[..., 1]))

    @property
    def pull(self) -> FloatArray:
        """(cases, bolts), N, the tension where it is one, else zero."""
        return np.maximum(self.tension, 0.0)


def rectangular_group(columns: int, rows: int, pitch_1: float, pitch_2: float) -> BoltGroup:
    """Bolts in `columns` along axis 1 and `rows` along axis 2, their centroid at the origin."""
    one = (np.arange(columns) - (columns - 1) / 2) * pitch_1
    two = (np.arange(rows) - (rows - 1) / 2) * pitch_2
    return BoltGroup(np.stack(np.meshgrid(one, two, indexing="ij"), axis=-1).reshape(-1, 2))


def shear_forces(group: BoltGroup, loads: FloatArray) -> FloatArray:
    """(cases, bolts, 2), N: the elastic method in the plane."""
    w, r = group.weights, group.arms
    *_, moment = _loads_at_centroid(group, loads).T
    polar = w @ (r**2).sum(axis=1)
    if polar == 0 and np.any(moment):
        raise InputFault(
            "bolts", "one bolt does not resist a moment in the plane", "give more bolts than one"
        )
    x, y = r.T
    turn = np.stack([-y, x], axis=1) / (polar or 1.0)
    return np.asarray(w[:, None] * (loads[:, None, :2] + moment[:, None, None] * turn))


def tension_about_centroid(group: BoltGroup, loads: FloatArray) -> FloatArray:
    """(cases, bolts), N: pulls linear over the group in equilibrium with F3, M1 and M2, thrusts below zero.

    N_i = A_i (e + θ1 y_i − θ2 x_i) from its three equations of equilibrium, products of inertia included.
    InputFault for bolts in a line that a moment turns about that line.
    """
    w, (x, y) = group.weights, group.arms.T
    shape = np.stack([np.ones_like(x), y, -x])
    inertia = (shape * w) @ shape.T
    applied = _loads_at_centroid(group, loads)[:, 2:5]
    scale = 1 / np.sqrt(np.maximum(np.diag(inertia), np.finfo(float).tiny))
    even = scale[:, None] * inertia * scale
    motion = (applied * scale) @ np.linalg.pinv(even, rcond=REL_TOL_IN_LINE, hermitian=True) * scale
    pulls = np.asarray(motion @ shape * w)
    residual = np.abs(pulls @ shape.T - applied).max(initial=0.0)
    if residual > REL_TOL_UNRESISTED * np.abs(applied).max(initial=np.finfo(float).tiny):
        cure = "set bolts off that line, or let the plate bear at an edge"
        raise InputFault("bolts", "bolts in one line do not resist a moment about it", cure)
    return pulls


def tension_about_edge(group: BoltGroup, loads: FloatArray, outline: npt.ArrayLike) -> FloatArray:
    """(cases, bolts), N, none below zero: the plate turns about the edge of its `outline` that it is pressed
    on.

    outline : (2, 2), m, the plate's least and greatest coordinate along axis 1, then along axis 2

    T_i = A_i d_i M/ΣA d² with d from that edge and M about the centroid; a pull F3 is shared by area, a
    thrust F3 relieves nothing. The bed's pressure, at the edge, balances the pulls.
    """
    (low1, high1), (low2, high2) = np.asarray(outline, dtype=float)
    x, y = group.positions.T
    if min(x.min() - low1, high1 - x.max(), y.min() - low2, high2 - y.max()) <= 0:
        raise InputFault(
            "bolts", "a bolt is at or beyond the plate's edge", "give an outline around all bolts"
        )
    _, _, F3, M1, M2, _ = _loads_at_centroid(group, loads).T
    pull = np.maximum(F3, 0.0)[:, None] * group.weights
    for moment, toward, away in ((M1, y - low2, high2 - y), (M2, high1 - x, x - low1)):
        pull = pull + np.where(
            moment[:, None] > 0,
            _tension_of_moment(group, moment, toward),
            _tension_of_moment(group, -moment, away),
        )
    return np.asarray(pull)


def bolt_forces(group: BoltGroup, loads: FloatArray, outline: npt.ArrayLike | None = None) -> BoltForces:
    """Shear and tension of every bolt: about the plate's edge where an `outline` is given, else about the
    centroid.
    """
    loads = np.asarray(loads, dtype=float)
    if outline is None:
        return BoltForces(shear_forces(group, loads), tension_about_centroid(group, loads))
    return BoltForces(shear_forces(group, loads), tension_about_edge(group, loads, outline))


def huth_stiffness(
    diameter: float,
    sheets: tuple[tuple[float, float], tuple[float, float]],
    E_bolt: float,
    members: HuthMembers = "laminate",
) -> float:
    """N/m, shear stiffness of one bolt between two sheets, each (thickness m, modulus in its plane Pa).

    1/k = ((t1 + t2)/2d)^a b [1/t1E1 + 1/t2E2 + 1/(2 t1Ef) + 1/(2 t2Ef)] of single shear. In double shear published
    codes differ in which sheet is the first, by 25 %: it is not offered. H. Huth, ASTM STP 927 (1986) 221 and LBF report
    FB-172 (1984);
    constants `HUTH_CONSTANTS`. The formula was read in a review of it; of metal on laminate the laminate's constants
    are taken, the softer ones. It was fitted to tight holes: a loose one has no stiffness until it bears.
    """
    (t1, E1), (t2, E2) = sheets
    a, b = HUTH_CONSTANTS[members]
    flexibility = 1 / (t1 * E1) + 1 / (t2 * E2) + (1 / t1 + 1 / t2) / (2 * E_bolt)
    spread: float = ((t1 + t2) / (2 * diameter)) ** a
    return 1.0 / (spread * b * flexibility)


def axial_stiffness(
    stress_area: float, E_bolt: float, grip: float, washer_area: float, bed: float, E_bed: float
) -> float:
    """N/m, of one bolt pulled: shank EA/L over its `grip` in series with the bed of thickness `bed` under
    its washer.

    The bed is taken as a column of the washer's net area, with the laminate's modulus through its thickness:
    load spreads and it is stiffer, so this is on the soft side (derived).
    """
    return 1.0 / (grip / (E_bolt * stress_area) + bed / (E_bed * washer_area))


def group_stiffness(group: BoltGroup, shear: float, pull: float) -> FloatArray:
    """(6, 6), N/m … N·m/rad, of a rigid plate on bolts that each resist shear (N/m) and pull (N/m), about
    the origin.

    With areas given, each bolt has its share of the sum. In the plane about the centroid: k Σr² per radian.
    """
    each = len(group.weights) * group.weights
    bolt = np.zeros((len(each), 6, 6))
    bolt[:, 0, 0] = bolt[:, 1, 1] = shear * each
    bolt[:, 2, 2] = pull * each
    arms = np.concatenate([group.positions, np.zeros((len(each), 1))], axis=1)
    return np.asarray(transferred_stiffness(bolt, arms).sum(axis=0))


def _loads_at_centroid(group: BoltGroup, loads: FloatArray) -> FloatArray:
    """(cases, 6): the loads moved from the origin to the centroid of the bolts."""
    c1, c2 = group.centroid
    F1, F2, F3, M1, M2, M3 = np.asarray(loads, dtype=float).T
    return np.stack([F1, F2, F3, M1 - c2 * F3, M2 + c1 * F3, M3 - (c1 * F2 - c2 * F1)], axis=1)


def _tension_of_moment(group: BoltGroup, moment: FloatArray, distance: FloatArray) -> FloatArray:
    return np.asarray(moment[:, None] * (group.weights * distance / (group.weights @ distance**2)))
