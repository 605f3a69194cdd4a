"""What to do next about each candidate, with numbers: sizes to raise, the stay's tang to move, data and measurements to add."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Annotated, Literal

import numpy as np
from pydantic import Field

from cases.analyses.joint_results import REL_TOL_ROUNDING_LOAD, JointResult
from cases.analyses.part_margins import PartMargins
from cases.analyses.sizing import RaisedSizes, Sizing, Trial, raise_sizes
from cases.analyses.study import Study
from cases.input.boat_file import BoatFile
from femcore.base.errors import StructureFault
from femcore.base.written import FiniteOrNull, Unwritten
from models.response.joint_loads import component_index
from models.strength.margins import GoverningCheck, envelope

TORQUE = component_index("torque")
ABS_TOL_MOVE = 5e-4
"""m: a shorter move of the stay's tang is none."""
REL_TOL_STAY_TORQUE = 0.05
"""Of a candidate's design torque: a smaller torque of the stay is not worth a move of its tang."""


@dataclass(frozen=True, slots=True)
class SizeRaised:
    """One size of a joint or of a part beside it, raised for a check that fails."""

    part: str
    check: str
    variable: Annotated[str, Field(description="what is raised")]
    size: Annotated[str, Field(description="the size taken; where none is adequate, the best")]
    adequate: Annotated[bool, Field(description="whether the check is satisfied with that size")]
    before: FiniteOrNull
    after: Annotated[FiniteOrNull, Field(description="margin of the check with that size")]


@dataclass(frozen=True, slots=True)
class RaiseSizes:
    """What stock sizes make of a candidate that is inadequate."""

    kind: Literal["raise sizes"]
    joint: str
    sizes: tuple[SizeRaised, ...]
    still: Annotated[
        GoverningCheck | None,
        Field(description="the lowest margin that stays below 0 with all of them; null: none does"),
    ]
    tried: Unwritten[tuple[Sizing, ...]] = ()


@dataclass(frozen=True, slots=True)
class MovedStay:
    """A candidate with the stay's tang moved."""

    joint: str
    torque_before: Annotated[
        float, Field(description="N·m, torque of the joint in that rig case, the larger of both hulls")
    ]
    torque_after: float
    margin_before: Annotated[
        FiniteOrNull,
        Field(
            description="the lowest of the joint's parts and those beside it, buckling of the whole frame left out"
        ),
    ]
    margin_after: FiniteOrNull


@dataclass(frozen=True, slots=True)
class MoveStay:
    """The stay's tang moved to where its line passes through the crossbeam's shear centre, at the same height."""

    kind: Literal["move the stay"]
    case: Annotated[str, Field(description="the rig case with the largest torque of the stay")]
    forward: Annotated[float, Field(description="m, the move; negative: aft")]
    stay_torque: Annotated[
        float,
        Field(description="N·m about the shear centre in that case, without sign; after the move it is 0"),
    ]
    joints: tuple[MovedStay, ...]


@dataclass(frozen=True, slots=True)
class DescribeParts:
    """Candidates that are given by their stiffness alone, so that nothing of them can be checked."""

    kind: Literal["describe parts"]
    joints: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class GiveData:
    """Checks of a candidate's own parts that lack their data."""

    kind: Literal["give data"]
    joint: str
    lacking: tuple[GoverningCheck, ...]


@dataclass(frozen=True, slots=True)
class MeasureRacking:
    """The load that most of the answer rests on, and that was entered."""

    kind: Literal["measure the racking"]
    cases: Annotated[tuple[str, ...], Field(description="whose size was entered or estimated")]


NextAction = RaiseSizes | MoveStay | DescribeParts | GiveData | MeasureRacking


def next_actions(study: Study, found: Sequence[tuple[JointResult, PartMargins]]) -> tuple[NextAction, ...]:
    """The most telling first: sizes of every inadequate candidate, the stay's tang, data that checks lack, racking to measure.

    found : the candidates that have an answer
    """
    return tuple(_next_actions(study, found))


def _next_actions(study: Study, found: Sequence[tuple[JointResult, PartMargins]]) -> Iterator[NextAction]:
    for _, margins in found:
        if "fails" in margins.outcomes:
            yield _raised(raise_sizes(Trial.of_margins(study.file, margins)), margins)
    if silent := tuple(result.name for result, _ in found if not result.joint.describes_parts):
        yield DescribeParts("describe parts", silent)
    if (moved := _moved_stay(study, found)) is not None:
        yield moved
    for result, margins in found:
        lacking = tuple(margins.lacking.values())
        if lacking and result.joint.describes_parts:
            yield GiveData("give data", result.name, lacking)
    assumed = tuple(case.name for case in study.racking_cases if case.origin().basis != "computed")
    if assumed:
        yield MeasureRacking("measure the racking", assumed)


def _raised(sized: RaisedSizes, margins: PartMargins) -> RaiseSizes:
    """Every size taken up; of a check that no size satisfies, the best."""
    at_breaking_load = [
        one for one in envelope(margins.at_breaking_load.checks) if one.case is not None and one.margin < 0
    ]
    taken = []
    for one in sized.sizings:
        at = int(np.argmax([step.margin for step in one.steps])) if one.chosen is None else one.chosen
        if at:
            first, last = one.steps[0], one.steps[at]
            taken.append(
                SizeRaised(
                    one.part,
                    one.check,
                    one.design_variable,
                    last.size,
                    one.chosen is not None,
                    first.margin,
                    last.margin,
                )
            )
    still = min((*sized.failing, *at_breaking_load), key=lambda worst: worst.margin, default=None)
    return RaiseSizes("raise sizes", margins.joint, tuple(taken), still, sized.sizings)


def _moved_stay(study: Study, found: Sequence[tuple[JointResult, PartMargins]]) -> MoveStay | None:
    """None where the stay's line passes near enough, or a candidate has no answer with the tang there."""
    lines = study.stay_lines()
    if not lines or not found:
        return None
    case = max(lines, key=lambda name: abs(lines[name].torque))
    line, stay = lines[case], study.file.stay
    forward = line.torque_free_forward - stay.forward
    row = found[0][1].rows.names.index(case)
    design = max(float(np.abs(margins.rows.values.joint_load[..., TORQUE]).max()) for _, margins in found)
    if abs(forward) < ABS_TOL_MOVE or abs(line.torque) < REL_TOL_STAY_TORQUE * design:
        return None
    moved = study.file.model_copy(
        update={"stay": stay.model_copy(update={"forward": line.torque_free_forward})}
    )
    try:
        joints = [_with_stay_moved(study.file, moved, margins, row) for _, margins in found]
    except StructureFault:
        return None
    return MoveStay("move the stay", case, forward, abs(line.torque), tuple(joints))


def _with_stay_moved(file: BoatFile, moved: BoatFile, margins: PartMargins, row: int) -> MovedStay:
    before = Trial.of_margins(file, margins)
    after = Trial.of(moved, margins.rows.joint, solved=margins.rows.front)
    was, is_now = (float(np.abs(trial.loads[row, :, TORQUE]).max()) for trial in (before, after))
    rounding = REL_TOL_ROUNDING_LOAD * float(np.abs(after.loads).max())
    return MovedStay(
        margins.joint, was, is_now if is_now > rounding else 0.0, before.lowest_margin, after.lowest_margin
    )
