"""The ledger of the crossbeam, by hand where statics alone decides it."""

import numpy as np
import pytest

from models.readings import load_path
from tests.models.boats import LONGERON, STAYS, STRUT, load, plain, racking, solved, springs

STAY = {"forward": 0.05, "up": 0.2}
UP, AFT = 38e3, 9e3
PULL = (-AFT, 0.0, UP)


def ledger(boat, joint, *loads):
    """Rows of the only case by name, and what they sum to."""
    found = load_path(*solved(boat, joint, list(loads)))
    return dict(zip(found.names, found.entries[0], strict=True)), found.rest[0]


def test_the_stay_is_entered_at_the_beam_centre_with_its_moment():
    """What is applied to the crossbeam is the pull, and r × T about the beam's centre."""
    rows, _ = ledger(plain(stay=STAY), springs(), load("stay", PULL))
    torque = 0.2 * -AFT - 0.05 * UP
    assert rows["applied to the crossbeam"] == pytest.approx([*PULL, 0, torque, 0], rel=1e-12, abs=1e-9)


def test_each_joint_takes_half_of_an_even_pull():
    """Without longeron, each joint takes half of the lift, of the pull aft and of the torque."""
    rows, _ = ledger(
        plain(stay=STAY, height=0.4, inboard=0.5), springs("roll", pitch=2e5), load("stay", PULL)
    )
    torque = 0.2 * -AFT - 0.05 * UP
    for side in ("port joint", "starboard joint"):
        assert rows[side][[0, 2, 4]] == pytest.approx([AFT / 2, -UP / 2, -torque / 2], rel=1e-11)


def test_a_prod_hands_on_its_load_as_force_and_moment():
    """The prod's row is the load at its tip with its moment about the beam's centre."""
    longeron = LONGERON | {"height_at_root": 0.5, "prod": 1.5}
    rows, _ = ledger(plain(longeron=longeron), springs(), load("prod tip", (-4e3, 500.0, 1e4)))
    assert rows["prod"] == pytest.approx([-4e3, 500.0, 1e4, 0, -1.5e4, 750.0], rel=1e-10, abs=1e-6)
    assert not rows["applied to the crossbeam"].any()


def test_a_load_at_a_hull_is_not_the_crossbeams():
    """What acts on a hull, even at the beam's station, enters the crossbeam's ledger by the joint alone."""
    rows, rest = ledger(plain(inboard=0.4), springs(), load("port hull at beam", (0, 0, 1e3)), *racking(2e3))
    assert not rows["applied to the crossbeam"].any()
    assert np.abs(rows["port joint"]).max() > 10
    assert rest == pytest.approx(0, abs=1e-8)


def test_all_that_acts_on_the_crossbeam_sums_to_nothing():
    """Loads on every part sum to zero with what leaves by joints, longeron and prod, force and moment."""
    boat = plain(
        station=3.4,
        height=0.6,
        inboard=0.3,
        stay=STAY,
        striker=STRUT,
        martingale=STAYS,
        longeron=LONGERON | {"prod": 1.0},
    )
    places = ("stay", "striker top", "prod tip", "beam centre", "port joint", "starboard stem")
    rows, rest = ledger(
        boat, springs(pitch=3e5), *(load(p, (800.0, -300.0, 2e3), (70.0, 80.0, -90.0)) for p in places)
    )
    assert set(rows) == {"applied to the crossbeam", "port joint", "starboard joint", "longeron", "prod"}
    assert np.abs(rest).max() < 1e-10 * max(np.abs(row).max() for row in rows.values())
