"""Threads of linear algebra in the command line."""

import os
import subprocess
import sys

from femcore.base.process import BLAS_THREADS

ASK = "import sys, os, cases.cli; print('numpy' in sys.modules, *(os.environ[name] for name in sys.argv[1:]))"


def threads(**given):
    """What the command line's package leaves in the environment, and whether numpy was loaded before that could be read."""
    others = {name: value for name, value in os.environ.items() if name not in BLAS_THREADS}
    found = subprocess.run(
        [sys.executable, "-c", ASK, *BLAS_THREADS],
        env={**others, **given},
        capture_output=True,
        text=True,
        check=True,
    )
    return found.stdout.split()


def test_the_command_line_computes_in_one_thread_unless_more_are_given():
    """Small matrices in two threads take longer and sum in another order; a number of threads that is given is kept."""
    assert threads() == ["False", "1", "1", "1"]
    assert threads(OMP_NUM_THREADS="3") == ["False", "3", "1", "1"]
