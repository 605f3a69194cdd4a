"""Two hulls balanced on a regular wave: the load along both of them that heave, pitch and roll leave.

Hydrostatics of wall-sided sections. The surface of a wave of height H and length λ that meets the boat at heading β is

    ζ(x, y) = H/2 cos(k (x cos β + y sin β) − ε)        k = 2π/λ, phase ε: 0 a crest at the origin

A hull at y = ±s/2 with waterline breadth b(x) and draught t(x) = A(x)/b(x) has, by Archimedes, the load

    q(x) = ρ g b max(ζ − (c₀ + c₁ x + c₂ y), −t)        N/m, the change from still water; at −t the section is out of the water

Heave c₀, pitch c₁ and roll c₂ follow from ∫q, ∫q x and ∫q y being zero over both hulls. Where no section comes out, that is a
linear system of three; otherwise Newton's method. Or the boat stays where she was in still water and the mass m(x) of her hulls
takes the rest as inertia, q = ρ g b max(ζ, −t) − m (c₀ + c₁ x + c₂ y): a wave that is met too quickly to follow.

What is left is self-equilibrated. Its antisymmetric part q_a = ½ (q_port − q_starboard) has

    M_P = ∫ q_a x dx        pitch-connecting moment: +M_P on the port hull and −M_P on the other, the same about every axis
    M_r = ∫ q_a (x − x_r) dx over the bow ahead of its root x_r

Heading β and 180° − β are mirror images of one another in the centreline, so 0 to 90° are all of them.
Not in it: forces sideways, the water's own motion (Smith's effect), dynamic amplification, slamming, water over the deck.

q is linear between stations: all integrals here are exact for that, so that a frame loaded so has no reaction.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from femcore.base.arrays import BoolArray, FloatArray
from femcore.base.errors import NoConvergence
from femcore.base.units import STANDARD_GRAVITY

Motion = Literal["balanced", "inertia"]
"""Whether the boat takes up the heave, pitch and roll at which the water carries her, or her mass takes what is left over."""
SEA_WATER = 1025.0
"""kg/m³ (common practice)."""
REL_TOL_BALANCE = 1e-11
"""Of the boat's weight, and of that times length and spacing: what is left of force and moments; below, they are balanced."""
MAX_ITERATIONS = 60
MAX_HALVINGS = 12
"""Of a step of Newton's method, which is halved until it brings the boat nearer to balance."""
REGULARISED = 1e-7
"""Share of the whole waterplane that is added to the part in the water, so that a hull out of the water is no singularity."""
BLOCK = 8192
"""States worked at once: some megabytes."""
SIDE_SIGNS = np.array([1.0, -1.0])
"""y of the port and of the starboard hull, over half the spacing."""


@dataclass(frozen=True, slots=True, eq=False)
class HullForm:
    """Both hulls, alike, by stations from aft forward.

    x       : (n,), m, rising, linear between them;   breadth, area : (n,), m and m², of one hull, at the waterline and below
    mass    : (n,), kg/m, of half the boat, along one hull;   spacing : m, between the hulls' centrelines
    density : kg/m³, of the water
    """

    x: FloatArray
    breadth: FloatArray
    area: FloatArray
    mass: FloatArray
    spacing: float
    density: float = SEA_WATER

    @property
    def draught(self) -> FloatArray:
        """(n,), m, of a wall-sided section with this breadth and area; 0 where there is no breadth."""
        some = self.breadth > 0
        return np.where(some, self.area / np.where(some, self.breadth, 1.0), 0.0)

    @property
    def y(self) -> FloatArray:
        """(2,), m, of the hulls, port and starboard."""
        return SIDE_SIGNS * self.spacing / 2

    @property
    def length(self) -> float:
        """m, of the waterline."""
        return float(self.x[-1] - self.x[0])

    @property
    def weight(self) -> float:
        """N, of the boat: that of the water displaced by both hulls."""
        return 2 * self.density * STANDARD_GRAVITY * float(force_weights(self.x) @ self.area)


@dataclass(frozen=True, slots=True, eq=False)
class WaveStates:
    """Regular waves, all (s,): heading β, rad; length λ and height H, m; phase ε, rad."""

    heading: FloatArray
    length: FloatArray
    height: FloatArray
    phase: FloatArray

    def __len__(self) -> int:
        """How many."""
        return len(self.heading)

    def chosen(self, of: slice | BoolArray | list[int]) -> WaveStates:
        """Some of them."""
        return WaveStates(self.heading[of], self.length[of], self.height[of], self.phase[of])


def grid_of_states(
    heading: FloatArray, length: FloatArray, height: FloatArray, phase: FloatArray
) -> WaveStates:
    """Every heading with every length (and the height that goes with it) in every phase; the phase varies fastest."""
    rows, columns = len(length) * len(phase), len(heading) * len(length)
    of_length = np.tile(np.repeat(np.arange(len(length)), len(phase)), len(heading))
    return WaveStates(np.repeat(heading, rows), length[of_length], height[of_length], np.tile(phase, columns))


def form_by_coefficients(
    x: FloatArray, displacement: float, breadth: float, spacing: float, prismatic: float, waterplane: float
) -> HullForm:
    """Hulls alike fore and aft on the stations x (n,), m: breadth and area fall as 1 − |ξ|^n from the middle, ξ = ±1 at the ends.

    ∫ of that over the length is n/(n + 1), so n = C/(1 − C) gives the coefficient C (common practice: the simplest curve that
    has it). The greatest area follows from the displacement, kg, of both hulls, so that the stations' own sum has it exactly.
    C = 1 is a box.
    """
    x = np.asarray(x, dtype=float)
    along = np.abs(2 * (x - x[0]) / (x[-1] - x[0]) - 1)

    def curve(coefficient: float) -> FloatArray:
        if coefficient >= 1:
            return np.ones_like(along)
        return np.asarray(1 - along ** (coefficient / (1 - coefficient)))

    share = curve(prismatic)
    area = share * displacement / (2 * SEA_WATER * float(force_weights(x) @ share))
    return HullForm(x, breadth * curve(waterplane), area, SEA_WATER * area, spacing)


def force_weights(x: FloatArray) -> FloatArray:
    """(n,): what a load linear between stations x makes of its values there: ∫ q dx = weights @ q."""
    half = np.diff(x) / 2
    return np.asarray(np.append(half, 0.0) + np.append(0.0, half))


def moment_weights(x: FloatArray, about: float = 0.0) -> FloatArray:
    """(n,): the same of ∫ q (x − about) dx."""
    h, a, b = np.diff(x), x[:-1] - about, x[1:] - about
    return np.asarray(np.append(h * (2 * a + b) / 6, 0.0) + np.append(0.0, h * (a + 2 * b) / 6))


def surface(form: HullForm, states: WaveStates) -> FloatArray:
    """(s, 2, n), m: the wave at every station of the port and the starboard hull."""
    k = 2 * np.pi / states.length
    along = (k * np.cos(states.heading))[:, None, None] * form.x
    across = (k * np.sin(states.heading))[:, None, None] * form.y[:, None]
    phase = along + across - states.phase[:, None, None]
    return np.asarray(states.height[:, None, None] / 2 * np.cos(phase))


def balanced_load(form: HullForm, states: WaveStates, motion: Motion = "balanced") -> FloatArray:
    """(s, 2, n), N/m, upwards: the change of load along the port and the starboard hull from still water, in equilibrium.

    NoConvergence where a wave is so steep that no balance is found.
    """
    parts = [
        _balanced(form, surface(form, states.chosen(slice(start, start + BLOCK))), motion)
        for start in range(0, len(states), BLOCK)
    ]
    return np.concatenate(parts) if parts else np.zeros((0, 2, len(form.x)))


def resultants(form: HullForm, load: FloatArray) -> FloatArray:
    """(s, 3), N and N·m: ∫q dx, ∫q x dx and ∫q y dx over both hulls of loads (s, 2, n)."""
    one, lever = force_weights(form.x), moment_weights(form.x)
    force, moment = load @ one, load @ lever
    return np.stack([force.sum(axis=1), moment.sum(axis=1), force @ form.y], axis=1)


def pitch_connecting_moment(form: HullForm, load: FloatArray) -> FloatArray:
    """(s,), N·m, M_P of loads (s, 2, n): positive where the port hull's bow is lifted."""
    return np.asarray((load[:, 0] - load[:, 1]) / 2 @ moment_weights(form.x))


def bow_moments(form: HullForm, load: FloatArray, root: float = 0.0) -> FloatArray:
    """(s, 2), N·m, ∫ q (x − x_r) dx over the port and the starboard bow, of loads (s, 2, n): positive where the bow is lifted.

    root : m, one of the stations
    """
    start = int(np.abs(form.x - root).argmin())
    return np.asarray(load[:, :, start:] @ moment_weights(form.x[start:], root))


def root_moment(form: HullForm, load: FloatArray, root: float = 0.0) -> FloatArray:
    """(s,), N·m, M_r: the antisymmetric part of `bow_moments`, positive where the port bow is lifted."""
    port, starboard = bow_moments(form, load, root).T
    return np.asarray((port - starboard) / 2)


def _balanced(form: HullForm, wave: FloatArray, motion: Motion) -> FloatArray:
    """Of one block of surfaces (s, 2, n)."""
    stiffness, modes = form.density * STANDARD_GRAVITY * form.breadth, _modes(form)
    if motion == "inertia":
        load = stiffness * np.maximum(wave, -form.draught)
        return load - form.mass * _moved(modes, _rigid(form, load, modes * form.mass))
    position = _rigid(form, stiffness * wave, modes * stiffness)
    above = wave - _moved(modes, position)
    out = np.flatnonzero(((above < -form.draught) & (form.breadth > 0)).any(axis=(1, 2)))
    if len(out):
        above[out] = wave[out] - _moved(modes, _newton(form, wave[out], position[out]))
    return np.asarray(stiffness * np.maximum(above, -form.draught))


def _modes(form: HullForm) -> FloatArray:
    """(3, 2, n): 1, x and y along both hulls."""
    both = np.ones((2, len(form.x)))
    return np.stack([both, both * form.x, both * form.y[:, None]])


def _moved(modes: FloatArray, position: FloatArray) -> FloatArray:
    """(s, 2, n), m: c₀ + c₁ x + c₂ y."""
    return np.tensordot(position, modes, axes=1)


def _rigid(form: HullForm, load: FloatArray, unit: FloatArray) -> FloatArray:
    """(s, 3): how much of three unit loads (3, 2, n) has the resultants of each load (s, 2, n)."""
    return np.asarray(np.linalg.solve(resultants(form, unit).T, resultants(form, load).T).T)


def _newton(form: HullForm, wave: FloatArray, position: FloatArray) -> FloatArray:
    """(s, 3): heave, pitch and roll at which hulls with sections out of the water are in balance, from a first guess."""
    stiffness, modes = form.density * STANDARD_GRAVITY * form.breadth, _modes(form)
    scale = form.weight * np.array([1.0, form.length, form.spacing])
    whole = resultants(form, modes * stiffness).T
    test = np.stack(
        [np.tile(force_weights(form.x), (2, 1)), np.tile(moment_weights(form.x), (2, 1)),
         form.y[:, None] * force_weights(form.x)]
    )  # fmt: skip
    products = np.einsum("isn,jsn->ijsn", test, modes * stiffness).reshape(9, -1)

    def left(at: FloatArray, of: FloatArray) -> tuple[FloatArray, BoolArray, FloatArray]:
        above = of - _moved(modes, at)
        found = resultants(form, stiffness * np.maximum(above, -form.draught))
        wet = (above > -form.draught).reshape(len(at), -1)
        return found, wet, np.asarray(np.abs(found / scale).max(axis=1))

    residual, wet, miss = left(position, wave)
    for _ in range(MAX_ITERATIONS):
        unbalanced = np.flatnonzero(miss > REL_TOL_BALANCE)
        if not len(unbalanced):
            return position
        tangent = (wet[unbalanced] @ products.T).reshape(-1, 3, 3) + REGULARISED * whole
        step = np.linalg.solve(tangent, residual[unbalanced][..., None])[..., 0]
        part = np.ones(len(unbalanced))
        for _ in range(MAX_HALVINGS):
            found = left(position[unbalanced] + part[:, None] * step, wave[unbalanced])
            worse = found[2] >= miss[unbalanced]
            if not worse.any():
                break
            part[worse] /= 2
        position[unbalanced] += part[:, None] * step
        residual[unbalanced], wet[unbalanced], miss[unbalanced] = left(position[unbalanced], wave[unbalanced])
    raise NoConvergence(
        f"{int((miss > REL_TOL_BALANCE).sum())} waves are so steep that the hulls have no equilibrium on them; "
        "give less steepness or height",
        float(miss.max()),
    )
