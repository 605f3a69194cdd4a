"""Tables of a test on the boat: factors found, what follows from them, gauges, joint loads before and after."""

from __future__ import annotations

from cases.analyses.calibration_result import CalibrationResult
from cases.report.tables.table import Cell, Column, Table


def factors_table(found: CalibrationResult) -> Table:
    """A row for each unknown; no factor where the test taught too little, or does not fit."""
    columns = (
        Column("stiffness"), Column("factor", "×", "on that of the file"), Column("scatter before", "1"),
        Column("scatter after", "1"), Column("learned", "1"),
    )  # fmt: skip
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (one.name.replace("_", " "), found.quoted.get(one.name), one.before, one.after, max(one.learned, 0.0))
        for one in found.factors
    )
    return Table("test_factors", "Stiffness found by the test", columns, rows)


def values_table(found: CalibrationResult) -> Table:
    """Twist and twist centre of the platform, stiffness of the joint; units differ from row to row."""
    columns = (
        Column("what"), Column("unit"), Column("before", "×", shown="before"), Column("after", "×", shown="after"),
        Column("scatter before", "×"), Column("scatter after", "×"),
    )  # fmt: skip
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (one.name, one.unit, one.before, one.after, one.before_scatter, one.after_scatter)
        for one in found.values
    )
    return Table("test_values", "What follows from the factors", columns, rows)


def gauges_table(found: CalibrationResult) -> Table:
    """A row for each gauge of each test, in SI."""
    columns = (
        Column("test"), Column("gauge"), Column("unit"), Column("readings", "×"), Column("misses by", "×"),
        Column("scatter stated", "×"), Column("hysteresis", "×"),
    )  # fmt: skip
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (one.test, one.gauge, one.unit, float(one.readings), one.miss, one.scatter, one.hysteresis)
        for one in found.gauges
    )
    return Table("test_gauges", "Gauges of the test", columns, rows)


def loads_table(found: CalibrationResult) -> Table:
    """A row for each case of the boat's file."""
    columns = (
        Column("case"), Column("torque", "N·m", "before"), Column("torque", "N·m", "after"),
        Column("vertical bending", "N·m", "before"), Column("vertical bending", "N·m", "after"),
    )  # fmt: skip
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (one.case, *one.torque, *one.bending) for one in found.joint_loads
    )
    title = f"Load of the joint ‘{found.joint}’ on the worse hull, by the file and by the factors quoted"
    return Table("test_joint_loads", title, columns, rows)
