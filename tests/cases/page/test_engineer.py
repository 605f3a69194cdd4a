"""The engineer's tab: rows, factors, baseline, margins with their formula, chances; what is shown is what was computed."""

import csv
import re

import pytest

from cases.page.answer import analysed, answer
from cases.page.engineer import in_row, list_of_factors, scattered
from cases.page.state import BoatText
from femcore.base.errors import InputFault
from tests.browser import serious_findings
from tests.cases.page.conftest import DEMO

JOINT = "taped socket"
TAB = "#tab=engineer&joint=taped+socket"
REL_TOL_SHOWN = 0.006
"""Of a number that is shown with three digits."""
ABS_TOL_SHOWN = 0.006
"""Of a margin that is shown with two decimals."""


@pytest.fixture(scope="module")
def demo():
    """The demo boat, as the page reads it."""
    return BoatText.read(DEMO)


def test_the_worst_of_all_rows_is_the_margin_of_its_row(demo):
    """A check's governing margin is that of the one row it names, there alone."""
    worst = next(one for one in answer(demo, {}, JOINT, "quick")["margins"] if one["own"])
    there = in_row(demo, {}, JOINT, "quick", worst["row"])
    [same] = [
        one for one in there["margins"] if (one["part"], one["check"]) == (worst["part"], worst["check"])
    ]
    assert same["margin"] == worst["margin"]
    assert same["load"] == worst["load"]


def test_a_margin_is_allowable_over_factor_times_load_less_one(demo):
    """The formula that the page shows, with the numbers that it shows."""
    for one in answer(demo, {}, JOINT, "quick")["margins"]:
        if one["row"] is not None and one["load"]:
            by_hand = one["allowable"] / (one["factor_value"] * one["load"]) - 1
            assert one["margin"] == pytest.approx(by_hand, rel=1e-9, abs=1e-12)


def test_twice_the_factor_is_half_the_margin_and_one(demo):
    """1 + margin is in inverse proportion to the safety factor."""
    first = {(one["part"], one["check"]): one for one in answer(demo, {}, JOINT, "quick")["margins"]}
    doubled = answer(demo, {"factors.laminate": 4.0}, JOINT, "quick")["margins"]
    laminate = [one for one in doubled if one["factor"].endswith(", laminate") and one["margin"] is not None]
    assert laminate
    for one in laminate:
        before = first[one["part"], one["check"]]
        if before["row"] == one["row"]:
            assert 1 + one["margin"] == pytest.approx((1 + before["margin"]) / 2, rel=1e-9)


def test_every_factor_is_listed_with_its_value(demo):
    """Those of the file, or the defaults."""
    found = {one["key"]: one["value"] for one in list_of_factors(demo.boat)}
    assert found["factors.bond"] == demo.boat.factors.bond
    assert len(found) >= 12


def test_an_unknown_row_is_refused_by_the_nearest_name(demo):
    """As every name."""
    with pytest.raises(InputFault, match="did you mean 'upwind'"):
        in_row(demo, {}, JOINT, "quick", "upwindd")


def test_chances_are_those_of_the_analysis(demo):
    """Handed on unchanged, for the changed boat."""
    changes = {"stay.forward": "60 mm"}
    found = scattered(demo, changes, JOINT)
    [one] = analysed(demo, changes, JOINT, "whole")[0].uncertainty.joints
    assert found["nominal"]["torque"] == one.torque.nominal
    assert [part["below_zero"] for part in found["parts"]] == [part.counted.value for part in one.parts]


def test_a_baseline_is_pinned_and_differences_are_shown(opened, address):
    """The change column is the margin now less that of the baseline."""
    one = opened(address + TAB, ready=".margin-table")
    one.settled()
    page = one.page
    page.get_by_role("button", name="Pin this").click()
    page.get_by_text("Safety factors").click()
    factor = page.locator("#factors-laminate")
    factor.fill("4")
    factor.press("Enter")
    page.get_by_role("status").filter(has_text="1 change of the file").wait_for()
    one.settled()
    cells = (
        page.locator("section[aria-label=Margins] tbody tr:not(.formula)")
        .first.locator("td")
        .all_inner_texts()
    )
    margin, before, change = (float(text.replace("−", "-")) for text in cells[:3])
    assert change == pytest.approx(margin - before, abs=2 * ABS_TOL_SHOWN)
    assert change < 0


def test_margins_are_sorted_filtered_explained_and_written(opened, address, tmp_path):
    """Sorting turns the order round, the filter keeps what has the word, a click shows the formula, the CSV has what is shown."""
    one = opened(address + TAB, ready=".margin-table")
    one.settled()
    page, rows = one.page, one.page.locator("section[aria-label=Margins] tbody tr:not(.formula)")
    page.locator("#filter").fill("tape")
    parts = rows.locator("td:nth-child(2)").all_inner_texts()
    assert parts
    assert all("tape" in text for text in rows.all_inner_texts())
    page.get_by_role("button", name="part", exact=True).click()
    assert rows.locator("td:nth-child(2)").all_inner_texts() == sorted(parts)
    rows.first.locator("button").click()
    formula = page.locator("tr.formula:not([hidden])").inner_text()
    numbers = re.search(r"= ([−\d.]+)\n", formula)
    assert numbers
    shown = rows.first.locator("button").inner_text()
    assert float(numbers[1].replace("−", "-")) == pytest.approx(
        float(shown.replace("−", "-")), abs=ABS_TOL_SHOWN
    )
    with page.expect_download() as waiting:
        page.get_by_role("button", name="Margins as CSV").click()
    waiting.value.save_as(tmp_path / "margins.csv")
    with (tmp_path / "margins.csv").open(encoding="utf-8-sig", newline="") as file:
        written = list(csv.reader(file))
    assert len(written) == 1 + len(parts)
    allowable, load, factor, margin = (float(written[1][number]) for number in (5, 4, 7, 2))
    assert margin == pytest.approx(allowable / (factor * load) - 1, rel=1e-9)


def test_a_case_is_picked_by_name(opened, address, client):
    """Its joint loads are those of the study, on either hull."""
    one = opened(address + TAB + "&row=racking", ready=".margin-table")
    one.settled()
    asked = {"page": "0123456789abcdef", "number": 0, "joint": JOINT, "depth": "whole", "row": "racking"}
    found = client.post("engineer/row", json=asked).json()
    torque = next(load for load in found["loads"] if load["component"] == "torque")
    cells = one.page.locator("section[aria-label='Joint loads'] tr:has-text('torque') td").all_inner_texts()
    size, unit = cells[1].split()
    assert unit == "kN·m"
    assert float(size.replace("−", "-")) * 1000 == pytest.approx(torque["port"], rel=REL_TOL_SHOWN)


@pytest.mark.parametrize(("width", "view"), [(1300, "margins"), (390, "margins"), (390, "scatter")])
def test_no_serious_finding_and_nothing_wider_than_the_screen(opened, address, width, view):
    """axe-core's rules, at both widths."""
    one = opened(f"{address}{TAB}&view={view}", ready=".margin-table", width=width)
    one.settled()
    assert one.page.evaluate("document.documentElement.scrollWidth") <= width
    assert serious_findings(one.page) == []
