"""A boat file with faults: the page opens, lists them by key with their cure, and reads the file again."""

import subprocess
import sys

import httpx
import pytest

from cases.page.state import OpenedFile
from femcore.base.errors import InputFaults
from femcore.base.process import module_environment
from tests.browser import serious_findings
from tests.cases.page.conftest import DEMO, served

GOOD = DEMO.read_text(encoding="utf-8")
BAD = GOOD.replace('up = "160 mm"', 'up = "160 mph"', 1).replace("[striker]", "[strikker]", 1)


@pytest.fixture
def faulty(tmp_path):
    """The demo boat with a value that is no length and a table that is misspelt."""
    assert "160 mph" in BAD
    assert "[strikker]" in BAD
    file = tmp_path / "faulty.toml"
    file.write_text(BAD, encoding="utf-8")
    return file


def test_every_fault_is_kept_by_its_key(faulty):
    """Without the file's own name; there is no boat, until the file is corrected; corrected and broken again, the boat stays."""
    opened = OpenedFile(faulty)
    assert {fault.place for fault in opened.faults} == {"strikker", "striker: height", "stay: up"}
    assert all(fault.cure and str(faulty) not in str(fault) for fault in opened.faults)
    assert not opened.is_known
    with pytest.raises(InputFaults):
        _ = opened.boat
    faulty.write_text(GOOD, encoding="utf-8")
    opened.read()
    assert opened.faults == ()
    sound = opened.boat
    faulty.write_text("title = ", encoding="utf-8")
    opened.read()
    assert "is not sound TOML" in str(opened.faults[0])
    assert opened.boat is sound


def test_what_cannot_be_a_boat_file_is_still_refused(tmp_path):
    """One that does not exist, a folder, and a frame file: a sentence and status 2."""
    frame = next((DEMO.parents[1] / "textbook").rglob("*.toml"))
    for path, words in (
        (tmp_path / "none.toml", "does not exist"),
        (tmp_path, ""),
        (frame, "is a frame file"),
    ):
        command = [sys.executable, "-m", "cases.cli.commands", "page", str(path), "--no-browser"]
        done = subprocess.run(
            command, env=module_environment(), capture_output=True, text=True, timeout=60, check=False
        )
        assert done.returncode == 2
        assert words in done.stderr


def test_the_page_lists_faults_and_reads_the_file_again(opened, faulty):
    """Key, wrong and cure; corrected, the boat is shown; broken again, the faults beside the boat that it was."""
    with served(faulty) as (_, address):
        one = opened(address, ready="#file-faults table")
        page = one.page
        text = page.locator("#file-faults").inner_text()
        assert "strikker" in text
        assert "did you mean" in text
        assert page.locator(".card").count() == 0
        assert serious_findings(page) == []
        page.get_by_role("button", name="Student").click()
        page.wait_for_selector(".theory td")
        assert not page.locator("#file-faults").is_visible()
        page.get_by_role("button", name="Builder").click()
        page.get_by_role("button", name="Read the file again").focus()
        page.keyboard.press("Enter")
        page.wait_for_selector("#file-faults table")
        faulty.write_text(GOOD, encoding="utf-8")
        page.keyboard.press("Enter")
        page.wait_for_selector(".card")
        assert page.locator("#file-faults table").count() == 0
        faulty.write_text(BAD, encoding="utf-8")
        page.get_by_role("button", name="Read the file again").click()
        page.wait_for_selector("#file-faults table")
        assert "The boat shown is that of the file before" in page.locator("#file-faults").inner_text()
        page.wait_for_selector(".card")
        page.goto("about:blank")  # it asks nothing more of a server that ends here


def test_questions_about_a_boat_that_is_none_are_answered_by_its_faults(faulty):
    """422 with the sentences, on every route that needs the boat; the student's are answered."""
    with (
        served(faulty) as (_, address),
        httpx.Client(base_url=address, trust_env=False, timeout=60) as client,
    ):
        asked = {"page": "0123456789abcdef", "number": 0, "joint": "taped socket"}
        for answer in (
            client.get("builder/boat"),
            client.get("engineer/factors"),
            client.post("builder/answer", json=asked),
        ):
            assert answer.status_code == 422
            assert any("strikker" in fault["words"] for fault in answer.json()["faults"])
        assert client.get("student/cases").status_code == 200
        known = client.post("file/read", json={"page": "0123456789abcdef", "number": 1}).json()
        assert known["known"] is False
        assert {"place", "wrong", "cure"} == set(known["faults"][0])
