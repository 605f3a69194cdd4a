"""Fillet welds at a plate's foot."""

import math

import numpy as np
import pytest

from femcore.materials import metals
from models.strength.margins import SafetyFactors, overall_outcome
from models.strength.welds.weld import (
    FILLER_STRENGTH,
    FilletPair,
    throat_stress,
    weld_checks,
    weld_line_forces,
)

ALLOY = metals()["al6082_t6"]
WELD = FilletPair(
    ALLOY, throat=0.005, length=0.1, thickness=0.012, strength=FILLER_STRENGTH[("5356", "al6082_t6")]
)


def test_weld_under_a_pull():
    """A pull F on two fillets gives √2 F/(2 a w) in the throat; EN 1999-1-1: σ⊥ = τ⊥ = F/(2√2 a w), √(σ² +
    3τ²) (from memory).
    """
    pull = np.array([[0, 50e3, 0, 0, 0, 0]])
    assert throat_stress(WELD, pull)[0] == pytest.approx(math.sqrt(2) * 50e3 / (2 * 0.005 * 0.1))


def test_weld_under_shear_along_it():
    """Shear along two fillets is √3 F/(2 a w) by von Mises."""
    load = np.array([[0, 0, 50e3, 0, 0, 0]])
    assert throat_stress(WELD, load)[0] == pytest.approx(math.sqrt(3) * 50e3 / (2 * 0.005 * 0.1))


def test_weld_under_shear_across_it():
    """Shear across two fillets alone is √2 F/(2 a w) as a pull is; with an equal pull the throat's shear doubles: √6 n/a."""
    w, a = 0.1, 0.005
    across = throat_stress(WELD, np.array([[-50e3, 0, 0, 0, 0, 0], [-50e3, 50e3, 0, 0, 0, 0]]))
    np.testing.assert_allclose(across, np.array([math.sqrt(2), math.sqrt(6)]) * 50e3 / (2 * a * w))


def test_weld_lines_balance_their_moments():
    """Pull along the lines, linear from end to end, has the moment that it came from; likewise through the
    plate and in torsion.
    """
    w, t = WELD.length, WELD.thickness
    n, _, _ = weld_line_forces(WELD, np.array([[0, 0, 0, 100.0, 0, 0]]))[0]
    z = np.linspace(-w / 2, w / 2, 2001)
    assert 2 * np.trapezoid(n * z / (w / 2) * z, z) == pytest.approx(100, rel=1e-5)
    n, _, _ = weld_line_forces(WELD, np.array([[0, 0, 0, 0, 0, 100.0]]))[0]
    assert 2 * n * w * t / 2 == pytest.approx(100)
    _, v1, v3 = weld_line_forces(WELD, np.array([[0, 0, 0, 0, 100.0, 0]]))[0]
    torque = 2 * np.trapezoid(v1 * z / (w / 2) * z + v3 * t / 2, z)
    assert torque == pytest.approx(100, rel=1e-5)


def test_weld_checks_want_their_strengths():
    """Without the weld metal's strength the weld is not checked; beside it the heat-affected zone is."""
    load = np.array([[0, 50e3, 0, 0, 0, 0]])
    weld, beside = weld_checks("lug", WELD, load, SafetyFactors())
    assert weld.load_factor[0] == pytest.approx(210e6 / throat_stress(WELD, load)[0])
    assert beside.load_factor[0] == pytest.approx(185e6 * math.sqrt(2) * 0.005 * 2 * 0.1 / 50e3)
    shear, bent = np.array([[0, 0, -50e3, 0, 0, 0]]), np.array([[-30e3, 40e3, 0, 0, 0, 0]])
    leg = math.sqrt(2) * 0.005 * 2 * 0.1
    along, both = (weld_checks("lug", WELD, load, SafetyFactors())[1].load[0] for load in (shear, bent))
    assert along == pytest.approx(math.sqrt(3) * 50e3 / leg)
    assert both == pytest.approx(math.hypot(40e3, math.sqrt(3) * 30e3) / leg)
    bare = FilletPair(ALLOY, 0.005, 0.1, 0.012)
    assert overall_outcome(weld_checks("lug", bare, load, SafetyFactors())) == "not known"
