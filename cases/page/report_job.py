"""The whole report of the changed boat, written by a process of its own, which says how far it is.

Run as a module, this file is that process: BOAT FOLDER, and the number of each stage that begins on standard output.
"""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Sequence
from contextlib import ExitStack
from pathlib import Path
from threading import Thread
from typing import Any

from femcore.base.disk import temporary_folder
from femcore.base.process import (
    OtherProcess,
    collect_garbage_rarely,
    end_with_starter,
    module_command,
    module_environment,
)

STAGES: Sequence[tuple[str, float]] = (
    ("reading the boat", 0.0),
    ("solving every joint and case", 0.02),
    ("margins, lives and the decision", 0.05),
    ("pictures and page", 0.3),
)
"""What is being done, and the part of the whole time that is over when it begins, as on the demo."""
HALF_WAY = 20
"""Pictures after which the last stage is shown as half done; how many there will be is not known before."""
DONE, FAILED = "done", "failed"


class ReportJob:
    """One report at a time, in a temporary folder that goes with the page."""

    def __init__(self) -> None:
        self._place = ExitStack()
        self._folder = self._place.enter_context(temporary_folder("forebeam-page-"))
        self._process: subprocess.Popen[str] | None = None
        self._stage = 0
        self._number = 0

    def begin(self, name: str, text: str) -> int:
        """Begin the report of a boat file's text, ending one that is being made; its number."""
        self._stop()
        self._number += 1
        here = self._folder / str(self._number)
        here.mkdir()
        boat = here / (Path(name).name or "boat.toml")
        boat.write_bytes(text.encode())
        self._stage = 0
        self._process = subprocess.Popen(  # noqa: S603  (our own module, by a list)
            module_command("cases.page.report_job", str(boat), str(here / "report")),
            env=module_environment() | {"PYTHONUNBUFFERED": "1"},
            stdin=subprocess.PIPE,  # it ends with this process
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            start_new_session=True,  # Ctrl-C is for the server, which ends this process itself
        )
        Thread(target=self._follow, args=(self._process,), daemon=True).start()
        return self._number

    def _follow(self, process: subprocess.Popen[str]) -> None:
        for line in process.stdout or ():
            if process is self._process and line.strip().isdecimal():
                self._stage = int(line)

    def progress(self) -> dict[str, Any]:
        """The stage in words, the part that is done, and whether it is done or failed, with the reason."""
        process = self._process
        if process is None:
            return {"number": 0, "words": "", "done": 0.0, "state": FAILED, "reason": "no report was started"}
        status = process.poll()
        words, done = STAGES[self._stage]
        if pictures := len(list((self._folder / str(self._number)).rglob("*.svg"))):
            words = f"{words}: {pictures} written"
            done += (1 - done) * pictures / (pictures + HALF_WAY)
        found = {"number": self._number, "words": words, "done": done, "state": "running", "reason": ""}
        if status == 0 and self.page(self._number).is_file():
            return found | {"state": DONE, "done": 1.0, "words": "the report is written"}
        if status is not None:
            reason = process.stderr.read().strip() if process.stderr and not process.stderr.closed else ""
            return found | {
                "state": FAILED,
                "reason": reason.rpartition("\n")[2] or "the report was not written",
            }
        return found

    def page(self, number: int) -> Path:
        """Where the page of that report is, once it is done."""
        return self._folder / str(number) / "report" / "report.html"

    def _stop(self) -> None:
        if self._process is not None and self._process.poll() is None:
            self._process.kill()
            self._process.wait()

    def close(self) -> None:
        """End what is running and remove the folder."""
        self._stop()
        self._place.close()


def _write(boat: Path, folder: Path) -> None:
    """Do the process's work."""
    import datetime as dt  # noqa: PLC0415  (of the process alone, as all below)
    import hashlib  # noqa: PLC0415

    def begin(stage: int) -> None:
        sys.stdout.write(f"{stage}\n")

    with OtherProcess("cases.analyses.two_processes") as other:  # it starts while this one imports the same
        from cases.analyses.two_processes import SharedAnalysis  # noqa: PLC0415
        from cases.input.boat_file import read_boat_file  # noqa: PLC0415
        from cases.report.output import Form, write  # noqa: PLC0415
        from cases.report.pages.report_page import Made  # noqa: PLC0415

        file = read_boat_file(boat)
        made = Made(dt.date.today().isoformat(), hashlib.sha256(boat.read_bytes()).hexdigest())  # noqa: DTZ011
        begin(1)
        shared = SharedAnalysis(file, boat.name, None, other, variants=True)
        _ = shared.studied
        begin(2)
        _ = shared.decided.decision
        analysis = shared.whole
        begin(3)
        write(analysis, folder, Form(made=made), other=other)


if __name__ == "__main__":
    from femcore.base.errors import ForebeamError

    end_with_starter()
    collect_garbage_rarely()
    try:
        _write(Path(sys.argv[1]), Path(sys.argv[2]))
    except ForebeamError as fault:
        sys.exit(str(fault))


__all__ = ["STAGES", "ReportJob"]
