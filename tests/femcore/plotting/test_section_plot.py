"""Pictures of sections: they are drawn, carry their units, and mark what governs."""

import io

import numpy as np
import pytest
from matplotlib.colors import to_hex
from matplotlib.patches import PathPatch
from matplotlib.path import Path
from matplotlib.quiver import Quiver

from femcore.base.numbers import engineering
from femcore.plotting import style
from femcore.plotting.section_plot import (
    COMPRESSION,
    SHEAR,
    TALLEST_ORDINATE,
    TENSION,
    flow_picture,
    property_rows,
    section_picture,
)
from femcore.sections import Wall, analyse, box, channel, metal_stress, recover, with_web
from femcore.sections.properties import properties

METAL = Wall.isotropic(70e9, 4e-3, nu=0.3, density=2700.0, name="aluminium")


def words(figure):
    """Every text of a figure."""
    return " | ".join(text.get_text() for text in figure.findobj(lambda each: hasattr(each, "get_text")))


def drawn(figure):
    """The picture as bytes: it can be saved."""
    target = io.BytesIO()
    figure.savefig(target, format="png", dpi=50)
    return target.getvalue()


@pytest.mark.parametrize(
    "section", [channel(0.05, 0.1, METAL), with_web(box(0.3, 0.16, METAL), (0, -0.08), (0, 0.08), METAL)]
)
def test_a_section_s_drawing_has_dimensions_walls_centres_and_numbers(section):
    """Dimensions are those over the walls' outsides, in mm; walls have name and thickness; the table has every number."""
    solved = analyse(section)
    figure = section_picture(solved)
    text, beam = words(figure), properties(solved)
    assert "shear centre (×)" in text or "both centres" in text
    for word in ("aluminium, 4 mm", "Properties of the section"):
        assert word in text
    for said, symbol, value in property_rows(beam):
        assert {said, symbol, value} <= set(text.split(" | ")) | {""}
    assert engineering(beam.GJ, "N·m²", 4) in text
    half = METAL.thickness / 2
    for axis in (0, 1):
        low, high = section.points[:, axis].min(), section.points[:, axis].max()
        assert {f"{1e3 * (high - low + over):.4g}" for over in (0, half, 2 * half)} & set(text.split(" | "))
    assert not text.count("nan")
    assert drawn(figure).startswith(b"\x89PNG")


@pytest.mark.parametrize("height", [0.9, 1.2, 1.6])
def test_names_in_a_tall_section_stand_off_its_walls(height):
    """Names of the centres and walls cross no wall, as they may stand on the principal axes."""
    figure = section_picture(analyse(box(0.6, height, METAL)))
    figure.canvas.draw()
    axes = figure.axes[0]
    walls = [
        Path(piece)
        for patch in axes.patches
        if isinstance(patch, PathPatch)
        for piece in patch.get_transform().transform_path(patch.get_path()).to_polygons()
    ]
    named = [text for text in axes.texts if "centre" in text.get_text() or "aluminium" in text.get_text()]
    assert walls
    assert len(named) == 2
    for text in named:
        assert not any(wall.intersects_bbox(text.get_window_extent()) for wall in walls)


def test_a_box_is_as_wide_as_its_outside():
    """A box 300 by 160 mm between the middles of walls of 4 mm is 304 by 164 mm over all."""
    text = words(section_picture(analyse(box(0.3, 0.16, METAL)))).split(" | ")
    assert {"304", "164"} <= set(text)


def test_ordinates_are_the_flows():
    """Ordinates off the walls are in proportion to the flows: tension outwards, compression inwards; both largest are written."""
    solved = analyse(box(0.3, 0.16, METAL))
    flows = recover(solved, [5e4, 0, 2e4, 1e3, 8e3, 0])
    figure = flow_picture(solved, flows)
    left, right = figure.axes
    n, q = flows.n_x[0], np.abs(flows.q[0])
    most = TALLEST_ORDINATE * solved.section.size * 1e3
    texts = words(figure).split(" | ")
    assert f"tension {engineering(n.max(), 'N/m')}" in texts
    assert f"compression {engineering(-n.min(), 'N/m')}" in texts
    assert f"largest {engineering(q.max(), 'N/m')}" in texts
    for axes, values, colour in ((left, q, SHEAR), (right, n, TENSION), (right, -n, COMPRESSION)):
        [areas] = [one for one in axes.patches if to_hex(one.get_facecolor()) == style.tint(colour)]
        corners = areas.get_path().vertices.reshape(-1, 7, 2)[:, :6]
        wall, tip = corners[:, :3], corners[:, :2:-1]
        deep = np.linalg.norm(tip - wall, axis=2).max()
        # the box is about the origin: outwards is along the wall's own place
        along = np.sum((tip - wall) * wall, axis=2)
        assert (along <= 1e-9).all() if colour == COMPRESSION else (along >= -1e-9).all()
        assert deep == pytest.approx(most * values.max() / np.abs(n if axes is right else q).max(), rel=1e-6)


def test_arrows_follow_the_shear_flow():
    """A torque's flow goes once round a box, anticlockwise as seen from the end of +x where it is positive."""
    solved = analyse(box(0.3, 0.16, METAL))
    for sign in (1, -1):
        figure = flow_picture(solved, recover(solved, [0, 0, 0, sign * 1e3, 0, 0]))
        [arrows] = [one for one in figure.axes[0].collections if isinstance(one, Quiver)]
        turning = arrows.X * arrows.V - arrows.Y * arrows.U
        assert len(turning) > 20
        assert (np.sign(turning) == sign).all()


def test_flow_picture_marks_the_largest_stress():
    """The star is where von Mises stress is largest, and its value is the one recovered."""
    solved = analyse(box(0.3, 0.16, METAL))
    flows = recover(solved, [0, 0, 2e4, 0, 8e3, 0])
    figure = flow_picture(solved, flows)
    largest = metal_stress(solved, flows).von_mises.max() / 1e6
    assert f"von Mises {largest:.3g} MPa" in words(figure)
    stars = [line for axes in figure.axes for line in axes.lines if line.get_marker() == "*"]
    assert len(stars) == 1
    gap = np.hypot(*(flows.place.reshape(-1, 2) * 1e3 - stars[0].get_xydata()).T).min()
    assert gap < 1e-9
    assert drawn(figure).startswith(b"\x89PNG")


def test_flow_picture_takes_the_governing_ply_from_its_caller():
    """Where plies govern, the caller names the place and the words."""
    solved = analyse(channel(0.05, 0.1, METAL))
    flows = recover(solved, [0, 0, 1e3, 0, 0, 0])
    figure = flow_picture(solved, flows, governing=(1, 2, "ply 3, matrix tension"), title="a case")
    assert "ply 3, matrix tension" in words(figure)
    assert "a case" in words(figure)


def test_no_colour_map_or_colour_bar_of_a_library():
    """Neither drawing has a side bar, and every colour is of the house."""
    solved = analyse(box(0.3, 0.16, METAL))
    for figure in (section_picture(solved), flow_picture(solved, recover(solved, [0, 0, 2e4, 1e3, 8e3, 0]))):
        assert len(figure.axes) == 2
        areas = [one for axes in figure.axes for one in axes.collections]
        assert all(isinstance(one, Quiver) for one in areas), "nothing is coloured by a map"
