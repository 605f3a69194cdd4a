"""Beam finite elements: from a frame described piece by piece, or in a file, to what goes on in it.

    from femcore import FrameBuilder, Loads, Stiffness, member_forces, solve

Each name is taken from its module when first asked for, so that importing the package costs nothing. Materials, laminates and
sections have doors of their own: `femcore.materials`, `femcore.laminates`, `femcore.sections`.
"""

import importlib as _importlib
from typing import TYPE_CHECKING as _TYPE_CHECKING

if _TYPE_CHECKING:
    from femcore.base.errors import ForebeamError, InputFault, InputFaults, Mechanism, StructureFault
    from femcore.files.frame_file import FrameFile, read_frame_file
    from femcore.files.frame_run import FrameRun, run_frame
    from femcore.frame.builder import RIGID, End, FrameBuilder, Stiffness
    from femcore.frame.frame import ACTIONS, FREEDOMS, REACTIONS, Frame, Loads
    from femcore.results.member_forces import MemberForces, actions_at, end_forces, member_forces
    from femcore.solvers.buckling import Modes, buckling
    from femcore.solvers.solution import Solution, solve
    from femcore.solvers.vibration import natural_frequencies

_HOMES = {
    "ACTIONS": "frame.frame",
    "FREEDOMS": "frame.frame",
    "REACTIONS": "frame.frame",
    "RIGID": "frame.builder",
    "MemberForces": "results.member_forces",
    "FrameBuilder": "frame.builder",
    "End": "frame.builder",
    "ForebeamError": "base.errors",
    "Frame": "frame.frame",
    "FrameFile": "files.frame_file",
    "FrameRun": "files.frame_run",
    "InputFault": "base.errors",
    "InputFaults": "base.errors",
    "Loads": "frame.frame",
    "Mechanism": "base.errors",
    "Modes": "solvers.buckling",
    "Solution": "solvers.solution",
    "Stiffness": "frame.builder",
    "StructureFault": "base.errors",
    "actions_at": "results.member_forces",
    "member_forces": "results.member_forces",
    "buckling": "solvers.buckling",
    "end_forces": "results.member_forces",
    "natural_frequencies": "solvers.vibration",
    "read_frame_file": "files.frame_file",
    "run_frame": "files.frame_run",
    "solve": "solvers.solution",
}


def __getattr__(name: str) -> object:
    if name not in _HOMES:
        raise AttributeError(f"module 'femcore' has no attribute '{name}'")
    return getattr(_importlib.import_module(f"femcore.{_HOMES[name]}"), name)


__all__ = [
    "ACTIONS",
    "FREEDOMS",
    "REACTIONS",
    "RIGID",
    "End",
    "ForebeamError",
    "Frame",
    "FrameBuilder",
    "FrameFile",
    "FrameRun",
    "InputFault",
    "InputFaults",
    "Loads",
    "Mechanism",
    "MemberForces",
    "Modes",
    "Solution",
    "Stiffness",
    "StructureFault",
    "actions_at",
    "buckling",
    "end_forces",
    "member_forces",
    "natural_frequencies",
    "read_frame_file",
    "run_frame",
    "solve",
]
