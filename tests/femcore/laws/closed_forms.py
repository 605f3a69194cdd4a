"""Closed forms of single beams and small frames, as further entries of the table of laws.

Each is placed and turned at random, so that a mistake in axes cannot hide. The formulas are those of every
handbook of statics (W.C. Young & R.G. Budynas, Roark's Formulas for Stress and Strain, 7th ed., table 8.1;
shear terms after S.P. Timoshenko, Strength of Materials, part 1; both from memory), and each is worked again
in the function that uses it.
"""

import numpy as np

from femcore.base.errors import Mechanism
from femcore.frame.builder import End, FrameBuilder, Stiffness
from femcore.frame.frame import Loads, gravity_loads
from femcore.results.member_forces import actions_at, displacement_at, end_forces
from femcore.solvers.solution import solve
from tests.femcore.frames import (
    ALL,
    STEEL,
    chain,
    chain_error,
    chain_load,
    random_stiffness,
    single,
    tip_load,
    truss,
    turn,
)
from tests.femcore.laws.table import differ, law


class Placed:
    """A beam AB of random stiffness, length and direction, and what is needed to look at it in its own
    axes.
    """

    def __init__(self, seed, **ends):
        rng = np.random.default_rng(seed)
        R = turn(rng)
        self.s, self.L, self.axes = random_stiffness(rng), float(rng.uniform(1, 5)), R
        self.load = rng.standard_normal(6) * 1e3
        start = rng.standard_normal(3)
        up = R[2] + 3 * R[0]
        self.frame = single(self.s, start, start + self.L * R[0], up=up, **ends)

    def solved(self, tip=None, line=(0, 0, 0), moved=None):
        """Solution under a tip load and movement of B, and a line load, all in beam axes."""
        loads = tip_load(
            self.frame, "B", np.kron(np.eye(2), self.axes).T @ (np.zeros(6) if tip is None else tip)
        )
        loads.line[0] = line
        if moved is not None:
            loads.support_displacement[0, 1] = np.kron(np.eye(2), self.axes).T @ moved
        return solve(self.frame, loads)

    def local(self, rows):
        """Movements or forces (…, 6) in beam axes."""
        return rows @ np.kron(np.eye(2), self.axes).T


@law(1e-11)
def tip_loads_of_a_cantilever(seed):
    """Tip: u = FL/EA, v = FL³/3EI + FL/GA ± ML²/2EI, rotation = ML/EI ± FL²/2EI, twist = TL/GJ."""
    beam = Placed(seed)
    s, L = beam.s, beam.L
    X, Y, Z, T, My, Mz = beam.load
    expected = [
        X * L / s.EA,
        Y * (L**3 / (3 * s.EIz) + L / s.GAy) + Mz * L**2 / (2 * s.EIz),
        Z * (L**3 / (3 * s.EIy) + L / s.GAz) - My * L**2 / (2 * s.EIy),
        T * L / s.GJ,
        My * L / s.EIy - Z * L**2 / (2 * s.EIy),
        Mz * L / s.EIz + Y * L**2 / (2 * s.EIz),
    ]
    return differ(beam.local(beam.solved(beam.load).displacement[0, 1]), expected)


@law(1e-11)
def actions_of_a_cantilever(seed):
    """At x from the root a tip load leaves N = X, V = F, T, My = My + Z·(x − L), Mz = Mz + Y·(L − x)."""
    beam = Placed(seed)
    X, Y, Z, T, My, Mz = beam.load
    arm = beam.L * 0.7
    expected = [X, Y, Z, T, My - Z * arm, Mz + Y * arm]
    return differ(actions_at(beam.solved(beam.load), [0], [0.3])[0, 0], expected)


@law(1e-11)
def reactions_of_a_cantilever(seed):
    """The root holds −F and −(M + r × F)."""
    beam = Placed(seed)
    force, moment = beam.load[:3], beam.load[3:]
    root = beam.local(beam.solved(beam.load).reactions[0, 0])
    return differ(root, [*-force, *-(moment + np.cross([beam.L, 0, 0], force))])


@law(1e-11)
def line_load_on_a_cantilever(seed):
    """v(x) = w x²(6L² − 4Lx + x²)/24EI + w(Lx − x²/2)/GA, slope w x(3L² − 3Lx + x²)/6EI, u(x) = w(Lx −
    x²/2)/EA, all along.
    """
    beam = Placed(seed)
    s, L = beam.s, beam.L
    wx, wy, wz = beam.load[:3]
    x = np.linspace(0, 1, 9) * L
    bend, slope, pull = (
        x**2 * (6 * L**2 - 4 * L * x + x**2) / 24,
        x * (3 * L**2 - 3 * L * x + x**2) / 6,
        L * x - x**2 / 2,
    )
    expected = np.stack(
        [
            wx * pull / s.EA,
            wy * (bend / s.EIz + pull / s.GAy),
            wz * (bend / s.EIy + pull / s.GAz),
            0 * x,
            -wz * slope / s.EIy,
            wy * slope / s.EIz,
        ],
        axis=1,
    )
    answer = beam.solved(line=beam.load[:3])
    return differ(beam.local(displacement_at(answer, np.zeros(9, dtype=int), x / L))[0], expected)


@law(1e-11)
def line_load_between_built_in_ends(seed):
    """End moments wL²/12, mid-span moment wL²/24, mid-span sag wL⁴/384EI + wL²/8GA."""
    beam = Placed(seed, far=ALL)
    s, L, w = beam.s, beam.L, beam.load[2]
    answer = beam.solved(line=(0, 0, w))
    actions = actions_at(answer, [0, 0, 0], [0, 0.5, 1])[0]
    middle = beam.local(displacement_at(answer, [0], [0.5]))[0, 0, 2]
    sag = w * L**4 / (384 * s.EIy) + w * L**2 / (8 * s.GAz)
    my = np.array([-1 / 12, 1 / 24, -1 / 12]) * w * L**2
    shear = np.array([1 / 2, 0, -1 / 2]) * w * L
    return max(differ(actions[:, 4], my), differ(actions[:, 2], shear), differ(middle, sag))


@law(1e-11)
def moved_end_of_a_built_in_beam(seed):
    """An end moved by δ square to the beam takes V = 12EI δ/L³(1 + Φ) and M = 6EI δ/L²(1 + Φ), Φ =
    12EI/GAL².
    """
    beam = Placed(seed, far=ALL)
    s, L, d = beam.s, beam.L, 3e-3
    phi_y, phi_z = 12 * s.EIz / (s.GAy * L**2), 12 * s.EIy / (s.GAz * L**2)
    got = beam.local(beam.solved(moved=[d, d, d, 0, 0, 0]).reactions[0, 1])
    y, z = 12 * s.EIz * d / L**3 / (1 + phi_y), 12 * s.EIy * d / L**3 / (1 + phi_z)
    return differ(got, [s.EA * d / L, y, z, 0, z * L / 2, -y * L / 2])


@law(1e-11)
def turned_end_of_a_built_in_beam(seed):
    """An end turned by θ takes M = (4 + Φ)EI θ/L(1 + Φ) and hands on (2 − Φ)EI θ/L(1 + Φ)."""
    beam = Placed(seed, far=ALL)
    s, L, turned = beam.s, beam.L, 2e-3
    answer = beam.solved(moved=[0, 0, 0, turned, turned, turned])
    near, far = (beam.local(answer.reactions[0, node])[3:] for node in (1, 0))
    phi = np.array([12 * s.EIy / (s.GAz * L**2), 12 * s.EIz / (s.GAy * L**2)])
    EI = np.array([s.EIy, s.EIz]) * turned / L / (1 + phi)
    torque = s.GJ * turned / L
    return max(differ(near, [torque, *((4 + phi) * EI)]), differ(far, [-torque, *((2 - phi) * EI)]))


@law(1e-11)
def semi_rigid_ends_under_a_line_load(seed):
    """End springs k at both built-in ends lower the end moments to (wL²/12)/(1 + 2EI/kL)."""
    k = 10 ** np.random.default_rng(seed).uniform(4, 6)
    end = End(springs=(np.inf, np.inf, np.inf, np.inf, k, k))
    beam = Placed(seed, far=ALL, start=end, end=end)
    s, L, (wy, wz) = beam.s, beam.L, beam.load[1:3]
    ends = actions_at(beam.solved(line=(0, wy, wz)), [0, 0], [0, 1])[0]
    My, Mz = -wz * L**2 / 12 / (1 + 2 * s.EIy / (k * L)), wy * L**2 / 12 / (1 + 2 * s.EIz / (k * L))
    return max(differ(ends[:, 4], [My, My]), differ(ends[:, 5], [Mz, Mz]))


@law(1e-11)
def propped_cantilever(seed):
    """The prop takes what undoes the sag of its end: R (L³/3EI + L/GA) = wL⁴/8EI + wL²/2GA."""
    s, w = random_stiffness(np.random.default_rng(seed)), -2e3
    frame, L = single(s, far=(2,)), 4.0
    loads = Loads.zeros(frame, "w")
    loads.line[0, 0, 2] = w
    prop = -(w * L**4 / (8 * s.EIy) + w * L**2 / (2 * s.GAz)) / (L**3 / (3 * s.EIy) + L / s.GAz)
    return differ(solve(frame, loads).reactions[0, 1, 2], prop)


@law(1e-11)
def pinned_ends_of_a_beam(seed):
    """A beam released at both ends in bending sags 5wL⁴/384EI + wL²/8GA and turns wL³/24EI inside its
    hinges.
    """
    hinge = End(springs=(np.inf, np.inf, np.inf, np.inf, 0.0, 0.0))
    beam = Placed(seed, far=ALL, start=hinge, end=hinge)
    s, L, (wy, wz) = beam.s, beam.L, beam.load[1:3]
    answer = beam.solved(line=(0, wy, wz))
    moves = beam.local(displacement_at(answer, [0, 0], [0.5, 0.0]))[0]
    sag = [
        5 * w * L**4 / (384 * EI) + w * L**2 / (8 * GA)
        for w, EI, GA in ((wy, s.EIz, s.GAy), (wz, s.EIy, s.GAz))
    ]
    turns = [-wz * L**3 / (24 * s.EIy), wy * L**3 / (24 * s.EIz)]
    return max(differ(moves[0, 1:3], sag), differ(moves[1, 4:6], turns))


@law(1e-11)
def offsets_are_rigid_arms(seed):
    """A load on a node at an arm o from the tip bends the beam by the force and by o × F, and moves with the
    tip's rotation.
    """
    rng = np.random.default_rng(seed)
    o, F = rng.uniform(-0.5, 0.5, 3), rng.standard_normal(3) * 1e3
    plain, arm = single(), single(to=(4 + o[0], o[1], o[2]), end=End(offset=tuple(-o)))
    tip = solve(plain, tip_load(plain, "B", [*F, *np.cross(o, F)])).displacement[0, 1]
    far = solve(arm, tip_load(arm, "B", [*F, 0, 0, 0])).displacement[0, 1]
    return differ(far, [*(tip[:3] + np.cross(tip[3:], o)), *tip[3:]])


@law(1e-6)
def offsets_are_stiff_springs(seed):
    """A spring between apart nodes, stiff beyond measure, is the rigid offset that it spans."""
    o = np.random.default_rng(seed).uniform(-0.5, 0.5, 3)
    arm = single(to=(4 + o[0], o[1], o[2]), end=End(offset=tuple(-o)))
    builder = FrameBuilder()
    for name, at in (("A", (0, 0, 0)), ("B", (4, 0, 0)), ("C", (4 + o[0], o[1], o[2]))):
        builder.node(name, at)
    builder.beam("AB", ["A", "B"], STEEL)
    builder.spring("B", "C", np.full(6, 1e15))
    builder.support("A", ALL)
    sprung, load = builder.build(), [300, -500, 700, 40, 50, 60]
    one, two = solve(arm, tip_load(arm, "B", load)), solve(sprung, tip_load(sprung, "C", load))
    return differ(two.displacement[0, 2], one.displacement[0, 1])


@law(1e-9)
def springs_along_tilted_axes(seed):
    """A stub on end springs moves by F/k along each axis of the springs."""
    rng = np.random.default_rng(seed)
    axes, k, F = turn(rng), 10 ** rng.uniform(4, 5, 3), rng.standard_normal(3)
    frame = single(Stiffness(1e17, 1e17, 1e17, 1e17), start=End(springs=(*k, *[np.inf] * 3), axes=axes))
    moved = solve(frame, tip_load(frame, "B", [*F, 0, 0, 0])).displacement[0, 1, :3]
    return differ(moved, axes.T @ (axes @ F / k))


@law(1e-11)
def two_bars_carry_a_node(seed):
    """Two pin-jointed bars at ±α from the vertical sag FL/(2EA cos²α); rotations that nothing turns stay
    0.
    """
    alpha, L, EA, F = np.random.default_rng(seed).uniform(0.3, 1.2), 2.0, 1e6, 1e3
    frame = truss([(-np.sin(alpha), 0, np.cos(alpha)), (np.sin(alpha), 0, np.cos(alpha))], L, EA)
    answer = solve(frame, tip_load(frame, "P", [0, 0, -F, 0, 0, 0]))
    sag = -F * L / (2 * EA * np.cos(alpha) ** 2)
    return differ(answer.displacement[0, 0, 2], sag) + np.abs(answer.displacement[..., 3:]).max() / abs(sag)


@law(1e-11)
def a_truss_may_weigh_something(seed):
    """A bar without bending stiffness hands half its weight to each end, and no moment."""
    rng = np.random.default_rng(seed)
    m, L, EA = rng.uniform(1, 20), 2.0, 1e6
    frame = truss([(0.6, 0, 0.8), (-0.6, 0, 0.8)], L, EA, mass=m)
    loads = Loads.zeros(frame, "weight")
    loads.nodal[0], loads.line[0] = gravity_loads(frame, (0, 0, -9.80665))
    answer = solve(frame, loads)
    # in each bar the end carries half of both bars' weight; its own weight along it adds none at mid-length
    sag = -(m * L * 9.80665) * L / (2 * EA * 0.64)
    return (
        differ(answer.displacement[0, 0, 2], sag)
        + np.abs(end_forces(answer)[0, :, [3, 4, 5, 9, 10, 11]]).max()
    )


@law(1e-9, drawn=False)
def a_thousand_elements(seed):
    """A cantilever of 1,000 elements gives FL³/3EI to nine digits."""
    del seed
    frame = chain(1000)
    return chain_error(solve(frame, chain_load(frame)))


@law(0)
def mechanisms_are_found(seed):
    """A beam that spins about its own axis is a mechanism: it is refused, and named."""
    frame = single(
        held=(0, 1, 2, 4, 5), to=turn(np.random.default_rng(seed))[0], far=(), divide=2, up=(0.1, 0.2, 0.3)
    )
    free = single(held=(0, 1, 2), far=(1, 2))
    found = 0
    for each in (frame, free):
        try:
            solve(each, tip_load(each, "B", [0, 1, 0, 0, 0, 0]))
        except Mechanism:
            found += 1
    return 2 - found
