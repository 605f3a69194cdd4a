"""The student's tab: textbook cases listed and opened; theory beside result; what is shown is what was computed."""

import pytest

from cases.page.student import answer, description, list_of_cases
from cases.verification.textbook import textbook_file, textbook_files
from femcore.base.errors import InputFault
from femcore.files.frame_file import read_frame_file
from femcore.files.frame_run import run_frame
from tests.cases.page.test_builder_in_browser import AXE

TAB = "#tab=student"
CASE = "propped_cantilever"


def test_every_textbook_case_is_listed_once():
    """By topic, as the files are."""
    names = [one["name"] for topic in list_of_cases() for one in topic["cases"]]
    assert sorted(names) == sorted(path.stem for path in textbook_files())
    assert list_of_cases()[0]["topic"] == "beams"


def test_rows_are_the_verification_s_own():
    """Every value of the load case, theory and computed, as `forebeam verify` has them."""
    run = run_frame(read_frame_file(textbook_file(CASE)))
    for load in ("uniform", "middle"):
        rows = answer(CASE, load)["rows"]
        own = [one for one in run.outcomes if one.expected.case == load]
        assert [row["expected"] for row in rows] == [one.expected.expected for one in own]
        assert [row["value"] for row in rows] == [one.computed for one in own]
        assert [row["ok"] for row in rows] == [one.ok for one in own]


def test_the_diagram_is_the_closed_form():
    """Bending moment of a propped cantilever under w: w L²/8 at the root, hogging, and −9 w L²/128 at 5L/8 (statics)."""
    beams = answer(CASE, "uniform")["picture"]["beams"]
    w, L = 4e3, 5.0
    before = 0.0
    for beam in beams:
        for station, moment in zip(beam["station"], beam["actions"]["My"], strict=True):
            x = before + station
            assert moment == pytest.approx(w * L**2 / 8 - 5 * w * L / 8 * x + w * x**2 / 2, abs=1e-5)
        before += beam["station"][-1]


def test_unknown_names_are_refused_by_the_nearest():
    """Of a case and of a load case."""
    with pytest.raises(InputFault, match="did you mean 'propped_cantilever'"):
        description("proped_cantilever")
    with pytest.raises(InputFault, match="did you mean 'uniform'"):
        answer(CASE, "unifrm")


def test_a_case_is_found_and_opened_by_keyboard(opened, address):
    """Search leaves what has the words; Enter opens it; the address keeps it; a reload shows it again."""
    one = opened(address + TAB, ready=".theory td")
    page = one.page
    page.get_by_label("Search title, topic, source").focus()
    page.keyboard.type("trussed strap slips")
    names = page.locator(".topics li:not([hidden]) button")
    page.wait_for_function("document.querySelectorAll('.topics li:not([hidden])').length === 1")
    assert "a strap that slips" in names.first.inner_text()
    page.keyboard.press("Tab")
    while page.evaluate("document.activeElement.dataset.case") is None:
        page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    page.locator("h2.case-title", has_text="a strap that slips").wait_for()
    assert "case=king_post_slipping_strap" in page.url
    page.get_by_label("Load case").select_option("upward")
    one.settled()
    page.reload()
    page.wait_for_selector(".theory td")
    assert page.get_by_label("Load case").input_value() == "upward"
    assert page.locator(".theory tbody tr").count() == len(
        answer("king_post_slipping_strap", "upward")["rows"]
    )


@pytest.mark.parametrize("width", [1300, 390])
@pytest.mark.parametrize("where", ["", "&case=portal_side_load"])
def test_no_serious_finding_and_nothing_wider_than_the_screen(opened, address, width, where):
    """axe-core's rules at both widths, with the list open and with a case."""
    one = opened(address + TAB + where, ready=".theory td", width=width)
    one.settled()
    assert one.page.evaluate("document.documentElement.scrollWidth") <= width
    one.page.evaluate(AXE.read_text(encoding="utf-8"))
    found = one.page.evaluate("axe.run()")["violations"]
    serious = [
        (rule["id"], rule["nodes"][0]["html"]) for rule in found if rule["impact"] in ("serious", "critical")
    ]
    assert serious == []
