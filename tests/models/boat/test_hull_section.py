"""Hull sections from stations: closed cells against Bredt, cuts against open sections, lengths by twist."""

import numpy as np
import pytest
from scipy.integrate import quad

from femcore.base.errors import InputFault
from femcore.sections import Wall, cells, properties
from models.boat.hull_section import (
    Hatch,
    HullStation,
    HullWalls,
    average_GJ,
    bow_stiffness,
    hull_section,
    interpolate,
)

SKIN = Wall.isotropic(20e9, 8e-3, G=8e9, density=1500.0, name="skin")
DECK = Wall.isotropic(15e9, 6e-3, G=5e9, density=1500.0, name="deck")
WALLS = HullWalls((SKIN, SKIN), DECK)
ROOT = HullStation(0.0, (0.0, 0.25, 0.35), (0.0, 0.3, 1.1), 0.05)
STEM = HullStation(4.0, (0.0, 0.1, 0.2), (0.2, 0.45, 1.2), 0.03)
HATCH = Hatch(1.0, 0.6, 0.3)


def test_flat_decked_hull_follows_bredt():
    """One cell of flat strips: GJ = 4A²/∮ds/Gt + Σ Gst³/3, with A and lengths by hand."""
    station = HullStation(0.0, (0.1, 0.25, 0.35), (0.0, 0.3, 1.1))
    beam = properties(hull_section(station, WALLS))
    bottom, side = np.hypot(0.15, 0.3), np.hypot(0.1, 0.8)
    area = (0.1 + 0.25) * 0.3 + (0.25 + 0.35) * 0.8
    skins = 2 * bottom + 2 * side + 0.2
    bredt = 4 * area**2 / (skins / (8e9 * 8e-3) + 0.7 / (5e9 * 6e-3))
    own = (skins * 8e9 * 8e-3**3 + 0.7 * 5e9 * 6e-3**3) / 3
    assert beam.cell_area == pytest.approx([area], rel=1e-9)
    assert pytest.approx(bredt + own, rel=1e-6) == beam.GJ
    assert pytest.approx(20e9 * 8e-3 * skins + 15e9 * 6e-3 * 0.7, rel=1e-9) == beam.EA


@pytest.mark.parametrize("width", [0.0, 0.3])
def test_hull_is_symmetric(width):
    """Port and starboard alike: centres on the centreline, no product of inertia."""
    beam = properties(hull_section(ROOT, WALLS, hatch_width=width))
    np.testing.assert_allclose([beam.centre[0], beam.shear_centre[0]], 0.0, atol=1e-9)
    assert abs(beam.EIyz) < 1e-9 * beam.EI1


def test_hatch_opens_the_cell_and_takes_nearly_all_torsion_with_it():
    """Cut, the section loses its cell, and GJ falls to Σ Gst³/3: less than a thousandth here."""
    whole, cut = hull_section(ROOT, WALLS), hull_section(ROOT, WALLS, hatch_width=0.3)
    assert (len(cells(whole)), len(cells(cut))) == (1, 0)
    open_GJ = sum(
        length * wall.G * wall.thickness**3 / 3
        for length, wall in zip(cut.length, (cut.walls[i] for i in cut.wall_of), strict=True)
    )
    assert pytest.approx(open_GJ, rel=1e-6) == properties(cut).GJ
    assert properties(cut).GJ < 1e-3 * properties(whole).GJ
    assert whole.length.sum() - cut.length.sum() == pytest.approx(0.3, rel=0.02)
    # The shear centre leaves the hull: below the keel of an open-topped section.
    assert properties(cut).shear_centre[1] < 0.0 < properties(whole).shear_centre[1]


def test_stations_stand_twice_at_a_hatchs_ends_and_nothing_is_averaged():
    """Whole up to the hatch, cut along it, whole again: each of two stations at one x is itself."""
    bow = bow_stiffness([ROOT, STEM], WALLS, [HATCH])
    np.testing.assert_allclose(bow.x, [0, 1, 1, 1.6, 1.6, 4])
    assert bow.deck_open.tolist() == [False, False, True, True, False, False]
    for x, width, GJ in zip(bow.x, np.where(bow.deck_open, 0.3, 0.0), bow.GJ, strict=True):
        alone = properties(hull_section(interpolate([ROOT, STEM], x), WALLS, hatch_width=width))
        assert pytest.approx(GJ, rel=1e-9) == alone.GJ


def test_station_inside_a_hatch_is_cut_and_one_at_its_end_is_both():
    """Stations that fall into or onto a hatch are treated as the hatch says."""
    middle, edge = interpolate([ROOT, STEM], 1.3), interpolate([ROOT, STEM], 1.6)
    bow = bow_stiffness([ROOT, middle, edge, STEM], WALLS, [HATCH])
    np.testing.assert_allclose(bow.x, [0, 1, 1, 1.3, 1.6, 1.6, 4])
    assert bow.deck_open.tolist() == [False, False, True, True, True, False, False]


def test_torque_average_is_the_one_stiffness_that_twists_as_much():
    """L/∫dx/GJ by quadrature, with GJ linear between stations and steps at a hatch."""
    bow = bow_stiffness([ROOT, STEM], WALLS, [HATCH])
    twist = sum(
        quad(lambda x, i=i: 1 / np.interp(x, bow.x[[i, i + 1]], bow.GJ[[i, i + 1]]), bow.x[i], bow.x[i + 1])[
            0
        ]
        for i in range(0, 6, 2)
    )
    twist += sum(
        quad(lambda x, i=i: 1 / np.interp(x, bow.x[[i, i + 1]], bow.GJ[[i, i + 1]]), bow.x[i], bow.x[i + 1])[
            0
        ]
        for i in range(1, 5)
        if bow.x[i + 1] > bow.x[i] and i % 2
    )
    assert average_GJ(bow.x, bow.GJ) == pytest.approx(4.0 / twist, rel=1e-9)
    # 0.6 m of cut in 4 m governs: nowhere near the mean of GJ.
    assert average_GJ(bow.x, bow.GJ) < 0.01 * bow.GJ.mean()
    assert average_GJ([0, 1, 3], [5.0, 5.0, 5.0]) == pytest.approx(5.0, rel=1e-12)


FAULTS = {
    "strips": (lambda: hull_section(ROOT, HullWalls((SKIN,), DECK)), "has 2 strips and 1 walls"),
    "wide hatch": (lambda: hull_section(ROOT, WALLS, hatch_width=0.8), "hatch of 0.8 m in a deck of 0.7 m"),
    "falling heights": (lambda: HullStation(1.0, (0.0, 0.2), (0.5, 0.1)), "heights that do not rise"),
    "uneven": (lambda: HullStation(1.0, (0.0, 0.2), (0.5,)), "2 half-breadths and 1 heights"),
    "negative breadth": (lambda: HullStation(1.0, (0.0, -0.2), (0.0, 0.5)), "half-breadth below zero"),
    "hollow deck": (lambda: HullStation(1.0, (0.0, 0.2), (0.0, 0.5), -0.1), "deck crown of -0.1 m"),
    "flat hatch": (lambda: Hatch(1.0, 0.0, 0.3), "length of 0 m"),
    "backward": (lambda: bow_stiffness([STEM, ROOT], WALLS), "do not advance along x"),
    "chines": (
        lambda: bow_stiffness([ROOT, HullStation(4.0, (0.0, 0.2), (0.0, 1.0))], WALLS),
        "number of chines",
    ),
    "far hatch": (lambda: bow_stiffness([ROOT, STEM], WALLS, [Hatch(3.8, 0.5, 0.2)]), "beyond the stations"),
    "two hatches": (
        lambda: bow_stiffness([ROOT, STEM], WALLS, [HATCH, Hatch(1.5, 0.5, 0.2)]),
        "meets the one before it",
    ),
    "torque average": (lambda: average_GJ([0, 0], [1, 2]), "stations that advance"),
}


@pytest.mark.parametrize("name", FAULTS)
def test_fault_is_one_sentence(name):
    """What cannot be built is refused in one line with a cure."""
    make, words = FAULTS[name]
    with pytest.raises(InputFault) as caught:
        make()
    assert words in str(caught.value)
    assert "; " in str(caught.value)
