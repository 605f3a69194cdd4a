"""Hulls are drawn by their outlines and tubes as wide as they are; dimensions are the file's."""

import numpy as np
import pytest
from matplotlib.patches import Polygon

from cases.analyses.study import run_study
from cases.report import output
from cases.report.data import words
from cases.report.figures.boat_figures import VIEW
from cases.report.figures.boat_plan_figure import plan_picture
from cases.report.figures.boat_shapes import POINTS, hull_outlines, member_ends, tube_band, tube_sizes
from femcore.plotting.projection import View
from models.response.front_end import CROSSBEAM, STRIKER
from tests.models.boats import example_boat


@pytest.fixture(scope="module")
def study():
    """The demo with one joint."""
    file = example_boat("demo")
    alone = {"joints": file.joints[-1:], "variants": [], "combinations": [], "service": None}
    return run_study(file.model_copy(update=alone))


def test_hulls_have_the_outlines_of_their_stations(study):
    """At every station an outline is as wide, as deep and as long round as the section's; starboard is the mirror of port."""
    front = study.joints[0].front
    port, starboard = hull_outlines(front)
    found, spacing = front.boat.bows.sections.stiffness, front.boat.bows.spacing
    assert port.shape == (len(found.x), POINTS, 3)
    for ring, x, solved in zip(port, found.x, found.solved, strict=True):
        points = solved.section.points
        assert (ring[:, 0] == x).all()
        assert ring[:, 2].min() == pytest.approx(points[:, 1].min())
        assert ring[:, 2].max() == pytest.approx(points[:, 1].max(), abs=0.03)
        assert np.ptp(ring[:, 1]) == pytest.approx(np.ptp(points[:, 0]), rel=0.06)
        assert ring[:, 1].mean() == pytest.approx(spacing / 2, rel=0.02)
        around = np.linalg.norm(ring - np.roll(ring, 1, axis=0), axis=1)
        assert around.max() < 1.05 * np.median(around) + 1e-9, (
            "evenly along it: no jump from one side to the other"
        )
    assert np.allclose(starboard * [1, -1, 1], port)


def test_tubes_are_as_wide_as_the_file_s(study):
    """The crossbeam's tube of 200 mm, over all, and the striker's own; of a boat by stiffness alone nothing is known."""
    front = study.joints[0].front
    sizes = tube_sizes(front)
    assert sizes[CROSSBEAM] == pytest.approx(0.2, rel=1e-3)
    assert sizes[STRIKER] == front.boat.striker.tube.diameter
    file = example_boat("new_boat")
    plain = run_study(file.model_copy(update={"joints": file.joints[:1]})).joints[0].front
    assert CROSSBEAM not in tube_sizes(plain)


@pytest.mark.parametrize("view", [VIEW, View(0.0, 0.0), View(0.0, 90.0)])
def test_a_band_is_a_tube_s_width_apart(view):
    """From wherever it is seen, a tube is as wide on paper as its diameter."""
    ends = np.array([[1.0, -2.0, 0.5], [1.2, 2.0, 0.4]])
    band = tube_band(ends, 0.2, view)
    assert np.linalg.norm(band[0] - band[3]) == pytest.approx(0.2)
    assert np.allclose((band[0] + band[3]) / 2, view.project(ends[0]))
    assert np.allclose((band[1] + band[2]) / 2, view.project(ends[1]))


def test_the_plan_s_dimensions_are_the_boat_s(study):
    """The plan's numbers are lengths of the boat, the crossbeam's band is as wide as its tube; words have the stay's place."""
    drawing, boat = plan_picture(study), study.file
    front = study.joints[0].front
    written = {text.get_text() for axes in drawing.figure.axes for text in axes.texts}
    apart = front.joint_position(0)[1] - front.joint_position(1)[1]
    for length in (
        boat.bows.spacing,
        boat.bows.length,
        boat.crossbeam.station,
        apart,
        abs(boat.striker.height),
    ):
        assert f"{length:.3g}" in written
    widths = [
        np.ptp(patch.get_xy()[:4], axis=0)
        for patch in drawing.figure.axes[0].patches
        if isinstance(patch, Polygon) and len(patch.get_xy()) == 5
    ]
    ends = np.ptp(member_ends(front, CROSSBEAM), axis=0)
    assert any(np.allclose(sorted(size), [0.2, ends[1]], rtol=1e-3) for size in widths)
    assert f"{words.millimetres(boat.stay.forward)} ahead of" in drawing.words


def test_views_in_space_have_hulls_and_tubes(study):
    """A scene has each member's own diameter, and both hulls as bodies."""
    scene = output._scene(study, study.joints[0], 0)
    run = study.joints[0].front.frame.members[CROSSBEAM]
    assert (scene.sizes[run.first : run.last] == tube_sizes(study.joints[0].front)[CROSSBEAM]).all()
    assert scene.bodies.shape[0] == 2
    assert len(scene.sizes) == len(scene.lines) == len(scene.thin)
