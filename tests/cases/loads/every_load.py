"""A boat under every kind of load that a file can name, each from numbers that are easily worked by hand."""

from functools import cache

from cases.analyses.study import run_study
from tests.models.boats import LONGERON, STRUT, TAUT, boat_file_of

JOINTS = [
    {"name": "socket", "kind": "sprung", "pitch": "300 kN*m/rad"},
    {"name": "fork", "kind": "pinned", "axis": [1, 0, 0]},
]
CASES = [
    {
        "name": "upwind", "kind": "rig", "tension": "40 kN", "rake": "10 deg", "pretension": "10 kN",
        "side_load": "100 N/m", "length": "12 m",
        "inner": [{"place": "beam centre", "tension": "5 kN", "rake": "20 deg"}],
    },
    {"name": "tack", "kind": "tack", "tension": "10 kN", "rake": "-10 deg", "lean": "15 deg", "both_sides": True},
    {"name": "net", "kind": "net", "people": 4, "sag": "120 mm", "lacing": "500 N/m", "begin": "0.5 m", "side": "port",
     "beam_aft": "100 mm"},
    {"name": "sea", "kind": "net", "pressure": "1 kPa", "sag": "150 mm"},
    {"name": "racking", "kind": "racking", "force": "5 kN"},
    {"name": "heave", "kind": "racking", "movement": "20 mm"},
    {"name": "bent", "kind": "racking", "force": "5 kN", "second_order": True,
     "also": [{"place": "stay", "force": "-5 1 30 kN"}]},
    {"name": "dive", "kind": "deck diving", "displacement": "8000 kg", "waterline": "12 m"},
    {"name": "rule", "kind": "connecting", "rule": "dnv-hslc", "displacement": "8000 kg", "length": "12 m",
     "acceleration": "9.81 m/s**2"},
    {"name": "anchor", "kind": "mooring", "tension": "10 kN", "leg": "6 m", "sweep": "60 deg", "steps": 3, "down": "20 deg"},
    {"name": "jack", "kind": "jack", "force": "20 kN", "side": "starboard"},
    {"name": "weight", "kind": "weight", "bows": True, "masses": [{"place": "prod tip", "mass": "40 kg"}]},
    {"name": "warm", "kind": "temperature", "crossbeam": "30 K"},
    {"name": "own", "kind": "points", "also": [{"place": "stay", "force": "0 0 1 kN", "name": "halyard"}],
     "line": [{"member": "port bow", "force": "0 100 0 N/m", "begin": "1 m", "end": "3 m"}]},
]  # fmt: skip
STAY = {"forward": 0.05, "up": 0.2}


@cache
def every_load():
    """The study of it."""
    heavy = {"mass": 20.0}
    file = boat_file_of(
        JOINTS, CASES, station=3.2, height=0.4, inboard=0.4, stay=STAY, bow=heavy,
        beam={"mass": 10.0, "expansion": 2e-5}, striker=STRUT, martingale=TAUT, longeron=LONGERON | {"prod": 1.2},
    )  # fmt: skip
    return run_study(file, "every.toml")
