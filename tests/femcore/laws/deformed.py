"""Laws of frames in their deformed shape: limits, invariance, equilibrium where nodes have gone, closed forms.

Closed forms after S.P. Timoshenko & J.M. Gere, Theory of Elastic Stability, 2nd ed., 1961, ch. 1, and
R.K. Livesley & D.B. Chandler, Stability Functions for Structural Frameworks, 1956 (both from memory); each is
worked again in the function that uses it.
"""

import numpy as np
from scipy.spatial.transform import Rotation

from femcore.elements.cable import cable_geometry
from femcore.elements.corotational_beam import Configuration
from femcore.frame.builder import End, FrameBuilder, Stiffness
from femcore.frame.frame import Loads
from femcore.solvers.assembly import parts_of
from femcore.solvers.deformed_cases import DeformedCases, GeometricForces, LoadedParts
from femcore.solvers.prepared_frame import PreparedFrame
from femcore.solvers.second_order import solve_second_order
from femcore.solvers.solution import solve
from tests.femcore.cabled import cabled, turned_with_cables
from tests.femcore.frames import ALL, LoadedFrame, single, turn
from tests.femcore.laws.cables import braced
from tests.femcore.laws.table import differ, law

LITTLE = 0.02
"""Of the loads of random frames, so that they move by a few hundredths of their size."""


def deformed(given):
    """A specimen's solution in the deformed shape."""
    return solve(given.frame, given.loads, second_order=True)


def first_case(given, force):
    """One case of a specimen, its loads multiplied."""
    return LoadedFrame(given.frame, given.loads.only(0).combined([[force]], ("one",)))


@law(0.1)
def small_loads_deform_as_in_the_linear_frame(seed):
    """As loads shrink the deformed shape tends to that of the linear frame, its relative difference in
    proportion to the load.
    """
    given, _ = cabled(seed, count=0)
    apart = []
    for force in (2e-3, 1e-3):
        one = first_case(given, force)
        apart.append(differ(deformed(one).displacement, solve(one.frame, one.loads).displacement))
    return abs(np.log2(apart[0] / apart[1]) - 1) + (apart[1] > 0.01)


@law(1e-8)
def turning_turns_the_deformed_shape(seed):
    """A structure turned in space, its loads with it, deforms into the same shape, turned."""
    given, _ = cabled(seed, count=2, turnable=True, moved=False)
    one, R = first_case(given, LITTLE), turn(np.random.default_rng(seed))
    there, here = deformed(turned_with_cables(one, R)), deformed(one)
    return max(
        differ(there.displacement, here.displacement @ np.kron(np.eye(2), R).T),
        differ(there.natural[:, : len(one.frame.ends)], here.natural[:, : len(one.frame.ends)]),
    )


@law(1e-12)
def turned_as_a_whole_nothing_strains(seed):
    """A frame turned a right angle and carried away by its support is not strained, offsets, end springs,
    springs and cables included.
    """
    frame, rng = braced(seed), np.random.default_rng(seed)
    spin = rng.standard_normal(3)
    spin *= np.pi / 2 / np.linalg.norm(spin)
    R, away = Rotation.from_rotvec(spin).as_matrix(), rng.uniform(-2, 2, 3)
    gone = frame.nodes @ R.T + away - frame.nodes
    loads = Loads.zeros(frame, "turned")
    loads.support_displacement[0, 0] = np.concatenate([gone[0], spin])
    answer = solve(frame, loads, second_order=True)
    strain = max(np.abs(answer.natural).max(), answer.tension.max()) / frame.EA.min()
    return max(np.abs(answer.displacement[0, :, :3] - gone).max(), strain)


@law(1e-8)
def equilibrium_where_nodes_have_gone(seed):
    """Loads and reactions balance in force and in moment about where the nodes have gone, cables, offsets and
    springs included.
    """
    given, _ = cabled(seed, count=2, pretension=200.0)
    given.loads.line[:] = 0
    one = first_case(given, LITTLE)
    answer = deformed(one)
    both = (one.loads.nodal + answer.reactions)[0]
    places = one.frame.nodes + answer.displacement[0, :, :3]
    force, moment = both[:, :3], both[:, 3:] + np.cross(places, both[:, :3])
    return max(np.abs(force.sum(axis=0)).max(), np.abs(moment.sum(axis=0)).max()) / np.abs(both).max()


PROBES = 6


def random_shape(rng, frame, size):
    """All nodes turned together by a large rotation, and each moved and turned a little besides."""
    R, n = turn(rng), len(frame.nodes)
    turned = np.tile(Rotation.from_matrix(R).as_rotvec(), (n, 1))
    whole = Configuration.from_displacement(np.column_stack([frame.nodes @ R.T - frame.nodes, turned]))
    return whole.updated(size * rng.standard_normal((n, 6)))


@law(0.1)
def the_tangent_is_the_slope_of_the_force(seed):
    """In a random shape, turned far and strained a little, the tangent is the slope of the internal forces (its
    symmetric part, by differences): what the forces themselves add to it is seen to a tenth.
    """
    given, _ = cabled(seed, count=2)
    parts, rng = parts_of(given.frame), np.random.default_rng(seed)
    free = cable_geometry(given.frame.cables, given.frame.nodes).total * 0.99
    shape = random_shape(rng, given.frame, 1e-3)
    problem = DeformedCases([LoadedParts(parts, given.loads.only(0), free, shape)])
    state = problem.state(shape, np.ones(1))
    probes = rng.standard_normal((PROBES, *parts.free.shape)) * (parts.free >= 0)
    x = parts.unknowns(probes)
    slope = x @ parts.unknowns(np.array([_slope(problem, shape, each) for each in probes])).T
    found = problem.tangent_matrix(state, GeometricForces(state.beams.q, state.tension))
    elastic = problem.tangent_matrix(state, GeometricForces(0 * state.beams.q, 0 * state.tension))
    off = (slope + slope.T) / 2 - x @ (found @ x.T)
    return np.linalg.norm(off) / np.linalg.norm(x @ ((found - elastic) @ x.T))


def _slope(problem, shape, step, by=1e-6):
    ahead, behind = (
        problem.state(shape.updated(sign * by * step), np.ones(1)).internal_force[0] for sign in (1, -1)
    )
    return (ahead - behind) / (2 * by)


@law(1e-8)
def the_way_there_does_not_matter(seed):
    """Loaded from the shape under half the load, or under another, a frame comes to the same deformed shape."""
    given, _ = cabled(seed, count=2, moved=False)
    parts = parts_of(given.frame)
    free = cable_geometry(given.frame.cables, given.frame.nodes).total
    loads = given.loads.combined(
        [[LITTLE, 0, 0], [LITTLE / 2, 0, 0], [0, LITTLE, 0]], ("whole", "half", "other")
    )
    [direct] = solve_second_order(parts, loads.only(0), free)
    shapes = []
    for before in (1, 2):
        u = solve_second_order(parts, loads.only(before), free)[0].displacement
        start = Configuration.from_displacement(u)
        shapes.append(solve_second_order(parts, loads.only(0), free, start)[0].displacement)
    return max(differ(shape, direct.displacement) for shape in shapes)


@law(1e-9)
def cases_side_by_side_are_cases_alone(seed):
    """Cases that take their steps side by side come to what each comes to alone, whether it settles sooner or later."""
    given, _ = cabled(seed, count=2, pretension=200.0)
    loads = given.loads.combined(np.diag([LITTLE, LITTLE / 50, 2 * LITTLE]), given.loads.names)
    frame = PreparedFrame.of(given.frame)
    together = solve(frame, loads, second_order=True)
    apart = []
    for case in range(len(loads.names)):
        alone = solve(frame, loads.only(case), second_order=True)
        apart += [
            differ(together.displacement[case], alone.displacement[0]),
            differ(together.natural[case], alone.natural[0]),
            differ(together.reactions[case], alone.reactions[0]),
            differ(together.tension[case], alone.tension[0]),
        ]
    return max(apart)


@law(1e-9)
def a_round_bar_bends_alike_in_every_plane(seed):
    """A cantilever of equal stiffness both ways bends far in the plane of its tip load, whichever that is, and
    alike in all.
    """
    rng = np.random.default_rng(seed)
    angle, tips = rng.uniform(0, 2 * np.pi), []
    for a in (0.0, angle):
        frame = single(Stiffness(1e7, 1e3, 1e3, 8e2), to=(2, 0, 0), held=ALL, divide=4)
        across = np.array([0, np.sin(a), np.cos(a)])
        loads = Loads.zeros(frame, "tip")
        loads.nodal[0, 1, :3] = 600.0 * across
        u = solve(frame, loads, second_order=True).displacement[0, 1, :3]
        tips.append((u[0], u @ across, u @ np.cross(across, [1, 0, 0])))
    return differ(tips[1], tips[0]) + (tips[0][1] < 0.8)


class Strut:
    """A beam AB of four elements without shear deformation, placed and turned at random, and its own axes."""

    def __init__(self, seed, **ends):
        rng = np.random.default_rng(seed)
        self.R, self.L = turn(rng), float(rng.uniform(2, 5))
        self.EI = float(10 ** rng.uniform(4, 5))
        self.plane = int(rng.integers(2))
        stiff = Stiffness(1e10, *((self.EI, 1e8) if self.plane else (1e8, self.EI)), 1e6)
        builder = FrameBuilder()
        builder.node("A", (0, 0, 0))
        builder.node("B", self.L * self.R[0])
        builder.beam("AB", ["A", "B"], stiff, up=self.R[2], divide=4, **ends)
        builder.support("A", ALL)
        self.builder = builder
        self.k = lambda P: np.sqrt(abs(P) / self.EI)

    @property
    def across(self):
        """Axis along which it bends, and the axis about which, with the sense in which it turns then."""
        return (self.R[2], -self.R[1]) if self.plane else (self.R[1], self.R[2])


@law(1e-3)
def a_pushed_or_pulled_cantilever_bends_by_closed_form(seed):
    """A force H across the tip moves it by H/Pk (tan kL − kL) under a push P, by H/Pk (kL − tanh kL) under a
    pull, k² = P/EI.
    """
    strut, rng = Strut(seed), np.random.default_rng(seed + 1)
    frame = strut.builder.build()
    P = rng.uniform(-2.0, 5.0) * strut.EI / strut.L**2
    P = max(P, -0.8 * np.pi**2 / 4 * strut.EI / strut.L**2)
    H = 1e-5 * strut.EI / strut.L**2
    loads, (across, _) = Loads.zeros(frame, "H"), strut.across
    loads.nodal[0, 1, :3] = P * strut.R[0] + H * across
    answer = solve(frame, loads, second_order=True)
    kL = strut.k(P) * strut.L
    exact = H * strut.L / abs(P) * ((np.tan(kL) - kL) if P < 0 else (kL - np.tanh(kL))) / kL
    return abs(across @ answer.displacement[0, 1, :3] / exact - 1)


def stability_functions(u, push):
    """s and c of a member with kL = u: near-end stiffness over EI/L, and the far end's share of its moment."""
    if push:
        s = u * (np.sin(u) - u * np.cos(u)) / (2 - 2 * np.cos(u) - u * np.sin(u))
        return s, (u - np.sin(u)) / (np.sin(u) - u * np.cos(u))
    s = u * (u * np.cosh(u) - np.sinh(u)) / (2 - 2 * np.cosh(u) + u * np.sinh(u))
    return s, (np.sinh(u) - u) / (u * np.cosh(u) - np.sinh(u))


@law(1e-3)
def end_moments_are_the_stability_functions(seed):
    """Turned at one end, a member under axial force has the moments s EI θ/L there and c times that at the
    other, s and c the stability functions.
    """
    strut, rng = Strut(seed), np.random.default_rng(seed + 1)
    P = rng.uniform(-1.0, 1.2) * np.pi**2 * strut.EI / strut.L**2
    frame = _sliding(strut)
    across = strut.across[1]
    loads = Loads.zeros(frame, "turned")
    loads.nodal[0, 1, :3] = P * strut.R[0]
    loads.support_displacement[0, 0, 3:] = 1e-6 * across
    answer = solve(frame, loads, second_order=True)
    near, far = (across @ answer.reactions[0, node, 3:] for node in (0, 1))
    s, c = stability_functions(strut.k(P) * strut.L, P < 0)
    unit = strut.EI / strut.L * 1e-6
    return max(abs(near / unit - s) / max(abs(s), 1), abs(far / unit - s * c) / max(abs(s * c), 1))


def _sliding(strut):
    """The strut along a global axis, so that a support can leave its far end free along it alone."""
    order = np.roll(np.arange(3), int(strut.L * 1e3) % 3)
    strut.R = np.eye(3)[order]
    stiff = Stiffness(1e10, *((strut.EI, 1e8) if strut.plane else (1e8, strut.EI)), 1e6)
    builder = FrameBuilder()
    builder.node("A", (0, 0, 0))
    builder.node("B", strut.L * strut.R[0])
    builder.beam("AB", ["A", "B"], stiff, up=strut.R[2], divide=4)
    builder.support("A", ALL)
    builder.support("B", [i for i in ALL if i != order[0]])
    return builder.build()


@law(1e-8)
def released_ends_are_hinges_in_the_deformed_shape(seed):
    """A strut whose ends are released between built-in nodes deforms as one whose nodes are free to turn."""
    rng = np.random.default_rng(seed)
    L, EI, P = rng.uniform(2, 5), 1e4, rng.uniform(-0.9, 2.0) * np.pi**2
    free = End(springs=(np.inf, np.inf, np.inf, np.inf, 0.0, 0.0))
    found = []
    for released in (True, False):
        builder = FrameBuilder()
        builder.node("A", (0, 0, 0))
        builder.node("B", (L, 0, 0))
        ends = {"start": free, "end": free} if released else {}
        builder.beam("AB", ["A", "B"], Stiffness(1e9, EI, 2 * EI, 1e4), divide=4, **ends)
        builder.support("A", ALL if released else (0, 1, 2, 3))
        builder.support("B", (1, 2, 3, 4, 5) if released else (1, 2, 3))
        frame = builder.build()
        loads = Loads.zeros(frame, "P")
        loads.nodal[0, 1, 0] = P * EI / L**2
        loads.nodal[0, 3, 1:3] = 0.03, 0.05
        found.append(solve(frame, loads, second_order=True).displacement[0, 2:, 1:3])
    return differ(*found)


@law(2e-3)
def a_sprung_end_under_axial_force(seed):
    """A cantilever on a rotational end spring c at its root, with an arm at its tip, moves under a push P and
    a side force H as by ψ = M/c at the root and the strut's own closed form, the arm turning with the tip.
    """
    rng = np.random.default_rng(seed)
    L, EI, arm = rng.uniform(2, 5), 1e4, rng.uniform(0.1, 0.6)
    c, P = rng.uniform(1, 10) * EI / L, rng.uniform(0.1, 0.6) * EI / L**2
    H = 1e-5 * EI / L**2
    builder = FrameBuilder()
    builder.node("A", (0, 0, 0))
    builder.node("B", (L + arm, 0, 0))
    root = End(springs=(np.inf, np.inf, np.inf, np.inf, c, c))
    builder.beam(
        "AB", ["A", "B"], Stiffness(1e9, EI, EI, 1e4), divide=4, start=root, end=End(offset=(-arm, 0, 0))
    )
    builder.support("A", ALL)
    frame = builder.build()
    loads = Loads.zeros(frame, "P")
    loads.nodal[0, 1, :3] = (-P, 0, H)
    answer = solve(frame, loads, second_order=True)
    return abs(answer.displacement[0, 1, 2] / _sprung_strut(L, EI, arm, c, P, H) - 1)


def _sprung_strut(L, EI, arm, c, P, H):
    """Tip movement: w = A sin kx + B (1 − cos kx) + C x … from EI w″ = P (δ − w) + H (L + arm − x), w(0) = 0,
    w′(0) = M(0)/c, the arm straight beyond x = L.
    """
    k = np.sqrt(P / EI)
    # unknowns a, b, δ of w = a cos kx + b sin kx + δ + H (L + arm − x)/P
    s, co = np.sin(k * L), np.cos(k * L)
    rows = np.array(
        [
            [1.0, 0.0, 1.0],
            [0.0, k, -P / c],
            # δ = w(L) + arm w′(L)
            [co - arm * k * s, s + arm * k * co, 0.0],
        ]
    )
    right = np.array([-H * (L + arm) / P, H / P + H * (L + arm) / c, 0.0])
    return np.linalg.solve(rows, right)[2]
