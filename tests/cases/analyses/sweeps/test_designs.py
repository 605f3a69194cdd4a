"""The rows of a sweep are what a run of each design's own boat file says, number by number."""

import itertools
import json
import tomllib

import numpy as np
import pytest

from cases.analyses.analysis import analyse
from cases.analyses.sweeps.chunk import chunk_table
from cases.analyses.sweeps.columns import COMPONENTS, USUAL_COLUMNS
from cases.analyses.sweeps.plan import plan_sweep
from cases.input.boat_file import BoatFile
from cases.report.data.results import results
from femcore.base.errors import InputFaults
from femcore.base.toml import checked
from models.joints.rigid import RigidJoint
from models.response.front_end import SIDES, build
from tests.cases.analyses.sweeps.sweep_boat import BOAT, GRID, expected, grid_of, plan_of
from tests.models.boats import FILES

DEMO_GRID = """
joints = ["bolted lugs"]
[[vary]]
key = "stay.forward"
list = ["35 mm"]
[[vary]]
key = "crossbeam.section.diameter"
list = ["190 mm"]
"""


def test_a_row_is_the_run_of_its_own_boat_file():
    """Every usual column of the demo with keys set by hand in its tables is the number of its results.json, sign and all."""
    tables = tomllib.loads(FILES["demo"].read_text(encoding="utf-8"))
    names = ["bolted lugs"]
    tables = {key: value for key, value in tables.items() if key not in ("variants", "service")}
    tables["joints"] = [one for name in names for one in tables["joints"] if one["name"] == name]
    tables["cases"] = [
        one for one in tables["cases"] if one["name"] in ("gust", "racking", "racking by 60 mm")
    ]
    boat = checked(tables, BoatFile, "boat")
    plan = plan_sweep(boat, grid_of(DEMO_GRID))
    rows = chunk_table(plan, 0).to_pylist()
    tables["stay"]["forward"], tables["crossbeam"]["section"]["diameter"] = "35 mm", "190 mm"
    written = json.loads(results(analyse(checked(tables, BoatFile, "boat"))).json())
    assert [row["joint"] for row in rows] == names
    before = build(boat, RigidJoint(name="rigid").stiffness()).frame
    mass = before.point_mass.sum() + sum(before.line_mass * before.length)
    for number, row in enumerate(rows):
        joint, margins, design = (written[key][number] for key in ("joints", "margins", "design_loads"))
        checks = [one for one in margins["checks"] if one["worst_in"] is not None]
        racked = max(
            joint["cases"], key=lambda case: abs(np.subtract(*(case["stems"][side][2] for side in SIDES)))
        )
        added = [
            np.subtract(racked["joint_load"][side], racked["at_rest"]["joint_load"][side]) for side in SIDES
        ]
        own = [one for one in checks if one["part"].startswith(SIDES)]
        beside = [one for one in checks if one not in own]
        want = {
            **{f"{what}_{key}": of[0][name] for what, of in (("governing", checks), ("joint", own), ("beside", beside))
               for key, name in (("margin", "margin"), ("part", "part"), ("check", "check"), ("case", "worst_in"))},
            "not_checked": len(margins["checks"]) - len(checks),
            "racking_stiffness": joint["racking_stiffness"],
            "stiffer": joint["racking_stiffness"] / written["bare_racking_stiffness"],
            **{f"{part}_share": racked["shares"][part] for part in ("hull", "torque", "shear")},
            **{f"{part}_attraction": racked["attraction"][part] for part in ("torque", "bending")},
            "racking_torque": max(abs(of[4]) for of in added),
            "racking_bending": max(abs(of[3]) for of in added),
            **{one["component"].replace("-", "_").replace(" ", "_"): one["size"] for one in design["components"]},
        }  # fmt: skip
        for name, value in want.items():
            assert row[name] == (pytest.approx(value, rel=1e-9) if isinstance(value, float) else value), name
        assert set(want) == {column.name for column in USUAL_COLUMNS} - {
            "fittings_mass",
            "mass",
            "added_mass",
        }
        assert row["fittings_mass"] == pytest.approx(2 * sum(boat.joints[number].masses().values()), rel=0.1)
        assert row["mass"] - mass == pytest.approx(row["added_mass"], abs=1e-9)
        # a tube of 190 mm for one of 200 mm, 5.6 m of 12 mm of carbon: π × 10 mm × 5.6 m × 12 mm × 1,500 kg/m³ = 3.2 kg
        assert -3.5 < row["added_mass"] - row["fittings_mass"] < -2.5


def test_mass_is_length_times_mass_per_length():
    """Bows of 40 to 20 kg/m over 4 m and a beam of 8 kg/m over 5 m: 280 kg, 2 kg/m more on the beam adds 10 kg."""
    grid = '[[vary]]\nkey = "crossbeam.mass"\nlist = ["8 kg/m", "10 kg/m"]\n[[vary]]\nkey = "stay.up"\nlist = ["0 m"]\n'
    rows = [row for number in range(2) for row in expected(number, grid).to_pylist()]
    assert [row["mass"] for row in rows] == pytest.approx([280.0, 280.0, 290.0, 290.0], rel=1e-3)
    assert [row["added_mass"] for row in rows] == pytest.approx([0, 0, 10, 10], abs=1e-9)
    assert {row["fittings_mass"] for row in rows} == {None}


def test_torque_over_a_grid_follows_its_law():
    """T(k) = T_rigid k/(k + k_half): 1/T is a straight line over 1/k; of a joint that does not vary it stays."""
    rows = [row for number in range(4) for row in expected(number).to_pylist()]
    key = "joints.'=socket'.pitch"
    for height in (1.1, 1.3):
        some = [row for row in rows if row["crossbeam.height"] == height]
        k, t = (
            np.array([row[name] for row in some if row["joint"] == "=socket"])
            for name in (key, "racking_torque")
        )
        assert k == pytest.approx([1e4, 1e5, 1e6, 1e7], rel=1e-12)
        slopes = np.diff(1 / t) / np.diff(1 / k)
        assert slopes == pytest.approx([slopes[0]] * 3, rel=1e-6)
        assert len({row["racking_torque"] for row in some if row["joint"] == "pin"}) == 1


def test_chosen_columns_are_those_of_the_grid():
    """Columns by name; `joint_load` is every case, hull and component; no margin is worked out where none is wanted."""
    grid = 'columns = ["joint_load", "torque"]\njoints = ["pin"]\n' + GRID
    table = expected(0, grid)
    ways = itertools.product(("racking", "gust"), SIDES, COMPONENTS)
    names = [f"joint_load.{case}.{side}.{component}" for case, side, component in ways]
    assert table.column_names[3:] == ["joints.'=socket'.pitch", "crossbeam.height", *names, "torque"]
    row = table.to_pylist()[0]
    tables = tomllib.loads(BOAT)
    tables["joints"] = [tables["joints"][1]]
    [joint] = json.loads(results(analyse(checked(tables, BoatFile, "boat"))).json())["joints"]
    for case, side in itertools.product((0, 1), SIDES):
        load = [row[f"joint_load.{('racking', 'gust')[case]}.{side}.{x}"] for x in COMPONENTS]
        assert load == pytest.approx(joint["cases"][case]["joint_load"][side], rel=1e-9, abs=1e-6)


def test_a_design_without_an_answer_is_a_row_with_the_reason():
    """A mechanism, a value out of bounds and keys that do not fit one another leave their rows empty, and the others whole."""
    grid = """
[[vary]]
key = "joints.pin.axis"
list = [[1, 0, 0], [0, 1, 0]]
[[vary]]
key = "crossbeam.station"
list = ["3.4 m", "4.4 m"]
"""
    rows = [row for number in range(4) for row in expected(number, grid).to_pylist()]
    by = {(row["joint"], row["joints.pin.axis"], row["crossbeam.station"]): row for row in rows}
    assert len(by) == 8
    for (joint, axis, station), row in by.items():
        if station == 4.4:
            assert "crossbeam" in row["reason"]
        elif (joint, axis) == ("pin", "[0, 1, 0]"):
            assert "the crossbeam turns freely about its own axis" in row["reason"]
        else:
            assert row["reason"] == ""
        assert (row["torque"] is None) == bool(row["reason"])
        assert "\n" not in row["reason"]


@pytest.mark.parametrize(
    ("grid", "words"),
    [
        ('[[vary]]\nkey = "stay.forwrd"\nlist = ["1 mm"]', "did you mean 'forward'"),
        ('[[vary]]\nkey = "stay.forward"\nlist = ["1 kN", "2 kN"]', "'1 kN' is not a length"),
        ('[[vary]]\nkey = "joints.lug.pitch"\nlist = ["1 kN*m/rad"]', "'lug' does not exist"),
        ('joints = ["pn"]\n[[vary]]\nkey = "stay.up"\nlist = ["0 m"]', "did you mean 'pin'"),
        ('columns = ["torqe"]\n[[vary]]\nkey = "stay.up"\nlist = ["0 m"]', "did you mean 'torque'"),
    ],
)
def test_what_does_not_exist_is_refused_before_anything_is_worked_out(grid, words):
    """A key, joint or column that is none, and a key of which the boat takes no value."""
    with pytest.raises(InputFaults, match=words) as caught:
        plan_of(grid)
    assert str(caught.value).startswith("grid.toml: ")
    assert "design" not in str(caught.value)


def test_a_key_of_a_case_that_is_off_is_refused():
    """All its designs would be the same."""
    boat = BOAT + '[[cases]]\nname = "off"\non = false\nkind = "racking"\nforce = "1 kN"\n'
    with pytest.raises(InputFaults, match="switched off"):
        plan_of('[[vary]]\nkey = "cases.off.force"\nlist = ["1 kN", "2 kN"]', boat)


def test_one_value_for_several_keys():
    """`keys` have it all; the column has the first one's name."""
    grid = '[[vary]]\nkeys = ["stay.up", "stay.forward"]\nlist = ["50 mm"]\n'
    assert expected(0, grid).to_pylist()[0]["stay.up"] == 0.05
    apart = expected(0, '[[vary]]\nkey = "stay.up"\nlist = ["50 mm"]\n')
    assert expected(0, grid)["torque"].equals(apart["torque"])
    assert grid_of(grid).designs == 1
