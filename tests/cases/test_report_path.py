"""The picture of a load path shows the ledger: as wide as the force, as much put on as comes on."""

import numpy as np
import pytest
from matplotlib.patches import FancyArrow, FancyArrowPatch

from cases.report import path_picture, words
from cases.study import run_study
from femcore import looks
from models.front_end import CENTRE, SIDES
from tests.cases.report_boat import boat_file


@pytest.fixture(scope="module")
def study(tmp_path_factory):
    """The small boat, run once."""
    return run_study(boat_file(tmp_path_factory.mktemp("boat")))


def drawn(study, case, monkeypatch):
    """The finished figure of a case's load path."""
    kept = []
    monkeypatch.setattr(looks, "finish", lambda figure, *_: kept.append(figure))
    path_picture.path_picture(study, case, "path")
    return kept[0]


def test_what_comes_on_is_what_is_given_away(study):
    """About the beam's centre, what comes onto the crossbeam equals what it puts on hulls and longeron, in every case."""
    joint = path_picture.shown_joint(study)
    centre = joint.front.position(CENTRE)
    for case in range(len(study.cases)):
        total, size = np.zeros(6), 0.0
        for flow in path_picture.flows(joint, case):
            arm = flow.at - centre if flow.colour == path_picture.OUT else np.zeros(3)
            moment = flow.action[3:] + np.cross(arm, flow.action[:3])
            sign = 1 if flow.colour == path_picture.IN else -1
            total += sign * np.r_[flow.action[:3], moment]
            size = max(size, np.abs(flow.action).max())
        assert np.abs(total).max() <= 1e-9 * size


def test_arrows_are_as_wide_as_the_force(study, monkeypatch):
    """Widths of the straight arrows are to one another as the forces are, and the pull's own is the widest."""
    figure = drawn(study, 1, monkeypatch)
    arrows = [patch for axes in figure.axes for patch in axes.patches if isinstance(patch, FancyArrow)]
    widths = sorted(float(arrow._width) for arrow in arrows)
    joint = path_picture.shown_joint(study)
    pull = joint.cases[1].path[0]
    up, aft = abs(pull[2]), abs(pull[0])
    assert any(width / widths[-1] == pytest.approx(aft / up, rel=1e-9) for width in widths)


def test_torque_goes_round_the_beam(study, monkeypatch):
    """The joints' torque and its number are in the view from above, turning as the beam's upper side does."""
    figure = drawn(study, 1, monkeypatch)
    joint = path_picture.shown_joint(study)
    said = {text.get_text() for text in figure.axes[1].texts}
    for side in range(len(SIDES)):
        assert f"torque {words.quantity(abs(joint.cases[1].joint_load[side, 4]), 'N·m')}" in said
    rings = [patch for patch in figure.axes[1].patches if isinstance(patch, FancyArrowPatch)]
    at = joint.front.joint_position(0)
    # pull ahead of the axis: upper side turns aft, which is up the page
    near = [p for r in rings if abs((p := r._path_original.vertices)[:, 0].mean() - at[1]) < 0.8]
    ring = min(near, key=lambda points: np.ptp(points[:, 0]))
    assert joint.cases[1].joint_load[0, 4] < 0
    assert ring[-1, 1] > ring[0, 1]


@pytest.mark.parametrize("case", range(3))
def test_numbers_overlap_nothing(study, case, monkeypatch):
    """No two numbers of a picture overlap."""
    figure = drawn(study, case, monkeypatch)
    for axes in figure.axes:
        boxes = [text.get_window_extent() for text in axes.texts if text.get_bbox_patch() is not None]
        assert not [1 for i, a in enumerate(boxes) for b in boxes[:i] if a.overlaps(b)]
