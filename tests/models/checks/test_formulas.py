"""Every check has its formula, by the name that the code gives it."""

import ast
import re
from pathlib import Path

import pytest

import models
from models.checks.formulas import FORMULAS, formula_of

MAKERS = {
    "checked", "shear_checks", "peel_checks", "first_ply_check", "first_ply_in_all_directions", "skin_check",
    "bolted_plate_checks",
}  # fmt: skip
"""Functions whose second argument names a check."""


def names_in_code():
    """Names of checks that are written out where they are made."""
    for file in Path(models.__file__).parent.rglob("*.py"):
        for node in ast.walk(ast.parse(file.read_text("utf-8"))):
            made = isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in MAKERS
            if made and len(node.args) > 1 and isinstance(node.args[1], ast.Constant):
                yield node.args[1].value


def test_every_check_written_in_the_code_has_a_formula():
    """So many that the search is known to find them."""
    found = set(names_in_code())
    assert len(found) > 30
    assert sorted(name for name in found if not formula_of(name)) == []


@pytest.mark.parametrize("name", FORMULAS)
def test_a_formula_compares(name):
    """A load and a capacity, or a utilisation and 1; within a cell's length."""
    formula = FORMULAS[name]
    assert re.search("≤|criterion", formula)
    assert len(formula) <= 125


def test_what_is_added_to_a_name_changes_nothing():
    """A breaking load, a remark; limits in service have formulas of their own where they differ."""
    assert formula_of("pin in bending, stay at its breaking load") == FORMULAS["pin in bending"]
    assert (
        formula_of("glue in shear, elastic in service (utilisation 0.46 by temperature alone)")
        == FORMULAS["glue in shear, elastic in service"]
    )
    assert formula_of("pin in bending, in service") != FORMULAS["pin in bending"]
    assert formula_of("magic") == ""
