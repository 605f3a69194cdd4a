"""Frames that the tests of the solver share: drawn at random with every feature, and turned, renumbered or
cut finer.

Random frames hold rigid offsets, end springs in tilted axes, releases, shear deformation, springs between
apart nodes, springs to ground, a pin-ended bar, point masses and imposed movements, so that a law that holds
for them holds for all.
"""

from dataclasses import dataclass, replace
from types import MappingProxyType

import numpy as np

from femcore.frame.builder import End, FrameBuilder, Stiffness
from femcore.frame.frame import Frame, Loads, Member

ALL = range(6)
STEEL = Stiffness(EA=2e8, EIy=3e5, EIz=8e5, GJ=1e5, GAy=2e7, GAz=4e7, mass=12.0)
"""A sturdy bar with shear deformation; EA, GA in N, EI, GJ in N·m², kg/m."""

RIGID_SHEAR = Stiffness(EA=2e8, EIy=3e5, EIz=8e5, GJ=1e5)
"""The same without shear deformation or mass."""


@dataclass(frozen=True)
class LoadedFrame:
    """A frame and its loads."""

    frame: Frame
    loads: Loads


def turn(rng):
    """A random rotation matrix (3, 3)."""
    q, r = np.linalg.qr(rng.standard_normal((3, 3)))
    q = q * np.sign(np.diag(r))
    return q * np.linalg.det(q)


def single(
    stiffness=STEEL,
    span=(0.0, 0.0, 0.0),
    to=(4.0, 0.0, 0.0),
    held=ALL,
    far=(),
    divide=1,
    up=(0, 0, 1),
    **ends,
):
    """One beam AB: A fixed in `held`, B in `far`."""
    builder = FrameBuilder()
    builder.node("A", span)
    builder.node("B", to)
    builder.beam("AB", ["A", "B"], stiffness, up, divide, **ends)
    builder.support("A", held)
    builder.support("B", far)
    return builder.build()


def tip_load(frame, node, load, name="load"):
    """One case with one load (6,) on one named node."""
    loads = Loads.zeros(frame, name)
    loads.nodal[0, frame.node_index[node]] = load
    return loads


def chain(elements, length=10.0):
    """A cantilever of many elements, askew in space: the case that loses most digits."""
    root = np.array([0.3, 0.7, 0.11])
    return single(RIGID_SHEAR, span=root, to=root + length * np.array([0.6, 0.48, 0.64]), divide=elements)


def chain_load(frame, force=-1e3):
    """A force at the chain's tip along its own z."""
    return tip_load(frame, "B", [*(force * frame.axes[0, 2]), 0, 0, 0])


def chain_error(solution, force=-1e3, length=10.0):
    """Relative error of the tip's movement along z against F L³/3EI."""
    tip = solution.frame.axes[0, 2] @ solution.displacement[0, 1, :3]
    return abs(tip / (force * length**3 / (3 * RIGID_SHEAR.EIy)) - 1)


def truss(directions, L=2.0, EA=1e6, mass=0.0, held=(1,)):
    """Bars from P outwards, pinned at their far ends; P fixed across the plane."""
    builder = FrameBuilder()
    builder.node("P", (0, 0, 0))
    for number, direction in enumerate(directions):
        name = builder.node(f"Q{number}", np.array(direction) * L)
        builder.beam(f"bar {number}", ["P", name], Stiffness(EA, mass=mass), up=(0, 1, 0))
        builder.support(name, (0, 1, 2))
    builder.support("P", held)
    return builder.build()


def random_stiffness(rng):
    """Random stiffnesses within a decade, shear deformation included."""
    grow = 10 ** rng.uniform(-0.5, 0.5, 6)
    EA, EIy, EIz, GJ, GAy, GAz = grow * (5e7, 2e5, 3e5, 1e5, 6e6, 8e6)
    return Stiffness(EA, EIy, EIz, GJ, GAy, GAz, mass=float(rng.uniform(1, 20)))


def random_end(rng, free=()):
    """A beam end with an offset, some springs along tilted axes, and perhaps releases along the beam's
    axes.
    """
    springs = np.full(6, np.inf)
    if free:
        springs[list(free)] = 0.0
        return End(tuple(rng.uniform(-0.2, 0.2, 3)), tuple(springs))
    soft = rng.random(6) < 0.5
    springs[soft] = np.where(np.arange(6) < 3, 1e7, 1e5)[soft] * 10 ** rng.uniform(-1, 1, soft.sum())
    axes = turn(rng) if rng.random() < 0.5 else None
    return End(tuple(rng.uniform(-0.2, 0.2, 3)), tuple(springs), axes)


POINTS = np.array([(0, 0, 0), (2, 0.2, 0.3), (3.9, 0.1, -0.2), (4.1, 2.2, 0.4), (2.0, 2.3, 1.6)])
BEAMS = ("01", "12", "23", "34", "13", "04")


def random_loaded_frame(seed, turnable=False, moved=True):
    """A random frame under three cases; `turnable`: springs alike in all directions, so that any rotation can
    turn them.
    """
    rng = np.random.default_rng(seed)
    frame = random_builder(rng, turnable).build()
    return LoadedFrame(frame, random_loads(rng, frame, moved))


def random_builder(rng, turnable=False):
    """The random frame of `random_loaded_frame` as a draft, nodes "0" to "4", to which more can be added."""
    builder = FrameBuilder()
    for number, point in enumerate(POINTS):
        builder.node(str(number), point + rng.uniform(-0.4, 0.4, 3))
    for number, (a, b) in enumerate(BEAMS):
        start = random_end(rng, free=((), (4,), (4, 5), (5,))[number % 4])
        up = rng.standard_normal(3)
        builder.beam(
            a + b, [a, b], random_stiffness(rng), up, int(rng.integers(1, 4)), start, random_end(rng)
        )
    builder.beam("bar", ["0", "3"], Stiffness(EA=3e6))
    six = np.repeat(10 ** rng.uniform(4, 6, 2), 3) if turnable else 10 ** rng.uniform(4, 6, 6)
    builder.spring("2", "4", six)
    builder.spring("4", None, six[::-1] if not turnable else six)
    builder.mass("2", 40.0)
    builder.support("0", ALL)
    builder.support("3", (0, 1, 2) if turnable else (0, 2))
    return builder


def random_loads(rng, frame, moved=True):
    """Forces, moments and line loads on everything in three cases, and movements of supports in the last
    two.
    """
    loads = Loads.zeros(frame, "one", "two", "three")
    loads.nodal[:] = rng.standard_normal(loads.nodal.shape) * 1e3
    loads.nodal[:, frame.ground_nodes >= 0] = 0
    loads.line[:] = rng.standard_normal(loads.line.shape) * 500
    loads.line[:, bars(frame)] = 0
    if moved:
        shown = frame.fixed & (frame.ground_nodes < 0)[:, None]
        loads.support_displacement[1:, shown] = rng.standard_normal((2, shown.sum())) * 1e-3
    return loads


def bars(frame):
    """(m,), elements without bending stiffness."""
    return frame.EIy == 0


def turned(given, R):
    """The same structure and loads after the rotation R (3, 3); where springs differ by direction, R must
    permute axes.
    """
    frame, loads = given.frame, given.loads
    both = np.kron(np.eye(2), R)
    fixed = np.stack([_turned_supports(row, R) for row in frame.fixed])
    moved = replace(
        frame,
        nodes=frame.nodes @ R.T,
        axes=frame.axes @ R.T,
        offsets=frame.offsets @ R.T,
        springs=_turned_springs(frame.springs, R),
        fixed=fixed,
    )
    return LoadedFrame(
        moved,
        replace(loads, nodal=loads.nodal @ both.T, support_displacement=loads.support_displacement @ both.T),
    )


def _turned_supports(row, R):
    halves = [half if half.all() or not half.any() else _permuted(half, R) for half in row.reshape(2, 3)]
    return np.concatenate(halves)


def _turned_springs(springs, R):
    halves = [half if np.ptp(half) == 0 else _permuted(half, R) for half in springs.reshape(-1, 3)]
    return np.reshape(halves, springs.shape)


def _permuted(values, R):
    P = np.abs(R)
    assert np.array_equal(P, P.round()), "what differs by direction only turns into another axis"
    return (P @ values).astype(values.dtype)


def renumbered(given, rng):
    """The same structure with nodes, elements, springs and the two ends of springs' numbering shuffled, and
    node order.
    """
    frame, loads = given.frame, given.loads
    nodes, elements = rng.permutation(len(frame.nodes)), rng.permutation(len(frame.ends))
    springs, new = rng.permutation(len(frame.springs)), np.argsort(nodes)
    by_element = {
        key: getattr(frame, key)[elements]
        for key in (
            "axes",
            "offsets",
            "EA",
            "EIy",
            "EIz",
            "GJ",
            "GAy",
            "GAz",
            "line_mass",
            "end_springs",
            "spring_axes",
        )
    }
    ground_nodes = frame.ground_nodes[nodes]
    other = replace(
        frame,
        nodes=frame.nodes[nodes],
        ends=new[frame.ends[elements]],
        **by_element,
        spring_ends=new[frame.spring_ends[springs]],
        springs=frame.springs[springs],
        point_mass=frame.point_mass[nodes],
        fixed=frame.fixed[nodes],
        ground_nodes=np.where(ground_nodes >= 0, new[ground_nodes], -1),
        node_index=MappingProxyType({name: int(new[i]) for name, i in frame.node_index.items()}),
        members=MappingProxyType({}),
    )
    loads = Loads(
        loads.names, loads.nodal[:, nodes], loads.line[:, elements], loads.support_displacement[:, nodes]
    )
    return LoadedFrame(other, loads), new, np.argsort(elements)


def refined(given, pieces=2):
    """The same structure with every beam element cut into `pieces`; its old nodes come first, bars stay
    whole.

    Also the (old elements, 2) first and last new element of each old one.
    """
    frame, loads = given.frame, given.loads
    count = np.where(bars(frame), 1, pieces)
    old = np.repeat(np.arange(len(count)), count)
    first = np.cumsum(count) - count
    step = np.arange(len(old)) - first[old]
    is_first, is_last = step == 0, step == count[old] - 1
    start, end = np.moveaxis(frame.end_points[old], 1, 0)
    inner = (start + (end - start) * ((step + 1) / count[old])[:, None])[~is_last]
    new = np.full(len(old), -1)
    new[~is_last] = len(frame.nodes) + np.arange(len(inner))
    ends = np.column_stack(
        [np.where(is_first, frame.ends[old, 0], np.roll(new, 1)), np.where(is_last, frame.ends[old, 1], new)]
    )
    whole = np.column_stack([is_first, is_last])
    springs = np.where(np.repeat(whole, 6, axis=1), frame.end_springs[old], np.inf)
    more = len(inner)
    finer = replace(
        frame,
        nodes=np.concatenate([frame.nodes, inner]),
        ends=ends,
        axes=frame.axes[old],
        offsets=np.where(whole[:, :, None], frame.offsets[old], 0.0),
        **{key: getattr(frame, key)[old] for key in ("EA", "EIy", "EIz", "GJ", "GAy", "GAz", "line_mass")},
        end_springs=springs,
        spring_axes=np.where(whole[:, :, None, None], frame.spring_axes[old], np.eye(3)),
        point_mass=np.pad(frame.point_mass, (0, more)),
        fixed=np.pad(frame.fixed, ((0, more), (0, 0))),
        ground_nodes=np.pad(frame.ground_nodes, (0, more), constant_values=-1),
        members=MappingProxyType(
            {
                n: Member(int(first[m.first]), int(first[m.last - 1] + count[m.last - 1]))
                for n, m in frame.members.items()
            }
        ),
    )
    pad = ((0, 0), (0, more), (0, 0))
    loads = Loads(
        loads.names, np.pad(loads.nodal, pad), loads.line[:, old], np.pad(loads.support_displacement, pad)
    )
    return LoadedFrame(finer, loads), np.column_stack([first, first + count - 1])
