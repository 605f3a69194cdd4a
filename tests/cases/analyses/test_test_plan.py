"""The plan of a test: information never harms, what sees the joint and what does not, and a fit that keeps what was planned."""

import tomllib
from itertools import pairwise

import numpy as np
import pytest

from cases.analyses.calibration import calibrate
from cases.analyses.stiffness_priors import prior_scatter
from cases.analyses.test_plan import (
    LIFT,
    LOAD_STEPS,
    ONE_BOW,
    one_bow_gauges,
    plan_test,
    scatter_of,
    water_of,
)
from cases.input.boat_file import BoatFile
from cases.input.boat_test import BoatTestFile
from cases.report.pages.plan_page import render
from femcore.base.errors import InputFault
from femcore.base.toml import checked
from models.response.front_end import build
from tests.cases.analyses.synthetic_test import boat, read
from tests.models.boats import ROOT, example_boat

DEMO = example_boat("demo")
PLAN = plan_test(DEMO, "bolted plates")
ROWS = {row.readings: row for row in PLAN.rows}
CUMULATIVE = [
    row for row in PLAN.rows if row.readings in ("none", "height of the bows") or row.readings.startswith("+")
]


def left(row, name):
    """Share of the prior's variance that readings leave."""
    return (row.unknowns[name] / PLAN.rows[0].unknowns[name]) ** 2


def test_before_any_reading_all_is_as_the_file_has_it():
    """The first row is the prior."""
    assert PLAN.rows[0].unknowns == pytest.approx(prior_scatter(DEMO, "bolted plates"))


def test_more_readings_never_leave_more_scatter():
    """Down the table each stiffness, torque and bending scatter no more than above; finer gauges no more than coarse ones."""
    for above, below in pairwise(CUMULATIVE):
        for name in PLAN.names:
            assert below.unknowns[name] <= above.unknowns[name] * (1 + 1e-9)
        assert below.torque <= above.torque * (1 + 1e-9)
        assert below.bending <= above.bending * (1 + 1e-9)
    coarse, fine = ROWS["+ turn of the beam's ends against the hulls in roll"], PLAN.rows[8]
    assert "0.05 mrad" in fine.readings
    assert all(fine.unknowns[name] < coarse.unknowns[name] * (1 + 1e-9) for name in PLAN.names)


def test_heights_and_inclinations_never_see_the_joints_twist_and_gauges_across_it_do():
    """Of its pitch less than 2 % is learned by all heights and inclinometers, more than 90 % by the turn of the beam's end."""
    seen = ROWS["+ roll of both hulls at the bulkhead"]
    assert left(seen, "joint_pitch") > 0.98
    across = ROWS["+ turn of the beam's ends against the hulls in pitch"]
    assert left(across, "joint_pitch") < 0.1
    assert across.torque < 0.5 * seen.torque
    assert ROWS["+ turn of the beam's ends against the hulls in roll"].bending < 0.5 * across.bending


def test_the_tube_is_measured_on_trestles():
    """No set of readings learns a tenth of the crossbeam's own EI or GJ."""
    for row in PLAN.rows:
        assert min(left(row, "crossbeam_EI"), left(row, "crossbeam_GJ")) > 0.9


def test_the_ranking_takes_the_best_gauge_each_time():
    """Sums of variances fall step by step, by no more each time than the first best gauge alone could bring; names are new."""
    squares = [PLAN.rows[0].torque ** 2 + PLAN.rows[0].bending ** 2]
    squares += [one.torque**2 + one.bending**2 for one in PLAN.ranking]
    assert squares == sorted(squares, reverse=True)
    assert len({one.gauge for one in PLAN.ranking}) == len(PLAN.ranking)
    every = ROWS["+ turn of the beam's ends against the hulls in roll"]
    assert squares[-1] >= every.torque**2 + every.bending**2
    assert squares[1] < 0.8 * squares[0]


def test_blocks_carry_what_statics_says():
    """One bow lifted by F at one corner of four: −F, −F and +F; both bows by F each: moments about the aft block."""
    assert list(PLAN.carried[ONE_BOW].values()) == pytest.approx([-LIFT, -LIFT, LIFT], abs=1e-3)
    both = PLAN.carried["both bows lifted"]
    arm, apart = DEMO.bows.length + 5.0, 5.0
    assert both["port hull at bulkhead"] == pytest.approx(-LIFT * arm / apart, rel=1e-6)
    assert sum(both.values()) == pytest.approx(-2 * LIFT, rel=1e-6)


def test_a_fit_of_such_a_test_leaves_the_planned_scatter():
    """The planned gauges and steps as a test's file, read without noise on the boat as described: covariances agree within 6 %.

    Hysteresis, which a fit looks for too and the plan does not, makes the difference.
    """
    of = boat()
    plan = plan_test(of, "plates")
    front = build(of, of.joints[0].stiffness())
    gauges = [gauge for group in one_bow_gauges(front).values() for gauge in group]
    tables = [
        {"name": g.name, "kind": g.kind, "place": g.place, "axis": g.axis, "scatter": scatter_of(g)}
        for g in gauges
    ]
    steps = [
        {"up": {"port stem": share * LIFT}, "readings": {g.name: 0.0 for g in gauges}} for share in LOAD_STEPS
    ]
    test = {
        "name": "t", "load_scatter": 0.0, "gauges": tables, "steps": steps,
        "supports": [{"place": place} for place in plan.supports],
    }  # fmt: skip
    file = {"title": "planned", "joint": "plates", "tests": [test]}
    found = calibrate(of, BoatTestFile(**read(file, of, {}, noise=0.0)))
    row = next(
        row for row in plan.rows if row.readings == "+ turn of the beam's ends against the hulls in roll"
    )
    for one in found.factors:
        assert one.after == pytest.approx(row.unknowns[one.name], rel=0.06)
    assert found.racking_scatter["torque"][1] == pytest.approx(row.torque, rel=0.06)
    assert found.racking_scatter["torque"][0] == pytest.approx(plan.rows[0].torque, rel=1e-6)


def test_the_waterline_is_that_of_the_boats_own_table():
    """[boat] has it: from the stems aft by its waterline, of its breadth; without, in proportion to bows and spacing."""
    text = (ROOT / "cases/boats/demo.toml").read_text(encoding="utf-8")
    table = '[boat]\nlength = "13.4 m"\nbeam = "7.6 m"\ndisplacement = "10 t"\nrig_height = "17 m"\nwaterline = "12.8 m"\n'
    raw = tomllib.loads(text)
    raw["boat"] = tomllib.loads(table + 'waterline_breadth = "0.9 m"\n')["boat"]
    known = water_of(checked(raw, BoatFile, "demo"))
    assert (known.aft, known.forward, known.breadth) == pytest.approx((4.4 - 12.8, 4.4, 0.9))
    plain = water_of(boat())
    assert (plain.forward, plain.breadth) == pytest.approx((4.0, 0.13 * 6.0))


def test_twice_the_lift_is_half_the_gauges_scatter():
    """Readings are linear in the load: all that is left depends on lift over scatter alone, and expected readings double."""
    one, two = plan_test(boat(), "plates", LIFT), plan_test(boat(), "plates", 2 * LIFT)
    for a, b in zip(one.expected, two.expected, strict=True):
        factor = 1.0 if a.load.startswith("weight") else 2.0
        assert b.change == pytest.approx(factor * a.change, rel=1e-9, abs=1e-15)
    assert two.rows[3].torque <= one.rows[3].torque


def test_the_page_has_this_boats_numbers_and_the_cautions():
    """The lift, what each block must carry, expected readings in mm and mrad, the sheet's rows, and that jacking can kill."""
    page = render(PLAN)
    assert "Jacking a boat can kill" in page
    stem = next(one for one in PLAN.expected if one.name == "height, port stem" and one.load == ONE_BOW)
    assert f"{1e3 * stem.change:.2f} mm" in page
    assert "starboard stem 5 kN less" in page
    assert "starboard hull at cockpit bulkhead 5 kN more" in page
    assert "starboard stem 7.5 kN" in page
    least = -1.5 * PLAN.carried["both bows lifted"]["port hull at bulkhead"] / 1e3
    assert f"port hull at bulkhead {least:.3g} kN" in page
    assert page.count('<tr><td class="n">') == len(LOAD_STEPS)
    assert "http" not in page.replace("http-equiv", "")
    assert np.isclose(PLAN.rows[0].torque, ROWS["none"].torque)


@pytest.mark.parametrize(
    ("of", "joint", "said"),
    [
        (DEMO, "bolted plate", "joint 'bolted plate' does not exist"),
        (boat(platform=None), None, "has root springs and no platform"),
    ],
)
def test_what_cannot_be_planned_is_one_sentence(of, joint, said):
    """An unknown joint; a boat with nothing aft of the roots."""
    with pytest.raises(InputFault) as caught:
        plan_test(of, joint)
    assert said in str(caught.value)
    assert ";" in str(caught.value)
