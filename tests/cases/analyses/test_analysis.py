"""An analysis is worked out once, and read by names: joints, cases, components, sides."""

import math
from functools import partial

import numpy as np
import pytest

import cases
from cases.analyses.analysis import analyse, analysed_variant
from cases.analyses.study import run_study
from cases.input.variants import Variant
from cases.report.data.results import results
from femcore.base import process
from femcore.base.errors import InputFault, StructureFault
from femcore.base.process import OtherProcess
from femcore.solvers import superposition
from models.response.joint_loads import JOINT_LOAD_NAMES
from tests.models.boats import MARTINGALE_STAYS, STRUT, boat_file_of, example_boat

SOFT = {"name": "soft", "kind": "sprung", "pitch": "200 kN*m/rad", "roll": "300 kN*m/rad"}
RIGID = {"name": "rigid", "kind": "rigid"}
CASES = [
    {"name": "gust", "kind": "rig", "tension": "40 kN", "rake": "14 deg"},
    {"name": "racking", "kind": "racking", "force": "4 kN"},
]


@pytest.fixture(scope="module")
def analysis():
    """Of a boat whose martingale is under pretension."""
    truss = {"striker": STRUT, "martingale": MARTINGALE_STAYS | {"pretension": 20e3}}
    return analyse(boat_file_of([SOFT, RIGID], CASES, inboard=0.4, height=0.4, **truss), "boat.toml")


def test_a_load_is_read_by_names(analysis):
    """Words and symbols name the same component; a side gives its own value, none the one of larger size."""
    joint = analysis.joint("soft")
    for symbol, words in zip(("Fx", "Fy", "Fz", "Mx", "My", "Mz"), JOINT_LOAD_NAMES, strict=True):
        sides = [joint.load("racking", words, side=side) for side in ("port", "starboard")]
        column = JOINT_LOAD_NAMES.index(words)
        assert sides == joint.case("racking").joint_load[:, column].tolist()
        assert joint.load("racking", symbol, side="port") == sides[0]
        assert joint.load("racking", words) == max(sides, key=abs)
    assert joint.load("racking", "axial") == joint.load("racking", "axial force")
    added = joint.load("racking", "vertical bending", side="port", added=True)
    rest = joint.case("racking").pretension_joint_load[0, JOINT_LOAD_NAMES.index("vertical bending")]
    assert added == pytest.approx(joint.load("racking", "vertical bending", side="port") - rest)
    assert abs(rest) > 1.0


def test_a_combination_is_read_like_a_case(analysis):
    """The load in a combination is that of its row."""
    combination = analysis.file.expanded_combinations[0].name
    rows = analysis.case_rows[1]
    expected = rows.values.joint_load[rows.names.index(combination), 0, JOINT_LOAD_NAMES.index("torque")]
    assert analysis.joint("rigid").load(combination, "torque", side="port") == expected


def test_shares_curve_and_stiffness(analysis):
    """Shares sum to 1, a curve is drawn through half its rigid moment at its half stiffness, under either name."""
    joint = analysis.joint("soft")
    assert sum(joint.shares("racking").values()) == pytest.approx(1.0)
    assert joint.shares("gust") is None
    curve = joint.curve("torque")
    assert curve is joint.curve("pitch")
    line = curve.plot().lines[0]
    height = np.interp(math.log(curve.k_half), np.log(line.get_xdata()), line.get_ydata())
    assert height == pytest.approx(line.get_ydata()[-1] / 2, rel=0.02)
    assert joint.racking_stiffness == joint.result.racking_stiffness
    assert [one.name for one in analysis.joints] == ["soft", "rigid"]


def test_margins_are_those_of_the_parts():
    """The governing check comes first; what was not checked comes last, without a case."""
    analysis = analyse(example_boat("short_bowed"))
    for joint, margins in zip(analysis.joints, analysis.part_margins, strict=True):
        assert joint.margins() == margins.worst
        known = [check.margin for check, case in joint.margins() if case is not None]
        assert known == sorted(known)


@pytest.mark.parametrize(
    ("read", "words"),
    [
        (lambda a: a.joint("sof"), "joint 'sof' does not exist; did you mean 'soft'?"),
        (lambda a: a.joint("soft").load("rackin", "torque"), "did you mean 'racking'?"),
        (lambda a: a.joint("soft").load("racking", "torqe"), "did you mean 'torque'?"),
        (lambda a: a.joint("soft").load("racking", "torque", side="prt"), "did you mean 'port'?"),
        (lambda a: a.joint("soft").curve("ptch"), "did you mean 'pitch'?"),
        (lambda a: a.joint("soft").shares("gst"), "did you mean 'gust'?"),
    ],
)
def test_an_unknown_name_names_the_nearest(analysis, read, words):
    """Every name that does not exist is an InputFault with the nearest that does."""
    with pytest.raises(InputFault) as caught:
        read(analysis)
    assert words in str(caught.value)


def test_results_have_short_reprs(analysis):
    """Thousands of numbers are not printed."""
    joint = analysis.joint("soft")
    shown = [analysis, analysis.study, joint, joint.result, joint.case("gust"), joint.envelope]
    shown += [*analysis.case_rows, *analysis.part_margins, analysis.case_rows[0].values]
    assert all(len(repr(one)) < 200 for one in shown)
    assert "gust" in repr(joint.case("gust"))


def test_nothing_is_worked_out_twice(monkeypatch):
    """The combinations of a boat are superposed once for each joint, and its variants run once, whoever asks."""
    whole = example_boat("demo")
    alloy = next(one for one in whole.variants if one.name == "alloy tube")
    file = whole.with_joints(["bolted plates", "taped socket"]).model_copy(update={"variants": [alloy]})
    calls, runs = [], []
    original, together = superposition.superpose, superposition.superpose_together

    def counted(*arguments):
        calls.append(arguments)
        return original(*arguments)

    def counted_together(several, *arguments):
        calls.extend(several)
        return together(several, *arguments)

    def counted_run(*arguments):
        runs.append(arguments)
        return run_study(*arguments)

    monkeypatch.setattr("cases.analyses.case_rows.superpose", counted)
    monkeypatch.setattr("cases.analyses.case_rows.superpose_together", counted_together)
    monkeypatch.setattr("cases.analyses.analysis.run_study", counted_run)
    analysis = analyse(file)
    for _ in range(2):
        _ = analysis.envelopes, analysis.part_margins, analysis.compared, analysis.remarks
        _ = analysis.fatigue_lives, analysis.case_rows
    boats = 1 + len(file.variants)
    assert len(runs) == boats
    joints = sum(len(one.study.joints) for one in analysis.compared)
    of_service = len(analysis.study.joints) * (file.service is not None)
    assert len(calls) == joints + of_service
    results(analysis)
    # the decision superposes other loads, once
    first = len(calls)
    results(analysis)
    assert (len(calls), len(runs)) == (first, boats)


def test_variants_analysed_beside_are_those_analysed_here(monkeypatch):
    """Another process gives the same numbers to the last digit, and the fault of a variant in which no joint has an answer."""
    monkeypatch.setattr(process, "available_cores", lambda: 2)
    file = example_boat("demo")

    def only(name):
        return ["service", *(f'joints."{joint.name}"' for joint in file.joints if joint.name != name)]

    given = [
        Variant(name="no martingale", without=["striker", "martingale", *only("bolted plates")]),
        Variant(name="loose", without=["longeron", 'cases."headsail off the prod"', *only("athwart pin")]),
    ]
    file = file.model_copy(update={"variants": given})
    with OtherProcess() as other:
        begun = [other.begin(partial(analysed_variant, file, one)) for one in file.variants]
        assert begun[-1].settled.wait(120)
        assert all(one.is_done for one in begun)
        there = [one.result() for one in begun]
    here = [analysed_variant(file, one) for one in file.variants]
    solved = [boats[0] for boats in (there, here)]
    for one, other in zip(*(boat.study.joints for boat in solved), strict=True):
        assert np.array_equal(one.solution.displacement, other.solution.displacement)
    assert repr(solved[0].part_margins[0].worst) == repr(solved[1].part_margins[0].worst)
    assert isinstance(there[1], StructureFault)
    assert str(there[1]) == str(here[1])


def test_the_package_shows_its_public_names():
    """`dir(cases)` is exactly what the package offers, and every name of it is there."""
    assert dir(cases) == sorted(cases.__all__)
    assert all(getattr(cases, name) is not None for name in dir(cases))
    with pytest.raises(AttributeError, match="no attribute 'analyze'"):
        cases.analyze  # noqa: B018
