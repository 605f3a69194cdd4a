"""A load case as arrays on a front end's frame: the one way from a case to what is solved."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from cases.loads.base import LoadCase, MemberLoad, PlaceLoad
from femcore.base.arrays import FloatArray, IntArray
from femcore.frame.frame import Frame
from femcore.frame.stretches import Stretches, along_elements
from models.response.front_end import FrontEnd
from models.response.load_path import LoadComponent


@dataclass(frozen=True, slots=True, eq=False)
class CaseArrays:
    """The loads of one case.

    nodal     : (n, 6), N and N·m, global axes
    line      : (m, 3), N/m, beam axes, uniform along whole elements;   stretches : what else acts along them, one case
    temperature_change : (m,), K, of elements;   cable_temperature_change : (k,), K, of cables
    """

    nodal: FloatArray
    line: FloatArray
    stretches: Stretches
    temperature_change: FloatArray
    cable_temperature_change: FloatArray


def case_arrays(front: FrontEnd, case: LoadCase) -> CaseArrays:
    """Everything that a case puts on the frame; the case is one that `expand` gave."""
    frame = front.frame
    line, stretches = np.zeros((len(frame.ends), 3)), [Stretches.none()]
    for load in case.all_member_loads():
        along = _AlongMember.of(frame, load)
        line[along.elements] += along.line
        stretches.append(along.stretches)
    for member, acceleration in _accelerations(frame, case):
        elements = frame.members[member].elements
        line[elements] += frame.line_mass[elements, None] * (frame.axes[elements] @ acceleration)
    temperature_changes = case.temperature_changes()
    temperature_change = np.zeros(len(frame.ends))
    for member, run in frame.members.items():
        temperature_change[run.elements] = case.scale * temperature_changes.get(member, 0.0)
    cable_temperature_change = case.scale * np.array(
        [temperature_changes.get(name, 0.0) for name in frame.cables.names]
    )
    nodal = nodal_loads(front, case.all_place_loads())
    return CaseArrays(nodal, line, Stretches.summed(stretches), temperature_change, cable_temperature_change)


def components(front: FrontEnd, case: LoadCase) -> list[LoadComponent]:
    """The loads of a case on the frame, by name: loads at places, along members, and of each member's mass."""
    found: dict[str, LoadComponent] = {}
    acting = (
        *_place_components(front, case),
        *_member_components(front, case),
        *_weight_components(front, case),
    )
    for one in (one for one in acting if one.nodal.any() or one.acts_along_beams):
        before = found.get(one.name)
        found[one.name] = one if before is None else _merged(before, one)
    return list(found.values())


def _merged(one: LoadComponent, other: LoadComponent) -> LoadComponent:
    """Two of a name as one; what acts at the same points is added up there."""
    nodal, line = one.nodal + other.nodal, one.line + other.line
    stretches = Stretches.summed([one.stretches, other.stretches])
    if one.at.shape == other.at.shape and np.allclose(one.at, other.at, rtol=0, atol=1e-9):
        return LoadComponent(one.name, nodal, line, one.at, one.force + other.force, stretches)
    both = np.concatenate([one.at, other.at]), np.concatenate([one.force, other.force])
    return LoadComponent(one.name, nodal, line, *both, stretches)


def _place_components(front: FrontEnd, case: LoadCase) -> Iterator[LoadComponent]:
    line = np.zeros((len(front.frame.ends), 3))
    for load in case.all_place_loads():
        at, force = front.position(load.place)[None], np.array([load.force])
        yield LoadComponent(load.name or load.place, nodal_loads(front, [load]), line, at, force)


@dataclass(frozen=True, slots=True, eq=False)
class _AlongMember:
    """A load along a member, on its elements (e,).

    acting : (e, 2, 3), N/m, boat axes, at `begin` and `end` (e,), fractions of each element
    line   : (e, 3), N/m, beam axes, on whole elements;   stretches : all the rest
    """

    elements: IntArray
    begin: FloatArray
    end: FloatArray
    acting: FloatArray
    line: FloatArray
    stretches: Stretches

    @classmethod
    def of(cls, frame: Frame, load: MemberLoad) -> _AlongMember:
        elements, begin, end = loaded_interval(frame, load)
        acting = _acting(frame, load, elements, begin, end)
        line, stretches = along_elements(frame.axes[elements], elements, begin, end, acting, load.arm)
        return cls(elements, begin, end, acting, line, stretches)


def _member_components(front: FrontEnd, case: LoadCase) -> Iterator[LoadComponent]:
    frame = front.frame
    for load in case.all_member_loads():
        nodal, line = np.zeros((len(frame.nodes), 6)), np.zeros((len(frame.ends), 3))
        along = _AlongMember.of(frame, load)
        elements, begin, end = along.elements, along.begin, along.end
        line[elements] = along.line
        ends = frame.end_points[elements]
        place = _resultant_place(along.acting, begin, end)[:, None]
        at = ends[:, 0] + (ends[:, 1] - ends[:, 0]) * place + load.arm
        force = along.acting.mean(axis=1) * (frame.length[elements] * (end - begin))[:, None]
        covered = end > begin
        yield LoadComponent(
            load.name or load.member, nodal, line, at[covered], force[covered], along.stretches
        )


def _weight_components(front: FrontEnd, case: LoadCase) -> Iterator[LoadComponent]:
    frame = front.frame
    for member, acceleration in _accelerations(frame, case):
        elements = frame.members[member].elements
        mass, line = frame.line_mass[elements], np.zeros((len(frame.ends), 3))
        line[elements] = mass[:, None] * (frame.axes[elements] @ acceleration)
        force = (mass * frame.length[elements])[:, None] * acceleration
        at = frame.end_points[elements].mean(axis=1)
        yield LoadComponent(case.weight_label(member), np.zeros((len(frame.nodes), 6)), line, at, force)


def _accelerations(frame: Frame, case: LoadCase) -> Iterator[tuple[str, FloatArray]]:
    """Each member with mass that the case accelerates, m/s², boat axes (point masses stand in no front end)."""
    for member, run in frame.members.items():
        acceleration = case.scale * np.array(case.member_acceleration(member))
        if acceleration.any() and frame.line_mass[run.elements].any():
            yield member, acceleration


def nodal_loads(front: FrontEnd, loads: Iterable[PlaceLoad]) -> FloatArray:
    """(n, 6), N and N·m: loads at places as forces and moments on the frame's nodes."""
    nodal = np.zeros((len(front.frame.nodes), 6))
    for load in loads:
        place = front.places[load.place]
        force = np.array(load.force)
        nodal[front.frame.node_index[place.node]] += (
            *force,
            *(np.array(load.moment) + np.cross(place.arm, force)),
        )
    return nodal


def loaded_interval(frame: Frame, load: MemberLoad) -> tuple[IntArray, FloatArray, FloatArray]:
    """Elements (e,) of the load's member, and where on each it begins and ends (e,), as fractions."""
    elements = np.arange(len(frame.ends))[frame.members[load.member].elements]
    ends = frame.end_points[elements]
    axis = int(np.abs(ends[-1, 1] - ends[0, 0]).argmax())
    first, last = ends[:, 0, axis], ends[:, 1, axis]
    limits = [-np.inf if load.begin is None else load.begin, np.inf if load.end is None else load.end]
    cuts = np.sort([(limit - first) / (last - first) for limit in limits], axis=0)
    begin, end = np.clip(cuts, 0.0, 1.0)
    return elements, begin, end


def _acting(
    frame: Frame, load: MemberLoad, elements: IntArray, begin: FloatArray, end: FloatArray
) -> FloatArray:
    """(e, 2, 3), N/m, boat axes: what acts at `begin` and at `end` of each element, linear along the stretch as entered."""
    first = np.array(load.force)
    if load.end_force is None:
        return np.tile(first, (len(elements), 2, 1))
    ends = frame.end_points[elements]
    axis = int(np.abs(ends[-1, 1] - ends[0, 0]).argmax())
    low, high = ends[..., axis].min(), ends[..., axis].max()
    low, high = low if load.begin is None else load.begin, high if load.end is None else load.end
    at = ends[:, :1, axis] + (ends[:, 1:, axis] - ends[:, :1, axis]) * np.column_stack([begin, end])
    share = (at - low) / (high - low)
    return np.asarray(first + share[..., None] * (np.array(load.end_force) - first))


def _resultant_place(acting: FloatArray, begin: FloatArray, end: FloatArray) -> FloatArray:
    """(e,), fractions of the elements: where the resultants of trapezia from `begin` to `end` are."""
    near, far = np.moveaxis(np.linalg.norm(acting, axis=2), 1, 0)
    both = np.where(near + far > 0, near + far, 1.0)
    return np.asarray(begin + (end - begin) * np.where(near + far > 0, (near + 2 * far) / (3 * both), 0.5))
