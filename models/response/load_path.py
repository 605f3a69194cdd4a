"""The load path of a front end as two ledgers that sum to zero: of the crossbeam, and of the whole.

The crossbeam's lists what acts on it, with striker and martingale: what is applied there, and what joints, longeron and prod put
on it. That of the whole has every component of a case's load, and what the bulkhead puts on the roots. Statics is done in the
shape that each case was solved in, all moments about the crossbeam's centre, where it has gone.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Annotated, Literal

import numpy as np
from pydantic import Field

from femcore.base.arrays import BoolArray, FloatArray
from femcore.base.written import named
from femcore.frame.frame import Loads
from femcore.frame.stretches import Stretches
from femcore.results.nodal_forces import beam_forces, line_forces, line_forces_of, positions
from femcore.solvers.solution import Solution
from models.response.front_end import CENTRE, CROSSBEAM, LONGERON, PROD, SIDES, STRIKER, FrontEnd
from models.response.joint_loads import joint_loads, joint_points_and_forces, root_actions

CROSSBEAM_MEMBERS = (CROSSBEAM, STRIKER)
FRONT_END_MEMBERS = (*CROSSBEAM_MEMBERS, PROD)
"""That begin at no root."""
APPLIED_LABEL = "applied to the crossbeam"
HULL_NODES = tuple(f"{side} hull at beam" for side in SIDES)
"""Nodes that the crossbeam's members reach and that are the hulls'."""


@dataclass(frozen=True, slots=True, eq=False)
class PathEntry:
    """One thing that acts on the crossbeam."""

    name: Annotated[str, Field(description="what acts")]
    action: Annotated[
        FloatArray,
        named(6),
        Field(description="Fx Fy Fz N, Mx My Mz N·m about the beam's centre, boat axes"),
    ]


@dataclass(frozen=True, slots=True, eq=False)
class FrontEndEntry(PathEntry):
    """One thing that acts on the front end."""

    role: Annotated[
        Literal["applied", "held"],
        Field(description="a component of the load, or what the bulkhead puts on a root"),
    ]


@dataclass(frozen=True, slots=True, eq=False)
class Ledger:
    """What acts on a part, force and moment about the beam's centre.

    names : what acts;   actions : (rows, 6), N and N·m, boat axes
    """

    names: tuple[str, ...]
    actions: FloatArray

    def __iter__(self) -> Iterator[tuple[str, FloatArray]]:
        """Name and action, row by row."""
        return iter(zip(self.names, self.actions, strict=True))

    @property
    def entries(self) -> list[PathEntry]:
        """As results have them."""
        return [PathEntry(name, action) for name, action in self]

    def entries_of(self, role: Literal["applied", "held"]) -> list[FrontEndEntry]:
        """The same of a ledger of the front end."""
        return [FrontEndEntry(name, action, role) for name, action in self]


@dataclass(frozen=True, slots=True, eq=False)
class LoadComponent:
    """One component of a case's load.

    nodal : (n, 6), N and N·m, boat axes;   line : (m, 3), N/m, beam axes;   stretches : what else acts along beams, one case
    at    : (k, 3), m, where it acts as drawn;   force : (k, 3), N, how much of it there, boat axes
    """

    name: str
    nodal: FloatArray
    line: FloatArray
    at: FloatArray
    force: FloatArray
    stretches: Stretches = field(default_factory=Stretches.none)

    @property
    def acts_along_beams(self) -> bool:
        """Whether any of it acts along a beam."""
        return bool(self.line.any() or self.stretches.load.any())

    def scaled(self, factor: float) -> LoadComponent:
        """So many times as much."""
        return replace(
            self,
            nodal=factor * self.nodal,
            line=factor * self.line,
            force=factor * self.force,
            stretches=replace(self.stretches, load=factor * self.stretches.load),
        )


@dataclass(frozen=True, slots=True, eq=False)
class CrossbeamLoadPath:
    """Everything that acts on the crossbeam (with striker and martingale), force and moment about its centre; sums to 0.

    names : what acts;   entries : (c, rows, 6), N and N·m, boat axes
    """

    names: tuple[str, ...]
    entries: FloatArray

    @property
    def imbalance(self) -> FloatArray:
        """(c, 6), the sum over all rows: 0 but for rounding."""
        return np.asarray(self.entries.sum(axis=1))


@dataclass(frozen=True, slots=True, eq=False)
class FrontEndLoadPath:
    """All that acts on the front end, ahead of its roots, in one case: force and moment about `about`; applied and held sum to 0.

    about        : (3,), m, the crossbeam's centre where the case has moved it
    components   : what is applied, as it was given
    applied      : (k, 6), N and N·m, boat axes, of each component
    on_crossbeam : (k, 6), the part of it that acts on crossbeam and striker
    roots        : names;   held : (r, 6), what the bulkhead puts on the roots
    """

    about: FloatArray
    components: tuple[LoadComponent, ...]
    applied: FloatArray
    on_crossbeam: FloatArray
    roots: tuple[str, ...]
    reactions: FloatArray

    @property
    def names(self) -> tuple[str, ...]:
        """(k,), of the components."""
        return tuple(component.name for component in self.components)

    @property
    def imbalance(self) -> FloatArray:
        """(6,), the sum over all: 0 but for rounding."""
        return np.asarray(self.applied.sum(axis=0) + self.reactions.sum(axis=0))


def crossbeam_load_path(front: FrontEnd, solution: Solution) -> CrossbeamLoadPath:
    """What is applied to the crossbeam and where it leaves, as actions on the crossbeam."""
    frame, places = front.frame, positions(solution)
    centre = places[:, [frame.node_index[CENTRE]]]
    on_beam = _crossbeam_loads(front, solution.loads.nodal, line_forces(solution))
    rows = {APPLIED_LABEL: loads_about(centre, places, on_beam).sum(axis=1)}
    joints, _, _ = joint_points_and_forces(solution)
    on_hull = loads_about(centre, joints, joint_loads(solution))
    for side, name in enumerate(SIDES):
        rows[f"{name} joint"] = -on_hull[:, side]
    on_beams = beam_forces(solution)
    for name, end in ((LONGERON, 1), (PROD, 0)):
        if name in frame.members:
            run = frame.members[name]
            rows[name] = -on_beams[:, run.last - 1 if end else run.first, end]
    return CrossbeamLoadPath(tuple(rows), np.stack(list(rows.values()), axis=1))


def front_end_load_paths(
    front: FrontEnd, solution: Solution, components: Sequence[Sequence[LoadComponent]]
) -> tuple[FrontEndLoadPath, ...]:
    """Of every case: what is applied to the front end, by component, and its reactions; components (c,) are all of its load."""
    frame, at = front.frame, positions(solution)
    centre = at[:, [frame.node_index[CENTRE]]]
    elements, nodes = _ahead_of_roots(front)
    places, held = root_actions(front, solution)
    reactions = loads_about(centre, places, held)
    every = [component for parts in components for component in parts]
    of_case = np.repeat(np.arange(len(components)), [len(parts) for parts in components])
    loads = Loads.zeros(frame, *(component.name for component in every))
    for number, component in enumerate(every):
        loads.nodal[number], loads.line[number] = component.nodal, component.line
    if every:
        loads = replace(loads, stretches=Stretches.stacked([one.stretches for one in every]))
    along = line_forces_of(solution.parts, loads)
    on_beam = _crossbeam_loads(front, loads.nodal, along)
    ahead = np.where(nodes[:, None], loads.nodal, 0.0)
    np.add.at(ahead.swapaxes(0, 1), frame.ends[elements].reshape(-1), _by_element_end(along[:, elements]))
    applied, on_crossbeam = (
        loads_about(centre[of_case], at[of_case], acting).sum(axis=1) for acting in (ahead, on_beam)
    )
    return tuple(
        FrontEndLoadPath(
            about=centre[case, 0],
            components=tuple(parts),
            applied=applied[of_case == case],
            on_crossbeam=on_crossbeam[of_case == case],
            roots=tuple(front.root_members),
            reactions=reactions[case],
        )
        for case, parts in enumerate(components)
    )


def _ahead_of_roots(front: FrontEnd) -> tuple[BoolArray, BoolArray]:
    """(m,) and (n,): elements and nodes whose loads the roots carry: on a platform none aft of them, nor on the roots."""
    frame = front.frame
    elements = np.ones(len(frame.ends), dtype=bool)
    nodes = np.ones(len(frame.nodes), dtype=bool)
    if front.boat.platform is None:
        return elements, nodes
    elements[:] = nodes[:] = False
    for name in (*FRONT_END_MEMBERS, *front.root_members.values()):
        if name in frame.members:
            elements[frame.members[name].elements] = True
    nodes[frame.ends[elements]] = True
    for name in front.root_members.values():
        nodes[frame.ends[frame.members[name].first, 0]] = False
    return elements, nodes


def _crossbeam_loads(front: FrontEnd, nodal: FloatArray, along: FloatArray) -> FloatArray:
    """(c, n, 6), N and N·m: of loads at nodes (c, n, 6) and along elements (c, m, 2, 6), those on crossbeam and striker."""
    frame = front.frame
    elements = np.concatenate(
        [
            np.arange(len(frame.ends))[frame.members[name].elements]
            for name in CROSSBEAM_MEMBERS
            if name in frame.members
        ]
    )
    own = np.isin(np.arange(len(frame.nodes)), frame.ends[elements])
    own[[frame.node_index[name] for name in HULL_NODES]] = False
    result = np.where(own[:, None], nodal, 0.0)
    np.add.at(result.swapaxes(0, 1), frame.ends[elements].reshape(-1), _by_element_end(along[:, elements]))
    return result


def _by_element_end(along: FloatArray) -> FloatArray:
    """(2 e, c, 6), of (c, e, 2, 6)."""
    return along.reshape(len(along), 2 * along.shape[1], 6).swapaxes(0, 1)


def loads_about(centre: FloatArray, at: FloatArray, loads: FloatArray) -> FloatArray:
    """(…, k, 6), loads (…, k, 6) at points (…, k, 3), as forces and moments about `centre` (…, 1, 3)."""
    return np.concatenate([loads[..., :3], loads[..., 3:] + np.cross(at - centre, loads[..., :3])], axis=-1)
