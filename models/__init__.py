"""The front end of a catamaran: a boat becomes a frame, and what each of its parts can carry.

    from models import Boat, build, joint_loads

Each name is imported from its module when it is first asked for, so that importing the package costs nothing.
"""

import importlib as _importlib
from typing import TYPE_CHECKING as _TYPE_CHECKING

if _TYPE_CHECKING:
    from models.boat.boat import Boat, Crossbeam, Longeron, Martingale, Root, Stay, Striker
    from models.boat.bows import Bows, Station
    from models.joints import DIRECTIONS, JOINTS
    from models.joints.base import Joint, JointStiffness
    from models.response.attraction import AttractionCurve, attraction_curve, attraction_curves
    from models.response.front_end import FrontEnd, build
    from models.response.joint_loads import JOINT_LOAD_NAMES, RackingShares, joint_loads, racking_shares
    from models.response.load_path import crossbeam_load_path, front_end_load_paths
    from models.response.modes import NaturalMode, natural_modes
    from models.strength.margins import Check, SafetyFactors

_HOMES = {
    "boat.boat": (
        "Boat",
        "Crossbeam",
        "Longeron",
        "Martingale",
        "Root",
        "Stay",
        "Striker",
    ),
    "boat.bows": (
        "Bows",
        "Station",
    ),
    "joints": (
        "DIRECTIONS",
        "JOINTS",
    ),
    "joints.base": (
        "Joint",
        "JointStiffness",
    ),
    "response.attraction": (
        "AttractionCurve",
        "attraction_curve",
        "attraction_curves",
    ),
    "response.front_end": (
        "FrontEnd",
        "build",
    ),
    "response.joint_loads": (
        "JOINT_LOAD_NAMES",
        "RackingShares",
        "joint_loads",
        "racking_shares",
    ),
    "response.load_path": (
        "crossbeam_load_path",
        "front_end_load_paths",
    ),
    "response.modes": (
        "NaturalMode",
        "natural_modes",
    ),
    "strength.margins": (
        "Check",
        "SafetyFactors",
    ),
}


def __getattr__(name: str) -> object:
    for home, names in _HOMES.items():
        if name in names:
            return getattr(_importlib.import_module(f"models.{home}"), name)
    raise AttributeError(f"module 'models' has no attribute '{name}'")


def __dir__() -> list[str]:
    return list(__all__)


__all__ = [
    "DIRECTIONS",
    "JOINTS",
    "JOINT_LOAD_NAMES",
    "AttractionCurve",
    "Boat",
    "Bows",
    "Check",
    "Crossbeam",
    "FrontEnd",
    "Joint",
    "JointStiffness",
    "Longeron",
    "Martingale",
    "NaturalMode",
    "RackingShares",
    "Root",
    "SafetyFactors",
    "Station",
    "Stay",
    "Striker",
    "attraction_curve",
    "attraction_curves",
    "build",
    "crossbeam_load_path",
    "front_end_load_paths",
    "joint_loads",
    "natural_modes",
    "racking_shares",
]
