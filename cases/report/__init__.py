"""A study written out: a page to read, pictures, tables, meshes and all numbers; and its short form for a
terminal.
"""

from __future__ import annotations

from cases.report.numbers import results
from cases.report.output import Written, write
from cases.report.results_format import Results, schema
from cases.report.terminal import summary

__all__ = ["Results", "Written", "results", "schema", "summary", "write"]
