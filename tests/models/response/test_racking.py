"""What racking makes a joint carry, against closed forms worked from cantilever tables and statics."""

import numpy as np
import pytest

from models.response.joint_loads import RackingShares, differential_heave, racking_shares
from tests.models.boats import (
    BEAM,
    BOW,
    MARTINGALE_STAYS,
    STRUT,
    TAUT,
    joint_loads_on_hulls,
    load,
    plain,
    racking,
    solved,
    springs,
)

F, SPACING = 1000.0, 6.0
RIGID = np.inf


def two_springs(a, k, b, EI=BOW["EI_vertical"], GJ=BEAM["GJ"]):
    """Torque of two uniform bows tied at their stems by a beam free in roll, half of it to the mid-plane."""
    k_s = 1 / (1 / k + b / (2 * GJ))
    return (F * a**2 / (2 * EI)) / (1 / k_s + a / EI)


def portal(a, s, boat, joint):
    """Torque T and shear V of a beam at `s` behind stems at `a`, from heave and slope of the bow at the beam.

    boat  : EI, GA, GJ of the bow, k_pitch of its root, b between joints, EI and GA and GJ of the beam
    joint : heave, roll and pitch stiffness
    By symmetry the middle of the beam neither heaves nor twists, and no moment bends it there.
    """
    EI, GA, GJ, k_root = boat["EI"], boat["GA"], boat["GJ"], boat["k_root"]
    half, arm = boat["b"] / 2, SPACING / 2
    torsion = 1 / joint["pitch"] + half / boat["beam GJ"]
    lift = arm**2 * s / GJ + half**2 / joint["roll"] + 1 / joint["heave"]
    lift += half**3 / (3 * boat["beam EI"]) + half / boat["beam GA"]
    # of the bow at s: heave and slope under F at a, under V down at s, under T at s
    heave_F = (a * s**2 / 2 - s**3 / 6) / EI + s / GA + a * s / k_root
    slope_F = (a * s - s**2 / 2) / EI + a / k_root
    heave_V, both = s**3 / (3 * EI) + s / GA + s**2 / k_root, s**2 / (2 * EI) + s / k_root
    slope_T = s / EI + 1 / k_root
    matrix = [[heave_V + lift, both], [both, slope_T + torsion]]
    V, T = np.linalg.solve(matrix, [F * heave_F, F * slope_F])
    return T, V


@pytest.mark.parametrize("k", [1e3, 2e5, 1e7, RIGID])
@pytest.mark.parametrize("inboard", [0.0, 0.6])
def test_torque_is_that_of_two_springs_in_series(k, inboard):
    """No roll stiffness: T = (F a²/2EI)/(1/k_s + a/EI), 1/k_s = 1/k + b/2GJ, against the racking."""
    loads = joint_loads_on_hulls(plain(inboard=inboard), springs("roll", pitch=k), racking(F))[0]
    torque = two_springs(4.0, k, SPACING - 2 * inboard)
    assert loads[:, 4] == pytest.approx([torque, -torque], rel=1e-11)
    assert loads[:, [2, 3]] == pytest.approx(0, abs=1e-8 * F)


@pytest.mark.parametrize(
    ("k", "k_root", "s", "height"), [(3e5, 8e6, 4.0, 0), (3e5, RIGID, 2.9, 0), (4e6, 5e6, 3.1, 0.6)]
)
def test_a_sprung_root_and_a_beam_behind_the_stem(k, k_root, s, height):
    """T = θ_F/(1/k_s + s/EI + 1/k_root) with θ_F = F (a s − s²/2)/EI + F a/k_root, at any height."""
    a, EI, b = 4.0, BOW["EI_vertical"], SPACING - 0.8
    root = {} if k_root == RIGID else {"pitch": k_root}
    boat = plain(
        length=a,
        station=s,
        height=height,
        inboard=0.4,
        root=root,
        bow={"GA_vertical": 5e7, "GA_lateral": 4e7},
    )
    loads = joint_loads_on_hulls(boat, springs("roll", "yaw", pitch=k), racking(F))[0]
    theta = F * (a * s - s**2 / 2) / EI + F * a / k_root
    torque = theta / (1 / k + b / (2 * BEAM["GJ"]) + s / EI + 1 / k_root)
    assert loads[:, 4] == pytest.approx([torque, -torque], rel=1e-11)


JOINTS = {
    "rigid": {"heave": RIGID, "roll": RIGID, "pitch": RIGID},
    "soft in roll": {"heave": RIGID, "roll": 3e5, "pitch": RIGID},
    "soft in all three": {"heave": 2e7, "roll": 6e5, "pitch": 2e5},
}


@pytest.mark.parametrize("joint", JOINTS.values(), ids=JOINTS)
@pytest.mark.parametrize("s", [4.0, 3.2])
def test_a_joint_stiff_in_roll_makes_a_portal(joint, s):
    """Torque, shear and bending M = V b/2 follow the portal, torsion of the bow and shear included."""
    a, inboard, root = 4.0, 0.5, 9e6
    shear = {"GA_vertical": 5e7, "GA_lateral": 4e7}
    boat = plain(length=a, station=s, inboard=inboard, root={"pitch": root}, bow=shear, beam=shear)
    numbers = {
        "EI": BOW["EI_vertical"],
        "GA": 5e7,
        "GJ": BOW["GJ"],
        "k_root": root,
        "b": SPACING - 2 * inboard,
    }
    numbers |= {"beam EI": BEAM["EI_vertical"], "beam GA": 5e7, "beam GJ": BEAM["GJ"]}
    T, V = portal(a, s, numbers, joint)
    given = {word: k for word, k in joint.items() if k < RIGID}
    front, solution = solved(boat, springs(**given), racking(F))
    shares = racking_shares(front, solution).shares(0)
    loads = joint_loads_on_hulls(boat, springs(**given), racking(F))[0]
    assert loads[0, 2:5] == pytest.approx([-V, V * numbers["b"] / 2, T], rel=1e-10)
    assert loads[1, 2:5] == pytest.approx([V, V * numbers["b"] / 2, -T], rel=1e-10)
    assert shares.by_part == pytest.approx(
        {"hull": 1 - (T + V * s) / (F * a), "torque": T / (F * a), "shear": V * s / (F * a)}, rel=1e-10
    )


def test_a_joint_stiff_in_roll_takes_more_by_shear_than_by_torque():
    """The portal's shear takes far more of the racking moment than the torque that bonding is feared for."""
    front, solution = solved(plain(inboard=0.5), springs(), racking(F))
    shares = racking_shares(front, solution).shares(0)
    assert shares.shear > 3 * shares.torque > 0


def test_stiffening_any_joint_spring_stiffens_the_front_end():
    """Racking stiffness never falls when a joint spring rises (Rayleigh's monotonicity)."""
    boat = plain(station=3.3, height=0.4, inboard=0.4, root={"pitch": 8e6})
    for word in ("surge", "heave", "roll", "pitch", "yaw"):
        heave = []
        for k in (1e5, 1e6, 1e7, RIGID):
            front, solution = solved(boat, springs(**({} if k == RIGID else {word: k})), racking(F))
            heave.append(differential_heave(front, solution)[0])
        assert np.all(np.diff(heave) < 0)


@pytest.mark.parametrize("martingale", [MARTINGALE_STAYS, TAUT, MARTINGALE_STAYS | {"at_striker": "slips"}])
@pytest.mark.parametrize(("bent", "rel"), [(False, 1e-11), (True, 1e-8)], ids=["as drawn", "deformed"])
def test_shares_sum_to_one_with_slack_stays_and_in_the_deformed_shape(martingale, bent, rel):
    """Statics of a bow knows no linearity: hull, torque and shear share sum to 1 whatever slackens or bends."""
    boat = plain(
        station=3.3, height=0.5, inboard=0.4, root={"pitch": 8e6}, striker=STRUT, martingale=martingale
    )
    pull = [load("stay", (-9e3, 0, 38e3)), load("port hull at beam", (200.0, 0, 900.0), (0, 300.0, 0))]
    cases = racking(4e3), racking(4e3) + pull, [*pull, load("port stem", (500.0, -900.0, 4e3))]
    front, solution = solved(boat, springs(pitch=2e5, roll=3e5), *cases, bent=bent)
    found = racking_shares(front, solution)
    for case in range(3):
        assert sum(found.shares(case).by_part.values()) == pytest.approx(1, abs=rel)
    assert found.applied[0] == pytest.approx(-4e3 * 4.0, rel=1e-4)


def test_nothing_racks_where_nothing_is_applied_to_the_bows():
    """A case without racking moment has no shares."""
    front, solution = solved(plain(), springs(), racking(0.0))
    assert racking_shares(front, solution).shares(0) is None


def test_shares_that_miss_one_stop_the_run():
    """Shares that do not sum to 1 to 1e-7 are an error of the run, never a result."""
    of = {"applied": 1.0, "hull": 0.9, "torque": 0.05, "by_side": [1e-3, 0.0, 0.0, 0.0]}
    of = {part: np.array([value]) for part, value in of.items()}
    assert RackingShares(**of, shear=np.array([0.05])).shares(0) is not None
    with pytest.raises(ArithmeticError, match="sum to"):
        RackingShares(**of, shear=np.array([0.05 + 2e-7])).shares(0)


def test_what_is_alike_on_both_sides_racks_nothing():
    """A difference of two even moments that is their rounding has no shares."""
    of = {"applied": 1e-10, "hull": 3e-10, "torque": 0.0, "shear": 0.0, "by_side": [500.0, 500.0, 0.0, 0.0]}
    assert RackingShares(**{part: np.array([value]) for part, value in of.items()}).shares(0) is None
