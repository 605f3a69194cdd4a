"""What cannot be built is refused in one sentence that names the shape, what is wrong, and the cure."""

import numpy as np
import pytest

from femcore.base.errors import InputFault
from femcore.sections import (
    Section,
    Wall,
    analyse,
    box,
    channel,
    outline,
    oval,
    recover,
    round_tube,
    with_web,
)

METAL = Wall.isotropic(70e9, 3e-3, nu=0.3)


class Flimsy:
    """A laminate without stiffness."""

    A = B = D = np.zeros((3, 3))
    thickness, areal_mass = 1e-3, 1.0


def graph(points, segments):
    """A section of one wall from points and segments."""
    count = len(segments)
    return Section(
        np.array(points, float),
        np.array(segments),
        (METAL,),
        np.zeros(count, int),
        ("wall",) * count,
        np.full(count, np.inf),
    )


FAULTS = {
    "negative thickness": (lambda: Wall.isotropic(70e9, -3e-3, nu=0.3), "thickness = -0.003 m"),
    "no modulus": (lambda: Wall.isotropic(0.0, 3e-3, nu=0.3), "E = 0 Pa"),
    "G and nu": (lambda: Wall.isotropic(70e9, 3e-3, nu=0.3, G=26e9), "exactly one of G and nu"),
    "neither G nor nu": (lambda: Wall.isotropic(70e9, 3e-3), "exactly one of G and nu"),
    "impossible nu": (lambda: Wall.isotropic(70e9, 3e-3, G=10e9), "Poisson's ratio of 2.5"),
    "negative density": (lambda: Wall.isotropic(70e9, 3e-3, nu=0.3, density=-1.0), "mass of -0.003"),
    "no stiffness": (lambda: Wall.from_laminate(Flimsy(), name="film"), "wall 'film': has no stiffness"),
    "one point": (lambda: outline([[0, 0]], METAL), "has 1 point; give at least two"),
    "not pairs": (lambda: outline([[0, 0, 0], [1, 0, 0]], METAL), "not pairs of y and z"),
    "closed line": (lambda: outline([[0, 0], [1, 0]], METAL, closed=True), "fewer than three points"),
    "twice the same point": (
        lambda: outline([[0, 0], [1, 0], [1, 0], [1, 1]], METAL),
        "lists the point (1, 0) m twice",
    ),
    "there and back": (
        lambda: graph([[0, 0], [1, 0]], [[0, 1], [1, 0]]),
        "two walls between the same two points",
    ),
    "bow tie": (
        lambda: outline([[0, 0], [1, 1], [1, 0], [0, 1]], METAL, closed=True),
        "crosses itself at (0.5, 0.5) m",
    ),
    "two pieces": (lambda: graph([[0, 0], [1, 0], [0, 1], [1, 1]], [[0, 1], [2, 3]]), "falls into 2 pieces"),
    "lone point": (
        lambda: graph([[0, 0], [1, 0], [5, 5]], [[0, 1]]),
        "falls into 2 pieces, one of them at (5, 5) m",
    ),
    "touching": (
        lambda: graph([[0, 0], [2, 0], [2, 1], [1, 0]], [[0, 1], [1, 2], [2, 3]]),
        "touches another at (1, 0) m",
    ),
    "fold back": (lambda: outline([[0, 0], [2, 0], [1, 0]], METAL), "touches another at (1, 0) m"),
    "unknown point": (lambda: graph([[0, 0], [1, 0]], [[0, 2]]), "a point that does not exist"),
    "web in the air": (
        lambda: with_web(box(2, 1, METAL), (0, 0), (0, 0.5), METAL),
        "ends at (0, 0) m, on no wall",
    ),
    "too few walls": (lambda: outline([[0, 0], [1, 0], [1, 1]], [METAL]), "has 2 walls to build and 1 given"),
    "three walls of a box": (lambda: box(2, 1, [METAL] * 3), "has 3 walls"),
    "large radius": (lambda: box(2, 1, METAL, corner_radius=0.6), "corner radius of 0.6 m"),
    "negative diameter": (lambda: round_tube(-0.1, METAL), "diameter of -0.1 m"),
    "thick oval": (lambda: oval(0.1, 0.002, METAL), "smaller side of 0.002 m over walls of 0.003 m"),
    "odd facets": (lambda: round_tube(0.1, METAL, facets=9), "has 9 facets"),
    "no width": (lambda: channel(0.0, 0.1, METAL), "smaller side of 0 m"),
    "five actions": (lambda: recover(analyse(channel(0.05, 0.1, METAL)), [1, 2, 3, 4, 5]), "not six numbers"),
    "not a number": (lambda: outline([[0, 0], [np.nan, 1]], METAL), "not finite"),
}


@pytest.mark.parametrize("name", FAULTS)
def test_fault_is_one_sentence(name):
    """Each impossible shape raises InputFault: one line, what is wrong, and a cure after the semicolon."""
    make, words = FAULTS[name]
    with pytest.raises(InputFault) as caught:
        make()
    message = str(caught.value)
    assert words in message
    assert "; " in message
    assert "\n" not in message


def test_loose_ends_are_fine_in_an_open_section():
    """A wall may end free; the last point repeated closes a closed outline once."""
    assert len(channel(0.05, 0.1, METAL).segments) == 3
    square = [[0, 0], [1, 0], [1, 1], [0, 1], [0, 0]]
    assert len(outline(square, METAL, closed=True).segments) == 4
