"""Forces drawn to scale: widths follow the force, rings turn as moments do, words keep off what they must."""

import numpy as np
import pytest
from matplotlib.patches import FancyArrow, FancyArrowPatch

from femcore.plotting import style
from femcore.plotting.force_flow import (
    MAX_ARROW_WIDTH,
    MAX_RING_THICKNESS,
    MIN_LINE_WIDTH,
    Scale,
    legend,
    panel,
)

SCALE = Scale(8e3, 2e3)


@pytest.fixture
def view():
    """An empty view, 4 m wide, of 50 points per metre."""
    with style.drawing_style():
        figure = style.new_figure(4.0, 4.0, fixed_layout=True)
        yield panel(figure, (0.5, 0.5, 200 / 72, 200 / 72), (-2.0, 2.0, -2.0, 2.0), SCALE)


def test_a_width_is_the_force_times_one_number():
    """The largest force has the largest width, half of it half; nothing is thinner than a hairline."""
    assert SCALE.width(8e3) == MAX_ARROW_WIDTH
    assert SCALE.width(-4e3) == pytest.approx(MAX_ARROW_WIDTH / 2)
    assert SCALE.width(1.0) == MIN_LINE_WIDTH
    assert SCALE.thickness(1e3) == pytest.approx(MAX_RING_THICKNESS / 2)
    assert Scale(0.0, 0.0).width(0.0) == MIN_LINE_WIDTH


def test_the_bars_of_a_scale_are_round_numbers_of_its_own():
    """The legend's bars stand for round forces and moments, as wide as an arrow of that force would be."""
    assert SCALE.bars() == [(SCALE.width(5e3), "5 kN"), (SCALE.thickness(2e3), "2 kN·m")]
    assert Scale(0.0, 0.0).bars() == []


def test_the_legend_draws_its_bars_as_wide_as_they_are(view):
    """The line in the legend is as many points wide as the force that stands beside it."""
    legend(view.axes.figure, [], SCALE, (0.0, 1.0))
    lines = view.axes.figure.legends[0].get_lines()
    assert [line.get_linewidth() for line in lines] == [width for width, _ in SCALE.bars()]


def test_an_arrow_is_as_many_points_wide_in_any_view(view):
    """In metres of the view an arrow's width is its points over the points per metre."""
    view.arrow(np.zeros(2), (0.0, 1.0), -4e3, style.TEXT_COLOUR, "4 kN")
    (arrow,) = [patch for patch in view.axes.patches if isinstance(patch, FancyArrow)]
    assert view.per_metre == pytest.approx(50.0)
    assert arrow._width * 50.0 == pytest.approx(SCALE.width(4e3))
    assert arrow._dy < 0


@pytest.mark.parametrize("moment", [1e3, -1e3])
def test_rings_turn_as_the_moment_does(view, moment):
    """About the line of sight anticlockwise where positive; round an axis across the view, down its near side."""
    view.ring(np.zeros(2), moment, style.TEXT_COLOUR, "ring")
    view.torque(np.array([1.0, 0.0]), moment, style.TEXT_COLOUR, "torque")
    view.torque(np.array([-1.0, 0.0]), moment, style.TEXT_COLOUR, "torsion", upright=True)
    ring, across, along = (
        patch._path_original.vertices for patch in view.axes.patches if isinstance(patch, FancyArrowPatch)
    )
    middle = ring - ring.mean(axis=0)
    turned = (middle[:-1, 0] * middle[1:, 1] - middle[:-1, 1] * middle[1:, 0]).sum()
    assert np.sign(turned) == np.sign(moment)
    assert np.sign(across[0, 1] - across[-1, 1]) == np.sign(moment)
    assert np.sign(along[0, 0] - along[-1, 0]) == np.sign(moment)


def test_arrows_along_one_line_stand_beside_one_another(view):
    """Two arrows from one point in one direction do not cover one another; two across do start there."""
    for way in ((0.0, 1.0), (0.0, 1.0), (1.0, 0.0)):
        view.arrow(np.zeros(2), way, 4e3, style.TEXT_COLOUR)
    first, second, across = ((patch._x, patch._y) for patch in view.axes.patches)
    assert first == across == (0.0, 0.0)
    assert abs(second[0]) * 50 >= 1.8 * SCALE.width(4e3)


def test_a_row_without_room_is_one_arrow(view):
    """A row whose arrows would cover one another is one at its middle, of the same force."""
    close = np.array([[0.0, 0.0], [0.1, 0.0], [0.2, 0.0]])
    at, force = view.apart(close, np.array([1e3, 1e3, 2e3]), (0.0, 1.0))
    assert force == pytest.approx([4e3])
    assert at == pytest.approx(np.array([[0.125, 0.0]]))
    wide = close * 10
    assert view.apart(wide, np.full(3, 1e3), (0.0, 1.0))[0] is wide


def test_words_keep_off_rings_and_one_another(view):
    """However many words belong to one point, none lies over another or over a ring, and far ones have a line to it."""
    view.ring(np.zeros(2), 2e3, style.TEXT_COLOUR, "first")
    for number in range(9):
        view.note(np.zeros(2), f"word {number}")
    view.draw_labels(7.0)
    boxes = [text.get_window_extent() for text in view.axes.texts]
    assert len(boxes) == 10
    assert not [1 for i, a in enumerate(boxes) for b in boxes[:i] if a.overlaps(b)]
    ring = view.axes.transData.transform(view.axes.patches[0]._path_original.vertices)
    assert not any(box.count_contains(ring) for box in boxes)
    assert view.axes.lines


def test_pale_colours_are_not_written_in(view):
    """Words take their arrow's colour, but ink where that is too pale to read."""
    view.faded = (style.SERIES_COLOURS[1],)
    for colour in style.SERIES_COLOURS[:2]:
        view.arrow(np.zeros(2), (0.0, 1.0), 4e3, colour, colour)
    view.draw_labels(7.0)
    assert [text.get_color() for text in view.axes.texts] == [style.SERIES_COLOURS[0], style.TEXT_COLOUR]
