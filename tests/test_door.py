"""The module for notebooks: its names, that it only re-exports, and that it is quick."""

import ast
import importlib
import subprocess
import sys
from pathlib import Path

import pytest

import forebeam

ROOT = Path(__file__).resolve().parent.parent
SOURCE = ast.parse((ROOT / "forebeam.py").read_text(encoding="utf-8"))
SLOW = {"matplotlib", "pyvista", "pint", "pandas", "numpy", "scipy", "pydantic", "jinja2", "meshio"}


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
