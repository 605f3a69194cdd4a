"""The plan of a test on the boat, in the terminal."""

from __future__ import annotations

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from cases.analyses.test_plan import ONE_BOW
from cases.analyses.test_plan_result import TestPlan
from cases.report.pages.plan_page import carried, percent, reading
from femcore.base.numbers import engineering, plain

DANGER = (
    "Jacking a boat can kill: nobody under her or aboard, a yard does the lifting, packing follows the bow, no block may come "
    "loose. The page (--page) has the whole instructions."
)


def plan_tables(plan: TestPlan) -> list[RenderableType]:
    """What sets of readings leave unknown, the next best gauge each time, what gauges would show."""
    title = f"A test on ‘{plan.boat}’ with the joint ‘{plan.joint}’: port bow lifted by {engineering(plan.lift, 'N')}"
    change = plan.carried[ONE_BOW].items()
    blocks = "; ".join(carried(place, load) for place, load in change)
    absent = [
        Text(plain(f"Not looked for: {name.replace('_', ' ')}, as {why}."))
        for name, why in plan.absent.items()
    ]
    return [
        Text(plain(title), style="bold"),
        Text(DANGER),
        Text(plain(f"At the full lift the blocks carry: {blocks}.")),
        _rows(plan),
        _unknowns(plan),
        _ranking(plan),
        _expected(plan),
        *absent,
    ]


def _rows(plan: TestPlan) -> Table:
    table = _table(
        "What readings leave of the scatter of the joint's load in racking, each set with those above it"
    )
    table.add_column("", justify="right")
    table.add_column("readings")
    for head in ("joint torque", "joint bending"):
        table.add_column(head, justify="right")
    for number, row in enumerate(plan.rows, 1):
        table.add_row(str(number), row.readings, percent(row.torque), percent(row.bending))
    return table


def _unknowns(plan: TestPlan) -> Table:
    table = _table("What the same readings leave of the scatter of stiffness, %")
    table.add_column("stiffness")
    for number in range(len(plan.rows)):
        table.add_column(str(number + 1), justify="right")
    for name in plan.names:
        table.add_row(name.replace("_", " "), *(f"{100 * row.unknowns[name]:.0f}" for row in plan.rows))
    return table


def _ranking(plan: TestPlan) -> Table:
    table = _table("With few gauges: the next best one each time")
    table.add_column("gauge")
    for head in ("joint torque", "joint bending"):
        table.add_column(head, justify="right")
    for one in plan.ranking:
        table.add_row(one.gauge, percent(one.torque), percent(one.bending))
    return table


def _expected(plan: TestPlan) -> Table:
    table = _table("What gauges would show at full load, by the boat's file")
    table.add_column("load")
    table.add_column("gauge")
    for head in ("changes by", "scatter"):
        table.add_column(head, justify="right")
    for one in plan.expected:
        table.add_row(one.load, one.name, reading(one.change, one.unit), reading(one.scatter, one.unit))
    return table


def _table(title: str) -> Table:
    return Table(title=title, title_justify="left")
