"""What a test on a boat taught, in the terminal."""

from __future__ import annotations

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from cases.analyses.calibration_result import CalibrationResult
from cases.report.data.calibration_words import factor_lines, racking_line, verdict_lines
from cases.report.data.words import quantity
from femcore.base.numbers import plain


def calibration_tables(found: CalibrationResult) -> list[RenderableType]:
    """Verdict, factors, values, gauges, joint loads."""
    return [
        Text(plain(f"{found.title}: ‘{found.boat}’ with the joint ‘{found.joint}’"), style="bold"),
        *(Text(plain(line)) for line in verdict_lines(found)),
        _factors(found),
        *(Text(plain(line)) for line in factor_lines(found)),
        _values(found),
        _gauges(found),
        _loads(found),
        Text(plain(racking_line(found))),
    ]


def _factors(found: CalibrationResult) -> Table:
    table = _table(
        "Stiffness, over that of the boat's file", "what", "factor", "scatter before", "after", "learned"
    )
    for one in found.factors:
        quoted = one.quoted and found.verdict != "does not fit"
        table.add_row(
            one.name.replace("_", " "), f"{one.factor:.3g}" if quoted else "not quoted",
            f"{100 * one.before:.2g} %", f"{100 * one.after:.2g} %", f"{100 * max(one.learned, 0.0):.0f} %",
        )  # fmt: skip
    for load in found.loads:
        what = "stay's pull" if load.kind == "stay" else "loads"
        name = f"{what} of ‘{plain(load.test)}’"
        table.add_row(
            name, f"{load.factor:.3g}", f"{100 * load.before:.2g} %", f"{100 * load.after:.2g} %",
            f"{100 * max(1 - (load.after / load.before) ** 2, 0.0):.0f} %",
        )  # fmt: skip
    return table


def _values(found: CalibrationResult) -> Table:
    table = _table("What follows from all factors", "what", "before", "after", "scatter before", "after")
    for one in found.values:
        sizes = (one.before, one.after, one.before_scatter, one.after_scatter)
        table.add_row(one.name, *(quantity(value, one.unit) for value in sizes))
    return table


def _gauges(found: CalibrationResult) -> Table:
    table = _table("Gauges", "test", "gauge", "readings", "misses by", "scatter stated", "hysteresis")
    for one in found.gauges:
        table.add_row(
            plain(one.test), plain(one.gauge), str(one.readings), quantity(one.miss, one.unit), quantity(one.scatter, one.unit),
            "–" if one.hysteresis is None else quantity(one.hysteresis, one.unit),
        )  # fmt: skip
    return table


def _loads(found: CalibrationResult) -> Table:
    heads = ("case", "torque before", "after", "vertical bending before", "after")
    table = _table("Joint loads on the worse hull, by the factors quoted", *heads)
    for one in found.joint_loads:
        table.add_row(plain(one.case), *(quantity(value, "N·m") for value in (*one.torque, *one.bending)))
    return table


def _table(title: str, *heads: str) -> Table:
    table = Table(title=title, title_justify="left")
    for number, head in enumerate(heads):
        table.add_column(head, justify="left" if number == 0 else "right")
    return table
