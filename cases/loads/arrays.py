"""A load case as arrays on a front end's frame: the one way from a case to what is solved."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from cases.loads.base import LoadCase, MemberLoad, PlaceLoad
from femcore.base.arrays import BoolArray, FloatArray, IntArray
from femcore.frame.frame import Frame
from models.response.front_end import FrontEnd
from models.response.load_path import LoadComponent


@dataclass(frozen=True, slots=True, eq=False)
class CaseArrays:
    """The loads of one case.

    nodal       : (n, 6), N and N·m, global axes
    line        : (m, 3), N/m, beam axes
    warm        : (m,), K, of elements;   warm_cables : (k,), K, of cables
    """

    nodal: FloatArray
    line: FloatArray
    temperature_change: FloatArray
    cable_temperature_change: FloatArray


def case_arrays(front: FrontEnd, case: LoadCase) -> CaseArrays:
    """Everything that a case puts on the frame; the case is one that `expand` gave."""
    frame = front.frame
    nodal, line = np.zeros((len(frame.nodes), 6)), np.zeros((len(frame.ends), 3))
    for component in components(front, case):
        nodal += component.nodal
        line += component.line
    temperature_changes = case.temperature_changes()
    temperature_change = np.zeros(len(frame.ends))
    for member, run in frame.members.items():
        temperature_change[run.elements] = case.scale * temperature_changes.get(member, 0.0)
    cable_temperature_change = case.scale * np.array(
        [temperature_changes.get(name, 0.0) for name in frame.cables.names]
    )
    return CaseArrays(nodal, line, temperature_change, cable_temperature_change)


def components(front: FrontEnd, case: LoadCase) -> list[LoadComponent]:
    """The loads of a case on the frame, by name: loads at places, along members, and of each member's mass."""
    found: dict[str, LoadComponent] = {}
    acting = (
        *_place_components(front, case),
        *_member_components(front, case),
        *_weight_components(front, case),
    )
    for one in (one for one in acting if one.nodal.any() or one.line.any()):
        before = found.get(one.name)
        found[one.name] = one if before is None else _merged(before, one)
    return list(found.values())


def _merged(one: LoadComponent, other: LoadComponent) -> LoadComponent:
    """Two of a name as one; what acts at the same points is added up there."""
    nodal, line = one.nodal + other.nodal, one.line + other.line
    if one.at.shape == other.at.shape and np.allclose(one.at, other.at, rtol=0, atol=1e-9):
        return LoadComponent(one.name, nodal, line, one.at, one.force + other.force)
    both = np.concatenate([one.at, other.at]), np.concatenate([one.force, other.force])
    return LoadComponent(one.name, nodal, line, *both)


def _place_components(front: FrontEnd, case: LoadCase) -> Iterator[LoadComponent]:
    line = np.zeros((len(front.frame.ends), 3))
    for load in case.all_place_loads():
        at, force = front.position(load.place)[None], np.array([load.force])
        yield LoadComponent(load.name or load.place, nodal_loads(front, [load]), line, at, force)


def _member_components(front: FrontEnd, case: LoadCase) -> Iterator[LoadComponent]:
    frame = front.frame
    for load in case.all_member_loads():
        nodal, line = np.zeros((len(frame.nodes), 6)), np.zeros((len(frame.ends), 3))
        _add_line(frame, load, nodal, line)
        elements, begin, end = loaded_interval(frame, load)
        ends, middle = frame.end_points[elements], ((begin + end) / 2)[:, None]
        at = ends[:, 0] + (ends[:, 1] - ends[:, 0]) * middle + load.arm
        force = np.array(load.force) * (frame.length[elements] * (end - begin))[:, None]
        covered = end > begin
        yield LoadComponent(load.name or load.member, nodal, line, at[covered], force[covered])


def _weight_components(front: FrontEnd, case: LoadCase) -> Iterator[LoadComponent]:
    """The mass of each member under what the case says that it feels (point masses stand in no front end)."""
    frame = front.frame
    for member, run in frame.members.items():
        member_acceleration, mass = (
            case.scale * np.array(case.member_acceleration(member)),
            frame.line_mass[run.elements],
        )
        if member_acceleration.any() and mass.any():
            line = np.zeros((len(frame.ends), 3))
            line[run.elements] = mass[:, None] * (frame.axes[run.elements] @ member_acceleration)
            force = (mass * frame.length[run.elements])[:, None] * member_acceleration
            at = frame.end_points[run.elements].mean(axis=1)
            yield LoadComponent(case.weight_label(member), np.zeros((len(frame.nodes), 6)), line, at, force)


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


def _add_line(frame: Frame, load: MemberLoad, nodal: FloatArray, line: FloatArray) -> None:
    """Elements covered whole take the load exactly; one covered in part takes as much, evenly, and a couple.

    The couple makes it statically equal to the stretch, so that two stretches are together the whole; where
    the stretch ends at a node nothing is approximate. That couple, and the moment that an arm makes, act
    where an element is one piece with its node: what acts on a member passes its joints, never by them.
    Between two hinges the couple is one of forces.
    """
    elements, begin, end = loaded_interval(frame, load)
    covered = (end - begin)[:, None]
    force, ends = np.array(load.force), frame.end_points[elements]
    line[elements] += (frame.axes[elements] @ force) * covered
    resultant = force * frame.length[elements, None] * covered
    eccentricity = ((begin + end) / 2 - 0.5)[:, None]
    moment_connected, shares = _moment_shares(frame, elements)
    couple = np.cross((ends[:, 1] - ends[:, 0]) * eccentricity, resultant)
    moment = np.cross(np.array(load.arm), resultant) + np.where(moment_connected, couple, 0.0)
    for side, sign in ((0, -1), (1, 1)):
        nodes = frame.ends[elements, side]
        couple_force = np.where(moment_connected, 0.0, sign * resultant * eccentricity)
        nodal_moment = moment * shares[:, side, None] + np.cross(
            ends[:, side] - frame.nodes[nodes], couple_force
        )
        np.add.at(nodal, nodes, np.concatenate([couple_force, nodal_moment], axis=1))


def _moment_shares(frame: Frame, elements: IntArray) -> tuple[BoolArray, FloatArray]:
    """Which elements (e, 1) are one piece with a node, and the part (e, 2) of a moment each end passes on."""
    fixed = np.isinf(frame.end_springs[elements].reshape(-1, 2, 6)).all(axis=2)
    one = fixed.sum(axis=1, keepdims=True) == 1
    return np.any(fixed, axis=1)[:, None], np.where(one, fixed, 0.5)
