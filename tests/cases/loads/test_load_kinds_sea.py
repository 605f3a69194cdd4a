"""Water met at speed: slam under a beam, the net dropped on it, a wave from abeam; by hand, in the mirror, in its limits."""

import math

import numpy as np
import pytest

from cases.loads.water import breaker_speed
from femcore.base.errors import InputFault
from models.response.front_end import build
from models.response.joint_loads import joint_loads
from tests.cases.loads.load_kinds import MIRROR_LOAD, RIGID, acting, answer, boat, boat_with_longeron, case

SLAM = {"speed": "4 m/s", "depth": "200 mm"}


def only(kind, on, **keys):
    """The one case that it expands to, and the front end it acts on."""
    (one,) = case(kind, **keys).expand(on)
    return build(on, RIGID), one


@pytest.mark.parametrize(("keys", "size"), [({}, 8446.0), ({"coefficient": 3.0}, 4920.0)])
def test_a_slam_on_the_crossbeam_by_hand(keys, size):
    """½ × 1025 × 5.15 × 0.2 m × 16 m²/s² = 8.446 kN/m (8.4 by common practice), over the 5 m between the hulls' sides."""
    front, one = only("beam slam", boat(), **SLAM, **keys)
    assert acting(front, one)[:3] == pytest.approx([0, 0, 5.0 * size], rel=1e-9)


def test_a_slam_goes_with_the_square_of_the_speed_and_with_the_depth():
    """Twice as fast is four times the load, twice as deep twice."""
    unit, fast, deep = (
        case("beam slam", **SLAM | keys).line_force for keys in ({}, {"speed": "8 m/s"}, {"depth": "400 mm"})
    )
    assert (fast, deep) == pytest.approx((4 * unit, 2 * unit), rel=1e-12)


def test_a_slam_from_ahead_pushes_aft():
    """A flow 30° aft of upright: half of the force aft, cos 30° of it up."""
    front, one = only("beam slam", boat(), direction="30 deg", **SLAM)
    force = acting(front, one)[:3]
    whole = 5.0 * 0.5 * 1025 * 5.15 * 0.2 * 16
    assert force == pytest.approx([-whole / 2, 0, whole * math.cos(math.pi / 6)], rel=1e-9)


def test_a_slam_on_a_stretch_of_the_longeron():
    """From 1 m to 2 m of x on a level longeron: one metre's load, its resultant at 1.5 m."""
    on = boat_with_longeron(height_at_root=0.4)
    front, one = only("beam slam", on, part="longeron", begin="1 m", end="2 m", **SLAM)
    force = acting(front, one)
    assert force[2] == pytest.approx(8446.0, rel=0.03)  # per metre of its own, here nearly level, length
    assert -force[4] / force[2] == pytest.approx(1.5, rel=1e-9)


def test_a_longeron_that_is_not_there_is_not_met():
    """One sentence with the cure."""
    with pytest.raises(InputFault, match="beam slam: part: the boat has no longeron; write part"):
        case("beam slam", part="longeron", **SLAM).expand(boat())


@pytest.mark.parametrize("coefficient", [2.9, 5.2])
def test_a_coefficient_of_ones_own_is_outside_the_source(coefficient):
    """The range is 3 to 5.15."""
    assert case("beam slam", coefficient=coefficient, **SLAM).origin().inside is False


NET = {"speed": "4 m/s", "sag": "0.2 m", "begin": "0.5 m"}


def test_the_net_dropped_on_water_by_hand():
    """½ × 1025 × 2 × 0.3 × 16 = 4.92 kPa on 2.5 m × 5 m: all but the after edge's part comes on bows and beam, upwards."""
    assert case("net slam", **NET).pressure == pytest.approx(4920.0, rel=1e-12)
    front, up = only("net slam", boat(), **NET)
    _, down = only("net", boat(), pressure="4920 Pa", sag="0.2 m", begin="0.5 m")
    rising, sinking = acting(front, up), acting(front, down)
    assert rising[2] == pytest.approx(-sinking[2], rel=1e-12)
    assert 0.5 * 4920 * 12.5 < rising[2] < 4920 * 12.5


def test_a_net_pulls_its_edges_alike_from_above_and_below():
    """A membrane pulls its edges together whichever way it bulges: in its plane the same, square to it the reverse."""
    (up,) = case("net slam", **NET).expand(boat())
    (down,) = case("net", pressure="4920 Pa", sag="0.2 m", begin="0.5 m").expand(boat())
    for one, other in zip(up.lines(), down.lines(), strict=True):
        assert one.force == pytest.approx(np.array(other.force) * (1, 1, -1), rel=1e-12)
        assert one.force[2] > 0


def test_an_open_net_is_met_by_less_water():
    """The load goes with the solidity, to nothing in an open hole; a dense net is outside the range."""
    half, whole = (case("net slam", solidity=share, **NET) for share in (0.15, 0.3))
    assert whole.pressure == pytest.approx(2 * half.pressure, rel=1e-12)
    (dense,) = case("net slam", solidity=0.9, **NET).expand(boat())
    assert dense.origin().inside is False


WAVE = {"speed": "4 m/s", "meets": "0.5 m"}


def test_a_side_wave_by_hand():
    """½ × 1025 × 2 × 0.5 × 16 = 8.2 kN/m over 4 m of the port bow: 32.8 kN to starboard as it pinches, to port as it spreads."""
    on = boat()
    front = build(on, RIGID)
    pinching, spreading = case("side wave", **WAVE).expand(on)
    assert acting(front, pinching)[:3] == pytest.approx([0, -32800, 0], rel=1e-9)
    assert acting(front, spreading)[:3] == pytest.approx([0, 32800, 0], rel=1e-9)


def test_both_bows_are_pinched_alike():
    """The two bows' loads are mirror images: they cancel, and the joints' answers mirror each other; the beam is compressed."""
    front, solution = answer(boat(), RIGID, case("side wave", side="both", **WAVE))
    pinching, _ = case("side wave", side="both", **WAVE).expand(boat())
    assert acting(front, pinching) == pytest.approx(0, abs=1e-6)
    load = joint_loads(solution)[0]
    assert load[1] == pytest.approx(load[0] * MIRROR_LOAD, rel=1e-7, abs=1e-3)
    assert load[0, 1] > 0 > load[1, 1]  # the beam pushes the bows apart


def test_a_breaker_moves_as_its_crest():
    """c² = g L/2π with L = H/0.142: 2 m high, 14.1 m long, 4.69 m/s."""
    assert breaker_speed(2.0) == pytest.approx(4.69, abs=0.005)
    assert case("side wave", breaker="2 m", meets="0.5 m").water_speed == breaker_speed(2.0)


def test_a_stretch_beyond_the_stem_is_refused():
    """The bow is 4 m long."""
    with pytest.raises(InputFault, match=r"side wave: end: the bow has no stretch from 0 m to 5 m"):
        case("side wave", end="5 m", **WAVE).expand(boat())
