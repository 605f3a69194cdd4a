"""Tables of what the front end is in besides its joint loads: the trussed beam, the deformed shape, natural
modes.
"""

from __future__ import annotations

from cases.analyses.study import CaseResult, Study
from cases.report.tables.table import Cell, Column, Table
from models.response.modes import RACKING, TWISTING, lowest_mode


def truss(study: Study) -> Table:
    """The martingale's tension, what squeezes crossbeam and striker, and at how much of its load a case
    buckles.
    """
    columns = (
        Column("case"),
        Column("joint"),
        Column("martingale", "N", "largest tension"),
        Column("crossbeam", "N", "largest compression"),
        Column("striker", "N", "compression"),
        Column("buckles at", "×", "its load"),
        Column("gives way"),
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
    """What equilibrium in the deformed shape changes, for the cases that ask for it."""
    columns = (
        Column("case"),
        Column("joint"),
        Column("joint force", "1", "more"),
        Column("joint moment", "1", "more"),
        Column("martingale", "1", "more tension"),
        Column("stems", "1", "more movement"),
    )
    rows = tuple(
        (case.name, joint.joint.name, change.force, change.moment, change.tension, change.movement)
        for at, case in enumerate(study.cases)
        for joint in study.joints
        if (change := joint.cases[at].change) is not None
    )
    return Table("deformed", "What the deformed shape changes", columns, rows)


def motions(study: Study) -> Table:
    """The lowest natural frequencies of the front end at rest in which it racks and in which the bows
    twist.
    """
    columns = (Column("joint"), Column("racking", "Hz", "lowest"), Column("twisting", "Hz", "lowest"))
    rows = []
    for joint in study.joints:
        lowest = [lowest_mode(joint.natural_modes, kind) for kind in (RACKING, TWISTING)]
        if any(lowest):
            rows.append((joint.joint.name, *(motion.frequency if motion else None for motion in lowest)))
    return Table("motions", "Natural frequencies", columns, tuple(rows))
