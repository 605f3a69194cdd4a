"""The error from division into elements: estimated by halving them, held against far finer ones and against exact beams."""

import numpy as np
import pytest

from cases.analyses.analysis import Analysis
from cases.analyses.discretisation import discretisation_of
from cases.analyses.solved_cases import solve_cases
from cases.analyses.study import run_study
from cases.report.data.results import results
from cases.report.data.statements import discretisation_words
from models.response.joint_loads import joint_loads, stem_movements
from tests.models.boats import BOW, boat_file_of

JOINTS = [{"name": "rigid", "kind": "rigid"}, {"name": "hinged", "kind": "pinned", "axis": [1, 0, 0]}]
CASES = [
    {"name": "racking", "kind": "racking", "force": "6 kN"},
    {"name": "lifted", "kind": "jack", "force": "5 kN"},
]
TAPER = {key: value / 20 for key, value in BOW.items() if key.startswith(("EI", "GJ"))}
"""A stem a twentieth as stiff as the root."""


def study(divide=12, cases=CASES, **keys):
    """The plain boat, its bows in so many elements."""
    file = boat_file_of(JOINTS, cases, station=3.0, inboard=0.5, **keys)
    return run_study(file.model_copy(update={"bows": file.bows.model_copy(update={"divide": divide})}))


def test_the_estimate_is_the_error_against_elements_32_times_as_fine():
    """On a strong taper, the estimate is the true error of stems, forces and moments to within a quarter."""
    for result in study(tip=TAPER).joints:
        cases = [found.case for found in result.cases]
        exact = solve_cases(result.front.boat, "", result.joint.stiffness(), cases, refine=32)
        for number, error in enumerate(discretisation_of([result])[0]):
            both = (result.front, result.solution), (exact.front, exact.solution)
            stems = [stem_movements(*of)[number, :, :3] for of in both]
            loads = [joint_loads(of)[number] for of in (result.solution, exact.solution)]
            for estimate, (got, want) in (
                (error.stems, stems),
                (error.force, [x[:, :3] for x in loads]),
                (error.moment, [x[:, 3:] for x in loads]),
            ):
                if np.abs(want).max() < 1e-5:
                    assert not estimate
                    continue
                true = np.abs(got - want).max() / np.abs(want).max()
                assert estimate == pytest.approx(true, rel=0.25, abs=1e-7)
        assert discretisation_of([result])[0][0].stems > 1e-4


def test_the_estimate_falls_with_the_square_of_the_length():
    """Twice the elements, a quarter of the error (Richardson)."""
    coarse, fine = (discretisation_of(study(n, tip=TAPER).joints)[0][0] for n in (12, 24))
    assert fine.stems == pytest.approx(coarse.stems / 4, rel=0.1)


def test_uniform_beams_are_exact_at_their_nodes():
    """Without taper and in first order nothing depends on division, whatever acts along the beams."""
    line = {
        "name": "line",
        "kind": "points",
        "line": [{"member": "crossbeam", "force": "0 0 -200 N/m", "begin": "0.3 m", "arm": "0.2 0 0 m"}],
    }
    for result in study(cases=[*CASES, line]).joints:
        assert max(error.largest for error in discretisation_of([result])[0]) < 1e-7


def test_deformed_shapes_have_an_error_too():
    """In second order an element's cubic is not its shape: the estimate sees it where the solver's own error does not."""
    cases = [CASES[0] | {"second_order": True}]
    [[error]] = discretisation_of(study(4, cases, tip=TAPER).joints[:1])
    assert error.largest > 1e-4


def test_results_terminal_and_report_have_the_same_estimate():
    """Case by case in the results; the largest in a sentence, with joint and case."""
    found = Analysis(study(6, tip=TAPER))
    rows = [case.discretisation for joint in results(found).joints for case in joint.cases]
    assert [row.stems for row in rows] == [error.stems for errors in found.discretisation for error in errors]
    words = discretisation_words(found)
    largest = max(row.stems for row in rows)
    assert f"at most {100 * largest:.2g} % of stem movements" in words
    assert "Raise divide" in words
    assert "Raise divide" not in discretisation_words(Analysis(study(24, tip=TAPER)))


def test_a_joint_without_an_answer_for_halved_elements_is_named_as_not_estimated():
    """What could not be estimated is said, and is null in the results: none is made up."""
    found = Analysis(study())
    found.__dict__["discretisation"] = (None, found.discretisation[1])
    assert "Not estimated with 1 joint: no answer with halved elements." in discretisation_words(found)
    assert all(case.discretisation is None for case in results(found).joints[0].cases)
