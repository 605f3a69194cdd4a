"""Every number of the page's answers against the analysis of the file that it reads: by value, sign, hull and component.

The answer is walked leaf by leaf: `expected` gives the same tree by expressions of its own, so that a leaf in one of both alone
turns a test red. The boat has martingale, pretension, second order, loads on one side and the starboard side worse.
"""

import math

import numpy as np
import pytest
import tomlkit

from cases.analyses.analysis import Analysis
from cases.analyses.study import run_study
from cases.page.answer import answer
from cases.page.engineer import in_row, scattered
from cases.page.state import BoatText
from models.response.front_end import SIDES
from tests.cases.report.figures_read import figure, figures
from tests.cases.report.numbers_boat import analysis as of_both
from tests.cases.report.test_numbers_out import COMPONENTS, REL_TOL_EQUAL
from tests.models.boats import BEAM

UNITS = ("N", "N", "N", "N·m", "N·m", "N·m")
PITCH, ROLL = 4, 3
JOINTS = ("lug", "sprung")


@pytest.fixture(scope="module")
def page(tmp_path_factory):
    """The boat as the page reads it."""
    path = tmp_path_factory.mktemp("page") / "boat.toml"
    path.write_text(tomlkit.dumps(of_both().file.raw), encoding="utf-8")
    return BoatText.read(path)


@pytest.fixture(scope="module")
def alone(page):
    """The analysis of each joint alone, by the ordinary way."""
    return {name: Analysis(run_study(page.boat.with_joints([name]))) for name in JOINTS}


def check(one, row, own):
    """A check as the page gets it: of `one`, a governing check in a row; None where it was not made."""
    made = row is not None
    side = next((f"{name} " for name in SIDES if one.part.startswith(f"{name} ")), "")
    return {
        "part": one.part, "any_side": one.part.removeprefix(side), "check": one.check, "own": one.part in own,
        "margin": one.allowable / (one.factor.value * one.load) - 1 if made and one.load else one.margin,
        "load": one.load, "allowable": one.allowable, "unit": one.unit, "factor_value": one.factor.value if made else None,
        "source": one.source, "remark": one.remark, "row": row,
    }  # fmt: skip


def own_parts(made):
    """Names of the joint's own parts."""
    return {one.part for one in made.part_margins[0].own}


def curve(one, rigid):
    """Points of the exact curve M(k)/M_rigid, two decades to either side of k_half."""
    k = np.logspace(-2, 2, 61) * one.k_half
    moment = (one.free_moment * one.k_half + one.rigid_moment * k) / (k + one.k_half)
    own = one.joint_stiffness
    share = (
        1.0
        if math.isinf(own)
        else (one.free_moment * one.k_half + one.rigid_moment * own) / (own + one.k_half) / rigid
    )
    return {"half": one.k_half, "own": own, "share": share, "points": np.column_stack([k, moment / rigid])}  # fmt: skip


def case_row(made, number):
    """Of a case or combination: both hulls' loads, shares of what racks, both tensions."""
    values = made.case_rows[0].values
    name = made.case_rows[0].names[number]
    shares = next((c.shares for c in made.study.joints[0].cases if c.case.name == name), None)
    return {
        "name": name, "load": dict(zip(SIDES, values.joint_load[number], strict=True)),
        "shares": shares and {"hull": shares.hull, "torque": shares.torque, "shear": shares.shear},
        "tension": values.tension[number],
    }  # fmt: skip


def stay_of():
    """The eye is 0.05 m ahead of the axis and 0.12 m above; the stay pulls 30 kN at 12° aft: worked by hand."""
    rake = math.radians(12)
    across = 0.12 * math.sin(rake) + 0.05 * math.cos(rake)
    return {
        "rig": {"offset": -across, "torque": -30e3 * across, "rake": rake, "free": -0.12 * math.tan(rake)}
    }


def expected(made):
    """The whole answer but its sentences."""
    [joint], [margins], [rows] = made.study.joints, made.part_margins, made.case_rows
    size, own = np.abs(rows.values.joint_load), own_parts(made)
    known = [(one, name) for one, name in margins.worst if name is not None]
    loads = []
    for k, component in enumerate(COMPONENTS):
        alike = size[..., k] >= size[..., k].max() * (
            1 - REL_TOL_EQUAL
        )  # of equal ones but for rounding the first
        row, side = np.unravel_index(alike.argmax(), size.shape[:2])
        loads.append(
            {"component": component, "size": size[row, side, k], "row": rows.names[row], "side": SIDES[side]}
        )
    weakest, beside = (
        min((row for row in known if (row[0].part in own) == of), key=lambda row: row[0].margin, default=None)
        for of in (True, False)
    )
    return {
        "joint": joint.joint.name, "depth": "whole", "left_out": (), "loads": loads,
        "weakest": weakest and check(*weakest, own), "beside": beside and check(*beside, own),
        "racking_stiffness": joint.racking_stiffness, "margins": [check(*row, own) for row in margins.worst],
        "cases": [case_row(made, number) for number in range(len(rows.names))], "stay": stay_of(),
        "curves": {
            name: one and curve(one, one.rigid_joint_moment or one.rigid_moment) for name, one in joint.curves.items()
        },
        "shape": {
            "point": joint.crossbeam.point,
            "moved": {c.name: joint.crossbeam.displacement[n, :, :3] for n, c in enumerate(made.study.cases)},
            "tang": {"forward": 0.05, "up": 0.12}, "radius": 0.0,
        },
    }  # fmt: skip


WORDS = {"words", "factor", "verdict", "life", "gained"}
"""Leaves of text: tested below."""


def differing(said, right, path=""):
    """Paths where the two trees differ; texts of `WORDS` are left out."""
    if isinstance(right, dict):
        keys = set(said) - WORDS if isinstance(said, dict) else set()
        if keys != set(right):
            yield f"{path}: {keys ^ set(right)}"
        pairs = {f"{path}.{key}": (said[key], right[key]) for key in keys & set(right)}
    elif isinstance(right, list | tuple | np.ndarray) and np.ndim(right):
        if len(said) != len(right):
            yield f"{path}: {len(said)} for {len(right)}"
        pairs = {f"{path}[{k}]": pair for k, pair in enumerate(zip(said, right, strict=False))}
    else:
        pairs = {}
        if not alike(said, right):
            yield f"{path}: {said!r} for {right!r}"
    for where, pair in pairs.items():
        yield from differing(*pair, where)


def alike(said, right):
    """Of two leaves: numbers but for rounding, those of a check that was not made alike in being none."""
    if isinstance(right, float | np.floating):
        return isinstance(said, float) and said == pytest.approx(
            float(right), rel=1e-9, abs=1e-9, nan_ok=True
        )
    return said == right


@pytest.mark.parametrize("name", JOINTS)
def test_every_number_of_the_answer_is_the_analysis_s(page, alone, name):
    """Loads of the worst hull, margins, cases on both hulls, the stay's line, curves and movements."""
    assert list(differing(answer(page, {}, name, "whole"), expected(alone[name]))) == []


@pytest.mark.parametrize("name", JOINTS)
def test_every_figure_in_its_words_is_the_analysis_s(page, alone, name):
    """Sizes of loads, margins and factors as shown; the stiffness gained over the bare bows."""
    found, made = answer(page, {}, name, "whole"), alone[name]
    for load, unit in zip(found["loads"], UNITS, strict=True):
        assert load["words"] == "0" if not load["size"] else figure(load["words"]).shows(load["size"], unit)
    for one in (*found["margins"], found["weakest"] or found["margins"][0]):
        if one["row"] is None:
            assert one["words"].startswith("not checked: ")
        elif one["words"] not in {"no load", "over 1000"}:
            assert figure(one["words"]).shows(one["margin"])
            assert figures(one["factor"])[0].shows(one["factor_value"])
    bare, joined = made.study.bare_racking_stiffness, made.study.joints[0].racking_stiffness
    more, change = found["gained"]
    assert figure(more).shows(joined / bare - 1, "%")
    before, after = figures(change)
    assert (before.unit, after.unit) == ("", "N/m")  # the unit, kN/m, once for both
    assert before._replace(value=before.value * 1e3, half_digit=before.half_digit * 1e3).shows(bare)
    assert after.shows(joined, "N/m")


def test_starboard_is_the_worse_hull_in_one_bow_s_case(page):
    """The load is on the starboard stem: that hull's vertical shear is the larger, and stays so on its way out."""
    (row,) = [one for one in answer(page, {}, "sprung", "whole")["cases"] if one["name"] == "starboard bow"]
    assert abs(row["load"]["starboard"][2]) > 1.05 * abs(row["load"]["port"][2])


def test_a_change_reaches_the_numbers(page):
    """Half the beam's torsional stiffness carries less torque between the hulls under racking."""
    torque = {}
    for factor in (1.0, 0.5):
        found = answer(page, {"crossbeam.GJ": f"{BEAM['GJ'] * factor!r} N*m**2"}, "sprung", "whole")
        (row,) = [one for one in found["cases"] if one["name"] == "racking"]
        torque[factor] = abs(row["load"]["port"][PITCH])
    assert torque[0.5] < 0.95 * torque[1.0]


@pytest.mark.parametrize("row", ["racking", "starboard bow"])
def test_every_number_of_one_case_is_the_analysis_s(page, alone, row):
    """Loads on both hulls and every check in that case alone."""
    made, found = alone["lug"], in_row(page, {}, "lug", "whole", row)
    number = made.case_rows[0].names.index(row)
    values = made.case_rows[0].values.joint_load[number]
    right = {
        "row": row, "method": found["method"], "balance": made.case_rows[0].balance[number],
        "error": made.case_rows[0].error[number],
        "loads": [
            {"component": name, "port": values[0, k], "starboard": values[1, k]} for k, name in enumerate(COMPONENTS)
        ],
        "margins": [check(one, row, own_parts(made)) for one in next(made.part_margins[0].case_by_case([number]))],
    }  # fmt: skip
    assert list(differing(found, right)) == []
    assert found["method"] == "a single case"


def test_every_number_of_the_scatter_is_the_analysis_s(page, alone):
    """Chances of every part with their bounds, swings of every input; what an input is worth is the deviation that would go."""
    one = alone["lug"].uncertainty.joint("lug")
    found = scattered(page, {}, "lug")
    right = {
        "nominal": {"torque": one.torque.nominal, "margin": one.margin.nominal},
        "parts": [
            {
                "part": part.part, "check": part.check, "margin": part.margin, "index": part.index,
                "below_zero": part.counted.value, "at_least": part.counted.low, "at_most": part.counted.high,
                "failure": part.failure.value,
            }
            for part in one.parts
        ],
        "effects": [
            {
                "input": effect.input.replace("_", " ") if "." not in effect.input else effect.input,
                "below": effect.below, "above": effect.above, "worth": 1 - math.sqrt(1 - effect.margin.share),
                "torque": (effect.torque.low, effect.torque.high), "margin": (effect.margin.low, effect.margin.high),
            }
            for effect in one.effects
        ],
    }  # fmt: skip
    told = {key: value for key, value in found.items() if key in right}
    assert set(found) - set(right) == {"how_read", "sentences"}
    assert list(differing(told, right)) == []
    assert figures(found["how_read"])[-1].shows(alone["lug"].uncertainty.samples)
