"""Laws of statics and of energy, for random frames with every feature.

None uses the solver's stiffness, only what it answers.
"""

import numpy as np

from femcore.frame.frame import Loads, gravity_loads
from femcore.results.member_forces import actions_at, displacement_at, end_forces
from femcore.solvers.solution import solve
from tests.femcore.frames import LoadedFrame, bars, random_loaded_frame
from tests.femcore.laws.table import differ, law, solved

GAUSS = [(x / 2 + 0.5, w / 2) for x, w in zip(*np.polynomial.legendre.leggauss(5), strict=True)]


def along_elements(solution, value):
    """Integral of `value(elements, xi)` (c, m) over the length of all elements, per case."""
    which = np.arange(len(solution.frame.ends))
    total = sum(w * value(which, np.full(len(which), x)) for x, w in GAUSS)
    return (total * solution.frame.length).sum(axis=1)


def work(loads, reactions, solution, moved):
    """Work of one set of loads and reactions on the movements of another, case by case, point and line loads
    alike.
    """
    frame = solution.frame
    line = np.einsum("mij,cmi->cmj", frame.axes, loads.line)

    def of_line(which, xi):
        return (line * displacement_at(solution, which, xi)[..., :3]).sum(axis=2)

    return (loads.nodal * solution.displacement + reactions * moved).sum(axis=(1, 2)) + along_elements(
        solution, of_line
    )


def picked(loads, order):
    """The same cases in another order."""
    return loads.combined(np.eye(len(order))[list(order)], tuple(f"case {i}" for i in order))


def spring_forces(solution):
    """(c, s, 6), what each spring puts on its first node."""
    frame, u = solution.frame, solution.displacement
    first, second = frame.spring_ends.T
    arm = frame.nodes[first] - frame.nodes[second]
    carried = u[:, second].copy()
    carried[..., :3] += np.cross(u[:, second, 3:], arm)
    return (carried - u[:, first]) * frame.springs


def ends_in_global_axes(solution):
    """(c, m, 2, 2, 3), force and moment on each end of each element, global axes."""
    p = end_forces(solution).reshape(len(solution.names), -1, 2, 2, 3)
    return np.einsum("mij,cmefi->cmefj", solution.frame.axes, p)


@law(1e-11)
def equilibrium_of_nodes(seed):
    """Loads, reactions, and what beams and springs put on a node sum to nothing, at every node."""
    given = random_loaded_frame(seed)
    answer, frame = solved(given), given.frame
    total = given.loads.nodal + answer.reactions
    force, moment = np.moveaxis(ends_in_global_axes(answer), 3, 0)
    moment = moment + np.cross(frame.offsets, force)
    ends = np.concatenate([force, moment], axis=3)
    np.subtract.at(total, (slice(None), frame.ends), ends)
    between = frame.ground_nodes[frame.spring_ends[:, 1]] < 0
    pull = spring_forces(answer)[:, between]
    first, second = frame.spring_ends[between].T
    np.add.at(total, (slice(None), first), pull)
    back = -pull
    back[..., 3:] -= np.cross(frame.nodes[first] - frame.nodes[second], pull[..., :3])
    np.add.at(total, (slice(None), second), back)
    return np.abs(total).max() / np.abs(ends).max()


@law(1e-11)
def springs_to_ground_are_reactions(seed):
    """A spring to ground appears as a reaction at its node: minus its stiffness times the movement."""
    given = random_loaded_frame(seed)
    answer, frame = solved(given), given.frame
    (hidden,) = np.flatnonzero(frame.ground_nodes >= 0)
    node, stiffness = frame.ground_nodes[hidden], frame.springs[frame.spring_ends[:, 1] == hidden][0]
    return (
        differ(answer.reactions[:, node], -stiffness * answer.displacement[:, node])
        + np.abs(answer.reactions[:, hidden]).max()
    )


@law(1e-11)
def equilibrium_of_the_whole(seed):
    """Loads and reactions balance in force and in moment about any point."""
    given = random_loaded_frame(seed)
    answer, frame = solved(given), given.frame
    force = given.loads.nodal[..., :3] + answer.reactions[..., :3]
    moment = given.loads.nodal[..., 3:] + answer.reactions[..., 3:] + np.cross(frame.nodes, force)
    line = np.einsum("mij,cmi,m->cmj", frame.axes, given.loads.line, frame.length)
    arms = np.cross(frame.end_points.mean(axis=1), line)
    net = np.concatenate(
        [force.sum(axis=1) + line.sum(axis=1), moment.sum(axis=1) + arms.sum(axis=1)], axis=1
    )
    return np.abs(net).max() / np.abs(answer.reactions).max()


@law(1e-11)
def equilibrium_of_a_cut(seed):
    """The part of a beam between its start and any cut is in equilibrium under its end, its line load and the
    cut.
    """
    given = random_loaded_frame(seed)
    answer, frame = solved(given), given.frame
    which = np.arange(len(frame.ends))
    xi = np.random.default_rng(seed).random(len(which))
    cut, at = actions_at(answer, which, xi), (xi * frame.length)[:, None]
    start = end_forces(answer)[..., :6]
    x = np.array([1.0, 0.0, 0.0])
    force = start[..., :3] + cut[..., :3] + given.loads.line * at
    moment = (
        start[..., 3:]
        + cut[..., 3:]
        + np.cross(at * x, cut[..., :3])
        + np.cross(at / 2 * x, given.loads.line * at)
    )
    return max(np.abs(force).max(), np.abs(moment).max()) / np.abs(cut).max()


@law(1e-11)
def reciprocity(seed):
    """The work of one load on the movements of another is that of the other on the movements of the one
    (Maxwell–Betti).
    """
    given = random_loaded_frame(seed)
    order = (1, 2, 0)
    other = LoadedFrame(given.frame, picked(given.loads, order))
    one, two = solved(given), solved(other)
    there = work(given.loads, one.reactions, two, other.loads.support_displacement)
    return differ(there, work(other.loads, two.reactions, one, given.loads.support_displacement))


@law(1e-11)
def work_is_twice_the_energy(seed):
    """Loads and moved supports do twice the work that is stored in bending, shear, torsion, tension and
    springs (Clapeyron).
    """
    given = random_loaded_frame(seed)
    answer, frame = solved(given), given.frame
    flexibility = np.zeros((len(frame.ends), 6))
    stiff = np.stack([frame.EA, frame.GAy, frame.GAz, frame.GJ, frame.EIy, frame.EIz], axis=1)
    np.divide(1, stiff, out=flexibility, where=stiff > 0)

    def density(which, xi):
        return (actions_at(answer, which, xi) ** 2 * flexibility).sum(axis=2)

    twice = along_elements(answer, density)
    for force, k in (
        (spring_forces(answer), frame.springs),
        (end_spring_forces(answer), frame.end_springs.reshape(-1, 2, 6)),
    ):
        soft = np.isfinite(k) & (k > 0)
        twice = twice + (force[:, soft] ** 2 / k[soft]).sum(axis=1)
    return differ(work(given.loads, answer.reactions, answer, given.loads.support_displacement), twice)


def end_spring_forces(solution):
    """(c, m, 2, 6), what the node puts on each end, in the axes of its end springs."""
    p = end_forces(solution).reshape(len(solution.names), -1, 2, 2, 3)
    return np.einsum("meij,cmefj->cmefi", solution.frame.spring_axes, p).reshape(*p.shape[:3], 6)


@law(1e-11)
def end_springs_slip_by_their_force(seed):
    """A beam's end lags behind its node by the force in its end spring over its stiffness; a rigid one does
    not, a released one carries none.
    """
    given = random_loaded_frame(seed)
    answer, frame = solved(given), given.frame
    which, force = np.arange(len(frame.ends)), end_spring_forces(answer)
    inner = np.stack([displacement_at(answer, which, np.full(len(which), x)) for x in (0.0, 1.0)], axis=2)
    outer = answer.displacement[:, frame.ends]
    outer[..., :3] += np.cross(outer[..., 3:], frame.offsets)
    to_spring = frame.spring_axes @ frame.axes[:, None]
    slip = np.einsum("meij,cmefj->cmefi", to_spring, (outer - inner).reshape(*outer.shape[:3], 2, 3)).reshape(
        outer.shape
    )
    slip[:, bars(frame)] = 0
    k = frame.end_springs.reshape(-1, 2, 6)
    soft, rigid = np.isfinite(k) & (k > 0), np.isinf(k)
    carried = np.abs(force[:, k == 0]).max() / np.abs(force).max()
    return max(
        differ(slip[:, soft] * k[soft], force[:, soft]),
        np.abs(slip[:, rigid]).max() / np.abs(outer).max(),
        carried,
    )


STEPS = np.linspace(0, 1, 7)
SLOPE = np.polynomial.polynomial.polyvander(STEPS, 6)
SLOPE = np.column_stack([np.zeros((7, 1)), SLOPE[:, :-1] * np.arange(1, 7)]) @ np.linalg.inv(SLOPE)


@law(1e-7)
def shape_follows_the_actions(seed):
    """Along every beam the shape's strains are the actions over the stiffnesses: N/EA, V/GA, T/GJ, M/EI at
    each station.
    """
    given = random_loaded_frame(seed)
    answer, frame = solved(given), given.frame
    which = np.flatnonzero(~bars(frame))
    elements, xi = np.repeat(which, 7), np.tile(STEPS, len(which))
    shape = (len(answer.names), len(which), 7)
    moves = displacement_at(answer, elements, xi).reshape(*shape, 2, 3)
    local = np.einsum("mij,cmkfj->cmkfi", frame.axes[which], moves).reshape(*shape, 6)
    slope = np.einsum("kl,cmli->cmki", SLOPE, local) / frame.length[which][:, None, None]
    slope[..., 1] -= local[..., 5]
    slope[..., 2] += local[..., 4]
    stiff = np.stack([frame.EA, frame.GAy, frame.GAz, frame.GJ, frame.EIy, frame.EIz], axis=1)[which]
    return differ(slope * stiff[:, None], actions_at(answer, elements, xi).reshape(*shape, 6))


@law(1e-12)
def weight_is_carried(seed):
    """Under gravity the reactions sum to the mass of points and lines times the acceleration, about their
    centre.
    """
    rng = np.random.default_rng(seed)
    frame, g = random_loaded_frame(seed).frame, rng.standard_normal(3)
    loads = Loads.zeros(frame, "weight")
    loads.nodal[0], loads.line[0] = gravity_loads(frame, g)
    answer = solve(frame, loads)
    lines = frame.line_mass * frame.length
    mass = lines.sum() + 40.0
    first = lines @ frame.end_points.mean(axis=1) + 40.0 * frame.nodes[frame.node_index["2"]]
    force = answer.reactions[0, :, :3]
    moment = answer.reactions[0, :, 3:] + np.cross(frame.nodes, force)
    return max(differ(force.sum(axis=0), -mass * g), differ(moment.sum(axis=0), -np.cross(first, g)))
