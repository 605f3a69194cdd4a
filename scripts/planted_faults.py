"""Faults planted one at a time in a copy of the tree, each to be caught by the tests named beside it.

    PYTHONPATH=. python scripts/planted_faults.py [word of a name …]

The table is `scripts/planted_faults.toml`. A fault is found by what it computes, in a function by its name: neither a move
within the function nor another format matters. The tests first run without a fault: they must pass.
Exit status 1 where a fault survives.
"""

from __future__ import annotations

import ast
import os
import shutil
import subprocess
import sys
import tempfile
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
TABLE = Path(__file__).with_suffix(".toml")
SECONDS = 600
"""After which tests under a fault count as failed: they hang."""


@dataclass(frozen=True, slots=True)
class PlantedFault:
    """One expression or statement of a function that goes wrong.

    module : path from the root;   within : function, Class.function, or empty: anywhere in the module
    right, wrong : Python;   tests : paths or node ids, run in that order
    harmless : why it changes no result, where no test can catch it
    """

    name: str
    module: str
    within: str
    right: str
    wrong: str
    tests: tuple[str, ...] = ()
    harmless: str = ""

    def planted(self, source: str) -> str:
        """The module's source with the fault; ValueError where its place is not exactly one."""
        tree = ast.parse(source)
        replacement = Replacement(self.right, self.wrong)
        replacement.visit(_scope(tree, self.within) if self.within else tree)
        if replacement.matches != 1:
            where = f"{self.module}: {self.within or 'module'}"
            raise ValueError(f"{self.name}: {where} has {replacement.matches} places with {self.right}")
        return ast.unparse(ast.fix_missing_locations(tree))


def node_of(source: str) -> ast.AST:
    """The one expression or statement of `source`."""
    (statement,) = ast.parse(source).body
    return statement.value if isinstance(statement, ast.Expr) else statement


class Replacement(ast.NodeTransformer):
    """Puts `wrong` in place of each node that reads `right`, and counts them in `matches`."""

    def __init__(self, right: str, wrong: str) -> None:
        self.right, self.wrong, self.matches = ast.dump(node_of(right)), wrong, 0

    def visit(self, node: ast.AST) -> ast.AST:
        """The node, or what is wrong in its place."""
        if ast.dump(node) != self.right:
            return self.generic_visit(node)
        self.matches += 1
        return node_of(self.wrong)


def _scope(tree: ast.AST, path: str) -> ast.AST:
    """The class or function of that dotted name."""
    for name in path.split("."):
        found = [one for one in ast.walk(tree) if isinstance(one, _NAMED) and one.name == name]
        if len(found) != 1:
            raise ValueError(f"{len(found)} classes or functions are named {name} in {path}")
        (tree,) = found
    return tree


_NAMED = ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef


def read_table(path: Path = TABLE) -> tuple[PlantedFault, ...]:
    """The faults of the table; TypeError for an unknown key."""
    rows = tomllib.loads(path.read_text(encoding="utf-8"))["fault"]
    return tuple(PlantedFault(**row | {"tests": tuple(row.get("tests", ()))}) for row in rows)


@dataclass(frozen=True, slots=True)
class Copy:
    """A copy of the tree's files that git knows or does not ignore, to plant in."""

    root: Path

    @classmethod
    def of_tree(cls, folder: Path) -> Copy:
        """Made in an empty folder."""
        git = ["git", "ls-files", "-co", "--exclude-standard", "-z"]
        listed = subprocess.run(git, cwd=ROOT, check=True, capture_output=True)
        for name in filter(None, listed.stdout.decode().split("\0")):
            if (ROOT / name).is_file():
                (folder / name).parent.mkdir(parents=True, exist_ok=True)
                shutil.copy(ROOT / name, folder / name)
        return cls(folder)

    def passes(self, tests: Iterable[str]) -> bool:
        """Whether the tests pass, on one core."""
        alone = dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"), "1")
        command = [sys.executable, "-m", "pytest", "-q", "-x", "-n0", "-p", "no:cacheprovider", *tests]
        environment = os.environ | alone | {"PYTHONPATH": str(self.root), "PYTHONDONTWRITEBYTECODE": "1"}
        try:
            done = subprocess.run(
                command, cwd=self.root, env=environment, capture_output=True, timeout=SECONDS, check=False
            )
        except subprocess.TimeoutExpired:
            return False
        if done.returncode not in (0, 1, 2):  # passed; a test failed; a module under test does not import
            raise RuntimeError(done.stdout.decode() + done.stderr.decode())
        return done.returncode == 0

    def survivor(self, fault: PlantedFault) -> bool:
        """Whether no test of a fault turns red with it."""
        place = self.root / fault.module
        source = place.read_text(encoding="utf-8")
        place.write_text(fault.planted(source), encoding="utf-8")
        try:
            return all(self.passes([test]) for test in fault.tests)
        finally:
            place.write_text(source, encoding="utf-8")


def main(words: list[str]) -> int:
    """Run the faults whose names have one of the words; all without words."""
    faults = [one for one in read_table() if not words or any(word in one.name for word in words)]
    tests = sorted({test for fault in faults for test in fault.tests})
    os.nice(10)
    with tempfile.TemporaryDirectory() as folder:
        copy = Copy.of_tree(Path(folder))
        if tests and not copy.passes(tests):
            print("The tests fail without a fault: correct them first.")
            return 2
        left = 0
        for fault in faults:
            survives = copy.survivor(fault)
            left += survives and not fault.harmless
            end = (
                "caught" if not survives else f"harmless: {fault.harmless}" if fault.harmless else "SURVIVES"
            )
            print(f"| {fault.name} | {fault.module} | {end} |", flush=True)
    print(f"{len(faults)} faults planted, {left} survive.")
    return 1 if left else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
