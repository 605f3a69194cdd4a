"""A real browser for tests: Chromium, Chrome or Edge, driven by Playwright; skipped with a reason where none is installed."""

from __future__ import annotations

import shutil
from contextlib import contextmanager
from pathlib import Path

import pytest

PROGRAM = next(filter(None, map(shutil.which, ("chromium", "google-chrome", "msedge"))), None)
# software drawing: test machines have no graphics card
OPTIONS = ["--no-sandbox", "--enable-unsafe-swiftshader", "--use-angle=swiftshader"]

AXE = Path(__file__).parent / "assets" / "axe" / "axe.min.js"
OURS = ("file:", "data:", "blob:", "http://127.0.0.1:")


@contextmanager
def launched():
    """One browser for all tests of a process: Playwright runs only once in each."""
    if PROGRAM is None:
        pytest.skip("no Chromium, Chrome or Edge is installed")
    driver = pytest.importorskip("playwright.sync_api", reason="Playwright is not installed")
    with driver.sync_playwright() as found:
        running = found.chromium.launch(executable_path=PROGRAM, args=OPTIONS)
        yield running
        running.close()


@contextmanager
def watched_page(opened, **options):
    """A page whose requests off the machine, console errors and exceptions end the test."""
    context = opened.new_context(**options)
    page, wrong = context.new_page(), []
    page.on("pageerror", lambda error: wrong.append(str(error)))
    page.on("console", lambda line: wrong.append(line.text) if line.type == "error" else None)
    page.on("request", lambda one: None if one.url.startswith(OURS) else wrong.append(one.url))
    try:
        yield page
        assert wrong == []
    finally:
        context.close()


def serious_findings(page):
    """What the accessibility checker axe-core calls serious or critical of a page: rule, and the elements at fault."""
    page.evaluate(AXE.read_text(encoding="utf-8"))
    return [
        (rule["id"], [node["html"][:120] for node in rule["nodes"]])
        for rule in page.evaluate("axe.run()")["violations"]
        if rule["impact"] in ("serious", "critical")
    ]
