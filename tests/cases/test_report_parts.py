"""What the report tells of further topics is what the study says."""

import math

import numpy as np
import pytest

from cases.boat_file import BoatFile
from cases.report import rig_part
from cases.study import run_study
from femcore.documents import read_toml
from tests.cases.report_boat import CASES, TEXT, boat_file

SAILED = """
[[cases]]
name = "estimated"
kind = "rig"
rake = "12 deg"
side_load = "60 N/m"
length = "15 m"
[cases.estimate]
righting_moment = "90 kN*m"
hoist = "14 m"
freeboard = "1.2 m"
side_load = "60 N/m"
length = "15 m"
sag = "0.1 m"
take = "mean"
"""


@pytest.fixture(scope="module")
def study(tmp_path_factory):
    """The small boat, run once."""
    return run_study(boat_file(tmp_path_factory.mktemp("boat")))


@pytest.fixture(scope="module")
def sailed(tmp_path_factory):
    """The small boat with a stay whose tension is estimated."""
    path = tmp_path_factory.mktemp("boat") / "sailed.toml"
    path.write_text(TEXT + SAILED, encoding="utf-8")
    return run_study(BoatFile.model_validate(read_toml(path)))


def test_the_stay_over_rake_is_statics(study):
    """At every rake the pull is T cos ρ up and T sin ρ aft, its torque −T (forward cos ρ + up sin ρ), none at −up tan ρ."""
    [table] = [t for t in rig_part.rig_part(study).tables if t.name == "stay_over_rake"]
    pull, forward, up = 40e3, 0.05, 0.12
    assert [row[-1] for row in table.rows].count("as entered") == 1
    for degrees, upward, aft, torque, ahead, _ in table.rows:
        sine, cosine = math.sin(math.radians(degrees)), math.cos(math.radians(degrees))
        expected = [pull * cosine, pull * sine, -pull * (forward * cosine + up * sine), -up * sine / cosine]
        assert np.allclose([upward, aft, torque, ahead], expected, rtol=1e-12, atol=1e-9)


def test_every_estimate_of_a_tension_is_shown(sailed):
    """Each method's tension stands in the table, and lowest, highest and taken in the sentence."""
    part = rig_part.rig_part(sailed)
    rig = next(case for case in sailed.cases if case.name == "estimated")
    [table] = [t for t in part.tables if t.name == "tension_estimates"]
    rows = {row[1]: row[2] for row in table.rows}
    assert {one.method: one.tension for one in rig.spread.estimates} | {
        "taken: mean": rig.stay_tension
    } == rows
    [said] = [sentence for sentence in part.words if "is estimated, not measured" in sentence]
    # 12 × 90/(14 + 1.2)/2.75 = 25.8 kN; 60 × 15²/(8 × 0.1) = 16.9 kN
    assert "from 16.9 kN to 25.8 kN" in said


def test_sag_is_the_parabola(sailed):
    """Sag is w L²/8T and the pull on the foot half of the side load."""
    rig = next(case for case in sailed.cases if case.name == "estimated")
    [said] = [sentence for sentence in rig_part.rig_part(sailed).words if "bows the stay out" in sentence]
    sag = 60 * 15**2 / (8 * rig.stay_tension)
    assert f"out by {1000 * sag:.1f} mm"[:16] in said
    assert "sideways with 450 N" in said
    assert CASES[1] not in said
