"""Tables of the trussed beam, second-order effects and natural frequencies."""

from __future__ import annotations

from cases.analyses.joint_results import CaseResult
from cases.analyses.study import Study
from cases.report.tables.table import Cell, Column, Table
from models.response.modes import RACKING, TWISTING, lowest_mode


def truss(study: Study) -> Table:
    """Tension of the martingale, compression of crossbeam and striker, and the buckling factor of each case."""
    columns = (
        Column("case"),
        Column("joint"),
        Column("martingale", "N", "largest tension"),
        Column("crossbeam", "N", "largest compression"),
        Column("striker", "N", "compression at its foot"),
        Column("buckles at", "×", "its load"),
        Column("buckles in"),
    )
    rows = tuple(
        (case.name, joint.joint.name, *_trussed(joint.cases[at]))
        for at, case in enumerate(study.cases)
        for joint in study.joints
    )
    return Table("truss", "The trussed beam", columns, rows)


def _trussed(found: CaseResult) -> tuple[Cell, ...]:
    state, lost = found.truss, found.buckling
    tension = max(state.tension.values()) if state.tension else None
    compressed: tuple[Cell, ...] = (tension, state.compression, state.strut)
    return (*compressed, lost.factor, lost.part) if lost else (*compressed, None, "–")


def deformed(study: Study) -> Table:
    """Change from first to second order, for the cases solved in the deformed shape."""
    columns = (
        Column("case"),
        Column("joint"),
        Column("joint force", "1", "more", below_shown="increase"),
        Column("joint moment", "1", "more", below_shown="increase"),
        Column("martingale", "1", "more tension", below_shown="increase of tension"),
        Column("stems", "1", "more movement", below_shown="increase of movement"),
    )
    rows = tuple(
        (case.name, joint.joint.name, change.force, change.moment, change.tension, change.movement)
        for at, case in enumerate(study.cases)
        for joint in study.joints
        if (change := joint.cases[at].change) is not None
    )
    return Table("deformed", "Second order (deformed shape) against first order", columns, rows)


def motions(study: Study) -> Table:
    """The lowest natural frequencies in racking and in twist of the bows: front end alone, dry, under pretension alone."""
    columns = (Column("joint"), Column("racking", "Hz", "lowest"), Column("twisting", "Hz", "lowest"))
    rows = []
    for joint in study.joints:
        lowest = [lowest_mode(joint.natural_modes, kind) for kind in (RACKING, TWISTING)]
        if any(lowest):
            rows.append((joint.joint.name, *(motion.frequency if motion else None for motion in lowest)))
    return Table("motions", "Natural frequencies: front end alone, dry", columns, tuple(rows))
