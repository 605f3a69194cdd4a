"""Margins of a whole run: from a file's fitting to the table, and what they say of racking."""

import copy
import json
from dataclasses import replace

import numpy as np
import pytest

from cases.analyses.analysis import Analysis
from cases.analyses.case_rows import case_rows
from cases.analyses.part_margins import part_margins, rotation_capacity
from cases.analyses.study import run_study
from cases.report.data.results import results
from models.response.attraction import attraction_curve
from models.strength.margins import SERVICEABILITY, envelope, overall_outcome
from tests.models.boats import boat_file_of
from tests.models.joints.test_joint_lug import FITTING

CASES = [
    {"name": "racking", "kind": "racking", "force": "6 kN"},
    {"name": "one bow", "kind": "points", "also": [{"place": "port stem", "force": "0 1 8 kN"}]},
]
MIRRORED = [
    {"name": "racking", "kind": "racking", "force": "-6 kN"},
    {"name": "one bow", "kind": "points", "also": [{"place": "starboard stem", "force": "0 -1 8 kN"}]},
]


def study(cases=CASES, *, factors=None, **lugs):
    """The plain boat on the lug fitting, keys of its lugs changed."""
    joint = copy.deepcopy(FITTING)
    joint["lugs"] |= lugs
    file = boat_file_of([joint, {"name": "rigid", "kind": "rigid"}], cases, station=3.6, inboard=0.4)
    return run_study(file if factors is None else file.model_copy(update={"factors": factors}))


def margins_of(run, number=0, combinations=()):
    """A joint of a run over its cases and combinations."""
    joint = run.joints[number]
    rows = case_rows(joint.joint, joint.front, joint.solution, combinations)
    return part_margins(run.file, [joint], [rows])[0]


def checks_of(run):
    """All checks of the first joint over the cases."""
    found = margins_of(run)
    return (*found.own, *found.other_checks)


def test_a_thicker_lug_in_the_file_changes_its_margin():
    """From file to table: the lug's root gains when the file says 15 mm instead of 10."""
    margins = []
    for thickness in ("10 mm", "15 mm"):
        worst = [one for one, _ in margins_of(study(thickness=thickness, spacing="130 mm")).worst]
        margins.append(next(w.margin for w in worst if w.part == "port lug 1" and w.check == "lug's root"))
    assert margins[1] > margins[0]


def test_a_mirrored_boat_has_mirrored_margins():
    """The mirror image of every case gives on starboard what it gave on port."""
    here, there = (checks_of(study(cases)) for cases in (CASES, MIRRORED))
    swap = {"port": "starboard", "starboard": "port"}
    loads = {(c.part, c.check): c.load for c in there}
    for check in here:
        side, _, rest = check.part.partition(" ")
        if side in swap and check.kind == "checked":
            assert loads[f"{swap[side]} {rest}", check.check] == pytest.approx(check.load, rel=1e-6, abs=1e-9)


def test_the_governing_check_stands_first_and_the_unchecked_last():
    """The envelope is sorted by margin; what was not checked follows with its reason; the whole is JSON."""
    run = study()
    worst = [one for one, _ in margins_of(run).worst]
    margins = [w.margin for w in worst if w.kind == "checked"]
    assert margins == sorted(margins)
    kinds = [w.kind for w in worst]
    assert kinds == sorted(kinds)
    assert all(w.reason for w in worst if w.kind == "not checked")
    told = json.loads(results(Analysis(run)).json())["margins"][0]["checks"]
    assert [row["part"] for row in told] == [w.part for w in worst]


def test_an_undescribed_joint_is_not_known_to_hold():
    """Rigid describes no parts: not known, and no word on how little racking it forgives."""
    run = study()
    assert margins_of(run, 1).outcomes == ("not known", "not known")
    assert rotation_capacity(run.joints[1].joint, run.joints[1].curves["pitch"]) is None


def test_factors_of_the_file_enter_every_margin():
    """margin + 1 goes with one over the factor."""
    plain = study()
    doubled = plain.file.factors.model_copy(update={"yielding": 2 * plain.file.factors.yielding})
    once, twice = (
        next(c for c in checks_of(s) if c.check == "hole in bearing") for s in (plain, study(factors=doubled))
    )
    assert 2 * (twice.margin + 1) == pytest.approx(once.margin + 1)
    assert twice.factor == once.factor._replace(value=2 * once.factor.value)


def test_racking_at_the_forgiveness_fails_the_joint_by_its_torque():
    """The racking force that a fitting forgives puts on it the torque at its failure, by the exact curve."""
    result = study().joints[0]
    forgives = rotation_capacity(result.joint, result.curves["pitch"])
    torque = abs(result.cases[0].joint_load[0, 4]) / 6e3 * forgives.racking
    assert torque == pytest.approx(forgives.torque, rel=1e-6)
    assert forgives.twist == pytest.approx(forgives.torque / result.stiffness.springs[4])
    assert attraction_curve(result.front.boat, result.stiffness, "pitch").k_half > 0


def test_a_part_that_fails_fails_the_joint():
    """Scaled to ten times its worst load a joint fails, whatever is not known."""
    checks = checks_of(study())
    heavy = [replace(c, load=c.load * 1e3) if c.kind == "checked" else c for c in checks]
    assert overall_outcome(heavy) == "fails"
    assert envelope(heavy)[0].margin < 0
    assert np.isfinite(envelope(heavy)[0].margin)


def test_a_case_of_extreme_loads_has_the_factors_without_their_part_for_loads():
    """The same racking as an extreme load: every margin + 1 is 1.5 times as large, but where the factor is 1.5 or less; limits in
    service are kept under a load 1.5 times less.
    """
    working, extreme = (
        [check for check in checks_of(study([CASES[0] | {"level": level}])) if check.kind == "checked"]
        for level in ("working", "extreme")
    )
    assert any(check.margin.size for check in working)
    for one, other in zip(working, extreme, strict=True):
        gain = 1.5 if one.factor.name == SERVICEABILITY else min(1.5, one.factor.value)
        assert other.margin + 1 == pytest.approx(gain * (one.margin + 1), rel=1e-9)
        assert other.factor_in(0).name == f"{one.factor.name}, extreme load"


def test_a_combination_is_an_accident_with_a_whole_one_in_it():
    """A whole extreme case makes the combination extreme, half of it does not; a dive is extreme unless said to be none."""
    dive = {"name": "dive", "kind": "deck diving", "displacement": "9 t", "waterline": "12 m"}
    rig = {"name": "rig", "kind": "rig", "tension": "30 kN", "rake": "12 deg"}
    levels = boat_file_of([{"name": "rigid", "kind": "rigid"}], [dive, rig, CASES[0]]).load_levels
    assert {name for name, level in levels.items() if level == "extreme"} == {"dive", "dive 100 %, rig 50 %"}
    assert len(levels) == 3 + 2 + 4
    said = boat_file_of([{"name": "rigid", "kind": "rigid"}], [dive | {"level": "working"}, rig]).load_levels
    assert set(said.values()) == {"working"}
