"""A pin bent between lugs and eyes: closed forms, and what never makes it softer."""

import math
from dataclasses import replace

import numpy as np
import pytest

from femcore.materials import metals
from models.strength.lugs.pin import Pin
from models.strength.lugs.pin_bending import PinBending, PressingPlates, pin_actions

STEEL = metals()["ss_1_4401"]
D = 0.02
EI = STEEL.E * math.pi / 64 * D**4
KGA = 6 * (1 + STEEL.nu) / (7 + 6 * STEEL.nu) * STEEL.shear_modulus * math.pi / 4 * D**2
THIN = 1e-7
"""m: plates so thin that they press at points."""
PINNED = PinBending(STEEL, D, PressingPlates((-0.06, 0.06), 0.012), PressingPlates((-0.04, 0.04), 0.015))


def test_a_point_force_between_two_lugs_is_a_simple_beam():
    """One thin eye midway between thin lugs L apart: F L³/48EI + F L/4κGA (Timoshenko beam)."""
    L = 0.12
    pin = PinBending(STEEL, D, PressingPlates((-L / 2, L / 2), THIN), PressingPlates((0.0,), THIN))
    assert pin.force_flexibility == pytest.approx(L**3 / (48 * EI) + L / (4 * KGA), rel=1e-4)


def test_two_eyes_make_it_bend_in_four_points():
    """Thin eyes at a from thin lugs L apart: each under F/2 moves by (F/2) a² (3L − 4a)/6EI + (F/2) a/κGA (Roark, four-point
    bending; from memory).
    """
    L, a = 0.12, 0.02
    pin = PinBending(
        STEEL, D, PressingPlates((-L / 2, L / 2), THIN), PressingPlates((a - L / 2, L / 2 - a), THIN)
    )
    each = a**2 * (3 * L - 4 * a) / (12 * EI) + a / (2 * KGA)
    assert pin.force_flexibility == pytest.approx(each, rel=1e-4)


def test_a_couple_between_two_pairs():
    """Eyes e apart between lugs s apart: forces 1/s bend the ends, a = (s − e)/2: 2U = 2[(a/s)²(a + e/2)/3EI + a/(s²κGA) +
    (1/e − 1/s)² e/(2κGA)] (derived: M rises to a/s at the eyes and falls to zero in the middle).
    """
    s, e = 0.12, 0.08
    pin = PinBending(STEEL, D, PressingPlates((-s / 2, s / 2), THIN), PressingPlates((-e / 2, e / 2), THIN))
    a = (s - e) / 2
    bent = 2 * (a / s) ** 2 * (a + e / 2) / (3 * EI)
    sheared = 2 * (a / s**2 + (1 / e - 1 / s) ** 2 * e / 2) / KGA
    assert pin.couple_flexibility == pytest.approx(bent + sheared, rel=1e-4)


def test_the_moment_in_the_middle_is_that_of_the_standard():
    """F (b + 4c + 2a)/8 of EN 1993-1-8 between one eye b and two lugs a with room c: ∫ q (x − x₀) to the middle."""
    a, b, c = 0.010, 0.016, 0.003
    lugs, eye = PressingPlates((-(b + a) / 2 - c, (b + a) / 2 + c), a), PressingPlates((0.0,), b)
    pressures = np.concatenate([lugs.under_force(), eye.under_force() * [1, 1, -1]])
    moment, _, _ = pin_actions(pressures)
    pin = Pin(STEEL, D, inner=b, outer=a, gap=c)
    assert np.abs(moment).max() == pytest.approx(pin.moment_per_force, rel=1e-9)


@pytest.mark.parametrize("plates", [(-0.05, 0.05), (0.0,)])
def test_pressures_balance(plates):
    """Force and couple on lugs equal those on eyes: the pin's ends are free of shear and moment."""
    lugs, eyes = PressingPlates((-0.06, 0.06), 0.01), PressingPlates(plates, 0.02)
    for way, about in (("under_force", 0), ("under_couple", 1)):
        for pressing in (lugs, eyes):
            start, end, q = getattr(pressing, way)().T
            found = np.array([(q * (end - start)).sum(), (q * (end**2 - start**2) / 2).sum()])
            assert found == pytest.approx(np.eye(2)[about], abs=1e-12)


def test_a_thicker_pin_is_stiffer_and_more_room_softens_it():
    """Flexibility falls with the diameter, to nothing; eyes further from their lugs raise it."""
    found = [
        (pin.force_flexibility, pin.couple_flexibility)
        for pin in (replace(PINNED, diameter=d) for d in (0.01, 0.02, 0.04, 10.0))
    ]
    for way in zip(*found, strict=True):
        assert list(way) == sorted(way, reverse=True)
        assert way[-1] < 1e-4 * way[0]
    near, far = (replace(PINNED, eyes=PressingPlates((-p, p), 0.015)) for p in (0.045, 0.03))
    assert near.force_flexibility < far.force_flexibility
    assert near.couple_flexibility < far.couple_flexibility
