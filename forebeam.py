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
    from cases.analyses.calibration import calibrate as calibrate
    from cases.analyses.sweep import Sweep as Sweep
    from cases.analyses.sweep import sweep as sweep
    from cases.analyses.sweeps.run import FinishedSweep as FinishedSweep
    from cases.analyses.sweeps.run import sweep_grid as sweep_grid
    from cases.analyses.test_plan import plan_test as plan_test
    from cases.caution import CAUTION as CAUTION
    from cases.input.boat_file import BoatFile as Boat
    from cases.input.boat_file import read_boat_file as read
    from cases.input.boat_test import read_test_file as read_test
    from cases.input.grid_file import GridFile as Grid
    from cases.loads.base import MemberLoad as MemberLoad
    from cases.loads.base import PlaceLoad as PlaceLoad
    from cases.loads.beam_slam import BeamSlam as BeamSlam
    from cases.loads.connecting import Connecting as Connecting
    from cases.loads.deck_diving import DeckDiving as DeckDiving
    from cases.loads.docking import Docking as Docking
    from cases.loads.flogging import Flogging as Flogging
    from cases.loads.grounding import Grounding as Grounding
    from cases.loads.gybe import Gybe as Gybe
    from cases.loads.jack import Jack as Jack
    from cases.loads.mooring import Mooring as Mooring
    from cases.loads.net import Net as Net
    from cases.loads.net_slam import NetSlam as NetSlam
    from cases.loads.points import PointLoads as PointLoads
    from cases.loads.racking import Racking as Racking
    from cases.loads.rig import Rig as Rig
    from cases.loads.sail_twist import SailTwist as SailTwist
    from cases.loads.sheet import Sheet as Sheet
    from cases.loads.side_wave import SideWave as SideWave
    from cases.loads.slings import Slings as Slings
    from cases.loads.snatch import MooringSnatch as MooringSnatch
    from cases.loads.stay_breaks import StayBreaks as StayBreaks
    from cases.loads.stay_let_go import StayLetGo as StayLetGo
    from cases.loads.tack import Tack as Tack
    from cases.loads.temperature import Temperature as Temperature
    from cases.loads.waves import Waves as Waves
    from cases.loads.weight import Weight as Weight
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
    from models.boat.boat import Bows as Bows
    from models.boat.boat import Crossbeam as Crossbeam
    from models.boat.boat import Longeron as Longeron
    from models.boat.boat import Martingale as Martingale
    from models.boat.boat import Root as Root
    from models.boat.boat import Station as Station
    from models.boat.boat import Stay as Stay
    from models.boat.boat import Striker as Striker
    from models.boat.platform import HullAftStation as HullAftStation
    from models.boat.platform import Platform as Platform
    from models.boat.platform import PlatformMember as PlatformMember
    from models.joints.clamped import ClampedJoint as ClampedJoint
    from models.joints.lug import LugJoint as LugJoint
    from models.joints.pinned import PinnedJoint as PinnedJoint
    from models.joints.rigid import RigidJoint as RigidJoint
    from models.joints.socket import SocketJoint as SocketJoint
    from models.joints.sprung import SprungJoint as SprungJoint

_HOMES = {
    "CAUTION": "cases.caution.CAUTION",
    "Docking": "cases.loads.docking.Docking",
    "RIGID": "femcore.frame.builder.RIGID",
    "Analysis": "cases.analyses.analysis.Analysis",
    "BeamSlam": "cases.loads.beam_slam.BeamSlam",
    "Boat": "cases.input.boat_file.BoatFile",
    "Bows": "models.boat.boat.Bows",
    "ClampedJoint": "models.joints.clamped.ClampedJoint",
    "Connecting": "cases.loads.connecting.Connecting",
    "Crossbeam": "models.boat.boat.Crossbeam",
    "DeckDiving": "cases.loads.deck_diving.DeckDiving",
    "End": "femcore.frame.builder.End",
    "FinishedSweep": "cases.analyses.sweeps.run.FinishedSweep",
    "Flogging": "cases.loads.flogging.Flogging",
    "ForebeamError": "femcore.base.errors.ForebeamError",
    "Frame": "femcore.frame.frame.Frame",
    "FrameBuilder": "femcore.frame.builder.FrameBuilder",
    "Grid": "cases.input.grid_file.GridFile",
    "Grounding": "cases.loads.grounding.Grounding",
    "Gybe": "cases.loads.gybe.Gybe",
    "HullAftStation": "models.boat.platform.HullAftStation",
    "InputFault": "femcore.base.errors.InputFault",
    "InputFaults": "femcore.base.errors.InputFaults",
    "Jack": "cases.loads.jack.Jack",
    "Loads": "femcore.frame.frame.Loads",
    "LoadsBuilder": "femcore.frame.loads_builder.LoadsBuilder",
    "Longeron": "models.boat.boat.Longeron",
    "LugJoint": "models.joints.lug.LugJoint",
    "Martingale": "models.boat.boat.Martingale",
    "Mechanism": "femcore.base.errors.Mechanism",
    "MemberForces": "femcore.results.member_forces.MemberForces",
    "MemberLoad": "cases.loads.base.MemberLoad",
    "Mooring": "cases.loads.mooring.Mooring",
    "MooringSnatch": "cases.loads.snatch.MooringSnatch",
    "Net": "cases.loads.net.Net",
    "NetSlam": "cases.loads.net_slam.NetSlam",
    "PinnedJoint": "models.joints.pinned.PinnedJoint",
    "PlaceLoad": "cases.loads.base.PlaceLoad",
    "Platform": "models.boat.platform.Platform",
    "PlatformMember": "models.boat.platform.PlatformMember",
    "PointLoads": "cases.loads.points.PointLoads",
    "Racking": "cases.loads.racking.Racking",
    "Rig": "cases.loads.rig.Rig",
    "RigidJoint": "models.joints.rigid.RigidJoint",
    "Root": "models.boat.boat.Root",
    "SailTwist": "cases.loads.sail_twist.SailTwist",
    "Sheet": "cases.loads.sheet.Sheet",
    "SideWave": "cases.loads.side_wave.SideWave",
    "Slings": "cases.loads.slings.Slings",
    "SocketJoint": "models.joints.socket.SocketJoint",
    "Solution": "femcore.solvers.solution.Solution",
    "SprungJoint": "models.joints.sprung.SprungJoint",
    "Station": "models.boat.boat.Station",
    "Stay": "models.boat.boat.Stay",
    "StayBreaks": "cases.loads.stay_breaks.StayBreaks",
    "StayLetGo": "cases.loads.stay_let_go.StayLetGo",
    "Stiffness": "femcore.frame.builder.Stiffness",
    "Striker": "models.boat.boat.Striker",
    "StructureFault": "femcore.base.errors.StructureFault",
    "Sweep": "cases.analyses.sweep.Sweep",
    "Tack": "cases.loads.tack.Tack",
    "Temperature": "cases.loads.temperature.Temperature",
    "Waves": "cases.loads.waves.Waves",
    "Weight": "cases.loads.weight.Weight",
    "analyse": "cases.analyses.analysis.analyse",
    "calibrate": "cases.analyses.calibration.calibrate",
    "plan_test": "cases.analyses.test_plan.plan_test",
    "read_test": "cases.input.boat_test.read_test_file",
    "buckling": "femcore.solvers.buckling.buckling",
    "member_forces": "femcore.results.member_forces.member_forces",
    "natural_frequencies": "femcore.solvers.vibration.natural_frequencies",
    "read": "cases.input.boat_file.read_boat_file",
    "read_frame": "femcore.files.frame_file.read_frame_file",
    "run_frame": "femcore.files.frame_run.run_frame",
    "solve": "femcore.solvers.solution.solve",
    "sweep": "cases.analyses.sweep.sweep",
    "sweep_grid": "cases.analyses.sweeps.run.sweep_grid",
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
    "CAUTION",
    "RIGID",
    "Analysis",
    "BeamSlam",
    "Boat",
    "Bows",
    "ClampedJoint",
    "Connecting",
    "Crossbeam",
    "DeckDiving",
    "Docking",
    "End",
    "FinishedSweep",
    "Flogging",
    "ForebeamError",
    "Frame",
    "FrameBuilder",
    "Grid",
    "Grounding",
    "Gybe",
    "HullAftStation",
    "InputFault",
    "InputFaults",
    "Jack",
    "Loads",
    "LoadsBuilder",
    "Longeron",
    "LugJoint",
    "Martingale",
    "Mechanism",
    "MemberForces",
    "MemberLoad",
    "Mooring",
    "MooringSnatch",
    "Net",
    "NetSlam",
    "PinnedJoint",
    "PlaceLoad",
    "Platform",
    "PlatformMember",
    "PointLoads",
    "Racking",
    "Rig",
    "RigidJoint",
    "Root",
    "SailTwist",
    "Sheet",
    "SideWave",
    "Slings",
    "SocketJoint",
    "Solution",
    "SprungJoint",
    "Station",
    "Stay",
    "StayBreaks",
    "StayLetGo",
    "Stiffness",
    "Striker",
    "StructureFault",
    "Sweep",
    "Tack",
    "Temperature",
    "Waves",
    "Weight",
    "analyse",
    "buckling",
    "calibrate",
    "member_forces",
    "natural_frequencies",
    "plan_test",
    "read",
    "read_frame",
    "read_test",
    "run_frame",
    "solve",
    "sweep",
    "sweep_grid",
]
