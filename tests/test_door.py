"""The module for notebooks: its names, that it only re-exports, and that it is quick."""

import ast
import importlib
import re
import shutil
import subprocess
import sys
from pathlib import Path

import matplotlib.pyplot as plt
import pytest

import forebeam
from cases.loads import LOAD_CASES
from models.joints import JOINTS

ROOT = Path(__file__).resolve().parent.parent
SOURCE = ast.parse((ROOT / "forebeam.py").read_text(encoding="utf-8"))
SLOW = {"matplotlib", "pyvista", "pint", "pandas", "numpy", "scipy", "pydantic", "jinja2", "meshio"}


README = (ROOT / "README.md").read_text(encoding="utf-8")
EXAMPLES = re.findall(r"^```python\n(.*?)^```", README, re.DOTALL | re.MULTILINE)


def typed_imports():
    """Public name → where a type checker finds it."""
    (block,) = [node for node in SOURCE.body if isinstance(node, ast.If)]
    imports = [node for node in block.body if isinstance(node, ast.ImportFrom)]
    assert imports == block.body
    return {alias.asname or alias.name: f"{i.module}.{alias.name}" for i in imports for alias in i.names}


def test_the_door_is_exactly_its_names():
    """`__all__`, `dir()`, the table of homes and what a type checker sees name the same, each once."""
    names = forebeam.__all__
    assert len(names) == len(set(names))
    assert dir(forebeam) == sorted(names)
    assert forebeam._HOMES == typed_imports()
    assert set(forebeam._HOMES) == set(names)


def test_the_door_defines_nothing():
    """It holds a docstring, imports, tables, and the two functions that modules answer names with."""
    functions = [node.name for node in SOURCE.body if isinstance(node, ast.FunctionDef)]
    assert functions == ["__getattr__", "__dir__"]
    assert not any(isinstance(node, ast.ClassDef) for node in SOURCE.body)
    for name in forebeam.__all__:
        module, _, defined = forebeam._HOMES[name].rpartition(".")
        home = importlib.import_module(module)
        assert getattr(forebeam, name) is getattr(home, defined)


def test_every_kind_of_joint_and_load_case_is_on_the_door():
    """So that a boat of any kind can be made in Python."""
    kinds = {*JOINTS.values(), *LOAD_CASES.values()}
    assert kinds <= {getattr(forebeam, name) for name in forebeam.__all__}


def test_an_unknown_name_is_an_attribute_error():
    """So that `hasattr` and completion work as with any module."""
    with pytest.raises(AttributeError, match="no attribute 'analyze'"):
        forebeam.analyze  # noqa: B018  (asking is the test)


def test_importing_the_door_loads_nothing():
    """`import forebeam` loads none of the three packages and nothing that takes time; a frame needs no plotting library."""
    code = "import sys; old = set(sys.modules); import forebeam; print(*{m.split('.')[0] for m in set(sys.modules) - old})"
    run = [sys.executable, "-c", code]
    loaded = set(subprocess.run(run, cwd=ROOT, capture_output=True, text=True, check=True).stdout.split())
    assert not loaded & (SLOW | {"femcore", "models", "cases"})
    run[-1] = code.replace("import forebeam;", "import forebeam; forebeam.FrameBuilder, forebeam.solve;")
    loaded = set(subprocess.run(run, cwd=ROOT, capture_output=True, text=True, check=True).stdout.split())
    assert "femcore" in loaded
    assert not loaded & {"matplotlib", "pyvista", "pint", "pandas", "pydantic", "jinja2"}


@pytest.fixture
def folder_with_boat(tmp_path, monkeypatch):
    """The file that `forebeam new boat.toml` writes, where the examples are run."""
    shutil.copy(ROOT / "cases" / "input" / "new_boat.toml", tmp_path / "boat.toml")
    monkeypatch.chdir(tmp_path)


@pytest.mark.usefixtures("folder_with_boat")
def test_the_examples_of_the_readme_run():
    """Every block of Python in the README runs as it is, and the propped cantilever says what its comment says."""
    assert len(EXAMPLES) >= 2
    shown = {}
    for example in EXAMPLES:
        exec(compile(example, "README.md", "exec"), shown)  # noqa: S102  (our own README)
    plt.close("all")
    assert shown["joint"].load("racking", "torque", side="port") != 0
    solution = shown["solution"]
    assert solution.reaction("prop").Fz == pytest.approx(4500)
    assert solution.beam("beam").at(2.5).My == pytest.approx(-3375)


def test_the_propped_cantilever_is_short():
    """At most eight lines from an empty frame to its answer, and no index."""
    (frame,) = [example for example in EXAMPLES if "FrameBuilder" in example]
    lines = [line for line in frame.splitlines() if line.strip() and "import" not in line]
    assert len(lines) <= 8
    assert not re.search(r"\[\s*-?\d", frame)


@pytest.mark.parametrize("run", [forebeam.analyse, forebeam.sweep])
def test_a_boat_made_in_python_is_checked_as_a_file_is(run):
    """What its parts get wrong of one another is said at once, before anything is solved."""
    stations = [forebeam.Station(at=x, EI_vertical=4e7, EI_lateral=2e7, GJ=6e6, EA=3e8) for x in (0, 4)]
    boat = forebeam.Boat(
        title="wrong",
        bows=forebeam.Bows(spacing=5, inboard=0.4, stations=stations),
        crossbeam=forebeam.Crossbeam(
            station=4.5, height=0.3, EI_vertical=1e6, EI_lateral=1e6, GJ=5e5, EA=1e8
        ),
        joints=[forebeam.RigidJoint(name="one"), forebeam.RigidJoint(name="one")],
        cases=[forebeam.Racking(name="racking", force=4e3)],
    )
    with pytest.raises(forebeam.InputFaults) as trouble:
        run(boat)
    assert len(trouble.value.faults) == 2
    assert "boat: crossbeam: station: 4.5 m" in str(trouble.value)


@pytest.mark.parametrize("run", [forebeam.analyse, forebeam.sweep])
def test_the_name_of_a_file_is_no_boat(run):
    """A file's name in place of a boat is refused with the cure."""
    with pytest.raises(forebeam.InputFault, match=r"'boat.toml' is not a boat; read it first"):
        run("boat.toml")


def test_a_faulty_table_says_what_its_file_would():
    """A misspelt key, a missing one and a number out of bounds are all reported at once, with the cure."""
    with pytest.raises(forebeam.InputFaults) as trouble:
        forebeam.Crossbeam(station=-1.0, height=0.5, EI_vertcal=1e6, EI_lateral=1e6, GJ=1e6, EA=1e8)
    said = str(trouble.value)
    for part in ("Crossbeam: station", "did you mean 'EI_vertical'", "EI_vertical"):
        assert part in said, said
    assert len(trouble.value.faults) == 3
