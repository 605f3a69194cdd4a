"""Envelopes over cases and combinations: each value equals a direct solve, each worst the worst of all rows."""

import json
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from cases.analyses.analysis import Analysis
from cases.analyses.case_rows import ROW_METHODS, Responses, case_rows, combine, responses
from cases.analyses.comparison import compare, rows
from cases.analyses.envelope import envelope, extremes
from cases.analyses.fatigue_life import fatigue_lives
from cases.analyses.study import run_study
from cases.input.boat_file import BoatFile
from cases.input.combinations import ExpandedCombination
from cases.input.service import ServiceLife
from cases.loads.racking import Racking
from cases.report.data.results import results
from femcore.base.errors import StructureFault
from femcore.frame.frame import ACTIONS
from femcore.solvers.solution import solve
from models.response.front_end import SIDES
from tests.models.boats import (
    FILES,
    LONGERON,
    MARTINGALE_STAYS,
    MIRROR,
    STRUT,
    boat_file_of,
    example_boat,
    validated,
)

RIGID, FORK = {"name": "rigid", "kind": "rigid"}, {"name": "fork", "kind": "pinned", "axis": [1, 0, 0]}
SOFT = {"name": "soft", "kind": "sprung", "pitch": "200 kN*m/rad", "roll": "300 kN*m/rad"}
RIG = {"name": "rig", "kind": "rig", "tension": "40 kN", "rake": "14 deg"}
SIDEWAYS = RIG | {"name": "sideways", "side_load": "60 N/m", "length": "15 m"}
SEA = {"name": "sea", "kind": "racking", "force": "4 kN"}
MOVED = {"name": "moved", "kind": "racking", "movement": "60 mm"}
WEIGHT = {"name": "weight", "kind": "weight"}
WARM = {"name": "warm", "kind": "temperature", "crossbeam": "30 delta_degC"}
BOAT = {"station": 3.4, "height": 0.4, "inboard": 0.4, "root": {"pitch": 8e6, "roll": 9e6}}
TRUSS = {"striker": STRUT, "martingale": MARTINGALE_STAYS}
KINDS = list(Responses.__dataclass_fields__)


def study(cases, joints=(RIGID, FORK, SOFT), **keys):
    """A run of the plain boat."""
    return run_study(
        boat_file_of(list(joints), list(cases), **BOAT | {"stay": {"forward": 0.05, "up": 0.15}} | keys)
    )


def some(names, count, seed=1):
    """Random combinations of all cases."""
    factors = np.random.default_rng(seed).uniform(-1.5, 1.5, (count, len(names)))
    return [
        ExpandedCombination(f"sum {n}", "", dict(zip(names, map(float, row), strict=True)))
        for n, row in enumerate(factors)
    ]


def directly(joint, combinations):
    """The readings of combinations, each solved on its own from its combined loads, and what the solver did."""
    names, found = list(joint.solution.names), []
    for one in combinations:
        factors = np.array([[one.factors.get(name, 0.0) for name in names]])
        bent = bool(joint.solution.second_order[factors[0] != 0].any())
        found.append(solve(joint.front.frame, joint.solution.loads.combined(factors, (one.name,)), bent))
    return [responses(joint.front, solution) for solution in found], found


def envelope_of(joint, combinations):
    """Of one joint of a study over its cases and these combinations."""
    return envelope(case_rows(joint.joint, joint.front, joint.solution, combinations))


def agree(found, joint, combinations, rel=1e-9):
    """Every row of an envelope after the cases is that of the direct solve."""
    rows, solutions = directly(joint, combinations)
    cases = len(joint.cases)
    for kind in KINDS:
        values, expected = (
            getattr(found.rows.values, kind)[cases:],
            np.concatenate([getattr(row, kind) for row in rows]),
        )
        for part in (slice(0, 3), slice(3, 6)) if expected.ndim > 2 else (slice(None),):
            # of the largest of its kind; where a joint carries no moment at all, of a thousandth of its forces
            size = max(np.abs(expected[..., part]).max(initial=0), 1e-3 * np.abs(expected).max(initial=0))
            assert np.abs(values - expected)[..., part].max(initial=0) <= rel * size, (kind, part)
    return solutions


@pytest.mark.parametrize("pretension", [0.0, 30e3])
def test_a_combination_is_the_direct_solve(pretension):
    """Unit solutions with pretension, weight and warmth combine to the direct solve, to 1e-9, whatever slackens."""
    cases = [RIG, SEA, MOVED, WEIGHT, WARM]
    truss = {"striker": STRUT | {"mass": 2.0}, "martingale": MARTINGALE_STAYS}
    made = boat_file_of([RIGID, FORK, SOFT], cases, **BOAT | truss | {"beam": {"mass": 8.0}})
    tables = made._raw
    tables["martingale"] |= {"pretension": f"{pretension} N"}
    tables["crossbeam"] |= {"expansion": "20e-6 1/K"}
    run = run_study(validated(type(made), tables))
    combinations = some([case.name for case in run.cases], 25)
    done = set()
    for joint in run.joints:
        found = envelope_of(joint, combinations)
        solutions = agree(found, joint, combinations)
        slack = [bool(solution.slack.any()) for solution in solutions]
        assert [how == "slack" for how in found.rows.method[len(cases) :]] == slack
        assert max(found.rows.error.max(), found.rows.balance.max()) < 1e-10
        done |= set(found.rows.method)
    assert done == {"case", "slack", "combined"}


def test_second_order_is_solved_anew():
    """Combinations that hold a case of second order are solved in their deformed shape, the others combined."""
    run = study([RIG | {"second_order": True}, SEA], [SOFT])
    combinations = [
        ExpandedCombination("both", "", {"rig": 1.1, "sea": 0.5}),
        ExpandedCombination("sea twice", "", {"sea": 2.0, "rig": 0.0}),
    ]
    found = envelope_of(run.joints[0], combinations)
    assert found.rows.method == ("case", "case", "deformed", "combined")
    agree(found, run.joints[0], combinations)
    first = envelope_of(study([RIG, SEA], [SOFT]).joints[0], combinations).rows.values.joint_load[2]
    assert np.abs(found.rows.values.joint_load[2] - first).max() > 1e-4 * np.abs(first).max()


def test_an_imposed_movement_is_combined_after_it_is_reached():
    """Half of a case that moves the stems 60 mm apart moves them 30 mm apart, with any joint."""
    run = study([RIG, MOVED])
    for joint in run.joints:
        found = envelope_of(joint, [ExpandedCombination("half", "", {"moved": 0.5})])
        port, starboard = found.rows.values.stems[-1, :, 2]
        assert port - starboard == pytest.approx(0.03, rel=1e-10)


@cache
def example_boat_file(name):
    """The study of a boat that the house hands out."""
    return run_study(example_boat(name))


@pytest.mark.parametrize("name", FILES)
def test_every_boat_of_the_house_has_its_envelope(name):
    """The combinations of every boat file hold for every joint, and two of them equal the direct solve."""
    run = example_boat_file(name)
    combinations = run.file.expanded_combinations
    assert combinations
    for joint, found in zip(run.joints, Analysis(run).envelopes, strict=True):
        assert found.rows.names == (*joint.solution.names, *(one.name for one in combinations))
        assert set(found.rows.method) <= set(ROW_METHODS)
        assert max(found.rows.error.max(), found.rows.balance.max()) < 1e-8
        few = [combinations[0], combinations[-1]]
        agree(envelope_of(joint, few), joint, few, 1e-8 if joint.solution.second_order.any() else 1e-9)


@pytest.mark.parametrize("name", FILES)
def test_every_boat_of_the_house_wears_and_varies(name):
    """Every boat file takes a service and a variant of its own, whatever stands in it."""
    run = example_boat_file(name)
    racking = next(case.name for case in run.cases if isinstance(case, Racking))
    service = {"distance": "20000 nmi", "per_mile": 100, "case": racking, "about": run.cases[0].name}
    weld = {
        "name": "weld",
        "component": "torque",
        "curve": "alloy fillet weld, toe",
        "stress_per": "9 kPa/(N*m)",
    }
    living = run.file.model_copy(
        update={"service": ServiceLife.model_validate(service | {"details": [weld]})}
    )
    for joint in fatigue_lives(replace(run, file=living)).joints:
        assert joint.lives[0].damage >= 0
        assert joint.ranges.max() > 0
    stiffer = {"name": "on rigid roots", "without": ["platform"]}
    raw = {key: value for key, value in run.file.raw.items() if key != "service"}
    # waves twist the platform that the variant leaves out
    dry = [case for case in raw["cases"] if case["kind"] != "waves"]
    raw |= {"joints": raw["joints"][:1], "variants": [stiffer], "cases": dry}
    stiffness = {row.quantity: row.values for row in rows(compare(validated(BoatFile, raw)))}[
        "racking stiffness"
    ]
    assert stiffness[1] > stiffness[0]


def test_the_worst_is_the_worst_by_brute_force():
    """Each highest and lowest value is that of a loop over all rows, and the row that it names has it."""
    run = study([SIDEWAYS, SEA, MOVED], striker=STRUT, martingale=MARTINGALE_STAYS, longeron=LONGERON)
    combinations = some([case.name for case in run.cases], 40, seed=3)
    for joint in run.joints:
        found = envelope_of(joint, combinations)
        for kind in KINDS:
            values, worst = getattr(found.rows.values, kind), found.worst[kind]
            assert len(values) == len(found.rows.names) == 43
            for at in np.ndindex(values.shape[1:]):
                column = [float(row[at]) for row in values]
                assert worst.highest[at] == max(column)
                assert worst.lowest[at] == min(column)
                scale = 1e-8 * max(map(abs, column))
                assert column[worst.highest_in[at]] == pytest.approx(max(column), abs=scale)
                assert column[worst.lowest_in[at]] == pytest.approx(min(column), abs=scale)


def test_of_rows_as_bad_the_first_is_named():
    """Values that differ by rounding are one, so that the row named does not hang on rounding."""
    found = extremes(np.array([[1.0, -2.0], [1.0 + 1e-13, -2.0 - 1e-13], [0.5, 3.0]]))
    assert found.highest_in.tolist() == [0, 2]
    assert found.lowest_in.tolist() == [2, 0]


def test_the_readings_are_those_of_the_study():
    """Rows of single cases hold the joint loads, stems, tensions and beam actions that the study tells."""
    run = study([RIG, SEA], **TRUSS)
    for joint in run.joints:
        found = envelope_of(joint, [])
        assert found.rows.method == ("case", "case")
        for number, case in enumerate(joint.cases):
            assert np.array_equal(found.rows.values.joint_load[number], case.joint_load)
            assert np.array_equal(found.rows.values.stems[number], case.stems)
            assert (
                dict(zip(found.cables, found.rows.values.tension[number], strict=True)) == case.truss.tension
            )
        assert np.array_equal(found.rows.values.crossbeam, joint.crossbeam.actions)
        assert np.array_equal(found.along["crossbeam"], joint.crossbeam.station)


def test_a_mirrored_load_gives_the_mirrored_envelope():
    """The boat is its own mirror image: mirrored cases swap port and starboard, and turn what has a hand."""
    other = SIDEWAYS | {"side_load": "-60 N/m"}
    one = study([SIDEWAYS, SEA], **TRUSS)
    two = study([other, SEA | {"force": "-4 kN"}], **TRUSS)
    for left, right in zip(Analysis(one).envelopes, Analysis(two).envelopes, strict=True):
        assert len(left.rows.names) == 2 + 4
        for kind in ("joint_load", "stems"):
            a, b = left.worst[kind], right.worst[kind]
            size = np.abs(a.highest).max() + np.abs(a.lowest).max()
            keeps = MIRROR > 0
            for mine, its in ((a.highest, b.highest), (a.lowest, b.lowest)):
                assert mine[:, keeps] == pytest.approx(its[::-1][:, keeps], abs=1e-9 * size)
            assert a.highest[:, ~keeps] == pytest.approx(-b.lowest[::-1][:, ~keeps], abs=1e-9 * size)
        assert left.worst["tension"].highest == pytest.approx(right.worst["tension"].highest[::-1], rel=1e-9)


def test_the_data_say_all_of_it():
    """The envelope as data is JSON without NaN, and its worst values are those of the rows that it names."""
    run = study([RIG, SEA], **TRUSS)
    data = json.loads(results(Analysis(run)).json())["envelope"]
    assert not data["entered"]
    assert "12215-7" in data["reason"]
    assert [one["name"] for one in data["combinations"]] == [
        one.name for one in run.file.expanded_combinations
    ]
    for joint, found in zip(data["joints"], Analysis(run).envelopes, strict=True):
        names = [row["name"] for row in joint["rows"]]
        assert names == list(found.rows.names)
        for side, loads in enumerate(joint["joint_load"].values()):
            for column, worst in enumerate(loads.values()):
                row = names.index(worst["highest_in"])
                value = found.rows.values.joint_load[row, side, column]
                assert worst["highest"] == pytest.approx(value, rel=1e-8, abs=1e-6)
        assert list(joint["joint_load"]) == list(SIDES)
        line = joint["crossbeam"]
        assert list(line["actions"]) == list(ACTIONS)
        assert all(
            len(worst[key]) == len(line["station"]) for worst in line["actions"].values() for key in worst
        )


def test_what_cannot_be_solved_names_joint_and_combination():
    """A combination that buckles in its deformed shape is told by the joint's name and its own."""
    run = study([RIG | {"second_order": True}, SEA], [SOFT], **TRUSS)
    with pytest.raises(StructureFault, match=r"joint 'soft': case 'far too much' .*deformed"):
        combine(
            run.joints[0].joint,
            run.joints[0].solution,
            [ExpandedCombination("far too much", "", {"rig": 400.0})],
        )


def test_a_wrong_factor_would_show():
    """With one factor changed, an envelope's rows are not those of the direct solve."""
    joint = study([RIG, SEA], [SOFT]).joints[0]
    combinations = some(["rig", "sea"], 3)
    wrong = [replace(one, factors=one.factors | {"sea": one.factors["sea"] + 0.01}) for one in combinations]
    agree(envelope_of(joint, combinations), joint, combinations)
    with pytest.raises(AssertionError):
        agree(envelope_of(joint, wrong), joint, combinations)
