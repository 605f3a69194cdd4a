"""The rows of a chunk of designs: a pure function of plan and number, which any process on any machine can be given."""

from __future__ import annotations

import json
from typing import Any

import numpy as np
import pyarrow as pa  # type: ignore[import-untyped]

from cases.analyses.analysis import Analysis
from cases.analyses.study import run_study
from cases.analyses.sweeps.columns import Column, DesignJoint
from cases.analyses.sweeps.plan import PreparedSweep, SweepPlan
from cases.input.boat_file import BoatFile
from femcore.base.errors import ForebeamError, StructureFault
from femcore.base.numbers import plain

DESIGN, JOINT, REASON = "design", "joint", "reason"
METADATA = b"forebeam"
"""Key of a table's own metadata: which sweep and which chunk of it."""
Row = dict[str, Any]


def chunk_table(plan: SweepPlan, number: int) -> pa.Table:
    """A row for each joint of each design of a chunk, in order; one without an answer has the reason and no results.

    It depends on nothing but its arguments and the number of threads of the linear algebra library, which is one in the
    processes of `runners`.
    """
    made = PreparedSweep.of(plan)
    rows = [row for design in made.grid.of_chunk(number) for row in _rows(made, design)]
    return pa.Table.from_pylist(rows, schema=table_schema(plan, number))


def table_schema(plan: SweepPlan, number: int) -> pa.Schema:
    """Columns with their units and words, and which chunk of which sweep the table is."""
    made = PreparedSweep.of(plan)
    head = [pa.field(DESIGN, pa.int64()), pa.field(JOINT, pa.string()), pa.field(REASON, pa.string())]
    fields = [_field(column) for column in (*made.inputs, *made.outputs)]
    about = json.dumps({"sweep": plan.identity, "chunk": number, "program": plan.program}, allow_nan=False)
    return pa.schema([*head, *fields], metadata={METADATA: about.encode()})


def _field(column: Column) -> pa.Field:
    kind = pa.float64() if column.is_number else pa.string()
    return pa.field(column.name, kind, metadata={"unit": column.unit, "description": column.words})


def _of_joints(boat: BoatFile, names: list[str]) -> BoatFile:
    return boat.model_copy(update={"joints": [one for one in boat.joints if one.name in names]})


def _rows(made: PreparedSweep, number: int) -> list[Row]:
    inputs = dict(
        zip((column.name for column in made.inputs), made.entries(made.grid.values(number)), strict=True)
    )
    try:
        outcomes = _outcomes(made, made.design(number), made.joints)
    except ForebeamError as fault:
        outcomes = {name: {REASON: _reason(fault)} for name in made.joints}
    return [{DESIGN: number, JOINT: name, REASON: "", **inputs, **outcomes[name]} for name in made.joints]


def _outcomes(made: PreparedSweep, boat: BoatFile, joints: list[str]) -> dict[str, Row]:
    """By joint: its results, or the reason for which it has none."""
    try:
        analysis = Analysis(run_study(_of_joints(boat, joints)))
        if any(column.needs_margins for column in made.outputs):
            analysis = analysis.with_answers(lives=False)
    except (StructureFault, ArithmeticError, np.linalg.LinAlgError) as fault:
        if len(joints) == 1:
            return {joints[0]: {REASON: _reason(fault)}}
        return {name: row for one in joints for name, row in _outcomes(made, boat, [one]).items()}
    found: dict[str, Row] = {one.joint.name: {REASON: plain(one.reason)} for one in analysis.study.unsolved}
    for joint in analysis.joints:
        one = DesignJoint(joint, made.mass_as_entered)
        found[joint.name] = {column.name: column.of(one) for column in made.outputs if column.of is not None}
    return found


def _reason(fault: Exception) -> str:
    """Of a design without an answer, on one line."""
    return (
        plain(str(fault).replace("variants 'design': ", "").replace("\n", "; "))
        if str(fault)
        else repr(fault)
    )
