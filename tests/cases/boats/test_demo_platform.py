"""What a twist centre aft of the bulkhead changes on the demo boat, against the same torsional stiffness as a root spring."""

from functools import cache

import pytest

from cases.analyses.solved_cases import solve_cases
from models.boat.boat import Root
from models.boat.platform import HullAftStation, Platform, PlatformMember
from models.response.joint_loads import larger_side
from models.response.platform_frame import platform_response
from tests.models.boats import example_boat

GJ, WIDTH, MIDDLE = 41.4e6, 4.8, -2.5
"""N·m², m and m: a bridge deck 5 m long as one beam at its middle between rigid hulls."""


@cache
def attracted(on_platform):
    """(torque, vertical bending), N·m, that racking adds with a rigid joint: on a root spring 2GJ/b, or on that deck."""
    demo = example_boat("demo")
    root = Root(pitch=2 * GJ / WIDTH, roll=14e6, yaw=182e6)
    if on_platform:
        bulkhead = {"EI_vertical": 1.0, "EI_lateral": 1e3, "GJ": 1.0, "EA": 1e9}
        deck = {"EI_vertical": 33.6e6, "EI_lateral": 438e6, "GJ": GJ, "EA": 2e9}
        place = {"inboard": (demo.bows.spacing - WIDTH) / 2, "height": demo.bows.height}
        members = [
            PlatformMember(name="deck", station=MIDDLE, **deck, **place),
            PlatformMember(name="where the longeron ends", station=0.0, **bulkhead, **place),
        ]
        rigid = dict.fromkeys(bulkhead, 1e12)
        platform = Platform(members=members, hulls=[HullAftStation(at=0.0, **rigid)])
    changed = {"platform": platform if on_platform else None, "root": Root() if on_platform else root}
    boat = demo.model_copy(update=changed)
    if on_platform:
        found = platform_response(boat)
        assert found.twist_centre == pytest.approx(MIDDLE, abs=1e-5)
        assert 1 / found.twist_per_moment == pytest.approx(root.pitch, rel=1e-2)
    (racking,) = [case for case in demo.load_cases if case.name == "racking"]
    joint = next(joint for joint in demo.joints if joint.name == "rigid")
    done = solve_cases(boat, joint.name, joint.stiffness(), [racking])
    added = done.loads[0] - done.under_pretension[0]
    return larger_side(added, "torque"), larger_side(added, "vertical bending")


def test_a_twist_centre_two_and_a_half_metres_aft_doubles_the_bending_that_a_rigid_joint_attracts():
    """By hand, for the same twist per moment: the bending 1.9 times as large (4.1 → 7.9 kN·m), the torque 1.2 to 1.4 times."""
    (torque, bending), (more_torque, more_bending) = attracted(on_platform=False), attracted(on_platform=True)
    assert more_bending / bending == pytest.approx(1.95, rel=0.1)
    assert 1.15 < more_torque / torque < 1.45


def test_the_demos_platform_turns_about_two_metres_or_more_aft():
    """Two bulkheads 5 m apart: the twist centre is between them, near their middle, and φ per moment as of an open deck."""
    found = platform_response(example_boat("demo"))
    assert -2.75 < found.twist_centre < -1.75
    assert 8e6 < 1 / found.twist_per_moment < 20e6
    assert found.hand.twist_centre == pytest.approx(MIDDLE, abs=0.05)
