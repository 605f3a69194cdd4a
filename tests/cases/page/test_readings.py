"""A test on the boat in the engineer's tab: what is shown is what the calibration finds; readings not taken are left out."""

import copy
import json
import math
import tomllib
from pathlib import Path
from urllib.parse import parse_qs, urlsplit

import pytest

from cases.analyses.calibration import calibrate
from cases.input.boat_test import read_test_file
from cases.page.readings import fit_numbers, fitted, planned
from cases.page.state import BoatText
from femcore.base.errors import InputFaults
from tests.browser import serious_findings
from tests.cases.page.conftest import DEMO

FILE = DEMO.parent / "tests" / "demo_test.toml"
TABLES = tomllib.loads(FILE.read_text(encoding="utf-8"))
TAB = "#tab=engineer&view=test&joint=bolted+plates"
REL_TOL_SHOWN = 0.006
"""Of a number that is shown with three digits."""


@pytest.fixture(scope="module")
def demo():
    """The demo boat, as the page reads it."""
    return BoatText.read(DEMO)


@pytest.fixture(scope="module")
def found(demo):
    """What the demo's test teaches, as the page has it."""
    return fit_numbers(fitted(demo, {}, TABLES))


def test_the_fit_is_that_of_the_command(demo, found):
    """Factors, ranges and loads of `forebeam calibrate`."""
    own = calibrate(demo.boat, read_test_file(FILE))
    assert [one["factor"] for one in found["factors"]] == [own.quoted.get(one.name) for one in own.factors]
    assert [one["after"] for one in found["values"]] == [one.after for one in own.values]
    assert [one["torque"] for one in found["loads"]] == [one.torque for one in own.joint_loads]


def test_a_range_holds_95_in_a_hundred(demo, found):
    """Of a factor whose logarithm is normal: the standard normal distribution between both ends is 0.95."""
    own = calibrate(demo.boat, read_test_file(FILE))
    assert len([one for one in found["factors"] if one["range"]]) == len(own.quoted)
    for one, shown in zip(own.factors, found["factors"], strict=True):
        if shown["range"]:
            low, high = (math.log(end / one.factor) / one.after for end in shown["range"])
            assert (math.erf(high / math.sqrt(2)) - math.erf(low / math.sqrt(2))) / 2 == pytest.approx(
                0.95, abs=1e-12
            )


def test_what_was_not_read_is_left_out(demo):
    """Blank readings, a gauge without any, and a step without any: as a file that does not have them."""
    blank, without = copy.deepcopy(TABLES), copy.deepcopy(TABLES)
    for step, other in zip(blank["tests"][0]["steps"], without["tests"][0]["steps"], strict=True):
        step["readings"]["port bend"] = "? mrad"
        del other["readings"]["port bend"]
    without["tests"][0]["gauges"] = [
        one for one in without["tests"][0]["gauges"] if one["name"] != "port bend"
    ]
    blank["tests"][0]["steps"][3]["readings"] = dict.fromkeys(blank["tests"][0]["steps"][3]["readings"], " ")
    del without["tests"][0]["steps"][3]
    assert fit_numbers(fitted(demo, {}, blank)) == fit_numbers(fitted(demo, {}, without))


def test_a_planned_test_has_no_readings_yet(demo):
    """Its gauges and load steps are there; fitting it is refused in a sentence."""
    tables = planned(demo, {}, "bolted plates")
    assert tables["joint"] == "bolted plates"
    assert all(
        one.startswith("?") for step in tables["tests"][0]["steps"] for one in step["readings"].values()
    )
    with pytest.raises(InputFaults, match="too few entries"):
        fitted(demo, {}, tables)


def test_the_boat_file_is_written_with_what_was_found(client):
    """By the page's own server: the changes, and [calibration] with the factors quoted."""
    asked = {"page": "0123456789abcdef", "number": 0, "test": TABLES, "changes": {"stay.up": "165 mm"}}
    text = client.post("engineer/measured", json=asked).text
    tables = tomllib.loads(text)
    assert tables["stay"]["up"] == "165 mm"
    assert set(tables["calibration"]) >= {"hull_GJ"}
    assert tomllib.loads(client.post("engineer/test", json=asked).text) == TABLES


def reading(page, gauge: str, step: int):
    """A field of the table."""
    return page.get_by_label(f"{gauge}, step {step}", exact=True).first


def test_readings_are_entered_fitted_and_kept(opened, address, found):
    """Opened, fitted, one reading changed by keyboard: the result is marked as of before; undo; a reload keeps the readings."""
    one = opened(address + TAB, ready="#test-file")
    page = one.page
    page.get_by_label("or open a test file").set_input_files(FILE)
    page.wait_for_selector("table.readings")
    assert reading(page, "port stem", 2).input_value() == "196.7"
    page.get_by_role("button", name="Fit", exact=True).click()
    page.get_by_text("What the test teaches").wait_for(timeout=60_000)
    factor = next(one for one in found["factors"] if one["name"] == "hull GJ")
    cells = page.locator("tr:has(td:text-is('hull GJ')) td").all_inner_texts()
    assert float(cells[1]) == pytest.approx(factor["factor"], rel=REL_TOL_SHOWN)
    assert [float(end) for end in cells[2].split(" to ")] == pytest.approx(factor["range"], rel=REL_TOL_SHOWN)
    field = reading(page, "port stem", 2)
    field.focus()
    page.keyboard.press("Control+A")
    page.keyboard.type("wrong")
    page.keyboard.press("Enter")
    page.get_by_text("Readings or boat were changed since").wait_for()
    page.get_by_role("button", name="Fit", exact=True).click()
    page.wait_for_selector("[role=alert] li")
    assert "port stem" in page.locator("[role=alert]").inner_text()
    assert page.locator("tr:has(td:text-is('hull GJ'))").count() == 1
    page.get_by_role("button", name="Undo").click()
    assert reading(page, "port stem", 2).input_value() == "196.7"
    page.reload()
    page.wait_for_selector("table.readings")
    assert reading(page, "port stem", 2).input_value() == "196.7"
    kept = json.loads(parse_qs(urlsplit(page.url).fragment)["test"][0])
    assert kept["file"] == TABLES


def test_what_json_lacks_is_opened_as_text(client):
    """TOML has numbers without an end and dates: the page reads them as text, where JSON with NaN would be none."""
    text = "[[tests]]\nlow = -inf\nnone = nan\nday = 2026-11-29\ngood = 1.5\non = true\n"
    asked = {"page": "0123456789abcdef", "number": 0, "text": text}
    answer = client.post("engineer/open", json=asked)
    assert answer.status_code == 200
    found = json.loads(answer.text, parse_constant=pytest.fail)
    assert found["test"]["tests"] == [
        {"low": "-inf", "none": "nan", "day": "2026-11-29", "good": 1.5, "on": True}
    ]


def test_a_file_that_is_no_test_is_refused_in_place(opened, address, tmp_path: Path):
    """A boat file is none; what stands stays."""
    one = opened(address + TAB, ready="#test-file")
    one.page.get_by_label("or open a test file").set_input_files(DEMO)
    one.page.locator("[role=alert] li", has_text="has no [[tests]]").wait_for()
    broken = tmp_path / "broken.toml"
    broken.write_text("title = ", encoding="utf-8")
    one.page.get_by_label("or open a test file").set_input_files(broken)
    one.page.locator("[role=alert] li", has_text="is not sound TOML").wait_for()


@pytest.mark.parametrize("width", [1300, 390])
def test_no_serious_finding_and_nothing_wider_than_the_screen(opened, address, width):
    """axe-core's rules at both widths, with a planned test."""
    one = opened(address + TAB, ready="#test-file", width=width)
    one.page.get_by_role("button", name="Plan a test").click()
    one.page.wait_for_selector("table.readings")
    assert one.page.evaluate("document.documentElement.scrollWidth") <= width
    assert serious_findings(one.page) == []
