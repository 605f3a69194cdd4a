"""What is worked out of a study beyond its cases, once for page, tables and numbers: envelopes, variants, wear."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from cases.analyses.comparison import ComparedBoat
from cases.analyses.envelope import JointEnvelope, envelopes
from cases.analyses.fatigue_life import FatigueLives, fatigue_lives
from cases.analyses.part_margins import PartMargins, part_margins
from cases.analyses.study import Study, run_study
from cases.input.variants import AS_ENTERED
from femcore.base.errors import StructureFault


@dataclass(frozen=True, slots=True, eq=False)
class Analysis:
    """What a study's file asks for besides joints and cases.

    envelopes : of every joint; none where there is but one case and no combination
    compared  : the boat as entered and its variants; none where there are no variants
    judged    : every joint's margins
    wear      : its joints in the service; None where there is none
    remarks   : what could not be worked out, in sentences
    """

    envelopes: tuple[JointEnvelope, ...]
    compared: tuple[ComparedBoat, ...]
    fatigue_lives: FatigueLives | None
    part_margins: tuple[PartMargins, ...]
    remarks: tuple[str, ...]


def analyse(study: Study) -> Analysis:
    """Work it out; StructureFault where a combination cannot be solved; a variant that cannot is a remark."""
    remarks: list[str] = []
    many = len(study.cases) > 1 or bool(study.file.expanded_combinations)
    over = envelopes(study)
    margins = tuple(
        part_margins(study.file, joint, one.rows) for joint, one in zip(study.joints, over, strict=True)
    )
    compared = tuple(_compared(study, margins, remarks))
    return Analysis(
        over if many else (),
        compared if len(compared) > 1 else (),
        fatigue_lives(study),
        margins,
        tuple(remarks),
    )


def _compared(study: Study, margins: tuple[PartMargins, ...], remarks: list[str]) -> Iterator[ComparedBoat]:
    """The study itself first, which need not be run again."""
    yield ComparedBoat(AS_ENTERED, study.file.note, study, margins)
    for variant in study.file.variants:
        try:
            yield ComparedBoat.of(
                variant.name, variant.note, run_study(study.file.variant(variant), study.source)
            )
        except StructureFault as fault:
            remarks.append(f"The variant ‘{variant.name}’ has no answer: {fault}.")
