"""A sweep says of every joint stiffness what a whole analysis of a joint of that stiffness says."""

import itertools
import sys
import time

import numpy as np
import pytest

from cases.analyses.study import attractions, run_study
from cases.analyses.sweep import sweep
from femcore.base.errors import InputFault, Mechanism
from models.joints import DIRECTIONS
from models.response.attraction import attraction_curve
from tests.models.boats import MARTINGALE_STAYS, STRUT, boat_file_of, example_boat, springs

SOFT = {"name": "soft", "kind": "sprung", "surge": "40 MN/m", "roll": "300 kN*m/rad", "yaw": "2 MN*m/rad"}
PIN = {"name": "askew", "kind": "pinned", "axis": [1, 0.2, 0]}
CASES = [
    {"name": "gust", "kind": "rig", "tension": "40 kN", "rake": "14 deg"},
    {"name": "racking", "kind": "racking", "force": "4 kN"},
    {"name": "waves", "kind": "racking", "movement": "60 mm"},
    {
        "name": "net",
        "kind": "points",
        "line": [{"member": "crossbeam", "force": "0.1 0.2 -1 kN/m", "arm": "0.1 0 0 m"}],
    },
    {"name": "sun", "kind": "temperature", "crossbeam": "30 K"},
    {"name": "down", "kind": "points", "also": [{"place": "beam centre", "force": "0 1 -30 kN"}]},
]
PITCH, ROLL = [3e3, 2e5, 1e9, np.inf], [0.0, 1e2, 4e5, np.inf]
SCALE = np.array([1.0, 1.0, 1.0, 6.0, 6.0, 6.0])
"""Moments beside forces: the arm of the boat."""


def joint_of(name, **stiffnesses):
    """A sprung joint with these in place of the soft joint's, as a file has it."""
    kept = {key: value for key, value in SOFT.items() if key not in stiffnesses}
    given = {key: f"{float(k)!r} N*m/rad" for key, k in stiffnesses.items() if 0 < k < np.inf}
    return kept | given | {"name": name, "free": [key for key, k in stiffnesses.items() if k == 0]}


def boat(pretension, *joints, cases=CASES):
    """A boat with martingale stays that a load down on the beam slackens."""
    truss = {"striker": STRUT, "martingale": MARTINGALE_STAYS | {"pretension": pretension}}
    warm = {"expansion": "23e-6 1/K"}
    return boat_file_of(list(joints), cases, inboard=0.4, height=0.4, beam=warm, **truss)


def assert_same_as_studies(swept, study):
    """Every design of a sweep is the joint of a study in the same place, to 1e-9 of the case's largest load."""
    for number, joint in enumerate(study.joints):
        whole = np.array([case.joint_load for case in joint.cases])
        size = np.abs(whole * [1.0, 1.0, 1.0, 1 / 6, 1 / 6, 1 / 6]).max(axis=(1, 2))
        difference = np.abs(swept.joint_load[number] - whole) / SCALE
        assert (difference.max(axis=(1, 2)) <= 1e-9 * size).all()
        assert swept.racking_stiffness[number] == pytest.approx(joint.racking_stiffness, rel=1e-9)
        attraction = [[case.attraction[word] for word in ("torque", "bending")] for case in joint.cases]
        np.testing.assert_allclose(
            swept.attraction[number], np.array(attraction, dtype=float), rtol=1e-8, atol=1e-9
        )


@pytest.mark.parametrize("pretension", [0.0, 2e3])
def test_every_design_is_a_whole_analysis(pretension):
    """Free, soft, stiff and rigid in pitch and roll, under forces, line loads, warmth and a movement, stays taut and slack."""
    swept = sweep(boat(pretension, SOFT), "soft", pitch=PITCH, roll=ROLL)
    designs = list(itertools.product(ROLL, PITCH))
    joints = [joint_of(f"{number}", roll=roll, pitch=pitch) for number, (roll, pitch) in enumerate(designs)]
    study = run_study(boat(pretension, *joints))
    assert study.joints[0].solution.slack.any()
    assert not study.joints[0].solution.slack.all()
    assert len(swept.joints) == len(joints)
    assert_same_as_studies(swept, study)


def test_the_joints_of_a_file_are_themselves():
    """Without a stiffness to change, the designs are the boat's joints: built, coupled, askew, second order too."""
    demo = example_boat("demo")
    assert any(case.second_order for case in demo.load_cases)
    assert_same_as_studies(sweep(demo), run_study(demo))
    cases = [CASES[0] | {"second_order": True}, *CASES[1:]]
    assert_same_as_studies(
        sweep(boat(2e3, SOFT, PIN, cases=cases)), run_study(boat(2e3, SOFT, PIN, cases=cases))
    )


def test_joints_soft_all_round_keep_nine_digits():
    """A beam on springs alone, from hardly held to stiff in all six directions, agrees with whole analyses too."""
    k, draw = [1.0, 1e3, 1e6, 1e9], np.random.default_rng(3)
    designs = [dict(zip(DIRECTIONS, map(float, draw.choice(k, 6)), strict=True)) for _ in range(20)]
    units = ["N/m"] * 3 + ["N*m/rad"] * 3
    joints = [
        {"name": f"{number}", "kind": "sprung"}
        | {key: f"{value!r} {unit}" for (key, value), unit in zip(design.items(), units, strict=True)}
        for number, design in enumerate(designs)
    ]
    cases = [CASES[1], CASES[5]]
    study = run_study(boat_file_of(joints, cases))
    for number, design in enumerate(designs):
        swept = sweep(boat_file_of([SOFT], cases), "soft", **design)
        whole = np.array([case.joint_load for case in study.joints[number].cases])
        assert np.abs((swept.joint_load[0] - whole) / SCALE).max() <= 1e-9 * np.abs(whole / SCALE).max()


def test_torque_follows_its_law():
    """T(k) = T_rigid k / (k + k_half) over twelve decades, with the attraction curve's own k_half."""
    k = np.array([*10.0 ** np.arange(0.0, 12.0, 0.5), np.inf])
    plain = boat_file_of([SOFT], [CASES[1]])
    torque = sweep(plain, "soft", pitch=k).load("racking", "torque")
    curve = attraction_curve(plain, springs(surge=40e6, roll=300e3, yaw=2e6), "pitch")
    np.testing.assert_allclose(torque / torque[-1], curve.moment(k) / curve.rigid_moment, rtol=1e-9)
    assert abs(torque[-1]) > 100.0


def test_a_coupled_joint_is_swept_with_its_coupling():
    """Straps beside the joint's point, swept in roll: bending is that of their curve, at their own stiffness theirs."""
    straps = {
        "name": "straps", "kind": "strapped", "places": ["50 mm", "350 mm"], "diameter": "200 mm",
        "across": "20 MN/m", "along": "4 MN/m",
    }  # fmt: skip
    plain = boat_file_of([straps], [CASES[1]], inboard=0.3)
    curve = attraction_curve(plain, plain.joints[0].stiffness(), "roll")
    k = np.array([1e4, curve.joint_stiffness, 1e7, np.inf])
    swept = sweep(plain, "straps", roll=k)
    bending = swept.attracted("racking", "bending")
    np.testing.assert_allclose(bending, curve.attraction(k), rtol=1e-8)
    assert bending[1] == pytest.approx(sweep(plain, "straps").attracted("racking", "bending")[0], rel=1e-9)
    np.testing.assert_array_equal(swept.stiffness[:, DIRECTIONS.index("roll")], k)


def test_two_thousand_designs():
    """Are a matter of a few seconds, in the order of their lists, and a short line to print."""
    pitch, roll = 10.0 ** np.linspace(3, 8, 50), 10.0 ** np.linspace(3, 8, 40)
    start = time.perf_counter()
    swept = sweep(boat(2e3, SOFT), joint="soft", pitch=pitch, roll=roll)
    assert time.perf_counter() - start < 30.0
    assert repr(swept) == "<Sweep: 2000 designs × 6 cases>"
    np.testing.assert_array_equal(swept.stiffness[:, DIRECTIONS.index("roll")], np.repeat(roll, 50))
    np.testing.assert_array_equal(swept.stiffness[:, DIRECTIONS.index("pitch")], np.tile(pitch, 40))
    torque = np.abs(swept.load("racking", "torque", side="starboard")).reshape(40, 50)
    assert (np.diff(torque, axis=1) > 0).all()


def test_a_table_has_units_in_its_columns():
    """A row for each design under each case; names and numbers are those of the arrays."""
    pytest.importorskip("pandas")
    swept = sweep(boat(0.0, SOFT), "soft", cases=["gust", "racking"], pitch=[1e4, 1e5, 1e6])
    table = swept.to_pandas()
    assert len(table) == 6
    rows = table[table["case"] == "racking"]
    assert rows["pitch, N·m/rad"].tolist() == [1e4, 1e5, 1e6]
    assert rows["port torque, N·m"].tolist() == swept.load("racking", "torque").tolist()
    assert rows["starboard vertical shear, N"].tolist() == swept.load("racking", "Fz", "starboard").tolist()
    assert rows["torque attraction"].tolist() == swept.attracted("racking").tolist()
    assert table["racking stiffness, N/m"].nunique() == 3


def test_without_pandas_a_sentence_says_what_to_do(monkeypatch):
    """The cure is in the fault."""
    monkeypatch.setitem(sys.modules, "pandas", None)
    with pytest.raises(InputFault, match=r"pandas is not installed; .*pip install 'forebeam\[pandas\]'"):
        sweep(boat(0.0, SOFT), cases="gust").to_pandas()


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"joint": "sofd"}, "did you mean 'soft'"),
        ({"cases": ["rackin"]}, "did you mean 'racking'"),
        ({"cases": []}, "has no case"),
        ({"pitch": []}, "sweep: pitch: is empty"),
        ({"pitch": [1e4, -1.0]}, "sweep: pitch: .* is no stiffness"),
        ({"roll": float("nan")}, "sweep: roll: .* is no stiffness"),
        ({"yaw": "stiff"}, "sweep: yaw: 'stiff' is no stiffness"),
        ({"pitch": [[1.0], [2.0]]}, "is no stiffness"),
        ({"joint": "askew", "pitch": 1e5}, "not in boat axes"),
        ({"pitch": range(1, 2000), "roll": range(1, 2000)}, "too many"),
    ],
)
def test_bad_input_is_one_clear_fault(given, said):
    """An unknown name, an empty list and a stiffness that is none are said at once, with a cure."""
    with pytest.raises(InputFault, match=said):
        sweep(boat(0.0, SOFT, PIN), **given)


def test_an_unknown_direction_or_result_name_is_a_fault():
    """A direction is a keyword of Python; names of results have the nearest that exist."""
    with pytest.raises(TypeError, match="pich"):
        sweep(boat(0.0, SOFT), pich=1e5)
    swept = sweep(boat(0.0, SOFT), cases="gust")
    for call in (
        lambda: swept.load("gusd", "torque"),
        lambda: swept.load("gust", "torc"),
        lambda: swept.load("gust", "torque", side="prot"),
        lambda: swept.attracted("gust", "tork"),
    ):
        with pytest.raises(InputFault, match="did you mean"):
            call()


def test_a_design_that_is_a_mechanism_is_named():
    """Free in pitch on both sides, nothing turns the beam back."""
    with pytest.raises(Mechanism, match="joint 'soft': the crossbeam turns freely"):
        sweep(boat_file_of([SOFT], CASES[1:2]), "soft", pitch=[1e5, 0.0])


def test_attraction_is_the_worse_hulls_over_the_worse_hulls():
    """By hand: 30 of a rigid joint's 40 N·m is 0.75, and negative where it turns the other way; of hulls that are even but for
    rounding the port one decides; none where the rigid joint has no more than rounding.
    """
    load, rigid, none = np.zeros((4, 2, 6)), np.zeros((4, 2, 6)), np.zeros((2, 6))
    load[0, :, 4], rigid[0, :, 4] = (-10.0, 30.0), (40.0, 20.0)
    load[1, :, 4], rigid[1, :, 4] = (-30.0, 10.0), (40.0, 20.0)
    load[2, :, 4], rigid[2, :, 4] = (-30.0, 30.0 * (1 + 1e-14)), (40.0, 40.0)
    load[3, :, 4], rigid[3, :, 2] = (1.0, 2.0), 100.0
    found = attractions(load, none, rigid, none)
    np.testing.assert_allclose(found[:, 0], [0.75, -0.75, -0.75, np.nan])
    assert np.isnan(found[:, 1]).all()
