"""Mirrored loads give mirrored answers; racking loads the joints oppositely, an even load alike."""

import numpy as np
import pytest

from models.joints import JOINTS, JointStiffness
from models.response.front_end import build, build_with_joints
from models.response.joint_loads import joint_loads, stem_movements
from tests.models.boats import (
    LONGERON,
    MARTINGALE_STAYS,
    MIRROR,
    STRUT,
    TAUT,
    joint_loads_on_hulls,
    load,
    plain,
    racking,
    solved,
    springs,
)

WHOLE = {"striker": STRUT, "martingale": MARTINGALE_STAYS, "longeron": LONGERON | {"prod": 1.1}}
HULLS = {"station": 3.3, "height": 0.5, "inboard": 0.4, "root": {"pitch": 8e6, "roll": 9e6}}
BOAT, TIGHT = (plain(**HULLS, **WHOLE | {"martingale": stays}) for stays in (MARTINGALE_STAYS, TAUT))
PINS = {
    "fore and aft": (1, 0, 0),
    "athwart": (0, 1, 0),
    "upright": (0, 0, 1),
    "askew": (1, 1, 0),
    "askew in all three": (1, -0.4, 0.3),
}
WAYS = {
    name: JOINTS["pinned"](name=name, kind="pinned", axis=axis).stiffness() for name, axis in PINS.items()
}
WAYS |= {"rigid": springs(), "sprung": springs("roll", pitch=2e5, yaw=3e5, heave=4e7, surge=3e7, sway=2e7)}
ways = pytest.mark.parametrize("joint", WAYS.values(), ids=WAYS)


def alike(found, expected, rel=1e-9):
    """Forces, then moments, agree to `rel` of the largest."""
    for part in (slice(0, 3), slice(3, 6)):
        scale = max(np.abs(expected[..., part]).max(), 1e-30)
        assert np.abs(found - expected)[..., part].max() < rel * scale


@ways
def test_racking_loads_the_joints_oppositely(joint):
    """While the stays are taut, racking adds minus the mirror image at starboard of what it adds at port."""
    rest, racked = joint_loads_on_hulls(TIGHT, joint, [], racking(3000.0))
    port, starboard = racked - rest
    alike(starboard, -MIRROR * port)
    alike(rest[1], MIRROR * rest[0])


@ways
@pytest.mark.parametrize("bent", [False, True], ids=["as drawn", "deformed"])
def test_racking_the_other_way_slackens_the_other_stay(joint, bent):
    """Without pretension racking slackens one of two stays, and racking turned round mirrors all that it does."""
    front, solution = solved(BOAT, joint, racking(3000.0), racking(-3000.0), bent=bent)
    assert sorted(solution.slack[0]) == [False, True]
    assert solution.slack[1].tolist() == solution.slack[0, ::-1].tolist()
    assert solution.tension[1] == pytest.approx(solution.tension[0, ::-1], rel=1e-7, abs=1e-9)
    for answer in (joint_loads(solution), stem_movements(front, solution)):
        alike(answer[1, ::-1], MIRROR * answer[0], 1e-7 if bent else 1e-9)


@ways
def test_an_even_load_loads_the_joints_alike(joint):
    """Under a symmetric load the starboard joint carries the mirror image of the port one."""
    even = [
        load("stay", (-9e3, 0, 38e3)),
        load("prod tip", (-2e3, 0, 7e3), (0, 500, 0)),
        load("beam centre", (0, 0, -4e3)),
    ]
    port, starboard = joint_loads_on_hulls(BOAT, joint, even)[0]
    alike(starboard, MIRROR * port)


@ways
def test_a_mirrored_load_gives_a_mirrored_answer(joint):
    """A load on one side and its mirror image on the other give answers that are mirror images."""
    force, moment = np.array([-900.0, 2500.0, 7000.0]), np.array([300.0, -800.0, 500.0])
    one = [
        load("port stem", force, moment),
        load("starboard joint", 2 * force),
        load("prod tip", force, moment),
    ]
    back, turned = MIRROR[:3] * force, MIRROR[3:] * moment
    other = [
        load("starboard stem", back, turned),
        load("port joint", 2 * back),
        load("prod tip", back, turned),
    ]
    front, solution = solved(BOAT, joint, one, other)
    for answer in (joint_loads(solution), stem_movements(front, solution)):
        alike(answer[1, ::-1], MIRROR * answer[0])


def test_a_pin_askew_turns_about_its_own_mirror_image():
    """The pin lies mirrored at starboard: neither joint passes a moment about its own pin."""
    pin = np.array(JOINTS["pinned"](name="askew", kind="pinned", axis=(1, 1, 0)).axis)
    moments = joint_loads_on_hulls(BOAT, WAYS["askew"], racking(3000.0), [load("stay", (-9e3, 100, 38e3))])[
        ..., 3:
    ]
    scale = np.abs(moments).max()
    assert np.abs(moments[:, 0] @ pin).max() < 1e-10 * scale
    assert np.abs(moments[:, 1] @ (pin * MIRROR[:3])).max() < 1e-10 * scale
    assert np.abs(moments[:, 1] @ pin).max() > 1e-3 * scale


def test_front_ends_of_several_joints_are_those_of_each_alone():
    """A front end built once for several joints, one of them coupled, is to the last digit what is built with each."""
    stiff = np.diag([2e7, 3e7, 4e7, 1e5, 2e5, 3e5]) + 1e4 * (np.eye(6, k=2) + np.eye(6, k=-2))
    joints = [*WAYS.values(), JointStiffness.coupled(stiff), JointStiffness.coupled(2 * stiff, ("yaw",))]
    for boat in (BOAT, TIGHT):
        for first in (0, -1):
            some = [joints[first], *joints]
            for one, joint in zip(build_with_joints(boat, some, 2), some, strict=True):
                assert one.joint is joint
                assert one.frame.is_same(build(boat, joint, 2).frame)
