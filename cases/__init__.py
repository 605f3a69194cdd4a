"""Load cases, boat files, analyses of a boat, textbook cases, report and command line.

    from cases import analyse, read_boat_file

    analysis = analyse(read_boat_file("boat.toml"))
    analysis.joint("socket").load("gust", "torque", side="port")

Each name is imported from its module when it is first asked for, so that importing the package costs nothing.
"""

import importlib as _importlib
from typing import TYPE_CHECKING as _TYPE_CHECKING

if _TYPE_CHECKING:
    from cases.analyses.analysis import Analysis, JointAnalysis, analyse
    from cases.analyses.comparison import compare
    from cases.analyses.sizing import size_boat
    from cases.analyses.study import Study, run_study
    from cases.analyses.sweep import Sweep, sweep
    from cases.input.boat_file import BoatFile, read_boat_file
    from cases.report.data.results import Results, results
    from cases.report.output import write
    from cases.verification.textbook import verify

_HOMES = {
    "analyses.analysis": ("Analysis", "JointAnalysis", "analyse"),
    "analyses.comparison": ("compare",),
    "analyses.sizing": ("size_boat",),
    "analyses.study": ("Study", "run_study"),
    "analyses.sweep": ("Sweep", "sweep"),
    "input.boat_file": ("BoatFile", "read_boat_file"),
    "report.data.results": ("Results", "results"),
    "report.output": ("write",),
    "verification.textbook": ("verify",),
}


def __getattr__(name: str) -> object:
    for home, names in _HOMES.items():
        if name in names:
            return getattr(_importlib.import_module(f"cases.{home}"), name)
    raise AttributeError(f"module 'cases' has no attribute '{name}'")


def __dir__() -> list[str]:
    return list(__all__)


__all__ = [
    "Analysis",
    "BoatFile",
    "JointAnalysis",
    "Results",
    "Study",
    "Sweep",
    "analyse",
    "compare",
    "read_boat_file",
    "results",
    "run_study",
    "size_boat",
    "sweep",
    "verify",
    "write",
]
