"""Laws of natural vibration: mass of the whole, Rayleigh and Ritz, closed forms.

Closed forms after R.D. Blevins, Formulas for Natural Frequency and Mode Shape, 1979, ch. 8 (from memory), each
frequency equation solved here.
"""

from dataclasses import replace

import numpy as np
from scipy.optimize import brentq

from femcore.frame.builder import Stiffness
from femcore.frame.frame import Loads
from femcore.solvers.assembly import stiffness
from femcore.solvers.solution import solve
from femcore.solvers.vibration import mass_matrix, natural_frequencies
from tests.femcore.frames import ALL, random_loaded_frame, refined, single, tip_load, turn, turned
from tests.femcore.laws.table import differ, law


def at_rest(frame):
    """The frame under one case without load."""
    return solve(frame, Loads.zeros(frame, "rest"))


def frequencies(frame, count, **how):
    """Hz, the lowest natural frequencies of an unloaded frame."""
    return natural_frequencies(at_rest(frame), 0, count, **how).values


def floating(seed):
    """A random frame with rotary inertia, all but free: its supports are springs to ground so soft as to count for
    nothing in its mass.
    """
    given, rng = random_loaded_frame(seed), np.random.default_rng(seed)
    inertia = rng.uniform(0.1, 1, (len(given.frame.ends), 3))
    inertia[given.frame.EIy == 0] = 0
    fixed = np.repeat(given.frame.ground_nodes[:, None] >= 0, 6, axis=1)
    return replace(given.frame, line_inertia=inertia, fixed=fixed)


@law(1e-11)
def the_whole_mass_moves_with_a_rigid_motion(seed):
    """Moved and turned as a whole a frame has the kinetic energy of its masses there: of points, of lines and of
    their sections' inertia, consistent mass and, but for its turning, lumped mass alike.
    """
    frame, rng = floating(seed), np.random.default_rng(seed)
    parts, (v, spin) = at_rest(frame).parts, rng.standard_normal((2, 3))
    worst = 0.0
    for turns in (0.0, 1.0):
        w = turns * spin
        motion = np.concatenate([v + np.cross(w, frame.nodes), np.tile(w, (len(frame.nodes), 1))], axis=1)
        x = parts.unknowns(motion[None])[0]
        wanted = _rigid_energy(frame, v, w)
        worst = max(worst, abs(x @ (mass_matrix(parts) @ x) / wanted - 1))
        if not turns:
            worst = max(worst, abs(x @ (mass_matrix(parts, lumped=True) @ x) / wanted - 1))
    return worst


def _rigid_energy(frame, v, w):
    """Twice the kinetic energy of points and lines under v + w × r, lines by three Gauss points, and of sections."""
    total = (frame.point_mass * ((v + np.cross(w, frame.nodes)) ** 2).sum(axis=1)).sum()
    start, end = np.moveaxis(frame.end_points, 1, 0)
    for x, weight in zip(*np.polynomial.legendre.leggauss(3), strict=True):
        at = start + (end - start) * (1 + x) / 2
        total += (
            weight / 2 * (frame.line_mass * frame.length * ((v + np.cross(w, at)) ** 2).sum(axis=1)).sum()
        )
    return total + (frame.line_inertia * frame.length[:, None] * (frame.axes @ w) ** 2).sum()


@law(1e-7)
def modes_are_orthogonal(seed):
    """Modes are orthogonal over mass and over stiffness, and Rayleigh's quotient of each is its ω²."""
    answer = at_rest(random_loaded_frame(seed).frame)
    modes = natural_frequencies(answer, 0, 6)
    x = answer.parts.unknowns(modes.shapes)
    M, K = (x @ (matrix @ x.T) for matrix in (mass_matrix(answer.parts), stiffness(answer.parts)))
    size = np.sqrt(np.diag(M))
    apart = np.abs(M / size[:, None] / size - np.eye(6)).max()
    quotient = np.sqrt(np.diag(K) / np.diag(M)) / (2 * np.pi)
    return max(apart, differ(quotient, modes.values))


@law(1e-9)
def a_finer_mesh_lowers_frequencies(seed):
    """With the consistent mass every frequency of a finer mesh is at most that of the coarser one (Rayleigh and
    Ritz), end springs, offsets and springs included.
    """
    given = random_loaded_frame(seed)
    coarse, fine = frequencies(given.frame, 4), frequencies(refined(given)[0].frame, 4)
    return max((fine / coarse - 1).max(), 0.0) + (differ(fine, coarse) < 1e-6) + (differ(fine, coarse) > 0.3)


@law(1e-8)
def turning_keeps_frequencies(seed):
    """A structure turned in space vibrates as before."""
    given = random_loaded_frame(seed, turnable=True)
    other = turned(given, turn(np.random.default_rng(seed)))
    return differ(frequencies(other.frame, 5), frequencies(given.frame, 5))


def beam(rng, held, far, elements=8, deep=False):
    """A beam of random length, stiffness and mass along a random direction, fixed in global axes; EI the same both
    ways; `deep`: with shear deformation and rotary inertia.
    """
    L, EI, mass = rng.uniform(2, 5), 10 ** rng.uniform(4, 6), rng.uniform(1, 20)
    shear = EI / L**2 * 10 ** rng.uniform(1.5, 3) if deep else np.inf
    bent = Stiffness(1e4 * EI, EI, EI, EI, shear, shear, mass, (mass * 1e-3, *(deep * mass * 1e-2,) * 2))
    return single(bent, to=(L, 0, 0), held=held, far=far, divide=elements), L, EI, mass


@law(2e-4)
def tension_tunes_a_beam(seed):
    """Under a pull N a beam on hinges vibrates at f √(1 + N/Pe), f = π/2L² √(EI/m), under a push lower, and
    not at all where it has buckled.
    """
    rng = np.random.default_rng(seed)
    frame, L, EI, mass = beam(rng, (0, 1, 2, 3), (1, 2))
    part = rng.uniform(-0.9, 3)
    N = part * np.pi**2 * EI / L**2
    answer = solve(frame, tip_load(frame, "B", [N, 0, 0, 0, 0, 0]))
    found = natural_frequencies(answer, 0, 2).values
    exact = np.pi / (2 * L**2) * np.sqrt(EI / mass * (1 + part))
    return np.abs(found / exact - 1).max()


@law(1e-5)
def a_mass_at_the_tip_lowers_the_tone(seed):
    """A cantilever with a mass M at its tip has the first root of 1 + cos β cosh β + β M/mL (cos β sinh β − sin β
    cosh β) = 0.
    """
    rng = np.random.default_rng(seed)
    frame, L, EI, mass = beam(rng, ALL, ())
    ratio = 10 ** rng.uniform(-2, 3)
    frame.point_mass[1] = ratio * mass * L

    def tone(b):
        along = np.cos(b) * np.sinh(b) - np.sin(b) * np.cosh(b)
        return 1 + np.cos(b) * np.cosh(b) + b * ratio * along

    root = brentq(tone, 1e-3, 1.9, xtol=1e-14)
    exact = root**2 / (2 * np.pi * L**2) * np.sqrt(EI / mass)
    return np.abs(frequencies(frame, 2) / exact - 1).max()


@law(1e-3)
def a_deep_beam_vibrates_as_timoshenko_says(seed):
    """On hinges, with shear deformation and rotary inertia, ω² is the lower root of ρI·m/(GA·EI) ω⁴ − (m + k²(ρI +
    m EI/GA)) ω²/EI + k⁴ = 0, k = nπ/L.
    """
    rng = np.random.default_rng(seed)
    frame, L, EI, mass = beam(rng, (0, 1, 2, 3), (1, 2), 32, deep=True)
    exact, shear = [], frame.GAy[0]
    for n in (1, 2):
        k, rotary = n * np.pi / L, mass * 1e-2
        a, b, c = rotary * mass / (shear * EI), -(mass + k**2 * (rotary + mass * EI / shear)) / EI, k**4
        square = 2 * c / (-b + np.sqrt(b * b - 4 * a * c))
        exact.append(np.sqrt(square) / (2 * np.pi))
    found = frequencies(frame, 8)
    return max(np.abs(found / each - 1).min() for each in exact)


@law(1e-6)
def a_shaft_and_a_bar_sing(seed):
    """In torsion, a shaft fixed at one end has f = √(GJ/ρIp)/4L, pulled √(EA/m)/4L, from above as the square of the
    element's length falls.
    """
    rng, found = np.random.default_rng(seed), []
    L, mass = rng.uniform(2, 5), rng.uniform(1, 20)
    inertia = 0.2 * mass * rng.uniform(0.3, 3)
    for n in (8, 16):
        soft = Stiffness(1e5, 1e9, 1e9, 2e4, mass=mass, inertia=(inertia, 0.0, 0.0))
        frame = single(soft, to=(L, 0, 0), held=ALL, divide=n, far=(1, 2, 4, 5))
        found.append(frequencies(frame, 2))
    exact = np.sort(np.sqrt([1e5 / mass, 2e4 / inertia]) / (4 * L))
    fine = (4 * found[1] - found[0]) / 3
    return np.abs(fine / exact - 1).max() + np.any(found[1] < exact * (1 - 1e-9)) * 1.0
