"""The tables of a study, each built once in SI: in full as CSV, and with prefixes and few digits for
reading.
"""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from cases.analyses.study import JointResult, Study
from cases.report.data import words
from femcore.base.numbers import largest, plain, unit_prefix
from femcore.frame.frame import ACTIONS, FREEDOMS
from femcore.results.member_forces import MemberForces
from models.joints import DIRECTIONS
from models.response.front_end import SIDES
from models.response.joint_loads import JOINT_LOAD_NAMES, larger_side

Cell = str | float | None
COMPONENTS = ("Fx", "Fy", "Fz", "Mx", "My", "Mz")
COMPONENT_UNITS = ("N", "N", "N", "N·m", "N·m", "N·m")
FREEDOM_UNITS = ("m", "m", "m", "rad", "rad", "rad")


@dataclass(frozen=True, slots=True)
class Column:
    """A heading; a column without unit holds text, unit "1" a share of a whole.

    below  : a second line of the heading
    spring : a stiffness that may be free or rigid, read with its own unit in each cell
    """

    title: str
    unit: str = ""
    below: str = ""
    spring: bool = False


@dataclass(frozen=True, slots=True)
class Table:
    """A table in SI: None is nothing to say, inf is rigid.

    most : so many rows are shown for reading; 0: all
    """

    name: str
    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
    most: int = 0

    def only(self, column: str, value: str) -> Table:
        """The rows with that value in a column, without the column."""
        at = [c.title for c in self.columns].index(column)
        rows = tuple((*row[:at], *row[at + 1 :]) for row in self.rows if row[at] == value)
        return replace(self, columns=(*self.columns[:at], *self.columns[at + 1 :]), rows=rows)

    def without(self, column: str) -> Table:
        """The table without a column."""
        at = [c.title for c in self.columns].index(column)
        rows = tuple((*row[:at], *row[at + 1 :]) for row in self.rows)
        return replace(self, columns=(*self.columns[:at], *self.columns[at + 1 :]), rows=rows)

    def csv(self) -> str:
        """In SI and in full, headings with units."""
        text = io.StringIO()
        writer = csv.writer(text, lineterminator="\n")
        writer.writerow(_heading(column) for column in self.columns)
        writer.writerows([_unrounded(cell) for cell in row] for row in self.rows)
        return text.getvalue()

    def shown(self) -> FormattedTable:
        """For reading."""
        scales = [self._scale(at) for at in range(len(self.columns))]
        heads = tuple(
            FormattedHeading(column.title, column.below, named, column.unit != "")
            for column, (_, named, _) in zip(self.columns, scales, strict=True)
        )
        rows = [
            [
                _read(cell, column, *scale)
                for cell, column, scale in zip(row, self.columns, scales, strict=True)
            ]
            for row in self.rows[: self.most or None]
        ]
        over = len(self.rows) - len(rows)
        title = f"{self.title} (the first {self.most}; all are in {self.name}.csv)" if over else self.title
        return FormattedTable(title, heads, _merged_cells(rows, [not head.number for head in heads]))

    def _scale(self, at: int) -> tuple[float, str, int]:
        """Divisor, unit as shown, and decimals of a column; columns of one unit share them."""
        unit = self.columns[at].unit
        if not unit or self.columns[at].spring:
            return 1.0, "", 0
        if unit == "1":
            return 0.01, "%", 1
        alike = [i for i, column in enumerate(self.columns) if column.unit == unit]
        most = largest(
            [cell for row in self.rows for i in alike if isinstance(cell := row[i], float)] or [0.0]
        )
        if unit == "×":
            return 1.0, "×", 3 if most < 10 else 1
        by, named = unit_prefix(most, unit)
        digits = 3 - math.floor(math.log10(most / by) + 1e-9) if most else 0
        return by, named, min(3, max(0, digits))


@dataclass(frozen=True, slots=True)
class FormattedHeading:
    """A heading for reading."""

    title: str
    below: str
    unit: str
    number: bool


@dataclass(frozen=True, slots=True)
class FormattedCell:
    """A cell for reading: its text, over how many rows it stands (0: another stands here), whether a group
    begins.
    """

    text: str
    rows: int
    first: bool


@dataclass(frozen=True, slots=True)
class FormattedTable:
    """A table for reading."""

    title: str
    heads: tuple[FormattedHeading, ...]
    rows: tuple[tuple[FormattedCell, ...], ...]


def _heading(column: Column) -> str:
    unit = {"": "", "1": " (share)", "×": " (times)"}.get(column.unit, f" ({column.unit})")
    return column.title + (f", {column.below}" if column.below else "") + unit


def _unrounded(cell: Cell) -> str:
    return "" if cell is None or cell == "" else plain(cell) if isinstance(cell, str) else repr(float(cell))


def _read(cell: Cell, column: Column, by: float, _named: str, decimals: int) -> str:
    if cell is None:
        return "–"
    if isinstance(cell, str):
        return plain(cell) if cell else ""
    return words.spring(cell, column.unit) if column.spring else words.number(cell / by, decimals)


def _merged_cells(rows: list[list[str]], text: Sequence[bool]) -> tuple[tuple[FormattedCell, ...], ...]:
    """Leading columns of text, but the last, stand once for all rows that share them."""
    lead = max(0, next((i for i, is_text in enumerate(text) if not is_text), len(text)) - 1)
    shown = []
    for number, row in enumerate(rows):
        cells = []
        for column, cell in enumerate(row):
            key = row[: column + 1]
            first = number == 0 or rows[number - 1][: column + 1] != key
            run = next(
                (i for i, other in enumerate(rows[number:]) if other[: column + 1] != key), len(rows) - number
            )
            cells.append(
                FormattedCell(cell, (run if first else 0) if column < lead else 1, first and column == 0)
            )
        shown.append(tuple(cells))
    return tuple(shown)


def comparison(study: Study) -> Table:
    """What each joint attracts in the racking cases beyond the state at rest, and how much stiffer it makes the bows."""
    columns = (
        Column("joint"), Column("case"), Column("torque", "N·m", "that is added"),
        Column("vertical bending", "N·m", "that is added"),
        Column("torque", "1", "of a rigid joint’s"), Column("bending", "1", "of a rigid joint’s"),
        Column("racking stiffness", "N/m"), Column("stiffness", "×", "of bows alone"),
        Column("half-torque stiffness", "N·m/rad", spring=True),
        Column("own stiffness", "N·m/rad", "in pitch", spring=True),
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = []
    for joint in study.joints:
        curve = joint.curves["pitch"]
        stiffness = joint.racking_stiffness
        stiffer = (stiffness, stiffness / study.bare_racking_stiffness)
        after = (*stiffer, *((curve.k_half, curve.joint_stiffness) if curve else (None, None)))
        for case, moments in _racked(study, joint):
            rows.append((joint.joint.name, case, *moments, *after))
    return Table("comparison", "Joints compared", columns, tuple(rows))


def _racked(study: Study, joint: JointResult) -> list[tuple[str, tuple[float | None, ...]]]:
    """Torque and bending of a joint, and both over a rigid joint's, in every racking case; a dash for
    none.
    """
    found = [joint.case(case.name) for case in study.racking_cases]
    moments = [
        (
            one.attracted("torque"),
            one.attracted("vertical bending"),
            one.attraction["torque"],
            one.attraction["bending"],
        )
        for one in found
    ]
    named = list(zip([one.case.name for one in found], moments, strict=True))
    return [*named] or [("–", (None,) * 4)]


def worst_in_rig(study: Study) -> Table:
    """The largest of each component of the joint loads in the rig cases, of both hulls."""
    columns = (Column("joint"), Column("case"), *_beam_columns())
    rows: list[tuple[Cell, ...]] = [
        (
            joint.joint.name,
            case.name,
            *(larger_side(joint.case(case.name).joint_load, name) for name in JOINT_LOAD_NAMES),
        )
        for joint in study.joints
        for case in study.rig_cases
    ]
    return Table("worst_in_rig", "Largest joint loads under the rig", columns, tuple(rows))


def _beam_columns() -> Iterable[Column]:
    return (Column(word, unit) for word, unit in zip(JOINT_LOAD_NAMES, COMPONENT_UNITS, strict=True))


def joint_loads(study: Study) -> Table:
    """What the crossbeam puts on each hull at the joint, boat axes and beam words."""
    columns = [Column("case"), Column("joint"), Column("hull")]
    columns += [
        Column(c, u, w) for c, u, w in zip(COMPONENTS, COMPONENT_UNITS, JOINT_LOAD_NAMES, strict=True)
    ]
    rows: list[tuple[Cell, ...]] = [
        (result.case.name, joint.joint.name, side, *map(float, load))
        for at in range(len(study.cases))
        for joint in study.joints
        for result in [joint.cases[at]]
        for side, load in zip(SIDES, result.joint_load, strict=True)
    ]
    return Table("joint_loads", "What the crossbeam puts on each hull", tuple(columns), tuple(rows))


def racking_shares(study: Study) -> Table:
    """Where the racking moment goes; attraction beside it."""
    columns = (
        Column("case"), Column("joint"), Column("racking moment", "N·m"), Column("hull share", "1"),
        Column("torque share", "1"), Column("shear share", "1"), Column("sum", "1"),
        Column("torque", "1", "of a rigid joint’s"), Column("bending", "1", "of a rigid joint’s"),
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = []
    for at, case in enumerate(study.cases):
        for joint in study.joints:
            found = joint.cases[at]
            if found.shares is not None:
                parts = [found.shares[key] for key in ("hull", "torque", "shear")]
                attracted = (found.attraction["torque"], found.attraction["bending"])
                rows.append(
                    (case.name, joint.joint.name, found.racking_moment, *parts, sum(parts), *attracted)
                )
    return Table("racking_shares", "Where the racking moment goes", columns, tuple(rows))


def movements(study: Study) -> Table:
    """Movements of the stems."""
    columns = [Column("case"), Column("joint"), Column("stem")]
    columns += [
        Column(freedom, unit, direction)
        for freedom, unit, direction in zip(FREEDOMS, FREEDOM_UNITS, DIRECTIONS, strict=True)
    ]
    rows: list[tuple[Cell, ...]] = [
        (case.name, joint.joint.name, side, *map(float, moved))
        for at, case in enumerate(study.cases)
        for joint in study.joints
        for side, moved in zip(SIDES, joint.cases[at].stems, strict=True)
    ]
    return Table("movements", "How the stems move", tuple(columns), tuple(rows))


def crossbeam_actions(study: Study) -> Table:
    """Actions along the crossbeam, from its starboard end to its port end, beam axes."""
    columns = [Column("case"), Column("joint"), Column("distance from starboard end", "m")]
    columns += [Column(action, unit) for action, unit in zip(ACTIONS, COMPONENT_UNITS, strict=True)]
    rows: list[tuple[Cell, ...]] = [
        (case.name, joint.joint.name, *row)
        for at, case in enumerate(study.cases)
        for joint in study.joints
        for row in _along(joint.crossbeam, at)
    ]
    return Table("crossbeam_actions", "Actions along the crossbeam", tuple(columns), tuple(rows))


def _along(line: MemberForces, case: int) -> Iterable[tuple[float, ...]]:
    for station, actions in zip(line.station.tolist(), line.actions[case].tolist(), strict=True):
        yield (station, *actions)


def all_tables(study: Study) -> list[Table]:
    """The tables that are written as CSV."""
    return [build(study) for build in (comparison, joint_loads, racking_shares, movements, crossbeam_actions)]
