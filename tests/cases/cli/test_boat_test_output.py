"""Tests on the boat in the terminal: every number of a table is that of the result, with its sign and unit."""

import io
from dataclasses import replace

import numpy as np
import pytest
from markupsafe import escape
from rich.console import Console

from cases.analyses.analysis import analyse
from cases.analyses.calibration import calibrate
from cases.analyses.stiffness_priors import scatter_after
from cases.analyses.test_plan import ONE_BOW, plan_test
from cases.cli.calibrate_output import calibration_tables
from cases.cli.plan_output import plan_tables
from cases.cli.run_summary import decision_lines
from cases.input.boat_test import BoatTestFile
from cases.report.data.calibration_words import factor_lines, racking_line, verdict_lines
from cases.report.data.words import quantity
from cases.report.pages.plan_page import render
from tests.cases.analyses.synthetic_test import altered, blank, boat, read

TRUTH = {"hull_GJ": 0.8, "platform_EI": 0.8, "joint_pitch": 0.6, "joint_roll": 1.4}
FALLS = {4, 5, 6}
BOAT = boat()
READINGS = read(blank(), BOAT, TRUTH, seed=2)
READINGS["tests"][0]["load_scatter"] = 0.02


def found_with(play):
    """The result where one gauge reads `play` more on the way down."""
    tables = altered(READINGS, "port bend", lambda step, value: value + (play if step in FALLS else 0.0))
    return calibrate(BOAT, BoatTestFile(**tables), "boat", "test")


FOUND = found_with(-4e-4)
PLAN = plan_test(BOAT, "plates")


def cells(table):
    """Rows of a table as text."""
    columns = [[str(cell) for cell in column.cells] for column in table.columns]
    return list(zip(*columns, strict=True))


def tables_of(shown):
    """Those of them that are tables, by the beginning of their title."""
    return {str(one.title): cells(one) for one in shown if hasattr(one, "columns")}


def test_a_run_with_a_test_says_the_fit_in_the_terminal():
    """The summary of `run --test` has the verdict of the fit, the factors quoted and the scatter left; without a test none."""
    study = analyse(BOAT)

    def printed(analysis):
        console = Console(width=4000, record=True, file=io.StringIO())
        console.print(decision_lines(analysis))
        return console.export_text()

    shown = printed(replace(study, test=FOUND))
    assert (
        f"Test on the boat, ‘{FOUND.title}’, with the joint ‘plates’. {next(verdict_lines(FOUND))}" in shown
    )
    for name, factor in FOUND.quoted.items():
        assert f"{name.replace('_', ' ')} × {factor:.3g}" in shown
    assert racking_line(FOUND) in shown
    assert "Test on the boat" not in printed(study)


def test_factors_are_shown_as_found_and_only_where_they_were_learned():
    """Factor to three digits, scatter before and after, learned share, each of its own unknown; loads after them."""
    rows = tables_of(calibration_tables(FOUND))["Stiffness, over that of the boat's file"]
    for row, one in zip(rows, FOUND.factors, strict=False):
        shown = f"{one.factor:.3g}" if one.learned >= 0.2 else "not quoted"
        assert row[:2] == (one.name.replace("_", " "), shown)
        assert [float(cell.split()[0]) for cell in row[2:4]] == pytest.approx(
            [100 * one.before, 100 * one.after], rel=0.06
        )
        assert float(row[4].split()[0]) == pytest.approx(100 * (1 - (one.after / one.before) ** 2), abs=0.6)
    [load] = rows[len(FOUND.factors) :]
    assert load[0] == "loads of ‘on the hard’"
    assert float(load[1]) == pytest.approx(FOUND.loads[0].factor, rel=0.01)


def test_values_gauges_and_joint_loads_are_those_of_the_result():
    """Before and after in their places, misses, scatter and hysteresis of each gauge, loads of each case."""
    shown = tables_of(calibration_tables(FOUND))
    for row, one in zip(shown["What follows from all factors"], FOUND.values, strict=True):
        sizes = (one.before, one.after, one.before_scatter, one.after_scatter)
        assert row == (one.name, *(quantity(size, one.unit) for size in sizes))
    for row, one in zip(shown["Gauges"], FOUND.gauges, strict=True):
        assert row[:3] == (one.test, one.gauge, str(one.readings))
        assert row[3:] == tuple(quantity(size, one.unit) for size in (one.miss, one.scatter, one.hysteresis))
    [row] = shown["Joint loads on the worse hull, by the factors quoted"]
    [case] = FOUND.joint_loads
    assert row == (case.case, *(quantity(size, "N·m") for size in (*case.torque, *case.bending)))
    last = str(calibration_tables(FOUND)[-1])
    before, after = FOUND.racking_scatter["torque"]
    assert f"torque {100 * before:.0f} % before and {100 * after:.0f} % after" in last


@pytest.mark.parametrize(("play", "word"), [(4e-4, "more"), (-4e-4, "less")])
def test_play_is_said_with_its_sense_and_size(play, word):
    """A gauge that reads more, or less, on the way down: the word follows its sign, the size is the hysteresis found."""
    found = found_with(play)
    [gauge] = [one for one in found.gauges if one.has_play]
    [line] = [line for line in verdict_lines(found) if line.startswith("Play")]
    assert np.sign(gauge.hysteresis) == np.sign(play)
    assert (
        f"reads {quantity(abs(gauge.hysteresis), 'rad')} {word} while load falls than while it grows" in line
    )


def test_slips_outliers_and_misfit_are_sentences_of_their_own():
    """A sign: the gauge, the factor and what corrects it. A single reading: step, what it reads, what is expected."""
    wrong = altered(READINGS, "port heel", lambda _, value: -value)
    found = calibrate(BOAT, BoatTestFile(**wrong), "boat", "test")
    lines = list(verdict_lines(found))
    assert lines[0].startswith("The model does not fit these readings, so that no factor is quoted.")
    [suspect] = found.suspects
    words = f"‘port heel’ of ‘on the hard’ reads with the wrong sign: −{-suspect.factor:.3g} times"
    assert words in lines[1]
    assert all(row[1] == "not quoted" for row in cells(calibration_tables(found)[3 + len(lines) - 2])[:9])
    assert lines[1].endswith("With that corrected, model and readings agree.")
    assert lines[0].endswith("as large by chance in less than 0.01 % of tests.")
    assert not any(line.startswith("Play") for line in lines)
    both = calibrate(
        BOAT, BoatTestFile(**altered(wrong, "port twist", lambda _, value: -value)), "boat", "test"
    )
    two = [line for line in verdict_lines(both) if "with the wrong sign" in line]
    assert len(two) == 2
    assert all(line.endswith("With both slips corrected, model and readings agree.") for line in two)
    one = altered(READINGS, "port twist", lambda step, value: value + (6e-4 if step == 3 else 0.0))
    off = calibrate(BOAT, BoatTestFile(**one), "boat", "test")
    [outlier] = off.outliers
    [line] = [line for line in verdict_lines(off) if line.startswith("Outlier")]
    assert "‘port twist’ in step 4" in line
    assert (
        f"reads {quantity(outlier.reading, 'rad')} where {quantity(outlier.expected, 'rad')} is expected"
        in line
    )


def test_correlations_and_what_was_not_learned_are_named():
    """Pairs beyond one half with their sign; the unlearned by name; what the boat does not have with the reason."""
    lines = list(factor_lines(replace(FOUND, absent={"joint_roll": "the joint is free in roll"})))
    names = [one.name for one in FOUND.factors]
    worst = np.abs(FOUND.correlation - np.eye(len(names)))
    i, j = (int(n) for n in np.unravel_index(int(worst.argmax()), worst.shape))
    pair = f"{names[max(i, j)]} and {names[min(i, j)]} {FOUND.correlation[i, j]:+.2f}".replace(
        "_", " "
    ).replace("-", "−")
    assert any(pair in line for line in lines)
    assert lines[0].startswith("Not quoted, since the test taught less than 20 % of them: ")
    assert "crossbeam EI" in lines[0]
    assert lines[-1] == "Not looked for: joint roll, as the joint is free in roll."


def test_scatter_is_written_so_that_a_file_has_no_less_than_was_left():
    """± of the coefficient of variation; of two members the larger of √2 σ of their mean and σ/√2 of their ratio."""
    assert scatter_after(BOAT, {"hull_EI": 0.1, "joint_pitch": 0.2}) == {"hull_EI": "± 10 %"}
    mean, ratio = 0.05, 0.3
    each = max(mean * np.sqrt(2), ratio / np.sqrt(2))
    written = scatter_after(BOAT, {"platform_EI": mean, "platform_fore_to_aft": ratio})
    assert written == {"platform_EI": f"± {100 * np.sqrt(np.expm1(each**2)):.2g} %"}
    assert scatter_after(BOAT, {"platform_EI": mean}) == {}


def test_the_plan_shows_its_own_numbers():
    """Torque and bending of each row, stiffness by columns, ranking, expected readings in mm and mrad with their signs."""
    readings, unknowns, ranking, expected = tables_of(plan_tables(PLAN)).values()
    for row, one in zip(readings, PLAN.rows, strict=True):
        assert row[1:] == (one.readings, f"{100 * one.torque:.0f} %", f"{100 * one.bending:.0f} %")
    for row, name in zip(unknowns, PLAN.names, strict=True):
        assert row == (name.replace("_", " "), *(f"{100 * one.unknowns[name]:.0f}" for one in PLAN.rows))
    for row, one in zip(ranking, PLAN.ranking, strict=True):
        assert row == (one.gauge, f"{100 * one.torque:.0f} %", f"{100 * one.bending:.0f} %")
    for row, one in zip(expected, PLAN.expected, strict=True):
        change = f"{1e3 * one.change:.2f}".replace("-", "−").replace("−0.00", "0.00")
        assert row == (one.load, one.name, f"{change} m{one.unit}", f"{1e3 * one.scatter:.2f} m{one.unit}")


def test_the_page_shows_the_same_numbers_as_the_terminal():
    """Each row of the page's tables has the cells of the plan, in order."""
    page = render(PLAN)
    for one in PLAN.rows:
        values = "".join(
            f'<td class="n">{100 * v:.0f} %</td>' for v in (*one.unknowns.values(), one.torque, one.bending)
        )
        assert f'<td class="lead">{escape(one.readings)}</td>{values}</tr>' in page
    for one in PLAN.ranking:
        cells_ = f'<td class="n">{100 * one.torque:.0f} %</td><td class="n">{100 * one.bending:.0f} %</td>'
        assert f'<td class="lead">{escape(one.gauge)}</td>{cells_}' in page
    lifted = [one for one in PLAN.expected if one.load == ONE_BOW]
    assert page.count('<th scope="col">height, port stem</th>') == 1
    assert all(f'<th scope="col">{escape(one.name)}</th>' in page for one in lifted)
