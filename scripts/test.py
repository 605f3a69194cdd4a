"""Run the tests from a bare checkout: `python3 scripts/test.py [pytest's own arguments]`.

Makes `.venv` the first time. The exit status is pytest's.
"""

import os
import sys

# Written so that an old Python still reads this far and says what is wrong.
if sys.version_info < (3, 11):
    sys.exit("forebeam needs Python 3.11 or newer; this is {}.{}.".format(*sys.version_info))

import environment

# Two workers fill a small machine; each keeps to one thread, or they would fight over the cores. Whole files
# go to one worker, so that what a file builds once is built once; in the order of tests/conftest.py, short ones last.
WORKERS = ["-n", str(min(4, os.cpu_count() or 1)), "--dist", "loadfile", "--no-loadscope-reorder"]
ONE_THREAD = {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1", "MKL_NUM_THREADS": "1"}


def main() -> int:
    """Prepare, and run pytest over the checkout's tests with the arguments given."""
    environment.prepare("develop")
    os.chdir(environment.ROOT)
    return environment.run("python", ["-m", "pytest", *WORKERS, *sys.argv[1:]], ONE_THREAD)


if __name__ == "__main__":
    environment.leave(main)
