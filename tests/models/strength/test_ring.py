"""Bonded rings and the socket that they make."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.sparse import coo_matrix
from scipy.sparse.linalg import spsolve

from femcore.base.errors import InputFault
from femcore.frame.builder import FrameBuilder, Stiffness
from femcore.frame.frame import Loads
from femcore.laminates import LaminateMaterials, first_ply_failure, free_expansion, lay_up, wall_stiffness
from femcore.materials import metals
from femcore.solvers.solution import solve
from models.strength.bonding.bond import Adhesive, Lap, thermal_shear
from models.strength.bonding.ring import (
    Outline,
    Ring,
    TubeWall,
    axial_flow,
    energy_by_part,
    part_stiffness,
    ring_stiffness,
    shear_flow,
)
from models.strength.bonding.ring_checks import _in_laminate_axes, disc_edge_flows, peel_stress, ring_checks
from models.strength.bonding.socket import (
    Socket,
    SocketBeamStiffness,
    ring_loads,
    socket_checks,
    socket_response,
    socket_stiffness,
)
from models.strength.margins import SafetyFactors, overall_outcome
from models.strength.plates import bonded_annulus, disc
from models.strength.springs import displacements

CARBON = LaminateMaterials(fibre="carbon_sm", process="infused")
TAPE = lay_up(["4x db 450 @45"], CARBON, "tape")
SKIN = lay_up(["db 450 @45", "biax 600 @0", "mirror"], LaminateMaterials(), "skin")
TUBE = lay_up(["2x db 450 @45", "4x uni 300 @0", "2x db 450 @45"], CARBON, "beam wall")
GLUE = Adhesive(G=0.9e9, thickness=0.3e-3, shear_strength=18e6, peel_strength=12e6, E=2.5e9)
RADIUS = 0.075
ROUND = Outline(2 * math.pi * RADIUS, math.pi * RADIUS**2)
WALL = TubeWall(wall_stiffness(TUBE).shear, wall_stiffness(TUBE).axial)
RING = Ring(
    ROUND, WALL, TAPE, 0.08, 0.10, 0.012, GLUE, disc.IsotropicPlate.of_laminate(SKIN), 0.6, skin_laminate=SKIN
)
FACTORS = SafetyFactors()
RIGID_MOTIONS = ("torsion", "in plane", "along", "tilt")
TORQUE = np.array([[0, 0, 0, 0, 1000.0, 0]])


def of(checks, name):
    """The first check whose name begins so."""
    return next(check for check in checks if check.check.startswith(name))


def edge_flows(ring, loads):
    """`disc_edge_flows` where a ring's tape ends."""
    return disc_edge_flows(loads, ring.skin_radius, ring.support_radius)


def hard(**changes):
    """The ring with everything as stiff as nobody builds it, but for the changes."""
    stiff = Adhesive(G=1e18, thickness=1e-4)
    base = replace(RING, glue=stiff, corner=1e-12, wall=TubeWall(1e18, 1e18), on_skin=0.1 + 0.012)
    return replace(base, **changes)


@pytest.mark.parametrize("leg", ["on_beam", "on_skin"])
def test_without_overlap_there_is_no_torsional_stiffness(leg):
    """A tape leg of no length joins nothing: the ring does not resist torsion, whatever the rest."""
    assert ring_stiffness(replace(RING, **{leg: 0.0}))[4, 4] == 0.0


def test_a_ring_of_rigid_parts_is_the_disc_in_its_skin():
    """With rigid wall and glue and no corner, the skin beyond the tape (and the tape's own stretch) is all
    that gives.
    """
    tape = lay_up(["100x db 450 @45"] * 40, CARBON)
    k = ring_stiffness(hard(tape=tape, on_beam=1e-3))
    r1 = hard().skin_radius
    assert k[4, 4] == pytest.approx(disc.torsional_stiffness(RING.skin, r1, RING.support_radius), rel=0.01)
    assert k[0, 0] == pytest.approx(disc.in_plane_stiffness(RING.skin, r1, RING.support_radius), rel=0.02)
    assert k[1, 1] == pytest.approx(disc.transverse_stiffness(RING.skin, r1, RING.support_radius), rel=0.01)
    assert k[3, 3] == pytest.approx(disc.tilt_stiffness(RING.skin, r1, RING.support_radius), rel=0.01)


def test_every_part_of_a_round_ring_in_every_motion():
    """A round ring's corner resists with 2πr³, πr, 2πr and πr³ times its stiffness per width, its skin from the tape's end."""
    parts = part_stiffness(RING)
    shear, across = RING.tape_shear / RING.corner, RING.tape_across / RING.corner
    corner = [parts[motion]["corner of the tape"] for motion in RIGID_MOTIONS]
    r = RADIUS
    wanted = [
        2 * math.pi * r**3 * shear,
        math.pi * r * shear,
        2 * math.pi * r * across,
        math.pi * r**3 * across,
    ]
    np.testing.assert_allclose(corner, wanted)
    leg = bonded_annulus.BondedAnnulus(
        bonded_annulus.PolarSheet.of_laminate(TAPE), RING.skin, GLUE.stiffness, r + 0.012, r + 0.112, 0.6
    )
    solved = [
        bonded_annulus.twist(leg).stiffness,
        bonded_annulus.in_plane(leg).stiffness,
        bonded_annulus.transverse(leg),
        bonded_annulus.tilt(leg),
    ]
    np.testing.assert_allclose([parts[motion]["leg and skin"] for motion in RIGID_MOTIONS], solved)
    lap = Lap(WALL.along, RING.tape_across, 0.08, GLUE)
    assert parts["tilt"]["glue on the beam"] == pytest.approx(math.pi * r**3 / lap.slip)


def test_a_rigid_skin_leaves_the_tape():
    """With a skin that does not give, a round ring's corner resists torsion with 2π r³ K_s/c."""
    parts = part_stiffness(RING)["torsion"]
    assert parts["corner of the tape"] == pytest.approx(
        2 * math.pi * RADIUS**3 * RING.tape_shear / RING.corner
    )
    lap = Lap(WALL.shear, RING.tape_shear, 0.08, GLUE)
    assert parts["glue on the beam"] == pytest.approx(2 * math.pi * RADIUS**3 / lap.slip)


@pytest.mark.parametrize("beyond", [False, True])
def test_coaxial_tubes_in_torsion_against_a_chain_of_springs(beyond):
    """Two coaxial tubes on a glue line twist as a chain of 4000 slices of tube, glue and tube, solved as it
    stands: what the leg adds to the beam that goes on through the skin is the turn of one tube in the other there.

    The beam alone would twist by L/2πr³K over the leg: with that the model is softer than the chain, and never stiffer.
    """
    n, L = 4000, RING.on_beam
    dx, r = L / n, RADIUS
    outer, inner = (2 * math.pi * r**3 * K / dx for K in (RING.wall.shear, RING.tape_shear))
    glue = 2 * math.pi * r**3 * GLUE.stiffness * dx
    # rotations of both tubes at n + 1 places, the skin at the last; tube 2 is held there, unit torque enters tube 1
    one, two = 2 * np.arange(n + 1), 2 * np.arange(n + 1) + 1
    a, b = np.concatenate([one[:-1], two[:-1], one]), np.concatenate([one[1:], two[1:], two])
    ends = np.ones(n + 1)
    ends[[0, -1]] = 0.5
    k = np.concatenate([np.full(n, outer), np.full(n, inner), glue * ends])
    rows = np.concatenate([a, b, a, b])
    columns = np.concatenate([a, b, b, a])
    K = coo_matrix((np.concatenate([k, k, -k, -k]), (rows, columns))).tocsc()
    load = np.zeros(2 * (n + 1))
    load[one[-1] if beyond else one[0]] = 1.0
    turn = np.zeros(2 * (n + 1))
    turn[:-1] = spsolve(K[:-1, :-1], load[:-1])
    added = 1 / part_stiffness(replace(RING, beyond=beyond))["torsion"]["glue on the beam"]
    assert added == pytest.approx(turn[one[-1]], rel=1e-4)
    if not beyond:
        assert turn[one[0]] < added + L / (2 * math.pi * r**3 * RING.wall.shear)


lengths = st.floats(0.01, 0.15)
cloths = st.integers(1, 8)


@settings(max_examples=40)
@given(lengths, lengths, cloths, cloths, st.floats(0.1e9, 3e9), st.floats(0.1e-3, 3e-3), st.booleans())
def test_more_of_anything_never_softens_a_ring(on_beam, on_skin, tape, skin, G, thickness, beyond):
    """A longer leg on beam or skin, a thicker tape, a thicker skin: no motion of a ring gets softer (Rayleigh's principle).

    The legs are solved over polynomials on elements that follow them, so that 1e-8 is left to the numerics.
    """

    def stiffness(on_beam, on_skin, tape, skin):
        plies, skin_plies = (lay_up([f"{n}x db 450 @45", "biax 300 @0"], CARBON) for n in (tape, skin))
        ring = replace(
            RING, tape=plies, skin=disc.IsotropicPlate.of_laminate(skin_plies), on_beam=on_beam, on_skin=on_skin,
            glue=replace(GLUE, G=G, thickness=thickness), beyond=beyond,
        )  # fmt: skip
        return np.diag(ring_stiffness(ring))

    now = stiffness(on_beam, on_skin, tape, skin)
    for more in (
        stiffness(1.3 * on_beam, on_skin, tape, skin),
        stiffness(on_beam, 1.3 * on_skin, tape, skin),
        stiffness(on_beam, on_skin, tape + 1, skin),
        stiffness(on_beam, on_skin, tape, skin + 1),
    ):
        assert (more >= now * (1 - 1e-8)).all()


def test_glue_on_the_skin_has_the_peak_of_its_annulus():
    """Brittle glue under the skin's leg is used up where the annulus's peak is its strength; a wide leg relieves it.

    As a strip of the ring's own perimeter it would have q times the strip's peak; stress that spreads outwards has less.
    """
    loads = np.array([[0, 0, 0, 0, 1000.0, 0], [3e3, 0, 4e3, 0, 0, 0]])
    leg = RING.annulus
    peaks = np.array([1000 * bonded_annulus.twist(leg).peak, 5e3 * bonded_annulus.in_plane(leg).peak])
    check = next(
        c for c in ring_checks("ring", RING, loads, FACTORS) if c.check == "glue on the skin in shear"
    )
    assert 1 / check.load_factor == pytest.approx(peaks / 18e6, rel=1e-6)
    strip = shear_flow(RING, loads) * RING.skin_lap.peak
    assert peaks[0] < 0.8 * strip[0]


def test_a_leg_beyond_the_skin_has_higher_peaks():
    """Where load enters and leaves at one end, its glue peaks with ω coth ωL, above the ω max(a, b) of a leg between."""
    near, far = (ring_checks("ring", replace(RING, beyond=b), TORQUE, FACTORS)[0] for b in (False, True))
    assert far.load[0] > 1.2 * near.load[0]
    assert replace(RING, beyond=True).beam_lap.slip > RING.beam_lap.slip


def test_double_bias_tape_is_stiff_in_torsion():
    """Carbon laid at ±45° is at least five times as stiff in shear as the same cloth at 0/90 (lamination
    theory).
    """
    crossed = replace(RING, tape=lay_up(["4x biax 450 @0"], CARBON))
    assert RING.tape_shear / crossed.tape_shear > 5


@given(st.integers(0, 5000))
def test_work_done_on_a_ring_is_that_of_its_parts(seed):
    """Power balance: the work of any loads on a ring is the sum over glue, corner and skin."""
    loads = np.random.default_rng(seed).normal(size=(3, 6)) * 1e3
    work = (loads**2 / np.diag(ring_stiffness(RING))).sum(axis=1) / 2
    np.testing.assert_allclose(sum(energy_by_part(RING, loads).values()), work, rtol=1e-9)


def test_stiffness_parts_have_the_four_motions():
    """Every motion lists its parts from beam to hull, and the ring is softer than any of them."""
    parts = part_stiffness(RING)
    assert tuple(parts) == RIGID_MOTIONS
    whole = np.diag(ring_stiffness(RING))[[4, 0, 1, 3]]
    assert all(k < min(parts[m].values()) for m, k in zip(RIGID_MOTIONS, whole, strict=True))


def test_shear_flow_of_torque_and_force():
    """Around a tube a torque flows with T/2πr², a force with F/πr at most: integrated around it they give T
    and F back.
    """
    angle = np.linspace(0, 2 * math.pi, 2001)
    loads = np.array([[0, 0, 0, 0, 700.0, 0], [300.0, 0, 400.0, 0, 0, 0]])
    q_torque, q_force = shear_flow(RING, loads)
    assert np.trapezoid(np.full_like(angle, q_torque) * RADIUS**2, angle) == pytest.approx(700)
    assert np.trapezoid(q_force * np.sin(angle) ** 2 * RADIUS, angle) == pytest.approx(500)


def test_pull_flow_of_pull_and_tilt():
    """Around a tube a pull is F/p, a tilt's M/πr² at most: integrated around it they give F and M back."""
    angle = np.linspace(0, 2 * math.pi, 2001)
    n_pull, n_tilt = axial_flow(RING, np.array([[0, 900.0, 0, 0, 0, 0], [0, 0, 0, 30.0, 0, 40.0]]))
    assert n_pull * ROUND.perimeter == pytest.approx(900)
    assert np.trapezoid(n_tilt * np.cos(angle) ** 2 * RADIUS**2, angle) == pytest.approx(50)


def test_glue_fails_at_its_lap_peak():
    """Brittle glue under torque alone is used up when T/2A times the lap's peak is its strength."""
    check = ring_checks("ring", RING, TORQUE, FACTORS)[0]
    q = 1000 / (2 * ROUND.area)
    assert check.load[0] == pytest.approx(q * RING.beam_lap.peak / 18e6, rel=1e-6)
    assert check.factor.name == "bond"


def test_tape_in_pure_shear_is_its_laminate_in_shear():
    """The tape's check under torque alone is first-ply failure of its laminate under N_xy = T/2A, the worse
    sign.
    """
    check = of(ring_checks("ring", RING, TORQUE, FACTORS), "tape")
    q = 1000 / (2 * ROUND.area)
    both = first_ply_failure(TAPE, np.array([[0, 0, q, 0, 0, 0], [0, 0, -q, 0, 0, 0]])).load_factor
    assert check.load_factor[0] == pytest.approx(both.min(), rel=1e-9)


def test_glue_on_the_beam_feels_shear_and_pull_together():
    """Glue along the beam is used up by the root of the squares of its two shares, each flow times its own lap's peak."""
    loads = np.array([[0, 30e3, 0, 0, 800.0, 0]])
    shear = 800 / (2 * ROUND.area) * RING.beam_lap.peak
    pull = 30e3 / ROUND.perimeter * RING.pull_lap.peak
    assert ring_checks("ring", RING, loads, FACTORS)[0].load[0] == pytest.approx(
        math.hypot(shear, pull) / 18e6, rel=1e-6
    )


def test_a_pull_bends_the_tape_at_its_corner():
    """Under a pull and a torque the tape is judged by N_y = n, N_xy = q and M_y = n c/2, in the worst of all their signs."""
    n, q = 30e3 / ROUND.perimeter, 800 / (2 * ROUND.area)
    m = n * 0.012 / 2
    ways = [[0, a * n, b * q, 0, c * m, 0] for a in (1, -1) for b in (1, -1) for c in (1, -1)]
    uneven = lay_up(["db 450 @45", "3x uni 300 @30"], CARBON)
    worst = first_ply_failure(uneven, np.array(ways)).load_factor
    loads = np.array([[0, 30e3, 0, 0, 800.0, 0]])
    check = of(ring_checks("ring", replace(RING, tape=uneven), loads, FACTORS), "tape")
    assert check.load_factor[0] == pytest.approx(worst.min(), rel=1e-9)
    assert worst.max() > 1.01 * worst.min()


def test_tape_on_an_alloy_beam_is_sheared_by_temperature():
    """The leg on the beam is a lap of alloy and tape that expand unequally along the beam; on laminate none is counted."""
    metal = metals()["al6082_t6"]
    warm = replace(RING, glue=replace(GLUE, temperature_change=40.0), wall=TubeWall.of(None, metal, 5e-3))
    mismatch = metal.expansion - free_expansion(TAPE)[1]
    check = of(ring_checks("ring", warm, 0 * TORQUE, FACTORS), "glue on the beam in shear, elastic")
    assert check.load[0] == pytest.approx(thermal_shear(warm.pull_lap, mismatch))
    assert check.load[0] > 5e6
    laid = replace(warm, wall=WALL)
    assert (
        of(ring_checks("ring", laid, 0 * TORQUE, FACTORS), "glue on the beam in shear, elastic").load[0] == 0
    )


def test_checks_grow_with_the_load():
    """All checks of a ring are of the first degree: twice the loads, half the growth."""
    loads = np.array([[100.0, 200, 300, 10, 400, 20]])
    once, twice = (ring_checks("ring", RING, f * loads, FACTORS) for f in (1, 2))
    for a, b in zip(once, twice, strict=True):
        np.testing.assert_allclose(a.load_factor, 2 * b.load_factor, rtol=1e-9)


def test_checks_do_not_ask_the_sign():
    """Loads reversed use a ring up as much as the loads themselves, one component at a time and all at once."""
    loads = np.concatenate([np.diag([1e3, 1e3, 1e3, 50, 500, 50]), np.full((1, 6), 80.0)])
    ahead, back = (ring_checks("ring", RING, sign * loads, FACTORS) for sign in (1, -1))
    for a, b in zip(ahead, back, strict=True):
        np.testing.assert_allclose(a.load_factor, b.load_factor, rtol=1e-9)
        assert (a.load >= 0).all()


def test_a_leg_shorter_than_nothing_is_a_fault():
    """Either leg of the tape below zero is a fault."""
    for leg in ("on_beam", "on_skin"):
        with pytest.raises(InputFault, match="leg"):
            replace(RING, **{leg: -0.01})


def test_a_ring_without_strengths_is_not_known():
    """Without strengths of glue and skin the checks say which is missing, and nothing passes."""
    bare = replace(RING, glue=Adhesive(G=0.9e9, thickness=0.3e-3), skin_laminate=None)
    checks = ring_checks("ring", bare, TORQUE, FACTORS)
    assert [check.kind for check in checks].count("not checked") == 9
    assert overall_outcome(checks) == "not known"
    gone = ring_checks("ring", replace(RING, on_beam=0.0, on_skin=0.0), TORQUE, FACTORS)
    assert [check.reason for check in gone[:6]] == ["there is no overlap"] * 6


def test_peel_of_a_strip_on_an_elastic_bed():
    """A long strip on a bed lifted at its end by n peels with 2βn: finite differences of D w⁗ + k w = 0."""
    D, bed, n = float(TAPE.D[1, 1]), GLUE.E / GLUE.thickness, 600
    h = RING.on_skin / n
    K = np.zeros((2 * n + 2, 2 * n + 2))
    a, b, c = 6 * h, 4 * h**2, 2 * h**2
    beam = np.array([[12, a, -12, a], [a, b, -a, c], [-12, -a, 12, -a], [a, c, -a, b]])
    for i in range(n):
        at = slice(2 * i, 2 * i + 4)
        K[at, at] += beam * D / h**3
        K[2 * i, 2 * i] += bed * h / 2
        K[2 * i + 2, 2 * i + 2] += bed * h / 2
    load = np.zeros(len(K))
    load[0] = 1.0
    scale = 1 / np.sqrt(np.diag(K))
    w = scale * np.linalg.solve(scale[:, None] * K * scale, scale * load)
    assert peel_stress(RING, np.array([1.0]))[0] == pytest.approx(bed * w[0], rel=5e-3)


def test_peel_of_a_short_leg():
    """A leg too short to bend turns as a rigid strip on its bed: lifted at its end by n it peels with 4n/leg (statics)."""
    short = replace(RING, on_skin=1e-3)
    assert peel_stress(short, np.array([3.0]))[0] == pytest.approx(4 * 3.0 / 1e-3)


def test_bending_of_the_skin_where_the_tape_ends():
    """M_r at the edge of a disc pushed and tilted is that of the plate's own general solution, solved for its four constants."""
    r, R = RING.skin_radius, RING.support_radius
    ln = math.log

    def constants(functions, slopes, inner):
        rows = [[f(x) for f in of] for x in (r, R) for of in (functions, slopes)]
        return np.linalg.solve(rows, [*inner, 0, 0])

    # symmetric: w = A + Bx² + C ln x + E x² ln x, whose shear is 4DE/x: F = 8πDE
    c = constants(
        [lambda _: 1, lambda x: x**2, ln, lambda x: x**2 * ln(x)],
        [lambda _: 0, lambda x: 2 * x, lambda x: 1 / x, lambda x: 2 * x * ln(x) + x],
        [1, 0],
    )
    bending = 2 * c[1] - c[2] / r**2 + c[3] * (2 * ln(r) + 3)
    pushed = edge_flows(RING, np.array([[0, 8 * math.pi * c[3], 0, 0, 0, 0]]))[2][0]
    assert pushed == pytest.approx(abs(bending))
    # tilted: w = (Ax + B/x + Cx³ + E x ln x) cos θ, whose moment is 4πDE
    c = constants(
        [lambda x: x, lambda x: 1 / x, lambda x: x**3, lambda x: x * ln(x)],
        [lambda _: 1, lambda x: -1 / x**2, lambda x: 3 * x**2, lambda x: ln(x) + 1],
        [r, 1],
    )
    bending = 2 * c[1] / r**3 + 6 * c[2] * r + c[3] / r
    tilted = edge_flows(RING, 4 * math.pi * c[3] * np.array([[0, 0, 0, 0.6, 0, 0.8]]))[2][0]
    assert tilted == pytest.approx(abs(bending))


def test_flows_where_the_tape_ends():
    """A torque T shears the skin by T/2πr² where the tape ends, a force F by F/πr at most."""
    r = RING.skin_radius
    torque, force, _ = edge_flows(RING, np.array([[-30.0, 0, 40, 0, -7, 0]]))
    assert torque[0] * 2 * math.pi * r**2 == pytest.approx(7)
    assert force[0] * math.pi * r == pytest.approx(50)


@pytest.mark.parametrize("degrees", [0, 20, 75])
def test_turning_flows_is_turning_the_laminate(degrees):
    """Flows turned into a laminate's axes break its first ply as the flows themselves break the laminate turned back."""
    angle = math.radians(degrees)
    uneven = lay_up(["3x uni 300 @10", "biax 300 @0"], CARBON)
    N, q, M = np.array([2e4]), np.array([1e4]), np.array([30.0])
    turned = first_ply_failure(uneven, _in_laminate_axes(N, q, M, np.array([angle]))[0]).load_factor
    radial = np.array([[2e4, 0, 1e4, 30.0, 0, 0]])
    np.testing.assert_allclose(
        turned, first_ply_failure(uneven.rotated(-angle), radial).load_factor, rtol=1e-9
    )


@pytest.mark.parametrize(
    "loads", [[300.0, 50, 400, 20, 600, 10], [3e3, 0, 4e3, 0, 900, 0], [0, 500, 0, 60, 600, 0]]
)
def test_skin_check_is_the_worst_place_around_the_hole(loads):
    """The skin's check is the least first-ply factor of the skin turned through half a turn, under each place's flows."""
    uneven = lay_up(["2x uni 300 @10", "db 450 @45", "biax 300 @0"], LaminateMaterials())
    ring, load = replace(RING, skin_laminate=uneven), np.array([loads])
    torque, force, bent = (value[0] for value in edge_flows(ring, load))
    places = ((force, torque), (-force, torque), (0.0, torque + force))
    flows = np.array([[n, 0, a * q, b * bent, 0, 0] for n, q in places for a in (1, -1) for b in (1, -1)])
    worst = min(
        first_ply_failure(uneven.rotated(math.pi * i / 24), flows).load_factor.min() for i in range(24)
    )
    check = of(ring_checks("ring", ring, load, FACTORS), "skin")
    assert check.load_factor[0] == pytest.approx(worst, rel=1e-9)


def test_an_outline_must_close():
    """A perimeter too short for its area is a fault; a circle is the limit."""
    assert ROUND.radius == pytest.approx(RADIUS)
    for short in (0.3 / math.sqrt(0.1), 0.999 * 2 * math.sqrt(math.pi)):
        with pytest.raises(InputFault, match="encloses"):
            Outline(short * math.sqrt(0.1), 0.1)


def test_tape_that_reaches_the_far_radius_is_a_fault():
    """The tape must end before the radius at which the hull holds the skin."""
    with pytest.raises(InputFault, match="far radius"):
        replace(RING, support_radius=0.15)


PAIR = Socket((RING, RING), (-0.25, 0.25))


def test_two_rings_share_torsion():
    """Two like rings are twice as stiff in torsion as one, and each carries half."""
    assert socket_stiffness(PAIR)[4, 4] == pytest.approx(2 * ring_stiffness(RING)[4, 4])
    shares = ring_loads(PAIR, TORQUE)[0]
    np.testing.assert_allclose(shares[:, 4], [500, 500])


def test_two_rings_resist_roll_by_their_lever_arm():
    """Two like rings w apart resist roll and yaw with k w²/2 beside their own tilt."""
    K, own = socket_stiffness(PAIR), ring_stiffness(RING)
    assert K[3, 3] == pytest.approx(own[2, 2] * 0.5**2 / 2 + 2 * own[3, 3])
    assert K[5, 5] == pytest.approx(own[0, 0] * 0.5**2 / 2 + 2 * own[5, 5])


def test_the_nearer_ring_takes_more():
    """A force at the joint point is shared by statics: the ring it stands at takes it, one a way off hardly."""
    uneven = Socket((RING, RING), (0.0, 0.5))
    shares = ring_loads(uneven, np.array([[0, 0, 1000.0, 0, 0, 0]]))[0, :, 2]
    assert shares.sum() == pytest.approx(1000)
    assert abs(shares[0]) > 0.95 * 1000
    K = socket_stiffness(uneven)
    assert K[2, 3] != 0
    np.testing.assert_allclose(K, K.T, atol=1e-6 * np.abs(K).max())


@given(st.integers(0, 5000))
def test_rings_balance_the_load_and_its_work(seed):
    """The rings' loads, moved to the joint point, add up to the load; the work on the joint is the sum over
    all parts.
    """
    rng = np.random.default_rng(seed)
    soft = replace(RING, on_beam=float(rng.uniform(0.01, 0.1)), corner=float(rng.uniform(0.002, 0.03)))
    socket = Socket((RING, soft, RING), tuple(rng.uniform(-0.5, 0.5, 3)))
    loads = rng.normal(size=(2, 6)) * 1e3
    shares = ring_loads(socket, loads)
    moment = (shares[..., 3:] + np.cross(socket.arms, shares[..., :3])).sum(axis=1)
    total = np.concatenate([shares[..., :3].sum(axis=1), moment], axis=1)
    np.testing.assert_allclose(total, loads, rtol=1e-6, atol=1e-5)
    work = (loads * displacements(socket_stiffness(socket), loads)).sum(axis=1) / 2
    inner = sum(sum(energy_by_part(r, shares[:, i]).values()) for i, r in enumerate(socket.rings))
    np.testing.assert_allclose(inner, work, rtol=1e-6)


def test_socket_checks_name_their_ring():
    """Every ring of a socket is checked under its own name, over all cases."""
    checks = socket_checks("port socket", PAIR, np.repeat(TORQUE, 3, axis=0), FACTORS)
    assert len(checks) == 20
    assert {check.part for check in checks} == {"port socket, ring 1", "port socket, ring 2"}
    assert all(check.load.shape == (3,) for check in checks)


def test_a_socket_needs_a_place_for_each_ring():
    """Rings and places must match."""
    with pytest.raises(InputFault, match="one place"):
        Socket((RING,), (0.0, 0.1))


ELASTIC = SocketBeamStiffness(
    EA=2e8, GJ=0.4e6, EI_vertical=0.9e6, EI_lateral=0.7e6, GA_vertical=3e7, GA_lateral=2e7
)
PLACES = (0.0, 0.0, 0.3, 0.55)
SWAY = 4e7


def framed_socket(rings, places, beam, sway):
    """(6, 6) flexibility at the joint's point, and (6, nodes, 6) movements, of the socket as a frame of beams on ring springs."""
    builder = FrameBuilder()
    stations = sorted({0.0, *places})
    names = [builder.node(f"at {place:g}", (0.0, place, 0.0)) for place in stations]
    stiffness = Stiffness(
        EA=beam.EA,
        EIy=beam.EI_vertical,
        EIz=beam.EI_lateral,
        GJ=beam.GJ,
        GAy=beam.GA_lateral,
        GAz=beam.GA_vertical,
    )
    builder.beam("beam", names, stiffness, divide=3)
    for ring, place in zip(rings, places, strict=True):
        builder.spring(names[stations.index(place)], None, np.diag(ring_stiffness(ring)))
    builder.spring(names[-1], None, {"uy": sway})
    frame = builder.build()
    loads = Loads.zeros(frame, *(f"unit {i}" for i in range(6)))
    loads.nodal[np.arange(6), frame.node_index[names[0]]] = np.eye(6)
    moved = solve(frame, loads).displacement[:, [frame.node_index[name] for name in names]]
    return moved[:, 0], moved


def test_an_elastic_beam_between_rings_is_a_frame_of_beams_on_springs():
    """Stiffness and shares of a socket with four rings at three places are those of a frame made of the same parts: 1e-8."""
    rings = (RING, replace(RING, beyond=True), replace(RING, on_beam=0.03), replace(RING, corner=0.03))
    F, moved = framed_socket(rings, PLACES, ELASTIC, SWAY)
    found = Socket(rings, PLACES, ELASTIC, SWAY)
    scale = np.sqrt(np.diag(F))
    np.testing.assert_allclose(
        np.linalg.inv(socket_stiffness(found)) / np.outer(scale, scale), F / np.outer(scale, scale), atol=1e-8
    )
    response = socket_response(found, np.eye(6))
    for number, station in enumerate((0, 0, 1, 2)):
        wanted = moved[:, station] @ ring_stiffness(rings[number])
        np.testing.assert_allclose(response.rings[:, number], wanted, rtol=1e-7, atol=1e-8)
    np.testing.assert_allclose(response.end_support, SWAY * moved[:, 2, 1], rtol=1e-7, atol=1e-10)


def test_a_rigid_beam_gives_its_rings_too_much_lever():
    """With its own GJ and EI the beam lets the first ring take more of a torque, and the pair resists torque and roll less.

    A very stiff beam is the rigid one (limit), and any beam makes it softer (Rayleigh).
    """
    places = (0.0, 0.5)
    rigid, elastic, stiff = (
        Socket((RING, RING), places, beam) for beam in (None, ELASTIC, SocketBeamStiffness(*[1e15] * 6))
    )
    np.testing.assert_allclose(socket_stiffness(stiff), socket_stiffness(rigid), rtol=1e-5)
    shares = [ring_loads(of, TORQUE)[0, 0, 4] / 1000 for of in (rigid, elastic)]
    assert shares[0] == pytest.approx(0.5)
    # of two springs k, the outer one behind the beam's GJ/w: 1/(1 + 1/(1 + k w/GJ))
    behind = 1 / (1 + ring_stiffness(RING)[4, 4] * 0.5 / ELASTIC.GJ)
    assert shares[1] == pytest.approx(1 / (1 + behind))
    assert shares[1] > 0.7
    softer = socket_stiffness(rigid) - socket_stiffness(elastic)
    assert np.linalg.eigvalsh(softer).min() > -1e-6 * np.abs(softer).max()
    roll = [1 / np.linalg.inv(socket_stiffness(of))[3, 3] for of in (rigid, elastic)]
    assert roll[1] < 0.7 * roll[0]


@given(st.integers(0, 5000))
def test_an_elastic_socket_balances_its_load_and_the_work(seed):
    """Rings and end support, about the joint's point, sum to the load; their energy and the beam's is the work done on it."""
    rng = np.random.default_rng(seed)
    socket = Socket((RING, RING, RING), tuple(rng.uniform(0.0, 0.6, 3)), ELASTIC, SWAY)
    loads = rng.normal(size=(2, 6)) * 1e3
    response = socket_response(socket, loads)
    moment = (response.rings[..., 3:] + np.cross(socket.arms, response.rings[..., :3])).sum(axis=1)
    total = np.concatenate([response.rings[..., :3].sum(axis=1), moment], axis=1)
    total[:, 1] += response.end_support
    np.testing.assert_allclose(total, loads, rtol=1e-6, atol=1e-4)
    work = (loads * displacements(socket_stiffness(socket), loads)).sum(axis=1) / 2
    inner = sum(sum(energy_by_part(RING, response.rings[:, i]).values()) for i in range(3))
    inner = inner + response.beam_energy + response.end_support**2 / (2 * SWAY)
    np.testing.assert_allclose(inner, work, rtol=1e-6)


def test_between_rings_the_beam_carries_the_couple_of_its_reactions():
    """A roll moment on two rings w apart is a shear force of about M/w between them, which the wall's check has to see."""
    socket = Socket((RING, RING), (0.0, 0.5), ELASTIC)
    moment = np.array([[0, 0, 0, 1000.0, 0, 0]])
    sections = socket_response(socket, moment).sections[0]
    np.testing.assert_allclose(sections[0], moment[0])
    outer = ring_loads(socket, moment)[0, 1]
    np.testing.assert_allclose(sections[-1], outer, rtol=1e-9, atol=1e-6)
    assert np.abs(sections[:, 2]).max() == pytest.approx(abs(outer[2]), rel=1e-9)
    assert abs(outer[2]) > 1000
