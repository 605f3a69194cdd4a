"""Figures drawn by two processes: another one while this one computes, and both for what is then left.

A job is a function without arguments that returns a drawing, and that can be pickled: `functools.partial` of a function and data.
"""

from __future__ import annotations

import pickle
import subprocess
import sys
from collections.abc import Callable, Iterable
from contextlib import suppress
from queue import Empty, SimpleQueue
from threading import Event, Thread
from typing import BinaryIO, Self

from femcore.base.process import module_command, module_environment, pickled
from femcore.plotting.drawing import Drawing, Picture

Job = Callable[[], Drawing]
READY = "ready"


class DrawingProcess:
    """A context: `add` hands jobs on, which are begun at once; `pictures` draws the rest here and has them all.

    Where the other process cannot be started, ends, or fails in a job, this one draws; so an error in a job is raised here.

    png : whether each picture has a PNG beside its SVG
    """

    def __init__(self, *, png: bool = False) -> None:
        self._png = png
        self._jobs: list[Job] = []
        self._waiting: SimpleQueue[int | None] = SimpleQueue()
        self._drawn: dict[int, Picture] = {}
        self._ready = Event()
        self._process: subprocess.Popen[bytes] | None = None
        self._feeder = Thread(target=self._feed, daemon=True)

    def __enter__(self) -> Self:
        with suppress(OSError):
            self._process = subprocess.Popen(  # noqa: S603  (our own module, by a list)
                module_command(__name__),
                env=module_environment(),
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
            )
            self._feeder.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._waiting.put(None)
        if self._process is not None:
            self._process.kill()
            self._feeder.join()
            with suppress(BrokenPipeError):
                self._process.communicate()

    def wait(self, seconds: float = 60.0) -> bool:
        """Until the other process is ready; whether it is."""
        return self._ready.wait(seconds)

    def add(self, jobs: Iterable[Job]) -> int:
        """Hand on jobs; returns how many."""
        first = len(self._jobs)
        for job in jobs:
            self._jobs.append(job)
            self._waiting.put(len(self._jobs) - 1)
        return len(self._jobs) - first

    def pictures(self, drawn: Callable[[float], None] = lambda _part: None) -> list[Picture]:
        """All pictures, in the order of their jobs; nothing may be added afterwards.

        drawn : called with the part of them that is drawn, whenever one was drawn here
        """
        with suppress(Empty):
            while (number := self._waiting.get_nowait()) is not None:
                self._drawn[number] = self._jobs[number]().picture(png=self._png)
                drawn(len(self._drawn) / len(self._jobs))
        self._waiting.put(None)
        if self._process is not None:
            if not self._ready.is_set():
                self._process.kill()  # still starting: nothing was handed to it
            self._feeder.join()
        return [
            self._drawn.get(number) or job().picture(png=self._png) for number, job in enumerate(self._jobs)
        ]

    def _feed(self) -> None:
        """Give the other process one job after another; ends where it does, or where there are no more."""
        process = self._process
        if process is None or process.stdin is None or process.stdout is None:
            return
        with suppress(OSError, EOFError, pickle.UnpicklingError):
            if pickle.load(process.stdout) != READY:  # noqa: S301  (our own module's words)
                return
            self._ready.set()
            while (number := self._waiting.get()) is not None:
                try:
                    message = pickled((self._jobs[number], self._png))
                except (pickle.PicklingError, TypeError, AttributeError):
                    continue  # this process draws it in the end
                process.stdin.write(message)
                process.stdin.flush()
                picture: Picture | None = pickle.load(process.stdout)  # noqa: S301
                if picture is not None:
                    self._drawn[number] = picture


def serve(jobs: BinaryIO, pictures: BinaryIO) -> None:
    """Draw what comes until nothing more does, a picture for each job, None where it fails (in the other process)."""
    import matplotlib.backends.backend_svg  # noqa: F401, PLC0415  (what every job needs, while there is none yet)

    pictures.write(pickle.dumps(READY))
    pictures.flush()
    with suppress(EOFError):
        while True:
            job, png = pickle.load(jobs)  # noqa: S301  (the process that started this one)
            try:
                picture = job().picture(png=png)
            except Exception:  # noqa: BLE001  (it is raised where the job is drawn again)
                picture = None
            pictures.write(pickle.dumps(picture))
            pictures.flush()


if __name__ == "__main__":
    serve(sys.stdin.buffer, sys.stdout.buffer)
