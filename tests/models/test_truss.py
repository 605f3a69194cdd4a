"""Striker and martingale as a truss, by the statics of its joints."""

import numpy as np
import pytest

from femcore.actions import along
from tests.models.boats import STAYS, STRUT, load, plain, solved, springs

LIFT = 40e3


def axial(front, solution, member):
    """N, tension positive, of a member that is straight and pinned, in the first case."""
    return along(solution, front.frame.members[member], 2).actions[0, :, 0]


def triangle(boat):
    """Half-span, rise and length of a stay."""
    s, h = boat.martingale.half_span, boat.striker.height - boat.martingale.height
    return s, h, np.hypot(s, h)


@pytest.mark.parametrize("joint", [springs("roll"), springs(), springs(pitch=1e5, roll=2e5, heave=3e7)])
def test_the_strut_carries_what_two_stays_pull_down(joint):
    """At the striker's top the strut's thrust is 2T h/√(s² + h²) for the tension T of either stay."""
    boat = plain(inboard=0.4, height=0.3, striker=STRUT, martingale=STAYS)
    front, solution = solved(boat, joint, [load("stay", (-9e3, 0, LIFT))])
    _, h, length = triangle(boat)
    port, starboard, strut = (
        axial(front, solution, m) for m in ("port martingale", "starboard martingale", "striker")
    )
    assert port == pytest.approx(starboard, rel=1e-12)
    assert port[0] > 0
    assert strut == pytest.approx(-2 * port[0] * h / length, rel=1e-10)


def test_stays_that_do_not_stretch_carry_the_whole_lift():
    """Over a beam that hardly resists bending T = P √(s² + h²)/2h, and the beam thrusts T s/√(s² + h²)."""
    # tangs on the beam's axis and hard by the joints, so that the lift bends the beam's ends by hardly an arm
    stays = STAYS | {"EA": 1e13, "half_span": 2.999, "height": 0.0}
    boat = plain(beam={"EI_vertical": 10.0, "EA": 1e13}, striker=STRUT | {"EA": 1e13}, martingale=stays)
    front, solution = solved(boat, springs("roll"), [load("beam centre", (0, 0, LIFT))])
    s, h, length = triangle(boat)
    tension = LIFT * length / (2 * h)
    assert axial(front, solution, "port martingale") == pytest.approx(tension, rel=1e-3)
    actions = along(solution, front.frame.members["crossbeam"], 2)
    between, beyond = (actions.actions[0, w, 0] for w in (np.abs(actions.point[:, 1]) < 2.9, [0, -1]))
    assert between - beyond[0] == pytest.approx(-tension * s / length, rel=1e-3)


def test_without_stays_the_beam_carries_the_lift_alone():
    """A strut over which nothing runs carries nothing: the beam bends as on two supports, M = P b/4."""
    boat = plain(striker=STRUT)
    front, solution = solved(boat, springs("roll"), [load("beam centre", (0, 0, LIFT))])
    assert axial(front, solution, "striker") == pytest.approx(0, abs=1e-9 * LIFT)
    bending = along(solution, front.frame.members["crossbeam"], 2).actions[0, :, 4]
    assert np.abs(bending).max() == pytest.approx(LIFT * 6.0 / 4, rel=1e-10)


def test_a_striker_below_the_beam_pushes_the_other_way():
    """Turned upside down, strut and stays carry the same under the opposite load."""
    up = plain(striker=STRUT, martingale=STAYS)
    down = plain(striker=STRUT | {"height": -0.7}, martingale=STAYS | {"height": -0.1})
    tension = [
        axial(*solved(boat, springs("roll"), [load("beam centre", (0, 0, lift))]), "port martingale")[0]
        for boat, lift in ((up, LIFT), (down, -LIFT))
    ]
    assert tension[1] == pytest.approx(tension[0], rel=1e-10)
    assert tension[0] > 0


def test_the_beam_bends_by_what_the_stays_leave():
    """Amidships M = P b/4 − H T s/√(s² + h²), H the strut's height, and a stiffer stay takes more of it."""
    tensions = []
    for EA in (1e3, 5e6, 20e6, 80e6, 1e12):
        boat = plain(striker=STRUT, martingale=STAYS | {"EA": EA})
        front, solution = solved(boat, springs("roll"), [load("beam centre", (0, 0, LIFT))])
        s, _, length = triangle(boat)
        tensions.append(axial(front, solution, "port martingale")[0])
        beam = along(solution, front.frame.members["crossbeam"], 2)
        middle = beam.actions[0, np.abs(beam.point[:, 1]) < 1e-9, 4]
        left = LIFT * 6.0 / 4 - STRUT["height"] * tensions[-1] * s / length
        assert np.abs(middle) == pytest.approx(abs(left), rel=1e-7)
    assert np.all(np.diff(tensions) > 1e3)


@pytest.mark.parametrize("sign", [1, -1])
def test_the_strut_shortens_over_its_own_length(sign):
    """From the beam's side to its top, not from the beam's axis, the strut gives by S (height − base)/EA."""
    soft = {"height": sign * 0.7, "base": 0.3, "EA": 1e6, "EI": 20e3}
    boat = plain(striker=soft, martingale=STAYS | {"height": sign * 0.1})
    front, solution = solved(boat, springs("roll"), [load("beam centre", (0, 0, sign * LIFT))])
    heave = solution.displacement[
        0, [front.frame.node_index[name] for name in ("striker top", "beam centre")], 2
    ]
    thrust = -axial(front, solution, "striker")[0]
    assert thrust > 0
    assert sign * (heave[1] - heave[0]) == pytest.approx(thrust * (0.7 - 0.3) / 1e6, rel=1e-9)
