"""What is claimed of an analysis: the loads that were checked, and everything in no check, in one list."""

import numpy as np
import pytest

from cases.analyses.analysis import Analysis
from cases.analyses.claims import checked_loads, unchecked_entries
from cases.analyses.study import run_study
from models.checks.not_checked import never_checked
from models.strength.margins import unchecked
from tests.models.boats import boat_file_of, example_boat
from tests.models.joints.test_joint_lug import FITTING

CASES = [
    {"name": "racking", "kind": "racking", "force": "6 kN"},
    {"name": "estimated", "kind": "rig", "rake": "10 deg", "estimate": {"displacement": "8 t",
     "hoist": "14 m", "freeboard": "1 m", "side_load": "150 N/m", "length": "15 m", "sag": "0.15 m"}},
    {"name": "rules", "kind": "connecting", "rule": "dnv-hslc", "displacement": "9 t", "length": "12 m",
     "acceleration": "10 m/s**2"},
]  # fmt: skip


@pytest.fixture(scope="module")
def found():
    """A described joint and a rigid one, under loads of every basis."""
    joints = [dict(FITTING), {"name": "rigid", "kind": "rigid"}]
    return Analysis(run_study(boat_file_of(joints, CASES, station=3.6, inboard=0.4)))


def test_each_case_counts_by_the_basis_of_its_loads(found):
    """A racking force is entered, the tension of a rig is estimated, rule moments are computed; the sum is every case run."""
    loads = checked_loads(found.file)
    many = len(found.file.load_cases)
    assert loads.by_basis == {"entered": 1, "computed": many - 2, "estimated": 1}
    assert loads.cases == many
    assert many > 3


def test_every_check_without_data_is_in_the_list(found):
    """What `unchecked` finds of any joint is in the list with that joint (or with all), once for both sides."""
    entries = unchecked_entries(found.file, found.part_margins)
    for one in found.part_margins:
        for check in unchecked((*one.own, *one.other_checks)):
            alike = [e for e in entries if e.what == check.check and e.why == check.reason]
            assert len(alike) == 1
            assert not alike[0].joints or one.joint in alike[0].joints
    assert any(e.joints == ("rigid",) for e in entries)


def test_the_list_ends_with_what_is_never_checked(found):
    """Whatever is described: the general entries follow, with every joint, each saying part, what and why."""
    general = never_checked(found.file)
    entries = unchecked_entries(found.file, found.part_margins)
    assert [(e.part, e.what, e.why) for e in entries[-len(general) :]] == [
        (one.part, one.what, one.why) for one in general
    ]
    assert all(e.joints == () and e.part and e.what and e.why for e in entries[-len(general) :])


@pytest.mark.parametrize("name", ["demo", "slender"])
def test_every_example_boat_has_loads_of_a_known_basis(name):
    """The counts by basis sum to the cases that are run."""
    boat = example_boat(name)
    assert checked_loads(boat).cases == len(boat.load_cases) > 0
    assert np.all([n > 0 for n in checked_loads(boat).by_basis.values()])
