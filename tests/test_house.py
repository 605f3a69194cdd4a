"""Rules of the house that no other test would notice being broken."""

import ast
import importlib
import importlib.metadata
import os
import re
import runpy
import subprocess
import sys
import tomllib
import zipfile
from itertools import pairwise
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
COMMANDS = Path(sys.executable).parent
PACKAGES = ["femcore", "models", "cases"]
PYPROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))

NOT_OURS = {".git", "demo-output", "build", "dist", "__pycache__"}


def house_files(top=ROOT):
    """Every file of the checkout that a person wrote or that is handed out, caches and `.venv` left out."""
    for folder, inner, names in os.walk(top):
        inner[:] = [n for n in inner if n not in NOT_OURS and (n[0] != "." or n in {".ci", ".github"})]
        yield from (Path(folder, name) for name in names if name not in NOT_OURS)


def text_of(path):
    """A file's text; of a picture or other binary file, nothing."""
    raw = path.read_bytes()
    return "" if b"\0" in raw else raw.decode("utf-8")


def lint_imports(folder):
    """Run the import contract of the pyproject.toml in `folder` over the packages there."""
    command = [COMMANDS / "lint-imports", "--no-cache"]
    return subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)


def test_imports_run_one_way():
    """Imports run from cases to models to femcore, never back."""
    done = lint_imports(ROOT)
    assert done.returncode == 0, done.stdout + done.stderr


def layer_contracts():
    """Layers of every contract of pyproject.toml as lists of modules by their whole names, the highest first."""
    for contract in PYPROJECT["tool"]["importlinter"]["contracts"]:
        for container in contract.get("containers", [""]):
            yield [
                [".".join(filter(None, (container, name))) for name in re.split(r" [|:] ", layer.strip("()"))]
                for layer in contract.get("layers", [])
            ]


def forbidden_imports():
    """Pairs (low, high): each module of a contract with one of the next layer above it, the three of packages, and the door."""
    pairs = [("femcore", "cases"), *((package, "forebeam") for package in PACKAGES)]
    for layers in layer_contracts():
        pairs += [(low, high) for above, below in pairwise(layers) for low in below for high in above]
    return pairs


@pytest.mark.parametrize(("low", "high"), forbidden_imports())
def test_an_import_against_the_direction_is_caught(tmp_path, low, high):
    """The contracts turn red for an import against each of their edges, and for nothing else."""
    (tmp_path / "pyproject.toml").write_bytes((ROOT / "pyproject.toml").read_bytes())
    modules = {*PACKAGES, *(name for layers in layer_contracts() for layer in layers for name in layer)}
    for module in sorted(modules):
        folder = tmp_path.joinpath(*module.split("."))
        folder.mkdir()
        (folder / "__init__.py").touch()
    assert lint_imports(tmp_path).returncode == 0
    tmp_path.joinpath(*low.split("."), "__init__.py").write_text(f"import {high}\n")
    done = lint_imports(tmp_path)
    assert done.returncode == 1
    assert "BROKEN" in done.stdout


def test_femcore_knows_no_boat():
    """The mechanics knows beams and joints only: no source under femcore says what they belong to."""
    said = {
        str(path.relative_to(ROOT)): found.group()
        for path in house_files(ROOT / "femcore")
        if (found := re.search("hull|boat", text_of(path), re.IGNORECASE))
    }
    assert not said


@pytest.mark.parametrize("name", PACKAGES)
def test_each_package_shows_its_door_alone(name):
    """`dir` of a package is exactly `__all__`, each name once, and each name is there."""
    package = importlib.import_module(name)
    door = package.__all__
    assert door
    assert len(door) == len(set(door))
    assert dir(package) == sorted(door)
    assert [entry for entry in door if not hasattr(package, entry)] == []


def test_doors_are_sorted():
    """`__all__` is in the linter's order everywhere (constants, classes, functions; each by the alphabet)."""
    command = [COMMANDS / "ruff", "check", "--quiet", "--no-cache", "--select", "RUF022", *PACKAGES]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout


def test_one_version():
    """The version is one: in pyproject.toml, in what is installed, and at the head of the changelog."""
    version = PYPROJECT["project"]["version"]
    changelog = (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")
    assert re.findall(r"^## \[(\d[^]]*)\]", changelog, re.MULTILINE)[0] == version
    assert importlib.metadata.version("forebeam") == version


def pins(name):
    """Package → version, as a lock pins them; fails at a line that is no pin, hash or comment."""
    found = {}
    for line in (ROOT / "requirements" / f"{name}.txt").read_text(encoding="utf-8").splitlines():
        pin = re.fullmatch(r"([a-z0-9-]+)==([^\s;]+)( ; .+)? \\", line)
        if pin:
            found[pin[1]] = pin[2]
        else:
            assert re.fullmatch(r"#.*|    --hash=sha256:[0-9a-f]{64}( \\)?", line), line
    return found


def wanted(requirements):
    """Bare names of requirements such as ``"numpy>=2.0"``."""
    return {re.split(r"[<>=~!\[; ]", line, maxsplit=1)[0] for line in requirements}


def test_locks_pin_all_that_is_wanted():
    """The locks pin every requirement, with hashes; developing adds to running and changes nothing in it."""
    run, develop = pins("run"), pins("develop")
    assert wanted(PYPROJECT["project"]["dependencies"] + PYPROJECT["dependency-groups"]["build"]) <= set(run)
    assert wanted(PYPROJECT["project"]["optional-dependencies"]["develop"]) <= set(develop)
    assert run.items() <= develop.items()


def test_what_is_installed_is_what_is_locked():
    """The packages under test are those of the lock, to the digit."""
    develop = pins("develop")
    differing = {
        name: (version, develop[name])
        for distribution in importlib.metadata.distributions()
        for name in [re.sub(r"[-_.]+", "-", distribution.metadata["Name"]).lower()]
        for version in [distribution.version]
        if name in develop and develop[name] != version
    }
    assert not differing


def test_the_wheel_carries_its_data(tmp_path):
    """Every file under the three packages, data and templates too, travels in the wheel, and the door."""
    build = "import sys; from hatchling.build import build_wheel; print(build_wheel(sys.argv[1]))"
    command = [sys.executable, "-c", build, str(tmp_path)]
    made = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True).stdout.split()[-1]
    carried = set(zipfile.ZipFile(tmp_path / made).namelist())
    ours = {p.relative_to(ROOT).as_posix() for package in PACKAGES for p in house_files(ROOT / package)}
    assert ours <= carried
    assert {name.split("/")[0] for name in carried} == {
        *PACKAGES,
        "forebeam.py",
        made.rsplit("-py3", 1)[0] + ".dist-info",
    }


@pytest.mark.parametrize("script", ["demo.py", "test.py"])
def test_an_old_python_is_told_so(monkeypatch, script):
    """On a Python too old, a script that people run still parses, and leaves with one sentence."""
    path = ROOT / "scripts" / script
    ast.parse(path.read_text(encoding="utf-8"), feature_version=(3, 7))
    monkeypatch.setattr(sys, "version_info", (3, 10, 4, "final", 0))
    with pytest.raises(SystemExit, match=r"^forebeam needs Python 3\.11 or newer; this is 3\.10\.$"):
        runpy.run_path(str(path), run_name="__main__")
