"""The student's tab: textbook cases listed and opened; theory beside result; what is shown is what was computed."""

import pytest

from cases.page.student import answer, description, list_of_cases
from cases.verification.textbook import textbook_file, textbook_files
from femcore.base.errors import InputFault, InputFaults, Mechanism
from femcore.files.frame_file import read_frame_file
from femcore.files.frame_run import run_frame
from tests.browser import serious_findings

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
        rows = answer(CASE, load, {})["rows"]
        own = [one for one in run.outcomes if one.expected.case == load]
        assert [row["expected"] for row in rows] == [one.expected.expected for one in own]
        assert [row["value"] for row in rows] == [one.computed for one in own]
        assert [row["ok"] for row in rows] == [one.ok for one in own]


def test_the_diagram_is_the_closed_form():
    """Bending moment of a propped cantilever under w: w L²/8 at the root, hogging, and −9 w L²/128 at 5L/8 (statics)."""
    beams = answer(CASE, "uniform", {})["picture"]["beams"]
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
        answer(CASE, "unifrm", {})


def test_a_changed_case_is_the_changed_file(tmp_path):
    """E, elements, a release, a spring and all lengths, by key, give what a file with them gives."""
    edits = {
        "materials.steel.E": "150 GPa", "beams.CB.divide": 3, "beams.AC.from_release": ["ry"],
        "beams.CB.to_spring.ry": "2 MN*m/rad", "supports.2.fixed": ["uy", "uz", "rx", "ry"], "all lengths": 2,
    }  # fmt: skip
    text = textbook_file(CASE).read_text(encoding="utf-8")
    text = (
        text.replace('"210 GPa"', '"150 GPa"')
        .replace("2.5 0 0 m", "5 0 0 m")
        .replace('B = "5 0 0', 'B = "10 0 0')
    )
    text = text.replace('name = "AC"\n', 'name = "AC"\nfrom_release = ["ry"]\n')
    text = text.replace('name = "CB"\n', 'name = "CB"\ndivide = 3\nto_spring = { ry = "2 MN*m/rad" }\n')
    text = text.replace('["uy", "uz", "rx"]', '["uy", "uz", "rx", "ry"]')
    file = tmp_path / "changed.toml"
    file.write_text(text, encoding="utf-8")
    wanted = [
        one.computed for one in run_frame(read_frame_file(file)).outcomes if one.expected.case == "middle"
    ]
    found = answer(CASE, "middle", edits)
    assert [row["value"] for row in found["rows"]] == wanted
    assert found["elements"] == 4
    assert {row["status"] for row in found["rows"]} == {"none"}


def test_theory_follows_lengths_and_loads_and_ends_with_a_release():
    """w L²/8 with the length by its square and the load by itself; a hinge in the middle leaves the theory's assumptions."""
    by_place = {
        row["at"]: row for row in answer(CASE, "uniform", {"all lengths": 1.5, "all loads": 2})["rows"]
    }
    assert by_place["AC.start"]["expected"] == pytest.approx(2 * 4e3 * 7.5**2 / 8)
    assert by_place["AC.start"]["ok"]
    hinged = answer(CASE, "uniform", {"beams.AC.to_release": ["ry"]})
    assert hinged["without"] == [
        "the end of AC was given a release or a spring that the source's does not have"
    ]
    assert all(row["theory"] is None for row in hinged["rows"])


def test_what_cannot_be_solved_is_a_sentence():
    """A mechanism, a value that is none, and more elements than the page takes."""
    with pytest.raises(Mechanism):
        answer(CASE, "uniform", {"beams.AC.from_release": ["ry"], "beams.CB.from_release": ["ry"]})
    with pytest.raises(InputFaults, match="is not a stress"):
        answer(CASE, "uniform", {"materials.steel.E": "3 kg"})
    with pytest.raises(InputFault, match="the page takes 500"):
        answer(CASE, "uniform", {"beams.AC.divide": 9999})


def test_every_case_has_fields_of_its_own_values():
    """What is offered is in the file: setting every field to the value it has changes nothing."""
    for topic in list_of_cases():
        name = topic["cases"][0]["name"]
        found = description(name)
        loads = [field for load in found["loads"] for field in load["fields"]]
        fields = [
            *found["factors"],
            *loads,
            *(field for group in found["groups"] for field in group["fields"]),
        ]
        edits = {field["key"]: field["value"] for field in fields}
        edits |= {f"{beam['key']}.divide": beam["divide"] for beam in found["beams"]}
        assert {row["status"] for row in answer(name, "", edits)["rows"]} <= {"published"}, name


def test_both_parts_of_every_case_close():
    """Whatever is cut in its middle: the sum of each part is rounding, and the two faces are equal and opposite."""
    for topic in list_of_cases():
        found = answer(topic["cases"][0]["name"], "", {})["cut"]
        if found is None or "parts" not in found:
            continue
        before, after = found["parts"]
        assert max(before["imbalance"], after["imbalance"]) < 1e-9, topic
        assert before["rows"][0]["about"] == [-value for value in after["rows"][0]["about"]]


def test_modes_are_drawn_where_their_movement_shows():
    """The first four modes of which the source gives a frequency; the third of a flat strip is sideways, seen from above."""
    found = answer("vibrating_cantilever", "", {})
    assert [one["number"] for one in found["modes"]] == [1, 2, 3, 4]
    assert [one["picture"]["view"] for one in found["modes"]][1:3] == [
        "square to the x–z plane",
        "square to the x–y plane",
    ]
    for one in found["modes"]:
        [beam] = one["picture"]["beams"]
        assert max(abs(across) for _, across in beam["moved"]) > 0.1
    rows = {row["quantity"]: row["value"] for row in found["rows"]}
    assert [one["value"] for one in found["modes"]] == [
        rows[f"frequency {number}"] for number in (1, 2, 3, 4)
    ]
    assert found["cut"] is None


def test_a_cut_that_is_not_possible_leaves_the_rest():
    """One element in the deformed shape: the sentence instead of the parts, theory and pictures as ever."""
    found = answer("propped_cantilever", "middle", {"cases.middle.second_order": True})
    assert found["cut"]["fault"].endswith("divide it into two or more")
    assert found["rows"]
    divided = {"cases.middle.second_order": True, "beams.AC.divide": 2}
    assert answer("propped_cantilever", "middle", divided)["cut"]["parts"]


def test_an_arc_turns_as_its_moment(opened, address):
    """A tip moment about y, seen from −y: positive turns clockwise (the right-hand rule), and so does the arc drawn for it."""
    one = opened(address + TAB + "&case=cantilever_end_moment", ready="svg path.arc")
    one.settled()
    [turn] = [load["turn"] for load in answer("cantilever_end_moment", "", {})["picture"]["loads"]]
    path = one.page.locator("[data-picture=shape] path.arc").get_attribute("d").split()
    (begin, end), sweep = (float(path[2]), float(path[10])), int(path[8])
    # on a screen, y down, sweep 1 goes clockwise; the gap is at the right, so that a clockwise arc goes from below to above
    assert (sweep == 1) == (turn < 0)
    assert (begin > end) == (turn < 0)


def test_the_cut_is_moved_and_both_parts_follow(opened, address):
    """By slider and by a click on the frame; the address keeps the place; the face's moment is that of statics."""
    one = opened(address + TAB + f"&case={CASE}", ready=".free-body td")
    one.settled()
    page = one.page
    slider = page.get_by_label("cut from its start to its end")
    slider.focus()
    page.keyboard.press("End")
    page.locator(".free-body output", has_text="2.5 m of 2.5 m").wait_for()
    one.settled()
    sums = page.locator(".free-body tr.sum td").all_inner_texts()
    assert sums
    assert all(text.split()[0] == "0" for text in sums)
    # w L²/8 − 5wL/8 · 2.5 m + w (2.5 m)²/2 = −6.25 kN·m at the middle
    face = page.locator(".free-body tr:has(th:text-is('face of the cut, AC')) td")
    assert face.all_inner_texts() == ["−2.5 kN", "−6.25 kN·m", "2.5 kN", "6.25 kN·m"]
    beam = page.locator("[data-picture=shape] polyline.beam").last
    beam.scroll_into_view_if_needed()
    box = beam.bounding_box()
    page.mouse.click(box["x"] + 0.5 * box["width"], box["y"] + box["height"] / 2)
    page.locator(".free-body output", has_text="1.25 m of 2.5 m").wait_for()
    assert "beam=CB" in page.url
    page.reload()
    page.locator(".free-body output", has_text="1.25 m of 2.5 m").wait_for()
    assert page.get_by_label("Beam", exact=True).input_value() == "CB"


CROWDED = ("portal_side_load", "gable_frame", "three_bar_truss", "u_frame_bonded")
"""Cases whose small frames have reactions, loads and a cut close to one another."""


@pytest.mark.parametrize("case", CROWDED)
def test_no_words_of_a_picture_stand_on_one_another(opened, address, case):
    """Frame and both parts of a cut: no two labels overlap, and all are inside their picture."""
    one = opened(address + TAB + f"&case={case}", ready=".free-body td")
    one.settled()
    overlapping = """() => [...document.querySelectorAll(".free-body svg, [data-picture=shape] svg")].flatMap((svg) => {
        const boxes = [...svg.querySelectorAll("text")].map((text) => [text.textContent, text.getBBox()]);
        const high = svg.viewBox.baseVal.height;
        return boxes.flatMap(([words, a], i) => [
            ...(a.y < 0 || a.y + a.height > high ? [words] : []),
            ...boxes.slice(0, i).filter(([, b]) => a.x < b.x + b.width - 1 && b.x < a.x + a.width - 1
                && a.y < b.y + b.height - 1 && b.y < a.y + a.height - 1).map(([other]) => `${other} | ${words}`)]);
    })"""
    assert one.page.evaluate(overlapping) == []


def control(page, key: str):
    """The field of a key."""
    return page.locator(f"label[title='{key}'] + input")


def test_a_change_is_followed_undone_and_kept_in_the_address(opened, address):
    """A slider moves load and theory; undo; a reload keeps the change; the other tabs' boat is not touched."""
    one = opened(address + TAB + "&case=cantilever_point_load", ready=".theory td")
    one.settled()
    page = one.page
    slider = page.locator("div.field:has(label[title='all loads']) input[type=range]")
    slider.focus()
    for _ in range(4):
        page.keyboard.press("ArrowRight")
    page.locator(".theory td", has_text="−6 kN").first.wait_for()
    assert control(page, "all loads").input_value() == "1.2"
    assert page.locator(".theory .bad").count() == 0
    page.reload()
    page.locator(".theory td", has_text="−6 kN").first.wait_for()
    force = control(page, "cases.vertical.point.1.force")
    force.fill("0 0 -10 kN")
    force.press("Enter")
    page.locator(".theory td", has_text="−12 kN").first.wait_for()
    page.get_by_role("button", name="Undo").click()
    page.locator(".theory td", has_text="−6 kN").first.wait_for()
    page.get_by_role("button", name="As in the book").click()
    page.locator(".theory td", has_text="−5 kN").first.wait_for()
    assert "edits" not in page.url
    assert "changes" not in page.url


def test_a_release_by_keyboard_says_that_the_theory_no_longer_applies(opened, address):
    """A hinge at the root of a propped cantilever by keyboard alone; then a spring in its place; then a mechanism."""
    one = opened(address + TAB + f"&case={CASE}", ready=".theory td")
    one.settled()
    page = one.page
    page.locator("summary", has_text="Elements, releases").focus()
    page.keyboard.press("Enter")
    page.locator("summary:text-is('AC')").focus()
    page.keyboard.press("Enter")
    held = page.locator("fieldset:has(legend:text-is('at its start'))").first.get_by_label(
        "rotation about y", exact=True
    )
    held.focus()
    page.keyboard.press("ArrowDown")
    page.locator(".no-theory", has_text="The theory no longer applies: the start of AC").wait_for()
    assert page.locator(".theory td", has_text="no theory").count() == 5
    page.keyboard.press("ArrowDown")
    spring = page.get_by_label("AC, start: rotation about y, spring")
    assert spring.input_value() == "840 kN*m/rad"
    spring.fill("soft")
    spring.press("Enter")
    page.wait_for_selector("[role=alert] li")
    assert "from_spring" in page.locator("[role=alert]").inner_text()
    assert spring.get_attribute("aria-invalid") == "true"
    assert "last good answer" in page.locator(".status").inner_text()
    assert page.locator(".theory tbody tr").count() == 5
    spring.fill("1 MN*m/rad")
    spring.press("Enter")
    page.wait_for_selector("[role=alert]:not(:has(li))", state="attached")


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
        answer("king_post_slipping_strap", "upward", {})["rows"]
    )


@pytest.mark.parametrize("width", [1300, 390])
@pytest.mark.parametrize(
    "where", ["", '&case=portal_side_load&edits={"beams.AB1.to_release":["ry"]}', "&case=l_bracket&beam=BC"]
)
def test_no_serious_finding_and_nothing_wider_than_the_screen(opened, address, width, where):
    """axe-core's rules at both widths, with the list open and with a case."""
    one = opened(address + TAB + where, ready=".theory td", width=width)
    one.settled()
    assert one.page.evaluate("document.documentElement.scrollWidth") <= width
    assert serious_findings(one.page) == []
