"""The CSV files of a report read back, and compared row by row with what they must hold."""

import csv
import io
from typing import NamedTuple

import pytest

from cases.report.output import Form, write
from tests.cases.report.figures_read import figure


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
        numbers = [abs(v) for v in right.values() if isinstance(v, int | float)]
        for heading, value in right.items():
            if value is None or isinstance(value, str):
                assert row[heading] == (value or ""), heading
            elif isinstance(value, frozenset):
                assert row[heading] in value, heading
            elif isinstance(value, Shown):
                assert figure(row[heading]).shows(*value), (heading, row[heading], value)
            else:
                assert float(row[heading]) == pytest.approx(value, rel=1e-9, abs=1e-12 * max(numbers)), (
                    heading
                )
