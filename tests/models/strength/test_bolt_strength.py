"""What bolts and the plates around them stand."""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import linprog

from femcore.materials import BoltClass, bolt_classes, metals
from models.strength.bolts.bolt_group import BoltForces, bolt_forces, rectangular_group
from models.strength.bolts.bolt_strength import (
    COARSE_PITCH,
    MetalSheet,
    bearing_resistance,
    bolt_checks,
    coarse_bolt,
    punching_resistance,
    sheet_checks,
)
from models.strength.bolts.bolted_plate import (
    LaminateHole,
    TStub,
    additional_bearing_width,
    bearing_area,
    bolted_laminate_checks,
    hole_checks,
    prying_ratio,
    t_stub_resistance,
    washer_checks,
)
from models.strength.margins import SafetyFactors, envelope, governing_check, overall_outcome

STEEL_8_8 = BoltClass(name="8.8", E=210e9, proof=640e6, ultimate=800e6)
A4_70 = bolt_classes()["a4_70"]
FACTORS = SafetyFactors()
GRAVITY = 9.80665


@pytest.mark.parametrize(
    ("size", "area"),
    [(4, 8.78), (5, 14.2), (6, 20.1), (8, 36.6), (10, 58.0), (12, 84.3), (14, 115), (16, 157), (18, 192), (20, 245),
     (22, 303), (24, 353), (27, 459), (30, 561)],
)  # fmt: skip
def test_stress_areas_of_iso_898_1(size, area):
    """ISO 898-1's table of nominal stress areas, coarse threads (read), to its printed digits."""
    assert coarse_bolt(size, A4_70).stress_area * 1e6 == pytest.approx(area, rel=4e-3)
    assert size in COARSE_PITCH


@pytest.mark.parametrize(("size", "kilonewtons"), [(12, 32.4), (16, 60.3), (20, 94.1)])
def test_shear_resistance_of_grade_8_8(size, kilonewtons):
    """EN 1993-1-8 Table 3.4, grade 8.8, thread in the shear plane, γM2 = 1.25, as tabulated in design guides
    (read).
    """
    bolt = coarse_bolt(size, STEEL_8_8, alpha_thread=0.6)
    assert bolt.shear_resistance / 1.25 == pytest.approx(kilonewtons * 1e3, rel=3e-3)


def test_shank_in_the_shear_plane_is_stronger():
    """A plain shank has α_v = 0.6 on π d²/4: 0.6 · 800 · 113.1 mm² = 54.3 kN for M12 8.8."""
    assert coarse_bolt(12, STEEL_8_8, thread_in_shear=False).shear_resistance == pytest.approx(
        54.29e3, rel=1e-3
    )


def test_tension_resistance_of_m16_8_8():
    """EN 1993-1-8 Table 3.4: M16 8.8 in tension, 0.9 · 800 · 157/1.25 = 90.4 kN as in design tables (from
    memory).
    """
    assert coarse_bolt(16, STEEL_8_8).tension_resistance / 1.25 == pytest.approx(90.4e3, rel=3e-3)


def one_bolt(shear, pull):
    """Forces on a single bolt, a case each."""
    shear, pull = np.broadcast_arrays(np.atleast_1d(shear).astype(float), np.atleast_1d(pull).astype(float))
    return BoltForces(np.stack([shear, 0 * shear], axis=-1)[:, None, :], pull[:, None])


def test_combined_shear_and_tension():
    """F_v/F_v,R + F_t/(1.4 F_t,R): full tension leaves 2/7 of the shear, 1.4 times it would leave none."""
    bolt = coarse_bolt(12, A4_70)
    v, t = bolt.shear_resistance, bolt.tension_resistance
    checks = bolt_checks("bolts", bolt, one_bolt([v * 2 / 7, v, 0], [t, 0, 1.4 * t]), FACTORS)
    both = next(check for check in checks if check.check == "bolt in shear and tension")
    np.testing.assert_allclose(both.load_factor, 1.0)


def test_two_shear_planes_share():
    """Two shear planes halve the shear on each."""
    bolt = coarse_bolt(12, A4_70)
    single, double = (
        bolt_checks("b", bolt, one_bolt(1e4, 0), FACTORS, planes)[0].load_factor for planes in (1, 2)
    )
    np.testing.assert_allclose(double, 2 * single)


def test_six_m10_hold_a_vertical_load_and_not_the_torque():
    """Six stainless M10 hold 4.75 t hung on them straight, but not the torque of a stiffly bonded beam
    (common practice).

    Bolts 60 mm apart in two upright rows of three, 80 mm between rows, on a plate that stands fore and aft;
    a bonded beam of that size attracts several kN·m: 6 kN·m here.
    """
    bolt, group = coarse_bolt(10, A4_70), rectangular_group(2, 3, 0.08, 0.06)
    vertical = bolt_forces(group, np.array([[0, -4750 * GRAVITY, 0, 0, 0, 0]]))
    torque = bolt_forces(group, np.array([[0, 0, 0, 0, 0, 6000.0]]))
    upright, turned = (bolt_checks("bolts", bolt, forces, FACTORS) for forces in (vertical, torque))
    assert upright[0].check == "bolt in shear"
    assert upright[0].margin[0] > 0.3
    assert overall_outcome(upright) == "holds"
    assert governing_check(turned).margin < -0.2


def test_yield_of_a_bolt():
    """A bolt in pure tension yields at proof × A_s, in pure shear at 1/√3 of it."""
    bolt = coarse_bolt(10, A4_70)
    limit = A4_70.proof * bolt.stress_area
    checks = bolt_checks("b", bolt, one_bolt([0, limit / math.sqrt(3)], [limit, 0]), FACTORS)
    np.testing.assert_allclose(checks[-1].load_factor, 1.0)


SHEET = MetalSheet(metals()["ss_1_4401"], 0.01, 0.011, 0.033, 0.0165)


def test_bearing_in_metal_with_room_all_round():
    """With e1 = 3 d0 and e2 = 1.5 d0 bearing is the full 2.5 f_u d t (EN 1993-1-8 Table 3.4)."""
    assert bearing_resistance(SHEET, 0.01) == pytest.approx(2.5 * 500e6 * 0.01 * 0.01)


def test_bearing_falls_with_the_end_distance():
    """Below 3 d0 the end distance governs in proportion, and weaker bolts bear no more than themselves."""
    near = replace(SHEET, end=0.0165)
    assert bearing_resistance(near, 0.01) == pytest.approx(bearing_resistance(SHEET, 0.01) / 2)
    close = replace(SHEET, pitch_along=2.25 * 0.011)
    assert bearing_resistance(close, 0.01) == pytest.approx(bearing_resistance(SHEET, 0.01) / 2)
    # e2 = 1.2 d0 gives k1 = 2.8 · 1.2 − 1.7 = 1.66, p2 = 2.4 d0 the same, and 1.5 d0 no less than 2.5
    for narrow in (replace(SHEET, edge=1.2 * 0.011), replace(SHEET, pitch_across=2.4 * 0.011)):
        assert bearing_resistance(narrow, 0.01) == pytest.approx(bearing_resistance(SHEET, 0.01) * 1.66 / 2.5)
    assert bearing_resistance(SHEET, 0.01, 250e6) == pytest.approx(bearing_resistance(SHEET, 0.01) / 2)


def test_punching_of_metal():
    """EN 1993-1-8 Table 3.4: B_p = 0.6 π d_m t f_u."""
    assert punching_resistance(SHEET, 0.0183) == pytest.approx(0.6 * math.pi * 0.0183 * 0.01 * 500e6)
    names = {
        check.check
        for check in sheet_checks("p", SHEET, coarse_bolt(10, A4_70), 0.0183, one_bolt(1e3, 1e3), FACTORS)
    }
    assert names == {"plate in bearing", "plate punched by the head"}


def limit_load(stub, bolts):
    """The greatest F of a T-stub by the static theorem, as a linear programme over F, bolt force B and
    prying force Q.
    """
    n, Mpl = min(stub.e, 1.25 * stub.m), stub.plastic_moment
    # half of it: F/2 = B − Q; moment at the bolt line Q n, at the stem (F/2) m − Q n, both within ±M_pl; B ≤ half the bolts
    rows = [[0, n], [m := stub.m / 2, -n], [-m, n], [0.5, 1.0]]
    return -linprog([-1, 0], A_ub=rows, b_ub=[Mpl, Mpl, Mpl, bolts / 2]).fun


@pytest.mark.parametrize(("thickness", "mode"), [(0.006, 1), (0.018, 2), (0.030, 3)])
def test_t_stub_is_the_limit_load(thickness, mode):
    """The three modes of EN 1993-1-8 Table 6.2 are the plate's limit loads, by a linear programme."""
    stub = TStub(length=0.1, thickness=thickness, proof=235e6, m=0.04, e=0.035)
    bolts = 2 * coarse_bolt(16, STEEL_8_8).tension_resistance
    strength, found = t_stub_resistance(stub, bolts)
    assert found == mode
    assert strength == pytest.approx(limit_load(stub, bolts), rel=1e-9)


@pytest.mark.parametrize("e", [0.035, 0.2])
@pytest.mark.parametrize("thickness", [0.006, 0.018, 0.030])
def test_prying_fills_the_bolts(thickness, e):
    """At the T-stub's limit the bolts carry the pull and the prying: all they have, or what the plate can
    pry.
    """
    stub = TStub(length=0.1, thickness=thickness, proof=235e6, m=0.04, e=e)
    bolts = 2 * coarse_bolt(16, STEEL_8_8).tension_resistance
    pull, mode = t_stub_resistance(stub, bolts)
    felt = pull * (1 + prying_ratio(stub, pull, bolts))
    n = min(stub.e, 1.25 * stub.m)
    plate_alone = pull + 2 * stub.plastic_moment / n
    assert felt == pytest.approx(plate_alone if mode == 1 else bolts)
    assert prying_ratio(stub, pull / 1e3, bolts) == 0.0
    beyond = 1.02 * pull
    assert beyond * (1 + prying_ratio(stub, beyond, bolts)) <= max(bolts, beyond) * (1 + 1e-12)


def test_spread_of_a_backing_plate():
    """A plate over the width c on a bed pressure f_j bends to its proof stress: f_j c²/2 = f_y t²/6."""
    c = additional_bearing_width(0.006, 200e6, 30e6)
    assert 30e6 * c**2 / 2 == pytest.approx(200e6 * 0.006**2 / 6)


def test_backing_plate_limits():
    """A backing plate no thicker than foil gives the washer's own area, a thick one all of its own."""
    washer = bearing_area(0.03, 0.011, None, 30e6)
    assert bearing_area(0.03, 0.011, (1e-9, 200e6, 0.06), 30e6) == pytest.approx(washer, rel=1e-5)
    assert bearing_area(0.03, 0.011, (0.1, 200e6, 0.06), 30e6) == pytest.approx(
        math.pi / 4 * (0.06**2 - 0.011**2)
    )


def test_a_backing_plate_spreads_the_pull_to_both_sides_by_hand():
    """5 mm at 240 MPa on a bed at 20 MPa: c = 5 √(240/60) = 10 mm all round a 30 mm washer: 50 mm less a 10 mm hole, 600 π mm².

    The bed crushes at 20 MPa on that: 12 π kN; the plate is drawn through 12 mm along its 50 mm: at 40 MPa 24 π kN.
    """
    plate = (0.005, 240e6, 0.08)
    assert bearing_area(0.03, 0.01, plate, 20e6) == pytest.approx(600e-6 * math.pi, rel=1e-12)
    bed = LaminateHole(0.012, 0.03, through=40e6, crushing=20e6)
    crushed, drawn = washer_checks("wall", bed, 0.01, 0.03, np.array([12e3 * math.pi]), FACTORS, plate)
    assert crushed.load_factor[0] == pytest.approx(1.0)
    assert drawn.load_factor[0] == pytest.approx(2.0)


WALL = LaminateHole(0.012, 0.03, bearing=200e6, shear=80e6, through=40e6, crushing=100e6)


def test_laminate_in_bearing_by_hand():
    """10 mm bolt in 12 mm of laminate at 200 MPa bears 24 kN; two planes of 25 mm tear out at 48 kN."""
    bearing, tearing = hole_checks("wall", WALL, 0.01, np.array([24e3]), FACTORS)
    assert bearing.load_factor[0] == pytest.approx(1.0)
    assert tearing.load_factor[0] == pytest.approx(2.0)


def test_washer_through_laminate_by_hand():
    """A 30 mm washer shears 12 mm of laminate at 40 MPa around its edge: 45.2 kN."""
    crushed, drawn = washer_checks("wall", WALL, 0.0, 0.03, np.array([1.0]), FACTORS)
    holed = washer_checks("wall", WALL, 0.011, 0.03, np.array([1.0]), FACTORS)
    assert holed[1].allowable[0] == pytest.approx(drawn.allowable[0])
    assert holed[0].allowable[0] == pytest.approx(100e6 * math.pi / 4 * (0.03**2 - 0.011**2))
    assert crushed.allowable[0] == pytest.approx(100e6 * math.pi / 4 * 0.03**2)
    assert drawn.allowable[0] == pytest.approx(math.pi * 0.03 * 0.012 * 40e6)


def test_laminate_without_strengths_is_not_checked():
    """A laminate without measured strengths gives four entries that are not checked, and no overall_outcome."""
    bare = LaminateHole(0.012, 0.03)
    checks = bolted_laminate_checks("wall", bare, 0.01, 0.03, one_bolt(1e3, 1e3), FACTORS)
    assert [check.kind for check in checks] == ["not checked"] * 4
    assert overall_outcome(checks) == "not known"
    assert all("given" in row.reason for row in envelope(checks))


def test_hole_that_breaks_out_is_not_passed():
    """A hole that reaches the edge is not checked for tearing: it has nothing to tear."""
    assert hole_checks("w", replace(WALL, end=0.004), 0.01, np.array([1.0]), FACTORS)[1].kind == "not checked"
