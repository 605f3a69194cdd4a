"""How sure the answer is: chances of every joint, what moves it, what would turn the verdict, what to measure next."""

from __future__ import annotations

from functools import partial

from cases.analyses.analysis import Analysis
from cases.analyses.candidates import candidates
from cases.analyses.study import Study
from cases.report.data.uncertainty_words import (
    HOW_READ,
    cause_sentences,
    joint_sentences,
    left_out_sentences,
    preference_sentences,
)
from cases.report.figures.tornado_figure import tornado_picture
from cases.report.sections.report_section import ReportSection
from cases.report.tables import uncertainty_tables
from cases.report.tables.uncertainty_tables import likeliest_parts, strongest_inputs
from femcore.base import numbers


def uncertainty_section(study: Study, analysis: Analysis) -> ReportSection | None:
    """None where nothing scatters."""
    found = analysis.uncertainty
    if not found.inputs:
        return None
    chosen = [joint.name for joint in candidates(study.file)]
    slugs = numbers.slugs([one.joint for one in found.joints])
    return ReportSection(
        "uncertainty",
        "How sure this is",
        [
            *(sentence for one in found.joints for sentence in joint_sentences(one)),
            *preference_sentences(found),
            *left_out_sentences(found),
        ],
        unshown=uncertainty_tables.tables(found),
        readable=[
            *(
                table
                for one in found.joints
                for table in (strongest_inputs(one), likeliest_parts(one))
                if table.rows
            ),
            uncertainty_tables.inputs_table(found),
        ],
        drawings=[
            partial(tornado_picture, one, slug)
            for one, slug in zip(found.joints, slugs, strict=True)
            if one.effects
        ],
        brief=[
            *(sentence for one in found.joints if one.joint in chosen for sentence in cause_sentences(one)),
            *preference_sentences(found),
        ],
        aside=(
            f"{found.samples} samples of Sobol's sequence, seed {found.seed}; loads of each sample are exact, margins by planes "
            f"through the rows that govern. {HOW_READ}"
        ),
    )
