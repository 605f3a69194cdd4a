"""A boat on which hardly two numbers are alike: martingale, pretension, second order, loads on one side, starboard worse."""

import copy
from functools import cache

from cases.analyses.analysis import Analysis
from cases.analyses.study import run_study
from tests.models.boats import STRUT, TAUT, boat_file_of, text, validated
from tests.models.joints.test_joint_lug import FITTING

RACKING = {"name": "racking", "kind": "racking", "force": "3 kN"}
RIG = {"name": "rig", "kind": "rig", "tension": "30 kN", "rake": "12 deg"}
ONE_BOW = {
    "name": "starboard bow",
    "kind": "points",
    "second_order": True,
    "also": [
        {"place": "starboard stem", "force": "-1 2 5 kN", "moment": "0.3 0.2 0.1 kN*m"},
        {"place": "beam centre", "force": "0.5 0 -2 kN"},
    ],
}
SPRUNG = {
    "name": "sprung", "kind": "sprung", "pitch": "200 kN*m/rad", "roll": "300 kN*m/rad", "yaw": "500 kN*m/rad",
}  # fmt: skip
TUBE = {"metal": "al6082_t6", "diameter": "60 mm", "wall": "5 mm", "effective": 1.0}
WELD = {
    "name": "weld", "component": "torque", "curve": "IIW alloy, fillet weld toe", "stress_per": "40 kPa/(N*m)",
}  # fmt: skip


@cache
def analysis() -> Analysis:
    """Everything worked out of it, once."""
    joint = copy.deepcopy(FITTING) | {"name": "lug"}
    joint["eye"]["hole"] = "20.8 mm"  # more play than in the lugs
    made = boat_file_of(
        [joint, SPRUNG],
        [RACKING, RIG, ONE_BOW],
        station=3.6,
        height=0.3,
        inboard=0.4,
        bow={"mass": 30.0},
        beam={"mass": 6.0},
        striker=STRUT,
        martingale=TAUT,
        stay={"forward": 0.05, "up": 0.12},
    )
    raw = made._raw | {
        "striker": text(STRUT) | {"tube": TUBE},
        "service": {
            "distance": "20000 nmi",
            "count": 2e6,
            "about": "rig",
            "case": "racking",
            "details": [WELD],
        },
    }
    return Analysis(run_study(validated(type(made), raw)))
