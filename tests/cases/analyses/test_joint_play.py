"""Play of the joints' pins over a run: where it opens, what is carried then, and what the report says of it."""

import copy
import json

import numpy as np
import pytest

from cases.analyses.analysis import Analysis
from cases.analyses.study import run_study
from cases.report.data.play_words import play_sentences
from cases.report.data.results import results
from cases.report.sections.fittings_section import fittings_section
from femcore.base.numbers import engineering
from models.response.joint_loads import component_index
from tests.models.boats import boat_file_of
from tests.models.joints.test_joint_lug import FITTING

FORCE = 20e3
CASES = [
    {"name": "racking", "kind": "racking", "force": f"{FORCE} N"},
    {"name": "pull", "kind": "rig", "tension": "20 kN", "rake": "10 deg"},
]


def analysis(**lugs):
    """The plain boat on the lug fitting and on springs, keys of its lugs changed."""
    joint = copy.deepcopy(FITTING)
    joint["lugs"] |= lugs
    joints = [joint, {"name": "rigid", "kind": "rigid"}]
    return Analysis(run_study(boat_file_of(joints, CASES, station=3.6, inboard=0.4)))


def test_it_is_open_where_torque_exceeds_half_the_force_times_the_arm():
    """From the joint loads of every row: T against |V| s/2 with the eyes' arm, the shorter one; of that joint alone."""
    found = analysis()
    (play,) = found.joint_plays
    loads = found.case_rows[0].values.joint_load
    torque = np.abs(loads[..., component_index("torque")])
    across = np.hypot(loads[..., 1], loads[..., 2])
    arm = 0.120 - 0.010 - 2 * 0.001 - 0.015
    np.testing.assert_allclose(play.opening, across * arm / 2, rtol=1e-9)
    np.testing.assert_allclose(play.couple[0], torque[0], rtol=1e-9)
    assert not play.closed[0].any()
    assert play.opened[0][0] == int(np.argmax((play.couple - play.opening).max(axis=1)))


def test_with_play_the_boat_carries_what_a_softer_spring_would():
    """In racking alone, turned through, the joint is a spring that turns T/k + φ under T: with that secant stiffness the boat's
    own curve gives the same T.
    """
    (play,) = (found := analysis(hole="20.02 mm")).joint_plays
    curve = found.study.joints[0].curves["pitch"]
    T, k = play.with_play[0, 0], curve.joint_stiffness
    assert play.opening[0, 0] < T < 0.99 * play.couple[0, 0]
    secant = T / (T / k + play.angle)
    assert abs(curve.moment(secant)) * FORCE == pytest.approx(T, rel=1e-3)


def test_a_tighter_hole_turns_less_and_attracts_more():
    """Less play, a smaller free angle, more torque with it; where it opens does not depend on how much play there is."""
    loose, tight = (analysis(hole=hole).joint_plays[0] for hole in ("20.5 mm", "20.1 mm"))
    assert tight.angle == pytest.approx(loose.angle / 5)
    assert (tight.with_play >= loose.with_play - 1e-9).all()
    np.testing.assert_array_equal(tight.closed, loose.closed)


def test_the_report_says_where_it_opens():
    """Sentence, table and results.json agree; without a hole there is no such section."""
    found = analysis()
    (play,) = found.joint_plays
    (said,) = play_sentences(found.joint_plays)
    count = len({row for row, _ in play.opened})
    assert f"It opens in {count} of {len(play.names)} cases and combinations" in said
    section = fittings_section(found.study, found)
    (table,) = section.unshown
    assert len(table.rows) == 2 * len(play.names)
    assert [row[6] for row in section.readable[0].rows] == ["open"] * len(play.opened)
    told = json.loads(results(found).json())["play"]
    assert told[0]["angle"] == pytest.approx(play.angle)
    assert told[0]["clearance"] == pytest.approx({"lugs": 0.5e-3, "eyes": 0.5e-3})
    assert "0.5 mm in the lugs and 0.5 mm in the eyes" in said
    assert list(section.answer) == [said]
    assert said in json.loads(results(found).json())["answer"]
    assert [state["closed"] for state in told[0]["rows"]["racking"]] == [False, False]
    snug = analysis(hole=None)
    assert snug.joint_plays == ()


def test_remarks_stand_in_the_joint_s_list():
    """Each joint's remarks by its name, then those beside the joints, where the stay's breaking load is asked for; once each in
    the table, and all in results.json.
    """
    found = analysis()
    first, beside = found.fitting_remarks
    assert (first.joint, beside.joint) == ("lugs", "")
    assert {"preload and slip", "locking", "crevice corrosion", "galvanic corrosion", "wear"} <= {
        remark.subject for remark in first.remarks
    }
    assert [(remark.part, remark.subject) for remark in beside.remarks] == [("forestay", "breaking load")]
    section = fittings_section(found.study, found)
    said = [row[2] for row in section.tables[0].rows]
    assert len(said) == len(set(said))
    assert {remark.words for one in found.fitting_remarks for remark in one.remarks} == set(said)
    told = json.loads(results(found).json())["fitting_remarks"]
    assert [one["joint"] for one in told] == ["lugs", ""]


def test_slip_is_set_against_the_greatest_shear_of_any_case():
    """The shear in the remark is the largest on one bolt over all rows and both sides, by the joint's own check."""
    found = analysis()
    (slip,) = (r for r in found.fitting_remarks[0].remarks if r.subject == "preload and slip")
    shears = [c.load.max() for c in found.part_margins[0].own if c.check == "bolt in shear"]
    assert engineering(max(shears), "N") in slip.words
