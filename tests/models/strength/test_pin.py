"""Pins in double shear."""

import math
from dataclasses import replace

import numpy as np
import pytest

from femcore.base.errors import InputFault
from femcore.materials import metals
from models.strength.lugs.pin import (
    Pin,
    contact_resistance,
    contact_stress,
    pin_checks,
    plate_bearing_resistance,
    service_bearing_resistance,
)
from models.strength.margins import SafetyFactors, failure_load_factor, unchecked

STAINLESS = metals()["ss_1_4401"]
BOLT_STEEL = replace(STAINLESS, E=210e9, proof=640e6, ultimate=800e6)
PLATE_STEEL = replace(STAINLESS, E=210e9, proof=275e6, ultimate=430e6)
PIN = Pin(BOLT_STEEL, 0.020, inner=0.012, outer=0.012, replaceable=False, holes=(0.021, 0.021))


def by_name(checks):
    """Check name → check."""
    return {check.check: check for check in checks}


def test_en_1993_1_8_example():
    """EN 1993-1-8 Table 3.10, 20 mm pin 8.8 on 12 mm plate of 275 MPa: 120.6 kN (γM2 1.25), 99 kN, 0.754
    kN·m.
    """
    assert PIN.shear_resistance / 1.25 == pytest.approx(120.64e3, rel=1e-4)
    assert plate_bearing_resistance(0.012, 0.020, 275e6) == pytest.approx(99e3)
    assert PIN.bending_resistance == pytest.approx(753.98, rel=1e-4)


def test_a_published_calculation_of_a_replaceable_pin():
    """16 mm pin of S235: area 201.062 mm², W 402.124 mm³, shear 35 kN (γM2 1.25), 76 N·m in service (γM6,ser 1): a calculation
    sheet after EN 1993-1-8 3.13 (2008; read in a page).
    """
    pin = Pin(replace(PLATE_STEEL, proof=235e6, ultimate=360e6), 0.016, inner=0.01, outer=0.01)
    assert pin.elastic_moment / 235e6 == pytest.approx(402.124e-9, rel=1e-5)
    assert pin.shear_resistance / 1.25 == pytest.approx(35e3, abs=500)
    assert pin.service_bending_resistance == pytest.approx(76, abs=0.5)


def test_bending_moment_of_a_pin():
    """F (b + 4c + 2a)/8 is the moment at mid-span of a pin loaded evenly over its plates, found by
    integration.
    """
    pin = replace(PIN, gap=0.002, outer=0.008)
    half, reach = pin.inner / 2, pin.inner / 2 + pin.gap
    x = np.linspace(0, half, 20_001)
    inner = np.trapezoid(x / pin.inner, x)
    out = np.linspace(reach, reach + pin.outer, 20_001)
    outer = np.trapezoid(out / (2 * pin.outer), out)
    assert pin.moment_per_force == pytest.approx(outer - inner, rel=1e-8)


def test_replaceable_pins_have_limits_in_service_besides():
    """A replaceable pin keeps its ultimate limits, and has 0.8/1.5 and 0.6/1.5 of them under the loads as they are (Table
    3.10).
    """
    force, plates = np.array([10e3]), (PLATE_STEEL, PLATE_STEEL)
    fixed = by_name(pin_checks("pin", PIN, force, SafetyFactors(), plates))
    loose = by_name(pin_checks("pin", replace(PIN, replaceable=True), force, SafetyFactors(), plates))
    assert set(fixed) < set(loose)
    assert all(loose[name].margin == fixed[name].margin for name in fixed)
    for name, ratio in (
        ("pin in bending", 0.8 / 1.5),
        ("inner plate in bearing", 0.4),
        ("outer plates in bearing", 0.4),
    ):
        service = loose[f"{name}, in service"]
        assert service.load_factor == pytest.approx(ratio * loose[name].load_factor)
        assert (service.factor.value, service.factor.name) == (1.0, "serviceability")


def test_contact_stress_is_that_of_hertz():
    """Two cylinders, the one in the other: p² = F E*/(π t) (1/r − 1/R), 1/E* = Σ(1 − ν²)/E (Hertz; ν = 0.3). With d d0 for d²
    equation 3.14 is the same to its three digits, for one metal and for two.
    """
    d, hole, t, F = 0.030, 0.0301, 0.015, 20e3
    for plate in (replace(STAINLESS, nu=0.3), replace(metals()["al6082_t6"], nu=0.3)):
        E_star = 1 / (0.91 / STAINLESS.E + 0.91 / plate.E)
        hertz = math.sqrt(F * E_star / (math.pi * t) * (2 / d - 2 / hole))
        E = 2 * STAINLESS.E * plate.E / (STAINLESS.E + plate.E)
        ours = float(contact_stress(np.array([F]), E, d, hole, t)[0])
        assert ours == pytest.approx(hertz * math.sqrt(hole / d), rel=1e-3)


def test_contact_reaches_its_limit_at_the_force_of_the_check():
    """At the resistance the contact stress is 2.5 f_y of the weaker metal; four times the play quarters it, none removes it."""
    d, t, alloy = 0.030, 0.015, metals()["al6082_t6"]
    force = contact_resistance(STAINLESS, alloy, d, d + 0.5e-3, t)
    E = 2 * STAINLESS.E * alloy.E / (STAINLESS.E + alloy.E)
    limit = 2.5 * min(alloy.proof, STAINLESS.proof)
    assert contact_stress(np.array([force]), E, d, d + 0.5e-3, t) == pytest.approx(limit)
    assert contact_resistance(STAINLESS, alloy, d, d + 2e-3, t) == pytest.approx(force / 4)
    assert contact_resistance(STAINLESS, alloy, d, d, t) == math.inf


def test_a_hole_that_is_not_known_is_not_passed():
    """Without the hole's diameter a replaceable pin's contact stress is listed as not checked; without play there is none; a
    hole smaller than its pin is refused.
    """
    pin, force = replace(PIN, replaceable=True, holes=(None, 0.020)), np.array([1e3])
    open_checks = unchecked(pin_checks("pin", pin, force, SafetyFactors(), (PLATE_STEEL, PLATE_STEEL)))
    assert [check.check for check in open_checks] == ["inner plate, contact stress in service"]
    with pytest.raises(InputFault, match="smaller than the pin"):
        replace(PIN, holes=(0.0199, None))


def test_shear_and_bending_together():
    """(M/M_R)² + (F_v/F_v,R)² = 1 is reached where all loads have grown by the margin's growth."""
    force = np.array([10e3, -20e3])
    both = pin_checks("pin", PIN, force, SafetyFactors(), (PLATE_STEEL, PLATE_STEEL))[2]
    grown = both.load_factor * np.abs(force)
    utilisation = (grown * PIN.moment_per_force / PIN.bending_resistance) ** 2 + (
        grown / 2 / PIN.shear_resistance
    ) ** 2
    np.testing.assert_allclose(utilisation, 1.0)
    assert both.factor.name == "ultimate"


def test_the_softer_of_pin_and_plate_bears():
    """Bearing takes the lower proof stress of pin and plate, in service too, and both outer plates share."""
    strong = replace(PLATE_STEEL, proof=900e6)
    pin = replace(PIN, replaceable=True)
    checks = by_name(pin_checks("pin", pin, np.array([99e3]), SafetyFactors(), (PLATE_STEEL, strong)))
    np.testing.assert_allclose(checks["inner plate in bearing"].load_factor, 1.0)
    outer = 0.024 * 0.020 * 640e6 / 99e3
    np.testing.assert_allclose(checks["outer plates in bearing"].load_factor, 1.5 * outer)
    np.testing.assert_allclose(checks["outer plates in bearing, in service"].load_factor, 0.6 * outer)
    assert service_bearing_resistance(0.012, 0.02, 275e6) == pytest.approx(39.6e3)


def test_service_governs_a_replaceable_pin_by_default():
    """With the default factors 0.6/1.0 in service is less than 1.5/1.65 at the ultimate limit: bearing in service governs. What
    fails first, without factors, is another question: a limit in service is no failure.
    """
    pin = replace(PIN, replaceable=True, holes=(0.0201, 0.0201), inner=0.004)
    checks = pin_checks("pin", pin, np.array([1e3]), SafetyFactors(), (PLATE_STEEL, PLATE_STEEL))
    by_margin = min(checks, key=lambda check: check.margin[0])
    assert by_margin.check == "inner plate in bearing, in service"
    assert failure_load_factor(checks)[1][0] == "pin: inner plate in bearing"
