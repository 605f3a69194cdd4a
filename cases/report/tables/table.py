"""A table: built once in SI, written in full as CSV, and formatted with prefixes and few digits for reading."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import groupby

from cases.report.data import words
from femcore.base.numbers import largest, plain, unit_prefix

Cell = str | float | None
FORMULA_SIGNS = ("=", "+", "-", "@")
"""A text that begins so is a formula to a spreadsheet, which works it out; an apostrophe before it makes it text again."""
COMPONENT_UNITS = ("N", "N", "N", "N·m", "N·m", "N·m")
FREEDOM_UNITS = ("m", "m", "m", "rad", "rad", "rad")


@dataclass(frozen=True, slots=True)
class Column:
    """A heading. A column without unit holds text; unit "1" is a ratio.

    below  : a second line of the heading
    spring : a stiffness that may be free or rigid, shown with its own unit in each cell
    shown, below_shown : on the page, where the CSV file keeps its own heading for those who read it by name
    """

    title: str
    unit: str = ""
    below: str = ""
    spring: bool = False
    shown: str = ""
    below_shown: str = ""


@dataclass(frozen=True, slots=True)
class Table:
    """A table in SI; None: no value, inf: rigid.

    most : rows shown on the page; 0: all
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
        """The table for the page."""
        scales = [self._scale(at) for at in range(len(self.columns))]
        heads = tuple(
            FormattedHeading(
                column.shown or column.title, column.below_shown or column.below, named, column.unit != ""
            )
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
        title = f"{self.title} (the first {self.most}; all in {self.name}.csv)" if over else self.title
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
    """A heading on the page."""

    title: str
    below: str
    unit: str
    number: bool


@dataclass(frozen=True, slots=True)
class FormattedCell:
    """A cell on the page: its text, how many rows it spans (0: spanned by one above), whether a group begins."""

    text: str
    rows: int
    first: bool


@dataclass(frozen=True, slots=True)
class FormattedTable:
    """A table on the page."""

    title: str
    heads: tuple[FormattedHeading, ...]
    rows: tuple[tuple[FormattedCell, ...], ...]


def _heading(column: Column) -> str:
    unit = {"": "", "1": " (share)", "×": " (times)"}.get(column.unit, f" ({column.unit})")
    return column.title + (f", {column.below}" if column.below else "") + unit


def _unrounded(cell: Cell) -> str:
    if cell is None or cell == "":
        return ""
    if not isinstance(cell, str):
        return repr(float(cell))
    text = plain(cell)
    return f"'{text}" if text.startswith(FORMULA_SIGNS) else text


def _read(cell: Cell, column: Column, by: float, _named: str, decimals: int) -> str:
    if cell is None:
        return "–"
    if isinstance(cell, str):
        return plain(cell) if cell else ""
    return words.spring(cell, column.unit) if column.spring else words.number(cell / by, decimals)


def _merged_cells(rows: list[list[str]], text: Sequence[bool]) -> tuple[tuple[FormattedCell, ...], ...]:
    """Leading columns of text, but the last, are merged over the rows that share them."""
    lead = max(0, next((i for i, is_text in enumerate(text) if not is_text), len(text)) - 1)
    # of each leading column: how many rows a cell spans, 0 where one above spans it
    spans = [[0] * len(rows) for _ in range(max(lead, 1))]
    for column, spanned in enumerate(spans):
        number = 0
        for _, run in groupby(row[: column + 1] for row in rows):
            spanned[number] = sum(1 for _ in run)
            number += spanned[number]
    return tuple(
        tuple(
            FormattedCell(
                cell, spans[column][number] if column < lead else 1, column == 0 and spans[0][number] > 0
            )
            for column, cell in enumerate(row)
        )
        for number, row in enumerate(rows)
    )
