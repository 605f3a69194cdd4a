"""The engineer's sheets: for each candidate the design actions that act at one time, and every check with formula and source."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from cases.analyses.analysis import Analysis
from cases.analyses.candidates import candidates
from cases.analyses.case_rows import CaseRows
from cases.analyses.part_margins import PartMargins
from cases.analyses.study import Study
from cases.report.data import words
from cases.report.sections.margins_section import TITLES, check_cells
from cases.report.sections.report_section import ReportSection
from cases.report.tables.table import COMPONENT_UNITS, Cell, Column, Table
from models.checks.formulas import formula_of
from models.response.front_end import SIDES
from models.response.joint_loads import JOINT_LOAD_NAMES

EXPLANATION = (
    "Design actions: what the crossbeam puts on the hull at the joint, boat axes, pretension included, all six at one time. A "
    "row for each component, in the case or combination and at the hull where it is largest, and one for each that governs a "
    "check. No safety factor is in them."
)
SYMBOLS = (
    "Formulas: load ≤ capacity, both as in the next two columns; a utilisation is at most 1. F force, N push or pull, V and q "
    "shear force and flow, M bending, T torque, σ and τ stresses; f_y 0.2 % proof stress, f_u strength, R what resists; A area, "
    "A_s stress area of the thread, W section modulus, t thickness, d diameter of bolt or pin, d0 of its hole, D bending "
    "stiffness of a plate. Of a glue line: G, E_a, η moduli and thickness, K stiffness of each sheet per width, L overlap."
)


def sheets_section(study: Study, found: Analysis) -> ReportSection | None:
    """Of the candidates that have an answer; None where none has."""
    chosen = [joint.name for joint in candidates(study.file)]
    sheets = [
        (rows, margins)
        for rows, margins in zip(found.case_rows, found.part_margins, strict=True)
        if margins.joint in chosen
    ]
    if not sheets:
        return None
    return ReportSection(
        "sheets",
        "Engineer's sheets: design actions and checks of the candidates",
        [EXPLANATION],
        unshown=[_all_actions(sheets)],
        readable=[
            table
            for rows, margins in sheets
            for table in (design_actions(rows, margins), all_checks(margins))
        ],
        aside=f"{SYMBOLS} Sources that were recalled and not looked up say “from memory”.",
    )


def governing_rows(rows: CaseRows, margins: PartMargins) -> dict[tuple[int, int], list[str]]:
    """Row and side → why it is listed: the components that are largest there, and the checks of the joint that it governs."""
    load = rows.values.joint_load
    reasons: dict[tuple[int, int], list[str]] = {}
    for column, component in enumerate(JOINT_LOAD_NAMES):
        row, side = np.unravel_index(np.abs(load[..., column]).argmax(), load.shape[:2])
        if load[row, side, column]:
            reasons.setdefault((int(row), int(side)), []).append(f"largest {component}")
    for worst, name in margins.worst:
        if name is not None and worst.case is not None and worst.part in margins.joint_part_names:
            hull = next(number for number, called in enumerate(SIDES) if worst.part.startswith(called))
            said = reasons.setdefault((worst.case, hull), [])
            said += [f"governs {worst.part}"] if not any(one.startswith("governs") for one in said) else []
    return reasons


def design_actions(rows: CaseRows, margins: PartMargins) -> Table:
    """Concurrent actions, a row for each governing case or combination and hull."""
    columns = (Column("case or combination"), Column("hull"), Column("why"), *_action_columns())
    title = f"Design actions of {words.name_of(margins.joint)}, all at one time"
    return Table("design_actions", title, columns, tuple(_action_rows(rows, margins)))


def _action_columns() -> tuple[Column, ...]:
    components = zip(("Fx", "Fy", "Fz", "Mx", "My", "Mz"), COMPONENT_UNITS, JOINT_LOAD_NAMES, strict=True)
    return tuple(Column(axis, unit, name) for axis, unit, name in components)


def _action_rows(rows: CaseRows, margins: PartMargins) -> Iterator[tuple[Cell, ...]]:
    for (row, side), why in governing_rows(rows, margins).items():
        yield (rows.names[row], SIDES[side], "; ".join(why), *map(float, rows.values.joint_load[row, side]))


def _all_actions(sheets: list[tuple[CaseRows, PartMargins]]) -> Table:
    columns = (
        Column("joint"),
        Column("case or combination"),
        Column("hull"),
        Column("why"),
        *_action_columns(),
    )
    cells = ((margins.joint, *row) for rows, margins in sheets for row in _action_rows(rows, margins))
    return Table("design_actions", "Design actions", columns, tuple(cells))


def all_checks(margins: PartMargins) -> Table:
    """Every check of a joint's own parts, both sides, the governing one first."""
    known = [
        (w, name) for w, name in margins.worst if name is not None and w.part in margins.joint_part_names
    ]
    title = f"Checks of {words.name_of(margins.joint)}: formula, load, capacity, factor, margin and source"
    columns = tuple(map(Column, (*TITLES[:2], "formula", *TITLES[2:])))
    rows: list[tuple[Cell, ...]] = []
    for worst, name in known:
        part, check, *rest = check_cells(worst, name)
        rows.append((part, check, formula_of(worst.check) or "–", *rest))
    return Table("margins", title, columns, tuple(rows))
