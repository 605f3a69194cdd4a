"""The door for notebooks and scripts: a boat or a frame, what is computed of it, and what can go wrong.

    import forebeam as fb

    boat = fb.read("boat.toml")
    result = fb.analyse(boat)
    fb.sweep(boat, joint="socket", pitch=[1e4, 1e5, 1e6]).to_pandas()

Nothing is defined here. Each name is taken from its module when it is first asked for, so that the import itself is quick.
"""

import importlib as _importlib
from typing import TYPE_CHECKING as _TYPE_CHECKING

if _TYPE_CHECKING:
    from cases.analyses.analysis import Analysis as Analysis
    from cases.analyses.analysis import analyse as analyse
    from cases.analyses.sweep import Sweep as Sweep
    from cases.analyses.sweep import sweep as sweep
    from cases.input.boat_file import BoatFile as BoatFile
    from cases.input.boat_file import read_boat_file as read
    from femcore.base.errors import ForebeamError as ForebeamError
    from femcore.base.errors import InputFault as InputFault
    from femcore.base.errors import InputFaults as InputFaults
    from femcore.base.errors import Mechanism as Mechanism
    from femcore.base.errors import StructureFault as StructureFault
    from femcore.files.frame_file import read_frame_file as read_frame
    from femcore.files.frame_run import run_frame as run_frame
    from femcore.frame.builder import RIGID as RIGID
    from femcore.frame.builder import End as End
    from femcore.frame.builder import FrameBuilder as FrameBuilder
    from femcore.frame.builder import Stiffness as Stiffness
    from femcore.frame.frame import Frame as Frame
    from femcore.frame.frame import Loads as Loads
    from femcore.frame.loads_builder import LoadsBuilder as LoadsBuilder
    from femcore.results.member_forces import MemberForces as MemberForces
    from femcore.results.member_forces import member_forces as member_forces
    from femcore.solvers.buckling import buckling as buckling
    from femcore.solvers.solution import Solution as Solution
    from femcore.solvers.solution import solve as solve
    from femcore.solvers.vibration import natural_frequencies as natural_frequencies

_HOMES = {
    "RIGID": "femcore.frame.builder.RIGID",
    "Analysis": "cases.analyses.analysis.Analysis",
    "BoatFile": "cases.input.boat_file.BoatFile",
    "End": "femcore.frame.builder.End",
    "ForebeamError": "femcore.base.errors.ForebeamError",
    "Frame": "femcore.frame.frame.Frame",
    "FrameBuilder": "femcore.frame.builder.FrameBuilder",
    "InputFault": "femcore.base.errors.InputFault",
    "InputFaults": "femcore.base.errors.InputFaults",
    "Loads": "femcore.frame.frame.Loads",
    "Mechanism": "femcore.base.errors.Mechanism",
    "LoadsBuilder": "femcore.frame.loads_builder.LoadsBuilder",
    "MemberForces": "femcore.results.member_forces.MemberForces",
    "Solution": "femcore.solvers.solution.Solution",
    "Stiffness": "femcore.frame.builder.Stiffness",
    "StructureFault": "femcore.base.errors.StructureFault",
    "Sweep": "cases.analyses.sweep.Sweep",
    "analyse": "cases.analyses.analysis.analyse",
    "buckling": "femcore.solvers.buckling.buckling",
    "member_forces": "femcore.results.member_forces.member_forces",
    "natural_frequencies": "femcore.solvers.vibration.natural_frequencies",
    "read": "cases.input.boat_file.read_boat_file",
    "read_frame": "femcore.files.frame_file.read_frame_file",
    "run_frame": "femcore.files.frame_run.run_frame",
    "solve": "femcore.solvers.solution.solve",
    "sweep": "cases.analyses.sweep.sweep",
}
"""Public name → where it is defined."""


def __getattr__(name: str) -> object:
    if name not in _HOMES:
        raise AttributeError(f"module 'forebeam' has no attribute '{name}'")
    module, _, defined = _HOMES[name].rpartition(".")
    value = globals()[name] = getattr(_importlib.import_module(module), defined)
    return value


def __dir__() -> list[str]:
    return sorted(__all__)


__all__ = [
    "RIGID",
    "Analysis",
    "BoatFile",
    "End",
    "ForebeamError",
    "Frame",
    "FrameBuilder",
    "InputFault",
    "InputFaults",
    "Loads",
    "LoadsBuilder",
    "Mechanism",
    "MemberForces",
    "Solution",
    "Stiffness",
    "StructureFault",
    "Sweep",
    "analyse",
    "buckling",
    "member_forces",
    "natural_frequencies",
    "read",
    "read_frame",
    "run_frame",
    "solve",
    "sweep",
]
