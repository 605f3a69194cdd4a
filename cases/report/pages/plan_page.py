"""The plan of a test on the boat as a page to print: cautions, instructions with this boat's numbers, a sheet to fill in."""

from __future__ import annotations

from itertools import groupby

from cases.analyses.test_plan import LOAD_STEPS, ONE_BOW, WEIGHT_REPEATS
from cases.analyses.test_plan_result import ExpectedReading, PlanRow, TestPlan
from cases.caution import CAUTION_IN_FULL
from cases.report.data.words import number
from cases.report.pages.template import template
from femcore.base.numbers import engineering, plain

READABLE = 3.0
"""Times a gauge's scatter: what changes by less is not seen in one reading."""
LEAST_SHOWN = 1e-3
"""Of the lift: what is taken off a block by less is rounding."""
LEAST_LOAD = 1.5
"""Of what the test takes off a block, that it carries before (common practice: nothing comes loose)."""


def render(plan: TestPlan) -> str:
    """The page, complete in itself."""
    before, after = plan.rows[0], _best(plan)
    taken: dict[str, float] = {}
    for change in plan.carried.values():
        for place, load in change.items():
            if -load > LEAST_SHOWN * plan.lift:
                taken[place] = max(taken.get(place, 0.0), -load)
    return template("test_plan.html.j2").render(
        boat=plain(plan.boat), joint=plain(plan.joint), lift=engineering(plan.lift, "N"), weight=f"{plan.weight:.0f} kg",
        repeats=WEIGHT_REPEATS,
        supports=[plain(place) for place in plan.supports],
        carried=[carried(place, load) for place, load in plan.carried[ONE_BOW].items()],
        least=[(plain(place), engineering(LEAST_LOAD * load, "N")) for place, load in taken.items()],
        steps=[engineering(share * plan.lift, "N") for share in LOAD_STEPS],
        torque=_change(before.torque, after.torque), bending=_change(before.bending, after.bending),
        expected=[(load, [_expected(one) for one in some]) for load, some in groupby(plan.expected, lambda one: one.load)],
        sheet=[one.name for one in plan.expected if one.load == plan.expected[0].load],
        names=[name.replace("_", " ") for name in plan.names],
        rows=[
            (row.readings, [percent(value) for value in (*row.unknowns.values(), row.torque, row.bending)])
            for row in plan.rows
        ],
        ranking=[(one.gauge, percent(one.torque), percent(one.bending)) for one in plan.ranking],
        absent=[(name.replace("_", " "), why) for name, why in plan.absent.items()],
        caution=CAUTION_IN_FULL,
    )  # fmt: skip


def percent(share: float) -> str:
    """A scatter, for reading."""
    return f"{100 * share:.0f} %"


def _best(plan: TestPlan) -> PlanRow:
    """After all gauges of the lifted bow with ordinary gauges: the last such row before other loads."""
    return next(row for row in reversed(plan.rows) if row.readings.startswith("+ turn"))


def _change(before: float, after: float) -> str:
    return f"{percent(before)} to {percent(after)}"


def _expected(one: ExpectedReading) -> tuple[str, str, str, bool]:
    """Gauge, change, scatter, and whether one reading shows it."""
    seen = abs(one.change) > READABLE * one.scatter
    return one.name, reading(one.change, one.unit), reading(one.scatter, one.unit), seen


def carried(place: str, load: float) -> str:
    """What a block carries more, or less."""
    return f"{plain(place)} {engineering(abs(load), 'N')} {'more' if load > 0 else 'less'}"


def reading(value: float, unit: str) -> str:
    """In mm or mrad, as gauges are read."""
    return f"{number(1e3 * value, 2)} m{unit}"
