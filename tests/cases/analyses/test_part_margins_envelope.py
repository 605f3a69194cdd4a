"""Every part is judged over all combinations: what acts on it, and its margins, are those of solving every one of them."""

import numpy as np
import pytest

from cases.analyses.case_rows import case_rows
from cases.analyses.part_loads import part_loads
from cases.analyses.part_margins import part_margins
from cases.analyses.study import run_study
from cases.input.combinations import factor_matrix
from femcore.results.member_forces import member_forces
from femcore.solvers.buckling import buckling
from femcore.solvers.solution import solve
from models.checks.beam_walls import wall_checks
from models.response.front_end import CROSSBEAM, LONGERON, PROD
from models.response.joint_loads import truss_forces
from models.strength.margins import envelope
from tests.cases.analyses.test_envelope import RIG, RIGID, SEA, SIDEWAYS, SOFT, some, study
from tests.models.boats import FILES, MARTINGALE_STAYS, STRUT, example_boat
from tests.models.boats import LONGERON as LONGERON_TABLE

WALLED = "slender"
"""A boat of the house whose crossbeam and longeron are given by their sections."""


def directly(joint, combinations):
    """All combinations with a joint, each solved from its combined loads."""
    given = joint.solution
    factors = factor_matrix(combinations, given.names)
    bent = ((factors != 0) & given.second_order).any(axis=1)
    names = tuple(one.name for one in combinations)
    return factors, solve(joint.front.frame, given.loads.combined(factors, names), bent)


def gathered(run, number, combinations):
    """Rows of one joint, what acts on the parts in them, and the joint."""
    joint = run.joints[number]
    rows = case_rows(joint.joint, joint.front, joint.solution, combinations)
    cases = [case.case for case in joint.cases]
    return joint, rows, part_loads(cases, rows, np.zeros(len(rows.names)))


@pytest.fixture(scope="module")
def trussed_boat():
    """The plain boat with all parts: striker, stays, longeron with prod; a stay that pulls to one side too."""
    longeron = LONGERON_TABLE | {"prod": 1.2}
    return study(
        [SIDEWAYS, SEA, RIG], [RIGID, SOFT], striker=STRUT, martingale=MARTINGALE_STAYS, longeron=longeron
    )


def test_what_acts_on_the_parts_is_that_of_direct_solves(trussed_boat):
    """Striker, martingale, tang and beams get in every combination what its own solution gives them, slack stays too."""
    combinations = some([case.name for case in trussed_boat.cases], 30, seed=5)
    for number in range(len(trussed_boat.joints)):
        joint, rows, loads = gathered(trussed_boat, number, combinations)
        factors, direct = directly(joint, combinations)
        after, frame = len(joint.cases), joint.front.frame
        states = [truss_forces(direct, row) for row in range(len(combinations))]
        strut = np.array([state.strut for state in states])
        tension = np.array([max(state.tension.values()) for state in states])
        assert np.abs(loads.striker_compression[after:] - strut).max() <= 1e-9 * strut.max()
        assert np.abs(loads.tension[after:] - tension).max() <= 1e-9 * tension.max()
        pulls = np.array(
            [
                np.sum(
                    [load.force for load in case.case.loads() if load.place == "stay"] or [[0] * 3], axis=0
                )
                for case in joint.cases
            ]
        )
        pulls[1] = 0.0  # racking pulls at the stems
        assert loads.stay[after:] == pytest.approx(factors @ pulls, rel=1e-12)
        beam = member_forces(direct, frame.members[CROSSBEAM], 1).actions
        ahead = [member_forces(direct, frame.members[name], 1).actions for name in (LONGERON, PROD)]
        for values, expected in ((loads.crossbeam, beam), (loads.longeron, np.concatenate(ahead, axis=1))):
            # every place that was kept is one of the elements' ends, and the extremes are all there
            size = np.abs(expected).max()
            for extreme in (np.max, np.min):
                missed = extreme(values[after:], axis=1) - extreme(expected, axis=1)
                assert np.abs(missed).max() <= 1e-9 * size
        assert {"combined", "slack"} <= set(rows.method)


@pytest.mark.parametrize("name", FILES)
def test_parts_of_every_boat_are_judged_over_its_combinations(name):
    """Each boat's parts have as many loads as it has cases and combinations, and none of the worst is better than in a case."""
    run = run_study(example_boat(name))
    joint = run.joints[0]
    rows = case_rows(joint.joint, joint.front, joint.solution, run.file.expanded_combinations)
    over = part_margins(run.file, [joint], [rows])[0]
    alone = part_margins(run.file, [joint], [case_rows(joint.joint, joint.front, joint.solution)])[0]
    for check in (*over.own, *over.other_checks):
        assert len(check.load) == len(rows.names) == len(run.cases) + len(run.file.expanded_combinations)
    single = {
        (w.part, w.check): w.margin for w in envelope((*alone.own, *alone.other_checks)) if w.case is not None
    }
    for worst in envelope((*over.own, *over.other_checks)):
        if worst.case is not None:
            assert worst.margin <= single[worst.part, worst.check] + 1e-9


def test_the_beams_walls_are_judged_where_they_are_worst():
    """Of all places along the beams, closely looked at in every combination solved on its own, none is worse than was told."""
    run = run_study(example_boat(WALLED))
    joint, combinations = run.joints[0], run.file.expanded_combinations
    rows = case_rows(joint.joint, joint.front, joint.solution, combinations)
    found = part_margins(run.file, [joint], [rows])[0]
    _, direct = directly(joint, combinations)
    bows, station = run.file.bows, run.file.crossbeam.station
    for part, beam, members, length in (
        ("crossbeam", run.file.crossbeam, (CROSSBEAM,), bows.spacing - 2 * bows.inboard),
        ("longeron", run.file.longeron, (LONGERON, PROD), station + run.file.longeron.prod),
    ):
        told = [check for check in found.other_checks if check.part == part and check.kind == "checked"]
        assert told
        dense = [
            member_forces(answer, joint.front.frame.members[member], 3).actions.reshape(-1, 6)
            for answer in (joint.solution, direct)
            for member in members
        ]
        walls = wall_checks(beam.thin_walled, np.concatenate(dense), length)
        worst = {
            "first ply": walls.ply_factor,
            "wall buckled": walls.buckling_factor,
            "first yield": walls.proof_factor,
            "wrinkling of faces": walls.wrinkling_factor,
            "core in shear": walls.core_factor,
            "shear crimping": walls.crimping_factor,
        }
        for check in told:
            assert check.load.max() == pytest.approx(1 / worst[check.check].min(), rel=1e-9)


def test_the_frame_s_buckling_is_judged_over_combinations(trussed_boat):
    """The lowest of all load factors, of cases and combinations each solved for, is the one that is told."""
    combinations = some([case.name for case in trussed_boat.cases], 20, seed=7)
    joint, rows, _ = gathered(trussed_boat, 1, combinations)
    found = part_margins(trussed_boat.file, [joint], [rows])[0]
    check = next(check for check in found.other_checks if check.check == "buckled as a whole")
    _, direct = directly(joint, combinations)
    factors = [buckling(direct, row, 1).values for row in range(len(combinations))]
    cases = [case.buckling.factor for case in joint.cases if case.buckling]
    least = min([*cases, *(float(values[0]) for values in factors if len(values))])
    assert check.load.max() == pytest.approx(1 / least, rel=1e-7)


def test_a_combination_left_out_would_show(trussed_boat):
    """Without the combination that governs a part, its margin is another."""
    combinations = some([case.name for case in trussed_boat.cases], 30, seed=5)
    joint, rows, _ = gathered(trussed_boat, 0, combinations)
    found = part_margins(trussed_boat.file, [joint], [rows])[0]
    worst, name = found.governing_check(own=False)
    rest = [one for one in combinations if one.name != name]
    assert len(rest) == len(combinations) - 1
    fewer = part_margins(trussed_boat.file, [joint], [gathered(trussed_boat, 0, rest)[1]])[0]
    other = {(w.part, w.check): w.margin for w, _ in fewer.worst}
    assert other[worst.part, worst.check] > worst.margin
