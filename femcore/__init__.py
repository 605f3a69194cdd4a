"""Beam finite elements: a frame described by names, or in a file, its loads, its solution, and results by name.

    from femcore import FrameBuilder, LoadsBuilder, Stiffness, solve

    builder = FrameBuilder()
    builder.nodes(A=(0, 0, 0), B=(4, 0, 0))
    builder.beam("AB", ["A", "B"], Stiffness(EA=4e8, EIy=2e6, EIz=2e6, GJ=1e6))
    builder.support("A")
    builder.support("B", ["uz"])
    frame = builder.build()
    solution = solve(frame, LoadsBuilder(frame).line("AB", qz=-1e4))
    solution.reaction("B").Fz, solution.beam("AB").start.My

Each name is imported from its module when it is first asked for, so that importing the package costs nothing. Materials,
laminates and sections have doors of their own: `femcore.materials`, `femcore.laminates`, `femcore.sections`.
"""

import importlib as _importlib
from typing import TYPE_CHECKING as _TYPE_CHECKING

if _TYPE_CHECKING:
    from femcore.base.errors import ForebeamError, InputFault, InputFaults, Mechanism, StructureFault
    from femcore.files.frame_file import FrameFile, read_frame_file
    from femcore.files.frame_run import FrameRun, run_frame
    from femcore.frame.builder import RIGID, End, FrameBuilder, Stiffness
    from femcore.frame.components import ACTIONS, FREEDOMS, REACTIONS, Actions, Displacement, Reaction
    from femcore.frame.frame import Frame, Loads
    from femcore.frame.loads_builder import LoadsBuilder
    from femcore.results.member_forces import MemberForces, actions_at, end_forces, member_forces
    from femcore.solvers.buckling import Modes, buckling
    from femcore.solvers.prepared_frame import PreparedFrame
    from femcore.solvers.solution import Solution, solve
    from femcore.solvers.vibration import natural_frequencies

_HOMES = {
    "base.errors": ("ForebeamError", "InputFault", "InputFaults", "Mechanism", "StructureFault"),
    "files.frame_file": ("FrameFile", "read_frame_file"),
    "files.frame_run": ("FrameRun", "run_frame"),
    "frame.builder": ("RIGID", "End", "FrameBuilder", "Stiffness"),
    "frame.components": ("ACTIONS", "FREEDOMS", "REACTIONS", "Actions", "Displacement", "Reaction"),
    "frame.frame": ("Frame", "Loads"),
    "frame.loads_builder": ("LoadsBuilder",),
    "results.member_forces": ("MemberForces", "actions_at", "end_forces", "member_forces"),
    "solvers.buckling": ("Modes", "buckling"),
    "solvers.prepared_frame": ("PreparedFrame",),
    "solvers.solution": ("Solution", "solve"),
    "solvers.vibration": ("natural_frequencies",),
}


def __getattr__(name: str) -> object:
    for home, names in _HOMES.items():
        if name in names:
            return getattr(_importlib.import_module(f"femcore.{home}"), name)
    raise AttributeError(f"module 'femcore' has no attribute '{name}'")


def __dir__() -> list[str]:
    return list(__all__)


__all__ = [
    "ACTIONS",
    "FREEDOMS",
    "REACTIONS",
    "RIGID",
    "Actions",
    "Displacement",
    "End",
    "ForebeamError",
    "Frame",
    "FrameBuilder",
    "FrameFile",
    "FrameRun",
    "InputFault",
    "InputFaults",
    "Loads",
    "LoadsBuilder",
    "Mechanism",
    "MemberForces",
    "Modes",
    "PreparedFrame",
    "Reaction",
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
