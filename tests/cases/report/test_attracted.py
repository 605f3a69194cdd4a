"""What racking attracts is what it adds to the state at rest: pretension has no part in it."""

import re

import numpy as np
import pytest

from cases.analyses.analysis import Analysis, ComparedBoat
from cases.analyses.comparison import rows
from cases.analyses.joint_results import ATTRACTED
from cases.analyses.study import attraction_of, run_study
from cases.report.data import words
from cases.report.figures import attraction_figure
from cases.report.tables.joint_tables import comparison
from models.response.joint_loads import component_index
from tests.models.boats import LONGERON, MARTINGALE_STAYS, STRUT, boat_file_of
from tests.models.joints.test_joint_lug import FITTING
from tests.models.joints.test_joint_socket import BOTH, socket_tables

JOINTS = [
    {"name": "soft", "kind": "sprung", "pitch": "200 kN*m/rad", "roll": "300 kN*m/rad"},
    {"name": "rigid", "kind": "rigid"},
]
RACKING = {"name": "racking", "kind": "racking", "force": "4 kN"}
ONE_BOW = {"name": "one bow", "kind": "points", "also": [{"place": "port stem", "force": "0 0 4 kN"}]}


def study(pretension=0.0, cases=(RACKING,), **keys):
    """A boat with a martingale that is tightened so, which racking never slackens; without one where it is not."""
    truss = (
        {"striker": STRUT, "martingale": MARTINGALE_STAYS | {"pretension": pretension}} if pretension else {}
    )
    return run_study(boat_file_of(JOINTS, list(cases), inboard=0.4, height=0.4, **truss, **keys))


def attracted(run):
    """Torque and bending of all joints in the first case."""
    return np.array([[j.cases[0].attracted(part) for part in ATTRACTED] for j in run.joints])


def test_pretension_attracts_nothing():
    """Tightened twice as hard, the boat attracts the same: unit racking is linear about the state at rest."""
    once, twice = study(20e3), study(40e3)
    assert attracted(twice) == pytest.approx(attracted(once), rel=1e-9)
    for one, two in zip(once.joints, twice.joints, strict=True):
        rest = one.cases[0].pretension_joint_load
        assert np.abs(rest).max() > 1.0
        assert two.cases[0].pretension_joint_load == pytest.approx(2 * rest, rel=1e-9, abs=1e-6)
        assert one.cases[0].joint_load == pytest.approx(one.cases[0].added_joint_load + rest)


def test_both_hulls_get_the_same_of_racking():
    """Opposite forces at the stems put equal and like torque on both hulls, whatever stands there at rest."""
    run = study(20e3)
    for joint in run.joints:
        port, starboard = joint.cases[0].added_joint_load
        torque = component_index("torque")
        assert port[torque] == pytest.approx(-starboard[torque], rel=1e-9)
    assert words.side_remark(run, run.cases[0]) == "at each hull"
    lifted = study(20e3, [ONE_BOW], longeron=LONGERON)
    assert words.side_remark(lifted, lifted.cases[0]) == "at the hull that gets more"


def test_what_is_told_agrees_with_itself():
    """Torque over a rigid joint's is the share beside it, on the curve, in sentence, table and comparison of variants."""
    run = study(20e3)
    table = {row[0]: row for row in comparison(run).rows}
    for name, (_, _, torque, bending, of_torque, of_bending, *_) in table.items():
        assert torque / table["rigid"][2] == pytest.approx(of_torque, rel=1e-9)
        assert bending / table["rigid"][3] == pytest.approx(of_bending, rel=1e-9)
        joint = next(one for one in run.joints if one.joint.name == name)
        curve = joint.curves["pitch"]
        assert abs(float(curve.moment(curve.joint_stiffness))) * 4e3 == pytest.approx(torque, rel=1e-6)
    said = words.answer(run)[0]
    figures = [words.quantity(table["rigid"][k], "N·m") for k in (2, 3)]
    assert all(figure in said for figure in figures)
    assert "Pretension alone puts up to" in said
    [row] = [
        r
        for r in rows((ComparedBoat("a", "", Analysis(run)),))
        if r.quantity.startswith("torque that") and r.joint == "rigid"
    ]
    assert row.values[0] == pytest.approx(table["rigid"][2], rel=1e-9)


def test_an_attraction_is_quoted_for_the_worse_hull():
    """With one bow lifted, the two hulls differ: torque and bending over a rigid joint's agree with the table beside them."""
    run = study(20e3, [ONE_BOW], longeron=LONGERON)
    table = {row[0]: row for row in comparison(run).rows}
    for name, (_, _, torque, bending, of_torque, of_bending, *_) in table.items():
        assert torque / table["rigid"][2] == pytest.approx(abs(of_torque), rel=1e-9), name
        assert bending / table["rigid"][3] == pytest.approx(abs(of_bending), rel=1e-9), name
    port, starboard = run.joints[0].cases[0].added_joint_load
    assert abs(port[4]) != pytest.approx(abs(starboard[4]), rel=0.05)


@pytest.mark.parametrize(("starboard", "ratio"), [(2.0, 0.75), (-2.0, -0.75)])
def test_the_worse_hull_of_each_joint_need_not_be_the_same(starboard, ratio):
    """By hand: 1 and 3 N·m of a joint, 4 and 2 of the rigid one: 3/4, negative where 3 acts against the rigid joint's there."""
    none, own, rigid = (np.zeros((2, 6)) for _ in range(3))
    torque = component_index("torque")
    own[:, torque], rigid[:, torque] = [1.0, 3.0], [4.0, starboard]
    found = attraction_of(own, none, rigid, none)
    assert found["torque"] == pytest.approx(ratio)
    assert found["bending"] is None


def test_without_pretension_nothing_is_said_of_it():
    """A boat at rest without load says nothing of pretension, and adds all that is there."""
    run = study()
    assert "Pretension" not in words.answer(run)[0]
    for joint in run.joints:
        assert np.array_equal(joint.cases[0].added_joint_load, joint.cases[0].joint_load)
    assert re.search(r"attracts .* at each hull", words.answer(run)[0])
    assert Analysis(run).remarks == ()


KINDS = [
    {"name": "straps", "kind": "strapped", "places": ["50 mm", "350 mm"], "diameter": "200 mm", "across": "20 MN/m",
     "along": "4 MN/m"},
    {"name": "fork", "kind": "pinned", "axis": [1, 0, 0]},
    FITTING,
    socket_tables(*BOTH),
    *JOINTS,
]  # fmt: skip
"""Joints of every kind that couples heave and roll, and some that do not."""


def test_table_curve_and_picture_say_the_same():
    """Attraction in the table, in `curves` of the results, and at each joint's mark in the picture are one number, to rounding.

    A fore-and-aft pin, at the joint's point or beside it, attracts no bending: both hulls' ends are held by forces alone.
    """
    run = run_study(boat_file_of(KINDS, [RACKING], inboard=0.4))
    figure = attraction_figure.curve_picture(run).figure
    table = {row[0]: row for row in comparison(run).rows}
    for axes, direction, at in zip(figure.axes, ("pitch", "roll"), (4, 5), strict=True):
        marks = [line.get_ydata()[0] for line in axes.lines if len(line.get_xdata()) == 1]
        rigid = marks[-1]
        for joint, mark in zip(run.joints, marks, strict=True):
            told = table[joint.joint.name][at]
            assert joint.curves[direction].own_attraction == pytest.approx(told, rel=1e-9, abs=1e-9)
            assert mark / rigid == pytest.approx(told, rel=1e-9, abs=1e-9)
    coupled = {joint.joint.name: joint.coupled for joint in run.joints}
    straps = next(joint for joint in run.joints if joint.joint.name == "straps")
    assert np.array_equal(coupled["straps"], straps.stiffness.matrix)
    assert [name for name, rows in coupled.items() if rows is None] == ["fork", "soft", "rigid"]
    for name in ("fork", FITTING["name"]):
        assert table[name][5] == pytest.approx(0, abs=1e-9)
        assert next(j for j in run.joints if j.joint.name == name).curves["roll"].joint_stiffness == 0
