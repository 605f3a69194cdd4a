"""Away from the checkout: an installed wheel, a path with a space and a letter that is no ASCII, a locale without letters."""

import os
import subprocess
import sys
import sysconfig
import venv
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
BUILD = "import sys; from hatchling.build import build_wheel; print(build_wheel(sys.argv[1]))"
BARE = {
    name: value
    for name, value in os.environ.items()
    if not name.startswith(("PYTHON", "LC_", "VIRTUAL_ENV")) and name not in ("LANG", "LANGUAGE")
} | {"LC_ALL": "C"}
"""As a machine's shell may be: no encoding but ASCII, and nothing of the checkout."""


@pytest.fixture(scope="module")
def commands(tmp_path_factory):
    """Where the commands are of an environment with the wheel, which has the packages of this one and not its checkout."""
    made = tmp_path_factory.mktemp("wheel")
    place = made / "Böot and beam"
    name = subprocess.run(
        [sys.executable, "-c", BUILD, made], cwd=ROOT, capture_output=True, text=True, check=True
    ).stdout.split()[-1]
    venv.create(place, symlinks=os.name == "posix")
    bin_folder = place / ("Scripts" if os.name == "nt" else "bin")
    install = [
        "--python",
        bin_folder / "python",
        "install",
        "--quiet",
        "--no-deps",
        "--no-index",
        made / name,
    ]
    subprocess.run([sys.executable, "-m", "pip", *install], check=True)
    [packages] = place.rglob("site-packages")
    (packages / "packages_of_the_checkout.pth").write_text(
        sysconfig.get_path("purelib") + "\n", encoding="utf-8"
    )
    return bin_folder


def ended(command, folder, **more):
    """Status, output and errors of a command run in a folder."""
    done = subprocess.run(command, cwd=folder, env=BARE | more, capture_output=True, check=False)
    return done.returncode, done.stdout.decode("utf-8", "replace"), done.stderr.decode("utf-8", "replace")


def test_an_installed_wheel_runs_the_demo_outside_the_checkout(commands, tmp_path):
    """The command of the wheel writes a report of its own demo boat into a folder of a name that ASCII lacks, where
    Python knows no other letters.
    """
    where = "import cases, pathlib; print(ascii(str(pathlib.Path(cases.__file__).parent)))"
    status, said, _ = ended([commands / "python", "-c", where], tmp_path)
    assert status == 0
    packages = Path(eval(said))  # noqa: S307  (a text of our own)
    assert packages.is_relative_to(commands.parent.resolve())
    out = tmp_path / "Bericht für uns"
    run = [
        commands / "forebeam",
        "run",
        packages / "boats/demo.toml",
        "--joint",
        "taped socket",
        "--no-pictures",
        "--out",
        out,
    ]
    status, said, complained = ended(run, tmp_path, PYTHONUTF8="0")
    assert (status, complained) == (0, "")
    assert "results.json" in said
    assert {"results.json", "files.json", "tables"} <= {path.name for path in out.iterdir()}


@pytest.mark.parametrize("utf8", ["1", "0"], ids=["letters by UTF-8", "ASCII alone"])
def test_a_fault_there_is_a_sentence_too(commands, tmp_path, utf8):
    """A file that is not there, by a name that ASCII lacks."""
    status, _, complained = ended([commands / "forebeam", "check", "Böot.toml"], tmp_path, PYTHONUTF8=utf8)
    assert status == 2
    assert "does not exist" in complained
    assert "Traceback" not in complained
