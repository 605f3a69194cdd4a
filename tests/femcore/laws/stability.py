"""Laws of linear buckling, judged by columns of every handbook and by the classic matrices of cubic beams.

Euler's cases: S.P. Timoshenko & J.M. Gere, Theory of Elastic Stability, 2nd ed., 1961, ch. 2; the classic
geometric stiffness: J.S. Przemieniecki, Theory of Matrix Structural Analysis, 1968, ch. 15 (both from memory).
"""

import numpy as np
import scipy.linalg

from femcore.frame.builder import End, FrameBuilder, Stiffness
from femcore.frame.frame import Loads
from femcore.solvers.assembly import assembled, stiffness
from femcore.solvers.buckling import buckling, geometric_stiffness
from femcore.solvers.solution import solve
from tests.femcore.cabled import cabled, turned_with_cables
from tests.femcore.frames import ALL, LoadedFrame, single, turn
from tests.femcore.laws.table import differ, law, solved

CLAMPED_PINNED = 4.493409457909064
"""The least root of tan kL = kL."""
EULER = (
    (np.pi**2, (0, 1, 2, 3), (1, 2)),
    (4 * np.pi**2, ALL, (1, 2, 3, 4, 5)),
    (CLAMPED_PINNED**2, ALL, (1, 2)),
    (np.pi**2 / 4, ALL, ()),
)
"""Pcr L²/EI, and the freedoms fixed at the foot and at the loaded end."""


def column(case, elements, EI=(3e5, 3e5), L=4.0, EA=2e10):
    """A column along x of one of Euler's cases, without shear deformation, under a unit push at its end."""
    _, held, far = EULER[case]
    frame = single(Stiffness(EA, *EI, 1e6), to=(L, 0, 0), held=held, far=far, divide=elements)
    loads = Loads.zeros(frame, "push")
    loads.nodal[0, 1, 0] = -1.0
    return LoadedFrame(frame, loads)


def factors(given, count=3, case=0, **how):
    """Load factors of a specimen's case."""
    return buckling(solved(given), case, count, **how).values


@law(6e-4)
def columns_buckle_at_eulers_loads(seed):
    """Eight elements give Euler's load, 0.05 % high at most, never low, and twice where the section is as stiff
    both ways.
    """
    rng = np.random.default_rng(seed)
    case, EI, L = seed % 4, 10 ** rng.uniform(4, 6), rng.uniform(2, 6)
    wanted = EULER[case][0] * EI / L**2
    found = factors(column(case, 8, (EI, EI), L, 1e4 * EI), 2)
    low = 1e-6 * wanted
    return np.abs(found / wanted - 1).max() + (found.min() < wanted - low) + abs(found[1] / found[0] - 1)


@law(1e-9)
def reversed_loads_mirror_the_spectrum(seed):
    """The load factors of reversed loads are those of the loads with the sign changed: together they are the
    whole spectrum of K φ = −λ G φ.
    """
    given, _ = cabled(seed, count=0)
    given.loads.support_displacement[:] = 0
    whole = column_spectrum(given)
    there, back = (
        LoadedFrame(given.frame, given.loads.only(0).combined([[s]], ("one",))) for s in (1.0, -1.0)
    )
    up, down = factors(there, 5), factors(back, 5)
    return max(differ(up, whole[whole > 0][:5]), differ(down, np.sort(-whole[whole < 0])[:5]))


def column_spectrum(given):
    """All load factors of the first case, ascending, by a dense solver from differences of the solver's
    matrices.
    """
    answer = solved(given)
    K = stiffness(answer.parts).toarray()
    G = assembled(
        answer.parts,
        geometric_stiffness(answer.parts, answer.natural[0], answer.tension[0]),
        hold_unresisted=False,
    ).toarray()
    mu = scipy.linalg.eigvalsh(-G, K)
    mu = mu[np.abs(mu) > 1e-9 * np.abs(mu).max()]
    return np.sort(1 / mu)


@law(1e-8)
def turning_keeps_load_factors(seed):
    """A structure turned in space, its loads with it, has the same load factors."""
    given, _ = cabled(seed, pretension=3e3, turnable=True)
    R = turn(np.random.default_rng(seed))
    return differ(factors(turned_with_cables(given, R)), factors(given))


@law(1e-5)
def plane_frames_buckle_by_the_classic_matrix(seed):
    """In its plane a random storey frame has the load factors of the classic stiffness and geometric stiffness
    of cubic beams, assembled here by hand.
    """
    rng = np.random.default_rng(seed)
    height, width, EI = rng.uniform(2, 4), rng.uniform(2, 5), 10 ** rng.uniform(4, 5, 3)
    push, EA = rng.uniform(0.2, 1, 2) * 1e3, 1e10
    builder = FrameBuilder()
    for name, at in (("A", (0, 0)), ("B", (0, height)), ("C", (width, height)), ("D", (width, 0))):
        builder.node(name, (at[0], 0, at[1]))
        builder.support(name, ALL if name in "AD" else (1, 3, 5))
    for path, each in zip(("AB", "BC", "CD"), EI, strict=True):
        builder.beam(path, path, Stiffness(EA, each, each, 1e5), up=(0, 1, 0))
    frame = builder.build()
    loads = Loads.zeros(frame, "push")
    loads.nodal[0, [1, 2], 2] = -push
    found = factors(LoadedFrame(frame, loads), 2)
    nodes = np.array([(0, 0), (0, height), (width, height), (width, 0)])
    wanted = classic_factors(nodes, ((0, 1), (1, 2), (2, 3)), EI, EA, push)
    return differ(found, wanted[:2])


def classic_factors(nodes, members, EI, EA, push):
    """Load factors of a plane frame whose columns carry `push`, its first and last node clamped."""
    K, G = np.zeros((12, 12)), np.zeros((12, 12))
    for (a, b), bending, N in zip(members, EI, (push[0], 0.0, push[1]), strict=True):
        dof = [3 * a, 3 * a + 1, 3 * a + 2, 3 * b, 3 * b + 1, 3 * b + 2]
        k, g = classic_matrices(nodes[b] - nodes[a], bending, EA)
        K[np.ix_(dof, dof)] += k
        G[np.ix_(dof, dof)] += N * g
    free = np.arange(3, 9)
    mu = scipy.linalg.eigvalsh(G[np.ix_(free, free)], K[np.ix_(free, free)])
    return np.sort(1 / mu[mu > 1e-9 * mu.max()])


def classic_matrices(chord, EI, EA):
    """Stiffness and, for a unit push, the loss of it (6, 6) of a cubic beam: x, z and the turn from x to z."""
    L = np.hypot(*chord)
    c, s = chord / L
    T = np.kron(np.eye(2), [[c, s, 0], [-s, c, 0], [0, 0, 1]])
    k, g = np.zeros((6, 6)), np.zeros((6, 6))
    k[np.ix_((0, 3), (0, 3))] = EA / L * np.array([[1, -1], [-1, 1]])
    bent = np.ix_((1, 2, 4, 5), (1, 2, 4, 5))
    k[bent] = EI / L**3 * cubic(12, 6, 4, 2, L)
    g[bent] = cubic(36, 3, 4, -1, L) / (30 * L)
    return T.T @ k @ T, T.T @ g @ T


def cubic(a, b, c, d, L):
    """The pattern (4, 4) of both matrices of a cubic beam."""
    half = np.array([[a, b * L], [b * L, c * L**2]])
    other = np.array([[-a, b * L], [-b * L, d * L**2]])
    return np.block([[half, other], [other.T, half * [[1, -1], [-1, 1]]]])


@law(1e-5)
def a_rigid_bar_on_a_spring_topples(seed):
    """A rigid bar of height h on a rotational spring c topples under c/h, whether the bar is an offset or the
    spring's own arm.
    """
    rng = np.random.default_rng(seed)
    R, h, c = turn(rng), rng.uniform(0.5, 3), 10 ** rng.uniform(3, 5)
    worst = 0.0
    for lower in (True, False):
        builder = FrameBuilder()
        builder.node("foot", (0, 0, 0))
        builder.node("top", h * R[2])
        six = [1e12, 1e12, 1e12, c, c, c]
        if lower:
            builder.spring("foot", "top", six)
        else:
            builder.node("hinge", (0, 0, 0))
            builder.spring("foot", "hinge", six)
            arm = End(offset=tuple(-0.5 * h * R[2]))
            builder.beam("bar", ["hinge", "top"], Stiffness(1e11, 1e11, 1e11, 1e11), up=R[0], end=arm)
        builder.support("foot", ALL)
        frame = builder.build()
        loads = Loads.zeros(frame, "push")
        loads.nodal[0, 1, :3] = -R[2]
        found = factors(LoadedFrame(frame, loads), 2)
        worst = max(worst, differ(found, [c / h, c / h]))
    return worst


@law(1e-7)
def what_is_held_comes_off_the_load(seed):
    """A strut compressed by a taut cable between its hinges buckles when load and pretension together reach its own
    load; where the pretension grows too, at that load over both.
    """
    rng = np.random.default_rng(seed)
    L, EI, EA = rng.uniform(2, 5), 10 ** rng.uniform(4, 5), 1e9
    push, squeeze, axial = EI / L**2, rng.uniform(0.5, 8) * EI / L**2, 10 ** rng.uniform(5, 7)
    builder = FrameBuilder()
    builder.node("A", (0, 0, 0))
    builder.node("B", (L, 0, 0))
    builder.beam("AB", "AB", Stiffness(EA, EI, 2 * EI, 1e5), divide=4)
    builder.cable("within", "AB", axial, squeeze)
    builder.support("A", (0, 1, 2, 3))
    builder.support("B", (1, 2))
    frame = builder.build()
    loads = Loads.zeros(frame, "push")
    loads.nodal[0, 1, 0] = -push
    answer = solve(frame, loads)
    own = factors(column(0, 4, (EI, 2 * EI), L, EA), 1)[0]
    # the push is shared with the cable, which eases by its part; the cable stays straight between the hinges, so
    # what it carries does not steady the strut
    of_strut = EA / (EA + axial)
    held, grown = (buckling(answer, 0, 1, pretension_grows=g).values[0] for g in (False, True))
    both = push * of_strut + squeeze
    slack = answer.tension[0, 0] <= 0
    return slack + max(abs(held * push * of_strut + squeeze - own), abs(grown * both - own)) / own


@law(1e-9)
def modes_are_orthogonal_over_the_stiffness(seed):
    """Buckling modes of different factors do no work on one another: φᵢᵀ K φⱼ = 0."""
    given, _ = cabled(seed, count=0)
    given.loads.support_displacement[:] = 0
    answer = solved(given)
    shapes = answer.parts.unknowns(buckling(answer, 0, 5).shapes)
    work = shapes @ (stiffness(answer.parts) @ shapes.T)
    size = np.sqrt(np.diag(work))
    return np.abs(work / size[:, None] / size - np.eye(len(work))).max()
