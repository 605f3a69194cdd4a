"""Pictures of sections: they are drawn, carry their units, and mark what governs."""

import io

import numpy as np
import pytest

from femcore.plotting.section_plot import flow_picture, section_picture
from femcore.sections import Wall, analyse, box, channel, metal_stress, recover, with_web

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
def test_section_picture_names_units_and_centres(section):
    """Axes in mm, stiffnesses with units, walls, centres and principal axes in the legend."""
    figure = section_picture(analyse(section))
    text = words(figure)
    for word in (
        "y (mm)",
        "z (mm)",
        "N·m²",
        "kg/m",
        "elastic centre",
        "shear centre",
        "principal axes",
        "aluminium, 4 mm",
    ):
        assert word in text
    assert drawn(figure).startswith(b"\x89PNG")


def test_flow_picture_marks_the_largest_stress():
    """The star stands where von Mises stress is largest, and its value is the one recovered."""
    solved = analyse(box(0.3, 0.16, METAL))
    flows = recover(solved, [0, 0, 2e4, 0, 8e3, 0])
    figure = flow_picture(solved, flows)
    largest = metal_stress(solved, flows).von_mises.max() / 1e6
    text = words(figure)
    assert f"von Mises {largest:.3g} MPa" in text
    assert "shear flow |q| (kN/m)" in text
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
