"""A page that is served by the real command, shared by all tests here: it keeps nothing of what they ask."""

import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import httpx
import pytest

from femcore.base.process import module_environment

ROOT = Path(__file__).parents[3]
DEMO = ROOT / "cases" / "boats" / "demo.toml"


@contextmanager
def served(file: Path = DEMO) -> Iterator[tuple[subprocess.Popen[str], str]]:
    """The command's process, and the address that it prints."""
    command = [sys.executable, "-m", "cases.cli.commands", "page", str(file), "--no-browser"]
    environment = {**module_environment(), "PYTHONUNBUFFERED": "1"}
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
