"""Variants of a front end against front ends built and solved on their own."""

import numpy as np
import pytest

from cases.loads import nodal_loads
from femcore.base.errors import InputFault
from femcore.frame.frame import Loads
from femcore.solvers.frame_changes import Changes
from femcore.solvers.solution import solve
from femcore.solvers.stiffness_groups import scaled
from models.boat.boat import Boat
from models.joints import JointStiffness
from models.response.front_end import build
from models.response.front_end_variants import FrontEndVariants
from models.response.joint_loads import differential_heave, joint_loads, racking_shares, stem_movements
from models.response.platform_frame import platform_response
from models.response.stiffness_names import (
    multipliers,
    springs_in_boat_axes,
    springs_of_joints,
    stiffness_groups,
)
from tests.models.boats import (
    LONGERON,
    MARTINGALE_STAYS,
    STRUT,
    TAUT,
    load,
    plain,
    racking,
    springs,
    tables,
    validated,
)
from tests.models.response.test_platform_frame import FLEXIBLE

F = 4e3
CASES = [
    racking(F), [load("stay", (-2e3, 300.0, 9e3))], [load("stay", (0.0, 0.0, -30e3)), *racking(F)],
]  # fmt: skip
BOATS = {
    "trussed on root springs": {
        "striker": STRUT,
        "martingale": TAUT,
        "root": {"pitch": 5e6, "roll": 4e6},
        "height": 0.2,
    },
    "on a platform": {
        "platform": FLEXIBLE,
        "longeron": LONGERON,
        "inboard": 0.4,
        "station": 3.4,
        "height": 0.3,
    },
}
EACH_BOAT = pytest.mark.parametrize("name", BOATS)


def cases_on(front):
    """CASES as loads of a front end."""
    loads = Loads.zeros(front.frame, *(f"case {number}" for number in range(len(CASES))))
    for number, case in enumerate(CASES):
        loads.nodal[number] = nodal_loads(front, case)
    return loads


def variants_of(boat, **keys):
    """Its variants under CASES."""
    return FrontEndVariants.of(boat, cases_on, **keys)


@EACH_BOAT
def test_a_projected_reading_is_the_reading_in_those_coordinates(name):
    """Every movement of the frame's joint loads and roots in three coordinates; all else stays as it was."""
    readings = {
        "twice": lambda _, solution: 2 * joint_loads(solution),
        "loads": lambda _, solution: joint_loads(solution),
    }
    whole = variants_of(plain(**BOATS[name]), more=readings)
    basis = np.random.default_rng(0).standard_normal((12, 3))
    multipliers = np.linspace(0.5, 2.0, len(whole.groups))[None]
    full, few = (
        one.solve(springs(pitch=2e5), Changes(multipliers))
        for one in (whole, whole.projected("loads", basis))
    )
    wanted = full.more["loads"].reshape(*full.more["loads"].shape[:2], 12) @ basis
    assert few.more["loads"] == pytest.approx(wanted, rel=1e-10, abs=1e-10 * np.abs(wanted).max())
    assert (few.more["twice"] == full.more["twice"]).all()
    assert (few.racking == full.racking).all()


@EACH_BOAT
def test_forces_are_the_same_without_movements(name):
    """Joint loads, tensions and racking of all variants to the last digits; movements are not known."""
    whole = variants_of(plain(**BOATS[name]))
    multipliers = np.random.default_rng(2).uniform(0.5, 2.0, (3, len(whole.groups)))
    full, few, at_once = (
        one.solve(springs(pitch=2e5), Changes(multipliers))
        for one in (whole, whole.without_movements(), variants_of(plain(**BOATS[name]), forces_alone=True))
    )
    assert np.isfinite(full.stems).all()
    assert np.isfinite(full.racking_stiffness).all()
    for alone in (few, at_once):
        for key in ("joint_load", "under_pretension", "tension", "racking"):
            wanted = getattr(full, key)
            assert getattr(alone, key) == pytest.approx(
                wanted, rel=1e-10, abs=1e-10 * np.abs(wanted).max(initial=0.0)
            )
        assert np.isnan(alone.stems).all()
        assert np.isnan(alone.racking_stiffness).all()


@EACH_BOAT
def test_loads_reach_their_movements_where_forces_alone_are_wanted(name):
    """Of two loads out of three, by different readings, as where all movements are read; on a platform its balance moves too."""

    def port_stem(front, solution):
        return stem_movements(front, solution)[:, 0, 2]

    boat, targets = plain(**BOATS[name]), {0: (differential_heave, 0.06), 2: (port_stem, 0.05)}
    whole = variants_of(boat, targets=targets)
    multipliers = np.random.default_rng(2).uniform(0.5, 2.0, (3, len(whole.groups)))
    full, few = (
        one.solve(springs(pitch=2e5), Changes(multipliers), reach=np.array([[1.0], [1.0], [1.5]]))
        for one in (whole, variants_of(boat, targets=targets, forces_alone=True))
    )
    assert few.reached.all()
    assert few.weights == pytest.approx(full.weights, rel=1e-10)
    for key in ("joint_load", "tension", "racking"):
        wanted = getattr(full, key)
        assert getattr(few, key) == pytest.approx(
            wanted, rel=1e-9, abs=1e-9 * np.abs(wanted).max(initial=0.0)
        )


def test_only_the_same_frame_has_the_same_factors():
    """A stay that is held elsewhere leaves the frame as it is, another martingale does not; answers are those of each alone."""

    def of(forward, EA):
        boat = plain(striker=STRUT, martingale=TAUT | {"EA": EA})
        moved = boat.model_copy(update={"stay": boat.stay.model_copy(update={"forward": forward})})
        return build(moved, springs("roll"))

    solved, moved, other = of(0.02, "9 MN"), of(0.3, "9 MN"), of(0.02, "8 MN")
    assert moved.with_factors_of(solved).prepared is solved.prepared
    assert moved.with_factors_of(solved).places["stay"].arm[0] == 0.3
    assert other.with_factors_of(solved) is other
    assert other.prepared is not solved.prepared


def assert_same(found, number, front, solution):
    """One variant has the joint loads, stems and tensions of a front end solved on its own."""
    pairs = [
        (found.joint_load, joint_loads(solution)),
        (found.stems, stem_movements(front, solution)),
        (found.tension, solution.tension),
    ]
    for of_variants, exact in pairs:
        np.testing.assert_allclose(
            of_variants[number], exact, rtol=0, atol=1e-9 * np.abs(exact).max(initial=1e-9)
        )
    assert (found.slack[number] == solution.slack).all()
    shares = racking_shares(front, solution)
    for case in range(len(CASES)):
        own = shares.shares(case)
        if own is None:
            assert np.isnan(found.shares[number, case]).all()
        else:
            np.testing.assert_allclose(
                found.shares[number, case], [own.hull, own.torque, own.shear], atol=1e-9
            )


@EACH_BOAT
def test_joints_from_free_to_rigid_on_other_stiffness_are_front_ends_built_so(name):
    """Six springs from free to rigid while every other stiffness changes, a stay that slackens the martingale among the cases:
    joint loads, shares, movements and tensions are those of the frame built so.
    """
    boat, rng, count = plain(**BOATS[name]), np.random.default_rng(3), 12
    variants = variants_of(boat)
    joints = 10 ** rng.uniform(3, 10, (count, 6))
    joints[rng.random(joints.shape) < 0.15] = np.inf
    joints[:4, 3] = 0.0
    factors = 2 ** rng.uniform(-1, 1, (count, len(variants.groups)))
    # all of a platform alike, so that its twist centre, and with it the support, stays
    factors[:, [group.name.startswith("platform") for group in variants.groups]] = factors[:, :1]
    found = variants.solve(None, Changes(factors, springs_in_boat_axes(joints)))
    assert found.slack.any() == (name == "trussed on root springs")
    for number in range(count):
        joint = springs(
            **dict(zip(("surge", "sway", "heave", "roll", "pitch", "yaw"), joints[number], strict=True))
        )
        front = build(boat, joint)
        frame = scaled(front.frame, stiffness_groups(front), factors[number])
        assert_same(found, number, front, solve(frame, cases_on(front)))


def test_joints_in_axes_of_their_own_are_mirrored():
    """A pin askew, and a joint whose directions are coupled: the starboard joint is the port one's mirror image."""
    boat = plain(**BOATS["on a platform"])
    pin = np.array([[0.6, 0.0, 0.8], [0.0, 1.0, 0.0], [-0.8, 0.0, 0.6]]) @ np.array(
        [[0.8, 0.6, 0.0], [-0.6, 0.8, 0.0], [0.0, 0.0, 1.0]]
    )
    root = np.random.default_rng(4).standard_normal((6, 6)) * [1e4, 1e4, 1e4, 600, 600, 600]
    joints = [
        JointStiffness(np.array([np.inf, np.inf, 3e7, 0.0, 4e5, np.inf]), pin), JointStiffness.coupled(root.T @ root, ("surge",)),
    ]  # fmt: skip
    found = variants_of(boat).solve(None, Changes(springs=springs_of_joints(joints)))
    for number, joint in enumerate(joints):
        front = build(boat, joint)
        assert_same(found, number, front, solve(front.frame, cases_on(front)))


KEYS = {
    "bows.EI_vertical": ("bows", "EI_vertical"), "bows.EI_lateral": ("bows", "EI_lateral"), "bows.GJ": ("bows", "GJ"),
    "crossbeam.EI_vertical": ("crossbeam", "EI_vertical"), "crossbeam.EI_lateral": ("crossbeam", "EI_lateral"),
    "crossbeam.GJ": ("crossbeam", "GJ"), "crossbeam.EA": ("crossbeam", "EA"),
    "longeron.EI_vertical": ("longeron", "EI_vertical"), "striker.EI": ("striker", "EI"), "striker.EA": ("striker", "EA"),
    "martingale.EA": ("martingale", "EA"), "root.pitch": ("root", "pitch"), "root.roll": ("root", "roll"),
}  # fmt: skip


@pytest.mark.parametrize("name", KEYS)
def test_a_name_is_the_key_of_the_file(name):
    """A multiplier of 2 on a name is a boat whose file has twice that value there."""
    given = BOATS["trussed on root springs"] | {
        "longeron": LONGERON,
        "martingale": MARTINGALE_STAYS | {"pretension": 4e3},
    }
    variants = variants_of(plain(**given))
    found = variants.solve(springs(pitch=1e6), Changes(multipliers(variants.groups, {name: 2.0})))
    raw, (part, key) = tables(**given), KEYS[name]
    for table in raw["bows"]["stations"] if part == "bows" else [raw[part]]:
        value, unit = table[key].split()
        table[key] = f"{2 * float(value)!r} {unit}"
    front = build(validated(Boat, raw), springs(pitch=1e6))
    assert_same(found, 0, front, solve(front.frame, cases_on(front)))
    change = np.abs(found.joint_load - variants.solve(springs(pitch=1e6)).joint_load).max()
    assert change > 1e-7 * np.abs(found.joint_load).max()


def test_a_platform_s_member_is_found_by_its_name():
    """Twice the bending stiffness of a member of the platform, under moments that need no support."""
    member = FLEXIBLE.members[1]

    def twisted(front):
        loads = Loads.zeros(front.frame, "twist")
        loads.nodal[0, [front.frame.node_index[f"{side} root"] for side in ("port", "starboard")], 4] = (
            1e3,
            -1e3,
        )
        return loads

    keys = BOATS["on a platform"]
    variants = FrontEndVariants.of(plain(**keys), twisted)
    for key in ("EI_vertical", "GJ", "GA_vertical"):
        name = f"platform.{member.name}.{key}"
        found = variants.solve(springs(), Changes(multipliers(variants.groups, {name: 2.0})))
        changed = member.model_copy(update={key: 2 * getattr(member, key)})
        members = tuple(changed if one is member else one for one in FLEXIBLE.members)
        other = plain(**keys | {"platform": FLEXIBLE.model_copy(update={"members": members})})
        front = build(other, springs())
        exact = joint_loads(solve(front.frame, twisted(front)))
        # the rebuilt boat is held and divided anew at its own twist centre, where no load acts
        np.testing.assert_allclose(found.joint_load[0], exact, rtol=0, atol=1e-4 * np.abs(exact).max())


@pytest.mark.parametrize("factor", [0.5, 2.0])
def test_roll_is_balanced_at_the_twist_centre_of_each_variant(factor):
    """One member of the platform made softer or stiffer moves the twist centre by a tenth of a metre and more: it is where a boat
    with that member has it, and racking does to joints and stems what it does to that boat, built and divided anew.
    """
    keys, at = BOATS["on a platform"], 2
    variants = variants_of(plain(**keys))
    member = FLEXIBLE.members[at]
    factors = multipliers(variants.groups, {f"platform.{member.name}": factor})
    changed = member.model_copy(
        update={key: factor * getattr(member, key) for key in ("EA", "EI_vertical", "EI_lateral", "GJ")}
    )
    members = (*FLEXIBLE.members[:at], changed, *FLEXIBLE.members[at + 1 :])
    other = plain(**keys | {"platform": FLEXIBLE.model_copy(update={"members": members})})
    centre, nominal = (platform_response(one).twist_centre for one in (other, variants.front.boat))
    assert abs(centre - nominal) > 0.1
    assert variants.balance.twist_centre(factors)[0] == pytest.approx(centre, abs=1e-3)
    assert variants.balance.twist_centre(np.ones_like(factors))[0] == pytest.approx(nominal, abs=1e-9)
    found = variants.solve(springs(roll=4e5), Changes(factors))
    front = build(other, springs(roll=4e5))
    solution = solve(front.prepared, cases_on(front))
    for ours, exact in (
        (found.joint_load[0], joint_loads(solution)), (found.stems[0], stem_movements(front, solution)),
    ):  # fmt: skip
        size = np.abs(exact).max(axis=(0, 1))
        np.testing.assert_allclose(ours / size, exact / size, rtol=0, atol=3e-3)
    unmoved = variants.solve(springs(roll=4e5), Changes(np.ones_like(factors)))
    as_built = variants.solve(springs(roll=4e5))
    np.testing.assert_allclose(unmoved.joint_load, as_built.joint_load, rtol=0, atol=1e-7 * F)


def test_a_key_stands_for_all_below_it_and_factors_multiply():
    """Names and the keys before them: all stiffnesses below, and the product where both are given; a slip of the pen is named."""
    groups = variants_of(plain(**BOATS["on a platform"])).groups
    found = multipliers(groups, {"platform": [2.0, 3.0], "platform.hulls.GJ": 5.0}, 2)
    of = {group.name: found[:, at].tolist() for at, group in enumerate(groups)}
    assert of["platform.hulls.GJ"] == [10.0, 15.0]
    assert of[f"platform.{FLEXIBLE.members[0].name}.end_roll"] == [2.0, 3.0]
    assert of["crossbeam.GJ"] == [1.0, 1.0]
    with pytest.raises(InputFault, match=r"crossbeam\.GT"):
        multipliers(groups, {"crossbeam.GT": 2.0})


def test_a_load_reaches_its_movement_in_every_variant():
    """Scaled to a differential heave of 60 mm, and of 90 where asked, with whatever stiffness; the load is that of the front end
    that is solved under it, a slack stay included.
    """
    boat = plain(**BOATS["trussed on root springs"] | {"martingale": MARTINGALE_STAYS | {"pretension": 50.0}})
    variants = variants_of(boat, targets={0: (differential_heave, 0.06), 2: (differential_heave, 0.06)})
    factors = multipliers(variants.groups, {"bows.EI_vertical": [1.0, 0.5, 2.0]}, 3)
    found = variants.solve(springs(roll=2e5), Changes(factors), reach=np.array([[1.0], [1.0], [1.5]]))
    assert found.reached.all()
    assert found.slack.any()
    heave = found.stems[:, :, 0, 2] - found.stems[:, :, 1, 2]
    np.testing.assert_allclose(heave[:, [0, 2]], np.array([[0.06], [0.06], [0.09]]) * [1, 1], rtol=1e-9)
    front = build(boat, springs(roll=2e5))
    for number in range(3):
        loads = cases_on(front).combined(found.weights[number], tuple("abc"))
        assert_same(
            found, number, front, solve(scaled(front.frame, stiffness_groups(front), factors[number]), loads)
        )


def test_racking_stiffness_and_pretension_are_those_of_single_solutions():
    """Opposite forces per differential heave, and what pretension alone puts through the joints, each on its own."""
    boat = plain(**BOATS["trussed on root springs"])
    found = variants_of(boat).solve(springs(pitch=3e5))
    front = build(boat, springs(pitch=3e5))
    loads = Loads.zeros(front.frame, "racking", "none")
    loads.nodal[0] = nodal_loads(front, racking(1.0))
    both = solve(front.prepared, loads)
    stiffness = 1 / (differential_heave(front, both)[0] - differential_heave(front, both)[1])
    assert found.racking_stiffness[0] == pytest.approx(stiffness, rel=1e-6)
    rest = joint_loads(both)[1]
    np.testing.assert_allclose(found.under_pretension[0], rest, atol=1e-9 * np.abs(rest).max())
