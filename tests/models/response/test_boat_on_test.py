"""A boat on test: statics of her supports and of the water, closed forms of what gauges read, exact derivatives."""

import numpy as np
import pytest

from femcore.frame.frame import Loads
from femcore.solvers.solution import solve
from models.response.boat_on_test import UNKNOWNS, BoatOnTest, unavailable_unknowns
from models.response.boat_test_loads import Afloat, Gauge, LoadPattern, Supports, places_of, position
from models.response.front_end import build
from models.response.joint_loads import joint_loads
from tests.models.boats import BOW, LONGERON, STRUT, TAUT, plain, springs

LENGTH, SPACING, F = 4.0, 6.0, 1000.0
INF = float("inf")
MEMBER = {"EI_vertical": "9 MN*m**2", "EI_lateral": "50 MN*m**2", "GJ": "0.2 MN*m**2", "EA": "900 MN"}
PLATFORM = {
    "members": [
        MEMBER | {"name": "fore", "station": "0 m", "height": "0.5 m", "end_roll": "40 MN*m/rad"},
        MEMBER | {"name": "aft", "station": "-4 m", "height": "0.7 m", "GA_vertical": "30 MN"},
    ]
}
PITCH, ROLL = 3e5, 4e5
SPRUNG = springs(pitch=PITCH, roll=ROLL, yaw=5e5, heave=6e7)
BOW_LIFTED = LoadPattern("bow", (("port stem", (0.0, 0.0, 1.0), (0.0, 0.0, 0.0)),))
BOWS_LIFTED = LoadPattern(
    "bows", tuple((f"{side} stem", (0.0, 0.0, 1.0), (0.0, 0.0, 0.0)) for side in ("port", "starboard"))
)
SPREAD = LoadPattern(
    "spread",
    (("port stem", (0.0, 1.0, 0.0), (0.0, 0.0, 0.0)), ("starboard stem", (0.0, -1.0, 0.0), (0.0, 0.0, 0.0))),
)
STAY = LoadPattern("stay", stay=1.0, rake=0.2)
THREE = ("starboard stem", "port hull at aft", "starboard hull at aft")
FLOATING = Afloat(-7.0, 3.0, 0.8, 0.75)


def front(joint=SPRUNG, **keys):
    """The plain boat on two members."""
    return build(plain(platform=PLATFORM, inboard=0.4, station=3.5, height=0.3, **keys), joint)


def on_supports(gauges, patterns, places=THREE, stiffness=None, **keys):
    """Standing on some places, rigid unless told."""
    supports = Supports(tuple(places), tuple(stiffness or [INF] * len(places)))
    return BoatOnTest(front(**keys), supports, tuple(gauges), tuple(patterns))


def height(place, reference=None):
    """A gauge of height."""
    return Gauge(f"height of {place}", "height", place, reference=reference)


def test_three_supports_carry_what_statics_says_at_any_stiffness():
    """One bow lifted, the other corners held: ∓F at opposite corners by equilibrium, whatever the boat's stiffness."""
    model = on_supports([height("port stem")], [BOW_LIFTED])
    for factors in ({}, {"platform_EI": 3.0, "joint_roll": 0.2}):
        assert model.response(factors).reactions[:, 0] == pytest.approx([-1.0, -1.0, 1.0], abs=1e-9)


def test_reactions_balance_every_load_on_four_springs():
    """Sum of forces, and of moments about two axes, of loads and reactions on four unequal springs."""
    places = ("starboard stem", "port stem", "port hull at aft", "starboard hull at aft")
    model = on_supports([height("port joint")], [BOW_LIFTED, SPREAD, STAY], places, [2e5, 4e5, INF, 3e5])
    R = model.response({}).reactions
    at = np.array([position(model.front, place) for place in places])
    assert R.sum(axis=0) + model.resultants[:, 2] == pytest.approx(np.zeros(3), abs=1e-9)
    assert at[:, 1] @ R + model.resultants[:, 3] == pytest.approx(np.zeros(3), abs=1e-8)
    assert -at[:, 0] @ R + model.resultants[:, 4] == pytest.approx(np.zeros(3), abs=1e-8)


def test_a_support_moves_by_its_reaction_over_its_stiffness():
    """u = −R/k where it is a spring, nothing where it is rigid."""
    k = [2e5, INF, 3e5]
    model = on_supports([height(place) for place in THREE], [BOW_LIFTED], THREE, k)
    found = model.response({})
    assert found.readings[:, 0] == pytest.approx(-found.reactions[:, 0] / k, abs=1e-12)


def test_bows_lifted_alike_bend_as_cantilevers_against_a_bar_from_the_bulkhead():
    """Both bows alike, the crossbeam free in roll: it only rides along, so that a stem leaves the bar by F L³/3EI."""
    uniform = dict(BOW)
    found = on_supports(
        [
            height("port stem", "port hull at bulkhead"),
            height("starboard stem", "starboard hull at bulkhead"),
        ],
        [BOWS_LIFTED],
        ("port hull at bulkhead", "starboard hull at bulkhead", "port hull at aft", "starboard hull at aft"),
        bow=uniform,
        joint=springs("roll", "yaw", pitch=PITCH),
    ).response({})
    assert found.readings[:, 0] == pytest.approx(LENGTH**3 / (3 * BOW["EI_vertical"]), rel=1e-6)


def test_a_rigid_movement_is_read_as_such():
    """On soft springs and a far stiffer boat: gauges read heave, heel and trim of a rigid body, bars and turns nothing."""
    gauges = [
        height("port stem"),
        height("port stem", "starboard hull at aft"),
        Gauge("trim", "inclination", "starboard stem"),
        Gauge("heel", "inclination", "port hull at aft", "roll"),
        Gauge("turn", "turn", "port"),
        Gauge("apart", "distance", "port stem", reference="starboard hull at aft"),
    ]
    k = 0.1
    model = on_supports(gauges, [BOW_LIFTED], stiffness=[k] * 3)
    rise, bar, trim, heel, turn, apart = model.response({}).readings[:, 0]
    moved = -model.response({}).reactions[:, 0] / k  # starboard stem, port aft, starboard aft
    assert heel == pytest.approx((moved[1] - moved[2]) / SPACING, rel=1e-5)
    assert trim == pytest.approx(-(moved[0] - moved[2]) / (LENGTH + 4.0), rel=1e-5)
    assert rise == pytest.approx(moved[0] + heel * SPACING, rel=1e-5)
    assert max(abs(bar), abs(turn), abs(apart)) < 1e-3 * abs(rise)


def test_the_turn_at_a_joint_is_its_moment_over_its_stiffness():
    """An independent solution under loads and reactions: what the beam puts on the hull is k times its turn against it."""
    gauges = [
        Gauge(f"{side} {axis}", "turn", side, axis)
        for axis in ("pitch", "roll")
        for side in ("port", "starboard")
    ]
    model = on_supports(gauges, [BOW_LIFTED])
    found = model.response({})
    frame, places = model.front.frame, places_of(model.front)
    loads = Loads.zeros(frame, "lifted")
    for place, force in (("port stem", 1.0), *zip(THREE, found.reactions[:, 0], strict=True)):
        loads.nodal[0, frame.node_index[places[place].node], 2] += force
    moments = joint_loads(solve(frame, loads))[0]
    assert found.readings[:2, 0] == pytest.approx(moments[:, 4] / PITCH, rel=1e-7)
    assert found.readings[2:, 0] == pytest.approx(moments[:, 3] / ROLL, rel=1e-7)


def test_the_targets_are_the_joints_torque_and_bending_in_racking():
    """Port joint per newton of opposite forces at the stems, against the solution of that case."""
    model = on_supports([height("port stem")], [BOW_LIFTED])
    frame, places = model.front.frame, places_of(model.front)
    loads = Loads.zeros(frame, "racking")
    for side, sign in (("port", 1.0), ("starboard", -1.0)):
        loads.nodal[0, frame.node_index[places[f"{side} stem"].node], 2] = sign
    on_hull = joint_loads(solve(frame, loads))[0, 0]
    assert np.abs(model.response({}).target) == pytest.approx(np.abs(on_hull[[4, 3]]), rel=1e-7)


def test_afloat_she_heels_trims_and_rises_by_hydrostatics():
    """A weight of 1 N at the port stem, boat all but rigid: heave = W/ρgA, trim and heel by the waterplane's second moments."""
    stiff = dict.fromkeys(BOW, 1e13)
    member = {key: "1e13 " + value.split(" ", 1)[1].lstrip("M") for key, value in MEMBER.items()}
    rigid = {"members": [one | member for one in PLATFORM["members"]]}
    rigid["members"] = [
        {k: v for k, v in one.items() if k not in ("end_roll", "GA_vertical")} for one in rigid["members"]
    ]
    boat = build(plain(platform=rigid, inboard=0.4, station=3.5, bow=stiff), SPRUNG)
    gauges = (
        height("port hull at bulkhead"), height("starboard hull at bulkhead"), Gauge("trim", "inclination", "port stem"),
    )  # fmt: skip
    model = BoatOnTest(boat, FLOATING, gauges, (BOW_LIFTED,))
    port, starboard, trim = model.response({}).readings[:, 0]
    x, k = FLOATING.strips()
    middle = (FLOATING.aft + FLOATING.forward) / 2
    assert (port - starboard) / SPACING == pytest.approx(
        SPACING / 2 / (2 * k.sum() * (SPACING / 2) ** 2), rel=1e-4
    )
    assert trim == pytest.approx(-(LENGTH - middle) / (2 * k @ (x - middle) ** 2), rel=1e-4)
    rise = (port + starboard) / 2 - trim * middle  # at the waterplane's middle
    assert rise == pytest.approx(1 / (2 * k.sum()), rel=1e-3)


def test_weight_moved_from_stem_to_stem_twists_by_its_arm_to_the_middle_of_the_waterplane():
    """M_P = ½W(x − x_LCF): of the water that balances the roll, each hull has half of the weight, at the waterplane's middle."""
    model = BoatOnTest(front(), FLOATING, (height("port stem"),), (BOW_LIFTED,))
    loads = model.loads
    W, P, M = loads.nodal[loads.supports], loads.nodal[loads.patterns][0], loads.rigid
    R = -np.linalg.solve(M[loads.supports].T, M[loads.patterns][0])
    water = np.einsum("s,sni->ni", R, W)
    nodes = model.front.frame.nodes
    roll_part = R[2] * W[2]
    port = nodes[:, 1] > 0
    moment = (roll_part[port, 4] - nodes[port, 0] * roll_part[port, 2]).sum()
    force = roll_part[port, 2].sum()
    assert force == pytest.approx(-0.5)  # half of the weight's roll moment over the spacing, on this hull
    assert -moment / force == pytest.approx((FLOATING.aft + FLOATING.forward) / 2, abs=1e-3)
    assert (water + P)[:, 2].sum() == pytest.approx(0.0, abs=1e-12)


def test_the_stays_pull_leaves_nothing_for_supports():
    """Mast and shrouds return it to the hulls: no resultant, no reaction, and yet the beam turns."""
    model = on_supports([Gauge("turn", "turn", "port"), Gauge("pull", "stay tension")], [STAY])
    assert model.resultants[0] == pytest.approx(np.zeros(6), abs=1e-12)
    found = model.response({})
    assert found.reactions == pytest.approx(np.zeros((3, 1)), abs=1e-9)
    assert found.readings[1, 0] == 1.0
    assert abs(found.readings[0, 0]) > 0


def test_a_cables_tension_is_that_of_the_loaded_boat():
    """What the martingale carries more, against a solution under loads and reactions; and its derivative."""
    truss = {"striker": STRUT, "martingale": TAUT}
    gauges = [Gauge("rod", "cable tension", "port martingale"), height("port stem")]
    model = on_supports(gauges, [STAY, BOW_LIFTED], **truss)
    found = model.response({})
    frame, size = model.front.frame, 1000.0
    loads = Loads.zeros(frame, "nothing", "stay", "lifted")
    nodal = model.loads.nodal
    for case, pattern in ((1, 0), (2, 1)):
        carried = np.einsum("s,sni->ni", found.reactions[:, pattern], nodal[model.loads.supports])
        loads.nodal[case] = size * (nodal[pattern] + carried)
    tension = solve(frame, loads).tension
    assert found.tension == pytest.approx((tension[1:] - tension[0]).T / size, rel=1e-6)
    assert found.readings[0] == pytest.approx(found.tension[frame.cables.names.index("port martingale")])
    h = 1e-3
    up, down = (model.response({"crossbeam_EI": float(np.exp(s * h))}).readings[0] for s in (1, -1))
    by = found.readings_by[UNKNOWNS.index("crossbeam_EI"), 0]
    assert by == pytest.approx((up - down) / (2 * h), rel=1e-4)


def test_the_other_bow_lifted_is_the_mirror_image():
    """Mirror loads, supports and gauges: heights, pitch and distances are equal, turns in roll are opposite."""

    def side(name, other):
        gauges = [
            height(f"{name} stem"), Gauge("i", "inclination", f"{other} hull at bulkhead"), Gauge("p", "turn", name),
            Gauge("r", "turn", name, "roll"), Gauge("a", "inclination", f"{name} stem", "roll"),
        ]  # fmt: skip
        lifted = LoadPattern("bow", ((f"{name} stem", (0.0, 0.0, 1.0), (0.0, 0.0, 0.0)),))
        places = (f"{other} stem", f"{name} hull at aft", f"{other} hull at aft")
        return on_supports(gauges, [lifted], places, longeron=LONGERON).response({}).readings[:, 0]

    port, starboard = side("port", "starboard"), side("starboard", "port")
    assert port == pytest.approx(starboard * [1, 1, 1, -1, -1], rel=1e-7)


@pytest.mark.parametrize("standing", ["three", "four springs", "afloat"])
def test_derivatives_are_those_of_solving_again(standing):
    """d(reading)/dln factor, exact from one solution, against central differences for every unknown, gauge and load."""
    gauges = [
        height("port stem"), height("port hull at beam", "port hull at bulkhead"),
        Gauge("i", "inclination", "port hull at bulkhead"),
        Gauge("h", "inclination", "starboard stem", "roll"), Gauge("p", "turn", "port"), Gauge("r", "turn", "starboard", "roll"),
        Gauge("d", "distance", "port stem", reference="starboard stem"),
    ]  # fmt: skip
    patterns = [BOW_LIFTED, BOWS_LIFTED, SPREAD, STAY]
    if standing == "afloat":
        model = BoatOnTest(front(), FLOATING, tuple(gauges), tuple(patterns))
    else:
        places = (*THREE, "port hull at beam")[: 3 if standing == "three" else 4]
        reaction = Gauge("cell", "reaction", "port hull at aft")
        stiffness = None if standing == "three" else [3e6, 2e6, INF, 5e6]
        model = on_supports([*gauges, reaction], patterns, places, stiffness)
    h, size = 1e-3, np.abs(model.response({}).readings).max(axis=1, keepdims=True)
    exact = model.response({}).readings_by
    for number, unknown in enumerate(UNKNOWNS):
        up, down = (model.response({unknown: float(np.exp(s * h))}).readings for s in (1, -1))
        assert exact[number] / size == pytest.approx((up - down) / (2 * h) / size, abs=1e-5)
        assert np.abs(exact[number]).max() > 0


def test_what_the_boat_does_not_have_cannot_be_found():
    """A rigid pitch, a free roll, one member: each is absent, with the reason."""
    one = {"members": PLATFORM["members"][:1]}
    boat = build(plain(platform=one, inboard=0.4, station=3.5), springs("roll"))
    assert unavailable_unknowns(boat) == {
        "platform_fore_to_aft": "all members of the platform are at one station",
        "joint_pitch": "the joint is rigid in pitch",
        "joint_roll": "the joint is free in roll",
    }
    assert unavailable_unknowns(front()) == {}
