"""Faults planted in a module that runs, found as in `scripts/planted_faults.py`: neither a move nor another format matters."""

import ast
import inspect

from scripts.planted_faults import Replacement


def faulty_names(module, right, wrong):
    """Names of a module as if its one expression or statement `right` were `wrong`; fails where there is not exactly one."""
    replacement = Replacement(right, wrong)
    tree = ast.fix_missing_locations(replacement.visit(ast.parse(inspect.getsource(module))))
    assert replacement.matches == 1, f"{module.__name__} has {replacement.matches} places with {right}"
    names = {"__name__": module.__name__}
    exec(compile(tree, module.__file__, "exec"), names)  # noqa: S102  (a planted fault)
    return names
