"""A browser without a window, for what only a browser can make of a page: a PDF of it, a picture of its first screen."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from pathlib import Path

from femcore.base.errors import InputFault

NAMES = (
    "chromium",
    "chromium-browser",
    "google-chrome",
    "google-chrome-stable",
    "chrome",
    "microsoft-edge",
    "msedge",
)
"""Programs that print a page by the same options."""
LONGEST = 300.0
"""s, in which a page is printed, or it is given up."""
SLIDE = (1600, 900)
"""Pixels of the picture of the decision, 16:9."""


def find_browser() -> str:
    """The first of `NAMES` that is installed; InputFault where none is."""
    found = next((path for name in NAMES if (path := shutil.which(name))), None)
    if found is None:
        raise InputFault(
            "--pdf",
            "needs Chromium, Chrome or Edge, and none is installed here",
            "install one of them, or leave --pdf out and print report.html from any browser",
        )
    return found


def print_pdf(browser: str, page: Path, pdf: Path, scratch: Path | None = None) -> str:
    """Print a page to a PDF; returns why not, empty where it is done.

    scratch : a folder for the browser's own files; left out, the system's for temporary ones
    """
    options = f"--print-to-pdf={pdf}", "--no-pdf-header-footer"
    return _made(browser, page.resolve().as_uri(), pdf, scratch, *options)


def picture_slide(browser: str, page: Path, png: Path, scratch: Path | None = None) -> str:
    """A picture of the decision alone, as large as a slide; returns why not, empty where it is done. `scratch` as above."""
    options = f"--screenshot={png}", f"--window-size={SLIDE[0]},{SLIDE[1]}", "--hide-scrollbars"
    return _made(browser, f"{page.resolve().as_uri()}#slide", png, scratch, *options)


def _made(browser: str, address: str, made: Path, scratch: Path | None, *options: str) -> str:
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True, dir=scratch) as profile:
        command = [browser, "--headless=new", "--disable-gpu", f"--user-data-dir={profile}", *options]
        if hasattr(os, "geteuid") and os.geteuid() == 0:
            command.append(
                "--no-sandbox"
            )  # it does not start as root with one; the page is ours and runs no script
        try:
            ended = subprocess.run(  # noqa: S603  (a list, by the full path of the browser)
                [*command, address], capture_output=True, timeout=LONGEST, check=False
            )
        except (OSError, subprocess.TimeoutExpired) as trouble:
            return f"{Path(browser).name} did not finish ({type(trouble).__name__})"
    return (
        ""
        if made.is_file() and made.stat().st_size
        else f"{Path(browser).name} ended with status {ended.returncode}"
    )
