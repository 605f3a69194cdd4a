"""A study written out: a page to read, pictures, tables, meshes and all numbers; and its short form for a
terminal.
"""

from __future__ import annotations

from cases.cli.run_summary import summary
from cases.report.data.numbers import results
from cases.report.data.results_format import Results, schema
from cases.report.output import Written, write

__all__ = ["Results", "Written", "results", "schema", "summary", "write"]
