"""The longeron and its prod, where statics decides them."""

import numpy as np
import pytest

from femcore.results.member_forces import member_forces
from tests.models.boats import LONGERON, joint_loads_on_hulls, load, plain, solved, springs

LEVEL = LONGERON | {"height_at_root": 0.5}


def actions(boat, joint, member, *loads):
    """(k, 6), N and N·m, along a member."""
    front, solution = solved(boat, joint, list(loads))
    return member_forces(solution, front.frame.members[member], 2).actions[0]


def test_pinned_at_both_ends_it_is_a_strut():
    """Pinned at bulkhead and crossbeam, a longeron passes axial force alone."""
    boat = plain(longeron=LEVEL | {"at_crossbeam": "pinned"})
    found = actions(boat, springs(), "longeron", load("beam centre", (-9e3, 0, 38e3)))
    assert found[:, 0].max() < -1e3
    assert np.abs(found[:, 1:]).max() < 1e-8 * np.abs(found[:, 0]).max()


def test_pinned_at_the_bulkhead_it_bends_from_nothing():
    """Bending vanishes at a pinned root and not at a fixed one."""
    pull = load("beam centre", (-9e3, 0, 38e3))
    pinned, fixed = (
        actions(plain(longeron=LEVEL | {"at_root": way}), springs(), "longeron", pull)[:, 4]
        for way in ("pinned", "fixed")
    )
    assert abs(pinned[0]) < 1e-9 * np.abs(pinned).max()
    assert abs(fixed[0]) > 0.1 * np.abs(fixed).max()


def test_the_prod_is_a_cantilever_ahead_of_the_beam():
    """A prod under a lift P at its tip bends by P·L at the beam, whatever the joints are."""
    boat = plain(longeron=LEVEL | {"prod": 1.4})
    for joint in (springs(), springs("roll", pitch=1e5)):
        found = actions(boat, joint, "prod", load("prod tip", (0, 0, 5e3)))
        assert np.abs(found[[0, -1], 4]) == pytest.approx([7e3, 0], rel=1e-10, abs=1e-6)


def test_the_prod_lies_in_the_longerons_line():
    """The prod goes on in the line from the root through the crossbeam, by its length."""
    boat = plain(longeron=LONGERON | {"height_at_root": 0.9, "prod": 1.4})
    front, _ = solved(boat, springs(), [])
    line = front.position("beam centre") - [0.0, 0.0, 0.9]
    ahead = front.position("prod tip") - front.position("beam centre")
    assert np.linalg.norm(ahead) == pytest.approx(1.4, rel=1e-14)
    assert ahead / 1.4 == pytest.approx(line / np.linalg.norm(line), rel=1e-14)


def test_a_fixed_longeron_shares_the_twist():
    """What it takes of a torque at the beam's centre is what the two joints no longer carry."""
    twist = load("beam centre", moment=(0, 4e3, 0))
    bare = joint_loads_on_hulls(plain(), springs(), [twist])[0, :, 4]
    held = joint_loads_on_hulls(plain(longeron=LEVEL), springs(), [twist])[0, :, 4]
    assert bare == pytest.approx([2e3, 2e3], rel=1e-10)
    assert np.all((held > 0) & (held < bare))
    taken = actions(plain(longeron=LEVEL), springs(), "longeron", twist)[-1, 4]
    assert 4e3 - held.sum() == pytest.approx(abs(taken), rel=1e-9)
