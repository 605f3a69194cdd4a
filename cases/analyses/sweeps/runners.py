"""Where chunks are worked out: on the cores of this machine, or on a cluster. Each process has one thread of linear algebra.

A runner gives tables as they are ready, in any order. It starts what it needs and ends it, also where its caller stops half-way
or is killed; a chunk whose process is killed is done again by another one.
"""

from __future__ import annotations

import importlib
import multiprocessing
import os
import signal
import threading
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from itertools import islice
from multiprocessing import connection
from typing import Any

import pyarrow as pa  # type: ignore[import-untyped]

from cases.analyses.sweeps.chunk import chunk_table
from cases.analyses.sweeps.plan import SweepPlan, program
from femcore.base.errors import InputFault
from femcore.base.process import BLAS_THREADS, available_cores

Runner = Callable[[SweepPlan, Sequence[int]], Iterator[tuple[int, pa.Table]]]
ONE_THREAD = dict.fromkeys(BLAS_THREADS, "1")
"""Two threads in each of as many processes as cores would be slower, and add up sums in another order."""
WAITING_PER_PROCESS = 3
"""Chunks given to a process before it asks: none has to wait for this one, and memory stays small."""
CONNECTING = 10.0
"""Seconds in which a scheduler has to answer."""
PATIENCE = 60.0
"""Seconds for which a cluster may be without any worker."""


def in_this_process(plan: SweepPlan, numbers: Sequence[int]) -> Iterator[tuple[int, pa.Table]]:
    """One after the other, without starting anything."""
    for number in numbers:
        yield number, chunk_table(plan, number)


def on_cores(count: int | None = None) -> Runner:
    """On so many processes of this machine; left out, as many as it has cores.

    InputFault where processes end by themselves again and again, as where memory is short.
    """

    def run(plan: SweepPlan, numbers: Sequence[int]) -> Iterator[tuple[int, pa.Table]]:
        processes, left = min(count or available_cores(), max(len(numbers), 1)), dict.fromkeys(numbers)
        while left:
            before = len(left)
            try:
                for number, table in _pooled(plan, list(left), processes):
                    del left[number]
                    yield number, table
            except BrokenProcessPool:
                if len(left) == before:
                    cure = "give fewer --cores, then the same command again: the chunks that are complete are kept"
                    raise InputFault("sweep", "its processes were ended from outside", cure) from None

    return run


def _pooled(plan: SweepPlan, numbers: Sequence[int], processes: int) -> Iterator[tuple[int, pa.Table]]:
    others = set(multiprocessing.active_children())
    context = multiprocessing.get_context("spawn")
    with _environment(ONE_THREAD):
        pool = ProcessPoolExecutor(processes, mp_context=context, initializer=_end_with_parent)
        try:
            waiting = iter(numbers)

            def submitted(most: int) -> dict[Future[pa.Table], int]:
                return {pool.submit(chunk_table, plan, number): number for number in islice(waiting, most)}

            running = submitted(WAITING_PER_PROCESS * processes)
            while running:
                done, _ = wait(running, return_when=FIRST_COMPLETED)
                for future in done:
                    number = running.pop(future)
                    yield number, future.result()
                    running |= submitted(1)
        finally:
            # a caller that stops does not wait for chunks of minutes
            pool.shutdown(wait=False, cancel_futures=True)
            for child in set(multiprocessing.active_children()) - others:
                child.terminate()
                child.join()


def _end_with_parent() -> None:
    """In a process of the pool: leave Ctrl-C to the parent, and end where that was killed."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = multiprocessing.parent_process()

    def watch() -> None:
        if parent is not None:
            connection.wait([parent.sentinel])
            os._exit(1)

    threading.Thread(target=watch, daemon=True).start()


@contextmanager
def _environment(variables: dict[str, str]) -> Iterator[None]:
    """Processes that are started within it have these."""
    before = {name: os.environ.get(name) for name in variables}
    os.environ.update(variables)
    try:
        yield
    finally:
        for name, value in before.items():
            if value is None:
                del os.environ[name]
            else:
                os.environ[name] = value


def on_cluster(address: str | None = None, workers: int | None = None) -> Runner:
    """On the Dask cluster of that address, such as "tcp://10.0.0.5:8786"; left out, on one of this machine, of so many workers.

    InputFault where Dask is not installed, there is no such cluster, its workers have another version, or none for a minute.
    """
    try:
        distributed = importlib.import_module("distributed")
    except ImportError:
        cure = "install it beside forebeam: pip install 'forebeam[cluster]'"
        raise InputFault("--cluster", "Dask's distributed is not installed", cure) from None

    def run(plan: SweepPlan, numbers: Sequence[int]) -> Iterator[tuple[int, pa.Table]]:
        with _environment(ONE_THREAD), _client(distributed, address, workers or available_cores()) as client:
            yield from clustered(distributed, client, plan, numbers)

    return run


@contextmanager
def _client(distributed: Any, address: str | None, workers: int) -> Iterator[Any]:  # noqa: ANN401  (an optional library)
    if address is None:
        local = {"n_workers": workers, "threads_per_worker": 1, "dashboard_address": None}
        with distributed.LocalCluster(**local) as cluster, distributed.Client(cluster) as client:
            yield client
        return
    try:
        client = distributed.Client(address, timeout=CONNECTING)
    except (OSError, ValueError, TimeoutError):
        cure = "start its scheduler and workers, or give --cluster local"
        raise InputFault("--cluster", f"there is no cluster at {address}", cure) from None
    with client:
        yield client


def clustered(
    distributed: Any,  # noqa: ANN401  (an optional library)
    client: Any,  # noqa: ANN401
    plan: SweepPlan,
    numbers: Sequence[int],
) -> Iterator[tuple[int, pa.Table]]:
    """By a client of a cluster; what a worker that is lost was working on goes to another."""
    _check_versions(client, plan)
    waiting = iter(numbers)

    def submitted(most: int) -> dict[Any, int]:
        return {
            client.submit(chunk_table, plan, number, key=f"sweep-{plan.identity}-{number}"): number
            for number in islice(waiting, most)
        }

    running = submitted(WAITING_PER_PROCESS * max(sum(client.nthreads().values()), 1))
    while running:
        try:
            done = distributed.wait(list(running), timeout=PATIENCE, return_when="FIRST_COMPLETED").done
        except TimeoutError:
            if not client.nthreads():
                cure = (
                    "start workers, then give the same command again: the chunks that are complete are kept"
                )
                raise InputFault("--cluster", "has no worker", cure) from None
            continue
        for future in done:
            number = running.pop(future)
            try:
                table = future.result()
            except distributed.KilledWorker:
                cure = "give its workers more memory, then the same command again: the chunks that are complete are kept"
                raise InputFault("--cluster", f"chunk {number} ended several workers", cure) from None
            yield number, table
            running |= submitted(1)


def _check_versions(client: Any, plan: SweepPlan) -> None:  # noqa: ANN401  (an optional library)
    """InputFault where a worker has another version of this program, or none: results would differ."""
    cure = f"install forebeam {plan.program} on every worker, and start them again"
    try:
        found = set(client.run(program).values())
    except ModuleNotFoundError:
        raise InputFault("--cluster", "its workers do not have forebeam", cure) from None
    if others := found - {plan.program}:
        raise InputFault("--cluster", f"its workers have forebeam {', '.join(sorted(others))}", cure)
