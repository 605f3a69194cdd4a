"""The ledger of the crossbeam, by hand where statics alone decides it."""

import numpy as np
import pytest

from femcore.frame.frame import Loads
from femcore.solvers.solution import solve
from models.response.front_end import build
from models.response.load_path import crossbeam_load_path
from tests.models.boats import LONGERON, MARTINGALE_STAYS, STRUT, TAUT, load, plain, racking, solved, springs

STAY = {"forward": 0.05, "up": 0.2}
UP, AFT = 38e3, 9e3
PULL = (-AFT, 0.0, UP)


def ledger(boat, joint, *loads):
    """Rows of the only case by name, and what they sum to."""
    found = crossbeam_load_path(*solved(boat, joint, list(loads)))
    return dict(zip(found.names, found.entries[0], strict=True)), found.imbalance[0]


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


@pytest.mark.parametrize("at_striker", ["fixed", "slips"])
@pytest.mark.parametrize(("bent", "rel"), [(False, 1e-10), (True, 1e-7)], ids=["as drawn", "deformed"])
def test_all_that_acts_on_the_crossbeam_sums_to_nothing(at_striker, bent, rel):
    """Loads on every part sum to zero with what leaves by joints, longeron and prod, force and moment, in either shape."""
    boat = plain(
        station=3.4,
        height=0.6,
        inboard=0.3,
        stay=STAY,
        striker=STRUT,
        martingale=MARTINGALE_STAYS | {"at_striker": at_striker},
        longeron=LONGERON | {"prod": 1.0},
    )
    places = ("stay", "striker top", "prod tip", "beam centre", "port joint", "starboard stem")
    loads = [load(p, (800.0, -300.0, 2e3), (70.0, 80.0, -90.0)) for p in places]
    found = crossbeam_load_path(*solved(boat, springs(pitch=3e5), loads, bent=bent))
    assert found.names == ("applied to the crossbeam", "port joint", "starboard joint", "longeron", "prod")
    assert np.abs(found.imbalance).max() < rel * np.abs(found.entries).max()


@pytest.mark.parametrize(("bent", "rel"), [(False, 1e-10), (True, 1e-8)], ids=["as drawn", "deformed"])
def test_loads_along_members_are_in_the_ledger(bent, rel):
    """Weight along crossbeam, prod and bows enters where it acts, and the sum is still zero."""
    boat = plain(station=3.4, inboard=0.3, striker=STRUT, martingale=TAUT, longeron=LONGERON | {"prod": 1.0})
    front = build(boat, springs(pitch=3e5))
    loads = Loads.zeros(front.frame, "weight")
    for member, each in (("crossbeam", 900.0), ("prod", 300.0), ("port bow", 500.0)):
        run = front.frame.members[member].elements
        loads.line[0, run] = front.frame.axes[run] @ [0.0, 0.0, -each]
    found = crossbeam_load_path(front, solve(front.frame, loads, bent))
    rows = dict(zip(found.names, found.entries[0], strict=True))
    assert rows["applied to the crossbeam"][2] == pytest.approx(-900.0 * (6.0 - 0.6), rel=1e-12)
    assert rows["prod"][2] == pytest.approx(-300.0 * 1.0, rel=rel)
    assert np.abs(found.imbalance).max() < rel * np.abs(found.entries).max()
