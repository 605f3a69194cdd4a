"""The CSV files of a report read back, and compared row by row with what they must hold."""

import csv
import io
import math
from typing import NamedTuple

import pytest

from cases.report.output import Form, write
from tests.cases.report.figures_read import figure

REL_TOL_ROUNDING = 1e-12
"""Of the largest number of a column: a smaller one is rounding."""


class Shown(NamedTuple):
    """Of a cell for reading: the value in SI and the unit that its figure must show."""

    value: float
    unit: str


def tables_of(analysis, folder):
    """Rows of every CSV file by heading, by the table's name."""
    out, found = write(analysis, folder / "report", Form(pictures=False)), {}
    for name in out.files:
        if name.endswith(".csv"):
            text = (out.folder / name).read_text(encoding="utf-8")
            found[name.removeprefix("tables/").removesuffix(".csv")] = list(csv.DictReader(io.StringIO(text)))
    return found


def agree(rows, expected, words=frozenset()):
    """Every row has the columns expected: texts equal, None empty, one of a frozenset, figures shown, numbers in full."""
    assert len(rows) == len(expected) > 0
    for row, right in zip(rows, expected, strict=True):
        assert set(row) - words == set(right) - words
    for heading in expected[0]:
        column = [right[heading] for right in expected]
        sizes = [abs(one) for one in column if isinstance(one, int | float) and math.isfinite(one)]
        rounding = REL_TOL_ROUNDING * max(sizes, default=0.0)
        for row, value in zip(rows, column, strict=True):
            assert _is(row[heading], value, rounding), (heading, row[heading], value)


def _is(cell, value, rounding):
    """Whether a cell is what it must be."""
    if value is None or isinstance(value, str):
        return cell == (value or "")
    if isinstance(value, frozenset):
        return cell in value
    if isinstance(value, Shown):
        return figure(cell).shows(*value)
    return float(cell) == pytest.approx(value, rel=1e-9, abs=rounding)
