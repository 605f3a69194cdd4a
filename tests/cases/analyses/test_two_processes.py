"""An analysis by two processes is that of one, whichever joints have an answer."""

import json

import pytest

from cases.analyses.analysis import analyse
from cases.analyses.solved_cases import solve_with_joints
from cases.analyses.two_processes import SharedAnalysis, _ever_fewer
from cases.report.data.results import results
from femcore.base import process
from femcore.base.errors import NoConvergence, StructureFault
from femcore.base.process import OtherProcess
from models.joints.rigid import RigidJoint
from tests.models.boats import example_boat


@pytest.fixture(scope="module")
def boat():
    """The demo with a joint whose parts are described, which alone is decided on, between two that are not."""
    file = example_boat("demo")
    joints = [joint for joint in file.joints if joint.name in ("bolted plates", "taped socket", "rigid")]
    cases = [case for case in file.cases if case.name in ("gust", "racking")]
    return file.model_copy(update={"joints": joints, "cases": cases, "variants": [], "service": None})


@pytest.fixture(scope="module")
def alone(boat):
    """By one process."""
    return analyse(boat, "demo.toml").with_answers()


def numbers(analysis):
    """All that is written of it."""
    return json.loads(results(analysis, analysis.remarks, []).json())


def assert_same(one, other, at=""):
    """The same words, and numbers but for rounding: joints are solved side by side with others, by more threads or fewer."""
    if isinstance(one, dict | list):
        assert len(one) == len(other), at
        for key in one if isinstance(one, dict) else range(len(one)):
            assert_same(one[key], other[key], f"{at}.{key}")
    elif isinstance(one, float):
        assert other == pytest.approx(one, rel=1e-8, abs=1e-6), at
    else:
        assert one == other, at


def test_two_processes_find_what_one_does(boat, alone, monkeypatch):
    """Every number and word of the results; the decision is there before the other joints are."""
    monkeypatch.setattr(process, "available_cores", lambda: 2)
    with OtherProcess() as other:
        shared = SharedAnalysis(boat, "demo.toml", None, other, variants=False)
        assert [one.joint.name for one in shared.decided.study.joints] == ["taped socket"]
        _ = shared.decided.decision
        assert shared.whole.decision is shared.decided.decision
        assert_same(numbers(shared.whole), numbers(alone))


def failing_with(names, monkeypatch):
    """As if the joints of these names had no answer."""

    def solve(boat, named, *rest):
        found = solve_with_joints(boat, named, *rest)
        fault = NoConvergence("it buckles", 0.5)
        return [
            fault.inside(f"joint '{name}'") if name in names else one
            for (name, _), one in zip(named, found, strict=True)
        ]

    monkeypatch.setattr(process, "available_cores", lambda: 1)
    monkeypatch.setattr("cases.analyses.study.solve_with_joints", solve)


@pytest.mark.parametrize("names", [["taped socket"], ["bolted plates"]])
def test_a_joint_without_an_answer_leaves_the_others_theirs(boat, monkeypatch, names):
    """Of the candidates or of the others: it is kept apart, and the decision says so where it is a candidate."""
    failing_with(names, monkeypatch)
    with OtherProcess() as other:
        shared = SharedAnalysis(boat, "", None, other, variants=False)
        _ = shared.decided.decision
        whole = shared.whole
    assert [one.joint.name for one in whole.study.unsolved] == names
    assert [one.joint.name for one in whole.study.joints] == [
        joint.name for joint in boat.joints if joint.name not in names
    ]
    [candidate] = whole.decision.candidates
    assert (candidate.verdict == "not assessed") == (names == ["taped socket"])


def test_without_any_answer_every_joint_is_named(boat, monkeypatch):
    """One sentence for each joint, as by one process."""
    names = [joint.name for joint in boat.joints if not isinstance(joint, RigidJoint)]
    boat = boat.model_copy(update={"joints": [joint for joint in boat.joints if joint.name in names]})
    failing_with(names, monkeypatch)
    with OtherProcess() as other, pytest.raises(StructureFault) as fault:
        _ = SharedAnalysis(boat, "", None, other, variants=False).decided
    assert all(f"joint '{name}': it buckles" in str(fault.value) for name in names)


@pytest.mark.parametrize(
    ("joints", "at_once"), [(0, []), (1, [1]), (2, [1, 1]), (6, [3, 2, 1]), (9, [3, 3, 2, 1])]
)
def test_fewer_joints_at_a_time_towards_the_end(joints, at_once):
    """Every joint once, in their order; neither process waits long for the other's last ones."""
    parts = list(_ever_fewer(range(joints)))
    assert [len(part) for part in parts] == at_once
    assert [one for part in parts for one in part] == list(range(joints))
