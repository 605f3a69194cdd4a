"""All numbers of a study as versioned data in SI: what `results.json` holds, with its JSON Schema.

Each field says its unit. Fields may be added within a version; a change of meaning makes a new version.
"""

from __future__ import annotations

import importlib.metadata
import math
from typing import Any, Literal

import numpy as np
from pydantic import BaseModel, ConfigDict, Field

from cases.comparison import comparison_data
from cases.envelope import combinations_data, joint_envelope_data
from cases.margins_study import Judged
from cases.report.findings import Findings, findings
from cases.report.margins_part import verdicts
from cases.report.words import answer
from cases.study import CaseResult, JointResult, Study
from cases.wear import wear_data
from femcore.assembly import EXTENDED
from femcore.frame import ACTIONS
from femcore.mesh_file import names_by_number
from models.front_end import SIDES
from models.softness import SpringCurve

FORMAT = "forebeam results"
VERSION = 1
Stiffness = float | Literal["rigid"]
Six = tuple[float, float, float, float, float, float]


class _Part(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)


class Curve(_Part):
    """What the joint attracts against its stiffness k in one direction: rigid · k / (k + k_half)."""

    rigid: float = Field(
        description="N·m on the port hull per N of racking force, this direction rigid; boat axes"
    )
    k_half: float = Field(description="N·m/rad, the stiffness that attracts half of that")
    own: Stiffness = Field(description="N·m/rad, the joint's own stiffness; 0 free")
    attraction: float = Field(description="own / (own + k_half), 1 where rigid")


class Shares(_Part):
    """The racking moment about the y axis at the root, and where it goes; the shares sum to 1."""

    racking_moment: float = Field(description="N·m, half of port less starboard")
    hull: float = Field(description="carried by the hull's root")
    torque: float = Field(description="carried by the torque of the joint")
    shear: float = Field(description="carried by the vertical force of the joint at the beam's station")


class PathEntry(_Part):
    """One thing that acts on the crossbeam."""

    name: str = Field(description="what acts")
    action: Six = Field(description="Fx Fy Fz N, Mx My Mz N·m about the beam's centre, boat axes")


class Truss(_Part):
    """The trussed beam."""

    tension: dict[str, float] = Field(description="N, by part of the martingale; 0 slack")
    compression: float = Field(description="N, the largest along the crossbeam")
    strut: float = Field(description="N, compression of the striker")


class Buckling(_Part):
    """When the trussed beam gives way."""

    factor: float = Field(description="times the load of the case")
    part: str = Field(description="the member that moves most")


class Change(_Part):
    """What the deformed shape changes: second order over first, less 1."""

    force: float = Field(description="largest joint force")
    moment: float = Field(description="largest joint moment")
    tension: float | None = Field(description="of the martingale; null where it has none in first order")
    movement: float = Field(description="of the stems")


class Motion(_Part):
    """A natural mode of the front end at rest."""

    kind: str = Field(description="racking, twisting, or what else the stems do most")
    frequency: float = Field(description="Hz")


class Case(_Part):
    """One joint under one case."""

    case: str = Field(description="name of the case")
    joint_load: dict[str, Six] = Field(
        description="hull → what the crossbeam puts on it at the joint: Fx Fy Fz N, Mx My Mz N·m, boat axes"
    )
    stems: dict[str, Six] = Field(
        description="hull → movement of its stem: ux uy uz m, rx ry rz rad, boat axes"
    )
    shares: Shares | None = Field(description="null where nothing racks the bows")
    attraction: dict[str, float | None] = Field(
        description="torque, bending: over those of a rigid joint in this case; null where that has none"
    )
    path: list[PathEntry] = Field(description="everything that acts on the crossbeam; sums to zero")
    truss: Truss = Field(description="the trussed beam")
    buckling: Buckling | None = Field(description="null where neither crossbeam nor striker is squeezed")
    change: Change | None = Field(description="null where the case is solved in the shape at rest")
    balance: float = Field(description="resultant of loads and reactions over the sum of their sizes")
    error: float = Field(description="estimated relative error of the movements, from the last correction")
    first_error: float = Field(description="the same before refinement")


class Along(_Part):
    """Actions along the crossbeam, from its starboard end to its port end; stations at jumps stand twice."""

    station: list[float] = Field(description="m from the starboard end")
    actions: dict[str, dict[str, list[float]]] = Field(
        description="case → N, Vy, Vz N and T, My, Mz N·m at the stations; cut face to port, beam axes"
    )


class JointResults(_Part):
    """One joint under all cases."""

    name: str = Field(description="name of the joint")
    words: str = Field(description="what it is")
    springs: list[Stiffness] | None = Field(
        description=(
            "surge sway heave N/m, roll pitch yaw N·m/rad, 0 free; null where they lie along other axes"
        )
    )
    racking_stiffness: float = Field(
        description="N/m, opposite forces at the stems per metre of differential heave"
    )
    stiffer: float = Field(description="racking_stiffness over that of the bows without a crossbeam")
    curves: dict[str, Curve | None] = Field(description="pitch (torque), roll (vertical bending); null: none")
    motions: list[Motion] = Field(description="lowest natural modes; empty where the bows have no mass")
    cases: list[Case] = Field(description="in the order of `cases`")
    crossbeam: Along = Field(description="actions along the crossbeam")


class Worst(_Part):
    """The most and the least of a value over all cases and combinations, and which brings each."""

    highest: float
    highest_in: str
    lowest: float
    lowest_in: str


class WorstAlong(_Part):
    """The same at every station."""

    highest: list[float]
    highest_in: list[str]
    lowest: list[float]
    lowest_in: list[str]


class Row(_Part):
    """A case or a combination in an envelope."""

    name: str
    how: str = Field(
        description="case; combined (from solved cases); slack, deformed, cancelling (solved as a whole)"
    )
    balance: float = Field(description="resultant of loads and reactions over the sum of their sizes")
    error: float = Field(description="relative; of what was combined a bound")


class AlongWorst(_Part):
    """The envelope along the crossbeam."""

    station: list[float] = Field(description="m from the starboard end")
    actions: dict[str, WorstAlong] = Field(description="N, Vy, Vz N and T, My, Mz N·m, beam axes")


class EnvelopeOfJoint(_Part):
    """One joint over all cases and combinations."""

    joint: str = Field(description="name of the joint")
    rows: list[Row] = Field(description="cases first, then combinations")
    joint_load: dict[str, dict[str, Worst]] = Field(description="hull → Fx Fy Fz N, Mx My Mz N·m, boat axes")
    stems: dict[str, dict[str, Worst]] = Field(description="hull → ux uy uz m, rx ry rz rad, boat axes")
    tension: dict[str, Worst] = Field(description="N, by part of the martingale")
    striker: Worst | None = Field(description="N, axial, pull positive; null without a striker")
    crossbeam: AlongWorst = Field(description="from its starboard end to its port end")
    longeron: AlongWorst | None = Field(
        description="from the longeron's root, and on along the prod; null without either"
    )


class Combined(_Part):
    """A combination of cases."""

    name: str
    note: str
    factors: dict[str, float] = Field(description="by name of the case")


class Envelope(_Part):
    """Combinations, and the worst over them and the cases."""

    entered: bool = Field(
        description="whether the file gives the combinations; else they are the default ones"
    )
    reason: str = Field(description="why the default combinations are these; empty where there are none")
    combinations: list[Combined]
    joints: list[EnvelopeOfJoint] = Field(description="empty where there is one case and nothing is combined")


class Margin(_Part):
    """The worst of one check of one part; numbers are null where it was not checked."""

    part: str
    check: str
    load: float | None = Field(description="in `unit`, without sign; of an interaction the usage")
    allowable: float | None = Field(description="in `unit`; of an interaction 1")
    unit: str = Field(description="SI; empty of a usage")
    factor: float | None = Field(description="safety factor on the load")
    factor_name: str
    margin: float | None = Field(
        description="allowable over factor times load, less 1; null without load too"
    )
    worst_in: str | None = Field(description="case or combination; null where not checked")
    source: str = Field(description="of the formula")
    reason: str = Field(description="why it was not checked; empty where it was")


class MarginsOfJoint(_Part):
    """Whether a joint's parts hold, and those beside it."""

    joint: str = Field(description="name of the joint")
    outcome: Literal["holds", "fails", "not known"] = Field(description="of the joint's own parts")
    beside: Literal["holds", "fails", "not known"] = Field(
        description="of striker, martingale, tang and beams"
    )
    checks: list[Margin] = Field(description="the governing one first, those not checked last")


class CaseHead(_Part):
    """A load case."""

    name: str
    kind: str
    words: str = Field(description="what it is")


class Stay(_Part):
    """The stay's line in a rig case."""

    up: float = Field(description="N, pull up")
    aft: float = Field(description="N, pull aft")
    offset: float = Field(
        description="m, from the shear centre square to the line; positive: turns the beam bow down"
    )
    torque: float = Field(description="N·m about the beam's axis, positive bow down")
    torque_free_forward: float = Field(
        description="m, where the attachment would be, at its height, for no torque"
    )


class Results(_Part):
    """All numbers of one run, in SI."""

    format: Literal["forebeam results"]
    version: Literal[1]
    program: str = Field(description="version of the program that made it")
    title: str = Field(description="the boat file's title")
    source: str = Field(description="the boat file's name; empty where it came from no file")
    answer: list[str] = Field(description="the answer in sentences")
    boat: dict[str, Any] = Field(
        description="the boat file as read, in SI, with defaults; null: rigid or absent"
    )
    cases: list[CaseHead] = Field(description="the load cases")
    bare_racking_stiffness: float = Field(description="N/m, of the bows without a crossbeam")
    stay_lines: dict[str, Stay] = Field(description="by the name of the rig case")
    joints: list[JointResults] = Field(description="in the order of the boat file")
    envelope: Envelope = Field(description="combinations and envelopes")
    margins: list[MarginsOfJoint] = Field(description="in the order of `joints`")
    variants: dict[str, Any] | None = Field(
        description="`variants`, `rows` with `quantity`, `unit`, `joint`, `values`; null: none"
    )
    wear: dict[str, Any] | None = Field(
        description="service and lives: `joints` with `ranges` N, N·m and `details`; miles are nautical; null: none"
    )
    extended_digits: int = Field(description="decimal digits of the residuals that refine the solution")
    members: list[str] = Field(
        description="members and cables in the order of cell data `member` in the VTU files"
    )
    remarks: list[str] = Field(description="what could not be written, and why")
    files: list[str] = Field(description="every file of the report's folder, this one too")


def results(
    study: Study,
    remarks: list[str] | None = None,
    files: list[str] | None = None,
    found: Findings | None = None,
) -> Results:
    """All numbers of a study; `found` where it is at hand, else worked out."""
    found = findings(study) if found is None else found
    return Results(
        format="forebeam results",
        version=VERSION,
        program=importlib.metadata.version("forebeam"),
        title=study.file.title,
        source=study.source,
        answer=[*answer(study), *verdicts(found.judged)],
        boat=study.file.model_dump(mode="json", exclude={"cases", "title"}),
        cases=[
            CaseHead(name=case.name, kind=getattr(case, "kind", ""), words=case.words())
            for case in study.cases
        ],
        bare_racking_stiffness=study.bare_racking_stiffness,
        stay_lines={name: Stay(**_fields(line, Stay)) for name, line in study.stay_lines().items()},
        joints=[_joint(joint, study.bare_racking_stiffness) for joint in study.joints],
        envelope=Envelope(
            **combinations_data(study), joints=[joint_envelope_data(one) for one in found.envelopes]
        ),
        margins=[_margins(one) for one in found.judged],
        variants=comparison_data(found.compared) if found.compared else None,
        wear=None if found.wear is None else wear_data(study),
        extended_digits=int(np.finfo(EXTENDED).precision),
        members=names_by_number(study.joints[0].solution),
        remarks=remarks or [],
        files=files or [],
    )


def _margins(one: Judged) -> MarginsOfJoint:
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


def _fields(found: object, part: type[_Part]) -> dict[str, Any]:
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
        motions=[Motion(kind=motion.kind, frequency=motion.frequency) for motion in joint.motions],
        cases=[_case(found, first[number]) for number, found in enumerate(joint.cases)],
        crossbeam=Along(
            station=line.station.tolist(),
            actions={
                found.case.name: dict(zip(ACTIONS, line.actions[number].T.tolist(), strict=True))
                for number, found in enumerate(joint.cases)
            },
        ),
    )


def _spring(stiffness: float) -> Stiffness:
    return "rigid" if math.isinf(stiffness) else stiffness


def _curve(curve: SpringCurve | None) -> Curve | None:
    if curve is None:
        return None
    attracted = float(curve.attraction(curve.own))
    return Curve(rigid=curve.rigid, k_half=curve.k_half, own=_spring(curve.own), attraction=attracted)


def _case(found: CaseResult, first_error: float) -> Case:
    return Case(
        case=found.case.name,
        joint_load=dict(zip(SIDES, found.joint_load.tolist(), strict=True)),
        stems=dict(zip(SIDES, found.stems.tolist(), strict=True)),
        shares=found.shares and Shares(racking_moment=found.racking_moment, **found.shares),
        attraction=found.attraction,
        path=[
            PathEntry(name=name, action=action)
            for name, action in zip(found.path_names, found.path.tolist(), strict=True)
        ],
        truss=Truss(**_fields(found.truss, Truss)),
        buckling=found.buckling and Buckling(**_fields(found.buckling, Buckling)),
        change=found.change and Change(**_fields(found.change, Change)),
        balance=found.balance,
        error=found.error,
        first_error=first_error,
    )


def schema() -> dict[str, Any]:
    """The JSON Schema of `results.json`."""
    return Results.model_json_schema()


__all__ = ["FORMAT", "VERSION", "Results", "results", "schema"]
