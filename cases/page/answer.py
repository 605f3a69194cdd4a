"""What the page shows of one joint: verdict, loads, margins, and the numbers that its pictures are drawn from.

Two depths of one answer: "quick", the linear cases alone, at once; "whole", every case and combination. A quick
answer names what it leaves out.
"""

from __future__ import annotations

import json
from functools import lru_cache
from typing import Any, Literal

import numpy as np

from cases.analyses.analysis import Analysis
from cases.analyses.decision import shortest_life, verdict_on
from cases.analyses.design_loads import DesignLoad
from cases.analyses.joint_results import JointResult
from cases.analyses.part_margins import PartMargins
from cases.analyses.study import run_study
from cases.input.boat_file import BoatFile
from cases.loads.rig import StayLine
from cases.page.state import BoatText, Changes, is_quick
from cases.report.data import words
from cases.report.data.decision_words import life_words, stiffness_words
from cases.report.data.statements import factor_words, margin_words
from cases.report.figures.boat_shapes import tube_sizes
from models.joints.base import without_side
from models.response.attraction import AttractionCurve
from models.response.front_end import CROSSBEAM, SIDES
from models.response.joint_loads import JOINT_LOAD_NAMES
from models.strength.margins import GoverningCheck

Depth = Literal["quick", "whole"]
CURVE_POINTS = 61
MOST_REMEMBERED = 8
"""Analyses, some tens of megabytes each: those of a page's joints, before and after a change."""


def analysed(boat: BoatText, changes: Changes, joint: str, depth: Depth) -> tuple[Analysis, tuple[str, ...]]:
    """One joint of the changed boat, solved, and what is left out; the last few are remembered.

    StructureFault where it cannot be solved. A boat without a linear case is solved whole.
    """
    return _analysed(boat, json.dumps(changes, sort_keys=True), joint, depth)


@lru_cache(MOST_REMEMBERED)
def _analysed(boat: BoatText, changes: str, joint: str, depth: Depth) -> tuple[Analysis, tuple[str, ...]]:
    given = json.loads(changes)
    quick = boat.quick(given, joint) if depth == "quick" else None
    if quick is None:
        return Analysis(run_study(boat.whole(given, joint), boat.name)), ()
    slow = [case.name for case in boat.boat.active_cases if not is_quick(case)]
    worn = ["fatigue"] if boat.boat.service is not None else []
    return Analysis(run_study(quick, boat.name)), (*slow, "combinations", *worn)


def answer(boat: BoatText, changes: Changes, joint: str, depth: Depth) -> dict[str, Any]:
    """Of one joint of the changed boat, as JSON holds it, SI units; StructureFault where it cannot be solved."""
    analysis, left_out = analysed(boat, changes, joint, depth)
    [result], [margins], [loads] = analysis.study.joints, analysis.part_margins, analysis.design_loads
    own, beside = (margins.governing_check(own=of) for of in (True, False))
    life = shortest_life(analysis, result.name)
    return {
        "joint": result.name,
        "words": result.words,
        "depth": "quick" if left_out else "whole",
        "left_out": left_out,
        "verdict": verdict_on(margins, life),
        "life": life_words(life),
        "weakest": None if own is None else check_numbers(margins, *own),
        "beside": None if beside is None else check_numbers(margins, *beside),
        "loads": [_design_load(load, _unit(i)) for i, load in enumerate(loads)],
        "racking_stiffness": result.racking_stiffness,
        "gained": stiffness_words(
            result.stiffer, analysis.study.bare_racking_stiffness, result.racking_stiffness
        ),
        "margins": [check_numbers(margins, one, row) for one, row in margins.worst],
        "cases": _rows(analysis, result),
        "stay": {name: _stay_line(line) for name, line in analysis.study.stay_lines().items()},
        "curves": {name: None if curve is None else _curve(curve) for name, curve in result.curves.items()},
        "shape": _shape(analysis.file, result),
    }


def _design_load(load: DesignLoad, unit: str) -> dict[str, Any]:
    return {
        "component": load.component,
        "size": load.size,
        "words": words.quantity(load.size, unit) if load.size else "0",
        "row": load.row,
        "side": load.side,
    }


def _stay_line(line: StayLine) -> dict[str, float]:
    return {
        "offset": line.offset,
        "torque": line.torque,
        "rake": line.rake_at_foot,
        "free": line.torque_free_forward,
    }


def _curve(curve: AttractionCurve) -> dict[str, Any]:
    """Points (stiffness N·m/rad, attraction) two decades to either side of k_half, and the joint's own."""
    k = curve.k_half * np.logspace(-2, 2, CURVE_POINTS)
    return {
        "half": curve.k_half,
        "own": curve.joint_stiffness,
        "share": curve.own_attraction,
        "points": np.column_stack([k, curve.attraction(k)]).tolist(),
    }


def _unit(component: int) -> str:
    return "N" if component < JOINT_LOAD_NAMES.index("vertical bending") else "N·m"


def check_numbers(margins: PartMargins, one: GoverningCheck, row: str | None) -> dict[str, Any]:
    """A check with its numbers; None where it was not made."""
    made = row is not None
    return {
        "part": one.part,
        "any_side": without_side(one.part),
        "check": one.check,
        "own": one.part in margins.joint_part_names,
        "margin": one.margin,
        "words": margin_words(one.margin) if made else f"not checked: {one.reason}",
        "load": one.load,
        "allowable": one.allowable,
        "unit": one.unit,
        "factor": factor_words(one) if made else "",
        "factor_value": one.factor.value if made else None,
        "source": one.source,
        "remark": one.remark,
        "row": row,
    }


def _rows(analysis: Analysis, result: JointResult) -> list[dict[str, Any]]:
    """Every case and combination: what the crossbeam puts on each hull, N and N·m, boat axes."""
    [rows] = analysis.case_rows
    shares = {case.case.name: case.shares.by_part for case in result.cases if case.shares is not None}
    return [
        {
            "name": name,
            "load": dict(zip(SIDES, load.tolist(), strict=True)),
            "shares": shares.get(name),
            "tension": tension.tolist(),
        }
        for name, load, tension in zip(rows.names, rows.values.joint_load, rows.values.tension, strict=True)
    ]


def _shape(file: BoatFile, result: JointResult) -> dict[str, Any]:
    """What the pictures draw: the crossbeam along its length, moved, and the foot of the stay beside its section, m."""
    beam, stay = result.crossbeam, file.stay
    return {
        "point": beam.point.tolist(),
        "moved": {
            case: moved[:, :3].tolist() for case, moved in zip(beam.cases, beam.displacement, strict=True)
        },
        "tang": {"forward": stay.forward, "up": stay.up},
        "radius": tube_sizes(result.front).get(CROSSBEAM, 0.0) / 2,
    }


__all__ = ["Depth", "analysed", "answer", "check_numbers"]
