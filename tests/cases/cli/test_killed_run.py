"""A run that is ended while it draws: no process goes on, no temporary folder stays for long, and an earlier report is whole."""

import os
import signal
import subprocess
import sys
import time
from contextlib import suppress

import psutil
import pytest

from cases.report.folder import write_complete_folder
from femcore.base.process import module_environment
from tests.cases.report.report_boat import TEXT

DRAWING = "femcore.plotting.scene_drawing"
"""The module of one of the two processes that draw beside a run; the other one is a copy of the run, or of a module too."""


def earlier(folder):
    """Of a report."""
    (folder / "report.html").write_text("earlier")


def drawn_beside(run):
    """The processes of a run, once both that draw are there."""
    until = time.monotonic() + 120
    while time.monotonic() < until and run.poll() is None:
        children = psutil.Process(run.pid).children(recursive=True)
        with suppress(psutil.NoSuchProcess):
            if len(children) > 1 and DRAWING in {word for one in children for word in one.cmdline()}:
                return children
        time.sleep(0.02)
    raise AssertionError(run.stderr.read() if run.poll() is not None else "nothing is drawn")


@pytest.mark.skipif(os.name != "posix", reason="signals of POSIX")
@pytest.mark.parametrize("how", [signal.SIGTERM, signal.SIGKILL], ids=["SIGTERM", "SIGKILL"])
def test_a_run_that_is_ended_while_it_draws_leaves_no_process_and_nothing_half(tmp_path, how):
    """Asked to end, it is stopped as by Ctrl-C and leaves nothing; killed, what it left beside the report goes with the next run,
    and nothing is among the system's temporary files.
    """
    boat, out, temporary = tmp_path / "boat.toml", tmp_path / "out", tmp_path / "temporary"
    boat.write_text(TEXT)
    temporary.mkdir()
    write_complete_folder(out, earlier)
    run = subprocess.Popen(
        [sys.executable, "-m", "cases.cli.commands", "run", boat, "--out", out],
        env=module_environment() | {"TMPDIR": str(temporary)},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
    )
    try:
        children = drawn_beside(run)
        run.send_signal(how)
        _, said = run.communicate(timeout=150)
    finally:
        run.kill()
    _, alive = psutil.wait_procs(children, timeout=30)
    assert not alive
    assert list(temporary.iterdir()) == []
    if how == signal.SIGTERM:
        assert (run.returncode, said.strip()) == (130, "stopped; no incomplete output was left")
    else:
        assert len(list(tmp_path.iterdir())) == 4
        assert (out / "report.html").read_text() == "earlier"
        write_complete_folder(out, earlier)
    assert {path.name for path in tmp_path.iterdir()} == {"boat.toml", "out", "temporary"}
    assert {path.name for path in out.iterdir()} == {"report.html", "files.json"}
    assert (out / "report.html").read_text() == "earlier"
