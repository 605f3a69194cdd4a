"""Closed forms of solid and hollow sections against published tables and plain integration."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from femcore.base.errors import InputFaults
from femcore.files.frame_file.shapes import Box, Rectangle, Round, Tube, rectangle_torsion

LENGTHS = st.floats(1e-3, 2.0)


def mm(value):
    """A length in metres as a file would have it."""
    return f"{value!r} m"


@pytest.mark.parametrize(
    ("ratio", "k"),
    [(1, 0.1406), (1.5, 0.196), (2, 0.229), (3, 0.263), (4, 0.281), (6, 0.299), (10, 0.312)],
)
def test_torsion_of_a_rectangle_is_timoshenkos(ratio, k):
    """J/ab³ of a rectangle (S.P. Timoshenko & J.N. Goodier, Theory of Elasticity, 3rd ed., sec. 109, table),
    whichever side is up.
    """
    assert rectangle_torsion(ratio * 0.1, 0.1) / (ratio * 0.1**4) == pytest.approx(k, abs=7e-4)
    assert rectangle_torsion(0.1, ratio * 0.1) == rectangle_torsion(ratio * 0.1, 0.1)


@given(a=LENGTHS, b=LENGTHS)
def test_torsion_of_a_rectangle_is_roarks(a, b):
    """J = a b³ (16/3 − 3.36 b/a (1 − b⁴/12a⁴)) of 2a × 2b (Roark's Formulas, 7th ed., table 10.1 case 4)
    within 0.5 %.
    """
    a, b = max(a, b), min(a, b)
    roark = a * b**3 * (16 / 3 - 3.36 * b / a * (1 - b**4 / (12 * a**4)))
    assert rectangle_torsion(2 * a, 2 * b) == pytest.approx(roark, rel=5e-3)


@pytest.mark.parametrize(
    ("shape", "coefficient"),
    [
        (Rectangle(shape="rectangle", width="30 mm", height="80 mm", shear=True), 0.850),
        (Round(shape="round", diameter="50 mm", shear=True), 0.886),
        (Tube(shape="tube", diameter="100 mm", wall="1 mm", shear=True), 0.531),
    ],
)
def test_shear_coefficients_are_cowpers(shape, coefficient):
    """Shear area over area at ν = 0.3 (G.R. Cowper, J. Appl. Mech. 33 (1966) 335-340)."""
    found = shape.properties(0.3)
    assert found.Ay / found.A == found.Az / found.A == pytest.approx(coefficient, abs=5e-4)


def test_torsion_of_a_box_is_bredts():
    """J = 2 t b² h²/(b + h) on the middle line: 200 × 100 × 5 mm gives 1.33333·10⁷ mm⁴ (R. Bredt, 1896;
    Roark, from memory).
    """
    box = Box(shape="box", width="205 mm", height="105 mm", wall="5 mm").properties(None)
    assert box.J == pytest.approx(1.33333e7 * 1e-12, rel=1e-5)


def test_torsion_of_a_thin_tube_is_bredts():
    """Exact J of a round tube is 2πR³t to the square of its thinness: R 50, t 3 mm within 0.1 %."""
    tube = Tube(shape="tube", diameter="103 mm", wall="3 mm").properties(None)
    assert tube.J == pytest.approx(2 * np.pi * 0.05**3 * 0.003, rel=1e-3)
    assert tube.J == pytest.approx(2.35832e6 * 1e-12, rel=1e-5)


def integrated(inside, width, height, n=1200):
    """A, Iy, Iz by summing over a fine raster, y along width and z along height."""
    y, z = ((np.arange(n) + 0.5) / n - 0.5) * width, ((np.arange(n) + 0.5) / n - 0.5) * height
    Y, Z = np.meshgrid(y, z)
    cell = inside(Y, Z) * (width / n) * (height / n)
    return cell.sum(), (cell * Z**2).sum(), (cell * Y**2).sum()


@pytest.mark.parametrize(
    ("shape", "inside", "width", "height"),
    [
        (Round(shape="round", diameter="2 m"), lambda y, z: y**2 + z**2 < 1, 2, 2),
        (
            Tube(shape="tube", diameter="2 m", wall="0.3 m"),
            lambda y, z: (y**2 + z**2 < 1) & (y**2 + z**2 > 0.49),
            2,
            2,
        ),
        (Rectangle(shape="rectangle", width="1 m", height="3 m"), lambda y, z: y == y + 0 * z, 1, 3),
        (
            Box(shape="box", width="1 m", height="3 m", wall="0.1 m"),
            lambda y, z: (np.abs(y) > 0.4) | (np.abs(z) > 1.4),
            1,
            3,
        ),
    ],
)
def test_areas_and_second_moments_are_integrals(shape, inside, width, height):
    """A, Iy = ∫z² and Iz = ∫y² are those of the figure, `width` along y and `height` along z."""
    found = shape.properties(None)
    np.testing.assert_allclose(
        [getattr(found, k) for k in ("A", "Iy", "Iz")], integrated(inside, width, height), rtol=2e-3
    )


@given(width=LENGTHS, height=LENGTHS, thinness=st.floats(0.01, 1))
def test_a_box_without_a_hole_is_a_rectangle(width, height, thinness):
    """A box whose wall is half its narrower side is the solid rectangle; a thinner one has less of
    everything.
    """
    half = min(width, height) / 2
    solid = Rectangle(shape="rectangle", width=mm(width), height=mm(height)).properties(None)
    filled = Box(shape="box", width=mm(width), height=mm(height), wall=mm(half)).properties(None)
    thin = Box(shape="box", width=mm(width), height=mm(height), wall=mm(half * thinness)).properties(None)
    for key in ("A", "Iy", "Iz"):
        assert getattr(filled, key) == pytest.approx(getattr(solid, key), rel=1e-9)
        assert getattr(thin, key) <= getattr(solid, key) * (1 + 1e-9)


@given(width=LENGTHS, height=LENGTHS)
def test_a_rectangle_turned_exchanges_its_axes(width, height):
    """Width and height exchanged exchange Iy and Iz, Ay and Az, and nothing else."""
    one = Rectangle(shape="rectangle", width=mm(width), height=mm(height), shear=True).properties(0.3)
    two = Rectangle(shape="rectangle", width=mm(height), height=mm(width), shear=True).properties(0.3)
    assert [getattr(one, k) for k in ("A", "Iy", "Iz", "J", "Ay", "Az")] == pytest.approx(
        [getattr(two, k) for k in ("A", "Iz", "Iy", "J", "Az", "Ay")]
    )
    assert one.J < one.Iy + one.Iz


def test_shear_of_a_box_lies_in_the_walls_along_the_force():
    """A box takes Vy in its two walls along y and Vz in those along z."""
    box = Box(shape="box", width="1 m", height="3 m", wall="0.1 m", shear=True).properties(None)
    assert (box.Ay, box.Az) == pytest.approx((2 * 0.9 * 0.1, 2 * 2.9 * 0.1))


def test_without_shear_there_are_no_shear_areas():
    """A shape has shear areas only where it is asked for shear."""
    for shape in (
        Round(shape="round", diameter="1 m"),
        Tube(shape="tube", diameter="1 m", wall="0.1 m"),
        Rectangle(shape="rectangle", width="1 m", height="2 m"),
        Box(shape="box", width="1 m", height="2 m", wall="0.1 m"),
    ):
        found = shape.properties(0.3)
        assert found.Ay is found.Az is None


def test_a_wall_that_leaves_no_room_is_refused():
    """A wall thicker than half the section is refused with the most it may be."""
    for make in (
        lambda: Tube(shape="tube", diameter="100 mm", wall="51 mm"),
        lambda: Box(shape="box", width="100 mm", height="300 mm", wall="51 mm"),
    ):
        with pytest.raises(InputFaults, match=r"leaves no room inside; give at most 0\.05 m"):
            make()
