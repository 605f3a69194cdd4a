"""Another Python process: one that runs a module of ours, and one that does a job while this one works on.

It is no copy of the program that called, as Python's own pools make one, so that a script needs no guard around its main part.
"""

from __future__ import annotations

import io
import os
import pickle
import subprocess
import sys
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from threading import Thread
from types import MappingProxyType
from typing import Any, Generic, TypeVar

BLAS_THREADS = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")
Result = TypeVar("Result")


def available_cores() -> int:
    """Those that this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def module_command(module: str, *arguments: str) -> list[str]:
    """The command that runs a module, given by its full name."""
    return [sys.executable, "-m", module, *arguments]


def module_environment() -> dict[str, str]:
    """Its environment: it imports what this process can, and leaves the other cores to others."""
    paths = os.pathsep.join([str(Path(__file__).resolve().parents[2]), *filter(None, sys.path)])
    return {**os.environ, "PYTHONPATH": paths, **dict.fromkeys(BLAS_THREADS, "1")}


def end_with_starter() -> None:
    """In a process whose standard input is a pipe: end at once where the process that started it has ended."""

    def watch() -> None:
        # not by Python's own reader: its lock, held while it waits, would be a fatal error when this process is done
        while os.read(standard_input, 4096):
            pass
        os._exit(1)

    standard_input = sys.stdin.fileno()

    Thread(target=watch, daemon=True).start()


class JobBeside(Generic[Result]):
    """A job begun at once by another process, on a machine that has a core for it; `result` waits for what it returns.

    job : a function without arguments that can be pickled, as what it returns can be: `functools.partial` of a function and data

    Where the other process cannot be started, ends, or fails, the job is done here; so an error in it is raised here. The other
    process ends with this one.
    """

    def __init__(self, job: Callable[[], Result]) -> None:
        self._job = job
        self._returned: list[Result] = []
        self._process: subprocess.Popen[bytes] | None = None
        self._exchange = Thread(target=self._send_and_receive, daemon=True)
        if available_cores() > 1:
            with suppress(OSError):
                self._process = subprocess.Popen(  # noqa: S603  (our own module, by a list)
                    module_command("femcore.base.process"),
                    env=module_environment(),
                    stdin=subprocess.PIPE,
                    stdout=subprocess.PIPE,
                    stderr=subprocess.DEVNULL,
                )
                self._exchange.start()

    def result(self) -> Result:
        """What the job returns."""
        if self._process is not None:
            self._exchange.join()
            self.end()
        return self._returned[0] if self._returned else self._job()

    def end(self) -> None:
        """End the other process, whether it has done the job or not."""
        if self._process is not None:
            self._process.kill()
            self._exchange.join()
            self._process.communicate()
            self._process = None

    def _send_and_receive(self) -> None:
        process = self._process
        if process is not None and process.stdin is not None and process.stdout is not None:
            with suppress(OSError, EOFError, pickle.PickleError, TypeError, AttributeError):
                process.stdin.write(pickled(self._job))
                process.stdin.flush()
                self._returned.append(pickle.load(process.stdout))  # noqa: S301  (our own module's words)


class _Pickler(pickle.Pickler):
    """As usual, and mappings that cannot be changed too."""

    def reducer_override(self, obj: object) -> Any:  # noqa: ANN401  (as of its base)
        return (_read_only, (dict(obj),)) if isinstance(obj, MappingProxyType) else NotImplemented


def _read_only(mapping: dict[Any, Any]) -> MappingProxyType[Any, Any]:
    return MappingProxyType(mapping)


def pickled(what: object) -> bytes:
    """As bytes, for another process; numbers and arrays as they are."""
    target = io.BytesIO()
    _Pickler(target, pickle.HIGHEST_PROTOCOL).dump(what)
    return target.getvalue()


def _serve() -> None:
    """Do the job that comes, and give back what it returns; end at once where the process that sent it has ended."""
    job = pickle.load(sys.stdin.buffer)  # noqa: S301  (the process that started this one)
    end_with_starter()
    sys.stdout.buffer.write(pickled(job()))
    sys.stdout.flush()


if __name__ == "__main__":
    from femcore.base.process import (
        _serve as serve,  # its classes are then those of the module, not of the program
    )

    serve()


__all__ = [
    "BLAS_THREADS",
    "JobBeside",
    "available_cores",
    "end_with_starter",
    "module_command",
    "module_environment",
    "pickled",
]
