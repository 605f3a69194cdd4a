"""Boats for tests: a plain one of round numbers, to be worked by hand, and those that the house hands out.

All numbers are in SI. The plain boat's crossbeam stands on the bows' own axis unless it is raised.
"""

from collections.abc import Iterable
from functools import cache
from pathlib import Path

import numpy as np

from cases.input.boat_file import BoatFile, read_boat_file
from cases.loads import PlaceLoad, nodal_loads
from femcore.frame.frame import Loads
from femcore.solvers.solution import solve
from models.boat.boat import Boat
from models.joints import JointStiffness
from models.response.front_end import build
from models.response.joint_loads import joint_loads

ROOT = Path(__file__).resolve().parents[2]
FILES = {
    path.stem: path
    for path in (*sorted((ROOT / "cases/boats").glob("*.toml")), ROOT / "cases/input/new_boat.toml")
}
"""Every boat file of the house, by its name."""

BOW = {"EI_vertical": 40e6, "EI_lateral": 25e6, "GJ": 6e6, "EA": 300e6}
BEAM = {"EI_vertical": 1.0e6, "EI_lateral": 0.8e6, "GJ": 0.6e6, "EA": 200e6}
STRUT = {"height": 0.7, "base": 0.1, "EA": 60e6, "EI": 20e3}
MARTINGALE_STAYS = {"EA": 20e6, "half_span": 2.2, "height": 0.1}
TAUT = MARTINGALE_STAYS | {"pretension": 5e3}
"""Stays that no racking of these tests slackens."""
LONGERON = {
    "EI_vertical": 0.3e6,
    "EI_lateral": 0.3e6,
    "GJ": 0.15e6,
    "EA": 110e6,
    "height_at_root": 0.8,
    "prod": 0.0,
    "at_root": "pinned",
    "at_crossbeam": "rigid",
}
MIRROR = np.array([1.0, -1.0, 1.0, -1.0, 1.0, -1.0])
"""A force and a moment as seen in the mirror of the centreline."""

LINEAR, ANGULAR = ("surge", "sway", "heave"), ("roll", "pitch", "yaw")
UNITS = {
    **dict.fromkeys(("EI", "EI_vertical", "EI_lateral", "GJ"), "N*m**2"),
    **dict.fromkeys(("EA", "GA_vertical", "GA_lateral"), "N"),
    **dict.fromkeys(LINEAR, "N/m"),
    **dict.fromkeys(ANGULAR, "N*m/rad"),
    "mass": "kg/m",
    "pretension": "N",
    "expansion": "1/K",
}


def text(table):
    """A table of numbers as a file would write it; what is not a number stays."""
    return {
        key: f"{float(value)!r} {UNITS.get(key, 'm')}" if isinstance(value, int | float) else value
        for key, value in table.items()
    }


def validated(model, raw):
    """A boat of a file's tables, not yet checked against one another."""
    return model.model_validate(raw, context=model.context(raw))


def tables(
    *,
    length=4.0,
    station=None,
    height=0.0,
    inboard=0.0,
    bow=None,
    tip=None,
    root=None,
    platform=None,
    beam=None,
    **parts,
):
    """Tables of a boat 6 m between centrelines, the beam at the stem or at `station`, raised by `height`.

    bow, beam : what differs from BOW and BEAM;   tip : and at the stem alone
    root      : springs;   platform : in their place;   parts : tables of striker, martingale, stay, longeron
    """
    bow, tip = BOW | (bow or {}), tip or {}
    station = length if station is None else station
    stations = [text({"at": 0.0} | bow), text({"at": length} | bow | tip)]
    return {
        "title": "plain",
        "bows": text({"spacing": 6.0, "inboard": inboard, "height": 0.5}) | {"stations": stations},
        **({"root": text(root or {})} if platform is None else {"platform": platform}),
        "crossbeam": text({"station": station, "height": 0.5 + height} | BEAM | (beam or {})),
        "joints": [{"name": "rigid", "kind": "rigid"}],
        **{name: text(table) for name, table in parts.items()},
    }


def plain(**keys):
    """The boat of `tables`."""
    return validated(Boat, tables(**keys))


def boat_file_of(joints, cases, **keys):
    """The boat of `tables` as a boat file, with joints and cases as a file gives them."""
    return validated(BoatFile, tables(**keys) | {"joints": joints, "cases": cases})


def springs(*free, **given):
    """A joint in boat axes, SI: rigid but for the springs that are given and what is free."""
    values = [0.0 if word in free else given.get(word, np.inf) for word in LINEAR + ANGULAR]
    return JointStiffness.in_boat_axes(values)


def load(place, force=(0.0, 0.0, 0.0), moment=(0.0, 0.0, 0.0)):
    """A load at a named place, N and N·m."""
    return PlaceLoad(place=place, force=force, moment=moment)


def racking(force):
    """Up at the port stem, down at the starboard one."""
    return [load("port stem", (0.0, 0.0, force)), load("starboard stem", (0.0, 0.0, -force))]


def solved(boat, joint, *cases: Iterable[PlaceLoad], refine=1, bent=False):
    """The front end joined so, and its solution for cases that are lists of loads, in the deformed shape where `bent`."""
    front = build(boat, joint, refine)
    loads = Loads.zeros(front.frame, *(f"case {number}" for number in range(len(cases))))
    for number, case in enumerate(cases):
        loads.nodal[number] = nodal_loads(front, case)
    return front, solve(front.frame, loads, bent)


def joint_loads_on_hulls(boat, joint, *cases, bent=False):
    """(c, 2, 6), what the crossbeam puts on the hulls, port and starboard."""
    return joint_loads(solved(boat, joint, *cases, bent=bent)[1])


@cache
def example_boat(name) -> BoatFile:
    """A boat file of the house."""
    return read_boat_file(FILES[name])
