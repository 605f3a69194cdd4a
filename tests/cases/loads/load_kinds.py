"""What tests of load kinds share: cases as a file gives them, boats, and the resultant of what acts."""

from dataclasses import replace

import numpy as np

from cases.loads import LOAD_CASES, case_loads
from femcore.solvers.solution import resultants, solve
from models.boat.platform import Platform, PlatformMember
from models.response.front_end import build
from tests.models.boats import LONGERON, plain, springs

RIGID = springs()
MIRROR_LOAD = np.array([1.0, -1.0, 1.0, -1.0, 1.0, -1.0])


def case(kind, **keys):
    """A load case of that kind as a file gives it."""
    return LOAD_CASES[kind].model_validate({"name": "one", "kind": kind, **keys})


def boat(**keys):
    """The plain boat with its crossbeam 3 m ahead of the root, 1 m behind the stems, and a hull 1 m wide."""
    return plain(**{"length": 4.0, "station": 3.0, "inboard": 0.5} | keys)


def boat_with_longeron(**keys):
    """The same with a level longeron."""
    return boat(longeron=LONGERON | {"height_at_root": 0.5} | keys)


def boat_for(kind, **keys):
    """The boat with longeron as that kind needs it: waves twist a platform, here of two members."""
    if kind != "waves":
        return boat_with_longeron(**keys)
    deck = {"EI_vertical": 8e6, "EI_lateral": 50e6, "GJ": 1e6, "EA": 900e6, "height": 0.5}
    members = [PlatformMember(name=f"at {x:g}", station=x, **deck) for x in (0.0, -4.0)]
    return boat(longeron=LONGERON | {"height_at_root": 0.5} | keys, platform=Platform(members=members))


def as_loads(front, *cases):
    """All cases as loads on the frame."""
    return case_loads(front, cases)


def acting(front, one, about=(0.0, 0.0, 0.0)):
    """(6,), N and N·m: the resultant force of a case, and its moment about a point."""
    points, loads = resultants(front.frame, as_loads(front, one))
    force, moment = loads[0, :, :3], loads[0, :, 3:]
    arms = points - np.array(about)
    return np.concatenate([force.sum(axis=0), (moment + np.cross(arms, force)).sum(axis=0)])


def answer(on, joint, *cases):
    """The front end joined so, and its solution for cases as given to a boat: each expanded on it."""
    front = build(on, joint)
    return front, solve(front.frame, as_loads(front, *(one for given in cases for one in given.expand(on))))


def expanding(front, coefficient):
    """The front end with the same expansion (1/K) in every member."""
    frame = front.frame
    return replace(front, frame=replace(frame, expansion=np.full(len(frame.ends), coefficient)))
