"""Struts."""

import math
from dataclasses import replace

import numpy as np
import pytest

from models.strength.margins import SafetyFactors
from models.strength.members.column import (
    BUCKLING_CURVES,
    Column,
    bearing_check,
    buckling_reduction,
    column_checks,
    column_resistance,
)

TUBE = Column(A=1.2e-3, I=8e-7, W=2.2e-5, E=70e9, proof=250e6, length=0.8, curve="aluminium A")


def test_worked_column_of_steel_buildings_in_europe():
    """Steel Buildings in Europe, part 4, example A.5 (read): λ̄ 0.655 and 0.787, Φ 0.792, χ_y 0.808; curves
    b and c.
    """
    area, fy = 149e-4, 235e6
    for critical, printed in ((8151.2e3, 0.655), (5657.4e3, 0.787)):
        assert math.sqrt(area * fy / critical) == pytest.approx(printed, abs=1e-3)
    assert buckling_reduction(0.655, "b") == pytest.approx(0.808, abs=1e-3)
    assert 210e9 * 8560e-8 * math.pi**2 / 5.6**2 == pytest.approx(5657.4e3, rel=1e-3)


@pytest.mark.parametrize(
    ("curve", "chi"), [("a0", 0.725), ("a", 0.666), ("b", 0.597), ("c", 0.540), ("d", 0.467)]
)
def test_buckling_curves_at_unit_slenderness(curve, chi):
    """χ at λ̄ = 1 on the five curves of EN 1993-1-1 figure 6.4: 0.725, 0.666, 0.597, 0.540, 0.467 (from
    memory).
    """
    assert buckling_reduction(1.0, curve) == pytest.approx(chi, abs=1e-3)


@pytest.mark.parametrize("curve", list(BUCKLING_CURVES))
@pytest.mark.parametrize("length", [0.1, 0.8, 2.5])
def test_a_straight_strut_is_on_its_curve(curve, length):
    """Without tilt and eccentricity the first-yield load is χ A f_y of the curve itself."""
    strut = replace(TUBE, curve=curve, length=length)
    assert column_resistance(strut) == pytest.approx(
        buckling_reduction(strut.slenderness, curve) * strut.A * strut.proof
    )


def test_first_yield_of_a_bowed_strut():
    """At the resistance the outer fibre of a strut off its load's line, amplified by 1/(1 − N/N_cr), just
    yields.
    """
    strut = replace(TUBE, curve="aluminium B", eccentricity=4e-3, tilt=0.02)
    N = column_resistance(strut)
    bow = 0.32 * strut.slenderness * strut.W / strut.A + 4e-3 + 0.02 * strut.length
    stress = N / strut.A + N * bow / strut.W / (1 - N / strut.euler_load)
    assert stress == pytest.approx(strut.proof)


def test_limits_of_a_strut():
    """A short strut squashes, a slender one ends at Euler's load, and the tilt's sign does not matter."""
    assert column_resistance(replace(TUBE, length=1e-3)) == pytest.approx(TUBE.A * TUBE.proof)
    slender = replace(TUBE, length=30.0)
    assert column_resistance(slender) == pytest.approx(slender.euler_load, rel=0.01)
    assert column_resistance(replace(TUBE, tilt=0.05)) == column_resistance(replace(TUBE, tilt=-0.05))
    assert column_resistance(replace(TUBE, tilt=0.05)) < column_resistance(TUBE)
    aside, other = (column_resistance(replace(TUBE, eccentricity=e)) for e in (0.01, -0.01))
    assert aside == other < column_resistance(TUBE)


def test_a_load_that_keeps_its_direction_buckles_at_a_quarter():
    """A strut fixed at its foot under a load that keeps its direction (effective length 2) has a quarter of
    Euler's load.
    """
    assert replace(TUBE, effective=2.0).euler_load == pytest.approx(TUBE.euler_load / 4)


@pytest.mark.parametrize("curve", list(BUCKLING_CURVES))
def test_a_curve_is_named_with_its_own_standard(curve):
    """Curves of aluminium are EN 1999-1-1's, stainless tube has curve c, the lettered ones EN 1993-1-1's."""
    standard = {
        "aluminium A": "EN 1999-1-1 6.3.1",
        "aluminium B": "EN 1999-1-1 6.3.1",
        "stainless tube": "EN 1993-1-1 6.3.1, curve c",
    }
    source = column_checks("striker", replace(TUBE, curve=curve), np.array([1e3]), SafetyFactors())[0].source
    assert source.startswith(standard.get(curve, "EN 1993-1-1 6.3.1 "))
    assert source.endswith(f"curve {curve}")


def test_stainless_tube_has_no_plateau_beyond_curve_c():
    """χ = 0.662 at λ̄ = 0.8, curve c; the superseded curve of EN 1993-1-4:2006 gave 0.731."""
    assert buckling_reduction(0.8, "stainless tube") == pytest.approx(0.662, abs=5e-4)
    assert buckling_reduction(0.8, "stainless tube") == buckling_reduction(0.8, "c")


def test_only_a_push_buckles():
    """A pull buckles nothing; a push is held to the resistance with the buckling factor's name."""
    N = column_resistance(TUBE)
    check, yield_load = column_checks("striker", TUBE, np.array([N, -N]), SafetyFactors())
    np.testing.assert_allclose(check.load_factor, [1.0, np.inf])
    np.testing.assert_allclose(yield_load.load_factor, TUBE.A * TUBE.proof / N)
    assert check.factor.name == "buckling"


def test_foot_on_its_bed():
    """A foot of 20 cm² on a bed of 50 MPa stands 100 kN; without a strength it is not checked."""
    push = np.array([100e3])
    assert bearing_check("striker", push, 20e-4, 50e6, SafetyFactors()).load_factor[0] == pytest.approx(1.0)
    assert bearing_check("striker", push, 20e-4, None, SafetyFactors()).kind == "not checked"
