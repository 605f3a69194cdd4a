"""The builder's tab as a reader uses it, in a browser."""

import json
import re
import tomllib
from urllib.parse import parse_qs, urlencode, urlsplit

import pytest

from tests.browser import serious_findings
from tests.cases.analyses.sweeps.sweep_boat import BOAT
from tests.cases.page.conftest import served

REL_TOL_SHOWN = 0.006
"""Of a number that is shown with three digits."""
REL_TOL_REDUCED = 1e-6
"""Of a racking stiffness from the reduced model in the page, against a full solution."""
NO_TORQUE = re.compile(r"torque is −?0(\.\d+)? N·m")
SOCKET = "#joint=taped+socket"


def changes(page) -> dict:
    """Those in the page's address."""
    return json.loads(parse_qs(urlsplit(page.url).fragment).get("changes", ["{}"])[0])


def field(page, key: str):
    """The field of a key."""
    return page.locator(f"label[title='{key}'] + input")


def test_first_run(address, opened):
    """Both candidates have an answer, each picture its words, and all cases are in within moments."""
    one = opened(address)
    assert one.page.locator(".card thead th").all_inner_texts()[0].startswith("bolted lugs")
    one.page.wait_for_selector(".status:has-text('Every case and combination')")
    one.settled()
    assert one.page.locator(".card thead th").count() == 2
    assert one.page.locator(".pictures figure svg[aria-label]").count() == 4
    assert "inadequate" in one.page.locator(".verdict").first.inner_text()


def test_the_answer_is_that_of_the_command_line_s_study(address, opened, client):
    """The number on the card is the largest of the joint loads in the server's JSON, which is tested against the study."""
    one = opened(address + SOCKET)
    one.page.wait_for_selector(".status:has-text('Every case and combination')")
    asked = {"page": "0123456789abcdef", "number": 0, "joint": "taped socket", "depth": "whole"}
    found = client.post("builder/answer", json=asked).json()
    largest = max(abs(load[4]) for row in found["cases"] for load in row["load"].values())
    assert one.number("design torque") == pytest.approx(largest, rel=REL_TOL_SHOWN)


def test_a_slider_moves_the_answer_and_undo_brings_it_back(address, opened):
    """Opposite forces at the stems twice as large: all that racking causes doubles, without pretension; one drag is one undo."""
    one = opened(address + SOCKET)
    one.settled()
    page, before = one.page, one.page.locator(".card").inner_text()
    page.get_by_text("Loads", exact=True).click()
    slider = page.locator("div.field:has(label[title='cases.racking.force']) input[type=range]")
    slider.focus()
    for _ in range(3):
        page.keyboard.press("ArrowRight")
    assert changes(page) == {"cases.racking.force": "11.5 kN"}
    assert field(page, "cases.racking.force").input_value() == "11.5 kN"
    one.settled()
    assert page.locator(".card").inner_text() != before
    page.get_by_role("button", name="Undo").click()
    assert not changes(page).get("cases.racking.force", "").startswith("11.5")


def test_the_tang_is_dragged_until_the_torque_is_none(address, opened):
    """Statics: on the ring the stay's line meets the beam's axis, and its torque is none."""
    one = opened(address + SOCKET)
    one.settled()
    page = one.page
    handle, ring = page.locator("svg .handle"), page.locator("svg .free")
    handle.scroll_into_view_if_needed()

    def middle(of) -> tuple[float, float]:
        box = of.bounding_box()
        return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2

    page.mouse.move(*middle(handle))
    page.mouse.down()
    page.mouse.move(*middle(ring), steps=8)
    page.mouse.up()
    one.settled()
    assert set(changes(page)) == {"stay.forward", "stay.up"}
    assert float(changes(page)["stay.forward"].split()[0]) == pytest.approx(-39.9, abs=2)
    assert "its torque is" in page.locator("[data-picture=side] figcaption").inner_text()
    page.get_by_role("button", name="Put it where the torque is none").click()
    page.locator("[data-picture=side] figcaption", has_text=NO_TORQUE).wait_for()
    page.get_by_role("button", name="Undo").click()
    page.get_by_role("button", name="Undo").click()
    assert changes(page) == {}


def test_a_fault_is_shown_in_place_and_the_last_answer_stays(address, opened):
    """The sentence of the file's reader, beside the field; a sound value takes it away."""
    one = opened(address + SOCKET)
    one.settled()
    page, before = one.page, one.page.locator(".card b").all_inner_texts()
    up = field(page, "stay.up")
    up.fill("171 mph")
    up.press("Enter")
    page.wait_for_selector("[role=alert] li")
    assert "is not a length" in page.locator("[role=alert]").inner_text()
    assert "is not a length" in page.locator("#field-stay-up-error").inner_text()
    assert up.get_attribute("aria-invalid") == "true"
    assert page.locator(".card b").all_inner_texts() == before
    assert "last good answer" in page.locator(".status").inner_text()
    up.fill("171 mm")
    up.press("Enter")
    page.wait_for_selector("[role=alert]:not(:has(li))", state="attached")
    assert up.get_attribute("aria-invalid") is None


def test_a_joint_without_an_answer_leaves_the_others_theirs(address, opened):
    """Without a longeron nothing keeps the beam from turning on athwart pins: that is said, and the candidates are answered."""
    changed = {"longeron": None, 'cases."headsail off the prod"': None}
    one = opened(f"{address}#{urlencode({'joint': 'athwart pin', 'changes': json.dumps(changed)})}")
    page = one.page
    page.wait_for_selector("[role=alert] li")
    assert "turns freely about its own axis" in page.locator("[role=alert]").inner_text()
    names = [text.split("\n")[0] for text in page.locator(".card thead th").all_inner_texts()]
    assert names == ["bolted lugs", "taped socket"]


def test_an_answer_from_before_a_change_says_so(address, opened):
    """Under a pretension that the beam does not bear no joint has an answer: those shown are of before, until there is one."""
    one = opened(address + SOCKET)
    page = one.page
    page.wait_for_selector(".status:has-text('Every case and combination')")
    assert "before the last change" not in page.locator(".card").inner_text()
    tension = field(page, "martingale.pretension")
    for given, stale in (("3000 kN", [True, True]), ("13 kN", [False, False])):
        tension.evaluate(
            "(one, given) => { one.value = given; one.dispatchEvent(new Event('change')); }", given
        )
        page.wait_for_selector(f".status:has-text('{'last good answer' if stale[0] else 'Every case and'}')")
        of_each = page.locator(".card thead th").all_inner_texts()
        assert ["before the last change" in text for text in of_each] == stale


def test_two_tabs_are_independent_and_a_reload_loses_nothing(address, opened):
    """The state is in each page's own address."""
    one, other = opened(address + SOCKET), opened(address)
    field(one.page, "stay.forward").fill("60 mm")
    field(one.page, "stay.forward").press("Enter")
    one.settled()
    other.settled()
    assert changes(other.page) == {}
    one.page.reload()
    one.page.wait_for_selector(".card")
    assert field(one.page, "stay.forward").input_value() == "60 mm"
    assert one.page.locator(".choice [aria-pressed=true]").inner_text() == "taped socket"


def test_a_copy_is_saved_with_its_comments(address, opened, tmp_path):
    """What is handed out is the file with the change, under a name of its own."""
    one = opened(address)
    field(one.page, "martingale.pretension").fill("14 kN")
    field(one.page, "martingale.pretension").press("Enter")
    with one.page.expect_download() as waiting:
        one.page.get_by_role("button", name="Save a copy").click()
    assert waiting.value.suggested_filename == "my-demo.toml"
    waiting.value.save_as(tmp_path / "my-demo.toml")
    text = (tmp_path / "my-demo.toml").read_text(encoding="utf-8")
    assert tomllib.loads(text)["martingale"]["pretension"] == "14 kN"
    assert "# in each under pretension alone" in text


def test_on_a_telephone_nothing_is_wider_than_the_screen(address, opened):
    """390 px: tables scroll within themselves."""
    one = opened(address, width=390)
    one.settled()
    assert one.page.evaluate("document.documentElement.scrollWidth") <= 390


def test_by_keyboard_alone(address, opened):
    """The tang's handle is reached by Tab, shows its focus, and moves by arrows, 1 mm each."""
    one = opened(address + SOCKET)
    one.settled()
    page = one.page
    for _ in range(200):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.classList.contains('handle')"):
            break
    else:
        pytest.fail("the handle is not reached")
    # an answer that comes in meanwhile draws the picture anew, and leaves the focus
    with page.expect_response("**/builder/answer"):
        field(page, "cases.racking.force").evaluate(
            "(one) => { one.value = '11 kN'; one.dispatchEvent(new Event('change')); }"
        )
    page.wait_for_selector(".status:has-text('Every case and combination')")
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("Shift+ArrowLeft")
    assert changes(page)["stay.forward"] == "9 mm"
    one.settled()
    assert page.evaluate("document.activeElement.classList.contains('handle')")


def test_the_boat_to_turn_is_that_of_the_changed_boat(address, opened, client):
    """The report's scene and joint to try, of the state in the address: their numbers are the card's, and follow a change."""
    one = opened(address + SOCKET)
    one.settled()
    page = one.page
    page.get_by_text("The boat to turn").click()
    cell = page.locator(".model tr:has(th:has-text('racking stiffness')) td")
    cell.wait_for()
    assert page.locator(".model canvas").count() == 1

    def answered(changes: dict) -> float:
        asked = {"page": "0123456789abcdef", "number": 0, "joint": "taped socket", "changes": changes}
        return client.post("builder/answer", json=asked).json()["racking_stiffness"]

    before = float(cell.get_attribute("data-value"))
    assert before == pytest.approx(answered({}), rel=REL_TOL_REDUCED)
    diameter = field(page, "crossbeam.section.diameter")
    diameter.fill("240 mm")
    diameter.press("Enter")
    page.locator(f".model td[data-value='{cell.get_attribute('data-value')}']").wait_for(state="detached")
    changed = answered({"crossbeam.section.diameter": "240 mm"})
    assert float(cell.get_attribute("data-value")) == pytest.approx(changed, rel=REL_TOL_REDUCED)
    assert changed > before
    assert page.locator(".model canvas").count() == 1


def test_the_accessibility_checker_sees_a_button_without_a_name(browser):
    """What finds nothing on the pages finds something where there is something."""
    page = browser.new_page()
    page.set_content("<main lang='en'><button></button></main>")
    assert "button-name" in [rule for rule, _ in serious_findings(page)]
    page.close()


@pytest.mark.parametrize("width", [1300, 390])
def test_no_serious_finding_of_the_accessibility_checker(address, opened, width):
    """Names, contrast, labels, order: axe-core's rules."""
    one = opened(address + "#tab=builder", width=width)
    one.settled()
    assert serious_findings(one.page) == []


def test_the_full_report_is_written_and_opened(opened, tmp_path):
    """Of a small boat: the bar goes, the link opens the report in a sandbox, and it is of the changed boat."""
    file = tmp_path / "small.toml"
    file.write_text(BOAT, encoding="utf-8")
    with served(file) as (_, address):
        one = opened(address)
        field(one.page, "stay.forward").fill("60 mm")
        field(one.page, "stay.forward").press("Enter")
        one.page.get_by_role("button", name="Write the full report").click()
        one.page.set_default_timeout(90_000)
        link = one.page.get_by_role("link", name="Open the report")
        link.wait_for()
        with one.page.expect_popup() as waiting:
            link.click()
        report = waiting.value
        report.wait_for_selector("h1")
        assert report.title()
        assert report.evaluate("origin") == "null"
        assert "60" in report.content()


def test_a_server_that_was_killed_is_said_and_the_changes_go_on_with_the_next(opened, tmp_path):
    """The page keeps its last answer and says what to do; the end of its address behind that of a new server brings all back."""
    file = tmp_path / "boat.toml"
    file.write_text(BOAT, encoding="utf-8")
    with served(file) as (running, address):
        one = opened(address)
        page = one.page
        one.settled()
        page.evaluate("import('./page.js').then(({ page }) => page.change({ 'stay.up': '155 mm' }))")
        page.wait_for_function("location.hash.includes('155')")
        one.settled()
        answer = page.locator(".card").inner_text()
        running.kill()
        running.wait()
        page.evaluate("import('./page.js').then(({ page }) => page.change({ 'stay.up': '165 mm' }))")
        page.wait_for_selector("[role=alert]:has-text('Start forebeam page again')")
        assert page.locator(".card").inner_text() == answer
        left = urlsplit(page.url).fragment
        page.close()
        one.wrong = [words for words in one.wrong if "ERR_CONNECTION_REFUSED" not in words]
    with served(file) as (_, address):
        again = opened(f"{address}#{left}")
        again.settled()
        assert changes(again.page) == {"stay.up": "165 mm"}
        assert field(again.page, "stay.up").input_value() == "165 mm"
        assert again.page.locator(".card").inner_text() != answer
