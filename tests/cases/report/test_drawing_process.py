"""What another process draws is what this one would, whatever becomes of it."""

import pickle
import re
from functools import partial

import pytest

from cases.analyses.analysis import Analysis
from cases.analyses.study import run_study
from cases.report.figures import boat_figures, report_figures
from cases.report.figures.drawing_process import Drawings
from cases.report.output import all_sections
from femcore.base import process
from femcore.base.process import OtherProcess, pickled
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


@pytest.fixture
def other(monkeypatch):
    """Another process."""
    monkeypatch.setattr(process, "available_cores", lambda: 2)
    with OtherProcess() as started:
        yield started


def drawn_here(jobs):
    """By this process alone."""
    return [job().picture() for job in jobs]


def test_both_processes_draw_the_same(jobs, other):
    """The other process gives each picture to the byte as this one draws it, PNG and SVG, in the order of the jobs."""
    drawing = Drawings(other, png=True)
    assert drawing.add(jobs) == len(jobs)
    assert drawing._begun[-1].settled.wait(120)
    assert all(one.is_done for one in drawing._begun)
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


def test_this_process_draws_where_the_other_ends(jobs, other):
    """Whether or not the other process has begun a picture, nothing is missing."""
    other._process.kill()
    drawing = Drawings(other)
    drawing.add(jobs)
    assert drawing.pictures() == drawn_here(jobs)


def test_an_error_in_a_job_is_raised_here(jobs, other):
    """A job that fails in the other process fails here too, with its own error; one that cannot be handed on is drawn here."""
    drawing = Drawings(other)
    drawing.add([lambda: jobs[0]()])  # noqa: PLW0108  (a function that cannot be pickled)
    assert drawing.pictures() == drawn_here(jobs[:1])
    drawing.add([partial(boat_figures.boat_picture, None)])
    with pytest.raises(AttributeError, match="joints"):
        drawing.pictures()
