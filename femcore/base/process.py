"""Another Python process: one that runs a module of ours, and one that does jobs while this one works on.

It is no copy of the program that called, as Python's own pools make one, so that a script needs no guard around its main part.
A program that knows itself may have one: it has all that was imported and read until then.
"""

from __future__ import annotations

import gc
import importlib
import io
import os
import pickle
import signal
import subprocess
import sys
import warnings
from collections import deque
from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress
from functools import partial
from pathlib import Path
from queue import SimpleQueue
from threading import Condition, Event, Thread
from types import MappingProxyType
from typing import Any, Generic, NoReturn, Self, TypeVar

BLAS_THREADS = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")
SIZE_BYTES = 8
"""Before each message to the other process: how long it is."""
CAN_COPY = sys.platform == "linux"
"""Whether a process may be copied: elsewhere the system cannot, or its own libraries do not bear it."""
Result = TypeVar("Result")


def collect_garbage_rarely() -> None:
    """In a process of ours: modules, tables and solutions stay as long as it runs, and a picture is thousands of objects.

    To look through them all at every 700 new ones takes a tenth of the start and a fifth of the pictures.
    """
    gc.set_threshold(50_000)


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


class Begun(Generic[Result]):
    """A job handed to another process; `result` is what it returns. A copy in a third one does the job itself when asked."""

    def __init__(
        self,
        owner: OtherProcess | None,
        job: Callable[[], Result],
        message: bytes | None,
        *,
        short: bool = False,
    ) -> None:
        self._owner, self._job, self.message, self.is_short = owner, job, message, short
        self._returned: list[Result] = []
        self.settled = Event()

    def __reduce__(self) -> tuple[Any, ...]:
        """Its job alone."""
        return Begun, (None, self._job, None)

    def result(self) -> Result:
        """What the job returns; done here where the other process has not begun it, or failed: an error is raised here."""
        if not self._returned:
            if self._owner is not None and not self._owner.take_back(self):
                while not self.settled.is_set() and self._owner.does_short_job():
                    pass
                self.settled.wait()
            if not self._returned:
                self.do()
        return self._returned[0]

    def do(self) -> None:
        """Do the job here."""
        self.settle(self._job())

    @property
    def is_done(self) -> bool:
        """Whether its result is here."""
        return bool(self._returned)

    @property
    def is_awaited(self) -> bool:
        """Whether the other process is at it."""
        return not (self.settled.is_set() or self._owner is None or self._owner.has_not_begun(self))

    def settle(self, *returned: Result) -> None:
        """Its result has come, or none will."""
        self._returned += returned
        self.settled.set()


class OtherProcess:
    """A context: another process that does one job after another while this one works on, where the machine has a core for it.

    A job is a function without arguments that can be pickled, as what it returns can be: `functools.partial` of a function and
    data. Where the process cannot be started, ends, or fails in a job, the job is done here when its result is asked for; so
    an error in it is raised here. The process ends with the context, and with this process.

    modules : full names of those that it imports while there is no job yet
    copied  : a copy of this process, where the system makes one, when the first object is shared or job handed on; no other
              thread may then be at anything, since its locks stay closed in the copy
    """

    def __init__(self, *modules: str, copied: bool = False) -> None:
        self._sharing, self._waiting = deque[Begun[Any]](), deque[Begun[Any]]()
        self._shared = dict[int, tuple[int, object]]()
        self._changed = Condition()
        self._over = False
        self._process: subprocess.Popen[bytes] | _Copy | None = None
        self._exchange = Thread(target=self._send_and_receive, daemon=True)
        several = available_cores() > 1
        self._is_to_be_copied = several and copied and CAN_COPY
        if several and not self._is_to_be_copied:
            self._start(partial(_started, modules))

    def _start(self, start: Callable[[], subprocess.Popen[bytes] | _Copy]) -> None:
        self._is_to_be_copied = False
        with suppress(OSError):
            self._process = start()
            self._exchange.start()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.end()

    @property
    def is_there(self) -> bool:
        """Whether there is another process that takes jobs."""
        return (self._process is not None or self._is_to_be_copied) and not self._over

    def share(self, what: object) -> None:
        """Send an object of a class now, as it is; jobs that have it among their data find it there."""
        if not self.is_there or id(what) in self._shared:
            return
        number = len(self._shared)
        if self._is_to_be_copied:
            self._start(partial(_Copy, {number: what}))
        else:
            self._hand_on(partial(_keep, number, what), self._sharing.append)
        self._shared[id(what)] = number, what

    def begin(
        self, job: Callable[[], Result], *, before_others: bool = False, short: bool = False
    ) -> Begun[Result]:
        """Hand a job on, as it is now: what is worked out here afterwards of its data does not go with it.

        before_others : that wait already;   short : it may be done here while the result of another one is waited for
        """
        return self._hand_on(
            job, self._waiting.appendleft if before_others else self._waiting.append, short=short
        )

    def _hand_on(
        self, job: Callable[[], Result], put: Callable[[Begun[Result]], None], *, short: bool = False
    ) -> Begun[Result]:
        if self._is_to_be_copied:
            self._start(partial(_Copy, {}))
        try:
            message = pickled(job, self._shared) if self.is_there else None
        except (pickle.PicklingError, TypeError, AttributeError):
            message = None
        begun = Begun(self, job, message, short=short)
        if message is not None:
            with self._changed:
                put(begun)
                self._changed.notify()
        return begun

    def has_not_begun(self, begun: Begun[Any]) -> bool:
        """Whether a job is not with the other process: it waits, or could not be handed on."""
        with self._changed:
            return begun in self._waiting or begun.message is None

    def take_back(self, begun: Begun[Any]) -> bool:
        """The same, and that process will never begin it."""
        with self._changed:
            if begun in self._waiting:
                self._waiting.remove(begun)
                return True
            return begun.message is None

    def does_short_job(self) -> bool:
        """Do the last of the short jobs that wait, if there is one; an error in it is raised when its result is asked for."""
        with self._changed:
            begun = next((one for one in reversed(self._waiting) if one.is_short), None)
            if begun is None:
                return False
            self._waiting.remove(begun)
        with suppress(Exception):
            begun.do()
        begun.settled.set()
        return True

    def end(self) -> None:
        """End the other process, whatever it is doing."""
        with self._changed:
            self._over = True
            self._changed.notify()
        process = self._process
        if process is not None and process.stdin is not None and process.stdout is not None:
            process.kill()
            self._exchange.join()
            with suppress(BrokenPipeError):
                process.stdin.close()
            process.stdout.close()
            process.wait()
            self._process = None

    def _send_and_receive(self) -> None:
        process, begun = self._process, None
        if process is None or process.stdin is None or process.stdout is None:
            return
        with suppress(Exception):  # whatever it is, the job is done here
            while (begun := self._next()) is not None:
                message = begun.message or b""
                process.stdin.write(len(message).to_bytes(SIZE_BYTES, "big") + message)
                process.stdin.flush()
                begun.settle(*pickle.load(process.stdout))  # noqa: S301  (our own module's words)
        with self._changed:
            self._over = True
            given_up = [*([] if begun is None else [begun]), *self._sharing, *self._waiting]
            self._sharing.clear()
            self._waiting.clear()
        for one in given_up:
            one.settle()

    def _next(self) -> Begun[Any] | None:
        """The next job, when there is one; None when it is over."""
        with self._changed:
            self._changed.wait_for(lambda: self._sharing or self._waiting or self._over)
            return None if self._over else (self._sharing or self._waiting).popleft()


def _started(modules: Iterable[str]) -> subprocess.Popen[bytes]:
    return subprocess.Popen(  # noqa: S603  (our own module, by a list)
        module_command("femcore.base.process", *modules),
        env=module_environment(),
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
    )


class _Copy:
    """A copy of this process, which does jobs and nothing else; with as much of `subprocess.Popen` as is asked for here.

    kept : by number, what is shared with it from the start
    """

    def __init__(self, kept: Mapping[int, object]) -> None:
        (its_input, to_it), (from_it, its_output) = os.pipe(), os.pipe()
        with warnings.catch_warnings():  # of Python 3.12, where there are threads; none is at anything
            warnings.simplefilter("ignore", DeprecationWarning)
            self.pid = os.fork()
        if self.pid == 0:
            os.close(to_it)
            os.close(from_it)
            _serve_as_copy(its_input, its_output, kept)
        os.close(its_input)
        os.close(its_output)
        self.stdin, self.stdout = os.fdopen(to_it, "wb"), os.fdopen(from_it, "rb")
        self._is_over = False

    def kill(self) -> None:
        """End it, whatever it is doing."""
        if not self._is_over:
            os.kill(self.pid, signal.SIGKILL)

    def wait(self) -> None:
        """Until it has ended."""
        if not self._is_over:
            os.waitpid(self.pid, 0)
            self._is_over = True


def results(
    begun: Iterable[Begun[Result]], done: Callable[[float], None] = lambda _part: None
) -> list[Result]:
    """What many jobs return, in their order: this process does one after another that is not begun, then waits for the rest.

    done : called with the part of them that is done, whenever one was done here
    """
    every = list(begun)
    for one in every:
        if not (one.is_done or one.is_awaited):
            one.result()
            done(sum(each.is_done for each in every) / len(every))
    return [one.result() for one in every]


class _Pickler(pickle.Pickler):
    """As usual, and mappings that cannot be changed too; what the other process has is named by its number."""

    def __init__(self, target: io.BytesIO, shared: Mapping[int, tuple[int, object]]) -> None:
        super().__init__(target, pickle.HIGHEST_PROTOCOL)
        self._shared = shared

    def reducer_override(self, obj: object) -> Any:  # noqa: ANN401  (as of its base)
        if isinstance(obj, MappingProxyType):
            return _read_only, (dict(obj),)
        if id(obj) in self._shared:
            return _kept, (self._shared[id(obj)][0],)
        return NotImplemented


def _read_only(mapping: dict[Any, Any]) -> MappingProxyType[Any, Any]:
    return MappingProxyType(mapping)


def pickled(what: object, shared: Mapping[int, tuple[int, object]] = MappingProxyType({})) -> bytes:
    """As bytes, for another process; numbers and arrays as they are.

    shared : by `id`, what that process keeps, with its number there
    """
    target = io.BytesIO()
    _Pickler(target, shared).dump(what)
    return target.getvalue()


_KEPT: dict[int, object] = {}
"""In the other process: what was shared with it, by its number."""


def _keep(number: int, what: object) -> None:
    _KEPT[number] = what


def _kept(number: int) -> object:
    return _KEPT[number]


def _serve_as_copy(its_input: int, its_output: int, kept: Mapping[int, object]) -> NoReturn:
    """In the copy: nothing of what this process was about goes on, neither at an interruption nor at an error."""
    try:
        for one in (signal.SIGINT, signal.SIGTERM):
            signal.signal(one, signal.SIG_DFL)
        nothing = os.open(os.devnull, os.O_RDWR)
        for standard in range(3):
            os.dup2(nothing, standard)  # what a job prints is no answer
        gc.freeze()  # what both have stays, and is not copied to look for garbage in it
        _KEPT.update(kept)
        _serve(its_input, its_output)
    finally:
        os._exit(1)


def _serve_as_module(modules: Iterable[str]) -> None:
    """Standard input and output are for jobs and answers."""
    its_input, its_output = os.dup(sys.stdin.fileno()), os.dup(sys.stdout.fileno())
    os.dup2(sys.stderr.fileno(), sys.stdout.fileno())  # what a job prints is no answer
    _serve(its_input, its_output, modules)


def _serve(its_input: int, its_output: int, modules: Iterable[str] = ()) -> None:
    """Do the jobs that come, and give back what each returns, nothing where it fails; end at once with the process that sends."""
    collect_garbage_rarely()
    answers, messages = os.fdopen(its_output, "wb"), SimpleQueue[bytes]()
    Thread(target=_receive, args=(its_input, messages), daemon=True).start()
    for module in modules:
        importlib.import_module(module)
    while True:
        try:
            answer = pickled((pickle.loads(messages.get())(),))  # noqa: S301  (the process that started this one)
        except Exception:  # noqa: BLE001  (it is raised where the job is done again)
            answer = pickled(())
        answers.write(answer)
        answers.flush()


def _receive(its_input: int, messages: SimpleQueue[bytes]) -> None:
    """Messages as they come; the process ends where there will be no more, whatever it is doing."""
    with suppress(OSError), os.fdopen(its_input, "rb") as stream:
        while size := stream.read(SIZE_BYTES):
            messages.put(stream.read(int.from_bytes(size, "big")))
    os._exit(0)


if __name__ == "__main__":
    from femcore.base.process import (
        _serve_as_module as serve,  # its classes are then those of the module, not of the program
    )

    serve(sys.argv[1:])


__all__ = [
    "BLAS_THREADS",
    "Begun",
    "OtherProcess",
    "available_cores",
    "collect_garbage_rarely",
    "end_with_starter",
    "module_command",
    "module_environment",
    "pickled",
    "results",
]
