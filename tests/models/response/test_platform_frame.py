"""The platform in the frame against closed forms, the independence of its support, and the limits of the root springs."""

from dataclasses import replace

import numpy as np
import pytest

from femcore.frame.frame import Loads
from femcore.solvers.solution import solve
from models.boat.boat import Root
from models.boat.platform import HullAftStation, Platform, PlatformMember, hand_formula
from models.response.attraction import attraction_curve, racking_moment
from models.response.front_end import CENTRE, SIDES, build
from models.response.joint_loads import differential_heave, joint_loads, racking_shares, root_actions
from models.response.load_path import LoadComponent, front_end_load_paths
from models.response.platform_frame import BALANCE, platform_response, response_of
from tests.models.boats import BEAM, LONGERON, MIRROR, load, plain, racking, solved, springs

DECK = {"EI_vertical": 8e6, "EI_lateral": 50e6, "GJ": 1.5e6, "EA": 900e6}
STIFF = dict.fromkeys(DECK, 1e14)
RIGID_BOW = dict.fromkeys(DECK, 100000000000000.0)
F, SPACING, HEIGHT, INBOARD = 1000.0, 6.0, 0.5, 0.4
WIDTH = SPACING - 2 * INBOARD


def member(station, **keys):
    """A transverse member, at the hull's own height unless given."""
    return PlatformMember(**{"name": f"at {station:g}", "station": station, "height": HEIGHT} | DECK | keys)


def platform(*members, hull=None):
    """A platform; its hulls as the bows at the root, or with what differs from DECK."""
    return Platform(members=members, hulls=() if hull is None else (HullAftStation(at=0.0, **DECK | hull),))


RIGID_HULLS = platform(
    member(0.0), member(-3.0, EI_vertical=3e6), member(-5.0, EI_vertical=1e6, GJ=4e6), hull=STIFF
)
FLEXIBLE = platform(
    member(0.0, height=0.9, end_roll=30e6), member(-2.0, GA_vertical=30e6, inboard=0.7), member(-4.5, EI_vertical=2e6, height=1.2)
)  # fmt: skip


def boat(on, **keys):
    """The plain boat on a platform."""
    return plain(**{"inboard": INBOARD, "platform": on} | keys)


def rigid_hull_sums(on, *more):
    """x_i and k_i = 12EI/b³ and Σ GJ/b of members and of beams (x, EI, GJ, b) besides."""
    rows = [(one.station, one.EI_vertical, one.GJ, WIDTH) for one in on.members] + list(more)
    x, EI, GJ, b = np.array(rows).T
    return x, 12 * EI / b**3, float((GJ / b).sum())


def test_rigid_hulls_turn_about_the_twist_centre_by_the_closed_form():
    """Hulls rigid: x_c = Σ k_i x_i/Σ k_i, φ/M = 1/(2[Σ k_i d_i² + Σ GJ_i/b]), in the frame as by hand."""
    found = response_of(plain(inboard=INBOARD).bows, RIGID_HULLS)
    x, k, torsion = rigid_hull_sums(RIGID_HULLS)
    centre = k @ x / k.sum()
    assert found.twist_centre == pytest.approx(centre, abs=1e-6)
    assert found.twist_per_moment == pytest.approx(1 / (2 * (k @ (x - centre) ** 2 + torsion)), rel=1e-6)


def test_rigid_hulls_rolled_alike_and_apart_see_other_springs():
    """Rolled alike the members bend into an S, 6EI/b per root as seen at the hull's axis; rolled apart into an arc, 2EI/b.

    Through a rigid arm e the moment for unit roll is M + V e of the S: 6EI/b · (s/b)² … one member, at the bulkhead.
    """
    EI, found = 8e6, response_of(plain(inboard=INBOARD).bows, platform(member(0.0), hull=STIFF))
    assert found.symmetric_roll == pytest.approx(2 * EI / WIDTH, rel=1e-6)
    # held at the twist centre, here the bulkhead: ends turn by θ and rise by ± e θ; chord turns by 2eθ/b the other way
    assert found.antisymmetric_roll == pytest.approx(6 * EI / WIDTH * (SPACING / WIDTH) ** 2, rel=5e-6)


@pytest.mark.parametrize("GJ", [6e6, 60e6])
def test_two_members_between_hulls_that_twist_follow_the_hand_formula(GJ):
    """With two members each term of the hand formula is exact: bending, shear, end springs, the hulls' own torsion."""
    hull = STIFF | {"GJ": GJ}
    soft = {"GA_vertical": 20e6, "end_roll": 9e6}
    one = platform(member(0.0, **soft), member(-5.0, EI_vertical=3e6), hull=hull)
    bows = plain(inboard=INBOARD).bows
    found, hand = response_of(bows, one), hand_formula(one, bows)
    assert found.twist_centre == pytest.approx(hand.twist_centre, abs=1e-5)
    assert found.twist_per_moment == pytest.approx(hand.twist_per_moment, rel=1e-5)


def test_a_pair_at_the_stems_twists_the_platform_by_its_lever_to_the_twist_centre():
    """M_P = F (x_stem − x_c): rigid bows and hulls turn by φ = M_P φ/M, and the stems move 2 φ (x_stem − x_c) apart."""
    one = boat(RIGID_HULLS, bow=RIGID_BOW, station=3.0)
    found, front = platform_response(one), build(one, None)
    loads = Loads.zeros(front.frame, "racking")
    for side, sign in zip(SIDES, (F, -F), strict=True):
        loads.nodal[0, front.frame.node_index[f"{side} stem"], 2] = sign
    solution = solve(front.frame, loads)
    lever = 4.0 - found.twist_centre
    expected = 2 * F * lever**2 * found.twist_per_moment
    assert differential_heave(front, solution)[0] == pytest.approx(expected, rel=1e-5)


@pytest.mark.parametrize("softness", [1.0, 1e-2])
def test_a_rigidly_joined_crossbeam_stiffens_rigid_bows_by_the_closed_form(softness):
    """Rigid hulls have two freedoms, φ and the heave difference; the crossbeam adds 12EI/b³ and GJ/b at its station.

    Where it is soft the gain is 1 + [12EI (x − x_c)²/b³ + GJ/b]/(Σ k d² + Σ GJ/b).
    """
    beam = {key: value * softness for key, value in BEAM.items()} | {"EA": BEAM["EA"]}
    one = boat(RIGID_HULLS, bow=RIGID_BOW, beam=beam)
    centre = platform_response(one).twist_centre
    stiffness = []
    for more in ([], [(4.0, beam["EI_vertical"], beam["GJ"], WIDTH)]):
        x, k, torsion = rigid_hull_sums(RIGID_HULLS, *more)
        d = x - centre
        # energy in half the relative movements: u = (φ, ζ), the pair F works on φ (x_stem − x_c) alone
        K = 2 * np.array([[k @ d**2 + torsion, k @ d], [k @ d, k.sum()]])
        work = np.array([4.0 - centre, 0.0])
        stiffness.append(1 / float(work @ np.linalg.solve(K, work)))
    front = build(one, springs())
    loads = Loads.zeros(front.frame, "racking")
    for side, sign in zip(SIDES, (F, -F), strict=True):
        loads.nodal[0, front.frame.node_index[f"{side} hull at beam"], 2] = sign
    gain = 2 * F / differential_heave(front, solve(front.frame, loads))[0] / stiffness[0]
    assert gain == pytest.approx(stiffness[1] / stiffness[0], rel=1e-5)
    x, k, torsion = rigid_hull_sums(RIGID_HULLS)
    plain_gain = 1 + (12 * beam["EI_vertical"] * (4.0 - centre) ** 2 / WIDTH**3 + beam["GJ"] / WIDTH) / (
        k @ (x - centre) ** 2 + torsion
    )
    assert gain - 1 == pytest.approx(plain_gain - 1, rel=0.2 if softness == 1.0 else 1e-2)


def balanced_loads(front, seed):
    """One case of random loads on the nodes of bows and platform that are in equilibrium as drawn."""
    frame, rng = front.frame, np.random.default_rng(seed)
    loads = Loads.zeros(frame, "balanced")
    nodes = [number for name, number in frame.node_index.items() if not name.startswith(BALANCE)]
    loads.nodal[0, nodes] = rng.normal(size=(len(nodes), 6)) * F
    force = loads.nodal[0, :, :3].sum(axis=0)
    moment = (loads.nodal[0, :, 3:] + np.cross(frame.nodes, loads.nodal[0, :, :3])).sum(axis=0)
    at = frame.node_index["port stem"]
    loads.nodal[0, at, :3] -= force
    loads.nodal[0, at, 3:] -= moment - np.cross(frame.nodes[at], force)
    return loads


@pytest.mark.parametrize("seed", range(3))
def test_forces_of_balanced_loads_do_not_depend_on_the_support(seed):
    """The support is statically determinate: loads in equilibrium cause no reaction, and the same forces as in a frame
    that is held at one stem alone.
    """
    front = build(boat(FLEXIBLE, station=3.4), springs(pitch=3e5, roll=2e6))
    loads, frame = balanced_loads(front, seed), front.frame
    held = solve(frame, loads)
    scale = np.abs(loads.nodal).max()
    assert np.abs(held.reactions).max() < 1e-7 * scale
    fixed = np.zeros_like(frame.fixed)
    fixed[[number for name, number in frame.node_index.items() if name.startswith(BALANCE)]] = True
    fixed[frame.node_index["starboard stem"]] = True
    other = solve(replace(frame, fixed=fixed, springs=0.0 * frame.springs), loads)
    count = len(frame.ends)
    assert other.natural[0, :count] == pytest.approx(held.natural[0, :count], abs=1e-6 * scale)
    assert joint_loads(other) == pytest.approx(joint_loads(held), abs=1e-6 * scale)


def test_reactions_of_balanced_loads_cancel_where_a_longeron_ends_on_the_bulkhead():
    """Its root turns in pitch with the hulls' mean: by the support, whose reactions to loads in equilibrium sum to nothing."""
    front = build(
        boat(FLEXIBLE, longeron=LONGERON | {"height_at_root": 1.3}, station=3.4), springs(pitch=3e5)
    )
    loads = balanced_loads(front, 5)
    held = solve(front.frame, loads).reactions[0]
    force, at = held[:, :3], front.frame.nodes
    assert np.abs(held).max() > F
    assert force.sum(axis=0) == pytest.approx(0, abs=1e-6 * F)
    assert (held[:, 3:] + np.cross(at, force)).sum(axis=0) == pytest.approx(0, abs=1e-5 * F)


class _WithSymmetricMembers(Platform):
    """A platform whose members for symmetric bending are stiffer, and rigid in the hulls."""

    @property
    def for_symmetric(self):
        """Twice the EI."""
        members = [
            one.model_copy(update={"EI_vertical": 2 * one.EI_vertical, "end_roll": None})
            for one in self.members
        ]
        return Platform(members=members, hulls=self.hulls)


def test_members_for_symmetric_bending_act_where_hulls_roll_apart_and_nowhere_else():
    """Hulls rolled apart meet the stiffer members, M/θ = 2EI/b each; twist and hulls rolled alike meet those for racking."""
    members = (member(0.0, end_roll=30e6), member(-4.0, EI_vertical=3e6))
    hulls = (HullAftStation(at=0.0, **STIFF),)
    bows = plain(inboard=INBOARD).bows
    racking_alone = response_of(bows, Platform(members=members, hulls=hulls))
    both = response_of(bows, _WithSymmetricMembers(members=members, hulls=hulls))
    assert both.symmetric_roll == pytest.approx(2 * (2 * 8e6 + 2 * 3e6) / WIDTH, rel=1e-5)
    assert both.symmetric_roll == pytest.approx(both.symmetric_recipe_roll, rel=1e-6)
    assert racking_alone.symmetric_roll < 0.5 * both.symmetric_roll
    for name in ("twist_centre", "twist_per_moment", "antisymmetric_roll", "antisymmetric_yaw"):
        assert getattr(both, name) == pytest.approx(getattr(racking_alone, name), rel=1e-9)


def test_mirrored_loads_give_mirrored_joint_loads():
    """Nothing of platform or support prefers a side: a load on the port bow acts as its image on the starboard one."""
    force, moment = (300.0, -200.0, 900.0), (50.0, 80.0, -40.0)
    one, joint = boat(FLEXIBLE, longeron=LONGERON), springs(pitch=3e5)
    to_port, to_starboard = (
        [load(f"{side} stem", tuple(np.array(force) * MIRROR[:3] ** n), tuple(np.array(moment) * MIRROR[3:] ** n))]
        for n, side in enumerate(SIDES)
    )  # fmt: skip
    found = joint_loads(solved(one, joint, to_port, to_starboard)[1])
    assert found[1] == pytest.approx(found[0, ::-1] * MIRROR, abs=1e-7 * F)


def test_a_rigid_platform_at_the_bulkhead_is_a_rigid_root():
    """One unyielding member at the bulkhead: the same joint loads, roots and shares as with roots held rigidly."""
    keys = {"inboard": INBOARD, "station": 3.4, "height": 0.3}
    on_platform, on_root = boat(platform(member(0.0, **STIFF)), **keys), plain(**keys)
    cases = [racking(F), [load("stay", (-2e3, 0.0, 8e3))]]
    (front, a), (held, b) = (solved(one, springs(pitch=4e5), *cases) for one in (on_platform, on_root))
    assert joint_loads(a) == pytest.approx(joint_loads(b), abs=1e-5 * F)
    assert root_actions(front, a)[1] == pytest.approx(root_actions(held, b)[1], abs=1e-5 * F)


@pytest.mark.parametrize("bent", [False, True])
def test_shares_sum_to_one_and_the_ledger_closes_on_a_platform(bent):
    """Hull, torque and shear share sum to 1 with the hull's own section moment at the bulkhead; applied and held cancel."""
    one = boat(FLEXIBLE, longeron=LONGERON, station=3.4, height=0.3)
    front, solution = solved(one, springs(pitch=4e5), racking(F), [load("stay", (-2e3, 0.0, 8e3))], bent=bent)
    shares = racking_shares(front, solution).shares(0)
    assert sum(shares.by_part.values()) == pytest.approx(1, abs=1e-8)
    assert 0.3 < shares.hull < 1
    pairs = zip(solution.loads.nodal, solution.loads.line, strict=True)
    every = [[LoadComponent("all", *loads, np.zeros((1, 3)), np.zeros((1, 3)))] for loads in pairs]
    found = front_end_load_paths(front, solution, every)
    assert len(found) == 2
    for whole in found:
        assert np.abs(whole.imbalance).max() < (1e-4 if bent else 1e-8) * np.abs(whole.applied).max()


def test_a_twist_centre_aft_of_the_bulkhead_moves_the_front_beam_more_than_a_root_spring_there():
    """For the same φ per moment at the root a spring with heave held shows a/(a − x_c) of the movement of rigid bows."""
    one = boat(RIGID_HULLS, bow=RIGID_BOW)
    found = platform_response(one)
    spring = plain(inboard=INBOARD, bow=RIGID_BOW, root={"pitch": 1 / found.twist_per_moment})
    fronts = [build(each, None) for each in (one, spring)]
    moved = []
    for front in fronts:
        loads = Loads.zeros(front.frame, "twist")
        for side, sign in zip(SIDES, (1.0, -1.0), strict=True):
            loads.nodal[0, front.frame.node_index[f"{side} root"], 4] = sign * F
        moved.append(differential_heave(front, solve(front.frame, loads))[0])
    assert moved[1] / moved[0] == pytest.approx(found.spring_share(4.0), rel=1e-5)


def test_boats_with_root_springs_have_no_platform_response():
    """[root] stays for who has only that."""
    assert platform_response(plain(root={"pitch": 1e6})) is None
    assert Root().springs == (np.inf,) * 6
    assert CENTRE in build(boat(FLEXIBLE), springs()).frame.node_index


@pytest.mark.parametrize("direction", ["pitch", "roll"])
def test_the_attraction_curve_on_a_platform_is_that_of_full_solutions(direction):
    """M(k) = M_rigid k/(k + k_half): on a platform as on root springs the rest of the structure is one flexibility."""
    one = boat(FLEXIBLE, station=3.4, height=0.3)
    joint = springs(pitch=2e5, roll=4e5)
    curve = attraction_curve(one, joint, direction)
    for k in (3e4, 5e5, 8e6):
        assert curve.moment(k) == pytest.approx(
            racking_moment(one, joint.with_spring(direction, k), direction), rel=1e-6
        )


@pytest.mark.parametrize("aft_EI", [1e2, 1e4, 1e5])
def test_a_twist_centre_next_to_a_member_costs_no_digits(aft_EI):
    """With nearly all stiffness in one member the twist centre is millimetres from it: the solution's error stays rounding."""
    one = boat(platform(member(0.0), member(-5.0, EI_vertical=aft_EI)), station=3.4)
    centre = platform_response(one).twist_centre
    assert -0.1 < centre < 0
    solution = solved(one, springs(), racking(F))[1]
    assert solution.error.max() < 1e-12
    assert solution.balance.max() < 1e-9
