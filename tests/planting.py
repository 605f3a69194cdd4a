"""Faults planted in a module's source, found by what it computes: neither a move nor another format matters."""

import ast
import inspect


def _node(source):
    """The one expression or statement of `source`."""
    (statement,) = ast.parse(source).body
    return statement.value if isinstance(statement, ast.Expr) else statement


class _Replacement(ast.NodeTransformer):
    def __init__(self, right, wrong):
        self.right, self.wrong, self.matches = ast.dump(_node(right)), wrong, 0

    def visit(self, node):
        if ast.dump(node) != self.right:
            return self.generic_visit(node)
        self.matches += 1
        return _node(self.wrong)


def faulty_names(module, right, wrong):
    """Names of a module as if its one expression or statement `right` were `wrong`; fails where there is not exactly one."""
    replacement = _Replacement(right, wrong)
    tree = ast.fix_missing_locations(replacement.visit(ast.parse(inspect.getsource(module))))
    assert replacement.matches == 1, f"{module.__name__} has {replacement.matches} places with {right}"
    names = {"__name__": module.__name__}
    exec(compile(tree, module.__file__, "exec"), names)  # noqa: S102  (a planted fault)
    return names
