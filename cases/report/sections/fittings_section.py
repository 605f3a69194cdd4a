"""Fittings: the play of pins, and what no margin says of pins, bolts, tangs and their metals."""

from __future__ import annotations

from collections.abc import Sequence

from cases.analyses.analysis import Analysis, FittingRemarks
from cases.analyses.joint_play import JointPlay
from cases.analyses.study import Study
from cases.report.data.play_words import open_play_sentences, play_sentences
from cases.report.sections.report_section import ReportSection
from cases.report.tables.table import Cell, Column, Table
from models.response.front_end import SIDES

BESIDE = "beside the joints"
"""In place of a joint's name."""
MOST_OPENED = 12
"""Rows of play on the page, those furthest beyond opening first; the table beside it has all."""
PLAY_EXPLANATION = (
    "Two lugs at a distance s hold a force V across the pin and a torque T as V/2 ± T/s: the play stays closed while T is below "
    "V s/2. Beyond, the beam's end turns free by the angle stated, attracts no more until it has turned through, and rattles. "
    "All other tables take the joint as closed, also in second order; “with play” is the torque by the closed form for a spring "
    "with a step. A joint that opens in service wears pin and holes, and its play grows: close the holes (bushes, a tapered "
    "pin), or set the lugs further apart."
)


def fittings_section(study: Study, found: Analysis) -> ReportSection | None:
    """None where no pin has play and nothing is to be remarked."""
    del study
    plays, remarks = found.joint_plays, found.fitting_remarks
    if not plays and not remarks:
        return None
    return ReportSection(
        "fittings",
        "Fittings",
        list(play_sentences(plays)),
        answer=list(open_play_sentences(plays)),
        tables=[remark_table(remarks)] if remarks else [],
        unshown=[play_table(plays)] if plays else [],
        readable=[play_table(plays, only_open=True)] if any(one.opened for one in plays) else [],
        aside=PLAY_EXPLANATION if plays else "",
    )


def remark_table(remarks: Sequence[FittingRemarks]) -> Table:
    """Every remark once, with the joints and parts that it is on."""
    on: dict[tuple[str, str], dict[str, list[str]]] = {}
    for one in remarks:
        for remark in one.remarks:
            parts = on.setdefault((remark.subject, remark.words), {}).setdefault(one.joint or BESIDE, [])
            parts.append(remark.part)
    rows: list[tuple[Cell, ...]] = [
        ("; ".join(f"{joint}: {', '.join(parts)}" for joint, parts in found.items()), subject, said)
        for (subject, said), found in on.items()
    ]
    columns = (Column("on"), Column("subject"), Column("remark"))
    return Table("fitting_remarks", "Remarks on fittings", columns, tuple(rows))


def play_table(plays: Sequence[JointPlay], *, only_open: bool = False) -> Table:
    """Every joint, row and side in SI; or those that open, the furthest beyond opening first."""
    columns = (
        Column("joint"), Column("case or combination"), Column("hull"), Column("free angle", "rad"),
        Column("torque", "N·m"), Column("closed below", "N·m"), Column("state"), Column("with play", "N·m"),
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = [
        (
            one.joint, one.names[row], SIDES[side], one.angle, float(one.couple[row, side]), float(one.opening[row, side]),
            "closed" if one.closed[row, side] else "open",
            None if one.with_play is None else float(one.with_play[row, side]),
        )
        for one in plays
        for row, side in (one.opened if only_open else _everything(one))
    ]  # fmt: skip
    return Table(
        "play",
        "Play of pins, where it opens" if only_open else "Play of pins",
        columns,
        tuple(rows),
        MOST_OPENED,
    )


def _everything(one: JointPlay) -> list[tuple[int, int]]:
    return [(row, side) for row in range(len(one.names)) for side in range(len(SIDES))]
