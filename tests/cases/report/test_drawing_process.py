"""What another process draws is what this one would, whatever becomes of it."""

import pickle
import re
import sys
from contextlib import suppress
from functools import partial

import pytest

from cases.analyses.analysis import Analysis
from cases.analyses.study import run_study
from cases.report.figures import boat_figures, report_figures
from cases.report.figures.drawing_process import DrawingProcess
from cases.report.output import all_sections
from femcore.base.process import pickled
from tests.models.boats import example_boat


@pytest.fixture(scope="module")
def study():
    """The demo with one joint of each of three kinds, its sections and pretension."""
    file = example_boat("demo")
    return run_study(file.model_copy(update={"joints": file.joints[-3:], "variants": []}), "demo.toml")


@pytest.fixture(scope="module")
def analysis(study):
    """What every picture is drawn from, worked out once."""
    return Analysis(study)


@pytest.fixture(scope="module")
def every_job(analysis):
    """All pictures of the report."""
    return list(report_figures.picture_jobs(analysis))


@pytest.fixture(scope="module")
def jobs(every_job):
    """A picture of the frame, of a load path and of a section."""
    return [every_job[0], every_job[3], every_job[-1]]


def drawn_here(jobs):
    """By this process alone."""
    return [job().picture() for job in jobs]


def test_both_processes_draw_the_same(jobs):
    """The other process gives each picture to the byte as this one draws it, PNG and SVG, in the order of the jobs."""
    with DrawingProcess(png=True) as drawing:
        assert drawing.wait()
        assert drawing.add(jobs) == len(jobs)
        while len(drawing._drawn) < 2:
            assert drawing._process.poll() is None, "the other process has ended"
        assert drawing.pictures() == [job().picture(png=True) for job in jobs]


def test_every_picture_of_a_report_can_be_handed_on(study, analysis, every_job):
    """Every job can be pickled, of the study and of all sections, and a study keeps its arrays on the way."""
    everything = [*every_job, *(job for part in all_sections(analysis) for job in part.drawings)]
    assert len(everything) > 20
    for job in everything:
        again = pickle.loads(pickled(job))  # noqa: S301  (our own)
        assert again.func is job.func
    received = pickle.loads(pickled(study))  # noqa: S301
    for one, other in zip(study.joints, received.joints, strict=True):
        assert (one.solution.displacement == other.solution.displacement).all()
        assert dict(one.front.frame.members) == dict(other.front.frame.members)


def test_every_picture_says_a_number(every_job):
    """What is read instead of a picture, by who cannot see it, has a number with its unit or a share, of every picture."""
    drawings = [job() for job in every_job]
    assert not [
        one.name for one in drawings if not re.search(r"\d (?:k|M)?(?:N|m|mm|%|N·m)\b|\d %|\d m", one.words)
    ]


def test_this_process_draws_where_the_other_ends(jobs):
    """Whether the other process ends at once, or ends before it is ready, nothing is missing."""
    with DrawingProcess() as drawing:
        drawing._process.kill()
        drawing.add(jobs)
        assert drawing.pictures() == drawn_here(jobs)


def test_this_process_draws_where_no_other_can_be_started(jobs, monkeypatch):
    """Without another process everything is drawn here."""
    monkeypatch.setattr(sys, "executable", "/nowhere/python")
    with DrawingProcess() as drawing:
        drawing.add(jobs)
        assert drawing.pictures() == drawn_here(jobs)


def test_an_error_in_a_job_is_raised_here(jobs):
    """A job that fails in the other process fails here too, with its own error; one that cannot be handed on is drawn here."""
    with DrawingProcess() as drawing:
        assert drawing.wait()
        drawing.add([lambda: jobs[0]()])  # noqa: PLW0108  (a function that cannot be pickled)
        assert drawing.pictures() == drawn_here(jobs[:1])
    with DrawingProcess() as drawing:
        assert drawing.wait()
        drawing.add([partial(boat_figures.boat_picture, None)])
        with pytest.raises(AttributeError, match="joints"):
            drawing.pictures()


def test_the_other_process_ends_with_the_context(jobs):
    """Left early, for an error or by Ctrl-C, no process remains."""
    drawing = DrawingProcess()
    with suppress(KeyboardInterrupt), drawing:
        drawing.add(jobs)
        raise KeyboardInterrupt
    assert drawing._process.poll() is not None
    assert not drawing._feeder.is_alive()
