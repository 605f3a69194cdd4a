"""A job done by another process: what it returns, what it raises, and that nothing of it is left."""

import operator
import os
import subprocess
import sys
import time
from functools import partial
from types import MappingProxyType

import pytest

from femcore.base import process
from femcore.base.process import JobBeside, module_environment


@pytest.fixture(autouse=True)
def _a_core_for_it(monkeypatch):
    monkeypatch.setattr(process, "available_cores", lambda: 2)


def test_a_job_beside_is_done_by_another_process():
    """What it returns comes from a process of another number, and comes again when asked for again."""
    job = JobBeside(os.getpid)
    assert job.result() == job.result() != os.getpid()


def test_mappings_that_cannot_be_changed_pass_both_ways():
    """A read-only mapping, which pickle refuses, arrives as one."""
    mapping = MappingProxyType({"a": 1.5})
    assert JobBeside(partial(operator.itemgetter(0), [mapping])).result() == mapping


def test_without_a_second_core_the_job_is_done_here(monkeypatch):
    """One core has nothing to gain."""
    monkeypatch.setattr(process, "available_cores", lambda: 1)
    assert JobBeside(os.getpid).result() == os.getpid()


def test_what_cannot_be_sent_is_done_here():
    """A function without a name cannot be pickled."""
    here = []
    assert JobBeside(lambda: here.append(1) or 7).result() == 7
    assert here == [1]


def test_an_error_in_the_job_is_raised_here():
    """The other process fails silently; the same error comes from doing the job again."""
    with pytest.raises(ZeroDivisionError):
        JobBeside(partial(operator.truediv, 1, 0)).result()


def test_a_job_that_is_no_longer_wanted_ends_at_once():
    """Ending it does not wait for it, and leaves no process."""
    job = JobBeside(partial(time.sleep, 60))
    began, other = time.monotonic(), job._process
    job.end()
    assert other.poll() is not None
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
