"""A part of the report that stands only where the study has what it tells of: sentences, tables and pictures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal

from cases.report.figures.drawing_process import Job
from cases.report.tables.table import Table
from femcore.plotting.drawing import Picture


@dataclass(frozen=True, slots=True)
class ReportSection:
    """What one topic adds to the page, to the tables and to the pictures.

    words    : sentences before the tables;   answer : those of them that belong to the answer at the top
    tables   : shown, and written as CSV;   unshown : written as CSV only;   readable : shown only
    drawings : a job for each of its pictures;   pictures : these drawn, where the report is written with pictures
    aside    : what to know in reading them
    page     : the question that `brief`, its few main sentences, answers: "rig", "stiffness", "weakest", "change" or "trust";
               the section itself is in the appendices
    """

    anchor: str
    title: str
    words: Sequence[str] = ()
    tables: Sequence[Table] = ()
    unshown: Sequence[Table] = ()
    readable: Sequence[Table] = ()
    drawings: Sequence[Job] = ()
    pictures: Sequence[Picture] = ()
    aside: str = ""
    answer: Sequence[str] = field(default=())
    page: Literal["rig", "stiffness", "weakest", "change", "trust"] = "trust"
    brief: Sequence[str] = ()
