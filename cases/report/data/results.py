"""What `results.json` holds: versioned data in SI, with its JSON Schema, both from the dataclasses of the analyses.

Fields may be added within a version; a change of meaning makes a new version.
"""

from __future__ import annotations

import importlib.metadata
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from typing import Annotated, Any, Literal

import numpy as np
from pydantic import Field

from cases.analyses.analysis import Analysis, FittingRemarks
from cases.analyses.calibration_result import CalibrationResult
from cases.analyses.claims import UncheckedEntry, unchecked_entries
from cases.analyses.comparison import Comparison, comparison
from cases.analyses.decision import Decision
from cases.analyses.design_loads import DesignLoad
from cases.analyses.envelope import JointEnvelope
from cases.analyses.fatigue_life import FatigueLives
from cases.analyses.joint_play import JointPlay
from cases.analyses.joint_results import JointResult, UnsolvedJoint
from cases.analyses.part_margins import PartMargins
from cases.analyses.provenance import RememberedStrength
from cases.analyses.racking_ways import RackingWays
from cases.analyses.stay_sag import SaggedStayLine, stay_line_over_sag
from cases.analyses.uncertainty.uncertainty import Uncertainty
from cases.analyses.wave_scan import WaveScan
from cases.input.boat_defaults import EstimatedInput
from cases.input.combinations import DEFAULT_COMBINATIONS_REASON, ExpandedCombination
from cases.loads import LoadCase
from cases.loads.base import LoadLevel
from cases.loads.origin import Origin
from cases.loads.rig import StayLine
from cases.report.data.play_words import open_play_sentences
from cases.report.data.statements import design_load_words, strength_statements
from cases.report.data.words import answer
from femcore.base.arrays import EXTENDED
from femcore.base.written import WRITTEN, as_json, schema_of
from femcore.results.vtu import cell_names
from models.response.platform_frame import PlatformResponse

FORMAT: Literal["forebeam results"] = "forebeam results"
VERSION: Literal[1] = 1


@dataclass(frozen=True, slots=True, eq=False)
class Envelope:
    """Combinations, and the worst over them and the cases."""

    entered: Annotated[
        bool, Field(description="whether the file gives the combinations; else they are the default ones")
    ]
    reason: Annotated[
        str, Field(description="why the default combinations are these; empty where there are none")
    ]
    combinations: list[ExpandedCombination]
    joints: Annotated[
        tuple[JointEnvelope, ...],
        Field(description="empty where there is one case and nothing is combined"),
    ]


@dataclass(frozen=True, slots=True)
class DesignLoadsOfJoint:
    """Design loads of one joint, over all cases and combinations."""

    joint: Annotated[str, Field(description="name of the joint")]
    components: tuple[DesignLoad, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class CaseHead(Origin):
    """A load case, and where its loads come from."""

    name: str
    kind: Annotated[str, Field(description="that of the boat file, of a case that it stands for too")]
    words: Annotated[str, Field(description="what it is")]
    scale: Annotated[float, Field(description="factor on all that it puts on the boat, as entered")]
    level: Annotated[
        LoadLevel,
        Field(
            description="working: factors in full; extreme: a load that is not exceeded, their part for loads left out"
        ),
    ]

    @classmethod
    def of(cls, case: LoadCase) -> CaseHead:
        """As it is run."""
        return cls(
            name=case.name, kind=getattr(case, "kind", ""), words=case.words(), scale=case.scale, level=case.load_level,
            **asdict(case.provenance()),
        )  # fmt: skip


@dataclass(frozen=True, slots=True, eq=False)
class Results:
    """All numbers of one run, in SI."""

    __pydantic_config__ = WRITTEN
    format: Literal["forebeam results"]
    version: Literal[1]
    program: Annotated[str, Field(description="version of the program that made it")]
    title: Annotated[str, Field(description="the boat file's title")]
    source: Annotated[str, Field(description="the boat file's name; empty where it came from no file")]
    answer: Annotated[list[str], Field(description="the answer in sentences")]
    decision: Annotated[
        Decision,
        Field(
            description="the question, the candidates and their verdicts, what would change these, what to do next"
        ),
    ]
    boat: Annotated[
        dict[str, Any],
        Field(description="the boat file as read, in SI, with defaults; null: rigid or absent"),
    ]
    cases: Annotated[list[CaseHead], Field(description="the load cases")]
    bare_racking_stiffness: Annotated[float, Field(description="N/m, of the bows without a crossbeam")]
    platform: Annotated[PlatformResponse | None, Field(description="null: root springs, or rigid roots")]
    stay_lines: Annotated[dict[str, StayLine], Field(description="by the name of the rig case")]
    stay_over_sag: Annotated[
        dict[str, list[SaggedStayLine]],
        Field(
            description="by the name of the rig case: at no sag, at some aft, at some to port, and as the case is run"
        ),
    ]
    racking: Annotated[
        RackingWays, Field(description="ways to know how large the racking is, beside what was entered")
    ]
    joints: Annotated[
        list[JointResult], Field(description="that have an answer, in the order of the boat file")
    ]
    unsolved: Annotated[
        tuple[UnsolvedJoint, ...],
        Field(description="joints without an answer; empty where every joint has one"),
    ]
    envelope: Annotated[Envelope, Field(description="combinations and envelopes")]
    design_loads: Annotated[list[DesignLoadsOfJoint], Field(description="in the order of `joints`")]
    margins: Annotated[tuple[PartMargins, ...], Field(description="in the order of `joints`")]
    not_checked: Annotated[tuple[UncheckedEntry, ...], Field(description="everything that is in no check")]
    play: Annotated[
        tuple[JointPlay, ...],
        Field(description="of the joints whose pin has play; empty where none has"),
    ]
    waves: Annotated[
        tuple[WaveScan, ...],
        Field(description="of every case of waves: the worst heading and length; empty where there is none"),
    ]
    uncertainty: Annotated[
        Uncertainty,
        Field(description="what scatters, and how sure that makes loads and margins of each joint"),
    ]
    test: Annotated[
        CalibrationResult | None,
        Field(description="a test on the boat, fitted; null where none was given with the run"),
    ]
    fitting_remarks: Annotated[
        tuple[FittingRemarks, ...], Field(description="of the joints, then of the parts beside them")
    ]
    variants: Annotated[Comparison | None, Field(description="null: none")]
    wear: Annotated[
        FatigueLives | None, Field(description="service and lives; miles are nautical; null: none")
    ]
    estimated: Annotated[
        tuple[EstimatedInput, ...],
        Field(
            description="inputs that are estimated, not entered: marked in the file, or taken by a case from [boat], where they "
            "are estimated"
        ),
    ]
    strengths_from_memory: Annotated[
        tuple[RememberedStrength, ...],
        Field(
            description="of materials in use, recalled and not looked up; values as entered, with their units"
        ),
    ]
    extended_digits: Annotated[
        int, Field(description="decimal digits of the residuals that refine the solution")
    ]
    members: Annotated[
        list[str],
        Field(description="members and cables in the order of cell data `member` in the VTU files"),
    ]
    remarks: Annotated[
        list[str],
        Field(
            description="what in the file is hard to believe; what could not be worked out or written, and why"
        ),
    ]
    files: Annotated[list[str], Field(description="every file of the report's folder, this one too")]

    def json(self) -> str:
        """What `results.json` holds; ValueError for an infinity where none is expected."""
        return as_json(self)


def results(analysis: Analysis, remarks: Iterable[str] = (), files: Iterable[str] = ()) -> Results:
    """All numbers of an analysis; `remarks` and `files` of the folder that they go to."""
    study, file, combinations = analysis.study, analysis.file, analysis.file.expanded_combinations
    entered = file.combinations is not None
    return Results(
        format=FORMAT,
        version=VERSION,
        program=importlib.metadata.version("forebeam"),
        title=file.title,
        source=analysis.source,
        answer=[
            *strength_statements(analysis),
            design_load_words(analysis),
            *open_play_sentences(analysis.joint_plays),
            *answer(study),
        ],
        decision=analysis.decision,
        boat=file.model_dump(mode="json", exclude={"cases", "title"}),
        cases=[CaseHead.of(case) for case in study.cases],
        bare_racking_stiffness=study.bare_racking_stiffness,
        platform=study.platform,
        stay_lines=study.stay_lines(),
        stay_over_sag={rig.name: stay_line_over_sag(file, rig) for rig in study.rig_cases},
        racking=analysis.racking_ways,
        joints=[
            joint if errors is None else joint.with_discretisation(errors)
            for joint, errors in zip(study.joints, analysis.discretisation, strict=True)
        ],
        unsolved=study.unsolved,
        envelope=Envelope(
            entered,
            DEFAULT_COMBINATIONS_REASON if combinations and not entered else "",
            combinations,
            analysis.envelopes,
        ),
        design_loads=[
            DesignLoadsOfJoint(joint.name, loads)
            for joint, loads in zip(study.joints, analysis.design_loads, strict=True)
        ],
        margins=analysis.part_margins,
        not_checked=unchecked_entries(file, analysis.part_margins),
        play=analysis.joint_plays,
        waves=analysis.wave_scans,
        uncertainty=analysis.uncertainty,
        test=analysis.test,
        fitting_remarks=analysis.fitting_remarks,
        variants=comparison(analysis.compared) if analysis.compared else None,
        wear=analysis.lives_with_bands,
        estimated=file.estimates.inputs,
        strengths_from_memory=analysis.remembered_strengths,
        extended_digits=int(np.finfo(EXTENDED).precision),
        members=cell_names(study.joints[0].solution),
        remarks=list(remarks),
        files=list(files),
    )


def schema() -> dict[str, Any]:
    """The JSON Schema of `results.json`."""
    return schema_of(Results)
