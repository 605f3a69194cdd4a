"""Pins in double shear."""

from dataclasses import replace

import numpy as np
import pytest

from models.strength.lugs.pin import Pin, pin_checks, plate_bearing_resistance
from models.strength.margins import SafetyFactors

PIN = Pin(0.020, 640e6, 800e6, inner=0.012, outer=0.012, replaceable=False)


def test_en_1993_1_8_example():
    """EN 1993-1-8 Table 3.10, 20 mm pin 8.8 on 12 mm plate of 275 MPa: 120.6 kN (γM2 1.25), 99 kN, 0.754
    kN·m.
    """
    assert PIN.shear_resistance / 1.25 == pytest.approx(120.64e3, rel=1e-4)
    assert plate_bearing_resistance(0.012, 0.020, 275e6, replaceable=False) == pytest.approx(99e3)
    assert PIN.bending_resistance == pytest.approx(753.98, rel=1e-4)


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


def test_replaceable_pins_carry_less():
    """A pin that has to come out again bears 0.6 of 1.5 and bends 0.8 of 1.5."""
    loose = replace(PIN, replaceable=True)
    assert loose.bending_resistance / PIN.bending_resistance == pytest.approx(0.8 / 1.5)
    assert plate_bearing_resistance(1, 1, 1, replaceable=True) == pytest.approx(0.6)


def test_shear_and_bending_together():
    """(M/M_R)² + (F_v/F_v,R)² = 1 is reached where all loads have grown by the margin's growth."""
    force = np.array([10e3, -20e3])
    both = pin_checks("pin", PIN, force, SafetyFactors(), (275e6, 275e6))[2]
    grown = both.load_factor * np.abs(force)
    utilisation = (grown * PIN.moment_per_force / PIN.bending_resistance) ** 2 + (
        grown / 2 / PIN.shear_resistance
    ) ** 2
    np.testing.assert_allclose(utilisation, 1.0)
    assert both.factor.name == "ultimate"


def test_the_softer_of_pin_and_plate_bears():
    """Bearing takes the lower proof stress of pin and plate, and both outer plates share."""
    checks = pin_checks("pin", PIN, np.array([99e3]), SafetyFactors(), (275e6, 900e6))
    np.testing.assert_allclose(checks[3].load_factor, 1.0)
    np.testing.assert_allclose(checks[4].load_factor, 1.5 * 0.024 * 0.020 * 640e6 / 99e3)
