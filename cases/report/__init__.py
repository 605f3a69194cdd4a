"""An analysis written out: a page to read, pictures, tables, meshes and all numbers."""

from __future__ import annotations

from cases.report.data.results import Results, results, schema
from cases.report.output import Written, write

__all__ = ["Results", "Written", "results", "schema", "write"]
