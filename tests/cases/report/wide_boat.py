"""A boat for every table that `numbers_boat` has nothing for: platform, waves, variants, a test, estimates, scatter, glue."""

from functools import cache

from cases.analyses.analysis import Analysis, analyse
from cases.analyses.calibration import calibrate
from cases.analyses.calibration_result import CalibrationResult
from cases.input.boat_file import BoatFile
from cases.input.boat_test import BoatTestFile
from tests.cases.analyses.synthetic_test import JOINT, PLATFORM, RACKING, blank, read
from tests.cases.analyses.test_fatigue_life import glued
from tests.models.boats import STRUT, TAUT, tables, validated

BOAT = {
    "length": "11 m", "beam": "7.2 m", "displacement": "6 t", "rig_height": "14 m", "waterline_breadth": "0.9 m",
    "waterline": "10.4 m", "estimated": ["boat.rig_height ± 4 %"],
}  # fmt: skip
RIG = {
    "name": "rig", "kind": "rig", "rake": "12 deg", "length": "13 m", "side_load": "60 N/m", "aft_load": "40 N/m",
    "estimate": {"wire_factor": 2.5, "stay_foot": "4.2 m", "mainsheet": "9 kN", "sheet_aft": "4 m", "shrouds_aft": "1 m"},
}  # fmt: skip
WAVES = {
    "name": "waves", "kind": "waves", "steepness": 0.05, "sea": {"significant": "1.5 m", "period": "5 s"},
}  # fmt: skip
SERVICE = {"distance": "20000 nmi", "count": 2e6, "case": "racking", "about": "rig"}
SCATTER = {"racking": "± 40 %", "joint_stiffness": "± 30 %", "stay.forward": "± 5 mm", "metal": "± 6 %"}
VARIANTS = [
    {"name": "no martingale", "note": "The beam alone.", "without": ["striker", "martingale"]},
    {"name": "soft plates", "set": {"crossbeam": {"GJ": "0.3 MN*m**2"}}},
]


@cache
def boat() -> BoatFile:
    """Its file."""
    raw = tables(
        platform=PLATFORM, inboard=0.4, station=3.5, height=0.3, striker=STRUT, martingale=TAUT,
        stay={"forward": 0.05, "up": 0.12}, bow={"mass": 30.0}, beam={"mass": 6.0},
    )  # fmt: skip
    raw["bows"]["divide"], raw["crossbeam"]["divide"] = (
        3,
        1,
    )  # as few elements as a comparison of numbers needs
    raw |= {
        "boat": BOAT, "joints": [JOINT, glued()], "cases": [RACKING | {"force": "3 kN"}, RIG, WAVES], "variants": VARIANTS,
        "service": SERVICE, "scatter": SCATTER,
    }  # fmt: skip
    return validated(BoatFile, raw)


@cache
def found_by_test() -> CalibrationResult:
    """What a test taught whose hulls were softer in twist, and whose joint was, than the file has them."""
    return calibrate(
        boat(), BoatTestFile(**read(blank(), boat(), {"joint_pitch": 0.6, "hull_GJ": 0.8}, seed=8))
    )


@cache
def analysis() -> Analysis:
    """Everything worked out of it, once."""
    return analyse(boat(), "wide.toml", found_by_test()).with_answers()
