"""A test on the boat in the report: its sentences, its tables with the result's numbers, its key in the results."""

import json

import jsonschema
import pytest

from cases.analyses.analysis import analyse
from cases.analyses.calibration import calibrate
from cases.input.boat_test import BoatTestFile
from cases.report.data.calibration_words import verdict_lines
from cases.report.output import Form, write
from cases.report.sections.boat_test_section import boat_test_section
from tests.cases.analyses.synthetic_test import altered, blank, boat, read

BOAT = boat()
FOUND = calibrate(BOAT, BoatTestFile(**read(blank(), BOAT, {"joint_pitch": 0.6, "hull_GJ": 0.8}, seed=8)))


def rows(section, name):
    """Of a table of the section, by the name of its file."""
    return next(table.rows for table in (*section.tables, *section.unshown) if table.name == name)


def test_a_run_without_a_test_has_no_such_section():
    """None, so that the page says nothing of it."""
    analysis = analyse(BOAT)
    assert boat_test_section(analysis.study, analysis) is None


def test_the_section_has_the_results_numbers():
    """Factors where they are quoted, shares, loads before and after, values and gauges, each in its column."""
    analysis = analyse(BOAT, "boat.toml", FOUND).with_answers()
    section = boat_test_section(analysis.study, analysis)
    assert set(verdict_lines(FOUND)) <= set(section.words)
    for row, one in zip(rows(section, "test_factors"), FOUND.factors, strict=True):
        quoted = one.factor if one.learned >= 0.2 else None
        assert row == (one.name.replace("_", " "), quoted, one.before, one.after, max(one.learned, 0.0))
    [row] = rows(section, "test_joint_loads")
    [case] = FOUND.joint_loads
    assert row == ("racking", case.torque[0], case.torque[1], case.bending[0], case.bending[1])
    for row, one in zip(rows(section, "test_values"), FOUND.values, strict=True):
        assert row == (one.name, one.unit, one.before, one.after, one.before_scatter, one.after_scatter)
    for row, one in zip(rows(section, "test_gauges"), FOUND.gauges, strict=True):
        assert row == (one.test, one.gauge, one.unit, one.readings, one.miss, one.scatter, one.hysteresis)


def test_a_test_that_does_not_fit_quotes_no_factor():
    """The column of factors is empty, and the sentence says why."""
    wrong = altered(
        read(blank(), BOAT, {}, seed=8), "port heel", lambda step, value: value + 1e-2 * (step % 2)
    )
    analysis = analyse(BOAT, "boat.toml", calibrate(BOAT, BoatTestFile(**wrong)))
    section = boat_test_section(analysis.study, analysis)
    assert all(row[1] is None for row in rows(section, "test_factors"))
    assert any("The model does not fit these readings" in sentence for sentence in section.words)


@pytest.mark.parametrize("found", [None, FOUND])
def test_the_results_have_the_test_as_their_schema_says(found, tmp_path):
    """`test` is null without one; with one its factors and joint loads are those found, and its tables are CSV files beside."""
    written = write(analyse(BOAT, "boat.toml", found).with_answers(), tmp_path / "out", Form(pictures=False))
    results = json.loads((written.folder / "results.json").read_text(encoding="utf-8"))
    jsonschema.validate(
        results, json.loads((written.folder / "results.schema.json").read_text(encoding="utf-8"))
    )
    if found is None:
        assert results["test"] is None
        return
    assert [one["factor"] for one in results["test"]["factors"]] == [one.factor for one in FOUND.factors]
    assert results["test"]["joint_loads"][0]["torque"] == list(FOUND.joint_loads[0].torque)
    assert any(name.endswith("test_factors.csv") for name in written.files)
