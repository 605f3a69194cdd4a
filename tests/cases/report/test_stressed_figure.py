"""The picture of a beam's walls at their worst shows the place and the ply that the checks found."""

import numpy as np
import pytest

from cases.analyses.analysis import Analysis
from cases.analyses.case_rows import crossbeam_stations, longeron_stations
from cases.analyses.study import run_study
from cases.report.figures import section_figures, stressed_figure
from cases.report.figures.load_path_figure import shown_joint
from models.checks.beam_walls import wall_checks, wall_states
from tests.cases.report.figures_read import figures
from tests.cases.report.page_read import without_names
from tests.models.boats import boat_file_of, example_boat


@pytest.fixture(scope="module")
def study():
    """A boat of the house whose crossbeam and longeron are given by their sections, with its joint that is drawn."""
    file = example_boat("slender")
    kept = shown_joint(run_study(file)).joint.name
    run = run_study(file.model_copy(update={"joints": [one for one in file.joints if one.name == kept]}))
    return run, Analysis(run)


def test_the_place_drawn_is_the_worst_of_all(study, monkeypatch):
    """Of all rows and stations the action that is drawn has the least factor, and each beam has its picture."""
    run, found = study
    drawn = []
    draw = section_figures.stressed_section_figure
    monkeypatch.setattr(
        stressed_figure, "stressed_section_figure", lambda *of: drawn.append(of[:2]) or draw(*of)
    )
    pictures = [job() for job in stressed_figure.stressed_jobs(run, found)]
    assert [picture.name for picture in pictures] == ["stressed-crossbeam", "stressed-longeron"]
    values = found.part_margins[0].rows.values
    for (beam, action), rows in zip(drawn, (values.crossbeam, values.longeron), strict=True):
        least = wall_checks(beam, rows.reshape(-1, 6)).ply_factor.min()
        assert wall_checks(beam, action).ply_factor[0] == pytest.approx(least, rel=1e-9)


def test_the_ply_that_is_marked_governs(study):
    """The place marked on the wall, and its ply, are those that the checks name, with the utilisation that they give."""
    run, found = study
    beam = run.file.crossbeam.thin_walled
    rows = found.part_margins[0].rows.values.crossbeam.reshape(-1, 6)
    checks = wall_checks(beam, rows)
    for number in checks.ply_factor.argsort()[:3]:
        states = wall_states(beam, rows[[number]])
        segment, place, words = section_figures._governing_ply(beam, states)
        assert beam.solved.section.parts[segment] == checks.ply_part[number]
        assert words.endswith(f"utilisation {1 / checks.ply_factor[number]:.2f}")
        flow = np.abs(states.flows.n_x[0]) / np.abs(states.flows.n_x[0]).max()
        assert flow[segment, place] > 0.5


def test_the_caption_s_figures_are_those_of_the_worst_place(study):
    """Metres along the beam to where the utilisation is highest over all rows, and that utilisation."""
    run, found = study
    values = found.part_margins[0].rows.values
    for job, rows, line in zip(
        stressed_figure.stressed_jobs(run, found),
        (values.crossbeam, values.longeron),
        (crossbeam_stations(run.joints[0].front), longeron_stations(run.joints[0].front)),
        strict=True,
    ):
        beam = run.file.crossbeam.thin_walled if rows is values.crossbeam else run.file.longeron.thin_walled
        checks = wall_checks(beam, rows.reshape(-1, 6))
        factor = np.minimum(checks.ply_factor, checks.proof_factor).reshape(rows.shape[:2])
        row = np.unravel_index(factor.argmin(), factor.shape)[0]
        along, used = figures(without_names(job().words))[:2]
        near = np.abs(line.station - along.value) <= along.half_digit * (1 + 1e-9)
        assert factor[row][near].min() == pytest.approx(factor.min(), rel=1e-6)
        assert along.unit == "m"
        assert used.shows(1 / factor.min(), "")


def test_the_captions_of_sections_have_their_stiffness(study):
    """Of a beam what its table has; of a bow's section at each station what is interpolated from."""
    file = study[0].file
    words = {one.name: one.words for one in (job() for job in section_figures.section_jobs(file))}
    for name, beam in (("crossbeam", file.crossbeam), ("longeron", file.longeron)):
        shown = figures(without_names(words[f"section-{name}"]))[-3:]
        for one, value in zip(shown, (beam.EI_vertical, beam.EI_lateral, beam.GJ), strict=True):
            assert one.shows(value, "N·m²")
    bows = [name for name in words if name.startswith("section-bow")]
    assert len(bows) == (len(file.derived.bows.stiffness.x) if file.derived.bows else 0)
    for number, name in enumerate(bows):
        stiff = file.derived.bows.stiffness
        place, *_, EIy, EIz, _ = figures(words[name])
        assert place.shows(stiff.x[number], "m")
        assert EIy.shows(stiff.EI_vertical[number], "N·m²")
        assert EIz.shows(stiff.EI_lateral[number], "N·m²")


def test_a_beam_by_its_stiffness_has_no_such_picture():
    """Where no section is given there is nothing to draw."""
    racked = {"name": "racked", "kind": "racking", "force": "4 kN"}
    run = run_study(boat_file_of([{"name": "rigid", "kind": "rigid"}], [racked]))
    assert not list(stressed_figure.stressed_jobs(run, Analysis(run)))


def test_metal_walls_are_drawn_with_their_largest_stress():
    """A metal tube is drawn where von Mises is largest, and says how large."""
    file = example_boat("short_bowed")
    run = run_study(file.model_copy(update={"joints": file.joints[:1]}))
    found = Analysis(run)
    made = [job().picture() for job in stressed_figure.stressed_jobs(run, found)]
    [picture] = [one for one in made if one.name == "stressed-crossbeam"]
    rows = found.part_margins[0].rows.values.crossbeam.reshape(-1, 6)
    largest = wall_checks(file.crossbeam.thin_walled, rows).von_mises.max()
    assert f"von Mises {largest / 1e6:.3g} MPa" in picture.svg
