"""Another Python process that runs a module of ours.

It is no copy of the program that called, as Python's own pools make one, so that a script needs no guard around its main part.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path

BLAS_THREADS = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")


def module_command(module: str, *arguments: str) -> list[str]:
    """The command that runs a module, given by its full name."""
    return [sys.executable, "-m", module, *arguments]


def module_environment() -> dict[str, str]:
    """Its environment: it imports what this process can, and leaves the other cores to others."""
    paths = os.pathsep.join([str(Path(__file__).resolve().parents[2]), *filter(None, sys.path)])
    return {**os.environ, "PYTHONPATH": paths, **dict.fromkeys(BLAS_THREADS, "1")}
