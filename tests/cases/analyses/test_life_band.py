"""The band of a life: a life of a one-slope curve goes with the load to the power of its slope, exactly."""

import math

import numpy as np
import pytest

from cases.analyses.analysis import Analysis
from cases.analyses.fatigue_life import RACKING_BAND, JointFatigueLives, detail_life
from cases.analyses.life_band import life_bands
from cases.analyses.study import run_study
from cases.input.service import Detail, ServiceLife
from models.joints.rigid import RigidJoint
from tests.models.boats import boat_file_of
from tests.models.joints.test_joint_lug import FITTING

SERVICE = ServiceLife(distance=20000 * 1852.0, count=2e6, case="racking")
SLOPE = 10.0
TAPE = Detail(
    name="tape",
    component="torque",
    curve="laminate",
    strain_per="5e-6 1/(N*m)",
    tension=0.012,
    compression=0.01,
    slope=SLOPE,
)


def bands(ranges, *details, mean=0.0, factor=1.35):
    """Of details at one joint, racked alike on both sides."""
    both, steady = np.full((2, 6), float(ranges)), np.full((2, 6), float(mean))
    lives = tuple(detail_life(detail, SERVICE, both, steady, factor) for detail in details)
    joint = JointFatigueLives("j", both, steady, lives, both)
    return lives, life_bands(RigidJoint(name="j"), joint, SERVICE, factor).details


def test_a_band_is_the_load_to_the_power_of_the_slope():
    """Miner's sum of a one-slope curve is proportional to the range to that power: 1.6^10 shorter, 0.6^-10 longer."""
    [life], [band] = bands(400.0, TAPE)
    less, more = RACKING_BAND
    assert math.isfinite(life.miles)
    assert band.shortest == pytest.approx(life.miles / more**SLOPE, rel=1e-6)
    assert band.longest == pytest.approx(life.miles / less**SLOPE, rel=1e-6)


def test_what_is_never_racked_lives_on_in_all_of_the_band():
    """Without a range there is no damage, at any load."""
    _, [band] = bands(0.0, TAPE)
    assert band.shortest == band.longest == math.inf


def test_the_steady_load_is_not_scaled():
    """The band is of racking: a steady strain that breaks the laminate does so at both ends, one of half of that at neither."""
    _, [band] = bands(1.0, TAPE, mean=1e5)
    assert band.shortest == band.longest == 0.0
    # 1200 N·m make a strain of 0.6 %; 1.6 times that would be beyond 1.2 % over the factor of 1.35
    _, [half] = bands(1.0, TAPE, mean=1200.0)
    assert half.shortest > 0.0


def test_the_band_of_a_weld_is_its_life_under_a_scaled_cycle():
    """Each fillet weld of lugs: shorter with 1.6 times the cycle, longer with 0.6 times, and by more than the cube of it."""
    cases = [{"name": "racking", "kind": "racking", "force": "20 kN"}]
    file = boat_file_of([FITTING], cases, station=3.6, inboard=0.4)
    found = Analysis(run_study(file.model_copy(update={"service": SERVICE})))
    [lives], [band] = found.fatigue_lives.joints, found.life_bands
    assert lives.welds
    for life, ends in zip(lives.welds, band.welds, strict=True):
        assert ends.name == life.part
        assert ends.shortest < life.miles / 1.6**2.99
        assert ends.longest > life.miles / 0.6**2.99
