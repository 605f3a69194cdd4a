"""Laws of linear frames, as functions over random frames that give the size of the worst violation.

They stand apart from the tests so that the same law can be asked again under a planted fault. Each is written
from statics and energy alone: none uses the solver's stiffness, only what it answers.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from femcore.actions import actions_at, displacement_at, end_forces
from femcore.draft import Draft, End
from femcore.errors import ForebeamError
from femcore.frame import Loads, gravity_loads
from femcore.solve import solve
from tests.femcore.frames import STEEL, Specimen, bars, refined, renumbered, single, specimen, turn, turned


@dataclass(frozen=True)
class Law:
    """A law, how far it is violated for a seed, and how far rounding may violate it."""

    name: str
    sentence: str
    violation: Callable[[int], float]
    limit: float
    drawn: bool = True
    """Whether the seed matters."""

    def holds(self, seed):
        """Whether it holds; an answer refused is a law broken."""
        try:
            return self.violation(seed) <= self.limit
        except (ForebeamError, ArithmeticError, ValueError, np.linalg.LinAlgError):
            return False


LAWS: dict[str, Law] = {}


def law(limit, drawn=True):
    """Enter a function of a seed into the table of laws."""

    def enter(function):
        LAWS[function.__name__] = Law(
            function.__name__, " ".join(function.__doc__.split()), function, limit, drawn
        )
        return function

    return enter


def solved(given):
    """The solution of a specimen."""
    return solve(given.frame, given.loads)


def differ(a, b):
    """Largest difference over the largest value, movements and rotations (or forces and moments) apart."""
    a, b = np.atleast_1d(np.asarray(a, dtype=float)), np.atleast_1d(np.asarray(b, dtype=float))
    if a.shape[-1] == 6:
        return max(differ(a[..., :3], b[..., :3]), differ(a[..., 3:], b[..., 3:]))
    return float(np.abs(a - b).max() / max(np.abs(b).max(), np.finfo(float).tiny))


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
    given = specimen(seed)
    answer, frame = solved(given), given.frame
    total = given.loads.nodal + answer.reaction
    force, moment = np.moveaxis(ends_in_global_axes(answer), 3, 0)
    moment = moment + np.cross(frame.offsets, force)
    ends = np.concatenate([force, moment], axis=3)
    np.subtract.at(total, (slice(None), frame.ends), ends)
    between = frame.grounds[frame.spring_ends[:, 1]] < 0
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
    given = specimen(seed)
    answer, frame = solved(given), given.frame
    (hidden,) = np.flatnonzero(frame.grounds >= 0)
    node, stiffness = frame.grounds[hidden], frame.springs[frame.spring_ends[:, 1] == hidden][0]
    return (
        differ(answer.reaction[:, node], -stiffness * answer.displacement[:, node])
        + np.abs(answer.reaction[:, hidden]).max()
    )


@law(1e-11)
def equilibrium_of_the_whole(seed):
    """Loads and reactions balance in force and in moment about any point."""
    given = specimen(seed)
    answer, frame = solved(given), given.frame
    force = given.loads.nodal[..., :3] + answer.reaction[..., :3]
    moment = given.loads.nodal[..., 3:] + answer.reaction[..., 3:] + np.cross(frame.nodes, force)
    line = np.einsum("mij,cmi,m->cmj", frame.axes, given.loads.line, frame.length)
    arms = np.cross(frame.end_points.mean(axis=1), line)
    net = np.concatenate(
        [force.sum(axis=1) + line.sum(axis=1), moment.sum(axis=1) + arms.sum(axis=1)], axis=1
    )
    return np.abs(net).max() / np.abs(answer.reaction).max()


@law(1e-11)
def equilibrium_of_a_cut(seed):
    """The part of a beam between its start and any cut is in equilibrium under its end, its line load and the
    cut.
    """
    given = specimen(seed)
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
    given = specimen(seed)
    order = (1, 2, 0)
    other = Specimen(given.frame, picked(given.loads, order))
    one, two = solved(given), solved(other)
    there = work(given.loads, one.reaction, two, other.loads.moved)
    return differ(there, work(other.loads, two.reaction, one, given.loads.moved))


@law(1e-11)
def work_is_twice_the_energy(seed):
    """Loads and moved supports do twice the work that is stored in bending, shear, torsion, tension and
    springs (Clapeyron).
    """
    given = specimen(seed)
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
    return differ(work(given.loads, answer.reaction, answer, given.loads.moved), twice)


def end_spring_forces(solution):
    """(c, m, 2, 6), what the node puts on each end, in the axes of its end springs."""
    p = end_forces(solution).reshape(len(solution.names), -1, 2, 2, 3)
    return np.einsum("meij,cmefj->cmefi", solution.frame.spring_axes, p).reshape(*p.shape[:3], 6)


@law(1e-11)
def end_springs_slip_by_their_force(seed):
    """A beam's end lags behind its node by the force in its end spring over its stiffness; a rigid one does
    not, a released one carries none.
    """
    given = specimen(seed)
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
    given = specimen(seed)
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


@law(1e-11)
def superposition(seed):
    """The answer to a sum of loads is the sum of the answers."""
    given = specimen(seed)
    factors = np.random.default_rng(seed).standard_normal((2, 3))
    parts = solved(given)
    whole = solve(given.frame, given.loads.combined(factors, ("a", "b")))
    which, middle = np.arange(len(given.frame.ends)), np.full(len(given.frame.ends), 0.4)
    pairs = [
        (whole.displacement, parts.displacement),
        (whole.reaction, parts.reaction),
        (actions_at(whole, which, middle), actions_at(parts, which, middle)),
        (displacement_at(whole, which, middle), displacement_at(parts, which, middle)),
    ]
    return max(differ(a, np.tensordot(factors, b, 1)) for a, b in pairs)


@law(1e-11)
def rigid_motions_are_free(seed):
    """Supports and grounds that move as one rigid body carry the frame along, with no force anywhere: six
    motions, no energy.
    """
    frame = specimen(seed, turnable=True).frame
    loads = Loads.none(frame, *"abcdef")
    motion = np.zeros((6, len(frame.nodes), 6))
    for freedom in range(3):
        axis = np.eye(3)[freedom]
        motion[freedom, :, freedom] = 1
        motion[3 + freedom, :, :3], motion[3 + freedom, :, 3 + freedom] = np.cross(axis, frame.nodes), 1
    loads.moved[:] = np.where(frame.fixed, motion, 0)
    answer = solve(frame, loads)
    strain = np.abs(end_forces(answer)).max() / frame.EA.max()
    return max(differ(answer.displacement, motion), strain)


@law(1e-11)
def turning_turns_the_answer(seed):
    """The frame and its loads turned by any rotation give the same answer, turned."""
    given, R = specimen(seed, turnable=True), turn(np.random.default_rng(seed))
    return turned_answers_differ(given, R)


@law(1e-11)
def exchanging_axes_exchanges_the_answer(seed):
    """x, y, z of everything exchanged in a ring, unequal springs and half-held nodes included, exchange the
    answer.
    """
    return turned_answers_differ(specimen(seed), np.roll(np.eye(3), 1, axis=0))


def turned_answers_differ(given, R):
    """How far the answer of the turned specimen is from the turned answer; actions must be the same as
    before.
    """
    one, two = solved(given), solved(turned(given, R))
    both, which = np.kron(np.eye(2), R).T, np.arange(len(given.frame.ends))
    part = np.full(len(which), 0.3)
    return max(
        differ(two.displacement, one.displacement @ both),
        differ(two.reaction, one.reaction @ both),
        differ(end_forces(two), end_forces(one)),
        differ(displacement_at(two, which, part), displacement_at(one, which, part) @ both),
    )


@law(1e-11)
def numbering_does_not_matter(seed):
    """Nodes, elements and springs numbered otherwise give the same answer."""
    given = specimen(seed)
    other, nodes, elements = renumbered(given, np.random.default_rng(seed))
    one, two = solved(given), solved(other)
    return max(
        differ(two.displacement[:, nodes], one.displacement),
        differ(two.reaction[:, nodes], one.reaction),
        differ(end_forces(two)[:, elements], end_forces(one)),
    )


@law(1e-11)
def cutting_finer_changes_nothing(seed):
    """Nodal answers are exact: more elements under the same point and line loads change no movement, reaction
    or action.
    """
    given = specimen(seed)
    finer, ends = refined(given, 3)
    one, two, old = solved(given), solved(finer), len(given.frame.nodes)
    first, last = ends.T
    before, after = end_forces(one), end_forces(two)
    return max(
        differ(two.displacement[:, :old], one.displacement),
        differ(two.reaction[:, :old], one.reaction),
        differ(after[:, first, :6], before[..., :6]),
        differ(after[:, last, 6:], before[..., 6:]),
    )


@law(1e-11)
def between_nodes_a_finer_mesh_agrees(seed):
    """Actions and shape inside an element are those that nodes placed there would have."""
    given = specimen(seed)
    finer, ends = refined(given, 2)
    one, two = solved(given), solved(finer)
    which = np.flatnonzero(~bars(given.frame))
    for xi, new, local in ((0.25, ends[:, 0], 0.5), (0.5, ends[:, 0], 1.0), (0.875, ends[:, 1], 0.75)):
        there, here = np.full(len(which), local), np.full(len(which), xi)
        worst = max(
            differ(actions_at(one, which, here), actions_at(two, new[which], there)),
            differ(displacement_at(one, which, here), displacement_at(two, new[which], there)),
        )
        if worst > 1e-11:
            return worst
    return worst


@law(0.05)
def a_line_load_is_many_point_loads(seed):
    """Ever more point loads along the beams come to the line load, by their number squared, offsets and end
    springs included.
    """
    given = specimen(seed, moved=False)
    exact, old = solved(given).displacement, len(given.frame.nodes)
    errors = [differ(solve(*with_point_loads(given, n)).displacement[:, :old], exact) for n in (8, 16)]
    return abs(np.log2(errors[0] / errors[1]) - 2) + (errors[1] > 0.02)


def with_point_loads(given, count):
    """Frame and loads with each element's line load as `count` forces at the middles of equal pieces."""
    finer, _ = refined(given, 2 * count)
    frame, loads = finer.frame, finer.loads
    middle = frame.ends[:, 1] >= len(given.frame.nodes)
    middle &= (frame.ends[:, 1] - len(given.frame.nodes)) % (2 * count - 1) % 2 == 0
    force = np.einsum("mij,cmi,m->cmj", frame.axes, loads.line, 2 * frame.length)
    nodal = loads.nodal.copy()
    nodal[:, frame.ends[middle, 1], :3] += force[:, middle]
    return frame, Loads(loads.names, nodal, np.zeros_like(loads.line), loads.moved)


@law(1e-12)
def weight_is_carried(seed):
    """Under gravity the reactions sum to the mass of points and lines times the acceleration, about their
    centre.
    """
    rng = np.random.default_rng(seed)
    frame, g = specimen(seed).frame, rng.standard_normal(3)
    loads = Loads.none(frame, "weight")
    loads.nodal[0], loads.line[0] = gravity_loads(frame, g)
    answer = solve(frame, loads)
    lines = frame.line_mass * frame.length
    mass = lines.sum() + 40.0
    first = lines @ frame.end_points.mean(axis=1) + 40.0 * frame.nodes[frame.node_index["2"]]
    force = answer.reaction[0, :, :3]
    moment = answer.reaction[0, :, 3:] + np.cross(frame.nodes, force)
    return max(differ(force.sum(axis=0), -mass * g), differ(moment.sum(axis=0), -np.cross(first, g)))


@law(0.1)
def a_soft_end_spring_tends_to_a_release(seed):
    """An end spring tends to a release as its stiffness k tends to 0, in proportion to k."""
    return limit_order(seed, released=True)


@law(0.1)
def a_stiff_end_spring_tends_to_a_rigid_end(seed):
    """An end spring tends to a rigid end as its stiffness k tends to infinity, in proportion to 1/k."""
    return limit_order(seed, released=False)


def limit_order(seed, released):
    """How far the order of approach to the limit is from 1, over four decades of the stiffness."""
    given, rng = specimen(seed), np.random.default_rng(seed)
    frame, freedom = given.frame, int(rng.choice([3, 4, 5]))
    frame.end_springs[0], frame.spring_axes[0] = np.inf, np.eye(3)
    limit, scale = (0.0, frame.EIy.max() * 1e-4) if released else (np.inf, frame.EIy.max() * 1e5)
    answers = []
    for stiffness in (limit, scale, scale * (0.1 if released else 10.0)):
        frame.end_springs[0, freedom] = stiffness
        answers.append(solved(given).displacement)
    near, nearer = (differ(answer, answers[0]) for answer in answers[1:])
    return abs(np.log10(near / nearer) - 1)


@law(1e-11)
def an_end_spring_is_a_spring_of_no_length(seed):
    """A spring in a beam's end is the same as a spring between its node and one in the same place, line load
    and all.
    """
    rng = np.random.default_rng(seed)
    six = 10 ** rng.uniform(4, 6, 6)
    line = rng.standard_normal((2, 3)) * 1e3
    within, beside = _sprung_within(six, line), _sprung_beside(six, line)
    return max(
        differ(end_forces(within), end_forces(beside)),
        differ(within.displacement[:, 1], beside.displacement[:, 1]),
        differ(*(displacement_at(s, [0], [0.3]) for s in (within, beside))),
    )


def _sprung_within(six, line):
    frame = single(start=End(springs=tuple(six)), far=(0, 1, 2))
    loads = Loads.none(frame, "a", "b")
    loads.line[:, 0] = line
    return solve(frame, loads)


def _sprung_beside(six, line):
    draft = Draft()
    for name, x in (("A'", 0), ("B", 4), ("A", 0)):
        draft.node(name, (x, 0, 0))
    draft.beam("AB", ["A'", "B"], STEEL)
    draft.spring("A", "A'", six)
    draft.support("A", range(6))
    draft.support("B", (0, 1, 2))
    frame = draft.frame()
    loads = Loads.none(frame, "a", "b")
    loads.line[:, 0] = line
    return solve(frame, loads)
