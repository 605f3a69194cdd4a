"""An independent model of a platform: flat shell finite elements on two box hulls, in numpy and scipy alone.

Every wall lies square to an axis, so that each element is a rectangle: in its plane bilinear with Wilson's two incompatible modes
(E.L. Wilson and others, 1973; passes the patch test on rectangles), out of its plane the twelve-term plate of Adini, Clough and
Melosh (1960/61; from memory), about its normal a weak penalty that ties each corner's rotation to that of the element.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cache
from itertools import pairwise

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.linalg import splu

DRILLING = 0.005
"""Share of G t that ties the rotation about the normal; ten times less moves φ of the test platforms by about 0.1 %."""
IN_PLANE_AXES = {0: (1, 2), 1: (2, 0), 2: (0, 1)}
"""Axes 1 and 2 of a wall by its normal, right-handed."""
CORNERS = np.array([(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)])
NEAR = 1e-9
"""m: nearer than that, two grid lines are one."""


Moduli = tuple[float, float, float, float]
"""E1, E2, ν12, G12 of a wall in its own axes 1 and 2, Pa."""


def isotropic(E: float = 10e9, nu: float = 0.3) -> Moduli:
    """Of one modulus and Poisson's ratio."""
    return E, E, nu, E / (2 * (1 + nu))


ISOTROPIC = isotropic()


def plane_stress(moduli: Moduli) -> np.ndarray:
    """(3, 3), Pa, from ε1, ε2, γ12 to σ1, σ2, τ12 (R.M. Jones, Mechanics of Composite Materials, 1999, eq. 2.61–2.66)."""
    E1, E2, nu12, G = moduli
    left = 1 - nu12**2 * E2 / E1
    return np.array([[E1 / left, nu12 * E2 / left, 0], [nu12 * E2 / left, E2 / left, 0], [0, 0, G]])


@cache
def membrane(a: float, b: float, moduli: Moduli) -> np.ndarray:
    """(8, 8) of a rectangle 2a × 2b of unit thickness; freedoms u, v by corner."""
    D = plane_stress(moduli)
    K = np.zeros((12, 12))
    for x, y in (CORNERS / np.sqrt(3)).tolist():
        dx = np.append(CORNERS[:, 0] * (1 + CORNERS[:, 1] * y) / 4, [-2 * x, 0]) / a
        dy = np.append(CORNERS[:, 1] * (1 + CORNERS[:, 0] * x) / 4, [0, -2 * y]) / b
        B = np.zeros((3, 12))
        B[0, 0::2], B[1, 1::2], B[2, 0::2], B[2, 1::2] = dx, dy, dy, dx
        K += B.T @ D @ B * a * b
    return K[:8, :8] - K[:8, 8:] @ np.linalg.solve(K[8:, 8:], K[8:, :8])


@cache
def bending(a: float, b: float, moduli: Moduli) -> np.ndarray:
    """(12, 12) of a rectangle 2a × 2b with t³/12 = 1; freedoms w, θ1 = ∂w/∂y, θ2 = −∂w/∂x by corner."""
    powers = np.array(
        [(0, 0), (1, 0), (0, 1), (2, 0), (1, 1), (0, 2), (3, 0), (2, 1), (1, 2), (0, 3), (3, 1), (1, 3)]
    )

    def terms(x: float, y: float, by_x: int, by_y: int) -> np.ndarray:
        out = np.ones(len(powers))
        for at, order, exponents in ((x, by_x, powers[:, 0]), (y, by_y, powers[:, 1])):
            left = exponents.astype(float).copy()
            for _ in range(order):
                out *= left
                left = np.maximum(left - 1, 0)
            out *= at**left
        return out

    corners = [(x * a, y * b) for x, y in CORNERS.tolist()]
    C = np.array(
        [row for x, y in corners for row in (terms(x, y, 0, 0), terms(x, y, 0, 1), -terms(x, y, 1, 0))]
    )
    D = plane_stress(moduli)
    points, weights = np.polynomial.legendre.leggauss(3)
    K = np.zeros((12, 12))
    for x, wx in zip(points, weights, strict=True):
        for y, wy in zip(points, weights, strict=True):
            at = x * a, y * b
            B = np.array([terms(*at, 2, 0), terms(*at, 0, 2), 2 * terms(*at, 1, 1)])
            K += B.T @ D @ B * (wx * wy * a * b)
    inverse = np.linalg.inv(C)
    return inverse.T @ K @ inverse


@cache
def shell(a: float, b: float, t: float, moduli: Moduli) -> np.ndarray:
    """(24, 24) of a rectangle 2a × 2b of thickness t; freedoms u, v, w, θ1, θ2, θ3 by corner, in the wall's own axes."""
    K = np.zeros((24, 24))
    places = np.arange(24).reshape(4, 6)
    flat, plate = places[:, :2].ravel(), places[:, 2:5].ravel()
    K[np.ix_(flat, flat)] += t * membrane(a, b, moduli)
    K[np.ix_(plate, plate)] += t**3 / 12 * bending(a, b, moduli)
    spin = np.zeros(24)  # of the element's middle, ½(∂v/∂x − ∂u/∂y)
    spin[places[:, 1]], spin[places[:, 0]] = CORNERS[:, 0] / (8 * a), -CORNERS[:, 1] / (8 * b)
    for corner in places[:, 5]:
        row = -spin
        row[corner] += 1.0
        K += DRILLING * moduli[3] * t * a * b * np.outer(row, row)
    return K


@dataclass
class ShellModel:
    """Walls on a grid of lines x, y, z, m; assembled when solved.

    lines : grid lines by axis; every wall's edge must be on one
    """

    lines: tuple[np.ndarray, np.ndarray, np.ndarray]
    moduli: Moduli = ISOTROPIC
    _rows: list = field(default_factory=list)
    _columns: list = field(default_factory=list)
    _values: list = field(default_factory=list)

    def line(self, axis: int, at: float) -> int:
        """Number of the grid line there."""
        number = int(np.argmin(np.abs(self.lines[axis] - at)))
        assert abs(self.lines[axis][number] - at) < NEAR, (axis, at)
        return number

    def node(self, i, j, k):
        """Number of the node on three grid lines."""
        _, ny, nz = (len(line) for line in self.lines)
        return (np.asarray(i) * ny + j) * nz + k

    def nodes(self, x: Sequence[float], y: Sequence[float], z: Sequence[float]) -> np.ndarray:
        """Every node within the ranges (from, to), flat."""
        ranges = [np.arange(self.line(a, r[0]), self.line(a, r[1]) + 1) for a, r in enumerate((x, y, z))]
        return self.node(*np.meshgrid(*ranges, indexing="ij")).ravel()

    @property
    def points(self) -> np.ndarray:
        """(nodes, 3), m, of the whole grid."""
        return np.stack(np.meshgrid(*self.lines, indexing="ij"), axis=-1).reshape(-1, 3)

    def wall(
        self,
        normal: int,
        at: float,
        first: Sequence[float],
        second: Sequence[float],
        t: float,
        hole=None,
        moduli=None,
    ) -> None:
        """A wall square to `normal`, over the ranges `first` and `second` of its own axes 1 and 2, less a hole of such ranges.

        moduli : left out, the model's
        """
        one, two = IN_PLANE_AXES[normal]
        fixed = self.line(normal, at)
        for i in range(self.line(one, first[0]), self.line(one, first[1])):
            for j in range(self.line(two, second[0]), self.line(two, second[1])):
                lo = np.array([self.lines[one][i], self.lines[two][j]])
                hi = np.array([self.lines[one][i + 1], self.lines[two][j + 1]])
                middle = (lo + hi) / 2
                if hole and all(r[0] < m < r[1] for r, m in zip(hole, middle, strict=True)):
                    continue
                index = {normal: [fixed] * 4, one: [i, i + 1, i + 1, i], two: [j, j, j + 1, j + 1]}
                nodes = self.node(*(np.array(index[axis]) for axis in range(3)))
                a, b = ((hi - lo) / 2).round(9).tolist()
                K = shell(a, b, t, moduli or self.moduli)
                axes = np.array([one, two, normal])
                freedoms = (6 * nodes[:, None] + np.concatenate([axes, axes + 3])).ravel()
                self._rows.append(np.repeat(freedoms, 24))
                self._columns.append(np.tile(freedoms, 24))
                self._values.append(K.ravel())

    @property
    def entries(self) -> tuple[list, list, list]:
        """Rows, columns and values of the stiffness matrix, N/m and so on, element by element; to be added up."""
        return self._rows, self._columns, self._values

    def solve(self, loads: dict[int, float], fixed: np.ndarray) -> np.ndarray:
        """(nodes, 6), m and rad, under loads by freedom, N and N·m; NaN where there is no wall."""
        count = 6 * np.prod([len(line) for line in self.lines])
        rows, columns, values = (np.concatenate(part) for part in self.entries)
        used = np.setdiff1d(np.unique(rows), fixed)
        number = np.full(count, -1)
        number[used] = np.arange(len(used))
        free = (number[rows] >= 0) & (number[columns] >= 0)
        K = coo_matrix(
            (values[free], (number[rows[free]], number[columns[free]])), shape=(len(used),) * 2
        ).tocsc()
        force = np.zeros(count)
        for freedom, load in loads.items():
            force[freedom] += load
        u = np.full(count, np.nan)
        u[np.unique(rows)] = 0.0
        # symmetric and positive definite: ordered as such, without pivots, the factors have a third of the entries
        factors = splu(K, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True})
        u[used] = factors.solve(force[used])
        return u.reshape(-1, 6)


def grid_lines(*marks: float, size: float) -> np.ndarray:
    """Lines through every mark, none further apart than `size`, m."""
    stops = np.unique(np.round(marks, 9))
    runs = [np.linspace(a, b, int(np.ceil((b - a) / size - NEAR)) + 1)[:-1] for a, b in pairwise(stops)]
    return np.append(np.concatenate(runs), stops[-1])


@dataclass(frozen=True)
class BoxPlatform:
    """A platform on two box hulls, as built, m: what both the shells and the recipe are given.

    spacing, breadth, depth : of the hulls: between centrelines, of each box, its depth; z from the hulls' bottom
    hull        : thickness of the hulls' walls;   forward, aft : where they end, x
    bulkheads   : station, bottom, top, thickness, thickness of the hull's diaphragm
    skins       : height, thickness;   deck : x from and to
    aft_beam    : station, height of its middle, its breadth, depth, wall
    bulkhead_moduli, skin_moduli : of bulkheads and diaphragms (1 athwart), and of skins (1 fore and aft)
    doors       : by number of the bulkhead: (y from, y to, z from, z to) on each side
    """

    spacing: float
    breadth: float
    depth: float
    hull: float
    forward: float
    aft: float
    bulkheads: tuple[tuple[float, float, float, float, float], ...]
    skins: tuple[tuple[float, float], ...] = ()
    deck: tuple[float, float] = (0.0, 0.0)
    aft_beam: tuple[float, float, float, float, float] | None = None
    doors: dict = field(default_factory=dict)
    size: float = 0.3
    bulkhead_moduli: Moduli = ISOTROPIC
    skin_moduli: Moduli = ISOTROPIC

    @property
    def stations(self) -> np.ndarray:
        """m, of the transverse members, bulkheads first."""
        beam = [] if self.aft_beam is None else [self.aft_beam[0]]
        return np.array([*(one[0] for one in self.bulkheads), *beam])

    @property
    def clear(self) -> float:
        """m, between the hulls' inner sides."""
        return self.spacing - self.breadth


@dataclass(frozen=True)
class Twist:
    """What a pair of opposite pitch moments of 1 N·m on the hulls does.

    phi : rad, pitch of the port hull between the first and the last transverse member
    x_c : m, where a member between the hulls would carry no shear
    """

    phi: float
    x_c: float


def twist_of(stations: np.ndarray, heave: np.ndarray, roll: np.ndarray, spacing: float) -> Twist:
    """From the port hull's heave and roll at the members, of a movement that is antisymmetric about the centreline.

    A member put at x would be sheared by 2 w(x) − ψ(x) b_c, whatever rigid roll of the whole boat is in both.
    """
    order = np.argsort(stations)
    x, sheared = stations[order], (2 * heave - roll * spacing)[order]
    phi = -(heave[order][-1] - heave[order][0]) / (x[-1] - x[0])
    change = np.flatnonzero(np.sign(sheared[1:]) != np.sign(sheared[:-1]))
    i = int(change[0]) if len(change) else 0
    x_c = x[i] - sheared[i] * (x[i + 1] - x[i]) / (sheared[i + 1] - sheared[i])
    return Twist(float(phi), float(x_c))


def shell_platform(given: BoxPlatform) -> ShellModel:
    """The port half of it, y from 0 at the centreline."""
    half, box, depth = given.clear / 2, given.aft_beam, given.depth
    across, up, along = (half, half + given.breadth), (0.0, depth), (given.aft, given.forward)
    beam = [] if box is None else [[box[i] - box[i + 2] / 2, box[i] + box[i + 2] / 2] for i in (0, 1)]
    stations = [one[0] for one in given.bulkheads]
    doors = np.array([[*door] for door in given.doors.values()]).reshape(-1, 4)
    levels = [z for one in given.bulkheads for z in one[1:3]] + [z for z, _ in given.skins]
    xs = [*along, *stations, *(given.deck if given.skins else ()), *(beam[0] if beam else ())]
    zs = [*up, *levels, *doors[:, 2:].ravel(), *(beam[1] if beam else ())]
    ys = [0.0, *across, *doors[:, :2].ravel()]
    model = ShellModel(tuple(grid_lines(*marks, size=given.size) for marks in (xs, ys, zs)))
    for sign in range(2):
        model.wall(2, up[sign], along, across, given.hull)
        model.wall(1, across[sign], up, along, given.hull)
        model.wall(0, along[sign], across, up, given.hull)
    for number, (x, bottom, top, t, diaphragm) in enumerate(given.bulkheads):
        door = given.doors.get(number)
        model.wall(0, x, (0.0, half), (bottom, top), t, door and (door[:2], door[2:]), given.bulkhead_moduli)
        model.wall(0, x, across, up, diaphragm, moduli=given.bulkhead_moduli)
    for z, t in given.skins:
        model.wall(2, z, given.deck, (0.0, half), t, moduli=given.skin_moduli)
    for sign in range(2 if beam else 0):
        model.wall(0, beam[0][sign], (0.0, half), beam[1], box[4])
        model.wall(2, beam[1][sign], beam[0], (0.0, half), box[4])
        model.wall(0, beam[0][sign], across, up, given.hull)
    return model


def hull_movement(model: ShellModel, u: np.ndarray, given: BoxPlatform, x: float) -> tuple[float, float]:
    """Heave (m) and roll (rad) of the port hull at a station, the mean of its four corners, linear between grid lines."""
    side, up = (given.clear / 2, given.clear / 2 + given.breadth), (0.0, given.depth)
    found = []
    for place in model.lines[0]:
        corners = [model.nodes((place,) * 2, (y,) * 2, (z,) * 2)[0] for z in up for y in side]
        v, w = u[corners, 1], u[corners, 2]
        roll = (w[[1, 3]] - w[[0, 2]]).sum() / (4 * given.breadth) + (v[:2] - v[2:]).sum() / (4 * given.depth)
        found.append((w.mean(), roll))
    return tuple(float(np.interp(x, model.lines[0], column)) for column in np.transpose(found))


def antisymmetric_twist(given: BoxPlatform) -> Twist:
    """By shells, free–free: opposite pitch moments on the hulls, each as two opposite forces at the hull's ends."""
    model = shell_platform(given)
    half, up = given.clear / 2, (0.0, given.depth)
    middle = model.nodes((given.aft, given.forward), (0, 0), up)
    # of rigid movement an antisymmetric one leaves sway, yaw and roll: held at three corners of the hull's inboard side
    corners = [
        model.nodes((x, x), (half,) * 2, (z, z))[0]
        for x, z in ((given.aft, 0), (given.forward, 0), (given.aft, up[1]))
    ]
    fixed = np.concatenate([(6 * middle[:, None] + [0, 2, 4]).ravel(), 6 * np.array(corners) + 1])
    loads: dict[int, float] = {}
    for x, force in ((given.forward, -1.0), (given.aft, 1.0)):
        nodes = np.concatenate([model.nodes((x, x), (y, y), up) for y in (half, half + given.breadth)])
        loads |= {6 * int(node) + 2: force / (given.forward - given.aft) / len(nodes) for node in nodes}
    u = model.solve(loads, fixed)
    stations = given.stations
    heave, roll = np.transpose([hull_movement(model, u, given, x) for x in stations])
    return twist_of(stations, heave, roll, given.spacing)


def symmetric_roll(given: BoxPlatform) -> float:
    """rad per N·m at each bulkhead, by shells: mean roll of the port hull there, the hulls rolled opposite ways by the shear
    flow T/2A of a hull in torsion, around the rim of each diaphragm.
    """
    model = shell_platform(given)
    half, up, places = given.clear / 2, (0.0, given.depth), [one[0] for one in given.bulkheads]
    across = half, half + given.breadth
    middle = model.nodes((given.aft, given.forward), (0, 0), up)
    held = [
        6 * model.nodes((x,) * 2, (half,) * 2, (0, 0))[0] + axis
        for x, axis in ((given.aft, 2), (given.forward, 2), (given.aft, 0))
    ]
    fixed = np.concatenate([(6 * middle[:, None] + [1, 3, 5]).ravel(), held])
    force = np.zeros((len(model.points), 6))
    for x in places:
        for sign in (-1.0, 1.0):
            side = model.nodes((x, x), (across[sign > 0],) * 2, up)
            force[side, 2] += sign / (2 * given.breadth) * shares(model.points[side, 2])
            edge = model.nodes((x, x), across, (up[sign > 0],) * 2)
            force[edge, 1] -= sign / (2 * given.depth) * shares(model.points[edge, 1])
    u = model.solve(dict(enumerate(force.ravel())), fixed)
    return float(np.mean([hull_movement(model, u, given, x)[1] for x in places]))


def shares(at: np.ndarray) -> np.ndarray:
    """Of a force spread evenly from the first place to the last, what each place takes; their sum is 1."""
    lengths = np.diff(at)
    return (np.append(lengths, 0.0) + np.append(0.0, lengths)) / (2 * (at[-1] - at[0]))
