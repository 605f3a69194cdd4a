"""The curve of what a joint attracts against its own stiffness."""

import numpy as np
import pytest

from models.joints import JointStiffness
from models.joints.pinned import PinnedJoint
from models.response.attraction import attraction_curve, attraction_curves, racking_moment
from models.strength.springs import transferred_stiffness
from tests.models.boats import BEAM, BOW, FILES, LONGERON, example_boat, plain, springs
from tests.models.joints.test_joint_clamped import strapped
from tests.models.joints.test_joint_lug import fitting
from tests.models.joints.test_joint_socket import BOTH, socket

COUPLED = {
    "straps": strapped(),
    "lugs on a fore-and-aft pin": fitting(),
    "lugs on an upright pin": fitting(pin__axis="upright"),
    "socket": socket(*BOTH),
}
"""Joints whose heave goes with roll, because what holds the beam is beside the joint's point."""
DECADES = 10.0 ** np.arange(-1, 12)


@pytest.mark.parametrize("direction", ["pitch", "roll"])
@pytest.mark.parametrize("name", FILES)
def test_the_curve_of_two_solves_is_exact_over_twelve_decades(name, direction):
    """M(k) = M_rigid k/(k + k_half): full solves from 0.1 N·m/rad to 10¹¹ lie on it to 1e-8."""
    boat = example_boat(name)
    for joint in (springs(), springs(heave=6e7, roll=5e5, pitch=4e5, yaw=5e5)):
        curve = attraction_curve(boat, joint, direction)
        found = np.array([racking_moment(boat, joint.with_spring(direction, k), direction) for k in DECADES])
        assert curve.moment(DECADES) == pytest.approx(found, rel=1e-8)
        assert curve.attraction(DECADES) == pytest.approx(
            found / racking_moment(boat, springs(), direction), rel=1e-8
        )


@pytest.mark.parametrize("name", FILES)
def test_attraction_rises_from_nothing_to_one(name):
    """Under racking, attraction is 0 where free, 1 where rigid, 1/2 at k_half, and rises all the way."""
    boat = example_boat(name)
    for direction in ("pitch", "roll"):
        curve = attraction_curve(boat, springs(), direction)
        assert curve.attraction(0.0) == 0
        assert curve.attraction(np.inf) == 1
        assert curve.attraction(curve.k_half) == pytest.approx(0.5, rel=1e-15)
        sweep = [
            racking_moment(boat, springs(**{direction: k}), direction) / curve.rigid_moment
            for k in curve.k_half * 10.0 ** np.arange(-3, 4)
        ]
        assert np.all(np.diff([0, *sweep, 1]) > 0)


@pytest.mark.parametrize("inboard", [0.0, 0.5])
def test_half_torque_stiffness_is_that_of_the_rest_of_the_boat(inboard):
    """Uniform bows, no roll stiffness: 1/k_half = b/2GJ + a/EI, and the torque is that of the two springs."""
    a, b, EI = 4.0, 6.0 - 2 * inboard, BOW["EI_vertical"]
    rest = b / (2 * BEAM["GJ"]) + a / EI
    curve = attraction_curve(plain(length=a, inboard=inboard), springs("roll", pitch=1e5), "pitch")
    assert curve.k_half == pytest.approx(1 / rest, rel=1e-10)
    assert curve.rigid_moment == pytest.approx(a**2 / (2 * EI) / rest, rel=1e-11)
    assert curve.joint_stiffness == 1e5


def test_half_torque_stiffness_belongs_to_the_boat():
    """The joint's own spring in a direction does not move its curve in it; the rest of the boat does."""
    boat = example_boat("demo")
    first, second = (attraction_curve(boat, springs(pitch=k), "pitch") for k in (1e3, 1e8))
    assert first.k_half == pytest.approx(second.k_half, rel=1e-12)
    softer = boat.model_copy(
        update={"crossbeam": boat.crossbeam.model_copy(update={"GJ": boat.crossbeam.GJ / 2})}
    )
    assert attraction_curve(softer, springs(), "pitch").k_half < 0.6 * first.k_half


def test_a_pin_askew_has_no_curve():
    """Springs that do not lie in boat axes have no pitch or roll stiffness of their own, and so no curve."""
    joint = PinnedJoint(name="skew", kind="pinned", axis=(1, 1, 0)).stiffness()
    assert attraction_curve(plain(), joint, "pitch") is None
    with pytest.raises(ValueError, match="its own axes"):
        joint.with_spring("pitch", 1.0)


def test_a_joint_that_slides_up_and_down_has_no_curve_in_roll():
    """Free in heave, a beam held by a longeron takes no shear from racking, hence no bending and no curve."""
    boat = plain(longeron=LONGERON)
    assert attraction_curve(boat, springs("heave"), "roll") is None
    assert attraction_curve(boat, springs("heave"), "pitch") is not None


def test_changing_one_spring_leaves_the_joint_as_it_was():
    """`with_spring` gives a new joint and does not write into the old one."""
    joint = JointStiffness.in_boat_axes([1.0, 2.0, 3.0, 4.0, 5.0, 6.0])
    assert joint.with_spring("pitch", 9.0).springs.tolist() == [1, 2, 3, 4, 9, 6]
    assert joint.springs.tolist() == [1, 2, 3, 4, 5, 6]


@pytest.mark.parametrize("direction", ["pitch", "roll"])
@pytest.mark.parametrize("kind", COUPLED)
@pytest.mark.parametrize("name", ["demo", "plain", "slender"])
def test_the_mark_on_the_curve_is_the_joint_itself(name, kind, direction):
    """The moment at a coupled joint's own stiffness is that of the joint, its coupling kept, over that of the rigid joint: 1e-9.

    The curve through it is exact for every other own stiffness: full solves over twelve decades lie on it to 1e-8 of its end.
    """
    boat = plain(inboard=0.3) if name == "plain" else example_boat(name)
    joint = COUPLED[kind].stiffness()
    curve = attraction_curve(boat, joint, direction)
    whole = racking_moment(boat, springs(), direction)
    mark = curve.attraction(curve.joint_stiffness)
    assert mark == pytest.approx(racking_moment(boat, joint, direction) / whole, rel=1e-9, abs=1e-9)
    assert curve.attraction(np.inf) == pytest.approx(curve.rigid_moment / whole, rel=1e-9)
    found = [racking_moment(boat, joint.with_spring(direction, k), direction) for k in DECADES]
    assert curve.moment(DECADES) == pytest.approx(
        np.array(found), rel=1e-8, abs=1e-8 * abs(curve.rigid_moment)
    )


@pytest.mark.parametrize("beside", [-0.4, 0.0, 0.25])
def test_a_fore_and_aft_pin_attracts_no_bending_wherever_it_is(beside):
    """A pin beside the joint's point is free in roll about itself: nothing holds the beam's ends but forces, which racking, up on
    one side and down on the other, gives no lever; so attraction is exactly 0, its heave stiffness coupled with roll or not.
    """
    pin = transferred_stiffness(np.diag([8e7, 9e7, 6e7, 0.0, 4e5, 5e5]), np.array([0.0, beside, 0.0]))
    curve = attraction_curve(plain(inboard=0.3), JointStiffness.coupled(pin), "roll")
    assert curve.joint_stiffness == 0
    assert curve.attraction(curve.joint_stiffness) == 0
    assert abs(curve.rigid_moment) > 0.01


def test_own_stiffness_in_roll_is_about_the_elastic_centre():
    """Two straps of k each, w apart, are k w²/2 in roll however far from the joint's point they are (springs on a line)."""
    for shift in (0.0, 0.2, 1.0):
        joint = strapped(places=[f"{50 + 1000 * shift:g} mm", f"{350 + 1000 * shift:g} mm"]).stiffness()
        assert joint.own_stiffness("roll") == pytest.approx(20e6 * 0.3**2 / 2)
        assert joint.own_stiffness("pitch") == pytest.approx(8e6 * 0.01)
        assert joint.springs[3] > joint.own_stiffness("roll")


@pytest.mark.parametrize("kind", COUPLED)
def test_own_stiffness_in_place_of_itself_gives_the_joint(kind):
    """K − S + S = K; and another own stiffness is then the joint's, the coupling with heave as it was."""
    joint = COUPLED[kind].stiffness()
    for direction in ("heave", "roll", "pitch"):
        same = joint.with_spring(direction, joint.own_stiffness(direction))
        assert same.matrix == pytest.approx(joint.matrix, rel=1e-12, abs=1e-3)
        changed = joint.with_spring(direction, 3e5)
        assert changed.own_stiffness(direction) == pytest.approx(3e5, rel=1e-6)
    assert joint.with_spring("roll", 3e5).matrix[2, 3] == joint.matrix[2, 3]
    assert joint.with_springs({"roll": 0.0, "pitch": 0.0}).own_stiffness("roll") == 0


def test_both_curves_are_of_one_joint():
    """`attraction_curves` gives pitch and roll as `attraction_curve` gives each."""
    joint, boat = COUPLED["straps"].stiffness(), plain(inboard=0.3)
    assert attraction_curves(boat, joint) == {
        direction: attraction_curve(boat, joint, direction) for direction in ("pitch", "roll")
    }
