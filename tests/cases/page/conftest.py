"""A page that is served by the real command, shared by all tests here: it keeps nothing of what they ask."""

import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import httpx
import pytest

from femcore.base.process import module_environment

ROOT = Path(__file__).parents[3]
DEMO = ROOT / "cases" / "boats" / "demo.toml"


@contextmanager
def served(file: Path = DEMO, **more: str) -> Iterator[tuple[subprocess.Popen[str], str]]:
    """The command's process, in an environment with more of it, and the address that it prints."""
    command = [sys.executable, "-m", "cases.cli.commands", "page", str(file), "--no-browser"]
    environment = {**module_environment(), "PYTHONUNBUFFERED": "1", **more}
    with subprocess.Popen(
        command, env=environment, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    ) as running:
        try:
            assert running.stdout is not None
            first = running.stdout.readline()
            assert "http://" in first, running.stderr and running.stderr.read()
            yield running, first.split(": ")[1].strip()
        finally:
            running.kill()


@pytest.fixture(scope="session")
def address() -> Iterator[str]:
    """Of a page of the demo boat."""
    with served() as (_, found):
        yield found


@pytest.fixture
def client(address: str) -> Iterator[httpx.Client]:
    """A client at that address, without the environment's proxies."""
    with httpx.Client(base_url=address, trust_env=False, timeout=60) as made:
        yield made


class Opened:
    """An open page, and what went wrong on it or left the loopback."""

    def __init__(self, browser: Any, address: str, width: int = 1300) -> None:
        self.page = browser.new_page(viewport={"width": width, "height": 900})
        self.page.set_default_timeout(20_000)
        self.wrong: list[str] = []
        self.hosts: set[str] = set()
        self.page.on("pageerror", lambda error: self.wrong.append(str(error)))
        self.page.on("console", self._heard)
        self.page.on("request", lambda request: self.hosts.add(urlsplit(request.url).hostname or ""))
        self.page.goto(address)

    def _heard(self, message: Any) -> None:
        if message.type == "error" and "422" not in message.text:  # a fault of the file is told on the page
            self.wrong.append(message.text)

    def settled(self) -> None:
        """Wait until the newest state is answered."""
        self.page.wait_for_selector("main:not([aria-busy])")

    def number(self, row: str, column: int = 0) -> float:
        """In SI, of a row of the card."""
        cell = self.page.locator(f".card tr:has(th:text-is('{row}')) td").nth(column).locator("b")
        size, unit = cell.inner_text().split()
        return float(size) * {"N·m": 1.0, "kN·m": 1e3}[unit]


@pytest.fixture
def opened(browser: Any) -> Iterator[Callable[..., Opened]]:
    """Opens pages, and sees that nothing went wrong on them and nothing left the loopback."""
    made: list[Opened] = []

    def open_page(address: str, ready: str = ".card", **how: Any) -> Opened:
        made.append(Opened(browser, address, **how))
        made[-1].page.wait_for_selector(ready)
        return made[-1]

    yield open_page
    for one in made:
        one.page.close()
        assert one.wrong == []
        assert one.hosts <= {"127.0.0.1", ""}
