"""Pictures of a sweep show the margin where it is: its limit, the boat, what has no answer; lightness alone tells it too."""

import numpy as np
import pytest

from cases.analyses.sweeps.margin_field import FieldInput, MarginField
from cases.analyses.sweeps.pareto import Candidates
from cases.cli.commands import main
from cases.report.figures.sweep_figures import contour_drawing, margin_colours, pareto_drawing, torque_colours
from femcore.base.errors import InputFault

LIGHTNESS = np.array([0.2126, 0.7152, 0.0722])
"""Of red, green and blue in a grey picture (ITU-R BT.709)."""


def plane(joint="socket", lack=()):
    """A margin that is 0 where x/10 kN + y/100 mm = 1, over a grid; without an answer at some places."""
    x, y = np.meshgrid(np.linspace(2e3, 12e3, 6), np.linspace(0, 0.1, 6))
    margin = 1 - x.ravel() / 10e3 - y.ravel() / 0.1
    margin[list(lack)] = np.nan
    inputs = (
        FieldInput("cases.racking.force", "kN", 1e3, False, 5e3),
        FieldInput("stay.forward", "mm", 1e-3, False, 0.02),
    )
    turn = np.linspace(0, 2 * np.pi, 50)
    outline = np.column_stack([5e3 + 2e3 * np.cos(turn), 0.02 + 0.01 * np.sin(turn)])
    return MarginField(joint, inputs, np.column_stack([x.ravel(), y.ravel()]), margin, outline, ())


def limit_of(axes):
    """Points of the heavy line."""
    [heavy] = [
        c for c in axes.collections if len(np.atleast_1d(c.get_linewidths())) and max(c.get_linewidths()) > 2
    ]
    return np.vstack([path.vertices for path in heavy.get_paths()])


def test_the_limit_is_where_the_margin_is_zero():
    """Of a plane it is the straight line, in the units of the axes; the boat and its scatter are where they are."""
    drawing = contour_drawing([plane()])
    axes = drawing.figure.axes[0]
    found = limit_of(axes)
    assert found[:, 0] / 10 + found[:, 1] / 100 == pytest.approx(np.ones(len(found)), abs=1e-9)
    assert np.ptp(found[:, 0]) > 7
    [boat] = [line for line in axes.lines if line.get_marker() == "o"]
    assert (boat.get_xdata()[0], boat.get_ydata()[0]) == pytest.approx((5, 20))
    [dashed] = [line for line in axes.lines if len(line.get_xdata()) == 50]
    assert (dashed.get_xdata().max(), dashed.get_ydata().max()) == pytest.approx((7, 30), rel=1e-2)
    assert (axes.get_xlabel(), axes.get_ylabel()) == ("cases.racking.force, kN", "stay.forward, mm")


def test_the_dark_side_is_the_inadequate_one():
    """Lightness grows with the margin and falls with the torque of a candidate, without a step back."""
    steps = np.linspace(0, 1, 64)
    assert (np.diff(margin_colours()(steps)[:, :3] @ LIGHTNESS) > 0).all()
    assert (np.diff(torque_colours()(steps)[:, :3] @ LIGHTNESS) < 0).all()


@pytest.mark.parametrize(("shift", "words"), [(0.0, "Heavy line"), (5.0, "not below 0"), (-5.0, "below 0")])
def test_amber_is_the_limit_in_every_picture(shift, words):
    """What is lighter than amber has a margin above 0, what is darker one below, also where all have."""
    field = plane()
    moved = MarginField("x", field.inputs, field.points, field.margin + shift, field.outline, ())
    drawing = contour_drawing([moved])
    filled = drawing.figure.axes[0].collections[0]
    middles = (filled.levels[1:] + filled.levels[:-1]) / 2
    amber = margin_colours()(0.5)[:3] @ LIGHTNESS
    assert ((filled.to_rgba(middles)[:, :3] @ LIGHTNESS > amber) == (middles > 0)).all()
    assert words in drawing.words


def test_what_has_no_answer_is_crossed_out():
    """Its place has a cross, and the words say so; without scatter they say that too."""
    field = plane(lack=(0, 7))
    axes = contour_drawing([field]).figure.axes[0]
    [crosses] = [line for line in axes.lines if line.get_marker() == "x"]
    assert np.column_stack(crosses.get_data()) == pytest.approx(field.points[[0, 7]] / [1e3, 1e-3])
    words = contour_drawing([field]).words
    assert "Crosses: designs without an answer" in words
    assert "90 % probability" in words
    bare = MarginField("x", field.inputs, field.points, field.margin, None, ("stay.up",))
    assert "No scatter is known" in contour_drawing([bare]).words
    assert "lowest over stay.up" in contour_drawing([bare]).words


def test_a_geometric_input_has_a_logarithmic_axis_with_plain_numbers():
    """Ticks at 1, 2 and 5 of each decade; the unit as it is printed; a boat outside is not drawn, and the words say so."""
    field = plane()
    inputs = (
        FieldInput("cases.racking.force", "kN", 1e3, True, 50e3),
        FieldInput("a.b", "MN*m**2", 1e6, False, 0.02),
    )
    outside = MarginField("x", inputs, field.points, field.margin, None, ())
    drawing = contour_drawing([outside])
    axes = drawing.figure.axes[0]
    drawing.figure.canvas.draw()
    low, high = axes.get_xlim()
    labels = [
        tick.label1.get_text() for tick in axes.xaxis.get_major_ticks() if low <= tick.get_loc() <= high
    ]
    assert labels == ["2", "5", "10"]
    assert axes.get_xscale() == "log"
    assert axes.get_ylabel() == "a.b, MN·m²"
    assert not [line for line in axes.lines if line.get_marker() == "o"]
    assert "The boat as entered is outside" in drawing.words


def test_lines_carry_their_own_margins():
    """No bar beside the picture: each number is on the line of a plane where the margin is that; the words give the range."""
    drawing = contour_drawing([plane()])
    [axes] = drawing.figure.axes
    numbers = [text for text in axes.texts if text.get_text()]
    assert len(numbers) > 3
    for text in numbers:
        x, y = text.get_position()
        assert 1 - x / 10 - y / 100 == pytest.approx(float(text.get_text().replace("−", "-")), abs=1e-6)
    assert ": −1.2 to 0.8. " in drawing.words


def test_each_joint_has_its_panel_up_to_six():
    """More are refused in a sentence."""
    drawing = contour_drawing([plane(f"joint {n}") for n in range(3)])
    assert [axes.get_title(loc="left") for axes in drawing.figure.axes[:3]] == [
        "joint 0",
        "joint 1",
        "joint 2",
    ]
    with pytest.raises(InputFault, match="7 joints are too many"):
        contour_drawing([plane(f"joint {n}") for n in range(7)])


def test_candidates_are_drawn_where_they_are():
    """Mass along, margin up, torque as size and shade; a ring around each that nothing betters, its name beside it."""
    mass, margin, torque = np.array([[0.0, 2.0, 2.0], [-0.2, 0.1, 0.05], [1e3, 2e3, 3e3]])
    found = Candidates(("lug", "lug", "socket"), ("12 mm", "14 mm", "6 plies"), mass, margin, torque)
    drawing = pareto_drawing(found)
    axes = drawing.figure.axes[0]
    lug, socket, rings = axes.collections[:3]
    drawn = np.vstack([np.asarray(marks.get_offsets()) for marks in (lug, socket)])
    assert drawn == pytest.approx(np.column_stack([mass, margin]))
    assert list(lug.get_array()) + list(socket.get_array()) == pytest.approx([1, 2, 3])
    assert lug.get_sizes()[0] < lug.get_sizes()[1] < socket.get_sizes()[0]
    assert np.asarray(rings.get_offsets()) == pytest.approx(np.array([[0, -0.2], [2, 0.1]]))
    assert {text.get_text() for text in axes.texts} >= {"12 mm", "14 mm", "6 plies"}
    assert len(drawing.figure.axes) == 1
    scale = axes.get_legend()
    assert "torque" in scale.get_title().get_text()
    assert [text.get_text() for text in scale.get_texts()] == ["1 kN·m", "2 kN·m", "3 kN·m"]
    drawing.figure.canvas.draw()
    marks = [(m.get_markersize() ** 2, m.get_markerfacecolor()) for m in scale.legend_handles]
    for (size, colour), own in zip(marks, ((lug, 0), (lug, 1), (socket, 0)), strict=True):
        points, number = own
        assert size == pytest.approx(points.get_sizes()[number])
        assert colour == pytest.approx(points.get_facecolors()[number])
    assert "3 candidates. Ringed: 2" in drawing.words


def test_of_many_candidates_only_those_that_nothing_betters_are_named():
    """Twenty along a line, each heavier and worse than the one before: the first alone has its name."""
    line = np.arange(20.0)
    found = Candidates(("lug",) * 20, tuple(f"size {n}" for n in range(20)), line, -line, line)
    texts = {text.get_text() for text in pareto_drawing(found).figure.axes[0].texts}
    assert {text for text in texts if text.startswith("size")} == {"size 0"}


def test_a_name_that_is_no_picture_is_refused(tmp_path, capsys):
    """Before anything is worked out."""
    with pytest.raises(SystemExit) as ended:
        main(["sweep", "boat.toml", "--grid", "grid.toml", "--contour", str(tmp_path / "x.txt")])
    assert ended.value.code == 2
    assert "end it in .png or .svg" in capsys.readouterr().err
