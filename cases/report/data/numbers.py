"""All numbers of a study as `results.json` holds them."""

from __future__ import annotations

import importlib.metadata
import math
from collections.abc import Iterable
from dataclasses import asdict
from typing import Any, Literal

import numpy as np

from cases.analyses.analysis import Analysis
from cases.analyses.comparison import comparison_data
from cases.analyses.envelope import combinations_data, joint_envelope_data
from cases.analyses.fatigue_life import fatigue_data
from cases.analyses.part_margins import PartMargins
from cases.analyses.stay_sag import stay_line_over_sag
from cases.analyses.study import CaseResult, JointResult
from cases.report.data.results_format import (
    VERSION,
    AtRest,
    Buckling,
    Case,
    CaseHead,
    Change,
    Curve,
    Envelope,
    FrontEndEntry,
    JointResults,
    Margin,
    MarginsOfJoint,
    MemberForces,
    Motion,
    PathEntry,
    Results,
    ResultsPart,
    SaggedStay,
    Shares,
    Stay,
    Stiffness,
    Truss,
)
from cases.report.data.statements import margin_statements
from cases.report.data.words import answer
from femcore.base.arrays import FloatArray
from femcore.frame.frame import ACTIONS
from femcore.results.vtu import cell_names
from femcore.solvers.assembly import EXTENDED
from models.response.attraction import AttractionCurve
from models.response.front_end import SIDES


def results(analysis: Analysis, remarks: list[str] | None = None, files: list[str] | None = None) -> Results:
    """All numbers of an analysis; `remarks` and `files` of the folder that they go to."""
    study = analysis.study
    return Results(
        format="forebeam results",
        version=VERSION,
        program=importlib.metadata.version("forebeam"),
        title=study.file.title,
        source=study.source,
        answer=[*answer(study), *margin_statements(analysis.part_margins)],
        boat=study.file.model_dump(mode="json", exclude={"cases", "title"}),
        cases=[
            CaseHead(
                name=case.name,
                kind=getattr(case, "kind", ""),
                words=case.words(),
                scale=case.scale,
                **asdict(case.origin()),
            )
            for case in study.cases
        ],
        bare_racking_stiffness=study.bare_racking_stiffness,
        stay_lines={name: Stay(**_fields(line, Stay)) for name, line in study.stay_lines().items()},
        stay_over_sag={
            rig.name: [
                SaggedStay(**_fields(line, SaggedStay)) for line in stay_line_over_sag(study.file, rig)
            ]
            for rig in study.rig_cases
        },
        joints=[_joint(joint, study.bare_racking_stiffness) for joint in study.joints],
        envelope=Envelope(
            **combinations_data(study), joints=[joint_envelope_data(one) for one in analysis.envelopes]
        ),
        margins=[_margins(one) for one in analysis.part_margins],
        variants=comparison_data(analysis.compared) if analysis.compared else None,
        wear=fatigue_data(analysis.fatigue_lives),
        extended_digits=int(np.finfo(EXTENDED).precision),
        members=cell_names(study.joints[0].solution),
        remarks=remarks or [],
        files=files or [],
    )


def _margins(one: PartMargins) -> MarginsOfJoint:
    return MarginsOfJoint(
        joint=one.joint,
        outcome=one.outcomes[0],
        beside=one.outcomes[1],
        checks=[
            Margin(
                part=worst.part, check=worst.check, load=_finite(worst.load), allowable=_finite(worst.allowable),
                unit=worst.unit, factor=_finite(worst.factor.value), factor_name=worst.factor.name,
                margin=_finite(worst.margin), worst_in=name, source=worst.source, reason=worst.reason,
            )
            for worst, name in one.worst
        ],
    )  # fmt: skip


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None


def _fields(found: object, part: type[ResultsPart]) -> dict[str, Any]:
    """What a part needs, from an object with fields of the same names."""
    return {name: getattr(found, name) for name in part.model_fields}


def _joint(joint: JointResult, bare: float) -> JointResults:
    line = joint.crossbeam
    first = joint.solution.first_error.tolist()
    springs = joint.stiffness.springs.tolist() if joint.stiffness.is_in_boat_axes else None
    return JointResults(
        name=joint.joint.name,
        words=joint.joint.words(),
        springs=springs and [_spring(k) for k in springs],
        racking_stiffness=joint.racking_stiffness,
        stiffer=joint.racking_stiffness / bare,
        curves={direction: _curve(curve) for direction, curve in joint.curves.items()},
        motions=[Motion(kind=motion.kind, frequency=motion.frequency) for motion in joint.natural_modes],
        cases=[_case(found, first[number]) for number, found in enumerate(joint.cases)],
        crossbeam=MemberForces(
            station=line.station.tolist(),
            actions={
                found.case.name: dict(zip(ACTIONS, line.actions[number].T.tolist(), strict=True))
                for number, found in enumerate(joint.cases)
            },
        ),
    )


def _spring(stiffness: float) -> Stiffness:
    return "rigid" if math.isinf(stiffness) else stiffness


def _curve(curve: AttractionCurve | None) -> Curve | None:
    if curve is None:
        return None
    attracted = float(curve.attraction(curve.joint_stiffness))
    return Curve(
        rigid=curve.rigid_moment,
        k_half=curve.k_half,
        own=_spring(curve.joint_stiffness),
        attraction=attracted,
    )


def _entries(names: Iterable[str], actions: FloatArray) -> list[PathEntry]:
    return [PathEntry(name=name, action=action) for name, action in zip(names, actions.tolist(), strict=True)]


def _roles(
    role: Literal["applied", "held"], names: Iterable[str], actions: FloatArray
) -> list[FrontEndEntry]:
    return [
        FrontEndEntry(name=name, role=role, action=action)
        for name, action in zip(names, actions.tolist(), strict=True)
    ]


def _under_pretension(found: CaseResult) -> AtRest | None:
    rest = found.under_pretension
    if rest is None:
        return None
    return AtRest(
        joint_load=dict(zip(SIDES, rest.joint_load.tolist(), strict=True)),
        path=_entries(found.path_names, rest.path),
        front_end=_roles("held", found.whole.roots, rest.held),
        tension=rest.tension,
    )


def _case(found: CaseResult, first_error: float) -> Case:
    applied = [component.name for component in found.whole.components]
    return Case(
        case=found.case.name,
        joint_load=dict(zip(SIDES, found.joint_load.tolist(), strict=True)),
        stems=dict(zip(SIDES, found.stems.tolist(), strict=True)),
        shares=found.shares and Shares(racking_moment=found.racking_moment, **found.shares),
        attraction=found.attraction,
        path=_entries(found.path_names, found.path),
        applied=_entries(applied, found.whole.on_crossbeam),
        about=found.whole.about.tolist(),
        front_end=[
            *_roles("applied", applied, found.whole.applied),
            *_roles("held", found.whole.roots, found.whole.reactions),
        ],
        at_rest=_under_pretension(found),
        truss=Truss(**_fields(found.truss, Truss)),
        buckling=found.buckling and Buckling(**_fields(found.buckling, Buckling)),
        change=found.change and Change(**_fields(found.change, Change)),
        balance=found.balance,
        error=found.error,
        first_error=first_error,
    )
