"""Feet, sleeves and tape that glue holds, and straps: closed forms, limits, boundary-value solutions."""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_bvp

from femcore.base.errors import InputFault
from femcore.laminates import (
    Laminate,
    LaminateMaterials,
    first_ply_failure,
    free_expansion,
    lay_up,
    wall_stiffness,
)
from femcore.materials import metals
from models.strength.attachment import Footprint
from models.strength.bolts.bolted_plate import LaminateHole
from models.strength.bonding.bond import Adhesive, Lap, peel_ratio, plastic_capacity, thermal_shear
from models.strength.bonding.bonded_base_plate import BondedBasePlate
from models.strength.bonding.ring import Outline, Ring, TubeWall
from models.strength.bonding.single_lap import SingleLap, max_peel_stress
from models.strength.bonding.sleeve import Sleeve
from models.strength.bonding.straps import Straps
from models.strength.bonding.taped_end import TapedEnd
from models.strength.lugs.pin import Pin
from models.strength.lugs.stay_attachment import Bore, PinnedTubeEnd
from models.strength.margins import SafetyFactors, overall_outcome, unchecked
from models.strength.plates.wall_bending import SupportingWall

STEEL, ALLOY = metals()["ss_1_4401"], metals()["al6082_t6"]
GLUE = Adhesive(1.2e9, 0.4e-3, 25e6, 12e6, 0.15, 3.2e9)
BRITTLE = replace(GLUE, plastic_strain=0.0)
WALL = lay_up(["2x db 600", "8x uni 300", "mirror"], LaminateMaterials(fibre="carbon_sm", process="vacuum"))
TUBE = SupportingWall(WALL, thickness=WALL.thickness, diameter=0.2)
PLATE = Footprint((0.02, 0.1))
TURN = lay_up(["uni 300"], LaminateMaterials(fibre="carbon_sm"), "strap")
LOADS = np.array([[3e3, 20e3, -4e3, 200.0, -150.0, 300.0], [0, -5e3, 2e3, -50.0, 80.0, 0]])


def of(checks, part, name):
    """The one check of that part and name."""
    return next(c for c in checks if (c.part, c.check) == (part, name))


def sheared(one, loads):
    """(cases,), utilisation of a foot's glue in shear, ultimate, no factor in."""
    return 1 / of(one.checks("tang", loads, SafetyFactors()), "tang, glue", "glue in shear").load_factor


def foot(glue=GLUE, stem=PLATE, size=(0.2, 0.14), thickness=0.01):
    """A plate of steel glued on a carbon tube."""
    D = STEEL.E * thickness**3 / (12 * (1 - STEEL.nu**2))
    return BondedBasePlate(size, (STEEL.E * thickness,) * 2, D, stem, glue, TUBE)


def test_a_glued_foot_pulled_along_is_a_lap():
    """A force along a foot b wide is a lap under F/b: with brittle glue its usage is τ_peak over the strength (Volkersen), the
    peak that of a load which enters and leaves at one end.
    """
    utilisation = sheared(foot(BRITTLE), np.array([[10e3, 0, 0, 0, 0, 0.0]]))
    lap = Lap(STEEL.E * 0.01, wall_stiffness(WALL).axial, 0.2, BRITTLE, same_end=True)
    assert utilisation[0] == pytest.approx(10e3 / 0.14 * lap.peak / 25e6, rel=1e-6)


def test_glue_so_soft_that_it_shares_evenly_is_sheared_as_a_bolt_group():
    """Where a lap is short beside 1/ω shear is even: F/A, and M r/I_p at the corner for a moment in the plane."""
    soft = foot(replace(BRITTLE, G=1e3))
    a, b, M = 0.2, 0.14, 500.0
    utilisation = sheared(soft, np.array([[10e3, 0, 0, 0, 0, 0], [0, 0, 0, 0, M, 0.0]]))
    assert utilisation[0] == pytest.approx(10e3 / (a * b) / 25e6, rel=1e-4)
    corner = M * math.hypot(a, b) / 2 / (a * b * (a**2 + b**2) / 12)
    assert utilisation[1] == pytest.approx(corner / 25e6, rel=1e-3)


def test_peel_under_a_block_is_that_of_a_beam_on_an_elastic_bed():
    """A rigid block with long overhangs sinks evenly and presses P/(w + 2/λ) (Hetényi 1946; here by its equation)."""
    w, P, one = 0.03, 20e3, foot(stem=Footprint((0.03, 0.14)))
    bed = GLUE.E / GLUE.thickness
    reach = (4 * one.D / bed) ** 0.25
    # overhang: D y'''' + bed y = 0, y(0) = 1, y'(0) = 0, free far away
    x = np.linspace(0, 12 * reach, 400)
    found = solve_bvp(
        lambda _, y: np.stack([y[1], y[2], y[3], -bed / one.D * y[0]]),
        lambda a, b: np.array([a[0] - 1, a[1], b[2], b[3]]),
        x, np.stack([np.exp(-x / reach)] * 4), tol=1e-8, max_nodes=20000,
    )  # fmt: skip
    press = bed * (w + 2 * np.trapezoid(found.sol(x)[0], x)) * 0.14
    stress = one.peel_stress(np.array([[0, P, 0, 0, 0, 0.0]]))
    assert stress[0] == pytest.approx(P * bed / press, rel=1e-3)


def test_a_moment_on_a_block_peels_no_more_than_is_said():
    """The patch widened by 1/λ is on the safe side for a moment: below it lies what the beam on its bed has (Hetényi 1946)."""
    w, M, one = 0.03, 500.0, foot(stem=Footprint((0.03, 0.14)))
    bed = GLUE.E / GLUE.thickness
    reach = (4 * one.D / bed) ** 0.25
    x = np.linspace(0, 12 * reach, 400)
    found = solve_bvp(
        lambda _, y: np.stack([y[1], y[2], y[3], -bed / one.D * y[0]]),
        lambda a, b: np.array([a[0] - w / 2, a[1] - 1, b[2], b[3]]),
        x, np.stack([np.exp(-x / reach)] * 4), tol=1e-8, max_nodes=20000,
    )  # fmt: skip
    y = found.sol(x)[0]
    moment = bed * (2 * (w / 2) ** 3 / 3 + 2 * np.trapezoid((w / 2 + x) * y, x)) * 0.14
    exact = bed * y.max() * M / moment
    assert exact <= one.peel_stress(np.array([[0, 0, 0, 0, 0, M]]))[0] < 4 * exact


def test_a_push_peels_nothing():
    """A foot pressed on its wall is not peeled by that, and a pull is."""
    pushed, pulled = foot().peel_stress(np.array([[0, -20e3, 0, 0, 0, 0], [0, 20e3, 0, 0, 0, 0.0]]))
    assert pushed == 0
    assert pulled > 0


def test_both_ways_of_failing_are_taken_together():
    """The usage of shear and peel together is the root of the sum of their squares."""
    checks = foot().checks("tang", LOADS, SafetyFactors())
    one, other, both = (
        of(checks, "tang, glue", f"glue in {way}") for way in ("shear", "peel", "shear and peel")
    )
    assert both.load == pytest.approx(np.hypot(1 / one.load_factor, 1 / other.load_factor))


@pytest.mark.parametrize(("key", "lost"), [("shear_strength", 4), ("peel_strength", 4), ("E", 4)])
def test_glue_of_unknown_strength_is_not_checked(key, lost):
    """What a check needs and the file does not give keeps the part from holding."""
    one = foot(replace(GLUE, **{key: None}))
    checks = one.checks("tang", 1e-6 * LOADS, SafetyFactors())
    assert len(unchecked(checks)) == lost
    assert overall_outcome(checks) == "not known"


SLEEVE = Sleeve(0.09, 0.25, TubeWall(8e7, 4e8), ALLOY, 0.01, GLUE)


def test_a_sleeve_under_torque_and_pull_is_a_lap_of_coaxial_tubes():
    """q = T/2πr² and n = N/2πr through laps of G t and E t (Volkersen; tubular laps): each by hand."""
    one = replace(SLEEVE, glue=BRITTLE)
    q_R, n_R = (plastic_capacity(lap, 25e6) for lap in one.laps)
    turned = Lap(8e7, ALLOY.shear_modulus * 0.01, 0.25, BRITTLE)
    assert q_R == pytest.approx(25e6 / turned.peak, rel=1e-6)
    checks = one.checks("eye", np.array([[0, 0, 0, 0, 2e3, 0], [0, 30e3, 0, 0, 0, 0.0]]), SafetyFactors())
    glue = of(checks, "eye, sleeve's glue", "glue in shear").load
    assert glue[0] == pytest.approx(2e3 / (2 * math.pi * 0.09**2) / q_R)
    assert glue[1] == pytest.approx(30e3 / (2 * math.pi * 0.09) / n_R)


def test_bending_of_a_sleeve_as_push_and_pull_balances_it():
    """A cosine of pressure around and a line along the sleeve have the shear and moment that they came from."""
    F, M, L, r = 4e3, 900.0, 0.25, 0.09
    x = np.linspace(0, L, 4001)  # from the mouth inwards
    middle = M + F * L / 2
    line = F / L + middle * 12 / L**3 * (L / 2 - x)
    assert np.trapezoid(line, x) == pytest.approx(F)
    assert np.trapezoid(line * (L / 2 - x), x) == pytest.approx(middle, rel=1e-5)
    angle = np.linspace(0, 2 * math.pi, 2001)
    peak = SLEEVE.edge_pressure(np.array([[F, 0, 0, 0, 0, M]]))[0]
    around = np.trapezoid(peak * np.cos(angle) ** 2 * r, angle)
    assert around == pytest.approx(np.abs(line).max(), rel=1e-6)


def test_a_longer_sleeve_holds_bending_better_and_torque_hardly():
    """Push and pull fall with the length, shear lag works at the ends: past a few 1/ω more length adds nothing."""
    longer = replace(SLEEVE, length=0.5)
    assert longer.edge_pressure(LOADS).max() < 0.5 * SLEEVE.edge_pressure(LOADS).max()
    torque, before = (plastic_capacity(one.laps[0], 25e6) for one in (longer, SLEEVE))
    assert torque == pytest.approx(before, rel=0.02)


def test_a_sleeve_does_not_know_which_way_is_up():
    """Shear and bending turned about the tube's own line find the same margins."""
    turn = 0.7
    c, s = math.cos(turn), math.sin(turn)
    turned = LOADS.copy()
    for a, b in ((0, 2), (3, 5)):
        turned[:, a], turned[:, b] = c * LOADS[:, a] + s * LOADS[:, b], c * LOADS[:, b] - s * LOADS[:, a]
    here, there = (SLEEVE.checks("eye", loads, SafetyFactors()) for loads in (LOADS, turned))
    for one, other in zip(here, there, strict=True):
        assert other.load == pytest.approx(one.load)


TUBE_WALL = TubeWall.of(WALL, None, WALL.thickness)
WARM = replace(SLEEVE, tube=TUBE_WALL, glue=replace(GLUE, temperature_change=40.0))


def test_an_alloy_plug_in_carbon_shears_its_glue_by_temperature_alone():
    """40 K on 0.4 mm of epoxy is more than 25 MPa: Δα ΔT (G/η)/ω tanh(ωL/2) of alloy against the lay-up's own expansion."""
    mismatch = ALLOY.expansion - free_expansion(WALL)[0]
    lap = WARM.laps[1]
    w = math.sqrt(1.2e9 / 0.4e-3 * (1 / TUBE_WALL.along + 1 / (ALLOY.E * 0.01)))
    by_hand = mismatch * 40 * 1.2e9 / 0.4e-3 / w * math.tanh(w * 0.25 / 2)
    assert lap.omega == pytest.approx(w)
    assert WARM.thermal_shear == pytest.approx(by_hand)
    assert by_hand > 25e6
    idle = WARM.checks("eye", np.zeros((1, 6)), SafetyFactors())
    assert of(idle, "eye, sleeve's glue", "glue in shear, elastic in service").load[0] == pytest.approx(
        by_hand
    )
    assert of(idle, "eye, sleeve's glue", "glue in shear").load[0] == 0


def test_a_plug_that_cools_pulls_on_its_tube_all_round():
    """Two rings with glue between them, free to move: the pressure at least energy closes the gap of unequal expansion."""
    r, K1, K2, bed = WARM.radius, ALLOY.E * 0.01, TUBE_WALL.around, 3.2e9 / 0.4e-3
    gap = abs(ALLOY.expansion - free_expansion(WALL)[1]) * 40 * r
    # per length around: rings K u/r² each, glue between them; the inner one would be smaller by the gap
    K = np.array([[K1 / r**2 + bed, -bed], [-bed, K2 / r**2 + bed]])
    inner, outer = np.linalg.solve(K, np.array([-K1 / r**2 * gap, 0.0]))
    assert WARM.thermal_pressure == pytest.approx(abs(K2 / r**2 * outer), rel=1e-9)
    assert outer == pytest.approx(inner, rel=0.05)


def test_peel_at_a_sleeve_s_ends_goes_with_its_shear_along():
    """Peel beside the peak shear along, at the worse of both ends; torque alone peels no end."""
    pull, torque = np.array([[0, 30e3, 0, 0, 0, 0.0]]), np.array([[0, 0, 0, 0, 2e3, 0.0]])
    cold = replace(WARM, glue=GLUE)
    name = "glue in peel at its ends"
    peel = of(cold.checks("eye", pull, SafetyFactors()), "eye, sleeve's glue", name).load[0]
    lap = cold.laps[1]
    ratios = [peel_ratio(wall.D, wall.thickness, lap) for wall in (TUBE_WALL, TubeWall.of(None, ALLOY, 0.01))]
    assert peel == pytest.approx(max(ratios) * 30e3 / (2 * math.pi * 0.09) * lap.peak)
    assert of(cold.checks("eye", torque, SafetyFactors()), "eye, sleeve's glue", name).load[0] == 0


def test_a_tube_of_unknown_expansion_is_not_checked_under_temperature():
    """Where a wall's expansion is not known the check under a temperature change is not made; one that is given is used."""
    unknown = replace(WARM, tube=TubeWall(8e7, 4e8))
    (lost,) = unchecked(unknown.checks("eye", LOADS, SafetyFactors()))
    assert lost.check == "glue under a temperature change"
    given = replace(WARM, tube=replace(TUBE, expansion=2e-6).tube_wall)
    assert not unchecked(given.checks("eye", LOADS, SafetyFactors()))
    assert given.thermal_shear == pytest.approx(thermal_shear(given.laps[1], ALLOY.expansion - 2e-6))


def test_a_glued_foot_of_metal_on_carbon_is_sheared_at_its_corners_by_temperature():
    """Both ways at once, √ of squares; steel on steel and laminate on laminate are not."""
    glue = replace(GLUE, temperature_change=40.0)
    steel, carbon = SupportingWall(None, STEEL, 0.01), SupportingWall(WALL, None, WALL.thickness)
    one = replace(foot(glue), own=steel)
    along, around = free_expansion(WALL)[:2]
    each = [thermal_shear(lap, STEEL.expansion - a) for lap, a in zip(one.laps, (along, around), strict=True)]
    assert one.thermal_shear == pytest.approx(math.hypot(*each))
    assert replace(one, wall=SupportingWall(None, STEEL, 0.01, 0.2)).thermal_shear == 0.0
    assert replace(one, own=carbon).thermal_shear == 0.0
    assert replace(one, glue=GLUE).thermal_shear == 0.0
    checks = {c.check: c for c in one.checks("tang", LOADS, SafetyFactors())}
    shear, peel = (checks[f"glue in {way}, elastic in service"] for way in ("shear", "peel at its ends"))
    ratio = max(peel_ratio(one.D, 0.01, lap) for lap in one.laps)
    assert shear.steady == pytest.approx(one.thermal_shear)
    assert peel.load == pytest.approx(ratio * shear.load)


def test_a_taped_end_is_a_ring_of_tape_and_the_wall_under_it():
    """Glue and tape as of a socket's ring, which has its own tests; the wall is bent where the tape ends."""
    tape = lay_up(["6x db 450 @45"], LaminateMaterials(fibre="carbon_sm"))
    ring = Ring(
        Outline(2 * math.pi * 0.05, math.pi * 0.05**2), TubeWall(8e7, 4e8), tape, 0.08, 0.08, 0.015, GLUE, TUBE.plate, 0.4
    )  # fmt: skip
    checks = TapedEnd(ring, TUBE).checks("end", LOADS, SafetyFactors())
    assert {c.part for c in checks} == {"end, tape", "end, wall"}
    assert not [c for c in checks if c.check.startswith("skin")]
    assert overall_outcome(TapedEnd(ring, TUBE).checks("end", 1e-3 * LOADS, SafetyFactors())) == "holds"


def straps(**changed):
    """One strap of 80 mm in ten turns at either side of 60 mm of cheeks, on a foot of 240 × 160 mm."""
    given = {
        "each_side": 1, "width": 0.08, "pitch": 0.08, "clear_width": 0.06, "turns": 10, "turn": TURN, "foot": (0.24, 0.16),
        "radius": 0.012, "overlap": 0.15, "glue": GLUE, "wall": TUBE,
    }  # fmt: skip
    return Straps(**(given | changed))


def test_straps_hold_a_pull_by_both_legs():
    """F = n · 2 T sin φ with sin φ the foot's breadth over the beam's; upright legs where the foot is as broad as the beam."""
    pull = np.array([[0, 48e3, 0, 0, 0, 0.0]])
    assert straps().leg_tension(pull)[0] == pytest.approx(48e3 / (2 * 2 * 0.8))
    assert straps(foot=(0.24, 0.2)).leg_tension(pull)[0] == pytest.approx(48e3 / 4)
    assert straps().leg_tension(-pull)[0] == 0.0


def test_straps_hold_a_turn_about_the_beam_by_one_leg():
    """A torque about the beam's axis, M1 + R F3, is n ΔT R: force around and moment against each other leave nothing."""
    loads = np.array([[0, 0, 2e3, 0, 0, 0], [0, 0, 0, 150.0, 0, 0], [0, 0, 2e3, -200.0, 0, 0.0]])
    assert straps().leg_difference(loads) == pytest.approx([2e3 / 2, 150 / 0.1 / 2, 0.0])


def test_straps_hold_tilt_along_the_beam_as_a_couple():
    """M = Σ of pulls times their places, linear over the width of two straps: the greatest at the outer edge."""
    one, M = straps(), 300.0
    x = np.linspace(0.03, 0.11, 2001)
    peak = (
        one.leg_tension(np.array([[0, 0, 0, 0, 0, M]]))[0] * 2 * 0.8 / 0.08
    )  # N/m off the foot at the outer edge
    assert 2 * np.trapezoid(peak * (x / 0.11) * x, x) == pytest.approx(M, rel=1e-5)


def test_straps_are_as_strong_as_their_fibre_less_the_bend():
    """Load per width, grown by (t/r)/ln(1 + t/r) at the foot's edge, against all turns at first ply, by the factor laminate."""
    one, pull = straps(), np.array([[0, 48e3, 0, 0, 0, 0.0]])
    check = of(one.checks("tang", pull, SafetyFactors()), "tang, straps", "strap in tension")
    strength = float(first_ply_failure(TURN, [1.0, 0, 0, 0, 0, 0]).load_factor)
    fibre = TURN.plies[0].lamina.Xt * TURN.thickness
    t, r = 10 * TURN.thickness, 0.012
    assert strength == pytest.approx(fibre, rel=1e-6)
    assert check.load[0] == pytest.approx(48e3 / 3.2 / 0.08 * (t / r) / math.log(1 + t / r))
    assert check.allowable[0] == pytest.approx(10 * strength)
    assert check.factor.name == "laminate"


def test_a_bend_that_is_wide_beside_the_tape_costs_nothing():
    """(t/r)/ln(1 + t/r) → 1 as r grows, and is 1 + t/2r for thin tape."""
    assert straps(radius=1e6).bend_stress_factor == pytest.approx(1.0)
    assert straps(radius=0.2).bend_stress_factor == pytest.approx(1 + 10 * TURN.thickness / 0.4, rel=1e-3)


def test_a_turn_s_end_laps_over_the_one_below():
    """Each turn's own share in a single lap of two like sheets (Goland & Reissner 1944)."""
    one, pull = straps(), np.array([[0, 48e3, 0, 0, 0, 0.0]])
    check = of(one.checks("tang", pull, SafetyFactors()), "tang, straps' laps", "glue line in peel")
    lamina = TURN.plies[0].lamina
    lap = SingleLap(lamina.E1, lamina.nu12, TURN.thickness, 0.15, GLUE)
    assert check.load[0] == pytest.approx(max_peel_stress(lap, np.array([48e3 / 3.2 / 0.08 / 10]))[0])


def test_glue_under_straps_takes_what_the_legs_differ_by():
    """ΔT over a strap's width in a lap of strap and wall around the beam, a force along it in shear across the straps."""
    one = straps()
    loads = np.array([[0, 0, 4e3, 0, 0, 0], [6e3, 0, 0, 0, 0, 0.0]])
    load = of(one.checks("tang", loads, SafetyFactors()), "tang, straps", "glue under the straps").load
    around = wall_stiffness(WALL.rotated(math.pi / 2)).axial
    length = math.pi * 0.2 / 4
    lap = Lap(10 * wall_stiffness(TURN).axial, around, length, GLUE, same_end=True)
    assert load[0] == pytest.approx(2e3 / 0.08 / plastic_capacity(lap, 25e6))
    across = Lap(10 * wall_stiffness(TURN).shear, wall_stiffness(WALL).shear, length, GLUE, same_end=True)
    assert load[1] == pytest.approx(6e3 / 4 / 0.08 / plastic_capacity(across, 25e6))


def test_straps_on_an_alloy_beam_are_sheared_at_their_edges_by_temperature():
    """Across the straps a lap of tape and alloy as wide as they are; on carbon none is counted; unknown tape is not checked."""
    alloy = SupportingWall(None, ALLOY, 0.006, 0.2)
    warm = straps(wall=alloy, glue=replace(GLUE, temperature_change=40.0))
    across = wall_stiffness(TURN.rotated(math.pi / 2)).axial * 10
    lap = Lap(across, ALLOY.E * 0.006, 0.08, warm.glue)
    shear = thermal_shear(lap, free_expansion(TURN)[1] - ALLOY.expansion)
    elastic = of(
        warm.checks("tang", 0 * LOADS, SafetyFactors()),
        "tang, straps",
        "glue under the straps, elastic in service",
    )
    assert elastic.load == pytest.approx(shear)
    assert shear > 1e6
    assert replace(warm, wall=TUBE).thermal_shear == 0.0
    plies = (replace(ply, lamina=replace(ply.lamina, expansion1=None)) for ply in TURN.plies)
    lost = unchecked(replace(warm, turn=Laminate(tuple(plies))).checks("tang", LOADS, SafetyFactors()))
    assert [c.check for c in lost] == ["glue under a temperature change"]


def test_a_bed_under_the_straps_leaves_their_laps_as_they_are():
    """A thicker, softer bed lowers the peak under the straps alone: turns lap on their own resin."""
    soft = replace(GLUE, G=0.5e9, thickness=2.5e-3)
    here, there = (one.checks("tang", LOADS, SafetyFactors()) for one in (straps(), straps(bed=soft)))
    for one, other in zip(here, there, strict=True):
        if one.check.startswith("glue under the straps"):
            assert (other.load <= one.load).all()
            assert other.load.max() < one.load.max()
        else:
            assert other.load == pytest.approx(one.load)


def test_glue_and_straps_do_not_mind_a_mirror():
    """Loads in a mirror along or across the beam find the same margins."""
    for one in (foot(), straps(), SLEEVE):
        plain = [c.load for c in one.checks("tang", LOADS, SafetyFactors())]
        for mirror in ([-1, 1, 1, 1, -1, -1], [1, 1, -1, -1, -1, 1]):
            seen = [c.load for c in one.checks("tang", np.array(mirror) * LOADS, SafetyFactors())]
            for a, b in zip(plain, seen, strict=True):
                assert b == pytest.approx(a, rel=1e-9)


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        (
            {"wall": SupportingWall(WALL, thickness=WALL.thickness, support_radius=0.3)},
            "diameter is not given",
        ),
        ({"each_side": 2, "pitch": 0.05, "foot": (0.5, 0.16)}, "overlap"),
        ({"width": 0.1}, "beyond its ends"),
    ],
)
def test_straps_that_cannot_be_are_a_fault(changed, words):
    """Round no beam, over one another, or beyond the foot."""
    with pytest.raises(InputFault, match=words):
        straps(**changed)


PIN_STEEL = replace(STEEL, proof=200e6, ultimate=500e6)
PINNED = PinnedTubeEnd(
    Pin(PIN_STEEL, 0.025, 0.02, 0.01, 0.001, holes=(0.025, 0.025)),
    Bore(LaminateHole(0.01, 0.06, 200e6, 80e6, 40e6, 100e6), 0.032), 0.16, 0.05, (PIN_STEEL, PIN_STEEL),
)  # fmt: skip


def test_a_pin_through_a_tube_s_end_loads_its_walls_by_statics():
    """Half of a force on each wall; torque as ± T/D up and down, bending about the upright as ± M/D fore and aft."""
    loads = np.array([[0, 6e3, 8e3, 0, 0, 0], [0, 0, 0, 0, 800.0, 0], [0, 6e3, 0, 0, 0, 800.0]])
    assert PINNED.wall_force(loads) == pytest.approx([5e3, 800 / 0.16, 3e3 + 800 / 0.16])
    checks = PINNED.checks("root", loads, SafetyFactors())
    assert of(checks, "root, pin, bore", "laminate in bearing").load == pytest.approx(
        PINNED.wall_force(loads)
    )


def test_a_pin_does_not_hold_against_bending_about_itself():
    """A moment about the pin is not carried: such an end is not known to hold; rounding does not count."""
    loads = np.array([[100.0, 6e3, 8e3, 0, 300.0, 100.0]])
    assert overall_outcome(PINNED.checks("root", 0.1 * loads, SafetyFactors())) == "holds"
    bent = loads + np.array([[0, 0, 0, 50.0, 0, 0]])
    (lost,) = unchecked(PINNED.checks("root", 0.1 * bent, SafetyFactors()))
    assert lost.check == "bending about its pin"
    rounded = loads + np.array([[0, 0, 0, 1e-9, 0, 0]])
    assert not unchecked(PINNED.checks("root", rounded, SafetyFactors()))
