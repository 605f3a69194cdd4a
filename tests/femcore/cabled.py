"""Frames with cables that several tests share, and the force method by which cables are judged.

The force method knows nothing of the solver's cables: the frame without them is solved under unit pulls along
each path, and the tensions follow from compatibility, every set of slack cables being tried in turn.
"""

from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from femcore.frame.frame import Cables, Frame, Loads
from femcore.solvers.solution import solve
from tests.femcore.frames import ALL, LoadedFrame, random_builder, random_loads, turned

ANCHORS = {"a": (-1.0, -2.0, 2.5), "b": (5.5, 1.0, 3.0), "c": (2.0, 4.5, -2.0)}


@dataclass(frozen=True)
class Path:
    """One cable as it was asked for: node names in order, arms (points, 3), EA, pretension."""

    nodes: tuple[str, ...]
    arms: np.ndarray
    EA: float
    pretension: float


def random_paths(rng, count, pretension):
    """Cables between random nodes of `random_builder` and anchors outside it, some over a node, some on arms."""
    found = []
    for number in range(count):
        inside = rng.permutation(["1", "2", "3", "4"])[: 1 + number % 2]
        nodes = (*inside, "abc"[number % 3])
        arms = rng.uniform(-0.3, 0.3, (len(nodes), 3)) * (rng.random((len(nodes), 1)) < 0.5)
        arms[-1] = 0
        force = pretension * rng.uniform(0.5, 1.5)
        found.append(Path(tuple(map(str, nodes)), arms, 10 ** rng.uniform(5.5, 6.5), force))
    return found


def cabled(seed, count=4, pretension=0.0, turnable=False, force=1.0, moved=True):
    """A random frame with every feature and `count` cables, under three cases of loads times `force`."""
    rng = np.random.default_rng(seed)
    builder = random_builder(rng, turnable)
    for name, at in ANCHORS.items():
        builder.node(name, np.array(at) + rng.uniform(-0.3, 0.3, 3))
        builder.support(name, ALL)
    paths = random_paths(rng, count, pretension)
    for number, path in enumerate(paths):
        builder.cable(f"cable {number}", path.nodes, path.EA, path.pretension, arms=path.arms, expansion=1e-5)
    frame = builder.build()
    loads = random_loads(rng, frame, moved)
    loads.cable_temperature_change[:] = rng.uniform(-20, 20, loads.cable_temperature_change.shape)
    return LoadedFrame(frame, loads.combined(force * np.eye(3), loads.names)), paths


def without_cables(given):
    """The same frame and loads, with no cable."""
    loads = replace(given.loads, cable_temperature_change=np.zeros((len(given.loads.names), 0)))
    return LoadedFrame(replace(given.frame, cables=Cables()), loads)


def turned_with_cables(given, R):
    """`turned`, the cables' arms too."""
    other = turned(given, R)
    cables = replace(given.frame.cables, arms=given.frame.cables.arms @ R.T)
    return LoadedFrame(replace(other.frame, cables=cables), other.loads)


def pulls(frame, paths):
    """(k, n, 6), forces and moments on the nodes of a frame under a unit tension of each cable, and its length
    (k,): each segment draws its two ends together.
    """
    force, length = np.zeros((len(paths), len(frame.nodes), 6)), np.zeros(len(paths))
    for number, path in enumerate(paths):
        nodes = [frame.node_index[name] for name in path.nodes]
        at = frame.nodes[nodes] + path.arms
        for i in range(len(nodes) - 1):
            between = at[i + 1] - at[i]
            length[number] += np.linalg.norm(between)
            for point, pull in ((i, between), (i + 1, -between)):
                F = pull / np.linalg.norm(between)
                force[number, nodes[point], :3] += F
                force[number, nodes[point], 3:] += np.cross(path.arms[point], F)
    return force, length


@dataclass(frozen=True)
class ForceMethod:
    """The frame without cables, and its flexibility along them.

    unit     : its solution under a unit tension of each cable;   free : under the loads alone
    soft     : (k, k), m/N, how far cables shorten per tension
    opened   : (c, k), m, elongations under the loads alone
    k        : (k,), N/m;   drawn : (c, k), N, tensions as drawn that leave the pretension at rest, less warmth's
    """

    unit: np.ndarray
    free: np.ndarray
    soft: np.ndarray
    opened: np.ndarray
    k: np.ndarray
    drawn: np.ndarray

    @classmethod
    def of(cls, given, paths):
        """Gather it by two solves of the frame without cables."""
        bare = without_cables(given)
        pull, length = pulls(given.frame, paths)
        frame: Frame = bare.frame
        loads = Loads.zeros(frame, *(f"unit {i}" for i in range(len(paths))))
        loads.nodal[:] = pull
        unit = solve(frame, loads).displacement
        free = solve(frame, bare.loads).displacement
        soft = np.einsum("kni,lni->kl", pull, unit)
        k = np.array([path.EA for path in paths]) / length
        drawn = np.array([path.pretension for path in paths])
        drawn = drawn + k * (soft @ drawn)
        drawn = (
            drawn
            - given.frame.cables.EA * given.frame.cables.expansion * given.loads.cable_temperature_change
        )
        return cls(unit, free, soft, -np.einsum("kni,cni->ck", pull, free), k, drawn)

    def tensions(self, case):
        """(k,), N: the one set of taut cables for which taut ones pull and slack ones would push."""
        found = [t for taut in product((False, True), repeat=len(self.k)) for t in self._with(taut, case)]
        assert len(found) == 1, f"{len(found)} sets of taut cables are in equilibrium"
        return found[0]

    def _with(self, taut, case):
        taut, t = np.array(taut), np.zeros(len(self.k))
        on = np.flatnonzero(taut)
        A = np.diag(1 / self.k[on]) + self.soft[np.ix_(on, on)]
        t[on] = np.linalg.solve(A, self.drawn[case, on] / self.k[on] + self.opened[case, on])
        stretch = self.opened[case] - self.soft @ t
        would = self.drawn[case] + self.k * stretch
        if np.all(t[on] > 0) and np.all(would[~taut] <= 0):
            yield t

    def displacement(self, tensions, case):
        """(n, 6), under the loads and these tensions."""
        return self.free[case] + np.tensordot(tensions, self.unit, 1)
