"""Beam finite elements: from a frame described piece by piece, or in a file, to what goes on in it.

    from femcore import Draft, Loads, Stiffness, along, solve

Each name is taken from its module when first asked for, so that importing the package costs nothing. Materials, laminates and
sections have doors of their own: `femcore.materials`, `femcore.laminates`, `femcore.sections`.
"""

import importlib as _importlib
from typing import TYPE_CHECKING as _TYPE_CHECKING

if _TYPE_CHECKING:
    from femcore.actions import Along, actions_at, along, end_forces
    from femcore.draft import RIGID, Draft, End, Stiffness
    from femcore.errors import ForebeamError, InputFault, InputFaults, Mechanism, StructureFault
    from femcore.frame import ACTIONS, FREEDOMS, REACTIONS, Frame, Loads
    from femcore.frame_file import FrameFile, read_frame_file
    from femcore.frame_run import FrameRun, run_frame
    from femcore.solution import Solution, solve
    from femcore.stability import Modes, buckling
    from femcore.vibration import natural_frequencies

_HOMES = {
    "ACTIONS": "frame", "FREEDOMS": "frame", "REACTIONS": "frame", "RIGID": "draft",
    "Along": "actions", "Draft": "draft", "End": "draft", "ForebeamError": "errors", "Frame": "frame",
    "FrameFile": "frame_file", "FrameRun": "frame_run", "InputFault": "errors", "InputFaults": "errors",
    "Loads": "frame", "Mechanism": "errors", "Modes": "stability", "Solution": "solution", "Stiffness": "draft",
    "StructureFault": "errors", "actions_at": "actions", "along": "actions", "buckling": "stability",
    "end_forces": "actions", "natural_frequencies": "vibration", "read_frame_file": "frame_file",
    "run_frame": "frame_run", "solve": "solution",
}  # fmt: skip


def __getattr__(name: str) -> object:
    if name not in _HOMES:
        raise AttributeError(f"module 'femcore' has no attribute '{name}'")
    return getattr(_importlib.import_module(f"femcore.{_HOMES[name]}"), name)


__all__ = [
    "ACTIONS",
    "FREEDOMS",
    "REACTIONS",
    "RIGID",
    "Along",
    "Draft",
    "End",
    "ForebeamError",
    "Frame",
    "FrameFile",
    "FrameRun",
    "InputFault",
    "InputFaults",
    "Loads",
    "Mechanism",
    "Modes",
    "Solution",
    "Stiffness",
    "StructureFault",
    "actions_at",
    "along",
    "buckling",
    "end_forces",
    "natural_frequencies",
    "read_frame_file",
    "run_frame",
    "solve",
]
