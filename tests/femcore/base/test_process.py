"""Jobs done by another process: what they return, what they raise, and that nothing of them is left."""

import gc
import importlib
import operator
import os
import subprocess
import sys
import time
from functools import partial
from types import MappingProxyType, SimpleNamespace

import psutil
import pytest

from femcore.base import process
from femcore.base.process import OtherProcess, module_environment, results


@pytest.fixture(autouse=True)
def _a_core_for_it(monkeypatch):
    monkeypatch.setattr(process, "available_cores", lambda: 2)


@pytest.fixture(
    params=[
        False,
        pytest.param(True, marks=pytest.mark.skipif(not process.CAN_COPY, reason="no copies here")),
    ],
    ids=["of its own", "copied"],
)
def copied(request):
    """Whether it is a copy of this one."""
    return request.param


@pytest.fixture
def other(copied):
    """Another process."""
    with OtherProcess(copied=copied) as started:
        yield started


def doubled(numbers):
    """Of what was shared, or sent."""
    return [2 * number for number in numbers.given]


def printed():
    """A job that prints."""
    sys.stdout.write("no answer")
    return 3


def test_jobs_are_done_by_another_process_one_after_another(other):
    """What they return comes from one process of another number, and comes again when asked for again."""
    begun = [other.begin(os.getpid) for _ in range(3)]
    begun[-1].settled.wait(60)
    (number,) = {one.result() for one in (*begun, *begun)}
    assert number != os.getpid()


def test_another_process_collects_garbage_rarely(other):
    """Not at every 700 new objects, as Python would."""
    begun = other.begin(gc.get_threshold)
    begun.settled.wait(60)
    assert begun.is_done
    assert begun.result()[0] > 10_000


def test_mappings_that_cannot_be_changed_pass_both_ways(other):
    """A read-only mapping, which pickle refuses, arrives as one."""
    mapping = MappingProxyType({"a": 1.5})
    begun = other.begin(partial(operator.itemgetter(0), [mapping]))
    begun.settled.wait(60)
    assert begun.is_done
    assert begun.result() == mapping


def test_what_is_shared_is_sent_once_and_as_it_was(other):
    """A job's message is short whatever it shares; what changes here afterwards is not seen there."""
    numbers = SimpleNamespace(given=list(range(10_000)))
    other.share(numbers)
    begun = other.begin(partial(doubled, numbers))
    assert len(begun.message) < 200 < len(process.pickled(numbers))
    numbers.given.append(-1)
    begun.settled.wait(60)
    assert begun.is_done
    assert begun.result() == list(range(0, 20_000, 2))


def test_what_is_not_begun_is_taken_back(other):
    """While the other process is at a long job, this one does those behind it, in any order; none is done twice."""
    long = other.begin(partial(time.sleep, 1))
    behind = [other.begin(os.getpid) for _ in range(3)]
    while not long.is_awaited:
        time.sleep(0.01)
    parts = []
    assert results([long, *behind], parts.append) == [None, *[os.getpid()] * 3]
    assert parts == [0.25, 0.5, 0.75]


def test_short_jobs_are_done_while_another_is_waited_for(other):
    """Those alone, here; an error in one is raised when its own result is asked for."""
    long = other.begin(partial(time.sleep, 1))
    behind, short = other.begin(os.getpid), other.begin(os.getpid, short=True)
    fails = other.begin(partial(int, "x"), short=True)
    while not long.is_awaited:
        time.sleep(0.01)
    assert long.result() is None
    assert short.is_done
    assert short.result() == os.getpid()
    behind.settled.wait(60)
    assert behind.result() == other._process.pid
    with pytest.raises(ValueError, match="x"):
        fails.result()


def test_what_is_urgent_is_begun_before_what_waits_but_not_before_what_is_shared(other):
    """While the other process is at a job, the last one handed on as urgent is its next, and finds what was shared before."""
    long = other.begin(partial(time.sleep, 0.5))
    while not long.is_awaited:
        time.sleep(0.01)
    waiting = other.begin(partial(time.sleep, 60))
    numbers = SimpleNamespace(given=[4])
    other.share(numbers)
    urgent = other.begin(partial(doubled, numbers), before_others=True)
    assert urgent.settled.wait(30)
    assert urgent.is_done
    assert urgent.result() == [8]
    assert not waiting.is_done


def test_without_a_second_core_the_job_is_done_here(monkeypatch):
    """One core has nothing to gain."""
    monkeypatch.setattr(process, "available_cores", lambda: 1)
    with OtherProcess() as other:
        assert other.begin(os.getpid).result() == os.getpid()


@pytest.mark.skipif(not process.CAN_COPY, reason="no copies here")
def test_a_copy_has_what_was_there_when_it_was_made_and_ends_with_the_first():
    """It is made when it is first needed, has what was shared then as it was, and ends where the first is killed."""
    ask = """
import operator, time
from functools import partial
from types import SimpleNamespace
from femcore.base import process
process.available_cores = lambda: 2
shared = SimpleNamespace(given=[7])
with process.OtherProcess(copied=True) as other:
    other.share(shared)
    shared.given.append(8)
    first = other.begin(partial(operator.attrgetter("given"), shared))
    first.settled.wait(30)
    other.begin(partial(time.sleep, 100))
    print(first.is_done, first.result(), other._process.pid, flush=True)
    time.sleep(100)
"""
    with subprocess.Popen(
        [sys.executable, "-c", ask], env=module_environment(), stdout=subprocess.PIPE, text=True
    ) as first:
        words = first.stdout.readline().split()
        first.kill()
    assert words[:2] == ["True", "[7]"]
    _, alive = psutil.wait_procs(
        [psutil.Process(int(words[2]))] if psutil.pid_exists(int(words[2])) else [], 30
    )
    assert not alive


def test_without_another_process_the_job_is_done_here(monkeypatch):
    """One that cannot be started does nothing."""
    monkeypatch.setattr(sys, "executable", "/nowhere/python")
    with OtherProcess() as other:
        assert results([other.begin(os.getpid)]) == [os.getpid()]


def test_what_cannot_be_sent_is_done_here(other):
    """A function without a name cannot be pickled."""
    here = []
    begun = other.begin(lambda: here.append(1) or 7)
    assert begun.result() == begun.result() == 7
    assert here == [1]


def test_what_cannot_be_sent_back_is_done_here(other):
    """A module cannot be pickled; the jobs after it are not disturbed, nor by one that prints."""
    begun = [other.begin(partial(importlib.import_module, "json")), other.begin(printed)]
    begun[1].settled.wait(60)
    assert begun[1].is_done
    assert [one.result() for one in begun] == [importlib.import_module("json"), 3]


def test_an_error_in_the_job_is_raised_here(other):
    """The other process fails silently; the same error comes from doing the job again, and others are done."""
    begun, next_one = other.begin(partial(operator.truediv, 1, 0)), other.begin(os.getpid)
    next_one.settled.wait(60)
    with pytest.raises(ZeroDivisionError):
        begun.result()
    assert next_one.result() != os.getpid()


def test_jobs_are_done_here_where_the_other_process_ends(other):
    """Killed at a job, it leaves that one and those behind it to this process."""
    begun = [other.begin(partial(time.sleep, 0.3)), other.begin(os.getpid)]
    other._process.kill()
    assert [one.result() for one in begun] == [None, os.getpid()]
    assert other.begin(os.getpid).result() == os.getpid()


def test_a_job_that_is_no_longer_wanted_ends_at_once(copied):
    """The context does not wait for it, and leaves no process."""
    with OtherProcess(copied=copied) as other:
        other.begin(partial(time.sleep, 60))
        began, started = time.monotonic(), other._process
    assert not psutil.pid_exists(started.pid)
    assert not other._exchange.is_alive()
    assert time.monotonic() - began < 30


WATCHING = "import femcore.base.process as p, sys, time; p.end_with_starter(); time.sleep(float(sys.argv[1]))"


@pytest.mark.parametrize("ends_first", ["it", "its starter"])
def test_a_process_ends_well_by_itself_and_at_once_with_its_starter(ends_first):
    """Done while its starter lives, its status is 0; where that ends, it ends too, long before it is done."""
    seconds = "0.2" if ends_first == "it" else "100"
    command = [sys.executable, "-c", WATCHING, seconds]
    with subprocess.Popen(
        command, env=module_environment(), stdin=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    ) as other:
        if ends_first == "it":
            assert other.wait(30) == 0
        else:
            other.stdin.close()
            assert other.wait(30) == 1
        assert other.stderr.read() == ""
