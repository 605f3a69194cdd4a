"""The report on waves: its tables are the scan's numbers, its pictures are there, and what is not in it is stated."""

import csv
import io
import json

import numpy as np
import pytest
from markupsafe import escape

from cases.analyses.analysis import Analysis
from cases.analyses.wave_scan import wave_scan
from cases.loads.wave_spectrum import Sea
from cases.report import output
from cases.report.data.results import results
from cases.report.data.statements import margin_words
from cases.report.pages import report_page
from cases.report.sections.waves_section import waves_section
from models.response.joint_loads import JOINT_LOAD_NAMES
from tests.cases.analyses.test_wave_scan import analysed


def test_the_tables_are_the_scans():
    """A row for each component of each joint with heading, length and height; a row for each part that is described."""
    analysis = analysed()
    (scan,) = analysis.wave_scans
    section = waves_section(analysis.study, analysis)
    components, parts = (
        list(csv.DictReader(io.StringIO(table.csv()))) for table in (*section.tables, *section.unshown)
    )
    flat = [each for one in scan.joints for each in one.components]
    assert len(components) == len(flat) == 6 * len(scan.joints)
    for row, one in zip(components, flat, strict=True):
        assert row["component"] == one.component
        assert float(row["force (N)"] or row["moment (N·m)"]) == pytest.approx(one.size, rel=1e-12)
        if one.size:
            assert row["heading, 0 along, 90° abeam"] == f"{np.degrees(one.state.heading):.3g}°"
            assert float(row["length, of the wave (m)"]) == pytest.approx(one.state.length, rel=1e-12)
    assert [row["part"] for row in parts] == [each.part for one in scan.joints for each in one.parts]
    (lowest,) = section.readable
    for one in scan.joints:
        shown = {row[3] for row in lowest.rows if row[0] == one.joint}
        assert not one.parts or margin_words(min(each.margin for each in one.parts)) in shown


def test_what_is_not_in_it_is_stated():
    """Quasi-static, without dynamic amplification and slamming; two pictures, each with its words."""
    analysis = analysed()
    section = waves_section(analysis.study, analysis)
    assert any("dynamic amplification, slamming" in one for one in section.words)
    drawn = [job() for job in section.drawings]
    assert [one.name for one in drawn] == ["waves-over-heading-waves", "wave-waves"]
    assert all(one.words for one in drawn)


def test_results_have_the_scan():
    """`waves` of results.json: components by heading, in SI."""
    analysis = analysed()
    (scan,) = analysis.wave_scans
    (found,) = json.loads(results(analysis).json())["waves"]
    assert found["states"] == scan.states
    for one, other in zip(found["joints"], scan.joints, strict=True):
        assert [list(row) for row in one["over_heading"]] == [list(JOINT_LOAD_NAMES)] * len(scan.heading)
        assert one["over_heading"][3]["torque"] == other.over_heading[3, JOINT_LOAD_NAMES.index("torque")]


def test_an_irregular_sea_has_its_table():
    """A row for each component and slope of fatigue, with the largest beside the significant; the words explain the ranges."""
    regular = analysed()
    case = regular.file.active_cases[0].model_copy(
        update={"sea": Sea.model_validate({"significant": "2 m", "period": "6 s"})}
    )
    joints = regular.study.joints[1:2]

    class InSea(Analysis):
        wave_scans = (wave_scan(regular.file, case, joints),)

    section = waves_section(regular.study, InSea(regular.study))
    table = section.tables[-1]
    assert table.name == "wave-sea-waves"
    found = InSea.wave_scans[0].joints[0].sea
    assert len(table.rows) == sum(len(one.ranges) for one in found) == 12
    assert any("Dirlik" in one and "Weibull" in one for one in section.words)
    assert all(0 < one.significant < one.largest for one in found)


def test_without_waves_there_is_no_section():
    """A study without such a case has no part on waves."""
    analysis = analysed()

    class Without(Analysis):
        wave_scans = ()

    assert waves_section(analysis.study, Without(analysis.study)) is None


def test_every_section_is_on_the_page():
    """Whatever has something to tell has its heading, its sentences and a mark to be linked to, unless it is part of another."""
    analysis = analysed()
    sections = list(output.all_sections(analysis))
    page = report_page.render(analysis, [], [], [], sections)
    assert {"waves", "platform", "loads"} <= {part.anchor for part in sections}
    for part in sections:
        inner = part.anchor in report_page.WITHIN_OTHERS
        assert f">{escape(part.title)}</h{3 if inner else 2}>" in page
        assert inner or f'<section id="{part.anchor}">' in page
        assert all(table.title in page for table in part.tables if table.rows)
