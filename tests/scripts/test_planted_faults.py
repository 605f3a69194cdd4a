"""The table of planted faults fits the tree: each has its place, differs from what is right, and names tests that exist."""

import ast
import importlib.util
import re
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]


def script():
    """The script as a module."""
    path = ROOT / "scripts/planted_faults.py"
    specification = importlib.util.spec_from_file_location("planted_faults", path)
    module = importlib.util.module_from_spec(specification)
    sys.modules[specification.name] = module  # its dataclasses look themselves up there
    specification.loader.exec_module(module)
    return module


PLANTING = script()
FAULTS = PLANTING.read_table()


def test_names_are_unique():
    """A fault is named by its one name in the table that the script prints."""
    names = [fault.name for fault in FAULTS]
    assert len(set(names)) == len(names)


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: fault.name)
def test_a_fault_has_one_place_and_tests(fault):
    """Its expression occurs once in its function and changes there, and its tests are files and functions of the tree."""
    source = (ROOT / fault.module).read_text(encoding="utf-8")
    assert fault.planted(source) != ast.unparse(ast.parse(source))
    assert fault.tests
    for test in fault.tests:
        path, _, function = test.partition("::")
        assert (ROOT / path).exists(), test
        if function:
            assert re.search(
                rf"^def {function}\(", (ROOT / path).read_text(encoding="utf-8"), re.MULTILINE
            ), test


MODULE = """
class Beam:
    def stiff(self):
        return 3 * E * I / L**3

def stiff():
    return 3 * E * I
"""


def fault_of(within, right, wrong="0"):
    """A fault of the module above."""
    return PLANTING.PlantedFault("a fault", "beam.py", within, right, wrong)


def test_a_fault_is_found_by_what_it_computes():
    """Neither format nor parentheses matter; the same expression elsewhere is left alone."""
    found = fault_of("Beam.stiff", "((3*E) * I) / L **  3", "12 * E * I / L**3").planted(MODULE)
    assert ast.unparse(ast.parse(found)) == ast.unparse(
        ast.parse(MODULE.replace("3 * E * I / L", "12 * E * I / L"))
    )


@pytest.mark.parametrize(
    ("within", "right", "words"),
    [
        ("", "3 * E * I", "2 places"),
        ("Beam.stiff", "4 * E", "0 places"),
        ("Beam.soft", "3", "0 classes or functions"),
        ("stiff", "3", "2 classes or functions"),
    ],
)
def test_a_fault_without_its_one_place_is_an_error(within, right, words):
    """An expression that is not there, or twice, and a name that is not there, or twice, plant nothing."""
    with pytest.raises(ValueError, match=words):
        fault_of(within, right).planted(MODULE)
