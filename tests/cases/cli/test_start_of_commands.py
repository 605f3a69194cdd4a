"""What the command line sets and loads before a command is run."""

import os
import subprocess
import sys
from pathlib import Path

from femcore.base.process import BLAS_THREADS

ROOT = Path(__file__).resolve().parents[3]

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


def test_the_command_line_loads_no_heavy_module_for_its_help():
    """Help appears at once: arrays, tables of files and pictures are imported by the command that needs them."""
    heavy = ("numpy", "scipy", "pydantic", "matplotlib", "jinja2", "rich.table", "pint")
    ask = f"import sys, cases.cli.commands; print([one for one in {heavy} if one in sys.modules])"
    found = subprocess.run([sys.executable, "-c", ask], capture_output=True, text=True, check=True)
    assert found.stdout.strip() == "[]"


def test_shipped_boats_and_frames_are_read_without_the_library_of_units():
    """It takes as long to load as the rest of reading: shipped files hold usual units alone."""
    ask = """
import sys
from pathlib import Path
from cases.input.boat_file import read_boat_file
from femcore.files.frame_file import read_frame_file
for read, folder, files in ((read_boat_file, "cases/boats", "*.toml"), (read_frame_file, "cases/textbook", "*/*.toml")):
    for path in Path(folder).glob(files):
        read(path)
        print(*(["pint"] if "pint" in sys.modules else []), path)
"""
    found = subprocess.run([sys.executable, "-c", ask], capture_output=True, text=True, check=True, cwd=ROOT)
    assert not [line for line in found.stdout.splitlines() if line.startswith("pint")]
    assert len(found.stdout.splitlines()) > 100


def test_a_command_that_is_done_ends_at_once():
    """All that is registered for the end of the program is done and all output is out, its status is kept; but no module is
    taken apart first, for which the terminal would wait half a second.
    """
    ask = """
import atexit, sys
from cases.cli.commands import main
class Part:
    def __del__(self):
        print("taken apart")
part = Part()
atexit.register(print, "registered")
sys.argv = ["forebeam", *sys.argv[1:]]
main()
"""

    def ended(*arguments):
        found = subprocess.run(
            [sys.executable, "-c", ask, *arguments], capture_output=True, text=True, check=False
        )
        return found.returncode, found.stdout.splitlines()[-1], found.stderr

    assert ended("--help") == (0, "registered", "")
    status, last, said = ended("check", "missing.toml")
    assert (status, last) == (2, "registered")
    assert "missing.toml: does not exist" in said
