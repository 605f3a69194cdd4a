"""What must change nothing, or tend to a limit: rotation, numbering, finer meshes, soft and stiff springs."""

import numpy as np

from femcore.frame.builder import End, FrameBuilder
from femcore.frame.frame import Loads
from femcore.results.member_forces import actions_at, displacement_at, end_forces
from femcore.solvers.solution import solve
from tests.femcore.frames import STEEL, bars, random_loaded_frame, refined, renumbered, single, turn, turned
from tests.femcore.laws.table import differ, law, solved


@law(1e-11)
def superposition(seed):
    """The answer to a sum of loads is the sum of the answers."""
    given = random_loaded_frame(seed)
    factors = np.random.default_rng(seed).standard_normal((2, 3))
    parts = solved(given)
    whole = solve(given.frame, given.loads.combined(factors, ("a", "b")))
    which, middle = np.arange(len(given.frame.ends)), np.full(len(given.frame.ends), 0.4)
    pairs = [
        (whole.displacement, parts.displacement),
        (whole.reactions, parts.reactions),
        (actions_at(whole, which, middle), actions_at(parts, which, middle)),
        (displacement_at(whole, which, middle), displacement_at(parts, which, middle)),
    ]
    return max(differ(a, np.tensordot(factors, b, 1)) for a, b in pairs)


@law(1e-11)
def rigid_motions_are_free(seed):
    """Supports and grounds that move as one rigid body carry the frame along, with no force anywhere: six
    motions, no energy.
    """
    frame = random_loaded_frame(seed, turnable=True).frame
    loads = Loads.zeros(frame, *"abcdef")
    motion = np.zeros((6, len(frame.nodes), 6))
    for freedom in range(3):
        axis = np.eye(3)[freedom]
        motion[freedom, :, freedom] = 1
        motion[3 + freedom, :, :3], motion[3 + freedom, :, 3 + freedom] = np.cross(axis, frame.nodes), 1
    loads.support_displacement[:] = np.where(frame.fixed, motion, 0)
    answer = solve(frame, loads)
    strain = np.abs(end_forces(answer)).max() / frame.EA.max()
    return max(differ(answer.displacement, motion), strain)


@law(1e-11)
def turning_turns_the_answer(seed):
    """The frame and its loads turned by any rotation give the same answer, turned."""
    given, R = random_loaded_frame(seed, turnable=True), turn(np.random.default_rng(seed))
    return turned_answers_differ(given, R)


@law(1e-11)
def exchanging_axes_exchanges_the_answer(seed):
    """x, y, z of everything exchanged in a ring, unequal springs and partly fixed nodes included, exchange the
    answer.
    """
    return turned_answers_differ(random_loaded_frame(seed), np.roll(np.eye(3), 1, axis=0))


def turned_answers_differ(given, R):
    """How far the answer of the turned specimen is from the turned answer; actions must be the same as
    before.
    """
    one, two = solved(given), solved(turned(given, R))
    both, which = np.kron(np.eye(2), R).T, np.arange(len(given.frame.ends))
    part = np.full(len(which), 0.3)
    return max(
        differ(two.displacement, one.displacement @ both),
        differ(two.reactions, one.reactions @ both),
        differ(end_forces(two), end_forces(one)),
        differ(displacement_at(two, which, part), displacement_at(one, which, part) @ both),
    )


@law(1e-11)
def numbering_does_not_matter(seed):
    """Nodes, elements and springs numbered otherwise give the same answer."""
    given = random_loaded_frame(seed)
    other, nodes, elements = renumbered(given, np.random.default_rng(seed))
    one, two = solved(given), solved(other)
    return max(
        differ(two.displacement[:, nodes], one.displacement),
        differ(two.reactions[:, nodes], one.reactions),
        differ(end_forces(two)[:, elements], end_forces(one)),
    )


@law(1e-11)
def cutting_finer_changes_nothing(seed):
    """Nodal answers are exact: more elements under the same point and line loads change no movement, reaction
    or action.
    """
    given = random_loaded_frame(seed)
    finer, ends = refined(given, 3)
    one, two, old = solved(given), solved(finer), len(given.frame.nodes)
    first, last = ends.T
    before, after = end_forces(one), end_forces(two)
    return max(
        differ(two.displacement[:, :old], one.displacement),
        differ(two.reactions[:, :old], one.reactions),
        differ(after[:, first, :6], before[..., :6]),
        differ(after[:, last, 6:], before[..., 6:]),
    )


@law(1e-11)
def between_nodes_a_finer_mesh_agrees(seed):
    """Actions and shape inside an element are those that nodes placed there would have."""
    given = random_loaded_frame(seed)
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
    given = random_loaded_frame(seed, moved=False)
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
    return frame, Loads(loads.names, nodal, np.zeros_like(loads.line), loads.support_displacement)


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
    given, rng = random_loaded_frame(seed), np.random.default_rng(seed)
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
    loads = Loads.zeros(frame, "a", "b")
    loads.line[:, 0] = line
    return solve(frame, loads)


def _sprung_beside(six, line):
    builder = FrameBuilder()
    for name, x in (("A'", 0), ("B", 4), ("A", 0)):
        builder.node(name, (x, 0, 0))
    builder.beam("AB", ["A'", "B"], STEEL)
    builder.spring("A", "A'", six)
    builder.support("A", range(6))
    builder.support("B", (0, 1, 2))
    frame = builder.build()
    loads = Loads.zeros(frame, "a", "b")
    loads.line[:, 0] = line
    return solve(frame, loads)
