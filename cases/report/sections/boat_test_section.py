"""A test on the boat beside what the file says: what it taught of stiffness, and what the joint's loads become."""

from __future__ import annotations

from cases.analyses.analysis import Analysis
from cases.analyses.study import Study
from cases.report.data.calibration_words import factor_lines, racking_line, verdict_lines
from cases.report.sections.report_section import ReportSection
from cases.report.tables import boat_test_tables
from femcore.base.numbers import plain


def boat_test_section(_: Study, analysis: Analysis) -> ReportSection | None:
    """None where the run was given no test."""
    found = analysis.test
    if found is None:
        return None
    return ReportSection(
        "test-on-the-boat",
        "A test on the boat",
        [
            plain(f"{found.title}. With the joint ‘{found.joint}’."),
            *map(plain, verdict_lines(found)),
            *map(plain, factor_lines(found)),
            racking_line(found),
        ],
        tables=[boat_test_tables.factors_table(found), boat_test_tables.loads_table(found)],
        unshown=[boat_test_tables.values_table(found), boat_test_tables.gauges_table(found)],
        aside=(
            "All other numbers of this report are those of the file as it is. ‘forebeam calibrate BOAT TEST --patch NEW’ writes "
            "the factors into a new one; run that for margins with them. Learned: the share of the variance before the test that "
            "it took away."
        ),
        brief=[racking_line(found)],
    )
