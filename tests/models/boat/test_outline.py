"""Outlines by the outside of the walls: moved to their middle, exactly for straight strips."""

import numpy as np
import pytest

from femcore.base.errors import InputFault
from femcore.sections import Wall, properties
from models.boat.hull_section import HullStation, HullWalls, hull_section
from models.boat.outline import middle_of_walls

SIDE, DECK, KEEL = (Wall.isotropic(20e9, t, G=8e9, name="w") for t in (0.03, 0.02, 0.04))
BOX_WALLS = HullWalls((SIDE,), DECK, KEEL)


def test_a_box_loses_half_a_wall_on_each_side():
    """A box of half-breadth 0.4 m, 1.2 m high: the sides move in by 15 mm, the deck down by 10 mm, the keel up by 20 mm."""
    found = middle_of_walls(HullStation(1.0, (0.4, 0.4), (0.1, 1.3)), BOX_WALLS)
    assert found.half_breadth == pytest.approx((0.385, 0.385), abs=1e-12)
    assert found.height == pytest.approx((0.12, 1.29), abs=1e-12)
    assert found.crown == pytest.approx(0.0, abs=1e-12)


def test_gj_of_a_box_by_its_outside_is_bredt_s():
    """GJ = 4A²/∮ds/Gt + Σ Gst³/3 of the mid-wall rectangle of 0.77 m by 1.17 m, by hand."""
    beam = properties(
        hull_section(middle_of_walls(HullStation(0.0, (0.4, 0.4), (0.1, 1.3)), BOX_WALLS), BOX_WALLS)
    )
    b, h = 0.77, 1.17
    bredt = 4 * (b * h) ** 2 * 8e9 / (2 * h / 0.03 + b / 0.02 + b / 0.04)
    own = 8e9 * (2 * h * 0.03**3 + b * 0.02**3 + b * 0.04**3) / 3
    assert beam.GJ == pytest.approx(bredt + own, rel=1e-6)


def test_a_sloping_strip_moves_square_to_itself():
    """A V bottom at 45° of 30 mm: its middle is 15 mm square to it inward, so √2 · 15 mm above at the centreline."""
    walls = HullWalls((SIDE, SIDE), DECK)
    outside = HullStation(0.0, (0.0, 0.4, 0.4), (0.0, 0.4, 1.4))
    found = middle_of_walls(outside, walls)
    assert (found.half_breadth[0], found.height[0]) == pytest.approx((0.0, 0.015 * np.sqrt(2)), abs=1e-12)
    (y0, y1), (z0, z1) = found.half_breadth[:2], found.height[:2]
    assert (z1 - z0) / (y1 - y0) == pytest.approx(1.0)
    assert y1 == pytest.approx(0.385, abs=1e-12)


def test_thin_walls_change_nothing():
    """In the limit of no thickness outside and middle are one; the corner of a straight side moves square to it."""
    thin = Wall.isotropic(20e9, 1e-9, G=8e9, name="t")
    outside = HullStation(2.0, (0.1, 0.25, 0.35, 0.45), (0.0, 0.3, 0.7, 1.1), 0.05)
    found = middle_of_walls(outside, HullWalls((thin,) * 3, thin))
    assert found.half_breadth == pytest.approx(outside.half_breadth, abs=1e-8)
    assert found.height == pytest.approx(outside.height, abs=1e-8)
    assert found.crown == pytest.approx(outside.crown, abs=1e-8)
    thick = Wall.isotropic(20e9, 0.02, G=8e9, name="t")
    straight = middle_of_walls(
        HullStation(0.0, (0.4, 0.4, 0.4), (0.0, 0.5, 1.0)), HullWalls((thick,) * 2, thick)
    )
    assert straight.half_breadth[1] == pytest.approx(0.39, abs=1e-12)
    assert straight.height[1] == pytest.approx(0.5, abs=1e-12)


def test_every_corner_is_half_a_wall_from_its_strips():
    """Of any outline: each moved corner is half the thickness square to both strips that meet there."""
    walls = HullWalls((SIDE, DECK, KEEL), DECK, KEEL)
    outside = HullStation(0.0, (0.1, 0.3, 0.45, 0.5), (0.0, 0.2, 0.7, 1.4), 0.06)
    found = middle_of_walls(outside, walls)
    corners, moved = (np.column_stack([s.half_breadth, s.height]) for s in (outside, found))
    for strip, wall in enumerate(walls.skins):
        u = corners[strip + 1] - corners[strip]
        u /= np.linalg.norm(u)
        for end in (strip, strip + 1):
            d = moved[end] - corners[strip]
            assert u[0] * d[1] - u[1] * d[0] == pytest.approx(wall.thickness / 2, abs=1e-12)
    assert found.height[-1] + found.crown == pytest.approx(1.46 - 0.01, abs=1e-12)


def test_walls_too_thick_for_the_outline_are_a_fault():
    """A box of 20 mm with walls of 30 mm has no middle: the cure names the key."""
    with pytest.raises(InputFault, match='outline = "middle"'):
        middle_of_walls(HullStation(0.0, (0.01, 0.01), (0.0, 1.0)), BOX_WALLS)
