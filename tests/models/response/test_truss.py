"""Striker and martingale as a truss of one strut and tension-only cables, by the statics of its joints."""

import numpy as np
import pytest

from femcore.frame.frame import Loads
from femcore.frame.loads_builder import LoadsBuilder
from femcore.results.member_forces import member_forces
from femcore.solvers.solution import solve
from models.response.front_end import MARTINGALE_STAYS as NAMES
from models.response.front_end import build
from models.response.joint_loads import joint_loads, truss_forces
from tests.models.boats import (
    FILES,
    MARTINGALE_STAYS,
    STRUT,
    TAUT,
    example_boat,
    joint_loads_on_hulls,
    load,
    plain,
    racking,
    solved,
    springs,
)

LIFT = 40e3
UP = [load("beam centre", (0, 0, LIFT))]
DOWN = [load("beam centre", (0, 0, -LIFT))]
STRAP = MARTINGALE_STAYS | {"at_striker": "slips"}
WAYS = pytest.mark.parametrize("at_striker", ["fixed", "slips"])
SHAPES = pytest.mark.parametrize("bent", [False, True], ids=["as drawn", "deformed"])


def axial(front, solution, member, case=0):
    """(k,), N, tension positive, along a member."""
    return member_forces(solution, front.frame.members[member], 2).actions[case, :, 0]


def bending_amidships(front, solution, case=0):
    """N·m, vertical bending of the crossbeam at its middle, on both sides of the strut."""
    beam = member_forces(solution, front.frame.members["crossbeam"], 2)
    return beam.actions[case, np.abs(beam.point[:, 1]) < 1e-9, 4]


def triangle(boat):
    """Half-span, rise and length of a stay."""
    s, h = boat.martingale.half_span, boat.striker.height - boat.martingale.height
    return s, h, np.hypot(s, h)


@WAYS
def test_a_strap_has_one_tension_and_stays_have_two(at_striker):
    """What slips over the striker is one cable with one tension; what ends there is two, named by their sides."""
    _, solution = solved(
        plain(striker=STRUT, martingale=MARTINGALE_STAYS | {"at_striker": at_striker}), springs("roll"), UP
    )
    tension = truss_forces(solution, 0).tension
    assert tuple(tension) == (("martingale",) if at_striker == "slips" else NAMES)
    assert list(tension.values()) == pytest.approx([max(tension.values())] * len(tension), rel=1e-12)


@WAYS
@pytest.mark.parametrize("joint", [springs("roll"), springs(), springs(pitch=1e5, roll=2e5, heave=3e7)])
def test_the_strut_carries_what_two_stays_pull_down(joint, at_striker):
    """At the striker's top the strut's thrust is 2T h/√(s² + h²), and each tang squeezes the beam by T s/√(s² + h²)."""
    boat = plain(
        inboard=0.4, height=0.3, striker=STRUT, martingale=MARTINGALE_STAYS | {"at_striker": at_striker}
    )
    front, solution = solved(boat, joint, [load("stay", (-9e3, 0, LIFT))])
    s, h, length = triangle(boat)
    state = truss_forces(solution, 0)
    tension = min(state.tension.values())
    assert tension > 0
    assert axial(front, solution, "striker") == pytest.approx(-2 * tension * h / length, rel=1e-10)
    assert state.strut == pytest.approx(2 * tension * h / length, rel=1e-10)
    beam = axial(front, solution, "crossbeam")
    assert beam.min() - beam[0] == pytest.approx(-tension * s / length, rel=1e-10)
    assert state.compression == pytest.approx(-beam.min(), rel=1e-12)


@WAYS
def test_what_does_not_stretch_carries_the_whole_lift(at_striker):
    """Over a beam that hardly resists bending T = P √(s² + h²)/2h."""
    # tangs on the beam's axis and hard by the joints, so that the lift bends the beam's ends by hardly an arm
    stays = MARTINGALE_STAYS | {"EA": 1e13, "half_span": 2.999, "height": 0.0, "at_striker": at_striker}
    boat = plain(beam={"EI_vertical": 10.0, "EA": 1e13}, striker=STRUT | {"EA": 1e13}, martingale=stays)
    _, solution = solved(boat, springs("roll"), UP)
    _, h, length = triangle(boat)
    assert solution.tension[0] == pytest.approx(LIFT * length / (2 * h), rel=1e-3)


def test_without_stays_the_beam_carries_the_lift_alone():
    """A strut over which nothing runs carries nothing: the beam bends as on two supports, M = P b/4."""
    front, solution = solved(plain(striker=STRUT), springs("roll"), UP)
    state = truss_forces(solution, 0)
    assert state.tension == {}
    assert state.strut == pytest.approx(0, abs=1e-9 * LIFT)
    assert np.abs(bending_amidships(front, solution)) == pytest.approx(LIFT * 6.0 / 4, rel=1e-10)


@WAYS
def test_a_load_down_slackens_the_martingale_and_bends_the_beam_alone(at_striker):
    """Turned round, the load meets no martingale: tension 0, joint loads and M = P b/4 of the beam without it."""
    boat = plain(striker=STRUT, martingale=MARTINGALE_STAYS | {"at_striker": at_striker})
    front, solution = solved(boat, springs("roll"), DOWN, UP)
    assert solution.slack[0].all()
    assert not solution.slack[1].any()
    assert not any(truss_forces(solution, 0).tension.values())
    assert np.abs(bending_amidships(front, solution)) == pytest.approx(LIFT * 6.0 / 4, rel=1e-10)
    bare = joint_loads_on_hulls(plain(striker=STRUT), springs("roll"), DOWN)[0]
    assert joint_loads(solution)[0] == pytest.approx(bare, rel=1e-9, abs=1e-9 * LIFT)


def test_pretension_is_used_up_before_the_stays_go_slack():
    """A taut martingale gives and takes alike: tension moves from its pretension by ±ΔT, until it would push."""
    boat = plain(striker=STRUT, martingale=TAUT)
    little = [[load("beam centre", (0, 0, sign * 2e3))] for sign in (1, -1)]
    _, solution = solved(boat, springs("roll"), *little, DOWN)
    more, less, none = solution.tension[:, 0]
    assert more - 5e3 == pytest.approx(5e3 - less, rel=1e-9)
    assert more > 5e3 > less > 0
    assert none == 0


def test_a_striker_below_the_beam_pushes_the_other_way():
    """Turned upside down, strut and stays carry the same under the opposite load."""
    up = plain(striker=STRUT, martingale=MARTINGALE_STAYS)
    down = plain(striker=STRUT | {"height": -0.7}, martingale=MARTINGALE_STAYS | {"height": -0.1})
    tension = [solved(boat, springs("roll"), case)[1].tension[0] for boat, case in ((up, UP), (down, DOWN))]
    assert tension[1] == pytest.approx(tension[0], rel=1e-10)
    assert tension[0].min() > 0


def test_the_beam_bends_by_what_the_stays_leave():
    """Amidships M = P b/4 − H T s/√(s² + h²), H the strut's height, and a stiffer stay takes more of it."""
    tensions = []
    for EA in (1e3, 5e6, 20e6, 80e6, 1e12):
        boat = plain(striker=STRUT, martingale=MARTINGALE_STAYS | {"EA": EA})
        front, solution = solved(boat, springs("roll"), UP)
        s, _, length = triangle(boat)
        tensions.append(solution.tension[0, 0])
        left = LIFT * 6.0 / 4 - STRUT["height"] * tensions[-1] * s / length
        assert np.abs(bending_amidships(front, solution)) == pytest.approx(abs(left), rel=1e-7)
    assert np.all(np.diff(tensions) > 1e3)


@pytest.mark.parametrize("sign", [1, -1])
def test_the_strut_shortens_over_its_own_length(sign):
    """From the beam's side to its top, not from the beam's axis, the strut gives by S (height − base)/EA."""
    soft = {"height": sign * 0.7, "base": 0.3, "EA": 1e6, "EI": 20e3}
    boat = plain(striker=soft, martingale=MARTINGALE_STAYS | {"height": sign * 0.1})
    front, solution = solved(boat, springs("roll"), [load("beam centre", (0, 0, sign * LIFT))])
    heave = solution.displacement[
        0, [front.frame.node_index[name] for name in ("striker top", "beam centre")], 2
    ]
    thrust = truss_forces(solution, 0).strut
    assert thrust > 0
    assert sign * (heave[1] - heave[0]) == pytest.approx(thrust * (0.7 - 0.3) / 1e6, rel=1e-9)


def test_stays_hold_the_strikers_top_sideways_and_a_strap_does_not():
    """Pushed by F to port, stays over a limp strut take (T₂ − T₁) s/√(s² + h²) = F; under a strap the strut bends by F L."""
    push = [load("striker top", (0, 200.0, 0))]
    limp = STRUT | {"EI": 1e-3}
    boat = plain(striker=limp, martingale=TAUT)
    s, _, length = triangle(boat)
    _, solution = solved(boat, springs("roll"), push)
    port, starboard = solution.tension[0]
    assert (starboard - port) * s / length == pytest.approx(200.0, rel=1e-6)
    front, solution = solved(
        plain(striker=STRUT, martingale=TAUT | {"at_striker": "slips"}), springs("roll"), push
    )
    bending = member_forces(solution, front.frame.members["striker"], 2).actions[0, :, 4:]
    assert np.abs(bending).max() == pytest.approx(200.0 * (0.7 - 0.1), rel=1e-9)


def test_racking_tips_the_striker_between_stays_and_leaves_a_strap_alone():
    """Racking is antisymmetric: two taut stays change by equal and opposite tensions, one strap by none."""
    for way, opposite in (("fixed", True), ("slips", False)):
        boat = plain(
            station=3.4, height=0.4, inboard=0.4, striker=STRUT, martingale=TAUT | {"at_striker": way}
        )
        change = solved(boat, springs(), racking(4e3))[1].tension[0] - 5e3
        assert change.sum() == pytest.approx(0, abs=1e-7)
        assert (np.abs(change).max() > 1.0) == opposite


@SHAPES
@pytest.mark.parametrize("name", FILES)
def test_pretension_is_what_the_boat_has_at_rest(name, bent):
    """In every boat of the house and under every joint, the martingale's tension without load is its pretension."""
    boat = example_boat(name)
    for joint in boat.joints:
        front = build(boat, joint.stiffness())
        rest = solve(front.frame, Loads.zeros(front.frame, "at rest"), bent)
        assert rest.tension[0] == pytest.approx(boat.martingale.pretension, rel=1e-8)
        assert boat.martingale.pretension > 0


@WAYS
def test_warmth_takes_tension_out_of_the_martingale(at_striker):
    """Between parts that do not give, a stay warmed by ΔT loses EA α ΔT, and is slack beyond T₀/(EA α)."""
    stays = TAUT | {"EA": 1e6, "expansion": 12e-6, "at_striker": at_striker}
    stiff = {"EI_vertical": 1e12, "EI_lateral": 1e12, "EA": 1e12}
    boat = plain(beam=stiff, striker=STRUT | {"EA": 1e12}, martingale=stays)
    front = build(boat, springs())
    loads = Loads.zeros(front.frame, "warm", "cold", "hot")
    loads.cable_temperature_change[:] = np.array([[50.0], [-50.0], [5e3 / 12.0 + 1]])
    loads.nodal[:, front.frame.node_index["beam centre"], 2] = -1.0
    tension = solve(front.frame, loads).tension
    assert tension[0] == pytest.approx(5e3 - 600.0, rel=1e-4)
    assert tension[1] == pytest.approx(5e3 + 600.0, rel=1e-4)
    assert not tension[2].any()


def test_a_truss_warmed_as_a_whole_between_free_ends_feels_nothing():
    """One expansion in beam, strut and stays, nothing that holds the beam's ends athwart: no tension changes."""
    alike = {"expansion": 23e-6}
    truss = {"striker": STRUT | alike | {"base": 0.0}, "martingale": TAUT | alike | {"height": 0.0}}
    boat = plain(beam=alike, inboard=0.4, **truss)
    front = build(boat, springs("roll", "yaw", sway=1e-3))
    loads = Loads.zeros(front.frame, "all", "beam and strut alone")
    loads.cable_temperature_change[0] = 40.0
    for member in ("crossbeam", "striker"):
        loads.temperature_change[:, front.frame.members[member].elements] = 40.0
    whole, part = solve(front.frame, loads).tension - 5e3
    assert part.min() > 1e3
    assert np.abs(whole).max() < 1e-9 * part.min()


@SHAPES
@pytest.mark.parametrize("weight", [0.0, 3e3])
def test_the_strut_s_force_is_taken_at_its_foot(weight, bent):
    """At its foot the strut carries the stays' 2T h/√(s² + h²) and all that presses along it, q (height − base)."""
    boat = plain(striker=STRUT, martingale=MARTINGALE_STAYS)
    front = build(boat, springs("roll"))
    loads = LoadsBuilder(front.frame).line("striker", qz=-weight).point("beam centre", Fz=LIFT)
    solution = solve(front.frame, loads, bent)
    state = truss_forces(solution, 0)
    _, h, length = triangle(boat)
    strut = boat.striker.height - boat.striker.base
    thrust = 2 * min(state.tension.values()) * h / length
    assert state.strut == pytest.approx(thrust + weight * strut, rel=5e-2 if bent else 1e-9)
    along = axial(front, solution, "striker")
    assert state.strut == pytest.approx(-along[0], rel=1e-9)
    assert along[-1] - along[0] == pytest.approx(weight * strut, rel=1e-3, abs=1e-7 * LIFT)
