"""A real browser for tests: Chromium, Chrome or Edge, driven by Playwright; skipped with a reason where none is installed."""

from __future__ import annotations

import shutil
from contextlib import contextmanager

import pytest
from playwright.sync_api import sync_playwright

PROGRAM = next(
    filter(None, map(shutil.which, ("chromium", "google-chrome", "msedge", "chromium-browser"))), None
)
needs_browser = pytest.mark.skipif(PROGRAM is None, reason="no Chromium, Chrome or Edge is installed")
# software drawing: test machines have no graphics card
OPTIONS = ["--no-sandbox", "--enable-unsafe-swiftshader", "--use-angle=swiftshader"]

OURS = ("file:", "data:", "blob:", "http://127.0.0.1:")


@contextmanager
def browser():
    """One browser; each test opens a context of its own."""
    with sync_playwright() as found:
        opened = found.chromium.launch(executable_path=PROGRAM, args=OPTIONS)
        try:
            yield opened
        finally:
            opened.close()


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
