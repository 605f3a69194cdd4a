"""A report as asked for: in brief, printed by a browser, of some joints alone; and what is reported where a browser fails."""

import re
import shutil
import stat
import struct
from pathlib import Path

import numpy as np
import pytest

from cases.analyses.analysis import analyse
from cases.input.service import Detail, ServiceLife
from cases.report.output import Form, write
from cases.report.pages import browser as program_browser
from cases.report.pages import report_page
from cases.report.pages.browser import SLIDE
from femcore.base.errors import InputFault
from tests.cases.analyses.test_decision import RIGID, boat
from tests.models.joints.test_joint_lug import FITTING

A4_WIDTH = 182.0
"""mm between the margins."""
BROWSER = next((path for name in program_browser.NAMES if (path := shutil.which(name))), None)


@pytest.fixture(scope="module")
def analysis():
    """Lugs beside a rigid joint."""
    return analyse(boat(RIGID))


def test_without_a_browser_a_sentence_says_so(monkeypatch, tmp_path):
    """With none on the path, what is asked for and the cure are named: a fault of the command, before anything is solved."""
    monkeypatch.setenv("PATH", str(tmp_path))
    with pytest.raises(
        InputFault, match="--pdf: needs Chromium, Chrome or Edge, and none is installed here; install one"
    ):
        program_browser.find_browser()


def test_the_slide_holds_the_whole_card(analysis, browser, tmp_path):
    """At 16:9 the caution, the card's last line, ends above the lower edge, and nothing is wider than the picture."""
    file = tmp_path / "report.html"
    file.write_text(report_page.render(analysis, [], [], [], brief=True), "utf-8")
    page = browser.new_page(viewport=dict(zip(("width", "height"), SLIDE, strict=True)))
    page.goto(f"{file.as_uri()}#slide")
    wide, high = page.evaluate(
        "[document.documentElement.scrollWidth, document.documentElement.scrollHeight]"
    )
    last = page.locator(".card .caution").bounding_box()
    page.close()
    assert wide <= SLIDE[0]
    assert last["y"] + last["height"] <= min(high, SLIDE[1])


DRAWN = {"rig": [(532.8, 637.2)], "weakest": [(532.8, 477.4), (532.8, 427.7)]}
"""Section of the page → width and height of its drawings, points, as drawn of a boat with two candidates."""
SMALLEST_DRAWN, SMALLEST_PRINTED = 7.0, 5.0
"""Points, of the text in drawings."""


@pytest.mark.parametrize("section", DRAWN)
def test_drawings_are_printed_large_enough_to_read(browser, tmp_path, section):
    """The smallest text of a load path or fitting is at least 5 points high on paper."""
    drawn = "".join(
        f'<figure><div class="scroll"><svg viewBox="0 0 {wide} {high}"></svg></div></figure>'
        for wide, high in DRAWN[section]
    )
    style = (Path(report_page.__file__).parent / "templates" / "style.css").read_text("utf-8")
    file = tmp_path / "page.html"
    file.write_text(f'<style>{style}</style><main><section id="{section}">{drawn}</section></main>', "utf-8")
    page = browser.new_page(viewport={"width": round(A4_WIDTH * 96 / 25.4), "height": 1000})
    page.emulate_media(media="print")
    page.goto(file.as_uri())
    boxes = [one.bounding_box() for one in page.locator("svg").all()]
    page.close()
    for (wide, high), box in zip(DRAWN[section], boxes, strict=True):
        scale = min(box["width"] / wide, box["height"] / high) * 72 / 96  # 96 pixels and 72 points an inch
        assert SMALLEST_DRAWN * scale >= SMALLEST_PRINTED


def test_a_browser_that_fails_costs_no_report(analysis, tmp_path):
    """One that ends with an error, or that is not there: the report is written, and remarks name what is missing and why."""
    broken = tmp_path / "chromium"
    broken.write_text("#!/bin/sh\nexit 7\n")
    broken.chmod(broken.stat().st_mode | stat.S_IXUSR)
    for number, (program, why) in enumerate(
        ((str(broken), "chromium ended with status 7"), (str(tmp_path / "none"), "none did not finish"))
    ):
        written = write(analysis, tmp_path / f"out{number}", Form(brief=True, pdf=program))
        assert written.report.is_file()
        assert next(one for one in written.remarks if why in one).startswith("No report.pdf: ")
        assert "report.pdf" not in written.files


@pytest.mark.skipif(BROWSER is None, reason="no Chromium, Chrome or Edge is installed")
def test_in_brief_two_pages_are_printed_and_the_slide_is_16_by_9(analysis, tmp_path):
    """The brief page prints to two pages of paper; the picture of the decision has the size of a slide and is not blank."""
    written = write(analysis, tmp_path / "out", Form(brief=True, pdf=str(BROWSER)))
    assert {"report.pdf", "decision.png"} <= set(written.files)
    printed = (written.folder / "report.pdf").read_bytes()
    assert printed.startswith(b"%PDF")
    assert max(map(int, re.findall(rb"/Count (\d+)", printed))) == 2
    picture = (written.folder / "decision.png").read_bytes()
    assert struct.unpack(">II", picture[16:24]) == program_browser.SLIDE
    assert len(picture) > 20_000


def test_in_brief_one_picture_is_drawn(analysis, tmp_path):
    """What the page does not show is not drawn; tables and numbers are as always."""
    brief = write(analysis, tmp_path / "out", Form(brief=True))
    assert [name for name in brief.files if name.startswith("pictures/")] == ["pictures/main-load.svg"]
    numbers = write(analysis, tmp_path / "numbers", Form(pictures=False))
    assert {name for name in numbers.files if name.startswith("tables/")} <= set(brief.files)


def test_a_joint_alone_is_as_among_others(analysis):
    """A boat of one of its joints has, to the last digit, that joint's loads; its own details in service stay, others go."""
    bolt = {"component": "torque", "curve": "bolt in tension", "diameter": 0.01, "stress_per": "34 kPa/(N*m)"}
    details = [
        Detail(name=name, joint=joint, **bolt)
        for name, joint in (("own", FITTING["name"]), ("other", "rigid"), ("any", "all"))
    ]
    service = ServiceLife(distance=1e6, speed=3.0, period=6.0, case="racking", details=details)
    file = analysis.file.model_copy(update={"service": service})
    alone = file.with_joints([FITTING["name"]])
    assert [one.name for one in alone.service.details] == ["own", "any"]
    [joint] = analyse(alone.model_copy(update={"service": None})).study.joints
    among = analysis.study.joints[0]
    for one, other in zip(joint.cases, among.cases, strict=True):
        assert np.array_equal(one.joint_load, other.joint_load)
    with pytest.raises(InputFault, match="did you mean 'rigid'"):
        file.with_joints(["rigd"])
