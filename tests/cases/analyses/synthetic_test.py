"""Readings of a boat whose true stiffness is known: the plain boat on two members, standing on three blocks, one bow lifted."""

import copy

import numpy as np

from cases.input.boat_file import BoatFile
from cases.input.boat_test import BoatTestFile
from cases.input.tested_boat import runs
from models.response.boat_on_test import UNKNOWNS
from models.response.front_end import build
from tests.models.boats import tables, validated

MEMBER = {"EI_vertical": "9 MN*m**2", "EI_lateral": "50 MN*m**2", "GJ": "0.2 MN*m**2", "EA": "900 MN"}
PLATFORM = {
    "members": [
        MEMBER | {"name": "fore", "station": "0 m", "height": "0.5 m"},
        MEMBER | {"name": "aft", "station": "-4 m", "height": "0.7 m"},
    ]
}
JOINT = {
    "name": "plates",
    "kind": "sprung",
    "pitch": "300 kN*m/rad",
    "roll": "400 kN*m/rad",
    "yaw": "500 kN*m/rad",
}
RACKING = {"name": "racking", "kind": "racking", "force": "10 kN"}


def gauge(name, kind, place, scatter, **keys):
    """A gauge's table, its scatter in SI."""
    return {"name": name, "kind": kind, "place": place, "scatter": scatter} | keys


GAUGES = [
    gauge("port stem", "height", "port stem", 5e-4),
    gauge("starboard beam", "height", "starboard hull at beam", 5e-4),
    gauge("port bulkhead", "height", "port hull at bulkhead", 5e-4),
    gauge("port hull", "inclination", "port hull at bulkhead", 1e-4),
    gauge("starboard hull", "inclination", "starboard hull at bulkhead", 1e-4),
    gauge("port heel", "inclination", "port hull at bulkhead", 1e-4, axis="roll"),
    gauge("starboard heel", "inclination", "starboard hull at bulkhead", 1e-4, axis="roll"),
    gauge("port twist", "turn", "port", 5e-5),
    gauge("port bend", "turn", "port", 5e-5, axis="roll"),
]
UP_AND_DOWN = (0.0, 2e3, 4e3, 6e3, 4e3, 2e3, 0.0)
"""N, under the port stem."""


def boat(**keys):
    """The boat's file as anybody would have it before the test."""
    raw = tables(**{"platform": PLATFORM, "inboard": 0.4, "station": 3.5, "height": 0.3} | keys)
    raw["bows"]["divide"], raw["crossbeam"]["divide"] = (
        3,
        1,
    )  # coarse and fast: truth and model are alike in it
    return validated(BoatFile, raw | {"joints": [JOINT], "cases": [RACKING]})


def blank(**keys):
    """Tables of a test on it whose gauges all read 0."""
    zero = {one["name"]: 0.0 for one in GAUGES}
    one = {
        "name": "on the hard", "load_scatter": 0.0,
        "supports": [{"place": place} for place in ("starboard stem", "port hull at aft", "starboard hull at aft")],
        "gauges": GAUGES, "steps": [{"up": {"port stem": force}, "readings": zero} for force in UP_AND_DOWN],
    }  # fmt: skip
    return {"title": "synthetic", "joint": "plates", "tests": [one]} | keys


def read(blank_tables, of, truth, seed=0, noise=1.0, front=None):
    """The tables with what their gauges read on a boat with true factors `truth`: arbitrary zeros, noise of their scatter.

    front : in place of that of the boat `of`, where the true boat is another than any that its file can be
    """
    random, made = np.random.default_rng(seed), copy.deepcopy(blank_tables)
    joint = next(one for one in of.joints if one.name == made["joint"])
    true = front or build(of, joint.stiffness())
    on_test = runs(BoatTestFile(**made), true, UNKNOWNS, "test")
    for table, run in zip(made["tests"], on_test, strict=True):
        values = run.amounts @ run.model.response(truth).readings.T
        values = values + random.normal(size=len(run.scatter)) * 1e3 * run.scatter
        values += noise * random.normal(size=values.shape) * run.scatter
        for step, row in zip(table["steps"], values, strict=True):
            named = zip(table["gauges"], row.tolist(), strict=True)
            step["readings"] = {one["name"]: value for one, value in named if one["name"] in step["readings"]}
    return made


def altered(read_tables, name, change):
    """The tables with the readings of one gauge changed: of the first test, `change` of a step's number and its reading."""
    made = copy.deepcopy(read_tables)
    for number, step in enumerate(made["tests"][0]["steps"]):
        step["readings"][name] = change(number, step["readings"][name])
    return made
