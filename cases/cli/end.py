"""How the command ends: in good order where it is interrupted, and at once where it is done."""

from __future__ import annotations

import atexit
import os
import signal
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from typing import NoReturn


@contextmanager
def ended_as_interrupted() -> Iterator[None]:
    """Within it SIGTERM interrupts, where signals can be handled: in the main thread."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGTERM, signal.default_int_handler)
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, before)


def leave(status: int) -> NoReturn:
    """`sys.exit` of the whole program: threads end and all that is registered for the end is done, and no more.

    Python would then take every module and object apart, which gives the system nothing that it does not take back anyway, and
    takes half a second.
    """
    atexit.register(_end, status)
    sys.exit(status)


def _end(status: int) -> None:
    atexit.unregister(_end)
    atexit._run_exitfuncs()  # noqa: SLF001  (Python has no public name for it)
    with suppress(OSError, ValueError):  # of a stream that is closed: Python ends as it would
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(status)


__all__ = ["ended_as_interrupted", "leave"]
