"""Load cases as arrays on a front end's frame: the one way from cases to what is solved."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from cases.loads.base import LoadCase, MemberLoad, PlaceLoad
from femcore.base.arrays import FloatArray, IntArray
from femcore.base.vectors import cross
from femcore.frame.frame import Frame, Loads
from femcore.frame.stretches import Stretches, along_elements
from models.response.front_end import FrontEnd
from models.response.load_path import LoadComponent


def case_loads(front: FrontEnd, cases: Sequence[LoadCase]) -> Loads:
    """Everything that cases put on the frame; they are ones that `expand` gave."""
    frame, loads = front.frame, Loads.zeros(front.frame, *(case.name for case in cases))
    along = [case.all_member_loads() for case in cases]
    of_case = np.repeat(np.arange(len(cases)), [len(some) for some in along])
    laid = _AlongMembers.of(frame, [load for some in along for load in some])
    line, stretches = laid.on_elements(frame, of_case, len(cases))
    loads.line[:] = line
    for number, case in enumerate(cases):
        for member, acceleration in _accelerations(frame, case):
            elements = frame.members[member].elements
            loads.line[number, elements] += _of_mass(frame, member, acceleration)
        changes = case.temperature_changes()
        for member, run in frame.members.items():
            loads.temperature_change[number, run.elements] = case.scale * changes.get(member, 0.0)
        loads.cable_temperature_change[number] = case.scale * np.array(
            [changes.get(name, 0.0) for name in frame.cables.names]
        )
        loads.nodal[number] = nodal_loads(front, case.all_place_loads())
    return replace(loads, stretches=stretches)


def components(front: FrontEnd, case: LoadCase) -> list[LoadComponent]:
    """The loads of a case on the frame, by name: loads at places, along members, and of each member's mass."""
    found: dict[str, list[LoadComponent]] = {}
    acting = (
        *_place_components(front, case),
        *_member_components(front, case),
        *_weight_components(front, case),
    )
    for one in (one for one in acting if one.nodal.any() or one.acts_along_beams):
        found.setdefault(one.name, []).append(one)
    return [_merged(several) for several in found.values()]


def _merged(several: Sequence[LoadComponent]) -> LoadComponent:
    """Those of a name as one; what acts at the same points is added up there."""
    first, *rest = several
    if not rest:
        return first
    at, force = first.at, first.force
    for one in rest:
        if at.shape == one.at.shape and np.allclose(at, one.at, rtol=0, atol=1e-9):
            force = force + one.force
        else:
            at, force = np.concatenate([at, one.at]), np.concatenate([force, one.force])
    return LoadComponent(
        first.name,
        np.sum([one.nodal for one in several], axis=0),
        np.sum([one.line for one in several], axis=0),
        at,
        force,
        Stretches.summed([one.stretches for one in several]),
    )


def _place_components(front: FrontEnd, case: LoadCase) -> Iterator[LoadComponent]:
    line = np.zeros((len(front.frame.ends), 3))
    for load in case.all_place_loads():
        at, force = front.position(load.place)[None], np.array([load.force])
        yield LoadComponent(load.name or load.place, nodal_loads(front, [load]), line, at, force)


@dataclass(frozen=True, slots=True, eq=False)
class _AlongMembers:
    """Loads along members on the elements of these: a row for each element that each load acts on.

    load, element : (p,), their numbers;   begin, end : (p,), fractions of the element, begin < end
    acting : (p, 2, 3), N/m, boat axes, at `begin` and `end`;   arm : (p, 3), m, boat axes
    """

    load: IntArray
    element: IntArray
    begin: FloatArray
    end: FloatArray
    acting: FloatArray
    arm: FloatArray

    @classmethod
    def of(cls, frame: Frame, loads: Sequence[MemberLoad]) -> _AlongMembers:
        """Loads on members that the frame has; linear along the stretch as entered."""
        runs = [frame.members[load.member] for load in loads]
        first, count = (np.array([*of], dtype=np.int64) for of in (
            (run.first for run in runs), (run.last - run.first for run in runs)
        ))  # fmt: skip
        load = np.repeat(np.arange(len(loads)), count)
        element = first[load] + np.arange(len(load)) - (np.cumsum(count) - count)[load]
        ends = frame.end_points
        # the axis that a member mostly follows
        axis = np.abs(ends[first + count - 1, 1] - ends[first, 0]).argmax(axis=1)
        own = np.take_along_axis(ends[element], axis[load, None, None], axis=2)[..., 0]
        limits = np.array([
            [-np.inf if one.begin is None else one.begin, np.inf if one.end is None else one.end] for one in loads
        ]).reshape(-1, 2)  # fmt: skip
        length = own[:, 1] - own[:, 0]
        begin, end = np.clip(np.sort((limits[load] - own[:, :1]) / length[:, None], axis=1), 0.0, 1.0).T
        lowest, highest = np.full(len(loads), np.inf), np.full(len(loads), -np.inf)
        np.minimum.at(lowest, load, own.min(axis=1))
        np.maximum.at(highest, load, own.max(axis=1))
        low = np.where(np.isinf(limits[:, 0]), lowest, limits[:, 0])
        high = np.where(np.isinf(limits[:, 1]), highest, limits[:, 1])
        met = end > begin
        load, element, begin, end, own, length = (
            one[met] for one in (load, element, begin, end, own, length)
        )
        at = own[:, :1] + length[:, None] * np.column_stack([begin, end])
        share = (at - low[load, None]) / (high - low)[load, None]
        force = np.array([one.force for one in loads]).reshape(-1, 3)
        last = np.array([one.force if one.end_force is None else one.end_force for one in loads]).reshape(
            -1, 3
        )
        acting = force[load, None] + share[..., None] * (last - force)[load, None]
        arm = np.array([one.arm for one in loads]).reshape(-1, 3)[load]
        return cls(load, element, begin, end, acting, arm)

    def on_elements(self, frame: Frame, case: IntArray, cases: int) -> tuple[FloatArray, Stretches]:
        """(cases, m, 3), N/m, beam axes, on whole elements, and all the rest; `case`: (l,), of each load."""
        own = case[self.load]
        uniform, stretches = along_elements(
            frame.axes[self.element], self.element, self.begin, self.end, self.acting, self.arm[:, None], own, cases
        )  # fmt: skip
        line = np.zeros((cases, len(frame.ends), 3))
        np.add.at(line, (own, self.element), uniform)
        return line, stretches


def _member_components(front: FrontEnd, case: LoadCase) -> Iterator[LoadComponent]:
    frame, loads = front.frame, case.all_member_loads()
    laid = _AlongMembers.of(frame, loads)
    line, stretches = laid.on_elements(frame, np.arange(len(loads)), len(loads))
    ends = frame.end_points[laid.element]
    place = _resultant_place(laid.acting, laid.begin, laid.end)[:, None]
    at = ends[:, 0] + (ends[:, 1] - ends[:, 0]) * place + laid.arm
    force = laid.acting.mean(axis=1) * (frame.length[laid.element] * (laid.end - laid.begin))[:, None]
    for number, load in enumerate(loads):
        own = laid.load == number
        yield LoadComponent(
            load.name or load.member, np.zeros((len(frame.nodes), 6)), line[number], at[own], force[own],
            stretches.acting_in(number),
        )  # fmt: skip


def _weight_components(front: FrontEnd, case: LoadCase) -> Iterator[LoadComponent]:
    frame = front.frame
    for member, acceleration in _accelerations(frame, case):
        elements = frame.members[member].elements
        mass, line = frame.line_mass[elements], np.zeros((len(frame.ends), 3))
        line[elements] = _of_mass(frame, member, acceleration)
        force = (mass * frame.length[elements])[:, None] * acceleration
        at = frame.end_points[elements].mean(axis=1)
        yield LoadComponent(case.weight_label(member), np.zeros((len(frame.nodes), 6)), line, at, force)


def _accelerations(frame: Frame, case: LoadCase) -> Iterator[tuple[str, FloatArray]]:
    """Each member with mass that the case accelerates, m/s², boat axes (point masses stand in no front end)."""
    for member, run in frame.members.items():
        acceleration = case.scale * np.array(case.member_acceleration(member))
        if acceleration.any() and frame.line_mass[run.elements].any():
            yield member, acceleration


def _of_mass(frame: Frame, member: str, acceleration: FloatArray) -> FloatArray:
    """(e, 3), N/m, beam axes: what an acceleration, m/s², boat axes, puts on each element of a member."""
    elements = frame.members[member].elements
    return np.asarray(frame.line_mass[elements, None] * (frame.axes[elements] @ acceleration))


def nodal_loads(front: FrontEnd, loads: Iterable[PlaceLoad]) -> FloatArray:
    """(n, 6), N and N·m: loads at places as forces and moments on the frame's nodes."""
    nodal = np.zeros((len(front.frame.nodes), 6))
    for load in loads:
        place = front.places[load.place]
        force = np.array(load.force)
        nodal[front.frame.node_index[place.node]] += (
            *force,
            *(np.array(load.moment) + cross(np.array(place.arm), force)),
        )
    return nodal


def _resultant_place(acting: FloatArray, begin: FloatArray, end: FloatArray) -> FloatArray:
    """(e,), fractions of the elements: where the resultants of trapezia from `begin` to `end` are."""
    near, far = np.moveaxis(np.linalg.norm(acting, axis=2), 1, 0)
    both = np.where(near + far > 0, near + far, 1.0)
    return np.asarray(begin + (end - begin) * np.where(near + far > 0, (near + 2 * far) / (3 * both), 0.5))
