"""The load path as tables that sum to zero: of the crossbeam, and of the whole front end."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from itertools import islice

import numpy as np

from cases.analyses.joint_results import CaseResult
from cases.analyses.study import Study
from cases.report.tables.table import COMPONENT_UNITS, Cell, Column, Table
from femcore.base.arrays import FloatArray
from femcore.frame.frame import REACTIONS

UNDER_PRETENSION = ", pretension alone"
"""Added to a row's name for the part of it that is due to pretension alone."""
REL_TOL_ZERO = 1e-12
"""Of the largest entry: a smaller action of a component on the crossbeam is rounding and gets no row."""

PathRow = tuple[str, FloatArray]


def crossbeam_path(study: Study) -> Table:
    """All loads on the crossbeam, force and moment about its centre, and their sum; below it those of pretension alone."""
    return _table(study, "load_path", "Load path of the crossbeam", "acts on the crossbeam", on_crossbeam)


def front_end_load_path(study: Study) -> Table:
    """All loads applied to the front end and the reactions of the bulkhead on the roots, about the same point."""
    return _table(
        study, "front_end_path", "Load path of the front end", "acts on the front end", on_front_end
    )


def pretension_sentences(study: Study) -> list[str]:
    """Explains the rows of pretension alone; nothing without pretension."""
    if all(found.under_pretension is None for joint in study.joints for found in joint.cases):
        return []
    sentence = (
        "The martingale's pretension loads joints and roots without any other load. Its part of each row is listed below the sum "
        "as “pretension alone”; these parts sum to zero by themselves."
    )
    return [sentence]


def on_crossbeam(found: CaseResult) -> Iterator[PathRow]:
    """The load path of the crossbeam, each applied component a row of its own."""
    least = REL_TOL_ZERO * float(np.abs(found.path.actions).max(initial=0.0))
    for component, action in zip(found.whole.components, found.whole.on_crossbeam, strict=True):
        if np.abs(action).max() > least:
            yield component.name, action
    yield from islice(found.path, 1, None)
    yield "sum", found.path.actions.sum(axis=0)
    if found.under_pretension is not None:
        yield from _under_pretension(islice(found.under_pretension.path, 1, None))


def on_front_end(found: CaseResult) -> Iterator[PathRow]:
    """The load path of the whole front end."""
    whole = found.whole
    yield from zip((component.name for component in whole.components), whole.applied, strict=True)
    yield from zip(whole.roots, whole.reactions, strict=True)
    yield "sum", whole.imbalance
    if found.under_pretension is not None:
        yield from _under_pretension(found.under_pretension.held)


def _under_pretension(rows: Iterable[PathRow]) -> Iterator[PathRow]:
    return ((name + UNDER_PRETENSION, entry) for name, entry in rows)


def _table(
    study: Study, name: str, title: str, heading: str, case_rows: Callable[[CaseResult], Iterator[PathRow]]
) -> Table:
    columns = [Column("case"), Column("joint"), Column(heading, shown="load")]
    columns += [Column(c, u) for c, u in zip(REACTIONS, COMPONENT_UNITS, strict=True)]
    rows: list[tuple[Cell, ...]] = [
        (case.name, joint.joint.name, row, *map(float, action))
        for at, case in enumerate(study.cases)
        for joint in study.joints
        for row, action in case_rows(joint.cases[at])
    ]
    return Table(name, title, tuple(columns), tuple(rows))
