"""Origin of the loads of every case: formula with this boat's numbers, source and its status, range of validity."""

from __future__ import annotations

from collections.abc import Iterator

from cases.analyses.analysis import Analysis
from cases.analyses.study import Study
from cases.report.data import words
from cases.report.sections.report_section import ReportSection
from cases.report.tables.table import Cell, Column, Table
from models.strength.margins import LOAD_PART

MOST_SHOWN = 40
"""Cases listed on the page; the CSV table has all."""
INSIDE = {True: "inside", False: "outside", None: "–"}


def loads_section(study: Study, _: Analysis) -> ReportSection:
    """Always there: every file has a case."""
    return ReportSection(
        "loads",
        "Where the loads come from",
        list(_said(study)),
        unshown=[origins(study)],
        readable=[loads_by_source(study)],
        aside=(
            "“Entered”: a value of the boat file. “Read” or “from memory”: whether the source was at hand when its formula was "
            "written down. Rules are shown for comparison only; none is applied in full, and the rules that apply to the boat "
            "decide."
        ),
    )


def _said(study: Study) -> Iterator[str]:
    if off := [words.name_of(case.name) for case in study.file.cases if not case.on]:
        yield f"Switched off in the file and not run: {', '.join(off)}."
    outside = [
        words.name_of(case.name)
        for case in study.file.active_cases
        if any(one.origin().inside is False for one in case.expand(study.file))
    ]
    levels = study.file.load_levels
    extreme = [words.name_of(name) for name, level in levels.items() if level == "extreme"]
    working = len(levels) - len(extreme)
    yield (
        f"{working} of the {len(levels)} cases and combinations have working loads, met again and again or that may be exceeded: "
        "their checks take the safety factors in full."
    )
    if extreme:
        yield (
            f"Extreme loads, which are not exceeded: {', '.join(extreme)}. Their checks leave out the factors' part for loads, "
            f"{LOAD_PART:g} (EN 1990, accidental design situations, from memory); no factor of strength falls below 1, and "
            "limits in service are kept under the load in service that belongs to them, as much smaller."
        )
    if outside:
        yield f"This boat is outside the range of validity of the source for: {', '.join(outside)}."


def origins(study: Study) -> Table:
    """Every case as run, and the origin of its loads."""
    columns = (
        Column("case"), Column("kind"), Column("what is applied"), Column("formula, with its numbers"),
        Column("source and its standing"), Column("holds for"), Column("this boat"), Column("level"),
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = []
    for case in study.cases:
        origin = case.provenance()
        source_cells = (
            origin.formula or "–",
            origin.source,
            origin.validity or "–",
            INSIDE[origin.inside],
            case.load_level,
        )
        rows.append((case.name, getattr(case, "kind", ""), case.words(), *source_cells))
    return Table("load_origins", "Where the loads come from", columns, tuple(rows))


def loads_by_source(study: Study) -> Table:
    """The same for the page: sources that several cases share are listed once."""
    columns = (
        Column("kind"), Column("source and its status"), Column("valid for"),
        Column("case"), Column("level"), Column("what is applied"), Column("formula, with its numbers"),
    )  # fmt: skip
    rows = tuple(
        (
            kind,
            source,
            f"{holds} (this boat: {where})" if where != "–" else holds,
            case,
            level,
            applied,
            formula,
        )
        for case, kind, applied, formula, source, holds, where, level in origins(study).rows
    )
    return Table("load_origins", "Cases run", columns, rows, MOST_SHOWN)
