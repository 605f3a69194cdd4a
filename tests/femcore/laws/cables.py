"""Laws of cables in the linear frame: tension only, slipping along their path, with pretension and temperature changes.

Judged by the force method of `tests.femcore.cabled`, which knows nothing of the solver's cables.
"""

from dataclasses import replace

import numpy as np

from femcore.frame.builder import FrameBuilder
from femcore.frame.frame import Loads
from femcore.solvers.solution import solve
from tests.femcore.cabled import ForceMethod, cabled, pulls, turned_with_cables, without_cables
from tests.femcore.frames import ALL, LoadedFrame, random_end, random_stiffness, turn
from tests.femcore.laws.table import differ, law, solved


@law(1e-9)
def cables_pull_as_the_force_method_says(seed):
    """Tensions and movements are those of the one set of taut cables that is in equilibrium and compatible,
    found by trying every set.
    """
    given, paths = cabled(seed, count=1 + seed % 5, pretension=(0.0, 300.0)[seed % 2])
    answer, judge = solved(given), ForceMethod.of(given, paths)
    worst = 0.0
    for case in range(3):
        t = judge.tensions(case)
        worst = max(worst, differ(answer.displacement[case], judge.displacement(t, case)))
        worst = max(
            worst, np.abs(answer.tension[case] - t).max() / 1e3 + np.any(answer.slack[case] != (t == 0))
        )
    return worst


@law(1e-9)
def pretension_is_what_is_left_at_rest(seed):
    """Without load every cable has the tension that was asked for, all together, and the frame has moved as
    under these pulls alone.
    """
    given, paths = cabled(seed, pretension=10 ** np.random.default_rng(seed).uniform(1, 5))
    loads = Loads.zeros(given.frame, "at rest")
    answer = solve(given.frame, loads)
    wanted = np.array([path.pretension for path in paths])
    loads.nodal[0] = np.tensordot(wanted, pulls(given.frame, paths)[0], 1)
    under_pulls = solved(without_cables(LoadedFrame(given.frame, loads)))
    return max(differ(answer.tension[0], wanted), differ(answer.displacement, under_pulls.displacement))


@law(1e-9)
def a_slack_cable_is_no_cable(seed):
    """Without pretension, taking the slack cables away changes nothing."""
    given, _ = cabled(seed)
    given.loads.cable_temperature_change[:] = 0
    answer, worst = solved(given), 0.0
    for case in range(3):
        left = _with_only(given, np.flatnonzero(~answer.slack[case]), case)
        worst = max(worst, differ(solved(left).displacement[0], answer.displacement[case]))
    return worst


def _with_only(given, kept, case):
    """One case of a specimen with some of its cables, drawn again from their paths."""
    cables = given.frame.cables
    points = [np.flatnonzero(cables.cable_of_point == cable) for cable in kept]
    count = np.array([len(p) for p in points], dtype=int)
    first = np.cumsum(count) - count
    every = np.concatenate([*points, np.zeros(0, dtype=int)]).astype(int)
    segments = [
        np.column_stack([f + np.arange(c - 1), f + 1 + np.arange(c - 1)])
        for f, c in zip(first, count, strict=True)
    ]
    some = replace(
        cables,
        names=tuple(cables.names[cable] for cable in kept),
        nodes=cables.nodes[every],
        arms=cables.arms[every],
        first=first,
        cable_of_point=np.repeat(np.arange(len(kept)), count),
        segments=np.concatenate([*segments, np.zeros((0, 2), dtype=int)]).astype(int),
        cable_of_segment=np.repeat(np.arange(len(kept)), np.maximum(count - 1, 0)),
        EA=cables.EA[kept],
        pretension=cables.pretension[kept],
        expansion=cables.expansion[kept],
    )
    loads = given.loads.only(case)
    loads = replace(loads, cable_temperature_change=loads.cable_temperature_change[:, kept])
    return LoadedFrame(replace(given.frame, cables=some), loads)


@law(1e-9)
def loads_superpose_while_no_cable_slackens(seed):
    """While every cable stays taut, what a sum of loads adds to the frame under pretension alone is the sum of what each
    adds; it no longer is once one slackens.
    """
    given, _ = cabled(seed, pretension=1e5)
    rest = solve(given.frame, Loads.zeros(given.frame, "at rest")).displacement
    factors = np.array([[1.0, -0.5, 0.25]])
    separate = solved(given)
    together = solve(given.frame, given.loads.combined(factors, ("sum",)))
    wanted = np.tensordot(factors, separate.displacement - rest, 1)
    taut = differ(together.displacement - rest, wanted) + np.any(separate.slack)
    loose, _ = cabled(seed)
    there, back = (
        solve(loose.frame, loose.loads),
        solve(loose.frame, loose.loads.combined(-np.eye(3), ("a", "b", "c"))),
    )
    odd = np.abs(there.displacement + back.displacement).max(axis=(1, 2))
    return taut + np.any((odd < 1e-9) & there.slack.any(axis=1))


@law(1e-8)
def cables_let_rigid_motions_free(seed):
    """Moved rigidly as a whole, a frame with cables keeps its tensions."""
    frame = braced(seed, pretension=2e3)
    loads, rng = Loads.zeros(frame, "moved"), np.random.default_rng(seed)
    move, spin = rng.standard_normal(3) * 1e-2, rng.standard_normal(3) * 1e-2
    loads.support_displacement[0, 0] = np.concatenate([move + np.cross(spin, frame.nodes[0]), spin])
    rest = solve(frame, Loads.zeros(frame, "at rest"))
    answer = solve(frame, loads)
    rigid = np.concatenate([move + np.cross(spin, frame.nodes), np.tile(spin, (len(frame.nodes), 1))], axis=1)
    return max(
        differ(answer.displacement - rest.displacement, rigid[None]),
        differ(answer.tension, rest.tension),
        differ(answer.tension[0], [2e3, 2e3]),
    )


def braced(seed, pretension=0.0):
    """A random frame fixed at its node "0" alone, with a slipping and a straight cable within it, and springs."""
    rng = np.random.default_rng(seed)
    builder = FrameBuilder()
    for number in range(4):
        builder.node(
            str(number),
            np.array([(0, 0, 0), (2, 0, 0), (2, 2, 0), (0, 2, 1)])[number] + rng.uniform(-0.4, 0.4, 3),
        )
    for name in ("01", "12", "23", "13"):
        builder.beam(
            name, name, random_stiffness(rng), rng.standard_normal(3), 2, random_end(rng), random_end(rng)
        )
    builder.spring("3", "1", 10 ** rng.uniform(4, 6, 6))
    builder.cable("over", ["0", "2", "3"], 1e6, pretension, arms=rng.uniform(-0.3, 0.3, (3, 3)))
    builder.cable("across", ["3", "1"], 2e6, pretension)
    builder.support("0", ALL)
    return builder.build()


@law(1e-9)
def turning_keeps_tensions(seed):
    """A structure turned in space has the same tensions."""
    given, _ = cabled(seed, pretension=300.0, turnable=True)
    R = turn(np.random.default_rng(seed))
    return differ(solved(turned_with_cables(given, R)).tension, solved(given).tension)


@law(1e-12)
def a_gripped_cable_is_a_cable_per_segment(seed):
    """A cable gripped along its path is one cable for each of its segments; one that slips is not."""
    rng = np.random.default_rng(seed)
    load, EA = rng.standard_normal((5, 6)) * 1e3, 10 ** rng.uniform(5, 7)
    answers = []
    for kind in ("gripped", "each", "slips"):
        frame = _chained(seed, kind, EA)
        loads = Loads.zeros(frame, "load")
        loads.nodal[0, :3] = load[:3]
        answers.append(solve(frame, loads))
    gripped, each, slips = answers
    apart = np.abs(slips.displacement - each.displacement).max() > 1e-9 * np.abs(each.displacement).max()
    same = (
        differ(gripped.displacement, each.displacement) + np.abs(gripped.tension - each.tension).max() / 1e6
    )
    return same + (not apart)


def _chained(seed, kind, EA):
    rng = np.random.default_rng(seed)
    builder = FrameBuilder()
    for number, x in enumerate((0.0, 2.0, 4.0)):
        builder.node(str(number), (x, *rng.uniform(-0.3, 0.3, 2)))
    for name, z in (("a", -1.0), ("b", -1.5)):
        builder.node(name, (2.0 if name == "a" else 5.0, 0.5, z))
        builder.support(name, ALL)
    builder.beam("beam", ["0", "1", "2"], random_stiffness(rng))
    builder.support("0", ALL)
    path = ["a", "1", "2", "b"]
    if kind == "each":
        for number in range(3):
            builder.cable(f"{number}", path[number : number + 2], EA, 1e5)
    else:
        builder.cable("whole", path, EA, 1e5, gripped=kind == "gripped")
    return builder.build()


@law(1e-9)
def the_potential_is_least(seed):
    """No movement near the answer has a lower potential: energy of frame and taut cables less the work of the
    loads.
    """
    given, paths = cabled(seed, count=1 + seed % 5, pretension=(0.0, 300.0)[seed % 2], moved=False)
    given.loads.line[:] = 0
    answer, judge, rng = solved(given), ForceMethod.of(given, paths), np.random.default_rng(seed)
    pull, worst = pulls(given.frame, paths)[0], 0.0
    for case in range(3):
        load = given.loads.nodal[case]
        # movements of the bare frame under forces along the loads and the cables, whose energy is known from work
        forces = np.concatenate([load[None], pull])
        moves = np.concatenate([judge.free[[case]], judge.unit])
        energy = np.einsum("ani,bni->ab", forces, moves)

        def potential(by, case=case, energy=energy, moves=moves, load=load):
            u = np.tensordot(by, moves, 1)
            stretch = -np.einsum("kni,ni->k", pull, u)
            t = np.maximum(judge.drawn[case] + judge.k * stretch, 0)
            return by @ energy @ by / 2 + (t**2 / judge.k).sum() / 2 - (load * u).sum()

        best = np.concatenate([[1.0], answer.tension[case]])
        size = 1e-2 * (1 + np.abs(best))
        least = potential(best)
        others = [potential(best + size * rng.standard_normal(len(best))) for _ in range(30)]
        worst = max(worst, (least - min(others)) / abs(energy[0, 0]))
    return worst
