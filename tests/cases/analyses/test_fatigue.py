"""Fatigue: the closed form against printed values, quadrature and drawn cycles; curves against standards."""

import math
from dataclasses import replace

import numpy as np
import pytest
from pydantic import ValidationError
from scipy import integrate

from cases.analyses.fatigue_life import allowable_range, estimate_life
from cases.input.service import Service, encounter_period
from models.strength.fatigue import (
    GLUE_LOSS_BAND,
    SN_CURVES,
    GlueCurve,
    RangeDistribution,
    bolt_in_tension,
    damage,
    eurocode_detail,
    laminate,
    shear,
)
from tests.models.strength.fatigue_checks import damage_integral, density

STEEL_B1, STEEL_D = SN_CURVES["offshore steel B1, air"], SN_CURVES["offshore steel D, air"]
ALL = {
    **SN_CURVES,
    "bolt in tension": bolt_in_tension(0.012),
    "laminate": laminate(0.018, 0.012, 0.001, 10, 1.5),
}


def service(**keys):
    """A service as a file gives it."""
    return Service.model_validate({"distance": "20000 nmi", "count": 1e8} | keys)


@pytest.mark.parametrize(
    ("curve", "shape", "printed", "close"),
    [
        (STEEL_B1, 0.5, 1449.3e6, 2e-3),  # printed table entry, from memory
        (STEEL_D, 1.0, 271.446e6, 5e-4),  # recomputed with the printed, rounded constants
        (STEEL_D, 0.8, 390.716e6, 5e-4),
    ],
)
def test_allowable_ranges_are_the_offshore_standards(curve, shape, printed, close):
    """The range, once in 10⁸, at which damage is 1 (DNV-RP-C203, App. F)."""
    assert allowable_range(curve, service(shape=shape)) == pytest.approx(printed, rel=close)


def test_two_slopes_by_the_offshore_standard():
    """D = 0.3114 for 200 MPa once in 10⁸ cycles, h = 1, curve D in air (DNV-RP-C203's constants)."""
    assert damage(STEEL_D, RangeDistribution(1e8, 200e6)) == pytest.approx(0.311391, rel=1e-3)


def test_one_slope_is_the_complete_gamma_function():
    """With one slope D = n₀/a q^m Γ(1 + m/h) (DNV-RP-C203, App. F)."""
    ranges = RangeDistribution(1e7, 80e6, 0.9)
    one = replace(STEEL_D, m2=STEEL_D.m1)
    a = one.knee_cycles * one.knee**3
    assert damage(one, ranges) == pytest.approx(
        1e7 / a * ranges.scale**3 * math.gamma(1 + 3 / 0.9), rel=1e-12
    )


@pytest.mark.parametrize("name", ALL)
@pytest.mark.parametrize("shape", [0.6, 1.0, 1.7])
@pytest.mark.parametrize("share", [0.3, 3.0])
def test_the_closed_form_is_the_integral(name, shape, share):
    """Miner's sum by incomplete gamma functions equals n₀ ∫ f/N dΔ by quadrature, cut-off included."""
    curve = ALL[name]
    ranges = RangeDistribution(3e6, share * curve.knee * (0.1 if name == "laminate" else 1.0), shape)
    assert damage(curve, ranges) == pytest.approx(damage_integral(curve, ranges), rel=1e-9)


def test_cycles_drawn_at_random_do_as_much_damage():
    """A million ranges drawn at random, each by its own N, add up to the closed form (fixed seed)."""
    curve, ranges = SN_CURVES["IIW alloy, butt weld"], RangeDistribution(1e6, 90e6)
    drawn = ranges.scale * np.random.default_rng(4).weibull(ranges.shape, 1_000_000)
    slope = np.where(drawn >= curve.knee, curve.m1, curve.m2)
    summed = ((drawn / curve.knee) ** slope / curve.knee_cycles).sum()
    assert damage(curve, ranges) == pytest.approx(summed, rel=0.02)


def test_the_largest_range_is_exceeded_once():
    """n₀ exp(−(Δ₀/q)^h) = 1, and every cycle exceeds nothing."""
    ranges = RangeDistribution(2e6, 70e6, 0.8)
    assert ranges.exceedances(70e6) == pytest.approx(1, rel=1e-9)
    assert ranges.exceedances(0.0) == 2e6


@pytest.mark.parametrize("name", ALL)
def test_damage_grows_with_range_and_falls_with_strength(name):
    """A larger range, more cycles or a larger partial factor never do less damage."""
    curve = ALL[name]
    base = damage(curve, RangeDistribution(1e6, 0.5 * curve.knee))
    assert damage(curve, RangeDistribution(1e6, 0.6 * curve.knee)) > base
    assert damage(curve.factored(1.35), RangeDistribution(1e6, 0.5 * curve.knee)) > base
    assert damage(curve, RangeDistribution(1e6, 0.675 * curve.knee)) == pytest.approx(
        damage(curve.factored(1.35), RangeDistribution(1e6, 0.5 * curve.knee)), rel=1e-9
    )


def test_eurocode_ratios():
    """Δσ_D = 0.737 Δσ_C, Δσ_L = 0.549 Δσ_D, Δτ_L = 0.457 Δτ_C (EN 1993-1-9:2005, 7.1, read as quoted)."""
    curve = eurocode_detail("any", 100e6)
    assert curve.knee / 100e6 == pytest.approx(0.737, abs=5e-4)
    assert curve.cutoff / curve.knee == pytest.approx(0.549, abs=5e-4)
    assert shear("any", 100e6).cutoff / 100e6 == pytest.approx(0.457, abs=5e-4)


@pytest.mark.parametrize(
    ("name", "category"),
    [
        ("bolt in shear", 100e6),
        ("alloy butt weld", 36e6),
        ("IIW alloy, parent metal", 71e6),
        ("bolt in tension", 50e6),
    ],
)
def test_a_category_is_the_range_for_two_million_cycles(name, category):
    """Every detail category and FAT class is named by its range at 2·10⁶."""
    assert ALL[name].cycles(category) == pytest.approx(2e6, rel=1e-9)


def test_curves_are_whole_and_fall():
    """At the knee the two slopes meet, below the cut-off is no damage, and cycles fall with range."""
    for curve in ALL.values():
        around = [curve.cycles(curve.knee * x) for x in (0.7, 1 - 1e-9, 1.0, 1.4)]
        assert around[1] == pytest.approx(around[2], rel=1e-7)
        assert around[0] > around[1] >= around[2] > around[3]
        assert curve.cycles(0.999 * curve.cutoff) == math.inf
        assert curve.source


def test_thick_bolts_are_weaker():
    """(30 mm/d)^0.25 above 30 mm, and no bonus below (EN 1993-1-9:2005, Table 8.1 detail 14, read as quoted)."""
    thin, thick = bolt_in_tension(0.012), bolt_in_tension(0.036)
    assert bolt_in_tension(0.030).knee == thin.knee
    assert thick.knee / thin.knee == pytest.approx((30 / 36) ** 0.25, rel=1e-12)


def test_a_laminate_fails_once_at_its_static_strain():
    """Fully reversed, a range of twice the strain at failure is one cycle, a tenth of it 10^m."""
    curve = laminate(0.012, 0.012, slope=9)
    assert curve.cycles(0.024) == pytest.approx(1, rel=1e-12)
    assert curve.cycles(0.0024) == pytest.approx(1e9, rel=1e-9)


def test_a_laminate_lives_longest_about_the_middle_of_its_strengths():
    """Constant life falls in straight lines from the mean (ε_t − ε_c)/2, to nothing at either strength."""
    lives = [laminate(0.018, 0.012, mean).knee for mean in (-0.009, -0.003, 0.003, 0.009, 0.015)]
    assert lives == pytest.approx([0.006, 0.018, 0.030, 0.018, 0.006], rel=1e-12)
    with pytest.raises(ValueError, match="steady strain alone"):
        laminate(0.018, 0.012, 0.018)
    with pytest.raises(ValueError, match="steady strain alone"):
        laminate(0.018, 0.012, -0.013)


def test_a_laminates_damage_is_a_moment_of_the_weibull_distribution():
    """One slope: D = n₀ (q/Δ₁)^m Γ(1 + m/h)."""
    ranges = RangeDistribution(1e6, 0.004)
    expected = 1e6 * (ranges.scale / 0.024) ** 10 * math.gamma(11)
    assert damage(laminate(0.012, 0.012), ranges) == pytest.approx(expected, rel=1e-10)


def test_miles_go_on_in_the_same_weather():
    """Twice the miles is twice the damage and the same life, the largest range grown as it must."""
    curve = SN_CURVES["alloy fillet weld, toe"]
    one = estimate_life(curve, service(count=1e6), 60e6, 1.25)
    q = one.ranges.scale
    two = estimate_life(curve, service(distance="40000 nmi", count=2e6), q * math.log(2e6), 1.25)
    assert two.damage == pytest.approx(2 * one.damage, rel=1e-9)
    assert two.miles == pytest.approx(one.miles, rel=1e-9)
    assert one.miles == pytest.approx(20000 / one.damage, rel=1e-12)


def test_a_life_below_the_cut_off_is_endless():
    """Where hardly a range passes the cut-off, the miles have no end that matters."""
    assert estimate_life(SN_CURVES["bolt in shear"], service(count=100), 1e3).miles == math.inf


def test_a_range_that_breaks_at_once_is_told():
    """A largest range beyond one cycle's is no matter of fatigue."""
    curve = laminate(0.012, 0.012)
    assert estimate_life(curve, service(), 0.025).static
    assert not estimate_life(curve, service(), 0.023).static


def test_rates_agree():
    """A count, a rate by the mile, and speed with period describe the same service."""
    by_period = service(count=None, speed="8 kt", period="4 s")
    per_mile = 3600 / 8 / 4
    assert by_period.cycles == pytest.approx(20000 * per_mile, rel=1e-9)
    assert service(count=None, per_mile=per_mile).cycles == pytest.approx(by_period.cycles, rel=1e-9)
    assert service(count=by_period.cycles).cycles == by_period.cycles
    assert by_period.miles == pytest.approx(20000)


def test_waves_are_met_more_often_head_on():
    """At rest the boat meets the waves' own period; ω_e = ω + ω²V cos μ/g of linear theory otherwise."""
    assert encounter_period(6.0, 0.0, 0.0) == pytest.approx(6.0, rel=1e-12)
    for heading in (0.0, 1.0, 2.5):
        w = 2 * math.pi / 6
        met = 2 * math.pi / (w + w**2 * 4.0 * math.cos(heading) / 9.80665)
        assert encounter_period(6.0, 4.0, heading) == pytest.approx(met, rel=1e-12)


@pytest.mark.parametrize(("heading", "factor"), [(0, 1.43943), (90, 1.0), (180, 0.56057)])
def test_a_service_may_give_its_waves(heading, factor):
    """At 8 kn against waves of 6 s, 9.365 m/s fast, the boat meets 1 + 4.116/9.365 as many as at rest, abeam as many."""
    at_rest = service(count=None, speed="8 kt", period="6 s")
    met = service(count=None, speed="8 kt", wave_period="6 s", heading=f"{heading} deg")
    assert met.cycles / at_rest.cycles == pytest.approx(factor, rel=1e-3)
    assert met.cycle_period == pytest.approx(
        encounter_period(6.0, 8 * 1852 / 3600, math.radians(heading)), rel=1e-12
    )


@pytest.mark.parametrize(
    ("keys", "said"),
    [
        ({"count": None}, "has none of count, per_mile, period, wave_period"),
        ({"per_mile": 50}, "has count and per_mile"),
        ({"count": None, "period": "4 s"}, "has none of speed"),
        ({"count": 1}, "is 1 racking cycles long"),
        ({"count": 1e300}, "1e\\+300 racking cycles"),
        ({"count": None, "distance": "1 nmi", "per_mile": 1.0}, "a life has 100 to 1e\\+12"),
        ({"count": None, "distance": "10 m", "speed": "7 kt", "period": "6 s"}, "racking cycles long"),
        ({"count": None, "wave_period": "6 s"}, "has none of speed"),
        ({"count": None, "wave_period": "6 s", "period": "4 s"}, "has period and wave_period"),
        ({"heading": "45 deg"}, "has a heading to waves of no period"),
        (
            {"count": None, "wave_period": "6 s", "speed": "18.2075 kn", "heading": "180 deg"},
            "runs with waves of that period",
        ),
    ],
)
def test_what_a_service_needs_is_said(keys, said):
    """A service without a rate, or with two, is a fault in words."""
    with pytest.raises(ValidationError, match=said):
        service(**keys)


# Glue -----------------------------------------------------------------------------------------------------------


def test_glue_loses_a_tenth_of_its_strength_with_every_decade():
    """At R = 0.1 the greatest stress that N cycles allow is τ_s (1 − 0.1 log N): 25, 22.5, 20 … 10 MPa at 10⁶."""
    for decade in range(10):
        most = 25e6 * (1 - 0.1 * decade)
        cycle = GlueCurve(25e6, mean=0.55 * most)
        assert cycle.cycles(0.9 * most) == pytest.approx(10**decade, rel=1e-9)


@pytest.mark.parametrize("mean", [0.0, 5e6, 20e6])
def test_glue_breaks_at_once_where_the_peak_is_its_strength(mean):
    """Half the range and the mean together as large as the static strength: one cycle, whatever the mean."""
    assert GlueCurve(25e6, mean).cycles(2 * (25e6 - mean)) == pytest.approx(1)
    with pytest.raises(ValueError, match="steady"):
        GlueCurve(25e6, 26e6)


def test_glue_lives_less_with_more_of_anything():
    """A larger range, a larger mean, a greater loss and a larger factor never lengthen a life."""
    curve, sizes = GlueCurve(25e6, 3e6), np.linspace(1e5, 40e6, 50)
    assert (np.diff([curve.cycles(size) for size in sizes]) < 0).all()
    assert GlueCurve(25e6, 6e6).cycles(10e6) < curve.cycles(10e6)
    assert curve.factored(1.35).cycles(10e6) < curve.cycles(10e6)
    hard, usual, kind = (
        replace(curve, loss=k).cycles(10e6) for k in (GLUE_LOSS_BAND[1], 0.1, GLUE_LOSS_BAND[0])
    )
    assert hard < usual < kind


@pytest.mark.parametrize("shape", [0.8, 1.0, 1.3])
@pytest.mark.parametrize("largest", [2e6, 12e6, 30e6])
def test_damage_of_glue_is_miners_sum_up_to_the_largest_range(shape, largest):
    """∫ f(Δ) n₀/N(Δ) dΔ from nothing to the range exceeded once, by adaptive quadrature, and that cycle itself."""
    curve, ranges = GlueCurve(20e6, 2e6), RangeDistribution(2e6, largest, shape)
    inner = integrate.quad(
        lambda d: ranges.cycles * density(ranges, d) / curve.cycles(d), 0, largest, epsrel=1e-10, limit=400
    )[0]
    assert damage(curve, ranges) == pytest.approx(inner + 1 / curve.cycles(largest), rel=1e-6)


def test_so_many_cycles_that_the_rule_allows_no_range():
    """By the rule 10¹⁰ cycles leave no strength: then no range is allowed, and the search for it ends."""
    curve = GlueCurve(25e6)
    assert allowable_range(curve, service(count=1e11)) == 0.0
    allowed = allowable_range(curve, service(count=1e6))
    assert damage(curve, service(count=1e6).ranges(allowed)) == pytest.approx(1, rel=1e-9)
