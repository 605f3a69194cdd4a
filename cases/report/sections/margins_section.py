"""Strength: the verdict on each joint, its margins, the checks that were not made, and drawings of fittings."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from cases.analyses.analysis import Analysis
from cases.analyses.claims import unchecked_entries
from cases.analyses.part_margins import PartMargins, rotation_capacity
from cases.analyses.study import Study
from cases.input.boat_file import BoatFile
from cases.report.data import words
from cases.report.data.statements import (
    design_load_words,
    factor_words,
    margin_words,
    strength_statements,
)
from cases.report.figures import fitting_figure, stressed_figure
from cases.report.sections.report_section import ReportSection
from cases.report.tables import joint_tables
from cases.report.tables.table import Cell, Column, Table
from models.joints.base import without_side
from models.strength.margins import GoverningCheck

MARGIN_EXPLANATION = (
    "Margin = capacity ∕ (safety factor × load) − 1: a part with a negative margin is inadequate. The safety factor is named "
    "beside each margin. Each check is the worst over all {over}. A check that was not made is not passed: what is in no "
    "check is listed."
)
GLUE_EXPLANATION = (
    "Glue lines are checked twice. “Elastic in service”: the peak stress stays below the strength less its knock-downs, that of "
    "a temperature change included. The check of the plain name is the ultimate capacity by the strength entered, plastic "
    "strain counted; where a margin rests on that strain alone, the row says so."
)
FAR_BEYOND = 10.0
"""Times the largest racking of any case: a racking that would be more is far beyond any load here, and has no figure."""
MOST_SHOWN = 16
"""Checks of one joint on the page, the governing first; the table beside it has all."""


def margins_section(study: Study, found: Analysis) -> ReportSection | None:
    """Of every study: that no check could be made is reported too."""
    said = list(strength_statements(found))
    over = "cases and combinations" if study.file.expanded_combinations else "cases"
    return ReportSection(
        "margins",
        "Strength",
        [MARGIN_EXPLANATION.format(over=over), *said, *rotation_capacity_sentences(study)],
        unshown=[
            all_margins(found.part_margins),
            margins_by_case(study, found.part_margins),
            not_checked_table(study.file, found.part_margins),
            joint_tables.all_design_loads(found),
        ],
        readable=[
            *map(_own_parts, found.part_margins),
            _beside(found.part_margins),
            not_checked_table(study.file, found.part_margins),
        ],
        drawings=[
            *fitting_figure.fitting_jobs(study, found),
            *stressed_figure.stressed_jobs(study, found),
        ],
        aside=f"Loads are without sign. {GLUE_EXPLANATION} The full table, with sources, is tables/margins.csv.",
        answer=[*said, design_load_words(found)],
    )


def size(value: float, unit: str) -> str:
    """A load or what is allowed, for reading; of an interaction the utilisation."""
    return words.number(value, 3) if unit in ("", "1", "-") else words.quantity(value, unit)


TITLES = ("part", "check", "load", "capacity", "safety factor", "margin", "case", "source")


def _own_parts(one: PartMargins) -> Table:
    """The joint's own parts, the worse of both sides; empty where the file describes none."""
    known = (
        (worst, name) for worst, name in one.worst if name is not None and worst.part in one.joint_part_names
    )
    worse: dict[tuple[str, str], tuple[GoverningCheck, str]] = {}
    for worst, name in known:
        worse.setdefault((without_side(worst.part), worst.check), (worst, name))
    title = f"Margins of {words.name_of(one.joint)}, the worse of both sides"
    return Table(
        "margins",
        title,
        tuple(map(Column, TITLES)),
        tuple(check_cells(*row) for row in worse.values()),
        MOST_SHOWN,
    )


def _beside(part_margins: Sequence[PartMargins]) -> Table:
    """Every check of the parts beside the joints, with the joint that loads the part most."""
    found = [
        (worst, name, one.joint)
        for one in part_margins
        for worst, name in one.worst
        if name is not None and worst.part not in one.joint_part_names
    ]
    found.sort(key=lambda row: row[0].margin)
    lowest: dict[tuple[str, str], tuple[GoverningCheck, str, str]] = {}
    for row in found:
        lowest.setdefault((row[0].part, row[0].check), row)
    columns = tuple(map(Column, (*TITLES[:6], "with", *TITLES[6:])))
    rows = [
        (*cells[:6], joint, *cells[6:])
        for worst, name, joint in lowest.values()
        for cells in [check_cells(worst, name)]
    ]
    return Table(
        "margins", "Margins beside the joints, with the joint that loads the part most", columns, tuple(rows)
    )


def lowest_margins(found: Analysis, joints: Sequence[str], most: int) -> Table:
    """The lowest of all checks with these joints, of alike ones the worse side; a part beside them once, with the worse joint."""
    lowest: dict[tuple[str, str, str], tuple[GoverningCheck, str, str]] = {}
    for one in found.part_margins:
        for worst, name in one.worst if one.joint in joints else ():
            if name is not None:
                own = one.joint if worst.part in one.joint_part_names else ""
                key, row = (without_side(worst.part), worst.check, own), (worst, name, one.joint)
                lowest[key] = min(lowest.get(key, row), row, key=lambda known: known[0].margin)
    ranked = sorted(lowest.values(), key=lambda row: row[0].margin)[:most]
    columns = tuple(map(Column, ("with", *TITLES[:-1])))
    rows = tuple((joint, *check_cells(worst, name)[:-1]) for worst, name, joint in ranked)
    return Table(
        "margins",
        f"The {len(rows)} lowest margins of the candidates and of the parts beside them",
        columns,
        rows,
    )


def check_cells(worst: GoverningCheck, name: str) -> tuple[Cell, ...]:
    """The cells below `TITLES`."""
    return (
        worst.part, f"{worst.check} ({worst.remark})" if worst.remark else worst.check,
        size(worst.load, worst.unit), size(worst.allowable, worst.unit),
        factor_words(worst).removeprefix("safety factor "), margin_words(worst.margin), name, worst.source,
    )  # fmt: skip


def not_checked_table(file: BoatFile, part_margins: Sequence[PartMargins]) -> Table:
    """Everything that is in no check, and why; what the same joints lack for the same reason in one row."""
    rows: dict[tuple[str, str], list[str]] = {}
    for one in unchecked_entries(file, part_margins):
        joints = ", ".join(one.joints) or "every joint"
        rows.setdefault((joints, one.why), []).append(f"{one.part}: {one.what}")
    cells: list[tuple[Cell, ...]] = [(joints, "; ".join(what), why) for (joints, why), what in rows.items()]
    return Table(
        "not_checked", "In no check", (Column("with"), Column("what"), Column("reason")), tuple(cells)
    )


def rotation_capacity_sentences(study: Study) -> Iterator[str]:
    """Torque and twist at which the first part of each described fitting fails, without safety factor."""
    for one in study.joints:
        limit = rotation_capacity(one.joint, one.curves.get("pitch"))
        if limit is None:
            continue
        twist = "" if limit.twist is None else f", at a twist of {words.quantity(limit.twist, 'rad')}"
        said = (
            f"Torque capacity of {words.name_of(one.joint.name)}, of the parts checked (torque alone, no safety factor): "
            f"{words.quantity(limit.torque, 'N·m')}{twist}; governing: {limit.part}."
        )
        if limit.racking is not None:
            acting = max(
                (abs(case.racking_moment) for case in one.cases if case.shares is not None), default=0.0
            )
            pair = f"{words.quantity(limit.racking, 'N')} up at one stem and down at the other"
            far = limit.racking * study.file.bows.length > FAR_BEYOND * acting
            said += (
                " Racking alone would put that torque on it only far beyond any load here."
                if far
                else f" Racking alone would put that torque on it at {pair}, if nothing else failed before."
            )
        yield said


def margins_by_case(study: Study, part_margins: Sequence[PartMargins]) -> Table:
    """Every check of every joint under every single case, in SI, the governing one of each case first."""
    columns = (
        Column("joint"), Column("case"), Column("part"), Column("check"), Column("load", "", "SI"),
        Column("allowable", "", "SI"), Column("unit"), Column("safety factor"), Column("safety factor’s name"),
        Column("margin"), Column("source"),
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = [
        (
            one.joint, case.name, worst.part, worst.check, worst.load, worst.allowable, worst.unit, worst.factor.value,
            worst.factor.name, worst.margin if math.isfinite(worst.margin) else None, worst.source,
        )
        for one in part_margins
        for case, checks in zip(study.cases, one.case_by_case(range(len(study.cases))), strict=True)
        for worst in checks
    ]  # fmt: skip
    return Table("margins_by_case", "Margins by case", columns, tuple(rows))


def all_margins(part_margins: Sequence[PartMargins]) -> Table:
    """Every check of every joint, in SI."""
    columns = (
        Column("joint"), Column("part"), Column("check"), Column("load", "", "SI"), Column("allowable", "", "SI"),
        Column("unit"), Column("safety factor"), Column("safety factor’s name"), Column("margin"),
        Column("in"), Column("source"), Column("not checked because"), Column("remark"),
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = []
    for one in part_margins:
        for worst, name in one.worst:
            if name is None:
                rows.append((one.joint, worst.part, worst.check, *[None] * 8, worst.reason, None))
            else:
                load = (worst.load, worst.allowable, worst.unit)
                factor = (worst.factor.value, worst.factor.name)
                rows.append(
                    (
                        one.joint,
                        worst.part,
                        worst.check,
                        *load,
                        *factor,
                        worst.margin,
                        name,
                        worst.source,
                        None,
                        worst.remark or None,
                    )
                )
    return Table("margins", "Margins", columns, tuple(rows))
