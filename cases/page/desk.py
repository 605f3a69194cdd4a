"""Where the page's computations are done: one at a time, beside the server, the newest of each page alone."""

from __future__ import annotations

import asyncio
from collections import OrderedDict
from collections.abc import Awaitable, Callable
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

MAX_PAGES = 64
"""Open pages whose newest request is remembered; beyond it the one that asked longest ago is forgotten."""
Result = TypeVar("Result")


class Superseded(Exception):
    """A newer request of the same page has come, or the page waits no more."""


class Desk:
    """One thread that computes; what has become stale while it waited is never begun."""

    def __init__(self) -> None:
        self._newest: OrderedDict[str, int] = OrderedDict()
        self._turn = asyncio.Lock()
        self._thread = ThreadPoolExecutor(1, thread_name_prefix="page")

    async def done(
        self, page: str, number: int, gone: Callable[[], Awaitable[bool]], work: Callable[[], Result]
    ) -> Result:
        """What `work` returns; Superseded where it became stale before its turn.

        page, number : which page asks, and its how manieth request this is;   gone : whether the page has given it up
        """
        self._newest[page] = max(number, self._newest.pop(page, number))
        while len(self._newest) > MAX_PAGES:
            self._newest.popitem(last=False)
        async with self._turn:
            if self._newest.get(page, number) > number or await gone():
                raise Superseded
            return await asyncio.get_running_loop().run_in_executor(self._thread, work)

    def close(self) -> None:
        """Begin nothing more."""
        self._thread.shutdown(wait=False, cancel_futures=True)
