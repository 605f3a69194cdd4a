"""At anchor and on a jack: the legs against the triangle of forces, over a sweep and in the mirror."""

import math

import numpy as np
import pytest

from cases.loads.mooring import bridle
from femcore.base.errors import InputFault
from models.response.front_end import build
from models.response.joint_loads import joint_loads
from tests.cases.loads.load_kinds import RIGID, acting, answer, boat, case
from tests.models.boats import MIRROR

BRIDLE = {"tension": "15 kN", "leg": "5 m"}


def pulled(direction, down=0.0, tension=15e3):
    """A pull, N, from degrees off the bow and below level."""
    psi, delta = math.radians(direction), math.radians(down)
    level = math.cos(delta)
    return tension * np.array([level * math.cos(psi), level * math.sin(psi), -math.sin(delta)])


@pytest.mark.parametrize("direction", [-80, -30, 0, 12, 36, 60])
@pytest.mark.parametrize("down", [0, 25])
def test_the_legs_together_are_the_pull(direction, down):
    """Whatever the direction, the legs sum to the pull, and each pulls (none pushes) along its own line."""
    pull = pulled(direction, down)
    legs = np.array(bridle(tuple(pull), 6.0, 5.0))
    assert legs.sum(axis=0) == pytest.approx(pull, rel=1e-12, abs=1e-9)
    if legs.any(axis=1).all():
        u = np.array([pull[0], 0, pull[2]]) / math.hypot(pull[0], pull[2])
        apex = 4.0 * u  # legs of 5 m from bows 6 m apart meet 4 m ahead of them
        for leg, stem in zip(legs, (3.0, -3.0), strict=True):
            along = apex - np.array([0, stem, 0])
            assert np.cross(leg, along) == pytest.approx(0, abs=1e-7)
            assert leg @ along > 0


def test_from_ahead_the_legs_share_alike():
    """Each leg carries T/(2 cos β): 15 kN on legs of 3:4:5 is 9.375 kN each."""
    port, starboard = bridle((15e3, 0.0, 0.0), 6.0, 5.0)
    assert port == pytest.approx((7500, -5625, 0))
    assert starboard == pytest.approx((7500, 5625, 0))


@pytest.mark.parametrize(("direction", "slack"), [(36.8, False), (36.9, True)])
def test_a_leg_goes_slack_where_the_pull_lies_along_the_other(direction, slack):
    """Past the half angle of the bridle, atan 3/4 = 36.87°, one leg carries all, and nothing jumps there."""
    port, starboard = (np.array(leg) for leg in bridle(tuple(pulled(direction)), 6.0, 5.0))
    assert (not port.any()) == slack
    assert starboard == pytest.approx(pulled(direction), abs=60)


def test_a_sweep_is_symmetric():
    """The cases of a sweep are mirror images in pairs, in their loads and in the joints' answer."""
    swept = case("mooring", sweep="70 deg", steps=7, down="10 deg", **BRIDLE)
    cases = swept.expand(boat())
    assert len(cases) == len({one.name for one in cases}) == 7
    front = build(boat(), RIGID)
    loads = np.array([acting(front, one) for one in cases])
    assert loads[::-1] * MIRROR == pytest.approx(loads, rel=1e-10, abs=1e-7)
    joints = joint_loads(answer(boat(), RIGID, swept)[1])
    assert joints[::-1, ::-1] * MIRROR == pytest.approx(joints, rel=1e-9, abs=1e-6)
    assert np.linalg.norm(loads[:, :3], axis=1) == pytest.approx([15e3] * 7, rel=1e-12)


def test_one_direction_is_one_case():
    """Without a sweep the pull comes from its direction alone, and the words say what each leg carries."""
    (one,) = case("mooring", direction="60 deg", **BRIDLE).expand(boat())
    assert one.name == "one"
    assert "port leg slack" in one.words()
    assert acting(build(boat(), RIGID), one)[:3] == pytest.approx(pulled(60), abs=1e-8)


def test_legs_must_meet():
    """Legs no longer than half the distance of the bows are a fault."""
    with pytest.raises(InputFault, match="do not meet"):
        case("mooring", **BRIDLE | {"leg": "3 m"}).expand(boat())


@pytest.mark.parametrize("side", ["port", "starboard"])
@pytest.mark.parametrize(("under", "x"), [("stem", 4.0), ("hull at beam", 3.0)])
def test_a_jack_lifts_one_bow(side, under, x):
    """The force is up, under that bow, at the stem or at the beam."""
    y = 3.0 if side == "port" else -3.0
    got = acting(build(boat(), RIGID), case("jack", force="8 kN", side=side, under=under))
    assert got == pytest.approx([0, 0, 8e3, 8e3 * y, -8e3 * x, 0], rel=1e-12)


def test_two_jacks_are_a_lift_and_a_racking():
    """One bow jacked less the other is the racking case, by superposition."""
    cases = [
        case("jack", force="8 kN"),
        case("jack", force="8 kN", side="starboard"),
        case("racking", force="8 kN"),
    ]
    port, starboard, racking = joint_loads(answer(boat(), RIGID, *cases)[1])
    assert port - starboard == pytest.approx(racking, rel=1e-9, abs=1e-7)
