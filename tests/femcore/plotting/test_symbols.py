"""How a frame is looked at, what stands at its points, and how modes and large turns are drawn."""

from pathlib import Path

import numpy as np
import pytest

from femcore.files.frame_file import read_frame_file
from femcore.files.frame_run import run_frame
from femcore.frame.builder import End, FrameBuilder, Stiffness
from femcore.frame.frame import Loads
from femcore.plotting import frame_plot, style, symbols
from femcore.plotting.projection import OBLIQUE_VIEW, PLANE_VIEWS, View, choose_view
from femcore.results import deflected_shape
from femcore.solvers.buckling import Modes
from femcore.solvers.solution import solve

STIFF = Stiffness(EA=2e8, EIy=1e6, EIz=2e6, GJ=8e5)
PLANES = {0: (1, 2), 1: (0, 2), 2: (0, 1)}


def cantilever(along, load, moment=(0, 0, 0), arm=(0, 0, 0), line=(0, 0, 0)):
    """A beam built in at one end, loaded at the other and along its length (global axes)."""
    builder = FrameBuilder()
    builder.node("root", (0, 0, 0))
    builder.node("tip", along)
    up = (0, 0, 1) if along[2] == 0 else (1, 0, 0)
    builder.beam("beam", ["root", "tip"], STIFF, up, 2, start=End(arm), end=End(arm))
    builder.support("root", range(6))
    frame = builder.build()
    loads = Loads.zeros(frame, "load")
    loads.nodal[0, frame.node_index["tip"]] = (*load, *moment)
    loads.line[0] = frame.axes @ np.array(line, dtype=float)
    return solve(frame, loads)


@pytest.mark.parametrize(
    ("solution", "axis"),
    [
        (cantilever((2, 0, 0), (0, 0, -1)), 1),
        (cantilever((2, 0, 0), (0, -1, 0)), 2),
        (cantilever((0, 2, 0), (0, 0, -1)), 0),
        (cantilever((2, 0, 1), (3, 0, -1), (0, 5, 0)), 1),
        (cantilever((2, 0, 0), (0, 0, 0), line=(0, 0, -5)), 1),
        (cantilever((2, 0, 0), (0, 1, -1)), None),
        (cantilever((2, 0, 0), (0, 0, -1), (1, 0, 0)), None),
        (cantilever((2, 1, 0), (0, 0, -1)), None),
        (cantilever((2, 0, 0), (0, 0, -1), arm=(0, 0.1, 0)), None),
        (cantilever((2, 0, 0), (0, 0, -1), line=(0, 1, 0)), None),
    ],
)
def test_a_frame_in_a_plane_is_seen_square_to_it(solution, axis):
    """Square to the plane where nodes, arms, loads and movements keep to it, from a corner where one does not."""
    assert choose_view(solution) is (OBLIQUE_VIEW if axis is None else PLANE_VIEWS[axis])
    assert choose_view(solution).normal_axis == axis


@pytest.mark.parametrize("axis", [0, 1, 2])
def test_square_views_show_two_axes_to_the_right_and_up(axis):
    """Of the two axes that are seen, the first points to the right and the second up; the third at the eye."""
    seen = PLANE_VIEWS[axis].project(np.eye(3))
    right, up = PLANES[axis]
    assert np.allclose(seen[right], [1, 0])
    assert np.allclose(seen[up], [0, 1])
    assert np.allclose(seen[axis], 0)
    assert abs(PLANE_VIEWS[axis].view_direction[axis]) == pytest.approx(1)


def test_the_eye_is_square_to_the_paper():
    """The direction to the eye has no place on the paper, from wherever one looks."""
    view = View(33.0, -12.0)
    assert np.allclose(view.project(view.view_direction), 0)
    assert view.normal_axis is None


@pytest.mark.parametrize(
    ("held", "mark"),
    [
        ("ux uz ry", ("s", True)),
        ("ux uz", ("^", True)),
        ("uz", ("^", False)),
        ("ux", (">", False)),
        ("uz ry", ("D", False)),
        ("ry", ("x", False)),
        ("uy rx rz", ("", False)),
        ("", ("", False)),
    ],
)
def test_supports_show_what_they_hold_in_the_plane(held, mark):
    """Square to x–z, what is held across the plane does not show, and what is held in it tells the mark."""
    fixed = np.array([freedom in held.split() for freedom in ("ux", "uy", "uz", "rx", "ry", "rz")])
    assert symbols.support_symbol(fixed, PLANE_VIEWS[1]) == mark


def drawn(solution, view):
    """The axes with the loads of the first case, at rest."""
    figure = style.new_figure(6, 4)
    axes = figure.subplots()
    symbols.loads(axes, solution, 0, 0.0, view)
    return axes


@pytest.mark.parametrize("line", [(0, 0, -5), (0, 0, 3), (2, 0, -2)])
def test_line_loads_point_as_they_act_and_end_at_the_member(line):
    """Every small arrow has the direction of the load, all have one length, and their heads lie along the member."""
    (arrows,) = drawn(cantilever((2, 0, 0), (0, 0, 0), line=line), PLANE_VIEWS[1]).collections
    way = np.column_stack([arrows.U, arrows.V])
    wanted = np.array([line[0], line[2]]) / np.hypot(line[0], line[2]) * 2.0 * symbols.LINE_LOAD_ARROW
    assert np.allclose(way, wanted)
    heads = arrows.XY + way
    assert np.allclose(heads[:, 1], 0, atol=1e-12)
    assert (heads[:, 0].min(), heads[:, 0].max()) == pytest.approx((0, 2))


def test_a_load_along_its_member_is_drawn_beside_it():
    """Arrows along a member would hide in it, so they stand a little aside."""
    (arrows,) = drawn(cantilever((2, 0, 0), (0, 0, 0), line=(4, 0, 0)), PLANE_VIEWS[1]).collections
    assert np.allclose(np.abs(arrows.XY[:, 1]), 2.0 * symbols.AXIAL_LOAD_OFFSET)
    assert np.allclose(arrows.V, 0)


def test_forces_end_at_their_node():
    """The arrow of a force ends at its node and comes from where it pushes."""
    (arrow,) = drawn(cantilever((2, 0, 0), (0, 0, -7)), PLANE_VIEWS[1]).texts
    assert arrow.xy == pytest.approx((2, 0))
    assert arrow.xyann == pytest.approx((2, 2.0 * symbols.FORCE_ARROW))


def test_a_small_force_is_still_seen():
    """Beside a force a thousand times as large, an arrow keeps a third of its length."""
    solution = cantilever((2, 0, 0), (0, 0, -1))
    solution.loads.nodal[0, 0, 0] = 1000.0
    lengths = sorted(
        np.hypot(*np.subtract(arrow.xy, arrow.xyann)) for arrow in drawn(solution, PLANE_VIEWS[1]).texts
    )
    assert lengths == pytest.approx(
        [2 * symbols.FORCE_ARROW * symbols.MIN_ARROW_RATIO, 2 * symbols.FORCE_ARROW]
    )


@pytest.mark.parametrize(("moment", "clockwise"), [(4.0, True), (-4.0, False)])
def test_a_moment_about_the_line_of_sight_is_an_arc(moment, clockwise):
    """Seen with x to the right and z up, a positive moment about y turns clockwise (z towards x)."""
    axes = drawn(cantilever((2, 0, 0), (0, 0, 0), (0, moment, 0)), PLANE_VIEWS[1])
    arc = np.column_stack(axes.lines[-1].get_data()) - (2, 0)
    turn = np.diff(np.unwrap(np.arctan2(arc[:, 1], arc[:, 0])))
    assert (turn < 0).all() == clockwise
    assert (turn > 0).all() != clockwise


def test_any_other_moment_is_an_arrow_with_two_heads():
    """A torque about a beam that is seen from the side points along it, right-handed, with two heads."""
    first, second = drawn(cantilever((2, 0, 0), (0, 0, 0), (3, 0, 0)), PLANE_VIEWS[1]).texts
    assert first.xyann == second.xyann == pytest.approx((2, 0))
    assert first.xy[0] > second.xy[0] > 2


def test_lines_set_apart_keep_their_points():
    """Many lines as one path: all points in order, a gap between two lines."""
    lines = np.arange(12.0).reshape(3, 2, 2)
    path = symbols.broken_line(lines)
    assert np.array_equal(path[:, ~np.isnan(path[0])].T, lines.reshape(-1, 2))
    assert np.isnan(path[0]).tolist() == [False, False, True] * 3


def test_modes_move_the_frame_without_loads():
    """A mode becomes a case without loads, whose movements are the mode's, curved along the elements as beams are."""
    solution = cantilever((2, 0, 0), (0, 0, -1), line=(0, 0, -9))
    shapes = np.zeros((2, *solution.displacement.shape[1:]))
    tip = solution.frame.node_index["tip"]
    shapes[0, tip, 2] = shapes[1, tip, 1] = 1.0
    before = solution.loads.line.copy()
    moved = frame_plot.mode_shape_solution(solution, 0, Modes(np.array([2.0, 3.0]), shapes))
    assert moved.names == ("1", "2")
    assert not any(part.any() for part in moved.loads.arrays)
    assert np.array_equal(solution.loads.line, before)
    last = deflected_shape.deflected_shape(moved, 2).movement[0, -3:, 2]
    assert last == pytest.approx([0.0, 0.5, 1.0])


def test_what_only_turns_does_not_move():
    """A twisted straight shaft stays where it is: what rounding leaves is no movement to enlarge."""
    solution = cantilever((2, 1, 2), (0, 0, 0), (200, 100, 200))
    assert np.abs(solution.displacement[..., 3:]).max() > 1e-5
    assert deflected_shape.max_displacement(solution, 0) == 0.0


def test_large_turns_are_drawn_as_chords():
    """Where nodes have turned far, points of an element lie on the line between its moved ends."""
    (file,) = (Path(__file__).parents[3] / "cases" / "textbook").rglob("cantilever_rolled_into_a_circle.toml")
    solution = run_frame(read_frame_file(file)).solution
    shape = deflected_shape.deflected_shape(solution, 4)
    lies = (shape.point + shape.movement[solution.names.index("half")]).reshape(-1, 5, 3)
    straight = lies[:, :1] + np.linspace(0, 1, 5)[:, None] * (lies[:, -1:] - lies[:, :1])
    assert np.allclose(lies, straight)
    assert np.allclose(lies[1:, 0], lies[:-1, -1])
    assert lies[-1, -1, 0] == pytest.approx(0, abs=0.01)
