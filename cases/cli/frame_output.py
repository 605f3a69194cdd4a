"""A solved frame in the terminal."""

from __future__ import annotations

from rich.console import RenderableType
from rich.markup import escape
from rich.table import Table
from rich.text import Text

from cases.verification.textbook import in_given_unit
from femcore.base.numbers import engineering
from femcore.files.frame_run import FrameRun, cable_tensions, member_ends
from femcore.frame.frame import ACTIONS, FREEDOMS, REACTIONS

DISPLACEMENT_HEADINGS = tuple(f"{name} [{'m' if name[0] == 'u' else 'rad'}]" for name in FREEDOMS)
REACTION_HEADINGS = tuple(f"{name} [{'N' if name[0] == 'F' else 'N·m'}]" for name in REACTIONS)
MEMBER_FORCE_HEADINGS = tuple(f"{name} [{'N' if name in ('N', 'Vy', 'Vz') else 'N·m'}]" for name in ACTIONS)
REL_TOL_ZERO = 1e-13
"""Of the largest value in a table: a smaller one is rounding and shown as 0."""


def _grid(title: str, heads: tuple[str, ...], rows: list[tuple[str, list[float]]]) -> Table:
    table = Table(title=Text(title), title_justify="left")
    table.add_column("")
    for head in heads:
        table.add_column(escape(head), justify="right", no_wrap=True)
    largest = max((abs(value) for _, values in rows for value in values), default=0.0)
    for name, values in rows:
        table.add_row(Text(name), *(_number(value, largest) for value in values))
    return table


def _number(value: float, largest: float) -> str:
    """Five digits; 0 for rounding."""
    return "0" if abs(value) <= REL_TOL_ZERO * largest else f"{value:.5g}"


def frame_tables(run: FrameRun) -> list[RenderableType]:
    """Displacements, reactions and member end forces of every case, then the expected values."""
    solution, frame = run.solution, run.solution.frame
    shown: list[RenderableType] = [Text(run.file.title, style="bold")]
    ends = {name: member_ends(solution, name) for name in frame.members}
    for number, case in enumerate(solution.names):
        moves = [(name, solution.displacement[number, i].tolist()) for name, i in frame.node_index.items()]
        holds = [
            (name, row.tolist())
            for name, i in frame.node_index.items()
            if (row := solution.reactions[number, i]).any()
        ]
        inside = [
            (f"{name}.{end}", rows[number]) for name, both in ends.items() for end, rows in both.items()
        ]
        shown.append(_grid(f"{case}: displacements", DISPLACEMENT_HEADINGS, moves))
        if holds:
            shown.append(_grid(f"{case}: reactions", REACTION_HEADINGS, holds))
        if inside:
            shown.append(_grid(f"{case}: member end forces", MEMBER_FORCE_HEADINGS, inside))
        shown += [Text(line) for line in _of_case(run, number, case)]
        trust = f"imbalance {solution.balance[number]:.0e}, estimated error {solution.error[number]:.0e}"
        shown.append(Text(f"{case}: {trust}", style="dim"))
    if run.outcomes:
        shown.append(_expectations(run))
    return shown


def _of_case(run: FrameRun, number: int, case: str) -> list[str]:
    """Cables, load factors and frequencies of one case, a line each."""
    lines = []
    if len(run.solution.frame.cables):
        tensions = cable_tensions(run.solution, number).items()
        lines.append(
            "cables: "
            + ", ".join(f"{name} {engineering(t, 'N', 4) if t > 0 else 'slack'}" for name, t in tensions)
        )
    if case in run.buckling:
        factors = ", ".join(f"{value:.5g}" for value in run.buckling[case].values)
        lines.append(
            f"buckles at {factors} times its load"
            if factors
            else "does not buckle under any multiple of its load"
        )
    if case in run.vibration:
        lines.append(
            "natural frequencies: " + ", ".join(f"{v:.5g}" for v in run.vibration[case].values) + " Hz"
        )
    return [f"{case}: {line}" for line in lines]


def _expectations(run: FrameRun) -> Table:
    table = Table("case", "at", "quantity", title="expected", title_justify="left")
    for head in ("expected", "computed"):
        table.add_column(head, justify="right")
    table.add_column("")
    for outcome in run.outcomes:
        expect = outcome.expected
        got = in_given_unit(outcome.computed, expect)
        words = Text("ok", style="green") if outcome.ok else Text("missed", style="bold red")
        names = (Text(part) for part in (expect.case, expect.at or "", expect.quantity))
        table.add_row(*names, Text(str(expect.value)), got, words)
    return table
