"""Joints by six springs, all at once, against front ends built and solved with each."""

import numpy as np
import pytest

from femcore.solvers.solution import solve
from models.response.attraction import racking_moment
from models.response.front_end import build
from models.response.joint_designs import JointDesigns
from models.response.joint_loads import differential_heave, joint_loads, racking_shares
from tests.models.boats import plain, springs
from tests.models.response.test_front_end_variants import BOATS, CASES, EACH_BOAT, cases_on, variants_of

DIRECTIONS = ("surge", "sway", "heave", "roll", "pitch", "yaw")


def random_springs(rng, count):
    """From nearly free to rigid; a few are free to roll, a few soft all round."""
    k = 10 ** rng.uniform([5, 5, 5, 3, 3, 3], 10, (count, 6))
    k[rng.random(k.shape) < 0.15] = np.inf
    k[: count // 4, 3] = 0.0
    k[-2:] = 10 ** rng.uniform(2, 4, (2, 6))
    return k


@EACH_BOAT
def test_every_design_is_a_front_end_built_so(name):
    """Free, soft, stiff and rigid in six directions, a case in which the martingale goes slack among them: joint loads, shares
    and tensions are those of the front end built with that joint.
    """
    boat, count = plain(**BOATS[name]), 16
    k = random_springs(np.random.default_rng(5), count)
    found = JointDesigns.of(variants_of(boat)).solve(k)
    assert found.exact.all()
    for number in range(count):
        front = build(boat, springs(**dict(zip(DIRECTIONS, k[number], strict=True))))
        solution = solve(front.prepared, cases_on(front))
        exact = joint_loads(solution)
        np.testing.assert_allclose(found.joint_load[number], exact, rtol=0, atol=1e-9 * np.abs(exact).max())
        np.testing.assert_allclose(
            found.tension[number], solution.tension, rtol=0, atol=1e-9 * np.abs(exact).max()
        )
        shares = racking_shares(front, solution)
        for case in range(len(CASES)):
            own = shares.shares(case)
            if own is not None:
                np.testing.assert_allclose(
                    found.shares[number, case], [own.hull, own.torque, own.shear], rtol=0, atol=1e-9
                )
            else:
                assert np.isnan(found.shares[number, case]).all()


def test_torque_and_bending_follow_the_curve_of_one_flexibility():
    """In one direction, all else kept: M(k) = M_rigid k/(k + k_half), whatever the others are; by a thousand designs at once."""
    boat = plain(**BOATS["on a platform"])
    k = np.tile([1e8, 1e8, 1e8, 4e5, 2e5, 5e5], (1000, 1))
    k[:, 4] = np.geomspace(1e2, 1e9, 1000)
    loads = JointDesigns.of(variants_of(boat)).solve(k).joint_load[:, 0, :, 4]
    torque = (loads[:, 0] - loads[:, 1]) / 2
    rigid = 4e3 * racking_moment(boat, springs(surge=1e8, sway=1e8, heave=1e8, roll=4e5, yaw=5e5), "pitch")
    k_half = k[500, 4] * (rigid / torque[500] - 1)
    np.testing.assert_allclose(torque, rigid * k[:, 4] / (k[:, 4] + k_half), rtol=1e-8)


def test_a_load_reaches_its_movement_with_every_joint():
    """Scaled to 60 mm of differential heave, its torque is proportional to that of the load itself."""
    boat = plain(**BOATS["on a platform"])
    k = random_springs(np.random.default_rng(6), 8)[:6]
    as_drawn = JointDesigns.of(variants_of(boat)).solve(k).joint_load[:, 0]
    found = (
        JointDesigns.of(variants_of(boat, targets={0: (differential_heave, 0.06)})).solve(k).joint_load[:, 0]
    )
    for number in range(len(k)):
        front = build(boat, springs(**dict(zip(DIRECTIONS, k[number], strict=True))))
        heave = differential_heave(front, solve(front.prepared, cases_on(front)))[0]
        size = np.abs(found[number]).max()
        np.testing.assert_allclose(found[number], as_drawn[number] * 0.06 / heave, rtol=0, atol=1e-9 * size)


def test_a_design_that_would_fall_is_not_exact():
    """A joint free to turn about the beam lets a beam without longeron turn over: its numbers are not claimed."""
    boat = plain(height=0.2)
    k = np.tile([1e8, 1e8, 1e8, 4e5, 2e5, 5e5], (2, 1))
    k[1, 4] = 0.0
    assert JointDesigns.of(variants_of(boat)).solve(k).exact[:, 0].tolist() == [True, False]


def test_stiffness_only_adds():
    """A stiffer spring never makes the front end softer in racking (the principle of minimum potential energy)."""
    boat, rng = plain(**BOATS["trussed on root springs"]), np.random.default_rng(7)
    k = random_springs(rng, 40)
    designs = JointDesigns.of(variants_of(boat))
    stiffer = designs.solve(k * 10 ** rng.uniform(0, 2, k.shape)).racking_stiffness
    assert (stiffer >= designs.solve(k).racking_stiffness * (1 - 1e-9)).all()


@pytest.mark.parametrize("count", [0, 1, 513])
def test_any_number_of_designs(count):
    """None, one, and one more than is worked on at once: each is what it is on its own."""
    designs = JointDesigns.of(variants_of(plain(**BOATS["on a platform"])))
    k = 10 ** np.random.default_rng(8).uniform(5, 8, (count, 6))
    found = designs.solve(k).joint_load
    assert found.shape == (count, len(CASES), 2, 6)
    if count:
        last = designs.solve(k[-1:]).joint_load[0]
        np.testing.assert_allclose(found[-1], last, rtol=0, atol=1e-12 * np.abs(last).max())
